"""The coach file: what a reader's coach is, what it must carry, and what the lessons decided for it.

A coach file is TOML text with `format = 1`. Each section below is one model, and each of its fields reads
its own value (a kind of quantity, a choice, a text). A later lesson adds a section with one class and one
line in `Coach`. A coach never changes: a change is a new coach, and only `save` writes.
"""

import difflib
import os
import re
import shutil
import tomllib
import typing
from pathlib import Path
from typing import Annotated

from pydantic import BaseModel, ConfigDict, Field, PrivateAttr, ValidationError, model_validator

from coachwork import bootstrap
from coachwork.quantities import (
    Count, Current, Fraction, InputError, Kind, Length, Mass, Power, Quantity, Voltage, read_window, write_quantity,
)  # fmt: skip

FORMAT = 1
MIGRATIONS = {}  # older format: function from its values (a dict) to those of the next format
LARGEST_FILE = 1_000_000  # bytes
DEMOS = bootstrap.ROOT / "data" / "coaches"

# ------------------------------------------------------------------------------- what a value may be

COACH_KINDS = ("travel trailer", "fifth wheel", "class A", "class B van", "class C", "truck camper", "other")
SIDES = {"dc": "straight from the house bank", "ac": "through the inverter, or from shore or a generator"}
CHEMISTRIES = ("lithium iron phosphate", "AGM", "flooded lead-acid")
EXISTING = {
    "keep": "stays as it is",
    "move": "stays, but is connected elsewhere",
    "remove": "is taken out",
    "limit": "stays, but may carry no more than `limit`",
}
# What is dangerous to lose: a new bank must not cut these off, and a survey that does not list them is suspect.
DANGEROUS = {
    "breakaway brake": "stops a trailer that has come loose from its tow vehicle",
    "LP gas detector": "warns of propane",
    "carbon monoxide alarm": "warns of exhaust gas",
    "smoke alarm": "warns of fire",
    "slide or jack": "a slide or jack that stops half-way can strand or tip a coach",
    "emergency-start solenoid": "lets the house bank start the engine, and ties the two banks together",
    "tow charge line": "feeds the house bank from the tow vehicle, and back where nothing stops it",
    "converter": "charges the house bank from shore, with a profile for the battery it was bought with",
    "chassis return": "carries the return current of everything grounded to the frame",
}
ORDINARY = {
    "load": "feeds one load or one group of loads",
    "inverter": "feeds the inverter from the bank",
    "charger": "brings charge from shore or generator",
    "array": "brings charge from the sun",
    "alternator": "brings charge from the engine",
    "bank": "joins modules, bus bars and the main disconnect",
    "other": "anything else; say what in the note",
}
PURPOSES = DANGEROUS | ORDINARY
EQUIPMENT_KINDS = (
    "battery", "inverter", "charger", "converter", "DC-DC charger", "alternator", "solar module", "charge controller",
    "generator", "air conditioner", "refrigerator", "heater", "alarm", "switch or disconnect", "panel", "other",
)  # fmt: skip


class Reads:
    """How a value that is no quantity is read; used as an annotation, as kinds of quantity are.

    wanted, example: words for a reader. accepts: tells whether a value is one. options: every value there is.
    """

    def __init__(self, wanted, example, accepts=None, options=()):
        self.example, self.options = example, tuple(options)
        self.wanted = f"{wanted}: {', '.join(self.options)}" if options else wanted
        self.accepts = accepts or (lambda value: isinstance(value, str) and value in self.options)

    def read(self, value, place="value"):
        """`value` itself where it is one; InputError otherwise."""
        if self.accepts(value):
            return value
        example = _nearest(value, self.options) or self.example
        raise InputError(place, f"{_quoted(value)} stands there", self.wanted, example)

    def __get_pydantic_core_schema__(self, source, handler):
        from pydantic_core import core_schema

        return core_schema.no_info_plain_validator_function(self.read)


