"""The inverter: closed forms, sums in time, a start by hand, the truth table, and coaches that must miss."""

import itertools
import math

import numpy
import pytest
from hypothesis import given, settings
from hypothesis import strategies as some

from coachwork import capacity, coach, energy, inverter, network, sections
from coachwork.quantities import InputError, Q, floats
from coachwork.sources import STATUSES, table

powers = some.floats(1, 10_000)
amps = some.floats(0.1, 200)
shares = some.floats(0, 1)
TURN = numpy.linspace(0, 2 * math.pi, 720, endpoint=False)


@pytest.fixture(scope="module")
def trailer():
    return coach.read(coach.main_demo())


# ------------------------------------------------------------------ single formulas


@given(powers, some.floats(0.1, 1))
def test_apparent_power_there_and_back(watts, factor):
    found = inverter.apparent_power(Q(watts, "W"), factor)
    assert floats(energy.power_from_apparent_power(found, factor), "W") == pytest.approx(watts)


@pytest.mark.parametrize("celsius, left", [(0, 1.0), (25, 1.0), (35, 0.9), (65, 0.6), (125, 0.0), (150, 0.0)])
def test_derating_is_a_straight_line_with_two_ends(celsius, left):
    found = inverter.derated_power(Q(2000, "W"), Q(1, "percent/K"), Q(celsius, "degC"), Q(25, "degC"))
    assert floats(found, "W") == pytest.approx(2000 * left, abs=1e-6)


@given(powers, some.floats(20, 80), some.floats(0.1, 1.5))
def test_heat_takes_the_same_share_of_watts_and_volt_amperes(watts, celsius, more):
    left = inverter.derated_power(Q(watts, "W"), Q(1, "percent/K"), Q(celsius, "degC"), Q(25, "degC"))
    found = inverter.derated_apparent_power(Q(more * watts, "VA"), left, Q(watts, "W"))
    assert floats(found, "VA") == pytest.approx(more * watts * (1 - max(0, celsius - 25) / 100))


@given(some.lists(shares, min_size=6, max_size=6))
def test_weighted_efficiency_lies_within_the_efficiencies(values):
    for weighted in (inverter.weighted_efficiency_eu, inverter.weighted_efficiency_cec):
        assert min(values) - 1e-9 <= weighted(values) <= max(values) + 1e-9


def test_weighted_efficiency_needs_six_loads():
    with pytest.raises(InputError, match="6, one for each load"):
        inverter.weighted_efficiency_eu([0.9, 0.9])


def test_tables_are_whole_and_grow():
    letters = table("nec_430_7_b")
    assert len(letters.rows) == 18 and letters.column("kva_per_hp") == sorted(letters.column("kva_per_hp"))
    motors = table("nec_430_248")
    for row in motors.rows:
        assert floats(row["at 115 V"] / row["at 230 V"], "") == pytest.approx(2, rel=0.01)


def test_code_letter_gives_about_three_to_five_times_the_running_amps():
    """Two tables beside each other: half a horsepower, letters that small motors carry."""
    running = inverter.motor_full_load_current("1/2")
    for letter in "GHJKL":
        start = inverter.locked_rotor_current(Q(0.5, "hp"), inverter.code_letter(letter), Q(115, "V"))
        assert 2.5 < floats(start / running, "") < 5


@given(powers, some.floats(1, 10), powers)
def test_a_start_replaces_the_running_power(watts, multiple, other):
    start = inverter.start_power(Q(watts, "W"), multiple)
    demand = inverter.surge_demand(Q(other, "W"), Q(watts, "W"), multiple)
    assert floats(demand, "W") == pytest.approx(other + watts * multiple)
    by_plate = inverter.start_power_from_current(Q(watts * multiple / 120, "A"), Q(120, "V"))
    assert floats(by_plate, "W") == pytest.approx(floats(start, "W"))


@given(amps, shares)
def test_ripple_by_summing_over_a_turn(mean, share):
    current = mean * (1 - share * numpy.cos(TURN))
    assert floats(inverter.rms_with_ripple(Q(mean, "A"), share), "A") == pytest.approx(math.sqrt((current**2).mean()))
    assert floats(inverter.ripple_current(Q(mean, "A"), share), "A") == pytest.approx(current.std(), abs=1e-9)


