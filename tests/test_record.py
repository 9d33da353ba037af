"""The design record: complete for every demo coach, the same bytes twice, and nothing half-written."""

import csv
import errno
import hashlib
import html.parser
import io
import json
import math
import os
import re
import resource
import subprocess
import sys
from pathlib import Path

import matplotlib
import numpy
import pytest
from matplotlib.ft2font import FT2Font

from coachwork import coach, design, files
from coachwork.commands import record as command
from coachwork.bootstrap import Trouble
from coachwork.page import record
from coachwork.quantities import InputError, floats, read_quantity

DEMOS = coach.demos()
EVIL = "<script>alert(1)</script>"


@pytest.fixture(scope="module")
def heard():
    """Every demo coach, heard once: a dict of file name to (coach, what the topics say, record)."""
    found = {}
    for path in DEMOS:
        one = coach.read(path)
        said = design.hear(one)
        found[path.stem] = one, said, record.record(one, said)
    return found


@pytest.fixture(params=[path.stem for path in DEMOS])
def demo(request, heard):
    return heard[request.param]


@pytest.fixture
def quick(heard, monkeypatch):
    """The trailer, whose topics are not asked again and whose PDF is not set: for what happens on the disk."""
    one, said, made = heard["desert-trailer"]
    monkeypatch.setattr(design, "hear", lambda coach: said)
    monkeypatch.setattr(record, "pdf_bytes", lambda made: b"%PDF")
    return one


def page(made, name):
    return next(page for page in made["pages"] if page["id"] == name)


def words(made, name):
    return json.dumps(page(made, name)["blocks"], ensure_ascii=False)


# ------------------------------------------------------------------------------- complete


def test_pages_stand_in_order_and_none_is_empty(demo):
    one, said, made = demo
    assert [page["id"] for page in made["pages"]] == [row[0] for row in record.PAGES]
    there = {topic.topic for topic in said}
    for row, page in zip(record.PAGES, made["pages"]):
        assert page["blocks"]
        assert all(all(block["head"]) for block in page["blocks"] if "table" in block)
        assert (record.NOT_YET in json.dumps(page)) == (row[2] is not None and row[2] not in there)


def test_every_topic_that_was_heard_has_a_page(demo):
    assert {said.topic for said in demo[1]} <= {row[2] for row in record.PAGES} | {"design"}


def test_every_check_stands_on_the_one_page_misses_first(demo):
    one, said, made = demo
    every = design.all_checks(said)
    assert [row["asked"] for row in made["checks"]] == [check.asked for check in every]
    verdicts = [row["verdict"] for row in made["checks"]]
    assert verdicts == sorted(verdicts, key=["misses", "close", "meets"].index)
    shown = words(made, "checks")
    for check in every:
        for text in (check.found, check.limit, check.why, check.mend, check.source.text):
            assert json.dumps(" ".join(text.replace("A2 s", "A²·s").split()), ensure_ascii=False)[1:-1] in shown
    rows = [row for block in page(made, "checks")["blocks"] if "table" in block for row in block["rows"]]
    assert len(rows) == len(every), "a row a check"
    for row in made["checks"]:
        whole = " ".join(row["asked"].split())
        assert any(whole in line for line in rows) or sum(row["circuit"] == line[0] for line in rows) >= 1, row["asked"]


def test_a_rule_that_many_circuits_meet_is_one_table_with_a_line_for_each(heard):
    one, said, made = heard["desert-trailer"]
    tables = [block for block in page(made, "checks")["blocks"] if "table" in block]
    (carried,) = [block for block in tables if block["table"].startswith("Does its conductor carry 125 %")]
    at = carried["head"].index
    sizes = {row[0]: (row[at("conductor")], row[at("found")], row[at("wanted")]) for row in carried["rows"]}
    checks_of = [row for row in made["checks"] if "does its conductor carry 125 %" in row["asked"] and row["verdict"] == "meets"]
    assert {row["circuit"]: (row["size"], row["found"], row["limit"]) for row in checks_of} == sizes and len(sizes) > 15
    assert sizes["Furnace"][0] == "14 AWG" and sizes["Furnace"][2].startswith("at least ")
    assert not any("its class T fuse" in block["table"] for block in tables)


