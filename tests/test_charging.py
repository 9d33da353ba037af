"""Charging: closed forms, there and back, sums by hand, properties, and coaches that must miss."""

import math
import tomllib

import numpy
import pytest
from hypothesis import given, settings
from hypothesis import strategies as some

from coachwork import capacity, charging, coach, conductor, network, sections
from coachwork.quantities import KINDS, InputError, Q, floats
from coachwork.sources import STATUSES, table

rates = some.floats(0.02, 2.0)  # C-rates
levels = some.floats(0.0, 0.98)
kept = some.floats(0.7, 1.0)
taus = some.floats(0.02, 3.0)


def hours_of(*given_, **more):
    return floats(charging.charge_time(*given_, **more), "h")


def ratio_of(one, other):
    return float((one / other).to("").magnitude)


# ------------------------------------------------------------------ what a battery accepts


@given(rates, levels, some.floats(0.001, 0.5), taus, kept)
def test_charge_time_there_and_back(rate, start, more, tau, efficiency):
    end = min(start + more, 0.995)
    args = Q(100, "Ah"), Q(100 * rate, "A"), start
    hours = charging.charge_time(*args, end, Q(tau, "h"), efficiency)
    assert charging.state_after_charge(*args, hours, Q(tau, "h"), efficiency) == pytest.approx(end, abs=1e-9)


@given(rates, levels, levels, levels, taus)
def test_a_charge_in_two_parts_takes_as_long_as_in_one(rate, one, two, three, tau):
    low, middle, high = sorted((one, two, three))
    given_ = dict(capacity=Q(240, "Ah"), current=Q(240 * rate, "A"), acceptance_time=Q(tau, "h"))

    def part(start, end):
        return hours_of(start_charge=start, end_charge=end, **given_)

    assert part(low, high) == pytest.approx(part(low, middle) + part(middle, high), abs=1e-9)


@settings(max_examples=15)
@given(some.floats(0.05, 1.0), some.floats(0.0, 0.7), some.floats(0.05, 2.0), kept)
def test_charge_time_against_small_steps(rate, start, tau, efficiency):
    """By simulation: a thousandth of an hour at a time, the charger or the battery setting the current."""
    level, hours, step = start, 0.0, 0.001
    while level < 0.95:
        level += efficiency * min(rate, (1 - level) / tau) * step
        hours += step
    found = hours_of(Q(1, "Ah"), Q(rate, "A"), start, 0.95, Q(tau, "h"), efficiency)
    assert found == pytest.approx(hours, abs=0.005 + 0.002 * hours)


@given(rates, taus)
def test_more_current_never_takes_longer_and_the_tail_stays(rate, tau):
    args = dict(start_charge=0.3, end_charge=0.99, acceptance_time=Q(tau, "h"), capacity=Q(100, "Ah"))
    slow, fast = (hours_of(current=Q(100 * r, "A"), **args) for r in (rate, 2 * rate))
    assert fast <= slow + 1e-12
    whole_tail = floats(charging.tail_time(Q(tau, "h"), 0.3, 0.99), "h")
    assert slow >= whole_tail - 1e-9 or slow >= 0.69 / rate  # neither charger nor battery can be beaten
    assert fast >= 0.69 / (2 * rate) - 1e-9


def test_knee_is_where_both_currents_are_one():
    for rate, tau in ((0.2, 1.0), (0.5, 0.1), (0.1, 1.2)):
        turn = charging.knee(Q(100, "Ah"), Q(100 * rate, "A"), Q(tau, "h"))
        assert floats(charging.accepted_current(Q(100, "Ah"), turn, Q(tau, "h")), "A") == pytest.approx(
            100 * rate
        )
    assert charging.knee(Q(100, "Ah"), Q(300, "A"), Q(1, "h")) == 0


def test_the_last_tenth_of_lead_acid_takes_as_long_as_the_half_before():
    """60 to 90 % of 100 Ah AGM at C/5 by hand: 1 h of bulk and ln 2 h of tail, each over 0.9."""
    facts = charging.acceptance("AGM")
    args = Q(100, "Ah"), Q(20, "A")
    by_hand = (1 + math.log(2)) / 0.9
    assert hours_of(*args, 0.6, 0.9, facts.acceptance_time, facts.charge_efficiency) == pytest.approx(by_hand)
    last = hours_of(*args, 0.9, 0.99, facts.acceptance_time, facts.charge_efficiency)
    assert last == pytest.approx(math.log(10) / 0.9) and last > by_hand
    lithium = charging.acceptance("lithium iron phosphate")
    assert hours_of(*args, 0.9, 0.99, lithium.acceptance_time, lithium.charge_efficiency) < 0.5


