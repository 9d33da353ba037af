"""Sun: an array on the roof, what it brings by month and hour, and what its wires and controller must stand.

What falls on the modules comes from `weather`. Here it becomes watts: light that is reflected or shaded is lost, a warm
module gives less, every loss is a share of what is left, and the controller passes on what it can. The voltages are
the dangerous part: a string is at its highest on the coldest morning, before it has given anything.
"""

import dataclasses
import functools
import math
import tomllib
from typing import Annotated

import numpy

from coachwork import bootstrap, charging, sections, weather
from coachwork import capacity as capacity_topic
from coachwork import checks as rules
from coachwork import energy as energy_topic
from coachwork.quantities import (
    ABOVE_ZERO,
    Angle,
    Area,
    Count,
    Current,
    Energy,
    Force,
    Fraction,
    HeatTransfer,
    InputError,
    Irradiance,
    Number,
    Power,
    Price,
    PriceOfEnergy,
    Quantity,
    SharePerKelvin,
    Temperature,
    Time,
    Voltage,
    WindSpeed,
    floats,
    formula,
    show,
)
from coachwork.sources import Source, table

PRACTICE = "common practice, no source"
FULL_SUN = Quantity(1000.0, "W/m**2")  # standard test conditions, IEC 60904-3
STANDARD_CELL = Quantity(298.15, "K")  # 25 °C, the same
NOMINAL_SUN, NOMINAL_AIR = Quantity(800.0, "W/m**2"), Quantity(293.15, "K")  # where the NOCT is measured
FAIMAN_STILL = Quantity(25.0, "W/(m**2*K)")
FAIMAN_WIND = Quantity(6.84, "W*s/(m**3*K)")
AIR_DENSITY_HALF = Quantity(0.613, "kg/m**3")
BRIGHT_HOURS = 1.25  # NEC 690.8(A)(1): sun above full sun, for three hours and more
CONTINUOUS = 1.25  # NEC 690.8(B): a current that flows for three hours and more
PANEL_VOLTAGE = Quantity(12.8, "V")  # of a bank, where it does not matter which
STORED = {capacity_topic.LITHIUM: 0.95, capacity_topic.AGM: 0.85, capacity_topic.FLOODED: 0.80}
# Watt-hours out over watt-hours in, by chemistry: common practice, no source.

# ------------------------------------------------------------------------------- single formulas


@formula
def day_energy(
    rated_power: Power, peak_sun_hours: Time, power_coefficient: SharePerKelvin, cell_temperature: Temperature,
    losses: Fraction,
) -> Energy:
    """Energy that an array gives in a day.

    Parameters
    ----------
    rated_power : of all its modules, by their plates
    peak_sun_hours : of the day, on the plane of the modules
    power_coefficient : change of the power with temperature, a negative share for each kelvin
    cell_temperature : mean of the day, weighted by sun
    losses : all other losses together (`combined_loss`)

    Source: PVWatts version 5 manual, NREL/TP-6A20-62641 (its power formula, summed over a day).
    """
    warm = 1 + power_coefficient * (cell_temperature - STANDARD_CELL)
    return rated_power * peak_sun_hours * warm * (1 - losses)


@formula
def module_power(
    irradiance: Irradiance, rated_power: Power, power_coefficient: SharePerKelvin, cell_temperature: Temperature
) -> Power:
    """Power of a module in a given light at a given cell temperature.

    Parameters
    ----------
    irradiance : light on its plane
    rated_power : by its plate, which means in full sun (1000 W/m2) at a cell temperature of 25 °C
    power_coefficient : change of the power with temperature, a negative share for each kelvin
    cell_temperature : of its cells, not of the air

    Source: PVWatts version 5 manual, NREL/TP-6A20-62641.
    """
    return irradiance / FULL_SUN * rated_power * (1 + power_coefficient * (cell_temperature - STANDARD_CELL))


@formula
def cell_temperature_of_sheet(irradiance: Irradiance, ambient: Temperature, noct: Temperature) -> Temperature:
    """Cell temperature from the data sheet's nominal operating cell temperature. For a rack in the open, not for a roof.

    Parameters
    ----------
    irradiance : light on the module
    ambient : air temperature
    noct : cell temperature in 800 W/m2 and air of 20 °C

    Source: Ross 1980.
    """
    return ambient + (noct - NOMINAL_AIR) * (irradiance / NOMINAL_SUN)


@formula
def cell_temperature_by_wind(irradiance: Irradiance, ambient: Temperature, wind_speed: WindSpeed) -> Temperature:
    """Module temperature on a rack in the open, with the wind counted.

    Parameters
    ----------
    irradiance : light on the module
    ambient : air temperature
    wind_speed : at the module

    Source: Faiman 2008, with U0 = 25 W/(m2 K) and U1 = 6.84 W s/(m3 K).
    """
    return ambient + irradiance / (FAIMAN_STILL + FAIMAN_WIND * wind_speed)


@formula
def cell_temperature_by_heat_loss(
    irradiance: Irradiance, ambient: Temperature, heat_loss: Annotated[HeatTransfer, ABOVE_ZERO],
    efficiency: Fraction, absorptivity: Fraction = 0.9,
) -> Temperature:
    """Cell temperature where the heat loss of the mounting is known.

    Parameters
    ----------
    irradiance : light on the module
    ambient : air temperature
    heat_loss : about 29 W/(m2 K) in the open, about 15 on a roof without air underneath
    efficiency : share of the light that becomes electricity
    absorptivity : share of the light that it takes in

    Source: balance of heat, in the linear form used by open PV performance models.
    """
    return ambient + irradiance * absorptivity * (1 - efficiency) / heat_loss


def cell_temperature(
    irradiance: Irradiance, ambient: Temperature, wind_speed: WindSpeed, mounting: str
) -> Temperature:
    """Cell temperature by the way in which the module is mounted.

    Parameters
    ----------
    irradiance : light on the module
    ambient : air temperature
    wind_speed : at 10 m height, as a weather file states it
    mounting : one of those in data/tables/sandia_thermal.csv

    Source: King, Boyson and Kratochvil, SAND2004-3535, eq. 11 and 12 and Table 1.
    """
    row = table("sandia_thermal").row(mounting=mounting)
    found = _cell_degrees(floats(irradiance, "W/m**2"), floats(ambient, "degC"), floats(wind_speed, "m/s"), row)
    return Quantity(float(found), "degC")


