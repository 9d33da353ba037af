"""Commissioning: the meter on both boards, every fault found, and sheets that agree with the coach file."""

import random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as some

from coachwork import checks, coach, commissioning, inverter, network
from coachwork.quantities import InputError, Q, floats, show

READ = [coach.read(path) for path in coach.demos()]
TRAILER = READ[0]
BOARDS = [commissioning.mains_board(), *map(commissioning.low_voltage_board, READ)]
EVERY = [pytest.param(board, fault, id=f"{place} {fault.kind}, {fault.place}")
         for place, board in enumerate(BOARDS) for fault in commissioning.faults(board)]  # fmt: skip


def fault_of(board, kind):
    return next(one for one in commissioning.faults(board) if one.kind == kind)


def value(board, state, instrument, at, kind=None):
    return commissioning.read(board, board.states[state], instrument, at, kind
                              and fault_of(board, kind)).value


# ------------------------------------------------------------------------------- faults


@pytest.mark.parametrize("board", BOARDS[1:])
def test_there_are_twelve_kinds_and_more_for_every_coach(board):
    assert len({one.kind for one in commissioning.faults(board)}) >= 12
    assert len({one.kind for one in commissioning.faults(BOARDS[0])}) == 7


@pytest.mark.parametrize("board", BOARDS)
def test_no_two_faults_have_the_same_readings_and_none_looks_sound(board):
    known = commissioning.predictions(board)
    same = known.alike.all(axis=2)  # no measurement tells the two apart
    assert [(one.kind, other.kind) for place, one in enumerate(known.faults)
            for also, other in enumerate(known.faults[:place]) if same[place, also]] == []  # fmt: skip
    assert (abs(known.values - known.sound) > known.room).any(axis=1).all()


@pytest.mark.parametrize("complaint_known", [True, False])
@pytest.mark.parametrize("board, fault", EVERY)
def test_bisecting_finds_every_fault(board, fault, complaint_known):
    steps = commissioning.line_of_reasoning(board, fault, complaint_known)
    assert steps[-1].left == (f"{fault.kind}: {fault.place}",)
    assert [len(one.left) for one in steps] == sorted({len(one.left) for one in steps}, reverse=True)


@pytest.mark.parametrize("board, fault", EVERY)
def test_the_meter_itself_confirms_each_step(board, fault):
    """The line of reasoning leaves burden and resolution out; what the meter shows must still say the
    same."""
    for step in commissioning.line_of_reasoning(board, fault):
        one = step.measurement
        shown = commissioning.read(board, board.states[one.state], one.instrument, one.at, fault).value
        assert shown == pytest.approx(step.shows, rel=0.01, abs=0.1 if one.instrument != commissioning.VOLTS
                                      else 0.004)


def test_a_fault_changes_only_its_own_elements():
    for board, fault in [param.values for param in EVERY]:
        state = next(iter(board.states.values()))
        before, after = board.circuit(state), board.circuit(state, fault)
        changed = {one.name for one, other in zip(before, after) if one != other}
        assert changed <= set(fault.changes) | set(board.follows)


@pytest.mark.parametrize("board, fault", random.Random(11).sample(EVERY, 12))
def test_what_a_learners_readings_leave_is_what_the_line_of_reasoning_leaves(board, fault):
    steps = commissioning.line_of_reasoning(board, fault)
    left = commissioning.suspects_left(board, fault, [one.measurement for one in steps])
    assert [f"{one.kind}: {one.place}" for one in left[-1]] == list(steps[-1].left)
    assert all(fault in one for one in left) and [len(one) for one in left] == sorted(map(len, left),
        reverse=True)


def test_ac_volts_on_the_12_v_side_rule_nobody_out():
    board, fault = BOARDS[1], fault_of(BOARDS[1], "blown branch fuse")
    wrong = commissioning.Measurement("panel loads", commissioning.OTHER_VOLTS, ("DC panel +", "Furnace +"))
    suspects = [one for one in commissioning.faults(board) if one.complaint == fault.complaint]
    assert [len(one) for one in commissioning.suspects_left(board, fault, [wrong])] == [len(suspects)]


