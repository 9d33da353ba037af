"""Every lesson keeps the form and was really run; each guard is shown to fail on a small broken notebook."""
import os
import re
import subprocess
import sys
import tomllib

import nbformat
import pytest
from nbformat import v4
from nbval.plugin import comment_markers, metadata_tags

from coachwork.bootstrap import ROOT
from coachwork.commands.refresh import refreshed

PARTS = ["1 The job", "2 By the end you can", "3 Before you touch anything", "4 The idea", "5 Worked example",
         "6 Try it", "7 Rules of the trade", "8 Your coach", "9 Check yourself", "10 On the job", "11 Sources"]
ROWS = tomllib.loads((ROOT / "data/lessons.toml").read_text("utf-8"))["lesson"]
LESSONS = sorted((ROOT / "workbook").glob("[0-9][0-9]-*.ipynb"))
FORM = {row["number"]: row["form"] for row in ROWS}


def faults(notebook, form, folder):
    """What is wrong with a lesson as stored, one sentence each."""
    found, count = [], 0
    if "widgets" in notebook.metadata:
        found.append("metadata.widgets is stored")
    for number, cell in enumerate(notebook.cells, 1):
        here = f"cell {number}: "
        if cell.cell_type == "code":
            count += 1
            if cell.execution_count != count:
                found.append(here + f"execution count {cell.execution_count} where {count} was due")
            for output in cell.outputs:
                if output.output_type == "error":
                    found.append(here + f"error output {output.ename}")
                if output.get("name") == "stderr":
                    found.append(here + "warnings are stored")
                if set(output.get("data", {})) - {"text/plain"}:
                    found.append(here + "more than text is stored")
        if cell.cell_type == "markdown":
            found += [here + fault for fault in faults_of_text(cell.source, folder)]
        tags = [tag for tag in cell.metadata.get("tags", []) if tag.lower().startswith("nbval")]
        marks = re.findall(r"#\s*((?:NBVAL|PYTEST_VALIDATE)\w*)", cell.source)
        found += [here + f"unknown tag {tag}" for tag in tags if tag not in metadata_tags]
        found += [here + f"unknown mark {mark}" for mark in marks if mark not in comment_markers]
    prose = [re.sub(r"(?ms)^```.*?^```", "", c.source) for c in notebook.cells if c.cell_type == "markdown"]
    headings = [line[3:] for text in prose for line in text.splitlines() if line.startswith("## ")]
    if form == "eleven" and headings != PARTS:
        found.append(f"the parts are {headings}, they must be {PARTS}")
    return found


def faults_of_text(text, folder):
    """Pictures without a description, and links to files that are not there."""
    text = re.sub(r"(?s)```.*?```|`[^`\n]*`", "", text)
    if re.search(r"!\[\s*\][(\[]", text) or re.search(r"""<img\b(?![^>]*\balt\s*=\s*["'][^"'\s])""", text):
        yield "a picture without alt text"
    for target in re.findall(r"\]\(<?([^)>\s]+)", text):
        name = target.split("#")[0]
        if name and ":" not in name and not (folder / name).exists():
            yield f"a link to {name}, which is not there"


def test_lessons_are_the_built_rows_of_the_table():
    assert [path.name[:2] for path in LESSONS] == [row["number"] for row in ROWS if row["built"]]


@pytest.mark.parametrize("path", LESSONS, ids=lambda path: path.stem)
def test_lesson_has_no_fault(path):
    assert faults(nbformat.read(path, as_version=4), FORM[path.name[:2]], path.parent) == []


@pytest.mark.parametrize("path", LESSONS[-1:], ids=lambda path: path.stem)
def test_refreshing_the_newest_lesson_changes_no_byte(path):
    assert refreshed(path) == path.read_bytes()


# ---- the guards themselves

def sound():
    """The smallest notebook without a fault."""
    code = v4.new_code_cell("6 * 7", execution_count=1, outputs=[
        v4.new_output("execute_result", {"text/plain": "42"}, execution_count=1)])
    return v4.new_notebook(cells=[v4.new_markdown_cell("## " + part) for part in PARTS] + [code])


def never_run(nb): nb.cells[-1].execution_count = None
def run_twice(nb): nb.cells[-1].execution_count = 2
def failed(nb): nb.cells[-1].outputs.append(v4.new_output("error", ename="ValueError", evalue="x"))
def warned(nb): nb.cells[-1].outputs.append(v4.new_output("stream", name="stderr", text="deprecated"))
def drawn(nb): nb.cells[-1].outputs[0].data["image/png"] = "AAAA"
def misspelt(nb): nb.cells[-1].metadata["tags"] = ["nbval-ignore-outputs"]
def misspelt_mark(nb): nb.cells[-1].source += "  # NBVAL_IGNORE"
def with_state(nb): nb.metadata["widgets"] = {}
def no_alt(nb): nb.cells[0].source += "\n\n![](https://example.org/x.png)"
def empty_alt(nb): nb.cells[0].source += '\n\n<img src="https://example.org/x.png" alt="">'
def dead_link(nb): nb.cells[0].source += "\n\n[next](99-not-there.ipynb)"
def part_missing(nb): del nb.cells[3]
def part_moved(nb): nb.cells[3:5] = nb.cells[4:2:-1]
def part_renamed(nb): nb.cells[3].source = "## 4 Theory"


BROKEN = {never_run: "execution count None", run_twice: "execution count 2", failed: "error output ValueError",
          warned: "warnings", drawn: "more than text", misspelt: "unknown tag", misspelt_mark: "unknown mark",
          with_state: "metadata.widgets", no_alt: "alt text", empty_alt: "alt text", dead_link: "99-not-there",
          part_missing: "the parts are", part_moved: "the parts are", part_renamed: "the parts are"}


@pytest.mark.parametrize("breaking", BROKEN, ids=lambda f: f.__name__)
def test_guard_sees(breaking, tmp_path):
    notebook = sound()
    assert faults(notebook, "eleven", tmp_path) == []
    breaking(notebook)
    found = faults(notebook, "eleven", tmp_path)
    assert len(found) == 1 and BROKEN[breaking] in found[0]


def test_free_form_needs_no_parts(tmp_path):
    assert faults(v4.new_notebook(cells=[v4.new_markdown_cell("# Start here")]), "free", tmp_path) == []


def test_a_stored_number_that_is_not_computed_fails(tmp_path):
    """nbval as it is set up here compares text/plain, not the rich forms that are never stored."""
    source = "from IPython.display import display\ndisplay({'text/plain': '%s', 'text/html': '7'}, raw=True)"
    stored = [v4.new_output("display_data", {"text/plain": "7"})]
    cells = [v4.new_code_cell(source % number, execution_count=n, outputs=stored)
             for n, number in ((1, 7), (2, 8))]
    nbformat.write(v4.new_notebook(cells=cells), tmp_path / "trial.ipynb")
    run = subprocess.run(
        [sys.executable, "-m", "pytest", "-c", ROOT / ".pytest.ini", "-p", "conftest",
         "-p", "no:cacheprovider", tmp_path / "trial.ipynb"], cwd=ROOT, env=dict(os.environ, PYTHONPATH=str(ROOT / "workbook")),
        capture_output=True, text=True)
    assert run.returncode == 1
    assert "1 failed, 1 passed" in run.stdout
