"""Wiring: sums by hand, properties of the choice, both bounds of a fault, and coaches that must miss."""

import dataclasses
import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as some

from coachwork import capacity, checks, coach, conductor, network, wiring
from coachwork.quantities import KINDS, InputError, Q, floats, show
from coachwork.sources import STATUSES, table
from coachwork.wiring import Run

FEET, AMPS = some.floats(1.0, 40.0), some.floats(0.5, 250.0)
DEMOS = coach.demos()


@pytest.fixture(scope="module")
def trailer():
    return coach.read(coach.main_demo())


@pytest.fixture(scope="module")
def studied(trailer):
    return wiring.study(trailer)


def misses(of, words):
    """Checks of a coach whose question holds the words and whose verdict is a miss."""
    return [check for check in wiring.checks(of) if words in check.asked and check.verdict == checks.MISSES]


# ------------------------------------------------------------------------------- drop


def test_drop_counts_both_ways_by_hand():
    # 12 AWG at 75 °C in NEC Table 8: 1.98 ohm for 1000 ft; 10 A over 15 ft is 10 x 30/1000 x 1.98 = 0.594 V
    drop = wiring.voltage_drop(Q(10, "A"), Q(15, "ft"), Q(1.98, "ohm/kft"))
    assert floats(drop, "V") == pytest.approx(0.594)
    assert wiring.drop_share(drop, Q(12.8, "V")) == pytest.approx(0.594 / 12.8)


@given(AMPS, FEET, some.floats(0.05, 5), some.floats(9.9, 15))
def test_area_for_a_drop_gives_that_drop(current, length, volts, k):
    area = wiring.area_for_drop(Q(current, "A"), Q(length, "ft"), Q(volts, "V"), Q(k, "ohm*circular_mil/ft"))
    drop = wiring.voltage_drop(Q(current, "A"), Q(length, "ft"), Q(k, "ohm*circular_mil/ft") / area)
    assert floats(drop, "V") == pytest.approx(volts)
    one_tap = wiring.area_for_taps([wiring.Tap(Q(current, "A"), Q(length, "ft"))], Q(volts, "V"),
                                   Q(k, "ohm*circular_mil/ft"))
    assert floats(one_tap / area, "") == pytest.approx(1)


@given(AMPS, FEET, some.sampled_from(wiring.SIZES))
def test_longest_run_there_and_back(current, length, size):
    each = conductor.resistance_per_length(size, Q(50, "degC"))
    drop = wiring.voltage_drop(Q(current, "A"), Q(length, "ft"), each)
    assert floats(wiring.longest_run(Q(current, "A"), drop, each), "ft") == pytest.approx(length)


@given(some.floats(-20, 60), some.floats(0, 1))
def test_conductor_is_as_hot_as_its_insulation_at_its_ampacity_and_as_cool_as_the_air_without_current(ambient,
                                                                                                      share):
    warm = wiring.working_temperature(Q(ambient, "degC"), Q(105, "degC"), Q(100 * share, "A"), Q(100, "A"))
    assert floats(warm, "degC") == pytest.approx(ambient + (105 - ambient) * share**2)


@given(AMPS, some.floats(0, 200))
def test_rms_of_mean_and_ripple(mean, ripple):
    steps = 720
    wave = [mean + math.sqrt(2) * ripple * math.sin(2 * math.pi * step / steps) for step in range(steps)]
    by_sum = math.sqrt(sum(one**2 for one in wave) / steps)
    assert floats(wiring.rms_current(Q(mean, "A"), Q(ripple, "A")), "A") == pytest.approx(by_sum)


@given(some.floats(1, 100), some.floats(1e-3, 5e-2), some.floats(0.05, 0.99))
def test_precharge_by_small_steps(ohms, farads, share):
    seconds = floats(wiring.precharge_time(Q(ohms, "ohm"), Q(farads, "F"), share), "s")
    volts, step = 0.0, seconds / 4000
    for _ in range(4000):
        middle = volts + (1 - volts) / (ohms * farads) * step / 2
        volts += (1 - middle) / (ohms * farads) * step
    assert volts == pytest.approx(share, rel=1e-4)


# ------------------------------------------------------------------------------- ampacity


