"""The practice meter and the fault hunt: the panel shows what the calculation reads, and every hunt can be
won by it."""

import dataclasses

import pytest

import browser
from coachwork import coach, commissioning
from coachwork.page import fault_hunt, practice_meter
from coachwork.page.pictures import PIXELS, Sheet
from coachwork.page.pictures import commissioning as pictures
from coachwork.page.pictures.commissioning import BoardDiagram, diagram, in_words, lettered, numbered
from coachwork.quantities import floats

BOARDS = [commissioning.mains_board(), *(commissioning.low_voltage_board(coach.read(path))
                                         for path in coach.demos())]
TWELVE = commissioning.low_voltage_board(coach.read(coach.main_demo()))


class Hand:
    """What a learner does, as the front end reports it."""

    def __init__(self, panel):
        self.panel = panel

    def say(self, press="", **values):
        message = dict(view="v", number=1, ratio=1, press=press, values={**self.panel.settings, **values})
        self.panel._answer(None, message, [])
        return self.panel.result

    def put(self, one):
        """Set the panel as a Measurement says, and read."""
        panel = self.panel
        label = {own: name for name, own in panel.instruments.items()}
        self.say(state=next(name for name, own in panel.states.items() if own == one.state),
                 instrument=label[one.instrument])
        if one.instrument == commissioning.CLAMP:
            where = {"clamp": next(name for name, (_, own) in panel.letters.items() if own == one.at[0])}
        else:
            number = {own: name for name, own in panel.points.items()}
            where = dict(zip(("red", "black"), (number[point] for point in one.at)))
        return self.say("read", **where)

    def part(self, name):
        return next(part for part in self.panel._own if part["name"] == name)


def volts(state, red, black, instrument=commissioning.VOLTS):
    return commissioning.Measurement(state, instrument, (red, black))


# ------------------------------------------------------------------------------- the diagram


@pytest.mark.parametrize("board", BOARDS)
def test_the_diagram_has_every_point_every_clamp_and_every_part_once(board):
    assert set(numbered(board).values()) == set(board.points)
    drawn = [one.name for line in diagram(board) for piece in line for one in piece.chain[1::2]]
    sound = [one.name for one in board.elements if one.closed and not one.name.startswith("leak of ")]
    assert sorted(drawn) == sorted(name for name in sound
                                   if not (name.startswith("module") and name.endswith("voltage")))
    assert {element for name in board.clamps for element, _ in board.clamps[name]} <= set(drawn)
    assert list(lettered(board).values()) == list(board.clamps)


@pytest.mark.parametrize("board", BOARDS)
def test_what_only_a_fault_closes_is_not_drawn(board):
    hidden = {one.name for one in board.elements if not one.closed}
    drawn = {one.name for line in diagram(board) for piece in line for one in piece.chain[1::2]}
    assert hidden and not hidden & drawn


@pytest.mark.parametrize("board", BOARDS)
def test_the_diagram_is_told_in_words_and_stays_on_its_paper(board):
    sheet = Sheet(BoardDiagram(board))
    words, alt = sheet.update(red=board.points[0], black=board.points[1], clamp="")
    assert board.points[0] in alt and "in words" in alt
    assert all(f"{number} {point}" in " ".join(in_words(board)) for number, point in numbered(board).items())
    pixels = sheet.full_pixels()
    edge = [pixels[:2], pixels[-2:], pixels[:, :2], pixels[:, -2:]]
    assert all((one[..., :3] == 255).all() for one in edge)


def touching(board):
    """Every text of the drawn board with what its box touches: other texts, symbols, wires, the edge of the
    paper, and the marks of probes and clamp wherever they may be put."""
    sheet = Sheet(BoardDiagram(board))
    drawing, found = sheet.picture, []
    sheet.full_pixels()
    (axes,), renderer = sheet.figure.axes, sheet.canvas.get_renderer()
    texts = [(one.get_text(), one.get_window_extent(renderer)) for one in axes.texts]
    others = [(type(one).__name__, one.get_window_extent(renderer)) for one in (*axes.lines, *axes.patches)
              if one not in drawing.moving]  # fmt: skip
    for artist, places in ((drawing.red, drawing.at), (drawing.black, drawing.at),
                           (drawing.jaws, drawing.clamp_at)):  # fmt: skip
        for where in (place for several in places.values() for place in several):
            artist.set_data(*zip(where))
            half = artist.get_markeredgewidth() / 2 * PIXELS / 72
            others.append((artist.get_marker(), artist.get_window_extent(renderer).padded(half)))
    for place, (text, box) in enumerate(texts):
        found += [(text, other) for other, two in texts[place + 1:] if box.overlaps(two)]
        own = [what for what, two in others if overlap(box, two) and within(box, two)]
        found += [(text, what) for what, two in others if overlap(box, two) and not within(box, two)]
        around = 3 if text.isdecimal() else 1 if len(text) == 1 else 0  # its point and two marks; the jaws
        found += [] if len(own) == around else [(text, *own)]
        found += [(text, "edge")] if not within(box, sheet.figure.bbox) else []
    return found


