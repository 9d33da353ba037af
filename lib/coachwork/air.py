"""Air: what it weighs and holds at a height, moist air, surface films, and flow through openings.

Each formula takes quantities. Beside those that a year of hours needs stands a core whose name ends in `_si`: floats or
numpy arrays in °C, Pa, kg, J, and the same numbers.

The moist-air formulas are those of the ASHRAE Handbook, Fundamentals (2017 and 2021), ch. 1: ideal gases, good to
about 1 % of the humidity ratio at the pressures where people live.
"""

import dataclasses
import math
from typing import Annotated

import numpy

from coachwork.quantities import (
    ABOVE_ZERO, KINDS, AirFlow, Altitude, Area, Density, Enthalpy, Fraction, HeatFlow, HeatTransfer, InputError,
    Irradiance, Length, Number, Pressure, PressureDifference, Quantity, Ratio, SpecificHeat, SpecificVolume,
    Temperature, TemperatureDifference, ThermalResistance, WindSpeed, floats, formula, quoted, show,
)  # fmt: skip
from coachwork.sources import table

LAPSE, STANDARD = Quantity(0.0065, "K/m"), Quantity(288.15, "K")
SEA_LEVEL = Quantity(101.325, "kPa")
DRY_AIR_CONSTANT = Quantity(287.042, "J/(kg*K)")
AIR_HEAT = Quantity(1006.0, "J/(kg*K)")  # of dry air, at constant pressure
GRAVITY = Quantity(9.80665, "m/s**2")
STEFAN_BOLTZMANN = Quantity(5.670374e-8, "W/m**2/K**4")
ZERO, KELVIN, METER_A_SECOND = Quantity(273.15, "K"), Quantity(1.0, "K"), Quantity(1.0, "m/s")
VAPOR_SHARE = 0.621945  # molar mass of water over that of dry air
WATER_HEAT, VAPOR_HEAT, EVAPORATION = 4186.0, 1860.0, 2.501e6  # J/(kg K), J/(kg K), J/kg at 0 °C
TRIPLE_POINT = 0.01  # °C: ice below, water above
COLDEST, HOTTEST = -100.0, 200.0  # °C, range of the saturation formulas
OPENING = 0.65  # discharge coefficient of a sharp-edged opening with flow one way; ASHRAE Fundamentals ch. 16

# ------------------------------------------------------------------------------- height


@formula
def pressure_ratio(altitude: Altitude) -> Ratio:
    """Air pressure at a height over that at sea level, in the standard atmosphere.

    Parameters
    ----------
    altitude : above the sea, up to 36,000 ft

    Source: US Standard Atmosphere, 1976.
    """
    return ((STANDARD - LAPSE * altitude) / STANDARD).to("").magnitude ** 5.25588


@formula
def density_ratio(altitude: Altitude, ambient: Temperature | None = None) -> Ratio:
    """Air density at a height over that at sea level at 59 °F.

    Parameters
    ----------
    altitude : above the sea
    ambient : of the air; None for the standard atmosphere's own temperature at that height

    Source: US Standard Atmosphere, 1976; ideal gas law.
    """
    there = STANDARD - LAPSE * altitude if ambient is None else ambient
    return pressure_ratio(altitude) * floats(STANDARD, "K") / floats(there, "K")


@formula
def standard_pressure(altitude: Altitude) -> Pressure:
    """Air pressure at a height in the standard atmosphere. The weather moves it by about 3 % either way.

    Parameters
    ----------
    altitude : above the sea

    Source: US Standard Atmosphere, 1976; ASHRAE Fundamentals ch. 1, Table 1.
    """
    return SEA_LEVEL * pressure_ratio(altitude)


@formula
def dry_air_density(pressure: Pressure, temperature: Temperature) -> Density:
    """Mass of a cubic metre of dry air. Damp air is lighter, by 1 % at 75 °F and half saturated.

    Parameters
    ----------
    pressure : of the air, from `standard_pressure`
    temperature : of the air

    Source: ideal gas law with 287.042 J/(kg K), ASHRAE Fundamentals ch. 1.
    """
    return pressure / (DRY_AIR_CONSTANT * temperature)


