"""Physical quantities: one registry, the kinds of quantity the trade speaks of, reading and showing them.

A *kind* (power, energy, charge, ...) is used as an annotation. The same annotation tells a formula what
to accept, a coach file what to read, a handbook row what to compare and a form which unit to offer::

    @formula
    def energy(power: Power, time: Time) -> Energy:
        return power * time

Outside text never reaches pint's expression evaluator: `read` has a small grammar of its own.
"""

import copy
import functools
import inspect
import math
import re
import typing
from typing import Annotated

import numpy
import pint


def _registry():
    try:
        return pint.UnitRegistry(cache_folder=":auto:")
    except OSError:  # a home that cannot be written: start slower, but start
        return pint.UnitRegistry()


ureg = _registry()
# pint reads cfm as centifermi and mil as an angle, and knows neither Btu/h by name nor money.
ureg.define("USD = [currency]")
ureg.define("cubic_foot_per_minute = foot ** 3 / minute = cfm")
ureg.define("btu_per_hour = british_thermal_unit / hour = Btuh")
ureg.define("mil_inch = inch / 1000 = mil")
ureg.define("gallon_per_hour = gallon / hour = gph")
pint.set_application_registry(ureg)
Quantity = ureg.Quantity
Q = Quantity

# The units that text may use, and how each is written back. Prefixes are spelled out: nothing is guessed.
_UNITS = {
    "W": "watt", "mW": "milliwatt", "kW": "kilowatt", "VA": "volt_ampere", "kVA": "kilovolt_ampere",
    "hp": "horsepower", "Btuh": "btu_per_hour",
    "Wh": "watt_hour", "kWh": "kilowatt_hour", "MWh": "megawatt_hour", "J": "joule", "kJ": "kilojoule",
    "MJ": "megajoule", "Btu": "british_thermal_unit",
    "A": "ampere", "mA": "milliampere", "kA": "kiloampere",
    "Ah": "ampere_hour", "mAh": "milliampere_hour", "C": "coulomb",
    "V": "volt", "mV": "millivolt", "kV": "kilovolt",
    "ohm": "ohm", "mohm": "milliohm", "uohm": "microohm", "kohm": "kiloohm", "S": "siemens",
    "F": "farad", "uF": "microfarad", "mF": "millifarad", "H": "henry", "mH": "millihenry", "uH": "microhenry",
    "s": "second", "ms": "millisecond", "min": "minute", "h": "hour", "day": "day", "week": "week",
    "month": "month", "year": "year", "Hz": "hertz",
    "m": "meter", "km": "kilometer", "cm": "centimeter", "mm": "millimeter", "um": "micrometer",
    "ft": "foot", "kft": "kilofoot", "in": "inch", "mil": "mil_inch", "mi": "mile",
    "cmil": "circular_mil", "kcmil": "kilocircular_mil",
    "kg": "kilogram", "g": "gram", "lb": "pound", "L": "liter", "mL": "milliliter", "gal": "gallon",
    "Pa": "pascal", "kPa": "kilopascal", "hPa": "hectopascal", "bar": "bar",
    "psi": "pound_force_per_square_inch", "inHg": "inch_Hg", "inH2O": "inch_H2O",
    "N": "newton", "lbf": "force_pound", "mph": "mile_per_hour", "cfm": "cubic_foot_per_minute",
    "gph": "gallon_per_hour", "K": "kelvin", "degC": "degree_Celsius", "degF": "degree_Fahrenheit",
    "delta_degC": "delta_degree_Celsius", "delta_degF": "delta_degree_Fahrenheit",
    "deg": "degree", "rad": "radian", "lm": "lumen", "mol": "mole", "USD": "USD", "%": "percent", "percent": "percent",
}  # fmt: skip
_ALSO = {
    "hr": "h", "hour": "h", "hours": "h", "minutes": "min", "minute": "min", "d": "day", "days": "day",
    "watts": "W", "amps": "A", "volts": "V", "Ω": "ohm", "mΩ": "mohm", "µΩ": "uohm", "μΩ": "uohm", "µF": "uF",
    "μF": "uF", "°C": "degC", "°F": "degF", "°": "deg", "BTU": "Btu", "btu": "Btu", "BTUH": "Btuh",
    "years": "year", "months": "month", "weeks": "week", "feet": "ft", "inches": "in", "hrs": "h", "l": "L",
}  # fmt: skip
_WRITTEN = {long: short for short, long in reversed(_UNITS.items())}
_SHOWN = {"ohm": "Ω", "mohm": "mΩ", "uohm": "µΩ", "kohm": "kΩ", "uF": "µF", "uH": "µH", "um": "µm", "degC": "°C",
          "degF": "°F", "delta_degC": "K", "delta_degF": "°F", "deg": "°", "Btuh": "Btu/h"}  # fmt: skip