# ------------------------------------------------------------------------------- the meter


def test_a_voltmeter_across_an_open_fuse_reads_the_bank_and_a_sound_one_next_to_nothing():
    board = BOARDS[1]
    name = fault_of(board, "blown branch fuse").place
    at = ("DC panel +", f"{name}, after its fuse")
    bank = value(board, "panel loads", commissioning.VOLTS, ("plus", "minus"), "blown branch fuse")
    across = value(board, "panel loads", commissioning.VOLTS, at, "blown branch fuse")
    assert across == pytest.approx(bank, abs=0.15)
    assert value(board, "panel loads", commissioning.VOLTS, at) < 0.1


def test_across_the_open_fuse_of_a_module_there_is_not_the_bank_but_what_the_others_sag():
    board = BOARDS[1]
    at = ("module 1 after its fuse", "module 1 +")
    assert abs(value(board, "at rest", commissioning.VOLTS, at, "blown module fuse")) < 0.01
    assert 0.02 < abs(value(board, "heavy load", commissioning.VOLTS, at, "blown module fuse")) < 1


def test_ohms_on_a_live_circuit_are_false_and_bring_the_caution():
    board = BOARDS[1]
    live = commissioning.read(board, board.states["heavy load"], commissioning.OHMS, ("plus", "minus"))
    assert live.caution == "live work" and live.value > 1e4
    across = commissioning.read(board, board.states["heavy load"], commissioning.OHMS,
                                ("inverter +", "inverter −"))
    assert across.caution == "live work"
    dead = commissioning.read(BOARDS[0], BOARDS[0].states["dead"], commissioning.OHMS,
                              ("outlet hot", "outlet neutral"))
    assert dead.caution == "" and dead.value == pytest.approx(160 / 1.0,
                                                              rel=0.7)  # lights of both legs in between


def test_amps_across_the_bank_blow_the_fuse_of_the_meter():
    found = commissioning.read(BOARDS[1], BOARDS[1].states["at rest"], commissioning.AMPS, ("plus", "minus"))
    assert "blew" in found.text and found.caution == "meter" and found.value is None


def test_the_wrong_kind_of_volts_reads_nothing():
    assert value(BOARDS[1], "heavy load", commissioning.OTHER_VOLTS, ("plus", "minus")) == 0


def test_without_load_a_bad_lug_does_not_show():
    board, fault = BOARDS[1], fault_of(BOARDS[1], "bad lug")
    at = next((one.start, one.end) for one in board.elements if one.name in fault.changes)
    rest = commissioning.read(board, board.states["at rest"], commissioning.VOLTS, at, fault).value
    load = commissioning.read(board, board.states["heavy load"], commissioning.VOLTS, at, fault).value
    assert abs(rest) < 0.002 < 0.5 < abs(load)


def test_a_charger_is_read_as_a_battery_where_only_the_bus_is_measured():
    board = BOARDS[1]
    volts = value(board, "sun, main switch open", commissioning.VOLTS,
                  ("positive bus", "negative bus"))  # no bank there
    assert volts > 13.5


@pytest.mark.parametrize("at, words", [(("plus", "plus"), "two different points"),
                                       (("plus", "minos"), "no point")])
def test_probes_in_no_sensible_place_are_refused(at, words):
    with pytest.raises(InputError, match=words):
        commissioning.read(BOARDS[1], frozenset(), commissioning.VOLTS, at)


@pytest.mark.parametrize("instrument, at", [("thermometer", ()), (commissioning.CLAMP, ("nose",))])
def test_an_unknown_instrument_or_clamp_place_is_refused(instrument, at):
    with pytest.raises(InputError, match="one of"):
        commissioning.read(BOARDS[1], frozenset(), instrument, at)


@given(some.floats(-1000, 1000))
def test_a_display_is_within_half_of_its_last_step(number):
    shown = commissioning.displayed(number, "V", 1e-4)
    assert abs(shown - number) <= max(0.5e-4, abs(number) / 600 * 0.51)


