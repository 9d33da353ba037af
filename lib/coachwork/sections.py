"""The sections of a coach file: one model each, whose fields read their own values.

A field's annotation reads its value (a kind of quantity, a choice, a text), its description says what it is:
error messages, the form and the documentation are made from both. A lesson adds a section with one class
here and one line in `coach.Coach`.
"""

import calendar
import re
import typing
from typing import Annotated

from pydantic import BaseModel, ConfigDict, Field, model_validator
from pydantic_core import core_schema

from coachwork import files
from coachwork.quantities import (
    Age, Altitude, Angle, ApparentPower, Area, Capacitance, Charge, Count, Current, Energy, Fraction, InputError,
    InsulationRating, Kind, Length, Mass, Position, Power, Price, PriceOfEnergy, Quantity, Resistance,
    SharePerKelvin, Temperature, TemperatureDifference, Time, Voltage, VoltageTemperatureCoefficient, Volume, nearest, quoted,
    read_window,
)  # fmt: skip
from coachwork.quantities import AirFlow, Force, HeatTransfer, PriceOfAnHour, PriceOfFuel, PriceOfPower, Ratio

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
SOLAR_CONTROLLERS = {
    "MPPT": "turns the array's voltage into the bank's and its current up by as much",
    "PWM": "a switch: the array's current goes into the bank at the bank's voltage",
}
MOUNTINGS = {
    "flat on the roof, insulated back": "glued down or nearly so: the hottest",
    "close to the roof, glass both sides": "a hand's breadth of air underneath",
    "open rack, polymer back": "tilted up in the wind, ordinary module",
    "open rack, glass both sides": "tilted up in the wind, glass on both sides",
}
EXISTING = {
    "keep": "stays as it is",
    "move": "stays, but is connected elsewhere",
    "remove": "is taken out",
    "limit": "stays, but may carry no more than `limit`",
}
# Dangerous to lose: a new bank must not cut these off, and a survey that does not list them is suspect.
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
DROPS = {
    "charging": "chargers and sense leads",
    "critical": "detectors, brakes, inverter, mains of a panel",
    "other": "everything else",
}
AMPACITY_RULES = {
    "NEC 552.10": "12 V side, in a bundle, loom, cable or raceway",
    "33 CFR 183.425": "12 V side, single conductors in air, as engineering data",
    "NEC 310.16": "120 V side",
}
RETURNS = {"wire": "a second conductor", "chassis": "the frame or body"}
INVERTER_LEGS = {
    "one leg": "120 V on one leg of the panel",
    "both legs joined": "120 V on both legs of a 120/240 V panel, in step",
    "two legs": "120/240 V, the legs against each other",
}
INVERTER_BONDS = {
    "while it inverts": "a relay joins neutral to ground only while the inverter is the source",
    "always": "joined for good, by a link or screw",
    "never": "no bond in it",
}
GENERATOR_BONDS = {"bonded": "its neutral is joined to its frame", "floating": "its neutral is joined to nothing"}
NEUTRALS = {
    "switched": "the transfer switch parts the inlet's neutral too",
    "through": "the inlet's neutral stays joined to the one that the inverter feeds",
}
PANEL_BONDS = {"none": "neutral bar and ground bar are apart", "bonded": "a screw or strap joins them"}
NEUTRAL_BARS = {"own": "the circuits of the inverter have a neutral bar of their own",
                "shared": "their neutrals lie on the main panel's bar"}  # fmt: skip
CHARGER_FEEDS = {"ahead": "from the inlet, on the side that the inverter cannot feed",
                 "behind": "from a panel that the inverter can feed"}  # fmt: skip
EQUIPMENT_KINDS = (
    "battery", "inverter", "charger", "converter", "DC-DC charger", "alternator", "solar module",
    "charge controller", "generator", "air conditioner", "refrigerator", "heater", "alarm",
    "switch or disconnect", "panel", "other",
)  # fmt: skip


CHARGERS = {"AC": "shore power or a generator, through the inlet", "DC-DC": "the engine's alternator"}
START_SIGNALS = {"engine-run wire": "a wire that is live while the engine runs",
                 "input voltage": "the voltage at its input"}  # fmt: skip
STOPS = {"contact": "the battery's electronics can stop it", "voltage": "it stops by itself where the bank is gone",
         "nothing": "it runs on without a bank"}  # fmt: skip
HOUSE_ONLY = {"shared": "feeds the vehicle and the house", "house only": "a second one for the house alone"}
FUELS = ("gasoline", "diesel", "propane")
INLETS = ("15 A", "20 A", "30 A", "50 A")
SHELL_SIDES = ("front", "rear", "left", "right")
SHELL_GLASS = ("single clear", "double clear", "single dark", "acrylic, double")
ELECTRIC_HEATING = {"none": "gas or nothing", "resistance": "a wire that glows", "heat pump": "the air conditioner run backwards"}
FANS = {"with the compressor": "it stops with it, and water on the coil runs off", "always": "it dries the coil back into the room"}
COVER_PLACES = {"inside": "behind the glass: it throws light back out, and the pane still warms",
                "outside": "in front of the glass: the pane stays in the shade too"}  # fmt: skip
DUCT_PLACES = {"inside": "in the cooled space", "outside": "in air as warm as outdoors"}
STORAGE = {
    "plugged in": "on shore power from trip to trip",
    "charged the day before": "switched off, on shore power for the last day before a trip",
    "sun only": "switched off, but the array stays connected",
    "switched off": "nothing goes in; the standing current and self-discharge go out",
}
AIR_CONDITIONING = {"on the bank": "through the inverter, as lesson 09 finds",
                    "not on the bank": "on shore power or a generator only"}  # fmt: skip