_DELTA = {"degree_Celsius": "delta_degree_Celsius", "degree_Fahrenheit": "delta_degree_Fahrenheit"}
_NUMBER = re.compile(
    r"([-+−]?(?:\d{1,3}(?:,\d{3}){1,4}(?!\d)(?:\.\d{0,30})?|\d{1,30}(?:\.\d{0,30})?|\.\d{1,30})(?:[eE][-+]?\d{1,3})?)"
)
_TOKEN = re.compile(r"\s*(?:(\*\*|\^)|(inH2O|[A-Za-zΩµμ°%][A-Za-zΩµμ°_]*)|([-+]?\d+)|(·|\*|/|\(|\)))|\s*([²³])")
LONGEST_TEXT = 80


class InputError(ValueError):
    """Something a reader gave that cannot be used: one sentence with place, found, wanted, example."""

    def __init__(self, place, found, wanted, example="", hint=""):
        self.place, self.found, self.wanted, self.example, self.hint = place, found, wanted, example, hint
        place, found = (one if len(one) <= 600 else one[:597] + "..." for one in (str(place), str(found)))  # a sentence ends
        text = f"{place}: {found}; wanted is {wanted}"
        text += f", for example {example}" if example else ""
        super().__init__(text + (f" ({hint})." if hint else "."))


def quoted(text):
    """The `text` a reader gave, as a sentence can hold it: in quotes, on one line, at most 40 characters."""
    text = str(text)
    return '"' + (text if len(text) <= 40 else text[:37] + "...").replace("\n", " ") + '"'


def _unit_of(text, place, whole):
    """Unit text such as `W/(m2 K)` to a pint unit; names from the list, integer powers, one bracket level."""

    def refuse(why):
        return InputError(place, f"{quoted(whole)} {why}", "a number and a unit", '"85 W" or "0.5 W/(m2 K)"')

    powers, pending, sign, inside, bracket_sign, at, last = {}, None, 1, False, 1, 0, None
    expect_unit = True
    while at < len(text):
        if text[at:].isspace():
            break
        match = _TOKEN.match(text, at)
        if not match:
            raise refuse(f"has {quoted(text[at:].strip()[:1])} where a unit should stand")
        power_mark, name, digits, mark, superscript = match.groups()
        at = match.end()
        if name:
            short = _ALSO.get(name, name)
            if short not in _UNITS:
                near = nearest(name, [*_UNITS, *_ALSO])
                raise refuse(f"has the unknown unit {quoted(name)}" + (f", did you mean {near}?" if near else ""))
            last = _UNITS[short]
            step = sign * bracket_sign
            powers[last] = powers.get(last, 0) + step
            pending, sign, expect_unit = (last, step), 1, False
        elif superscript or digits or power_mark:
            if power_mark:
                match = _TOKEN.match(text, at)
                digits = match and match.group(3)
                if not digits:
                    raise refuse("has a power without a whole number")
                at = match.end()
            exponent = {"²": 2, "³": 3}.get(superscript) or int(digits)
            if not pending or not 1 <= abs(exponent) <= 4:
                raise refuse("has a power where none can stand (whole powers from 1 to 4, after a unit)")
            name, step = pending
            powers[name] += step * (exponent - 1)
            pending = None
        elif mark == "(":
            if inside or (pending and sign == 1 and not expect_unit and text[: at - 1].rstrip()[-1:] not in "*/·"):
                raise refuse("has a bracket where none can stand (one level of brackets, after * or /)")
            inside, bracket_sign, sign, pending, expect_unit = True, sign, 1, None, True
        elif mark == ")":
            if not inside or expect_unit:
                raise refuse("has a closing bracket without an opening one")
            inside, bracket_sign, pending = False, 1, None
        else:  # * or · or /
            if expect_unit and not (mark == "/" and not powers):
                raise refuse("has two signs in a row")
            sign, expect_unit, pending = (-1 if mark == "/" else 1), True, None
    if inside or (expect_unit and text.strip()):
        raise refuse("ends too early")
    powers = {name: power for name, power in powers.items() if power}
    if len(powers) > 1 or any(power != 1 for power in powers.values()):
        powers = {_DELTA.get(name, name): power for name, power in powers.items()}
    unit = ureg.Unit("")
    for name, power in powers.items():
        unit *= ureg.Unit(name) ** power
    return unit


def unit_names():
    """Every name that text may use for a unit, and the unit in pint's words, such as `"hrs": "hour"`."""
    return _UNITS | {name: _UNITS[short] for name, short in _ALSO.items()}


def nearest(word, known):
    """The known word that was likely meant, or empty text."""
    import difflib

    found = difflib.get_close_matches(word, known, 1, 0.6)
    return found[0] if found else ""


