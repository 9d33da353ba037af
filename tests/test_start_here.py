"""Lesson 00: the map agrees with data/lessons.toml, every danger is shown, symbols have words."""

import re

import nbformat
import pytest
from hypothesis import given
from hypothesis import strategies as some

from coachwork.bootstrap import ROOT
from coachwork.page import questions
from coachwork.page.cautions import cautions_for
from coachwork.page.map import EVERY, Lesson, feeds, lesson_map, lessons
from coachwork.page.pictures.start_here import SYMBOLS, VoltsAmpsWatts, symbol_key
from coachwork.quantities import InputError, Q, convert, set_display_system

LESSON = ROOT / "workbook" / "00-start-here.ipynb"


def text_of(lesson):
    cells = nbformat.read(lesson, as_version=4).cells
    outputs = [output for cell in cells if cell.cell_type == "code" for output in cell.outputs]
    return " ".join(
        "\n".join(output.get("text") or output["data"]["text/plain"] for output in outputs).split()
    )


# ------------------------------------------------------------------------------- the map


def one(number, takes=(), gives=()):
    return Lesson(number, "topic", "Title", tuple(takes), tuple(gives), True)


def test_every_take_has_a_giver_and_no_lesson_feeds_an_earlier_one():
    known = lessons()
    found = feeds(known)
    assert len(found) == sum(not what.startswith(EVERY) for lesson in known for what in lesson.takes)
    assert all(giver.number < taker.number and what in giver.gives for giver, what, taker in found)
    assert {lesson.number for lesson in known} == {f"{number:02}" for number in range(13)}


def test_the_last_giver_of_a_thing_feeds_it():
    first, again, taker = one("00", gives=["loads"]), one("01", gives=["loads"]), one("02", takes=["loads"])
    assert feeds([first, again, taker]) == [(again, "loads", taker)]


@pytest.mark.parametrize(
    "known", [[one("00", takes=["loads"])], [one("00", takes=["loads"]), one("01", gives=["loads"])]]
)
def test_a_take_without_an_earlier_giver_is_refused(known):
    with pytest.raises(ValueError, match='lesson 00 takes "loads", which no earlier lesson gives'):
        feeds(known)


def test_the_table_says_everything_and_links_only_what_is_there():
    shown = lesson_map()
    page = shown.html()
    for lesson in shown.lessons:
        for what in (*lesson.takes, *lesson.gives):
            assert what in str(shown)
        linked = f'href="{lesson.file}"' in page
        assert linked == (lesson.built and lesson.number != "00")
        assert not linked or (ROOT / "workbook" / lesson.file).exists()
    for giver, _, taker in shown.feeds:  # the picture in words names every arrow
        arrows = re.search(rf"from {giver.number} to ([\d, ]+)", shown.alt()).group(1).split(", ")
        assert taker.number in arrows


# ------------------------------------------------------------------------------- dangers, symbols, units


def test_questions_on_the_page_follow_the_unit_switch(home):
    """What is compared is what the front end is sent, not what Python holds."""
    panel, sent = questions("start_here"), []
    panel.observe(lambda change: sent.append(change.new), names=["parts"])
    try:
        set_display_system("SI")
        asked = [group["parts"][0]["label"] for group in sent[-1][:-1]]
    finally:
        set_display_system("US")
        panel.close()
    assert " cm long" in asked[8] and " in long" not in asked[8]


def test_every_caution_of_the_start_is_shown_in_the_lesson():
    shown = text_of(LESSON)
    assert [caution.name for caution in cautions_for("start-here") if caution.title not in shown] == []


def test_every_symbol_has_a_drawing_a_name_a_shape_and_a_meaning():
    page = symbol_key().html()
    assert page.count("<svg") == page.count('role="img"') == len(SYMBOLS)
    for name, (shape, says, *parts) in SYMBOLS.items():
        assert f'aria-label="{name}"' in page and parts
        assert f"{name}: {shape}. " in str(symbol_key()) and says[1:] in str(symbol_key())


def test_the_bench_says_what_ohm_says():
    from coachwork.page.pictures import Sheet

    words, alt = Sheet(VoltsAmpsWatts()).update(voltage=24, resistance=4)
    assert words == "24 V across 4 Ω drives 6 A, and 144 W become heat."
    assert "24 V and 6 A" in alt and "a bar of 144 W" in alt


@given(
    some.floats(-400, 1e6),
    some.sampled_from([("ft", "m"), ("lb", "kg"), ("degF", "degC"), ("Btuh", "W"), ("kcmil", "mm2")]),
)
def test_converted_there_and_back_is_the_same(value, units):
    there, back = units
    assert convert(
        convert(Q(value, convert(f"1 {there}", there).units), back), there
    ).magnitude == pytest.approx(value, abs=1e-9)


@pytest.mark.parametrize(
    "quantity, unit, words",
    [
        ("100 Ah", "Wh", "amp-hours are charge; multiply by volts"),
        ("3 m", "W/(m2 K)", "is length"),
        ("9**9**9 W", "kW", "not one plain number"),
        ("3 W", "furlong", 'unknown unit "furlong"'),
        ("", "W", "does not start with a number"),
    ],
)
def test_what_cannot_be_converted_is_refused_in_words(quantity, unit, words):
    with pytest.raises(InputError, match=re.escape(words)):
        convert(quantity, unit)
