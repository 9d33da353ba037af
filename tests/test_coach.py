"""The coach file: what is read and refused, and that writing loses nothing."""

import datetime
import os
import tomllib
import typing

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as some

from coachwork import coach, files, sections
from coachwork.quantities import KINDS, InputError, Kind, Quantity, read_quantity

SMALL = """\
# my coach
format = 1
name = "Small"          # its name

[[seasons]]
name = "summer"
night = "20:10-05:50"

# about the pump
[[loads]]
name = "Water pump"
side = "dc"
power = "85 W"          # measured
hours = "0.5 h"

# ---- on the AC side
[[loads]]
name = "Kettle"
side = "ac"
power = "1,000 W"
windows = ["06:00-06:10"]

# decisions
[energy]
margin = "20 %"
"""


def small(**replaced):
    text = SMALL
    for old, new in replaced.values():
        assert old in text
        text = text.replace(old, new)
    return text


def refusal(text):
    with pytest.raises(InputError) as caught:
        coach.parse(text, "mine.toml")
    return str(caught.value)


@pytest.fixture
def mine(tmp_path):
    path = tmp_path / "mine.toml"
    path.write_bytes(SMALL.encode())
    return path


# ------------------------------------------------------------------------------- reading


def test_a_small_file_is_read():
    read = coach.parse(SMALL)
    assert read.loads[0].power == Quantity(85, "W") and read.loads[1].power == Quantity(1, "kW")
    assert read.loads[0].count == 1 and read.loads[0].windows is None and read.loads[1].windows == ("06:00-06:10",)
    assert read.energy.margin == 0.2 and read.energy.design_season is None and read.inverter is None
    assert read.capacity.nominal_voltage == Quantity(12, "V")


def one(old, new):
    return {"a": (old, new)}


