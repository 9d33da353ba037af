"""The coach file: what a reader's coach is, what it must carry, and what the lessons decided for it.

A coach file is TOML text with `format = 1`. Each section below is one model, and each of its fields reads
its own value (a kind of quantity, a choice, a text). A later lesson adds a section with one class and one
line in `Coach`. A coach never changes: a change is a new coach, and only `save` writes.
"""

import re
import tomllib
import typing
from pathlib import Path
from typing import Annotated

from pydantic import BaseModel, ConfigDict, Field, PrivateAttr, ValidationError, model_validator
from pydantic_core import core_schema

from coachwork import bootstrap, files
from coachwork.quantities import (
    Charge, Count, Current, Fraction, InputError, Kind, Length, Mass, Power, Price, Quantity, Resistance, Temperature,
    Time, Voltage, Volume, nearest, quoted, read_window,
)  # fmt: skip

FORMAT = 1
MIGRATIONS = {}  # older format: function from its values (a dict) to those of the next format
LARGEST_FILE = 1_000_000  # bytes
DEMOS = bootstrap.ROOT / "data" / "coaches"
CHOICE = "chosen-coach.txt"  # in the reader's folder: the path of the coach that was chosen

# ------------------------------------------------------------------------------- what a value may be

COACH_KINDS = ("travel trailer", "fifth wheel", "class A", "class B van", "class C", "truck camper", "other")
SIDES = {"dc": "straight from the house bank", "ac": "through the inverter, or from shore or a generator"}
CHEMISTRIES = ("lithium iron phosphate", "AGM", "flooded lead-acid")
TAKE_OFFS = {
    "one end": "links from post to post, both leads of the bank from the first module",
    "diagonal": "links from post to post, plus lead from the first module, minus lead from the last",
    "bus bars": "two leads of equal length from every module to a plus bar and a minus bar",
}
JOINED = {
    "in parallel": "wired straight to the bank",
    "through a charger": "only a DC-DC charger between them",
    "not at all": "a system of its own",
}
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

    wanted, example: words for a reader. accepts: tells whether a value is one. options: every value there is;
    meanings: what each of them means, where that needs words.
    """

    def __init__(self, wanted, example, accepts=None, options=()):
        self.example, self.options = example, tuple(options)
        self.meanings = options if isinstance(options, dict) else {}
        self.wanted = f"{wanted}: {', '.join(self.options)}" if options else wanted
        self.accepts = accepts or (lambda value: isinstance(value, str) and value in self.options)

    def read(self, value, place="value"):
        """`value` itself where it is one; InputError otherwise."""
        if self.accepts(value):
            return value
        near = nearest(str(value), self.options)
        raise InputError(place, f"{quoted(value)} stands there", self.wanted, f'"{near}"' if near else self.example)

    def __get_pydantic_core_schema__(self, source, handler):
        return core_schema.no_info_plain_validator_function(self.read)


def _text(longest, forbidden):
    forbidden = re.compile(f"[{forbidden}\x00-\x08\x0b-\x1f\x7f-\x9f\u2028\u2029\ud800-\udfff]")
    return lambda value: isinstance(value, str) and value.strip() and len(value) <= longest and not forbidden.search(value)


def _one_of(wanted, options):
    return Annotated[str, Reads(wanted, f'"{next(iter(options))}"', options=options)]


Name = Annotated[str, Reads("a text of one line, at most 80 characters", '"Water pump"', _text(80, "\t\n"))]
Note = Annotated[str, Reads("a text of at most 2000 characters", '"behind the galley"', _text(2000, ""))]
Window = Annotated[str, Reads("a span of the day", '"06:00-08:30"', read_window)]
Month = Annotated[int, Reads("a month from 1 to 12", "[11, 12, 1, 2]", lambda value: type(value) is int and 1 <= value <= 12)]
Existing = _one_of("what happens to what is there", EXISTING)
HoursADay = Annotated[Quantity, Kind("time a day", "h", "3 h", low=0, high=24)]
Margin = Annotated[float, Kind("margin", "", "20 %", low=0, high=2, percent=True)]
Whole = Annotated[int, Reads("a whole number from 1 to 100", "2", lambda value: type(value) is int and 1 <= value <= 100)]
WholeOrNone = Annotated[int, Reads("a whole number from 0 to 100", "1", lambda value: type(value) is int and 0 <= value <= 100)]
DaysWithout = Annotated[float, Kind("number of days", "", "2", low=0.1, high=30)]
ShareLost = Annotated[float, Kind("share lost", "", "2 %", low=0, high=0.5, percent=True)]


class Section(BaseModel):
    """One table of the coach file. Unknown and missing keys are refused with their place and what is known."""

    model_config = ConfigDict(frozen=True)

    @model_validator(mode="before")
    @classmethod
    def _keys(cls, values):
        if isinstance(values, cls):
            return values
        if not isinstance(values, dict):
            raise InputError("", f"{quoted(values)} stands there", "a table with its own keys")
        fields = {field.alias or name: field for name, field in cls.model_fields.items()}
        for key in values:
            if key not in fields:
                near = nearest(key, fields)
                raise InputError(f".{key}", f'there is no key "{key}" here', "one of " + ", ".join(fields),
                                 hint=near and f'did you mean "{near}"?')  # fmt: skip
        for key, field in fields.items():
            if field.is_required() and values.get(key) is None:
                raise InputError(f".{key}", "it is missing", field.description, example_of(field))
        return values

    def plain(self):
        """What was set, as TOML values: text, numbers, lists, tables."""
        fields = type(self).model_fields
        return {
            fields[name].alias or name: _plain(value)
            for name, value in self
            if value is not None and (name in self.model_fields_set or name == "format")
        }


def _plain(value):
    if isinstance(value, Section):
        return value.plain()
    return [_plain(one) for one in value] if isinstance(value, tuple) else files.toml_value(value)


def reader_of(part):
    """The Kind or Reads of `part`, a field or an annotation (looking into `| None` and tuples), or None."""
    for mark in getattr(part, "metadata", getattr(part, "__metadata__", ())):
        if isinstance(mark, (Kind, Reads)):
            return mark
    return next(filter(None, map(reader_of, typing.get_args(getattr(part, "annotation", part)))), None)


def example_of(part):
    """What a reader could write for `part`, a field or an annotation, or empty text."""
    reader = reader_of(part)
    return f'"{reader.example}"' if isinstance(reader, Kind) else reader.example if reader else ""


# ------------------------------------------------------------------------------- the sections


class Body(Section):
    """[coach]: the vehicle."""

    kind: _one_of("a kind of coach", COACH_KINDS) = Field("other", description="kind of coach")
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
    side: _one_of("a side", SIDES) = Field(description='side on which it is connected, "dc" or "ac"')
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


class Module(Section):
    """[capacity.module]: data sheet of the battery modules of which the house bank is built."""

    name: Name = Field(description="make and model, or an invented name")
    chemistry: _one_of("a chemistry", CHEMISTRIES) = Field(description="chemistry")
    voltage: Voltage = Field(description="nominal voltage")
    cells: Whole = Field(description="cells in series inside")
    charge: Charge = Field(description="rated amp-hours")
    rated_hours: Time = Field(description="hours over which they are stated")
    resistance: Resistance = Field(description="internal resistance")
    continuous: Current = Field(description="most that it gives for long")
    peak: Current | None = Field(None, description="most that it gives for a short time")
    peak_time: Time | None = Field(None, description="how long it gives that")
    charge_current: Current = Field(description="most that it may be charged with")
    cut_off: Voltage = Field(description="voltage at which its discharge ends")
    charge_voltage: Voltage = Field(description="highest voltage at which it is charged")
    series_limit: Whole = Field(1, description="most that may stand in series")
    coldest_charge: Temperature = Field(description="coldest at which it may be charged")
    coldest_use: Temperature = Field(description="coldest at which it may be discharged")
    mass: Mass = Field(description="mass of one")
    volume: Volume | None = Field(None, description="room that one takes")
    price_low: Price | None = Field(None, description="lower end of its price")
    price_high: Price | None = Field(None, description="upper end of its price")


class OtherBattery(Section):
    """One battery that stays beside the house bank."""

    name: Name = Field(description="make and model, or an invented name")
    chemistry: _one_of("a chemistry", CHEMISTRIES) = Field(description="chemistry")
    voltage: Voltage = Field(description="nominal voltage")
    charge: Charge = Field(description="rated amp-hours")
    age: Time | None = Field(None, description="how old it is")
    joined: _one_of("how it is joined to the bank", JOINED) = Field(description="how it is joined to the bank")


class BusDevice(Section):
    """One device on the bank's bus and the voltages that it stands."""

    name: Name = Field(description="name of the device")
    highest_voltage: Voltage | None = Field(None, description="highest voltage that it stands")
    lowest_voltage: Voltage | None = Field(None, description="voltage below which it stops")


