"""Weather: typical years, where the sun stands, and what falls on a plane.

A typical year is 8760 hours of one place, put together from months that were typical of it. It has no extremes:
design temperatures stand beside it. Every year here begins on 1 January of one plain year, in local standard time,
and each value belongs to the hour that begins there: the sun as the mean of that hour, temperatures and wind as they
are at its end.

Four places come with the workbook; the reader's own EPW, TMY3 or TMY2 file is read in the same way.
"""

import dataclasses
import datetime
import functools
import math
import warnings
from pathlib import Path
from typing import Annotated

import numpy

from coachwork import bootstrap
from coachwork.quantities import (
    ABOVE_ZERO,
    Altitude,
    Angle,
    DayOfYear,
    Fraction,
    InputError,
    Irradiance,
    NetRadiation,
    Number,
    Pressure,
    Quantity,
    SunEnergy,
    Temperature,
    Time,
    TimeShift,
    floats,
    formula,
    nearest,
    quoted,
    show,
)
from coachwork.sources import Source, table

PI = math.pi
HOURS = 8760
PLAIN_YEAR = 2001
MONTH_DAYS = (31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)
MONTHS = ("January", "February", "March", "April", "May", "June", "July", "August", "September", "October",
          "November", "December")  # fmt: skip
ALBEDO = 0.2  # of grass or bare ground, where a file does not say; common practice, no source
FULL_SUN = Quantity(1.0, "kW/m**2")
SOLAR_CONSTANT = Quantity(0.0820, "MJ/m**2/min")
STEFAN_BOLTZMANN = Quantity(5.670374e-8, "W/m**2/K**4")
STEFAN_BOLTZMANN_DAY = Quantity(4.903e-9, "MJ/m**2/K**4")  # of a day, as FAO-56 prints it
DAY = Quantity(24.0, "h")
QUARTER_HOUR_A_DEGREE = Quantity(4.0, "min/deg")
ONE_KPA, ONE_KELVIN, ONE_KILOMETER = Quantity(1.0, "kPa"), Quantity(1.0, "K"), Quantity(1000.0, "m")
SEA_LEVEL = Quantity(101.325, "kPa")
SUN_AT_HORIZON = 50 / 60  # degrees of its middle below, when its upper limb is seen there: 34' of refraction, 16' of its own


# ------------------------------------------------------------------------------- the sun by hand


@formula
def declination(day: DayOfYear) -> Angle:
    """Height of the noon sun above the celestial equator: 23.45° in June, -23.45° in December.

    Parameters
    ----------
    day : day of the year, 1 to 366

    Good to about half a degree. Source: Cooper 1969, as in Duffie and Beckman, Solar Engineering of Thermal Processes,
    eq. 1.6.1.
    """
    return Quantity(23.45, "deg") * math.sin(2 * PI * (284 + day) / 365)


@formula
def declination_of_fao(day: DayOfYear) -> Angle:
    """Height of the noon sun above the celestial equator, as FAO-56 writes it.

    Parameters
    ----------
    day : day of the year, 1 to 366

    Source: FAO Irrigation and Drainage Paper 56, eq. 24.
    """
    return Quantity(0.409, "rad") * math.sin(2 * PI * day / 365 - 1.39)


@formula
def distance_factor(day: DayOfYear) -> Number:
    """How much stronger the sun is outside the air than in the mean of the year, for its distance.

    Parameters
    ----------
    day : day of the year, 1 to 366

    Source: FAO-56, eq. 23.
    """
    return 1 + 0.033 * math.cos(2 * PI * day / 365)


@formula
def equation_of_time(day: DayOfYear) -> TimeShift:
    """How far a sundial runs ahead of an even clock; negative where it runs behind.

    Parameters
    ----------
    day : day of the year, 1 to 366

    Source: Spencer 1971; Duffie and Beckman print it as eq. 1.5.3, with a digit changed in two terms, which is
    a second's difference.
    """
    angle = 2 * PI * (day - 1) / 365
    return Quantity(229.18, "min") * (
        0.0000075 + 0.001868 * math.cos(angle) - 0.032077 * math.sin(angle)
        - 0.014615 * math.cos(2 * angle) - 0.040849 * math.sin(2 * angle)
    )  # fmt: skip


