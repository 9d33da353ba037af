"""The commands `site` and `print` as a reader meets them, and the still edition's pages in every dress."""

import pytest

from coachwork import bootstrap
from coachwork.commands import _editions
from coachwork.commands import print as printing
from coachwork.commands import site as siting
from coachwork.page import edition, printed, still

HEADING = {"heading": {"level": 1, "words": ["A lesson"]}}


@pytest.fixture
def quick(monkeypatch):
    """Lessons that are told without being run; the list holds what was asked for."""
    asked = []

    def lessons(paths, seed, system, grid=False):
        for path in paths:
            asked.append((path.stem, seed, system, grid))
            yield {"number": path.stem[:2], "title": path.stem[3:], "file": path.name, "topic": "energy", "blocks": [HEADING]}

    monkeypatch.setattr(edition, "lessons", lessons)
    monkeypatch.setattr(printed, "pdf", lambda *given: b"%PDF")
    return asked


COMMANDS = pytest.mark.parametrize("command", [siting, printing], ids=["site", "print"])


@COMMANDS
def test_a_lesson_may_be_named_in_every_way_and_comes_once(command, quick, home, monkeypatch, capsys):
    monkeypatch.chdir(bootstrap.ROOT)
    words = ["07", "wiring", "workbook/07-wiring.ipynb", "01-energy", "--units", "si", "--seed", "5"]
    assert command.main(words) == 0
    assert [one[:3] for one in quick] == [("01-energy", 5, "SI"), ("07-wiring", 5, "SI")]
    assert str(home / command.PLACE) in capsys.readouterr().out
    assert not (home / command.PLACE / "course.pdf").exists()


@COMMANDS
def test_nothing_is_run_where_nothing_can_be_written(command, quick, home, tmp_path):
    (tmp_path / "file").write_text("mine")
    (home / command.PLACE).write_text("mine")
    with pytest.raises(bootstrap.Trouble, match="it is a file; wanted is a folder"):
        command.main(["01"])
    with pytest.raises(bootstrap.Trouble, match="cannot be written"):
        command.main(["01", "--to", str(tmp_path / "file")])
    place = tmp_path / "full" / command.PLACE
    place.mkdir(parents=True)
    (place / "taxes.doc").write_text("mine")
    with pytest.raises(bootstrap.Trouble, match="it also holds taxes.doc"):
        command.main(["01", "--to", str(place.parent)])
    assert quick == [] and (place / "taxes.doc").read_text() == "mine" and (home / command.PLACE).read_text() == "mine"


@COMMANDS
@pytest.mark.parametrize("word", ["13", "heatng", "for-instructors", "workbook/for-instructors.ipynb"])
def test_an_unknown_lesson_is_refused_with_the_known_ones(command, word, quick, home, monkeypatch):
    monkeypatch.chdir(bootstrap.ROOT)
    with pytest.raises(bootstrap.Trouble, match="07-wiring, 08-heating"):
        command.main([word])
    assert quick == [] and list(home.iterdir()) == []


def test_what_is_made_is_said_at_its_full_path(quick, tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    siting.main(["--to", "stick"])
    said = capsys.readouterr().out.splitlines()
    assert said[0].startswith("Running 13 lessons afresh") and said[1] == "00-start-here: 0 benches, 0 pictures, 0.0 MB"
    assert str(tmp_path / "stick" / "coachwork-site") in said[-1]
    assert sorted(path.name for path in tmp_path.iterdir()) == ["stick"] and (tmp_path / "stick/coachwork-site/index.html").is_file()
    assert [_editions.count(number, "bench") for number in (1, 2)] == ["1 bench", "2 benches"]


def test_every_unit_a_reader_may_write_is_known_to_the_page():
    table = still.unit_table()
    assert table["hrs"] == table["h"] == edition.unit_facts("hour") and table["Ω"]["name"] == "ohm"
