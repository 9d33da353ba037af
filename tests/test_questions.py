"""Questions: every slip of every topic is told apart from the answer and from the other slips; answers are kept."""

import json
import pkgutil
import re

import nbformat
import pytest

from coachwork import bootstrap
from coachwork.commands import open as opening
from coachwork.page import questions as _function  # noqa: F401  (the lesson's name for it must import)
from coachwork.page.ledger import MODULES
from coachwork.page.questions import (
    RIGHT, SLIP, WRONG, Choice, Question, Questions, course_seed, draw_seed, learner_seed, numbers_of, pick, results,
    slip, topic_questions,
)  # fmt: skip
from coachwork.quantities import InputError, Q, write_quantity

FOLDER = bootstrap.ROOT / "lib" / "coachwork" / "page" / "questions"
TOPICS = sorted(module.name for module in pkgutil.iter_modules([str(FOLDER)]))
NUMBERED = [
    pytest.param(topic, place, id=f"{topic} {place + 1}")
    for topic in TOPICS
    for place, one in enumerate(topic_questions(topic))
    if isinstance(one, Question)
]
SEEDS = [str(seed) for seed in range(200)]


def test_every_questions_file_is_a_topics():
    assert set(TOPICS) <= {*MODULES, "start_here"}


@pytest.mark.parametrize("topic, place", NUMBERED)
def test_slips_are_told_apart_for_200_seeds(topic, place):
    question = topic_questions(topic)[place]
    assert question.slips
    seen = set()
    for seed in SEEDS:
        given = question.draw(seed)
        key = str(given)
        if key in seen:
            continue
        seen.add(key)
        values = [("the answer", question.solution(given))]
        values += [(one.reason, question.mistake(one, given)) for one in question.slips]
        assert values[0][1] != 0
        for at, (name, value) in enumerate(values):
            for other_name, other in values[at + 1 :]:
                apart = abs(value - other) > 1.1 * (question.room(value) + question.room(other))
                assert apart, f"{name} / {other_name} with {key}"


@pytest.mark.parametrize("topic, place", NUMBERED)
def test_answers_and_slips_are_judged_as_what_they_are(topic, place):
    question = topic_questions(topic)[place]
    for seed in SEEDS[:10]:
        given = question.draw(seed)
        assert question.asked(given)
        written = write_quantity(Q(question.solution(given), question.unit))
        assert question.judge(written, given).kind == RIGHT
        for one in question.slips:
            verdict = question.judge(write_quantity(Q(question.mistake(one, given), question.unit)), given)
            assert (verdict.kind, verdict.slip) == (SLIP, one.reason)
            assert "{" not in verdict.words
        far = write_quantity(Q(question.solution(given) * 7.77, question.unit))
        assert question.judge(far, given).kind in (WRONG, SLIP)


def lesson_of(topic):
    lessons = [path for path in (bootstrap.ROOT / "workbook").glob("[0-9][0-9]-*.ipynb")]
    named = [path for path in lessons if path.stem[3:].replace("-", "_") == topic]
    return nbformat.read(named[0], as_version=4) if named else None


@pytest.mark.parametrize("topic", TOPICS)
def test_every_outcome_has_a_question_and_every_question_a_place_to_read(topic):
    notebook = lesson_of(topic)
    if notebook is None:
        pytest.skip("its lesson is not written yet")
    text = "\n".join(cell.source for cell in notebook.cells if cell.cell_type == "markdown")
    headings = re.findall(r"^## (.+)$", text, re.M)
    for one in topic_questions(topic):
        assert one.see in headings, one.see
    if "2 By the end you can" in headings:
        part = text.split("## 2 By the end you can")[1].split("\n## ")[0]
        outcomes = len(re.findall(r"^- ", part, re.M))
        assert {one.outcome for one in topic_questions(topic)} == set(range(1, outcomes + 1))
        assert len(topic_questions(topic)) >= 5


# ---------------------------------------------------------------------------------- the machinery


