"""How pytest runs a lesson: in an empty reader's folder on a fixed date, as `refresh` runs it."""
import os
import tempfile

import pytest

from coachwork.commands.refresh import surroundings

HOMES = tempfile.TemporaryDirectory(prefix="coachwork-lessons-")


def pytest_collectstart(collector):
    if hasattr(collector, "skip_compare"):      # a notebook; these forms are never stored, text/plain always is
        collector.skip_compare += ("text/html", "text/latex", "text/markdown", "image/svg+xml")


@pytest.hookimpl(tryfirst=True)
def pytest_runtest_setup(item):
    if hasattr(item.parent, "skip_compare") and item.parent.kernel is None:     # nbval starts it after this
        os.environ.update(surroundings(tempfile.mkdtemp(dir=HOMES.name)))