@formula
def solar_time_shift(day: DayOfYear, longitude: Angle, standard_meridian: Angle) -> TimeShift:
    """Solar time less local standard time.

    Parameters
    ----------
    day : day of the year, 1 to 366
    longitude : of the place, west negative
    standard_meridian : of its time zone, west negative (Central -90°, Mountain -105°)

    Source: Duffie and Beckman, eq. 1.5.2 (four minutes a degree).
    """
    return QUARTER_HOUR_A_DEGREE * (longitude - standard_meridian) + equation_of_time(day)


@formula
def incidence_cosine(
    latitude: Angle, declination: Angle, hour_angle: Angle, tilt: Angle, azimuth_from_south: Angle
) -> Number:
    """Cosine of the angle between the sun and the line square to a plane; negative: the sun is behind it.

    Parameters
    ----------
    latitude : of the place, south negative
    declination : height of the noon sun above the celestial equator
    hour_angle : 15° an hour from solar noon, morning negative
    tilt : of the plane, 0 for a flat roof
    azimuth_from_south : where the plane faces, west positive

    Source: Duffie and Beckman, eq. 1.6.2.
    """
    level = math.cos(tilt) * (
        math.sin(declination) * math.sin(latitude)
        + math.cos(declination) * math.cos(latitude) * math.cos(hour_angle)
    )
    tilted = math.sin(tilt) * (
        math.cos(azimuth_from_south)
        * (math.cos(declination) * math.sin(latitude) * math.cos(hour_angle) - math.sin(declination) * math.cos(latitude))
        + math.cos(declination) * math.sin(azimuth_from_south) * math.sin(hour_angle)
    )
    return level + tilted


@formula
def sunset_hour_angle(latitude: Angle, declination: Angle) -> Angle:
    """Hour angle of sunset: 90° at an equinox; 180° where the sun does not set, 0° where it does not rise.

    Parameters
    ----------
    latitude : of the place, south negative
    declination : height of the noon sun above the celestial equator

    Source: FAO-56, eq. 25.
    """
    return Quantity(math.acos(min(1.0, max(-1.0, -math.tan(latitude) * math.tan(declination)))), "rad")


@formula
def daylight_hours(sunset_angle: Angle) -> Time:
    """Hours from sunrise to sunset: not the same thing as peak sun hours.

    Parameters
    ----------
    sunset_angle : hour angle of sunset

    Source: FAO-56, eq. 34.
    """
    return DAY * sunset_angle / Quantity(180.0, "deg")


@formula
def extraterrestrial_day(latitude: Angle, day: DayOfYear) -> SunEnergy:
    """Sun on a level square metre outside the air in a day: more than any place on the ground can get.

    Parameters
    ----------
    latitude : of the place, south negative
    day : day of the year, 1 to 366

    Source: FAO-56, eq. 21.
    """
    sun, phi = declination_of_fao(day), latitude
    sunset = sunset_hour_angle(phi, sun)
    whole_day = SOLAR_CONSTANT * DAY / PI * distance_factor(day)
    turn = floats(sunset, "rad") * math.sin(phi) * math.sin(sun) + math.cos(phi) * math.cos(sun) * math.sin(sunset)
    return whole_day * max(0.0, turn)


@formula
def clear_sky_day(altitude: Altitude, extraterrestrial: SunEnergy) -> SunEnergy:
    """Sun on a level square metre in a day without clouds.

    Parameters
    ----------
    altitude : of the place
    extraterrestrial : sun outside the air in that day

    Source: FAO-56, eq. 37.
    """
    return (0.75 + 0.02 * (altitude / ONE_KILOMETER)) * extraterrestrial


@formula
def sun_from_temperatures(
    coldest: Temperature, warmest: Temperature, extraterrestrial: SunEnergy, nearness: Number = 0.16
) -> SunEnergy:
    """Sun on a level square metre in a day at a place without data, from the day's temperatures.

    A clear day swings more between night and noon than a cloudy one.

    Parameters
    ----------
    coldest, warmest : air temperature of the day
    extraterrestrial : sun outside the air in that day
    nearness : 0.16 inland, 0.19 at a coast

    Rough: good for a week or a month, not for one day. Source: Hargreaves, as in FAO-56, eq. 50.
    """
    return nearness * math.sqrt((warmest - coldest) / ONE_KELVIN) * extraterrestrial


