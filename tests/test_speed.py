"""`python3 tests speed`: every part gives numbers, every bench is found, an older commit beside ours, and one that is not there."""

import ast

import nbformat
import pytest

import _speed_kernels
import _speed_rows
import speed
from coachwork.bootstrap import ROOT, Trouble
from test_storeys import TOPICS

ASKED = {"moves": 4, "browser": ["standard"]}


def calls_of_bench(path):
    """How many times the cells of a notebook call `bench`."""
    source = "\n".join(
        cell.source for cell in nbformat.read(path, as_version=4).cells if cell.cell_type == "code"
    )
    calls = [node.func for node in ast.walk(ast.parse(source)) if isinstance(node, ast.Call)]
    return sum(isinstance(one, ast.Name) and one.id == "bench" for one in calls)


def test_every_bench_of_every_lesson_is_found_and_moves():
    for path in _speed_kernels.lessons():
        found = _speed_kernels.lesson_benches(path)
        assert len(found) == calls_of_bench(path), f"{path.stem}: {list(found)}"
        assert all(name.startswith(path.stem[:2]) for name in found)
    took = _speed_kernels.moves(bench=next(iter(found.values())), count=4)(5)
    assert len(took["times"]) == 5 and len(took["beside"]) == 2 and min(min(took["times"])) > 0


def test_controls_go_through_their_range_one_after_the_other():
    parts = {"a": dict(kind="slider", low=0, high=10, step=2), "b": dict(kind="choice", options=["x", "y"])}
    ahead = _speed_kernels.positions(parts, {"a": 4, "b": "x"}, 6)
    seen = [next(ahead) for _ in range(6)]
    assert [one["a"] for one in seen] == [0, 4, 10, 4, 4, 0] and [one["b"] for one in seen] == [
        "x",
        "x",
        "x",
        "x",
        "y",
        "x",
    ]


def test_every_topic_gives_a_number_and_forgets_the_coach():
    rows = {row.name: row.take for row in _speed_kernels.topics({})}
    assert len(rows) == len(_speed_kernels.TOPICS) and {topic for topic, *_ in _speed_kernels.TOPICS} >= set(
        TOPICS
    )
    first = {
        name: take(1)["times"]
        for name, take in rows.items()
        if "heard" not in name and name != "whole system: study"
    }
    assert all(0 < clock < 60 for ((clock, _),) in first.values())
    again = min(rows["capacity: study"](3)["times"])
    assert again[1] > 0.001, "what is kept of a coach takes microseconds"


def test_an_older_commit_takes_turns_and_what_it_lacks_is_not_there():
    with speed.checked_out("HEAD") as then:
        assert (then / "lib/coachwork/energy.py").is_file() and not then.is_relative_to(ROOT)
        (then / "lib/coachwork/inverter.py").write_text("raise ImportError('no such topic yet')\n")
        found = speed.measured("topics", [ROOT, then], ASKED, only="a day")
    assert not then.exists()
    (energy, (ours, theirs)), (inverter, others) = found
    assert len(ours["times"]) == len(theirs["times"]) == energy["times"]
    now, before = speed.figures(ours["times"]), speed.figures(theirs["times"])
    assert 0.1 < now[2] / before[2] < 10, "the same commit, give or take a busy machine"
    assert speed.cells(energy, [ours, theirs])[-2] == f"{now[2] / before[2]:.2f}"
    assert others[0]["times"] and "not there" in speed.cells(inverter, others)
    assert speed.remarks("topics", found) == [
        f"{inverter['name']}: not there, ImportError: no such topic yet"
    ]


@pytest.mark.parametrize("name", ["no-such-commit", "--help", "", "HEAD:README.md"])
def test_a_commit_that_is_not_there_is_told_in_one_sentence(name):
    with pytest.raises(Trouble, match="there is no commit .* for example HEAD~10"), speed.checked_out(name):
        pass


def test_turns_are_shared_and_the_first_changes():
    asked = []

    class Measurer:
        def __init__(self, name):
            self.name = name

        def take(self, row, times):
            asked.append((self.name, times))
            return {"times": [[1.0, None]] * times}

    row = dict(name="x", times=7, block=3)
    found = speed.by_turns(row, [Measurer("now"), Measurer("then")], quick=False)
    assert asked == [("now", 3), ("then", 3), ("then", 4), ("now", 4)]
    assert [len(one["times"]) for one in found] == [7, 7]


def test_a_table_pastes_into_a_note():
    row = dict(name="x", unit="ms", wanted="9 ms")
    now = {"times": [[0.002, 0.001], [0.004, 0.001]], "beside": [[0.02, 0.02]], "said": "it went well"}
    then = {"trouble": "KeyError: 'x'"}
    lines = speed.aligned([speed.head(True), ["year"], speed.cells(row, [now, then])])
    assert lines[-1].split() == [
        "x",
        "2",
        "3.00",
        "4.00",
        "1.00",
        "ms",
        "20.0",
        "0.15",
        "0.20",
        "0.05",
        "not",
        "there",
        "9",
        "ms",
    ]
    assert lines[0].endswith("wanted") and lines[0].index("of p50") + 6 == lines[-1].index("0.15") + 4
    assert speed.remarks("record", [(row, [now, then])]) == [
        "x: it went well.",
        "x: not there, KeyError: 'x'",
    ]


def test_a_process_gives_its_last_line_where_it_fails():
    with pytest.raises(RuntimeError, match="no such thing"):
        _speed_rows.python("raise SystemExit('no such thing')")()


def test_the_words_of_the_command(capsys):
    with pytest.raises(SystemExit):
        speed.main(["--part", "sun"])
    assert "invalid choice" in capsys.readouterr().err
    assert speed.main(["--part", "import", "--quick", "--only", "own start"]) == 0
    said = capsys.readouterr().out
    assert "Python's own start" in said and "a lesson needs" not in said
    assert f"{speed.os.cpu_count()} cores, load" in said and "commit " in said and "bytecode" in said