def test_ampacity_by_hand():
    # 8 AWG of 105 °C by NEC 310.16: column of 90 °C 55 A x 0.91 at 40 °C; terminals of 75 °C: 50 A; no cap
    found = wiring.ampacity("8", "NEC 552.10", "BC-5W2", Q(40, "degC"))
    assert floats(found.insulation, "A") == pytest.approx(55 * 0.91)
    assert floats(found.terminal, "A") == 50 and found.cap is None
    assert floats(found.usable, "A") == 50 and found.governed == "terminal"


def test_bundling_and_small_sizes():
    alone = wiring.ampacity("10", "NEC 552.10", "BC-5W2")
    bundled = wiring.ampacity("10", "NEC 552.10", "BC-5W2", conductors=9)
    assert floats(bundled.insulation / alone.insulation, "") == pytest.approx(0.7)
    assert alone.governed == "cap" and floats(alone.usable, "A") == 30
    # no row in 310.16: the cap alone
    assert floats(wiring.ampacity("18", "NEC 552.10", "BC-5W2").usable, "A") == 6


@pytest.mark.parametrize("rule, celsius", [("NEC 552.10", 90), ("NEC 310.16", 90), ("33 CFR 183.425", 105)])
def test_cable_of_105_degrees_at_its_ampacity_is_as_hot_as_the_column_that_printed_it(rule, celsius):
    """NEC 310.16 ends at 90 °C: what it prints there heats better insulation to 90 °C and no more."""
    may = wiring.ampacity("8", rule, "BC-5W2", Q(40, "degC")).insulation
    found = wiring.fit("8", Run(may, Q(5, "ft"), rule=rule, ambient=Q(40, "degC")), None)
    assert floats(found.temperature, "degC") == pytest.approx(celsius)


def test_sae_cable_has_less_copper_and_carries_less():
    awg, sae = (wiring.ampacity("2", "33 CFR 183.425", marking) for marking in ("RHW-2", "SGX"))
    assert wiring.metal_area("2", "SGX") < wiring.metal_area("2", "RHW-2")
    assert wiring.metal_resistance("2", "SGX", Q(20, "degC")) > wiring.metal_resistance("2", "RHW-2",
                                                                                        Q(20, "degC"))
    share = floats(sae.insulation, "A") / 225  # column of 125 °C
    assert share == pytest.approx((62450 / 66371) ** 0.75, rel=1e-3) and awg.insulation > Q(0, "A")


def test_ampacity_is_zero_where_the_air_is_as_hot_as_the_insulation():
    assert floats(wiring.ampacity("4", "NEC 552.10", "TW", Q(60, "degC")).insulation, "A") == 0
    assert floats(wiring.ampacity("4", "33 CFR 183.425", "TW", Q(70, "degC")).insulation, "A") == 0


def test_no_allowance_of_150_percent():
    """The boat law would put 90 A on 10 AWG of 105 °C; here 30 A is the most, under every rule."""
    assert floats(conductor.base_ampacity("10", "33 CFR 183.425", Q(105, "degC")), "A") * 1.5 == 90
    for rule in wiring.AMPACITY_RULES:
        assert floats(wiring.ampacity("10", rule, "BC-5W2").usable, "A") == 30


def test_terminals_without_a_mark():
    assert wiring.terminal_rating(Q(100, "A")) == Q(60, "degC")
    assert wiring.terminal_rating(Q(101, "A")) == Q(75, "degC")


def test_every_rule_says_what_force_it_has():
    assert "without force" in wiring.ampacity_rule("33 CFR 183.425")
    assert "RVIA LV" in wiring.ampacity_rule("NEC 552.10")


# ------------------------------------------------------------------------------- devices


@pytest.mark.parametrize("name", wiring.families())
def test_data_sheet_of_a_family_makes_sense(name):
    one = wiring.family(name)
    assert list(one.ratings) == sorted(one.ratings)
    shares = [share for _, share in one.derating]
    assert shares[0] == 1 and shares == sorted(shares, reverse=True) and min(shares) > 0.5
    multiples, times = zip(*one.opens)
    assert list(multiples) == sorted(multiples) and list(times) == sorted(times,
                                                                          reverse=True) and multiples[0] > 1
    heats = [multiple**2 * floats(time, "s") for multiple, time in one.opens]
    if one.let_through is not None:  # a fuse lets through no less than it does at the end of its curve
        assert floats(one.let_through, "s") >= heats[-1] * 0.999
    voltages, currents = zip(*one.interrupt)
    assert list(currents) == sorted(currents, reverse=True) and list(voltages) == sorted(voltages)