def test_a_limit_says_whether_it_is_the_most_or_the_least(demo):
    one, said, made = demo
    limits = {row["asked"]: row["limit"] for row in made["checks"]}
    for check in design.all_checks(said):
        assert limits[check.asked].startswith(check.side)
    assert sum(limit.startswith("at most ") for limit in limits.values()) > 20 < sum(limit.startswith("at least ") for limit in limits.values())


def test_cut_offs_and_array_voltages_are_named_by_what_they_stand_on(heard):
    one, said, made = heard["desert-trailer"]
    shown = words(made, "settings")
    for text in ("11 V, the inverter's cut-off as it is to be set here", "10.8 V, the cut-off of the modules", "10.5 V, the inverter's cut-off as its data sheet"):
        assert text in shown
    found = design.array_voltages(one)
    coldest = (-11 - 32) / 1.8
    by_hand = [1.5 * 61.2, 3 * 24.4 * 1.20, 3 * 24.4 * (1 + 0.0027 * (25 - coldest))]  # bound, table 690.7(A), coefficient
    assert [floats(row.voltage, "V") for row in found] == pytest.approx(by_hand)
    assert found[0].voltage == max(row.voltage for row in found) and all(row.basis and row.source.text for row in found)
    assert "91.8 V" in words(made, "labels") and "26 A" in words(made, "labels")


def test_an_air_conditioner_that_nobody_puts_in_is_studied_only(heard):
    for name, studied in (("desert-trailer", True), ("coast-class-c", False), ("mountain-van", True)):
        assert ("STUDIED ONLY, NOT PART OF THIS DESIGN" in words(heard[name][2], "cooling")) is studied
    assert "runs without it" in words(heard["mountain-van"][2], "cooling") and "counts what it would take" in words(heard["desert-trailer"][2], "cooling")


def test_every_new_joint_has_a_line_for_its_torque_and_the_parts_say_what_they_lack(demo):
    one, said, made = demo
    table = next(block for block in page(made, "worksheets")["blocks"] if block.get("table", "").startswith("Torque of each joint"))
    there = [(row[0], row[1]) for row in table["rows"]]
    wanted = [(row.name, end) for row in next(topic for topic in said if topic.topic == "wiring").study.rows if row.size and row.existing in ("new", "move")
              for end in (row.start, row.end)]  # fmt: skip
    assert there == wanted and ("Inverter feed", "inverter") in there
    assert {row[table["head"].index("wanted, plus")] for row in table["rows"]} == {"_" * 9}
    assert "Not listed here: bus bars" in words(made, "parts")


def test_what_no_check_looks_at_stands_right_after_the_first_page(demo):
    one, said, made = demo
    assert [page["id"] for page in made["pages"][:2]] == ["cover", "unchecked"]
    rows = made["pages"][1]["blocks"][1]["rows"]
    assert [row[0] for row in rows] == [row["what"] for row in design.unchecked()]
    named = " ".join(row[0] for row in rows)
    for word in ("Fault current on the 120 V side", "grounding conductors", "GFCI", "Torque", "Box fill", "branch", "Listings"):
        assert word in named
    assert all(cell.strip() for row in rows for cell in row)