@pytest.mark.parametrize("name", capacity.chemistries())
def test_the_curve_holds_together(name):
    facts, one = charging.acceptance(name), capacity.chemistry(name)
    cells, ceiling = one.cells_for_12_volt, facts.absorption * one.cells_for_12_volt
    curve = charging.charge_curve(name, Q(240, "Ah"), cells, Q(60, "A"), 0.2, 0.985, ceiling)
    assert curve.level[0] == pytest.approx(0.2) and curve.level[-1] == pytest.approx(0.985)
    assert curve.hours[-1] == pytest.approx(floats(curve.time, "h"))
    assert numpy.all(numpy.diff(curve.volts) > -1e-9) and numpy.all(numpy.diff(curve.amps) <= 1e-9)
    assert curve.amps[0] == 60 and curve.volts[-1] == pytest.approx(floats(ceiling, "V"))
    # amp-hours put in, by the area under the current, less what is lost, are what the level rose by
    put_in = float(((curve.amps[1:] + curve.amps[:-1]) / 2 * numpy.diff(curve.hours)).sum())
    assert put_in * facts.charge_efficiency == pytest.approx(240 * 0.785, rel=0.002)
    knee = curve.level[numpy.argmax(curve.hours >= floats(curve.knee_time, "h"))]
    assert knee == pytest.approx(curve.knee_charge, abs=0.01)
    assert 12 < floats(curve.energy, "Wh") / put_in < 15


def test_voltage_reaches_absorption_where_all_is_taken_and_rest_where_nothing_flows():
    rest, ceiling = Q(13.2, "V"), Q(14.2, "V")
    assert charging.charging_voltage(rest, ceiling, Q(50, "A"), Q(50, "A")) == ceiling
    assert charging.charging_voltage(rest, ceiling, Q(0, "A"), Q(50, "A")) == rest


def test_full_is_where_the_tail_current_flows():
    for name in capacity.chemistries():
        facts = charging.acceptance(name)
        full = charging.full_charge(facts.tail_rate, facts.acceptance_time)
        amps = charging.accepted_current(Q(100, "Ah"), full, facts.acceptance_time)
        assert floats(amps, "A") == pytest.approx(100 * facts.tail_rate)


@pytest.mark.parametrize("name", capacity.chemistries())
def test_every_value_has_a_source_and_makes_sense(name):
    facts, module = charging.acceptance(name), capacity.chemistry(name)
    assert {source.status for source in facts.sources.values()} <= set(STATUSES)
    assert facts.absorption_low <= facts.absorption <= module.cell_charge_voltage
    assert facts.float_voltage <= facts.float_high < facts.absorption
    assert facts.rate_low < facts.rate_high
    for sheet in ("shore_inlets", "fuels", "gassing_current", "generator_deratings"):
        assert {row.get("row status") or "published" for row in table(sheet).rows} <= set(STATUSES)


@pytest.mark.parametrize(
    "change, word",
    [
        (dict(end_charge=1), "below 100 %"),
        (dict(start_charge=1.2), "start charge"),
        (dict(current=Q(0, "A")), "above 0"),
        (dict(current=Q(20, "Ah")), "divide by the hours"),
        (dict(capacity=Q(-100, "Ah")), "capacity"),
        (dict(acceptance_time=Q(math.nan, "h")), "finite"),
    ],
)
def test_bad_input_is_refused_by_name(change, word):
    good = dict(
        capacity=Q(100, "Ah"), current=Q(20, "A"), start_charge=0.2, end_charge=0.9, acceptance_time=Q(1, "h")
    )
    assert hours_of(**good) > 0
    with pytest.raises(InputError, match=word):
        charging.charge_time(**good | change)