def test_blade_fuse_stays_inside_its_standard():
    blade = wiring.family("blade fuse")
    assert floats(blade.interrupt_rating(Q(14.6, "V")), "A") <= 1000 and floats(blade.ratings[-1], "A") <= 100
    assert floats(blade.interrupt_rating(Q(58.4, "V")), "A") == 0


def test_rating_for_alternating_current_says_nothing_about_direct():
    ac = wiring.family("AC branch breaker")
    assert floats(ac.interrupt_rating(Q(12, "V")), "A") == 0 and floats(ac.voltage, "V") == 0


@given(some.sampled_from(list(wiring.families())), some.floats(0.5, 700), some.floats(0, 65))
def test_next_rating_carries_the_current_and_the_one_below_does_not(name, amps, celsius):
    one, ambient = wiring.family(name), Q(celsius, "degC")
    found, factor = one.next_rating(Q(amps, "A"), ambient), one.ambient_factor(ambient)
    fitting = [floats(rating, "A") for rating in one.ratings
               if floats(rating, "A") * factor >= amps * (1 - 1e-9)]
    assert (found is None) == (not fitting) and (found is None or floats(found, "A") == fitting[0])


@given(some.sampled_from(list(wiring.families())), some.floats(1.0, 100), some.floats(1.001, 3))
def test_more_current_opens_sooner(name, multiple, more):
    one = wiring.family(name)
    assert one.opens_within(multiple * more) <= one.opens_within(multiple)


def test_derating_comes_before_rounding_up():
    run = Run(Q(39, "A"), Q(3, "ft"), device="stud fuse", ambient=Q(50, "degC"))
    assert floats(run.asked, "A") == pytest.approx(48.75)
    assert floats(wiring.device_for(run), "A") == 60  # a 50 A fuse carries 93 % of 50 A there
    cool = dataclasses.replace(run, ambient=Q(25, "degC"))
    assert floats(wiring.device_for(cool), "A") == 50


# ------------------------------------------------------------------------------- the choice


@settings(max_examples=60, deadline=None)
@given(AMPS, FEET, some.sampled_from([0.02, 0.03, 0.1]),
       some.sampled_from(["BC-5W2", "GXL", "GPT", "THWN-2"]),
       some.sampled_from(list(wiring.AMPACITY_RULES)), some.floats(10, 60), some.integers(2, 12))  # fmt: skip
def test_choice_meets_every_demand_and_the_next_smaller_size_does_not(current, length, drop, marking, rule,
                                                                      ambient, bundle):
    run = Run(Q(current, "A"), Q(length, "ft"), drop=drop, marking=marking, rule=rule,
              ambient=Q(ambient, "degC"),
              conductors=bundle, device="class T fuse")  # fmt: skip
    try:
        best = wiring.choose(run)
    except InputError as refusal:
        assert "would" in str(refusal) or "wanted is" in str(refusal)
        return
    usable, factor = best.fit.ampacity.usable, wiring.family(run.device).ambient_factor(run.ambient)
    assert 1.25 * current <= floats(best.fuse, "A") * factor * (1 + 1e-6)
    assert best.fuse <= usable * (1 + 1e-6)
    assert best.fit.share <= drop * (1 + 1e-6)
    assert best.fit.temperature <= conductor.insulation(marking).dry + Q(1e-6, "delta_degC")
    assert best.governed
    if best.governed != ("mechanics",):
        smaller = [one for one in wiring.SIZES if wiring._listed(one, run.marking, run.per_pole)]
        below = smaller[smaller.index(best.size) - 1]
        assert wiring.fit(below, run, best.fuse).misses == best.governed
    sizes = [wiring.SIZES.index(one) for one in best.smallest.values() if one]
    assert max(sizes) <= wiring.SIZES.index(best.size)


@settings(max_examples=30, deadline=None)
@given(AMPS, FEET, some.floats(1.05, 2))
def test_longer_or_more_current_is_never_a_smaller_wire(current, length, more):
    def size(amps, feet):
        try:
            return wiring.SIZES.index(wiring.choose(Run(Q(amps, "A"), Q(feet, "ft"),
                                                        device="class T fuse")).size)
        except InputError:
            return len(wiring.SIZES)

    assert size(current, length) <= size(current * more, length)
    assert size(current, length) <= size(current, length * more)