# ------------------------------------------------------------------------------- moist air: the core


def saturation_pressure_si(celsius):
    """Pressure of water vapor over ice (below 0.01 °C) or water, Pa.

    celsius : °C, -100 to 200; float or array. Errors: InputError outside that.
    Source: ASHRAE Fundamentals ch. 1, eqs. 5 and 6 (Hyland and Wexler).
    """
    celsius = numpy.asarray(celsius, float)
    if not numpy.all((celsius >= COLDEST) & (celsius <= HOTTEST)):
        raise InputError("temperature", f"{quoted(f'{numpy.nanmin(celsius):g} to {numpy.nanmax(celsius):g} degC')} "
                         "is given", "air between -100 and 200 °C", '"70 degF"')  # fmt: skip
    t = celsius + 273.15
    log_t = numpy.log(t)
    ice = (-5674.5359 / t + 6.3925247 + t * (-9.677843e-3 + t * (6.2215701e-7 + t * (2.0747825e-9 - t * 9.484024e-13)))
           + 4.1635019 * log_t)  # fmt: skip
    water = (-5800.2206 / t + 1.3914993 + t * (-4.8640239e-2 + t * (4.1764768e-5 - t * 1.4452093e-8))
             + 6.5459673 * log_t)  # fmt: skip
    return numpy.exp(numpy.where(celsius < TRIPLE_POINT, ice, water))[()]


def _slope(celsius):
    """Change of the logarithm of the saturation pressure for each kelvin."""
    t = celsius + 273.15
    ice = 5674.5359 / t**2 - 9.677843e-3 + t * (1.24431402e-6 + t * (6.2243475e-9 - t * 3.7936096e-12)) + 4.1635019 / t
    water = 5800.2206 / t**2 - 4.8640239e-2 + t * (8.3529536e-5 - t * 4.3356279e-8) + 6.5459673 / t
    return numpy.where(celsius < TRIPLE_POINT, ice, water)


def humidity_ratio_si(vapor_pressure, pressure):
    """Mass of water vapor for each mass of dry air.

    vapor_pressure : of the water in the air, Pa. pressure : of the air, Pa.
    Source: ASHRAE Fundamentals ch. 1, eq. 20.
    """
    return VAPOR_SHARE * vapor_pressure / (pressure - vapor_pressure)


def vapor_pressure_si(humidity_ratio, pressure):
    """Pressure of the water vapor in air, Pa: `humidity_ratio` turned round. pressure : of the air, Pa.

    Source: ASHRAE Fundamentals ch. 1, eq. 36.
    """
    return pressure * humidity_ratio / (VAPOR_SHARE + humidity_ratio)


def dew_point_si(vapor_pressure):
    """Temperature at which the vapor of the air starts to settle, °C: dew above freezing, frost below.

    vapor_pressure : Pa, above 0, up to that of 200 °C. Found by Newton's method on `saturation_pressure_si`.
    Source: definition, ASHRAE Fundamentals ch. 1.
    """
    wanted = numpy.log(numpy.asarray(vapor_pressure, float))
    root = wanted - math.log(611.2)
    celsius = numpy.clip(243.5 * root / (17.67 - root), -99.0, 199.0)  # Magnus formula: near enough to start
    for _ in range(12):
        step = (numpy.log(saturation_pressure_si(celsius)) - wanted) / _slope(celsius)
        celsius = numpy.clip(celsius - step, COLDEST, HOTTEST)
        if numpy.max(numpy.abs(step)) < 1e-9:
            break
    return celsius[()]


def humidity_ratio_from_wet_bulb_si(celsius, wet_bulb, pressure):
    """Humidity ratio of air at `celsius` °C whose wetted thermometer shows `wet_bulb` °C, at `pressure` Pa.

    Ice on the wick below freezing. Source: ASHRAE Fundamentals ch. 1, eqs. 33 and 35.
    """
    soaked = humidity_ratio_si(saturation_pressure_si(wet_bulb), pressure)
    above = ((2501 - 2.326 * wet_bulb) * soaked - 1.006 * (celsius - wet_bulb)) / (
        2501 + 1.86 * celsius - 4.186 * wet_bulb)  # fmt: skip
    below = ((2830 - 0.24 * wet_bulb) * soaked - 1.006 * (celsius - wet_bulb)) / (
        2830 + 1.86 * celsius - 2.1 * wet_bulb)  # fmt: skip
    return numpy.where(numpy.asarray(wet_bulb) >= 0, above, below)[()]