def read_quantity(text, place="quantity"):
    """Text such as `"85 W"` or `"0.0608 ohm/kft"` to a quantity in the unit written.

    Work is bounded by the length of the text (at most 80 characters); nothing is evaluated.

    Raises
    ------
    InputError
        naming `place`, what stood there, what is wanted and an example.
    """
    if not isinstance(text, str):
        raise InputError(place, f"{quoted(text)} is not text", "a number and a unit", '"85 W"')
    if len(text) > LONGEST_TEXT:
        raise InputError(place, f"{quoted(text)} is {len(text)} characters long",
                         f"a number and a unit in at most {LONGEST_TEXT} characters", '"85 W"')  # fmt: skip
    match = _NUMBER.match(text.strip())
    if not match:
        raise InputError(place, f"{quoted(text)} does not start with a number", "a number and a unit", '"85 W"')
    rest = text.strip()[match.end() :]
    if rest[:1] in tuple(",.0123456789") or (rest[:1] and rest[:1] in "*^"):
        raise InputError(place, f"{quoted(text)} is not one plain number with a unit",
                         "digits with a decimal point, then a unit", '"1280.5 Wh"')  # fmt: skip
    value = float(match.group(1).replace(",", "").replace("−", "-"))
    if not math.isfinite(value):
        raise InputError(place, f"{quoted(text)} is too large to calculate with", "an ordinary number", '"85 W"')
    return Quantity(value, _unit_of(rest, place, text))


_CLOCK = re.compile(r"([01]?\d|2[0-3]):([0-5]\d)|(24):(00)")


def read_clock(text, place="time of day"):
    """The text `"06:30"` to hours after midnight (6.5); `"24:00"` is the end of the day. Errors name `place`."""
    match = _CLOCK.fullmatch(text.strip()) if isinstance(text, str) and len(text) <= LONGEST_TEXT else None
    if not match:
        raise InputError(place, f"{quoted(text)} is not a time of day", "hours and minutes from 00:00 to 24:00",
                         '"06:30"')  # fmt: skip
    hour, minute = (int(part) for part in match.groups() if part is not None)
    return hour + minute / 60


def read_window(text, place="window"):
    """The text `"06:00-08:30"` to (6.0, 8.5); `"22:00-06:00"` passes midnight: (22.0, 6.0). Errors name `place`."""
    short = isinstance(text, str) and len(text) <= LONGEST_TEXT
    parts = re.split(r"\s*[-–]\s*|\s+to\s+", text.strip()) if short else []
    if len(parts) != 2:
        raise InputError(place, f"{quoted(text)} is not a span of the day", "two times with a hyphen between",
                         '"06:00-08:30"')  # fmt: skip
    start, end = (read_clock(part, place) for part in parts)
    if start == end or (start, end) == (24, 0):
        raise InputError(place, f"{quoted(text)} starts and ends at the same time", "a span with a length",
                         '"06:00-08:30", or "00:00-24:00" for the whole day')  # fmt: skip
    return start, end


def _parts(unit, names):
    """Unit to text: numerator, slash, denominator; `names` maps pint's long names to ours."""
    over, under, late = [], [], []
    for name, power in sorted(unit._units.items(), key=lambda item: item[0]):
        short = names(name)
        size = abs(power)
        size = int(size) if size == int(size) else size
        if power == -1 and "/" in short:  # per Btu/h is h/Btu
            short, hours = short.split("/")
            late.append(hours)
        (over if power > 0 else under).append(short + (str(size) if size != 1 else ""))
    text = " ".join(over + late)
    if under:
        text = (text or "1") + "/" + (under[0] if len(under) == 1 else "(" + " ".join(under) + ")")
    return text


def write_quantity(quantity):
    """A quantity as text that `read_quantity` reads back equal: `"85 W"`, `"0.5 W/(m2 K)"`."""
    if not all(name in _WRITTEN for name in quantity.units._units):
        quantity = quantity.to_base_units()
    value = float(quantity.magnitude)
    number = repr(int(value)) if value == int(value) and abs(value) < 1e15 else repr(value)
    unit = _parts(quantity.units, lambda name: _WRITTEN.get(name, name))
    return f"{number} {unit}".strip() if not unit.startswith("1/") else f"{number} {unit[1:]}"


# ------------------------------------------------------------------------------------------ showing

_system = "US"
_listeners = []
# Unit pairs that the display switch changes. Volts, amps, watts and hours are the same in both.
_PAIRS = [
    ("meter", "foot"), ("centimeter", "inch"), ("millimeter", "inch"), ("kilometer", "mile"), ("kilogram", "pound"),
    ("liter", "gallon"), ("degree_Celsius", "degree_Fahrenheit"), ("delta_degree_Celsius", "delta_degree_Fahrenheit"),
    ("meter ** 2", "foot ** 2"), ("millimeter ** 2", "circular_mil"), ("meter ** 3", "foot ** 3"),
    ("kilometer / hour", "mile_per_hour"), ("meter / second", "mile_per_hour"),
    ("meter ** 3 / hour", "cubic_foot_per_minute"), ("liter / second", "cubic_foot_per_minute"),
    ("liter / hour", "gallon_per_hour"),
    ("kilopascal", "pound_force_per_square_inch"), ("newton", "force_pound"), ("ohm / kilometer", "ohm / kilofoot"),
    ("watt / meter ** 2 / kelvin", "btu_per_hour / foot ** 2 / delta_degree_Fahrenheit"),
    ("watt / kelvin", "btu_per_hour / delta_degree_Fahrenheit"),
    ("meter ** 2 * kelvin / watt", "foot ** 2 * delta_degree_Fahrenheit / btu_per_hour"),
]  # fmt: skip
_TO_US = {ureg.Unit(si): ureg.Unit(us) for si, us in _PAIRS}
_TO_SI = {ureg.Unit(us): ureg.Unit(si) for si, us in reversed(_PAIRS)}


