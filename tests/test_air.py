"""Air against psychrolib (which follows the same ASHRAE chapter), by hand, and there and back."""

import numpy
import psychrolib
import pytest
from hypothesis import given
from hypothesis import strategies as st

from coachwork import air
from coachwork.quantities import InputError
from coachwork.quantities import Quantity as Q

psychrolib.SetUnitSystem(psychrolib.SI)
SEA, DENVER = 101325.0, 83400.0  # Pa
AT = [(t, rh, p) for t in (-20.0, -5.0, 0.0, 10.0, 24.0, 35.0, 45.0) for rh in (0.1, 0.5, 0.9) for p in (SEA, DENVER)]


@pytest.mark.parametrize("celsius", [-60.0, -20.0, -1.0, 0.0, 1.0, 20.0, 50.0, 95.0, 150.0])
def test_saturation_pressure(celsius):
    assert air.saturation_pressure_si(celsius) == pytest.approx(psychrolib.GetSatVapPres(celsius), rel=1e-6)


@pytest.mark.parametrize(("celsius", "share", "pressure"), AT)
def test_moist_air(celsius, share, pressure):
    ratio = psychrolib.GetHumRatioFromRelHum(celsius, share, pressure)
    vapor = share * air.saturation_pressure_si(celsius)
    assert air.humidity_ratio_si(vapor, pressure) == pytest.approx(ratio, rel=1e-6)
    assert air.vapor_pressure_si(ratio, pressure) == pytest.approx(vapor, rel=1e-6)
    assert air.enthalpy_si(celsius, ratio) == pytest.approx(psychrolib.GetMoistAirEnthalpy(celsius, ratio), abs=1.0)
    assert air.volume_si(celsius, ratio, pressure) == pytest.approx(
        psychrolib.GetMoistAirVolume(celsius, ratio, pressure), rel=1e-4)  # fmt: skip
    assert air.density_si(celsius, ratio, pressure) == pytest.approx(
        psychrolib.GetMoistAirDensity(celsius, ratio, pressure), rel=1e-4)  # fmt: skip
    dew = psychrolib.GetTDewPointFromHumRatio(celsius, ratio, pressure)
    assert air.dew_point_si(vapor) == pytest.approx(dew, abs=0.01)
    wet = psychrolib.GetTWetBulbFromHumRatio(celsius, ratio, pressure)
    assert air.wet_bulb_si(celsius, ratio, pressure) == pytest.approx(wet, abs=0.01)
    assert air.humidity_ratio_from_wet_bulb_si(celsius, wet, pressure) == pytest.approx(ratio, rel=0.01, abs=1e-6)


@pytest.mark.parametrize("meters", [0.0, 500.0, 1609.0, 3000.0, 4000.0])
def test_standard_pressure(meters):
    assert air.standard_pressure(Q(meters, "m")).m_as("Pa") == pytest.approx(
        psychrolib.GetStandardAtmPressure(meters), rel=2e-4)  # fmt: skip


def test_arrays_are_the_same_numbers_as_one_by_one():
    celsius, ratio = numpy.array([-10.0, 5.0, 30.0]), numpy.array([0.001, 0.004, 0.012])
    each = [air.enthalpy_si(t, w) for t, w in zip(celsius, ratio)]
    assert air.enthalpy_si(celsius, ratio) == pytest.approx(numpy.array(each), rel=1e-12)
    for core in (air.wet_bulb_si, air.volume_si, air.density_si):
        each = [float(core(t, w, SEA)) for t, w in zip(celsius, ratio)]
        assert core(celsius, ratio, SEA) == pytest.approx(numpy.array(each), rel=1e-9)


@given(st.floats(-30, 45), st.floats(0.05, 1.0))
def test_relative_humidity_there_and_back(celsius, share):
    temperature, pressure = Q(celsius, "degC"), Q(SEA, "Pa")
    ratio = air.humidity_ratio_from_relative(temperature, Q(share, ""), pressure)
    assert air.relative_humidity(temperature, ratio, pressure) == pytest.approx(share, rel=1e-9)


def test_the_trades_factors():
    """1.08 Btu/h a cfm and °F: ASHRAE Fundamentals ch. 18, standard air, sea level."""
    standard = Q(0.075, "lb/ft**3")
    heat = air.sensible_heat(Q(100, "cfm"), standard, Q(1, "delta_degF"))
    assert heat.m_as("Btu/hour") / 100 == pytest.approx(1.08, abs=0.006)
    flow = air.air_flow_for_rise(heat, standard, Q(1, "delta_degF"))
    assert flow.m_as("cfm") == pytest.approx(100)


def test_stack_flow_by_hand():
    """Cd A sqrt(2 g h dT / T), ASHRAE Fundamentals ch. 16, h from the neutral plane, half-way up two equal openings."""
    by_hand = 0.65 * 0.01 * (2 * 9.80665 * (2.0 / 2) * 20 / 297.15) ** 0.5  # 0.01 m2, 2 m apart, 24 °C over 4 °C
    for inside, outside, flow in ((24, 4, by_hand), (4, 24, by_hand), (20, 20, 0)):
        found = air.stack_flow(Q(0.01, "m**2"), Q(2, "m"), Q(inside, "degC"), Q(outside, "degC"))
        assert found.m_as("m**3/s") == pytest.approx(flow)


def test_an_orifice_and_the_pressure_of_a_stack_make_the_same_flow():
    """Two equal openings share the stack's pressure: half of it drives each."""
    warm, cold, sea = Q(297.15, "K"), Q(277.15, "K"), Q(SEA, "Pa")
    pull = air.stack_pressure(Q(2, "m"), sea, warm, cold)
    assert pull.m_as("Pa") == pytest.approx(9.80665 * 2 * SEA / 287.042 * (1 / 277.15 - 1 / 297.15), rel=1e-6)
    flow = air.orifice_flow(Q(0.01, "m**2"), pull / 2, air.dry_air_density(sea, cold))
    assert flow.m_as("m**3/s") == pytest.approx(air.stack_flow(Q(0.01, "m**2"), Q(2, "m"), warm, cold).m_as("m**3/s"), rel=1e-3)


def test_wind_through_an_opening():
    assert air.wind_flow(Q(0.02, "m**2"), Q(2, "m/s"), 0.3).m_as("m**3/s") == pytest.approx(0.012)


def test_a_clear_sky_is_colder_than_the_air_and_less_so_when_damp():
    dry, damp = air.sky_temperature_si(20.0, 0.0), air.sky_temperature_si(20.0, 18.0)
    assert dry == pytest.approx(0.711**0.25 * 293.15 - 273.15)
    assert dry < damp < 20.0
    assert air.sky_temperature(Q(20, "degC"), Q(0, "degC")).m_as("degC") == pytest.approx(dry)


@pytest.mark.parametrize("celsius", [-150.0, 250.0])
def test_outside_the_formulas_range_is_refused(celsius):
    with pytest.raises(InputError):
        air.saturation_pressure(Q(celsius, "degC"))
