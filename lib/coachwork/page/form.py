"""The form for a coach: it reads and writes the coach file for people who will not edit TOML.

It is built from the models of sections.py, so a section added there is here at once. A field without a
description there is no field here. What is typed is kept as text, right or wrong, until it is saved; what
was not touched keeps the very value that it had.
"""

import csv
import dataclasses
import io
import re
import types
import typing

from pydantic import ValidationError

from coachwork import bootstrap, coach, files, sections
from coachwork.page import widgets
from coachwork.quantities import InputError, Kind, number_text, quoted

NEARLY_EMPTY = """\
format = 1
name = "My coach"

[[seasons]]
name = "all year"
night = "20:00-06:00"
"""
EMPTY_CHOICE = "a nearly empty coach"
ROOM = 3  # lines that a list inside a section shows where it needs some, also while they are empty
NOT_SAVED = "There are changes that are not saved."

# ------------------------------------------------------------------------------- what a field holds


def fields_of(model):
    """The fields of a section that a form shows: key in the file to field."""
    return {field.alias or name: field for name, field in model.model_fields.items() if field.description}


def shape(field):
    """(what, of what) a field holds: "value" or "values" and its reader, "table" or "tables" and their model."""
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
    value = int(text) if number and _holds(reader, int(text)) else text
    try:
        reader.read(value)
        return value
    except InputError as error:
        raise InputError(place, error.found, error.wanted, error.example, error.hint) from None


def _holds(reader, value):
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
    """A coach as typed. tree: its tables, lists and texts; a path is a tuple of keys and row numbers from 0."""

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
                typed[key] = "" if value is None else values_text(texts) if what == "values" else value_text(value, of)
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
        empty = self._blank(model)
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

    def _blank(self, model):
        blank = {"value": lambda of, field: "", "values": lambda of, field: "", "tables": lambda of, field: [],
                 "table": lambda of, field: None if optional(field) else self._blank(of)}  # fmt: skip
        return {key: blank[shape(field)[0]](shape(field)[1], field) for key, field in fields_of(model).items()}

    def read(self):
        """(the coach as typed, faults): faults is a dict of path to Fault; with a fault there is no coach (None)."""
        faults = {}
        return self._read(coach.Coach, self.tree, (), faults), faults

    def _read(self, model, typed, path, faults):
        found, known = {}, len(faults)
        for key, field in fields_of(model).items():
            (what, of), here, given, label = shape(field), (*path, key), typed[key], label_of(key)
            try:
                if what == "table":
                    spared = given is None or (_is_blank(given) and not optional(field))
                    value = None if spared else self._read(of, given, here, faults)
                elif what == "tables":
                    kept = [at for at, row in enumerate(given) if not path or not _is_blank(row)]
                    value = [self._read(of, given[at], (*here, at), faults) for at in kept]
                elif here in self.before and given == self.before[here][0]:
                    value = self.before[here][1]
                elif what == "values":
                    value = [read_value(one, of, label) for one in _split(given)]
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
        """A section made of its values; what can be said only of it as a whole is a fault of a field that its words name."""
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
    """What keeps a draft from being saved. about: the paths of the fields that it speaks of, the first to mend first."""

    error: InputError
    about: tuple


def _about(model, steps, path, wanted):
    """The paths that an error at some steps below a section speaks of: a field, or the fields that its words name."""
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


def _split(text):
    """The items of a line with commas."""
    return [item for item in next(csv.reader([text], skipinitialspace=True), []) if item.strip()]


def _is_blank(row):
    return all(one in ("", None) or (isinstance(one, (list, dict)) and _is_blank(one)) for one in
               (row.values() if isinstance(row, dict) else row))  # fmt: skip


def _steps(place):
    """The place of an InputError such as `.loads[3] "Pump".seasons` as steps of a path."""
    found = re.fullmatch(r'(?:\.(\w+))?(?:\[(\d+)\](?: ".*")?)?(?:\.(\w+))?', place)
    if not found or not place.startswith("."):
        return ()
    section, row, key = found.groups()
    return tuple(step for step in (section, row and int(row) - 1, key) if step is not None)


# ------------------------------------------------------------------------------- the form


def form():
    """A form for the reader's coach, the last line of its cell: describe it, save it, use it in the lessons."""
    try:
        return Form(coach.current())
    except InputError as error:  # the chosen file is broken or gone: the reader must be able to choose another
        return Form(coach.read(coach.main_demo()), str(error))