@formula
def longwave_loss_day(
    coldest: Temperature, warmest: Temperature, vapor_pressure: Pressure, sun: SunEnergy,
    clear_sun: Annotated[SunEnergy, ABOVE_ZERO],
) -> SunEnergy:
    """Heat that level ground radiates to the sky in a day, less what the sky sends back.

    Parameters
    ----------
    coldest, warmest : air temperature of the day
    vapor_pressure : of the air
    sun, clear_sun : sun of the day, and what it would be without clouds

    Source: FAO-56, eq. 39.
    """
    black_body = STEFAN_BOLTZMANN_DAY * (warmest**4 + coldest**4) / 2
    moist = 0.34 - 0.14 * math.sqrt(vapor_pressure / ONE_KPA)
    cloudy = 1.35 * (sun / clear_sun) - 0.35
    return black_body * moist * cloudy


@formula
def net_radiation(
    direct: Irradiance, diffuse: Irradiance, incidence: Angle, absorptivity: Fraction, emissivity: Fraction,
    surface_temperature: Temperature, sky_temperature: Temperature,
) -> NetRadiation:
    """Heat that a surface gains from sun and sky; negative: it loses more than it gets.

    Parameters
    ----------
    direct : sun square to its beam
    diffuse : light of the sky on the surface
    incidence : angle between the beam and the line square to the surface
    absorptivity : share of sunlight that it takes in
    emissivity : of its own heat radiation
    surface_temperature, sky_temperature : of the surface, and that which the sky seems to have

    Source: Cengel, Heat and Mass Transfer, ch. 12 (energy balance of a surface in the sun).
    """
    from_sun = absorptivity * (direct * math.cos(incidence) + diffuse)
    return from_sun + emissivity * STEFAN_BOLTZMANN * (sky_temperature**4 - surface_temperature**4)


@formula
def sun_hours(irradiation: SunEnergy) -> Time:
    """Peak sun hours: the day's sun as hours of full sun, 1000 W on each square metre.

    Parameters
    ----------
    irradiation : energy of the sun on a square metre in a day

    Source: definition; full sun is that of the standard test conditions, IEC 60904-3.
    """
    return irradiation / FULL_SUN


# ------------------------------------------------------------------------------- the sun exactly


@dataclasses.dataclass(frozen=True)
class SunPosition:
    """Where the sun stands at one moment.

    zenith : angle from straight up, as it is seen through the air. elevation : above the horizon, as seen.
    true_elevation : without the bending of light in the air. azimuth : clockwise from north. declination,
    right_ascension : place among the stars. distance : to the sun, 1 in the mean of the year.
    """

    zenith: Angle
    elevation: Angle
    true_elevation: Angle
    azimuth: Angle
    declination: Angle
    right_ascension: Angle
    distance: Number


def sun_position(
    moment: str, latitude: Angle, longitude: Angle, altitude: Altitude = Quantity(0.0, "m"),
    pressure: Pressure = SEA_LEVEL, temperature: Temperature = Quantity(285.15, "K"),
) -> SunPosition:
    """Where the sun stands, to a thousandth of a degree.

    Parameters
    ----------
    moment : date and time with its offset from Greenwich, "2003-10-17 12:30:30 -07:00"
    latitude, longitude : of the place, south and west negative
    altitude : of the place
    pressure, temperature : of the air, which bends the light

    Errors: InputError where the moment cannot be read or has no offset.
    Source: Reda and Andreas, Solar Position Algorithm, NREL/TP-560-34302, as pvlib calculates it.
    """
    import pandas
    from pvlib import solarposition, spa

    try:
        when = pandas.Timestamp(moment)
        aware = when.tzinfo is not None
    except (ValueError, TypeError):
        aware = False
    if not aware:
        raise InputError("moment", f"{quoted(moment)} stands there", "a date and time with its offset from Greenwich",
                         '"2003-10-17 12:30:30 -07:00"')  # fmt: skip
    place = floats(latitude, "deg"), floats(longitude, "deg"), floats(altitude, "m")
    air = floats(pressure, "Pa"), floats(temperature, "degC")
    index = pandas.DatetimeIndex([when])
    row = solarposition.spa_python(index, *place, air[0], air[1], atmos_refract=0.5667).iloc[0]
    stars = spa.solar_position(numpy.array([when.timestamp()]), *place, air[0] / 100, air[1], 67.0, 0.5667, sst=True)
    distance = float(solarposition.nrel_earthsun_distance(index, delta_t=67.0).iloc[0])
    angle = lambda degrees: Quantity(float(degrees), "deg")  # noqa: E731
    return SunPosition(angle(row["apparent_zenith"]), angle(row["apparent_elevation"]), angle(row["elevation"]),
                       angle(row["azimuth"]), angle(stars[2][0]), angle(stars[1][0]), distance)  # fmt: skip


