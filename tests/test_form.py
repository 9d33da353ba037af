"""The form: it says what the coach file says, loses nothing that was typed, writes what coach.py writes."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as some
from pydantic import Field

import browser
from coachwork import coach, sections
from coachwork.page import widgets
from coachwork.page.draft import Draft, fields_of, label_of, read_value, shape, split, values_text
from coachwork.page.form import EMPTY_CHOICE, NOT_SAVED, form
from coachwork.quantities import Length, Q

FRACTION = sections.reader_of(sections.Load.model_fields["duty"])


class Hand:
    """What a reader does, as the front end reports it."""

    def __init__(self):
        self.form = form()

    def say(self, press="", **texts):
        """Set parts and perhaps press a button; a part's name is written with _ for : and . here."""
        known = {name.replace(":", "_").replace(".", "_"): name for name in widgets.leaves(self.form._own)}
        values = {name: self.form.settings[name] for name in known.values()}
        values |= {known[name]: text for name, text in texts.items()}
        self.form._answer(None, dict(view="v", number=1, ratio=1, press=press, values=values), [])
        return self.form.result

    def page(self, key):
        options = widgets.leaves(self.form._own)["page"]["options"]
        self.say(page=next(words for words in options if words.startswith(label_of(key))))

    def note(self, name):
        return self.form.notes.get(name, ["", ""])[1]

    def open_empty(self):
        self.say("open", **{"from": EMPTY_CHOICE})


@pytest.fixture
def hand(home):
    return Hand()


def in_home(home):
    return sorted(path.name for path in home.iterdir())


# ------------------------------------------------------------------------------- the same as the file


@pytest.mark.parametrize("path", coach.demos(), ids=lambda path: path.stem)
def test_a_demo_opened_and_saved_is_the_same_file(path, home):
    described = coach.read(path)
    draft = Draft(described)
    assert draft.read() == (described, {})
    coach.choose(path)
    hand = Hand()
    assert hand.say("save").startswith(f"Saved as {path.name}")
    assert coach.current().path.parent == home and coach.current().path.read_bytes() == path.read_bytes()


def controls(model, path=()):
    for key, field in fields_of(model).items():
        what, of = shape(field)
        if what in ("table", "tables"):
            yield from controls(of, (*path, key, *[0] * (what == "tables")))
        else:
            yield (*path, key)


def test_every_field_of_the_file_has_a_control(hand):
    """Each section is opened, each list given a row: then every field that has a description is on a page."""
    hand.open_empty()
    shown = set()
    for _ in range(3):  # what lies inside a section appears once the section is there
        for key in [
            "name",
            *[key for key, field in fields_of(coach.Coach).items() if shape(field)[0][:5] == "table"],
        ]:
            hand.page(key)
            for name in [part["name"] for part in buttons(hand.form._own) if part["name"].startswith("add:")]:
                if not hand.form.draft.at(tuple(int(s) if s.isdecimal() else s for s in name[4:].split("."))):
                    hand.say(name)
            shown |= {name[3:] for name in widgets.leaves(hand.form._own) if name.startswith("at:")}
    assert {".".join(map(str, path)) for path in controls(coach.Coach)} <= shown
    without = [name for name, field in coach.Coach.model_fields.items() if not field.description]
    assert without == ["format"]


def buttons(parts):
    for part in parts:
        if part["kind"] == "group":
            yield from buttons(part["parts"])
        elif part["kind"] == "button":
            yield part


class Roof(sections.Section):
    """[roof]: a section that a later lesson might add."""

    free_length: Length | None = Field(None, description="length of roof without vents")


def test_a_new_section_appears_by_itself(home, monkeypatch):
    class Wider(coach.Coach):
        roof: Roof = Field(Roof(), description="what the roof offers")

    monkeypatch.setattr(coach, "Coach", Wider)
    hand = Hand()
    hand.page("roof")
    hand.say("save", at_roof_free_length="11 ft")
    assert 'free_length = "11 ft"' in coach.current().path.read_text()


def test_a_change_writes_what_coach_py_writes(hand, home):
    by_code = (
        coach.current()
        .changed("loads", "Roof fan", power="25 W", duty="40 %")
        .changed("", name="Ours")
        .save(home / "a.toml")
    )
    hand.say(at_name="Ours")
    hand.page("loads")
    hand.say(row_loads="5. Roof fan")
    hand.say("save", at_loads_4_power="25 W", at_loads_4_duty="40 %")
    assert (home / "ours.toml").read_bytes() == by_code.path.read_bytes()
    assert coach.current().path == home / "ours.toml"