def display_system():
    """The system that `show` uses now: `"US"` or `"SI"`. Calculation never looks at it."""
    return _system


def set_display_system(system):
    """Choose the system, `"US"` or `"SI"`, for everything shown from now on, and tell whoever asked to be told."""
    global _system
    if system not in ("US", "SI"):
        raise InputError("unit system", f"{quoted(system)} is not known", '"US" or "SI"')
    if system != _system:
        _system = system
        for listener in list(_listeners):
            listener()


def on_display_change(listener):
    """Call `listener()` after each change of the display system; returns a function that ends that."""
    _listeners.append(listener)
    return lambda: _listeners.remove(listener) if listener in _listeners else None


def in_display_units(quantity):
    """The quantity in the display system's unit; a quantity whose unit has no pair comes back as it is."""
    other = (_TO_US if _system == "US" else _TO_SI).get(quantity.units)
    return quantity.to(other) if other else quantity


def unit_text(unit):
    """A unit as a reader writes it: `Wh`, `mΩ`, `°F`, `W/(m2 K)`."""
    return _parts(ureg.Unit(unit), lambda name: _SHOWN.get(_WRITTEN.get(name, name), _WRITTEN.get(name, name)))


def number_text(value, digits=3):
    """The number `value` to `digits` significant figures; whole digits before the point are never rounded away."""
    value = float(value)
    if not math.isfinite(value):
        return "not a number" if math.isnan(value) else "infinite"
    decimals = digits - 1 - math.floor(math.log10(abs(value))) if value else 0
    text = f"{value:,.{max(0, decimals)}f}"
    text = text.rstrip("0").rstrip(".") if "." in text else text
    return "0" if text == "-0" else text.replace("-", "−")


def show(quantity, digits=3):
    """A quantity to `digits` figures, in the display system: `show(Q(1.28, "kWh"))` is `1.28 kWh`."""
    if not isinstance(quantity, pint.Quantity):
        return number_text(quantity, digits)
    quantity = in_display_units(quantity)
    unit = unit_text(quantity.units)
    number = number_text(quantity.magnitude, digits)
    plural = "s" if unit in ("day", "week", "month", "year") and number != "1" else ""
    return number + (("" if unit in ("°",) else " ") + unit + plural if unit else "")


# ------------------------------------------------------------------------------------------ kinds

_STEPS = {
    ("energy", "power"): "watt-hours are energy; divide by the hours to get watts",
    ("power", "energy"): "watts are power; multiply by the hours to get watt-hours",
    ("charge", "energy"): "amp-hours are charge; multiply by volts to get watt-hours",
    ("energy", "charge"): "watt-hours are energy; divide by volts to get amp-hours",
    ("current", "charge"): "amps are current; multiply by the hours to get amp-hours",
    ("charge", "current"): "amp-hours are charge; divide by the hours to get amps",
    ("current", "power"): "amps are current; multiply by volts to get watts",
    ("power", "current"): "watts are power; divide by volts to get amps",
    ("apparent power", "power"): "volt-amperes are not watts; multiply by the power factor to get watts",
    ("power", "apparent power"): "watts are not volt-amperes; divide by the power factor to get volt-amperes",
    ("power", "time"): "watts are power; hours are wanted here",
    ("time", "power"): "hours are time; watts are wanted here",
    ("current", "energy"): "amps are current; multiply by volts and hours to get watt-hours",
    ("energy", "current"): "watt-hours are energy; divide by volts and hours to get amps",
}


