"""No test sees the reader's own folder."""
import os
import tempfile

import pytest

from coachwork.commands.refresh import surroundings

EMPTY = tempfile.TemporaryDirectory(prefix="coachwork-tests-")
os.environ.update(surroundings(EMPTY.name))


@pytest.fixture
def home(tmp_path, monkeypatch):
    """An empty reader's folder of this test's own."""
    monkeypatch.setenv("COACHWORK_HOME", str(tmp_path / "home"))
    (tmp_path / "home").mkdir()
    return tmp_path / "home"
