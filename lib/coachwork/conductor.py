"""Copper conductors: sizes, area, resistance at a temperature, and the ampacity tables of named rules.

A size is text: `"10"` or `"4/0"` for American Wire Gauge, `"250 kcmil"`, `"16 mm2"`. Tables live in
data/tables with their source and status; what a table does not print is refused, never guessed.
"""

import dataclasses
import math
import re
from typing import Annotated

from coachwork.quantities import (
    ABOVE_ZERO,
    KINDS,
    ConductorArea,
    Count,
    Current,
    Fraction,
    InputError,
    InsulationRating,
    Length,
    Number,
    Quantity,
    Ratio,
    Resistance,
    ResistancePerLength,
    Resistivity,
    Temperature,
    TemperatureCoefficient,
    WireDiameter,
    formula,
    quoted,
    show,
)
from coachwork.sources import Source, table

PI = math.pi
GAUGE_36 = Quantity(0.127, "mm")  # 0.005 in, by definition of the gauge
IACS = Quantity(0.017241, "ohm * mm**2 / m")  # annealed copper at 20 °C: 1/58, as it is printed
COEFFICIENT = Quantity(0.00393, "1/K")  # of annealed copper, referred to 20 °C
AT_20 = Quantity(293.15, "K")
AMBIENT_BASE = Quantity(303.15, "K")  # 30 °C, on which every ampacity table here stands
IEC_ZERO = Quantity(43.15, "K")  # -230 °C, where the straight line of IEC 60228 would reach no resistance
STRANDED = 1.02
SAME = 1 + 1e-9  # 1.25 x 12 A is 15 A, whatever the last digit of a float says

RESISTANCE_TABLES = {  # name: table and column; None where the resistance is calculated
    "IACS stranded": None,
    "IACS solid": None,
    "SAE cable": None,
    "NEC stranded": ("nec_chapter_9_table_8", "stranded"),
    "NEC solid": ("nec_chapter_9_table_8", "solid"),
    "IEC class 2": ("iec_60228", "class 2"),
    "IEC class 5": ("iec_60228", "class 5"),
}
NEC_REFERENCE, NEC_COEFFICIENT = Quantity(348.15, "K"), Quantity(0.00323, "1/K")  # Chapter 9 Table 8 note 2


@dataclasses.dataclass(frozen=True)
class _Rule:
    ampacity: str
    ambient: str  # table, or empty where the formula is used
    bundling: str


RULES = {
    "NEC 310.16": _Rule("nec_310_16", "nec_310_15_b_1", "nec_310_15_c_1"),
    "33 CFR 183.425": _Rule("cfr_33_183_425_table_5", "", "cfr_33_183_425_note_2"),
    "ISO 10133": _Rule("iso_10133_a_1", "", "cfr_33_183_425_note_2"),
}
LIMIT_RULES = {"NEC 552.10(E)(1)": "nec_552_10_e_1", "NEC 240.4(D)": "nec_240_4_d"}
BUNDLING_TABLES = {rule: parts.bundling for rule, parts in RULES.items()} | {"MIL-W-5088L": "mil_w_5088_bundle"}

# ------------------------------------------------------------------------------------ single formulas


@formula
def wire_diameter(gauge: Number) -> WireDiameter:
    """Diameter of a solid wire of a gauge number.

    36 gauge is 0.0050 in and 4/0 is 0.4600 in by definition; the 39 steps between are equal ratios.

    Parameters
    ----------
    gauge : gauge number; 0, -1, -2, -3 stand for 1/0, 2/0, 3/0, 4/0 (`gauge_number` reads the text)

    Source: ASTM B258.
    """
    return GAUGE_36 * 92 ** ((36 - gauge) / 39)


@formula
def round_area(diameter: WireDiameter) -> ConductorArea:
    """Cross-section of a round wire. In circular mils it is the square of the diameter in mils.

    Parameters
    ----------
    diameter : of the bare metal

    Source: area of a circle.
    """
    return PI / 4 * diameter**2


@formula
def copper_resistivity(
    temperature: Temperature, at_20: Resistivity = IACS, coefficient: TemperatureCoefficient = COEFFICIENT
) -> Resistivity:
    """Resistivity of copper at a temperature. In ohm circular-mil per foot it is the K of the trade's formula.

    A straight line, good to 0.1 % from -40 to 150 °C. K = 10.75 is copper near 29 °C; a conductor at 75 °C
    has 12.6.

    Parameters
    ----------
    temperature : of the conductor itself, not of the air round it
    at_20 : resistivity at 20 °C; the default is annealed copper, 0.017241 ohm mm2/m
    coefficient : share by which it grows per kelvin, referred to 20 °C

    Source: International Annealed Copper Standard (NBS Handbook 100).
    """
    return at_20 * (1 + coefficient * (temperature - AT_20))