def _quoted(value):
    text = str(value).replace("\n", " ")
    return '"' + (text if len(text) <= 40 else text[:37] + "...") + '"'


def _nearest(word, known):
    found = difflib.get_close_matches(str(word), known, 1, 0.6)
    return f'"{found[0]}"' if found else ""


def _text(longest, forbidden):
    return lambda value: isinstance(value, str) and bool(value.strip()) and len(value) <= longest \
        and not re.search(forbidden, value)  # fmt: skip


def _is_window(value):
    read_window(value)
    return True


def _choice(wanted, options):
    return Reads(wanted, f'"{next(iter(options))}"', options=options)


_CONTROLS = "\x00-\x08\x0b-\x1f\x7f-\x9f\u2028\u2029\ud800-\udfff"
Name = Annotated[str, Reads("a text of one line, at most 80 characters", '"Water pump"', _text(80, f"[\t\n{_CONTROLS}]"))]
Note = Annotated[str, Reads("a text of at most 2000 characters", '"behind the galley"', _text(2000, f"[{_CONTROLS}]"))]
Window = Annotated[str, Reads("a span of the day", '"06:00-08:30"', _is_window)]
Month = Annotated[int, Reads("a month from 1 to 12", "[11, 12, 1, 2]", lambda value: type(value) is int and 1 <= value <= 12)]
Existing = Annotated[str, _choice("what happens to what is there", EXISTING)]
HoursADay = Annotated[Quantity, Kind("time a day", "h", "3 h", low=0, high=24)]
Margin = Annotated[float, Kind("margin", "", "20 %", low=0, high=2, percent=True)]
ShareLost = Annotated[float, Kind("share lost", "", "2 %", low=0, high=0.5, percent=True)]


class Section(BaseModel):
    """One table of the coach file. Unknown and missing keys are refused with their place and what is known."""

    model_config = ConfigDict(frozen=True, extra="forbid", arbitrary_types_allowed=True)

    @model_validator(mode="before")
    @classmethod
    def _keys(cls, values):
        if not isinstance(values, dict):
            if isinstance(values, cls):
                return values
            raise InputError("", f"{_quoted(values)} stands there", "a table with its own keys")
        fields = {field.alias or name: field for name, field in cls.model_fields.items()}
        for key in values:
            if key not in fields:
                near = _nearest(key, fields)
                raise InputError(f".{key}", f'there is no key "{key}" here', "one of " + ", ".join(fields),
                                 hint=f"did you mean {near}?" if near else "")  # fmt: skip
        for key, field in fields.items():
            if field.is_required() and values.get(key) is None:
                reader = _reader(field)
                raise InputError(f".{key}", "it is missing", field.description, reader and _example(reader))
        return values


def _reader(part):
    """The Kind or Reads that stands in a field or an annotation, or None."""
    for mark in getattr(part, "metadata", getattr(part, "__metadata__", ())):
        if isinstance(mark, (Kind, Reads)):
            return mark
    inner = typing.get_args(getattr(part, "annotation", part))
    return next(filter(None, map(_reader, inner)), None)


def _example(reader):
    return f'"{reader.example}"' if isinstance(reader, Kind) else reader.example


# ------------------------------------------------------------------------------- the sections


class Body(Section):
    """[coach]: the vehicle."""

    kind: Annotated[str, _choice("a kind of coach", COACH_KINDS)] = Field("other", description="kind of coach")
    length: Length | None = Field(None, description="length over all")
    empty_mass: Mass | None = Field(None, description="mass as it stands empty, from a scale or the door sticker")
    gross_rating: Mass | None = Field(None, description="most that it may weigh, from the door sticker")
    cargo_capacity: Mass | None = Field(None, description="most that may be added, from the door sticker")