PUMP = 'mine.toml, loads[1] "Water pump"'
PUMP_POWER = 'power = "85 W"'
WANTED_POWER = 'wanted is a power in W, for example "85 W"'
BAD_VALUES = {
    "negative power": (one('"85 W"', '"-85 W"'), f'{PUMP}.power: "-85 W" is out of range; wanted is a power of at least 0 W'),
    "energy for power": (one('"85 W"', '"60 Wh"'), f'{PUMP}.power: "60 Wh" is energy; {WANTED_POWER} (watt-hours are energy'),
    "arithmetic": (one('"85 W"', '"9**9**9**9 W"'), f'{PUMP}.power: "9**9**9**9 W" is not one plain number'),
    "no unit": (one('"85 W"', '"85"'), f'{PUMP}.power: "85" has no unit; {WANTED_POWER}'),
    "a bare number": (one('"85 W"', "85"), f'{PUMP}.power: "85" is not text with a unit; {WANTED_POWER}'),
    "nan": (one('"85 W"', '"nan W"'), f'{PUMP}.power: "nan W" does not start with a number'),
    "infinity": (one('"85 W"', '"inf W"'), f'{PUMP}.power: "inf W" does not start with a number'),
    "infinite by size": (one('"85 W"', '"9e999 W"'), f'{PUMP}.power: "9e999 W" is too large'),
    "nan of TOML": (one(PUMP_POWER, PUMP_POWER + "\nduty = nan"), f'{PUMP}.duty: "nan" is not a finite number'),
    "infinity of TOML": (one(PUMP_POWER, PUMP_POWER + "\ncount = inf"), f'{PUMP}.count: "inf" is not a finite number'),
    "a number of 400 digits": (one(PUMP_POWER, PUMP_POWER + "\ncount = 1" + "0" * 400), f"{PUMP}.count: "),
    "a number of 5000 digits": (one(PUMP_POWER, PUMP_POWER + "\ncount = 1" + "0" * 5000), "mine.toml: it is not TOML"),
    "duty above 100 %": (one(PUMP_POWER, PUMP_POWER + '\nduty = "120 %"'), f'{PUMP}.duty: "120 %" is out of range; wanted is '
                         'a fraction of at most 100 %, for example "85 %"'),
    "duty above 1": (one(PUMP_POWER, PUMP_POWER + "\nduty = 1.2"), f'{PUMP}.duty: "1.2" is out of range'),
    "yes for a number": (one(PUMP_POWER, PUMP_POWER + "\nduty = true"), f"{PUMP}.duty: "),
    "more than a day": (one('"0.5 h"', '"30 h"'), f'{PUMP}.hours: "30 h" is out of range; wanted is a time a day of at most 24 h'),
    "unknown key": (one(PUMP_POWER, 'pwr = "85 W"'), f'{PUMP}.pwr: there is no key "pwr" here; wanted is one of name, group'),
    "nearest key": (one(PUMP_POWER, 'pwr = "85 W"'), '(did you mean "power"?)'),
    "unknown section": (one("[energy]", "[enrgy]"), 'mine.toml, enrgy: there is no key "enrgy" here'),
    "a list for text": (one('"Water pump"', '["Water pump"]'), "mine.toml, loads[1].name: "),
    "a date for text": (one('"Water pump"', "2025-01-01"), 'mine.toml, loads[1].name: "2025-01-01" stands there'),
    "two lines in a name": (one('"Water pump"', '"Water\\npump"'), "mine.toml, loads[1] \"Water pump\".name: "),
    "an empty name": (one('"Water pump"', '" "'), "mine.toml, loads[1] \" \".name: "),
    "duplicate load": (one('"Kettle"', '"water pump"'), 'mine.toml, loads[2]: the name "water pump" stands there a second time; '
                       'wanted is a name of its own for each, for example "water pump 2"'),
    "unknown side": (one('side = "dc"', 'side = "DC"'), f'{PUMP}.side: "DC" stands there; wanted is a side: dc, ac, for example "dc"'),
    "missing side": (one('side = "dc"\n', ""), f"{PUMP}.side: it is missing; wanted is side on which it is connected"),
    "power and current": (one(PUMP_POWER, PUMP_POWER + '\ncurrent = "4 A"\nvoltage = "12 V"'),
                          f"{PUMP}: power and current and voltage given; wanted is either power, or current with voltage"),
    "current without voltage": (one(PUMP_POWER, 'current = "4 A"'), f"{PUMP}: current given; wanted is either power, or"),
    "no power": (one(PUMP_POWER, ""), f"{PUMP}: neither power nor current given"),
    "hours and windows": (one('"0.5 h"', '"0.5 h"\nwindows = ["06:00-07:00"]'), f"{PUMP}: both of hours and windows given"),
    "no hours": (one('hours = "0.5 h"', ""), f"{PUMP}: neither of hours and windows given; wanted is either hours a day or"),
    "bad clock": (one("06:00-06:10", "06:00-25:10"), 'mine.toml, loads[2] "Kettle".windows[1]: "25:10" is not a time of day'),
    "empty window": (one("06:00-06:10", "06:00-06:00"), '"06:00-06:00" starts and ends at the same time'),
    "text for a list": (one('["06:00-06:10"]', '"06:00-06:10"'), '"Kettle".windows: "06:00-06:10" stands there; wanted is a list'),
    "unknown season": (one(PUMP_POWER, PUMP_POWER + '\nseasons = ["sumer"]'), f'{PUMP}.seasons: "sumer" is not a season of this '
                       'file; wanted is one of summer, for example "summer"'),
    "unknown design season": (one("[energy]", '[energy]\ndesign_season = "fall"'), 'mine.toml, energy.design_season: "fall" is'),
    "month 13": (one('night = "20', 'months = [13]\nnight = "20'), 'seasons[1] "summer".months[1]: "13" stands there; wanted is a'),
    "month twice": (one('night = "20', 'months = [6, 6]\nnight = "20'), "mine.toml, seasons: a month stands there twice"),
    "no seasons": (one('[[seasons]]\nname = "summer"\nnight = "20:10-05:50"\n', ""), "mine.toml, seasons: it is missing"),
    "a table for a list": (one("[[seasons]]", "[seasons]"), "mine.toml, seasons: "),
    "a list for a table": (one("[energy]", "[[energy]]"), "mine.toml, energy: "),
    "two of three points": (one("[energy]", '[inverter]\nrated_power = "9 W"\nidle = "1 W"\nefficiency = [ {power = "9 W", efficiency '
                            '= 0.9}, {power = "9 W", efficiency = 0.9} ]\n[energy]'), "mine.toml, inverter.efficiency: 2 points stand"),
    "limit without amount": (one("[energy]", '[[circuits]]\nname = "a"\nfrom = "b"\nto = "c"\npurpose = "load"\nlength = "1 m"\n'
                             'current = "1 A"\nexisting = "limit"\n[energy]'), 'circuits[1] "a": existing is "limit" and limit is absent'),
    "no length": (one("[energy]", '[[circuits]]\nname = "a"\nfrom = "b"\nto = "c"\npurpose = "load"\ncurrent = "1 A"\n[energy]'),
                  'circuits[1] "a".length: it is missing; wanted is a value for every circuit that is not removed'),
    "nearest purpose": (one("[energy]", '[[circuits]]\nname = "a"\nfrom = "b"\nto = "c"\npurpose = "smoke alam"\nlength = "1 m"\n'
                        'current = "1 A"\n[energy]'), 'for example "smoke alarm"'),
    "several at once": (one("85 W", "85 V"), "is voltage"),
    "newer format": (one("format = 1", "format = 7"), "mine.toml: its format is 7, from a newer workbook; wanted is format 1 or older"),
    "format 0": (one("format = 1", "format = 0"), 'mine.toml: its format is "0"'),
    "no format": (one("format = 1", ""), "mine.toml: it has no format; wanted is the format of the file in its first line, for example"),
    "format as text": (one("format = 1", 'format = "1"'), 'mine.toml: its format is "1"'),
    "not TOML": (one("[energy]", "[energy"), "mine.toml: it is not TOML"),
    "brackets too deep": (one('"85 W"', "[" * 100_000), "mine.toml: it is not TOML"),
    "key twice": (one(PUMP_POWER, f"{PUMP_POWER}\n{PUMP_POWER}"), "mine.toml: it is not TOML"),
}  # fmt: skip