BOX_PLACES = {"in the heated room": "in a box of its own, as its maker allows",
              "closed to the room": "in a compartment that only opens to the outside"}  # fmt: skip
HEATERS = {"in the air": "a heater for the compartment", "on the modules": "pads under or between them"}
PADS = {"allowed": "the modules' maker allows pads in writing", "not allowed": "the maker does not", "not asked": "nobody asked yet"}
CONTACTS = {"outside or sealed": "contacts, thermostat and fan motor stand outside the compartment or are sealed for gas",
            "in the compartment": "one of them stands inside", "not asked": "nobody asked yet"}  # fmt: skip
BESIDE = ("inverter", "charger", "switch or relay without a cover", "open flame", "LP cylinder", "engine fuel")
WAYS_OUT = {"free": "no door, hatch or window to get out by is blocked", "blocked": "it stands in one"}
OFF_GAS = {"vents outside": "openings high and low that lead straight outside", "hose outside": "a closed box with a hose outside",
           "into the room": "nothing keeps gas from the room"}  # fmt: skip
SLEEPERS = {"nobody": "no bed above or beside it", "above or beside": "somebody sleeps there"}
CARRIED = {"coach": "in or on the coach", "elsewhere": "in the tow vehicle, or left at home"}


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
        example = f'"{near}"' if near else self.example
        raise InputError(place, f"{quoted(value)} stands there", self.wanted, example)

    def __get_pydantic_core_schema__(self, source, handler):
        return core_schema.no_info_plain_validator_function(self.read)


def _text(wanted, longest, forbidden):
    control = re.compile(f"[{forbidden}\x00-\x08\x0b-\x1f\x7f-\x9f\u2028\u2029\ud800-\udfff]")

    def accepts(value):
        return isinstance(value, str) and value.strip() and len(value) <= longest and not control.search(value)

    return Annotated[str, Reads(f"{wanted} of at most {longest} characters", '"Water pump"', accepts)]


def _whole(wanted, low, high, example):
    def accepts(value):
        return type(value) is int and low <= value <= high

    return Annotated[int, Reads(f"{wanted} from {low} to {high}", example, accepts)]


def _one_of(wanted, options):
    return Annotated[str, Reads(wanted, f'"{next(iter(options))}"', options=options)]


Name = _text("a text of one line and", 80, "\t\n")
Note = _text("a text", 2000, "")
Window = Annotated[str, Reads("a span of the day", '"06:00-08:30"', read_window)]
Month = _whole("a month", 1, 12, "[11, 12, 1, 2]")
Whole = _whole("a whole number", 1, 100, "2")
WholeOrNone = _whole("a whole number", 0, 100, "1")
Existing = _one_of("what happens to what is there", EXISTING)
HoursADay = Annotated[Quantity, Kind("time a day", "h", "3 h", low=0, high=24)]
Margin = Annotated[float, Kind("margin", "", "20 %", low=0, high=2, percent=True)]
DaysWithout = Annotated[float, Kind("number of days", "", "2", low=0.1, high=30)]
CyclesAWeek = Annotated[float, Kind("number of cycles a week", "", "5", low=0, high=7)]
WeeksAYear = Annotated[float, Kind("number of weeks", "", "26", low=0, high=52)]
StartMultiple = Annotated[float, Kind("starting multiple", "", "5", low=1, high=20)]
Spread = Annotated[float, Kind("spread", "", "15 %", low=0, high=0.5, percent=True)]
NightsAway = _whole("a whole number", 1, 364, "7")


def is_day(text):
    """Whether text such as "04-06" is a day of a plain year: 6 April."""
    match = re.fullmatch(r"([0-9]{2})-([0-9]{2})", text)
    if not match:
        return False
    month, day = map(int, match.groups())
    return 1 <= month <= 12 and 1 <= day <= calendar.monthrange(2001, month)[1]


DayOfTheYear = Annotated[str, Reads("a month and a day", '"04-06"', lambda value: isinstance(value, str) and is_day(value))]
ShareLost = Annotated[float, Kind("share lost", "", "2 %", low=0, high=0.5, percent=True)]