class Kind:
    """A kind of quantity, used as an annotation.

    name: what the trade calls it. unit: what formulas calculate in. shown: what results come in.
    low, high: the range that makes sense (given in `unit`), or None. example: text that a reader could write.
    A kind whose unit is empty is a plain number; `percent` says that text such as "85 %" is welcome.
    """

    def __init__(self, name, unit, example, low=None, high=None, shown=None, percent=False):
        self.name, self.unit, self.example, self.low, self.high = name, ureg.Unit(unit), example, low, high
        self.shown, self.percent = ureg.Unit(shown or unit), percent
        self.plain = self.unit == ureg.Unit("")
        self.above_zero = False

    def __repr__(self):
        return f"Kind({self.name!r}, {unit_text(self.unit)!r})"

    def _wanted(self):
        return f"{_article(self.name)}" + (f" in {unit_text(self.shown)}" if not self.plain else "")

    def _refuse(self, place, found, hint="", wanted=""):
        return InputError(place, found, wanted or self._wanted(), f'"{self.example}"', hint)

    def _mixed(self, value):
        """Watts for volt-amperes or the other way: one dimension, but not one thing. V times A may be either."""
        names = list(value.units._units)
        volt_amperes = names[0].endswith("volt_ampere") if len(names) == 1 else None
        return volt_amperes == {"power": True, "apparent power": False}.get(self.name, "neither")

    def _check_range(self, value, place, given):
        if type(value) is float and math.isfinite(value) and not (
            self.low is not None and value < self.low or self.high is not None and value > self.high or self.above_zero and value <= 0
        ):
            return  # a single number that is in order, as nearly all are, need not become an array
        try:
            values = numpy.asarray(value, float)
        except OverflowError:  # a whole number of more than 308 digits
            values = numpy.inf
        if not numpy.all(numpy.isfinite(values)):
            raise self._refuse(place, f"{given()} is not a finite number")
        for edge, bad, word in ((self.low, values < (self.low if self.low is not None else 0), "at least"),
                                (self.high, values > (self.high if self.high is not None else 0), "at most")):  # fmt: skip
            if edge is not None and numpy.any(bad):
                limit = show(Quantity(edge, self.unit).to(self.shown)) if not self.plain else number_text(edge)
                limit = f"{number_text(edge * 100)} %" if self.percent else limit
                raise self._refuse(place, f"{given()} is out of range",
                                   wanted=f"{_article(self.name)} of {word} {limit}")  # fmt: skip
        if self.above_zero and not numpy.all(values > 0):
            raise self._refuse(place, f"{given()} is given", wanted=f"{_article(self.name)} above 0")

    def check(self, value, place="", text=None):
        """`value` in this kind's unit (a plain float for plain kinds); InputError names `place` otherwise.

        `text` is what a reader wrote, where the value was read from it.
        """
        place = place or self.name

        def given(value=value):  # words for a refusal only: they cost more than the check
            scalar = isinstance(value, pint.Quantity) and numpy.ndim(value.magnitude) == 0
            return quoted(text or (show(value, 6) if scalar else value))

        if isinstance(value, bool) or not isinstance(value, (pint.Quantity, int, float, numpy.number, numpy.ndarray)):
            raise self._refuse(place, f"{given()} is not {_article(self.name)}")
        if self.plain:
            if isinstance(value, pint.Quantity):
                if not value.is_compatible_with(""):
                    raise self._refuse(place, f"{given()} has a unit")
                value = value.to("").magnitude
            self._check_range(value, place, given)
            return value if isinstance(value, numpy.ndarray) else float(value)
        if not isinstance(value, pint.Quantity):
            raise self._refuse(place, f"{given()} has no unit")
        if value._units == self.unit._units:
            self._check_range(value.magnitude, place, given)
            return value
        if value.dimensionality != self.unit.dimensionality or self._mixed(value):
            got = _kind_name(value)
            raise self._refuse(place, f"{given()} is {got}", _STEPS.get((got, self.name), ""))
        if self.name == "temperature" and str(value.units).startswith("delta_"):
            raise self._refuse(place, f"{given()} is a difference of temperatures")
        if self.name == "temperature difference" and value.units in _TEMPERATURES:
            raise self._refuse(place, f"{given()} is a temperature, not a difference",
                               'write "20 K" or "36 delta_degF"')  # fmt: skip
        value = _in(value, self.unit)
        self._check_range(value.magnitude, place, given)
        return value

    def read(self, text, place=""):
        """Text (or a bare number, for plain kinds) to a quantity in the unit written, checked against this kind."""
        place = place or self.name
        if self.plain and isinstance(text, (int, float)) and not isinstance(text, bool):
            return self.check(text, place)
        if isinstance(text, pint.Quantity):
            self.check(text, place)
            return text
        if not isinstance(text, str):
            raise self._refuse(place, f"{quoted(text)} is not text with a unit")
        try:
            value = read_quantity(text, place)
        except InputError as error:
            raise self._refuse(place, error.found) from None
        checked = self.check(value.magnitude if not self.plain and not value.units._units else value, place, text)
        return checked if self.plain else value

    def result(self, value, place="result"):
        """What a formula returns, in the unit in which results are shown."""
        if self.plain:
            return self.check(value, place)
        if not isinstance(value, pint.Quantity) or value.dimensionality != self.unit.dimensionality:
            raise TypeError(f"{place}: the formula gave {value!r}, not {_article(self.name)}")
        return _in(value, self.shown)

    def __get_pydantic_core_schema__(self, source, handler):
        from pydantic_core import core_schema

        return core_schema.no_info_plain_validator_function(self.read)


def _article(name):
    return ("an " if name[0] in "aeiou" else "a ") + name


def _kind_name(value):
    if any(name.endswith("volt_ampere") for name in value.units._units) and value.is_compatible_with("VA"):
        return "apparent power"
    for kind in KINDS.values():
        if kind.unit.dimensionality == value.dimensionality:
            return kind.name
    return "something else"


