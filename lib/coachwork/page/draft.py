"""A coach as it is typed in a form: every value as text, right or wrong, and what keeps it from being saved.

It is built from the models of sections.py, so a section added there is here at once. A field without a
description there is no field here. What was not touched keeps the very value that it had.
"""

import csv
import dataclasses
import io
import re
import types
import typing

from pydantic import ValidationError

from coachwork import coach, sections
from coachwork.quantities import InputError, Kind, number_text

# ------------------------------------------------------------------------------- what a field holds


def fields_of(model):
    """The fields of a section that a form shows: key in the file to field."""
    return {field.alias or name: field for name, field in model.model_fields.items() if field.description}


def shape(field):
    """What a field holds: ("value" or "values", its reader), or ("table" or "tables", their model)."""
    parts = [field.annotation]
    if typing.get_origin(field.annotation) in (typing.Union, types.UnionType):
        parts = typing.get_args(field.annotation)
    for part in parts:
        several = typing.get_origin(part) is tuple
        inner = typing.get_args(part)[0] if several else part
        if isinstance(inner, type) and issubclass(inner, sections.Section):
            return ("tables" if several else "table"), inner
        if several:
            return "values", sections.reader_of(field)
    return "value", sections.reader_of(field)


def optional(field):
    """Whether a section may be absent from the file as a whole."""
    return not field.is_required() and field.default is None


def value_text(value, reader):
    """A value of a coach file as the form shows it."""
    if isinstance(reader, Kind) and reader.percent and isinstance(value, (int, float)):
        return f"{number_text(100 * value, 12)} %"
    return str(value)


def values_text(values):
    """Several values in a line, with commas; one that holds a comma stands in quotes."""
    line = io.StringIO()
    csv.writer(line, lineterminator="").writerow(values)
    return line.getvalue().replace(",", ", ") if '"' not in line.getvalue() else line.getvalue()


def read_value(text, reader, place):
    """Typed text to a value of a coach file; InputError names `place`."""
    text = text.strip()
    if isinstance(reader, Kind):
        text = text.strip('"')
    number = not isinstance(reader, Kind) and re.fullmatch(r"-?\d{1,9}", text)
    value = int(text) if number and holds(reader, int(text)) else text
    try:
        reader.read(value)
        return value
    except InputError as error:
        raise InputError(place, error.found, error.wanted, error.example, error.hint) from None


def holds(reader, value):
    """Whether a reader takes a value."""
    try:
        reader.read(value)
        return True
    except InputError:
        return False


def label_of(key):
    """`empty_mass` as a label: Empty mass."""
    words = key.replace("_", " ")
    return words[:1].upper() + words[1:]


def one_of(model):
    """What one row of a list is called: `EfficiencyPoint` is an efficiency point."""
    return re.sub(r"(?<!^)(?=[A-Z])", " ", model.__name__).lower()


# ------------------------------------------------------------------------------- what was typed