def test_no_device_meets_whose_fault_or_interrupt_rating_is_blank(demo):
    one, said, made = demo
    devices = next(block for block in page(made, "wiring")["blocks"] if block.get("table") == "Fuses and breakers")
    at = [name.partition(" [")[0] for name in devices["head"]].index
    rows = {row[0]: row for row in devices["rows"]}
    blank = {name for name, row in rows.items() if row[at("rating")].strip("0123456789.") == "" and not all(re.search(r"\d", row[at(name)]) for name in ("interrupts", "fault most"))}
    assert {rows[name][at("verdict")] for name in blank} == {"not checked"}
    assert {"Inverter output", "Array to controller"} <= blank
    assert sum(row[at("verdict")] == "meets" for row in rows.values()) > 8
    mains = next(block for block in page(made, "wiring")["blocks"] if block.get("table", "").startswith("120 V side"))
    assert [row[0] for row in mains["rows"]] == ["Inverter output"] and mains["rows"][0][-3:] == ["not checked"] * 3


def test_the_schedule_says_what_each_ampacity_and_smallest_fault_stands_on(heard):
    one, said, made = heard["desert-trailer"]
    blocks = page(made, "wiring")["blocks"]
    rows = {row[0]: row for row in next(block for block in blocks if block.get("table") == "What each ampacity stands on")["rows"]}
    assert rows["Inverter feed"][1:3] == ["33 CFR 183.425", "single, in free air"] and "BC-5W2, 221 °F" in rows["Inverter feed"]
    assert rows["Furnace"][1] == "NEC 552.10" and rows["Inverter output"][1] == "NEC 310.16"
    texts = [block["text"] for block in blocks if "text" in block]
    (airy,) = [text for text in texts if text.startswith("Valid only in free air")]
    assert "Inverter feed" in airy and "Furnace" not in airy
    (least,) = [text for text in texts if text.startswith("Fault least is with one module")]
    found = {check["asked"].partition(":")[0]: check["found"] for check in made["checks"] if "for the smallest fault at its far end" in check["asked"]}
    shown = dict(re.findall(r"([A-Z][A-Za-z -]+?) ([\d,]+ A)", least.partition("another one: ")[2]))
    assert {"Bank to positive bus", "Inverter feed"} <= set(shown)
    assert all(found[name].startswith(f"{amps}, open within") for name, amps in shown.items())


def test_no_miss_of_a_demo_coach_stands_without_an_answer(demo):
    one, said, made = demo
    assert [check.asked for check in design.unanswered(one, said)] == []
    assert made["counts"]["unanswered"] == 0


def test_the_verdict_never_says_safe(demo):
    one, said, made = demo
    assert not re.search(r"\bsafe(ly|ty)?\b", made["verdict"], re.IGNORECASE)
    assert "Local codes and licensed practice decide." in words(made, "cover")


def test_circuits_parts_labels_and_the_diagram_are_all_there(demo):
    one, said, made = demo
    rows = next(block for block in page(made, "wiring")["blocks"] if block.get("table") == "Conductors")["rows"]
    stays = [circuit.name for circuit in one.circuits if circuit.existing != "remove"]
    assert [row[0] for row in rows] == ["Lead of each module", *stays]
    survey = next(block for block in page(made, "survey")["blocks"] if "table" in block)
    assert [row[0] for row in survey["rows"]] == [thing.name for thing in (*one.circuits, *one.equipment)]
    assert len([block for block in page(made, "diagram")["blocks"] if block.get("alt")]) == 2


def test_a_signature_belongs_to_one_coach_file(heard):
    one, said, made = heard["desert-trailer"]
    assert re.fullmatch(r"[0-9a-f]{12}", made["digest"]) and re.fullmatch(r"coachwork \d+\.\d+\.\d+", made["program"])
    text = json.dumps(made["coach_file"], ensure_ascii=False, sort_keys=True, separators=(",", ":"))
    assert hashlib.sha256(text.encode()).hexdigest().startswith(made["digest"])
    assert record.digest(one.changed("circuits", "Furnace", length="13 ft")) != made["digest"] == record.digest(one)
    for name in ("cover", "reviewer"):
        assert made["digest"] in words(made, name) and made["program"] in words(made, name)
    assert next(block["boxes"] for block in page(made, "reviewer")["blocks"] if "boxes" in block)[-1] == "refused"


