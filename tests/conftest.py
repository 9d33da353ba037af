"""No test sees the reader's own folder, and every lesson is run in an empty one, as `refresh` runs it."""
import os
import tempfile

import pytest

from coachwork.commands.refresh import surroundings

HOMES = tempfile.TemporaryDirectory(prefix="coachwork-tests-")
os.environ.update(surroundings(tempfile.mkdtemp(dir=HOMES.name)))


@pytest.fixture
def home(tmp_path, monkeypatch):
    """An empty reader's folder of this test's own."""
    monkeypatch.setenv("COACHWORK_HOME", str(tmp_path / "home"))
    (tmp_path / "home").mkdir()
    return tmp_path / "home"


def pytest_collectstart(collector):
    if hasattr(collector, "skip_compare"):      # a notebook: these are never stored, text/plain is
        collector.skip_compare += ("text/html", "text/latex", "text/markdown", "image/svg+xml")


@pytest.hookimpl(tryfirst=True)
def pytest_runtest_setup(item):
    if hasattr(item.parent, "skip_compare") and item.parent.kernel is None:     # started right after this
        os.environ["COACHWORK_HOME"] = tempfile.mkdtemp(dir=HOMES.name)
