"""Design: weight by hand, what the survey must list, and a verdict that promises nothing."""

import re

import pytest
from hypothesis import given
from hypothesis import strategies as some

from coachwork import checks, coach, design, wiring
from coachwork.quantities import Q, Quantity, floats

DEMOS = coach.demos()


@pytest.fixture(scope="module")
def trailer():
    return coach.read(coach.main_demo())


def test_weight_of_the_trailer_by_hand(trailer):
    """Pounds and feet, written out here: 13.5 ft from axles to ball, tires 6.4 ft apart."""
    feet_of_copper = {
        "3/0": 167800 * (2 * 2 * 3 + 2 * 4 + 2 * 3 * 1),
        "4/0": 211600 * 8,
        "1": 83690 * 8,
        "3": 52620 * 10,
        "8": 16510 * 28,
        "10": 10380 * (16 + 6),
        "12": 6530 * 26,
        "14": 4110 * (30 + 8 + 18 + 18),
    }
    square_inches = 3.14159265 / 4 * 1e-6
    copper = sum(feet_of_copper.values()) * square_inches * 12 * 8.89 / 27.679905  # 1 lb/in3 = 27.68 g/cm3
    things = [
        (-126, 12, 0),
        (-6, -2, -3),
        (31, 4, -2),
        (144, 1, 0),
        (9, 4, -2.5),
        (9, 4, -1),
        (2, 4, -1),
        (165, 2.5, -1.5),
        (copper, 2.5, -1.5),
    ]
    total = sum(mass for mass, _, _ in things)
    tongue = sum(mass * ahead / 13.5 for mass, ahead, _ in things)
    left = sum(mass * (1 - ahead / 13.5) / 2 + mass * side / 6.4 for mass, ahead, side in things)
    found = design.weight(trailer)
    assert found.front == "tongue" and not found.unplaced and not found.unweighed
    for where, before, change in (
        ("total", 5400, total),
        ("front", 660, tongue),
        ("rear", 4740, total - tongue),
        ("left", 2330, left),
        ("right", 2410, total - tongue - left),
    ):
        scale = found.scale(where)
        assert floats(scale.before, "lb") == pytest.approx(before)
        assert floats(scale.change, "lb") == pytest.approx(change, rel=2e-3, abs=0.05)
        assert floats(scale.after, "lb") == pytest.approx(before + change, rel=1e-4)
    assert found.share == pytest.approx((660 + tongue) / (5400 + total), rel=1e-4)


@given(
    some.floats(-500, 500), some.floats(-20, 20), some.floats(1, 40), some.floats(-4, 4), some.floats(1, 8)
)
def test_supports_carry_what_is_put_on_them(mass, ahead, span, left, track):
    mass, ahead, span, left, track = (
        Q(mass, "lb"),
        Q(ahead, "ft"),
        Q(span, "ft"),
        Q(left, "ft"),
        Q(track, "ft"),
    )
    front, rear = design.front_change(mass, ahead, span), design.rear_change(mass, ahead, span)
    assert floats(front + rear, "lb") == pytest.approx(floats(mass, "lb"), abs=1e-6)
    sides = design.left_change(mass, mass, left, track) + design.left_change(mass, mass, -left, track)
    assert floats(sides, "lb") == pytest.approx(floats(mass, "lb"), abs=1e-6)


@pytest.mark.parametrize("path", DEMOS, ids=lambda path: path.stem)
def test_demo_misses_nothing_here(path):
    held = design.checks(coach.read(path))
    assert [str(check) for check in held if check.verdict == checks.MISSES] == []


BROKEN = {
    "not weighed": (dict(loaded_mass=None), "Weight, whole coach"),
    "no place": (dict(bank_ahead=None), "a mass and a place"),
    "heavy": (dict(loaded_mass="6100 lb"), "Weight, whole coach"),
    "heavy tongue": (dict(front_mass="900 lb"), "Weight, tongue"),
    "light tongue": (dict(front_mass="500 lb"), "enough of the trailer"),
    "one side": (dict(left_mass="2900 lb"), "Weight, left tires"),
    "nobody looked": (dict(absent=None), "was the emergency-start solenoid looked for"),
}


@pytest.mark.parametrize("name", BROKEN)
def test_broken_coach_misses_at_that_place(trailer, name):
    values, words = BROKEN[name]
    missed = [
        check
        for check in design.checks(trailer.changed("design", **values))
        if check.verdict == checks.MISSES
    ]
    assert any(words in check.asked for check in missed)


def test_a_dangerous_circuit_that_is_not_listed_is_a_miss(trailer):
    held = design.checks(trailer.without("circuits", "LP gas detector"))
    missed = [check for check in held if check.verdict == checks.MISSES]
    assert ["LP gas detector" in check.asked and check.guards == "gas" for check in missed] == [True]