def test_what_is_assumed_is_marked_with_its_lesson(heard):
    one = heard["desert-trailer"][0].changed("energy", margin=None)
    made = record.record(one)
    assert {"topic": "energy", "lesson": "01", "place": "margin", "value": "0.2"} in made["assumed"]
    assert "ASSUMED" in words(made, "energy") and "margin" in words(made, "assumed")
    ids = [page["id"] for page in made["pages"]]
    assert ids.index("assumed") == ids.index("checks") + 1


def test_every_word_assumed_of_the_wire_schedule_stands_on_the_page_of_the_assumed(demo):
    one, said, made = demo
    listed = {row["place"] for row in made["assumed"]}
    for row in next(topic for topic in said if topic.topic == "wiring").study.rows:
        assert {f"circuits, {row.name}, {field}" for field in row.assumed} <= listed


def test_a_topic_that_refuses_says_so_on_its_page(heard):
    one = heard["desert-trailer"][0].changed("place", weather="nowhere at all")
    made = record.record(one)
    assert "could not be worked out" in words(made, "sun") and made["checks"][0]["verdict"] == "misses"


PINNED = {  # read once from the record and looked through by hand; the trailer's are worked again below
    "desert-trailer": {"energy.energy": "3858 Wh", "capacity.usable": "5603 Wh", "sun.cold_voltage": "82.86 V",
                       "inverter.continuous": "1700 W", "wiring.bus_current": "297.3 A"},
    "coast-class-c": {"energy.energy": "6341 Wh", "capacity.usable": "9339 Wh", "sun.cold_voltage": "77.70 V",
                      "inverter.continuous": "2550 W", "wiring.bus_current": "436.6 A"},
    "mountain-van": {"energy.energy": "2847 Wh", "capacity.usable": "3681 Wh", "sun.cold_voltage": "85.59 V",
                      "inverter.continuous": "1020 W", "wiring.bus_current": "208.8 A"},
}  # fmt: skip


@pytest.mark.parametrize("name", PINNED)
def test_key_numbers_are_pinned(heard, name):
    numbers = heard[name][2]["numbers"]
    for key, text in PINNED[name].items():
        wanted = read_quantity(text)
        assert read_quantity(numbers[key]).m_as(wanted.units) == pytest.approx(wanted.magnitude, rel=1e-3), key


# ------------------------------------------------------------------------------- one coach by hand