@pytest.mark.parametrize("board", BOARDS[1:])
def test_the_monitor_shows_minus_while_the_bank_gives_unless_it_is_turned(board):
    plus = value(board, "heavy load", commissioning.CLAMP, ("bank's plus cable",))
    assert plus > 20
    assert value(board, "heavy load", commissioning.MONITOR, ()) == pytest.approx(-plus, abs=0.1)
    assert value(board, "sun and engine", commissioning.MONITOR, ()) > 0
    assert value(board, "heavy load", commissioning.MONITOR, (),
                 "current sensor reversed") == pytest.approx(plus, abs=0.1)  # fmt: skip


# ------------------------------------------------------------------------------- the network under it


@pytest.mark.parametrize("board, fault", random.Random(7).sample(EVERY, 12))
def test_kirchhoff_holds_and_power_balances(board, fault):
    for state in board.states.values():
        solved = network.solve(board.circuit(state, fault), commissioning.GROUND[board.name])
        into = dict.fromkeys(solved.volts, 0.0)
        for one in solved.elements:
            amps = solved.amps[one.name] * (-1 if one.emf is not None else 1)
            into[one.start] -= amps
            into[one.end] += amps
        assert max(map(abs, into.values())) < 1e-5
        parts = solved.balance
        assert floats(parts.given, "W") == pytest.approx(floats(parts.stored + parts.heat + parts.used, "W"),
                                                         rel=1e-6, abs=1e-3)


def test_an_open_neutral_shares_240_volts_as_two_resistances_in_series_do():
    board = BOARDS[0]
    solved = board.solve(board.states["shore, microwave"], fault_of(board, "open neutral"))
    leg = {1: 1 / 240 + 1 / 10.46, 2: 1 / 120}  # lights; charger; the microwave behind its 0.16 ohm
    expected = inverter.open_neutral_voltage(Q(leg[1], "W"), Q(leg[2], "W"), Q(120, "V"))
    assert solved.volts["panel, leg 1"] - solved.volts["panel neutral"] == pytest.approx(floats(expected,
        "V"), rel=0.02)


def test_an_open_ground_lends_the_skin_half_of_the_line():
    skin = value(BOARDS[0], "shore, little on", commissioning.VOLTS, ("skin", "earth"), "open ground")
    assert skin == pytest.approx(floats(commissioning.skin_voltage(Q(120, "V"), Q(100, "kohm"),
        Q(100, "kohm")), "V"), rel=0.02)


def test_a_second_bond_sends_half_of_the_neutral_current_through_the_ground():
    board = BOARDS[0]
    neutral = value(board, "shore, microwave", commissioning.CLAMP, ("cord, neutral",), "second neutral bond")
    ground = value(board, "shore, microwave", commissioning.CLAMP, ("cord, ground",), "second neutral bond")
    assert neutral == pytest.approx(ground, rel=0.35) and ground > 3
    assert value(board, "shore, microwave", commissioning.CLAMP, ("cord, ground",)) < 0.01


def test_current_of_modules_on_the_board_is_that_of_the_bank():
    from coachwork import capacity

    board = BOARDS[1]
    solved = board.solve(board.states["heavy load"])
    amps = [solved.amps[f"module {place}, module fuse"] for place in (1, 2, 3)]
    shared = capacity.arrangement(TRAILER).share(0.8, bank_current=Q(sum(amps), "A")).currents
    assert amps == pytest.approx([floats(one, "A") for one in shared],
                                 rel=0.06)  # fuses and switches even it out


# ------------------------------------------------------------------------------- formulas


@given(some.floats(0.1, 30), some.floats(0, 1), some.floats(0.1, 100), some.floats(0.1, 100))
@settings(max_examples=50)
def test_resistance_from_two_loads_there_and_back(emf, ohms, light, more):
    heavy = light + more
    volts = [max(emf + 101 * 2 - amps * ohms, 0) for amps in (light, heavy)]
    found = commissioning.resistance_from_two_loads(Q(volts[0], "V"), Q(light, "A"), Q(volts[1], "V"),
                                                    Q(heavy, "A"))
    assert floats(found, "ohm") == pytest.approx(ohms, abs=1e-9)