@given(amps, amps, some.floats(0, 360))
def test_neutral_by_summing_over_a_turn(one, other, degrees):
    neutral = one * numpy.cos(TURN) + other * numpy.cos(TURN + math.radians(degrees))
    found = floats(inverter.neutral_current(Q(one, "A"), Q(other, "A"), Q(degrees, "deg")), "A")
    assert found == pytest.approx(math.sqrt(2 * (neutral**2).mean()), rel=1e-6, abs=1e-5)


@given(powers, powers)
def test_open_neutral_by_the_network(one, other):
    """The two legs as resistances on 240 V: the solver knows nothing of the formula."""
    solved = network.solve([
        network.source("service", "A", "B", 240.0),
        network.resistor("loads of A", "A", "neutral", 120**2 / one),
        network.resistor("loads of B", "neutral", "B", 120**2 / other),
    ])  # fmt: skip
    found = inverter.open_neutral_voltage(Q(one, "W"), Q(other, "W"), Q(120, "V"))
    assert floats(found, "V") == pytest.approx(floats(solved.across("A", "neutral"), "V"))


def test_bad_input_is_refused_in_words():
    with pytest.raises(InputError, match="volt-amperes are not watts; multiply by the power factor"):
        inverter.apparent_power(Q(100, "VA"), 0.8)
    with pytest.raises(InputError, match="power factor"):
        inverter.apparent_power(Q(100, "W"), 0)
    with pytest.raises(InputError, match='one of A, B, C'):
        inverter.code_letter("I")
    with pytest.raises(InputError, match="horsepower"):
        inverter.motor_full_load_current("5")
    with pytest.raises(InputError, match='"at 115 V"|at 115 V'):
        inverter.motor_full_load_current("1/2", "at 440 V")
    with pytest.raises(InputError, match='bond: "sometimes" is not known'):
        inverter.transfer_states("sometimes")


# ------------------------------------------------------------------ the day


def test_the_day_by_hand(trailer):
    """12:30: the microwave oven and two camera chargers; nothing else that is on the AC side."""
    day = inverter.ac_day(trailer, "summer")
    at = int(12.5 * 12)
    assert day.watts[at] == pytest.approx(1450 + 2 * 30)
    assert day.worst[at] == pytest.approx(1450 / 0.95 + 60 / 0.6)
    assert day.surge[at] == pytest.approx(2 * 1450 / 0.95 + 60 / 0.6)
    assert day.peak_step == at and set(day.running(at)) == {"Microwave oven", "Spotting-camera chargers"}
    assert day.worst[int(3 * 12)] == 0  # the inverter is off


@pytest.mark.parametrize("path", coach.demos(), ids=lambda path: path.stem)
def test_the_worst_case_is_never_below_the_mean(path):
    described = coach.read(path)
    for season in described.seasons:
        day = inverter.ac_day(described, season.name)
        standby = sum(floats(one.standby, "W") * one.count for one in described.loads if one.side == "ac" and one.standby)
        assert (day.watts + standby >= day.mean - 1e-9).all()
        assert (day.surge >= day.worst - 1e-9).all() and (day.worst >= day.watts - 1e-9).all()


def test_start_of_one_of_two():
    load = sections.Load(name="Pump", side="ac", power="200 W", count=2, hours="1 h", start_multiple=5)
    assert floats(inverter.start_apparent_power(load), "VA") == pytest.approx(200 * 5 + 200)
    by_plate = sections.Load(name="Pump", side="ac", power="200 W", count=2, hours="1 h", start_current="10 A")
    assert floats(inverter.start_apparent_power(by_plate), "VA") == pytest.approx(1200 + 200)
    soft = sections.Load(name="Lamp", side="ac", power="200 W", hours="1 h")
    assert floats(inverter.start_apparent_power(soft), "VA") == 200
    weak = sections.Load(name="Lamp", side="ac", power="200 W", hours="1 h", start_current="1 A")
    assert floats(inverter.start_apparent_power(weak), "VA") == 200, "a start is never less than running"


def test_hardest_start_is_that_of_the_whole_year(trailer):
    first = inverter.starts(trailer)[0]
    most = max(float(inverter.ac_day(trailer, season.name).surge.max()) for season in trailer.seasons)
    assert first.name == "Microwave oven" and first.demand.magnitude == pytest.approx(most)


# ------------------------------------------------------------------ bank, cable, inverter


