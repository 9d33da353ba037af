"""What `tests speed` measures, part by part, and the process in which it is measured.

For each part and each commit `speed.py` starts one process with that commit's library on its path (`serve`), so that an
older one is measured by the same code. It tells its rows, then takes a row's times as often as it is asked.
"""

import contextlib
import dataclasses
import importlib
import json
import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path

PARTS = {  # part: the module whose function of that name tells its rows, and what its rows are held beside
    "start": ("_speed_browser", ""),
    "import": ("_speed_rows", ""),
    "benches": (
        "_speed_kernels",
        "a full redraw of the same picture with matplotlib's own PNG, every fourth move",
    ),
    "topics": ("_speed_kernels", ""),
    "year": ("_speed_year", "a toy year over Python lists, of as many designs"),
    "record": ("_speed_rows", ""),
    "browser": ("_speed_browser", "plain ipywidgets `interact` with a new figure of the same picture"),
    "editions": ("_speed_rows", ""),
    "suite": ("_speed_rows", ""),
}
OPEN = contextlib.ExitStack()  # what stays open while a part is measured


@dataclasses.dataclass(frozen=True)
class Row:
    """One line of the table.

    take : a function of a number of times. It gives a dict: `times`, for each time seconds by the clock and of the processor
    (None where that is not known); for some rows `beside`, the same of what it is held beside, and `said`, a line of words.
    times : how often it is measured, `block` of them or more at a stroke. wanted : figure to reach, in words. unit : ms or s.
    warm : whether it is done once before it counts.
    """

    name: str
    take: object
    times: int
    wanted: str = ""
    unit: str = "ms"
    warm: bool = True
    block: int = 1


def processor():
    """Seconds of processor time of this process and of those that it has waited for."""
    used = os.times()
    return time.process_time() + used.children_user + used.children_system


def timed(call):
    """Seconds by the clock and of the processor that a call takes."""
    begun, worked = time.perf_counter(), processor()
    call()
    return time.perf_counter() - begun, processor() - worked


def repeat(call, other=None, every=1, ready=lambda: None):
    """A row's `take` of a call; `other`, which it is held beside, follows each `every` times; `ready` comes first, not counted."""

    def take(times):
        found, others = [], []
        for number in range(times):
            ready()
            found.append(timed(call))
            if other and number % every == 0:
                others.append(timed(other))
        return {"times": found, "beside": others}

    return take


# ------------------------------------------------------------------------------- in processes of their own


def python(code, *words, folder=None, path=None, fine=(0,)):
    """A call that runs Python code in a new process.

    It raises RuntimeError with the last line that speaks of an error, else the last, where the process ends with a code that is not fine.
    """
    env = dict(os.environ, **({"PYTHONPATH": path} if path else {}))

    def call():
        run = subprocess.run(
            [sys.executable, "-c", code, *words], env=env, cwd=folder, capture_output=True, text=True
        )
        call.said = (run.stdout.strip() or run.stderr.strip() or "it said nothing").splitlines()[-1]
        if run.returncode not in fine:
            lines = (run.stderr.strip() or call.said).splitlines()
            raise RuntimeError(next((line for line in reversed(lines) if "rror" in line), lines[-1]))

    return call


def command(*words):
    """A call of `python3 workbook ...`, from an environment that stands."""
    return python(
        "import sys; from coachwork import bootstrap; sys.exit(bootstrap.workbook(sys.argv[1:]))", *words
    )


def imports(wish):
    lesson = ("import coachwork.energy, coachwork.coach; from coachwork.page import bench, slider, questions; "
              "import matplotlib.figure, matplotlib.backends.backend_agg")  # fmt: skip
    return [
        Row("Python's own start", repeat(python("pass")), 5),
        Row("what a lesson needs, in a new Python", repeat(python(lesson)), 5, "1300 ms"),
        Row(
            "what the record needs, in a new Python",
            repeat(python("import coachwork.design, coachwork.page.record")),
            5,
        ),
    ]


def record(wish):
    from coachwork import coach

    folder = OPEN.enter_context(tempfile.TemporaryDirectory())
    return [Row(f"`workbook record` of {path.stem}", repeat(command("record", str(path), "--to", folder)), 2, "6 s", "s", False)
            for path in coach.demos()]  # fmt: skip


def editions(wish):
    folder = OPEN.enter_context(tempfile.TemporaryDirectory())
    return [Row(f"`workbook {name}` of all lessons", repeat(command(name, "--to", folder)), 1, "", "s", False)
            for name in ("print", "site")]  # fmt: skip


def suite(wish):
    import coachwork

    root = Path(coachwork.__file__).parents[2]
    code = "from coachwork import bootstrap; bootstrap.tests([])"
    everything = python(code, folder=root, path=str(root / "lib"), fine=(0, 1))  # 1: a test failed

    def take(times):
        return {"times": [timed(everything) for _ in range(times)], "said": everything.said}

    return [Row("`tests`, the whole suite", take, 1, "600 s", "s", False)]


# ------------------------------------------------------------------------------- the process that measures


def serve(root, part, wish):
    """Tell the rows of a part, then answer each line that names one and how many times it is to be measured.

    root : the folder whose library must be the one that is measured. wish : JSON of what the user asked for.
    Every answer is a line of JSON; {"trouble": ...} where the library could not do it.
    """
    answers, asked = os.fdopen(os.dup(1), "w"), os.fdopen(os.dup(0))
    os.dup2(os.open(os.devnull, os.O_RDONLY), 0)  # a browser's driver makes a pipe that it inherits end at once when it is empty
    os.dup2(os.open(os.devnull, os.O_WRONLY), 1)  # what lessons print is no answer
    with OPEN:
        try:
            rows = {row.name: row for row in _rows(root, part, json.loads(wish))}
            said = {"rows": [{**vars(row), "take": None} for row in rows.values()]}
        except Exception as error:  # also of an older commit that knows no such thing
            rows, said = {}, {"trouble": _said(error)}
        print(json.dumps(said), file=answers, flush=True)
        warm = set()
        for line in asked:
            name, times = json.loads(line)
            try:
                row = rows[name]
                if row.warm and name not in warm:
                    warm.add(name)
                    row.take(1)
                said = row.take(times)
            except Exception as error:
                said = {"trouble": _said(error)}
            print(json.dumps(said), file=answers, flush=True)


def _said(error):
    return f"{type(error).__name__}: {error}".splitlines()[0]


def _rows(root, part, wish):
    import coachwork
    from coachwork.commands.refresh import surroundings

    if Path(root) not in Path(coachwork.__file__).parents:
        raise RuntimeError(f"the library of {root} was to be measured and {coachwork.__file__} was found")
    os.environ.update(
        surroundings(OPEN.enter_context(tempfile.TemporaryDirectory(ignore_cleanup_errors=True)))
    )
    module = importlib.import_module(PARTS[part][0])
    return getattr(module, {"import": "imports"}.get(part, part))(wish)