@pytest.mark.parametrize("case", BAD_VALUES)
def test_a_bad_value_gets_one_sentence_and_the_file_stays(case, mine):
    change, said = BAD_VALUES[case]
    mine.write_text(small(**change))
    before = mine.read_bytes()
    with pytest.raises(InputError) as caught:
        coach.read(mine)
    assert said in str(caught.value)
    assert str(caught.value).endswith(".") and "\n" not in str(caught.value)
    assert mine.read_bytes() == before and os.listdir(mine.parent) == [mine.name]


def test_of_several_errors_the_first_is_told_and_the_others_counted():
    text = refusal(SMALL.replace('"85 W"', '"85 V"').replace('"0.5 h"', '"x"').replace("06:10", "26:10"))
    assert text.startswith(f"{PUMP}.power:") and text.endswith("(and 2 more to mend).")


BAD_FILES = {
    "empty": (b"", "mine.toml: it is empty; wanted is a coach file"),
    "blank": (b"\n \n", "mine.toml: it is empty"),
    "not UTF-8": (SMALL.encode().replace(b"Small", b"Sm\xe4ll"), "mine.toml: byte 33 is not UTF-8; wanted is"),
    "not text": (bytes(range(256)), "is not UTF-8; wanted is a text saved as UTF-8"),
    "10 MB": (SMALL.encode() + b"#" * 10_000_000, "mine.toml: it is too large for a coach file; wanted is at most 1,000,000 b"),
}


@pytest.mark.parametrize("case", BAD_FILES)
def test_a_bad_file_gets_one_sentence_and_stays(case, mine):
    content, said = BAD_FILES[case]
    mine.write_bytes(content)
    with pytest.raises(InputError) as caught:
        coach.read(mine)
    assert said in str(caught.value)
    assert mine.read_bytes() == content and os.listdir(mine.parent) == [mine.name]


@pytest.mark.parametrize("path", ["missing.toml", "", "no\0name"])
def test_a_missing_file_gets_one_sentence(tmp_path, path):
    with pytest.raises(InputError, match="it cannot be read .* wanted is the path of a coach file, for example"):
        coach.read(tmp_path / path)


