"""Weather: years read whole or refused kindly, the sun against closed sums, planes against their own limits."""

import datetime
import math
import shutil
from pathlib import Path

import numpy
import pvlib
import pytest
from hypothesis import given, settings
from hypothesis import strategies as some

from coachwork import bootstrap, weather
from coachwork.quantities import InputError, Q, floats

DATA = Path(pvlib.__file__).parent / "data"
GREENSBORO = DATA / "723170TYA.CSV"


@pytest.fixture(params=weather.PLACES)
def year(request):
    return weather.year(request.param)


# ------------------------------------------------------------------------------- typical years


def test_a_year_is_whole_and_sane(year):
    for column, (low, high) in weather.COLUMNS.items():
        values = getattr(year, column)
        assert values.shape == (8760,) and values.min() >= low and values.max() <= high
    assert 0.05 < year.albedo.mean() < 0.6  # never the zero that some files carry
    assert (year.dew_point <= year.temperature + 0.6).all()
    night = weather.sun_track(year)[0] > 100
    assert year.level[night].max() == 0


@pytest.mark.parametrize("place, allowed", [("Greensboro", 3.0), ("Denver", 5.0), ("Sand Point", 3.0)])
def test_beam_sky_and_level_close(place, allowed):
    # level = beam x cos(zenith) + sky, in W/m2 root mean square over the year. Denver's coarser values are rounded.
    year = weather.year(place)
    zenith = weather.sun_track(year)[0]
    gap = year.beam * numpy.clip(numpy.cos(numpy.radians(zenith)), 0, None) + year.sky - year.level
    assert math.sqrt((gap**2).mean()) < allowed


def test_an_hour_off_does_not_close():
    year = weather.year("Greensboro")
    cosine = numpy.clip(numpy.cos(numpy.radians(weather.sun_track(year)[0])), 0, None)
    for shift in (-1, 1):  # what the TMY3 stamp taken as the hour's beginning would be
        gap = year.beam * numpy.roll(cosine, shift) + year.sky - year.level
        assert math.sqrt((gap**2).mean()) > 20


def test_noon_is_at_noon(year):
    # The middle of a year's light, hour by hour, is solar noon: within ten minutes of the sun's own transit.
    days = year.level.reshape(365, 24).sum(axis=0)
    middle = ((numpy.arange(24) + 0.5) * days).sum() / days.sum()
    zenith = weather.sun_track(year)[0].reshape(365, 24)
    transit = numpy.mean([(numpy.cos(numpy.radians(numpy.clip(day, 0, 90))) * (numpy.arange(24) + 0.5)).sum()
                          / numpy.cos(numpy.radians(numpy.clip(day, 0, 90))).sum() for day in zenith])  # fmt: skip
    assert middle == pytest.approx(transit, abs=0.25)


def test_tenths_of_tmy2_are_degrees():
    miami = weather.year("Miami")
    data, _ = pvlib.iotools.read_tmy2(DATA / "12839.tm2")
    assert miami.temperature[0] == 20.0 and miami.wind[5] == data["Wspd"].iloc[5] / 10
    assert 20 < miami.temperature.mean() < 27


def test_our_copy_of_denver_says_where_it_came_from():
    text = (bootstrap.ROOT / "data" / "weather" / "denver.csv").read_text(encoding="utf-8")
    for word in ("source:", "taken from:", "sha256", "licence:"):
        assert word in text.partition("ghi,")[0]
    denver = weather.year("Denver")
    assert (denver.temperature.min(), denver.temperature.max()) == (-19.4, 40.0)
    assert denver.level.mean() == pytest.approx(190.66, abs=0.01)


