"""`refresh` stores what a lesson says and nothing else, and the same bytes each time."""
import json

import nbformat
import pytest
from nbformat import v4

from coachwork import bootstrap
from coachwork.commands import refresh

RICH = """import os, sys
from IPython.display import display
print("one"); sys.stdout.flush(); print("two")
display({"text/plain": "7 A", "text/html": "<b>7 A</b>", "text/latex": "$7$", "image/png": "AAAA"}, raw=True)
display({"image/svg+xml": "<svg/>"}, raw=True)
import ipywidgets
ipywidgets.IntSlider(3)"""
WHERE = """import datetime, pathlib
home = pathlib.Path(os.environ["COACHWORK_HOME"])
(home / "coach.toml").write_text("mine")
os.environ["COACHWORK_DATE"], sorted(p.name for p in home.glob("[a-z]*"))"""


def notebook(path, *sources, **metadata):
    cells = [v4.new_markdown_cell("# Trial")] + [v4.new_code_cell(source) for source in sources]
    nbformat.write(v4.new_notebook(cells=cells, metadata=metadata), path)
    return path


@pytest.fixture(scope="module")
def fresh(tmp_path_factory):
    path = notebook(tmp_path_factory.mktemp("refresh") / "01-trial.ipynb", RICH, WHERE,
                    widgets={"application/vnd.jupyter.widget-state+json": {}},
                    language_info={"name": "python", "version": "3.9"})
    raw = json.loads(path.read_text())
    raw["cells"][1]["metadata"] = {"tags": ["deeper"], "collapsed": True, "execution": {"iopub.status": "x"}}
    raw["cells"][2]["id"] = "where-am-i"
    path.write_text(json.dumps(raw))
    refresh.main([str(path)])
    return path


def test_only_text_is_stored(fresh):
    outputs = json.loads(fresh.read_text())["cells"][1]["outputs"]
    assert outputs[0] == {"name": "stdout", "output_type": "stream", "text": ["one\n", "two\n"]}
    assert [output["data"] for output in outputs[1:]] == [
        {"text/plain": ["7 A"]}, {"text/plain": ["IntSlider(value=3)"]}]


def test_nothing_of_the_editor_is_stored(fresh):
    content = json.loads(fresh.read_text())
    assert content["metadata"] == {
        "kernelspec": {"display_name": "Python 3 (ipykernel)", "language": "python", "name": "python3"},
        "language_info": {"name": "python"}}
    assert [cell["metadata"] for cell in content["cells"]] == [{}, {"tags": ["deeper"]}, {}]
    assert [cell["id"] for cell in content["cells"]] == ["c01", "c02", "where-am-i"]
    assert [cell["execution_count"] for cell in content["cells"][1:]] == [1, 2]
    assert fresh.read_bytes().endswith(b"}\n")


def test_it_ran_in_an_empty_home_on_the_fixed_date(fresh):
    said = json.loads(fresh.read_text())["cells"][2]["outputs"][0]["data"]["text/plain"]
    assert said == [f"('{refresh.DATE}', ['coach.toml'])"]


def test_again_changes_no_byte(fresh, capsys):
    before, when = fresh.read_bytes(), fresh.stat().st_mtime_ns
    assert refresh.main([str(fresh)]) == 0
    assert fresh.read_bytes() == before
    assert fresh.stat().st_mtime_ns == when
    assert "as it was" in capsys.readouterr().out


def test_a_failing_cell_leaves_the_lesson_as_it_was(tmp_path):
    path = notebook(tmp_path / "02-bad.ipynb", "1 + 1", "1 / 0")
    before = path.read_bytes()
    with pytest.raises(bootstrap.Trouble) as trouble:
        refresh.main([str(path)])
    assert str(trouble.value) == (
        "02-bad.ipynb: cell 3 raised ZeroDivisionError: division by zero (nothing was written).")
    assert path.read_bytes() == before


def test_a_kernel_that_dies_is_told(tmp_path):
    path = notebook(tmp_path / "03-dies.ipynb", "import os; os._exit(1)")
    with pytest.raises(bootstrap.Trouble, match="03-dies.ipynb: .*died.*nothing was written"):
        refresh.main([str(path)])


def test_new_ids_never_take_one_that_is_there():
    cells = [v4.new_markdown_cell(text, id=name) for text, name in (
        ("a", "c02"), ("b", "01234567-89ab-cdef-0123-456789abcdef"), ("c", "0123abcd"))]
    once = refresh.tidy(v4.new_notebook(cells=cells))
    assert [cell["id"] for cell in json.loads(once)["cells"]] == ["c02", "c01", "c03"]
    assert refresh.tidy(nbformat.reads(once, as_version=4)) == once


def test_finding_a_lesson(tmp_path):
    known = [tmp_path / "07-wiring.ipynb", tmp_path / "09-cooling-load.ipynb"]
    for word in ("07", "wiring", "07-wiring", "07-wiring.ipynb"):
        assert refresh.find(word, known) == known[0]
    with pytest.raises(bootstrap.Trouble, match="no lesson 'wires'; there are: 07-wiring, 09-cooling-load"):
        refresh.find("wires", known)
