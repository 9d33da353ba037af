"""Heating: cells warm enough to charge, cool enough to last.

A battery box is two nodes: air, light and quick, and cells, heavy and slow. Heat goes from the cells to the air and from
the air through walls and vents to the surroundings. For steady inputs the two follow a closed form, and a step of any
length is exact. Cores whose name ends in `_si` take and give plain floats in °C, W, J/K, m, s.

For a step of the whole system: `factors_si(box, conductance, seconds)` once for each loss, then
`hold_si(factors, air, cells, outside, air_watts, cells_watts, wanted, most, on_cells)` for each step; it gives the heater's
mean watts and both temperatures at the end, about 1 µs a step.
"""

import dataclasses
import functools
import math
from typing import Annotated

import numpy

from coachwork import air, weather
from coachwork import capacity as capacity_topic
from coachwork import checks as rules
from coachwork import cycle_life as life_topic
from coachwork import energy as energy_topic
from coachwork.profile import covered_share
from coachwork.quantities import (
    ABOVE_ZERO, AirFlow, Altitude, Area, Conductivity, Current, Density, Energy, Force, Fraction, HeatCapacity,
    HeatConductance, HeatFlow, HeatTransfer, InputError, Length, Mass, Power, Quantity, Ratio, Resistance, SpecificHeat,
    Temperature, TemperatureDifference, ThermalResistance, Time, floats, formula, show,
)  # fmt: skip
from coachwork.sections import HeatingPlan
from coachwork.sources import Source, table

PRACTICE = "common practice, no source"
PI = math.pi
CELL_HEAT = Quantity(1000.0, "J/(kg*K)")  # lithium iron phosphate 800 to 1130, from memory; AGM about as much
GRAVITY = Quantity(9.80665, "m/s**2")
BOAT_FORCE = Quantity(90.0, "force_pound")
VENT_AREA = Quantity(1100.0, "mm**2")  # NEC 552.10(D): 1.7 in2, at the top and at the bottom
COLDEST_HOUR, FIRST_HOUR, NIGHT_STEPS = 6, 15, 1440  # a night starts in the warmest hour, and has a step for each minute
DAY_STEP = 300  # s, of a summer day
SETTLED, MOST_DAYS = 0.02, 30  # K, by which a repeated day may still drift; a fan that chatters may never come closer
WINTER_RANGE, SUMMER_RANGE = Quantity(20.0, "delta_degF"), Quantity(27.0, "delta_degF")  # dry, clear days; from memory
SUN_ON_SIDE = 750.0  # W/m2, highest on a wall that the sun looks at in summer (from memory)
SUNNY = (7.0, 19.0)  # h, between which it rises and falls
FAN_BAND = 3.0  # K, between a fan's start and stop (common practice, no source)
SIDE_WIND = 0.3  # share of the wind through an opening that it blows along (air.wind_flow)
ROOM_ABOVE_LIMIT = Quantity(6.0, "delta_degF")  # 38 °F for a limit of 32 °F: common practice, no source

# ------------------------------------------------------------------------------- walls and vents


@formula
def layer_resistance(thickness: Length, conductivity: Annotated[Conductivity, ABOVE_ZERO]) -> ThermalResistance:
    """What a layer of one material resists.

    Parameters
    ----------
    thickness : of the layer
    conductivity : of its material; zero is refused

    Source: Fourier's law, ISO 6946.
    """
    return thickness / conductivity


@formula
def resistance_side_by_side(
    thermal_resistance: Annotated[ThermalResistance, ABOVE_ZERO], other_resistance: Annotated[ThermalResistance, ABOVE_ZERO],
    framing: Fraction,
) -> ThermalResistance:  # fmt: skip
    """What two materials in one layer resist, such as foam between wooden frame: their heat losses add by area.

    Parameters
    ----------
    thermal_resistance : of the one
    other_resistance : of the other
    framing : share of the area that is the other

    Source: ISO 6946, layer with bridges, lower limit.
    """
    return 1 / ((1 - framing) / thermal_resistance + framing / other_resistance)


def wall_resistance(resistances: list[ThermalResistance]) -> ThermalResistance:
    """What a wall resists: films and layers one after the other. Resistances add; heat losses (U) do not.

    Parameters
    ----------
    resistances : of each film and layer, at least one

    Source: ISO 6946.
    """
    if not resistances:
        raise InputError("resistances", "an empty list is given", "films and layers", '["0.17 ft2 degF/Btuh"]')
    return sum((one.to("m**2*K/W") for one in resistances), Quantity(0.0, "m**2*K/W"))


@formula
def wall_heat_loss(thermal_resistance: Annotated[ThermalResistance, ABOVE_ZERO]) -> HeatTransfer:
    """U-value of a wall: heat lost for each square metre and kelvin.

    Parameters
    ----------
    thermal_resistance : of films and layers together

    Source: ISO 6946.
    """
    return 1 / thermal_resistance


@formula
def box_conductance(heat_loss: HeatTransfer, surface: Area, bridges: Fraction = 0.0) -> HeatConductance:
    """Heat that a box loses for each degree through its walls, all six of them.

    Parameters
    ----------
    heat_loss : U-value of the walls
    surface : area of all sides
    bridges : share added for bolts, hinges, edges, cable holes; 10 to 30 %

    Source: q = U A ΔT, ISO 6946; the allowance: common practice, no source.
    """
    return heat_loss * surface * (1 + bridges)


@formula
def vent_conductance(air_flow: AirFlow, density: Density, specific_heat: SpecificHeat = air.AIR_HEAT) -> HeatConductance:
    """Heat that air through vents carries off for each degree.

    Parameters
    ----------
    air_flow : through them, from `air.stack_flow` or a fan's sheet
    density : of that air
    specific_heat : of air

    Source: first law.
    """
    return air_flow * density * specific_heat


@formula
def steady_loss(heat_conductance: HeatConductance, temperature_difference: TemperatureDifference) -> HeatFlow:
    """Heat that a box loses when nothing changes any more: the least that a heater must give.

    Parameters
    ----------
    heat_conductance : of walls and vents
    temperature_difference : inside less outside; a difference, so that 36 °F is 20 K, and not 2 °C

    Source: first law.
    """
    return heat_conductance * temperature_difference


@formula
def heat_over_hours(
    heat_conductance: HeatConductance, temperature_difference: TemperatureDifference, hours: Time
) -> Energy:
    """Energy that holds a box warm: watt-hours a night, or a winter's degree-days.

    Parameters
    ----------
    heat_conductance : of walls and vents
    temperature_difference : mean of inside less outside
    hours : how long

    Source: first law.
    """
    return heat_conductance * temperature_difference * hours


@formula
def face_temperature(
    temperature: Temperature, ambient: Temperature, heat_loss: HeatTransfer, film: Annotated[HeatTransfer, ABOVE_ZERO]
) -> Temperature:
    """Temperature of the inner face of a wall: below the dew point of the air it gets wet.

    Parameters
    ----------
    temperature : of the air inside
    ambient : of the air outside
    heat_loss : U-value of the wall, films counted
    film : heat that the inner film passes on

    Source: the same heat goes through film and wall; ISO 6946.
    """
    return temperature - heat_loss / film * (temperature - ambient)


@formula
def round_conductance(
    conductivity: Conductivity, length: Length, diameter_inside: Annotated[Length, ABOVE_ZERO], diameter_outside: Length
) -> HeatConductance:
    """Heat through the jacket of a round hose or pipe for each degree, such as a warm-air hose to a battery box.

    Parameters
    ----------
    conductivity : of the jacket
    length : of the hose
    diameter_inside : of the jacket
    diameter_outside : of the jacket, the larger

    Films are not in it. Source: Incropera, DeWitt, Bergman and Lavine, Fundamentals of Heat and Mass Transfer, radial systems.
    """
    if not diameter_outside > diameter_inside:
        raise InputError("diameter outside", f'"{show(diameter_outside)}" round one of {show(diameter_inside)} is given',
                         "an outer diameter above the inner one", '"5 in"')  # fmt: skip
    return 2 * PI * conductivity * length / math.log(diameter_outside / diameter_inside)


@formula
def mean_difference(inlet_difference: TemperatureDifference, outlet_difference: TemperatureDifference) -> TemperatureDifference:
    """The mean difference that counts along a hose in which air cools: the logarithmic one.

    Parameters
    ----------
    inlet_difference : between air and surroundings where it comes in, above 0
    outlet_difference : where it goes out, above 0

    Source: Incropera, DeWitt, Bergman and Lavine, log mean temperature difference.
    """
    if not (inlet_difference > 0 * inlet_difference.units and outlet_difference > 0 * outlet_difference.units):
        raise InputError("difference", f'"{show(inlet_difference)}" and "{show(outlet_difference)}" are given', "two above 0",
                         '"40 delta_degF" and "20 delta_degF"')  # fmt: skip
    if inlet_difference == outlet_difference:
        return inlet_difference
    return (inlet_difference - outlet_difference) / math.log(inlet_difference / outlet_difference)


