"""Working copies: renewed while the reader left them as they were, never overwritten once they did not."""
import json

import nbformat
import pytest
from nbformat import v4

from coachwork import bootstrap
from coachwork.commands import open as opening

VIEW = {opening.WIDGET_VIEW: {"model_id": "1"}}


def write(path, *sources, **metadata):
    cells = [v4.new_code_cell(source, id=f"c{n}") for n, source in enumerate(sources)]
    nbformat.write(v4.new_notebook(cells=cells, metadata=metadata), path)


def read(path):
    return [cell.source for cell in nbformat.read(path, as_version=4).cells]


def run_by_reader(path, **metadata):
    """What JupyterLab saves after the reader ran the lesson: outputs, counts, its own metadata."""
    content = nbformat.read(path, as_version=4)
    for n, cell in enumerate(content.cells, 1):
        cell.execution_count = n
        cell.outputs = [v4.new_output("display_data", {**VIEW, "text/plain": "Bench: 3 m"}),
                        v4.new_output("display_data", dict(VIEW)), v4.new_output("stream", text="mine é")]
    content.metadata.update(metadata)
    nbformat.write(content, path)


@pytest.fixture
def lessons(tmp_path):
    folder = tmp_path / "workbook"
    (folder / "pictures").mkdir(parents=True)
    (folder / "pictures/x.png").write_bytes(b"first")
    write(folder / "01-energy.ipynb", "a", "b")
    return folder


@pytest.fixture
def lay(lessons, home):
    return lambda: opening.lay_out(home, lessons)


def test_first_start(lay, lessons, home):
    assert lay() == []
    assert (home / "01-energy.ipynb").read_bytes() == (lessons / "01-energy.ipynb").read_bytes()
    assert (home / "pictures/x.png").read_bytes() == b"first"


def test_a_second_start_writes_nothing(lay, home):
    lay()
    before = {path: path.stat().st_mtime_ns for path in home.rglob("*") if path.is_file()}
    lay()
    assert {path: path.stat().st_mtime_ns for path in home.rglob("*") if path.is_file()} == before


def test_a_copy_that_was_only_run_is_renewed(lay, lessons, home):
    lay()
    run_by_reader(home / "01-energy.ipynb")
    write(lessons / "01-energy.ipynb", "a", "b2")
    assert lay() == []
    assert read(home / "01-energy.ipynb") == ["a", "b2"]
    assert sorted(p.name for p in home.glob("*.ipynb")) == ["01-energy.ipynb"]


def test_results_stay_but_views_whose_models_are_gone_are_taken_out(lay, home):
    lay()
    run_by_reader(home / "01-energy.ipynb", widgets={"state": {}})
    lay()
    content = nbformat.read(home / "01-energy.ipynb", as_version=4)
    assert "widgets" not in content.metadata
    assert [dict(o.get("data", {})) or o.text for o in content.cells[0].outputs] == [
        {"text/plain": "Bench: 3 m"}, "mine é"]


def test_a_changed_copy_stays_and_the_new_edition_stands_beside_it(lay, lessons, home):
    lay()
    write(home / "01-energy.ipynb", "a", "my own")
    assert lay() == []                                              # same edition: nothing to put beside
    write(lessons / "01-energy.ipynb", "a", "b2")
    assert lay() == ["01-energy (new edition).ipynb"]
    assert read(home / "01-energy.ipynb") == ["a", "my own"]
    assert read(home / "01-energy (new edition).ipynb") == ["a", "b2"]
    assert lay() == []

    write(lessons / "01-energy.ipynb", "a", "b3")                   # untouched beside: renewed there
    assert lay() == []
    assert read(home / "01-energy (new edition).ipynb") == ["a", "b3"]

    write(home / "01-energy (new edition).ipynb", "mine too")       # changed as well: the next name
    write(lessons / "01-energy.ipynb", "a", "b4")
    assert lay() == ["01-energy (new edition 2).ipynb"]
    assert read(home / "01-energy.ipynb") == ["a", "my own"]
    assert read(home / "01-energy (new edition).ipynb") == ["mine too"]
    assert read(home / "01-energy (new edition 2).ipynb") == ["a", "b4"]


