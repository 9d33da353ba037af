"""The guide for instructors: made from the lessons, sound as a notebook, and laid only for whoever asks."""

import html
import re

import nbformat
import pytest

from coachwork import bootstrap
from coachwork.commands import guide, learner, refresh
from coachwork.commands import open as opening
from coachwork.page import course, ledger
from coachwork.page.map import lessons
from coachwork.page.questions import Choice, course_seed, learner_seed, topic_questions
from coachwork.quantities import InputError
from test_lessons import faults

GUIDE = opening.LESSONS / opening.GUIDE
NOTEBOOK = nbformat.read(GUIDE, as_version=4)
PROSE = "\n".join(cell.source for cell in NOTEBOOK.cells if cell.cell_type == "markdown")
LESSONS = [one for one in lessons() if one.built]


def part(number):
    """The text of a part of the guide."""
    return re.search(rf"^## {number} .*?(?=^## |\Z)", PROSE, re.M | re.S)[0]


# ---- the notebook


def test_the_guide_has_no_fault_and_is_stored_as_refresh_stores():
    assert faults(NOTEBOOK, "free", GUIDE.parent) == []
    assert refresh.tidy(nbformat.read(GUIDE, as_version=4)) == GUIDE.read_bytes()
    assert GUIDE in opening.notebooks() and len(opening.notebooks()) == len(LESSONS) + 1


def test_every_lesson_is_in_the_plan_and_on_the_bench():
    rows = re.findall(r"^\| (\d+) \|(.*)", part(2), re.M)
    assert [int(number) for number, _ in rows] == list(range(1, 17))
    two_days = part(3)
    for one in LESSONS:
        assert any(f"]({one.file})" in row for _, row in rows), one.file
        assert one.number in two_days, one.number
        assert re.search(rf"^\| {one.number} \|", part(6), re.M), f"no bench work with lesson {one.number}"


def test_every_module_that_the_guide_names_is_there():
    for name in re.findall(r"`((?:data|lib|tests)/[^`]*)`", PROSE):
        assert (bootstrap.ROOT / name).exists(), name
    for command in re.findall(r"python3 workbook (\w+)", PROSE):
        assert command in bootstrap.names(bootstrap.ROOT / "lib/coachwork/commands"), command
    for command in re.findall(r"python3 tests (\w+)", PROSE):
        assert (bootstrap.ROOT / "tests" / f"{command}.py").exists(), command


# ---- outcomes


def rows_of(table):
    return [dict(zip(table._headings, row)) for row in table._rows]


@pytest.mark.parametrize("one", LESSONS, ids=lambda one: one.number)
def test_every_outcome_of_a_lesson_stands_in_the_table_with_its_questions(one):
    notebook = nbformat.read(bootstrap.ROOT / "workbook" / one.file, as_version=4)
    prose = "\n\n".join(cell.source for cell in notebook.cells if cell.cell_type == "markdown")
    said = re.split(r"^## (?:2 )?By the end you can$", prose, flags=re.M)[1].split("\n## ")[0]
    wanted = re.findall(r"^- (.+(?:\n  .+)*)", said, re.M)
    held = [row for row in rows_of(course.outcomes_table()) if row["outcome"].startswith(one.number)]
    assert [row["by the end the learner can"] for row in held] == [" ".join(line.split()).rstrip(";.") for line in wanted]
    assert 3 <= len(held) <= 5
    items = topic_questions(course.topic(one))
    named = [int(place) for row in held for place in re.findall(r"\d+", row["questions"])]
    assert sorted(named) == list(range(1, len(items) + 1)), "each question stands at one outcome"
    for number, row in enumerate(held, 1):
        assert all(items[int(place) - 1].outcome == number for place in re.findall(r"\d+", row["questions"]))
        assert row["questions"] != course.AT_SCREEN or one.number == "00"


def test_the_stored_table_is_todays():
    stored = ["".join(output.data["text/plain"]) for cell in NOTEBOOK.cells if cell.cell_type == "code"
              for output in cell.outputs if "data" in output]  # fmt: skip
    assert str(course.outcomes_table()) in stored and str(course.misconceptions_table()) in stored


def test_a_lesson_without_outcomes_is_told(monkeypatch, tmp_path):
    (tmp_path / "workbook").mkdir()
    (tmp_path / "workbook" / LESSONS[1].file).write_text('{"cells": [{"cell_type": "markdown", "source": ["## 1 The job"]}]}')
    monkeypatch.setattr(bootstrap, "ROOT", tmp_path)
    with pytest.raises(ValueError, match="By the end you can"):
        course.outcomes(LESSONS[1])


# ---- misconceptions


@pytest.mark.parametrize("one", LESSONS, ids=lambda one: one.number)
def test_every_slip_stands_in_the_table_of_its_lesson(one):
    items, rows = topic_questions(course.topic(one)), list(course.misconceptions(one))
    slips = sum(len(item.wrong if isinstance(item, Choice) else item.slips) for item in items)
    assert len(rows) == slips >= 2 * len(items) - 2
    assert {row["question"] for row in rows} == set(range(1, len(items) + 1))
    assert not any("{" in row["slip, and what the learner is told"] for row in rows)
    page = course.misconceptions_table()._repr_mimebundle_()["text/html"]
    assert all(html.escape(row["slip, and what the learner is told"]) in page for row in rows)