def epw_of(year, path, **changed):
    """A Year as an EPW file, written by hand from the format's description."""
    head = [f"LOCATION,{year.name},ST,USA,TMY3,000000,{year.latitude},{year.longitude},{year.utc_offset},{year.altitude}",
            "DESIGN CONDITIONS,0", "TYPICAL/EXTREME PERIODS,0", "GROUND TEMPERATURES,0", "HOLIDAYS/DAYLIGHT SAVINGS,No,0,0,0",
            "COMMENTS 1,", "COMMENTS 2,", "DATA PERIODS,1,1,Data,Sunday, 1/ 1,12/31"]  # fmt: skip
    rows = []
    hour = 0
    for month, days in enumerate(weather.MONTH_DAYS, 1):
        for day in range(1, days + 1):
            for clock in range(1, 25):
                row = ["1999", month, day, clock, "0", "?", year.temperature[hour], year.dew_point[hour], 50, 101325, 0, 0, 0,
                       year.level[hour], year.beam[hour], year.sky[hour], 0, 0, 0, 0, 0, year.wind[hour], 0, 0, 0, 0, 0, 0,
                       0, 0, 0, 0, year.albedo[hour], 0, 0]  # fmt: skip
                rows.append(",".join(map(str, row)))
                hour += 1
    path.write_text("\n".join(head + rows) + "\n")
    return path


def test_there_and_back_through_epw(tmp_path):
    denver = weather.year("Denver")
    back = weather.year(str(epw_of(denver, tmp_path / "denver.epw")))
    for column in weather.COLUMNS:
        assert numpy.array_equal(getattr(back, column), getattr(denver, column))
    assert (back.latitude, back.longitude, back.utc_offset, back.altitude) == (39.83, -104.65, -7, 1650)
    assert weather.peak_sun_hours(str(tmp_path / "denver.epw")) == weather.peak_sun_hours("Denver")


def test_a_readers_own_tmy3_file_is_read_as_the_packages_own(tmp_path):
    own = shutil.copy(GREENSBORO, tmp_path / "my place.csv")
    assert numpy.array_equal(weather.year(str(own)).level, weather.year("Greensboro").level)
    assert weather.extremes(str(own)).source.status == "derived"


# ------------------------------------------------------------------------------- what is refused


def lines_of(path):
    return path.read_text(encoding="utf-8", errors="replace").splitlines()


def damaged(path, change):
    lines = lines_of(GREENSBORO)
    path.write_text("\n".join(change(lines)) + "\n")
    return path


def with_value(row, column, value):
    def change(lines):
        cells = lines[row].split(",")
        cells[lines[1].split(",").index(column)] = value
        return [*lines[:row], ",".join(cells), *lines[row + 1 :]]

    return change


@pytest.mark.parametrize(
    "change, words",
    [
        (lambda lines: lines[:5000], "holds 4,998 hours; wanted is the 8,760 hours"),
        (lambda lines: lines[:2], "cannot be read as TMY3"),
        (lambda lines: lines[1:], "cannot be read as TMY3"),
        (lambda lines: [lines[0], *lines[2:]], "cannot be read as TMY3"),
        (lambda lines: lines[:100] + lines[101:200] + [lines[100]] + lines[200:], "in their order"),
        (with_value(4000, "Dry-bulb (C)", "-9900"), "temperature is -9900 in the hour from June 16, 14:00"),
        (with_value(4000, "DNI (W/m^2)", "-5"), "beam is -5"),
        (with_value(4000, "GHI (W/m^2)", "abc"), "cannot be read as TMY3"),
        (with_value(4000, "GHI (W/m^2)", ""), "level is nan"),
        (lambda lines: ['723170,"X",NC,-5.0,136.100,-79.950,273', *lines[1:]], "its place is 136.1"),
        (lambda lines: ["not a weather file"], "cannot be read as TMY3"),
    ],
    ids="cut header-only no-place no-columns unordered missing negative letters empty-cell latitude prose".split(),
)  # fmt: skip
def test_a_damaged_file_is_refused_kindly(tmp_path, change, words):
    path = damaged(tmp_path / "bad.csv", change)
    with pytest.raises(InputError) as refused:
        weather.read_year(path)
    assert words in str(refused.value) and str(refused.value).startswith("bad.csv")
    assert "\n" not in str(refused.value)