def _cell_degrees(light, air, wind, row):
    """Cell temperature in °C from floats or arrays and a row of the table."""
    return air + light * numpy.exp(row["a"] + row["b"] * wind) + light / 1000 * floats(row["rise"], "K")


def combined_loss(losses: list[Fraction]) -> Fraction:
    """Several losses together: each takes its share of what the others left, so they multiply and do not add.

    Parameters
    ----------
    losses : shares lost, one by one

    Source: PVWatts version 5 manual, NREL/TP-6A20-62641.
    """
    if not losses:
        raise InputError("losses", "an empty list is given", "at least one share", '["2 %", "3 %"]')
    return 1 - math.prod(1 - loss for loss in losses)


LOSS_SETS = {"PVWatts": "share", "coach": "for a coach"}


def loss_table(losses_for: str = "coach") -> dict:
    """The losses one by one, as name to share.

    Parameters
    ----------
    losses_for : "PVWatts" for a house, as printed, or "coach", what this workbook proposes

    Source: data/tables/pv_losses.csv.
    """
    if losses_for not in LOSS_SETS:
        raise InputError("losses for", f'"{losses_for}" is given', "one of " + ", ".join(LOSS_SETS), '"coach"')
    return {row["loss"]: floats(row[LOSS_SETS[losses_for]], "") for row in table("pv_losses").rows}


WEIGHTS = {
    "EU": {0.05: 0.03, 0.10: 0.06, 0.20: 0.13, 0.30: 0.10, 0.50: 0.48, 1.00: 0.20},
    "CEC": {0.10: 0.04, 0.20: 0.05, 0.30: 0.12, 0.50: 0.21, 0.75: 0.53, 1.00: 0.05},
}


def weighted_efficiency(rule: str, efficiencies: list[Fraction]) -> Fraction:
    """One efficiency for a device that mostly runs at part load, such as a controller under a cloudy sky.

    Parameters
    ----------
    rule : "EU" (loads of 5, 10, 20, 30, 50 and 100 %) or "CEC" (10, 20, 30, 50, 75 and 100 %)
    efficiencies : at those loads, in that order

    Source: European efficiency, Joint Research Centre Ispra; CEC: Sandia guideline 2005, p. 17.
    """
    if rule not in WEIGHTS:
        raise InputError("rule", f'"{rule}" is given', "one of " + ", ".join(WEIGHTS), '"EU"')
    weights = WEIGHTS[rule].values()
    if len(efficiencies) != len(weights):
        raise InputError("efficiencies", f"{len(efficiencies)} are given", f"{len(weights)} of them")
    return sum(weight * efficiency for weight, efficiency in zip(weights, efficiencies))


@formula
def power_through_switch(current: Current, bank_voltage: Voltage) -> Power:
    """Power that a PWM controller, which is a switch, passes on: the module's amps at the bank's volts.

    Parameters
    ----------
    current : of the array at its maximum power
    bank_voltage : at the same moment

    Holds while the array's voltage is above the bank's. Source: definition of power, P = V I.
    """
    return bank_voltage * current


@formula
def power_through_tracker(voltage: Voltage, current: Current, efficiency: Fraction) -> Power:
    """Power that an MPPT controller passes on: all that the array gives, less its own loss.

    Parameters
    ----------
    voltage, current : of the array at its maximum power
    efficiency : of the controller

    Source: definitions of power and efficiency.
    """
    return efficiency * voltage * current


@formula
def controller_current(
    rated_power: Power, efficiency: Fraction, bank_voltage: Annotated[Voltage, ABOVE_ZERO]
) -> Current:
    """Amps that an MPPT controller would give to the bank with the array at its rated power.

    Parameters
    ----------
    rated_power : of the array
    efficiency : of the controller
    bank_voltage : low is worst; zero is refused

    Source: definition of power, I = P / V.
    """
    return efficiency * rated_power / bank_voltage


@formula
def payback_hours(
    price_paid: Price, gain: Annotated[Power, ABOVE_ZERO], energy_price: Annotated[PriceOfEnergy, ABOVE_ZERO]
) -> Time:
    """Hours after which a device that brings more power has paid for itself.

    Parameters
    ----------
    price_paid : what it costs more
    gain : power that it brings more; zero is refused
    energy_price : what a kilowatt-hour is worth; zero is refused

    Source: arithmetic.
    """
    return price_paid / (gain * energy_price)


@formula
def cold_voltage(
    open_circuit_voltage: Voltage, series: Count, open_circuit_coefficient: SharePerKelvin, coldest: Temperature
) -> Voltage:
    """Voltage of a string on the coldest morning, by the module's own coefficient.

    The cells are as cold as the air until the sun has warmed them, and nothing flows yet: that is when it is highest.

    Parameters
    ----------
    open_circuit_voltage : of one module at 25 °C
    series : modules in the string
    open_circuit_coefficient : change of that voltage with temperature, a negative share for each kelvin
    coldest : lowest air temperature to expect

    Source: NEC (NFPA 70) 2023, 690.7(A)(1).
    """
    return series * open_circuit_voltage * (1 + open_circuit_coefficient * (coldest - STANDARD_CELL))


def cold_factor(coldest: Temperature) -> Number:
    """Factor on the open-circuit voltage for the cold, where the module's own coefficient is not known.

    Parameters
    ----------
    coldest : lowest air temperature to expect

    For crystalline silicon. Errors: InputError below -40 °C, where the table ends.
    Source: NEC (NFPA 70) 2023, Table 690.7(A).
    """
    degrees = floats(coldest, "degC")
    for row in table("nec_690_7_a").rows:
        if degrees >= floats(row["down to"], "degC") - 1e-9:
            return row["factor"]
    raise InputError("coldest", f"{show(coldest)} is given", "a temperature within the table, which ends at -40 °C",
                     '"-4 degF"', "use the module's own coefficient")  # fmt: skip