@dataclasses.dataclass(frozen=True)
class Daylight:
    """Sunrise, solar noon and sunset, hours after midnight, local standard time."""

    sunrise: Time
    noon: Time
    sunset: Time

    @property
    def night(self):
        """From sunset to sunrise, as a coach file says it: `"19:30-04:45"`."""
        return f"{_clock(self.sunset)}-{_clock(self.sunrise)}"


def _clock(hours):
    minutes = round(floats(hours, "min"))
    return f"{minutes // 60:02d}:{minutes % 60:02d}"


def daylight(date: str, latitude: Angle, longitude: Angle, utc_offset: float) -> Daylight:
    """Sunrise, solar noon and sunset of a day.

    Parameters
    ----------
    date : "2015-08-02"
    latitude, longitude : of the place, south and west negative
    utc_offset : hours of local standard time from Greenwich, west negative (Mountain -7)

    Rise and set are the moments at which the sun's middle stands 50' below the horizon, 34' of them refraction, looked for
    twelve hours before and after noon. pvlib's own routine reckons by days of Greenwich: a sunset after its midnight it takes
    from the evening before, half a minute to two minutes off.

    Errors: InputError where date or place cannot be, or where the sun does not rise or set on it.
    Source: Solar Position Algorithm, NREL/TP-560-34302, as pvlib calculates it.
    """
    import pandas
    from pvlib import spa
    from scipy.optimize import brentq

    north, east = floats(latitude, "deg"), floats(longitude, "deg")
    if not (abs(north) <= 90 and abs(east) <= 180 and abs(utc_offset) <= 14):
        raise InputError("place", f"{show(latitude)}, {show(longitude)}, {quoted(utc_offset)} h from Greenwich is given",
                         "latitude, longitude and the hours of its standard time", '"39.8 deg", "-104.7 deg", -7')  # fmt: skip
    zone = datetime.timezone(datetime.timedelta(hours=float(utc_offset)))
    try:
        day = pandas.Timestamp(date).normalize().tz_localize(zone)
    except (ValueError, TypeError, AttributeError):  # no date at all is NaT, which has no days
        raise InputError("date", f"{quoted(date)} stands there", "a date", '"2015-08-02"') from None

    def sun(moment):
        turn, right_ascension, declined = (float(one[0]) for one in spa.solar_position(
            numpy.array([moment]), north, east, 0.0, 1013.25, 12.0, 67.0, 0.5667, sst=True))  # fmt: skip
        return (turn + east - right_ascension + 180) % 360 - 180, declined  # hour angle and declination in degrees

    def above(moment):
        hour_angle, declined, phi = *map(math.radians, sun(moment)), math.radians(north)
        height = math.sin(phi) * math.sin(declined) + math.cos(phi) * math.cos(declined) * math.cos(hour_angle)
        return math.degrees(math.asin(height)) + SUN_AT_HORIZON

    start, half = day.timestamp(), 43200.0
    noon = start + half
    for _ in range(3):  # the noon nearest to the middle of the day
        noon -= sun(noon)[0] * half / 180
    if not (above(noon) > 0 and above(noon - half) < 0 and above(noon + half) < 0):
        raise InputError("date", f"the sun does not rise and set on {date} at that latitude", "a day with both")
    moments = brentq(above, noon - half, noon, xtol=0.1), noon, brentq(above, noon, noon + half, xtol=0.1)
    after = [(moment - start) / 3600 for moment in moments]
    return Daylight(*(Quantity(hours, "h") for hours in after))


# ------------------------------------------------------------------------------- typical years