class Draft:
    """A coach as typed. tree: tables, lists and texts; a path is a tuple of keys and row numbers from 0."""

    def __init__(self, described):
        self.coach = described
        self.before = {}  # path of a field: (its text, its value) as it was read
        self.built = {}  # sections that were read already: (model, its values in words) to section
        self.tree = self._typed(coach.Coach, described.plain(), ())

    def _typed(self, model, table, path):
        typed = {}
        for key, field in fields_of(model).items():
            (what, of), here, value = shape(field), (*path, key), table.get(key)
            if what == "table":
                typed[key] = None if value is None and optional(field) else self._typed(of, value or {}, here)
            elif what == "tables":
                typed[key] = [self._typed(of, row, (*here, at)) for at, row in enumerate(value or [])]
            else:
                texts = [value_text(one, of) for one in value or []] if what == "values" else None
                typed[key] = (
                    "" if value is None else values_text(texts) if what == "values" else value_text(value, of)
                )
                self.before[here] = typed[key], value
        return typed

    def at(self, path):
        """What stands at a path."""
        found = self.tree
        for key in path:
            found = found[key]
        return found

    def put(self, path, text):
        """Take a typed text."""
        self.at(path[:-1])[path[-1]] = text

    def add(self, path, model):
        """Add an empty row to the list at a path, or an empty table where none stands."""
        empty = self.blank(model)
        if isinstance(self.at(path), list):
            self.at(path).append(empty)
        else:
            self.put(path, empty)

    def remove(self, path):
        """Take a row out of its list, or a table out of the file; returns what was typed in it."""
        taken = self.at(path)
        if isinstance(path[-1], int):
            del self.at(path[:-1])[path[-1]]
            self._move(path, -1)
        else:
            self.put(path, None)
        return taken

    def put_back(self, path, taken):
        """Put back what `remove` returned."""
        if isinstance(path[-1], int):
            self.at(path[:-1]).insert(path[-1], taken)
            self._move(path, 1)
        else:
            self.put(path, taken)

    def _move(self, path, by):
        """Values as they were read go with their rows."""
        *rows, row = path
        moved = {}
        for place, value in self.before.items():
            at = place[len(rows)] if place[: len(rows)] == tuple(rows) else None
            if at is None or at < row:
                moved[place] = value
            elif at > row or by > 0:
                moved[(*rows, at + by, *place[len(path) :])] = value
        self.before = moved

    def blank(self, model):
        """A table of a model with nothing typed in it."""
        empty = {}
        for key, field in fields_of(model).items():
            what, of = shape(field)
            empty[key] = [] if what == "tables" else ""
            if what == "table":
                empty[key] = None if optional(field) else self.blank(of)
        return empty

    def read(self):
        """(the coach as typed, faults): faults is a dict of path to Fault; where there is one, no coach."""
        faults = {}
        return self._read(coach.Coach, self.tree, (), faults), faults

    def _read(self, model, typed, path, faults):
        found, known = {}, len(faults)
        for key, field in fields_of(model).items():
            (what, of), here, given, label = shape(field), (*path, key), typed[key], label_of(key)
            try:
                if what == "table":
                    spared = given is None or (is_blank(given) and not optional(field))
                    value = None if spared else self._read(of, given, here, faults)
                elif what == "tables":
                    kept = [at for at, row in enumerate(given) if not path or not is_blank(row)]
                    value = [self._read(of, given[at], (*here, at), faults) for at in kept]
                elif here in self.before and given == self.before[here][0]:
                    value = self.before[here][1]
                elif what == "values":
                    value = [read_value(one, of, label) for one in split(given)]
                else:
                    value = read_value(given, of, label) if given.strip() else None
                if field.is_required() and value in (None, []) and not (what == "table" and given):
                    raise InputError(label, "it is empty", field.description, sections.example_of(field))
            except InputError as error:
                faults[here] = Fault(error, (here,))
                continue
            if value is not None and value != []:
                found[key] = value
        return self._built(model, found, path, faults) if len(faults) == known else None

    def _built(self, model, values, path, faults):
        """A section made of its values; an error of the whole is a fault of a field that its words name."""
        known = path and (model, repr(values))
        if known in self.built:
            return self.built[known]
        try:
            built = model.model_validate(values)
            return self.built.setdefault(known, built) if path else built
        except ValidationError as error:
            for one in error.errors(include_url=False):
                found = one.get("ctx", {}).get("error")
                if not isinstance(found, InputError):
                    raise
                about = _about(model, (*one["loc"], *_steps(found.place)), path, found.wanted)
                label = label_of(next(key for key in reversed(about[0]) if isinstance(key, str)))
                error = InputError(label, found.found, found.wanted, found.example, found.hint)
                faults.setdefault(about[0], Fault(error, about))


@dataclasses.dataclass(frozen=True)
class Fault:
    """What keeps a draft from being saved. about: the paths of the fields that it speaks of."""

    error: InputError
    about: tuple


def _about(model, steps, path, wanted):
    """The paths that an error at `steps` below a section speaks of: a field, or those that its words name."""
    for step in steps:
        path = (*path, step)
        if isinstance(step, str):
            what, model = shape(fields_of(model)[step])
            if what in ("value", "values"):
                return (path,)
    if steps and isinstance(steps[-1], str):
        return (path,)  # a list or a table as a whole
    named = [key for key in dict.fromkeys(re.findall(r"\w+", wanted)) if key in fields_of(model)]
    return tuple((*path, key) for key in named or list(fields_of(model))[:1])


def split(text):
    """The items of a line with commas."""
    return [item for item in next(csv.reader([text], skipinitialspace=True), []) if item.strip()]


def is_blank(row):
    return all(one in ("", None) or (isinstance(one, (list, dict)) and is_blank(one)) for one in
               (row.values() if isinstance(row, dict) else row))  # fmt: skip


def _steps(place):
    """The place of an InputError such as `.loads[3] "Pump".seasons` as steps of a path."""
    found = re.fullmatch(r'(?:\.(\w+))?(?:\[(\d+)\](?: ".*")?)?(?:\.(\w+))?', place)
    if not found or not place.startswith("."):
        return ()
    section, row, key = found.groups()
    return tuple(step for step in (section, row and int(row) - 1, key) if step is not None)