# ------------------------------------------------------------------------------- time


@formula
def stored_heat(mass: Mass, specific_heat: SpecificHeat = CELL_HEAT) -> HeatCapacity:
    """Heat that a bank takes for each degree.

    Parameters
    ----------
    mass : of the modules
    specific_heat : 800 to 1130 J/(kg K) for lithium cells

    Source: definition of specific heat; its value is from memory.
    """
    return mass * specific_heat


@formula
def box_time_constant(heat_capacity: HeatCapacity, heat_conductance: Annotated[HeatConductance, ABOVE_ZERO]) -> Time:
    """Time in which a box comes two thirds (63 %) of the way to its surroundings.

    Parameters
    ----------
    heat_capacity : of the cells
    heat_conductance : of walls and vents

    One node: the cells are taken to be as warm as the air. Source: lumped capacity, Incropera et al. ch. 5.
    """
    return heat_capacity / heat_conductance


@formula
def temperature_after(
    temperature: Temperature, ambient: Temperature, hours: Time, time_constant: Annotated[Time, ABOVE_ZERO]
) -> Temperature:
    """Temperature after some hours on the way to that of the surroundings, or to where a heater would bring it.

    Parameters
    ----------
    temperature : at the start
    ambient : where it ends after a very long time
    hours : since the start
    time_constant : from `box_time_constant`

    Source: Newton's law of cooling.
    """
    return ambient + (temperature - ambient) * math.exp(-hours / time_constant)


@formula
def time_constant_measured(
    temperature: Temperature, later_temperature: Temperature, ambient: Temperature, hours: Time
) -> Time:
    """Time constant of a box from two readings while it cools, or warms, without a heater.

    Parameters
    ----------
    temperature : of the cells at the first reading
    later_temperature : at the second, nearer to the surroundings
    ambient : of the surroundings, steady
    hours : between the two readings

    Source: Newton's law of cooling, turned round.
    """
    first, later = temperature - ambient, later_temperature - ambient
    if not (first.magnitude * later.magnitude > 0 and abs(first) > abs(later)):
        raise InputError("later temperature", f'"{show(later_temperature)}" after "{show(temperature)}" in {show(ambient)} is given',
                         "one between the first and that of the surroundings", '"45 degF"')  # fmt: skip
    return hours / math.log(first / later)


@formula
def warm_up_time(
    power: Power, heat_conductance: Annotated[HeatConductance, ABOVE_ZERO], heat_capacity: HeatCapacity,
    temperature: Temperature, limit_temperature: Temperature, ambient: Temperature,
) -> Time:  # fmt: skip
    """Time in which a heater brings cold cells to where they may be charged, the loss meanwhile counted.

    Parameters
    ----------
    power : of the heater
    heat_conductance : of walls and vents
    heat_capacity : of the cells
    temperature : at the start
    limit_temperature : to be reached
    ambient : of the surroundings

    Errors: InputError where the heater never gets there. Source: Newton's law of cooling with a steady source.
    """
    end = ambient + power / heat_conductance
    if limit_temperature <= temperature:
        return 0 * heat_capacity / heat_conductance
    if end <= limit_temperature:
        raise InputError("power", f'"{show(power)}" is given, which ends at {show(end.to("degC"))}',
                         f"more than {show((heat_conductance * (limit_temperature - ambient)).to('W'))}, what it loses there",
                         '"60 W"')  # fmt: skip
    return heat_capacity / heat_conductance * math.log((end - temperature) / (end - limit_temperature))


@formula
def heater_duty(heat: HeatFlow, power: Annotated[Power, ABOVE_ZERO]) -> Fraction:
    """Share of the time in which a heater runs behind its thermostat.

    Parameters
    ----------
    heat : that the box loses at its set point
    power : of the heater; one that gives less than is lost is refused

    Source: first law, mean over whole cycles.
    """
    if heat > power:
        raise InputError("power", f'"{show(power)}" is given and {show(heat)} are lost', "a heater that gives more than is lost",
                         '"60 W"')  # fmt: skip
    return max(0.0, floats(heat / power, ""))


@dataclasses.dataclass(frozen=True)
class Cycle:
    """One cycle of a thermostat. on, off : how long the heater runs and rests. duty : share of the time in which it runs."""

    on: Quantity
    off: Quantity
    duty: float


def thermostat_cycle(
    power: Power, heat_conductance: HeatConductance, heat_capacity: HeatCapacity, temperature: Temperature,
    limit_temperature: Temperature, ambient: Temperature,
) -> Cycle:  # fmt: skip
    """How long a heater runs and rests between the two set points of its thermostat.

    Parameters
    ----------
    power : of the heater
    heat_conductance, heat_capacity : of the box
    temperature : at which it switches on
    limit_temperature : at which it switches off
    ambient : of the surroundings, colder than both

    One node. Errors: as `warm_up_time` and `cycle_life.cooling_time`. Source: the same.
    """
    constant = box_time_constant(heat_capacity, heat_conductance)
    on = warm_up_time(power, heat_conductance, heat_capacity, temperature, limit_temperature, ambient)
    off = life_topic.cooling_time(limit_temperature, temperature, ambient, constant)
    return Cycle(on, off, floats(on / (on + off), ""))


@formula
def heat_in_cells(current: Current, resistance: Resistance) -> HeatFlow:
    """Heat that a charge or a discharge leaves in the cells, whichever way the current goes.

    Parameters
    ----------
    current : through the bank
    resistance : internal, of the bank

    Source: Joule's law. The small heat of the reaction itself is left out.
    """
    return current**2 * resistance


# ------------------------------------------------------------------------------- restraint


@formula
def restraint_force(mass: Mass, restraint_g: Ratio) -> Force:
    """Force that tray, strap and bolts must hold.

    Parameters
    ----------
    mass : of all that is held
    restraint_g : how many times its own weight; 20 fore and aft is often named

    Source: Newton's second law; the 20: common practice, no source.
    """
    return mass * GRAVITY * restraint_g


@formula
def boat_restraint(mass: Mass) -> Force:
    """Force under which a battery may move by no more than 1 in by the rule for boats: weak for a road.

    Parameters
    ----------
    mass : of the battery

    Source: 33 CFR 183.420: 90 lb or twice its weight, whichever is less.
    """
    return min(BOAT_FORCE, (2 * mass * GRAVITY).to("force_pound"))


# ------------------------------------------------------------------------------- two nodes


@dataclasses.dataclass(frozen=True)
class Box:
    """A battery box of two nodes, in plain numbers.

    air_heat, cell_heat : heat taken for each kelvin by the air with the light things in it, and by the cells, J/K.
    cells_to_air : heat from cells to air for each kelvin, W/K. walls : from the air outwards, bridges counted, W/K.
    vent_area : free area of each of two vents, m2; 0: none. vent_height : between their middles, m. density : kg/m3.
    """

    air_heat: float
    cell_heat: float
    cells_to_air: float
    walls: float
    vent_area: float = 0.0
    vent_height: float = 0.0
    density: float = 1.2

    def __post_init__(self):
        if not min(self.air_heat, self.cell_heat, self.cells_to_air, self.walls, self.density) > 0:
            raise InputError("box", "a heat capacity or a conductance of 0 is given", "numbers above 0", "walls=0.5")
        if not min(self.vent_area, self.vent_height) >= 0:
            raise InputError("box", "a vent below 0 is given", "an area and a height of 0 or more", "vent_area=0.0011")

    def vents(self, inside, outside, wind=0.0, fan=0.0):
        """Heat that goes through the vents for each kelvin, W/K: stack and `wind` (m/s), squares added, and a `fan` (m3/s).

        inside, outside : °C. Source: ASHRAE Fundamentals ch. 16, as `air.stack_flow`, `air.wind_flow`.
        """
        warmer = max(inside, outside) + 273.15
        stack = air.OPENING * self.vent_area * math.sqrt(9.80665 * self.vent_height * abs(inside - outside) / warmer)
        flow = math.sqrt(stack * stack + (SIDE_WIND * self.vent_area * wind) ** 2 + fan * fan)
        return flow * self.density * 1006.0