def test_a_curve_that_goes_down_and_unknown_names_are_refused():
    for bad in ((0.9, 0.5), (0.5, 0.5)):
        with pytest.raises(InputError, match="not above the start"):
            charging.charge_curve("AGM", Q(100, "Ah"), 6, Q(20, "A"), *bad, Q(14.4, "V"))
    with pytest.raises(InputError, match="15 A, 20 A"):
        charging.inlet("40 A")
    with pytest.raises(InputError, match="gasoline"):
        charging.heat_content("petrol")
    with pytest.raises(InputError, match="chemistry"):
        charging.acceptance("NiCd")


@given(some.floats(0.1, 0.3), some.floats(0.31, 0.6), some.floats(20, 100), some.floats(0, 15))
def test_what_runs_meanwhile_counts_against_the_charger(start, end, amps, load):
    """Below the knee three formulas say one thing: amp-hours, amp-hours with loads, watt-hours."""
    charger, loads, bank = Q(amps, "A"), Q(load, "A"), Q(720, "Ah")
    by_charge = floats(charging.refill_time(bank, charger, loads, start, end), "h")
    left = charging.battery_current(charger, loads)
    assert by_charge == pytest.approx(floats(charging.bulk_time(bank, left, start, end), "h"))
    energy = bank * Q(12.8, "V") * (end - start)
    assert by_charge == pytest.approx(
        floats(charging.time_for_energy(energy, Q(12.8, "V"), charger, loads), "h")
    )


def test_nothing_to_charge_takes_no_time():
    assert hours_of(Q(100, "Ah"), Q(20, "A"), 0.9, 0.5, Q(1, "h")) == 0
    assert hours_of(Q(240, "Ah"), Q(150, "A"), 0, 1, Q(0, "h")) == pytest.approx(1.6)


# ------------------------------------------------------------------ sources


@given(
    some.floats(1, 200), some.floats(10, 60), some.floats(0.5, 1), some.floats(0.5, 1), some.floats(100, 240)
)
def test_inlet_arithmetic_there_and_back(amps, volts, efficiency, factor, line):
    ac = charging.charger_line_current(Q(amps, "A"), Q(volts, "V"), efficiency, factor, Q(line, "V"))
    back = charging.charger_current_within(ac, Q(line, "V"), factor, efficiency, Q(volts, "V"))
    assert floats(back, "A") == pytest.approx(amps)


def test_what_runs_meanwhile_is_taken_from_the_charger_first():
    left = charging.line_current_left(Q(30, "A"), Q(1440, "W"), Q(120, "V"))
    assert floats(left, "A") == pytest.approx(12)
    assert floats(charging.line_current_left(Q(15, "A"), Q(1800, "W"), Q(120, "V")), "A") == 0


@given(some.floats(1, 200), some.floats(10, 60), some.floats(11, 15), some.floats(0.5, 1))
def test_dcdc_there_and_back_and_power_balances(amps, volts, at_input, efficiency):
    drawn = charging.dcdc_input_current(Q(amps, "A"), Q(volts, "V"), Q(at_input, "V"), efficiency)
    back = charging.dcdc_output_within(drawn, Q(at_input, "V"), Q(volts, "V"), efficiency)
    assert floats(back, "A") == pytest.approx(amps)
    assert ratio_of(drawn * Q(at_input, "V") * efficiency, Q(amps, "A") * Q(volts, "V")) == pytest.approx(1)


def test_tow_line_by_hand():
    """40 ft of 12 AWG, ground wire of 10 AWG, 20 mohm of contacts, 14.2 V on a bank at 13.2 V with 1 mohm."""
    warm = Q(104, "degF")
    parts = charging.tow_parts(Q(40, "ft"), "12 AWG", "10 AWG", Q(20, "mohm"), warm)
    ohms = (
        sum(
            floats(conductor.resistance_per_length(size, warm), "ohm/ft") * 40
            for size in ("12 AWG", "10 AWG")
        )
        + 0.02
    )
    found = charging.tow_charge(Q(14.2, "V"), parts, Q(13.2, "V"), Q(1, "mohm"))
    assert floats(found.current, "A") == pytest.approx(1.0 / (ohms + 0.001))
    plain = charging.charge_current_through(Q(14.2, "V"), Q(13.2, "V"), Q(ohms + 0.001, "ohm"))
    assert floats(found.current, "A") == pytest.approx(floats(plain, "A"))
    assert floats(sum(found.drops.values()), "V") == pytest.approx(14.2 - floats(found.voltage, "V"))
    assert floats(found.lost + found.power, "W") == pytest.approx(14.2 * floats(found.current, "A"))


