"""How long a reader waits: `python3 tests speed [--part start topics ...] [--against REV]`.

Parts, all but the last two without being asked:

  start     the workbook until it answers and until its first lesson stands; lesson 01 run whole
  import    what a lesson and the record need, in a new Python
  benches   a move of every bench of every lesson in the kernel, beside a full redraw
  topics    what each topic does for a coach
  year      a coach's year and a thousand designs, beside what a reader would use instead
  record    the design record of each demo coach, by its command
  browser   key press to changed picture in a real Chromium, beside plain `interact` (--browser NAME ... or all)
  editions  print and site, all lessons (--editions)
  suite     `python3 tests` (--suite)

With --against the same code measures an older commit as well, the two by turns, and the last columns hold the one against the other.
"""

import argparse
import contextlib
import importlib.metadata
import io
import json
import os
import platform
import shutil
import statistics
import subprocess
import sys
import tarfile
import tempfile
import time
from pathlib import Path

from _speed_rows import PARTS
from coachwork.bootstrap import ROOT, Trouble

HERE = Path(__file__).parent
ASKED = ("editions", "suite")  # parts that are measured where they are asked for
TURNS = 5  # strokes in which a row is measured where two commits take turns
BENCHES = ("01-LoadDay", "01-InverterHours")


def main(argv):
    words = argparse.ArgumentParser(
        prog="tests speed", description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    words.add_argument(
        "--part", nargs="+", choices=PARTS, metavar="PART", help=f"only these of {', '.join(PARTS)}"
    )
    words.add_argument("--browser", nargs="+", metavar="NAME", help="benches for the browser, as the part `benches` names them, "
                       f"`standard` or `all` (left out: {' '.join(BENCHES)})")  # fmt: skip
    words.add_argument("--against", metavar="REV", help="an older commit, measured in the same run")
    words.add_argument("--only", metavar="WORD", default="", help="only rows with this word in their name")
    words.add_argument(
        "--moves",
        type=int,
        default=40,
        choices=range(1, 61),
        metavar="1..60",
        help="moves of each bench (default 40)",
    )
    words.add_argument("--quick", action="store_true", help="an eighth of the times, to see that it works")
    words.add_argument("--editions", action="store_true", help="print and site as well: some minutes")
    words.add_argument(
        "--suite", action="store_true", help="the whole test suite as well: a quarter of an hour"
    )
    wish = words.parse_args(argv)
    parts = wish.part or [part for part in PARTS if part not in ASKED]
    parts += [part for part in ASKED if getattr(wish, part) and part not in parts]
    if wish.browser and wish.part and "browser" not in parts:
        parts.append("browser")
    asked = {"moves": wish.moves, "browser": wish.browser or BENCHES}
    with contextlib.ExitStack() as stack:
        roots, about = [ROOT], [machine(), commit("HEAD"), bytecode()]
        if wish.against:
            roots.append(stack.enter_context(checked_out(wish.against)))
            about.insert(2, f"against {commit(wish.against)}, the two by turns")
        lines, notes, failed = [head(wish.against)], [], False
        for part in parts:
            begun = time.perf_counter()
            found = measured(part, roots, asked, wish.quick, wish.only)
            lines += [[part], *(cells(*one) for one in found)]
            notes += remarks(part, found)
            failed |= any("trouble" in ones[0] for _, ones in found)
            print(f"{part}: {time.perf_counter() - begun:.0f} s", file=sys.stderr, flush=True)
    print("\n".join([*about, f"load at the end {os.getloadavg()[0]:.1f}", "", *aligned(lines), "", *notes]))
    return int(failed)


# ------------------------------------------------------------------------------- measuring


class Measurer:
    """The process that measures a part in one tree; `rows` it tells, or `trouble`."""

    def __init__(self, root, part, asked):
        env = dict(os.environ, PYTHONPATH=os.pathsep.join([str(root / "lib"), str(HERE)]))
        env.pop("PYTHONDONTWRITEBYTECODE", None)  # or every new Python would compile the library anew
        code = "import sys, _speed_rows; _speed_rows.serve(*sys.argv[1:])"
        self.process = subprocess.Popen([sys.executable, "-c", code, str(root), part, json.dumps(asked)], env=env, text=True,
                                        stdin=subprocess.PIPE, stdout=subprocess.PIPE)  # fmt: skip
        told = self.heard()
        self.rows, self.trouble = told.get("rows", []), told.get("trouble")

    def heard(self):
        line = self.process.stdout.readline()
        return json.loads(line) if line else {"trouble": "the process that measures has ended"}

    def take(self, name, times):
        if self.trouble:
            return {"trouble": self.trouble}
        try:
            print(json.dumps([name, times]), file=self.process.stdin, flush=True)
        except BrokenPipeError:
            return {"trouble": "the process that measures has ended"}
        return self.heard()

    def close(self):
        with contextlib.suppress(BrokenPipeError):
            self.process.stdin.close()
        self.process.wait()


def measured(part, roots, asked, quick=False, only=""):
    """What was found of a part: a list of (row, one dict for each root as `Row.take` gives it, or with `trouble`)."""
    with contextlib.ExitStack() as stack:
        measurers = [stack.enter_context(contextlib.closing(Measurer(root, part, asked))) for root in roots]
        first = measurers[0]
        if first.trouble:
            return [
                (
                    {"name": f"{part}, as a whole", "unit": "", "wanted": ""},
                    [{"trouble": first.trouble}] * len(roots),
                )
            ]
        return [
            (row, by_turns(row, measurers, quick))
            for row in first.rows
            if only.lower() in row["name"].lower()
        ]


def by_turns(row, measurers, quick):
    """One row measured by all, a stroke each and the other first next time, so that a busy machine hits them alike."""
    times = max(1, row["times"] // 8) if quick else row["times"]
    turns = max(1, min(TURNS, times // row["block"])) if len(measurers) > 1 else 1
    found = [{"times": [], "beside": []} for _ in measurers]
    for turn in range(turns):
        stroke = times * (turn + 1) // turns - times * turn // turns
        for measurer, one in list(zip(measurers, found))[:: 1 if turn % 2 == 0 else -1]:
            if "trouble" not in one:
                new = measurer.take(row["name"], stroke)
                one.update(
                    new,
                    times=one["times"] + new.get("times", []),
                    beside=one["beside"] + new.get("beside", []),
                )
    return found


# ------------------------------------------------------------------------------- the table


def percentile(values, share):
    ordered = sorted(values)
    return ordered[min(len(ordered) - 1, int(share * len(ordered)))]


def figures(times):
    """p50 and p95 of seconds by the clock and p50 of the processor's; None each where it is not known."""
    clock = [one[0] for one in times]
    worked = [one[1] for one in times if one[1] is not None]
    return (statistics.median(clock) if clock else None, percentile(clock, 0.95) if clock else None,
            statistics.median(worked) if worked else None)  # fmt: skip


def head(against):
    then = ["then p50", "p95", "now/then", "p95", "cpu"] if against else []
    return ["", "times", "p50", "p95", "cpu", "unit", "beside", "of p50", "p95", "cpu", *then, "wanted"]


def cells(row, found):
    """A line of the table: the row, and what was found of it, now and then."""

    def number(seconds):
        value = (seconds or 0) * (1000 if row["unit"] == "ms" else 1)
        return "" if seconds is None else f"{value:.{2 if value < 10 else 1 if value < 100 else 0}f}"

    def shares(mine, others):
        return [f"{one / other:.2f}" if one and other else "" for one, other in zip(mine, others)]

    now, *then = ({"times": [], "beside": []} | one for one in found)
    ours, other = figures(now["times"]), figures(now["beside"])
    line = [
        f"  {row['name']}",
        str(len(now["times"])),
        *map(number, ours),
        row["unit"],
        number(other[0]),
        *shares(ours, other),
    ]
    for one in then:
        theirs = figures(one["times"])
        line += [*map(number, theirs[:2]), *shares(ours, theirs)]
        line[-5] = "not there" if "trouble" in one else line[-5]
    line[2] = "failed" if "trouble" in now else line[2]
    return [*line, row["wanted"]]


def aligned(lines):
    """Lines of cells as lines of text, numbers to the right; a line of one cell is a heading."""
    widths = [max(map(len, column)) for column in zip(*(line for line in lines if len(line) > 1))]
    shown = []
    for line in lines:
        first, *others = (cell.rjust(width) for cell, width in zip(line, widths))
        shown.append(
            "  ".join([line[0].ljust(len(first)), *others[:-1], line[-1]]).rstrip()
            if others
            else f"\n{line[0]}"
        )
    return shown


def remarks(part, found):
    """Lines below the table: what a share is of, what a row said, why one is not there."""
    other = PARTS[part][1]
    lines = [f"{part}: `of` is the share of {other}."] * bool(other)
    for row, ones in found:
        for one, when, missing in zip(ones, ("", ", then"), ("failed", "not there")):
            if "trouble" in one:
                lines.append(f"{row['name']}: {missing}, {one['trouble']}")
            elif one.get("said"):
                lines.append(f"{row['name']}{when}: {one['said']}.")
    return list(dict.fromkeys(lines))


# ------------------------------------------------------------------------------- machine and commit


def machine():
    """One line: what it was measured on."""
    names = ("numpy", "pint", "matplotlib", "jupyterlab", "ipywidgets", "anywidget")
    versions = " ".join(f"{name} {importlib.metadata.version(name)}" for name in names)
    return (f"{platform.system()} {platform.machine()}, {_cpu()}, {os.cpu_count()} cores, load {os.getloadavg()[0]:.1f}, "
            f"Python {platform.python_version()}, {versions}")  # fmt: skip


def _cpu():
    info = Path("/proc/cpuinfo")
    lines = info.read_text().splitlines() if info.exists() else []
    return next(
        (line.partition(": ")[2] for line in lines if line.startswith("model name")),
        platform.processor() or "CPU unknown",
    )


def bytecode():
    said = (
        " (PYTHONDONTWRITEBYTECODE is set, and left out here)"
        if "PYTHONDONTWRITEBYTECODE" in os.environ
        else ""
    )
    return (
        "bytecode may be written"
        if os.access(ROOT / "lib/coachwork", os.W_OK)
        else "bytecode may not be written"
    ) + said


def git(*words):
    """What git says in our checkout; None where it fails or is not installed."""
    if not shutil.which("git"):
        return None
    run = subprocess.run(["git", *words], cwd=ROOT, capture_output=True)
    return run.stdout if run.returncode == 0 else None


def commit(name):
    """A commit in words: short name, date, and for ours whether something was changed since."""
    said = git("log", "-1", "--format=%h of %cs", "--end-of-options", name)
    if said is None:
        return "commit unknown"
    changed = name == "HEAD" and git("status", "--porcelain", "--untracked-files=no")
    return f"commit {said.decode().strip()}" + " with changes" * bool(changed)


@contextlib.contextmanager
def checked_out(name):
    """A folder with the files of a commit, outside the checkout; Trouble where there is no such commit."""
    found = git("rev-parse", "--verify", "--quiet", "--end-of-options", f"{name}^{{commit}}")
    if found is None:
        raise Trouble(
            f"--against: there is no commit '{name}' here; name one that `git log --oneline` shows, for example HEAD~10."
        )
    with tempfile.TemporaryDirectory(prefix="coachwork-then-", ignore_cleanup_errors=True) as folder:
        with tarfile.open(fileobj=io.BytesIO(git("archive", found.decode().strip()))) as files:
            files.extractall(folder, filter="data")
        yield Path(folder).resolve()