@formula
def resistivity_temperature(
    resistivity: Resistivity,
    at_20: Annotated[Resistivity, ABOVE_ZERO] = IACS,
    coefficient: Annotated[TemperatureCoefficient, ABOVE_ZERO] = COEFFICIENT,
) -> Temperature:
    """Temperature at which copper has a resistivity: what a rule of thumb's K takes for granted.

    Parameters
    ----------
    resistivity : for example 10.75 ohm cmil/ft
    at_20, coefficient : as in `copper_resistivity`

    Source: International Annealed Copper Standard, turned round.
    """
    return AT_20 + (resistivity / at_20 - 1) / coefficient


@formula
def copper_resistance_per_length(
    area: Annotated[ConductorArea, ABOVE_ZERO], temperature: Temperature, stranding: Ratio = STRANDED
) -> ResistancePerLength:
    """Direct-current resistance per length of a copper conductor, one way.

    Parameters
    ----------
    area : sum of the cross-sections of the strands
    temperature : of the conductor itself
    stranding : how much longer a strand is than the conductor; 1 for solid wire, 1.02 for common
        stranding (ASTM B8, from memory), up to 1.07 for very flexible rope (from memory)

    Source: R' = rho / A with the resistivity of the International Annealed Copper Standard.
    """
    resistivity = IACS * (1 + COEFFICIENT * (temperature - AT_20))
    return stranding * resistivity / area


@formula
def resistance(resistance_per_length: ResistancePerLength, length: Length) -> Resistance:
    """Resistance of a length of conductor. For a circuit the length is the way there and the way back.

    Parameters
    ----------
    resistance_per_length : one way, from `resistance_per_length` or a data sheet
    length : of conductor

    Source: definition.
    """
    return resistance_per_length * length


@formula
def area_for_resistance(
    length: Length, resistance: Annotated[Resistance, ABOVE_ZERO], resistivity: Resistivity
) -> ConductorArea:
    """Cross-section that a conductor needs so as not to have more than a resistance.

    Parameters
    ----------
    length : of conductor, there and back for a circuit
    resistance : allowed, above 0
    resistivity : at the conductor's temperature, from `copper_resistivity`

    Source: R = rho L / A, turned round.
    """
    return resistivity * length / resistance


@formula
def resistance_at(
    resistance: Resistance,
    temperature: Temperature,
    reference: Temperature = AT_20,
    coefficient: TemperatureCoefficient = COEFFICIENT,
) -> Resistance:
    """A resistance known at one temperature, at another.

    Parameters
    ----------
    resistance : at the reference temperature
    temperature : wanted
    reference : where the resistance was measured or printed; the coefficient belongs to it
    coefficient : of copper 0.00393 per kelvin from 20 °C, 0.00323 from 75 °C

    Source: International Annealed Copper Standard; NEC Chapter 9 Table 8 note 2 for 75 °C.
    """
    return resistance * (1 + coefficient * (temperature - reference))


@formula
def iec_60228_factor(temperature: Temperature) -> Ratio:
    """Factor that brings a resistance measured at a temperature to 20 °C, as IEC 60228 has it: 250/(230 + T).

    Parameters
    ----------
    temperature : of the conductor when measured

    Source: IEC 60228, annex on temperature correction.
    """
    return (AT_20 - IEC_ZERO) / (temperature - IEC_ZERO)


@formula
def temperature_correction(rating: InsulationRating, ambient: Temperature) -> Ratio:
    """Factor on an ampacity for air that is not at 30 °C; 0 where the air is as hot as the insulation may be.

    Heat leaves in proportion to the difference of temperatures and comes with the square of the current.

    Parameters
    ----------
    rating : temperature that the insulation stands, 40 °C or more
    ambient : of the air round the conductor

    Source: NEC (NFPA 70) 2023 310.15(B), equation beside the table.
    """
    return math.sqrt(max((rating - ambient) / (rating - AMBIENT_BASE), 0))