def test_a_smart_alternator_lets_the_bank_feed_back():
    parts = charging.tow_parts(Q(40, "ft"), "12 AWG", None, Q(30, "mohm"), Q(77, "degF"))
    assert charging.tow_charge(Q(12.4, "V"), parts, Q(13.2, "V"), Q(1, "mohm")).current.magnitude < 0


@settings(deadline=None, max_examples=30)
@given(some.floats(0.02, 0.5), some.floats(0.05, 0.98))
def test_a_line_brings_a_dcdc_charger_its_power_up_to_the_most(ohms, share):
    most = Q(14.2**2 / (4 * ohms), "W")  # where half of the power heats the line
    parts = {"positive wire": Q(0.6 * ohms, "ohm"), "return wire": Q(0.4 * ohms, "ohm")}
    found = charging.tow_charge_through_dcdc(Q(14.2, "V"), parts, most * share)
    assert ratio_of(found.power, most * share) == pytest.approx(1)
    assert floats(found.voltage, "V") == pytest.approx(7.1 * (1 + math.sqrt(1 - share)), rel=1e-6)
    with pytest.raises(network.CannotCarry):
        charging.tow_charge_through_dcdc(Q(14.2, "V"), parts, most * 1.01)


# ------------------------------------------------------------------ generator and hydrogen

heights, airs = some.floats(-100, 4000), some.floats(-20, 55)


@settings(deadline=None)  # the first one reads the table
@given(heights, airs, some.floats(0, 1000), some.floats(0, 10))
def test_higher_and_hotter_never_gives_more(height, air, up, warmer):
    low = charging.deratings(Q(height, "m"), Q(air, "degC"))
    high = charging.deratings(Q(height + up, "m"), Q(air + warmer, "degC"))
    for one, other in zip(low, high):
        assert 0 <= other["share"] <= one["share"] + 1e-12 <= 1 + 1e-9, one["rule"]


def test_at_the_sea_in_mild_air_no_rule_takes_anything():
    assert [row["share"] for row in charging.deratings(Q(0, "ft"), Q(59, "degF"))] == pytest.approx([1] * 5)
    assert {row["rule"] for row in charging.deratings(Q(0, "ft"), Q(59, "degF"))} == {
        row["rule"] for row in table("generator_deratings").rows
    }


@given(some.floats(0.05, 1), some.floats(0.05, 0.4), some.floats(0, 0.6))
def test_part_load_burns_in_a_straight_line(load, efficiency, idle):
    """Fuel power at a load is the idle fuel and, in a straight line, the rest: Willans."""
    at_load = charging.part_load_efficiency(Q(2000 * load, "W"), Q(2000, "W"), efficiency, idle)
    full = 2000 / efficiency
    assert 2000 * load / at_load == pytest.approx(full * (idle + (1 - idle) * load))
    assert at_load <= efficiency + 1e-12


@given(some.floats(100, 5000), some.floats(0.1, 0.4), some.floats(0.1, 10))
def test_fuel_there_and_back(watts, efficiency, hours):
    content = charging.heat_content("diesel")
    burned = charging.fuel_rate(Q(watts, "W"), efficiency, content) * Q(hours, "h")
    assert charging.generator_efficiency(Q(watts * hours, "Wh"), burned, content) == pytest.approx(efficiency)
    assert ratio_of(
        charging.heat_in_fuel(burned, content) * efficiency, Q(watts * hours, "Wh")
    ) == pytest.approx(1)


def test_engine_efficiency_is_electric_efficiency_in_other_units():
    used = charging.specific_fuel(Q(3, "kg"), Q(10, "kWh"))
    assert charging.engine_efficiency(used, Q(43, "MJ/kg").to("kJ/kg")) == pytest.approx(36 / (3 * 43))