@formula
def cold_voltage_of_table(open_circuit_voltage: Voltage, series: Count, coldest: Temperature) -> Voltage:
    """Voltage of a string on the coldest morning, by the table of the code.

    Parameters
    ----------
    open_circuit_voltage : of one module at 25 °C
    series : modules in the string
    coldest : lowest air temperature to expect

    Source: NEC (NFPA 70) 2023, 690.7(A)(2).
    """
    return series * open_circuit_voltage * cold_factor(coldest)


@formula
def hot_voltage(
    voltage: Voltage, series: Count, power_coefficient: SharePerKelvin, cell_temperature: Temperature
) -> Voltage:
    """Working voltage of a string when it is hot: it must still stand above the bank.

    Parameters
    ----------
    voltage : of one module at its maximum power
    series : modules in the string
    power_coefficient : of the module's power; the voltage falls nearly as fast, because the current hardly changes
    cell_temperature : of the hot cells

    Source: common practice, no source (the power's coefficient stands for the voltage's).
    """
    return series * voltage * (1 + power_coefficient * (cell_temperature - STANDARD_CELL))


@formula
def highest_array_current(short_circuit_current: Current, parallel: Count) -> Current:
    """Highest current that the conductors from an array carry for long.

    Parameters
    ----------
    short_circuit_current : of one module in full sun
    parallel : strings side by side

    A cloud's bright edge, cold air and snow bring more than full sun: hence 1.25.
    Source: NEC (NFPA 70) 2023, 690.8(A)(1).
    """
    return BRIGHT_HOURS * short_circuit_current * parallel


@formula
def array_ampacity(short_circuit_current: Current, parallel: Count) -> Current:
    """Ampacity and fuse for the conductors from an array: 1.25 for bright hours, and 1.25 for a continuous current.

    Parameters
    ----------
    short_circuit_current : of one module in full sun
    parallel : strings side by side

    Source: NEC (NFPA 70) 2023, 690.8(A)(1) and (B)(1).
    """
    return CONTINUOUS * BRIGHT_HOURS * short_circuit_current * parallel


@formula
def back_current(short_circuit_current: Current, parallel: Annotated[Count, ABOVE_ZERO]) -> Current:
    """Current that the other strings can drive back into one that has failed.

    Parameters
    ----------
    short_circuit_current : of one module in full sun
    parallel : strings side by side

    Above the module's largest series fuse every string needs a fuse of its own. Source: NEC (NFPA 70) 2023, 690.9(A).
    """
    return BRIGHT_HOURS * short_circuit_current * (parallel - 1)


@formula
def wind_uplift(wind_speed: WindSpeed, surface: Area) -> Force:
    """Force of the wind that lifts a module.

    Parameters
    ----------
    wind_speed : of the air past the coach, its own speed and a head wind together
    surface : of the module

    The whole pressure of the wind is taken to lift it: air under its front edge does about that (common practice, no
    source). Source: velocity pressure q = 0.613 v², ASCE 7 eq. 26.10-1 in SI units, without its factors.
    """
    return AIR_DENSITY_HALF * wind_speed**2 * surface


@formula
def rated_power_needed(
    energy: Energy, peak_sun_hours: Annotated[Time, ABOVE_ZERO], losses: Fraction
) -> Power:
    """Plate watts of an array for a day's energy.

    Parameters
    ----------
    energy : that must reach the bank in a day
    peak_sun_hours : of the day, on the plane of the modules; zero is refused
    losses : all losses together, heat and controller among them

    Source: `day_energy`, solved for the power.
    """
    return energy / (peak_sun_hours * (1 - losses))


# ------------------------------------------------------------------------------- an array, hour by hour


@dataclasses.dataclass(frozen=True)
class Array:
    """An array with its controller: what `output` needs to know.

    module, controller, obstacles : data sheets as in a coach file. series, parallel : how the modules are joined.
    mounting : a row of data/tables/sandia_thermal.csv. losses : all losses but reflection, heat, shade of
    obstacles and the controller, together.
    """

    module: sections.SolarModule
    controller: sections.SolarController
    series: int
    parallel: int
    tilt: Quantity
    azimuth: Quantity
    mounting: str
    losses: float
    obstacles: tuple = ()

    @property
    def count(self):
        """How many modules there are."""
        return self.series * self.parallel

    @property
    def rated_power(self) -> Power:
        """Watts of all plates together."""
        return self.module.power * self.count

    @property
    def surface(self) -> Area:
        """Area of all modules together."""
        return (self.module.length * self.module.width * self.count).to("m**2")


@dataclasses.dataclass(frozen=True, eq=False)
class Output:
    """What an array brings, by hours of a year, shape (8760,), W.

    ideal : with cells at 25 °C and nothing lost. array : at the controller's terminals. bank : into the bank.
    cut : what the controller could not pass on for its current limit. shade : share of the light that obstacles leave.
    cell : cell temperature, °C.
    """

    ideal: numpy.ndarray
    array: numpy.ndarray
    bank: numpy.ndarray
    cut: numpy.ndarray
    shade: numpy.ndarray
    cell: numpy.ndarray


def reflected(plane, tilt: float) -> numpy.ndarray:
    """Light that gets through the glass, W/m2 by hours: at a low angle the glass throws it back.

    Parameters
    ----------
    plane : a weather.Plane
    tilt : of the plane, degrees

    Source: Fresnel's laws for a sheet of glass (De Soto et al. 2006), light of sky and ground as a mean over all
    angles (Marion 2017), as pvlib calculates them.
    """
    return plane.beam * _through_glass(plane) + plane.sky * _diffuse(tilt)["sky"] + plane.ground * _diffuse(tilt)["ground"]


@functools.lru_cache(maxsize=32)
def _through_glass(plane):
    from pvlib.iam import physical

    return numpy.nan_to_num(physical(plane.incidence))


@functools.lru_cache(maxsize=256)
def _diffuse(tilt):
    from pvlib.iam import marion_integrate, physical

    fine = 60  # steps of the integral: within 0.001 of three times as many, and quick enough for a slider
    ground = float(marion_integrate(physical, tilt, "ground", num=fine)) if tilt else 0.0
    return {"sky": float(marion_integrate(physical, tilt, "sky", num=fine)), "ground": ground}