class Bank(Section):
    """[capacity]: the house bank, and the decisions of lesson 02; what is absent is not decided."""

    nominal_voltage: Voltage = Field(Quantity(12.0, "V"), description="nominal voltage of the house bank")
    chemistry: _one_of("a chemistry", CHEMISTRIES) | None = Field(None, description="chemistry")
    days: DaysWithout | None = Field(None, description="days that it carries the coach without being charged")
    depth: Fraction | None = Field(None, description="share of the capacity that may be taken out")
    end_of_life: Fraction | None = Field(None, description="share of the rated capacity at which it counts as worn out")
    coldest: Temperature | None = Field(None, description="coldest that its cells are while they are used")
    module: Module | None = Field(None, description="data sheet of its modules")
    series: Whole | None = Field(None, description="modules one after another in a string")
    parallel: Whole | None = Field(None, description="strings side by side")
    reserve: WholeOrNone | None = Field(None, description="strings of these that are kept switched off")
    take_off: _one_of("a take-off", TAKE_OFFS) | None = Field(None, description="how its leads are taken off")
    lead_length: Length | None = Field(None, description="length of one lead from post to post or from post to bar")
    lead_size: Name | None = Field(None, description="conductor size of these leads")
    joint_resistance: Resistance | None = Field(None, description="resistance of one bolted joint")
    module_fuse: Current | None = Field(None, description="rating of the fuse of each string")
    devices: tuple[BusDevice, ...] = Field((), description="devices on its bus with the voltages that they stand")
    others: tuple[OtherBattery, ...] = Field((), description="batteries that stay beside it")


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
    purpose: _one_of("a purpose", PURPOSES) = Field(description="what it is for")
    existing: Existing | None = Field(None, description="what happens to one that is there; absent for a new one")
    limit: Current | None = Field(None, description='most that it may carry from now on, with existing = "limit"')
    size: Name | None = Field(None, description="conductor size that is there or was chosen")
    fuse: Current | None = Field(None, description="rating of the fuse or breaker that is there or was chosen")
    insulation: Name | None = Field(None, description="insulation of the conductor")
    note: Note | None = Field(None, description="what else a survey found")

    @model_validator(mode="after")
    def _complete(self):
        if (self.existing == "limit") != (self.limit is not None):
            raise InputError("", f'existing is {quoted(self.existing or "absent")} and limit is '
                             f"{'absent' if self.limit is None else 'given'}",
                             'a limit with existing = "limit", and only then', 'existing = "limit", limit = "20 A"')  # fmt: skip
        for key in ("length", "current"):
            if getattr(self, key) is None and self.existing != "remove":
                raise InputError(f".{key}", "it is missing", "a value for every circuit that is not removed",
                                 example_of(type(self).model_fields[key]))  # fmt: skip
        return self


