"""How hard the prose of a lesson is to read: the Automated Readability Index, which counts letters, words and sentences.

Senter and Smith, Automated Readability Index, AMRL-TR-66-220 (1967): the result is a US school grade.
"""

import re
from pathlib import Path

import nbformat
import pytest

LESSONS = sorted((Path(__file__).parents[1] / "workbook").glob("*.ipynb"))
NOT_PROSE = r"```.*?```|\$\$.*?\$\$|\$[^$]*\$|`[^`]*`|^[|#].*?$|\]\([^)]*\)|[*_\[\]]"


def sentences(path):
    """The sentences of a lesson's text as lists of words: no headings, tables, formulas, code or sources."""
    cells = [cell.source for cell in nbformat.read(path, 4).cells if cell.cell_type == "markdown"]
    prose = "\n\n".join(text for text in cells if not re.match(r"## (11 )?Sources", text))
    prose = re.sub(NOT_PROSE, " ", prose, flags=re.DOTALL | re.MULTILINE)
    parts = re.split(r"\n\s*\n|\n\s*(?:-|\d+\.) |(?<=[.!?])\s+", prose)
    found = (re.findall(r"[A-Za-z][A-Za-z'’-]*", part) for part in parts)
    return [words for words in found if len(words) > 1]


def grade(found):
    words = [word for sentence in found for word in sentence]
    return 4.71 * sum(map(len, words)) / len(words) + 0.5 * len(words) / len(found) - 21.43


def test_the_index_by_hand():
    """Two sentences of 5 words and 22 letters: 4.71 x 22 / 5 + 0.5 x 5 - 21.43 = 1.794."""
    one = ["This", "cable", "carries", "the", "sun"]
    assert grade([one, one]) == pytest.approx(1.794)


@pytest.mark.parametrize("path", LESSONS, ids=lambda path: path.stem)
def test_a_lesson_reads_like_a_trade_manual(path):
    found = sentences(path)
    assert grade(found) < 9
    longest = max(found, key=len)
    assert len(longest) <= 45, " ".join(longest)