def lost_to_shadow(obstacle, module, zenith: numpy.ndarray, sun_azimuth: numpy.ndarray) -> numpy.ndarray:
    """Parts of each module in reach that an obstacle's shadow touches, by hours: whole numbers up to its substrings.

    Parameters
    ----------
    obstacle, module : data sheets as in a coach file
    zenith, sun_azimuth : where the sun stands, degrees, as `weather.sun_track` gives it

    The shadow of a box on a level roof is as long as its height over the tangent of the sun's height. It falls on
    the modules when the sun stands on the obstacle's side and the band of shadow, as wide as the obstacle, meets
    them. A part that is touched is taken as lost whole: the lower bound. Source: plane geometry.
    """
    height = numpy.radians(numpy.clip(90 - zenith, 0.1, 90))
    turn = numpy.radians((sun_azimuth - floats(obstacle.direction, "deg") + 180) % 360 - 180)
    reach = floats(obstacle.height, "m") / numpy.tan(height)
    distance = floats(obstacle.distance, "m")
    faces = numpy.abs(turn) < math.pi / 2 - 1e-6
    along = numpy.where(faces, reach * numpy.cos(turn), 0.0)
    aside = numpy.where(faces, distance * numpy.tan(numpy.where(faces, turn, 0.0)), numpy.inf)
    meets = numpy.abs(aside) <= floats(obstacle.width + module.length, "m") / 2
    covered = numpy.clip((along - distance) / floats(module.width, "m"), 0, 1)
    return numpy.where(meets & (zenith < 90), numpy.ceil(covered * module.substrings - 1e-9), 0.0)


def shade(array, year, plane) -> numpy.ndarray:
    """Share of an array's power that obstacles leave, by hours.

    Parameters
    ----------
    array : an Array
    year : a weather.Year
    plane : light on the array, a weather.Plane

    A module with bypass diodes gives what its lit parts give, or what the light of the sky alone gives if that is
    more. One without them holds its whole string to the light of the sky. Source: common practice, no source.
    """
    left = numpy.ones(weather.HOURS)
    total = plane.total
    dim = numpy.divide(total - plane.beam, total, out=numpy.ones_like(total), where=total > 0)
    for obstacle in array.obstacles:
        touched = lost_to_shadow(obstacle, array.module, *weather.sun_track(year)) / array.module.substrings
        reached = min(obstacle.modules, array.count)
        if array.module.substrings == 1:
            reached = min(array.count, math.ceil(reached / array.series) * array.series)
        kept = numpy.maximum(1 - touched, numpy.where(touched > 0, dim, 1.0))
        left -= (1 - kept) * reached / array.count
    return numpy.maximum(left, numpy.minimum(dim, 1.0))


def shade_cost(array, year, obstacle) -> dict:
    """Share of a year's energy that one obstacle costs, with the modules' bypass diodes and without, in percent.

    Parameters
    ----------
    array : an Array; its own obstacles are left out
    year : a weather.Year
    obstacle : as in a coach file

    Source: `output`.
    """
    clear = dataclasses.replace(array, obstacles=())
    whole = output(clear, year, PANEL_VOLTAGE).array.sum()
    found = {}
    for name, substrings in (("with bypass diodes", max(2, array.module.substrings)), ("without", 1)):
        module = array.module.model_copy(update={"substrings": substrings})
        shaded = dataclasses.replace(clear, module=module, obstacles=(obstacle,))
        found[name] = Quantity(100 * float(1 - output(shaded, year, PANEL_VOLTAGE).array.sum() / whole), "percent")
    return found


def output(array, year, bank_voltage: Voltage) -> Output:
    """What an array brings, by hours of a typical year.

    Parameters
    ----------
    array : an Array
    year : a weather.Year
    bank_voltage : of the bank while it is charged

    Source: weather.on_plane, `reflected`, King et al. (SAND2004-3535) for the cell, PVWatts version 5 for the power,
    then the controller.
    """
    tilt = float(floats(array.tilt, "deg"))
    plane = weather.on_plane(year, array.tilt, array.azimuth)
    row = table("sandia_thermal").row(mounting=array.mounting)
    cell = _cell_degrees(plane.total, year.temperature, year.wind, row)
    left = shade(array, year, plane)
    light = reflected(plane, tilt) * left
    ideal = plane.total / 1000 * floats(array.rated_power, "W")
    warm = 1 + floats(array.module.power_coefficient, "1/K") * (cell - 25)
    given = numpy.clip(light / 1000 * floats(array.rated_power, "W") * warm * (1 - array.losses), 0, None)
    volts, sheet = floats(bank_voltage, "V"), array.controller
    if sheet.kind == "PWM":
        amps = light / 1000 * floats(array.module.current, "A") * array.parallel * (1 - array.losses)
        works = floats(array.module.voltage, "V") * array.series * warm >= volts + floats(sheet.headroom, "V")
        passed = numpy.where(works, amps * volts, 0.0) * sheet.efficiency
    else:
        passed = given * sheet.efficiency
    most = floats(sheet.output_current, "A") * volts
    bank = numpy.minimum(passed, most)
    return Output(ideal, given, bank, passed - bank, left, cell)


# ------------------------------------------------------------------------------- sun, load and bank together


@dataclasses.dataclass(frozen=True, eq=False)
class Run:
    """Bank, load and sun hour by hour, shape (n,).

    stored : Wh left above the floor at the end of each hour. missing : Wh that the bank could not give in it.
    spilled : Wh that the sun offered and the full bank did not take.
    """

    stored: numpy.ndarray
    missing: numpy.ndarray
    spilled: numpy.ndarray

    def carried(self):
        """Share of the days (24 hours each) in which nothing was missing, a float."""
        return float((self.missing.reshape(-1, 24).max(axis=1) <= 1e-9).mean())