@settings(max_examples=40)
@given(some.floats(10, 2500), some.floats(0.2, 4), some.floats(0.05, 1))
def test_a_step_by_the_quadratic(watts, milliohms, level):
    """One string behind its resistance and the cable: V = (E + sqrt(E^2 - 4 R P)) / 2."""
    module = capacity.modules_on_offer()[0]
    bank = capacity.Arrangement(module, capacity.series_for(module, Q(12.8, "V")) or 1, 1)
    curve = energy.inverter_loss(Q(14, "W"), [energy.EfficiencyPoint(Q(p, "W"), e) for p, e in ((200, 0.9), (800, 0.925), (2000, 0.88))])
    branch = bank.branches(level)[0]
    emf = floats(branch.voltage, "V")
    resistance = floats(branch.internal_resistance, "ohm") + 2 * floats(bank.lead, "ohm") + milliohms / 1000
    drawn = floats(inverter.dc_power(curve, Q(watts, "W")), "W")
    square = emf**2 - 4 * resistance * drawn
    if square < 0.01 * emf**2:
        return
    found = inverter.step(bank, Q(milliohms, "mohm"), curve, Q(watts, "W"), level)
    assert floats(found.inverter, "V") == pytest.approx((emf + math.sqrt(square)) / 2, rel=1e-6)
    assert found.rest >= found.bank >= found.inverter
    assert floats(found.current * found.inverter, "W") == pytest.approx(drawn, rel=1e-6)


def test_dc_power_is_power_over_efficiency():
    points = [energy.EfficiencyPoint(Q(p, "W"), e) for p, e in ((300, 0.9), (1200, 0.92), (3000, 0.88))]
    curve = energy.inverter_loss(Q(20, "W"), points)
    for watts in (50, 900, 3000):
        by_efficiency = energy.inverter_input_power(Q(watts, "W"), curve.efficiency(Q(watts, "W")))
        assert floats(inverter.dc_power(curve, Q(watts, "W")), "W") == pytest.approx(floats(by_efficiency, "W"))
    assert floats(inverter.dc_power(curve, Q(0, "W")), "W") == 20


def test_a_start_that_the_bank_cannot_carry_says_so(trailer):
    hard = trailer.changed("loads", "Microwave oven", start_multiple=20)
    thin = hard.changed("circuits", "Inverter feed", length="60 ft", size="6 AWG")
    found = inverter.study(thin)
    assert found.steps["starting"] is None and "can bring no more than" in found.refusal
    misses = [check.asked for check in inverter.checks(thin) if check.verdict == "misses"]
    assert any("does the bank bring the power" in asked for asked in misses)


def test_cable_by_hand(trailer):
    """3 ft of two 3/0 and 4 ft of one 4/0, both ways and warm, twelve lugs, two fuses."""
    from coachwork import conductor

    warm = Q(75, "degC")
    bus = 2 * Q(3, "ft") * conductor.resistance_per_length("3/0", warm) / 2 + 4 * Q(0.1, "mohm") / 2 + Q(0.1, "V") / Q(400, "A")
    feed = 2 * Q(4, "ft") * conductor.resistance_per_length("4/0", warm) + 4 * Q(0.1, "mohm") + Q(0.1, "V") / Q(350, "A")
    assert floats(inverter.cable(trailer, Q(177, "A")), "mohm") == pytest.approx(floats(bus + feed, "mohm"))


def test_a_cable_not_chosen_yet_is_taken_to_lose_three_percent(trailer):
    open_ = trailer.changed("circuits", "Inverter feed", size=None)
    assert floats(inverter.cable(open_, Q(200, "A")), "mohm") == pytest.approx(0.03 * 12.8 / 200 * 1000)


# ------------------------------------------------------------------ the truth table


def test_right_in_every_state_only_one_way():
    """Of all ways to build it, these alone have one bond in every state."""
    right = {
        built for built in itertools.product(sections.INVERTER_BONDS, sections.PANEL_BONDS, sections.GENERATOR_BONDS,
                                             sections.NEUTRALS)
        if all(state.right for state in inverter.transfer_states(*built))
    }  # fmt: skip
    assert right == {("while it inverts", "none", "bonded", "switched")}