def watts(power, hours):
    """Plain stand-in for a topic function."""
    return power * hours


ASK = Question(
    "{power} for {hours}?",
    given=dict(power=pick(10, 20, unit="W"), hours=Q(3, "h")),
    answer=watts,
    unit="Wh",
    slips=[slip("Forgot {hours}.", hours=Q(1, "h"))],
    outcome=1,
    see="4 The idea",
)
PICK = Choice("Which?", right="this", wrong={"that": "Because.", "other": "No."}, outcome=1, see="4 The idea")


def test_numbers_follow_the_seed_and_nothing_else():
    assert [ASK.draw(seed) for seed in SEEDS] == [ASK.draw(seed) for seed in SEEDS]
    assert len({str(ASK.draw(seed)) for seed in SEEDS}) == 2
    assert len({tuple(PICK.options(seed)) for seed in SEEDS}) == 6


@pytest.mark.parametrize("text, words", [("", "nothing is written"), ("60", "has no unit"), ("lots", "number"),
                                          ("9**9**9 Wh", "number"), ("60 Wat", "unknown unit")])  # fmt: skip
def test_what_cannot_be_read_is_told_and_is_no_try(text, words):
    with pytest.raises(InputError, match=words):
        ASK.judge(text, ASK.draw("0"))


def test_units_are_converted_and_a_wrong_kind_meets_the_missing_step():
    given = dict(power=Q(20, "W"), hours=Q(3, "h"))
    assert ASK.judge("0.06 kWh", given).kind == RIGHT
    from coachwork import energy

    asked = Question(
        "?",
        dict(energy=Q(60, "Wh"), voltage=Q(12, "V")),
        energy.charge_from_energy,
        "Ah",
        [],
        1,
        "4 The idea",
    )
    with pytest.raises(InputError, match="watt-hours are energy; divide by volts"):
        asked.judge("5 Wh", asked.given)


@pytest.mark.parametrize("answer, words", [("59.5 Wh", "Right"), ("1 Wh", "is more"), ("7 kWh", "is less"), ("20 Wh", "Forgot 3 h")])
def test_a_wrong_answer_is_told_where_the_right_one_lies(answer, words):
    verdict = ASK.judge(answer, {"power": Q(20, "W"), "hours": Q(3, "h")})
    assert words in verdict.words and verdict.words.startswith("Right" if words == "Right" else "Not yet")


def test_choice_meets_its_reason():
    assert PICK.judge("this", {}).kind == RIGHT
    assert "Because." in PICK.judge("that", {}).words
    with pytest.raises(InputError, match="nothing is chosen"):
        PICK.judge(None, {})


@pytest.fixture
def panel(tmp_path, monkeypatch):
    monkeypatch.setenv("COACHWORK_HOME", str(tmp_path))
    return Questions("energy")


def test_empty_home_means_seed_zero_and_nothing_is_written(panel, tmp_path):
    assert learner_seed() == 0
    assert panel.plain() == Questions("energy").plain()
    assert list(tmp_path.iterdir()) == []


def test_another_seed_means_other_numbers(panel, tmp_path):
    opening.lay_seed(tmp_path)
    given = learner_seed()
    opening.lay_seed(tmp_path)
    assert learner_seed() == given, "a seed is given once"
    (tmp_path / "seed.txt").write_text("4711")
    assert panel.plain() != Questions("energy").plain()


def test_an_answer_is_kept_and_comes_back(panel, tmp_path):
    right = write_quantity(Q(panel.items[0].solution(panel.given[0]), panel.items[0].unit))
    panel.pressed("check-1", panel.settings | {"answer-1": "1 Wh"})
    panel.pressed("check-1", panel.settings | {"answer-1": right})
    later = Questions("energy")
    assert panel.result == "1 of 10 right, 0 of them at the first try." == later.result
    assert later.notes == panel.notes and later.notes["answer-1"][0] == "right"
    assert later.settings["answer-1"] == right and later.plain() == panel.plain()
    kept = json.loads((tmp_path / "answers" / "energy.json").read_text(encoding="utf-8"))
    [(place, tried)] = kept["answers"].items()
    assert [one["verdict"] for one in tried] == [WRONG, RIGHT]
    panel.pressed("again", panel.settings)
    assert panel.result == "0 of 10 right." and panel.settings["answer-1"] == "" and not panel.notes
    assert results("energy")["answers"][place], "earlier tries stay"