@formula
def corrected_ampacity(base: Current, ambient_factor: Ratio, bundling_factor: Fraction) -> Current:
    """Ampacity in the place where the conductor really runs.

    Parameters
    ----------
    base : ampacity printed for 30 °C and few conductors, from `base_ampacity`
    ambient_factor : from `ambient_factor`
    bundling_factor : from `bundling_factor`; 1 where nothing else runs beside it

    Source: NEC (NFPA 70) 2023 310.15(B) and (C); 33 CFR 183.425(c).
    """
    return base * ambient_factor * bundling_factor


# --------------------------------------------------------------------------------------------- sizes

_GAUGE = re.compile(r"#?\s*([0-9]|[1-3][0-9]|40|[1-4]/0)\s*(?:AWG|awg|ga|gauge)?")
_KCMIL = re.compile(r"([0-9]{3,4})\s*(?:kcmil|MCM)")
_METRIC = re.compile(r"([0-9]{1,3}(?:\.[0-9]{1,2})?)\s*(?:mm2|mm²|sq mm)")


def size_name(size: str) -> str:
    """A size as the tables write it: `"#10 AWG"` gives `"10"`, `"16 mm²"` gives `"16 mm2"`, `"0"` gives `"1/0"`.

    Raises
    ------
    InputError
        for text that is no size.
    """
    text = size.strip() if isinstance(size, str) else ""
    if match := _GAUGE.fullmatch(text):
        return "1/0" if match[1] == "0" else match[1]
    if match := _KCMIL.fullmatch(text):
        return f"{int(match[1])} kcmil"
    if match := _METRIC.fullmatch(text):
        if float(match[1]) > 0:
            return f"{float(match[1]):g} mm2"
    raise InputError("conductor size", f"{quoted(size)} is not a size", "an AWG, kcmil or mm2 size",
                     '"10", "4/0", "250 kcmil" or "16 mm2"')  # fmt: skip


def gauge_number(size: str) -> Number:
    """The number that the gauge formula takes: 10 for `"10"`, 0 for `"1/0"`, -3 for `"4/0"`.

    Raises
    ------
    InputError
        for a size that is not in American Wire Gauge.
    """
    name = size_name(size)
    if " " in name:
        raise InputError("conductor size", f"{quoted(size)} is not in American Wire Gauge", "an AWG size", '"4/0"')
    return float(1 - int(name[0])) if name.endswith("/0") else float(name)


def area(size: str, cable: str = "AWG") -> ConductorArea:
    """Cross-section of a size.

    Parameters
    ----------
    size : text; a metric size gives its nominal area, of which the real copper is some percent less
    cable : "AWG", or "SAE" for battery and primary cable marked with an SAE gauge, 3 to 11 % smaller

    Source: ASTM B258; SAE J1127 and J1128 (data/tables/sae_cable.csv, partly from memory).
    """
    name = size_name(size)
    if cable == "SAE":
        return table("sae_cable").row(size=name)["area"].to("mm**2")
    if cable != "AWG":
        raise InputError("cable", f"{quoted(cable)} is not known", '"AWG" or "SAE"', '"AWG"')
    number, _, unit = name.partition(" ")
    if unit:
        return Quantity(float(number), "kcmil" if unit == "kcmil" else "mm**2").to("mm**2")
    return round_area(wire_diameter(gauge_number(name)))


# ---------------------------------------------------------------------------------------- resistance


def resistance_per_length(size: str, temperature: Temperature, by: str = "") -> ResistancePerLength:
    """Direct-current resistance per length of a size, one way.

    Parameters
    ----------
    size : text, see the module's first lines
    temperature : of the conductor itself
    by : one of RESISTANCE_TABLES. Without it, AWG and kcmil sizes are calculated ("IACS stranded") and
        metric ones read from IEC 60228 class 5, because a metric size's copper is less than its name says.
        "SAE cable" calculates with the smaller SAE areas.

    Raises
    ------
    InputError
        for a size that the table does not print.

    Source: International Annealed Copper Standard; NEC Chapter 9 Table 8 with its note 2; IEC 60228.
    """
    name = size_name(size)
    temperature = KINDS["temperature"].check(temperature, "temperature")
    by = by or ("IEC class 5" if name.endswith("mm2") else "IACS stranded")
    if by not in RESISTANCE_TABLES:
        raise InputError("resistance table", f"{quoted(by)} is not known", "one of " + ", ".join(RESISTANCE_TABLES))
    if RESISTANCE_TABLES[by] is None:
        stranding = 1.0 if by == "IACS solid" else STRANDED
        return copper_resistance_per_length(area(name, "SAE" if by == "SAE cable" else "AWG"), temperature, stranding)
    printed = _cell(RESISTANCE_TABLES[by][0], name, RESISTANCE_TABLES[by][1]).to("ohm/km")
    if by.startswith("IEC"):
        return printed / iec_60228_factor(temperature)
    return printed * (1 + NEC_COEFFICIENT * (temperature - NEC_REFERENCE)).m_as("")