@settings(max_examples=15, deadline=None)
@given(some.floats(0, 1))
def test_a_share_that_is_not_touched_keeps_every_digit(share):
    draft = Draft(coach.read(coach.main_demo()).changed("loads", "Roof fan", duty=share))
    assert draft.read()[0].loads[4].duty == share


@given(
    some.lists(
        some.text(some.characters(exclude_categories=["Cc", "Cs", "Zl", "Zp"]), min_size=1)
        .map(str.strip)
        .filter(bool)
    )
)
def test_several_values_in_a_line_read_back(values):
    assert [one.strip() for one in split(values_text(values))] == values


@pytest.mark.parametrize("text, value", [("85 %", "85 %"), (" 0.85 ", "0.85"), ('"85 %"', "85 %")])
def test_a_typed_value_is_read_as_the_file_reads_it(text, value):
    assert read_value(text, FRACTION, "Duty") == value


# ------------------------------------------------------------------------------- errors

BAD = {
    "energy for power": (
        dict(at_loads_0_power="60 Wh"),
        "at:loads.0.power",
        'Power: "60 Wh" is energy; wanted is a power in W, for example "85 W" (watt-hours are energy',
    ),
    "no unit": (dict(at_loads_0_power="60"), "at:loads.0.power", 'Power: "60" has no unit'),
    "arithmetic": (
        dict(at_loads_0_power="9**9**9 W"),
        "at:loads.0.power",
        'Power: "9**9**9 W" is not one plain number',
    ),
    "negative": (dict(at_loads_0_power="-60 W"), "at:loads.0.power", 'Power: "-60 W" is out of range'),
    "share above 1": (dict(at_loads_0_duty="120 %"), "at:loads.0.duty", 'Duty: "120 %" is out of range'),
    "no name": (
        dict(at_loads_0_name="  "),
        "at:loads.0.name",
        "Name: it is empty; wanted is name of the load, for example",
    ),
    "long name": (dict(at_loads_0_name="x" * 81), "at:loads.0.name", "Name: "),
    "power and amps": (
        dict(at_loads_0_current="4 A"),
        "at:loads.0.power",
        "Power: power and current given; wanted is either",
    ),
    "hours and windows": (
        dict(at_loads_0_hours="4 h"),
        "at:loads.0.hours",
        "Hours: both of hours and windows given",
    ),
    "bad clock": (
        dict(at_loads_0_windows="06:00-25:00"),
        "at:loads.0.windows",
        'Windows: "25:00" is not a time of day',
    ),
    "unknown season": (
        dict(at_loads_0_seasons="sumer"),
        "at:loads.0.seasons",
        'Seasons: "sumer" is not a season of this file',
    ),
    "name twice": (
        dict(at_loads_0_name="water PUMP"),
        "at:loads.2.name",
        'Name: the name "Water pump" stands there a second time',
    ),
    "side not chosen": (
        dict(at_loads_0_side="not stated"),
        "at:loads.0.side",
        "Side: it is empty; wanted is side on which",
    ),
}


@pytest.mark.parametrize("case", BAD)
def test_an_error_stands_beside_its_field_and_nothing_is_lost_or_written(case, hand, home):
    texts, name, said = BAD[case]
    hand.page("loads")
    hand.say(**texts)
    if name in widgets.leaves(hand.form._own) and "it is empty" not in said:
        assert hand.note(name).startswith(said)
    assert hand.say("save").startswith("Not saved. To mend first: Loads ")
    assert hand.note(name).startswith(said) and hand.form.goal[0] == name and said in hand.form.spoken
    assert in_home(home) == []
    for field, text in texts.items():
        path = tuple(int(step) if step.isdecimal() else step for step in field.split("_")[1:])
        assert hand.form.draft.at(path) == ("" if text == "not stated" else text)
    hand.page("seasons")  # what was typed is there still after a look elsewhere
    hand.page("loads")
    assert all(text in hand.form.settings.values() for text in texts.values()) or case == "name twice"