def test_governing_demand_is_named():
    short = wiring.choose(Run(Q(30, "A"), Q(2, "ft"), drop=0.10))
    long = wiring.choose(Run(Q(30, "A"), Q(30, "ft"), drop=0.03))
    assert "protection" in short.governed and long.governed == ("drop",)
    faulty = wiring.choose(Run(Q(2, "A"), Q(5, "ft"), device="panel breaker", fault=Q(4, "kA")))
    assert "short circuit" in faulty.governed
    assert wiring.choose(Run(Q(2, "A"), Q(5, "ft"), device="small cartridge fuse")).governed == ("mechanics",)


def test_surge_asks_for_more_copper():
    run = Run(Q(100, "A"), Q(10, "ft"), rule="33 CFR 183.425", device="class T fuse")
    surging = dataclasses.replace(run, surge=Q(300, "A"), surge_drop=Q(0.6, "V"))
    assert conductor.area(wiring.choose(surging).size) > conductor.area(wiring.choose(run).size)
    assert wiring.choose(surging).governed == ("surge",)


BAD = {
    "zero length": (dict(length=Q(0, "ft")), "length"),
    "negative length": (dict(length=Q(-3, "ft")), "length"),
    "length in amps": (dict(length=Q(3, "A")), "length"),
    "no current": (dict(current=Q(0, "A")), "current"),
    "unknown insulation": (dict(marking="XYZ"), "type"),
    "unknown rule": (dict(rule="NEC 310.61"), 'rule: "NEC 310.61" is not known'),
    "unknown device": (dict(device="clas T fuse"), '"class T fuse"'),
    "drop of 0": (dict(drop=0.0), "drop allowance"),
    "drop above 100 %": (dict(drop=1.5), "drop allowance"),
    "negative drop": (dict(drop=-0.1), "ratio"),
    "half a conductor": (dict(conductors=1.5), "conductors"),
    "no way back": (dict(returns="earth"), '"wire" or "chassis"'),
    "infinite current": (dict(current=Q(math.inf, "A")), "not a finite number"),
}


@pytest.mark.parametrize("name", BAD)
def test_bad_input_is_refused_in_words(name):
    values, words = BAD[name]
    with pytest.raises(InputError, match=words):
        wiring.choose(Run(**(dict(current=Q(10, "A"), length=Q(10, "ft")) | values)))


def test_bad_sizes_and_small_conductors_in_parallel():
    for size in ("5/0", "0.5", "", "300 kcmil", "16 mm2"):
        with pytest.raises(InputError):
            wiring.ampacity(size, "NEC 552.10", "BC-5W2")
    with pytest.raises(InputError, match="1/0 or larger"):
        wiring.ampacity("2", "NEC 552.10", "BC-5W2", per_pole=2)


@pytest.mark.parametrize(
    "values, words",
    [
        (dict(ambient=Q(60, "degC"), marking="TW"), "its ampacity is zero"),
        (dict(length=Q(400, "ft")), "a shorter run"),
        (dict(current=Q(300, "A")), "in parallel"),
        (dict(current=Q(300, "A")), "a higher system voltage"),
        (dict(current=Q(900, "A")), "another family"),
    ],
)
def test_where_no_listed_size_passes_it_says_what_would_help(values, words):
    with pytest.raises(InputError, match=words):
        wiring.choose(Run(**(dict(current=Q(100, "A"), length=Q(10, "ft"), device="class T fuse") | values)))


# ------------------------------------------------------------------------------- faults


@given(some.floats(20, 3000), some.floats(0.01, 5), some.floats(1, 120))
def test_conductor_of_the_right_area_just_stands_a_fault(amps, seconds, area):
    k = wiring.short_circuit_constant(Q(75, "degC"), Q(160, "degC"))
    least = wiring.area_for_fault(Q(amps, "A"), Q(seconds, "s"), k)
    assert floats(wiring.withstand(least, k), "A**2*s") == pytest.approx(amps**2 * seconds)
    more = wiring.withstand(Q(area, "mm**2"), k)
    assert (more >= Q(amps, "A") ** 2 * Q(seconds, "s")) == (Q(area, "mm**2") >= least) or \
        floats(least, "mm**2") == pytest.approx(area)  # fmt: skip