def test_hydrogen_by_two_standards_is_one_physics():
    volume = charging.hydrogen_volume(Q(25, "Ah"), 24, Q(25, "degC"), Q(101.325, "kPa"))
    flow = charging.hydrogen_flow(Q(25, "A"), 24)
    assert ratio_of(volume, flow * Q(1, "h")) == pytest.approx(1, abs=0.002)
    cold = charging.hydrogen_volume(Q(1, "Ah"), 1, Q(0, "degC"), Q(101.325, "kPa"))
    assert floats(cold, "m**3") == pytest.approx(0.42e-3, rel=0.005)
    # the air asked for thins that hydrogen to 1 % and less
    air = charging.ventilation(Q(25, "A"), 24)
    assert ratio_of(flow, air) < 0.01
    assert floats(charging.vent_area(air), "cm**2") == pytest.approx(28 * 120 * 0.42e-3 * 25 * 24, rel=1e-6)


def test_lithium_gives_off_no_hydrogen_and_flooded_most():
    amps = [
        floats(charging.gassing_current(Q(220, "Ah"), name, "IU"), "A") for name in capacity.chemistries()
    ]
    assert amps == pytest.approx([0, 2.2, 4.4])


# ------------------------------------------------------------------ coaches

DEMOS = coach.demos()


@pytest.mark.parametrize("path", DEMOS, ids=lambda path: path.stem)
def test_a_demo_is_decided_meets_its_checks_and_says_its_circuits(path):
    demo = coach.read(path)
    assert charging.propose(demo) == {}
    assert [str(check) for check in charging.checks(demo) if check.verdict == "misses"] == []
    there = {circuit.name: circuit for circuit in demo.circuits}
    for name, row in charging.circuits(demo).items():
        one = there[name]
        assert (one.from_, one.to, one.purpose, one.length) == (
            row["from"],
            row["to"],
            row["purpose"],
            row["length"],
        )
        assert one.current == row["current"], name


@pytest.mark.parametrize("path", DEMOS, ids=lambda path: path.stem)
def test_what_is_proposed_instead_of_the_decisions_is_sound_and_stays(path):
    bare = coach.read(path).changed("", charging={})
    proposals = charging.propose(bare)
    decided = bare.changed("charging", **proposals)
    assert charging.propose(decided) == {}
    assert [
        check.asked for check in charging.checks(decided) if check.guards and check.verdict == "misses"
    ] == []
    assert charging.study(decided).assumed == ()
    assert set(charging.study(bare).assumed) == set(proposals)


def test_study_by_hand():
    """Amps, watts and hours of the coast coach, each in one line from the numbers of its file."""
    demo = coach.read(next(path for path in DEMOS if "coast" in path.stem))
    found = charging.study(demo)
    shore = found.source("shore")
    assert floats(shore.current, "A") == 100
    assert floats(shore.input_power, "W") == pytest.approx(100 * 14.2 / 0.9)
    assert floats(shore.battery_current, "A") == pytest.approx(100 - floats(found.load_current, "A"))
    amps = floats(shore.battery_current, "A")
    turn = 1 - 0.1 * amps / 1200
    by_hand = (turn - 0.2) * 1200 / (0.99 * amps) + 0.1 / 0.99 * math.log((1 - turn) / 0.005)
    assert floats(shore.refill_time, "h") == pytest.approx(by_hand)
    assert floats(found.curve.time, "h") == pytest.approx(by_hand)
    assert floats(found.charge_limit, "A") == pytest.approx(5 * 120)
    assert floats(found.charge_limit_one_out, "A") == pytest.approx(4 * 120)
    night = floats(shore.night_time, "h")
    assert night * amps * 0.99 * 12.8 == pytest.approx(floats(found.night_energy, "Wh"), rel=1e-6)
    with pytest.raises(InputError, match="wind"):
        found.source("wind")


def test_balance_adds_up_and_the_sun_comes_from_outside():
    demo = coach.read(coach.main_demo())
    rows = charging.balance(demo, sun_energy=Q(2000, "Wh"))
    parts = [floats(row["energy"], "Wh") for row in rows]
    assert sum(parts[:-1]) == pytest.approx(parts[-1])
    assert [row["source"] for row in rows][-3:] == ["sun", "the day takes", "left over"]
    assert "tow line alone" not in [row["source"] for row in rows]
    assert floats(charging.balance(demo)[-1]["energy"], "Wh") == pytest.approx(parts[-1] - 2000)


