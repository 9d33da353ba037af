"""No test sees the reader's own folder, and no property test fails because the machine is busy."""
import os
import tempfile

import pytest
from hypothesis import HealthCheck, settings

import browser
from coachwork.commands.refresh import surroundings

settings.register_profile("workbook", deadline=None, suppress_health_check=[HealthCheck.too_slow],
                          derandomize="CI" in os.environ)  # fmt: skip
settings.load_profile("workbook")

EMPTY = tempfile.TemporaryDirectory(prefix="coachwork-tests-")
os.environ.update(surroundings(EMPTY.name))

# What takes longest, first, so that no process is alone with it at the end; then lessons, then the rest.
LONG = ["test_browser.py", "test_hub.py", "test_editions.py", "test_front.py", "test_form.py", "test_meter.py"]
LAB = []        # the JupyterLab that is open in this process


def wants_lab(item):
    return "lab" in getattr(item, "fixturenames", ())


def pytest_collection_modifyitems(config, items):
    if hasattr(config, "workerinput"):          # one of several processes
        place = {name: n for n, name in enumerate(LONG)}
        items.sort(key=lambda item: place.get(item.path.name, len(LONG) + (item.path.suffix != ".ipynb")))


@pytest.fixture(scope="module")
def lab():
    """One JupyterLab and one Chromium over all lessons; open as long as the tests that follow want it too."""
    if not LAB:
        LAB.append(browser.Browser(guide=True).__enter__())
    return LAB[0]


def close_lab():
    if LAB:
        LAB.pop().__exit__()


@pytest.hookimpl(wrapper=True)
def pytest_runtest_teardown(item, nextitem):
    try:
        return (yield)
    finally:
        if not wants_lab(nextitem):
            close_lab()


def pytest_sessionfinish():
    close_lab()


@pytest.hookimpl(tryfirst=True)
def pytest_runtest_setup():
    os.environ.update(surroundings(EMPTY.name))     # a lesson that ran before has left its own folder here


@pytest.fixture
def home(tmp_path, monkeypatch):
    """An empty reader's folder of this test's own."""
    monkeypatch.setenv("COACHWORK_HOME", str(tmp_path / "home"))
    (tmp_path / "home").mkdir()
    return tmp_path / "home"