def overlap(one, two):
    """Whether two boxes share more than a line; a wire has no height at all."""
    return one.x0 < two.x1 and two.x0 < one.x1 and one.y0 < two.y1 and two.y0 < one.y1


def within(one, two):
    return two.x0 <= one.x0 and one.x1 <= two.x1 and two.y0 <= one.y0 and one.y1 <= two.y1


@pytest.mark.parametrize("board", BOARDS)
def test_no_word_of_the_diagram_touches_another_a_symbol_or_a_wire(board):
    assert touching(board) == []


@pytest.mark.parametrize("modules", [2, 6])
def test_nothing_touches_with_other_banks_and_any_name_of_a_circuit(modules):
    """A name may be long, and a sign that means something to whoever draws is only a sign."""
    name = "Furnace $x_1$ of the rear bedroom, the bath, the hall and the outside kitchen of our coach"
    mine = coach.read(coach.main_demo()).changed("capacity", parallel=modules)
    circuits = tuple(one.model_copy(update={"name": name}) if one.name == "Furnace" else one
                     for one in mine.circuits)  # fmt: skip
    board = commissioning.low_voltage_board(mine.model_copy(update={"circuits": circuits}))
    assert any(piece.title.startswith("Furnace $") for line in diagram(board) for piece in line)
    assert touching(board) == []
    assert list(lettered(board).values()) == list(board.clamps)


@pytest.mark.parametrize("name, wrong, text, what", [
    ("LABEL", 50, "cells", "Line2D"), ("BELOW", 60, "positive bus", "o"),
    ("TITLE", 30, "leads, minus", "lead"), ("_wide", lambda *text: 20.0, "minus 3", "minus 2"),
])  # fmt: skip
def test_the_measuring_finds_what_touches(monkeypatch, name, wrong, text, what):
    monkeypatch.setattr(pictures, name, wrong)
    found = touching(dataclasses.replace(TWELVE))  # a copy, for a board's diagram is kept
    assert (text, what) in found or (what, text) in found, found


def test_the_words_of_the_diagram_stay_readable_on_a_narrow_page():
    """The narrowest page of the guards, 800 px wide, shows a picture at no less than 4/5 of its width."""
    (axes,) = Sheet(BoardDiagram(TWELVE)).figure.axes
    assert min(one.get_size() for one in axes.texts) * 4 / 5 >= 10


# ------------------------------------------------------------------------------- the meter


@pytest.mark.parametrize("one", [
    volts("heavy load", "positive bus", "inverter +"), volts("at rest", "plus", "minus"),
    volts("panel loads", "DC panel +", "Furnace +", commissioning.OTHER_VOLTS),
    commissioning.Measurement("heavy load", commissioning.CLAMP, ("lead of module 2",)),
    commissioning.Measurement("panel loads", commissioning.MONITOR, ()),
])  # fmt: skip
def test_the_panel_shows_what_the_calculation_reads(one):
    hand = Hand(practice_meter(TWELVE))
    found = commissioning.read(TWELVE, TWELVE.states[one.state], one.instrument, one.at)
    assert hand.put(one).startswith(f"It shows {found.text}.")
    assert hand.panel.spoken == hand.panel.result and hand.panel.notes == {"read": ["note", found.text]}
    assert found.text in hand.part("log")["parts"][0]["label"]


def test_ohms_on_a_live_circuit_show_the_false_reading_and_the_caution_steps_in():
    hand = Hand(practice_meter(TWELVE))
    said = hand.put(volts("heavy load", "plus", "minus", commissioning.OHMS))
    mark, words = hand.panel.notes["instrument"]
    assert "Ω" in said and mark == "error" and "false" in words and words in hand.panel.spoken
    hand.put(volts("heavy load", "plus", "minus"))
    assert set(hand.panel.notes) == {"read"}


def test_amps_by_probes_across_the_bank_blow_the_meter():
    hand = Hand(practice_meter(TWELVE))
    assert "the fuse of the meter blew" in hand.put(volts("at rest", "plus", "minus", commissioning.AMPS))
    assert "The meter can hurt you too" in hand.panel.spoken and "new fuse" in hand.panel.result


def test_amps_across_a_closed_part_only_share_the_current():
    one = volts("at rest", "plus", "after the main fuse", commissioning.AMPS)
    said = Hand(practice_meter(TWELVE)).put(one)
    assert "only shares the current" in said