def test_an_older_format_is_migrated(monkeypatch, mine):
    def names_were_titles(tree):
        return {**{key: tree[key] for key in tree if key != "title"}, "format": 2, "name": tree["title"]}

    mine.write_text(SMALL.replace('name = "Small"', 'title = "Small"'))
    monkeypatch.setattr(coach, "FORMAT", 2)
    monkeypatch.setitem(coach.MIGRATIONS, 1, names_were_titles)
    read = coach.read(mine)
    assert (read.format, read.name) == (2, "Small")
    assert read.changed("energy", margin=0.3).save().energy.margin == 0.3
    written = mine.read_text()
    assert "format = 2" in written and 'name = "Small"' in written and "title" not in written and "# measured" in written


def test_windows_line_ends_and_byte_order_mark_are_read_and_kept(mine):
    mine.write_bytes(b"\xef\xbb\xbf" + SMALL.replace("\n", "\r\n").encode())
    read = coach.read(mine)
    assert read == coach.parse(SMALL)
    read.changed("loads", "Fan", side="dc", power="20 W", hours="3 h").changed("energy", margin=0.3).save()
    written = mine.read_bytes()
    assert written.startswith(b"\xef\xbb\xbf#") and written.count(b"\n") == written.count(b"\r\n") > 20
    assert b'power = "85 W"          # measured\r\n' in written


def test_a_path_with_spaces_and_accents_works(tmp_path):
    path = tmp_path / "mi cáravan no 2 é" / "été à la mer.toml"
    path.parent.mkdir()
    path.write_text(SMALL, encoding="utf-8")
    coach.read(path).changed("energy", margin=0.3).save()
    assert coach.read(path).energy.margin == 0.3
    assert sorted(os.listdir(path.parent)) == ["été à la mer.previous.toml", "été à la mer.toml"]


# ------------------------------------------------------------------------------- changing


def test_a_change_is_a_new_coach():
    before = coach.parse(SMALL)
    after = before.changed("loads", "Water pump", power=Quantity(60, "W"), standby="1 W").changed("energy", margin=None)
    assert before == coach.parse(SMALL) and before.energy.margin == 0.2
    assert after.loads[0].power == Quantity(60, "W") and after.energy.margin is None and after.loads[1] == before.loads[1]
    assert [load.name for load in after.changed("loads", "Kettle", name="Pot").loads] == ["Water pump", "Pot"]
    assert [load.name for load in after.without("loads", "Water pump").loads] == ["Kettle"]
    circuit = after.changed("circuits", "Feed", from_="bank", to="bus", length="2 ft", current="9 A", purpose="bank").circuits[0]
    assert (circuit.from_, circuit.length) == ("bank", Quantity(2, "ft"))
    assert before.changed("", name="Other").name == "Other"


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (lambda c: c.changed("loads", "Water pump", power="60 Wh"), '"Water pump".power: "60 Wh" is energy'),
        (lambda c: c.changed("loads", "Fan", power="60 W"), 'loads[3] "Fan".side: it is missing'),
        (lambda c: c.changed("energy", marign=0.2), 'did you mean "margin"?'),
        (lambda c: c.changed("enrgy", margin=0.2), '"enrgy" is no section of a coach file'),
        (lambda c: c.without("loads", "Fan"), 'there is no "Fan"; wanted is one of Water pump, Kettle'),
    ],
)
def test_a_bad_change_is_refused(change, said):
    with pytest.raises(InputError) as caught:
        change(coach.parse(SMALL))
    assert said in str(caught.value)


# ------------------------------------------------------------------------------- writing


def saved(mine, *changes):
    """Lines that went and lines that came when a file is changed and saved."""
    before = mine.read_text().splitlines()
    now = coach.read(mine)
    for section, row, values in changes:
        now = now.changed(section, row, **values) if values else now.without(section, row)
    now.save()
    after = mine.read_text().splitlines()
    return [line for line in before if line not in after], [line for line in after if line not in before]


def test_saving_changes_only_what_changed(mine):
    assert saved(mine, ("energy", "", {"margin": 0.25})) == (['margin = "20 %"'], ["margin = 0.25"])
    assert saved(mine, ("loads", "Water pump", {"power": "90 W"})) == (
        ['power = "85 W"          # measured'], ['power = "90 W"          # measured'])  # fmt: skip


