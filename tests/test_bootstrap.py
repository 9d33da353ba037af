"""From a bare Python to a complete environment, in small copies of the workbook that need no network.

Real virtual environments, real pip; only what cannot be had here (a full disk, a Debian without its venv
package, a read-only folder) is played by a `venv` or `pip` that prints what the real one prints.
"""
import ast
import os
import shutil
import subprocess
import sys

import pytest

from coachwork.bootstrap import ROOT

FILES = ["lib/coachwork/__init__.py", "lib/coachwork/bootstrap.py", "lib/pyproject.toml",
         "workbook/__main__.py", "tests/__main__.py"]
DEBIAN = ("The virtual environment was not created successfully because ensurepip is not\\navailable.  "
          "On Debian/Ubuntu systems, you need to install the python3-venv\\npackage using the following command.")


@pytest.fixture(scope="module")
def bare(tmp_path_factory):
    """A copy that asks for no package, with one command, in a folder with a space and an accent."""
    root = tmp_path_factory.mktemp("my coach é")
    for name in FILES:
        (root / name).parent.mkdir(parents=True, exist_ok=True)
        shutil.copy(ROOT / name, root / name)
    (root / "requirements.txt").write_text("# nothing\n")
    commands = root / "lib/coachwork/commands"
    commands.mkdir()
    (commands / "__init__.py").touch()
    (commands / "where.py").write_text(
        "import sys\ndef main(argv):\n    print(sys.prefix, argv)\n    return len(argv)\n")
    return root


@pytest.fixture
def broken(bare, tmp_path):
    """The same, without an environment of its own."""
    shutil.copytree(bare, tmp_path / "copy", ignore=shutil.ignore_patterns(".venv"))
    return tmp_path / "copy"


def start(root, *words, room="workbook", **env):
    run = subprocess.run([sys._base_executable, str(root / room), *words], cwd="/", env={**os.environ, **env},
                         capture_output=True, text=True, encoding="utf-8")
    assert "Traceback" not in run.stderr, run.stderr
    return run


def sentence(run):
    """The one sentence of a start that failed."""
    assert run.returncode == 1
    assert run.stderr.count("\n") == 1
    return run.stderr


def test_set_up_once_then_quick_then_repaired(bare):
    first = start(bare, "where", "a", "b")
    assert first.stdout.splitlines()[-1] == f"{bare / '.venv'} ['a', 'b']"
    assert first.returncode == 2
    assert "Setting up" in first.stdout

    assert "Setting up" not in start(bare, "where").stdout

    (bare / ".venv/ready").unlink()                         # as when the first start broke off
    assert "Ready." in start(bare, "where").stdout

    (bare / "requirements.txt").write_text("# still nothing\n")
    assert "Ready." in start(bare, "where").stdout

    (bare / ".venv/pyvenv.cfg").unlink()                    # a Python that no longer knows its place
    again = start(bare, "where")
    assert "making an environment" in again.stdout and again.returncode == 0

    said = sentence(start(bare, "wher"))
    assert "no command 'wher'" in said and "knows: where" in said


def test_the_testers_commands_and_their_own_stamp(bare):
    start(bare, "where")
    (bare / ".venv/ready-for-tests").write_text((bare / ".venv/ready").read_text())
    (bare / "tests/speed.py").write_text("import os\ndef main(argv):\n    print(os.getcwd(), argv)\n")
    assert start(bare, "speed", "-x", room="tests").stdout == f"{bare} ['-x']\n"
    said = sentence(start(bare, "pictures", room="tests"))
    assert "no command 'pictures'" in said and "knows: speed" in said and "-k pictures" in said


def test_all_tests_are_shared_among_processes_and_chosen_ones_are_not(bare, tmp_path):
    start(bare, "where")
    (bare / ".venv/ready-for-tests").write_text((bare / ".venv/ready").read_text())
    (tmp_path / "pytest.py").write_text("import sys\nprint(sys.argv[1:], sys.dont_write_bytecode)\n")
    play = dict(room="tests", PYTHONPATH=str(tmp_path), PYTHONDONTWRITEBYTECODE="1")
    shared = start(bare, **play).stdout
    assert shared.startswith("['-n', '") and "'--dist', 'loadfile'" in shared and shared.endswith("False\n")
    assert start(bare, "-k", "sun", **play).stdout == "['-k', 'sun'] False\n"


@pytest.mark.parametrize("wanted, told", [
    ("a-package-nobody-has-made", "package index cannot be reached"),
    ("./no-such-folder", "fetching packages, because: Invalid requirement: './no-such-folder'"),
])
def test_pip_fails_and_the_next_start_repairs(bare, wanted, told):
    (bare / "requirements.txt").write_text(wanted)
    nowhere = dict(PIP_INDEX_URL="http://127.0.0.1:9/", PIP_CONFIG_FILE=os.devnull, PIP_FIND_LINKS="",
                   PIP_RETRIES="0")
    assert told in sentence(start(bare, **nowhere))
    assert not (bare / ".venv/ready").exists()
    (bare / "requirements.txt").write_text("# nothing\n")
    assert "Ready." in start(bare, "where").stdout


@pytest.mark.parametrize("printed, told", [
    (DEBIAN, "apt install python3-venv"),
    ("Error: [Errno 28] No space left on device", "disk is full"),
    ("Error: [Errno 13] Permission denied: '/x/.venv'", "cannot be written"),
    ("something nobody has met yet", "because: something nobody has met yet"),
])
def test_what_venv_says_is_told_in_one_sentence(broken, tmp_path, printed, told):
    (tmp_path / "venv").mkdir()
    (tmp_path / "venv/__init__.py").touch()
    (tmp_path / "venv/__main__.py").write_text(f'print("{printed}")\nraise SystemExit(1)\n')
    assert told in sentence(start(broken, PYTHONPATH=str(tmp_path)))


def test_a_python_without_venv(broken, tmp_path):
    (tmp_path / "venv.py").write_text("raise SystemExit(\"No module named venv\")")
    assert "apt install python3-venv" in sentence(start(broken, PYTHONPATH=str(tmp_path)))


@pytest.mark.skipif(os.name == "nt", reason="folders are protected otherwise there")
def test_a_folder_that_cannot_be_written(broken):
    if os.geteuid() == 0:
        pytest.skip("root may write everywhere")
    broken.chmod(0o555)
    assert "cannot be written" in sentence(start(broken))


def test_too_old_a_python(broken):
    """An old Python can read what it must read, and says what it needs."""
    for name in FILES:
        if name.endswith(".py"):
            ast.parse((ROOT / name).read_text("utf-8"), feature_version=(3, 6))
    play = ("import sys, runpy; sys.version_info = (3, 8, 0, 'final', 0); "
            f"runpy.run_path({str(broken / 'workbook')!r}, run_name='__main__')")
    run = subprocess.run([sys.executable, "-c", play], capture_output=True, text=True)
    assert "needs Python 3.11 or newer and this is 3.8" in sentence(run)
    assert not (broken / ".venv").exists()