def with_code_vents(box) -> Box:
    """A Box with the two openings of 1.7 in2 of NEC 552.10(D), 8 in apart or as far as its own vents. box : a Box.

    Source: NEC (NFPA 70) 2023, 552.10(D); the distance: common practice, no source.
    """
    return dataclasses.replace(box, vent_area=floats(VENT_AREA, "m**2"), vent_height=max(box.vent_height, 0.2))


def factors_si(box, conductance, seconds) -> tuple:
    """What an exact step of the two nodes needs: four shares of the matrix exponential, then `conductance` and cells to air.

    Parameters
    ----------
    box : a Box
    conductance : of walls and vents, W/K, above 0
    seconds : length of the step

    Source: C_a dT_a/dt = H (T_o - T_a) + K (T_c - T_a) + P_a and C_c dT_c/dt = K (T_a - T_c) + P_c, solved.
    """
    k = box.cells_to_air
    a, b, c = (conductance + k) / box.air_heat, k / box.air_heat, k / box.cell_heat
    root = math.sqrt((a - c) ** 2 / 4 + b * c)
    fast = -(a + c) / 2 - root
    slow = (a * c - b * c) / fast  # the product of both is the determinant: no difference of two like numbers
    ef, es = math.exp(fast * seconds), math.exp(slow * seconds)
    x, y = (es - ef) / (slow - fast), (slow * ef - fast * es) / (slow - fast)
    return y - a * x, b * x, c * x, y - c * x, conductance, k


def advance_si(factors, air, cells, outside, air_watts, cells_watts) -> tuple:
    """Temperatures of air and cells, °C, after a step of steady inputs.

    Parameters
    ----------
    factors : of `factors_si`
    air, cells, outside : at the start of the step, °C
    air_watts, cells_watts : heat put into each, W

    Source: as `factors_si`; exact for steady inputs.
    """
    aa, ac, ca, cc, conductance, k = factors
    end_air = outside + (air_watts + cells_watts) / conductance
    end_cells = end_air + cells_watts / k
    da, dc = air - end_air, cells - end_cells
    return end_air + aa * da + ac * dc, end_cells + ca * da + cc * dc


def hold_si(factors, air, cells, outside, air_watts, cells_watts, wanted, most, on_cells=False) -> tuple:
    """One step with a heater that gives just what brings the cells to a temperature: its mean watts, air, cells.

    Parameters
    ----------
    factors, air, cells, outside, air_watts, cells_watts : as `advance_si`
    wanted : temperature of the cells at the end of the step, °C
    most : watts of the heater; the step gets no more, and never less than 0
    on_cells : True for a pad on the modules, False for a heater in the air

    Source: the step is linear in the heater's watts.
    """
    aa, ac, ca, cc, conductance, k = factors
    end_air, end_cells = advance_si(factors, air, cells, outside, air_watts, cells_watts)
    if end_cells >= wanted or not most:
        return 0.0, end_air, end_cells
    for_air, for_cells = (1 - aa - ac) / conductance, (1 - ca - cc) / conductance
    if on_cells:
        for_air, for_cells = for_air - ac / k, for_cells + (1 - cc) / k
    watts = min(most, (wanted - end_cells) / for_cells)
    return watts, end_air + for_air * watts, end_cells + for_cells * watts


def two_nodes(box, temperature: Temperature, ambient: Temperature, hours: Time, air_power: Power, cells_power: Power) -> tuple:
    """Temperatures of air and cells after some hours of steady inputs, both from one temperature: the closed form.

    Parameters
    ----------
    box : a Box; its vents count as closed
    temperature : of air and cells at the start
    ambient : of the surroundings
    hours : since the start
    air_power : heat put into the air
    cells_power : heat put into the cells

    Source: `factors_si`.
    """
    start = floats(temperature, "degC")
    factors = factors_si(box, box.walls, floats(hours, "s"))
    ends = advance_si(factors, start, start, floats(ambient, "degC"), floats(air_power, "W"), floats(cells_power, "W"))
    return tuple(Quantity(one, "degC") for one in ends)


# ------------------------------------------------------------------------------- a night, a winter, a summer day


@dataclasses.dataclass(frozen=True, eq=False)
class Night:
    """24 hours of a cold night, from 15:00, by minutes.

    hour : of the clock, 15 to 39 (33 is nine in the morning). outside, air, cells : °C. heater : W. limit : °C below which the
    cells may not be charged. energy : of the heater. lowest : cells. duty : share of the time in which it runs.
    charging_from : hours after midnight of the morning when the cells are first at the limit, None: never before 15:00.
    """

    hour: numpy.ndarray
    outside: numpy.ndarray
    air: numpy.ndarray
    cells: numpy.ndarray
    heater: numpy.ndarray
    limit: float
    energy: Quantity
    lowest: Quantity
    duty: float
    charging_from: float | None

    @property
    def charging(self):
        """When charging may start, in words."""
        at = self.charging_from
        return "not before 15:00" if at is None else f"from {int(at):02}:{int(at % 1 * 60):02}, when there is sun"


def night_hours() -> numpy.ndarray:
    """The hours of the clock at the end of each minute of a Night, 15 to 39. Source: none, bookkeeping."""
    return FIRST_HOUR + (numpy.arange(NIGHT_STEPS) + 1) / 60