def test_rows_come_and_go_and_comments_stay_where_they_belong(mine):
    saved(mine, ("loads", "Fan", {"side": "dc", "power": "20 W", "hours": "3 h"}), ("loads", "Water pump", {}))
    expected = SMALL.replace('[[loads]]\nname = "Water pump"\nside = "dc"\npower = "85 W"          # measured\nhours = "0.5 h"\n', "")
    added = '\n[[loads]]\nname = "Fan"\nside = "dc"\npower = "20 W"\nhours = "3 h"\n'
    expected = expected.replace('windows = ["06:00-06:10"]\n', 'windows = ["06:00-06:10"]\n' + added)
    assert mine.read_text() == expected


def test_what_stands_already_is_not_written(mine):
    read = coach.read(mine)
    stamp = mine.stat().st_mtime_ns
    assert read.save() == read == read.decide("energy", margin=0.2)
    assert mine.stat().st_mtime_ns == stamp and os.listdir(mine.parent) == [mine.name]


def test_the_version_before_is_kept(mine):
    coach.read(mine).decide("energy", margin=0.3).decide("energy", margin=0.4)
    assert coach.read(mine).energy.margin == 0.4
    assert coach.read(mine.with_name("mine.previous.toml")).energy.margin == 0.3


def test_a_file_that_changed_meanwhile_is_not_overwritten(mine):
    first, second = coach.read(mine), coach.read(mine)
    first.decide("energy", margin=0.3)
    standing = mine.read_bytes()
    with pytest.raises(InputError, match="changed since it was read, so it is left as it is"):
        second.decide("energy", margin=0.5)
    assert mine.read_bytes() == standing


def test_a_cell_run_again_finds_its_decision_standing(mine):
    read = coach.read(mine)
    read.decide("energy", margin=0.3)
    standing = mine.read_bytes()
    assert read.decide("energy", margin=0.3).energy.margin == 0.3
    assert mine.read_bytes() == standing


def test_another_file_is_not_overwritten(mine, tmp_path):
    other = tmp_path / "other.toml"
    other.write_text("keep me")
    with pytest.raises(InputError, match="is another one"):
        coach.read(mine).save(other)
    with pytest.raises(InputError, match="is another one"):
        coach.parse(SMALL).save(mine)
    with pytest.raises(InputError, match="no file is named"):
        coach.parse(SMALL).save()
    assert other.read_text() == "keep me" and mine.read_text() == SMALL
    assert coach.read(mine).save(tmp_path / "new" / "third.toml").path == tmp_path / "new" / "third.toml"


@pytest.mark.parametrize("broken", ["replace", "fsync"])
def test_a_save_interrupted_half_way_leaves_the_old_file_whole(mine, monkeypatch, broken):
    def fails(*_):
        raise OSError(28, "No space left on device")

    read = coach.read(mine)
    monkeypatch.setattr(files.os, broken, fails)
    with pytest.raises(InputError, match="cannot be written .No space left on device."):
        read.decide("energy", margin=0.3)
    assert mine.read_text() == SMALL and os.listdir(mine.parent) == [mine.name]


def test_a_save_interrupted_at_the_last_step_leaves_the_old_file_whole(mine, monkeypatch):
    replace = os.replace

    def fails_for_the_coach(draft, path):
        if os.path.basename(path) == mine.name:
            raise KeyboardInterrupt
        replace(draft, path)

    read = coach.read(mine)
    monkeypatch.setattr(files.os, "replace", fails_for_the_coach)
    with pytest.raises(KeyboardInterrupt):
        read.decide("energy", margin=0.3)
    assert mine.read_text() == SMALL and sorted(os.listdir(mine.parent)) == ["mine.previous.toml", mine.name]
    assert mine.with_name("mine.previous.toml").read_text() == SMALL


def test_a_link_stays_a_link(mine, tmp_path):
    link = tmp_path / "link.toml"
    link.symlink_to(mine)
    coach.read(link).decide("energy", margin=0.3)
    assert link.is_symlink() and coach.read(mine).energy.margin == 0.3


