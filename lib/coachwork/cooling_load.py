"""Cooling load: what an air conditioner must remove from a coach hour by hour, and what it takes from the bank for it.

The heat of the closed space is room.py's; here are the unit, its coil and its thermostat, the coach's habits, the night on
the bank. Everything outside this module's border is a quantity; inside it is °C, W, m, s, kg.
"""

import dataclasses
import functools
import math
import tomllib
from typing import Annotated

import numpy

from coachwork import air, bootstrap, room, sections, weather
from coachwork import capacity as capacity_topic
from coachwork import checks as rules
from coachwork import energy as energy_topic
from coachwork import sun as sun_topic
from coachwork.profile import covered_share
from coachwork.quantities import (
    ABOVE_ZERO, Conductivity, Energy, EnergyEfficiencyRatio, Fraction, HeatFlow, HeatTransfer, InputError,
    Irradiance, Length, Power, Quantity, Ratio, Temperature, TemperatureDifference, ThermalResistance, Area, Count, floats,
    formula, show,
)  # fmt: skip
from coachwork.sources import Source, table

PRACTICE = "common practice, no source"
PI = math.pi
RATING_OUT, RATING_IN, RATING_WET = 35.0, 26.67, 19.44  # °C: 95, 80 and 67 °F
BY_WET_BULB = (0.00068377, 0.0092031, 0.562526)  # capacity by wet bulb, °C, at 95 °F outdoors: 1 at 67 °F (from memory)
STARTS, COIL_HOLDS = 3.0, 720.0  # starts in an hour at half load; seconds of full run that wet a dry coil (from memory)
DUCT_DIAMETER, DUCT_INSULATION = Quantity(6.0, "inch"), Quantity(1.0, "inch")  # common practice, no source
DUCT_FOAM, DUCT_FILMS = Quantity(0.04, "W/m/K"), (Quantity(21.0, "W/m**2/K"), Quantity(8.0, "W/m**2/K"))
PULL_DOWN = 2  # hours that a hot coach may take to cool down (common practice, no source)
CYCLING_LOSS = 0.25  # 10 CFR 430 subpart B app. M, where a unit was not tested (from memory)
TON = Quantity(12_000.0, "btu_per_hour")
PERIMETER_LOSS = Quantity(0.7, "btu_per_hour/ft/delta_degF")
CERTIFIED_INDOORS = Quantity(70.0, "degF")
A_PERSON = Quantity(600.0, "btu_per_hour")

# ------------------------------------------------------------------------------- single formulas


@formula
def conducted_heat(heat_loss: HeatTransfer, surface: Area, temperature_difference: TemperatureDifference) -> HeatFlow:
    """Heat that goes through a wall, a roof or a window because one side is warmer.

    Parameters
    ----------
    heat_loss : its U-value, films counted
    surface : its area
    temperature_difference : between the air on both sides; with sun on it, sol-air temperature less indoor air

    Steady: mass delays it. Source: ASHRAE Fundamentals ch. 18, q = U A ΔT.
    """
    return heat_loss * surface * temperature_difference


@formula
def heat_through_layer(
    conductivity: Conductivity, surface: Area, temperature_difference: TemperatureDifference,
    thickness: Annotated[Length, ABOVE_ZERO],
) -> HeatFlow:  # fmt: skip
    """Heat that goes through one layer whose faces have the given temperatures.

    Parameters
    ----------
    conductivity : of the material
    surface : its area
    temperature_difference : between its faces
    thickness : above 0

    Source: Fourier's law.
    """
    return conductivity * surface * temperature_difference / thickness


def series_heat_transfer(resistances: list[ThermalResistance]) -> HeatTransfer:
    """U-value of layers and films one behind the other.

    Parameters
    ----------
    resistances : of each, films too; their sum is above 0

    Errors: InputError where nothing resists. Source: ISO 6946.
    """
    total = sum((one.to("m**2*K/W") for one in resistances), Quantity(0.0, "m**2*K/W"))
    if not total.magnitude > 0:
        raise InputError("resistances", f"{show(total)} in all", "at least one film or layer that resists",
                         '["0.17 m2 K/W"]')  # fmt: skip
    return (1 / total).to("W/(m**2*K)")


@formula
def sun_through_window(irradiance: Irradiance, surface: Area, solar_gain: Fraction, cover: Fraction = 1.0) -> HeatFlow:
    """Heat of the sun that a window lets in.

    Parameters
    ----------
    irradiance : sun on the plane of the glass
    surface : of the glass
    solar_gain : solar heat gain coefficient, the share of the sun that ends inside
    cover : share of it that a shade outside still lets through; behind a cover inside, the pane's warmth is in the room

    Source: ASHRAE Fundamentals ch. 15.
    """
    return irradiance * surface * solar_gain * cover


@formula
def leakage_of_rule(length: Length, ambient: Temperature) -> HeatFlow:
    """Heat lost to leaks by the rule for manufactured homes that were not tested; for heating at 70 °F inside.

    Parameters
    ----------
    length : of the perimeter of the floor
    ambient : outdoor temperature of the certificate

    Source: 24 CFR 3280.509(a).
    """
    return PERIMETER_LOSS * length * (CERTIFIED_INDOORS - ambient)


@formula
def capacity_of_tons(count: Count) -> Power:
    """Cooling capacity that a number of tons means: a rate, the melting of a short ton of ice in a day; no weight.

    Parameters
    ----------
    count : how many tons

    Source: NIST SP 811 (1 ton of refrigeration = 12,000 Btu/h).
    """
    return count * TON


@formula
def capacity_for_people(cooling_capacity: Power, count: Count) -> Power:
    """A capacity from a table of areas, with 600 Btu/h for each person above two.

    Parameters
    ----------
    cooling_capacity : by the table, for a house
    count : people, two or more

    Source: US ENERGY STAR guidance on room air conditioners.
    """
    return cooling_capacity + A_PERSON * (count - 2)


@formula
def capacity_at(
    cooling_capacity: Power, capacity_change: Ratio, ambient: Temperature,
    reference: Temperature = Quantity(308.15, "K"),
) -> HeatFlow:  # fmt: skip
    """Capacity of an air conditioner in air hotter than that of its rating.

    Parameters
    ----------
    cooling_capacity : at the rating point
    capacity_change : share lost for each kelvin, 0.009 for 0.9 %
    ambient : outdoor air
    reference : outdoor air of the rating, 95 °F

    Source: linear, from the unit's own sheet; 95 °F: 10 CFR 430 subpart B app. F (from memory).
    """
    return cooling_capacity * (1 - capacity_change * ((ambient - reference) / Quantity(1.0, "K")))


@formula
def latent_capacity(cooling_capacity: Power, sensible_share: Fraction) -> Power:
    """Part of a unit's capacity that makes water out of vapor, and cools nothing.

    Parameters
    ----------
    cooling_capacity : sensible and latent
    sensible_share : of it, by the unit's sheet

    Source: first law.
    """
    return cooling_capacity * (1 - sensible_share)


@formula
def electric_energy(heat_removed: Energy, coefficient_of_performance: Annotated[Ratio, ABOVE_ZERO]) -> Energy:
    """Electric energy that moves a heat.

    Parameters
    ----------
    heat_removed : sensible and latent
    coefficient_of_performance : heat moved for each unit of electric energy; zero is refused

    Source: definition of COP.
    """
    return heat_removed / coefficient_of_performance


@formula
def heat_rejected(heat_removed: Energy, energy: Energy) -> Energy:
    """Heat that the outdoor side gives off: what was removed, and the electricity that it took.

    Parameters
    ----------
    heat_removed : from the coach
    energy : electric

    Source: first law.
    """
    return heat_removed + energy