def day_hours() -> numpy.ndarray:
    """The hours of the clock in the middle of each step of a SummerDay. Source: none, bookkeeping."""
    return (numpy.arange(86400 // DAY_STEP) + 0.5) * DAY_STEP / 3600


MORNING = 24 + 7  # charging is first asked for at seven, when the sun may come


def outdoor_si(hour, low, swing):
    """Outdoor temperature of a plain day, °C: lowest at six in the morning, highest at three in the afternoon.

    hour : of the clock, also above 24. low : °C. swing : highest less lowest, K. Source: two half cosines; common practice,
    no source.
    """
    since = (hour - COLDEST_HOUR) % 24
    rising = FIRST_HOUR - COLDEST_HOUR
    phase = since / rising if since < rising else 1 + (since - rising) / (24 - rising)
    return low + swing / 2 * (1 - math.cos(PI * phase))


def cold_night(
    box, coldest: Temperature, power: Power, heater_on: Temperature, heater_off: Temperature, limit_temperature: Temperature,
    temperature: Temperature | None = None, swing: TemperatureDifference = WINTER_RANGE, on_cells: bool = False,
    air_power: Power = Quantity(0.0, "W"), cells_power: Power = Quantity(0.0, "W"),
) -> Night:  # fmt: skip
    """A cold night of a box with a heater behind a thermostat on the cells.

    Parameters
    ----------
    box : a Box
    coldest : outdoors, at six in the morning
    power : of the heater; 0: none
    heater_on, heater_off : temperatures of the cells at which it switches, the second higher
    limit_temperature : below which the cells may not be charged
    temperature : of the cells at 15:00; absent: as the set point, or as the air where that is warmer
    swing : outdoors, highest less lowest
    on_cells : True for pads on the modules
    air_power, cells_power : other heat, such as a neighboring inverter's, or of charge and discharge

    Errors: InputError where the set points are the wrong way round. Source: `advance_si`, a step a minute.
    """
    on, off = floats(heater_on, "degC"), floats(heater_off, "degC")
    if not off > on:
        raise InputError("heater off", f'"{show(heater_off)}" is given, and on at {show(heater_on)}', "a warmer one",
                         f'"{show(Quantity(on + 3, "degC"))}"')  # fmt: skip
    low, spread, watts = floats(coldest, "degC"), floats(swing, "K"), floats(power, "W")
    limit = floats(limit_temperature, "degC")
    in_air, in_cells = floats(air_power, "W"), floats(cells_power, "W")
    cells = max(on, low + spread) if temperature is None else floats(temperature, "degC")
    inner, runs, every = cells, False, 15
    rows = numpy.empty((4, NIGHT_STEPS))
    for step in range(NIGHT_STEPS):
        if step % every == 0:
            outside = outdoor_si(FIRST_HOUR + (step + every / 2) / 60, low, spread)
            factors = factors_si(box, box.walls + (box.vents(inner, outside) if box.vent_area else 0.0), 60.0)
        runs = cells < off if runs else cells < on
        given = watts if runs else 0.0
        if on_cells:
            inner, cells = advance_si(factors, inner, cells, outside, in_air, in_cells + given)
        else:
            inner, cells = advance_si(factors, inner, cells, outside, in_air + given, in_cells)
        rows[0, step], rows[1, step], rows[2, step], rows[3, step] = outside, inner, cells, given
    hour = night_hours()
    ready = numpy.flatnonzero((hour >= MORNING) & (rows[2] >= limit - 1e-9))
    return Night(hour, *rows, limit, Quantity(float(rows[3].sum()) / 60, "Wh"), Quantity(float(rows[2].min()), "degC"),
                 float((rows[3] > 0).mean()), float(hour[ready[0]]) - 24 if len(ready) else None)  # fmt: skip


@dataclasses.dataclass(frozen=True, eq=False)
class Winter:
    """The three coldest months of a typical year by hours.

    months : 1 to 12. energy : of the heater in all of them. worst_day : its largest day. mean_day : its mean day.
    locked : share of the hours in which the cells are too cold to be charged. lowest : cells. cells, heater : by hours, °C, W.
    """

    months: tuple
    energy: Quantity
    worst_day: Quantity
    mean_day: Quantity
    locked: float
    lowest: Quantity
    cells: numpy.ndarray
    heater: numpy.ndarray


def coldest_months(year) -> tuple:
    """The three coldest months of a weather.Year, in the order of the calendar. year : a weather.Year.

    Source: its mean temperatures.
    """
    means = weather.by_month(year.temperature)
    return tuple(sorted(int(month) + 1 for month in numpy.argsort(means)[:3]))


def winter(box, outside, months, power: Power, heater_on: Temperature, limit_temperature: Temperature,
           on_cells: bool = False, air_power: Power = Quantity(0.0, "W"), cells_power: Power = Quantity(0.0, "W"),
           temperature: Temperature | None = None) -> Winter:  # fmt: skip
    """A winter of hours: what a thermostat that holds the cells at its set point takes, and how often they are too cold.

    Parameters
    ----------
    box : a Box
    outside : air round it in each hour of these months, °C, floats, whole days
    months : which they are, 1 to 12
    power, heater_on, limit_temperature, on_cells, air_power, cells_power : as `cold_night`
    temperature : of box and cells at the start; absent: as the set point, without a heater as the air

    Each hour is one exact step; the heater's mean in it is found by `hold_si`. Source: `hold_si`.
    """
    on, limit, most = floats(heater_on, "degC"), floats(limit_temperature, "degC"), floats(power, "W")
    in_air, in_cells = floats(air_power, "W"), floats(cells_power, "W")
    start = max(on if most else -1e9, float(outside[0])) if temperature is None else floats(temperature, "degC")
    inner = cells = start
    factors, found = factors_si(box, box.walls, 3600.0), []
    for outdoors in outside.tolist():
        if box.vent_area:
            factors = factors_si(box, box.walls + box.vents(inner, outdoors), 3600.0)
        watts, inner, cells = hold_si(factors, inner, cells, outdoors, in_air, in_cells, on, most, on_cells)
        found.append((watts, cells))
    heater, warm = numpy.array(found).T
    days = heater.reshape(-1, 24).sum(axis=1)
    return Winter(tuple(months), Quantity(float(heater.sum()), "Wh"), Quantity(float(days.max()), "Wh"),
                  Quantity(float(days.mean()), "Wh"), float((warm < limit - 1e-9).mean()), Quantity(float(warm.min()), "degC"),
                  warm, heater)  # fmt: skip


@dataclasses.dataclass(frozen=True, eq=False)
class SummerDay:
    """A hot day that has repeated itself, by 5 minutes from midnight.

    hour : of the clock. outside, air, cells : °C. flow : air through vents and fan, m3/s. highest, mean : of the cells.
    rise : highest of air less outside. fan_hours : hours in which the fan runs.
    """

    hour: numpy.ndarray
    outside: numpy.ndarray
    air: numpy.ndarray
    cells: numpy.ndarray
    flow: numpy.ndarray
    highest: Quantity
    mean: Quantity
    rise: Quantity
    fan_hours: Quantity


def summer_day(
    box, warmest: Temperature, waste_heat: Power, sun_gain: Area, fan: AirFlow = Quantity(0.0, "m**3/h"),
    fan_on: Temperature = Quantity(30.0, "degC"), waste_window: str = "00:00-24:00",
    swing: TemperatureDifference = SUMMER_RANGE, wind_speed=0.0, cells_power: Power = Quantity(0.0, "W"),
) -> SummerDay:  # fmt: skip
    """A hot day in a box with waste heat, sun on its skin, vents and a fan.

    Parameters
    ----------
    box : a Box
    warmest : outdoors, at three in the afternoon
    waste_heat : of what works in the compartment
    sun_gain : area that would let in as much if all the sun went through it: U x area x share taken in / outer film
    fan : air that the fan moves
    fan_on : temperature of the air inside above which it starts; it stops 3 K below
    waste_window : span of the day in which the waste heat is there
    swing : outdoors, highest less lowest
    wind_speed : along the vents, m/s, a plain number
    cells_power : heat of charge and discharge

    The day is repeated until the cells end it as warm as they began it. The sun rises and falls as a half sine from 07:00 to
    19:00, at most 750 W/m2 on the side. Source: `advance_si`.
    """
    high, spread = floats(warmest, "degC"), floats(swing, "K")
    moved, start_at, gain = floats(fan, "m**3/s"), floats(fan_on, "degC"), floats(sun_gain, "m**2")
    in_cells = floats(cells_power, "W")
    each = 86400 // DAY_STEP
    hours = day_hours()
    outside = [outdoor_si(hour, high - spread, spread) for hour in hours]
    lit = numpy.clip(numpy.sin(PI * (hours - SUNNY[0]) / (SUNNY[1] - SUNNY[0])), 0, None) * (hours > SUNNY[0]) * (hours < SUNNY[1])
    heats = (floats(waste_heat, "W") * covered_share([waste_window], each) + gain * SUN_ON_SIDE * lit).tolist()
    rows = numpy.zeros((4, each))
    still, runs = not box.vent_area and not moved, False
    inner = cells = high - spread / 2 + ((sum(heats) / each + in_cells) / box.walls if still else 0.0)  # the mean of a closed box
    factors, conductance = factors_si(box, box.walls, DAY_STEP), 0.0
    for _ in range(MOST_DAYS):
        began = cells
        for step in range(each):
            if not still:
                rows[3, step] = runs = inner > start_at - (FAN_BAND if runs else 0.0)
                conductance = box.vents(inner, outside[step], wind_speed, moved if runs else 0.0)
                factors = factors_si(box, box.walls + conductance, DAY_STEP)
            inner, cells = advance_si(factors, inner, cells, outside[step], heats[step], in_cells)
            rows[0, step], rows[1, step], rows[2, step] = inner, cells, conductance
        if abs(cells - began) < SETTLED:
            break
    runs = float(rows[3].mean()) * 24 if moved else 0.0
    return SummerDay(hours, numpy.array(outside), rows[0], rows[1], rows[2] / (box.density * 1006.0),
                     Quantity(float(rows[1].max()), "degC"), Quantity(float(rows[1].mean()), "degC"),
                     Quantity(float((rows[0] - outside).max()), "delta_degC"), Quantity(runs, "h"))  # fmt: skip


@formula
def fan_for_rise(
    heat: HeatFlow, temperature_rise: Annotated[TemperatureDifference, ABOVE_ZERO], altitude: Altitude, ambient: Temperature
) -> AirFlow:
    """Air that a fan must move so that waste heat warms it by no more than an allowed rise: watts over 1.08 cfm, corrected.

    Parameters
    ----------
    heat : waste heat
    temperature_rise : that is allowed, above 0
    altitude : thin air carries less
    ambient : of the air that comes in

    Source: `air.air_flow_for_rise` with the density of the standard atmosphere.
    """
    return air.air_flow_for_rise(heat, air.dry_air_density(air.standard_pressure(altitude), ambient), temperature_rise)


# ------------------------------------------------------------------------------- the coach's box

INSIDE_FILMS = {"top": "inside, heat going up", "sides": "inside, wall", "bottom": "inside, heat going down"}
CODE_VENTS = "vents of NEC 552.10(D), were they there"
TEN_YEARS = Quantity(10.0, "year")
OPTION_LAYERS = 2  # how many times the insulation in the comparison
HOTTEST_CUT_OUT = Quantity(70.0, "degC")  # above this a heater's surface hurts a plastic case (from memory)
CUT_OUT_ABOVE = 5.0  # K above all that the box sees when nothing is wrong (common practice, no source)
FUSE_SHARE = 1.25
DEFAULTS = {
    "place": "closed to the room", "room": "60 degF", "bridges": 0.15, "vent_area": "0 m2", "vent_height": "8 in",
    "layers": ({"material": "plywood", "thickness": "6 mm"}, {"material": "polystyrene, extruded", "thickness": "38 mm"}),
    "heater": "0 W", "heater_kind": "in the air", "heater_side": "dc", "heater_share": 0.10, "pads": "not asked", "contacts": "not asked",
    "highest": "113 degF", "skin": 0.5, "waste_heat": "0 W", "waste_window": "08:00-20:00", "allowed_rise": "18 delta_degF",
    "fan": "0 cfm", "fan_on": "86 degF", "way_out": "free", "sleepers": "nobody", "restraint_g": 20.0,
}  # fmt: skip


@functools.cache
def _defaults():
    return HeatingPlan.model_validate(DEFAULTS)


def propose(coach) -> dict:
    """Sound decisions where the reader has not decided: a dict of name to value, as [heating] takes them.

    Parameters
    ----------
    coach : the coach file

    A plywood box with 38 mm of foam round the bank, closed to the room; lead-acid with the vents of NEC 552.10(D), lithium
    with a hose outside; set points 6 and 10 °F above the coldest charge, or where lesson 02 counts on warmer cells, there.
    Source: common practice, no source.
    """
    plan, bank = coach.heating, coach.capacity.model_copy(update=capacity_topic.propose(coach))
    lithium = capacity_topic.chemistry(bank.module.chemistry).is_lithium
    found = {name: getattr(_defaults(), name) for name in DEFAULTS}
    volume = floats(bank.module.volume, "m**3") if bank.module.volume is not None else floats(bank.module.mass, "kg") / 1100
    built = capacity_topic.arrangement(coach)
    depth = (volume / 1.2) ** (1 / 3) + 0.10  # a module is about as deep as high and longer; walls and air take the rest
    found["length"] = Quantity(max(0.4, built.module_count * volume / (depth - 0.1) ** 2 + 0.12), "m")
    found["width"] = found["height"] = Quantity(depth, "m")
    limit = floats(bank.module.coldest_charge, "degC")
    wanted = max(limit + floats(ROOM_ABOVE_LIMIT, "K"), floats(bank.coldest, "degC") if lithium else limit)
    found["heater_on"] = plan.heater_on if plan.heater_on is not None else Quantity(wanted, "degC").to("degF")
    found["heater_off"] = Quantity(floats(found["heater_on"], "degC") + 3, "degC").to("degF")
    found["off_gas"] = "hose outside" if lithium else "vents outside"
    if not lithium:
        found["vent_area"] = VENT_AREA
    length = plan.length if plan.length is not None else found["length"]
    height = plan.height if plan.height is not None else found["height"]
    found["sunny_side"] = (length * height).to("ft**2")
    g = found["restraint_g"] if plan.restraint_g is None else plan.restraint_g
    found["restraint"] = restraint_force(built.mass, g).to("force_pound")
    return {name: value for name, value in found.items() if getattr(plan, name) is None}


@dataclasses.dataclass(frozen=True, eq=False)
class _Known:
    plan: HeatingPlan
    bank: object
    built: object
    lithium: bool


@functools.lru_cache(maxsize=16)  # asked for by every function below
def _known(coach):
    bank = coach.capacity.model_copy(update=capacity_topic.propose(coach))
    return _Known(coach.heating.model_copy(update=propose(coach)), bank, capacity_topic.arrangement(coach),
                  capacity_topic.chemistry(bank.module.chemistry).is_lithium)  # fmt: skip


def _plan(coach):
    return _known(coach).plan


def _place_year(coach):
    return weather.year(coach.place.weather or "Denver")


@functools.cache
def _material(name):
    """Conductivity, density and specific heat, W/(m K), kg/m3, J/(kg K)."""
    row = table("shell_materials").row(material=name)
    return tuple(floats(row[column], unit) for column, unit in
                 (("conductivity", "W/m/K"), ("density", "kg/m**3"), ("specific heat", "J/kg/K")))  # fmt: skip


@functools.cache
def _film(name):
    return floats(air.film_resistance(name), "m**2*K/W")


def _insulates(layer):
    return _material(layer.material)[0] < 0.06


def _layers(plan, times=1.0):
    """Resistance of the layers together, the insulation `times` as thick, m2 K/W, and half of their heat, J/(m2 K)."""
    resists = stored = 0.0
    for layer in plan.layers:
        conductivity, density, heat = _material(layer.material)
        thick = floats(layer.thickness, "m") * (times if _insulates(layer) else 1.0)
        mean = (1 - layer.framing) * conductivity + layer.framing * _material("wood frame")[0]  # as `resistance_side_by_side`
        resists += thick / mean
        stored += thick * density * heat / 2
    if not resists > 0:
        raise InputError("[heating] layers", "there is no layer with a thickness", "at least one",
                         '{ material = "polystyrene, extruded", thickness = "38 mm" }')  # fmt: skip
    return resists, stored


def walls_of(coach, times: Ratio = 1.0) -> dict:
    """Heat that each part of a coach's battery box loses for each degree: top, sides, bottom, bridges.

    Parameters
    ----------
    coach : the coach file
    times : how many times as thick the insulation is to be taken

    The formulas above in plain numbers. Films of the ASHRAE values: still air inside; outside winter's wind, or still air where the box stands in the room.
    Source: ISO 6946 with data/tables/surface_films.csv and shell_materials.csv.
    """
    plan = _plan(coach)
    long, wide, high = (floats(one, "m") for one in (plan.length, plan.width, plan.height))
    if not min(long, wide, high) > 0:
        raise InputError("[heating]", f"the box is {long:g} by {wide:g} by {high:g} m", "measures above 0", 'length = "28 in"')
    resists = _layers(plan, times)[0] + _film("inside, wall" if plan.place == "in the heated room" else "outside, winter")
    areas = {"top": long * wide, "sides": 2 * (long + wide) * high, "bottom": long * wide}
    parts = {name: area / (resists + _film(INSIDE_FILMS[name])) for name, area in areas.items()}
    parts["bridges"] = sum(parts.values()) * plan.bridges
    return {name: Quantity(one, "W/K") for name, one in parts.items()}


@functools.lru_cache(maxsize=64)
def box_of(coach, times: Ratio = 1.0, vent_area: Area | None = None) -> Box:
    """The Box of a coach's bank.

    Parameters
    ----------
    coach : the coach file
    times : how many times as thick the insulation is to be taken
    vent_area : of each of two vents instead of its own

    The cells touch the air with the surface of the bank taken as one cube, through a film of still air. Half of the walls'
    heat counts with the air. Source: common practice, no source, for both; the rest as `walls_of`.
    """
    known = _known(coach)
    plan, built, bank = known.plan, known.built, known.bank
    long, wide, high = (floats(one, "m") for one in (plan.length, plan.width, plan.height))
    each = floats(bank.module.volume, "m**3") if bank.module.volume is not None else floats(bank.module.mass, "kg") / 1100
    solid = each * built.module_count
    if solid >= long * wide * high:
        raise InputError("[heating]", f"the bank takes {solid * 1000:.0f} L and its box has {long * wide * high * 1000:.0f} L",
                         "a box with room for the bank", 'length = "30 in"')  # fmt: skip
    surface = 6 * solid ** (2 / 3)
    year = _place_year(coach)
    density = floats(air.dry_air_density(air.standard_pressure(Quantity(year.altitude, "m")), Quantity(0.0, "degC")), "kg/m**3")
    area = 2 * (long * wide + (long + wide) * high)
    return Box(
        air_heat=(long * wide * high - solid) * density * 1006.0 + area * _layers(plan, times)[1],
        cell_heat=floats(stored_heat(built.mass), "J/K"),
        cells_to_air=surface / _film("inside, wall"),
        walls=floats(sum(walls_of(coach, times).values()), "W/K"),
        vent_area=floats(plan.vent_area if vent_area is None else vent_area, "m**2"),
        vent_height=floats(plan.vent_height, "m"),
        density=density,
    )


def _coldest(coach):
    """Coldest air outdoors that the coach file expects, else that of its place."""
    coldest = coach.place.coldest
    return weather.extremes(coach.place.weather or "Denver").coldest if coldest is None else coldest


def _surroundings(coach, plan):
    """(lowest, swing) of the air round the box on the coldest night."""
    if plan.place == "in the heated room":
        return plan.room, Quantity(0.1, "K")
    return _coldest(coach), WINTER_RANGE


def _resistance(built):
    return built.module.resistance * built.series / (built.parallel - built.reserve)


def _night_heat(coach):
    """Heat in the cells from the night's mean current, as a power."""
    built, study = _known(coach).built, energy_topic.study(coach)
    current = Quantity(float(study.design_day.at_battery.values.mean()) / floats(built.voltage, "V"), "A")
    return heat_in_cells(current, _resistance(built))


def night_of(coach, power=None) -> Night:
    """The coldest night of a coach's bank, with its own heater or another. Cells start as `cold_night` says.

    Parameters
    ----------
    coach : the coach file
    power : of another heater

    Source: `cold_night`.
    """
    plan = _plan(coach)
    low, swing = _surroundings(coach, plan)
    return cold_night(
        box_of(coach), low, plan.heater if power is None else power, plan.heater_on, plan.heater_off,
        _known(coach).bank.module.coldest_charge, swing=swing, on_cells=plan.heater_kind == "on the modules",
        cells_power=_night_heat(coach))  # fmt: skip


def winter_of(coach, power=None, months=None) -> Winter:
    """The coldest months of a coach's place, with its own heater or another.

    Parameters
    ----------
    coach : the coach file
    power : of another heater
    months : which ones, 1 to 12; None for the three coldest

    Source: `winter` over the typical year of its place.
    """
    plan, year = _plan(coach), _place_year(coach)
    months = coldest_months(year) if months is None else months
    outside = year.temperature[weather.hours_of(months)]
    if plan.place == "in the heated room":
        outside = numpy.full_like(outside, floats(plan.room, "degC"))
    return winter(box_of(coach), outside, months, plan.heater if power is None else power, plan.heater_on,
                  _known(coach).bank.module.coldest_charge, plan.heater_kind == "on the modules", cells_power=_night_heat(coach))  # fmt: skip


def insulated(coach, thickness: Length) -> Box:
    """The Box of a coach's bank with its insulation as thick as asked, the other layers as they are; vents as decided.

    Parameters
    ----------
    coach : the coach file
    thickness : of all insulation together; 0: none

    Errors: InputError where its walls have no insulation to change. Source: `box_of`.
    """
    plan = _plan(coach)
    own = [floats(one.thickness, "m") if _insulates(one) else 0.0 for one in plan.layers]
    if not sum(own) > 0:
        raise InputError("[heating] layers", "no layer of them insulates", "one of foam or fiber",
                         '{ material = "polystyrene, extruded", thickness = "38 mm" }')  # fmt: skip
    return box_of(coach, floats(thickness, "m") / sum(own))


def losses_of(coach) -> dict:
    """Heat that each part of the box loses at the set point in the coldest hour, and what the vents of the code would, W.

    Parameters
    ----------
    coach : the coach file

    Returns floats by name; `CODE_VENTS` is not part of the sum where they are not there.
    Source: `walls_of`, `Box.vents`.
    """
    plan, own = _plan(coach), box_of(coach)
    inside, outside = floats(plan.heater_on, "degC"), floats(_surroundings(coach, plan)[0], "degC")
    difference = max(inside - outside, 0.0)
    found = {name: floats(one, "W/K") * difference for name, one in walls_of(coach).items()}
    if own.vent_area:
        return found | {"vents": own.vents(inside, outside) * difference}
    return found | {CODE_VENTS: with_code_vents(own).vents(inside, outside) * difference}


def sun_gain_of(coach) -> Area:
    """Area of a coach's battery box that would let in as much heat if all the sun on it went through, for `summer_day`.

    Parameters
    ----------
    coach : the coach file

    U of the walls x sunny side x share taken in x outer film of summer; none where the box stands in the room.
    Source: sol-air temperature, ASHRAE Fundamentals ch. 18.
    """
    plan = _plan(coach)
    if plan.place == "in the heated room":
        return Quantity(0.0, "m**2")
    area = 2 * (plan.length * plan.width + (plan.length + plan.width) * plan.height)
    mean_loss = sum(walls_of(coach).values()) / area
    return (mean_loss * plan.sunny_side * plan.skin * air.film_resistance("outside, summer")).to("m**2")


def summer_of(coach, fan=None) -> SummerDay:
    """The hottest day of a coach's place in its bank's box, with its own fan or another.

    Parameters
    ----------
    coach : the coach file
    fan : air that another fan moves

    Source: `summer_day`; hottest air from data/tables/extreme_temperatures.csv.
    """
    plan = _plan(coach)
    hottest = weather.extremes(coach.place.weather or "Denver").hottest
    return summer_day(box_of(coach), hottest, plan.waste_heat, sun_gain_of(coach), plan.fan if fan is None else fan, plan.fan_on,
                      plan.waste_window, cells_power=_night_heat(coach))  # fmt: skip


@dataclasses.dataclass(frozen=True)
class Option:
    """One way to keep the same bank warm on the coldest night.

    conductance : walls and vents at the worst hour. loss : at the set point then. energy : of the heater in 24 hours, at the
    battery, the set point held. share : of the usable bank. lowest : cells. verdict : "warm enough", or what fails.
    """

    name: str
    conductance: Quantity
    loss: Quantity
    energy: Quantity
    share: Fraction
    lowest: Quantity
    verdict: str


@dataclasses.dataclass(frozen=True, eq=False)
class Study:
    """Everything this topic says of a coach.

    plan : its decisions, proposals filled in. box : its Box. parts : heat lost for each degree by part, vents at the coldest
    hour among them. conductance : their sum. capacity : heat that the cells take. time_constant : of both. surroundings :
    coldest air round the box. loss : at the set point in it. needed : watts that hold the cells, other heat taken off.
    freeze_after : from the set point to the coldest charge with the heater dead; in the heated room: from its warmth, were it
    as cold as outdoors at once; None: never. night : Night. at_battery :
    what its heater takes from the bank. share : of the usable bank. usable : that. charge_heat : of the cells at the rate
    that `cycle_life.cold_charge_rate` allows at the set point. winter, winter_without : Winter with and without heater.
    summer, summer_still : SummerDay as decided, and without fan. rise_flow : air for the allowed rise. options : of
    `compare`. assumed : decisions that are proposals.
    """

    plan: HeatingPlan
    box: Box
    parts: dict
    conductance: Quantity
    capacity: Quantity
    time_constant: Quantity
    surroundings: Quantity
    loss: Quantity
    needed: Quantity
    freeze_after: Quantity | None
    night: Night
    at_battery: Quantity
    share: float
    usable: Quantity
    charge_heat: Quantity
    winter: Winter
    winter_without: Winter
    summer: SummerDay
    summer_still: SummerDay
    rise_flow: Quantity
    options: tuple
    assumed: tuple


def _at_battery(coach, plan, energy):
    if plan.heater_side == "dc" or coach.inverter is None or not plan.heater.magnitude:
        return energy
    sheet = coach.inverter
    return energy_topic.energy_at_battery(energy, energy_topic.fitted_efficiency(plan.heater, sheet.idle, sheet.efficiency))


def _usable(coach):
    return _known(coach).built.energy * _known(coach).bank.depth


def compare(coach) -> tuple:
    """Ways to keep the same bank warm on the coldest night: an Option each.

    Parameters
    ----------
    coach : the coach file

    A heater in the comparison is large enough, and gives just what holds the set point, so that all end as warm as they began.
    The room's own heat is not counted. Source: `winter` over 24 hours from 15:00.
    """
    plan, usable = _plan(coach), _usable(coach)
    outdoors, room = (coach.model_copy(update={"heating": coach.heating.model_copy(update={"place": place})})
                      for place in ("closed to the room", "in the heated room"))  # fmt: skip
    own = box_of(outdoors)
    bare, thick, indoors = (dataclasses.replace(one, vent_area=0.0)
                            for one in (own, box_of(outdoors, OPTION_LAYERS), box_of(room)))  # fmt: skip
    big, none = Quantity(500.0, "W"), Quantity(0.0, "W")
    ways = [("no heater, no vents", outdoors, bare, none), ("heater, no vents", outdoors, bare, big),
            ("heater, twice the insulation", outdoors, thick, big), ("heater, vents of NEC 552.10(D)", outdoors, with_code_vents(own), big),
            ("in the heated room", room, indoors, none)]  # fmt: skip
    if not any(map(_insulates, plan.layers)):
        del ways[2]
    return tuple(_option(name, one, _plan(one), box, power, usable) for name, one, box, power in ways)


def _option(name, coach, plan, box, power, usable):
    low, swing = _surroundings(coach, plan)
    outside, on = floats(low, "degC"), floats(plan.heater_on, "degC")
    hours = numpy.array([outdoor_si(FIRST_HOUR + step + 0.5, outside, floats(swing, "K")) for step in range(24)])
    limit = _known(coach).bank.module.coldest_charge
    night = winter(box, hours, (), power, plan.heater_on, limit, cells_power=_night_heat(coach), temperature=plan.heater_on)
    conductance = Quantity(box.walls + box.vents(on, outside), "W/K")
    taken = _at_battery(coach, plan, night.energy)
    cold = floats(night.lowest, "degC") < floats(limit, "degC") - 0.05
    return Option(name, conductance, steady_loss(conductance, Quantity(max(0.0, on - outside), "K")), taken, floats(taken / usable, ""),
                  night.lowest, "too cold to be charged" if cold else "warm enough")  # fmt: skip


@functools.lru_cache(maxsize=8)  # the other topics and the record ask again and again
def study(coach) -> Study:
    """Everything this topic says of a coach.

    Parameters
    ----------
    coach : the coach file

    Source: the functions above.
    """
    assumed = propose(coach)
    known, box = _known(coach), box_of(coach)
    plan, bank, built, lithium = known.plan, known.bank, known.built, known.lithium
    low, _ = _surroundings(coach, plan)
    on, limit = plan.heater_on.to("degC"), bank.module.coldest_charge.to("degC")
    parts = walls_of(coach)
    if box.vent_area:
        parts["vents"] = Quantity(box.vents(floats(on, "degC"), floats(low, "degC")), "W/K")
    conductance, capacity = sum(parts.values()), stored_heat(built.mass)
    constant = box_time_constant(capacity, conductance)
    loss = steady_loss(conductance, Quantity(max(0.0, floats(on, "degC") - floats(low, "degC")), "K"))
    needed = Quantity(max(0.0, floats(loss, "W") - floats(_night_heat(coach), "W")), "W")
    start, outdoors = (plan.room if plan.place == "in the heated room" else on).to("degC"), _coldest(coach).to("degC")
    freezes = life_topic.cooling_time(start, limit, outdoors, constant) if start > limit > outdoors else None
    night, usable = night_of(coach), _usable(coach)
    taken = _at_battery(coach, plan, night.energy)
    rate = life_topic.cold_charge_rate(on) if lithium else 0.1
    charge_current = min(built.capacity * rate / Quantity(1.0, "h"), bank.module.charge_current * built.parallel)
    hottest, altitude = weather.extremes(coach.place.weather or "Denver").hottest, Quantity(_place_year(coach).altitude, "m")
    return Study(
        plan, box, parts, conductance, capacity, constant, low, loss, needed, freezes, night, taken, floats(taken / usable, ""),
        usable, heat_in_cells(charge_current, _resistance(built)), winter_of(coach),
        winter_of(coach, Quantity(0.0, "W")), summer_of(coach), summer_of(coach, Quantity(0.0, "m**3/h")),
        fan_for_rise(plan.waste_heat, plan.allowed_rise, altitude, hottest), compare(coach), tuple(assumed),
    )  # fmt: skip


def life_at(coach, use_temperature: Temperature):
    """A `cycle_life.Study` of the bank of a coach with its cells at a mean temperature in use.

    Parameters
    ----------
    coach : the coach file
    use_temperature : mean of the cells over the weeks of use

    Source: `cycle_life.study`.
    """
    section = coach.cycle_life.model_copy(update={"use_temperature": use_temperature.to("degC")})
    return life_topic.study(coach.model_copy(update={"cycle_life": section}))


def cost_of_heat(coach) -> list:
    """What warmth costs in years: rows for a table, each a mean temperature of the cells in use.

    Parameters
    ----------
    coach : the coach file

    The hottest day is repeated through all weeks of use: an upper end, not a forecast. Source: `summer_of`, `life_at`.
    """
    found = study(coach)
    as_lesson = coach.cycle_life.model_copy(update=life_topic.propose(coach)).use_temperature
    ways = [("as lesson 03 counts on", as_lesson), ("every day like the hottest, as decided", found.summer.mean),
            ("every day like the hottest, no fan", found.summer_still.mean)]  # fmt: skip
    rows = []
    for name, warm in ways:
        worn = life_at(coach, warm)
        rows.append({"cells": name, "mean": warm.to("degC"), "the bank lasts": str(worn.offer.life)})
        if worn.fades:  # of both published cells; lead-acid has none
            gone = sorted(1 - one.at(TEN_YEARS)[2] for one in worn.fades)
            rows[-1]["lost in ten years"] = f"{gone[0]:.0%} to {gone[-1]:.0%}"
    return rows


def winters(coach) -> list:
    """The coldest months with and without the heater: rows for a table.

    Parameters
    ----------
    coach : the coach file

    Source: `winter_of`.
    """
    found = study(coach)
    return [
        {"way": name, "mean day": one.mean_day, "worst day": one.worst_day, "coldest cells": Quantity(round(floats(one.lowest, "degF"), 1), "degF"),
         "hours too cold to be charged": f"{one.locked:.0%}"}
        for name, one in (("as decided", found.winter), ("no heater", found.winter_without))
    ]  # fmt: skip


# ------------------------------------------------------------------------------- checks


def _celsius(temperature):
    return Quantity(round(floats(temperature, "degC"), 6), "degC")  # 32 °F is 0 °C, and no hair more


def _place_checks(plan, lithium):
    """Rules of place: (question, found, wanted, true, why, mend, source, guards)."""
    flame = [one for one in plan.beside if one in ("inverter", "charger", "switch or relay without a cover", "open flame")]
    code = Source("NEC (NFPA 70) 2023, 552.10(D), a rule for park trailers, taken here for every coach", "secondary")
    practice, memory = Source(PRACTICE, PRACTICE), Source("NFPA 1192", "from memory")
    yield ("Is nothing that flames or sparks in the bank's compartment?", ", ".join(flame) or "nothing", "nothing", not flame,
           "Gas from a battery, or propane that has settled there, needs only a spark.",
           "Move it to another compartment, or part them with a tight wall.", code, "fire")  # fmt: skip
    stored = [one for one in plan.beside if one in ("LP cylinder", "engine fuel")]
    yield ("Is no LP cylinder or fuel in the bank's compartment?", ", ".join(stored) or "none", "none", not stored,
           "Propane is heavier than air and gathers low, where terminals are.", "Move one of the two.", memory, "fire")  # fmt: skip
    yield ("Is every way out free of the bank and its lid?", plan.way_out, "free", plan.way_out == "free",
           "A battery fire gives little time.", "Move the box.", memory, "fire")  # fmt: skip
    path = plan.off_gas == "vents outside" or (lithium and plan.off_gas == "hose outside")
    yield ("Does gas from the bank go outside?", plan.off_gas, "vents outside" if not lithium else "hose or vents outside", path,
           "Hydrogen explodes from 4 % in air; a lithium cell that vents gives gas that burns and poisons.",
           "A closed box with openings or a hose to the outside.", code, "gas")  # fmt: skip
    if plan.place == "in the heated room":
        yield ("Does nobody sleep above or beside a bank that stands in the room?", plan.sleepers, "nobody",
               plan.sleepers == "nobody", "A sleeper does not smell the first gas.",
               "Another place; or a tight rigid box with a hose outside, an alarm beside it and the maker's word in writing.",
               practice, "gas")  # fmt: skip
    if not lithium:
        enough = floats(plan.vent_area, "mm**2") >= floats(VENT_AREA, "mm**2") - 1e-6
        yield ("Has a lead-acid compartment vents of 1.7 in2 high and low?", f"{floats(plan.vent_area, 'inch**2'):.3g} in2 each",
               "1.7 in2 each", enough, "Hydrogen rises and must find an opening above, fresh air one below.",
               "Cut two openings of 1.7 in2 free area, one near the top, one near the bottom.", code, "gas")  # fmt: skip
        if plan.heater.magnitude or plan.fan.magnitude:
            yield ("Can no contact, thermostat or fan motor spark in the gas of a lead-acid bank?", plan.contacts, "outside or sealed",
                   plan.contacts == "outside or sealed", "Hydrogen explodes from 4 % in air, and a thermostat sparks when it opens.",
                   "Contacts and thermostat outside the compartment or sealed for gas; a fan that blows fresh air in, its motor outside.",
                   code, "gas")  # fmt: skip


def _heater_checks(plan, coach):
    """Rules of the heater, where there is one, as `_place_checks`."""
    current = energy_topic.current_from_power(plan.heater, coach.capacity.nominal_voltage if plan.heater_side == "dc"
                                              else Quantity(120.0, "V"))  # fmt: skip
    practice = Source(PRACTICE, PRACTICE)
    least = current * FUSE_SHARE
    fused = plan.heater_fuse is not None and least <= plan.heater_fuse <= max(3 * current, Quantity(5.0, "A"))
    yield ("Has the heater a fuse of its own that fits it?", "none" if plan.heater_fuse is None else show(plan.heater_fuse),
           f"{show(least)} to {show(max(3 * current, Quantity(5.0, 'A')))}", fused, "A heater's short circuit is a fire in foam.",
           f"A fuse at the source, next size above {show(least)}.", practice, "fire")  # fmt: skip
    cut = plan.heater_cut_out
    lowest = max(floats(plan.heater_off, "degC"), floats(plan.highest, "degC")) + CUT_OUT_ABOVE
    sound = cut is not None and lowest - 1e-6 <= floats(cut, "degC") <= floats(HOTTEST_CUT_OUT, "degC") + 1e-6
    yield ("Does a cut-out of its own stop the heater if its thermostat sticks?", "none" if cut is None else show(cut),
           f"{show(Quantity(lowest, 'degC'))} to {show(HOTTEST_CUT_OUT)}", sound,
           "Contacts weld shut. A second, independent one must open, and not on a plain hot day.",
           "A thermal cut-out on the heater's surface, in series, one-shot or reset by hand.", practice, "fire")  # fmt: skip
    if plan.heater_kind == "on the modules":
        yield ("Does the modules' maker allow heating pads?", plan.pads, "allowed", plan.pads == "allowed",
               "A pad makes one face hot while the middle is cold, and may void the listing.",
               "Ask the maker in writing, or heat the air of the box.", practice, "fire")  # fmt: skip


def _circuit_checks(plan, coach):
    """Whether heater and fan stand in the list of circuits, as `_place_checks`: what is not there got no conductor and no fuse."""
    practice = Source(PRACTICE, PRACTICE)
    amps = energy_topic.current_from_power(plan.heater, coach.capacity.nominal_voltage or Quantity(12.8, "V"))
    for name, there, least, fuse, guards in (
        ("cell heater", plan.heater.magnitude and plan.heater_side == "dc", amps, plan.heater_fuse, "fire"),
        ("compartment fan", plan.fan.magnitude, Quantity(0.0, "A"), None, ""),
    ):
        if not there:
            continue
        one = next((one for one in coach.circuits if one.to.casefold() == name and one.existing != "remove"), None)
        wanted = f'a circuit with to = "{name}"' + (f", {show(least)} or more" if guards else "")
        wanted += f", its fuse {show(fuse)} as in [heating]" if fuse is not None else ""
        found = "none" if one is None else f"{one.name}, {show(one.current)}" + ("" if one.fuse is None else f", fuse {show(one.fuse)}")
        good = one is not None and one.current >= 0.999 * least and (None in (fuse, one.fuse) or one.fuse == fuse)
        yield (f"Has the {name} a circuit in the wire schedule?", found, wanted, bool(good),
               "What no schedule holds gets its wire and fuse by chance.", "Add it to the circuits, from the panel or bus that feeds it.",
               practice, guards)  # fmt: skip


def _burns(coach):
    """Whether the coach has a heater that burns: a piece of equipment, or a furnace among its loads or circuits."""
    fed = [one.name for one in coach.loads] + [f"{one.name} {one.to}" for one in coach.circuits if one.existing != "remove"]
    return (any(one.kind == "heater" and one.existing != "remove" for one in coach.equipment)
            or any("furnace" in one.lower() for one in fed))  # fmt: skip


def checks(coach) -> list:
    """The rules of this topic held against a coach: a list of Check.

    Parameters
    ----------
    coach : the coach file

    Source: each check names its own.
    """
    known = _known(coach)
    plan, bank, built, lithium, module = known.plan, known.bank, known.built, known.lithium, known.bank.module
    night, day = night_of(coach), summer_of(coach)
    has_heater, sheet = bool(plan.heater.magnitude), Source("the module's data sheet", "invented")
    model, practice = Source("two-node model of the box", "derived"), Source(PRACTICE, PRACTICE)
    answers = [
        rules.at_least("Are the cells warm enough to be charged through the coldest night?", night.lowest,
                       _celsius(module.coldest_charge),
                       why="Lithium plates on a cold cell under charge." if lithium else "An empty lead-acid cell freezes.",
                       mend="A heater, more insulation, or a place in the heated room.", source=sheet,
                       guards="fire" if lithium else "", topic="heating"),
        rules.at_least("Do the cells stay as warm in use as lesson 02 counts on?", night.lowest, _celsius(bank.coldest),
                       why="A colder bank holds less than it was sized for.", mend="A warmer set point, or a larger bank.",
                       source=model, topic="heating"),
        rules.at_most("Do the cells stay cool enough on the hottest day?", day.highest, _celsius(plan.highest),
                      why="Heat ages cells: each 18 °F about doubles the calendar's share (from memory).",
                      mend="Shade, air through the compartment, or waste heat moved elsewhere.", source=model, topic="heating"),
        rules.at_least("Does the restraint hold as many times the bank's weight as was asked?", plan.restraint.to("force_pound"),
                       restraint_force(built.mass, plan.restraint_g).to("force_pound"),
                       why="In a crash a loose battery becomes a hammer.", mend="Stronger straps, more bolts to structure.",
                       source=Source(f"Newton's second law; {plan.restraint_g:g} times is the reader's choice "
                                     "(20 fore and aft is often named; 33 CFR 183.420, for boats, asks less than 2)", PRACTICE),
                       topic="heating"),
    ]  # fmt: skip
    if has_heater:
        low, _ = _surroundings(coach, plan)
        box = box_of(coach)
        on = floats(plan.heater_on, "degC")
        lost = (box.walls + box.vents(on, floats(low, "degC"))) * (on - floats(low, "degC"))
        share = floats(_at_battery(coach, plan, night.energy) / _usable(coach), "")
        answers += [
            rules.at_least("Does the heater give more than the box loses in the coldest hour?", plan.heater.to("W"),
                           Quantity(max(0.0, lost), "W"), why="A heater that runs all the time and still loses ground holds nothing.",
                           mend="A larger heater, or less to lose.", source=model, topic="heating"),
            rules.at_most("Can the bank pay for its own warmth, share of the usable bank in 24 hours?", Quantity(100 * share, "percent"),
                          Quantity(100 * plan.heater_share, "percent"), why="What warms the cells does not light the lamps.",
                          mend="More insulation, a lower set point (never below the coldest charge + 6 °F), or the heated room. "
                               "Never close a vent of lead-acid.", source=practice, topic="heating"),
            rules.at_least("Does the heater switch on well above the coldest charge?", _celsius(plan.heater_on),
                           _celsius(Quantity(floats(module.coldest_charge, "degC") + floats(ROOM_ABOVE_LIMIT, "K"), "degC")),
                           why="One sensor does not see the coldest cell.", mend="A set point of 38 °F for a limit of 32 °F.",
                           source=practice, topic="heating"),
        ]  # fmt: skip
    if plan.fan.magnitude or plan.waste_heat.magnitude:
        altitude, hottest = _place_year(coach).altitude, weather.extremes(coach.place.weather or "Denver").hottest
        wanted = fan_for_rise(plan.waste_heat, plan.allowed_rise, Quantity(altitude, "m"), hottest)
        flow = Quantity(float(day.flow.max()), "m**3/s").to("cfm")
        tight = floats(plan.waste_heat, "W") / box_of(coach).walls <= floats(plan.allowed_rise, "K")
        answers.append(rules.holds(
            "Is waste heat carried off with the allowed rise?", f"{show(flow)} of air", f"{show(wanted)} for {show(plan.waste_heat)}",
            true=tight or flow >= wanted, why="Heat that stays ages cells and derates electronics.",
            mend="A fan, larger openings, or the source of the heat moved elsewhere.", source=Source("first law", "derived"),
            topic="heating"))  # fmt: skip
    if _burns(coach):
        alarm = any(one.purpose == "carbon monoxide alarm" and one.existing != "remove" for one in coach.circuits)
        answers.append(rules.holds(
            "Is there a carbon monoxide alarm beside a heater that burns?", "yes" if alarm else "none in the list of circuits", "yes",
            true=alarm, why="Carbon monoxide kills without a smell.", mend="An alarm that no switch can silence.",
            source=Source("NFPA 1192", "from memory"), guards="gas", topic="heating"))  # fmt: skip
    rows = [*_place_checks(plan, lithium), *(_heater_checks(plan, coach) if has_heater else ()), *_circuit_checks(plan, coach)]
    answers += [rules.holds(asked, found, limit, true=true, why=why, mend=mend, source=source, guards=guards, topic="heating")
                for asked, found, limit, true, why, mend, source, guards in rows]  # fmt: skip
    return answers