class Equipment(Section):
    """[[equipment]]: a thing with a mass, there already or to be bought."""

    name: Name = Field(description="name of the thing")
    kind: _one_of("a kind of equipment", EQUIPMENT_KINDS) = Field(description="kind of equipment")
    existing: Existing | None = Field(None, description="what happens to one that is there; absent for a new one")
    mass: Mass | None = Field(None, description="mass of all of it")
    note: Note | None = Field(None, description="what else a survey found")


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
    inverter: Inverter | None = Field(None, description="the house inverter")
    circuits: tuple[Circuit, ...] = Field((), description="conductors, from the survey and from the lessons")
    equipment: tuple[Equipment, ...] = Field((), description="things with a mass")
    _origin: tuple = PrivateAttr((None, b""))  # the file it was read from, and its bytes then

    @model_validator(mode="after")
    def _goes_together(self):
        for section, rows in self:
            names = [row.name.casefold() for row in rows] if isinstance(rows, tuple) else []
            for place, name in enumerate(names):
                if name in names[:place]:
                    raise InputError(f".{section}[{place + 1}]", f"the name {quoted(rows[place].name)} stands there a second "
                                     "time", "a name of its own for each", f'"{rows[place].name} 2"')  # fmt: skip
        seasons = [season.name for season in self.seasons]
        months = [month for season in self.seasons for month in season.months]
        if not seasons or len(set(months)) < len(months):
            raise InputError(".seasons", "a month stands there twice" if seasons else "the list is empty",
                             "at least one season, each month once", 'name = "summer", months = [6, 7, 8]')  # fmt: skip
        named = {f".loads[{at}] {quoted(load.name)}.seasons": load.seasons for at, load in enumerate(self.loads, 1)}
        named[".energy.design_season"] = (self.energy.design_season or seasons[0],)
        for place, names in named.items():
            for name in names:
                if name not in seasons:
                    raise InputError(place, f"{quoted(name)} is not a season of this file", "one of " + ", ".join(seasons),
                                     f'"{nearest(name, seasons) or seasons[0]}"')  # fmt: skip
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
        """A new coach that says `values` (a dict, as of a coach file), to be saved in the file of this one."""
        return self._successor(values)

    def _rows(self, tree, section):
        field = type(self).model_fields.get(section)
        if field is None or section in ("format", "name", "about"):
            raise InputError("section", f"{quoted(section)} is no section of a coach file", "a section", '"energy"')
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
        `NAME.previous.toml`. Raises InputError, with every file as it was, where the file changed since it was
        read, where another file stands at `path`, and where it cannot be written.
        """
        if path is None and self.path is None:
            raise InputError("coach", "no file is named", "a path to save to", '"my-coach.toml"')
        path = _readers_own(path or self.path)
        known = self._origin[1]
        content = _file_bytes(self, known)
        try:
            standing = path.read_bytes() if path.exists() else None
            if standing is not None:
                ours = path == _readers_own(self.path)
                if standing != known or not ours:
                    raise InputError(str(path), f"the file there {'changed since it was read' if ours else 'is another one'}"
                                     ", so it is left as it is", "to read it again and repeat the change, or another path")  # fmt: skip
                if content == standing:
                    return self
                files.replace(path.with_name(f"{path.stem}.previous.toml"), standing)
            files.replace(path, content)
        except OSError as error:
            raise InputError(str(path), f"it cannot be written ({error.strerror or error})",
                             "a folder that can be written, on a disk with room") from None  # fmt: skip
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
        raise InputError(path.name, "the file is too large for a coach file", f"at most {LARGEST_FILE:,} bytes")
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
        raise InputError(place, "it is empty", "a coach file", f"one that begins with format = {FORMAT}")
    try:
        tree = tomllib.loads(text)
    except (ValueError, RecursionError) as error:
        why = "its brackets go too deep" if isinstance(error, RecursionError) else error
        raise InputError(place, f"it is not TOML ({why})", "lines of TOML", 'power = "85 W"') from None
    version = tree.get("format")
    if type(version) is not int or version < 1:
        raise InputError(place, f"its format is {quoted(version)}" if "format" in tree else "it has no format",
                         "the format of the file in its first line", f"format = {FORMAT}")  # fmt: skip
    if version > FORMAT:
        raise InputError(place, f"its format is {version}, from a newer workbook", f"format {FORMAT} or older",
                         hint="open it with that newer workbook")  # fmt: skip
    for older in range(version, FORMAT):
        tree = MIGRATIONS[older](tree)
    return _build(tree, place)


def _build(tree, place):
    try:
        return Coach.model_validate(tree)
    except ValidationError as error:
        first, *others = error.errors(include_url=False)
    found = first.get("ctx", {}).get("error")
    if not isinstance(found, InputError):  # the one thing that no reader of ours looks at
        found = InputError("", f"{quoted(first['input'])} stands there", "a list in square brackets", '["summer"]')
    where, at = "", tree
    for part in first["loc"]:  # pydantic's path, in words and counted from 1: loads[3] "Water pump".power
        at = at[part] if isinstance(at, (dict, list, tuple)) else None
        where += f"[{part + 1}]" if isinstance(part, int) else f".{part}"
        if isinstance(part, int) and isinstance(at, dict) and isinstance(at.get("name"), str):
            where += f" {quoted(at['name'])}"
    where += found.place if found.place.startswith(".") else ""
    hint = "; ".join(filter(None, [found.hint, others and f"and {len(others)} more to mend"]))
    raise InputError(f"{place}, {where.lstrip('.')}", found.found, found.wanted, found.example, hint)


def _file_bytes(coach, known):
    """The file of a coach, made from the bytes that were read by changing only what differs."""
    text = known.decode("utf-8-sig")
    made = files.edit_toml(text, parse(text).plain() if text else {}, coach.plain())
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
    path = Path(choice.read_text(encoding="utf-8").strip()) if choice.is_file() else main_demo()
    own = _readers_own(path)
    return read(own if own.is_file() else path)


def choose(path):
    """Make the coach in the file at `path` the reader's, and return it; only one that can be read can be chosen."""
    files.replace(bootstrap.home() / CHOICE, f"{read(path).path}\n".encode())
    return current()