class Season(Section):
    """[[seasons]]: a part of the year with its own habits."""

    name: Name = Field(description="name by which loads refer to it")
    months: tuple[Month, ...] = Field((), description="months, 1 to 12")
    night: Window = Field(description="from sunset to sunrise, local standard time")


class Load(Section):
    """[[loads]]: what takes energy. Either `power`, or `current` at `voltage`; either `hours` or `windows`."""

    name: Name = Field(description="name of the load")
    group: Name = Field("other", description="group in which it is shown")
    side: Annotated[str, _choice("a side", SIDES)] = Field(description='side on which it is connected, "dc" or "ac"')
    power: Power | None = Field(None, description="what one of them draws while it runs")
    current: Current | None = Field(None, description="nameplate amps, instead of power")
    voltage: Voltage | None = Field(None, description="volts that belong to the amps")
    count: Count = Field(1.0, description="how many there are")
    hours: HoursADay | None = Field(None, description="hours a day in which it is switched on")
    windows: tuple[Window, ...] | None = Field(None, description="spans of the day in which it is switched on")
    duty: Fraction = Field(1.0, description="share of that time in which it really runs")
    seasons: tuple[Name, ...] = Field((), description="seasons in which it is used; none named means all")
    standby: Power | None = Field(None, description="what one of them draws while it is switched off")

    @model_validator(mode="after")
    def _one_of_each(self):
        amps = self.current is not None
        if (self.power is not None) == amps or amps != (self.voltage is not None):
            given = [key for key in ("power", "current", "voltage") if getattr(self, key) is not None]
            raise InputError("", f"{' and '.join(given) or 'neither power nor current'} given",
                             "either power, or current with voltage",
                             'power = "85 W", or current = "4 A" with voltage = "12.8 V"')  # fmt: skip
        if (self.hours is not None) == bool(self.windows):
            raise InputError("", f"{'both' if self.windows else 'neither'} of hours and windows given",
                             "either hours a day or windows of the day",
                             'hours = "3 h", or windows = ["06:00-08:30"]')  # fmt: skip
        return self


class EnergyPlan(Section):
    """[energy]: decisions of lesson 01; what is absent is not decided."""

    margin: Margin | None = Field(None, description="share added to the day's energy")
    design_season: Name | None = Field(None, description="season that the bank must carry")
    wiring_loss: ShareLost | None = Field(None, description="share lost between the bank and the DC loads")


class Bank(Section):
    """[capacity]: the house bank."""

    nominal_voltage: Voltage = Field(Quantity(12.0, "V"), description="nominal voltage of the house bank")
    chemistry: Annotated[str, _choice("a chemistry", CHEMISTRIES)] | None = Field(None, description="chemistry")


class EfficiencyPoint(Section):
    """One line of an inverter's data sheet."""

    power: Power = Field(description="AC power delivered")
    efficiency: Fraction = Field(description="efficiency at that power")


class Inverter(Section):
    """[inverter]: the house inverter, from its data sheet."""

    name: Name = Field("Inverter", description="name of the inverter")
    rated_power: Power = Field(description="AC power that it delivers without end")
    idle: Power = Field(description="draw from the bank while it is on with nothing connected")
    on: tuple[Window, ...] = Field(("00:00-24:00",), description="spans of the day in which it is switched on")
    efficiency: tuple[EfficiencyPoint, ...] = Field(description="three points of its data sheet")

    @model_validator(mode="after")
    def _three_points(self):
        powers = [point.power.to("W").magnitude for point in self.efficiency]
        if len(set(powers)) != 3 or len(powers) != 3 or not all(powers):
            raise InputError(".efficiency", f"{len(powers)} points stand there, {len(set(powers) - {0.0})} of them useful",
                             "three points, each at another power above 0",
                             '{ power = "300 W", efficiency = "91 %" }')  # fmt: skip
        return self