@formula
def cycling_efficiency(duty: Fraction, cycling_loss: Fraction = CYCLING_LOSS) -> Fraction:
    """Efficiency of a unit that switches on and off, over that of the same unit running on.

    Parameters
    ----------
    duty : share of the time in which it would have to run
    cycling_loss : 0.25 where the maker did not test it

    Source: 10 CFR 430 subpart B app. M, part load factor = 1 - C_D (1 - load) (from memory).
    """
    return 1 - cycling_loss * (1 - duty)


@formula
def starts_each_hour(duty: Fraction, count: Count = STARTS) -> Count:
    """Starts in an hour of a unit behind a thermostat: most at half load.

    Parameters
    ----------
    duty : share of the time in which it runs
    count : starts in an hour at half load, about 3

    Source: NEMA DC 3, N = 4 N_max duty (1 - duty) (from memory).
    """
    return 4 * count * duty * (1 - duty)


@formula
def duct_gain(
    diameter_inside: Annotated[Length, ABOVE_ZERO], thickness: Length, conductivity: Annotated[Conductivity, ABOVE_ZERO],
    inside_film: Annotated[HeatTransfer, ABOVE_ZERO], outside_film: Annotated[HeatTransfer, ABOVE_ZERO],
    length: Length, temperature_difference: TemperatureDifference,
) -> HeatFlow:  # fmt: skip
    """Heat that gets into the cold air of a round duct in a warm place.

    Parameters
    ----------
    diameter_inside : of the duct
    thickness, conductivity : of its insulation
    inside_film, outside_film : heat taken by the air on both sides
    length : of the duct
    temperature_difference : between the air outside and in the duct

    Source: ASHRAE Fundamentals ch. 4: cylinder of layers in series.
    """
    outside = diameter_inside + 2 * thickness
    around = 1 / (PI * inside_film * diameter_inside) + 1 / (PI * outside_film * outside)
    through = math.log(outside / diameter_inside) / (2 * PI * conductivity)
    return length * temperature_difference / (around + through)


@formula
def critical_radius(conductivity: Conductivity, film: Annotated[HeatTransfer, ABOVE_ZERO]) -> Length:
    """Outer radius up to which insulation on a thin pipe lets more heat through, not less: it adds surface.

    Parameters
    ----------
    conductivity : of the insulation
    film : heat taken by the air outside, above 0

    Refrigerant lines and wires are thin enough to matter, ducts are not. Source: maximum of the cylinder's heat, r = k / h.
    """
    return conductivity / film


PEOPLE = {"seated at theater, matinee": (65.0, 30.0), "seated at theater, night": (70.0, 35.0),
          "seated, very light work": (70.0, 45.0), "moderately active office work": (75.0, 55.0),
          "standing, light work": (75.0, 55.0), "sedentary work, restaurant": (80.0, 80.0), "light bench work": (80.0, 140.0),
          "walking 4.8 km/h, light machine work": (110.0, 185.0), "heavy work": (170.0, 255.0)}  # fmt: skip


def heat_of_people(activity: str, count: Count = 1.0) -> HeatFlow:
    """Heat of people, sensible and latent together, in a room at 75 °F.

    Parameters
    ----------
    activity : a row of `PEOPLE`
    count : how many

    Source: ASHRAE Fundamentals 2013 ch. 18 Table 1 (adjusted for a usual mix of men, women and children).
    """
    if activity not in PEOPLE:
        raise InputError("activity", f'"{activity}" is given', "one of " + "; ".join(PEOPLE))
    return Quantity(sum(PEOPLE[activity]) * count, "W")


@formula
def counted_as_men(men: Count, women: Count = 0.0, children: Count = 0.0) -> Count:
    """How many grown men would give off as much heat.

    Parameters
    ----------
    men, women, children : how many of each

    Source: ASHRAE Fundamentals ch. 18, notes of Table 1: 85 % for a woman, 75 % for a child.
    """
    return men + 0.85 * women + 0.75 * children


def sensible_heat_of_people(activity: str, temperature: Temperature, count: Count = 1.0) -> HeatFlow:
    """The part of people's heat that warms the air: less in a warmer room, where they sweat more; the sum stays.

    Parameters
    ----------
    activity : a row of `PEOPLE`
    temperature : of the room
    count : how many

    A line through the print's two points, all at 24 °C and 80 % at 27 °C. Source: ASHRAE Fundamentals ch. 18, notes of Table 1.
    """
    heat_of_people(activity, count)  # refuses what is no row
    warmer = floats(temperature, "degC") - 24.0
    return Quantity(PEOPLE[activity][0] * count * (1 - 0.2 * warmer / 3), "W")


@functools.lru_cache(maxsize=64)
def _thin(altitude):
    """Mass of air at a height over that at sea level."""
    return float(air.density_ratio(Quantity(altitude, "m"), Quantity(288.15, "K")))


# ------------------------------------------------------------------------------- the air conditioner

EQUIPMENT = bootstrap.ROOT / "data" / "equipment" / "air_conditioners.toml"


@functools.cache
def on_offer() -> tuple:
    """The invented air conditioners of data/equipment/air_conditioners.toml. Source: invented."""
    sheets = tomllib.loads(EQUIPMENT.read_text(encoding="utf-8"))["unit"]
    return tuple(map(sections.AirConditioner.model_validate, sheets))


def unit_named(name: str):
    """The data sheet of an invented air conditioner. name : as in the file. Source: invented."""
    for sheet in on_offer():
        if sheet.name == name:
            return sheet
    raise InputError("name", f'"{name}" is given', "one of " + ", ".join(sheet.name for sheet in on_offer()))


@dataclasses.dataclass(frozen=True)
class Figures:
    """A data sheet as plain numbers, W, m3/s, 1/K. least, least_power : of capacity and power at the lowest speed, as shares
    of the full ones; 1 where it has one speed."""

    capacity: float
    power: float
    sensible_share: float
    air_flow: float
    capacity_change: float
    power_change: float
    standby: float
    least: float
    least_power: float


def figures(sheet) -> Figures:
    """The numbers of a data sheet.

    Parameters
    ----------
    sheet : as in a coach file

    Errors: InputError where one of the two figures of the lowest speed is missing. Source: the sheet.
    """
    if (sheet.least_capacity is None) != (sheet.least_power is None):
        raise InputError(sheet.name, "one of least capacity and least power is given", "both, or neither",
                         'least_capacity = "1800 Btuh", least_power = "125 W"')  # fmt: skip
    capacity, power = floats(sheet.capacity, "W"), floats(sheet.power, "W")
    one_speed = sheet.least_capacity is None
    return Figures(
        capacity, power, sheet.sensible_share, floats(sheet.air_flow, "m**3/s"), floats(sheet.capacity_change, "1/K"),
        floats(sheet.power_change, "1/K"), floats(sheet.standby, "W"),
        1.0 if one_speed else floats(sheet.least_capacity, "W") / capacity,
        1.0 if one_speed else floats(sheet.least_power, "W") / power,
    )  # fmt: skip


@dataclasses.dataclass(frozen=True, eq=False)
class Unit:
    """An air conditioner by hours: capacity (sensible and all, W), power at full capacity (W), coil and its air.

    sheet : its Figures. coil : humidity ratio of saturated air at the coil's mean surface. over_coil : kg/s of air that truly meets it.
    """

    sheet: Figures
    sensible: numpy.ndarray
    whole: numpy.ndarray
    power: numpy.ndarray
    coil: float
    over_coil: float


