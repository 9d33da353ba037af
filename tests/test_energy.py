"""The day of a coach: held against sums by hand, properties, and the speed that sliders need."""

import numpy
import pytest
from hypothesis import given, settings
from hypothesis import strategies as some

from coachwork import coach, energy
from coachwork.quantities import InputError, Q, floats

HEAD = """
format = 1
name = "test coach"
[coach]
kind = "travel trailer"
length = "22 ft"
[[seasons]]
name = "summer"
months = [6, 7, 8]
night = "20:00-06:00"
[energy]
margin = 0.2
design_season = "summer"
wiring_loss = 0.0
[capacity]
nominal_voltage = "12.8 V"
chemistry = "lithium iron phosphate"
"""
INVERTER = """
[inverter]
name = "invented"
rated_power = "2000 W"
idle = "20 W"
on = ["{on}"]
efficiency = [ {{ power = "200 W", efficiency = 0.88 }}, {{ power = "1000 W", efficiency = 0.92 }},
               {{ power = "2000 W", efficiency = 0.90 }} ]
"""


def build(loads, on="00:00-24:00", head=HEAD, inverter=True):
    return coach.parse(head + (INVERTER.format(on=on) if inverter else "") + loads, "test.toml")


def load(name, **fields):
    lines = [f"{key} = {value!r}".replace("'", '"') for key, value in fields.items()]
    return "\n".join(["", "[[loads]]", f'name = "{name}"', 'group = "test"', *lines, ""])


def test_day_of_three_loads_by_hand():
    # lamp 4 x 5 W x 5 h = 100 Wh; fridge 60 W x 24 h / 3 = 480 Wh; laptop 65 W x 3 h = 195 Wh on AC.
    # Inverter losses with the laptop: idle 20 W x 24 h = 480 Wh, and (a + b 65 W) x 195 Wh, where a, b fit
    # 1/0.88 - 1 - 20/200, 1/0.92 - 1 - 20/1000 and 1/0.90 - 1 - 20/2000 over 200, 1000 and 2000 W.
    x = numpy.array([200.0, 1000.0, 2000.0])
    y = numpy.array([1 / 0.88 - 1 - 20 / 200, 1 / 0.92 - 1 - 20 / 1000, 1 / 0.90 - 1 - 20 / 2000])
    b, a = numpy.polyfit(x, y, 1)
    by_hand = 100 + 480 + 195 + 480 + (a + b * 65) * 195
    three = build(
        load("lamp", side="dc", power="5 W", count=4, windows=["18:00-23:00"])
        + load("fridge", side="dc", power="60 W", hours="24 h", duty="33.3333333 %")
        + load("laptop", side="ac", power="65 W", windows=["19:30-22:30"])
    )
    day = energy.day(three, "summer")
    assert floats(day.energy, "Wh") == pytest.approx(by_hand, rel=1e-6)
    assert floats(day.charge, "Ah") == pytest.approx(by_hand / 12.8, rel=1e-6)
    assert floats(sum(day.by_part().values()), "Wh") == pytest.approx(by_hand, rel=1e-6)
    assert day.running_energy()[-1] == pytest.approx(by_hand, rel=1e-6)


def test_night_share_of_a_lamp_that_burns_half_in_the_night():
    one = build(load("lamp", side="dc", power="10 W", windows=["18:00-22:00"]), inverter=False)
    assert energy.day(one, "summer").night_share == pytest.approx(0.5)


def test_amps_at_a_voltage_are_a_power():
    one = build(load("pump", side="dc", current="5 A", voltage="12.8 V", hours="1 h"), inverter=False)
    assert floats(energy.day(one, "summer").energy, "Wh") == pytest.approx(64.0)


def test_wiring_loss_is_a_share_of_what_leaves_the_battery():
    one = build(load("pump", side="dc", power="98 W", hours="1 h"), head=HEAD.replace("wiring_loss = 0.0", "wiring_loss = 0.02"),
                inverter=False)  # fmt: skip
    day = energy.day(one, "summer")
    assert floats(day.energy, "Wh") == pytest.approx(100.0)
    assert floats(day.by_part()[energy.WIRING], "Wh") == pytest.approx(2.0)


def test_standby_counts_only_outside_the_running_hours():
    one = build(load("tv", side="dc", power="40 W", standby="4 W", windows=["20:00-22:00"]), inverter=False)
    assert floats(energy.day(one, "summer").energy, "Wh") == pytest.approx(40 * 2 + 4 * 22)