def test_volts_of_the_wrong_kind_read_nothing_on_either_board():
    assert "0.00 V" in Hand(practice_meter(TWELVE)).put(volts("at rest", "plus", "minus",
                                                              commissioning.OTHER_VOLTS))
    hand = Hand(practice_meter(BOARDS[0]))
    assert "0.00 V" in hand.put(volts("shore, little on", "outlet hot", "outlet neutral",
                                      commissioning.OTHER_VOLTS))
    assert "volts, DC" in hand.panel.settings["instrument"]


def test_minutes_are_those_of_the_acts():
    hand = Hand(practice_meter(TWELVE))
    hand.put(volts("at rest", "plus", "minus"))
    assert floats(hand.panel.spent, "min") == pytest.approx(3 + 2)
    hand.put(volts("at rest", "plus", "positive bus"))
    assert floats(hand.panel.spent, "min") == pytest.approx(3 + 2 + 2)
    hand.put(commissioning.Measurement("heavy load", commissioning.CLAMP, ("lead of module 1",)))
    assert floats(hand.panel.spent, "min") == pytest.approx(3 + 2 + 2 + 3 + 1)
    assert hand.part("log")["label"] == "Readings, 11 min spent" and len(hand.part("log")["parts"]) == 3


def test_probes_stay_where_they_were_while_the_clamp_is_used():
    hand = Hand(practice_meter(TWELVE))
    hand.put(volts("at rest", "plus", "minus"))
    red = hand.panel.settings["red"]
    hand.put(commissioning.Measurement("at rest", commissioning.CLAMP, ("lead of module 2",)))
    assert "red" not in hand.panel.settings
    hand.say(instrument="volts, DC")
    assert hand.panel.settings["red"] == red


def test_both_probes_on_one_point_are_refused_and_cost_nothing():
    hand = Hand(practice_meter(TWELVE))
    assert "two different points" in hand.put(volts("at rest", "plus", "plus"))
    assert floats(hand.panel.spent, "min") == 0 and "two different points" in hand.panel.spoken


def test_what_is_no_point_of_the_board_is_refused():
    assert "one of" in Hand(practice_meter(TWELVE)).say("read", red="99 nowhere")


def test_a_sound_boards_reading_stands_beside_when_asked_for():
    hand = Hand(practice_meter(TWELVE))
    hand.say(sound=True)
    hand.put(volts("at rest", "plus", "minus"))
    assert "(sound: 13.35 V)" in hand.part("log")["parts"][0]["label"]


def test_the_120_v_side_has_no_monitor_and_says_whose_work_it_is():
    panel = practice_meter(BOARDS[0])
    assert commissioning.MONITOR not in panel.instruments.values() and "licensed electrician" in panel.lead
    hand = Hand(fault_hunt(BOARDS[0], 1))
    hand.say("another")
    assert hand.panel.lead.count("licensed electrician") == 1


# ------------------------------------------------------------------------------- the hunt


@pytest.mark.parametrize("board", BOARDS)
@pytest.mark.parametrize("seed", range(4))
def test_the_short_line_wins_the_hunt_through_the_panel(board, seed):
    hand = Hand(fault_hunt(board, seed))
    fault = hand.panel.fault
    assert fault is commissioning.hidden_fault(board, seed) and fault.complaint in hand.panel.lead
    steps = commissioning.line_of_reasoning(board, fault)
    for one in steps:
        hand.put(one.measurement)
    assert hand.say("answer", kind=fault.kind,
                    place=fault.place).startswith(f"Right: {fault.kind}, {fault.place}")
    assert floats(hand.panel.spent, "min") == pytest.approx(sum(floats(one.time, "min") for one in steps))
    verdict, yours, short, _ = hand.part("debrief")["parts"]
    assert fault.why in verdict["label"] and fault.why in hand.panel.spoken
    assert yours["parts"][-1]["label"].endswith(f"Only one is left: {fault.kind}: {fault.place}.")
    assert len(yours["parts"]) == len(short["parts"]) == len(steps)


def test_a_wrong_name_costs_and_says_on_which_count_it_is_wrong():
    hand = Hand(fault_hunt(TWELVE, 0))
    fault = hand.panel.fault
    other = next(one for one in commissioning.faults(TWELVE) if one.kind == fault.kind
                 and one.place != fault.place)
    assert "far end was blamed" in hand.say("answer", kind=fault.kind, place=other.place)
    assert floats(hand.panel.spent, "min") == 20 and hand.panel.notes["place"][0] == "wrong"
    kind = next(one.kind for one in commissioning.faults(TWELVE) if one.kind != fault.kind)
    assert "Something else" in hand.say("answer", kind=kind, place=fault.place)
    assert floats(hand.panel.spent, "min") == 40 and hand.panel.notes["kind"][0] == "wrong"
    assert all(part["name"] != "debrief" for part in hand.panel._own)