@given(some.floats(0, 40), some.floats(0, 1e6))
def test_a_meter_never_shows_more_than_there_is(volts, ohms):
    shown = commissioning.voltmeter_reading(Q(volts, "V"), Q(ohms, "ohm"), commissioning.BURDEN)
    assert 0 <= floats(shown, "V") <= volts * (1 + 1e-12)  # the last bit may round up


@pytest.mark.parametrize("against", ["over like", "over air"])
def test_a_warmer_joint_is_never_judged_milder(against):
    order = ["sound", "possible deficiency", "probable deficiency", "major deficiency"]
    found = [order.index(commissioning.heat_verdict(Q(rise, "K"), against)) for rise in range(0, 60)]
    assert found == sorted(found) and found[0] == 0 and found[-1] == 3


# ------------------------------------------------------------------------------- a coach


@pytest.mark.parametrize("mine", READ, ids=lambda one: one.name)
def test_every_coach_gets_its_sheets(mine):
    found = commissioning.study(mine)
    assert len(found.expected) >= 5 and len(found.worksheets) == 8
    for one in found.settings:
        assert all([one.device, one.what, one.value, one.reason, one.limit])
    for page in found.worksheets:
        assert page.lines and page.before and page.pass_rule
    assert {page.who for page in found.worksheets} == {commissioning.LEARNER, commissioning.LICENSED}
    array = next(place for place, step in enumerate(found.shut_down) if "Array" in step)
    main = next(place for place, step in enumerate(found.shut_down) if "Main switch open" in step)
    assert array < main < len(found.shut_down) - 1


def place_of(words, steps):
    found = [place for place, step in enumerate(steps) if words in step]
    assert len(found) == 1, (words, steps)
    return found[0]


@pytest.mark.parametrize("mine", READ, ids=lambda one: one.name)
def test_nobody_is_sent_to_measure_120_volts_and_the_dead_alarms_are_named_first(mine):
    steps = commissioning.shut_down_order(mine)
    assert "own switch" in steps[1] and not any("read 0 V" in step for step in steps[:3])
    assert place_of("lamp plugged into an outlet", steps) == place_of("cord out", steps)
    assert "gas alarms" in steps[0] and ("breakaway brake" in steps[0]) == (mine is TRAILER)
    modules = place_of("Each module's".lower(), [step.lower() for step in steps])
    assert steps[modules].startswith("Only for work on the bank")
    assert place_of("Main switch open", steps) < modules < place_of("Wait as the maker", steps) < place_of(
        "Prove dead", steps)
    assert "Alarm feed" in steps[place_of("Main switch open", steps)]


@pytest.mark.parametrize("mine", READ, ids=lambda one: one.name)
def test_the_array_comes_back_after_the_bank_and_the_bank_through_a_resistor(mine):
    steps = commissioning.switch_on_order(mine)
    order = [place_of(words, steps) for words in ("0.05 V", "resistor", "Main switch", "Array", "Shore cord",
                                                  "Inverter on")]  # fmt: skip
    assert order == sorted(order)
    shut = next(page for page in commissioning.worksheets(mine) if page.title.startswith("Shut-down"))
    assert all(step in shut.pass_rule for step in steps)


def card_lines(mine):
    return [line for _, lines in commissioning.emergency_card(mine).parts for line in lines]


def without(mine, *purposes):
    for one in [one.name for one in mine.circuits if one.purpose in purposes]:
        mine = mine.without("circuits", one)
    return mine