def test_sources_add_and_share_one_inlet():
    demo = coach.read(coach.main_demo())
    found = charging.study(demo)
    both = charging.combined(demo, "generator", "engine")
    assert both == found.source("generator").current + found.source("engine").current
    with pytest.raises(InputError, match="share the inlet"):
        charging.combined(demo, "generator", "shore")


def changed(path_word="desert", **values):
    demo = coach.read(next(path for path in DEMOS if path_word in path.stem))
    return demo.changed("charging", **values)


def with_charger(kind="AC", word="desert", **values):
    demo = coach.read(next(path for path in DEMOS if word in path.stem))
    chargers = [
        dict(one.plain(), **values) if one.kind == kind else one.plain() for one in demo.charging.chargers
    ]
    return demo.changed(
        "charging",
        chargers=[{key: value for key, value in one.items() if value is not None} for one in chargers],
    )


def misses(one):
    return " / ".join(
        f"{check.asked} {check.found}" for check in charging.checks(one) if check.verdict == "misses"
    )


@pytest.mark.parametrize(
    "values, words",
    [
        (dict(absorption="14.8 V"), "absorption 14.8 V is above"),
        (dict(absorption="13.6 V"), "hardly fills it"),
        (dict(equalise="15.5 V"), "equalises at 15.5 V"),
        (dict(compensation="-4 mV/K"), "follows temperature"),
        (dict(float_voltage="13.8 V"), "float 13.8 V wears it"),
        (dict(restart="13.45 V"), "restarts at 13.4"),
        (dict(current="300 A", rated_current="300 A"), "30 A inlet carry"),
        (dict(stop="nothing", highest_output="16.5 V"), "protection opens under"),
    ],
)
def test_a_charger_that_does_not_fit_misses(values, words):
    assert misses(coach.read(coach.main_demo())) == ""
    assert words in misses(with_charger(**values))


def test_the_old_converter_misses_for_lithium_and_is_named():
    old = next(one for one in charging.chargers_on_offer() if "lead-acid only" in one.name)
    bank = capacity.arrangement(coach.read(coach.main_demo()))
    faults = charging.charger_faults(old, bank)
    assert len(faults) == 2 and "equalises" in str(faults) and "temperature" in str(faults)


def test_cold_lock_out_counts_only_where_cells_get_cold():
    free = with_charger(coldest=None)
    assert "cold cells" not in misses(free)
    cold = free.changed("capacity", coldest="20 degF")
    assert "no lock-out of its own" in misses(cold)
    assert "cold cells" not in misses(with_charger(coldest="34 degF").changed("capacity", coldest="20 degF"))


def test_limits_of_the_engine_s_side_miss():
    assert "circuit Tow charge line" in misses(with_charger("DC-DC", current="15 A"))
    thin = changed(tow_line=dict(length="60 ft", size="16 AWG", contacts="40 mohm"))
    assert "enough volts at the end" in misses(thin)
    weak = changed(
        alternator=coach.read(coach.main_demo()).charging.alternator.plain()
        | {"rated_current": "70 A", "idle_current": "46 A"}
    )
    assert "hot alternator" in misses(weak) and "idles" in misses(weak)
    van = with_charger("DC-DC", "van", start="input voltage", lowest_input="12.8 V")
    assert "start with the engine" in misses(van)
    tied = coach.read(next(path for path in DEMOS if "coast" in path.stem)).changed(
        "circuits", "Emergency-start solenoid", existing="keep", limit=None
    )
    assert "only tie" in misses(tied)


def test_generator_too_high_too_small_or_too_late_misses():
    assert "Does the generator carry" in misses(changed(altitude="11000 ft"))
    assert "quiet hours" in misses(changed(generator_hours="13 h"))
    short = coach.read(coach.main_demo()).charging.generator.plain() | {"allowed": ["10:00-12:00"]}
    assert "refill by generator" in misses(changed(generator=short))


def test_one_string_lost_lowers_what_may_be_charged():
    van = with_charger("AC", "van", rated_current="100 A")
    assert "one string lost" in misses(van)


