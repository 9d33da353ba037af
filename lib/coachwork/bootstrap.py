"""From a bare Python to one with everything the workbook needs. Standard library only.

Both `python3 workbook` and `python3 tests` begin here: a virtual environment `.venv` is made and filled
once, then the same command goes on inside it. A stamp written last says that it is complete, so a start
that broke half-way is simply repaired by the next one.

This file must stay readable for Python 3.6, or an old Python could not say that it is too old.
"""
import hashlib
import importlib
import os
import re
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
VENV = ROOT / ".venv"
OLDEST = (3, 11)
PYTHON = "py" if os.name == "nt" else "python3"

# What Python or pip printed, and what it means for the reader. The first match is told.
TROUBLES = (
    (r"No space left|not enough space on the disk|Errno 28",
     "The disk is full: the workbook needs about 1 GB in {root}; make room and start again."),
    (r"ensurepip|No module named '?venv",
     "This Python cannot make virtual environments: on Debian or Ubuntu run "
     "`sudo apt install python3-venv` (elsewhere reinstall Python from python.org), then start again."),
    (r"Permission denied|Read-only file system|Access is denied|Errno 13|Errno 30|WinError 5\b",
     "The folder {root} cannot be written: copy the workbook to a folder of your own, "
     "for example {home}, and start again there."),
    (r"name resolution|getaddrinfo|NewConnectionError|ConnectTimeout|ReadTimeout|Network is unreachable|"
     r"ProxyError|Connection (refused|reset)|from versions: none",
     "The package index cannot be reached: the first start needs the internet; "
     "connect (or set your proxy) and start again."),
)


class Trouble(Exception):
    """Something the reader can mend; the text is one sentence for them."""


def home():
    """The reader's own folder: COACHWORK_HOME, or `coachwork` in their home directory."""
    named = os.environ.get("COACHWORK_HOME")
    return Path(named).expanduser().resolve() if named else Path.home() / "coachwork"


def start(room):
    """Make the environment complete, go on inside it, and end the process with what `room(argv)` returns."""
    try:
        try:
            prepare(tests=room is tests)
        except OSError as error:
            raise Trouble(reason(str(error), "writing to {}".format(VENV)))
        if Path(sys.prefix).resolve() != VENV.resolve():
            go_on([python(), *sys.argv])
        code = room(sys.argv[1:])
    except Trouble as trouble:
        code = str(trouble)
    except KeyboardInterrupt:
        code = "Stopped. Start again to go on where it was."
    sys.exit(code)


def workbook(argv):
    """Run one command of coachwork/commands/; without a name, open the lessons."""
    name, rest = ("open", argv) if not argv or argv[0].startswith("-") else (argv[0], argv[1:])
    known = names(Path(__file__).with_name("commands"))
    if name not in known:
        raise Trouble("There is no command '{}' here; `{} workbook` knows: {}.".format(
            name, PYTHON, ", ".join(known)))
    return importlib.import_module("coachwork.commands." + name).main(rest)


def tests(argv):
    """Run one of the testers' own commands (tests/NAME.py), else pytest, always from the root folder.

    Without a word all tests are shared among processes. Each takes whole files, as the cells of a lesson share
    a kernel, and the tests of a browser their JupyterLab.
    """
    os.chdir(str(ROOT))
    word = argv[0] if argv else "-"
    if word.isidentifier() and not Path(word).exists():
        known = [n for n in names(ROOT / "tests") if not n.startswith("test_") and n != "conftest"]
        if word not in known:
            raise Trouble("There is no command '{}' here; `{} tests` knows: {}. To choose tests by a word "
                          "write `{} tests -k {}`.".format(word, PYTHON, ", ".join(known), PYTHON, word))
        return importlib.import_module(word).main(argv[1:])
    os.environ.pop("PYTHONDONTWRITEBYTECODE", None)     # dozens of kernels would compile the library anew
    everything = ["-n", str(min(4, os.cpu_count() or 1)), "--dist", "loadfile", "--no-loadscope-reorder"]
    return go_on([sys.executable, "-m", "pytest", *(argv or everything)])


def names(folder):
    """The modules of a folder that are commands, in order."""
    return sorted(p.stem for p in folder.glob("*.py") if not p.name.startswith("_"))


def python():
    """The environment's own Python."""
    return str(VENV / ("Scripts/python.exe" if os.name == "nt" else "bin/python"))