class Circuit(Section):
    """[[circuits]]: a pair of conductors from one place to another, there already or to be built."""

    name: Name = Field(description="name of the circuit")
    from_: Name = Field(alias="from", description="where it starts, on the side of the source")
    to: Name = Field(description="where it ends")
    length: Length | None = Field(None, description="length of the run, one way")
    current: Current | None = Field(None, description="most that it carries for long")
    purpose: Annotated[str, _choice("a purpose", PURPOSES)] = Field(description="what it is for")
    existing: Existing | None = Field(None, description="what happens to one that is there; absent for a new one")
    limit: Current | None = Field(None, description='most that it may carry from now on, with existing = "limit"')
    size: Name | None = Field(None, description="conductor size that is there or was chosen")
    fuse: Current | None = Field(None, description="rating of the fuse or breaker that is there or was chosen")
    insulation: Name | None = Field(None, description="insulation of the conductor")
    note: Note | None = Field(None, description="what else a survey found")

    @model_validator(mode="after")
    def _complete(self):
        if (self.existing == "limit") != (self.limit is not None):
            raise InputError("", f'existing is {_quoted(self.existing or "absent")} and limit is '
                             f"{'absent' if self.limit is None else 'given'}",
                             'a limit with existing = "limit", and only then', 'existing = "limit", limit = "20 A"')  # fmt: skip
        for key in ("length", "current"):
            if getattr(self, key) is None and self.existing != "remove":
                raise InputError(f".{key}", "it is missing", "a value for every circuit that is not removed",
                                 _example(_reader(type(self).model_fields[key])))  # fmt: skip
        return self


class Equipment(Section):
    """[[equipment]]: a thing with a mass, there already or to be bought."""

    name: Name = Field(description="name of the thing")
    kind: Annotated[str, _choice("a kind of equipment", EQUIPMENT_KINDS)] = Field(description="kind of equipment")
    existing: Existing | None = Field(None, description="what happens to one that is there; absent for a new one")
    mass: Mass | None = Field(None, description="mass of all of it")
    note: Note | None = Field(None, description="what else a survey found")


