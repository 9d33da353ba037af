"""The coach file: read, changed, decided upon, saved; and which coach is the reader's.

A coach file is TOML text with `format = 1`; what may stand in it is said in `sections`. A coach never
changes: a change is a new coach, and only `save` and `decide` write.
"""

import typing
from pathlib import Path
from typing import Annotated

from pydantic import Field, PrivateAttr, ValidationError, model_validator

from coachwork import bootstrap, files
from coachwork.quantities import InputError, nearest, quoted
from coachwork.sections import (
    Bank, Body, Charging, Circuit, CommissioningPlan, CoolingPlan, CycleLife, DesignPlan, EnergyPlan, Equipment, HeatingPlan, Inverter, Load, Name, Note, Place, Reads, Season,
    Section, SunPlan, WholeSystem, WiringPlan,
)  # fmt: skip

FORMAT = 1
MIGRATIONS = {}  # older format: function from its values (a dict) to those of the next format
LARGEST_FILE = 1_000_000  # bytes
DEMOS = bootstrap.ROOT / "data" / "coaches"
CHOICE = "chosen-coach.txt"  # in the reader's folder: the path of the coach that was chosen


class Coach(Section):
    """A coach as its file says. `changed` and `without` make a new one; `save` and `decide` write."""

    format: Annotated[int, Reads("a format", "format = 1", lambda value: value == FORMAT)] = Field(FORMAT)
    name: Name = Field(description="name of the coach")
    about: Note | None = Field(None, description="who lives in it, where, for how long")
    coach: Body = Field(Body(), description="the vehicle")
    seasons: tuple[Season, ...] = Field(description="parts of the year with their own habits, at least one")
    loads: tuple[Load, ...] = Field((), description="what takes energy")
    energy: EnergyPlan = Field(EnergyPlan(), description="decisions of lesson 01")
    capacity: Bank = Field(Bank(), description="the house bank")
    cycle_life: CycleLife = Field(CycleLife(), description="decisions of lesson 03")
    place: Place = Field(Place(), description="where the coach is lived in")
    charging: Charging = Field(Charging(), description="sources beside the sun, and decisions of lesson 04")
    sun: SunPlan = Field(SunPlan(), description="the array on the roof")
    inverter: Inverter | None = Field(None, description="the house inverter")
    wiring: WiringPlan = Field(WiringPlan(), description="decisions of lesson 07")
    heating: HeatingPlan = Field(HeatingPlan(), description="decisions of lesson 08")
    cooling_load: CoolingPlan = Field(CoolingPlan(), description="the cooled space, and decisions of lesson 09")
    whole_system: WholeSystem = Field(WholeSystem(), description="calendar, rules and prices of lesson 10")
    commissioning: CommissioningPlan = Field(CommissioningPlan(), description="what was measured, and decisions of lesson 11")
    design: DesignPlan = Field(DesignPlan(), description="scales, prices and people, for the record of lesson 12")
    circuits: tuple[Circuit, ...] = Field((), description="conductors, from the survey and from the lessons")
    equipment: tuple[Equipment, ...] = Field((), description="things with a mass")
    _origin: tuple = PrivateAttr((None, b""))  # the file it was read from, and its bytes then

    @model_validator(mode="after")
    def _goes_together(self):
        for section, rows in self:
            names = [row.name.casefold() for row in rows] if isinstance(rows, tuple) else []
            for place, name in enumerate(names):
                if name in names[:place]:
                    again = rows[place].name
                    found = f"the name {quoted(again)} stands there a second time"
                    raise InputError(f".{section}[{place + 1}]", found, "a name of its own for each", f'"{again} 2"')
        seasons = [season.name for season in self.seasons]
        months = [month for season in self.seasons for month in season.months]
        if not seasons or len(set(months)) < len(months):
            raise InputError(".seasons", "a month stands there twice" if seasons else "the list is empty",
                             "at least one season, each month once",
                             'name = "summer", months = [6, 7, 8]')  # fmt: skip
        named = {f".loads[{at}] {quoted(load.name)}.seasons": load.seasons
                 for at, load in enumerate(self.loads, 1)}  # fmt: skip
        named[".energy.design_season"] = (self.energy.design_season or seasons[0],)
        for place, names in named.items():
            for name in names:
                if name not in seasons:
                    near = nearest(name, seasons) or seasons[0]
                    raise InputError(place, f"{quoted(name)} is not a season of this file",
                                     "one of " + ", ".join(seasons), f'"{near}"')  # fmt: skip
        return self

    def __eq__(self, other):
        return isinstance(other, Coach) and self.__dict__ == other.__dict__

    def __hash__(self):
        return hash((self.name, len(self.loads)))

    @property
    def path(self):
        """The file it was read from, or None."""
        return self._origin[0]

    def changed(self, section, row="", /, **values):
        """A new coach with `values` in a section; None takes a value away. `from_` stands for the key `from`.

        In a list of rows such as `"loads"`, `row` names the one to change, or to add where there is none yet.
        The section `""` is the top of the file. Raises InputError as `parse` does.
        """
        tree = self.plain()
        table = self._rows(tree, section) if section else tree
        if isinstance(table, list):
            if row not in [one["name"] for one in table]:
                table.append({"name": row})
            table = next(one for one in table if one["name"] == row)
        for key, value in values.items():
            table[key.rstrip("_")] = value
            if value is None:
                del table[key.rstrip("_")]
        return self._successor(tree)

    def without(self, section, row, /):
        """A new coach without the row of that name: `coach.without("loads", "Roof fan")`."""
        tree = self.plain()
        rows = self._rows(tree, section)
        names = [one["name"] for one in rows]
        if row not in names:
            raise InputError(section, f"there is no {quoted(row)}", "one of " + ", ".join(names))
        del rows[names.index(row)]
        return self._successor(tree)

    def replaced(self, values):
        """A new coach that says `values` (a dict, as of a coach file), to be saved in this one's file."""
        return self._successor(values)

    def _rows(self, tree, section):
        field = type(self).model_fields.get(section)
        if field is None or section in ("format", "name", "about"):
            raise InputError("section", f"{quoted(section)} is no section of a coach file", "one", '"energy"')
        return tree.setdefault(section, [] if typing.get_origin(field.annotation) is tuple else {})

    def _successor(self, tree):
        coach = _build(tree, self.path.name if self.path else "coach")
        coach._origin = self._origin
        return coach

    def decide(self, section, row="", /, **values):
        """Write a lesson's decision, as in `changed`, and return the coach as it now stands.

        A decision that stands already is not written again. Keep the result, for the next decision goes from
        there: `coach = coach.decide("energy", margin=0.2, design_season="summer")`.
        """
        decided = self.changed(section, row, **values)
        if decided == self:
            return self
        path = _readers_own(self.path)
        if path and path.is_file() and path.read_bytes() != self._origin[1]:
            newest = read(path)  # a cell run again still holds the coach from before its own decision
            if newest.changed(section, row, **values) == newest:
                return newest
        return decided.save()

    def save(self, path=None):
        """Write the file and return the coach as read back from it; comments and layout stay.

        A demo is never written: a copy goes into the reader's folder. The version before is kept as
        `NAME.previous.toml`. Raises InputError, with every file as it was, where the file changed since
        it was read, where another file stands at `path`, and where it cannot be written.
        """
        if path is None and self.path is None:
            raise InputError("coach", "no file is named", "a path to save to", '"my-coach.toml"')
        path = _readers_own(path or self.path)
        known = self._origin[1]
        content = _file_bytes(self, known)
        with files.writing(path):
            standing = path.read_bytes() if path.exists() else None
            if standing is not None:
                ours = path == _readers_own(self.path)
                if standing != known or not ours:
                    why = "changed since it was read" if ours else "is another one"
                    raise InputError(str(path), f"the file there {why}, so it is left as it is",
                                     "to read it again and repeat the change, or another path")  # fmt: skip
                if content == standing:
                    return self
                files.replace(path.with_name(f"{path.stem}.previous.toml"), standing)
            files.replace(path, content)
        return read(path)