@dataclasses.dataclass(frozen=True, eq=False)
class Year:
    """A typical year of one place.

    latitude, longitude : degrees, south and west negative. utc_offset : hours of local standard time from
    Greenwich. altitude : m. Arrays of shape (8760,), by hours from 1 January: level (sun on a level square metre),
    beam (square to its own beam), sky (light of the sky on a level square metre), all W/m2, means of the hour;
    temperature and dew_point (°C), wind (m/s), albedo (share of light that the ground gives back).
    """

    name: str
    about: str
    latitude: float
    longitude: float
    utc_offset: float
    altitude: float
    level: numpy.ndarray
    beam: numpy.ndarray
    sky: numpy.ndarray
    temperature: numpy.ndarray
    dew_point: numpy.ndarray
    wind: numpy.ndarray
    albedo: numpy.ndarray
    source: Source


@dataclasses.dataclass(frozen=True)
class _Place:
    about: str
    file: str
    own: bool  # in data/weather, else in pvlib's own folder


PLACES = {
    "Denver": _Place("Denver, Colorado: dry and high", "denver.csv", True),
    "Miami": _Place("Miami, Florida: hot and humid", "12839.tm2", False),
    "Greensboro": _Place("Greensboro, North Carolina: mixed", "723170TYA.CSV", False),
    "Sand Point": _Place("Sand Point, Alaska: cold and maritime", "703165TY.csv", False),
}
WEATHER = bootstrap.ROOT / "data" / "weather"
COLUMNS = {  # of a Year: lowest and highest that can be true
    "level": (0, 1500), "beam": (0, 1400), "sky": (0, 1000), "temperature": (-70, 60), "dew_point": (-80, 45),
    "wind": (0, 60), "albedo": (0, 1),
}  # fmt: skip
_NAMES = {  # column of a Year: its names in pvlib's EPW and TMY3 readers, and in TMY2
    "level": ("ghi", "GHI"), "beam": ("dni", "DNI"), "sky": ("dhi", "DHI"), "temperature": ("temp_air", "DryBulb"),
    "dew_point": ("temp_dew", "DewPoint"), "wind": ("wind_speed", "Wspd"), "albedo": ("albedo", None),
}  # fmt: skip
_TENTHS = ("temperature", "dew_point", "wind")  # TMY2 writes these times ten
LARGEST_FILE = 10_000_000  # bytes


def places() -> dict:
    """The places that come with the workbook: name to description. Source: each year names its own."""
    return {name: place.about for name, place in PLACES.items()}


def year(place: str) -> Year:
    """The typical year of a place.

    Parameters
    ----------
    place : one of `places()`, or the path of an EPW, TMY3 or TMY2 file

    Errors: InputError where there is no such place or file, and where a file is damaged (see `read_year`).
    Source: Year.source.
    """
    if place in PLACES:
        return _known_year(place)
    if isinstance(place, str) and Path(place).suffix.lower() in READERS:
        path = Path(place).expanduser()
        state = path.stat() if path.is_file() else None  # a date alone may be set back, or be copied with a file
        return _read_once(path, state and (state.st_mtime_ns, state.st_ctime_ns, state.st_size))
    near = nearest(str(place), PLACES)
    raise InputError("place", f"{quoted(place)} has no weather here",
                     "one of " + ", ".join(PLACES) + ", or the path of an EPW, TMY3 or TMY2 file",
                     quoted(near or "Denver"))  # fmt: skip


@functools.cache
def _known_year(name):
    place = PLACES[name]
    if place.own:
        return _read_own(name, place)
    import pvlib

    found = read_year(Path(pvlib.__file__).parent / "data" / place.file)
    return dataclasses.replace(found, name=name, about=place.about)


@functools.lru_cache(maxsize=8)
def _read_once(path, state):
    return read_year(path)


def _read_own(name, place):
    lines = (WEATHER / place.file).read_text(encoding="utf-8").splitlines()
    about = dict(line[1:].split(":", 1) for line in lines if line.startswith("#"))
    about = {key.strip(): value.strip() for key, value in about.items()}
    start = next(number for number, line in enumerate(lines) if not line.startswith("#"))
    values = numpy.array([line.split(",") for line in lines[start + 1 :]], float).T
    order = ("level", "beam", "sky", "temperature", "dew_point", "wind", "albedo")
    where = [float(about[key]) for key in ("latitude", "longitude", "utc offset", "altitude")]
    return Year(name, place.about, *where, **dict(zip(order, values)), source=Source(about["source"], "secondary"))