class Section(BaseModel):
    """One table of the coach file. Unknown and missing keys are refused with place and what is known."""

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
                raise InputError(f".{quoted(key)[1:-1]}", f"there is no key {quoted(key)} here", "one of " + ", ".join(fields),
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
    empty_mass: Mass | None = Field(None, description="mass as it stands empty, from a scale")
    gross_rating: Mass | None = Field(None, description="most that it may weigh, from the door sticker")
    cargo_capacity: Mass | None = Field(None, description="most that may be added, from the door sticker")


class Season(Section):
    """[[seasons]]: a part of the year with its own habits."""

    name: Name = Field(description="name by which loads refer to it")
    months: tuple[Month, ...] = Field((), description="months, 1 to 12")
    night: Window = Field(description="from sunset to sunrise, local standard time")


class Load(Section):
    """[[loads]]: what takes energy, with `power` or `current` at `voltage`, and `hours` or `windows`."""

    name: Name = Field(description="name of the load")
    group: Name = Field("other", description="group in which it is shown")
    side: _one_of("a side", SIDES) = Field(description='side on which it is connected, "dc" or "ac"')
    power: Power | None = Field(None, description="what one of them draws while it runs")
    current: Current | None = Field(None, description="nameplate amps, instead of power")
    voltage: Voltage | None = Field(None, description="volts that belong to the amps")
    count: Count = Field(1.0, description="how many there are")
    hours: HoursADay | None = Field(None, description="hours a day when it is switched on")
    windows: tuple[Window, ...] | None = Field(None, description="spans of the day when it is switched on")
    duty: Fraction = Field(1.0, description="share of that time in which it really runs")
    seasons: tuple[Name, ...] = Field((), description="seasons in which it is used; none named means all")
    standby: Power | None = Field(None, description="what one of them draws while it is switched off")
    power_factor: Fraction | None = Field(None, description="watts over volt-amperes on the AC side; absent: 1")
    start_current: Current | None = Field(None, description="locked-rotor amps on its plate, AC side")
    start_multiple: StartMultiple | None = Field(None, description="starting over running amps, where no plate says it")
    start_time: Time | None = Field(None, description="how long its start takes")

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
    joined: _one_of("a way to be joined", JOINED) = Field(description="how it is joined to the bank")


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
    end_of_life: Fraction | None = Field(None, description="share of the rated capacity when it is worn out")
    coldest: Temperature | None = Field(None, description="coldest that its cells are while they are used")
    module: Module | None = Field(None, description="data sheet of its modules")
    series: Whole | None = Field(None, description="modules one after another in a string")
    parallel: Whole | None = Field(None, description="strings side by side")
    reserve: WholeOrNone | None = Field(None, description="strings of these that are kept switched off")
    take_off: _one_of("a take-off", TAKE_OFFS) | None = Field(None, description="how its leads are taken off")
    lead_length: Length | None = Field(None, description="length of one lead, post to post or post to bar")
    lead_size: Name | None = Field(None, description="conductor size of these leads")
    joint_resistance: Resistance | None = Field(None, description="resistance of one bolted joint")
    module_fuse: Current | None = Field(None, description="rating of the fuse of each string")
    devices: tuple[BusDevice, ...] = Field((), description="devices on its bus, with what they stand")
    others: tuple[OtherBattery, ...] = Field((), description="batteries that stay beside it")


class CycleLife(Section):
    """[cycle_life]: how the bank is used over a year, and the decisions of lesson 03."""

    cycles_per_week: CyclesAWeek | None = Field(None, description="cycles in a week of use")
    days_per_cycle: Whole | None = Field(None, description="days from one charge to the next")
    charge_window: Window | None = Field(None, description="span of the day when it is charged")
    weeks_in_use: WeeksAYear | None = Field(None, description="weeks of use in a year, the rest is storage")
    top_charge: Fraction | None = Field(None, description="state of charge at which charging ends")
    use_temperature: Temperature | None = Field(None, description="mean temperature of its cells in use")
    storage_temperature: Temperature | None = Field(None, description="mean temperature in storage")
    storage_charge: Fraction | None = Field(None, description="state of charge in storage")
    standing_current: Current | None = Field(None, description="what is drawn in storage, everything off")
    energy_price: PriceOfEnergy | None = Field(None, description="what a kWh into the bank costs")
    years_wanted: Age | None = Field(None, description="how long its owner wants it to last")
    warranty_years: Age | None = Field(None, description="years that its warranty runs")
    warranty_cycles: Count | None = Field(None, description="cycles that its warranty covers")
    warranty_energy: Energy | None = Field(None, description="energy that its warranty covers")


class Place(Section):
    """[place]: where the coach is lived in."""

    weather: Name | None = Field(None, description="a place with a typical year, or the path of a weather file")
    coldest: Temperature | None = Field(None, description="lowest air temperature to expect there")


class SolarModule(Section):
    """[sun.module]: data sheet of the solar modules, at 1000 W/m2 and 25 °C."""

    name: Name = Field(description="make and model, or an invented name")
    power: Power = Field(description="maximum power")
    voltage: Voltage = Field(description="voltage at maximum power")
    current: Current = Field(description="current at maximum power")
    open_circuit_voltage: Voltage = Field(description="open-circuit voltage")
    short_circuit_current: Current = Field(description="short-circuit current")
    power_coefficient: SharePerKelvin = Field(description="change of the power with temperature")
    voltage_coefficient: SharePerKelvin = Field(description="change of the open-circuit voltage with temperature")
    substrings: Whole = Field(description="parts with a bypass diode each; 1 where there is none")
    series_fuse: Current = Field(description="largest fuse that may protect it")
    highest_voltage: Voltage = Field(description="highest voltage of a string of them")
    length: Length = Field(description="length")
    width: Length = Field(description="width")
    mass: Mass = Field(description="mass of one")
    price_low: Price | None = Field(None, description="lower end of its price")
    price_high: Price | None = Field(None, description="upper end of its price")


class SolarController(Section):
    """[sun.controller]: data sheet of the charge controller between the array and the bank."""

    name: Name = Field(description="make and model, or an invented name")
    kind: _one_of("a kind of controller", SOLAR_CONTROLLERS) = Field(description="kind of controller")
    highest_voltage: Voltage = Field(description="highest voltage that its array terminals stand")
    output_current: Current = Field(description="most that it gives to the bank")
    efficiency: Fraction = Field(description="efficiency")
    headroom: Voltage = Field(description="voltage by which the array must stand above the bank")
    highest_bank_voltage: Voltage = Field(description="highest voltage of a bank that it charges")
    coldest: Temperature | None = Field(None, description="coldest at which it works")
    mass: Mass | None = Field(None, description="mass")
    price_low: Price | None = Field(None, description="lower end of its price")
    price_high: Price | None = Field(None, description="upper end of its price")


class Obstacle(Section):
    """One thing on the roof that throws a shadow on modules near it."""

    name: Name = Field(description="name of the thing")
    height: Length = Field(description="height above the modules")
    width: Length = Field(description="width, across its direction")
    distance: Length = Field(description="distance to the nearest edge of the modules")
    direction: Angle = Field(description="where it stands as seen from them, clockwise from north")
    modules: Whole = Field(1, description="modules that lie within its reach")


class SunPlan(Section):
    """[sun]: the array on the roof, and the decisions of lesson 05."""

    module: SolarModule | None = Field(None, description="data sheet of its modules")
    series: Whole | None = Field(None, description="modules one after another in a string")
    parallel: Whole | None = Field(None, description="strings side by side")
    controller: SolarController | None = Field(None, description="data sheet of its controller")
    mounting: _one_of("a mounting", MOUNTINGS) | None = Field(None, description="how the modules are mounted")
    tilt: Angle | None = Field(None, description="tilt of the modules from level")
    azimuth: Angle | None = Field(None, description="where tilted modules face, clockwise from north")
    soiling: Fraction | None = Field(None, description="share lost to dust")
    wanted: Fraction | None = Field(None, description="share of the days that the sun is to carry alone")
    roof: Area | None = Field(None, description="free and unshaded area of the roof")
    obstacles: tuple[Obstacle, ...] = Field((), description="things on the roof that throw shadows")


class Charger(Section):
    """One charger of [charging]: its data sheet, its profile as it is set, and how it is stopped."""

    name: Name = Field(description="make and model, or an invented name")
    kind: _one_of("a kind of charger", CHARGERS) = Field(description="what feeds it")
    rated_current: Current = Field(description="most that it gives to the bank")
    current: Current | None = Field(None, description="current to which it is set; absent: the rated one")
    efficiency: Fraction = Field(description="output over input at that current")
    power_factor: Fraction | None = Field(None, description="watts over volt-amperes of an AC charger")
    absorption: Voltage = Field(description="highest voltage of a normal charge, as set")
    float_voltage: Voltage | None = Field(None, description="voltage held afterwards; absent: it stops")
    equalise: Voltage | None = Field(None, description="voltage of its equalising charge; absent: off")
    compensation: VoltageTemperatureCoefficient = Field(
        Quantity(0.0, "mV/K"), description="change of its voltage for each degree, of one cell; 0 is off")
    restart: Voltage | None = Field(None, description="bank voltage below which it starts again")
    coldest: Temperature | None = Field(None, description="cells colder than this it does not charge")
    lowest_input: Voltage | None = Field(None, description="input voltage below which a DC-DC charger stops")
    start: _one_of("a start signal", START_SIGNALS) | None = Field(None, description="what starts a DC-DC charger")
    stop: _one_of("a way to be stopped", STOPS) = Field("nothing", description="how the battery can stop it")
    highest_output: Voltage | None = Field(None, description="what its output may leap to without a battery")


class Alternator(Section):
    """[charging.alternator]: the engine's alternator, of the coach or of the tow vehicle."""

    name: Name = Field(description="make and model, or an invented name")
    rated_current: Current = Field(description="amps on its plate, cold and fast")
    hot_share: Fraction = Field(description="share of them that it gives hot, for hours, at cruising speed")
    idle_current: Current = Field(description="amps that it gives hot with the engine idling")
    chassis_current: Current = Field(description="amps that the vehicle takes itself: lights, fans, injection")
    voltage: Voltage = Field(description="what it holds at cruising speed")
    lowest_voltage: Voltage | None = Field(None, description="what a smart alternator may fall to")
    efficiency: Fraction = Field(description="electric power over shaft power")
    house_only: _one_of("a duty", HOUSE_ONLY) = Field("shared", description="whether it feeds the vehicle too")


class Generator(Section):
    """[charging.generator]: a generator, built in or carried."""

    name: Name = Field(description="make and model, or an invented name")
    rated_power: Power = Field(description="AC power that it gives for hours, at sea level in mild air")
    fuel: _one_of("a fuel", FUELS) = Field(description="what it burns")
    efficiency: Fraction = Field(description="electric energy over heat in the fuel, at its rated power")
    idle_share: Fraction = Field(description="fuel with nothing connected over fuel at its rated power")
    allowed: tuple[Window, ...] = Field(("08:00-20:00",), description="hours outside quiet hours")


class TowLine(Section):
    """[charging.tow_line]: the charge line from the tow vehicle's alternator to the coach's bank."""

    length: Length = Field(description="from the tow vehicle's battery to the bank, one way")
    size: Name = Field(description="conductor size")
    return_size: Name | None = Field(None, description="size of the return wire; absent: the frames")
    contacts: Resistance = Field(description="fuse, connector pins, joints and frame, all together")


class Charging(Section):
    """[charging]: what brings energy back beside the sun, and the decisions of lesson 04."""

    inlet: _one_of("an inlet", INLETS) | None = Field(None, description="shore inlet of the coach")
    meanwhile: Power | None = Field(None, description="AC power that runs beside the charger")
    altitude: Altitude | None = Field(None, description="highest place where a generator is to work")
    hottest: Temperature | None = Field(None, description="hottest air in which it is to work")
    start_charge: Fraction | None = Field(None, description="state of charge at which a refill is planned to start")
    end_charge: Fraction | None = Field(None, description="state of charge at which it ends")
    shore_hours: HoursADay | None = Field(None, description="hours a day on shore power")
    drive_hours: HoursADay | None = Field(None, description="hours a day with the engine running")
    generator_hours: HoursADay | None = Field(None, description="hours a day with the generator running")
    chargers: tuple[Charger, ...] = Field((), description="chargers beside the sun's")
    alternator: Alternator | None = Field(None, description="the engine's alternator")
    generator: Generator | None = Field(None, description="the generator")
    tow_line: TowLine | None = Field(None, description="charge line from the tow vehicle")


class EfficiencyPoint(Section):
    """One line of an inverter's data sheet."""

    power: Power = Field(description="AC power delivered")
    efficiency: Fraction = Field(description="efficiency at that power")


class ShoreLoad(Section):
    """[[inverter.shore_only]]: an AC load that the inverter never feeds."""

    name: Name = Field(description="name of the load")
    power: Power = Field(description="what it draws while it runs")
    power_factor: Fraction | None = Field(None, description="watts over volt-amperes; absent: 1")
    start_current: Current | None = Field(None, description="locked-rotor amps on its plate")


class Inverter(Section):
    """[inverter]: the house inverter, from its data sheet, and the decisions of lesson 06."""

    name: Name = Field("Inverter", description="name of the inverter")
    rated_power: Power = Field(description="AC power that it delivers without end")
    idle: Power = Field(description="draw from the bank while it is on with nothing connected")
    on: tuple[Window, ...] = Field(("00:00-24:00",), description="spans of the day when it is switched on")
    efficiency: tuple[EfficiencyPoint, ...] = Field(description="three points of its data sheet")
    apparent_power: ApparentPower | None = Field(None, description="volt-amperes that it delivers without end")
    surge_power: Power | None = Field(None, description="most that it delivers for a short time")
    surge_time: Time | None = Field(None, description="how long it delivers that")
    derating: SharePerKelvin | None = Field(None, description="share of the rated power lost for each degree of heat")
    derated_above: Temperature | None = Field(None, description="temperature from which it is derated; absent: 77 degF")
    cut_off: Voltage | None = Field(None, description="DC voltage below which it stops at once")
    restart: Voltage | None = Field(None, description="DC voltage at which it starts again")
    highest_current: Current | None = Field(None, description="most direct current that it draws for long")
    ripple: Current | None = Field(None, description="RMS of its 120 Hz ripple at rated power")
    idle_search: Power | None = Field(None, description="draw while it only listens for a load")
    idle_off: Power | None = Field(None, description="draw while it is switched off")
    compartment: Temperature | None = Field(None, description="warmest air around it while it works")
    diversity: Fraction | None = Field(None, description="share of what may run together that is planned for")
    legs: _one_of("a way to feed the panel", INVERTER_LEGS) | None = Field(None, description="legs that it feeds")
    bond: _one_of("a bond", INVERTER_BONDS) | None = Field(None, description="neutral-ground bond inside it")
    panel_bond: _one_of("a bond", PANEL_BONDS) | None = Field(None, description="neutral-ground bond in the coach's panel")
    generator_bond: _one_of("a bond", GENERATOR_BONDS) | None = Field(None, description="neutral-ground bond of the generator")
    neutral: _one_of("a path", NEUTRALS) | None = Field(None, description="what the transfer switch does to the neutral")
    neutral_bar: _one_of("a bar", NEUTRAL_BARS) | None = Field(None, description="where its circuits' neutrals end")
    shared_neutrals: WholeOrNone | None = Field(None, description="pairs of its circuits that share one neutral")
    charger_feed: _one_of("a side", CHARGER_FEEDS) | None = Field(None, description="what feeds the AC charger")
    pedestal: Current | None = Field(None, description="smallest breaker at a site to which the coach is plugged in")
    charger_input: Current | None = Field(None, description="AC amps to which the charger's share is set")
    shed: tuple[Name, ...] = Field((), description="AC loads to switch off on shore power, first one first")
    shore_only: tuple[ShoreLoad, ...] = Field((), description="AC loads that it never feeds")

    @model_validator(mode="after")
    def _three_points(self):
        powers = [point.power.to("W").magnitude for point in self.efficiency]
        if len(powers) != 3 or len({0.0, *powers}) != 4:
            raise InputError(".efficiency", f"{len(powers)} points stand there, {len({*powers} - {0.0})} of use",
                             "three points, each at another power above 0",
                             '{ power = "300 W", efficiency = "91 %" }')  # fmt: skip
        return self


class ShellLayer(Section):
    """One layer of a wall, roof or floor of the cooled space."""

    material: Name = Field(description="material, a row of data/tables/shell_materials.csv")
    thickness: Length = Field(description="thickness")
    framing: Fraction = Field(0.0, description="share of its area that is wooden frame instead")


class ShellWindow(Section):
    """One window of the cooled space."""

    name: Name = Field(description="name of the window")
    side: _one_of("a side", SHELL_SIDES) = Field(description="side of the coach in which it is")
    width: Length = Field(description="width of the glass")
    height: Length = Field(description="height of the glass")
    glass: _one_of("a glass", SHELL_GLASS) = Field(description="its glass")
    cover: Fraction | None = Field(None, description="share of the sun that its cover lets through")
    cover_place: _one_of("a place", COVER_PLACES) | None = Field(None, description="where the cover is; absent: inside")
    cover_heat_loss: HeatTransfer | None = Field(None, description="heat that the cover lets through; absent: no insulation")
    covered: tuple[Window, ...] = Field((), description="spans of the day when the cover is on")
    awning: Length | None = Field(None, description="how far an awning stands out above it")
    awning_above: Length | None = Field(None, description="how far above the glass the awning starts")


class AirConditioner(Section):
    """[cooling_load.unit]: data sheet of an air conditioner, at 95 °F outdoors and 80/67 °F indoors."""

    name: Name = Field(description="make and model, or an invented name")
    capacity: Power = Field(description="heat that it removes, sensible and latent")
    power: Power = Field(description="what it draws then")
    sensible_share: Fraction = Field(description="share of that heat that is sensible")
    air_flow: AirFlow = Field(description="air over its indoor coil")
    capacity_change: SharePerKelvin = Field(description="change of its capacity with the outdoor temperature")
    power_change: SharePerKelvin = Field(description="change of its power with the outdoor temperature")
    least_capacity: Power | None = Field(None, description="least that it removes at its lowest speed; absent: one speed")
    least_power: Power | None = Field(None, description="what it draws then")
    standby: Power = Field(Quantity(0.0, "W"), description="what it draws while it waits")
    heating_efficiency: Ratio | None = Field(None, description="COP of its heat pump at 47 degF; absent: it does not heat")
    mass: Mass | None = Field(None, description="mass")


class CoolingPlan(Section):
    """[cooling_load]: the cooled space, its habits and its air conditioner; decisions of lesson 09."""

    heading: Angle | None = Field(None, description="where the front of the parked coach points, clockwise from north")
    length: Length | None = Field(None, description="length of the cooled space")
    width: Length | None = Field(None, description="its width")
    height: Length | None = Field(None, description="its height")
    outdoors: tuple[_one_of("a side", SHELL_SIDES), ...] | None = Field(None, description="sides that face outdoors; the others face a shaded part of the coach")
    skin: Fraction | None = Field(None, description="share of the sun that its outside takes in")
    wall: tuple[ShellLayer, ...] | None = Field(None, description="layers of its walls, from outside")
    roof: tuple[ShellLayer, ...] | None = Field(None, description="layers of its roof, from outside")
    floor: tuple[ShellLayer, ...] | None = Field(None, description="layers of its floor, from outside")
    windows: tuple[ShellWindow, ...] | None = Field(None, description="its windows")
    leakage: AirFlow | None = Field(None, description="outdoor air that leaks in")
    vent: AirFlow | None = Field(None, description="outdoor air that a fan brings in at times")
    vented: tuple[Window, ...] = Field((), description="spans of the day when that fan runs")
    people: Count | None = Field(None, description="people in it")
    occupied: tuple[Window, ...] | None = Field(None, description="spans of the day when they are there")
    devices: Power | None = Field(None, description="mean heat of devices in it")
    furnishing: Mass | None = Field(None, description="mass of bedding, cupboards and stores in it")
    cool_to: Temperature | None = Field(None, description="air temperature above which it is cooled")
    cooled: tuple[Window, ...] | None = Field(None, description="spans of the day when it is cooled")
    heat_to: Temperature | None = Field(None, description="air temperature below which it is heated electrically")
    heating: _one_of("a way to heat", ELECTRIC_HEATING) | None = Field(None, description="electric heating")
    unit: AirConditioner | None = Field(None, description="data sheet of its air conditioner")
    fan: _one_of("how its fan runs", FANS) | None = Field(None, description="when the fan over its indoor coil runs")
    duct_place: _one_of("a place", DUCT_PLACES) | None = Field(None, description="where its ducts lie")
    duct_length: Length | None = Field(None, description="length of its ducts; absent: none")
    duct_diameter: Length | None = Field(None, description="inside diameter of its ducts")
    duct_insulation: Length | None = Field(None, description="thickness of their insulation")
    load: Name | None = Field(None, description="load of the list that stands for this air conditioner")


class HeatingPlan(Section):
    """[heating]: where the bank stands, its box, heater, vents and fan; decisions of lesson 08."""

    place: _one_of("a place", BOX_PLACES) | None = Field(None, description="where the bank stands")
    room: Temperature | None = Field(None, description="air of the heated room by night")
    length: Length | None = Field(None, description="outer length of the bank's box")
    width: Length | None = Field(None, description="its outer width")
    height: Length | None = Field(None, description="its outer height")
    layers: tuple[ShellLayer, ...] | None = Field(None, description="layers of its walls, from outside")
    bridges: Fraction | None = Field(None, description="share added for bolts, edges and cable holes")
    vent_area: Area | None = Field(None, description="free area of each of its two vents; 0: none")
    vent_height: Length | None = Field(None, description="from the middle of the lower vent to that of the upper one")
    heater: Power | None = Field(None, description="electric heater of the box; 0: none")
    heater_kind: _one_of("a kind of heater", HEATERS) | None = Field(None, description="where it gives its heat")
    heater_side: _one_of("a side", SIDES) | None = Field(None, description="side from which it is fed")
    heater_on: Temperature | None = Field(None, description="cells at which the heater switches on")
    heater_off: Temperature | None = Field(None, description="cells at which it switches off")
    heater_fuse: Current | None = Field(None, description="rating of the heater's own fuse")
    heater_cut_out: Temperature | None = Field(None, description="thermal cut-out that needs no thermostat and no battery electronics")
    pads: _one_of("what the maker says", PADS) | None = Field(None, description="whether pads on the modules are allowed")
    contacts: _one_of("a place", CONTACTS) | None = Field(None, description="contacts, thermostat and fan motor: outside, or in with the bank")
    heater_share: Fraction | None = Field(None, description="share of the usable bank that a night's warmth may take")
    highest: Temperature | None = Field(None, description="warmest that the cells are to get")
    skin: Fraction | None = Field(None, description="share of the sun that the outside of the compartment takes in")
    sunny_side: Area | None = Field(None, description="area of its side on which the sun falls")
    waste_heat: Power | None = Field(None, description="heat of what works in the same compartment")
    waste_window: Window | None = Field(None, description="span of the day in which that works")
    allowed_rise: TemperatureDifference | None = Field(None, description="how much warmer than outdoors its air may get by that heat")
    fan: AirFlow | None = Field(None, description="air that its fan moves; 0: none")
    fan_on: Temperature | None = Field(None, description="air in the compartment at which the fan switches on")
    beside: tuple[_one_of("a thing", BESIDE), ...] = Field((), description="what shares the compartment with the bank")
    way_out: _one_of("a way out", WAYS_OUT) | None = Field(None, description="whether box or lid block a way out")
    off_gas: _one_of("a path", OFF_GAS) | None = Field(None, description="where gas from the bank goes")
    sleepers: _one_of("an answer", SLEEPERS) | None = Field(None, description="who sleeps above or beside it")
    restraint_g: Ratio | None = Field(None, description="times its own weight that its restraint is to hold")
    restraint: Force | None = Field(None, description="what tray, straps and bolts hold together, from their data sheets")


class WiringPlan(Section):
    """[wiring]: decisions of lesson 07 for the whole coach; those of a circuit stand with the circuit."""

    ambient: Temperature | None = Field(None, description="warmest air where conductors lie")
    insulation: Name | None = Field(None, description="insulation of new conductors, the letters on them")
    terminals: InsulationRating | None = Field(None, description="temperature marked on terminals and fuse holders")
    module_device: Name | None = Field(None, description="family of the modules' fuses")
    main_switch: Name | None = Field(None, description="main disconnect of the bank")
    module_switch: Name | None = Field(None, description="disconnect of each module")
    array_switch: Name | None = Field(None, description="disconnect of the array, ahead of its controller")
    shunt: Current | None = Field(None, description="rating of the shunt in the bank's negative")
    capacitance: Capacitance | None = Field(None, description="capacitance at the inverter's DC terminals")
    precharge: Resistance | None = Field(None, description="resistor that charges it before its switch closes")


class Trip(Section):
    """One row of [whole_system] trips: nights away, once or again and again."""

    name: Name = Field(description="name of the trip")
    first: DayOfTheYear = Field(description="month and day on which it first starts")
    nights: NightsAway = Field(description="nights away")
    times: Whole = Field(1, description="how often it is made in a year")
    every: NightsAway | None = Field(None, description="days from one start to the next")
    driving_days: tuple[NightsAway, ...] = Field((), description="days of it with a drive, the first is 1; none named: first and last")
    shore_days: tuple[NightsAway, ...] = Field((), description="days of it on shore power, the first is 1")

    @model_validator(mode="after")
    def _fits_a_year(self):
        if self.times > 1 and (self.every is None or self.every <= self.nights):
            raise InputError(".every", f"{self.every or 'nothing'} stands there", f"more days than its {self.nights} nights",
                             f"{self.nights + 1}")  # fmt: skip
        if (self.times - 1) * (self.every or 0) + self.nights >= 365:
            raise InputError(".times", f"{self.times} trips every {self.every} days", "trips that fit in a year", "20")
        return self


class WholeSystem(Section):
    """[whole_system]: the calendar, the generator's rule, prices, and the decisions of lesson 10."""

    trips: tuple[Trip, ...] = Field((), description="nights away in a year")
    storage: _one_of("a way to stand", STORAGE) | None = Field(None, description="how the coach stands between trips")
    driving_hours: HoursADay | None = Field(None, description="hours of driving on a day with a drive")
    health: Fraction | None = Field(None, description="share of the label that the bank still holds")
    air_conditioning: _one_of("a way", AIR_CONDITIONING) | None = Field(None, description="what carries the air conditioner")
    other_unit: Name | None = Field(None, description="air conditioner on offer to compare with")
    reserve: Fraction | None = Field(None, description="state of charge below which the air conditioner stops")
    generator_start: Fraction | None = Field(None, description="state of charge below which the generator starts")
    generator_stop: Fraction | None = Field(None, description="state of charge at which it stops")
    promise: Fraction | None = Field(None, description="share of the days away that need no generator and lack nothing")
    spread: Spread | None = Field(None, description="how far a trip's use may lie from the plan, standard deviation")
    module_price: Price | None = Field(None, description="price of one more battery module")
    watt_price: PriceOfPower | None = Field(None, description="price of an array for each watt, controller included")
    fuel_price: PriceOfFuel | None = Field(None, description="price of the generator's fuel")
    hour_price: PriceOfAnHour | None = Field(None, description="oil, wear and repair for an hour of the generator")


class MeasuredDrop(Section):
    """One drop of [commissioning], measured under load."""

    name: Name = Field(description="name of the circuit")
    current: Current = Field(description="current that flowed, by the clamp")
    drop: Voltage = Field(description="volts lost on the way out and on the way back, added")


class CommissioningPlan(Section):
    """[commissioning]: what was measured, and the decisions of lesson 11."""

    drop_tolerance: Fraction | None = Field(None, description="share by which a measured drop may be above the predicted one")
    standing_limit: Current | None = Field(None, description="most that may flow with everything switched off")
    standing: Current | None = Field(None, description="what was measured with everything switched off")
    inverter_cut_off: Voltage | None = Field(None, description="DC voltage at which the inverter is set to stop")
    measured: tuple[MeasuredDrop, ...] = Field((), description="drops measured under load")
    main_switch_at: Name | None = Field(None, description="where the main switch is, for the card by the door")
    extinguisher_at: Name | None = Field(None, description="where the extinguisher is, for the card by the door")


class Circuit(Section):
    """[[circuits]]: a pair of conductors from one place to another, there already or to be built."""

    name: Name = Field(description="name of the circuit")
    from_: Name = Field(alias="from", description="where it starts, on the side of the source")
    to: Name = Field(description="where it ends")
    length: Length | None = Field(None, description="length of the run, one way")
    current: Current | None = Field(None, description="most that it carries for long")
    purpose: _one_of("a purpose", PURPOSES) = Field(description="what it is for")
    existing: Existing | None = Field(None, description="what becomes of what is there; absent if new")
    limit: Current | None = Field(None, description='most that it may carry, with existing = "limit"')
    size: Name | None = Field(None, description="conductor size, there or chosen")
    fuse: Current | None = Field(None, description="rating of its fuse or breaker, there or chosen")
    insulation: Name | None = Field(None, description="insulation of the conductor, the letters on it")
    device: Name | None = Field(None, description="family of its fuse or breaker")
    fuse_distance: Length | None = Field(None, description="conductor between the source and its device")
    drop: _one_of("a class of voltage drop", DROPS) | None = Field(None, description="class of allowed voltage drop")
    rule: _one_of("an ampacity rule", AMPACITY_RULES) | None = Field(None, description="rule for its ampacity")
    bundled: Whole | None = Field(None, description="current-carrying conductors in its bundle, its own two counted")
    per_pole: Whole | None = Field(None, description="conductors side by side in each pole")
    ambient: Temperature | None = Field(None, description="air where it lies, if warmer than elsewhere")
    voltage: Voltage | None = Field(None, description="its voltage, if not that of the house bank")
    ripple: Current | None = Field(None, description="RMS of the ripple on top of its current")
    surge: Current | None = Field(None, description="most that it takes for a moment")
    returns: _one_of("a way back", RETURNS) | None = Field(None, description="way back of its current; absent: wire")
    note: Note | None = Field(None, description="what else a survey found")

    @model_validator(mode="after")
    def _complete(self):
        if (self.existing == "limit") != (self.limit is not None):
            given = "absent" if self.limit is None else "given"
            raise InputError("", f"existing is {quoted(self.existing or 'absent')} and limit is {given}",
                             'a limit with existing = "limit", and only then',
                             'existing = "limit", limit = "20 A"')  # fmt: skip
        for key in ("length", "current"):
            if getattr(self, key) is None and self.existing != "remove":
                raise InputError(f".{key}", "it is missing", "a value for every circuit that is not removed",
                                 example_of(type(self).model_fields[key]))  # fmt: skip
        return self


class Equipment(Section):
    """[[equipment]]: a thing with a mass, there already or to be bought."""

    name: Name = Field(description="name of the thing")
    kind: _one_of("a kind of equipment", EQUIPMENT_KINDS) = Field(description="kind of equipment")
    existing: Existing | None = Field(None, description="what becomes of what is there; absent if new")
    mass: Mass | None = Field(None, description="mass of all of it")
    ahead: Position | None = Field(None, description="distance ahead of the rear axle; behind it: negative")
    left: Position | None = Field(None, description="distance left of the middle; right of it: negative")
    was_ahead: Position | None = Field(None, description="of a thing that is moved: ahead, before")
    was_left: Position | None = Field(None, description="of a thing that is moved: left, before")
    carried: _one_of("a place", CARRIED) | None = Field(None, description="where it travels; absent: coach")
    note: Note | None = Field(None, description="what else a survey found")


class PartPrice(Section):
    """One price of [design]: of a line of the parts list, all of it."""

    name: Name = Field(description="the part, as the parts list writes it")
    price: Price = Field(description="price of the whole line")


class Answer(Section):
    """One answer of [design]: what is done about a check that is missed."""

    check: Note = Field(description="the question of the check, or how it begins")
    answer: Note = Field(description="what is done about it, by whom and when")


class DesignPlan(Section):
    """[design]: scales, ratings, prices and people: what the record of lesson 12 needs besides."""

    owner: Name | None = Field(None, description="owner")
    written_by: Name | None = Field(None, description="who made the design")
    reviewer: Name | None = Field(None, description="licensed electrician who reviews it")
    license: Name | None = Field(None, description="number of the reviewer's license")
    authority: Name | None = Field(None, description="who has jurisdiction where the work is done")
    span: Length | None = Field(None, description="from the rear axle (of several, their middle) to front axle, ball or pin")
    track: Length | None = Field(None, description="from the middle of the left tires to the middle of the right ones")
    loaded_mass: Mass | None = Field(None, description="from a scale before the work, ready to travel with people")
    front_mass: Mass | None = Field(None, description="of that, on the front axle, the tongue or the pin")
    left_mass: Mass | None = Field(None, description="of that, on all left tires of the coach")
    front_rating: Mass | None = Field(None, description="most that front axle, hitch or pin may carry")
    rear_rating: Mass | None = Field(None, description="most that the rear axle or axles may carry")
    bank_ahead: Position | None = Field(None, description="where the new bank sits, ahead of the rear axle")
    bank_left: Position | None = Field(None, description="where the new bank sits, left of the middle")
    absent: tuple[_one_of("a purpose", DANGEROUS), ...] = Field(
        (), description="circuits that a survey looked for and that this coach does not have")
    spare_fuses: Whole | None = Field(None, description="spare fuses of each kind and rating")
    retorque: Time | None = Field(None, description="time after which every bolted joint is tightened again")
    prices: tuple[PartPrice, ...] = Field((), description="prices of lines of the parts list")
    answers: tuple[Answer, ...] = Field((), description="what is done about missed checks")