def test_a_new_edition_thrown_away_does_not_come_back(lay, lessons, home):
    lay()
    write(home / "01-energy.ipynb", "my own")
    write(lessons / "01-energy.ipynb", "a", "b2")
    lay()
    (home / "01-energy (new edition).ipynb").unlink()
    assert lay() == []
    assert not (home / "01-energy (new edition).ipynb").exists()


def test_a_lesson_thrown_away_comes_back(lay, home):
    lay()
    (home / "01-energy.ipynb").unlink()
    lay()
    assert read(home / "01-energy.ipynb") == ["a", "b"]


@pytest.mark.parametrize("memory", [b"", b"{broken", b"\xff"])
def test_without_its_memory_nothing_of_the_reader_is_lost(lay, home, memory):
    lay()
    write(home / "01-energy.ipynb", "my own")
    (home / ".lessons.json").write_bytes(memory)
    assert lay() == ["01-energy (new edition).ipynb"]
    assert read(home / "01-energy.ipynb") == ["my own"]


@pytest.mark.parametrize("content", [b"", b"not a notebook", b"[1]", b'{"cells": 3}', b"\xff\xfe"])
def test_a_copy_that_cannot_be_read_stays_with_a_whole_one_beside_it(lay, home, content):
    lay()
    (home / "01-energy.ipynb").write_bytes(content)
    assert lay() == ["01-energy (new edition).ipynb"]
    assert (home / "01-energy.ipynb").read_bytes() == content
    assert lay() == []


def test_pictures_are_renewed_unless_the_reader_drew_on_them(lay, lessons, home):
    lay()
    (lessons / "pictures/x.png").write_bytes(b"second")
    lay()
    assert (home / "pictures/x.png").read_bytes() == b"second"
    (home / "pictures/x.png").write_bytes(b"mine")
    (lessons / "pictures/x.png").write_bytes(b"third")
    lay()
    assert (home / "pictures/x.png").read_bytes() == b"mine"


def test_a_write_that_breaks_off_leaves_the_old_file_whole(home, monkeypatch):
    (home / "x").write_bytes(b"old")
    monkeypatch.setattr(opening.os, "replace", lambda *names: (_ for _ in ()).throw(OSError("power cut")))
    with pytest.raises(OSError):
        opening.write(home / "x", b"new")
    assert (home / "x").read_bytes() == b"old"


def test_a_folder_that_cannot_be_made_is_told_in_one_sentence(tmp_path, monkeypatch):
    (tmp_path / "a file").touch()
    monkeypatch.setenv("COACHWORK_HOME", str(tmp_path / "a file"))
    with pytest.raises(bootstrap.Trouble, match="a file cannot be written .*COACHWORK_HOME"):
        opening.main(["--no-browser"])


def test_the_server_is_for_this_machine_and_leaves_other_settings_alone(home):
    command, env = opening.server(home, "--port=1234")
    assert "--ip=127.0.0.1" in command and not any("token" in word.lower() for word in command)
    assert ("--allow-root" in command) == (hasattr(opening.os, "geteuid") and opening.os.geteuid() == 0)
    for name in ("JUPYTER_CONFIG_DIR", "JUPYTER_DATA_DIR", "JUPYTERLAB_SETTINGS_DIR", "IPYTHONDIR"):
        assert env[name].startswith(str(home))
    settings = json.loads((home / ".jupyter/app/overrides.json").read_text())
    assert settings["@jupyterlab/apputils-extension:notification"]["fetchNews"] == "false"


def test_a_reader_gets_a_seed_once(tmp_path):
    opening.lay_out(tmp_path)
    seed = (tmp_path / "seed.txt").read_text()
    assert 0 <= int(seed) < 10**6
    opening.lay_out(tmp_path)
    assert (tmp_path / "seed.txt").read_text() == seed