ODD = """\
format = 1
name = "Odd"
seasons = [{name="summer", night="20:00-05:00"}, {name = "winter", night="17:00-07:00"}] # in one line
energy.margin = 0.2
energy.wiring_loss = "2 %"
capacity = { nominal_voltage = "12 V" } # in braces
equipment = []
[inverter]
rated_power = "2 kW"
idle = "9 W"
[[inverter.efficiency]]
power = "9 W"
efficiency = 0.5
[[inverter.efficiency]]
power = "90 W"
efficiency = 0.9
[[inverter.efficiency]]
power = "900 W"
efficiency = 0.9
[[loads]]
name = "A"
side = "dc"
power = "5 W"
hours = "2 h"
[coach]
kind = "other"
[[loads]]
name = \'\'\'B\'\'\'
side = 'dc'
power = "5 W"
hours = "2 h\""""
POINTS = [{"power": f"{watts} W", "efficiency": 0.9} for watts in (1, 2, 3)]


@pytest.mark.parametrize(
    "change",
    [
        lambda c: c.changed("energy", margin=0.3, design_season="winter"),
        lambda c: c.changed("energy", margin=None),
        lambda c: c.changed("capacity", chemistry="AGM"),
        lambda c: c.changed("seasons", "fall", night="18:00-06:00"),
        lambda c: c.without("seasons", "summer"),
        lambda c: c.changed("seasons", "winter", name="cold", months=[1, 2]),
        lambda c: c.changed("loads", "C", side="dc", power="3 W", hours="1 h"),
        lambda c: c.without("loads", "A"),
        lambda c: c.without("loads", "B"),
        lambda c: c.without("loads", "A").without("loads", "B"),
        lambda c: c.changed("loads", "B", power="9 W"),
        lambda c: c.changed("inverter", efficiency=POINTS, on=["05:00-06:00"]),
        lambda c: c.changed("equipment", "Box", kind="other"),
        lambda c: c.changed("", about="one line\nand another"),
    ],
)
def test_other_ways_of_writing_toml_can_be_changed(change):
    odd = coach.parse(ODD)
    changed = files.edit_toml(ODD, odd.plain(), change(odd).plain())
    assert coach.parse(changed) == change(odd) != odd


# ------------------------------------------------------------------------------- the reader's coach


def test_an_empty_home_has_the_main_demo_and_equal_decisions_write_nothing(home):
    now = coach.current()
    assert now.path == coach.main_demo()
    assert now.decide("energy", margin=now.energy.margin, design_season=now.energy.design_season) is now
    assert os.listdir(home) == []


def test_a_demo_decided_upon_becomes_the_readers_copy(home):
    before = {path: path.read_bytes() for path in coach.demos()}
    decided = coach.current().decide("energy", margin=0.31)
    assert decided.path == home / coach.main_demo().name and coach.current() == decided
    assert decided.decide("energy", margin=0.32).path == decided.path
    assert {path: path.read_bytes() for path in coach.demos()} == before


def test_the_choice_is_remembered(home, mine):
    assert coach.choose(mine).name == "Small" == coach.current().name
    assert coach.choose(coach.demos()[-1]).path == coach.demos()[-1]
    with pytest.raises(InputError):
        coach.choose(mine.with_name("missing.toml"))
    assert coach.current().path == coach.demos()[-1]


def test_a_chosen_file_that_is_gone_is_named(home, mine):
    coach.choose(mine)
    mine.unlink()
    with pytest.raises(InputError, match="mine.toml: it cannot be read"):
        coach.current()


# ------------------------------------------------------------------------------- the demo coaches and the equipment


@pytest.mark.parametrize("path", coach.demos(), ids=lambda path: path.stem)
def test_a_demo_coach_is_complete(path):
    assert "invented" in path.read_text(encoding="utf-8").splitlines()[0]
    demo = coach.read(path)
    assert 12 <= len(demo.loads) <= 20 and {load.side for load in demo.loads} == {"dc", "ac"}
    assert sorted(month for season in demo.seasons for month in season.months) == list(range(1, 13))
    assert None not in (demo.energy.margin, demo.energy.design_season, demo.energy.wiring_loss, demo.inverter)
    surveyed = {circuit.purpose for circuit in demo.circuits}
    absent = {
        "travel trailer": {"emergency-start solenoid"},
        "class C": {"breakaway brake", "tow charge line"},
        "class B van": {"breakaway brake", "tow charge line", "slide or jack"},
    }[demo.coach.kind]
    assert set(sections.DANGEROUS) - surveyed == absent
    assert {circuit.existing for circuit in demo.circuits} >= {"keep", "remove", None}
    assert files.edit_toml(path.read_text(encoding="utf-8"), demo.plain(), demo.plain()) == path.read_text(encoding="utf-8")