_TEMPERATURES = (ureg.Unit("degC"), ureg.Unit("degF"))
KINDS = {
    kind.name: kind
    for kind in (
        Kind("power", "W", "85 W", low=0),
        Kind("apparent power", "VA", "3600 VA", low=0),
        Kind("energy", "Wh", "1280 Wh", low=0),
        Kind("charge", "Ah", "100 Ah", low=0),
        Kind("voltage", "V", "12.8 V", low=0),
        Kind("current", "A", "5 A", low=0),
        Kind("time", "h", "3 h", low=0),
        Kind("fraction", "", "85 %", low=0, high=1, percent=True),
        Kind("ratio", "", "1.25", low=0),
        Kind("number", "", "2"),
        Kind("count", "", "2", low=0),
        Kind("temperature", "K", "70 degF", low=0, shown="degC"),
        Kind("temperature difference", "K", "20 K", shown="delta_degC"),
        Kind("length", "m", "12 ft", low=0),
        Kind("area", "m**2", "40 ft2", low=0),
        Kind("conductor area", "mm**2", "33.6 mm2", low=0),
        Kind("volume", "m**3", "2 ft3", low=0),
        Kind("mass", "kg", "65 lb", low=0),
        Kind("resistance", "ohm", "2 mohm", low=0, shown="mohm"),
        Kind("resistance per length", "ohm/km", "0.0608 ohm/kft", low=0),
        Kind("energy efficiency ratio", "btu_per_hour/watt", "9 Btuh/W", low=0),
        Kind("price", "USD", "900 USD", low=0),
        Kind("price of energy", "USD/kWh", "0.17 USD/kWh", low=0),
        Kind("current either way", "A", "-3 A"),
        Kind("wire diameter", "mm", "10.4 mm", low=0),
        Kind("resistivity", "ohm*mm**2/m", "0.01724 ohm mm2/m", low=0),
        Kind("temperature coefficient", "1/K", "0.00393 / K"),
        Kind("insulation rating", "K", "90 degC", low=313.15, high=573.15, shown="degC"),
        Kind("age", "day", "10 year", low=0, shown="year"),
        Kind("specific heat", "J/(kg*K)", "1000 J/(kg K)", low=0),
        Kind("activation energy", "kJ/mol", "53 kJ/mol", low=0),
        Kind("voltage temperature coefficient", "mV/K", "-3 mV/K"),
        Kind("capacitance", "F", "15 mF", low=0, shown="mF"),
        Kind("let-through", "A**2*s", "41000 A2 s", low=0),
        Kind("moment", "s", "0.1 s", low=0),
        Kind("irradiance", "W/m**2", "800 W/m2", low=0),
        Kind("net radiation", "W/m**2", "-50 W/m2"),
        Kind("energy of the sun", "kWh/m**2", "5 kWh/m2", low=0),
        Kind("angle", "deg", "30 deg"),
        Kind("altitude", "m", "5000 ft", low=-500, high=9000),
        Kind("pressure", "kPa", "83 kPa", low=0),
        Kind("wind speed", "m/s", "3 m/s", low=0),
        Kind("share per kelvin", "1/K", "-0.35 %/K", shown="percent/K"),
        Kind("heat transfer", "W/(m**2*K)", "25 W/(m2 K)", low=0),
        Kind("force", "N", "50 lbf", low=0),
        Kind("time shift", "min", "-13 min"),
        Kind("day of the year", "", "172", low=1, high=366),
        Kind("air flow", "m**3/h", "50 cfm", low=0, shown="cfm"),
        Kind("fuel", "L", "2 gal", low=0, shown="gal"),
        Kind("fuel rate", "L/h", "0.3 gph", low=0, shown="gph"),
        Kind("heat content", "kWh/L", "120238 Btu/gal", low=0),
        Kind("heat of combustion", "kJ/kg", "43900 kJ/kg", low=0),
        Kind("specific fuel consumption", "kg/kWh", "0.29 kg/kWh", low=0),
        Kind("density", "kg/m**3", "1.2 kg/m3", low=0),
        Kind("specific volume", "m**3/kg", "0.84 m3/kg", low=0),
        Kind("enthalpy", "kJ/kg", "50 kJ/kg"),
        Kind("pressure difference", "Pa", "5 Pa"),
        Kind("heat flow", "W", "-50 W"),
        Kind("conductivity", "W/(m*K)", "0.026 W/(m K)", low=0),
        Kind("thermal resistance", "m**2*K/W", "0.17 m2 K/W", low=0),
        Kind("heat conductance", "W/K", "0.5 W/K", low=0),
        Kind("heat capacity", "kJ/K", "12 kJ/K", low=0),
        Kind("position", "m", "-3 ft"),
        Kind("change of mass", "kg", "-20 lb"),
        Kind("price of power", "USD/W", "1.2 USD/W", low=0),
        Kind("price of fuel", "USD/L", "3.5 USD/gal", low=0, shown="USD/gal"),
        Kind("price of an hour", "USD/h", "0.8 USD/h", low=0),
    )
}  # fmt: skip