def wet_bulb_si(celsius, humidity_ratio, pressure):
    """Wet-bulb temperature, °C, of air at `celsius` °C with a `humidity_ratio`, at `pressure` Pa, by halving.

    Source: ASHRAE Fundamentals ch. 1, eqs. 33 and 35, turned round.
    """
    celsius, humidity_ratio, pressure = numpy.broadcast_arrays(celsius, humidity_ratio, pressure)
    low = numpy.asarray(dew_point_si(numpy.maximum(vapor_pressure_si(humidity_ratio, pressure), 1.5e-3)), float)
    low = numpy.minimum(low, celsius)
    high = numpy.asarray(celsius, float).copy()
    for _ in range(45):
        middle = (low + high) / 2
        too_damp = humidity_ratio_from_wet_bulb_si(celsius, middle, pressure) > humidity_ratio
        low, high = numpy.where(too_damp, low, middle), numpy.where(too_damp, middle, high)
    return ((low + high) / 2)[()]


def enthalpy_si(celsius, humidity_ratio):
    """Heat in moist air, J for each kg of dry air, from dry air and water at 0 °C; `celsius` °C, a `humidity_ratio`.

    Source: ASHRAE Fundamentals ch. 1, eq. 30.
    """
    return 1006.0 * celsius + humidity_ratio * (EVAPORATION + VAPOR_HEAT * celsius)


def volume_si(celsius, humidity_ratio, pressure):
    """Volume of moist air, m3 for each kg of dry air, at `celsius` °C with a `humidity_ratio`, at `pressure` Pa.

    Source: ASHRAE Fundamentals ch. 1, eq. 26.
    """
    return 287.042 * (celsius + 273.15) * (1 + 1.607858 * humidity_ratio) / pressure


def density_si(celsius, humidity_ratio, pressure):
    """Mass of a cubic metre of moist air, kg, at `celsius` °C with a `humidity_ratio`, at `pressure` Pa.

    Source: ASHRAE Fundamentals ch. 1, eq. 9b.
    """
    return (1 + humidity_ratio) / volume_si(celsius, humidity_ratio, pressure)


# ------------------------------------------------------------------------------- moist air: formulas


def _pascals(pressure):
    return floats(pressure, "Pa")


def _celsius(temperature):
    return floats(temperature, "degC")


@formula
def saturation_pressure(temperature: Temperature) -> Pressure:
    """Pressure of water vapor over water, or over ice below freezing: the most that air can hold.

    Parameters
    ----------
    temperature : -148 to 392 °F

    Source: ASHRAE Fundamentals ch. 1, eqs. 5 and 6 (Hyland and Wexler).
    """
    return Quantity(saturation_pressure_si(_celsius(temperature)), "Pa")


@formula
def day_vapor_pressure(
    coldest: Temperature, warmest: Temperature, dampest: Fraction = 1.0, driest: Fraction = 1.0
) -> Pressure:
    """Mean pressure of the vapor in a day's air, from the extremes; of saturated air where no humidity is given.

    Parameters
    ----------
    coldest, warmest : air of the day
    dampest : relative humidity when it is coldest
    driest : relative humidity when it is warmest

    Source: FAO-56, eqs. 12 and 17, with this module's saturation pressure.
    """
    return (dampest * saturation_pressure(coldest) + driest * saturation_pressure(warmest)) / 2


@formula
def humidity_ratio(vapor_pressure: Pressure, pressure: Annotated[Pressure, ABOVE_ZERO]) -> Ratio:
    """Mass of water vapor for each mass of dry air.

    Parameters
    ----------
    vapor_pressure : of the water in the air, below the air's own
    pressure : of the air

    Source: ASHRAE Fundamentals ch. 1, eq. 20.
    """
    if not numpy.all(vapor_pressure < pressure):
        raise InputError("vapor pressure", f"{quoted(show(vapor_pressure))} at an air pressure of {show(pressure)}",
                         "less than the air's own pressure", '"2.3 kPa"')  # fmt: skip
    return VAPOR_SHARE * vapor_pressure / (pressure - vapor_pressure)