class Form(widgets.Panel):
    """The form for a coach. Made by `form`."""

    def __init__(self, described, said=""):
        self._take_up(described)
        lead = (
            "Choose a part of the coach, fill in what you know, and save. Write a value with its unit: 85 W, 12 ft or 3.7 m, "
            "3 h. Nothing is written before you save."
        )
        super().__init__(self._all_parts(), "Describe your coach", lead, result=said)

    def plain(self):
        """The form in words: the same in every run over the same coach, whatever its lists hold."""
        return "\n".join([self.title, self.lead, f"Open now: {self.draft.coach.name}"])

    def _take_up(self, described):
        self.draft, self.page, self.rows = Draft(described), "", {}
        self.touched, self.strict, self.leaving, self.removed = set(), False, False, None
        self.starts = _starts()

    # ---- what is shown

    def _redraw(self):
        """Draw the page anew. What is chosen in the lists that stay goes in by settings: so their parts stay the same."""
        chosen = {"page": next(words for words, page in _pages().items() if page == self.page)}
        if self.settings["from"] in self.starts:
            chosen["from"] = self.settings["from"]
        if names := self._row_names():
            self.rows[self.page] = min(self.rows.get(self.page, 0), len(names) - 1)
            chosen[_name("row", (self.page,))] = names[self.rows[self.page]]
        self.settings = chosen
        self.put(self._all_parts())

    def _row_names(self):
        """What the rows of the shown list are called, numbered so that no two are the same."""
        rows = self.draft.tree.get(self.page)
        return [f"{at}. {row['name'] or 'without a name'}" for at, row in enumerate(rows, 1)] if isinstance(rows, list) else []

    def _all_parts(self):
        return [
            widgets.group(
                "start", f"Open now: {self.draft.coach.name}",
                widgets.choice("from", "Coach to start from", list(self.starts)), widgets.button("open", "Open it"),
            ),
            widgets.choice("page", "Part of the coach", list(_pages())),
            *self._page_parts(),
            widgets.button("save", "Save, and use this coach in the lessons"),
        ]  # fmt: skip

    def _page_parts(self):
        known = fields_of(coach.Coach)
        if not self.page:
            top = {key: field for key, field in known.items() if shape(field)[0] in ("value", "values")}
            return [widgets.group("fields", "The coach", *self._controls(top, self.draft.tree, ()), columns=True)]
        what, of = shape(known[self.page])
        typed, path = self.draft.tree[self.page], (self.page,)
        if what == "table":
            return [self._table(known[self.page], of, typed, path), *self._back(path)]
        new, back = widgets.button(_name("add", path), f"New {one_of(of)}"), self._back((*path, 0))
        if not typed:
            return [widgets.words("none", f"{label_of(self.page)}: none yet."), new, *back]
        row = self.rows[self.page]
        shown = self._controls(fields_of(of), typed[row], (*path, row))
        remove = widgets.button(_name("remove", (*path, row)), f"Remove this {one_of(of)}")
        return [
            widgets.choice(_name("row", path), label_of(self.page), self._row_names()), new, *back,
            widgets.group("fields", f"{label_of(one_of(of))} {row + 1} of {len(typed)}", *shown, remove, columns=True),
        ]  # fmt: skip

    def _table(self, field, model, typed, path):
        """A section inside a frame; one that may be absent can be added and removed."""
        label = f"{label_of(path[-1])}: {field.description}"
        if typed is None:
            return widgets.group(_name("frame", path), label, widgets.button(_name("add", path), f"Describe the {one_of(model)}"))
        remove = [widgets.button(_name("remove", path), f"Remove the {one_of(model)}")] if optional(field) else []
        return widgets.group(_name("frame", path), label, *self._controls(fields_of(model), typed, path), *remove, columns=True)

    def _controls(self, fields, typed, path):
        """The controls of a section: first its own fields, then what it holds in frames."""
        parts = []
        for key, field in sorted(fields.items(), key=lambda one: shape(one[1])[0] in ("table", "tables")):
            (what, of), here = shape(field), (*path, key)
            if what == "table":
                parts.append(self._table(field, of, typed[key], here))
            elif what == "tables":
                while field.is_required() and len(typed[key]) < ROOM:
                    self.draft.add(here, of)
                lines = [
                    widgets.group(
                        _name("frame", (*here, at)), f"{label_of(one_of(of))} {at + 1}",
                        *self._controls(fields_of(of), row, (*here, at)),
                        widgets.button(_name("remove", (*here, at)), f"Remove {one_of(of)} {at + 1}"), columns=True,
                    )
                    for at, row in enumerate(typed[key])
                ]  # fmt: skip
                new = widgets.button(_name("add", here), f"New {one_of(of)}")
                parts.append(widgets.group(_name("frame", here), f"{label_of(key)}: {field.description}", *lines, new))
            else:
                parts.append(_control(field, what, of, typed[key], here))
        return parts

    def _back(self, path):
        """The button that puts back what was removed last, on the page where it was."""
        if not self.removed or self.removed[0][:1] != path[:1]:
            return []
        return [widgets.button("back", f"Put back {self.removed[2]}")]

    # ---- what the reader does

    def changed(self, settings):
        new = self._take(settings)
        page, row = _pages()[settings["page"]], self._row_chosen(settings)
        turned = page != self.page or row != self.rows.get(page, 0)
        if page != self.page:
            self.page, self.removed = page, None
        elif turned:
            self.rows[page] = row
        if turned or any(len(path) == 3 and path[-1] == "name" for path in new):  # the list of rows shows names
            self._redraw()
        self._tell(bool(new))
        if turned:
            self.spoken = next(part["label"] for part in self._own[2:] if part["kind"] in ("group", "words"))

    def pressed(self, name, settings):
        self._take(settings)
        verb, _, place = name.partition(":")
        path = _path(place)
        leaving, self.leaving = self.leaving, False
        if verb == "save":
            return self._save()
        if verb == "open":
            return self._open(self.starts[settings["from"]], leaving)
        if verb == "add":
            model = _model_at(path)
            self.draft.add(path, model)
            if isinstance(self.draft.at(path), list):
                path = (*path, len(self.draft.at(path)) - 1)
                if len(path) == 2:
                    self.rows[path[0]] = path[1]
            goal, said = _name("at", (*path, next(iter(fields_of(model))))), f"{_where(path, self.draft.tree)} was added."
        elif verb == "remove":
            said = _where(path, self.draft.tree)
            self.removed = (path, self.draft.remove(path), said)
            said += " was removed. The file still has what it had until you save."
            goal = _name("add", path[:-1] if isinstance(path[-1], int) else path)
        else:
            path, taken, said = self.removed
            self.draft.put_back(path, taken)
            self.removed = None
            if len(path) == 2:
                self.rows[path[0]] = path[1]
            goal, said = _name("at", (*path, next(iter(fields_of(_model_at(path)))))), f"{said} is back."
        self._redraw()
        self._tell()
        self.go_to(goal)
        self.spoken = said

    def _take(self, settings):
        """Take what was typed; returns the paths that are new."""
        new = []
        for name, part in widgets.leaves(self._own).items():
            verb, _, place = name.partition(":")
            if verb == "at":
                path, text = _path(place), settings[name]
                text = part["keys"].get(text, text) if "keys" in part else text
                if text != self.draft.at(path):
                    self.draft.put(path, text)
                    new.append(path)
        self.touched.update(new)
        return new

    def _row_chosen(self, settings):
        name = _name("row", (self.page,))
        part = widgets.leaves(self._own).get(name)
        return part["options"].index(settings[name]) if part else self.rows.get(self.page, 0)

    def _tell(self, news=False):
        """Show what is wrong beside its field, and how it stands below; a screen reader hears what is new."""
        described, faults = self.draft.read()
        before, notes = self.notes, {}
        for path, fault in faults.items():
            if self.strict or not self.touched.isdisjoint(fault.about):
                notes[self._control_of(path)] = ["error", str(fault.error)]
        notes.pop("", None)  # of what is not on this page
        self.notes = notes
        self.strict = self.strict and bool(faults)
        if self.strict:
            places = "; ".join(dict.fromkeys(_where(path, self.draft.tree) for path in faults))
            self.result = f"Not saved. To mend first: {places}."
        elif described != self.draft.coach:
            self.result = NOT_SAVED
        elif news:
            self.result = "All is as it was opened."
        new = [text for name, (mark, text) in notes.items() if before.get(name) != [mark, text]]
        if new or news:  # else what was said before is still true
            self.spoken = new[0] if new else self.result if before and not notes else ""
        return described, faults

    def _control_of(self, path):
        """The part beside which a fault at a path is shown, or empty text."""
        shown = set(_names(self._own))
        return next((name for verb in ("at", "row", "frame", "add") if (name := _name(verb, path)) in shown), "")

    def _save(self):
        self.strict = True
        described, faults = self._tell()
        if faults:
            first = next(iter(faults))
            self.page = "" if len(first) == 1 and first[0] not in _pages().values() else first[0]
            if len(first) > 1 and isinstance(first[1], int):
                self.rows[self.page] = first[1]
            self._redraw()
            self._tell()
            goal = self._control_of(first)
            self.go_to(_name("add", first) if goal.startswith("frame") else goal)
            self.spoken = f"{self.result} {faults[first].error}"
            return
        try:
            saved = self._write(described)
        except InputError as error:
            self.result = self.spoken = f"Not saved. {error}"
            return
        page, rows = self.page, self.rows
        self._take_up(saved)
        self.page, self.rows = page, rows
        self._redraw()
        self.notes = {}
        self.result = self.spoken = (
            f"Saved as {saved.path.name} in your folder {saved.path.parent}. The lessons use it from now on; one that is open "
            "needs its cells run again."
        )

    def _write(self, described):
        """The coach saved: a file of the reader's in its place, a demo as a copy, any other under the coach's name."""
        described = self.draft.coach.replaced(described.plain())
        path = described.path
        if path is None or path in coach.demos():
            name = re.sub(r"\W+", "-", described.name.lower()).strip("-") or "coach"
            copy = path is not None and described.name == self.draft.coach.name
            path = bootstrap.home() / (path.name if copy else f"{name}.toml")
            if path.exists() and path.read_bytes() != (described.path.read_bytes() if described.path else None):
                raise InputError("Name", f"your folder has a file {path.name} already", "a name of its own for this coach",
                                 quoted(described.name + " 2"))  # fmt: skip
        return coach.choose(described.save(path).path)

    def _open(self, path, leaving):
        if self.draft.read()[0] != self.draft.coach and not leaving:
            self.leaving = True
            self.result = self.spoken = f'{NOT_SAVED} Press "Open it" once more to leave them, or save first.'
            return
        described = coach.read(path) if path else coach.parse(NEARLY_EMPTY)
        self._take_up(described)
        self._redraw()
        self.notes = {}
        self.go_to("at:name")
        self.result = self.spoken = f"{described.name} is open."