@functools.lru_cache(maxsize=64)
def _rated_coil(sheet):
    """(°C of the coil's surface at the rating, kg/s of air over it, share of that air that meets the surface).

    Apparatus dew point: the straight line from the rated indoor air through the air that leaves meets saturation there.
    """
    from scipy.optimize import brentq

    sea = floats(air.SEA_LEVEL, "Pa")
    damp = float(air.humidity_ratio_from_wet_bulb_si(RATING_IN, RATING_WET, sea))
    mass = sheet.air_flow * float(air.density_si(RATING_IN, damp, sea))
    rated = sheet.capacity
    sensible, latent = rated * sheet.sensible_share, rated * (1 - sheet.sensible_share)
    slope = latent / sensible * 1006.0 / air.EVAPORATION  # humidity ratio for each kelvin along the line

    def apart(celsius):
        return damp - slope * (RATING_IN - celsius) - air.humidity_ratio_si(air.saturation_pressure_si(celsius), sea)

    try:
        dew = brentq(apart, -5.0, RATING_IN - sensible / (mass * 1006.0))
    except ValueError:
        raise InputError(".sensible_share", f'{sheet.sensible_share:.0%} at {show(Quantity(sheet.air_flow, "m**3/s"))}',
                         "a share and an air flow that one coil can have", '"72 %"') from None  # fmt: skip
    return dew, mass, sensible / (1006.0 * (RATING_IN - dew)) / mass


@functools.lru_cache(maxsize=256)
def _coil(sheet, altitude, indoor):
    """(capacity over the rated one, sensible share, humidity ratio at the surface, kg/s of air that meets it) with indoor
    air of a temperature, °C, as damp in proportion as at the rating."""
    from scipy.optimize import brentq

    sea = floats(air.SEA_LEVEL, "Pa")
    rated = float(air.humidity_ratio_from_wet_bulb_si(RATING_IN, RATING_WET, sea))
    _, mass, share = _rated_coil(sheet)
    relative = air.vapor_pressure_si(rated, sea) / air.saturation_pressure_si(RATING_IN)
    damp = float(air.humidity_ratio_si(relative * air.saturation_pressure_si(indoor), sea))
    wet = float(air.wet_bulb_si(indoor, damp, sea))
    more = numpy.polyval(BY_WET_BULB, wet) / numpy.polyval(BY_WET_BULB, RATING_WET)
    heat, meets = sheet.capacity * more, mass * share

    def apart(celsius):
        at = air.humidity_ratio_si(air.saturation_pressure_si(celsius), sea)
        return meets * (1006.0 * (indoor - celsius) + air.EVAPORATION * max(damp - at, 0.0)) - heat

    dew = brentq(apart, -30.0, indoor)
    ratio = _thin(altitude)
    at = float(air.humidity_ratio_si(air.saturation_pressure_si(dew), sea))
    return float(more), meets * 1006.0 * (indoor - dew) / heat, at, meets * ratio


def unit_by_hours(sheet, outdoor, altitude, indoor=RATING_IN) -> Unit:
    """Capacity and power of a unit by outdoor temperature.

    Parameters
    ----------
    sheet : its data sheet, as in a coach file
    outdoor : °C, array
    altitude : m
    indoor : °C of the air that it draws in; 26.67 is 80 °F. The dampness goes with it: half saturated, as at the rating

    Cooler indoor air holds less heat to take: capacity by a quadratic of its wet bulb, the power hardly changes (an open
    program's sample curve, from memory), and the coil's split by the air that meets its surface. Thin air carries less heat:
    capacity x (0.8 + 0.2 r), energy for each unit of cooling x (1.1552 - 0.1808 r + 0.0256 r²), r the air's mass over that
    at sea level (the same program's, from memory).
    """
    sheet = figures(sheet)
    ratio = _thin(altitude)
    hotter = outdoor - RATING_OUT
    thin, costs = 0.8 + 0.2 * ratio, 1.1552 - 0.1808 * ratio + 0.0256 * ratio**2
    whole = sheet.capacity * thin * numpy.clip(1 + sheet.capacity_change * hotter, 0.2, 1.5)
    power = sheet.power * thin * costs * numpy.clip(1 + sheet.power_change * hotter, 0.3, 2.0)
    more, share, coil, meets = _coil(sheet, float(altitude), round(float(indoor), 2))
    return Unit(sheet, whole * more * share, whole * more, power, coil, meets)


def unit_power(unit, share) -> numpy.ndarray:
    """Electric power by hours at a share of the capacity, W.

    Parameters
    ----------
    unit : a Unit
    share : of the full capacity of each hour, 0 to 1, array

    One speed: on and off, with `cycling_efficiency`. Variable speed: on a line between its two stated points, and on and off
    below the lower one. Source: the unit's sheet.
    """
    least, low = unit.sheet.least, unit.sheet.least_power
    duty = numpy.clip(share / least, 0, 1)
    on_and_off = low * duty / (1 - CYCLING_LOSS * (1 - duty))
    between = low + (1 - low) * (share - least) / (1 - least) if least < 1 else on_and_off
    running = numpy.where(share > least, between, on_and_off)
    return unit.power * running + numpy.where(share > 0, 0.0, unit.sheet.standby)


def dried_share(sheet, share, fan) -> numpy.ndarray:
    """Share of the water on the coil that runs off, instead of going back into the air between two runs.

    Parameters
    ----------
    sheet : its data sheet
    share : of its capacity, 0 to 1, array
    fan : "always" or "with the compressor"; with the compressor nothing goes back

    A coil holds what it gathers in `COIL_HOLDS` seconds, and a fan that runs on dries it in each pause, at most as fast as it
    was wetted. Source: after Henderson and Rengarajan, ASHRAE Transactions 102 (1996), simplified (from memory).
    """
    if fan != "always":
        return numpy.ones(len(share))
    duty = numpy.clip(share / figures(sheet).least, 1e-6, 1.0)
    starts = 4 * STARTS * duty * (1 - duty)
    pause = (1 - duty) * room.HOUR / numpy.maximum(starts, 1e-9)
    back = starts * numpy.minimum(COIL_HOLDS, pause)
    return numpy.where(duty < 1.0, numpy.clip(1 - back / (duty * room.HOUR), 0.0, 1.0), 1.0)


def performance(sheet, ambient: Temperature, share: Fraction = 1.0) -> EnergyEfficiencyRatio:
    """EER of a unit at an outdoor temperature and a share of its capacity: say which, or the figure means nothing.

    Parameters
    ----------
    sheet : its data sheet
    ambient : outdoor air
    share : of the capacity that it has there

    Source: `unit_power`.
    """
    unit = unit_by_hours(sheet, numpy.array([floats(ambient, "degC")]), 0.0)
    watts = float(unit_power(unit, numpy.array([float(share)]))[0])
    return Quantity(float(unit.whole[0]) * share / watts, "W/W").to("btu_per_hour/watt")


def eer_of(name: str, ambient: Temperature, share: Fraction = 1.0) -> EnergyEfficiencyRatio:
    """`performance` of an invented unit. name, ambient, share : as there. Source: invented sheets."""
    return performance(unit_named(name), ambient, share)


# ------------------------------------------------------------------------------- the coach's own space

SIDES = {"front": 0.0, "right": 90.0, "rear": 180.0, "left": 270.0}  # from where the front points
FRAMING = {"wall": 0.15, "roof": 0.10, "floor": 0.10}


def framing_share(part: str) -> Fraction:
    """Share of a wall, roof or floor that is frame, where nobody has measured it.

    Parameters
    ----------
    part : "wall", "roof" or "floor"

    Source: 24 CFR 3280.509(b).
    """
    if part not in FRAMING:
        raise InputError("part", f'"{part}" is given', "one of " + ", ".join(FRAMING), '"wall"')
    return FRAMING[part]