def test_it_can_be_told_and_another_be_hidden():
    hand = Hand(fault_hunt(TWELVE, 0))
    fault = hand.panel.fault
    assert hand.say("tell").startswith(f"It was: {fault.kind}, {fault.place}")
    assert "named already" in hand.say("answer")
    assert hand.say("another") == "Nothing read yet."
    assert hand.panel.fault is not fault and not hand.panel.taken
    assert hand.panel.fault.complaint in hand.panel.spoken
    assert hand.panel.goal[0] == "state" and all(part["name"] != "debrief" for part in hand.panel._own)


def test_the_panel_is_the_same_in_every_run_and_does_not_tell():
    first, again = fault_hunt(TWELVE, 3), fault_hunt(TWELVE, 3)
    assert first.plain() == again.plain()
    for fault in commissioning.faults(TWELVE):
        assert fault.why not in first.plain()


# ------------------------------------------------------------------------------- by keyboard alone

LESSON = """from coachwork import coach, commissioning
from coachwork.page import fault_hunt
fault_hunt(commissioning.low_voltage_board(coach.read(coach.main_demo())), seed=3)"""


class Keys:
    """A learner without a mouse, and what a screen reader says."""

    def __init__(self, page):
        self.page = page
        self.panel = page.locator(".jp-Notebook .cw").first

    def tab_to(self, label, key="Tab"):
        """Tab forward (or back) until the control of that name has the focus."""
        for _ in range(10):
            if self.focused() == label:
                return
            self.page.keyboard.press(key)
        raise AssertionError(f"no way by Tab to {label}, at {self.focused()}")

    def focused(self):
        return self.page.evaluate("""() => { const e = document.activeElement;
            return e.labels?.[0]?.innerText.trim() || e.innerText?.trim().split('\\n')[0]; }""")

    def pick(self, label, words):
        """Choose in a list by typing the beginning of its words."""
        self.tab_to(label)
        self.page.keyboard.type(words)
        self.page.wait_for_function("words => document.activeElement.value.startsWith(words)", arg=words)
        self.page.wait_for_function("!document.querySelector('.cw-busy')")

    def read(self, state, instrument, red="", black=""):
        self.tab_to("State of the board", "Shift+Tab")
        self.pick("State of the board", state)
        self.pick("Instrument", instrument)
        if red:
            self.pick("Red probe on", red)
            self.pick("Black probe on", black)
        self.tab_to("Read")
        return self.push("It shows")

    def push(self, words):
        """Press the button that has the focus, wait until something new with these words is said."""
        status = self.panel.locator("[role=status]")
        before = status.text_content()
        self.page.keyboard.press("Space")
        self.page.wait_for_function("([place, words, before]) => place.textContent != before && "
                                    "place.textContent.includes(words)",
                                    arg=[status.element_handle(), words, before])  # fmt: skip
        return status.text_content()


@pytest.mark.skipif(not browser.chromium(), reason=browser.NONE_FOUND)
def test_a_whole_hunt_by_keyboard_alone(lab):
    lab.write("93-hunt", LESSON, text="# Hunt")
    fault = commissioning.hidden_fault(TWELVE, 3)
    assert (fault.kind, fault.place) == ("bad lug", "inverter plus")
    number = {point: f"{place} {point}" for place,
              point in numbered(TWELVE).items()}  # "22" alone would step through the twenties
    with lab.lesson("93-hunt") as lesson:
        lesson.run_all()
        keys = Keys(lesson.page)
        picture = keys.panel.locator("img")
        picture.wait_for()
        before = picture.get_attribute("src")
        keys.panel.locator("select").first.focus()
        assert "It shows" in keys.read("heavy load", "battery monitor")
        said = keys.read("heavy load", "volts, DC", number["inverter cable end +"], number["inverter +"])
        shown = commissioning.read(TWELVE, TWELVE.states["heavy load"], commissioning.VOLTS,
                                   ("inverter cable end +", "inverter +"), fault)
        assert shown.text in said and picture.get_attribute("src") != before
        assert "inverter +" in picture.get_attribute("alt")
        said = keys.read("heavy load", "ohms", number["plus"], number["minus"])
        assert "Measure live only what must be live" in said
        keys.pick("What", "bad lug")
        keys.pick("Where", "inverter plus")
        keys.tab_to("That is it")
        assert "Right: bad lug, inverter plus" in keys.push("Right")
        assert "A short line" in keys.panel.inner_text() and lesson.errors() == [] and lesson.barriers() == []
        keys.tab_to("Hide another fault")
        assert "The crew says" in keys.push("The crew says")
        assert keys.focused() == "State of the board"