def test_cold_cells_take_less_and_frozen_ones_nothing():
    bank = capacity.arrangement(coach.read(coach.main_demo()))
    limits = [floats(charging.cold_charge_limit(bank, Q(f, "degF")), "A") for f in (20, 33, 51, 80)]
    assert limits[0] == 0 and limits == sorted(limits)
    assert limits[1] == pytest.approx(72) and limits[-1] == pytest.approx(
        floats(charging.bank_charge_limit(bank), "A")
    )


def test_settings_name_every_charger_and_hold_the_least():
    rows = charging.settings(changed("van"))
    what = {(row.device, row.what): row.value for row in rows}
    assert what["AC charger 12 V 60 A, invented", "charge current"] == "60 A"
    assert what["AC charger 12 V 60 A, invented", "inlet limit"] == "12 A"
    assert what["DC-DC charger 12 V 50 A, invented", "no charge below"] == "34 °F"
    assert what["battery", "discharge ends at"] == "10.8 V"


def test_decisions_and_circuits_are_written_and_read_back(home):
    bare = coach.read(coach.main_demo()).changed("", charging={})
    mine = bare.save(home / "mine.toml").decide("charging", **charging.propose(bare))
    for name, row in charging.circuits(mine).items():
        mine = mine.decide(
            "circuits", name, **{key.replace("from", "from_"): value for key, value in row.items()}
        )
    again = coach.read(home / "mine.toml")
    assert again == mine and charging.propose(again) == {}
    assert {"Shore charger output", "DC-DC charger output"} <= {circuit.name for circuit in again.circuits}


def test_bad_values_in_the_coach_file_are_refused():
    for values, words in (
        (dict(inlet="40 A"), "15 A, 20 A"),
        (dict(drive_hours="25 h"), "24"),
        (dict(start_charge=1.4), "start_charge"),
        (dict(altitude="90000 ft"), "altitude"),
    ):
        with pytest.raises(InputError, match=words):
            changed(**values)


# ------------------------------------------------------------------ invented equipment


def test_invented_equipment_is_complete_and_every_chemistry_and_voltage_has_a_charger():
    rows = tomllib.loads(charging.EQUIPMENT.read_text(encoding="utf-8"))
    for kind, model in (
        ("charger", sections.Charger),
        ("alternator", sections.Alternator),
        ("generator", sections.Generator),
    ):
        for row in rows[kind]:
            assert row["name"].endswith(", invented") and model.model_validate(row)
    for one in charging.chargers_on_offer():
        assert one.highest_output >= one.absorption
        assert (one.power_factor is not None) == (one.kind == "AC") and (one.start is None) == (
            one.kind == "AC"
        )
    for name in capacity.chemistries():
        for volts in ("12 V", "24 V", "48 V") if name == capacity.LITHIUM else ("12 V",):
            head = (
                'format = 1\nname = "x"\n[[seasons]]\nname = "all"\nnight = "20:00-06:00"\n'
                '[[loads]]\nname = "lamp"\nside = "dc"\n'
                f'power = "50 W"\nhours = "10 h"\n[capacity]\nnominal_voltage = "{volts}"\nchemistry = "{name}"\n'
            )
            found = charging.study(coach.parse(head))
            assert {one.kind for one in found.plan.chargers} >= {"AC"}
            assert found.curve.time > Q(0, "h")
    assert set(KINDS) >= {"fuel", "fuel rate", "heat content"}


def test_hours_side_by_side_by_hand():
    """AGM from 50 to 80 % at C/5: below its knee, 210 x 0.3 / (42 x 0.9) h."""
    row = next(one for one in charging.side_by_side(Q(210, "Ah"), Q(42, "A"), [(0.5, 0.8)]) if one["chemistry"] == "AGM")
    assert floats(row["50% to 80%"], "h") == pytest.approx(210 * 0.3 / 37.8)
    assert floats(row["time constant"], "h") == 1 and floats(row["kept"], "percent") == pytest.approx(90)


def test_outputs_here_are_the_shares_of_the_rating():
    rows = charging.outputs_here(Q(1800, "W"), Q(5200, "ft"), Q(100, "degF"))
    for row, plain in zip(rows, charging.deratings(Q(5200, "ft"), Q(100, "degF")), strict=True):
        assert floats(row["output"], "W") == pytest.approx(1800 * plain["share"])