@pytest.mark.parametrize("built, state, bonds", [
    (dict(bond="while it inverts"), "shore", ("site",)),
    (dict(bond="while it inverts"), "inverter, cord out", ("inverter",)),
    (dict(bond="always"), "shore", ("site", "inverter")),
    (dict(bond="never"), "inverter, cord out", ()),
    (dict(bond="while it inverts", neutral="through"), "inverter, cord in", ("site", "inverter")),
    (dict(bond="while it inverts", panel_bond="bonded"), "shore", ("site", "panel")),
    (dict(bond="while it inverts", generator_bond="floating"), "generator", ()),
    (dict(bond="while it inverts", generator_bond="bonded"), "generator", ("generator",)),
    (dict(bond="never", neutral="through"), "inverter, cord in", ("site",)),  # one bond, but the site is dead
    (dict(bond="never", panel_bond="bonded"), "inverter, cord out", ("panel",)),
    (dict(bond="always", generator_bond="floating"), "generator", ("inverter",)),
])  # fmt: skip
def test_bonds(built, state, bonds):
    row = next(one for one in inverter.transfer_states(**built) if one.name == state)
    assert row.bonds == bonds and row.right == (bonds == (row.wanted,))


def test_only_one_source_feeds_and_no_charger_runs_in_a_circle():
    for row in inverter.transfer_states("while it inverts", generator_bond="bonded"):
        assert row.inverter_circuits in ("shore", "generator", "inverter", "nothing")
        assert (row.shore_circuits == "nothing") == row.name.startswith(("inverter", "nothing"))
        assert not row.loop
    behind = inverter.transfer_states("while it inverts", charger_feed="behind")
    assert [row.name for row in behind if row.loop] == ["inverter, cord out", "inverter, cord in"]
    assert len(behind) == 4, "no generator, no row for it"


# ------------------------------------------------------------------ sharing an inlet

some_amps = some.dictionaries(some.sampled_from("abcdefgh"), some.floats(0.1, 15), max_size=6)


@given(some_amps, some.floats(1, 60), some.sampled_from([1, 2]))
def test_the_largest_share_fits_and_a_larger_one_does_not(loads, limit, legs):
    shed = tuple(sorted(loads))
    most = inverter.largest_charger_share(loads, shed, Q(limit, "A"), legs)
    with_it = inverter.share_inlet("shore", loads, shed, most, Q(limit, "A"), legs)
    assert with_it.fits
    more = inverter.share_inlet("shore", loads, (), most * 1.01 + Q(0.01, "A"), Q(limit, "A"), legs)
    assert not (more.fits and not with_it.off and legs == 1)
    kept = [name for leg in with_it.legs for name in leg]
    assert sorted([*kept, *with_it.off]) == sorted([*loads, "charger"])
    assert with_it.off == shed[: len(with_it.off)], "in the order asked for"


def test_fifty_amps_are_two_legs_not_one_sum():
    loads = {"air conditioner": 13.0, "water heater": 12.0, "microwave": 12.0}
    found = inverter.share_inlet("shore", loads, (), Q(10, "A"), Q(40, "A"), 2)
    assert sorted(round(sum(leg.values())) for leg in found.legs) == [23, 24]
    assert floats(found.total, "A") == pytest.approx(24)


def test_what_cannot_be_shed_is_said():
    found = inverter.share_inlet("shore", {"heater": 20.0}, (), Q(0, "A"), Q(12, "A"))
    assert not found.fits and found.off == ()


# ------------------------------------------------------------------ the three doors


@pytest.mark.parametrize("path", coach.demos(), ids=lambda path: path.stem)
def test_demo_coaches_are_sound_and_decided(path):
    described = coach.read(path)
    assert inverter.propose(described) == {}
    found = inverter.checks(described)
    assert not [str(check) for check in found if check.verdict == "misses"]
    assert all(check.source.status in STATUSES and check.topic == "inverter" for check in found)
    bonds = [check for check in found if "neutral and ground" in check.asked]
    assert len(bonds) >= 3 and all(check.guards == "shock" for check in bonds)