class Coach(Section):
    """A coach file as read. `changed`, `without` and `decide` make a new coach; `save` and `decide` write it."""

    format: Annotated[int, Reads("a format", "format = 1", lambda value: value == FORMAT)] = Field(FORMAT)
    name: Name = Field(description="name of the coach")
    about: Note | None = Field(None, description="who lives in it, where, for how long")
    coach: Body = Field(Body(), description="the vehicle")
    seasons: tuple[Season, ...] = Field(description="at least one [[seasons]] with name and night")
    loads: tuple[Load, ...] = Field((), description="what takes energy")
    energy: EnergyPlan = Field(EnergyPlan(), description="decisions of lesson 01")
    capacity: Bank = Field(Bank(), description="the house bank")
    inverter: Inverter | None = Field(None, description="the house inverter")
    circuits: tuple[Circuit, ...] = Field((), description="conductors, from the survey and from the lessons")
    equipment: tuple[Equipment, ...] = Field((), description="things with a mass")
    _origin: tuple = PrivateAttr((None, b""))  # the file it was read from, and its bytes then

    @model_validator(mode="after")
    def _goes_together(self):
        for section, rows in self:
            seen = set()
            for number, row in enumerate(rows if isinstance(rows, tuple) else (), 1):
                if row.name.casefold() in seen:
                    raise InputError(f".{section}[{number}]", f"the name {_quoted(row.name)} stands there a second time",
                                     "a name of its own for each", f'"{row.name} 2"')  # fmt: skip
                seen.add(row.name.casefold())
        seasons = [season.name for season in self.seasons]
        if not seasons:
            raise InputError(".seasons", "the list is empty", "at least one season", '{ name = "summer", night = "20:10-05:50" }')
        months = [month for season in self.seasons for month in season.months]
        for month in months:
            if months.count(month) > 1:
                raise InputError(".seasons", f"month {month} stands there {months.count(month)} times", "each month once")
        named = {f'.loads[{number}] "{load.name}".seasons': load.seasons for number, load in enumerate(self.loads, 1)}
        named[".energy.design_season"] = filter(None, [self.energy.design_season])
        for place, names in named.items():
            for name in names:
                if name not in seasons:
                    raise InputError(place, f"{_quoted(name)} is not a season of this file", "one of " + ", ".join(seasons),
                                     _nearest(name, seasons) or f'"{seasons[0]}"')  # fmt: skip
        return self

    def __eq__(self, other):
        return isinstance(other, Coach) and self.__dict__ == other.__dict__

    def __hash__(self):
        return hash((self.name, len(self.loads)))

    @property
    def path(self):
        """The file it was read from, or None."""
        return self._origin[0]

    def changed(self, section, row=None, /, **values):
        """A new coach with `values` in a section (`""` is the top of the file); None takes a value away.

        In a section of rows such as `"loads"`, `row` names the one to change; without it a row is added.
        Raises InputError as `parse` does.
        """
        tree = _plain(self)
        table = tree if section == "" else tree.setdefault(section, [] if self._has_rows(section) else {})
        if isinstance(table, list):
            if row is None:
                table.append({})
            table = table[-1] if row is None else table[self._row(section, row)]
        table.update(values)
        for key in [key for key in values if values[key] is None]:
            del table[key]
        return self._successor(tree)

    def without(self, section, row, /):
        """A new coach without the row of that name: `coach.without("loads", "Fan")`."""
        tree = _plain(self)
        del tree[section][self._row(section, row)]
        return self._successor(tree)

    def decide(self, section, row=None, /, **values):
        """Write a lesson's decision and return the coach as it now stands; what stands already is not written.

        >>> coach = coach.decide("energy", margin=0.2, design_season="summer")      # doctest: +SKIP
        """
        decided = self.changed(section, row, **values)
        if decided == self:
            return self
        path = _readers_own(self.path)
        if path and path.is_file() and path.read_bytes() != self._origin[1]:
            newest = read(path)  # a lesson run again still holds the coach from before its own decision
            if row is None or row in [one.name for one in getattr(newest, section)]:
                if newest.changed(section, row, **values) == newest:
                    return newest
        return decided.save()

    def save(self, path=None):
        """Write the file and return the coach as read back from it. Comments and layout stay.

        A demo is never written: its copy goes into the reader's folder. The version before is kept as
        `NAME.previous.toml`. Raises InputError, and leaves everything as it was, where the file changed since
        it was read, where another file stands already, and where it cannot be written.
        """
        if path is None and self.path is None:
            raise InputError("coach", "no file is named", "a path to save to", '"my-coach.toml"')
        path = _readers_own(self.path if path is None else path)
        origin, known = self._origin
        content = _file_bytes(self, known)
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
            if path.exists():
                standing = path.read_bytes()
                if standing != known or _readers_own(origin) != path:
                    why = "changed on disk since it was read" if _readers_own(origin) == path else "is another file"
                    raise InputError(str(path), f"the file there {why}, so it is not written over",
                                     "to read it again and repeat the change, or another path")  # fmt: skip
                if standing == content:
                    return self
                _replace(path.with_name(f"{path.stem}.previous.toml"), standing, path)
            _replace(path, content, path)
        except OSError as error:
            raise InputError(str(path), f"it cannot be written ({error.strerror or error})",
                             "a folder that can be written, on a disk with room") from None  # fmt: skip
        return read(path)

    def _has_rows(self, section):
        field = type(self).model_fields.get(section)
        if field is None or section in ("format", "name", "about"):
            near = _nearest(section, type(self).model_fields)
            raise InputError("section", f"{_quoted(section)} is no section of a coach file", "a section",
                             near or '"energy"')  # fmt: skip
        return typing.get_origin(field.annotation) is tuple

    def _row(self, section, row):
        names = [one.name for one in getattr(self, section)] if self._has_rows(section) else []
        if row not in names:
            raise InputError(section, f"there is no {_quoted(row)}", "the name of one of its rows",
                             _nearest(row, names) or (f'"{names[0]}"' if names else ""))  # fmt: skip
        return names.index(row)

    def _successor(self, tree):
        coach = _build(tree, self.path.name if self.path else self.name)
        coach._origin = self._origin
        return coach


