"""No test sees the reader's own folder, and no property test fails because the machine is busy."""
import os
import tempfile

import pytest
from hypothesis import HealthCheck, settings

from coachwork.commands.refresh import surroundings

settings.register_profile("workbook", deadline=None, suppress_health_check=[HealthCheck.too_slow],
                          derandomize="CI" in os.environ)  # fmt: skip
settings.load_profile("workbook")

EMPTY = tempfile.TemporaryDirectory(prefix="coachwork-tests-")
os.environ.update(surroundings(EMPTY.name))

# What takes longest, first, so that no process is alone with it at the end; files not named come after them.
LONG = ["test_browser.py", "test_hub.py", "test_editions.py", "test_bench.py"]


def pytest_collection_modifyitems(config, items):
    if hasattr(config, "workerinput"):          # one of several processes
        place = {name: n for n, name in enumerate(LONG)}
        items.sort(key=lambda item: place.get(item.path.name, len(LONG)))


@pytest.hookimpl(tryfirst=True)
def pytest_runtest_setup():
    os.environ.update(surroundings(EMPTY.name))     # a lesson that ran before has left its own folder here


@pytest.fixture
def home(tmp_path, monkeypatch):
    """An empty reader's folder of this test's own."""
    monkeypatch.setenv("COACHWORK_HOME", str(tmp_path / "home"))
    (tmp_path / "home").mkdir()
    return tmp_path / "home"