@pytest.mark.parametrize("change, asked", [
    (dict(bond="always"), "shore: are neutral and ground joined once"),
    (dict(bond="never"), "inverter, cord out: are neutral and ground"),
    (dict(panel_bond="bonded"), "shore: are neutral and ground"),
    (dict(generator_bond="floating"), "generator: are neutral and ground"),
    (dict(neutral="through"), "inverter, cord in: are neutral and ground"),
    (dict(charger_feed="behind"), "out of the inverter's reach"),
    (dict(neutral_bar="shared"), "their own neutral bar"),
    (dict(legs="both legs joined", shared_neutrals=1), "sum of two legs"),
    (dict(pedestal="15 A", shed=["Water heater element"]), "pedestal's breaker"),
    (dict(charger_input="20 A", shed=["Microwave oven"]), "pedestal's breaker"),
    (dict(compartment="140 degF"), "warm compartment"),
    (dict(surge_power="3000 W"), "inverter's surge hold"),
    (dict(highest_current="200 A"), "within the inverter's data sheet"),
    (dict(cut_off="12.5 V"), "cut-off stay away"),
    (dict(apparent_power="1500 VA"), "in volt-amperes"),
])  # fmt: skip
def test_an_unsound_choice_misses(trailer, change, asked):
    misses = [check.asked for check in inverter.checks(trailer.changed("inverter", **change)) if check.verdict == "misses"]
    assert any(asked in one for one in misses), misses


def test_volt_amperes_are_derated_in_the_heat_as_watts_are(trailer):
    """1626 VA are planned; 1800 VA at 77 °F are 1530 VA at 104 °F."""
    def verdicts(**change):
        return [one.verdict for one in inverter.checks(trailer.changed("inverter", **change)) if "volt-amperes" in one.asked]

    assert verdicts(apparent_power="1800 VA", compartment="77 degF") == ["meets"]
    assert verdicts(apparent_power="1800 VA") == ["misses"]


def test_a_start_longer_than_the_surge_misses(trailer):
    slow = trailer.changed("loads", "Microwave oven", start_time="7 s")
    assert ["misses"] == [check.verdict for check in inverter.checks(slow) if "before the surge ends" in check.asked]


def test_a_feed_planned_for_less_misses(trailer):
    for change, words in ((dict(current="150 A"), "inverter's current"), (dict(ripple="20 A"), "inverter's ripple")):
        found = inverter.checks(trailer.changed("circuits", "Inverter feed", **change))
        assert any(words in check.asked and check.guards == "fire" for check in found if check.verdict == "misses")


def test_a_coach_that_says_little_gets_proposals_and_they_are_sound(trailer):
    bare = trailer.changed("", inverter=None)
    proposed = inverter.propose(bare)
    assert floats(proposed["rated_power"], "W") == 2000, "the smallest that carries oven and heat"
    plan, _ = inverter.planned(bare)
    found = inverter.checks(bare.model_copy(update={"inverter": plan}))
    assert not [str(check) for check in found if check.verdict == "misses" and "feed" not in check.asked.casefold()]
    assert inverter.study(bare).assumed


def test_a_coach_without_alternating_current():
    plain = coach.parse('format = 1\nname = "Plain"\n[[seasons]]\nname = "all year"\nnight = "20:00-06:00"\n')
    assert inverter.study(plain) is None and inverter.checks(plain) == [] and inverter.circuits(plain) == {}
    assert inverter.propose(plain) == {}


@pytest.mark.parametrize("path", coach.demos(), ids=lambda path: path.stem)
def test_the_wire_schedule_carries_what_the_inverter_asks(path):
    described = coach.read(path)
    there = {one.name: one for one in described.circuits}
    asked = inverter.circuits(described.model_copy(update={"circuits": ()}))
    assert set(asked) <= set(there)
    for name, row in asked.items():
        for key in {"current", "ripple", "surge"} & row.keys():
            assert getattr(there[name], key) >= row[key], (name, key)


def test_circuits_keep_what_stands_and_raise_what_is_too_small(trailer):
    low = trailer.changed("circuits", "Inverter feed", current="90 A", length="7 ft", surge="900 A")
    row = inverter.circuits(low)["Inverter feed"]
    assert (floats(row["current"], "A"), floats(row["surge"], "A"), floats(row["length"], "ft")) == (235, 900, 7)
    for name, row in inverter.circuits(low).items():
        low = low.changed("circuits", name, **row)
    assert not [check.asked for check in inverter.checks(low) if check.verdict == "misses"]


def test_proposals_can_be_written(trailer):
    bare = trailer.changed("", inverter=None)
    written = bare.changed("inverter", **inverter.propose(bare))
    assert inverter.propose(written) == {}
    assert coach.parse(coach._file_bytes(written, b"").decode()).inverter == written.inverter