def test_all_errors_are_told_at_once_and_go_when_they_are_mended(hand):
    hand.page("loads")
    hand.say(at_loads_0_power="60 Wh", at_loads_0_duty="x")
    hand.page("circuits")
    hand.say(at_circuits_0_length="7")
    assert hand.say("save") == (
        "Not saved. To mend first: Loads 1 (Ceiling lights), Power; Loads 1 (Ceiling lights), Duty; "
        "Circuits 1 (Breakaway brake), Length."
    )
    hand.say(at_loads_0_power="4 W", at_loads_0_duty="50 %")
    assert hand.form.notes == {} and "Circuits 1" in hand.form.result and "Loads" not in hand.form.result
    hand.page("circuits")
    hand.say(at_circuits_0_length="7 ft")
    assert hand.form.result == NOT_SAVED
    assert hand.say("save").startswith("Saved")


def test_a_fresh_row_is_not_scolded_before_it_is_saved(hand):
    hand.page("loads")
    hand.say("add:loads")
    assert hand.form.goal[0] == "at:loads.16.name" and hand.form.notes == {}
    hand.say(at_loads_16_name="Kettle")
    assert hand.form.notes == {}
    assert hand.form.settings["row:loads"] == "17. Kettle"
    hand.say(at_loads_16_side="ac: through the inverter, or from shore or a generator")
    assert hand.form.notes == {}
    hand.say(at_loads_16_power="900 W")
    hand.say(at_loads_16_windows="06:00-06:10, 19:00-19:05")
    assert hand.form.notes == {}
    hand.say("save")
    assert coach.current().loads[16].windows == ("06:00-06:10", "19:00-19:05")


def test_an_error_of_a_list_stands_at_the_list(hand):
    hand.page("seasons")
    hand.say(at_seasons_0_months="5, 6, 7, 8, 9, 10")
    hand.say("save")
    assert hand.note("row:seasons").startswith("Seasons: a month stands there twice")
    hand.say(at_seasons_0_months="5, 6, 7, 8, 9, 13")
    assert hand.note("at:seasons.0.months").startswith(
        'Months: "13" stands there; wanted is a month from 1 to 12'
    )
    hand.say("remove:seasons.0")
    hand.say("remove:seasons.0")
    hand.say("save")
    assert hand.form.goal[0] == "add:seasons" and "Seasons: it is empty" in hand.form.spoken


def test_three_points_of_an_inverter(hand):
    hand.open_empty()
    hand.page("inverter")
    hand.say("add:inverter")
    hand.say(at_inverter_rated_power="2 kW", at_inverter_idle="10 W", at_inverter_efficiency_0_power="300 W",
             at_inverter_efficiency_0_efficiency="91 %")  # fmt: skip
    assert "Efficiency" in hand.say("save") and "1 points stand there" in hand.form.spoken
    assert hand.form.goal[0] == "add:inverter.efficiency" and "1 points stand there" in hand.note(
        "frame:inverter.efficiency"
    )
    hand.say(at_inverter_efficiency_1_power="1 kW", at_inverter_efficiency_1_efficiency="0.9",
             at_inverter_efficiency_2_power="2 kW", at_inverter_efficiency_2_efficiency="85 %")  # fmt: skip
    assert hand.say("save").startswith("Saved as my-coach.toml")
    assert [point.efficiency for point in coach.current().inverter.efficiency] == [0.91, 0.9, 0.85]
    hand.say("remove:inverter")
    hand.say("save")
    assert coach.current().inverter is None


# ------------------------------------------------------------------------------- opening, rows, saving


def test_a_coach_from_nearly_nothing_is_saved_under_its_name_and_chosen(hand, home):
    hand.open_empty()
    hand.say(at_name="Two on the road!", at_about="We two.\nAlways.")
    assert "Saved as two-on-the-road.toml" in hand.say("save")
    mine = coach.current()
    assert (mine.name, mine.about, mine.path) == (
        "Two on the road!",
        "We two.\nAlways.",
        home / "two-on-the-road.toml",
    )
    hand.say("save", at_name="Renamed")  # the file of a coach stays its file
    assert coach.current().name == "Renamed" and coach.current().path == mine.path


def test_opening_another_leaves_changes_only_when_asked_twice(hand):
    hand.say(at_name="Ours")
    hand.say("open", **{"from": EMPTY_CHOICE})
    assert NOT_SAVED in hand.form.result and hand.form.settings["at:name"] == "Ours"
    hand.say("open")
    assert hand.form.settings["at:name"] == "My coach" and hand.form.result == "My coach is open."