def go_on(command):
    """Continue as another process. Windows has no real exec, so there this one waits for it."""
    sys.stdout.flush()
    if os.name != "nt":
        os.execv(command[0], command)
    sys.exit(subprocess.call(command))


def prepare(tests=False):
    """Make .venv hold what requirements.txt asks for (and the extra `test`). Quick where it already does.

    Raises Trouble, one sentence, for everything the reader can mend.
    """
    if sys.version_info < OLDEST:
        raise Trouble("The workbook needs Python {}.{} or newer and this is {}.{}: install a newer one from "
                      "python.org and start with that.".format(*OLDEST, *sys.version_info[:2]))
    stamp = VENV / ("ready-for-tests" if tests else "ready")
    whole = os.path.exists(python()) and (VENV / "pyvenv.cfg").is_file()
    if whole and stamp.is_file() and stamp.read_text() == fingerprint():
        return
    print("Setting up the workbook in {} (once; about 0.5 GB and a few minutes).".format(VENV), flush=True)
    for old in VENV.glob("ready*"):
        old.unlink()
    if not usable():
        run([sys.executable, "-m", "venv", "--clear", str(VENV)], "making an environment of its own")
    extra = ["-e", "./lib[test]"] if tests else []
    run([python(), "-m", "pip", "install", "--disable-pip-version-check", "--no-input",
         "--progress-bar", "off", "-r", "requirements.txt", *extra], "fetching packages")
    for done in [stamp, VENV / "ready"]:
        done.write_text(fingerprint())
    print("Ready.", flush=True)


def fingerprint():
    """What a complete environment was made from; another value means it must be set up again."""
    made_from = [str(VENV), "{}.{}".format(*sys.version_info)]
    made_from += [(ROOT / name).read_text("utf-8") for name in ("requirements.txt", "lib/pyproject.toml")]
    return hashlib.sha256("\0".join(made_from).encode("utf-8")).hexdigest()


def usable():
    """True if .venv holds a Python of our version, with pip, that lives where it was made."""
    ask = "import sys, pip; print('{}.{}'.format(*sys.version_info)); print(sys.prefix)"
    try:
        said = subprocess.run([python(), "-I", "-c", ask], stdout=subprocess.PIPE, stderr=subprocess.DEVNULL,
                              universal_newlines=True).stdout.splitlines()
    except OSError:
        return False
    return len(said) == 2 and said[0] == "{}.{}".format(*sys.version_info) and Path(said[1]) == VENV


def run(command, doing):
    """Run a step of setting up with a progress line; raise Trouble with its likely reason if it fails."""
    env = dict(os.environ, PIP_USER="0", PYTHONUNBUFFERED="1", PYTHONIOENCODING="utf-8")
    live, said, packages = sys.stdout.isatty(), [], 0
    try:
        step = subprocess.Popen(command, cwd=str(ROOT), env=env, stdout=subprocess.PIPE,
                                stderr=subprocess.STDOUT, stdin=subprocess.DEVNULL)
    except OSError as error:
        raise Trouble(reason(str(error), doing))
    print("  " + doing, end="" if live else "\n", flush=True)
    for line in step.stdout:
        said.append(line.decode("utf-8", "replace"))
        collecting = re.match(r"Collecting ([\w.-]+)", said[-1])
        installing = said[-1].startswith("Installing collected packages")
        packages += bool(collecting)
        now = "{} {}: {}".format(doing, packages, collecting.group(1)) if collecting else "unpacking them"
        if live and (collecting or installing):
            print("\r  {:<70.70}".format(now), end="", flush=True)
        elif installing:
            print("  unpacking {} packages".format(packages), flush=True)
    if live:
        print()
    if step.wait():
        raise Trouble(reason("".join(said), doing))


def reason(said, doing):
    """The sentence for a step that failed, from all it said."""
    for pattern, sentence in TROUBLES:
        if re.search(pattern, said, re.IGNORECASE):
            return sentence.format(root=ROOT, home=Path.home() / "workbook")
    lines = [line.strip() for line in said.splitlines() if line.strip()] or ["it said nothing"]
    last = [line for line in lines if re.match("error", line, re.IGNORECASE)][-1:] or lines[-1:]
    why = re.sub("^error: ", "", last[0].rstrip("."), flags=re.IGNORECASE)
    return "Setting up stopped while {}, because: {}. Mend that and start again.".format(doing, why)
