"""Result tables: the same rows as text, as HTML that a screen reader can walk, and as CSV that cannot act."""

import csv
import dataclasses
import io
from html.parser import HTMLParser

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coachwork.page.table import table
from coachwork.quantities import Fraction, InputError, Length, Power, Q, set_display_system


@dataclasses.dataclass
class Row:
    load: str
    power: Power
    duty: Fraction
    length: Length
    count: int = 1

    @property
    def total(self):
        return self.power * self.count


ROWS = [
    Row("refrigerator", Q(60, "W"), 0.33, Q(3.0, "m"), 1),
    Row("<b>pump</b> & hose", Q(0.085, "kW"), 1.0, Q(12, "ft"), 2),
]


@pytest.fixture(autouse=True)
def us_units():
    set_display_system("US")
    yield
    set_display_system("US")


def test_text_is_aligned_and_has_units_in_the_heading():
    assert table(ROWS, caption="Loads").text() == (
        "Loads\n"
        "load                power  duty  length  count\n"
        "                      [W]   [%]    [ft]\n"
        "------------------  -----  ----  ------  -----\n"
        "refrigerator           60    33    9.84      1\n"
        "<b>pump</b> & hose     85   100   12         2"
    )


def test_columns_are_chosen_named_and_shown_in_the_other_system():
    shown = table(ROWS, caption="Loads", columns={"load": "load", "total": "all of them", "length": "cable"})
    set_display_system("SI")
    assert shown.csv().splitlines() == [
        "load,all of them [W],cable [m]", "refrigerator,60,3", "<b>pump</b> & hose,170,3.6576",
    ]  # fmt: skip


def test_units_that_have_nothing_in_common_stay_in_the_cells():
    rows = [{"what": "bank", "value": Q(200, "Ah")}, {"what": "load", "value": Q(60, "W")}]
    assert table(rows, caption="Both").csv().splitlines() == ["what,value", "bank,200 Ah", "load,60 W"]


def test_a_temperature_and_a_difference_never_share_a_unit():
    rows = [{"what": "air", "value": Q(30, "degC")}, {"what": "rise", "value": Q(10, "delta_degC")}]
    assert table(rows, caption="Both").csv().splitlines()[1:] == ["air,86 °F", "rise,18 °F"]


def test_plain_rows_none_truth_and_years():
    shown = table([("a", None, True, 2023), ("b", 0.5, False, 12345)], caption="x", columns=["a", "n", "yes", "year"])
    assert shown.text().splitlines()[3:] == ["a  –    yes    2023", "b  0.5  no   12,345"]
    assert shown.csv().splitlines()[1:] == ["a,,yes,2023", "b,0.5,no,12345"]


def test_wide_text_is_wrapped_and_stays_within_the_line():
    rows = [{"what": "word " * 40, "source": "paper " * 30, "value": Q(1, "Wh")}]
    lines = table(rows, caption="Wide").text().splitlines()
    assert max(map(len, lines)) <= 110
    assert " ".join(lines).count("word") == 40


def test_no_rows():
    assert table([], caption="Nothing", columns=["a"]).text().endswith("(no rows)")
    assert table([], caption="Nothing").text() == "Nothing\n(no rows)"
    assert "<caption>Nothing</caption>" in table([], caption="Nothing").html()


class Reader(HTMLParser):
    def __init__(self):
        super().__init__()
        self.tags, self.text = [], []

    def handle_starttag(self, tag, attributes):
        self.tags.append((tag, dict(attributes)))

    def handle_data(self, data):
        self.text.append(data)


def test_html_has_caption_scopes_and_nothing_of_the_readers_markup():
    shown = table(ROWS, caption="Loads & more")
    bundle = shown._repr_mimebundle_()
    assert bundle["text/plain"] == shown.text()
    page = Reader()
    page.feed(bundle["text/html"])
    names = [tag for tag, _ in page.tags]
    assert names.count("caption") == 1 and "b" not in names
    scopes = [attributes["scope"] for tag, attributes in page.tags if tag == "th"]
    assert scopes == ["col"] * 5 + ["row"] * 2
    assert "Loads & more" in page.text and "<b>pump</b> & hose" in page.text
    box = next(attributes for tag, attributes in page.tags if attributes.get("role") == "group")
    assert box["tabindex"] == "0" and box["aria-label"] == "Loads & more"


@pytest.mark.parametrize("text", ["=1+1", "+1", "-1", "@x", "\t=1", "\r=1", "＝1"])
def test_text_that_a_spreadsheet_would_run_is_disarmed(text):
    written = table([{text: text, "n": -1.5}], caption="x").csv()
    heading, row = csv.reader(io.StringIO(written))
    assert heading[0].startswith("'") and heading[1] == "n"
    assert not row[0].startswith(("=", "+", "-", "@", "\t", "\r", "＝")) and row[1] == "-1.5"


@given(st.lists(st.tuples(st.text(max_size=12), st.floats(allow_nan=False, allow_infinity=False)), max_size=4))
def test_any_text_comes_through_csv_and_never_starts_a_formula(rows):
    shown = table(rows, caption="x", columns=["text", "number"])
    read = list(csv.reader(io.StringIO(shown.csv(), newline="")))
    assert len(read) == len(rows) + 1
    for (text, number), (cell, value) in zip(rows, read[1:]):
        assert cell.removeprefix("'") == " ".join(text.split()).removeprefix("'")
        assert not cell.startswith(("=", "+", "-", "@", "\t", "\r"))
        assert float(value) == pytest.approx(number, rel=1e-11)


def test_saved_file_is_utf8_with_its_mark(tmp_path):
    path = table([{"resistance": Q(2, "mohm")}], caption="x").save_csv(tmp_path / "é loads.csv")
    assert path.read_bytes().startswith(b"\xef\xbb\xbf")
    assert path.read_text(encoding="utf-8-sig").splitlines() == ["resistance [mΩ]", "2"]
    with pytest.raises(InputError, match="cannot be written"):
        table([{"a": 1}], caption="x").save_csv(path / "x.csv")  # a folder's name is a file's


@pytest.mark.parametrize("rows, columns, words", [
    ([{"a": 1}, {"b": 2}], None, r'rows\[1\]: it has no "a"'),
    ([ROWS[0]], ["volts"], 'it has no "volts"'),
    ([(1, 2)], None, "rows without names"),
    ([(1, 2)], ["a"], "it has 2 cells; wanted is 1"),
    ([5], ["a"], "5 is not a row"),
])  # fmt: skip
def test_wrong_rows_are_refused_in_words(rows, columns, words):
    with pytest.raises(InputError, match=words):
        table(rows, caption="x", columns=columns)