def test_the_card_has_only_what_the_coach_has():
    trailer, motorhome = "\n".join(card_lines(TRAILER)), "\n".join(card_lines(READ[1]))
    assert "leave the modules' switches closed while it is towed" in trailer and "own battery" not in trailer
    assert "Tow vehicle's engine off" in trailer and "tow connector" in trailer
    assert "brake" not in motorhome and "tow connector" not in motorhome and "Tow vehicle" not in motorhome
    assert "stay on with the main switch off" in trailer and "propane" in trailer
    bare = without(TRAILER, *commissioning.ALARMS, commissioning.BRAKE, "tow charge line")
    bare = "\n".join(card_lines(bare))
    assert not any(word in bare for word in ("propane", "brake", "Gas alarms", "tow connector"))


def test_alarms_behind_the_main_switch_are_called_silent_with_it():
    rows = [one.model_dump(by_alias=True) | ({"from": "DC panel"} if one.name == "Alarm feed" else {})
            for one in TRAILER.circuits]  # fmt: skip
    behind = TRAILER.model_copy(update={"circuits": tuple(type(TRAILER.circuits[0]).model_construct(
        **{("from_" if key == "from" else key): value for key, value in row.items()}) for row in rows)})
    assert any("silent with the main switch off" in line for line in card_lines(behind))
    steps = commissioning.shut_down_order(behind)
    assert "gas alarms" in steps[place_of("Main switch open", steps)] and "gas alarms" not in steps[0]


@pytest.mark.parametrize("mine", READ, ids=lambda one: one.name)
def test_settings_stand_apart_from_their_limits(mine):
    rows = commissioning.settings_sheet(mine)
    ends = [floats(Q(*parts), "A") for parts in ((float(one.value.split()[0]), one.value.split()[1])
            for one in rows if one.what == "absorption ends at")]  # fmt: skip
    tail = next(one.value for one in rows if one.what == "and current below")
    assert float(tail.split()[0]) >= 1.19 * max(ends)
    cold = [one for one in rows if one.what == "no charge below"]
    assert {one.value for one in cold} == {"34 °F"} and all("above 32 °F" in one.limit for one in cold)


def test_a_dcdc_charger_on_a_tow_line_names_the_line_as_its_bound():
    row = next(one for one in commissioning.settings_sheet(TRAILER)
               if one.device.startswith("DC-DC") and one.what == "charge current")
    assert row.value == "9 A" and "11.8 A of the 12 A" in row.reason and "tow charge line" in row.reason


@pytest.mark.parametrize("mine", READ, ids=lambda one: one.name)
def test_the_capacity_test_ends_before_the_modules_go_dark(mine):
    page = next(page for page in commissioning.worksheets(mine) if page.title == "Capacity")
    assert any("until 11 V" in line for line in page.before) and any("alarms" in line for line in page.before)
    working = mine.capacity.parallel - (mine.capacity.reserve or 0)
    assert any(f"{48 * working} A in all" in line for line in page.before)
    assert not any("after the factor" in line.passes for line in page.lines)


@pytest.mark.parametrize("mine", READ, ids=lambda one: one.name)
def test_the_charging_page_keeps_hands_off_the_120_volt_side(mine):
    page = next(page for page in commissioning.worksheets(mine) if page.title.startswith("Charging"))
    assert {"120 V", "solar strings"} <= set(page.cautions)
    assert sum("120 V cover shut" in line.where for line in page.lines) == 1


def test_the_drop_page_works_out_the_limit_at_another_current():
    page = commissioning.worksheets(TRAILER)[0]
    factor, step = map(float, page.before[-1].partition("1000 x ")[2].rstrip(".").split(" + "))
    for one, line in zip(commissioning.acceptance(TRAILER), page.lines):
        amps, mohm = floats(one.current, "A"), float(line.predicted.split(", ")[1].split()[0])
        assert "____ A: ____ V" in line.passes and line.predicted.endswith("mΩ")
        assert amps * mohm / 1000 * factor + step == pytest.approx(floats(one.limit, "V"), rel=6e-3)


