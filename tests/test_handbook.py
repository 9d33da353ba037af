"""Every row of every ledger is a test; and the runner itself is shown to fail where it must."""

from pathlib import Path

import pytest

from coachwork.page import ledger
from coachwork.quantities import InputError, read_quantity

ROWS = [
    pytest.param(topic, row, id=f"{topic}: {row['what']}")
    for topic in ledger.topics()
    for row in ledger.rows(topic)
]


FOUND = {}


def outcome_of(topic, row):
    """A row is run once, whoever asks first."""
    place = topic, row["what"]
    if place not in FOUND:
        FOUND[place] = ledger.run_row(row, topic)
    return FOUND[place]


@pytest.mark.parametrize("topic, row", ROWS)
def test_row_agrees_with_the_print(topic, row):
    outcome = outcome_of(topic, row)
    assert outcome.agrees, (
        f"ours {outcome.ours}, print {outcome.printed}, tolerance {outcome.tolerance}: {outcome.source}"
    )


@pytest.mark.parametrize("topic, row", ROWS)
def test_wide_tolerance_is_explained(topic, row):
    if "tolerance" in row:
        tolerance = read_quantity(row["tolerance"])
        if str(tolerance.units) == "percent" and tolerance.to("").magnitude > 0.011:
            assert row.get("note"), "a tolerance above 1 % needs a note that says why"


def test_the_readme_counts_the_rows():
    assert len({(topic, row["what"]) for topic, row in (one.values for one in ROWS)}) == len(ROWS), "two rows of one name"
    count = ledger.summary([outcome_of(*row.values) for row in ROWS])
    readme = (Path(__file__).parents[1] / "README.md").read_text("utf-8")
    kinds = ", ".join(f"{number} {status}" for status, number in count["by status"].items())
    assert f"Of {count['rows']:,} rows {kinds.replace(' ', ' are ', 1)}." in readme
    assert f"The widest gap is {count['worst']:.1%}".replace("%", " %") in readme


GOOD = dict(what="a lamp", call="energy.load_energy", expect="180 Wh", tolerance="0.1 %", source="arithmetic",
            status="derived")  # fmt: skip
GOOD["with"] = dict(power="60 W", hours="3 h")


def test_good_row_agrees_and_wrong_one_does_not():
    assert ledger.run_row(GOOD).agrees
    assert not ledger.run_row(GOOD | dict(expect="181 Wh")).agrees
    assert ledger.run_row(GOOD | dict(expect="0.18 kWh")).agrees


@pytest.mark.parametrize(
    "change, words",
    [
        (dict(call="os.system"), "not a public function"),
        (dict(call="energy._private"), "not a public function"),
        (dict(call="energy.Quantity"), "not a public function"),
        ({"with": dict(powr="60 W")}, "no argument"),
        ({"with": dict(power="60 Wh", hours="3 h")}, "watt-hours are energy"),
        (dict(tolerance=None), "tolerance"),
    ],
)
def test_a_wrong_row_is_refused_in_words(change, words):
    with pytest.raises(InputError, match=words):
        ledger.run_row(GOOD | change)


def test_refusal_rows_need_the_refusal(tmp_path):
    row = {key: value for key, value in GOOD.items() if key not in ("expect", "tolerance")} | dict(
        raises="energy"
    )
    assert not ledger.run_row(row).agrees
    assert ledger.run_row(row | {"with": dict(power="60 Wh", hours="3 h")}).agrees


@pytest.mark.parametrize(
    "text, words",
    [
        ("[[check]]\nwhat = 1", "missing or not text"),
        ("[[chek]]\n", "other than"),
        ("= 3", "cannot be read"),
        ('[[check]]\nwhat="a"\ncall="b"\nsource="c"\nstatus="sure"\nexpect="1"', "status"),
        ('[[check]]\nwhat="a"\ncall="b"\nsource="c"\nstatus="derived"', "either expect or raises"),
        ('[[check]]\nwhat="a"\ncolour="b"', "not a key"),
    ],
)
def test_a_damaged_ledger_is_refused_in_words(tmp_path, text, words):
    path = tmp_path / "ours.toml"
    path.write_text(text)
    with pytest.raises(InputError, match=words):
        ledger.rows(path)


def test_lesson_table_raises_on_disagreement(tmp_path, monkeypatch):
    (tmp_path / "energy.toml").write_text(
        '[[check]]\nwhat="a lamp"\ncall="energy.load_energy"\nwith={power="60 W", hours="3 h"}\n'
        'expect="200 Wh"\ntolerance="1 %"\nsource="nowhere"\nstatus="invented"\n'
    )
    monkeypatch.setattr(ledger, "LEDGERS", tmp_path)
    with pytest.raises(ledger.Disagreement, match="a lamp: ours 180 Wh"):
        ledger.handbook("energy")
