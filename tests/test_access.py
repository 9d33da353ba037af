"""For whoever does not see, hears, or has no mouse: every bench tells in words what its picture shows, drawings carry their words,
text stands out from its ground, and a panel is worked by keys alone and speaks once."""
import ast
import functools
import re

import nbformat
import pytest

from coachwork.page import widgets
from coachwork.page.pictures import Sheet
from test_lessons import LESSONS

MOST = 600          # letters of a picture's words: about forty seconds of a screen reader


# ------------------------------------------------------------------------------- what the benches say


def names(node, kind):
    """The names that a statement reads (ast.Load) or binds (ast.Store)."""
    found = {one.id for one in ast.walk(node) if isinstance(one, ast.Name) and isinstance(one.ctx, kind)}
    if kind is ast.Store:
        for one in ast.walk(node):
            if isinstance(one, (ast.Import, ast.ImportFrom)):
                found |= {(name.asname or name.name).partition(".")[0] for name in one.names}
    return found


def benches(path):
    """The benches of a lesson, made by its own lines: each with only the lines before it that it needs."""
    before, found = [], []
    for cell in nbformat.read(path, as_version=4).cells:
        for line in ast.parse(cell.source).body if cell.cell_type == "code" else ():
            if isinstance(line, ast.Expr) and isinstance(line.value, ast.Call) and getattr(line.value.func, "id", "") == "bench":
                needed, kept = names(line, ast.Load), []
                for earlier in reversed(before):
                    if names(earlier, ast.Store) & needed:
                        kept.insert(0, earlier)
                        needed |= names(earlier, ast.Load)
                scope = {}
                exec(compile(ast.Module(kept, []), path.name, "exec"), scope)
                found.append(eval(compile(ast.Expression(line.value), path.name, "eval"), scope))
            before.append(line)
    return found


def ends(part):
    """The first and the last position of a control."""
    if part["kind"] == "slider":
        return part["low"], part["high"]
    return (False, True) if part["kind"] == "check" else (part["options"][0], part["options"][-1])


def silent(picture, settings, parts):
    """Pairs of settings, each control at both ends, whose pictures differ though the words and the alt text do not."""
    sheet, told, found = Sheet(picture, 0.5), {}, []
    moves = [settings, *(settings | {name: end} for name, part in parts.items() for end in ends(part))]
    for one in (one for place, one in enumerate(moves) if one not in moves[:place]):
        words, alt = sheet.update(**one)
        assert 20 < len(alt) <= MOST and alt != picture.title and re.search(r"\d", alt), (picture.title, one, alt)
        assert words and "e+" not in words + alt, (picture.title, one, words, alt)
        told.setdefault((words, alt), []).append(one)
    for alike in (alike for alike in told.values() if len(alike) > 1):
        drawn = []
        for one in alike * 2:            # twice round: in the second every limit was seen, and the axes keep their places
            sheet.update(**one)
            drawn.append(sheet.pixels().tobytes())
        found += [(alike[0], one) for one, pixels in zip(alike, drawn[len(alike):]) if pixels != drawn[len(alike)]]
    return found


@pytest.mark.parametrize("path", LESSONS, ids=lambda path: path.stem)
def test_a_bench_says_what_its_picture_shows(path):
    found = benches(path)
    assert found
    for one in found:
        assert silent(one.drawing, one.settings, widgets.leaves(one._own)) == [], one.title


def test_a_picture_that_moves_without_a_word_is_found():
    class Mute(point()):
        def update(self, at):
            super().update(at)
            return "It moves.", "A point on a line from 0 to 9, somewhere."

    parts = widgets.leaves([widgets.slider("at", "At", 1, low=0, high=9, step=1)])
    assert silent(Mute(), {"at": 1.0}, parts) == [({"at": 1.0}, {"at": 0}), ({"at": 1.0}, {"at": 9})]
    assert silent(point()(), {"at": 1.0}, parts) == []


@functools.cache
def point():
    """A picture of one point on a line."""
    from coachwork.page.pictures import Picture

    class Point(Picture):
        title = "A point"
        size = (2, 1)

        def build(self, fig):
            (self.point,) = fig.add_subplot(xlim=(-1, 10), ylim=(-1, 1)).plot([0], [0], "o")
            self.moving = [self.point]

        def update(self, at):
            self.point.set_data([at], [0])
            return f"It is at {at:g}.", f"A point on a line from 0 to 9, at {at:g}."

    return Point