@pytest.mark.parametrize(
    "name, content, words",
    [
        ("gone.epw", None, "cannot be read"),
        ("empty.epw", b"", "0 bytes"),
        ("noise.epw", bytes(range(256)) * 40, "cannot be read as EPW"),
        ("short.epw", b"LOCATION,X,Y,USA,TMY3,0,40,-105,-7,1600\n" * 12, "EPW"),
        ("noise.tm2", b"\xff" * 400, "cannot be read as TMY2"),
        ("list.txt", b"hello", "ending"),
    ],
)
def test_what_is_no_weather_file_is_refused_kindly(tmp_path, name, content, words):
    path = tmp_path / name
    if content is not None:
        path.write_bytes(content)
    with pytest.raises(InputError) as refused:
        weather.read_year(path)
    assert words in str(refused.value)


def test_a_leap_year_is_refused_with_what_is_wanted(tmp_path):
    path = epw_of(weather.year("Denver"), tmp_path / "leap.epw")
    lines = lines_of(path)
    leap = [line.replace("1999,2,28,", "2000,2,29,", 1) for line in lines if line.startswith("1999,2,28,")]
    at = next(number for number, line in enumerate(lines) if line.startswith("1999,3,1,1,"))
    path.write_text("\n".join([*lines[:at], *leap, *lines[at:]]) + "\n")
    with pytest.raises(InputError, match="29 February|cannot be read"):
        weather.read_year(path)


@pytest.mark.parametrize("place, words", [("Denvr", '"Denver"'), ("", "has no weather"), (None, "has no weather"),
                                          ("gone.epw", "cannot be read")])  # fmt: skip
def test_a_place_without_data_is_refused_kindly(place, words):
    with pytest.raises(InputError, match=words):
        weather.year(place)


@pytest.mark.parametrize("months", [[0], [13], ["June"], [True], [1.5]])
def test_a_month_out_of_range_is_refused(months):
    with pytest.raises(InputError, match="month"):
        weather.hours_of(months)


def test_moments_and_dates_are_refused_kindly():
    at = dict(latitude=Q(40, "deg"), longitude=Q(-105, "deg"))
    for moment in ("2003-10-17 12:30", "noon", None):
        with pytest.raises(InputError, match="offset from Greenwich"):
            weather.sun_position(moment, **at)
    for date in ("31 June", "", None):
        with pytest.raises(InputError, match="a date"):
            weather.daylight(date, **at, utc_offset=-7)
    with pytest.raises(InputError, match="does not rise"):
        weather.daylight("2015-06-21", Q(70, "deg"), Q(20, "deg"), 1)
    with pytest.raises(InputError, match="tilt"):
        weather.on_plane(weather.year("Denver"), Q(120, "deg"))


# ------------------------------------------------------------------------------- the sun


def test_daylight_by_formula_agrees_with_the_algorithm():
    latitude, longitude = Q(39.83, "deg"), Q(-104.65, "deg")
    for date, day in (("2001-03-20", 79), ("2001-06-21", 172), ("2001-09-23", 266), ("2001-12-21", 355)):
        found = weather.daylight(date, latitude, longitude, -7)
        by_hand = weather.daylight_hours(weather.sunset_hour_angle(latitude, weather.declination(day)))
        # the formula counts the sun's middle without the air's bending: about ten minutes a day
        assert floats(found.sunset - found.sunrise - by_hand, "min") == pytest.approx(10, abs=5)
    assert weather.daylight("2001-12-21", latitude, longitude, -7).night == "16:37-07:17"