SHEET = {
    "nominal_voltage": "voltage", "idle_search": "power", "idle_off": "power", "apparent_power": "apparent power",
    "surge_power": "power", "surge_time": "time", "cut_off": "voltage", "restart": "voltage", "highest_voltage": "voltage",
    "highest_current": "current", "ripple_current": "current", "mass": "mass", "price_low": "price", "price_high": "price",
}  # fmt: skip


def test_the_invented_inverters_have_complete_sheets_and_the_demos_use_them():
    text = (coach.DEMOS.parent / "equipment" / "inverters.toml").read_text(encoding="utf-8")
    sheets = tomllib.loads(text)["inverter"]
    known = {}
    for sheet in sheets:
        ours = sections.Inverter(**{key: sheet.pop(key) for key in ("name", "rated_power", "idle", "efficiency")})
        assert ours.name.endswith(", invented")
        known[ours.name] = ours
        assert read_quantity(sheet.pop("capacitance")).check("F") and read_quantity(sheet.pop("derating")).check("1/K")
        assert set(sheet) == set(SHEET)
        read = {key: KINDS[SHEET[key]].read(value) for key, value in sheet.items()}
        assert ours.rated_power < read["surge_power"] and read["price_low"] < read["price_high"]
        assert read["cut_off"] < read["restart"] < read["highest_voltage"]
        # the most that it draws: rated power at the cut-off voltage and its efficiency there
        assert ours.rated_power / ours.efficiency[-1].efficiency / read["cut_off"] < read["highest_current"]
    for path in coach.demos():
        demo = coach.read(path).inverter
        sheet = known[demo.name]
        assert (demo.rated_power, demo.idle, demo.efficiency) == (sheet.rated_power, sheet.idle, sheet.efficiency)


# ------------------------------------------------------------------------------- properties

# Any coach that the models allow: the strategies are made from the models, so a new section is covered too.
names = some.text(some.characters(exclude_categories=("Cc", "Cs", "Zl", "Zp")), min_size=1, max_size=80).filter(str.strip)
clocks = some.builds("{:02d}:{:02d}".format, some.integers(0, 23), some.integers(0, 59))
year_days = some.dates(datetime.date(2001, 1, 1), datetime.date(2001, 12, 31)).map("{:%m-%d}".format)
windows = some.tuples(clocks, clocks).filter(lambda pair: pair[0] != pair[1]).map("-".join)


def fits(reader):
    def read(value):
        try:
            return reader.read(value) is not None
        except InputError:
            return False

    return read


def values(annotation, marks=()):
    """Values for an annotation of the coach file, with its Kind or Reads among the marks."""
    for mark in (*marks, *getattr(annotation, "__metadata__", ())):
        if isinstance(mark, Kind):
            high = 1e12 if mark.high is None else mark.high
            numbers = some.floats(mark.low or 0, high) | some.integers(0, int(min(high, 5000)))
            if mark.plain:
                return numbers.filter(fits(mark))
            units = some.sampled_from([mark.unit, read_quantity(mark.example).units])
            return some.builds(Quantity, numbers, units).filter(fits(mark))
        if isinstance(mark, sections.Reads):
            if mark.options:
                return some.sampled_from(mark.options)
            known = {"x": names, "06:00-08:30": windows, "04-06": year_days, 1: some.integers(1, 12)}
            return next(one for sample, one in known.items() if fits(mark)(sample))
    inner = [one for one in typing.get_args(annotation) if one not in (type(None), ...)]
    if typing.get_origin(annotation) is tuple:
        unique = (lambda row: row["name"].casefold()) if "name" in getattr(inner[0], "model_fields", ()) else None
        return some.lists(values(inner[0]), max_size=3, unique_by=unique)
    return values(inner[0]) if inner else tables(annotation)