def test_the_trailer_by_hand(heard):
    """The trailer from its file with formulas written out here: watts, hours, volts; nothing of the library."""
    numbers = heard["desert-trailer"][2]["numbers"]

    def found(name, unit):
        return read_quantity(numbers[name]).m_as(unit)

    direct = [
        4 * 6 * 0.5 * (1 + 2.5),  # ceiling lights, half of them on
        2.5 * 2 * 1.5,  # reading lights
        6 * 12 * 0.4,  # water pump, amps times its volts
        60 * 0.35 * 24,  # refrigerator
        85 * 0.30 * 15,  # furnace blower, winter
        1.5 * 2 * 24,  # alarms
        4 * 24,  # control boards
        6 * 4 * (5 + 4),  # recorders
        1.2 * 24,  # weather station
        15 * 2 * 2.5,  # telephones
        45 * 4.5 + 3 * (24 - 4.5),  # satellite terminal and its standby
    ]
    on = 17  # hours of the inverter
    alternating = {  # watts by pieces of the day: (watts, hours)
        "laptops": [(55 * 2 * 0.8, 4), (1 * 2, on - 4)],
        "cameras": [(30 * 2, 2)],
        "coffee": [(950, 0.2)],
        "oven": [(1450, 0.3), (2, on - 0.3)],
    }
    outlets = sum(watts * hours for pieces in alternating.values() for watts, hours in pieces)
    # Loss idle + a P + b P2: a and b fit 1/efficiency - 1 = idle/P + a + b P at the three points of the sheet.
    power, efficiency = numpy.array([200.0, 800.0, 2000.0]), numpy.array([0.90, 0.925, 0.88])
    rest = 1 / efficiency - 1 - 14 / power
    mean = power.mean()
    b = ((power - mean) * rest).sum() / ((power - mean) ** 2).sum()
    a = rest.mean() - b * mean
    day = numpy.zeros(24 * 60)  # watts of the outlets by minutes

    def fill(watts, *spans):
        for start, end in spans:
            day[round(start * 60) : round(end * 60)] += watts

    fill(1 * 2 + 2, (5, 22))  # standby of laptops and oven while the inverter is on
    fill(55 * 2 * 0.8 - 2, (10, 12), (19, 21))
    fill(30 * 2, (12, 14))
    fill(950, (5, 5.2))
    fill(1450 - 2, (12.5, 12.6), (18.5, 18.7))
    assert day.sum() / 60 == pytest.approx(outlets, rel=1e-3)
    conversion = (a * day + b * day**2).sum() / 60
    idle = 14 * on
    whole = sum(direct) + outlets + idle + conversion
    wiring = 0.02 * sum(direct)
    assert found("energy.energy", "Wh") == pytest.approx(1.2 * (whole + wiring), rel=6e-3)  # five-minute steps
    need = found("energy.energy", "Wh")

    rated = 3 * 240 * 12.8
    assert found("capacity.usable_new", "Wh") == pytest.approx(rated * 0.95 * 0.8, rel=1e-3)  # 50 °F keeps 95 %
    assert found("capacity.usable", "Wh") == pytest.approx(rated * 0.95 * 0.8 * 0.8, rel=1e-3)
    assert f"{100 * need / rated:.3g} %" in words(heard["desert-trailer"][2], "bank")

    coldest = (-11 - 32) / 1.8
    assert found("sun.cold_voltage", "V") == pytest.approx(3 * 24.4 * (1 + 0.0027 * (25 - coldest)), rel=1e-4)
    assert found("sun.array_current", "A") == pytest.approx(2 * 10.4 * 1.25)
    assert found("sun.ampacity", "A") == pytest.approx(2 * 10.4 * 1.25 * 1.25)

    warm = (104 - 77) / 1.8  # kelvins above the point where derating begins, 1 % of 2000 W each
    assert found("inverter.continuous", "W") == pytest.approx(2000 * (1 - 0.01 * warm), rel=1e-4)
    current = (2000 * (1 + a) + 14 + b * 2000**2) / 12.8
    assert found("wiring.bus_current", "A") > current
    points = next(block for block in page(heard["desert-trailer"][2], "inverter")["blocks"] if block.get("table") == "Current on the DC side")
    assert float(points["rows"][0][2]) == pytest.approx(current, abs=1)
    assert float(points["rows"][0][3]) == pytest.approx(math.hypot(current, (current - 14 / 12.8) / math.sqrt(2) * 0.61), rel=0.05)


# ------------------------------------------------------------------------------- three clothes


def test_json_reads_back_equal_and_holds_the_coach(demo, tmp_path):
    one, said, made = demo
    (tmp_path / "record.json").write_text(record.json_text(made), encoding="utf-8")
    assert record.read(tmp_path / "record.json") == made
    assert one.replaced(made["coach_file"]) == one


@pytest.mark.parametrize("text, wanted", [("[]", "not a design record"), ("{", "not JSON"), ('{"kind": "coachwork design record", "format": 2}', "its format is 2")])
def test_json_of_another_kind_is_refused(tmp_path, text, wanted):
    (tmp_path / "x.json").write_text(text)
    with pytest.raises(InputError, match=wanted):
        record.read(tmp_path / "x.json")


def test_the_same_coach_gives_the_same_bytes(heard):
    one, said, made = heard["mountain-van"]
    again = record.record(one, said)
    assert record.html_text(again) == record.html_text(made)
    first = record.pdf_bytes(made)
    assert first.startswith(b"%PDF") and record.pdf_bytes(again) == first
    assert record.json_text(again) == record.json_text(made)