def by_noaa(date, latitude, longitude, utc_offset):
    """Sunrise and sunset by NOAA's solar calculator (equations of Meeus, Astronomical Algorithms), hours; from memory."""
    r, found = math.radians, []
    for before_or_after in (-1, 1):
        hours = 12.0
        for _ in range(6):  # the sun is taken where it stands at that moment
            t = (datetime.date.fromisoformat(date).toordinal() + 1721424.5 + (hours - utc_offset) / 24 - 2451545) / 36525
            mean = (280.46646 + t * (36000.76983 + 0.0003032 * t)) % 360
            anomaly = r(357.52911 + t * (35999.05029 - 0.0001537 * t))
            eccentric = 0.016708634 - t * (0.000042037 + 0.0000001267 * t)
            centre = (math.sin(anomaly) * (1.914602 - t * (0.004817 + 0.000014 * t))
                      + math.sin(2 * anomaly) * (0.019993 - 0.000101 * t) + math.sin(3 * anomaly) * 0.000289)
            node = r(125.04 - 1934.136 * t)
            seen = r(mean + centre - 0.00569 - 0.00478 * math.sin(node))
            tilt = 23 + (26 + (21.448 - t * (46.815 + t * (0.00059 - 0.001813 * t))) / 60) / 60
            tilt = r(tilt + 0.00256 * math.cos(node))
            sun, y, mean = math.asin(math.sin(tilt) * math.sin(seen)), math.tan(tilt / 2) ** 2, r(mean)
            minutes = 4 * math.degrees(
                y * math.sin(2 * mean) - 2 * eccentric * math.sin(anomaly) + 4 * eccentric * y * math.sin(anomaly) * math.cos(2 * mean)
                - y * y / 2 * math.sin(4 * mean) - 1.25 * eccentric**2 * math.sin(2 * anomaly))
            north = r(latitude)
            turn = math.acos(math.cos(r(90.833)) / (math.cos(north) * math.cos(sun)) - math.tan(north) * math.tan(sun))
            hours = (720 - 4 * longitude - minutes + 60 * utc_offset + before_or_after * 4 * math.degrees(turn)) / 60
        found.append(hours)
    return found


@pytest.mark.parametrize("place", [(39.83, -104.65, -7), (61, -150, -9), (52, 13, 1), (-33.9, 151.2, 10), (55, 179.9, 12),
                                   (40, -179.9, -12)], ids=str)  # fmt: skip
def test_sunrise_and_sunset_of_the_local_day_by_the_equations_of_noaa(place):
    """8 s, of which NOAA's formulas have the most. Sunsets after midnight of Greenwich, and both sides of the date line."""
    latitude, longitude, utc_offset = place
    for day in range(3, 366, 40):
        date = (datetime.date(2014, 12, 31) + datetime.timedelta(days=day)).isoformat()
        found = weather.daylight(date, Q(latitude, "deg"), Q(longitude, "deg"), utc_offset)
        for ours, theirs in zip((found.sunrise, found.sunset), by_noaa(date, *place)):
            assert floats(ours, "s") == pytest.approx(3600 * theirs, abs=8)
        assert floats(found.sunrise + found.sunset, "min") == pytest.approx(floats(2 * found.noon, "min"), abs=3)


def test_a_polar_day_and_night():
    assert weather.daylight_hours(weather.sunset_hour_angle(Q(80, "deg"), Q(23, "deg"))) == Q(24, "h")
    assert weather.daylight_hours(weather.sunset_hour_angle(Q(80, "deg"), Q(-23, "deg"))) == Q(0, "h")
    assert floats(weather.extraterrestrial_day(Q(80, "deg"), 355), "kWh/m**2") == 0