def test_a_removed_row_can_be_put_back_whole(hand):
    before = hand.form.draft.coach
    hand.page("loads")
    hand.say(row_loads="3. Water pump")
    hand.say("remove:loads.2")
    assert [load.name for load in hand.form.draft.read()[0].loads][1:3] == ["Reading lights", "Refrigerator"]
    assert hand.form.goal[0] == "add:loads"
    hand.say("back")
    assert hand.form.draft.read() == (before, {}) and hand.form.settings["row:loads"] == "3. Water pump"


def test_a_file_changed_elsewhere_is_not_overwritten(hand, home):
    hand.say("save", at_name="Ours")
    path = coach.current().path
    path.write_text(path.read_text() + "\n# by hand\n")
    assert (
        "Not saved." in hand.say("save", at_name="Ours 2") and "changed since it was read" in hand.form.result
    )
    assert path.read_text().endswith("# by hand\n") and hand.form.settings["at:name"] == "Ours 2"


def test_a_name_that_is_taken_is_refused(hand, home):
    (home / "mine.toml").write_text("# something else")
    assert "your folder has a file mine.toml already" in hand.say("save", at_name="Mine")
    assert (home / "mine.toml").read_text() == "# something else"


def test_a_broken_or_lost_choice_leaves_the_form_usable(home):
    coach.choose(coach.main_demo()).changed("", name="Ours").save(home / "ours.toml")
    coach.choose(home / "ours.toml")
    (home / "ours.toml").write_text("format = 1\n")
    hand = Hand()
    assert "ours.toml" in hand.form.result and hand.form.settings["at:name"] == "Desert trailer"
    assert "it is missing" in hand.say("open", **{"from": "ours.toml, in your folder"})


def test_text_is_the_same_every_time_and_names_no_folder(home):
    text = form().plain()
    assert text == form().plain() == form()._repr_mimebundle_()[0]["text/plain"]
    assert text.endswith("Open now: Desert trailer") and str(home) not in text


# ------------------------------------------------------------------------------- by keyboard alone


@pytest.mark.skipif(not browser.chromium(), reason=browser.NONE_FOUND)
def test_a_coach_is_described_by_keyboard_alone(lab):
    home = lab.write("90-form", "from coachwork.page import form\nform()")
    with lab.lesson("90-form") as lesson:
        lesson.run_all()
        keys = lesson.page.keyboard

        def at(name):
            """Wait until the keyboard is at a part."""
            lesson.page.wait_for_function("name => document.activeElement.id.endsWith('-' + name)", arg=name)

        def tab_to(name):
            """Press Tab until the keyboard is at a part; a later lesson may put fields between."""
            for _ in range(80):
                keys.press("Tab")
                if lesson.page.evaluate("document.activeElement.id").endswith("-" + name):
                    return
            raise AssertionError(f"Tab does not lead to {name}")

        def told(words):
            lesson.page.wait_for_function(
                "words => document.querySelector('.cw [role=status]').textContent.includes(words)", arg=words
            )

        lesson.page.get_by_label("Coach to start from").focus()
        for key in ("End", "Tab", "Enter"):
            keys.press(key)
        at("at:name")
        keys.press("Control+a")
        keys.type("Night owl")
        keys.press("Shift+Tab")
        at("page")
        keys.type("Loads")
        told("Loads: none yet.")
        keys.press("Tab")
        keys.press("Enter")
        at("at:loads.0.name")
        for name, text in (("name", "Pump"), ("side", "dc"), ("power", "60 Wh"), ("hours", "2 h")):
            if name != "name":
                tab_to(f"at:loads.0.{name}")
            keys.type(text)
            if name == "hours":
                told('"60 Wh" is energy')
        tab_to("save")
        keys.press("Space")
        at("at:loads.0.power")
        field = lesson.page.locator("[aria-invalid=true]")
        assert field.input_value() == "60 Wh"
        described = [
            lesson.page.locator(f"[id='{one}']").inner_text()
            for one in field.get_attribute("aria-describedby").split()
        ]
        assert '"60 Wh" is energy' in described[-1]
        assert lesson.barriers() == []
        keys.press("Control+a")
        keys.type("60 W")
        tab_to("save")
        keys.press("Enter")
        told("Saved as night-owl.toml")
        saved = coach.read(home / "night-owl.toml")
        assert (saved.name, saved.loads[0].name, saved.loads[0].power) == ("Night owl", "Pump", Q(60, "W"))
        assert (home / coach.CHOICE).read_text().strip() == str(saved.path)
        lesson.look("dark", 800)
        assert lesson.barriers() == []