class Outline(html.parser.HTMLParser):
    """The tags of a page, and its text."""

    def __init__(self, text):
        super().__init__()
        self.tags, self.text = [], []
        self.feed(text)

    def handle_starttag(self, tag, attributes):
        self.tags.append((tag, dict(attributes)))

    def handle_data(self, data):
        self.text.append(data)


def test_html_is_whole_by_itself_and_can_be_heard(demo):
    one, said, made = demo
    found = Outline(record.html_text(made))
    tags = [tag for tag, _ in found.tags]
    assert not {"script", "link", "img", "iframe"} & set(tags) and tags.count("h1") == 1
    targets = {attributes["id"] for _, attributes in found.tags if "id" in attributes}
    assert all(attributes["href"][1:] in targets for tag, attributes in found.tags if tag == "a")
    assert all(attributes.get("role") == "img" and len(attributes["aria-label"]) > 40 for tag, attributes in found.tags if tag == "svg")
    assert all(attributes.get("scope") for tag, attributes in found.tags if tag == "th")
    assert "url(" not in record.STYLE and "@import" not in record.STYLE


def test_a_script_for_a_name_is_only_a_name(heard, tmp_path):
    one, said, _ = heard["desert-trailer"]
    one = one.changed("", name=EVIL, about=EVIL).changed("design", owner=EVIL).changed("circuits", "Furnace", note=EVIL, to=EVIL)
    made = record.record(one, said)
    found = Outline(record.html_text(made))
    assert "script" not in [tag for tag, _ in found.tags]
    assert "".join(found.text).count(EVIL) >= 4
    assert record.pdf_bytes(made | {"pages": made["pages"][:1]}).startswith(b"%PDF")
    assert record._file_name(EVIL) == "script-alert-1-script-record"


def test_words_of_a_coach_are_never_run_by_the_typesetter(heard):
    made = heard["mountain-van"][2]
    block = {"text": '#panic("run") $ * _ @x <y> `z` \\'}
    pages = [page | {"blocks": [block]} for page in made["pages"][:1]]
    assert record.pdf_bytes(made | {"pages": pages}).startswith(b"%PDF")


def test_characters_that_the_pdf_may_lack_are_listed(heard):
    made = heard["mountain-van"][2]
    assert record.lacking(made) == []
    assert record.lacking(made | {"coach": "Wagen \u4e2d"}) == ["U+4E2D CJK UNIFIED IDEOGRAPH-4E2D"]
    font = FT2Font(str(Path(matplotlib.get_data_path(), "fonts/ttf/DejaVuSansMono.ttf"))).get_charmap()
    taken_for_known = [*record.KNOWN, *(chr(number) for number in range(0x20, 0x180) if chr(number).isprintable())]
    assert [one for one in taken_for_known if ord(one) not in font] == []


def test_schedules_are_csv_with_every_row(heard):
    one, said, made = heard["desert-trailer"]
    found = record.schedules(made, said)
    assert set(found) == set(record.SCHEDULES)
    rows = list(csv.DictReader(io.StringIO(found["wires"])))
    furnace = next(row for row in rows if row["circuit"] == "Furnace")
    assert (furnace["length [ft]"], furnace["conductor"], furnace["rating [A]"]) == ("12", "14 AWG", "15")
    assert len(list(csv.DictReader(io.StringIO(found["checks"])))) == len(made["checks"])


# ------------------------------------------------------------------------------- on the disk