def bank(parallel, take_off="bus bars"):
    return capacity.Arrangement(capacity.modules_on_offer()[1], 1, parallel, take_off, Q(0.3, "mohm"))


@pytest.mark.parametrize("parallel", [1, 2, 3, 5])
def test_largest_fault_of_a_bank_on_bus_bars_by_hand(parallel):
    # each module: 14.6 V behind 0.6 x 3 mohm and two leads of 0.3 mohm
    each = 14.6 / (0.6 * 3e-3 + 2 * 0.3e-3)
    most = wiring.highest_bound(bank(parallel), Q(40, "A")).into(Q(0, "ohm"))
    assert floats(most, "A") == pytest.approx(parallel * each + 40)
    faults = wiring.module_faults(bank(parallel), Q(40, "A"))
    # the other n-1 come through their own leads to the bars and through the two leads of this one
    if parallel > 1:
        others = 14.6 / ((0.6 * 3e-3 + 0.6e-3) / (parallel - 1) + 0.6e-3) + 40
        assert floats(faults.others, "A") == pytest.approx(others)
    assert floats(faults.own, "A") == pytest.approx(14.6 / 1.8e-3)


@pytest.mark.parametrize("take_off", ["one end", "diagonal", "bus bars"])
def test_bounds_hold_every_healthy_bank_between_them(take_off):
    """A bank solved as it is, at any charge, with any number of modules left, lies between the bounds."""
    one = bank(4, take_off)
    path = 3e-3
    low, high = (floats(bound.into(Q(path, "ohm")), "A")
                 for bound in (wiring.lowest_bound(one), wiring.highest_bound(one)))
    for state in (0.1, 0.5, 1.0):
        for out in ((), (1,), (1, 2), (2, 3, 4)):
            elements = capacity.bank_elements(one.branches(state, out), take_off, one.lead)
            solved = network.solve([*elements, network.resistor("fault", "plus", "minus", path)],
                                   ground="minus")
            assert low < solved.amps["fault"] < high


def test_chassis_return_and_distance_lower_the_smallest_fault(trailer):
    def fault(**changes):
        return wiring.study(trailer.changed("circuits", "Slide motor",
                                            **changes)).row("Slide motor").fault_least

    wire = fault()
    assert fault(returns="chassis") < wire * 1.2 and fault(length="40 ft") < wire


def test_large_fuse_at_the_end_of_a_thin_long_wire_never_opens(trailer):
    bad = trailer.changed("circuits", "Water pump", fuse="30 A", length="90 ft")
    found = misses(bad, "Water pump: does a device open for the smallest fault")
    assert found and found[0].guards == "fire"


# ------------------------------------------------------------------------------- the schedule


@pytest.mark.parametrize("path", DEMOS, ids=lambda path: path.stem)
def test_demo_holds_all_decisions_and_meets_every_guard(path):
    demo = coach.read(path)
    assert wiring.propose(demo) == {}
    found = wiring.checks(demo)
    assert [str(check) for check in found if check.verdict == checks.MISSES] == []
    assert all(check.verdict != checks.CLOSE for check in found if check.guards)
    rows = wiring.study(demo).rows
    assert {row.name for row in rows[1:]} == {one.name for one in demo.circuits if one.existing != "remove"}
    for row in rows:
        if row.fault_least is not None and row.fault_most is not None:
            assert row.fault_least < row.fault_most <= row.interrupt
            assert row.opens <= wiring.CLEARED_WITHIN


@pytest.mark.parametrize("path", DEMOS, ids=lambda path: path.stem)
def test_proposals_alone_make_a_coach_that_meets_every_guard(path):
    """Everything that was decided for new circuits is forgotten, and proposed anew."""
    bare = coach.read(path)
    for circuit in bare.circuits:
        if circuit.existing in (None, "move"):
            bare = bare.changed("circuits", circuit.name, size=None, fuse=None, device=None, insulation=None,
                                rule=None,
                                per_pole=None)  # fmt: skip
    bare = bare.changed("capacity", module_fuse=None)
    made = wiring.decided(bare)
    assert wiring.propose(made) == {}
    assert [str(check) for check in wiring.checks(made) if check.guards
            and check.verdict != checks.MEETS] == []