@settings(deadline=None, max_examples=50)
@given(some.floats(-65, 65), some.integers(1, 365), some.floats(0, 90), some.floats(-180, 180), some.floats(-90, 90))
def test_incidence_by_hand_is_that_of_pvlib(latitude, day, tilt, azimuth, hour):
    # An independent chain: the sun's zenith and azimuth by pvlib's analytical functions, then its own incidence.
    hour = hour or 1e-6  # at an hour angle of exactly 0 pvlib puts the sun in the south, also where it stands in the north
    sun = floats(weather.declination(day), "rad")
    zenith = pvlib.solarposition.solar_zenith_analytical(math.radians(latitude), math.radians(hour), sun)
    if not 0.02 < zenith < math.pi - 0.02:
        return
    bearing = pvlib.solarposition.solar_azimuth_analytical(math.radians(latitude), math.radians(hour), sun, zenith)
    theirs = pvlib.irradiance.aoi_projection(tilt, azimuth + 180, math.degrees(zenith), math.degrees(bearing))
    ours = weather.incidence_cosine(Q(latitude, "deg"), weather.declination(day), Q(hour, "deg"), Q(tilt, "deg"),
                                    Q(azimuth, "deg"))  # fmt: skip
    assert ours == pytest.approx(theirs, abs=1e-6)


def test_spencer_and_cooper_are_those_of_pvlib():
    for day in range(1, 366):
        assert floats(weather.equation_of_time(day), "min") == pytest.approx(
            pvlib.solarposition.equation_of_time_spencer71(day), abs=1e-3)  # its factor is 1440/2π
        assert floats(weather.declination(day), "rad") == pytest.approx(
            pvlib.solarposition.declination_cooper69(day), abs=1e-6)  # fmt: skip


# ------------------------------------------------------------------------------- planes


def test_a_level_plane_is_the_file_itself(year):
    plane = weather.on_plane(year, Q(0, "deg"))
    assert numpy.array_equal(plane.total, year.level) and not plane.ground.any()
    assert weather.on_plane(year, Q(0, "deg"), Q(90, "deg")) is plane


def test_a_nearly_level_plane_is_nearly_the_file():
    year = weather.year("Greensboro")
    gap = weather.on_plane(year, Q(0.01, "deg")).total - year.level
    assert math.sqrt((gap**2).mean()) < 3


def test_planes_behave():
    year = weather.year("Denver")
    flat = weather.by_month(weather.on_plane(year, Q(0, "deg")).total)
    south = weather.by_month(weather.on_plane(year, Q(45, "deg"), Q(180, "deg")).total)
    north = weather.by_month(weather.on_plane(year, Q(45, "deg"), Q(0, "deg")).total)
    assert south[11] > 1.6 * flat[11] and south[5] < flat[5] and (north[11] < 0.6 * flat[11])
    east = weather.on_plane(year, Q(90, "deg"), Q(90, "deg")).total.reshape(365, 24)
    west = weather.on_plane(year, Q(90, "deg"), Q(270, "deg")).total.reshape(365, 24)
    assert east[:, :12].sum() > 2 * east[:, 13:].sum() and west[:, 13:].sum() > 2 * west[:, :11].sum()
    for tilt in (10, 45, 90):
        plane = weather.on_plane(year, Q(tilt, "deg"))
        for part in (plane.beam, plane.sky, plane.ground):
            assert part.shape == (8760,) and numpy.isfinite(part).all() and part.min() >= 0


def test_months_add_up_to_the_year(year):
    days = numpy.array(weather.MONTH_DAYS)
    assert (weather.by_month(year.level) * days).sum() == pytest.approx(year.level.sum())
    assert weather.hours_of([2]).sum() == 28 * 24 and weather.hours_of([]).all()
    mean = sum(floats(weather.peak_sun_hours(year.name, month), "h") * count for month, count in enumerate(days, 1)) / 365
    assert mean == pytest.approx(floats(weather.peak_sun_hours(year.name), "h"))


def test_extremes_go_beyond_the_typical_year(year):
    found = weather.extremes(year.name)
    assert floats(found.coldest, "degC") <= year.temperature.min()
    assert floats(found.hottest, "degC") >= year.temperature.max()
    assert found.source.status in ("secondary", "from memory")