# ------------------------------------------------------------------------------- reading


def read(path):
    """The coach in a file; InputError says in one sentence what is wrong with it, and where."""
    path = Path(path)
    try:
        if path.stat().st_size > LARGEST_FILE:
            raise InputError(path.name, f"the file has {path.stat().st_size:,} bytes", f"at most {LARGEST_FILE:,} bytes")
        content = path.read_bytes()
    except OSError as error:
        raise InputError(str(path), f"it cannot be read ({error.strerror or error})", "the path of a coach file",
                         '"my-coach.toml"') from None  # fmt: skip
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise InputError(path.name, f"byte {error.start + 1} is not UTF-8 text", "a text file saved as UTF-8") from None
    coach = parse(text, path.name)
    coach._origin = (path.resolve(), content)
    return coach


def parse(text, place="coach file"):
    """The coach in the text of a coach file; `place` stands at the head of every InputError."""
    if not text.strip():
        raise InputError(place, "it is empty", "a coach file", 'a first line "format = 1"')
    if len(text) > LARGEST_FILE:
        raise InputError(place, f"it has {len(text):,} characters", f"at most {LARGEST_FILE:,}")
    try:
        tree = tomllib.loads(text)
    except (ValueError, RecursionError) as error:
        why = "brackets too deep" if isinstance(error, RecursionError) else str(error)
        raise InputError(place, f"it is not TOML ({why})", "lines of TOML", 'power = "85 W"') from None
    version = tree.get("format")
    if type(version) is not int or version < 1:
        raise InputError(place, f"its format is {_quoted(version)}" if "format" in tree else "it has no format",
                         "the format of the file in its first line", f"format = {FORMAT}")  # fmt: skip
    if version > FORMAT:
        raise InputError(place, f"its format is {version}, from a newer workbook", f"format {FORMAT} or older",
                         hint="open it with the newer workbook")  # fmt: skip
    for old in range(version, FORMAT):
        tree = MIGRATIONS[old](tree)
    return _build(tree, place)


def _build(tree, place):
    try:
        return Coach.model_validate(tree)
    except ValidationError as error:
        errors = error.errors(include_url=False)
    first, more = errors[0], len(errors) - 1
    found = first.get("ctx", {}).get("error")
    where = _where(first["loc"], tree)
    if not isinstance(found, InputError):  # a value where a list is wanted
        found = InputError("", f"{_quoted(first['input'])} stands there", "a list in square brackets", '["summer"]')
    where = (where + found.place if found.place[:1] == "." else where).lstrip(".")
    also = f"and {more} more to mend" if more else ""
    raise InputError(f"{place}, {where}", found.found, found.wanted, found.example,
                     "; ".join(filter(None, [found.hint, also])))  # fmt: skip


def _where(loc, tree):
    """pydantic's path to words for a reader, counted from 1: `loads[3] "Water pump".power`."""
    text = ""
    for part in loc:
        tree = tree[part] if isinstance(tree, (dict, list, tuple)) else None
        name = tree.get("name") if isinstance(tree, dict) else None
        text += f"[{part + 1}]" if isinstance(part, int) else f".{part}"
        text += f" {_quoted(name)}" if isinstance(part, int) and isinstance(name, str) else ""
    return text


# ------------------------------------------------------------------------------- writing