WALL, ROOF = (
    ({"material": "fiberglass skin", "thickness": "2 mm"},
     {"material": "polystyrene, beads", "thickness": "38 mm", "framing": framing_share(part)},
     {"material": "plywood", "thickness": "3 mm"}) for part in ("wall", "roof")
)  # fmt: skip
FLOOR = ({"material": "plywood", "thickness": "3 mm"},
         {"material": "glass fiber", "thickness": "50 mm", "framing": framing_share("floor")},
         {"material": "plywood", "thickness": "15 mm"})  # fmt: skip
PROPOSED = {
    "heading": "0 deg", "width": "7.5 ft", "height": "6.5 ft", "skin": "40 %", "wall": WALL, "roof": ROOF, "floor": FLOOR,
    "windows": (
        {"name": "Left windows", "side": "left", "width": "5 ft", "height": "2 ft", "glass": "single dark"},
        {"name": "Right windows", "side": "right", "width": "5 ft", "height": "2 ft", "glass": "single dark"},
        {"name": "Rear window", "side": "rear", "width": "3 ft", "height": "2 ft", "glass": "single dark"},
    ),
    "outdoors": tuple(SIDES), "leakage": "30 cfm", "vent": "0 cfm", "people": 2, "occupied": ("18:00-08:00",),
    "devices": "60 W", "furnishing": "300 lb", "cool_to": "78 degF", "cooled": ("00:00-24:00",), "heating": "none",
    "heat_to": "60 degF", "fan": "with the compressor",
}  # fmt: skip
FURNISHING_HEAT = 1400.0  # J/(kg K): wood, cloth, water; common practice, no source


def propose(coach) -> dict:
    """What stands for the cooled space and its unit where the reader has not said: name to value, as [cooling_load] takes it.

    Parameters
    ----------
    coach : the coach file

    A sandwich wall with 38 mm of foam, dark windows, the whole length of the body less 4 ft, two people, 78 °F all
    day; the smallest unit on offer that holds the design day. Source: common practice, no source; units invented.
    """
    plan = coach.cooling_load
    length = coach.coach.length.to("ft") - Quantity(4.0, "ft") if coach.coach.length is not None else Quantity(18.0, "ft")
    filled = _proposed(f"{max(6.0, length.magnitude):g} ft")
    proposals = {name: getattr(filled, name) for name in ("length", *PROPOSED) if getattr(plan, name) is None}
    if plan.unit is None:
        trial = plan.model_copy(update=proposals)
        asked, on = _design(coach, trial).cooling, settled(trial.cooled)
        fits = [one for one in on_offer() if (_sensible_on_design_day(coach, trial, one) >= asked)[on].all()]
        proposals["unit"] = min(fits or on_offer(), key=lambda one: one.capacity if fits else -one.capacity)
    return proposals


@functools.cache
def _proposed(length):
    return sections.CoolingPlan.model_validate(PROPOSED | {"length": length})


def _plan(coach):
    return coach.cooling_load.model_copy(update=propose(coach))


@functools.cache  # texts into numbers once: a year of hours takes little longer
def _material(name):
    row = table("shell_materials").row(material=name)
    return [floats(row[column], unit) for column, unit in
            (("conductivity", "W/m/K"), ("density", "kg/m**3"), ("specific heat", "J/kg/K"))]  # fmt: skip


def _layers(rows):
    found = []
    for row in rows:
        if not row.thickness.magnitude > 0:
            raise InputError(".thickness", f"{show(row.thickness)} of {row.material}", "a thickness above 0", '"38 mm"')
        pairs = zip(_material(row.material), _material("wood frame"))
        mixed = [(1 - row.framing) * own + row.framing * wood for own, wood in pairs]
        found.append(room.Layer(floats(row.thickness, "m"), *mixed))
    if not found:
        raise InputError("[cooling_load]", "a wall, roof or floor has no layer", "at least one layer",
                         '{ material = "plywood", thickness = "15 mm" }')  # fmt: skip
    return tuple(found)


def shell_of(plan, year) -> room.Shell:
    """The room.Shell of a cooled space.

    Parameters
    ----------
    plan : a [cooling_load] with nothing left open
    year : a weather.Year

    Errors: InputError where glass takes more than its wall, or where a measure is 0. Source: the coach file.
    """
    long, wide, high = (floats(one, "m") for one in (plan.length, plan.width, plan.height))
    if not min(long, wide, high) > 0:
        raise InputError("[cooling_load]", f"the space is {long:g} by {wide:g} by {high:g} m", "measures above 0",
                         'length = "18 ft"')  # fmt: skip
    heading = floats(plan.heading, "deg")
    wall, faces, openings = _layers(plan.wall), [], []
    for side, turn in SIDES.items():
        azimuth, whole = (heading + turn) % 360, (wide if side in ("front", "rear") else long) * high
        glass = 0.0
        for one in plan.windows:
            if one.side != side:
                continue
            w, h = floats(one.width, "m"), floats(one.height, "m")
            if one.cover_heat_loss is not None and not one.cover_heat_loss.magnitude > 0:
                raise InputError("[cooling_load] windows", f"the cover of {one.name} lets {show(one.cover_heat_loss)} through",
                                 "a heat loss above 0, or none for a cover that does not insulate", '"2 W/(m2 K)"')  # fmt: skip
            glass += w * h
            openings.append(room.Opening(
                one.name, w * h, azimuth, room.GLASSES[one.glass], 90.0, h, w,
                floats(one.awning, "m") if one.awning is not None else 0.0,
                floats(one.awning_above, "m") if one.awning_above is not None else 0.0, 0.0,
                1.0 if one.cover is None else one.cover,
                1 / floats(one.cover_heat_loss, "W/m**2/K") if one.cover_heat_loss is not None else 0.0,
                one.cover_place == "outside"))  # fmt: skip
        if glass >= whole:
            raise InputError("[cooling_load] windows", f"{glass:.1f} m² of glass in the {side} wall of {whole:.1f} m²",
                             "less glass than wall", 'width = "3 ft", height = "2 ft"')  # fmt: skip
        kind = "air" if side in plan.outdoors else "shade"
        faces.append(room.Face(side, whole - glass, 90.0, azimuth, wall, plan.skin, kind))
    faces.append(room.Face("roof", long * wide, 0.0, 180.0, _layers(plan.roof), plan.skin))
    faces.append(room.Face("floor", long * wide, 180.0, 180.0, _layers(plan.floor), 0.0, "shade"))
    return room.Shell(long * wide * high, tuple(faces), tuple(openings), floats(plan.furnishing, "kg") * FURNISHING_HEAT, 10.0,
                 year.altitude, float(year.wind.mean()), float(year.temperature.mean()) + 273.15)  # fmt: skip


def _hours(windows, days):
    return numpy.tile(covered_share(windows, 24), days)


def _year(coach):
    return weather.year(coach.place.weather or "Denver")


def _habits(plan, days):
    """What room.simulate needs of a plan's habits, and the people in it by hours."""
    people = _hours(plan.occupied, days) * plan.people
    cooled = _hours(plan.cooled, days) > 0.5
    covers = sorted({one.covered for one in plan.windows if one.covered})
    heats = plan.heating != "none"
    if heats and not plan.heat_to < plan.cool_to:
        raise InputError("[cooling_load] heat_to", f"{show(plan.heat_to)} with cooling to {show(plan.cool_to)}",
                         "a temperature below that", '"64 degF"')  # fmt: skip
    return dict(
        heat_to=floats(plan.heat_to, "degC") if heats else None,
        cool_to=numpy.where(cooled, floats(plan.cool_to, "degC"), 1e9),
        gains=people * PEOPLE["seated at theater, night"][0] + floats(plan.devices, "W"),
        air_change=floats(plan.leakage, "m**3/s"), vent=floats(plan.vent, "m**3/s"),
        vents=_hours(plan.vented, days) if plan.vented else 0.0,
        covered=_hours(covers[0], days) if covers else 0.0,
    ), people  # fmt: skip