# ------------------------------------------------------------------------------- reading and writing


def read(path):
    """The coach in the file at `path`; InputError says in one sentence what is wrong with it, and where."""
    path = Path(path)
    try:
        with open(path, "rb") as file:
            content = file.read(LARGEST_FILE + 1)
    except (OSError, ValueError) as error:
        raise InputError(str(path), f"it cannot be read ({getattr(error, 'strerror', None) or error})",
                         "the path of a coach file", '"my-coach.toml"') from None  # fmt: skip
    if len(content) > LARGEST_FILE:
        raise InputError(path.name, "it is too large for a coach file", f"at most {LARGEST_FILE:,} bytes")
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise InputError(path.name, f"byte {error.start + 1} is not UTF-8", "a text saved as UTF-8") from None
    coach = parse(text, path.name)
    coach._origin = (path.resolve(), content)
    return coach


def parse(text, place="coach file"):
    """The coach in the text of a coach file; `place` stands at the head of every InputError."""
    if not text.strip():
        raise InputError(place, "it is empty", "a coach file", f"one that begins with format = {FORMAT}")
    try:
        tree = files.read_toml(text)
    except ValueError as error:
        raise InputError(place, f"it is not TOML ({error})", "lines of TOML", 'power = "85 W"') from None
    version = tree.get("format")
    if type(version) is not int or version < 1:
        found = f"its format is {quoted(version)}" if "format" in tree else "it has no format"
        raise InputError(place, found, "the format of the file in its first line", f"format = {FORMAT}")
    if version > FORMAT:
        raise InputError(place, f"its format is {version}, from a newer workbook",
                         f"format {FORMAT} or older", hint="open it with that newer workbook")  # fmt: skip
    for older in range(version, FORMAT):
        tree = MIGRATIONS[older](tree)
    try:
        return _build(tree, place)
    except RecursionError:  # a key such as a.a.a... is a table in a table in a table
        raise InputError(place, "its tables go too deep", "sections and their keys", 'power = "85 W"') from None