@formula
def humidity_ratio_from_relative(
    temperature: Temperature, relative_humidity: Fraction, pressure: Annotated[Pressure, ABOVE_ZERO]
) -> Ratio:
    """Mass of water vapor for each mass of dry air, from the relative humidity.

    Parameters
    ----------
    temperature : of the air
    relative_humidity : vapor pressure over that of saturated air at that temperature
    pressure : of the air

    Source: ASHRAE Fundamentals ch. 1, eqs. 12 and 20.
    """
    return humidity_ratio(relative_humidity * saturation_pressure(temperature), pressure)


@formula
def humidity_ratio_from_dew_point(dew_point: Temperature, pressure: Annotated[Pressure, ABOVE_ZERO]) -> Ratio:
    """Mass of water vapor for each mass of dry air, from the dew point.

    Parameters
    ----------
    dew_point : temperature at which its vapor starts to settle
    pressure : of the air

    Source: ASHRAE Fundamentals ch. 1, eqs. 20 and 37.
    """
    return humidity_ratio(saturation_pressure(dew_point), pressure)


@formula
def humidity_ratio_from_wet_bulb(
    temperature: Temperature, wet_bulb: Temperature, pressure: Annotated[Pressure, ABOVE_ZERO]
) -> Ratio:
    """Mass of water vapor for each mass of dry air, from a dry and a wetted thermometer.

    Parameters
    ----------
    temperature : of the air
    wet_bulb : of a thermometer with a wet wick in moving air, no warmer than the air
    pressure : of the air

    Errors: InputError where the two do not go together (warmer than the air, or drier than dry).
    Source: ASHRAE Fundamentals ch. 1, eqs. 33 and 35.
    """
    found = humidity_ratio_from_wet_bulb_si(_celsius(temperature), _celsius(wet_bulb), _pascals(pressure))
    if not (numpy.all(wet_bulb <= temperature) and numpy.all(found >= 0)):
        raise InputError("wet bulb", f"{quoted(show(wet_bulb))} in air of {show(temperature)}",
                         "a wet bulb no warmer than the air, and no colder than dry air makes it", '"65 degF"')  # fmt: skip
    return found


@formula
def relative_humidity(
    temperature: Temperature, humidity_ratio: Ratio, pressure: Annotated[Pressure, ABOVE_ZERO]
) -> Fraction:
    """Vapor pressure of air over that of saturated air at its temperature.

    Parameters
    ----------
    temperature : of the air
    humidity_ratio : of the air
    pressure : of the air

    Errors: InputError where air cannot hold that much. Source: ASHRAE Fundamentals ch. 1, eqs. 12 and 36.
    """
    share = vapor_pressure_si(humidity_ratio, _pascals(pressure)) / saturation_pressure_si(_celsius(temperature))
    if numpy.any(share > 1 + 1e-6):
        raise InputError("humidity ratio", f"{quoted(f'{numpy.max(humidity_ratio):g}')} at {show(temperature)}",
                         "no more water than air can hold at that temperature", '"0.009"')  # fmt: skip
    return numpy.minimum(share, 1.0)


@formula
def dew_point(humidity_ratio: Annotated[Ratio, ABOVE_ZERO], pressure: Annotated[Pressure, ABOVE_ZERO]) -> Temperature:
    """Temperature at which the vapor of the air starts to settle on a surface.

    Parameters
    ----------
    humidity_ratio : of the air, above 0
    pressure : of the air

    Source: definition, ASHRAE Fundamentals ch. 1.
    """
    return Quantity(dew_point_si(vapor_pressure_si(humidity_ratio, _pascals(pressure))), "degC")