def run(load: numpy.ndarray, charge: numpy.ndarray, usable: float, stored_share: float, start: float = 1.0) -> Run:
    """A bank between sun and load, hour by hour. Where it is empty another source carries the load for that hour.

    Parameters
    ----------
    load, charge : W at the bank by hours, shape (n,), n a multiple of 24
    usable : Wh between full and the floor
    stored_share : Wh out over Wh in; what is used at once does not pay it
    start : how full the bank is at the start, 0 to 1

    Source: balance of energy.
    """
    if len(load) != len(charge) or len(load) % 24:
        raise ValueError(f"{len(load)} hours of load and {len(charge)} of charge; whole days of both are wanted")
    level, net = start * usable, charge - load
    stored, missing, spilled = numpy.zeros(len(net)), numpy.zeros(len(net)), numpy.zeros(len(net))
    for hour, watts in enumerate(net.tolist()):
        level += watts * stored_share if watts > 0 else watts
        if level < 0:
            missing[hour], level = -level, 0.0
        elif level > usable:
            spilled[hour], level = (level - usable) / stored_share, usable
        stored[hour] = level
    return Run(stored, missing, spilled)


def load_by_hours(coach, margin: float = 0.0) -> numpy.ndarray:
    """Watts at the bank by hours of a year, each season with its own day, shape (8760,).

    Parameters
    ----------
    coach : the coach file
    margin : share added

    Months that stand in no season have the habits of the design season. Source: energy.day.
    """
    whole = energy_topic.study(coach)
    by_month = {month: season.name for season in coach.seasons for month in season.months}
    hourly = {name: day.at_battery.values.reshape(24, -1).mean(axis=1) for name, day in whole.days.items()}
    days = [hourly[by_month.get(month, whole.design_season)]
            for month, count in enumerate(weather.MONTH_DAYS, 1) for _ in range(count)]  # fmt: skip
    return numpy.concatenate(days) * (1 + margin)


@functools.lru_cache(maxsize=64)
def _per_watt(place, tilt, azimuth, mounting, losses):
    """W into the bank of an array of 1 W by hours, its controller large enough."""
    module = module_named(MODULE)
    array = Array(module, controller_named(LARGE), 1, 1, Quantity(tilt, "deg"), Quantity(azimuth, "deg"), mounting, losses)
    return output(array, weather.year(place), PANEL_VOLTAGE).bank / floats(module.power, "W")


def charge_by_hours(place: str, rated_power: Power, tilt: Angle, azimuth: Angle, losses: Fraction) -> numpy.ndarray:
    """W into the bank by hours of a year, shape (8760,), of an array of any size with a controller large enough.

    Parameters
    ----------
    place : as for `weather.year`
    rated_power : by the plates
    tilt, azimuth : of the modules
    losses : all but reflection, heat and controller together; those are in it

    Source: `output`, with the invented 200 W module a hand's breadth above the roof.
    """
    one = _per_watt(place, float(floats(tilt, "deg")), float(floats(azimuth, "deg")), MOUNTING, float(losses))
    return one * floats(rated_power, "W")


@dataclasses.dataclass(frozen=True, eq=False)
class Week:
    """Seven days: day of the year on which they begin, and W of charge and load by hours, shape (168,); the Run."""

    start: int
    charge: numpy.ndarray
    load: numpy.ndarray
    run: Run


WEEKS = ("darkest", "middle", "brightest")