def read_year(path) -> Year:
    """The typical year in an EPW, TMY3 (.csv) or TMY2 (.tm2) file.

    Parameters
    ----------
    path : the file; its ending says which of the three it is

    Traps that are seen to: TMY3 stamps the end of an hour, EPW and TMY2 count hours from 1; TMY2 writes
    temperatures and wind times ten; some files say that the ground gives back nothing at all; months come from
    different years. Errors: InputError where the file cannot be read, has not 8760 hours in order, or has a
    value that is missing or cannot be true; the message names the column and the hour.
    Source: NREL/TP-581-43156 (TMY3), NREL/SP-463-7668 (TMY2), EnergyPlus Auxiliary Programs (EPW); read by pvlib.
    """
    path = Path(path).expanduser()
    if path.suffix.lower() not in READERS:
        raise InputError(path.name, f"its ending is {quoted(path.suffix)}", "an EPW, TMY3 or TMY2 file",
                         '".epw", ".csv" or ".tm2"')  # fmt: skip
    try:
        size = path.stat().st_size
    except (OSError, ValueError) as error:
        raise InputError(str(path), f"it cannot be read ({getattr(error, 'strerror', None) or error})",
                         "the path of an EPW, TMY3 or TMY2 file", '"my-place.epw"') from None  # fmt: skip
    if not 0 < size <= LARGEST_FILE:
        raise InputError(path.name, f"it holds {size:,} bytes", "a weather file of at most 10 MB")
    kind, reads = READERS[path.suffix.lower()]
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # of pvlib and pandas, about columns that are not used here
            data, about = reads(path)
        stamps = _stamps(data, path.suffix.lower())
        where = [float(about[key]) for key in ("latitude", "longitude", "TZ", "altitude")]
        name = str(about.get("city") or about.get("City") or about.get("Name")).strip('" ').title()
        columns = {column: _numbers(data, *names) for column, names in _NAMES.items()}
    except Exception as error:  # pvlib meets a damaged file with any kind of error; its owner needs one sentence
        why = " ".join(str(error).split())[:80] if isinstance(error, ValueError) else "its lines are not those of one"
        raise InputError(path.name, f"it cannot be read as {kind} ({why})",
                         f"a whole {kind} file as it was published") from error  # fmt: skip
    _whole(path.name, kind, stamps, where)
    if path.suffix.lower() == ".tm2":
        columns |= {column: columns[column] / 10 for column in _TENTHS}
    albedo = columns["albedo"]  # zero, and codes for "missing", are not the ground's
    columns["albedo"] = numpy.where((albedo > 0) & (albedo <= 1), albedo, ALBEDO)
    for column, values in columns.items():
        low, high = COLUMNS[column]
        bad = numpy.flatnonzero(~((values >= low) & (values <= high)))
        if len(bad):
            hour = datetime.datetime(PLAIN_YEAR, 1, 1) + datetime.timedelta(hours=int(bad[0]))
            raise InputError(path.name, f"{column.replace('_', ' ')} is {values[bad[0]]:g} in the hour from "
                             f"{MONTHS[hour.month - 1]} {hour.day}, {hour.hour:02d}:00", f"values from {low} to {high}",
                             hint=len(bad) > 1 and f"and in {len(bad) - 1:,} more hours" or "")  # fmt: skip
    return Year(name, f"{name}, from {path.name}", *where, **columns, source=Source(f"{kind} file {path.name}", "secondary")
                if not str(path).endswith(tuple(place.file for place in PLACES.values())) else
                Source(f"NREL {kind} file {path.name}, as the pvlib package carries it", "published"))  # fmt: skip


def _read_epw(path):
    from pvlib.iotools import read_epw

    return read_epw(path, coerce_year=PLAIN_YEAR)


def _read_tmy3(path):
    from pvlib.iotools import read_tmy3

    return read_tmy3(path, coerce_year=PLAIN_YEAR, map_variables=True)


