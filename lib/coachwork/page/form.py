"""The form for a coach: it reads and writes the coach file for people who will not edit TOML.

What is typed is a `Draft` until it is saved. A list such as `loads` shows one row at a time; the parts of a
page are made from the models of sections.py, none by hand.
"""

import re

from coachwork import bootstrap, coach, files
from coachwork.page import widgets
from coachwork.page.draft import (
    Draft, fields_of, holds, label_of, one_of, optional, shape, value_text, values_text,
)  # fmt: skip
from coachwork.quantities import InputError, Kind, quoted

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

# ------------------------------------------------------------------------------- the form


def form():
    """A form for the reader's coach, the last line of its cell."""
    try:
        return Form(coach.current())
    except (
        InputError
    ) as error:  # the chosen file is broken or gone: the reader must be able to choose another
        return Form(coach.read(coach.main_demo()), str(error))


class Form(widgets.Panel):
    """The form for a coach. Made by `form`."""

    def __init__(self, described, said=""):
        self._take_up(described)
        lead = (
            "Choose a part of the coach, fill in what you know, and save. Write a value with its unit: 85 W, "
            "12 ft or 3.7 m, 3 h. Nothing is written before you save."
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
        """Draw the page anew; what is chosen goes in by settings, so that the lists stay the same parts."""
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
        return (
            [f"{at}. {row['name'] or 'without a name'}" for at, row in enumerate(rows, 1)]
            if isinstance(rows, list)
            else []
        )

    def _all_parts(self):
        return [
            widgets.group(
                "start", f"Open now: {self.draft.coach.name}",
                widgets.choice("from", "Coach to start from", list(self.starts)),
                widgets.button("open", "Open it"),
            ),
            widgets.choice("page", "Part of the coach", list(_pages())),
            *self._page_parts(),
            widgets.button("save", "Save, and use this coach in the lessons"),
        ]  # fmt: skip

    def _page_parts(self):
        known = fields_of(coach.Coach)
        if not self.page:
            top = {key: field for key, field in known.items() if shape(field)[0] in ("value", "values")}
            return [
                widgets.group("fields", "The coach", *self._controls(top, self.draft.tree, ()), columns=True)
            ]
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
            widgets.group(
                "fields", f"{label_of(one_of(of))} {row + 1} of {len(typed)}", *shown, remove, columns=True
            ),
        ]  # fmt: skip

    def _table(self, field, model, typed, path):
        """A section inside a frame; one that may be absent can be added and removed."""
        label = f"{label_of(path[-1])}: {field.description}"
        if typed is None:
            return widgets.group(
                _name("frame", path),
                label,
                widgets.button(_name("add", path), f"Describe the {one_of(model)}"),
            )
        remove = (
            [widgets.button(_name("remove", path), f"Remove the {one_of(model)}")] if optional(field) else []
        )
        return widgets.group(
            _name("frame", path), label, *self._controls(fields_of(model), typed, path), *remove, columns=True
        )

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
                        widgets.button(_name("remove", (*here, at)), f"Remove {one_of(of)} {at + 1}"),
                        columns=True,
                    )
                    for at, row in enumerate(typed[key])
                ]  # fmt: skip
                new = widgets.button(_name("add", here), f"New {one_of(of)}")
                parts.append(
                    widgets.group(_name("frame", here), f"{label_of(key)}: {field.description}", *lines, new)
                )
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
        if turned or any(
            len(path) == 3 and path[-1] == "name" for path in new
        ):  # the list of rows shows names
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
            goal, said = (
                _name("at", (*path, next(iter(fields_of(model))))),
                f"{_where(path, self.draft.tree)} was added.",
            )
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
        return next(
            (name for verb in ("at", "row", "frame", "add") if (name := _name(verb, path)) in shown), ""
        )

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
            f"Saved as {saved.path.name} in your folder {saved.path.parent}. The lessons use it from now on; "
            "one that is open needs its cells run again."
        )

    def _write(self, described):
        """The coach saved: in its place, for a demo as a copy, for a new one under its name."""
        described = self.draft.coach.replaced(described.plain())
        path = described.path
        if path is None or path in coach.demos():
            name = re.sub(r"\W+", "-", described.name.lower()).strip("-") or "coach"
            copy = path is not None and described.name == self.draft.coach.name
            path = bootstrap.home() / (path.name if copy else f"{name}.toml")
            known = described.path.read_bytes() if described.path else None
            if path.exists() and path.read_bytes() != known:
                raise InputError(
                    "Name",
                    f"your folder has a file {path.name} already",
                    "a name of its own for this coach",
                    quoted(described.name + " 2"),
                )
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
    own = [
        path for path in sorted(bootstrap.home().glob("*.toml")) if not path.name.endswith(".previous.toml")
    ]
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
    default = (
        values_text(default)
        if isinstance(default, list)
        else value_text(default, reader)
        if default is not None
        else ""
    )
    help = "" if field.description == label.lower() else field.description
    if not isinstance(reader, Kind) and reader.options and what == "value":
        labels = {
            key: f"{key}: {reader.meanings[key]}" if key in reader.meanings else key for key in reader.options
        }
        labels = {"": f"not stated ({default})" if default else "not stated"} | labels
        part = widgets.choice(name, label, list(labels.values()), labels[text], help=help)
        return part | {"keys": {words: key for key, words in labels.items()}}
    if not holds(reader, "any text"):
        help += (", " if help else "") + "such as " + reader.example.strip('[]"').replace(" ", "\u00a0")
    more = "needed" if field.is_required() else f"empty means {default}" if default else ""
    help = "; ".join(filter(None, [help, "commas between several" if what == "values" else "", more]))
    return widgets.text(
        name, label, text, help=help, lines=3 if what == "value" and holds(reader, "a\nb") else 1
    )


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