def week(load: numpy.ndarray, charge: numpy.ndarray, usable: float, stored_share: float, month: int, which: str) -> Week:
    """A week of a month with bank, load and sun; it begins with a full bank.

    Parameters
    ----------
    load, charge : W at the bank by hours of a year, shape (8760,)
    usable, stored_share : as for `run`
    month : 1 to 12, in which the week lies whole
    which : "darkest", "middle" or "brightest" by the week's charge

    Source: `run`.
    """
    if which not in WEEKS:
        raise InputError("which", f'"{which}" is given', "one of " + ", ".join(WEEKS), '"darkest"')
    days = numpy.flatnonzero(weather.hours_of([month]).reshape(-1, 24)[:, 0])
    daily = charge.reshape(-1, 24).sum(axis=1)
    order = sorted(days[:-6], key=lambda day: daily[day : day + 7].sum())
    start = int(order[{"darkest": 0, "middle": len(order) // 2, "brightest": -1}[which]])
    hours = slice(24 * start, 24 * (start + 7))
    return Week(start + 1, charge[hours], load[hours], run(load[hours], charge[hours], usable, stored_share))


# ------------------------------------------------------------------------------- the three doors

EQUIPMENT = bootstrap.ROOT / "data" / "equipment" / "solar.toml"
PLACE, MODULE, WANTED = "Denver", "Module 200 W, invented", 0.8
MOUNTING = "close to the roof, glass both sides"
SOUTH, HOT_CELL = Quantity(180.0, "deg"), Quantity(343.15, "K")
LARGE = "Controller MPPT 90 A, invented"
MOST_MODULES = 12
CLOUDY_DAYS = 2
ROOF_TO_CONTROLLER, CONTROLLER_TO_BUS = "Array to controller", "Controller to positive bus"
CIRCUIT_LENGTHS = {ROOF_TO_CONTROLLER: Quantity(16.0, "ft"), CONTROLLER_TO_BUS: Quantity(4.0, "ft")}


@functools.cache
def on_offer() -> tuple:
    """The invented modules and controllers of data/equipment/solar.toml, as two tuples of data sheets.

    Source: invented.
    """
    sheets = tomllib.loads(EQUIPMENT.read_text(encoding="utf-8"))
    return (tuple(map(sections.SolarModule.model_validate, sheets["module"])),
            tuple(map(sections.SolarController.model_validate, sheets["controller"])))  # fmt: skip


def module_named(name: str):
    """The data sheet of an invented module. name : as in data/equipment/solar.toml. Source: invented."""
    return _named(on_offer()[0], name)


def controller_named(name: str):
    """The data sheet of an invented controller. name : as in data/equipment/solar.toml. Source: invented."""
    return _named(on_offer()[1], name)


def _named(sheets, name):
    for sheet in sheets:
        if sheet.name == name:
            return sheet
    raise InputError("name", f'"{name}" is given', "one of " + ", ".join(sheet.name for sheet in sheets))


@dataclasses.dataclass(frozen=True)
class MonthRow:
    """One month: mean day of sun, of what reaches the bank, of what the coach takes; and how much of it that covers."""

    month: str
    sun: Time
    charge: Energy
    need: Energy
    covered: Fraction


@dataclasses.dataclass(frozen=True, eq=False)
class Study:
    """Everything this topic says of a coach.

    year : its typical year. array : modules, controller, mounting. output : by hours. load : W by hours with
    margin. run : bank between them, by hours. months : twelve MonthRow. worst : the one that covers least.
    cloudy : energy into the bank in the two darkest days that follow each other in the worst month.
    carried : share of the days that the sun carries, of the year and by season. coldest : air to design for.
    cold_voltage, table_voltage : of a string then, by coefficient and by table (None outside it). hot_voltage : of a hot
    string. array_current, ampacity, back_current : of the circuits. bank_current : at the controller's other end.
    cut : share of the year's sun that the controller's current limit costs. assumed : names of decisions that are
    proposals, not the reader's.
    """

    year: weather.Year
    array: Array
    output: Output
    load: numpy.ndarray
    usable: Quantity
    stored_share: float
    run: Run
    months: tuple
    worst: MonthRow
    cloudy: Quantity
    carried: float
    carried_by_season: dict
    coldest: Quantity
    cold_voltage: Quantity
    table_voltage: Quantity | None
    hot_voltage: Quantity
    array_current: Quantity
    ampacity: Quantity
    back_current: Quantity
    bank_current: Quantity
    cut: float
    assumed: tuple


def propose(coach) -> dict:
    """Sound decisions where the reader has not decided: a dict of name to value, as [sun] takes them.

    Parameters
    ----------
    coach : the coach file

    Flat, a hand's breadth above the roof, a 200 W module; a controller that tracks, the smallest that stands the string and
    passes the current on; as many modules as the roof bears or as carry 80 % of the days. `weather` and `coldest` are for
    [place]. Source: common practice, no source; equipment invented.
    """
    plan, proposals = coach.sun, {}

    def decided(name, value, section=plan):
        if getattr(section, name) is None:
            proposals[name] = value() if callable(value) else value
        return proposals.get(name, getattr(section, name))

    place = decided("weather", PLACE, coach.place)
    coldest = decided("coldest", lambda: weather.extremes(place).coldest, coach.place)
    module = decided("module", lambda: module_named(MODULE))
    decided("mounting", MOUNTING)
    decided("tilt", Quantity(0.0, "deg"))
    decided("azimuth", SOUTH)
    decided("soiling", loss_table()["soiling"])
    wanted = decided("wanted", WANTED)
    voltage = coach.capacity.nominal_voltage
    series = decided("series", lambda: _series_for(module, voltage, coldest, plan.controller))
    if plan.parallel is None:
        proposals["parallel"] = _parallel_for(coach, proposals, series, wanted)
    parallel = proposals.get("parallel", plan.parallel)
    decided("controller", lambda: _controller_for(module, series, parallel, voltage, coldest))
    return proposals


def _series_for(module, voltage, coldest, controller):
    """The fewest modules in series that stand well above the bank when hot; two where one would just do."""
    limit = floats(controller.highest_voltage if controller else on_offer()[1][-1].highest_voltage, "V")
    for series in range(1, 6):
        cold = floats(cold_voltage(module.open_circuit_voltage, series, module.voltage_coefficient, coldest), "V")
        if cold > limit:
            break
        if floats(hot_voltage(module.voltage, series, module.power_coefficient, HOT_CELL), "V") >= 1.35 * floats(voltage, "V") + 4:
            return series
    return 1


def _controller_for(module, series, parallel, voltage, coldest):
    """The smallest controller that tracks, stands the cold string and passes on nine tenths of the plate."""
    cold = cold_voltage(module.open_circuit_voltage, series, module.voltage_coefficient, coldest)
    fits = [sheet for sheet in on_offer()[1] if sheet.kind == "MPPT" and sheet.highest_voltage >= cold
            and sheet.highest_bank_voltage >= 1.15 * voltage]  # fmt: skip
    need = controller_current(0.9 * module.power * series * parallel, 0.96, voltage)
    enough = [sheet for sheet in fits if sheet.output_current >= need]
    if not fits:
        raise InputError("controller", f"none on offer stands a string of {show(cold)} on the coldest morning",
                         "fewer modules in series, or a controller of your own")  # fmt: skip
    return (enough or fits[-1:])[0]


def _parallel_for(coach, proposals, series, wanted):
    """The fewest strings that carry the wanted share of days, as far as the roof bears them."""
    plan = coach.sun.model_copy(update={key: value for key, value in proposals.items() if key in type(coach.sun).model_fields})
    module = plan.module
    one = floats(module.length * module.width, "m**2") * series
    most = MOST_MODULES // series if plan.roof is None else int(floats(plan.roof, "m**2") / one + 1e-9)
    most = max(1, min(most, MOST_MODULES // series))
    return next((row.parallel for row in array_sizes(coach, plan, series, most) if row.carried >= wanted), most)


@dataclasses.dataclass(frozen=True)
class SizeRow:
    """One array of several sizes: strings, watts, and the share of the days that it carries alone."""

    parallel: int
    rated_power: Power
    carried: Fraction
    worst_month: Fraction


def array_sizes(coach, plan=None, series: int | None = None, most: int | None = None) -> list[SizeRow]:
    """Arrays from one string up, with the share of the days that each carries without another source.

    Parameters
    ----------
    coach : the coach file
    plan : its [sun] with proposals filled in; left out, it is made
    series : modules in a string
    most : strings of the largest

    Every controller is taken as large enough. Source: `output` and `run`.
    """
    if plan is None:
        proposals = propose(coach)
        plan = _filled(coach, proposals)
        series = plan.series
        most = most or max(plan.parallel + 2, MOST_MODULES // series)
    place = coach.place.weather or PLACE
    year = weather.year(place)
    load, usable, share, voltage = _bank(coach)
    sheet = plan.controller or controller_named("Controller MPPT 50 A, invented")
    sheet = sheet.model_copy(update={"output_current": Quantity(10_000.0, "A")})
    need = weather.by_month(load)
    rows = []
    for parallel in range(1, most + 1):
        array = _array(plan.model_copy(update={"controller": sheet, "series": series, "parallel": parallel}))
        charge = output(array, year, voltage).bank
        rows.append(SizeRow(parallel, array.rated_power, run(load, charge, usable, share).carried(),
                            min(1.0, float((weather.by_month(charge) / numpy.maximum(need, 1e-9)).min()))))  # fmt: skip
    return rows


def _filled(coach, proposals):
    return coach.sun.model_copy(update={key: value for key, value in proposals.items() if key in type(coach.sun).model_fields})


def _array(plan):
    losses = loss_table() | {"soiling": plan.soiling}
    return Array(plan.module, plan.controller, plan.series, plan.parallel, plan.tilt, plan.azimuth, plan.mounting,
                 combined_loss(list(losses.values())), plan.obstacles)  # fmt: skip


def _bank(coach):
    """(load by hours with margin, usable Wh, share stored, volts while charged) of a coach."""
    built = capacity_topic.arrangement(coach)
    usable = floats(capacity_topic.study(coach).usable, "Wh")
    margin = energy_topic.study(coach).margin
    return load_by_hours(coach, margin), usable, STORED[built.module.chemistry], built.voltage


@functools.lru_cache(maxsize=8)  # the other topics and the record ask again and again
def study(coach) -> Study:
    """Everything this topic says of a coach: sun, array, voltages, currents, and the days that the sun carries.

    Parameters
    ----------
    coach : the coach file

    Source: the functions above.
    """
    proposals = propose(coach)
    plan = _filled(coach, proposals)
    place = proposals.get("weather", coach.place.weather)
    coldest = proposals.get("coldest", coach.place.coldest)
    year = weather.year(place)
    load, usable, share, voltage = _bank(coach)
    array = _array(plan)
    found = output(array, year, voltage)
    balance = run(load, found.bank, usable, share)
    light = weather.by_month(weather.on_plane(year, array.tilt, array.azimuth).total) / 1000
    charge, need = weather.by_month(found.bank), weather.by_month(load)
    months = tuple(
        MonthRow(name, Quantity(float(sun), "h"), Quantity(float(got), "Wh"), Quantity(float(wants), "Wh"),
                 min(1.0, float(got / wants)) if wants else 1.0)
        for name, sun, got, wants in zip(weather.MONTHS, light, charge, need)
    )  # fmt: skip
    worst = min(range(12), key=lambda at: charge[at] / need[at] if need[at] else math.inf)
    daily = found.bank[weather.hours_of([worst + 1])].reshape(-1, 24).sum(axis=1)
    cloudy = numpy.convolve(daily, numpy.ones(CLOUDY_DAYS), "valid").min()
    whole_days = (balance.missing.reshape(-1, 24).max(axis=1) <= 1e-9)
    by_season = {}
    for season in coach.seasons:
        days = weather.hours_of(season.months).reshape(-1, 24)[:, 0] if season.months else numpy.ones(365, bool)
        by_season[season.name] = float(whole_days[days].mean())
    sheet = array.module
    try:
        by_table = cold_voltage_of_table(sheet.open_circuit_voltage, array.series, coldest)
    except InputError:  # the table ends at -40 °C: then there is only the coefficient, and the lesson says so
        by_table = None
    offered = found.bank.sum() + found.cut.sum()
    hot = Quantity(float(found.cell.max()), "degC")
    return Study(
        year, array, found, load, Quantity(usable, "Wh"), share, balance, months, months[worst], Quantity(float(cloudy), "Wh"), balance.carried(),
        by_season, coldest, cold_voltage(sheet.open_circuit_voltage, array.series, sheet.voltage_coefficient, coldest),
        by_table, hot_voltage(sheet.voltage, array.series, sheet.power_coefficient, hot),
        highest_array_current(sheet.short_circuit_current, array.parallel),
        array_ampacity(sheet.short_circuit_current, array.parallel),
        back_current(sheet.short_circuit_current, array.parallel), _bank_current(array, voltage),
        float(found.cut.sum() / offered) if offered else 0.0, tuple(proposals),
    )  # fmt: skip


def _bank_current(array, voltage):
    if array.controller.kind == "PWM":
        return min(array.controller.output_current, highest_array_current(array.module.short_circuit_current, array.parallel))
    return min(array.controller.output_current, controller_current(array.rated_power, array.controller.efficiency, voltage))


def losses_of_month(found, month: int) -> list[dict]:
    """A mean day of a month step by step: rows with `what` and `value`.

    Parameters
    ----------
    found : the Study of a coach
    month : 1 to 12

    Each loss is a share of what the ones before it left. Source: `output`.
    """
    hours, array = weather.hours_of([month]), found.array
    plane = weather.on_plane(found.year, array.tilt, array.azimuth)
    sun, clear = plane.total[hours], reflected(plane, float(floats(array.tilt, "deg")))[hours]
    lit = clear * found.output.shade[hours]
    cells = float((found.output.cell[hours] * lit).sum() / lit.sum())
    bank, cut = found.output.bank[hours].sum(), found.output.cut[hours].sum()
    shares = {"thrown back by the glass": 1 - clear.sum() / sun.sum(), "shadow of what stands on the roof": 1 - lit.sum() / clear.sum(),
              "dust, trees, mismatch, wiring, joints, light, plate": array.losses,
              "controller": 1 - (bank + cut) / found.output.array[hours].sum()}  # fmt: skip
    days = weather.MONTH_DAYS[month - 1]
    return [
        {"what": "peak sun hours", "value": show(Quantity(float(sun.sum()) / days / 1000, "h"))},
        {"what": "cells while the sun shines", "value": show(Quantity(cells, "degC"))},
        *({"what": what, "value": show(Quantity(100 * float(share), "percent"))} for what, share in shares.items()),
        {"what": "into the bank in a day", "value": show(Quantity(float(bank) / days, "Wh"))},
    ]


def volts_and_amps(found) -> list[dict]:
    """What goes to the controller's sheet and to the wire schedule: rows with `what` and `value`.

    Parameters
    ----------
    found : the Study of a coach

    Source: the functions above.
    """
    values = {
        "string on the coldest morning, by coefficient": found.cold_voltage,
        "the same by the code's table": found.table_voltage,
        "string at work, hottest hour": found.hot_voltage,
        "controller stands": found.array.controller.highest_voltage,
        "current from the array, highest for long": found.array_current,
        "ampacity and fuse of its conductors, at least": found.ampacity,
        "current into the bank": found.bank_current,
    }
    return [{"what": what, "value": "no row so cold" if value is None else show(value)} for what, value in values.items()]


def shade_by_side(found, obstacle) -> list[dict]:
    """What one obstacle costs in the south, the east and the north of an array: rows.

    Parameters
    ----------
    found : the Study of a coach
    obstacle : as in a coach file; its direction does not count

    Source: `shade_cost`.
    """
    sides = {"south": 180.0, "east": 90.0, "north": 0.0}
    return [{"it stands in the": side} | shade_cost(found.array, found.year, obstacle.model_copy(update={"direction": Quantity(bearing, "deg")}))
            for side, bearing in sides.items()]  # fmt: skip


def circuits(coach) -> dict:
    """The array's two circuits for the wire schedule: name to values, as `coach.decide("circuits", name, ...)` takes them.

    Parameters
    ----------
    coach : the coach file

    The current is the highest that flows for long (NEC 690.8(A)); the wire schedule adds 1.25 for a continuous current
    itself. Lengths that stand in the coach file are kept. Source: the functions above.
    """
    found = study(coach)
    there = {circuit.name: circuit for circuit in coach.circuits}
    ends = {ROOF_TO_CONTROLLER: ("array", "solar controller", found.array_current),
            CONTROLLER_TO_BUS: ("solar controller", "positive bus", found.bank_current)}  # fmt: skip
    return {
        name: {
            "from_": start, "to": end, "current": Quantity(round(floats(current, "A"), 1), "A"), "purpose": "array",
            "length": there[name].length if name in there else CIRCUIT_LENGTHS[name],
        }
        for name, (start, end, current) in ends.items()
    }  # fmt: skip


def checks(coach) -> list:
    """The rules of this topic held against a coach: a list of Check.

    Parameters
    ----------
    coach : the coach file

    Source: each check names its own.
    """
    found, plan = study(coach), _filled(coach, propose(coach))
    array, module, sheet = found.array, found.array.module, found.array.controller
    bank = capacity_topic.arrangement(coach)
    code, practice = Source("NEC (NFPA 70) 2023, 690.7", "from memory"), Source(PRACTICE, PRACTICE)
    arithmetic = Source("arithmetic on the data sheets", "derived")
    rows = [
        rules.at_most(
            "On the coldest morning, does the controller stand the string?", found.cold_voltage, sheet.highest_voltage,
            why="A controller above its limit fails at once, and may leave the array on the bank.",
            mend="Fewer modules in series, or a controller with a higher limit.", source=code, guards="fire, shock",
            topic="sun",
        ),
        rules.at_most(
            "Do the modules themselves stand that voltage?", found.cold_voltage, module.highest_voltage,
            why="Their insulation is made for it and no more.", mend="Fewer modules in series.", source=code,
            guards="fire, shock", topic="sun",
        ),
        rules.at_least(
            "Does the string stand above the bank when it is hot?", found.hot_voltage, bank.charge_voltage + sheet.headroom,
            why="A hot string loses volts, and below the bank's nothing flows.",
            mend="One module more in series, if the cold voltage allows it.", source=arithmetic, topic="sun",
        ),
        rules.at_least(
            "Is the controller made for a bank of this voltage?", sheet.highest_bank_voltage, bank.charge_voltage,
            why="It would stop short of full, or fail.", mend="A controller for this voltage.", source=arithmetic,
            topic="sun",
        ),
        rules.at_most(
            "Is little of the year's sun lost to the controller's current limit?", Quantity(100 * found.cut, "percent"),
            Quantity(5.0, "percent"),
            why="Above its limit the controller leaves power on the roof. A little of it, at noon in summer, is sensible.",
            mend="A larger controller, or fewer modules.", source=practice, topic="sun",
        ),
        rules.at_most(
            "May the bank be charged with what the controller gives?", found.bank_current, charging.bank_charge_limit(bank),
            why="More than its limit ages cells, or opens the protection in full sun.",
            mend="A lower current set in the controller, or more modules in the bank.", source=arithmetic, topic="sun",
        ),
        rules.holds(
            "Can a failed string not be fed by the others beyond its fuse rating?",
            f"{show(found.back_current)} back into one string", f"{show(module.series_fuse)}, or a fuse in every string",
            true=found.back_current <= module.series_fuse,
            why="With three strings or more the others drive a fault current through the failed one.",
            mend="A fuse in every string, or fewer strings with more modules in series.",
            source=Source("NEC (NFPA 70) 2023, 690.9(A)", "from memory"), guards="fire", topic="sun",
        ),
        rules.at_least(
            "Does the sun carry the share of the days that is wanted?", Quantity(100 * found.carried, "percent"),
            Quantity(100 * plan.wanted, "percent"),
            why="On the other days something else must charge: shore, engine or generator (lesson 04).",
            mend="More modules, tilted modules in winter, a smaller load, or a smaller wish.", source=arithmetic, topic="sun",
        ),
    ]  # fmt: skip
    if plan.roof is not None:
        rows.append(rules.at_most(
            "Do the modules fit on the free part of the roof?", array.surface.to("ft**2"), plan.roof.to("ft**2"),
            why="A module in the shade of a vent stops more than itself, and you need room to walk.",
            mend="Fewer modules, or smaller ones that go between the vents.", source=arithmetic, topic="sun",
        ))  # fmt: skip
    there = {circuit.name: circuit for circuit in coach.circuits}
    for name, values in circuits(coach).items():
        current = there[name].current if name in there else None
        rows.append(rules.holds(
            f"Does the wire schedule know the circuit {name} with its full current?",
            show(current) if current is not None else "not in the coach file", f"{show(values['current'])} or more",
            true=current is not None and current >= 0.995 * values["current"],
            why="A circuit that the wire schedule does not know gets no fuse and no size.",
            mend="Give that circuit this current.", source=Source("NEC (NFPA 70) 2023, 690.8", "from memory"),
            guards="fire", topic="sun",
        ))  # fmt: skip
    return rows