def changed(coach, cover=None, cover_place="inside", **values):
    """The coach with other values in [cooling_load], to try something out; nothing is written.

    Parameters
    ----------
    coach : the coach file
    cover : share of the sun that a cover on every window lets through from 8 to 20 h; 1 for none, None as it is
    cover_place : "inside" or "outside"
    values : fields of [cooling_load]

    Source: the coach file.
    """
    plan = coach.cooling_load
    if cover is not None:
        put = {"cover": cover, "cover_place": cover_place, "cover_heat_loss": None, "covered": ("08:00-20:00",) if cover < 1 else ()}
        values["windows"] = tuple(one.model_copy(update=put) for one in _plan(coach).windows)
    return coach.model_copy(update={"cooling_load": plan.model_copy(update=values)})


def sensible_capacity(coach) -> numpy.ndarray:
    """Sensible heat that the coach's unit can take out in each hour of the design day, W, shape (24,).

    Parameters
    ----------
    coach : the coach file

    Source: `unit_by_hours`, with its ducts.
    """
    plan = _plan(coach)
    return _sensible_on_design_day(coach, plan, plan.unit)


def hottest_day(year) -> int:
    """The day of a typical year, from 0, with its hottest hour. year : a weather.Year. Source: the year."""
    return int(year.temperature.argmax()) // 24


def _hotter(coach, year):
    found = weather.extremes(coach.place.weather or "Denver").hottest
    return max(0.0, floats(found, "degC") - float(year.temperature.max()))


def _design(coach, plan):
    year = _year(coach)
    habits, _ = _habits(plan, 1)
    return room.simulate(shell_of(plan, year), year, day=hottest_day(year), hotter=_hotter(coach, year), **habits)


def _at_work(sheet, plan, outdoor, altitude):
    """The Unit in a coach: indoor air at the set point; ducts outside the cooled space warm what it sends through them."""
    unit = unit_by_hours(sheet, outdoor, altitude, floats(plan.cool_to, "degC"))
    if plan.duct_length is None or plan.duct_place != "outside":
        return unit
    flow = unit.sheet.air_flow * room.density(15.0, altitude)
    supply = floats(plan.cool_to, "degC") - unit.sensible / (flow * 1006.0)
    for_each = duct_gain(plan.duct_diameter or DUCT_DIAMETER, plan.duct_insulation or DUCT_INSULATION, DUCT_FOAM,
                         *DUCT_FILMS, plan.duct_length, Quantity(1.0, "delta_degC"))  # fmt: skip
    lost = numpy.minimum(floats(for_each, "W") * numpy.maximum(outdoor - supply, 0.0), 0.9 * unit.sensible)
    return dataclasses.replace(unit, sensible=unit.sensible - lost)


def settled(cooled) -> numpy.ndarray:
    """Hours of the day, shape (24,), in which a unit must hold the set point: it cools, and has cooled for `PULL_DOWN` hours.

    Parameters
    ----------
    cooled : spans of the day in which it cools

    Where it never cools so long, its last hours. Source: common practice, no source.
    """
    on = covered_share(cooled, 24) > 0.5
    found = on & numpy.all([numpy.roll(on, back) for back in range(1, PULL_DOWN + 1)], axis=0)
    return found if found.any() else on & ~numpy.roll(on, -1)


def _design_air(coach):
    year = _year(coach)
    return room.outdoors(year).celsius.reshape(-1, 24)[hottest_day(year)] + _hotter(coach, year)


def _sensible_on_design_day(coach, plan, sheet):
    return _at_work(sheet, plan, _design_air(coach), _year(coach).altitude).sensible


@dataclasses.dataclass(frozen=True, eq=False)
class Cooling:
    """A unit in a coach by hours, a year or a day: W, or °C, or kg of water for each kg of dry air.

    indoor : air at the end of the hour. sensible, latent : heat removed. share : of the unit's capacity. power : what it
    draws, standby counted, at its own terminals. heating : power of electric heating. humidity : indoor air.
    """

    indoor: numpy.ndarray
    sensible: numpy.ndarray
    latent: numpy.ndarray
    share: numpy.ndarray
    power: numpy.ndarray
    heating: numpy.ndarray
    humidity: numpy.ndarray


def cool(coach, sheet=None, design_day=False) -> Cooling:
    """The coach with its air conditioner by hours of the typical year, or of its design day.

    Parameters
    ----------
    coach : the coach file
    sheet : another unit's data sheet; None for the coach's own, or the proposed one
    design_day : the hottest day of the year, as hot as the extreme for the place, repeated; else the year

    The thermostat follows the air temperature; dampness follows from the coil. Source: room.simulate, `unit_by_hours`.
    """
    plan, year = _plan(coach), _year(coach)
    sheet = sheet or plan.unit
    day = hottest_day(year) if design_day else None
    days, span = (1, slice(24 * day, 24 * day + 24)) if design_day else (365, slice(None))
    hotter = _hotter(coach, year) if design_day else 0.0
    outdoor, damp = room.outdoors(year).celsius[span] + hotter, room.outdoors(year).humidity[span]
    unit = _at_work(sheet, plan, outdoor, year.altitude)
    shell = shell_of(plan, year)
    habits, people = _habits(plan, days)
    found = room.simulate(shell, year, day=day, hotter=hotter, most=unit.sensible, **habits)
    share = found.cooling / unit.sensible
    leaks = shell.density * (habits["air_change"] + habits["vent"] * numpy.broadcast_to(habits["vents"], len(share)))
    vapor = people * PEOPLE["seated at theater, night"][1] / air.EVAPORATION
    dries = share * dried_share(sheet, share, plan.fan)
    pressure = floats(air.standard_pressure(Quantity(year.altitude, "m")), "Pa")
    holds = air.humidity_ratio_si(air.saturation_pressure_si(found.celsius), pressure)
    humidity, latent = _dampness(shell, unit, dries, leaks, damp, vapor, holds, day is not None)
    heating = found.heating / _heat_pump(sheet, plan, outdoor)
    power = unit_power(unit, share)
    return Cooling(found.celsius, found.cooling, latent, share, power, heating, humidity)


def _heat_pump(sheet, plan, outdoor):
    """Heat for each unit of electricity: 1 of a wire; a heat pump's falls by 2 % for each kelvin below 47 °F."""
    if plan.heating != "heat pump" or sheet.heating_efficiency is None:
        return numpy.ones(len(outdoor))
    return numpy.clip(sheet.heating_efficiency * (1 + 0.02 * (outdoor - 8.33)), 1.0, None)


def _dampness(shell, unit, share, leaks, outdoor, vapor, most, repeated):
    """(indoor humidity ratio at the end of each hour, latent heat removed, W): leaks, people and the coil, hour by hour.

    most : what the air can hold; the rest settles on windows and walls."""
    holds = shell.volume * shell.density
    over = share * unit.over_coil

    def tends(over):
        """By hours: where the level tends to, what is left of the distance to it after the hour, and on its mean."""
        pull = numpy.maximum(leaks + over, 1e-9)
        fade = numpy.exp(-pull * room.HOUR / holds)
        return (leaks * outdoor + vapor + over * unit.coil) / pull, fade, (1 - fade) * holds / (pull * room.HOUR)

    rows = list(zip(over.tolist(), most.tolist(), *map(numpy.ndarray.tolist, (*tends(0.0 * over), *tends(over)))))
    level, n, coil = float(outdoor[0]), len(rows), unit.coil
    humidity, latent = [0.0] * n, [0.0] * n
    for hour in [*(range(n) if repeated else ()), *(range(n) if repeated else ()), *range(n)]:
        runs, full, goal, fade, _, wet_goal, wet_fade, of_mean = rows[hour]
        latent[hour] = 0.0
        if runs and level > coil:  # only a coil colder than the dew point makes water
            goal, fade = wet_goal, wet_fade
            mean = goal + (level - goal) * of_mean
            if mean > coil:
                latent[hour] = runs * (mean - coil) * air.EVAPORATION
        level = goal + (level - goal) * fade
        if level > full:
            level = full
        humidity[hour] = level
    return numpy.array(humidity), numpy.array(latent)