def test_a_record_is_written_and_the_one_before_is_kept(quick, tmp_path):
    place = record.save(quick, tmp_path)
    names = sorted(one.name for one in place.iterdir())
    assert names == sorted(["record.html", "record.json", "record.pdf", *(f"{name}.csv" for name in record.SCHEDULES)])
    before = {one.name: (one.read_bytes(), one.stat().st_mtime_ns) for one in place.iterdir()}
    record.save(quick, tmp_path)
    assert {one.name: (one.read_bytes(), one.stat().st_mtime_ns) for one in place.iterdir()} == before
    assert [one.name for one in tmp_path.iterdir()] == [place.name]
    for about in ("second", "third"):
        record.save(quick.changed("", about=about), tmp_path)
        assert sorted(one.name for one in tmp_path.iterdir()) == [place.name, f"{place.name} (previous)"]
        assert about in (place / "record.html").read_text("utf-8")
    assert "second" in (tmp_path / f"{place.name} (previous)" / "record.html").read_text("utf-8")


@pytest.mark.parametrize("fails", range(14))
def test_a_full_disk_leaves_what_was_there(quick, tmp_path, monkeypatch, fails):
    place = record.save(quick, tmp_path)
    record.save(quick.changed("", about="second"), tmp_path)
    before = {path.relative_to(tmp_path): path.read_bytes() for path in tmp_path.rglob("*") if path.is_file()}
    calls, real = [], os.replace

    def full(*paths):
        calls.append(paths)
        if len(calls) == fails + 1:
            raise OSError(errno.ENOSPC, "No space left on device")
        return real(*paths)

    monkeypatch.setattr(files.os, "replace", full)
    try:
        record.save(quick.changed("", about="third"), tmp_path)
        assert len(calls) <= fails and "third" in (place / "record.html").read_text("utf-8")
    except InputError as error:
        assert "No space left" in str(error)
        after = {path.relative_to(tmp_path): path.read_bytes() for path in tmp_path.rglob("*") if path.is_file()}
        assert after == before
    assert not [path for path in tmp_path.iterdir() if path.name.startswith(".")]
    assert place.is_dir()


def test_files_of_the_reader_are_not_thrown_away(quick, tmp_path):
    place = record.save(quick, tmp_path)
    (place / "my notes.txt").write_text("mine")
    with pytest.raises(InputError, match="my notes.txt"):
        record.save(quick.changed("", about="second"), tmp_path)
    assert (place / "my notes.txt").read_text() == "mine"


def test_a_folder_that_cannot_be_written_is_named(quick, tmp_path):
    (tmp_path / "file").write_text("")
    with pytest.raises(InputError, match="cannot be written"):
        record.save(quick, tmp_path / "file")


def test_the_command_makes_a_record_in_six_seconds(tmp_path):
    """Processor time of the whole command, its threads among it, as a reader starts it for the second time.

    Six seconds, or where other programs share the processor's caches 4.6 times what the import of pvlib takes beside it: that
    import alone takes 1.3 s of the six.
    """
    environment = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
    environment |= {"PYTHONPYCACHEPREFIX": str(tmp_path / "bytecode"), "COACHWORK_HOME": str(tmp_path / "home")}
    words = [sys.executable, str(coach.main_demo().parents[2] / "workbook"), "record", str(coach.main_demo()), "--to", str(tmp_path)]

    def seconds(words=words):
        before = resource.getrusage(resource.RUSAGE_CHILDREN)
        subprocess.run(words, env=environment, check=True, capture_output=True)
        after = resource.getrusage(resource.RUSAGE_CHILDREN)
        return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime

    seconds()  # writes the bytecode
    found = []
    while len(found) < 4 and (not found or min(found) >= 6):
        found.append(seconds())
    slow = 0 if min(found) < 6 else 4.6 * min(seconds([sys.executable, "-c", "import pvlib"]) for _ in range(3))
    assert min(found) < max(6, slow), (found, slow)


def test_the_command(quick, tmp_path, capsys, home):
    assert command.main([str(DEMOS[0]), "--to", str(tmp_path)]) == 0
    said = capsys.readouterr().out
    assert "Local codes and licensed practice decide." in said and "record.pdf" in said
    with pytest.raises(Trouble, match="cannot be read"):
        command.main([str(tmp_path / "no.toml")])