def _plain(value):
    """What stands in a coach as TOML values: text, numbers, lists, tables; only what was set."""
    if isinstance(value, Section):
        fields = type(value).model_fields
        return {
            fields[name].alias or name: _plain(one)
            for name, one in value
            if one is not None and (name in value.model_fields_set or name == "format")
        }
    if isinstance(value, Quantity):
        return write_quantity(value)
    if isinstance(value, tuple):
        return [_plain(one) for one in value]
    return int(value) if isinstance(value, float) and value == int(value) and abs(value) < 1e15 else value


def _file_bytes(coach, known):
    """The file of a coach, made by changing in the `known` bytes only what differs."""
    import tomlkit

    text = known.decode("utf-8-sig")
    windows = text.count("\r\n") == text.count("\n") > 0
    document = tomlkit.parse(text.replace("\r\n", "\n") if windows else text)
    _merge(document, _plain(parse(text)) if text else {}, _plain(coach))
    made = tomlkit.dumps(document)
    if parse(made) != coach:
        raise RuntimeError(f"the file made for {coach.name!r} does not read back as the same coach")
    made = made.replace("\n", "\r\n") if windows else made
    return made.encode("utf-8-sig" if known.startswith(b"\xef\xbb\xbf") else "utf-8")


def _merge(table, old, new, top=True):
    for key in [key for key in old if key not in new]:
        table.remove(key)
    for key, value in new.items():
        before = old.get(key)
        if before == value:
            continue
        if isinstance(value, dict) and isinstance(before, dict):
            _merge(table[key], before, value, top=False)
        elif top and isinstance(value, list):
            _merge_rows(table, key, before or [], value)
        else:
            table[key] = _toml(value)


def _merge_rows(document, key, old, new):
    """Rows are known by their names; one renamed in its place is the same row."""
    import tomlkit

    standing = {row["name"]: (row, table) for row, table in zip(old, document.get(key, []))}
    gone = [name for name in standing if name not in [row["name"] for row in new]]
    rows = []
    for place, row in enumerate(new):
        renamed = len(old) == len(new) and old[place]["name"] in gone and row["name"] not in standing
        before, table = standing.get(old[place]["name"] if renamed else row["name"], ({}, None))
        if table is None:
            table = tomlkit.table()
        _merge(table, before, row, top=False)
        rows.append(table)
    if key in document and [id(one) for one in rows] == [id(table) for _, table in standing.values()]:
        return
    if key in document:
        document.remove(key)
    if rows:
        document.append(key, tomlkit.aot())
        for table in rows:
            document[key].append(table)


def _toml(value):
    import tomlkit

    if isinstance(value, dict):
        table = tomlkit.table()
        for key, one in value.items():
            table.append(key, _toml(one))
        return table
    if isinstance(value, list) and value and isinstance(value[0], dict):
        lines = tomlkit.array().multiline(True)
        for one in value:
            line = tomlkit.inline_table()
            line.update(one)
            lines.append(line)
        return lines
    return value


def _replace(path, content, like):
    """Put `content` at `path` in one step: whoever reads sees the whole old file or the whole new one."""
    draft = path.with_name(f".{path.name}.{os.getpid()}.draft")
    try:
        with open(draft, "wb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        if like.exists():
            shutil.copymode(like, draft)
        os.replace(draft, path)
    finally:
        draft.unlink(missing_ok=True)


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


def _choice_file():
    return bootstrap.home() / "chosen-coach.txt"


def current():
    """The reader's coach: the chosen one, else the main demo. A demo once decided upon is the reader's copy."""
    choice = _choice_file()
    path = Path(choice.read_text(encoding="utf-8").strip()) if choice.is_file() else main_demo()
    own = _readers_own(path)
    return read(own if own.is_file() else path)


def choose(path):
    """Make the coach in this file the reader's; it is read first, so only a good one can be chosen."""
    coach = read(path)
    _choice_file().parent.mkdir(parents=True, exist_ok=True)
    _replace(_choice_file(), f"{coach.path}\n".encode(), _choice_file())
    return current()