def _cell(name, size, column):
    value = table(name).row(size=size)[column]
    if value is None:
        raise InputError("conductor size", f'the table {name} gives nothing for "{size}" under {column}',
                         "a size that it prints")  # fmt: skip
    return value


# ---------------------------------------------------------------------------------------- insulation


@dataclasses.dataclass(frozen=True)
class Insulation:
    """An insulation: highest conductor temperatures in dry and wet places, and in a short circuit.

    `wet` is None where it is not rated for wet places or the rating was not recalled.
    """

    type: str
    material: str
    dry: Temperature
    wet: Temperature | None
    final: Temperature
    standard: str
    use: str


def insulation(marking: str) -> Insulation:
    """What an insulation stands.

    Parameters
    ----------
    marking : the letters on the cable, such as "THWN-2" or "SGX"

    Source: standards named in data/tables/insulations.csv, from memory: what is printed on the cable rules.
    """
    return Insulation(**table("insulations").row(type=marking))


# ------------------------------------------------------------------------------------------ ampacity


def _rule(rule):
    if rule not in RULES:
        raise InputError("rule", f"{quoted(rule)} is not known", "one of " + ", ".join(RULES))
    return RULES[rule]


def rule_source(rule: str, size: str = "") -> Source:
    """Document and status of an ampacity or limit rule; with a size, the status of its row where rows differ."""
    found = table(LIMIT_RULES[rule] if rule in LIMIT_RULES else _rule(rule).ampacity)
    if size and "status" in found.units:
        return Source(found.source.text, found.row(size=size_name(size))["status"])
    return found.source


def rule_sizes(rule: str) -> list:
    """Sizes for which an ampacity rule prints values, smallest first."""
    return table(_rule(rule).ampacity).column("size")


def rule_ratings(rule: str) -> list:
    """Insulation temperatures for which an ampacity rule prints a column, in °C as numbers."""
    return _ratings(_rule(rule).ampacity)


def _ratings(name):
    return [int(heading.split()[0]) for heading in table(name).units if heading.endswith(" degC")]


def _column(name, rating):
    """The column of the highest rating at or below `rating`: better insulation never loses by it."""
    rating = KINDS["insulation rating"].check(rating, "insulation rating")
    below = [column for column in _ratings(name) if column <= rating.m_as("degC") + 1e-6]
    if not below:
        raise InputError("insulation rating", f"{rating.m_as('degC'):.0f} °C is below the lowest column of {name}",
                         f"{_ratings(name)[0]} °C or more", '"75 degC"')  # fmt: skip
    return f"{below[-1]} degC"


def base_ampacity(size: str, rule: str, rating: InsulationRating) -> Current:
    """Ampacity as the rule's table prints it, for 30 °C and few conductors.

    Parameters
    ----------
    size : AWG, or metric for ISO 10133
    rule : one of RULES
    rating : temperature of the insulation, or of the terminal where that is lower; a rating between two
        columns takes the lower one

    Raises
    ------
    InputError
        for a size or rating that the table does not print.

    Source: the rule's table; `rule_source` says which.
    """
    name = _rule(rule).ampacity
    return _cell(name, size_name(size), _column(name, rating))


def ambient_factor(rule: str, rating: InsulationRating, ambient: Temperature) -> Ratio:
    """Factor on an ampacity for the temperature of the air; 0 says that the conductor may carry nothing there.

    The NEC prints bands, of which the next one up is taken. The other rules have no full table: the
    formula is used, without credit for air cooler than 30 °C.

    Parameters
    ----------
    rule : one of RULES
    rating : temperature of the insulation
    ambient : temperature of the air round the conductor

    Source: NEC (NFPA 70) 2023 Table 310.15(B)(1)(1); for other rules `temperature_correction`.
    """
    name = _rule(rule).ambient
    ambient = KINDS["temperature"].check(ambient, "ambient")
    if not name:
        return min(1.0, temperature_correction(rating, ambient))
    column = _column(name, rating)
    celsius = ambient.m_as("degC")
    return next((row[column] for row in table(name).rows if celsius <= row["ambient"].magnitude + 1e-6), 0.0)