def test_what_a_survey_finds_is_in_the_schedule_and_misses(trailer):
    old = trailer.changed("circuits", "Breakaway brake", size="12 AWG", fuse="30 A", device=None)
    row = wiring.study(old).row("Breakaway brake")
    assert row.existing == "keep" and row.device == "blade fuse" and "device" in row.assumed
    assert row.verdict == checks.MISSES
    asked = [check.asked for check in row.checks if check.verdict == checks.MISSES]
    assert any("protect the conductor" in one for one in asked) and any("break the largest fault" in one
                                                                        for one in asked)
    # what a fuse lets through says nothing where it cannot break the fault
    assert not any("lets through" in check.asked for check in row.checks)


BROKEN = {
    "alarm behind the main switch": ("circuits", "LP gas detector", dict(from_="DC panel"),
                                     "LP gas detector: is it fed ahead of the main switch"),
    "brake behind the main switch": ("circuits", "Breakaway brake", dict(from_="positive bus"),
                                     "Breakaway brake: is it fed ahead of the main switch"),
    "no fuse": ("circuits", "Furnace", dict(fuse=None), "is the conductor protected at its source"),
    "fuse above the conductor": ("circuits", "Furnace", dict(fuse="30 A"), "protect the conductor"),
    "too thin": ("circuits", "Inverter feed", dict(size="2 AWG"), "carry 125 %"),
    "blade fuse at the bank": ("circuits", "Tongue jack", dict(device="blade fuse"),
                               "break the largest fault"),
    "AC breaker on DC": ("circuits", "Slide motor", dict(device="AC branch breaker"),
                         "highest direct voltage"),
    "far from the source": ("circuits", "Tongue jack", dict(fuse_distance="3 ft"), "near the source"),
    "thin bond": ("circuits", "Chassis return", dict(size="8 AWG", per_pole=None), "bond of the bank"),
    "hot way": ("circuits", "DC panel feed", dict(ambient="167 degF"), "carry 125 %"),
    "full bundle": ("circuits", "Slide motor", dict(bundled=20), "carry 125 %"),
    "fuse too small": ("circuits", "Inverter feed", dict(fuse="250 A"), "in warm air"),
    "long run": ("circuits", "Water pump", dict(length="40 ft"), "no more than its class"),
    "thin surge": ("circuits", "Inverter feed", dict(surge="2500 A"), "stay on"),
    "switch that cannot break": ("wiring", "", dict(main_switch="isolator without load break 500 A"),
                                 "the whole bank"),
    "switch smaller than its fuse": ("wiring", "", dict(main_switch="battery switch 300 A"), "the whole bank"),
    "module switch smaller than its fuse": ("capacity", "", dict(module_fuse="400 A"), "disconnect for each module"),
    "shunt smaller than the main fuse": ("wiring", "", dict(shunt="500 A"), "main fuse lets through"),
    "polarised switch": ("wiring", "", dict(module_switch="polarised contactor 250 A"), "each module"),
    "no main switch": ("wiring", "", dict(main_switch=None), "the whole bank"),
    "small shunt": ("wiring", "", dict(shunt="200 A"), "shunt"),
    "no pre-charge": ("wiring", "", dict(precharge=None), "capacitors"),
    "module fuse": ("capacity", "", dict(module_fuse="400 A"),
                    "Lead of each module: does its device protect"),
}


@pytest.mark.parametrize("name", BROKEN)
def test_broken_coach_misses_at_that_place(trailer, name):
    section, row, values, words = BROKEN[name]
    assert misses(trailer, words) == []
    changed = trailer.changed(section, row, **values) if row else trailer.changed(section, **values)
    assert misses(changed, words)


def test_circuit_for_which_nothing_passes_is_a_row_that_misses(trailer):
    long = trailer.changed("circuits", "Far lamp", from_="DC panel", to="mast", length="4000 ft",
                           current="20 A", purpose="load")
    row = wiring.study(long).row("Far lamp")
    assert row.size is None and row.verdict == checks.MISSES and "a shorter run" in row.checks[0].found
    odd = trailer.changed("circuits", "Furnace", size="16 mm2")
    assert wiring.study(odd).row("Furnace").verdict == checks.MISSES
    blind = trailer.changed("circuits", "Array to controller", voltage=None, device=None, size=None)
    assert "voltage" in wiring.study(blind).row("Array to controller").checks[0].found