def test_ac_load_does_not_run_while_the_inverter_is_off_and_the_check_says_so():
    dark = build(load("kettle", side="ac", power="1000 W", windows=["05:30-06:30"]), on="06:00-22:00")
    day = energy.day(dark, "summer")
    assert day.missed == {"kettle": pytest.approx(0.5)}
    assert floats(day.by_part()["kettle"], "Wh") == pytest.approx(500)
    assert day.loads["kettle"][: 6 * 12].max() == 0
    check = energy.checks(dark)[0]
    assert check.verdict == "misses" and "kettle is without it 0.5 h" in check.found


def test_hours_beyond_the_inverters_are_missed():
    one = build(load("clock", side="ac", power="5 W", hours="24 h"), on="06:00-22:00")
    day = energy.day(one, "summer")
    assert floats(day.by_part()["clock"], "Wh") == pytest.approx(5 * 16)
    assert day.missed == {"clock": pytest.approx(8)}


def test_load_of_another_season_is_left_out():
    head = HEAD.replace(
        "[energy]", '[[seasons]]\nname = "winter"\nmonths = [1]\nnight = "17:00-07:00"\n[energy]'
    )
    two = build(
        load("fan", side="dc", power="30 W", hours="10 h", seasons=["summer"]), head=head, inverter=False
    )
    assert floats(energy.day(two, "summer").energy, "Wh") == pytest.approx(300)
    assert floats(energy.day(two, "winter").energy, "Wh") == 0
    assert energy.study(two).design_season == "summer"


def test_what_a_change_saves():
    one = build(load("lamp", side="dc", power="10 W", hours="5 h"), inverter=False)
    saved = energy.saving(one, "summer", energy.changed_load(one, "lamp", count=0))
    assert floats(saved, "Wh") == pytest.approx(50)
    with pytest.raises(InputError, match="lump"):
        energy.changed_load(one, "lump", count=0)


def test_unknown_season_is_named():
    with pytest.raises(InputError, match='"spring" is not in the coach file; wanted is one of summer'):
        energy.day(build(load("lamp", side="dc", power="1 W", hours="1 h")), "spring")


def test_undecided_is_proposed_and_marked():
    bare = (
        HEAD.replace("margin = 0.2\n", "")
        .replace('design_season = "summer"\n', "")
        .replace("wiring_loss = 0.0\n", "")
    )
    found = energy.study(build(load("lamp", side="dc", power="10 W", hours="5 h"), head=bare, inverter=False))
    assert set(found.assumed) == {"margin", "design_season", "wiring_loss"}
    assert found.margin == 0.2 and found.design_season == "summer"


def test_thin_margin_misses():
    thin = build(load("lamp", side="dc", power="10 W", hours="5 h"), head=HEAD.replace("0.2", "0.1", 1))
    assert [check.verdict for check in energy.checks(thin)] == ["meets", "meets", "misses"]


# ---------------------------------------------------------------------------------- the inverter's losses

points = some.tuples(some.floats(0.0, 0.05), some.floats(0.0, 5e-5), some.floats(2.0, 40.0))


@given(points)
@settings(max_examples=50, deadline=None)
def test_a_sheet_made_from_the_model_is_fitted_back(truth):
    linear, square, idle = truth
    sheet = [
        energy.EfficiencyPoint(Q(p, "W"), p / (p + idle + linear * p + square * p**2))
        for p in (200.0, 1000.0, 2000.0)
    ]
    fit = energy.inverter_loss(Q(idle, "W"), sheet)
    assert fit.linear == pytest.approx(linear, abs=1e-9) and fit.square == pytest.approx(square, abs=1e-12)
    assert fit.misfit < 1e-9
    assert energy.fitted_efficiency(Q(1000, "W"), Q(idle, "W"), sheet) == pytest.approx(sheet[1].efficiency)