def _read_tmy2(path):
    from pvlib.iotools import read_tmy2

    return read_tmy2(path)


READERS = {".epw": ("EPW", _read_epw), ".csv": ("TMY3", _read_tmy3), ".tm2": ("TMY2", _read_tmy2)}


def _numbers(data, name, name_in_tmy2):
    name = name if name in data else name_in_tmy2
    return numpy.zeros(len(data)) if name is None else numpy.asarray(data[name], float)


def _stamps(data, ending):
    """(month, day, hour) at which each row's hour begins, shape (n, 3)."""
    index = data.index
    if ending == ".csv":  # stamped with the hour's end, the last one in the next year
        index = index - datetime.timedelta(hours=1)
    return numpy.column_stack([index.month, index.day, index.hour])


def _whole(name, kind, stamps, where):
    wanted = numpy.array([(month, day, hour) for month, days in enumerate(MONTH_DAYS, 1) for day in range(1, days + 1)
                          for hour in range(24)])  # fmt: skip
    if len(stamps) != HOURS:
        raise InputError(name, f"it holds {len(stamps):,} hours", f"the {HOURS:,} hours of a plain year, without 29 February")
    wrong = numpy.flatnonzero((stamps != wanted).any(axis=1))
    if len(wrong):
        month, day, hour = stamps[wrong[0]]
        raise InputError(name, f"row {wrong[0] + 1:,} is {MONTHS[month - 1]} {day}, hour {hour + 1}",
                         "the hours of a year in their order, from 1 January")  # fmt: skip
    latitude, longitude, offset, altitude = where
    if not (abs(latitude) <= 90 and abs(longitude) <= 180 and abs(offset) <= 14 and -500 <= altitude <= 9000):
        raise InputError(name, f"its place is {latitude:g}, {longitude:g}, {altitude:g} m, {offset:g} h from Greenwich",
                         f"latitude, longitude, altitude and time zone in the head of the {kind} file")  # fmt: skip


# ------------------------------------------------------------------------------- what falls on a plane


@dataclasses.dataclass(frozen=True, eq=False)
class Plane:
    """Light on a plane by hours of a year: beam, sky, ground (W/m2) and incidence of the beam (degrees)."""

    beam: numpy.ndarray
    sky: numpy.ndarray
    ground: numpy.ndarray
    incidence: numpy.ndarray

    @property
    def total(self):
        """All of it, W/m2, shape (8760,)."""
        return self.beam + self.sky + self.ground


def sun_track(year) -> tuple:
    """Where the sun stands in the middle of each hour of a year: zenith angle and azimuth in degrees, two arrays.

    Parameters
    ----------
    year : a Year

    Source: Solar Position Algorithm, NREL/TP-560-34302, as pvlib calculates it.
    """
    return _track(year.latitude, year.longitude, year.utc_offset, year.altitude)


@functools.lru_cache(maxsize=16)
def _track(latitude, longitude, utc_offset, altitude):
    from pvlib.solarposition import get_solarposition

    found = get_solarposition(_middles(utc_offset), latitude, longitude, altitude=altitude)
    return found["apparent_zenith"].to_numpy(), found["azimuth"].to_numpy()


def _middles(utc_offset):
    import pandas

    zone = datetime.timezone(datetime.timedelta(hours=utc_offset))
    return pandas.date_range(datetime.datetime(PLAIN_YEAR, 1, 1, 0, 30, tzinfo=zone), periods=HOURS, freq="h")


def on_plane(year, tilt: Angle, azimuth: Angle = Quantity(180.0, "deg")) -> Plane:
    """Light on a plane by hours of a year.

    Parameters
    ----------
    year : a Year
    tilt : of the plane from level, 0 to 90°
    azimuth : where it faces, clockwise from north; of no matter where it lies level

    On a level plane nothing is to be carried over: the file's own values are it. Source: Perez et al. 1990 in
    the continuous form of Driesse et al. 2024, as pvlib calculates it; ground by Liu and Jordan.
    """
    slope = floats(tilt, "deg")
    if not 0 <= slope <= 90:
        raise InputError("tilt", f"{slope:g}° is given", "a tilt from 0° (level) to 90° (upright)", '"30 deg"')
    return _plane(year, float(slope), float(floats(azimuth, "deg")) % 360 if slope else 180.0)