# ------------------------------------------------------------------------------- names and words of the parts


def _starts():
    """What the form can start from: words to the path of a coach file, None for a nearly empty one."""
    own = [path for path in sorted(bootstrap.home().glob("*.toml")) if not path.name.endswith(".previous.toml")]
    return (
        {f"{path.name}, in your folder": path for path in own}
        | {f"{coach.read(path).name}, a demo coach": path for path in coach.demos()}
        | {EMPTY_CHOICE: None}
    )


def _pages():
    """The parts of a coach: words of the choice to key; the key "" is the top of the file."""
    known = fields_of(coach.Coach)
    tables = [key for key, field in known.items() if shape(field)[0] in ("table", "tables")]
    top = " and ".join(key for key in known if key not in tables)
    return {label_of(top): ""} | {f"{label_of(key)}: {known[key].description}": key for key in tables}


def _control(field, what, reader, text, path):
    """The control of one field: a choice, a line, or several lines."""
    name, label = _name("at", path), label_of(path[-1])
    default = None if field.is_required() or field.default in (None, ()) else files.toml_value(field.default)
    default = values_text(default) if isinstance(default, list) else value_text(default, reader) if default is not None else ""
    help = "" if field.description == label.lower() else field.description
    if not isinstance(reader, Kind) and reader.options and what == "value":
        labels = {key: f"{key}: {reader.meanings[key]}" if key in reader.meanings else key for key in reader.options}
        labels = {"": f"not stated ({default})" if default else "not stated"} | labels
        part = widgets.choice(name, label, list(labels.values()), labels[text], help=help)
        return part | {"keys": {words: key for key, words in labels.items()}}
    if not _holds(reader, "any text"):
        help += (", " if help else "") + "such as " + reader.example.strip('[]"').replace(" ", "\u00a0")
    more = "needed" if field.is_required() else f"empty means {default}" if default else ""
    help = "; ".join(filter(None, [help, "commas between several" if what == "values" else "", more]))
    return widgets.text(name, label, text, help=help, lines=3 if what == "value" and _holds(reader, "a\nb") else 1)


def _names(parts):
    for part in parts:
        yield part["name"]
        yield from _names(part.get("parts", ()))


def _model_at(path):
    """The model of the rows of a list, or of the table, at a path."""
    model = coach.Coach
    for key in path:
        if isinstance(key, str):
            model = shape(fields_of(model)[key])[1]
    return model


def _name(verb, path):
    return f"{verb}:{'.'.join(map(str, path))}"


def _path(place):
    return tuple(int(step) if step.isdecimal() else step for step in place.split(".")) if place else ()


def _where(path, tree):
    """A path in words: `Loads 3 (Water pump), Power`."""
    said, at = [], tree
    for step in path:
        at = at[step]
        if isinstance(step, int):
            said[-1] += f" {step + 1}" + (f" ({at['name']})" if at.get("name") else "")
        else:
            said.append(label_of(step))
    return ", ".join(said)