def tables(model):
    fields = {field.alias or name: field for name, field in model.model_fields.items()}
    some_of = {key: values(field.annotation, field.metadata) for key, field in fields.items()}
    required = {key: one for key, one in some_of.items() if fields[key].is_required()}
    optional = {key: one for key, one in some_of.items() if key not in required}
    return some.fixed_dictionaries(required, optional=optional).map(MENDED.get(model, lambda table: table))


def mended_load(load):
    if not {"current", "voltage"} <= set(load):
        load = {"power": Quantity(1.5, "W"), **{key: load[key] for key in load if key not in ("current", "voltage")}}
    else:
        load = {key: load[key] for key in load if key != "power"}
    if not load.get("windows"):
        return {"hours": "30 min", **{key: load[key] for key in load if key != "windows"}}
    return {key: load[key] for key in load if key != "hours"}


def mended_circuit(circuit):
    circuit = {"length": "2 ft", "current": "3 A", **circuit}
    if circuit.get("existing") == "limit":
        return {"limit": "1 A", **circuit}
    return {key: circuit[key] for key in circuit if key != "limit"}


def mended_coach(tree):
    """Seasons with months of their own, and loads that name one of them."""
    tree = {**tree, "format": 1, "seasons": tree["seasons"] or [{"name": "all year", "night": "19:00-07:00"}]}
    for number, season in enumerate(tree["seasons"]):
        season["months"] = [1 + number + 3 * month for month in range(len(season.get("months", [])))]
    season = tree["seasons"][-1]["name"]
    for load in tree.get("loads", []):
        load["seasons"] = [season for _ in load.get("seasons", [])]
    if tree.get("energy", {}).get("design_season"):
        tree["energy"]["design_season"] = season
    return tree


def mended_inverter(inverter):
    points = [{"power": f"{at + 1}.5 W", "efficiency": 1 - at / 8} for at in range(3)]
    return {**inverter, "efficiency": points}


def mended_trip(trip):
    return {key: trip[key] for key in trip if key not in ("times", "every")}


MENDED = {sections.Load: mended_load, sections.Trip: mended_trip, sections.Circuit: mended_circuit, sections.Inverter: mended_inverter, coach.Coach: mended_coach}
coaches = tables(coach.Coach).map(coach.Coach.model_validate)
LARGE = [HealthCheck.too_slow, HealthCheck.data_too_large, HealthCheck.large_base_example]  # a coach is large
bounded = settings(deadline=None, max_examples=25, suppress_health_check=LARGE)


@bounded
@given(coaches)
def test_any_coach_can_be_saved_and_read_back_equal(tmp_path_factory, built):
    assert built.save(tmp_path_factory.mktemp("any") / "any.toml") == built


@bounded
@given(coaches, coaches, some.booleans())
def test_any_file_can_be_changed_into_any_coach(before, after, windows_ends):
    text = files.edit_toml("", {}, before.plain())
    text = text.replace("\n", "\r\n") if windows_ends else text
    changed = files.edit_toml(text, before.plain(), after.plain())
    assert coach.parse(changed) == after
    assert changed.count("\r\n") == (changed.count("\n") if windows_ends else 0)


@settings(bounded, max_examples=8)
@given(coaches)
def test_the_demo_file_can_be_changed_into_any_coach(after):
    text = coach.main_demo().read_text(encoding="utf-8")
    assert coach.parse(files.edit_toml(text, coach.parse(text).plain(), after.plain())) == after


@settings(deadline=None, max_examples=200)
@given(some.text(max_size=300) | some.builds(lambda at, put: SMALL[:at] + put + SMALL[at + 3 :], some.integers(0, len(SMALL)),
                                             some.text(max_size=4)))  # fmt: skip
def test_any_text_is_a_coach_or_is_refused_with_our_own_error(text):
    try:
        assert isinstance(coach.parse(text), coach.Coach)
    except InputError as error:
        assert str(error)


def test_a_key_without_end_is_cut_in_the_sentence(tmp_path):
    path = tmp_path / "long.toml"
    path.write_text(coach.main_demo().read_text("utf-8").replace("[coach]", "[coach]\n" + "a" * 5000 + " = 1", 1), "utf-8")
    with pytest.raises(InputError) as refusal:
        coach.read(path)
    assert len(str(refusal.value)) < 600 and "aaa..." in str(refusal.value)