def test_circuit_of_120_volts_takes_the_caps_of_its_own_rule(trailer):
    outlet = trailer.changed("circuits", "Outlets", from_="AC panel", to="galley", length="20 ft",
                             current="12 A", voltage="120 V",
                             purpose="load", rule="NEC 310.16", insulation="THHN")  # fmt: skip
    row = wiring.study(outlet).row("Outlets")
    assert (row.size, floats(row.fuse, "A"), row.device) == ("14 AWG", 15, "AC branch breaker")
    assert row.fault_most is None and row.verdict != checks.MISSES


def test_drop_from_the_bank_adds_up_what_feeds_it(studied):
    parts = [studied.row(name).drop for name in ("Bank to positive bus", "DC panel feed", "Water pump")]
    assert studied.row("Water pump").share_total == pytest.approx(floats(sum(parts), "V") / 12.8)


def test_bank_of_two_has_its_fuse_against_the_other_one_alone():
    van = coach.read(next(path for path in DEMOS if "van" in path.stem))
    found = wiring.study(van).modules
    assert found.others < found.own == found.most


def test_same_words_in_file_and_topic():
    from coachwork import sections

    assert set(sections.AMPACITY_RULES) == set(wiring.AMPACITY_RULES)
    assert list(sections.DROPS) == wiring.drop_classes()


@pytest.mark.parametrize("name, column", [("drop_classes", "row status"), ("workmanship", "row status")])
def test_every_row_of_a_table_has_a_status(name, column):
    assert {row[column] for row in table(name).rows} <= set(STATUSES)


def test_kinds_of_this_topic_are_read():
    assert floats(KINDS["capacitance"].read("15 mF"), "F") == pytest.approx(0.015)
    assert floats(KINDS["let-through"].read("41000 A2 s"), "A**2*s") == 41000


@pytest.mark.parametrize("path", coach.demos(), ids=lambda path: path.stem)
def test_an_array_without_a_disconnect_that_breaks_it_is_a_miss(path):
    one = coach.read(path)
    asked = "Is there a disconnect for the array"
    assert misses(one, asked) == [] and [check.guards for check in wiring.checks(one) if asked in check.asked] == ["fire"]
    none = one.changed("wiring", array_switch=None)
    assert [check.guards for check in misses(none, asked)] == ["shock"]
    assert wiring.propose(none) == {"wiring": {"array_switch": "array disconnect 60 A, both poles"}}
    low = misses(one.changed("wiring", array_switch="battery switch 300 A"), asked)  # its 48 V are too few
    assert len(low) == 1 and "690.13" in low[0].source.text
    assert [lead.name for lead in wiring.array_leads(one.circuits)] == ["Array to controller"]
    bare = one.without("circuits", "Array to controller").without("circuits", "Controller to positive bus")
    assert [check for check in wiring.checks(bare) if asked in check.asked] == []


def test_the_fuse_of_a_module_guards_against_fire_and_says_what_more_would_do(trailer):
    (fuse,) = [check for check in wiring.checks(trailer) if "its fuse carry 125 %" in check.asked]
    assert fuse.guards == "fire"
    (feed,) = [check for check in wiring.checks(trailer) if check.asked.startswith("Inverter feed: does its conductor carry")]
    assert feed.why.startswith("With more than this, 4/0 AWG") and feed.why.endswith("would get too hot.")


def test_a_link_of_a_row_is_held_against_the_fuses_of_all_modules_behind_it(trailer):
    """Diagonal, three modules: one link carries two. 2 x 150 A on 3/0 of 310 A; 2 x 200 A is too much, but not on bus bars."""
    words = "Lead of each module: does its device protect"
    (link,) = [check for check in wiring.checks(trailer) if words in check.asked]
    assert (link.found, link.limit, link.verdict) == ("300 A", "310 A", checks.MEETS)
    larger = trailer.changed("capacity", module_fuse="200 A")
    assert misses(larger, words)[0].found == "400 A"
    assert misses(larger.changed("capacity", take_off="bus bars"), words) == []
    # whatever its own fuse is, the fuses at the take-off (main 150, brake 30, alarms 15, jack 40 A) let no more than 235 A through
    assert misses(larger.changed("circuits", "Bank to positive bus", fuse="150 A"), words) == []