Power = Annotated[Quantity, KINDS["power"]]
ApparentPower = Annotated[Quantity, KINDS["apparent power"]]
Energy = Annotated[Quantity, KINDS["energy"]]
Charge = Annotated[Quantity, KINDS["charge"]]
Voltage = Annotated[Quantity, KINDS["voltage"]]
Current = Annotated[Quantity, KINDS["current"]]
Time = Annotated[Quantity, KINDS["time"]]
Fraction = Annotated[float, KINDS["fraction"]]
Ratio = Annotated[float, KINDS["ratio"]]
Number = Annotated[float, KINDS["number"]]
Count = Annotated[float, KINDS["count"]]
Temperature = Annotated[Quantity, KINDS["temperature"]]
TemperatureDifference = Annotated[Quantity, KINDS["temperature difference"]]
Length = Annotated[Quantity, KINDS["length"]]
Area = Annotated[Quantity, KINDS["area"]]
ConductorArea = Annotated[Quantity, KINDS["conductor area"]]
Volume = Annotated[Quantity, KINDS["volume"]]
Mass = Annotated[Quantity, KINDS["mass"]]
Resistance = Annotated[Quantity, KINDS["resistance"]]
ResistancePerLength = Annotated[Quantity, KINDS["resistance per length"]]
EnergyEfficiencyRatio = Annotated[Quantity, KINDS["energy efficiency ratio"]]
Price = Annotated[Quantity, KINDS["price"]]
PriceOfEnergy = Annotated[Quantity, KINDS["price of energy"]]
SignedCurrent = Annotated[Quantity, KINDS["current either way"]]
WireDiameter = Annotated[Quantity, KINDS["wire diameter"]]
Resistivity = Annotated[Quantity, KINDS["resistivity"]]
TemperatureCoefficient = Annotated[Quantity, KINDS["temperature coefficient"]]
InsulationRating = Annotated[Quantity, KINDS["insulation rating"]]
Age = Annotated[Quantity, KINDS["age"]]
SpecificHeat = Annotated[Quantity, KINDS["specific heat"]]
ActivationEnergy = Annotated[Quantity, KINDS["activation energy"]]
VoltageTemperatureCoefficient = Annotated[Quantity, KINDS["voltage temperature coefficient"]]
Capacitance = Annotated[Quantity, KINDS["capacitance"]]
LetThrough = Annotated[Quantity, KINDS["let-through"]]
Moment = Annotated[Quantity, KINDS["moment"]]
Irradiance = Annotated[Quantity, KINDS["irradiance"]]
NetRadiation = Annotated[Quantity, KINDS["net radiation"]]
SunEnergy = Annotated[Quantity, KINDS["energy of the sun"]]
Angle = Annotated[Quantity, KINDS["angle"]]
Altitude = Annotated[Quantity, KINDS["altitude"]]
Pressure = Annotated[Quantity, KINDS["pressure"]]
WindSpeed = Annotated[Quantity, KINDS["wind speed"]]
SharePerKelvin = Annotated[Quantity, KINDS["share per kelvin"]]
HeatTransfer = Annotated[Quantity, KINDS["heat transfer"]]
Force = Annotated[Quantity, KINDS["force"]]
TimeShift = Annotated[Quantity, KINDS["time shift"]]
DayOfYear = Annotated[float, KINDS["day of the year"]]
AirFlow = Annotated[Quantity, KINDS["air flow"]]
Fuel = Annotated[Quantity, KINDS["fuel"]]
FuelRate = Annotated[Quantity, KINDS["fuel rate"]]
HeatContent = Annotated[Quantity, KINDS["heat content"]]
HeatOfCombustion = Annotated[Quantity, KINDS["heat of combustion"]]
SpecificFuel = Annotated[Quantity, KINDS["specific fuel consumption"]]
Density = Annotated[Quantity, KINDS["density"]]
SpecificVolume = Annotated[Quantity, KINDS["specific volume"]]
Enthalpy = Annotated[Quantity, KINDS["enthalpy"]]
PressureDifference = Annotated[Quantity, KINDS["pressure difference"]]
HeatFlow = Annotated[Quantity, KINDS["heat flow"]]
Conductivity = Annotated[Quantity, KINDS["conductivity"]]
ThermalResistance = Annotated[Quantity, KINDS["thermal resistance"]]
HeatConductance = Annotated[Quantity, KINDS["heat conductance"]]
HeatCapacity = Annotated[Quantity, KINDS["heat capacity"]]

Position = Annotated[Quantity, KINDS["position"]]
MassChange = Annotated[Quantity, KINDS["change of mass"]]
PriceOfPower = Annotated[Quantity, KINDS["price of power"]]
PriceOfFuel = Annotated[Quantity, KINDS["price of fuel"]]
PriceOfAnHour = Annotated[Quantity, KINDS["price of an hour"]]


ABOVE_ZERO = object()  # beside a kind in an annotation: zero is refused, because the formula divides by it