@formula
def wet_bulb(
    temperature: Temperature, humidity_ratio: Ratio, pressure: Annotated[Pressure, ABOVE_ZERO]
) -> Temperature:
    """What a thermometer with a wet wick shows in moving air.

    Parameters
    ----------
    temperature : of the air
    humidity_ratio : of the air
    pressure : of the air

    Source: ASHRAE Fundamentals ch. 1, eqs. 33 and 35, turned round.
    """
    relative_humidity(temperature, humidity_ratio, pressure)  # refuses what air cannot hold
    return Quantity(wet_bulb_si(_celsius(temperature), humidity_ratio, _pascals(pressure)), "degC")


@formula
def enthalpy(temperature: Temperature, humidity_ratio: Ratio) -> Enthalpy:
    """Heat in moist air for each mass of dry air, counted from dry air and water at 0 °C.

    The trade's tables in Btu/lb count from 0 °F: only differences may be compared.

    Parameters
    ----------
    temperature : of the air
    humidity_ratio : of the air

    Source: ASHRAE Fundamentals ch. 1, eq. 30.
    """
    return Quantity(enthalpy_si(_celsius(temperature), humidity_ratio), "J/kg")


@formula
def specific_volume(
    temperature: Temperature, humidity_ratio: Ratio, pressure: Annotated[Pressure, ABOVE_ZERO]
) -> SpecificVolume:
    """Volume of moist air for each mass of dry air.

    Parameters
    ----------
    temperature : of the air
    humidity_ratio : of the air
    pressure : of the air

    Source: ASHRAE Fundamentals ch. 1, eq. 26.
    """
    return Quantity(volume_si(_celsius(temperature), humidity_ratio, _pascals(pressure)), "m**3/kg")


@formula
def moist_air_density(
    temperature: Temperature, humidity_ratio: Ratio, pressure: Annotated[Pressure, ABOVE_ZERO]
) -> Density:
    """Mass of a cubic metre of moist air.

    Parameters
    ----------
    temperature : of the air
    humidity_ratio : of the air
    pressure : of the air

    Source: ASHRAE Fundamentals ch. 1, eq. 9b.
    """
    return Quantity(density_si(_celsius(temperature), humidity_ratio, _pascals(pressure)), "kg/m**3")


@formula
def mixed_humidity(
    air_flow: AirFlow, density: Annotated[Density, ABOVE_ZERO], humidity_ratio: Ratio,
    other_flow: AirFlow, other_density: Annotated[Density, ABOVE_ZERO], other_humidity: Ratio,
) -> Ratio:  # fmt: skip
    """Humidity ratio of two streams of air that meet, such as a coach's own and fresh air: the mean by mass of dry air.

    Parameters
    ----------
    air_flow, density, humidity_ratio : of the one; the density is the mass of dry air in a cubic metre
    other_flow, other_density, other_humidity : of the other

    Source: balance of water; ASHRAE Fundamentals ch. 1, adiabatic mixing.
    """
    one, other = air_flow * density, other_flow * other_density
    return (one * humidity_ratio + other * other_humidity) / (one + other)


@dataclasses.dataclass(frozen=True, eq=False)
class MoistAir:
    """Air at one temperature and pressure with what is in it.

    temperature, pressure : of the air. humidity_ratio : water for each mass of dry air. relative_humidity : share
    of what it could hold. dew_point, wet_bulb : temperatures. enthalpy : heat for each mass of dry air.
    specific_volume : for each mass of dry air. density : of the mixture.
    """

    temperature: Quantity
    pressure: Quantity
    humidity_ratio: float

    @property
    def relative_humidity(self):
        """Share of what it could hold."""
        return relative_humidity(self.temperature, self.humidity_ratio, self.pressure)

    @property
    def dew_point(self):
        """Temperature at which its vapor starts to settle."""
        return dew_point(self.humidity_ratio, self.pressure)

    @property
    def wet_bulb(self):
        """What a wetted thermometer shows in it."""
        return wet_bulb(self.temperature, self.humidity_ratio, self.pressure)

    @property
    def vapor_pressure(self):
        """Share of the air's pressure that its vapor makes."""
        return Quantity(vapor_pressure_si(self.humidity_ratio, _pascals(self.pressure)), "Pa")

    @property
    def enthalpy(self):
        """Heat for each mass of dry air."""
        return enthalpy(self.temperature, self.humidity_ratio)

    @property
    def specific_volume(self):
        """Volume for each mass of dry air."""
        return specific_volume(self.temperature, self.humidity_ratio, self.pressure)

    @property
    def density(self):
        """Mass of a cubic metre."""
        return moist_air_density(self.temperature, self.humidity_ratio, self.pressure)