def ripple_by_network(bank, amps, out):
    """A of ripple in each string that is left. Superposition: for the ripple every source of a steady voltage is a piece of wire."""
    strings = [capacity.Branch(Q(0, "V"), bank.module.resistance * bank.series, on=place not in out) for place in range(1, bank.parallel + 1)]
    elements = capacity.bank_elements(strings, bank.take_off, bank.lead)
    solved = network.solve([*elements, network.source("inverter", "plus", "minus", Q(1, "V"), Q(1, "mohm"))], ground="minus")
    into = [solved.amps[f"string {place}"] for place in range(1, bank.parallel + 1) if place not in out]
    return [amps * one / sum(into) for one in into]


@pytest.mark.parametrize("path", DEMOS, ids=lambda path: path.stem)
def test_the_fuse_of_a_module_carries_its_part_of_the_ripple_too(path):
    """The plan with one module out, by a network of its own for mean and for ripple; with all in it is less."""
    demo = coach.read(path)
    bank, lost = capacity.arrangement(demo), capacity.study(demo).losses[1]
    ripple = max(floats(one.ripple, "A") for one in demo.circuits if one.ripple is not None)
    part = max(max(ripple_by_network(bank, ripple, {out})) for out in range(1, bank.parallel + 1))
    row = wiring.study(demo).rows[0]
    assert floats(row.heating, "A") == pytest.approx(math.hypot(floats(lost.current, "A"), part), rel=1e-3)
    asked = [check for check in row.checks if "its fuse carry 125 %" in check.asked]
    assert asked[0].found == show(1.25 * row.heating) and asked[0].verdict == checks.MEETS
    smaller = max(one for one in wiring.family("class T fuse").ratings if one < row.fuse)
    assert misses(demo.changed("capacity", module_fuse=show(smaller)), "Lead of each module: does its fuse carry 125 %")
    still = demo
    for one in demo.circuits:
        if one.ripple is not None:
            still = still.changed("circuits", one.name, ripple=None)
    assert wiring.study(still).rows[0].heating == wiring.study(still).rows[0].current


@given(some.floats(1, 200), some.integers(2, 6), some.sampled_from(["bus bars", "diagonal", "one end"]), some.integers(0, 5))
@settings(max_examples=40, deadline=None)
def test_ripple_divides_as_the_mean_of_like_modules(amps, parallel, take_off, out):
    bank = dataclasses.replace(capacity.arrangement(coach.read(coach.main_demo())), parallel=parallel, take_off=take_off)
    gone = {out + 1} if out < parallel else set()
    shared = bank.share(0.2, bank_current=Q(150, "A"), out=tuple(gone))
    mean = [one for one in shared.currents if floats(one, "A")]
    ours = [floats(wiring.module_ripple(Q(amps, "A"), one, Q(150, "A")), "A") for one in mean]
    assert ours == pytest.approx(ripple_by_network(bank, amps, gone), rel=1e-6)
    assert sum(ours) == pytest.approx(amps)


def test_a_link_of_a_row_carries_all_that_the_bank_gives_while_the_first_module_is_out(trailer):
    """191 A in the mean and 100 A of ripple are 215 A of heat, 125 % of it 269 A: too much for 2/0, not for 3/0."""
    words = "Lead of each module: does its conductor carry"
    mean = 2 * floats(capacity.study(trailer).losses[1].current, "A")
    thin = trailer.changed("capacity", lead_size="2/0")
    (missed,) = misses(thin, words)
    assert missed.limit == show(Q(1.25 * math.hypot(mean, 100), "A")) == "269 A" and missed.found == "265 A"
    assert misses(trailer, words) == [] == misses(thin.changed("capacity", take_off="bus bars"), words)


def test_the_tables_of_ampacity_and_air_print_what_the_rules_print():
    four = next(row for row in wiring.ampacities() if row["AWG"] == "4")
    assert [floats(value, "A") for name, value in four.items() if name not in ("AWG", "largest device")] == [70, 85, 95, 125, 160]
    assert four["largest device"] is None and floats(wiring.ampacities()[0]["largest device"], "A") == 15
    factors = {row["what"]: list(row.values())[1:] for row in wiring.air_factors()}
    assert factors["wire: NEC, 90 °C"] == [1, 0.91, 0.82, 0.71]
    assert factors["class T fuse"][1] == pytest.approx(0.97) and "AC branch breaker" not in factors