def without_listed(coach):
    """The coach without the load of its list that `[cooling_load] load` names: what the calculation puts in its place.

    Parameters
    ----------
    coach : the coach file

    Errors: InputError where there is no such load. Source: the coach file.
    """
    name = coach.cooling_load.load
    if name is None:
        return coach
    if name not in [one.name for one in coach.loads]:
        raise InputError("[cooling_load] load", f'"{name}" is not in the list of loads', "one of its loads")
    return coach.model_copy(update={"loads": tuple(one for one in coach.loads if one.name != name)})


def summer(coach):
    """The season in which the hottest day of the place lies; the first one where no season has its month.

    Parameters
    ----------
    coach : the coach file

    Source: the coach file, weather.year.
    """
    month = int(numpy.searchsorted(numpy.cumsum(weather.MONTH_DAYS), hottest_day(_year(coach)), "right")) + 1
    return next((one for one in coach.seasons if month in one.months), coach.seasons[0])


def battery_watts(coach, found) -> numpy.ndarray:
    """What the battery gives for an air conditioner, W by hours: its power, and the inverter's loss on top of what it loses
    anyway.

    Parameters
    ----------
    coach : the coach file
    found : Cooling of whole days

    An inverter that is off in an hour is woken, and its idle draw counted, where the unit runs; else it has no standby then.
    Without an inverter the power itself. Source: energy.inverter_loss, energy.day of the summer's habits.
    """
    watts = found.power + found.heating
    if not coach.inverter:
        return watts
    beside = energy_topic.day(without_listed(coach), summer(coach).name)
    ac = sum((beside.loads[one.name] for one in coach.loads if one.side == "ac" and one.name in beside.loads), numpy.zeros(288))
    days = len(watts) // 24
    other = numpy.tile(ac.reshape(24, -1).mean(axis=1), days)
    on = numpy.tile((beside.losses[energy_topic.INVERTER_IDLE] > 0).reshape(24, -1).mean(axis=1), days)
    curve = energy_topic.inverter_loss(coach.inverter.idle, coach.inverter.efficiency)
    loss = on * (curve.watts(other + watts) - curve.watts(other)) + (1 - on) * curve.watts(watts)
    awake = (on > 0) | (found.share > 0) | (found.heating > 0)
    return numpy.where(awake, watts + loss, 0.0)


def gains(coach) -> dict:
    """Where the design day's heat comes in: group to W by hours, with the air held at the set point all day, shape (24,).

    Parameters
    ----------
    coach : the coach file

    The network is linear, so the groups add up to the whole. Negative: heat goes out there. Source: room.entering.
    """
    plan, year = _plan(coach), _year(coach)
    habits, _ = _habits(plan, 1)
    its = {name: habits[name] for name in ("gains", "air_change", "covered")}
    return room.entering(shell_of(plan, year), year, floats(plan.cool_to, "degC"), day=hottest_day(year),
                         hotter=_hotter(coach, year), **its)  # fmt: skip


@dataclasses.dataclass(frozen=True, eq=False)
class Night:
    """A night of cooling: energy at the unit and at the battery, mean power at the battery, hours that the aged bank would
    carry the cooling if it carried nothing else."""

    unit_energy: Quantity
    battery_energy: Quantity
    mean_power: Quantity
    bank_hours: Quantity


@dataclasses.dataclass(frozen=True, eq=False)
class Carried:
    """Two days of a bank that begin full as the night begins, by hours, shape (48,): W of cooling at the battery, of all other
    loads and of the sun; the sun.Run. first : hour of the clock at which it begins. dark, night : share of each of the first
    24 hours that is. usable : Wh, aged bank.

    night_energy : of the cooling at the battery in the first night, Wh. hours : from the start until the bank is at its floor,
    counted to 48. at_sunrise : share of the usable energy left then. at_sunset : the same a day after the start. lasts : the
    first night is carried and the second one too.
    """

    cooling: numpy.ndarray
    other: numpy.ndarray
    sun: numpy.ndarray
    run: object
    first: int
    dark: numpy.ndarray
    night: numpy.ndarray
    usable: float

    @property
    def hours(self):
        empty = numpy.flatnonzero(self.run.missing > 1e-9)
        if not len(empty):
            return 48.0
        at = int(empty[0])
        asked = float(self.cooling[at] + self.other[at] - self.sun[at])
        return at + 1 - float(self.run.missing[at]) / asked

    @property
    def night_energy(self):
        return float((self.cooling[:24] * self.night).sum())

    @property
    def at_sunrise(self):
        return float(self.run.stored[numpy.flatnonzero(self.dark)[-1]]) / self.usable

    @property
    def at_sunset(self):
        return float(self.run.stored[23]) / self.usable

    @property
    def lasts(self):
        return not (self.run.missing > 1e-9).any()


@dataclasses.dataclass(frozen=True, eq=False)
class Claim:
    """A seller's claim held against the nights of a year: nights in which the unit runs at all, share of them for which the
    claimed energy is enough, and energy at the battery of the middle one and of the design night."""

    nights: int
    true_for: float
    middle: Quantity
    design: Quantity


@dataclasses.dataclass(frozen=True, eq=False)
class Study:
    """Everything this topic says of a coach.

    unit : the chosen data sheet. year : Cooling by hours of the typical year. design : of the design day. gains : by group.
    hottest : outdoor temperature of the design day. peak : heat removed in its worst hour, sensible and latent. size :
    "too small", "right" or "too large". night : of the design day, by `night_hours`. carried : the bank from that night on, two
    days like that one, with all loads and the sun. year_energy : electric, of the cooling. year_standby : of it, in hours in
    which it does not run. compared : unit name to the design day's Cooling. assumed : names of what was proposed.
    """

    unit: object
    year: Cooling
    design: Cooling
    gains: dict
    hottest: Quantity
    peak: Quantity
    size: str
    night: Night
    carried: Carried
    year_energy: Quantity
    year_standby: Quantity
    compared: dict
    assumed: tuple


def _dark(coach):
    return covered_share([summer(coach).night], 24)


def night_hours(coach) -> numpy.ndarray:
    """Share of each hour of the day that is night here, shape (24,): from sunset, or from the evening's switch-on where that
    comes first, to sunrise, or to the morning's switch-off where that comes last.

    Parameters
    ----------
    coach : the coach file

    A coach that stood shut costs most in its first hours: they count, though it may still be light. A spell of cooling that
    goes on over noon is a day's: of that the dark counts only. Source: the coach file.
    """
    found, cooled = _dark(coach), covered_share(_plan(coach).cooled, 24) > 0.5
    if cooled.all():
        return found
    dark, start = found > 0, int(numpy.flatnonzero(~cooled)[0])
    around = (start + numpy.arange(24)) % 24  # from an hour without cooling on, so that no spell is cut in two
    for spell in numpy.split(around, numpy.flatnonzero(numpy.diff(cooled[around].astype(int))) + 1):
        if cooled[spell].all() and dark[spell].any() and 12 not in spell:
            found[spell] = 1.0
    return found


def _evening(coach):
    night = night_hours(coach) > 0
    return int(numpy.flatnonzero(night & ~numpy.roll(night, 1))[0])