def test_parts_count_what_is_new_and_sum_the_prices_given(trailer):
    found = {part.name: part for part in design.parts(trailer)}
    assert found["Module 12 V 240 Ah lithium, invented"].amount == "3"
    assert found["4/0 AWG BC-5W2"].amount == "8 ft" and found["lug for 4/0 AWG"].amount == "4"
    assert found["battery switch 300 A"].amount == "3"
    assert found["array disconnect 60 A, both poles"].use == "between array and controller"
    assert design.cost(trailer) == Quantity(225, "USD")


def test_labels_name_what_stays_live(trailer):
    found = {label.place: label.words for label in design.labels(trailer)}
    assert "91.8 V and 26 A" in found["array's disconnect and both ends of its leads"]
    assert "Breakaway brake" in found["main disconnect"] and "16,500 A" in found["main disconnect"]


def test_verdict_counts_and_promises_nothing(trailer):
    heard = design.hear(trailer)
    said = design.verdict(trailer, heard)
    assert said.startswith(f"{len(design.all_checks(heard))} checks were made")
    weighed = re.search(r"By how the rule is known: (.+?)\. ", said)[1]
    assert sum(map(int, re.findall(r"\d+", weighed))) == len(design.all_checks(heard)) and " from memory" in weighed
    assert "safe" not in said and said.endswith("Local codes and licensed practice decide.")


def test_a_topic_that_refuses_is_a_missed_check(trailer):
    broken = trailer.changed("place", weather="nowhere at all")
    said = next(one for one in design.hear(broken) if one.topic == "sun")
    assert said.refusal and said.checks[0].verdict == checks.MISSES and "nowhere" in said.checks[0].found


def test_an_answer_belongs_to_its_check(trailer):
    light = trailer.changed(
        "design",
        front_mass="500 lb",
        answers=[
            {"check": "Weight: does the tongue carry enough", "answer": "The spare tire moves forward."}
        ],
    )
    heard = design.hear(light)
    assert [check for check in design.unanswered(light, heard) if "tongue carry enough" in check.asked] == []
    assert "None of the missed ones stand here without an answer" in design.verdict(light, heard)


def test_what_nobody_decided_is_assumed(trailer):
    heard = design.hear(trailer.changed("energy", margin=None).changed("design", retorque=None))
    assert {(one.topic, one.place) for one in design.proposed(heard)} >= {
        ("energy", "margin"),
        ("design", "retorque"),
    }


def test_assumed_also_names_what_the_file_is_silent_about_and_what_is_invented(trailer):
    heard = design.hear(trailer)
    found = {one.place: one.value for one in design.assumed(trailer, heard)}
    kept = [one for one in trailer.circuits if one.existing in ("keep", "limit") and one.from_ != "own cell" and one.rule is None]
    assert kept and all(found[f"circuits, {one.name}, rule"] for one in kept)
    assert found["circuits, bundled"].startswith("its own two conductors") and "not checked" in found["circuits, fuse distance"]
    assert found["inverter, data sheet"] == "Inverter 12 V 2000 W, invented"
    assert "class T fuse" in found["data of fuses, breakers and switches"] and "wiring, terminals" not in found
    assert design.proposed(heard) == [] and "Desert trailer" not in found.values()
    loose = trailer.changed("wiring", terminals=None).changed("circuits", "Furnace", bundled=6, fuse_distance="6 in")
    changed = dict((place, value) for place, value in wiring.silent(loose))
    assert "wiring, terminals" in changed and changed["circuits, bundled"] != found["circuits, bundled"]


def test_what_is_still_open_is_told_topic_by_topic(trailer):
    one = trailer.changed("energy", margin=None).changed("design", front_mass="500 lb")
    one = one.changed("design", answers=[{"check": "Weight: does the tongue carry enough", "answer": "The spare tire moves."}])
    heard = design.hear(one)
    found = {row.topic: row for row in design.still_open(one, heard)}
    assert list(found) == [said.topic for said in heard]
    assert found["energy"].assumed == ("margin: 0.2",)
    assert [check.asked for check in found["design"].answered] == ["Weight: does the tongue carry enough of the trailer?"]
    assert found["design"].unanswered == () and found["wiring"].checks == len(heard[6].checks)


def test_differences_begin_with_what_a_change_breaks(trailer):
    before = design.hear(trailer)
    assert design.differences(before, before) == []
    after = design.hear(trailer.without("circuits", "LP gas detector"))
    found = design.differences(before, after)
    assert (found[0].was, found[0].now) == ("meets", "misses") and "LP gas detector" in found[0].asked
    back = design.differences(after, before)
    assert (back[0].was, back[0].now) == ("misses", "meets")
    gone = [one for one in found if one.asked == "LP gas detector: does the coach still have one afterwards?"]
    assert [(one.was, one.now) for one in gone] == [("meets", "")]