@functools.lru_cache(maxsize=64)
def _plane(year, tilt, azimuth):
    zenith, sun = sun_track(year)
    if not tilt:
        beam = numpy.clip(year.level - year.sky, 0, None)
        return Plane(beam, year.level - beam, numpy.zeros(HOURS), zenith)
    from pvlib import irradiance

    incidence = irradiance.aoi(tilt, azimuth, zenith, sun)
    outside = irradiance.get_extra_radiation(numpy.repeat(numpy.arange(1, 366), 24))
    lit = irradiance.get_total_irradiance(tilt, azimuth, zenith, sun, year.beam, year.level, year.sky, dni_extra=outside,
                                          albedo=year.albedo, model="perez-driesse")  # fmt: skip
    up = zenith < 90
    beam = numpy.where(up, lit["poa_direct"], 0.0)
    sky = numpy.where(up, numpy.nan_to_num(lit["poa_sky_diffuse"]), year.sky * (1 + math.cos(math.radians(tilt))) / 2)
    return Plane(beam, sky, numpy.asarray(lit["poa_ground_diffuse"], float), incidence)


@functools.cache
def _month_of_hour():
    return numpy.repeat(numpy.arange(1, 13), [24 * days for days in MONTH_DAYS])


def hours_of(months) -> numpy.ndarray:
    """Which hours of a year belong to some months: booleans, shape (8760,).

    Parameters
    ----------
    months : whole numbers from 1 to 12; none means the whole year

    Errors: InputError where a month is none. Source: the calendar of a plain year.
    """
    for month in months:
        if isinstance(month, bool) or month not in range(1, 13):
            raise InputError("month", f"{quoted(month)} is given", "a month from 1 to 12", "12")
    return numpy.isin(_month_of_hour(), list(months)) if len(months) else numpy.ones(HOURS, bool)


def by_month(values) -> numpy.ndarray:
    """The mean day of each month, shape (12,): the sum of hourly `values`, shape (8760,), over 24 hours."""
    return numpy.array([values[_month_of_hour() == month].sum() / days for month, days in enumerate(MONTH_DAYS, 1)])


def peak_sun_hours(
    place: str, month: int = 0, tilt: Angle = Quantity(0.0, "deg"), azimuth: Angle = Quantity(180.0, "deg")
) -> Time:
    """Peak sun hours of a mean day.

    Parameters
    ----------
    place : as for `year`
    month : 1 to 12; 0 for the whole year
    tilt, azimuth : as for `on_plane`

    Source: the typical year, and `on_plane`.
    """
    lit = on_plane(year(place), tilt, azimuth).total[hours_of([month] if month else [])]
    return sun_hours(Quantity(float(lit.mean()) * 24, "Wh/m**2"))


def temperature_exceeded(place: str, exceedance: Fraction) -> Temperature:
    """Air temperature that is exceeded in some of the hours of a typical year.

    Parameters
    ----------
    place : as for `year`
    exceedance : 0.01 for a design day of summer, 0.99 for one of winter

    Source: the typical year.
    """
    return Quantity(float(numpy.quantile(year(place).temperature, 1 - exceedance)), "degC").to("degC")


@dataclasses.dataclass(frozen=True)
class Extremes:
    """What a typical year does not hold: lowest and highest air temperature to design for."""

    coldest: Temperature
    hottest: Temperature
    source: Source


def extremes(place: str) -> Extremes:
    """Lowest and highest air temperature to design for.

    Parameters
    ----------
    place : as for `year`

    Of the workbook's places, the mean of each year's extremes, or the typical year's own where that goes further.
    A file of the reader's has only what its year holds: the message of its source says so, and a lower one should be asked
    for on the spot. Source: data/tables/extreme_temperatures.csv.
    """
    found = year(place)
    low, high = float(found.temperature.min()), float(found.temperature.max())
    source = Source("coldest and hottest hour of a typical year: there have been worse", "derived")
    if place in PLACES:
        row = table("extreme_temperatures").row(place=place)
        low, high = min(low, floats(row["coldest"], "degC")), max(high, floats(row["hottest"], "degC"))
        source = Source(row["source"], row["row status"])
    return Extremes(Quantity(low, "degC"), Quantity(high, "degC"), source)