def night_energy(coach, design) -> Energy:
    """What the battery gives for a night of cooling.

    Parameters
    ----------
    coach : the coach file
    design : Cooling of a day

    Source: `battery_watts` in `night_hours`.
    """
    return Quantity(float((battery_watts(coach, design) * night_hours(coach)).sum()), "Wh")


def night_in_year(coach, found) -> Energy:
    """What the battery gives for the night after the hottest day of the typical year, which goes on into the day that follows.

    Parameters
    ----------
    coach : the coach file
    found : its Study

    The design day is one day repeated, so its hours after midnight are those before the hot day: this says what that is
    worth. Not raised to the extreme. Source: `battery_watts` of the year's run in `night_hours`.
    """
    noon = 24 * hottest_day(_year(coach)) + 12
    watts = battery_watts(coach, found.year).take(range(noon, noon + 24), mode="wrap")
    return Quantity(float((watts * numpy.roll(night_hours(coach), -12)).sum()), "Wh")


def night(coach, design) -> Night:
    """The energy of a night of cooling, through the inverter, and how long the bank carries it alone.

    Parameters
    ----------
    coach : the coach file
    design : Cooling of a day

    Source: `battery_watts`, capacity.study (aged bank, at its depth).
    """
    hours = night_hours(coach)
    at_battery = floats(night_energy(coach, design), "Wh")
    mean = at_battery / float(hours.sum())
    usable = floats(capacity_topic.study(coach).usable, "Wh")
    return Night(Quantity(float((design.power * hours).sum()), "Wh"), Quantity(at_battery, "Wh"), Quantity(mean, "W"),
                 Quantity(usable / mean if mean else math.inf, "h"))  # fmt: skip


@dataclasses.dataclass(frozen=True, eq=False)
class Beside:
    """What a night of cooling meets: usable Wh of the aged bank, Wh out over Wh in, W of all other loads and of the sun by
    hours of the hottest day, the hour of the clock at which the night begins, share of each hour that is dark, and night."""

    usable: float
    stored_share: float
    other: numpy.ndarray
    sun: numpy.ndarray
    first: int
    dark: numpy.ndarray
    night: numpy.ndarray


def beside(coach) -> Beside:
    """Bank, other loads and sun of a coach on its design day.

    Parameters
    ----------
    coach : the coach file

    Source: capacity.study, energy.day, sun.study; the sun is that of the hottest day of the typical year.
    """
    found, day = sun_topic.study(coach), hottest_day(_year(coach))
    loads = energy_topic.day(without_listed(coach), summer(coach).name).at_battery.values.reshape(24, -1).mean(axis=1)
    return Beside(floats(found.usable, "Wh"), found.stored_share, loads, found.output.bank[24 * day : 24 * day + 24],
                  _evening(coach), _dark(coach), night_hours(coach))  # fmt: skip


def carried(around, cooling, share_of_bank=1.0, sun=True) -> Carried:
    """The bank over two nights and days that are all like the design day; it is full when the first night begins.

    Parameters
    ----------
    around : from `beside`
    cooling : W at the battery by hours from midnight, shape (24,)
    share_of_bank : of the coach's own usable energy: 2 for twice the modules, 0.5 for half the depth
    sun : False keeps the modules covered

    Source: sun.run.
    """
    two = lambda hours: numpy.tile(numpy.roll(hours, -around.first), 2)  # noqa: E731
    light = two(around.sun) * float(sun)
    usable = around.usable * share_of_bank
    run = sun_topic.run(two(cooling) + two(around.other), light, usable, around.stored_share)
    dark, night = (numpy.roll(hours, -around.first) for hours in (around.dark, around.night))
    return Carried(two(cooling), two(around.other), light, run, around.first, dark, night, usable)


def claim(coach, energy: Energy, sheet=None) -> Claim:
    """A seller says that a battery of so much energy cools a night. For how many nights of the year is it true here?

    Parameters
    ----------
    coach : the coach file
    energy : what the claimed battery can give
    sheet : the unit's data sheet; None for the coach's own

    Nights by `night_hours`; standby is not counted as running. Source: `cool`, `battery_watts`.
    """
    found, design = cool(coach, sheet), cool(coach, sheet, design_day=True)
    hourly = numpy.where(found.share > 0, battery_watts(coach, found), 0.0) * numpy.tile(night_hours(coach), 365)
    nights = numpy.roll(hourly, -_evening(coach)).reshape(365, 24).sum(axis=1)
    nights = nights[nights > 0]
    wh = floats(energy, "Wh")
    return Claim(len(nights), float((nights <= wh).mean()) if len(nights) else 1.0,
                 Quantity(float(numpy.median(nights)) if len(nights) else 0.0, "Wh"),
                 night_energy(coach, design))  # fmt: skip


def size_verdict(needed: Power, cooling_capacity: Power, least_capacity: Power | None = None) -> str:
    """Whether a unit is "too small", "right" or "too large" for a load, or there is "nothing to cool".

    Parameters
    ----------
    needed : heat to be removed in the worst hour
    cooling_capacity : of the unit at that hour's outdoor temperature
    least_capacity : at its lowest speed; None where it has one speed

    Too large: below half of the least that it can do even then, so that it starts and stops all the time and hardly dries.
    Source: common practice, no source.
    """
    if not needed.magnitude > 0:
        return "nothing to cool"
    if cooling_capacity < needed:
        return "too small"
    least = cooling_capacity if least_capacity is None else least_capacity
    return "too large" if least > 2 * needed else "right"


def _asked(coach, plan, sheet):
    """(asked, full, least) sensible W of a unit in the `settled` hour of the design day in which it has most to do."""
    needed = numpy.where(settled(plan.cooled), _design(coach, plan).cooling, 0.0)
    capacity = _sensible_on_design_day(coach, plan, sheet)
    at = int((needed / capacity).argmax())
    can = float(capacity[at])
    return tuple(Quantity(watts, "W") for watts in (float(needed[at]), can, can * figures(sheet).least))


def _size(coach, plan, sheet):
    return size_verdict(*_asked(coach, plan, sheet))


def sizes(coach) -> list[dict]:
    """What stands behind the size of every unit on offer: sensible heat in the worst hour after the pull-down, one dict a unit.

    Parameters
    ----------
    coach : the coach file

    Source: `size_verdict`, in the `settled` hour of the design day in which the unit has most to do.
    """
    plan, rows = _plan(coach), []
    for sheet in on_offer():
        asked, full, least = _asked(coach, plan, sheet)
        rows.append({"unit": sheet.name.split(",")[0], "worst hour asks": asked, "it can do": full, "at its lowest speed": least,
                     "half of that": least / 2, "size": size_verdict(asked, full, least)})  # fmt: skip
    return rows


@functools.lru_cache(maxsize=8)  # the other topics and the record ask again and again
def study(coach) -> Study:
    """Everything this topic says of a coach: load, unit, night, year.

    Parameters
    ----------
    coach : the coach file

    Source: the functions above.
    """
    proposals, plan = propose(coach), _plan(coach)
    design, whole_year = cool(coach, design_day=True), cool(coach)
    place = coach.place.weather or "Denver"
    removed = design.sensible + design.latent
    return Study(
        plan.unit, whole_year, design, gains(coach), weather.extremes(place).hottest, Quantity(float(removed.max()), "W"),
        _size(coach, plan, plan.unit), night(coach, design),
        carried(beside(coach), battery_watts(coach, design)), Quantity(float(whole_year.power.sum()) / 1000, "kWh"),
        Quantity(float(whole_year.power[whole_year.share == 0].sum()) / 1000, "kWh"),
        {one.name: cool(coach, one, True) for one in on_offer()}, tuple(proposals))  # fmt: skip