def kind_of(annotation):
    """The Kind in an annotation, looking through `| None`; None where there is none.

    `Annotated[Voltage, ABOVE_ZERO]` gives the kind of Voltage with zero refused.
    """
    metadata = getattr(annotation, "__metadata__", ())
    for kind in metadata:
        if isinstance(kind, Kind):
            if any(mark is ABOVE_ZERO for mark in metadata):
                kind = copy.copy(kind)
                kind.above_zero = True
            return kind
    for part in typing.get_args(annotation):
        if part is not type(None) and (found := kind_of(part)):
            return found
    return None


def kinds_of(function):
    """Annotated kinds of a function's arguments and result: `{"power": Kind, ..., "return": Kind}`."""
    hints = typing.get_type_hints(inspect.unwrap(function), include_extras=True)
    return {name: kind for name, hint in hints.items() if (kind := kind_of(hint))}


def formula(function):
    """Make a function check its arguments against their kinds and give its result in the kind's unit.

    Inside, quantities are in the units of their kinds and plain kinds are floats, so the body reads like
    the formula. A wrong unit is refused by an InputError that names the argument and the missing step; so are values
    out of which no number comes.
    """
    kinds = kinds_of(function)
    returns = kinds.pop("return", None)
    signature = inspect.signature(function)

    @functools.wraps(function)
    def checked(*args, **kwargs):
        bound = signature.bind(*args, **kwargs)
        bound.apply_defaults()
        for name, kind in kinds.items():
            if bound.arguments[name] is not None:
                bound.arguments[name] = kind.check(bound.arguments[name], name.replace("_", " "))
        try:
            value = function(*bound.args, **bound.kwargs)
        except InputError:
            raise
        except (ArithmeticError, ValueError) as error:  # too large for a float, divided by zero, the root of less than nothing
            raise InputError(function.__name__.replace("_", " "), f"no number comes out of what is given ({error})",
                             "values that can be true together") from error  # fmt: skip
        return returns.result(value, function.__name__) if returns else value

    return checked


def floats(quantity, unit):
    """A quantity's magnitude in `unit` as float or array: the one conversion on the way into a loop."""
    factor = _factor(quantity._units, unit)
    if factor is None:
        return quantity.to(unit).magnitude
    return quantity.magnitude if factor == 1 else quantity.magnitude * factor


def _in(quantity, unit):
    """`quantity.to(unit)`, without asking pint for the factor each time."""
    if quantity._units == unit._units:
        return quantity
    factor = _factor(quantity._units, unit)
    return quantity.to(unit) if factor is None else Quantity(quantity.magnitude * factor, unit)


def whole_up(number):
    """A number without unit, rounded up to a whole one. A billionth above a whole number is that number: three modules' watt-hours
    ask for three, whatever the last digit of a float says.
    """
    return math.ceil(round(floats(number, "") if isinstance(number, Quantity) else number, 9))


@functools.lru_cache(maxsize=4096)
def _factor(given, wanted):
    """What a magnitude in one unit is multiplied by to be in the other; None where that alone does not do it."""
    try:
        shift = ureg.convert(0.0, given, wanted)
    except pint.DimensionalityError:
        return None
    return None if shift else ureg.convert(1.0, given, wanted)


# ------------------------------------------------------------------ what lesson 00 practises


def convert(quantity: str, unit: str) -> Quantity:
    """The same quantity in another unit: `convert("22 ft", "m")`.

    Parameters
    ----------
    quantity : text such as "22 ft", or a quantity
    unit : text such as "m" or "W/(m2 K)"

    Raises InputError where either cannot be read, or where the unit measures something else; it then names the
    missing step. Source: NIST Special Publication 811, Appendix B.
    """
    value = read_quantity(quantity) if isinstance(quantity, str) else quantity
    wanted = read_quantity(f"1 {unit}", "unit").units
    if not value.is_compatible_with(wanted):
        for kind in KINDS.values():
            if kind.unit.dimensionality == wanted.dimensionality:
                kind.check(value, "quantity")
        raise InputError("quantity", f"{quoted(quantity)} is {_kind_name(value)}", f"something measured in {unit}", f'"1 {unit}"')
    return value.to(wanted)


@formula
def current_by_ohms_law(voltage: Voltage, resistance: Annotated[Resistance, ABOVE_ZERO]) -> Current:
    """Current that a voltage drives through a resistance.

    Parameters
    ----------
    voltage : volts across the resistance
    resistance : above 0

    Source: Ohm's law (OpenStax College Physics, Ohm's Law: Resistance and Simple Circuits).
    """
    return voltage / resistance


@formula
def rectangle_area(length: Length, width: Length) -> Area:
    """Area of a rectangle, such as a stretch of roof.

    Parameters
    ----------
    length, width : its sides

    Source: elementary geometry.
    """
    return length * width


@formula
def box_volume(length: Length, width: Length, height: Length) -> Volume:
    """Volume of a box, such as a battery compartment.

    Parameters
    ----------
    length, width, height : its inside measures

    Source: elementary geometry.
    """
    return length * width * height