def bundling_factor(rule: str, conductors: Count) -> Fraction:
    """Factor on an ampacity for conductors that carry current side by side.

    Parameters
    ----------
    rule : one of RULES, or "MIL-W-5088L" (aircraft practice, full bundle loading, up to 10 wires)
    conductors : how many carry current in the bundle, raceway or cable; a whole number from 1.
        A direct-current circuit counts as two.

    Source: NEC (NFPA 70) 2023 Table 310.15(C)(1); 33 CFR 183.425 Table 5 note 2 (from memory), which
    this workbook also takes for ISO 10133 (no source); MIL-W-5088L (secondary).
    """
    if rule not in BUNDLING_TABLES:
        raise InputError("rule", f"{quoted(rule)} is not known", "one of " + ", ".join(BUNDLING_TABLES))
    count = KINDS["count"].check(conductors, "conductors")
    if count < 1 or count != int(count):
        raise InputError("conductors", f"{quoted(conductors)} is given", "a whole number from 1", '"6"')
    bands = table(BUNDLING_TABLES[rule]).rows
    for band in bands:
        if band["to"] is None or count <= band["to"]:
            return band["factor"]
    raise InputError("conductors", f"{rule} ends at {bands[-1]['to']:g}, and {count:g} are given",
                     "fewer conductors in one bundle", f'"{bands[-1]["to"]:g}"')  # fmt: skip


def ampacity(
    size: str,
    rule: str,
    rating: InsulationRating,
    ambient: Temperature = AMBIENT_BASE,
    conductors: Count = 1.0,
) -> Current:
    """Ampacity of a conductor under a named rule, in its surroundings. Terminals may ask for less.

    Parameters
    ----------
    size, rule, rating : as in `base_ampacity`
    ambient : temperature of the air round the conductor
    conductors : how many carry current side by side

    Source: the rule's table with its factors.
    """
    return corrected_ampacity(
        base_ampacity(size, rule, rating), ambient_factor(rule, rating, ambient), bundling_factor(rule, conductors)
    )


def overcurrent_limit(size: str, rule: str) -> Current | None:
    """Largest fuse or breaker that a rule allows on a small conductor, whatever its ampacity.

    None where the rule names no limit: above 10 AWG, which is as far as either table goes.

    Parameters
    ----------
    size : AWG
    rule : "NEC 552.10(E)(1)" for the 12 V side of park trailers, "NEC 240.4(D)" for 120 V

    Source: NEC (NFPA 70) 2023 240.4(D); Table 552.10(E)(1) (from memory).
    """
    if rule not in LIMIT_RULES:
        raise InputError("rule", f"{quoted(rule)} is not known", "one of " + ", ".join(LIMIT_RULES))
    limits = table(LIMIT_RULES[rule])
    if size_name(size).endswith("kcmil") or gauge_number(size) < min(gauge_number(name) for name in limits.column("size")):
        return None
    return limits.row(size=size_name(size))["limit"]


def standard_ratings() -> list:
    """Standard ampere ratings of fuses and breakers, smallest first.

    Source: NEC (NFPA 70) 2023 240.6(A).
    """
    return table("nec_240_6_a").column("rating")


def next_standard_rating(current: Current) -> Current:
    """The smallest standard rating that is not below a current.

    Source: NEC (NFPA 70) 2023 240.6(A), 240.4(B).
    """
    current = KINDS["current"].check(current, "current")
    for rating in standard_ratings():
        if rating * SAME >= current:
            return rating
    raise InputError("current", f"{show(current)} is above every standard rating",
                     f"at most {show(standard_ratings()[-1])}", '"115 A"')  # fmt: skip


def standard_rating_within(current: Current) -> Current:
    """The largest standard rating that is not above a current: a device that protects an ampacity fully.

    Source: NEC (NFPA 70) 2023 240.6(A).
    """
    current = KINDS["current"].check(current, "current")
    within = [rating for rating in standard_ratings() if rating <= current * SAME]
    if not within:
        raise InputError("current", f"{show(current)} is below every standard rating",
                         f"at least {show(standard_ratings()[0])}", '"115 A"')  # fmt: skip
    return within[-1]