def compared(coach, found) -> list[dict]:
    """Every unit on offer on the coach's design night and the day after: one dict a unit.

    Parameters
    ----------
    coach : the coach file
    found : its Study

    Source: `cool`, `carried`, `size_verdict`. In its easiest hour of those in which the set point is held, a unit runs a share
    of the time.
    """
    around, plan, rows = beside(coach), _plan(coach), []
    held, target = settled(plan.cooled), floats(plan.cool_to, "degC") + 1
    for name, design in found.compared.items():
        two, sheet = carried(around, battery_watts(coach, design), 1.0), unit_named(name)
        rows.append({
            "unit": name.split(",")[0], "size": _size(coach, plan, sheet),
            "set point held": "yes" if design.indoor[held].max(initial=-math.inf) <= target else "no",
            "runs, in its easiest hour": f"{_least_duty(sheet, design, held):.0%}",
            "night, at the battery": Quantity(two.night_energy, "Wh"),
            "bank lasts": "both nights" if two.lasts else show(Quantity(two.hours, "h")),
            "left at sunrise": f"{two.at_sunrise:.0%}", "left the next evening": f"{two.at_sunset:.0%}",
        })  # fmt: skip
    return rows


def _least_duty(sheet, design, held):
    share = design.share[held & (design.share > 0)]
    return min(1.0, float(share.min()) / figures(sheet).least) if len(share) else 0.0


def night_by_hours(coach, found) -> list[dict]:
    """The design night hour by hour: outdoor air and what each unit on offer takes at its terminals, one dict an hour.

    Parameters
    ----------
    coach : the coach file
    found : its Study

    Source: `cool`.
    """
    air_outside, hours = _design_air(coach), night_hours(coach)
    return [{"hour": f"{hour}:00", "outdoors": Quantity(float(air_outside[hour]), "degC"),
             **{name.split(",")[0]: Quantity(float(design.power[hour]), "W") for name, design in found.compared.items()}}
            for hour in numpy.roll(numpy.arange(24), -_evening(coach)) if hours[hour] > 0]  # fmt: skip


def heat_at_worst(coach, found) -> list[dict]:
    """Where the heat comes in: at the worst hour of the design day and in the whole of it, one dict a group.

    Parameters
    ----------
    coach : the coach file
    found : its Study

    Source: `gains`.
    """
    total = sum(found.gains.values())
    at = int(total.argmax())
    rows = [*found.gains.items(), ("all together", total)]
    return [{"heat by": name, f"at {at}:30": Quantity(float(watts[at]), "W"), "in the day": Quantity(float(watts.sum()), "Wh")}
            for name, watts in rows]  # fmt: skip


def warming(coach) -> list[dict]:
    """What it would take from the unit's terminals to keep the space warm electrically all January, one dict a way to heat.

    Parameters
    ----------
    coach : the coach file; its `heat_to` holds night and day

    Source: `cool`.
    """
    rows = []
    for way in ("resistance", "heat pump"):
        january = cool(changed(coach, heating=way)).heating[:744].reshape(31, 24).sum(axis=1)
        rows.append({"way": way, "mean day": Quantity(float(january.mean()) / 1000, "kWh"),
                     "hardest day": Quantity(float(january.max()) / 1000, "kWh")})  # fmt: skip
    return rows


def drying(coach) -> list[dict]:
    """What units of different size do to the dampness in the last hour of the design night, one dict for a unit and a fan.

    Parameters
    ----------
    coach : the coach file

    Source: `cool`, `dried_share`.
    """
    year = _year(coach)
    pressure = floats(air.standard_pressure(Quantity(year.altitude, "m")), "Pa")
    held, rows = settled(_plan(coach).cooled), []
    if not held.any():
        return rows
    last = int(numpy.flatnonzero(held & ~numpy.roll(held, -1) if not held.all() else held)[-1])
    for sheet in on_offer():
        for fan in sections.FANS:
            found = cool(changed(coach, fan=fan), sheet, design_day=True)
            damp = air.vapor_pressure_si(found.humidity[last], pressure) / air.saturation_pressure_si(float(found.indoor[last]))
            rows.append({"unit": sheet.name.split(",")[0], "fan": fan,
                         "water that runs off": Quantity(float(found.latent.sum()) * room.HOUR / air.EVAPORATION, "kg"),
                         f"relative humidity at {last + 1}:00": f"{damp:.0%}"})  # fmt: skip
    return rows


def claims(coach, batteries) -> list[dict]:
    """`claim` for several batteries and two units, the coach's own and the first on offer: one dict each.

    Parameters
    ----------
    coach : the coach file
    batteries : energies, what each can give

    Source: `claim`.
    """
    sheets = {sheet.name: sheet for sheet in (on_offer()[0], _plan(coach).unit)}
    rows = [(name, energy, claim(coach, energy, sheet)) for name, sheet in sheets.items() for energy in batteries]
    return [{"unit": name.split(",")[0], "battery": energy, "nights with cooling": one.nights,
             "enough for": f"{one.true_for:.0%} of them", "middle night": one.middle, "design night": one.design}
            for name, energy, one in rows]  # fmt: skip


def checks(coach) -> list:
    """The rules of this topic held against a coach: a list of Check.

    Parameters
    ----------
    coach : the coach file

    Source: each check names its own.
    """
    found, plan = study(coach), _plan(coach)
    practice, arithmetic = Source(PRACTICE, PRACTICE), Source("hourly balance of heat on the coach file", "derived")
    held = settled(plan.cooled)
    warmest = Quantity(float(found.design.indoor[held].max()) if held.any() else floats(plan.cool_to, "degC"), "degC")
    rows = [
        rules.holds(
            "On the design day, does the air conditioner hold the set point, from three hours after it was switched on?",
            f"{show(warmest)} in the warmest hour", f"{show(plan.cool_to)} and no more than 1.8 °F (1 K) above",
            true=floats(warmest, "degC") <= floats(plan.cool_to, "degC") + 1.0,
            why="It loses capacity just when it is hottest.", mend="Shade, covers, a lighter skin; then a larger unit.",
            source=arithmetic, topic="cooling_load",
        ),
        rules.holds(
            "Is the air conditioner of the right size?", found.size, "right", true=found.size == "right",
            why="One that is too small never gets there. One that is too large pays for its starts and, with its fan on, dries nothing.",
            mend="Nothing to cool: a lower set point, or hours in which it is to cool. Else another unit on offer; of two that do, "
            "the smaller, or one of variable speed.",
            source=practice, topic="cooling_load",
        ),
        rules.at_least(
            "Does the aged bank carry the night's cooling alone?", found.night.bank_hours,
            Quantity(float(night_hours(coach).sum()), "h"),
            why="Cooling that stops in the night is found out by the sleepers, or by a pet that cannot get out.",
            mend="A higher set point, covers, a smaller space, a larger bank, or shore power.", source=arithmetic,
            topic="cooling_load",
        ),
    ]  # fmt: skip
    if plan.load is not None:
        without_listed(coach)  # says where there is no such load
        row = next(one for one in coach.loads if one.name == plan.load)
        listed = energy_topic.load_energy(Quantity(energy_topic.load_watts(row), "W"),
                                          Quantity(float(covered_share(row.windows or [], 24).sum()), "h"), row.count, row.duty)  # fmt: skip
        asked = Quantity(float(found.design.power.sum()), "Wh")
        rows.append(rules.at_least(
            "Does the list of loads count as much for the air conditioner as its design day takes?", listed, asked,
            why="The bank was sized for what the list says.", mend="Put the calculated energy into the list.",
            source=arithmetic, topic="cooling_load",
        ))  # fmt: skip
    return rows