@pytest.mark.parametrize("mine", READ, ids=lambda one: one.name)
def test_the_shunt_and_the_monitor_are_held_against_the_load(mine):
    page = next(page for page in commissioning.worksheets(mine) if page.title == "Current of each module")
    amps, volts = page.lines[-1].predicted.split(" and ")
    (shunt,) = [one.value for one in commissioning.settings_sheet(mine) if one.what == "shunt"]
    rating = float(shunt.split()[0].replace(",", ""))
    assert amps == "−100 A" and float(volts.split()[0]) == pytest.approx(50 * 100 / rating) and "mV" in volts
    assert len(page.lines) == mine.capacity.parallel + 1


def test_cautions_of_the_worksheets_are_there():
    from coachwork.page.cautions import cautions

    for page in commissioning.worksheets(TRAILER):
        assert set(page.cautions) <= set(cautions())
        assert all("commissioning" in cautions()[name].topics for name in page.cautions)


def test_a_measured_drop_is_held_against_the_prediction():
    feed = next(one for one in commissioning.acceptance(TRAILER) if one.name == "Inverter feed")
    amps, drop = Q(120, "A"), 120 * floats(feed.resistance, "ohm")
    for factor, verdict in ((1.1, checks.MEETS), (1.5, checks.MISSES)):
        row = [{"name": "Inverter feed", "current": "120 A", "drop": f"{factor * drop} V"}]
        held = [one for one in commissioning.checks(TRAILER.changed("commissioning", measured=row))
                if "Inverter feed" in one.asked]
        assert [one.verdict for one in held] == [verdict]
    mine = TRAILER.changed("commissioning", measured=[{"name": "Inverter feed", "current": str(amps.m) + " A",
                                                       "drop": f"{drop + 0.0156} V"}])
    found = next(one for one in commissioning.acceptance(mine) if one.name == "Inverter feed")
    assert floats(found.found - feed.resistance, "mohm") == pytest.approx(0.13, rel=1e-3)


def test_a_draw_that_empties_the_bank_is_a_miss():
    mine = TRAILER.changed("commissioning", standing="3 A")
    assert [one.verdict for one in commissioning.checks(mine)
            if "standing draw" in one.asked] == [checks.MISSES]


@pytest.mark.parametrize("mine", READ, ids=lambda one: one.name)
def test_the_inverter_is_set_to_stop_before_the_modules_do(mine):
    asked = "Does the inverter stop before the modules' own electronics do?"
    held = {one.asked: one for one in commissioning.checks(mine)}
    assert held[asked].verdict == checks.MEETS and held[asked].guards == "gas"
    assert "inverter_cut_off" not in commissioning.propose(mine)
    at_theirs = mine.changed("commissioning", inverter_cut_off="10.8 V")  # a race, not an order
    assert {one.asked: one.verdict for one in commissioning.checks(at_theirs)}[asked] == checks.MISSES
    as_delivered = mine.changed("commissioning", inverter_cut_off=None)
    assert [one.verdict for one in commissioning.checks(as_delivered)
            if one.asked == asked] == [checks.MISSES]
    assert commissioning.propose(as_delivered)["inverter_cut_off"] == mine.commissioning.inverter_cut_off


def test_a_coach_without_an_inverter_feed_is_refused_kindly():
    with pytest.raises(InputError, match="lesson 07"):
        commissioning.low_voltage_board(TRAILER.without("circuits", "Inverter feed"))


def test_a_lead_acid_bank_gets_texts_of_its_own():
    module = TRAILER.capacity.module.model_copy(update={"chemistry": "AGM"})
    mine = TRAILER.model_copy(update={"capacity": TRAILER.capacity.model_copy(update={"module": module})})
    page = next(page for page in commissioning.worksheets(mine) if page.title == "Capacity")
    assert "IEEE 450" in page.pass_rule and "hydrogen" in page.cautions
    assert "after the factor" in page.lines[0].passes
    assert any(f"until {show(module.cut_off)}" in line for line in page.before)  # not the inverter's own end
    cut = next(one for one in commissioning.settings_sheet(mine) if one.what == "low-voltage cut-off")
    assert "modules" not in cut.limit
    held = next(one for one in commissioning.checks(mine) if "inverter stop" in one.asked)
    assert held.guards == "" and "drawn too low" in held.asked
