"""Room: the test suite's boxes, and the network beside other solvers."""

import dataclasses

import numpy
import pytest
from scipy.integrate import solve_ivp

from coachwork import room, weather
from coachwork.quantities import Q, floats
from coachwork.sources import table


@pytest.mark.parametrize("row", [row for row in table("ashrae_140").rows if row["acceptance low"] is not None],
                         ids=lambda row: f"{row['case']} {row['quantity']}")  # fmt: skip
def test_the_box_lies_within_the_acceptance_limits(row):
    value = floats(room.case_value(row["case"], row["quantity"]), row["unit"])
    assert row["acceptance low"] <= value <= row["acceptance high"]


@pytest.mark.parametrize("row", table("ashrae_140").rows, ids=lambda row: f"{row['case']} {row['quantity']}")
def test_the_box_lies_within_a_tenth_of_the_programs(row):
    value = floats(room.case_value(row["case"], row["quantity"]), row["unit"])
    apart = 0.1 * abs(row["programs high"])
    assert row["programs low"] - apart <= value <= row["programs high"] + apart


def test_other_cases_of_the_suite_follow_from_their_inputs():
    shell, year = room.case_shell("600"), room.case_year()
    usual = dict(heat_to=20.0, cool_to=27.0, gains=200.0, air_change=0.018)
    base = room.simulate(shell, year, **usual)
    shaded = dataclasses.replace(shell, openings=tuple(
        dataclasses.replace(one, overhang=1.0, above=0.5) for one in shell.openings))  # fmt: skip
    assert 0.5 < room.simulate(shaded, year, **usual).cooling.sum() / base.cooling.sum() < 0.9
    hour = numpy.arange(weather.HOURS) % 24
    night = numpy.where((hour >= 18) | (hour < 7), 1.0, 0.0)
    aired = room.simulate(shell, year, None, numpy.where(night, 1e9, 27.0), 200.0, 0.018, 0.47, night)
    assert aired.cooling.sum() < base.cooling.sum() and aired.heating.sum() == 0
    back = room.simulate(shell, year, numpy.where((hour >= 23) | (hour < 7), 10.0, 20.0), 27.0, 200.0, 0.018)
    assert back.heating.sum() < 0.85 * base.heating.sum()


def test_the_step_is_that_of_an_independent_solver():
    shell = room.case_shell("900")
    net = room._network(shell, 0.018, False)
    decay, response, push = room._step(shell, 0.018, False)
    chance = numpy.random.default_rng(1)
    start, put = chance.uniform(0, 30, net.count), chance.uniform(-200, 800, net.count)
    run = solve_ivp(lambda t, state: (put - net.matrix @ state) / net.masses, (0, 3600), start, "BDF", rtol=1e-9, atol=1e-9)
    assert decay @ start + put @ response == pytest.approx(run.y[:, -1], abs=1e-4)


def test_at_rest_the_network_loses_what_its_layers_say():
    wall = (room.Layer(0.05, 0.05, 30, 1400),)
    faces = [room.Face(str(side), 10.0, tilt, 90.0 * side, wall, 0.0, "shade")
             for side, tilt in enumerate((90.0, 90.0, 90.0, 90.0, 0.0, 180.0))]  # fmt: skip
    net = room._Network(room.Shell(20.0, tuple(faces), ()), 0.0, False)
    warm = numpy.linalg.solve(net.matrix, numpy.bincount(net.outer, net.to_outdoors * 10.0, net.count))
    assert warm == pytest.approx(10.0)  # no gain: everything as warm as outdoors
    pushed = numpy.linalg.solve(net.matrix, numpy.eye(net.count)[0])[0]
    assert 1 / pushed < 60 * 0.05 / 0.05  # less than the insulation alone would let through
    assert 1 / pushed > 60 / (1.0 + 1 / 0.7 + 1 / 4.0)


@pytest.mark.parametrize("latitude", [-75.0, -20.0, 0.0, 39.8, 70.0])
def test_the_sun_outside_the_air_is_that_of_the_formula_for_a_day(latitude):
    days = [1, 80, 172, 200, 300, 365]
    by_hand = [floats(weather.extraterrestrial_day(Q(latitude, "deg"), day), "kWh/m**2") for day in days]
    assert room._sun_outside_air(latitude)[numpy.array(days) - 1] == pytest.approx(by_hand, abs=1e-9)


def test_a_years_hours_are_those_of_a_plain_loop():
    """Thermostat, night ventilation, covers that insulate and a unit too small: hour by hour over the same step."""
    shell, year = room.case_shell("600"), room.case_year()
    shell = dataclasses.replace(shell, openings=tuple(dataclasses.replace(one, cover=0.3, resists=0.3) for one in shell.openings))
    hour = numpy.arange(weather.HOURS)
    covered, vents = (hour % 24 < 9) * 1.0, ((hour % 24 > 20) & (hour // 24 % 7 > 4)) * 1.0
    found = room.simulate(shell, year, 20.0, 27.0, 200.0, 0.018, 0.2, vents, covered, 2500.0)
    nodes = None
    for one in [*range(8760 - 240, 8760), *range(720)]:
        setting = (0.018 + 0.2 * vents[one], bool(covered[one]))
        net, (decay, response, push) = room._network(shell, *setting), room._step(shell, *setting)
        nodes = numpy.full(net.count, room.outdoors(year).celsius.mean()) if nodes is None else nodes
        put = sum(level[0] * into for _, level, into in room._sources(
            net, year, hour[one : one + 1], numpy.array([200.0]), covered[one : one + 1]))  # fmt: skip
        nodes = decay @ nodes + put @ response
        power = max(0.0, (20.0 - nodes[0]) / push[0]) - min(2500.0, max(0.0, (nodes[0] - 27.0) / push[0]))
        nodes = nodes + power * push
        if one < 720:  # after the ten days of the year before
            assert found.celsius[one] == pytest.approx(nodes[0], abs=1e-8)
            assert found.heating[one] - found.cooling[one] == pytest.approx(power, abs=1e-6)


def test_light_in_glass_adds_up():
    for glass in room.GLASSES.values():
        shares = room._angles(glass)
        assert shares.sum(axis=0) == pytest.approx(1.0, abs=1e-9)
        assert (shares > -1e-12).all()
    one = room._angles(room.Glass(1, 0.834, 0.075))
    assert one[0, 0] == pytest.approx(0.834, abs=1e-6) and one[3, 0] == pytest.approx(0.075, abs=1e-6)