def moist_air(
    temperature: Temperature, altitude: Altitude = Quantity(0.0, "m"), relative_humidity: Fraction | None = None,
    dew_point: Temperature | None = None, wet_bulb: Temperature | None = None,
) -> MoistAir:  # fmt: skip
    """The state of air from its temperature and one measure of its dampness.

    Parameters
    ----------
    temperature : of the air
    altitude : above the sea, for the standard atmosphere's pressure
    relative_humidity, dew_point, wet_bulb : exactly one of the three

    Errors: InputError where none or more than one is given, and as each formula.
    Source: ASHRAE Fundamentals ch. 1.
    """
    pressure = standard_pressure(altitude)
    ways = {"relative_humidity": relative_humidity, "dew_point": dew_point, "wet_bulb": wet_bulb}
    given = [name for name, value in ways.items() if value is not None]
    if len(given) != 1:
        raise InputError("dampness", f"{' and '.join(given) or 'nothing'} given",
                         "one of relative humidity, dew point and wet bulb", "relative_humidity=0.5")  # fmt: skip
    if relative_humidity is not None:
        ratio = humidity_ratio_from_relative(temperature, relative_humidity, pressure)
    elif dew_point is not None:
        ratio = humidity_ratio_from_dew_point(dew_point, pressure)
    else:
        ratio = humidity_ratio_from_wet_bulb(temperature, wet_bulb, pressure)
    checked = KINDS["temperature"].check(temperature, "temperature").to("degC")
    return MoistAir(checked, pressure, ratio)


# ------------------------------------------------------------------------------- heat that air carries


@formula
def sensible_heat(
    air_flow: AirFlow, density: Density, temperature_difference: TemperatureDifference,
    specific_heat: SpecificHeat = AIR_HEAT,
) -> HeatFlow:  # fmt: skip
    """Heat that a stream of air carries because it is warmer: the trade's 1.08 x cfm x °F.

    1.08 is 60 min/h x 0.075 lb/ft3 x 0.24 Btu/(lb °F): it holds at sea level only, because the density is in it.

    Parameters
    ----------
    air_flow : volume in a time
    density : of the air there, from `dry_air_density`
    temperature_difference : between the air that comes and the air that goes
    specific_heat : 1006 J/(kg K) for dry air

    Source: first law; ASHRAE Fundamentals ch. 18 (1.08 and 1.10).
    """
    return air_flow * density * specific_heat * temperature_difference


@formula
def air_flow_for_rise(
    heat: HeatFlow, density: Annotated[Density, ABOVE_ZERO], temperature_rise: Annotated[TemperatureDifference, ABOVE_ZERO],
    specific_heat: SpecificHeat = AIR_HEAT,
) -> AirFlow:  # fmt: skip
    """Air that carries a heat away while it warms by no more than an allowed rise.

    Parameters
    ----------
    heat : that is to be carried away
    density : of the air there, from `dry_air_density`
    temperature_rise : that is allowed, above 0
    specific_heat : 1006 J/(kg K) for dry air

    Source: first law: `sensible_heat` turned round.
    """
    return heat / (density * specific_heat * temperature_rise)


@formula
def vapor_heat(temperature: Temperature, water_temperature: Temperature) -> Enthalpy:
    """Heat that must go where a mass of vapor becomes water: 1076 Btu/lb of 75 °F vapor and 50 °F water.

    Parameters
    ----------
    temperature : of the air from which the vapor comes
    water_temperature : of the water that runs off

    Source: ASHRAE Fundamentals ch. 1, eq. 29; ch. 18 for the two temperatures.
    """
    vapor = EVAPORATION + VAPOR_HEAT * _celsius(temperature)
    return Quantity(vapor - WATER_HEAT * _celsius(water_temperature), "J/kg")


