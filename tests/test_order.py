"""Cells out of order: a lesson opened again in the middle, its cells in any order, each of them twice.

Whoever asks for a name that no cell has made yet reads one sentence. Else a cell shows what is stored for it, whatever ran
before, and the reader's coach is as it was when a cell is run again.
"""

import builtins
import contextlib
import dis
import types

import IPython.display
import nbformat
import pytest
import tomlkit
from IPython.core.formatters import DisplayFormatter
from nbclient import NotebookClient

from coachwork import coach
from coachwork.commands import open as opening
from coachwork.page import edition

LESSONS = opening.notebooks()
TAKEN_UP = {"mine", "found"}  # decided upon on the way, so more than one cell makes them; they say the same in each
GIVEN = {"display", *vars(builtins)}


def code(path):
    return [cell for cell in nbformat.read(path, as_version=4).cells if cell.cell_type == "code"]


def stored(cell):
    return [one.text if one.output_type == "stream" else one.data["text/plain"] for one in cell.outputs]


class Reader(edition._Reader):
    """Runs cells without a kernel; what one shows is kept as the text that is stored."""

    def flush(self):
        if text := self.printed.getvalue():
            self.blocks.append(text)
        self.printed.seek(0)
        self.printed.truncate()

    def show(self, *values):
        self.flush()
        self.blocks += [DisplayFormatter().format(value, include={"text/plain"})[0]["text/plain"] for value in values]

    def shown(self, cell, scope):
        """What a cell shows, or None where it asks for a name that is not there."""
        self.blocks = []
        try:
            with contextlib.redirect_stdout(self.printed):
                self.run(cell.source, scope)
        except NameError as error:
            place = error.__traceback__
            while place.tb_next:
                place = place.tb_next
            assert type(error) is NameError and place.tb_frame.f_globals is scope  # so that `unmade` tells it
            self.flush()
            return None
        return self.blocks


@pytest.fixture
def reader(home, monkeypatch):
    one = Reader(None, False)
    monkeypatch.chdir(home)
    monkeypatch.setattr(IPython.display, "display", one.show)
    return one


def empty(reader):
    return {"__name__": "__main__", "display": reader.show}


def names(cell):
    """The names that a cell makes, and those that it takes from other cells."""
    made, taken, inner = set(), set(), []
    for step in dis.get_instructions(compile(cell.source, "cell", "exec")):
        if step.opname == "STORE_NAME":
            made.add(step.argval)
        elif step.opname == "LOAD_NAME" and step.argval not in made:
            taken.add(step.argval)
        elif isinstance(step.argval, types.CodeType):
            inner.append(step.argval)
    for body in inner:  # of functions and comprehensions
        inner += [one for one in body.co_consts if isinstance(one, types.CodeType)]
        taken |= {step.argval for step in dis.get_instructions(body) if step.opname == "LOAD_GLOBAL"} - made
    return made, taken - GIVEN


def needed(cells, wanted):
    """The cells that ask for a word, and all whose names those take, in order."""
    found = [wanted in cell.source for cell in cells]
    for _ in cells:
        taken = set().union(*(names(cell)[1] for cell, one in zip(cells, found) if one))
        found = [one or bool(names(cell)[0] & taken) for cell, one in zip(cells, found)]
    return [cell for cell, one in zip(cells, found) if one]


def tied(cells):
    """The cells after the first that take names of others, or make some for them."""
    first, *others = map(names, cells)
    shared = set().union(*(made for made, _ in others)) & set().union(*(taken for _, taken in others))
    return [cell for cell in cells[1:] if shared & set().union(*names(cell))]


@pytest.mark.parametrize("path", LESSONS, ids=lambda path: path.stem)
def test_a_name_that_cells_share_is_made_in_one_of_them(path):
    """Else a cell run again would show what another meant."""
    told = [names(cell) for cell in code(path)]
    for name in set().union(*(taken for _, taken in told)) - TAKEN_UP:
        assert [name in made for made, _ in told].count(True) == 1, name
    assert not set().union(*(made & taken for made, taken in told)) - TAKEN_UP  # a sum that a second run would add to again


@pytest.mark.parametrize("path", LESSONS, ids=lambda path: path.stem)
def test_cells_in_any_order(reader, home, path):
    cells = code(path)
    first, waiting = cells[0], tied(cells)
    assert reader.shown(first, empty(reader)) == stored(first)
    for cell in cells[1:]:
        assert reader.shown(cell, empty(reader)) is None, cell.source  # alone, in a kernel begun anew
    scope = empty(reader)
    reader.shown(first, scope)
    while waiting:  # from the last to the first, then again those that lacked a name
        again = []
        for cell in reversed(waiting):
            shown = reader.shown(cell, scope)
            assert shown in (None, stored(cell)), cell.source
            again.insert(0, cell) if shown is None else None
        assert len(again) < len(waiting)
        waiting = again
    assert not [*home.glob("*.toml")]  # the demo's decisions stand already


def test_decisions_made_twice(reader, home):
    """One who has written down the loads only goes through all lessons; each cell that a decision needs is run twice."""
    told = coach.read(coach.main_demo()).plain()
    ours = home / "ours.toml"
    ours.write_text(tomlkit.dumps({key: told[key] for key in ("format", "name", "coach", "seasons", "loads")}), encoding="utf-8")
    coach.choose(ours)
    for path in LESSONS:
        cells, scope, before = code(path), empty(reader), ours.read_bytes()
        for cell in needed(cells, ".decide("):
            once = reader.shown(cell, scope), ours.read_bytes()
            assert once[0] is not None and (reader.shown(cell, scope), ours.read_bytes()) == once, cell.source
        assert (ours.read_bytes() != before) == any(".decide(" in cell.source for cell in cells), path.stem


def test_a_kernel_begun_anew_in_mid_lesson(home):
    """As `python3 workbook` starts it: the cell from the middle is answered in one sentence, from the top on all is well."""
    lesson = nbformat.read(LESSONS[1], as_version=4)
    cells = code(LESSONS[1])
    lesson.cells = [nbformat.from_dict({**cells[-4], "id": "middle"}), *cells]
    NotebookClient(lesson, kernel_name="python3", allow_errors=True).execute(env=opening.server(home)[1])
    (told,) = lesson.cells[0].outputs
    (said,) = told.traceback
    assert said.startswith("`mine` is not there yet: ") and "Run All Above Selected Cell" in said and said.count(". ") == 0
    assert [one.output_type for cell in lesson.cells[1:] for one in cell.outputs].count("error") == 0