def _build(tree, place):
    try:
        return Coach.model_validate(tree)
    except ValidationError as error:
        first, *others = error.errors(include_url=False)
    found = first.get("ctx", {}).get("error")
    if not isinstance(found, InputError):  # the one thing that no reader of ours looks at
        given = quoted(first["input"])
        found = InputError("", f"{given} stands there", "a list in square brackets", '["summer"]')
    where, at = "", tree
    for part in first["loc"]:  # pydantic's path, in words and counted from 1: loads[3] "Water pump".power
        at = at[part] if isinstance(at, (dict, list, tuple)) else None
        where += f"[{part + 1}]" if isinstance(part, int) else f".{quoted(part)[1:-1]}"
        if isinstance(part, int) and isinstance(at, dict) and isinstance(at.get("name"), str):
            where += f" {quoted(at['name'])}"
    where += found.place if found.place.startswith(".") else ""
    hint = "; ".join(filter(None, [found.hint, others and f"and {len(others)} more to mend"]))
    raise InputError(f"{place}, {where.lstrip('.')}", found.found, found.wanted, found.example, hint)


def _file_bytes(coach, known):
    """The file of a coach, made from the bytes that were read by changing only what differs."""
    text = known.decode("utf-8-sig")
    old = files.read_toml(text)
    if old.get("format") == FORMAT:  # as written, so that "1,000 W" and "20 %" stay where they mean the same
        old = parse(text).plain()
    made = files.edit_toml(text, old, coach.plain())
    if parse(made) != coach:
        raise RuntimeError(f"the file made for {coach.name!r} does not read back as the same coach")
    return made.encode("utf-8-sig" if known.startswith(b"\xef\xbb\xbf") else "utf-8")


# ------------------------------------------------------------------------------- the reader's coach


def main_demo():
    """The path of the demo coach that the lessons use where a reader has chosen none."""
    return DEMOS / "desert-trailer.toml"


def demos():
    """The paths of all demo coaches, the main one first."""
    return sorted(DEMOS.glob("*.toml"), key=lambda path: (path != main_demo(), path.name))


def _readers_own(path):
    """Where a coach is written: a demo as a copy in the reader's folder, any other in its own place."""
    path = path and Path(path).resolve()
    return bootstrap.home() / path.name if path and path.parent == DEMOS else path


def current():
    """The reader's coach: the chosen one, else the main demo; of a demo decided upon, the reader's copy."""
    choice = bootstrap.home() / CHOICE
    try:
        path = Path(choice.read_text(encoding="utf-8").strip()) if choice.is_file() else main_demo()
        own = _readers_own(path)
        path = own if own.is_file() else path
    except (OSError, ValueError, RuntimeError) as error:  # no text, a zero byte or too long a name in it, a link to itself
        raise InputError(str(choice), f"the choice of your coach cannot be read ({getattr(error, 'strerror', None) or error})",
                         "the path of a coach file", hint="delete that file to begin from the demo") from None  # fmt: skip
    return read(path)


def choose(path):
    """Make the coach in the file at `path` the reader's, and return it; it must be one that can be read."""
    choice = bootstrap.home() / CHOICE
    with files.writing(choice):
        files.replace(choice, f"{read(path).path}\n".encode())
    return current()