@formula
def latent_heat(
    air_flow: AirFlow, density: Density, humidity_difference: Number,
    vapor_heat: Enthalpy = Quantity(2503.0, "kJ/kg"),
) -> HeatFlow:  # fmt: skip
    """Heat that a stream of air carries because it is damper: the trade's 4840 x cfm x humidity difference.

    4840 is 60 min/h x 0.075 lb/ft3 x 1076 Btu/lb. The older 0.68 for differences in grains uses 1061 Btu/lb.

    Parameters
    ----------
    air_flow : volume in a time
    density : of the air there
    humidity_difference : of the humidity ratios
    vapor_heat : of the vapor, from `vapor_heat`

    Source: first law; ASHRAE Fundamentals ch. 18.
    """
    return air_flow * density * vapor_heat * humidity_difference


@formula
def total_heat(air_flow: AirFlow, density: Density, enthalpy_difference: Enthalpy) -> HeatFlow:
    """Heat that a stream of air carries, dry and damp together: the trade's 4.5 x cfm x Btu/lb.

    Parameters
    ----------
    air_flow : volume in a time
    density : of the air there
    enthalpy_difference : of the two airs

    Source: first law; ASHRAE Fundamentals ch. 18.
    """
    return air_flow * density * enthalpy_difference


# ------------------------------------------------------------------------------- surfaces


def film_names() -> tuple:
    """Names of the surface films in data/tables/surface_films.csv. Source: that table."""
    return tuple(row["surface"] for row in table("surface_films").rows)


def film_resistance(surface_name: str) -> ThermalResistance:
    """Resistance of the film of air on a surface, radiation included.

    Parameters
    ----------
    surface_name : one of `film_names()`, such as `"inside, wall"`

    Source: data/tables/surface_films.csv, each row its own.
    """
    row = table("surface_films").row(surface=surface_name)
    return (row["US print"] if row["US print"] is not None else row["SI print"]).to("m**2*K/W")


@formula
def wind_film(wind_speed: WindSpeed) -> HeatTransfer:
    """Heat that wind takes from an outer surface for each square metre and kelvin, without radiation.

    Parameters
    ----------
    wind_speed : along the surface

    Source: ISO 6946, h = 4 + 4 v with v in m/s (from memory).
    """
    return Quantity(4.0, "W/m**2/K") * (1 + wind_speed / METER_A_SECOND)


@formula
def radiation_exchange(
    emissivity: Fraction, surface_temperature: Temperature, sky_temperature: Temperature
) -> Irradiance:
    """Heat radiation that a warmer surface loses to colder surroundings or to the sky, for each square metre.

    Parameters
    ----------
    emissivity : of the surface
    surface_temperature : of the surface, no colder than what it sees
    sky_temperature : of what it sees

    Source: law of Stefan and Boltzmann.
    """
    return emissivity * STEFAN_BOLTZMANN * (surface_temperature**4 - sky_temperature**4)


def sky_temperature_si(celsius, dew_point):
    """Temperature that a clear sky seems to have, °C, for air at `celsius` °C with a `dew_point` in °C.

    Source: Berdahl and Martin, Solar Energy 32 (1984) 663, mean over the day, from memory.
    """
    emissivity = 0.711 + 0.56 * dew_point / 100 + 0.73 * (dew_point / 100) ** 2
    return emissivity**0.25 * (celsius + 273.15) - 273.15


@formula
def sky_temperature(ambient: Temperature, dew_point: Temperature) -> Temperature:
    """Temperature that a clear sky seems to have: dry air is the more transparent. Clouds bring it up to the air's.

    Parameters
    ----------
    ambient : of the air near the ground
    dew_point : of that air

    Source: Berdahl and Martin, Solar Energy 32 (1984) 663, mean over the day, from memory.
    """
    return Quantity(sky_temperature_si(_celsius(ambient), _celsius(dew_point)), "degC")


