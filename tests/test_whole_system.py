"""Whole system: energy is conserved, the arrays' step is the readable one, by hand, and on every demo coach."""

import dataclasses
import math

import numpy
import pytest
from hypothesis import given, settings
from hypothesis import strategies as some

from coachwork import capacity, coach, cooling_load, heating, sections, sun, weather
from coachwork import whole_system as w
from coachwork.quantities import InputError, Q, floats

WARM = w.Warming(air=20.0, mass=160.0, loss=70.0, exchange=200.0, performance=2.9, most=900.0)


@pytest.fixture(params=coach.demos(), ids=lambda path: path.stem)
def demo(request):
    return coach.read(request.param)


@pytest.fixture(scope="module")
def trailer():
    return coach.read(coach.main_demo())


def series(seed, hours=24 * 7, cooled=0.3, step=1.0):
    """A week in which everything happens by chance: sun, drives, shore, cold cells, quiet hours, cooling."""
    draw, n = numpy.random.default_rng(seed), round(hours / step)
    clock = numpy.arange(n) * step % 24
    light = numpy.maximum(0, numpy.sin((clock - 6) / 12 * numpy.pi)) * draw.uniform(0.0, 0.8, n)
    return w.Series(
        step, draw.uniform(0, 400, n), numpy.where(draw.random(n) < cooled, 600.0, 0.0), light,
        numpy.where(draw.random(n) < 0.05, 300.0, 0.0), numpy.where(draw.random(n) < 0.03, 800.0, 0.0), draw.integers(0, 3, n) / 2,
        (clock > 8) & (clock < 20), numpy.repeat(draw.random(n // round(24 / step)) < 0.8, round(24 / step)),
    )  # fmt: skip


systems = some.builds(
    lambda full, floor, reserve, charge, give, stored, acceptance, leak, array, generator, start, stop: w.System(
        full, floor * full, max(floor, reserve) * full, charge * full, give * full, stored, acceptance, leak, array, generator,
        start * full, max(start, stop) * full, 0.2, 3e-4, WARM),
    some.floats(500, 30_000), some.floats(0, 0.5), some.floats(0, 0.6), some.floats(0.05, 2), some.floats(0.05, 3),
    some.floats(0.7, 1), some.sampled_from([0.0, 0.1, 2.0]), some.sampled_from([0.0, 1e-4, 1e-2]), some.floats(0, 3000),
    some.sampled_from([0.0, 700.0, 2500.0]), some.floats(0, 0.9), some.floats(0, 1),
)  # fmt: skip
weeks = some.builds(series, some.integers(0, 10_000), cooled=some.sampled_from([0.0, 0.3, 0.9]), step=some.sampled_from([1.0, 0.25]))
few = settings(max_examples=60, deadline=None)


def levels(one, start=1.0):
    """Wh at the beginning of each step."""
    return numpy.concatenate([[start * one.system.full], one.flows.level[:-1]])


# ------------------------------------------------------------------------------- properties


@few
@given(weeks, systems, some.floats(0, 1))
def test_energy_is_conserved_in_every_step(week, system, start):
    one = w.run(week, system, start)
    f = one.flows
    brought = f.sun + f.engine + f.shore + f.generator
    served = week.load + f.asked - f.missed - f.missed_cooling
    lost = f.put * (1 - system.stored_share) + f.leaked / week.hours
    rise = (f.level - levels(one, start)) / week.hours
    assert numpy.abs(brought - served - lost - rise).max() <= 1e-9 * (system.full / week.hours + 5000)


@few
@given(weeks, systems, some.floats(0, 1))
def test_nothing_leaves_its_bounds_and_what_is_not_served_is_counted(week, system, start):
    f = w.run(week, system, start).flows
    assert (f.level >= 0).all() and (f.level <= system.full * (1 + 1e-12)).all()
    for name in ("sun", "spilled", "engine", "shore", "generator", "put", "given", "cooled", "leaked"):
        assert (getattr(f, name) >= -1e-9).all(), name
    assert (f.missed >= -1e-9).all() and (f.missed <= week.load + 1e-9).all()
    assert (f.put <= week.share * system.charge_limit + 1e-6).all()
    assert (f.given + f.cooled <= system.discharge_limit + 1e-6).all()
    assert f.sun + f.spilled == pytest.approx(week.sun * system.array)
    assert not (f.running & ~week.may_run).any()
    served = f.sun + f.engine + f.shore + f.generator + f.given + f.cooled - f.put
    assert served == pytest.approx(week.load - f.missed + f.asked - f.missed_cooling, abs=1e-6)


@few
@given(weeks, systems)
def test_the_arrays_step_is_the_scalar_one(week, system):
    move, state = w.step(system, week.hours), (system.full, False, 0.0, 0.0)
    one = w.run(week, system)
    free = week.sun * system.array + week.engine + week.shore
    moments = zip(*(values.tolist() for values in (week.load, week.cooling, free, week.share * system.charge_limit, week.may_run)))
    for at, now in enumerate(moments):
        state = move(*state, *now)
        assert one.flows.level[at] == pytest.approx(state[0], rel=1e-9, abs=1e-9 * system.full)
        assert one.flows.running[at] == state[1]
        assert (one.flows.air[at], one.flows.mass[at]) == pytest.approx(state[2:], rel=1e-9, abs=1e-9)


@settings(max_examples=25, deadline=None)
@given(weeks, some.lists(systems, min_size=1, max_size=4))
def test_many_designs_at_once_are_each_alone(week, designs):
    names = [field.name for field in dataclasses.fields(w.System) if field.name != "warming"]
    together = w.many(week, w.System(**{name: numpy.array([getattr(one, name) for one in designs]) for name in names
                                        if name != "acceptance"}, acceptance=0.1, warming=WARM))  # fmt: skip
    for at, design in enumerate(designs):
        alone, found = w.run(week, dataclasses.replace(design, acceptance=0.1)).answers, together.at(at)
        for field in dataclasses.fields(alone):
            ours, theirs = getattr(alone, field.name), getattr(found, field.name)
            assert ours == pytest.approx(theirs, rel=1e-9, abs=1e-6), field.name


@few
@given(weeks, systems)
def test_a_larger_array_never_leaves_less_in_the_bank(week, system):
    plain = dataclasses.replace(system, generator=0.0)
    week = dataclasses.replace(week, cooling=0 * week.cooling)
    more = dataclasses.replace(plain, array=plain.array + 500)
    assert (w.run(week, more).flows.level >= w.run(week, plain).flows.level - 1e-6).all()


# ------------------------------------------------------------------------------- by hand


def test_a_year_of_the_sun_lesson_is_the_same_run():
    # Lesson 05 runs bank, load and sun in its own few lines: without limits, leak and air conditioner both must agree.
    draw = numpy.random.default_rng(5)
    load, light = draw.uniform(50, 300, 8760), numpy.clip(draw.normal(100, 250, 8760), 0, None)
    zero = numpy.zeros(8760)
    ours = w.run(w.Series(1.0, load, zero, light, zero, zero, zero + 1, zero > 0, zero == 0),
                 w.System(5000.0, stored_share=0.95, array=1.0))  # fmt: skip
    theirs = sun.run(load, light, 5000.0, 0.95)
    assert ours.flows.level == pytest.approx(theirs.stored, abs=1e-6)
    assert ours.flows.missed == pytest.approx(theirs.missing, abs=1e-6)
    assert ours.flows.spilled == pytest.approx(theirs.spilled, abs=1e-6)


def test_the_generator_keeps_its_rule_and_quiet_hours():
    zero, clock = numpy.zeros(72), numpy.arange(72) % 24
    quiet = (clock >= 8) & (clock < 20)
    one = w.run(w.Series(1.0, zero + 100, zero, zero, zero, zero, zero + 1, quiet, zero == 0),
                w.System(2000.0, charge_limit=1000, generator=600, start=1000, stop=1600))  # fmt: skip
    assert not one.flows.running[~quiet].any()
    before = levels(one)
    for at in range(1, 72):
        if one.flows.running[at] and not one.flows.running[at - 1]:
            assert before[at] < 1000
        if one.flows.running[at - 1] and quiet[at] and before[at] >= 1600:
            assert not one.flows.running[at]
    assert one.flows.running.any() and one.answers.fuel == 0  # no fuel stated


def test_a_frozen_bank_takes_no_charge_but_serves():
    zero = numpy.zeros(24)
    one = w.run(w.Series(1.0, zero + 50, zero, zero + 0.5, zero, zero, zero, zero > 0, zero == 0),
                w.System(2000.0, charge_limit=500, array=400), start=0.5)  # fmt: skip
    assert (one.flows.put == 0).all() and one.flows.sun == pytest.approx(50 + zero) and one.flows.missed.sum() == 0


def test_two_nodes_warm_up_and_are_cooled_down_again():
    zero = numpy.zeros(48)
    cooling = zero + 400
    sunless = w.Series(1.0, zero, cooling, (numpy.arange(48) >= 24) * 1.0, zero, zero, zero + 1, zero > 0, zero == 0)
    one = w.run(sunless, w.System(1e-6, charge_limit=0, array=1500, warming=WARM))
    assert one.flows.missed_cooling[:24] == pytest.approx(400)
    heat = 400 * WARM.performance
    assert 0 < one.flows.air[23] < heat / WARM.loss  # on its way to where losses carry the heat away
    assert one.flows.air[23] > 0.9 * heat / WARM.loss
    assert one.flows.asked[24] > 400 and one.flows.air[47] < 1
    after, heated = WARM.over(1.0)
    small, gentle = WARM.over(1 / 64)
    air, mass = 3.0, 1.0
    for _ in range(64):
        air, mass = small[0] * air + small[1] * mass + gentle[0] * 500, small[2] * air + small[3] * mass + gentle[1] * 500
    assert (air, mass) == pytest.approx((after[0] * 3 + after[1] + heated[0] * 500, after[2] * 3 + after[3] + heated[1] * 500))


def test_finer_steps_tell_the_same_story(trailer):
    year, system = w.series_of(trailer), w.system_of(trailer)
    fields = ("load", "cooling", "sun", "engine", "shore", "share", "may_run", "away")
    finer = dataclasses.replace(year, hours=0.25, celsius=None, **{name: numpy.repeat(getattr(year, name), 4) for name in fields})
    coarse, fine = w.run(year, system).answers, w.run(finer, system).answers
    assert fine.alone == pytest.approx(coarse.alone, abs=2) and fine.sun == pytest.approx(coarse.sun, rel=0.01)


# ------------------------------------------------------------------------------- the calendar


def trip(**changes):
    return sections.Trip.model_validate(dict(name="A", first="01-30", nights=2) | changes)


def test_days_of_a_calendar():
    found = w.calendar_of([trip(times=2, every=10, shore_days=[2])], "charged the day before")
    assert numpy.flatnonzero(found.away).tolist() == [29, 30, 31, 39, 40, 41]
    assert numpy.flatnonzero(found.driving).tolist() == [29, 31, 39, 41]
    assert numpy.flatnonzero(found.shore).tolist() == [30, 40] and numpy.flatnonzero(found.home_shore).tolist() == [28, 38]
    over = w.calendar_of([trip(first="12-31", nights=3)], "plugged in")
    assert numpy.flatnonzero(over.away).tolist() == [0, 1, 2, 364] and over.home_shore.sum() == 361
    assert w.day_number("01-01") == 0 and w.day_number("12-31") == 364 and w.day_number("03-01") == 59


def test_trips_that_share_a_day_are_refused():
    with pytest.raises(InputError, match="before another trip is over"):
        w.calendar_of([trip(), trip(name="B", first="02-01")], "switched off")


@pytest.mark.parametrize("changes, words", [
    (dict(first="02-30"), "month and a day"), (dict(first="2-3"), "month and a day"), (dict(times=3), "more days than"),
    (dict(times=3, every=2), "more days than"), (dict(times=40, every=10), "fit in a year"), (dict(nights=0), "whole number"),
])  # fmt: skip
def test_a_trip_that_cannot_be_is_refused(changes, words):
    with pytest.raises(Exception, match=words):
        trip(**changes)


def test_a_series_that_cannot_be_is_refused():
    good = series(1)
    for bad in (dict(load=good.load[:5]), dict(sun=good.sun - 1), dict(cooling=good.cooling * math.nan)):
        with pytest.raises(InputError):
            dataclasses.replace(good, **bad)


# ------------------------------------------------------------------------------- on a coach


def test_study_and_checks_of_every_demo(demo):
    found = w.study(demo)
    assert found.assumed == () and w.propose(demo) == {}
    answers = found.run.answers
    assert answers.days == found.calendar.away.sum() and 0 <= answers.alone <= answers.days
    assert sum(row.days for row in found.months) == answers.days
    assert sum(row.alone for row in found.months) == answers.alone
    assert floats(sum(row.sun for row in found.months), "Wh") == pytest.approx(answers.sun)
    assert [one.topic for one in w.checks(demo)] == ["whole_system"] * 5
    assert all(one.verdict != "misses" for one in w.checks(demo)) or not demo.charging.generator


def test_a_coach_that_says_nothing_is_proposed_everything(trailer):
    plain = trailer.model_copy(update={"whole_system": sections.WholeSystem()})
    assert set(w.propose(plain)) == set(sections.WholeSystem.model_fields)
    assert w.study(plain).run.answers.days == 78


def test_the_air_conditioner_is_counted_once():
    coast = coach.read(coach.DEMOS / "coast-class-c.toml")
    hours = w.hours_of(coast)
    warmth = heating.winter_of(cooling_load.without_listed(coast), months=range(1, 13))
    named = coast.cooling_load.load
    assert named in [one.name for one in coast.loads]
    assert hours.load == pytest.approx(sun.load_by_hours(cooling_load.without_listed(coast)) + warmth.heater)
    assert hours.heater == pytest.approx(warmth.heater)
    watts = cooling_load.battery_watts(coast, cooling_load.cool(coast))
    assert (hours.cooling <= watts + 1e-9).all() and hours.cooling.sum() > 0.9 * watts.sum()
    off = coast.model_copy(update={"whole_system": coast.whole_system.model_copy(update={"air_conditioning": "not on the bank"})})
    assert not w.hours_of(off).cooling.any() and w.hours_of(off).load == pytest.approx(hours.load)


def test_a_unit_takes_no_standby_in_months_without_cooling(trailer):
    found = cooling_load.cool(trailer)
    watts, hours = cooling_load.battery_watts(trailer, found), w.hours_of(trailer)
    for month in range(1, 13):
        now = weather.hours_of([month])
        works = found.share[now].any() or found.heating[now].any()
        assert hours.cooling[now] == pytest.approx(watts[now] if works else 0 * watts[now])
    assert not hours.cooling[:744].any() and watts[:744].sum() > 0


def test_the_bank_holds_what_lesson_02_says_it_does(demo):
    own = w.system_of(demo)
    assert own.full - own.floor == pytest.approx(floats(capacity.study(demo).usable, "Wh"))


def test_nights_by_loads_cooling_and_quiet_hours(trailer):
    found = w.study(trailer)
    f, taken = found.run.flows, found.run.flows.given + found.run.flows.cooled
    away = found.calendar.away
    nights = [day for day in range(364) if away[day] and away[day + 1]]
    whole = {day: taken[24 * day + 12:24 * day + 36].sum() for day in nights}
    plain = {day: whole[day] for day in nights if not f.cooled[24 * day + 12:24 * day + 36].any()}
    quiet = {day: taken[24 * day + 20:24 * day + 32].sum() for day in nights}  # its generator may run from 8 to 20
    for night, by_hand in ((found.worst, whole), (found.worst_uncooled, plain), (found.quiet, quiet)):
        assert floats(night.energy, "Wh") == pytest.approx(max(by_hand.values()))
        assert night.share == pytest.approx(max(by_hand.values()) / found.run.system.full)
        assert night.day == w._date(max(by_hand, key=by_hand.get))
    assert found.worst_month.alone / found.worst_month.days == min(row.alone / row.days for row in found.months if row.days)


def test_a_mean_day_by_hand(trailer):
    hours, day = w.hours_of(trailer), w.mean_day(trailer, [1])
    asked, sun_ = hours.load[:744] + hours.cooling[:744], 1200 * hours.sun[:744]
    assert floats(day.offered, "Wh") == pytest.approx(sun_.sum() / 31)
    assert floats(day.direct, "Wh") == pytest.approx(sum(map(min, asked, sun_)) / 31)
    assert floats(day.direct + day.banked, "Wh") == pytest.approx(asked.sum() / 31)


def test_designs_side_by_side_are_the_runs(trailer):
    own, more = w.side_by_side(trailer, [(3, 1200, trailer.whole_system.generator_start), (4, 1200, 0.55)])
    found = w.study(trailer)
    assert own["days"] == found.run.answers.alone and own["alone"] == pytest.approx(found.alone)
    assert floats(own["price"], "USD") == pytest.approx(floats(found.price, "USD"))
    assert floats(own["worst_month"], "") == pytest.approx(found.worst_month.alone / found.worst_month.days)
    plan = trailer.whole_system.model_copy(update={"generator_start": 0.55})
    other = trailer.model_copy(update={"whole_system": plan})
    assert more["days"] == w.run(w.series_of(other), w.system_of(other, 4)).answers.alone and more["modules"] == 4


def test_half_charge_keeps_the_trailers_promise_with_nothing_bought(trailer):
    rows = {round(floats(row["starts_below"], "percent")): row for row in w.by_start(trailer)}
    assert rows[50]["alone"] >= 162 > rows[55]["alone"]
    assert floats(rows[50]["missed"] + rows[50]["missed_cooling"], "Wh") == 0 and floats(rows[50]["lowest"], "") >= trailer.whole_system.reserve


def test_the_heater_of_the_box_stands_among_the_loads(trailer):
    found = heating.winter_of(trailer, months=range(1, 13))
    plain = w.hours_of(trailer).load - sun.load_by_hours(cooling_load.without_listed(trailer))
    assert plain == pytest.approx(found.heater) and found.heater[:24].sum() > 0  # a DC heater: no inverter between
    on_ac = trailer.model_copy(update={"heating": trailer.heating.model_copy(update={"heater_side": "ac"})})
    more = w.hours_of(on_ac).load - sun.load_by_hours(cooling_load.without_listed(trailer))
    assert (more[found.heater > 0] > found.heater[found.heater > 0]).all()


def test_without_the_heater_the_cells_freeze_and_take_no_charge(trailer):
    cold = trailer.model_copy(update={"heating": trailer.heating.model_copy(update={"heater": Q(0, "W")})})
    warm, frozen = w.series_of(trailer), w.series_of(cold)
    assert (warm.share[warm.away] > 0).all() and w.hours_of(trailer).celsius.min() > 11
    assert (frozen.share[frozen.away] == 0).sum() > 24 and not w.hours_of(cold).heater.any()


def test_the_heater_goes_with_the_weather_of_a_trip_and_not_with_its_people(trailer, monkeypatch):
    tried, many = [], w.many
    monkeypatch.setattr(w, "many", lambda series, *rest: tried.append(series) or many(series, *rest))
    wild = trailer.model_copy(update={"whole_system": trailer.whole_system.model_copy(update={"spread": 0.0})})
    next(w.chances(wild, (1,), trips=20))
    hours = w.hours_of(wild)
    plain = hours.load - hours.heater
    for trip in range(20):  # what is no heater stands in the year as it was; what is heater belongs to the hour of that sun
        at = next(24 * day for _, day in w.calendar_of(wild.whole_system.trips, "").starts
                  if (tried[0].load[:, trip] >= plain[24 * day:24 * day + 144] - 1e-9).all()
                  and any(numpy.allclose(tried[0].load[:, trip] - plain[24 * day:24 * day + 144], hours.heater[moved])
                          and numpy.array_equal(tried[0].sun[:, trip], hours.sun[moved])
                          for by in range(-15, 16) for moved in [(24 * (day + by) + numpy.arange(144)) % 8760]))  # fmt: skip
        assert at >= 0


def test_a_bank_of_more_modules_is_so_many_times_one(trailer):
    one, three = w.system_of(trailer, 1), w.system_of(trailer, 3)
    assert three.full == pytest.approx(w.system_of(trailer).full)
    assert three.full == pytest.approx(3 * one.full) and three.charge_limit == pytest.approx(3 * one.charge_limit)
    assert three.array == one.array and three.start / three.full == pytest.approx(one.start / one.full)


def test_the_map_holds_the_runs_and_its_cheapest_is_the_cheapest(trailer):
    found = w.map_of(trailer, most_modules=3, most_watts=1800)
    for m, n in ((0, 0), (2, 8), (1, 12)):
        one = w.run(w.series_of(trailer), w.system_of(trailer, int(found.modules[m]), float(found.watts[n]))).answers
        assert found.alone[m, n] == pytest.approx(one.alone / one.days)
        assert found.price[m, n] == pytest.approx(floats(w.cost_of(trailer, int(found.modules[m]), float(found.watts[n]), one), "USD"))
    assert found.cheapest(1.01) is None
    m, n = found.cheapest(0.5)
    assert found.alone[m, n] >= 0.5 and (found.price[found.alone >= 0.5] >= found.price[m, n]).all()


def test_twelve_designs_side_by_side(trailer):
    rows = w.compare(trailer)
    assert [row.modules for row in rows] == [1, 2, 3] * 4 and len({row.unit for row in rows}) == 2
    assert {floats(row.watts, "W") for row in rows} == {0.0, 1200.0}
    for small, large in zip(rows[:2], rows[1:3]):
        assert large.lowest >= small.lowest - 1e-9
    van = coach.read(coach.DEMOS / "mountain-van.toml")
    assert len(w.compare(van)) == 6  # its bank carries no air conditioner


def test_day_and_night_takes_more_than_the_night_alone(trailer):
    need = w.day_and_night(trailer)
    assert need.alone >= trailer.whole_system.promise and floats(need.watts, "W") > 0
    assert w.day_and_night(trailer, most_modules=1, most_watts=400) is None
    always = {"cooling_load": trailer.cooling_load.model_copy(update={"cooled": ("00:00-24:00",)})}
    series = w.series_of(trailer.model_copy(update=always))
    series = dataclasses.replace(series, engine=0 * series.engine, shore=series.shore * ~series.away)
    system = w.system_of(trailer.model_copy(update=always), need.modules, floats(need.watts, "W"))
    found = w.run(series, dataclasses.replace(system, generator=0.0)).answers
    assert found.missed == 0 and found.missed_cooling == pytest.approx(floats(need.missed_cooling, "Wh"))


def test_chances_are_the_seeds_and_grow_with_the_bank(trailer):
    first, again, other = (list(w.chances(trailer, (1, 2, 4), trips=60, seed=seed))[-1] for seed in (3, 3, 4))
    assert (first.kept == again.kept).all() and (first.kept != other.kept).any()
    assert first.trips == 60 and first.nights == 300 and (numpy.diff(first.night_chance) >= 0).all()
    assert (first.trip_chance <= first.night_chance + 1e-12).all()
    steps = list(w.chances(trailer, (2,), trips=50, together=20))
    assert [one.trips for one in steps] == [20, 40, 50]
    assert first.enough(0.0) == 1 and first.enough(1.01) is None
    expected = w.uncertainty_of_share(float(first.trip_chance[1]), 60)
    assert first.uncertainty[1] == pytest.approx(expected)


def test_without_a_spread_and_with_endless_sun_every_night_is_kept(trailer):
    still = trailer.model_copy(update={"whole_system": trailer.whole_system.model_copy(update={"spread": 0.0})})
    one = list(w.chances(still, (40,), trips=20))[-1]
    assert one.night_chance[0] == one.trip_chance[0] == 1 and one.uncertainty[0] == 0


def test_a_generator_that_starts_late_leaves_a_quiet_night_short(trailer):
    rows = w.by_start(trailer)
    hours = [floats(row["generator"], "h") for row in rows]
    missed, lowest = ([floats(row[name], unit) for row in rows] for name, unit in (("missed", "Wh"), ("lowest", "")))
    assert lowest == pytest.approx(sorted(lowest), abs=1e-3)
    assert hours == sorted(hours) and missed == sorted(missed, reverse=True) and missed[0] > 100 and missed[-1] == 0


# ------------------------------------------------------------------------------- the panel of trials


def test_trials_say_the_same_in_every_run_and_go_on_until_stopped(trailer):
    import asyncio

    from coachwork.page.trials import trials

    one, again = trials(trailer, (1, 3), trips=400), trials(trailer, (1, 3), trips=400)
    assert one.plain() == again.plain() and "60 of 400 trips" in one.plain()

    async def press():
        one.pressed("more", {})
        while one.found.trips < 120:
            await asyncio.sleep(0.01)
        one.pressed("stop", {})
        standing = one.found.trips
        await asyncio.sleep(0.2)
        return standing

    standing = asyncio.run(press())
    assert 120 <= one.found.trips == standing < 400 and f"after {standing} trips" in one.spoken