def test_words_in_general():
    assert course.in_general("{count} lamps of {rated_power}") == "[count] lamps of [rated power]"


# ---- the ledger


def test_the_ledgers_counts_add_up():
    rows = rows_of(course.ledger_counts())
    *single, whole = rows
    assert [row["ledger"] for row in single] == ledger.topics() and whole["ledger"] == "all"
    statuses = [name for name in whole if name not in ("ledger", "rows", "widest gap [%]", "disagree")]
    assert whole["rows"] == sum(row["rows"] for row in single) == sum(whole[name] for name in statuses)
    assert all(row["rows"] == len(ledger.rows(row["ledger"])) == sum(row[name] for name in statuses) for row in single)
    assert whole["widest gap [%]"] == max(row["widest gap [%]"] for row in single) > 0
    assert all(row["disagree"] == 0 for row in rows)


def test_the_widest_gaps_are_those_of_the_counts():
    rows, counts = rows_of(course.widest_gaps(3)), rows_of(course.ledger_counts())
    gaps = [abs(row["gap [%]"]) for row in rows]
    assert len(rows) == 3 and gaps == sorted(gaps, reverse=True)
    assert round(counts[-1]["widest gap [%]"], 1) == gaps[0]
    assert all(row["note"] for row in rows if abs(row["gap [%]"]) > 1), "a wide gap says why"


def test_the_guides_own_row_is_one_that_a_course_may_write(tmp_path):
    [cell] = [cell.source for cell in NOTEBOOK.cells if "run_row" in cell.source]
    held = {}
    exec(cell.partition("tried =")[0], held)  # the guide's own text, not a reader's
    toml = "[[check]]\n" + "".join(f'{key} = "{value}"\n' for key, value in held["row"].items() if key != "with")
    (tmp_path / "ours.toml").write_text(toml + 'with = { charge = "100 Ah", voltage = "12.8 V" }\n')
    import handbook

    assert handbook.main(["--ledger", str(tmp_path / "ours.toml")]) == 0
    (tmp_path / "ours.toml").write_text(toml.replace("1280", "1290") + 'with = { charge = "100 Ah", voltage = "12.8 V" }\n')
    assert handbook.main(["--ledger", str(tmp_path / "ours.toml")]) == 1


# ---- skills


def test_a_sheet_of_skills_for_each_name_and_no_name_is_code():
    page = course.skills_pages(["Ana Invented", "<script>x</script>"])
    assert page.count("<section>") == 2 and "<script" not in page
    for skill in ("Crimp", "Torque", "Prove dead"):
        assert page.count(f">{skill}") == 2 and skill in str(course.skills_table())


# ---- who gets it


def test_learners_do_not_get_the_guide_and_whoever_asks_keeps_it_up_to_date(home, tmp_path):
    opening.lay_out(home)
    assert not (home / opening.GUIDE).exists()
    earlier = nbformat.read(GUIDE, as_version=4)
    earlier.cells[0].source = "# An earlier edition"
    nbformat.write(earlier, tmp_path / opening.GUIDE)
    opening.lay_out(home, tmp_path, guide=True)
    assert "earlier edition" in (home / opening.GUIDE).read_text()
    opening.lay_out(home)
    assert (home / opening.GUIDE).read_bytes() == GUIDE.read_bytes()


def test_the_command_opens_the_guide(home, monkeypatch):
    started = []
    monkeypatch.setattr(bootstrap, "go_on", lambda command: started.append(command) or 0)
    assert guide.main(["--no-browser"]) == 0
    assert "--LabApp.default_url=/lab/tree/for-instructors.ipynb" in started[0]
    assert (home / opening.GUIDE).exists()


def test_while_the_workbook_is_open_the_guide_is_laid_beside(home, monkeypatch, capsys):
    monkeypatch.setattr(opening, "running", lambda _: "http://127.0.0.1:8888/lab?token=x")
    assert guide.main(["--no-browser"]) == 0
    assert "/lab/tree/for-instructors.ipynb?token=x" in capsys.readouterr().out
    assert sorted(path.name for path in home.iterdir()) == [opening.GUIDE]


# ---- the learner's side


def test_a_learner_takes_the_courses_numbers(home, capsys):
    assert learner.main(["ana-1", "--course", "Spring 2027"]) == 0
    assert learner_seed() == course_seed("spring 2027", "ana-1") == 837522465
    assert "837522465" in capsys.readouterr().out


@pytest.mark.parametrize("words", [[" ", "--course", "x"], ["ana-1", "--course", " "]])
def test_an_empty_word_is_told(words, home):
    with pytest.raises(bootstrap.Trouble, match="is empty: write for example"):
        learner.main(words)
    assert learner_seed() == 0


def test_a_folder_that_cannot_be_written_is_told(tmp_path, monkeypatch):
    (tmp_path / "a file").touch()
    monkeypatch.setenv("COACHWORK_HOME", str(tmp_path / "a file"))
    with pytest.raises(bootstrap.Trouble, match="cannot be written"):
        learner.main(["ana-1", "--course", "x"])


def test_a_lesson_that_has_no_questions_cannot_be_asked_for():
    from coachwork.commands import roster

    with pytest.raises(InputError, match="one of 00, 01"):
        roster._lessons(["13"])