@formula
def sol_air_temperature(
    ambient: Temperature, irradiance: Irradiance, absorptivity: Fraction, film: Annotated[HeatTransfer, ABOVE_ZERO],
    sky_loss: Irradiance = Quantity(0.0, "W/m**2"),
) -> Temperature:  # fmt: skip
    """The air temperature that would heat an outer surface as much as air and sun together do.

    Parameters
    ----------
    ambient : of the air
    irradiance : sunlight on the surface
    absorptivity : share of it that the surface takes in; 0.9 black, 0.45 white when clean (from memory)
    film : heat taken by wind and radiation for each square metre and kelvin; ASHRAE: 3 Btu/(h ft2 °F)
    sky_loss : heat radiated to a clear sky beyond that to the air; ASHRAE: 20 Btu/(h ft2) of a roof, 0 of a wall

    Source: ASHRAE Fundamentals ch. 18.
    """
    return ambient + (absorptivity * irradiance - sky_loss) / film


# ------------------------------------------------------------------------------- openings


@formula
def openings_in_line(inlet_area: Annotated[Area, ABOVE_ZERO], outlet_area: Annotated[Area, ABOVE_ZERO]) -> Area:
    """The one opening that lets as much air through as two that the air must pass one after the other.

    Parameters
    ----------
    inlet_area : free area of the first
    outlet_area : free area of the second; without insect screen and louvre, which take half and more

    Source: pressure drops of two orifices added; ASHRAE Fundamentals ch. 16.
    """
    return 1 / (1 / inlet_area**2 + 1 / outlet_area**2) ** 0.5


@formula
def stack_pressure(
    height: Length, pressure: Annotated[Pressure, ABOVE_ZERO], temperature: Temperature, ambient: Temperature
) -> PressureDifference:
    """What drives air through two openings, one above the other, because the air inside is lighter.

    Parameters
    ----------
    height : from the middle of the lower opening to the middle of the upper one
    pressure : of the air
    temperature : of the air inside
    ambient : of the air outside; where that is the warmer, the result is below 0 and air falls

    Source: hydrostatics with the ideal gas law; ASHRAE Fundamentals ch. 16, eq. for stack pressure.
    """
    return pressure / DRY_AIR_CONSTANT * GRAVITY * height * (1 / ambient - 1 / temperature)


@formula
def orifice_flow(
    free_area: Area, pressure_difference: PressureDifference, density: Annotated[Density, ABOVE_ZERO],
    discharge_coefficient: Fraction = OPENING,
) -> AirFlow:  # fmt: skip
    """Air through an opening under a pressure difference, whichever way it goes.

    Parameters
    ----------
    free_area : of the opening
    pressure_difference : across it
    density : of the air that goes through
    discharge_coefficient : 0.65 where air goes one way only

    Source: Bernoulli; ASHRAE Fundamentals ch. 16.
    """
    return discharge_coefficient * free_area * (2 * abs(pressure_difference) / density) ** 0.5


@formula
def stack_flow(
    free_area: Area, height: Length, temperature: Temperature, ambient: Temperature,
    discharge_coefficient: Fraction = OPENING,
) -> AirFlow:  # fmt: skip
    """Air that rises through two equal openings, one above the other, because one side is warmer.

    The pressures inside and outside are equal half-way up, so that each opening has half the height to drive it.

    Parameters
    ----------
    free_area : of each of the two openings
    height : from the middle of the lower one to the middle of the upper one
    temperature : of the air inside
    ambient : of the air outside
    discharge_coefficient : 0.65 where air goes one way only

    Source: ASHRAE Fundamentals ch. 16, flow caused by stack effect.
    """
    lift = GRAVITY * height * abs(temperature - ambient) / numpy.maximum(temperature, ambient)
    return discharge_coefficient * free_area * lift**0.5


@formula
def wind_flow(free_area: Area, wind_speed: WindSpeed, opening_effectiveness: Fraction = 0.3) -> AirFlow:
    """Air that wind drives through an opening that is the smaller of inlet and outlet.

    Parameters
    ----------
    free_area : of the opening
    wind_speed : of the wind there: much less under a coach than at a weather station
    opening_effectiveness : 0.5 to 0.6 where wind blows straight at it, 0.25 to 0.35 where it comes from the
        side (from memory)

    Source: ASHRAE Fundamentals ch. 16, flow caused by wind.
    """
    return opening_effectiveness * free_area * wind_speed