def test_the_lesson_open_twice_keeps_the_tries_of_both(panel):
    other = Questions("energy")
    panel.pressed("check-1", panel.settings | {"answer-1": "1 Wh"})
    other.pressed("check-2", other.settings | {"answer-2": "1 Wh"})
    assert len(results("energy")["answers"]) == 2


def test_the_answer_is_told_after_three_misses(panel):
    for wrong in ("1 Wh", "2 Wh", "1.5 Wh"):
        assert "The answer is" not in panel.notes.get("answer-1", ["", ""])[1]
        panel.pressed("check-1", panel.settings | {"answer-1": wrong})
    assert panel.items[0].told(panel.given[0]) in panel.spoken


def test_a_tolerance_may_be_a_difference():
    warm = Question("?", {}, lambda: Q(68, "degF"), "degF", [], 1, "4 The idea", tolerance="1 delta_degC")
    assert warm.judge("20 degC", {}).kind == warm.judge("69.7 degF", {}).kind == RIGHT
    assert warm.judge("70 degF", {}).kind == WRONG


@pytest.mark.parametrize("damaged", ["{half", "[]", "{}", '{"format": 1, "round": 0, "answers": {"1": [{"answer": 2}]}}'])
def test_a_damaged_file_is_put_aside(panel, tmp_path, damaged):
    (tmp_path / "answers").mkdir()
    (tmp_path / "answers" / "energy.json").write_text(damaged)
    assert results("energy")["answers"] == {}
    assert (tmp_path / "answers" / "energy.damaged.json").read_text() == damaged


def test_answers_belong_to_their_seed_and_come_back_with_it(panel, tmp_path):
    panel.pressed("check-1", panel.settings | {"answer-1": "1 Wh"})
    (tmp_path / "seed.txt").write_text("4711")
    other = Questions("energy")
    assert other.result == "0 of 10 right." and other.settings["answer-1"] == ""
    assert (tmp_path / "answers" / "energy.seed-0.json").exists()
    (tmp_path / "seed.txt").write_text("0")
    assert Questions("energy").settings["answer-1"] == "1 Wh"
    (tmp_path / "seed.txt").write_text("4711")
    Questions("energy").pressed("check-2", other.settings | {"answer-2": "2 Wh"})
    (tmp_path / "seed.txt").write_text("0")
    assert Questions("energy").settings["answer-1"] == "1 Wh" and len(results("energy")["answers"]) == 1


def test_a_learners_course_seed_is_the_same_however_it_is_typed():
    assert course_seed("Spring 2027", "ana-1") == course_seed(" spring  2027 ", "ANA-1 ") == 837522465
    assert course_seed("spring 2027", "ana-2") != course_seed("spring 2027", "ana-1") != course_seed("fall", "ana-1")


@pytest.mark.parametrize("topic", TOPICS)
def test_numbers_of_a_question_can_be_kept_as_text_and_found_again(topic):
    for place, item in enumerate(topic_questions(topic)):
        kept = numbers_of(item.draw(draw_seed(5, topic, place, 0)))
        assert json.loads(json.dumps(kept)) == numbers_of(item.draw(draw_seed(5, topic, place, 0)))
        assert all(len(text) < 80 and " at 0x" not in text for text in kept.values())


def test_what_cannot_be_read_stands_beside_the_field(panel):
    panel.pressed("check-3", panel.settings | {"answer-3": "34"})
    mark, words = panel.notes["answer-3"]
    assert mark == "error" and "has no unit" in words