def test_published_curve_is_fitted_within_half_a_point():
    # The PVWatts curve has the same three terms, counted on the DC side.
    rated = Q(2000, "W")
    dc = [Q(p, "W") for p in (200, 1000, 2000)]
    sheet = [energy.EfficiencyPoint(energy.output_by_pvwatts(p, rated, 0.93), energy.efficiency_by_pvwatts(p, rated, 0.93))
             for p in dc]  # fmt: skip
    idle = Q(0.0059 * 2000 / 0.9858, "W")
    fit = energy.inverter_loss(idle, sheet)
    for p in (300, 600, 1500):
        ours = fit.efficiency(energy.output_by_pvwatts(Q(p, "W"), rated, 0.93))
        assert ours == pytest.approx(energy.efficiency_by_pvwatts(Q(p, "W"), rated, 0.93), abs=0.005)


@pytest.mark.parametrize(
    "idle, sheet",
    [
        ("20 W", []),
        ("20 W", [("200 W", 0.9), ("200 W", 0.91)]),
        ("20 W", [("200 W", 0.0), ("400 W", 0.91)]),
        ("200 W", [("200 W", 0.9), ("400 W", 0.91), ("800 W", 0.92)]),
    ],
)
def test_a_sheet_that_contradicts_itself_is_refused(idle, sheet):
    kind = energy.KINDS["power"]
    with pytest.raises(InputError):
        energy.inverter_loss(kind.read(idle), [energy.EfficiencyPoint(kind.read(p), e) for p, e in sheet])


# ---------------------------------------------------------------------------------- there and back


@given(some.floats(1.0, 1e5), some.floats(1.0, 60.0))
@settings(max_examples=50, deadline=None)
def test_charge_and_energy_there_and_back(watt_hours, volts):
    back = energy.energy_from_charge(
        energy.charge_from_energy(Q(watt_hours, "Wh"), Q(volts, "V")), Q(volts, "V")
    )
    assert floats(back, "Wh") == pytest.approx(watt_hours)


@given(some.floats(1.0, 1e5), some.floats(0.1, 1e3))
@settings(max_examples=50, deadline=None)
def test_hours_and_mean_power_there_and_back(watt_hours, hours):
    power = energy.mean_power(Q(watt_hours, "Wh"), Q(hours, "h"))
    assert floats(energy.hours_from_energy(Q(watt_hours, "Wh"), power), "h") == pytest.approx(hours)


@given(some.floats(1.0, 1e5), some.floats(0.5, 40.0))
@settings(max_examples=50, deadline=None)
def test_efficiency_ratio_there_and_back(watts, ratio):
    power = energy.power_at_energy_efficiency_ratio(Q(watts, "W"), Q(ratio, "Btuh/W"))
    assert floats(energy.energy_efficiency_ratio(Q(watts, "W"), power), "btu_per_hour/W") == pytest.approx(
        ratio
    )


@given(
    some.lists(
        some.tuples(some.integers(0, 287), some.integers(1, 287), some.integers(1, 500)),
        min_size=1,
        max_size=6,
    )
)
@settings(max_examples=50, deadline=None)
def test_the_days_energy_is_watts_times_hours_whatever_the_windows(lines):
    def clock(step):
        return f"{step % 288 // 12:02}:{step % 12 * 5:02}"

    text, by_hand = "", 0.0
    for number, (start, length, watts) in enumerate(lines):
        text += load(
            f"load {number}",
            side="dc",
            power=f"{watts} W",
            windows=[f"{clock(start)}-{clock(start + length)}"],
        )
        by_hand += watts * length / 12
    day = energy.day(build(text, inverter=False), "summer")
    assert floats(day.energy, "Wh") == pytest.approx(by_hand)


def test_day_of_forty_loads_takes_under_five_milliseconds():
    import time

    forty = build("".join(load(f"load {n}", side="ac" if n % 3 else "dc", power=f"{n + 1} W", windows=["06:00-08:30", "19:00-22:00"])
                          for n in range(40)))  # fmt: skip
    energy.day(forty, "summer").energy
    best = min(_seconds(forty, time) for _ in range(15))
    assert best < 0.005, f"{1000 * best:.1f} ms"


def _seconds(forty, time):
    start = time.process_time()
    energy.day(forty, "summer").energy
    return time.process_time() - start


@pytest.mark.parametrize("path", coach.demos(), ids=lambda path: path.stem)
def test_every_demo_coach_has_a_day_in_every_season(path):
    demo = coach.read(path)
    found = energy.study(demo)
    assert not found.assumed, "demo coaches hold every decision of a built topic"
    for day in found.days.values():
        assert 200 < floats(day.energy, "Wh") < 40000
        assert not day.missed
    assert all(check.verdict == "meets" for check in energy.checks(demo))
