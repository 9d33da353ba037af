"""What a reader's browser shows, and when: the start, a lesson run whole, and benches beside plain `interact`.

From a key press on a slider to the frame that shows the changed picture, for a bench and for plain ipywidgets `interact` with
a new figure of the same picture; for the bench also a fast drag, 60 values in a second. Each picture carries its
slider's value as the colour of a small square, so the page itself (`speed.js`) can tell which value is on show.
"""

import copy
import functools
import os
import socket
import subprocess
import sys
import tempfile
import time
import urllib.request
from pathlib import Path

import nbformat
import numpy

from _speed_kernels import along, lesson_benches, lessons
from _speed_rows import OPEN, Row
from coachwork.page.pictures import Picture

HOURS = numpy.arange(288) / 12
TOP = 63  # slider values 0 to 63
MOVED = {
    "01-LoadDay": "hours",
    "01-InverterHours": "end",
}  # the control that moves; of other benches the first
PROBE = (Path(__file__).parent / "speed.js").read_text("utf-8")


class Standard(Picture):
    """Three stacked areas of 288 points, a line, six bars, legend, grid and a changing title."""

    def build(self, fig):
        day, bars = fig.subplots(1, 2, width_ratios=(2, 1))
        areas = day.stackplot(HOURS, numpy.zeros((3, 288)), labels=["sun", "wind", "grid"], alpha=0.8)
        (self.need,) = day.plot(HOURS, 0 * HOURS, "k", label="need")
        day.set(xlim=(0, 24), ylim=(0, 9), xticks=range(0, 25, 3), xlabel="hour", ylabel="power in kW")
        day.legend(loc="upper left", ncols=2)
        self.areas, self.name = areas, day.set_title("")
        self.bars = bars.bar(["sun", "wind", "base", "heat", "grid", "cost"], [0] * 6)
        bars.set(ylim=(0, 70), ylabel="energy in kWh")
        bars.set_title("per day")
        self.moving = [*areas, self.need, self.name, *self.bars]

    def update(self, v):
        sun = (1 + v / 16) * numpy.clip(numpy.sin(numpy.pi * (HOURS - 6) / 12), 0, None)
        wind = 1 + 0.5 * numpy.sin(HOURS / 3 + v / 10)
        heat = 1.2 + 0.8 * numpy.cos(numpy.pi * (HOURS - 4) / 12)
        need = 1 + heat + 1.5 * numpy.exp(-(((HOURS - 19) / 2) ** 2))
        grid = numpy.clip(need - sun - wind, 0, None)
        low = numpy.zeros(288)
        for area, height in zip(self.areas, (sun, wind, grid)):
            area.set_data(HOURS, low, low + height)
            low = low + height
        self.need.set_ydata(need)
        day = [float(values.sum()) / 12 for values in (sun, wind, 0 * sun + 1, heat, grid)]
        for bar, height in zip(self.bars, [*day, day[-1] * 0.3]):
            bar.set_height(height)
        self.name.set_text(f"{day[4]:.1f} kWh from the grid")
        return f"{day[4]:.1f} kWh come from the grid.", f"Sun brings {day[0]:.1f} kWh."


def marked(name):
    """A picture with one control, `v`, that goes through its range; v as a coloured square in the corner, for the probe to read.

    name : of a bench, such as `01-LoadDay`, or `standard`.
    """
    if name == "standard":
        drawing, set_to = Standard(), lambda v: {"v": float(v)}
    else:
        drawing, set_to = moving(name)

    class Marked(type(drawing)):
        def build(self, fig):
            from matplotlib.patches import Rectangle

            super().build(fig)
            self.square = fig.add_artist(Rectangle((0, 0), 0.03, 0.06, lw=0))
            self.moving = [*self.moving, self.square]

        def update(self, v):
            self.square.set_facecolor((4 * v / 255, 0, 128 / 255))
            return super().update(**set_to(v))

    twin = copy.copy(drawing)
    twin.__class__ = Marked
    return twin


def moving(name):
    """The picture of a bench of a lesson, and a function from v to its settings."""
    from coachwork.page import widgets

    bench = next(lesson_benches(path)[name] for path in lessons() if path.name.startswith(name[:2]))
    parts = widgets.leaves(bench._own)
    control = MOVED.get(name) or next(iter(parts))
    values = along(parts[control], TOP + 1)
    return bench.drawing, lambda v: bench.settings | {control: values[int(v) * len(values) // (TOP + 1)]}


def show(way, name, ratio):
    """What a cell of the measured notebook calls: the picture as a bench or as plain `interact`."""
    picture = marked(name)
    if way == "bench":
        from coachwork.page import bench, slider

        return bench(picture, slider("v", "v", 0, low=0, high=TOP, step=1))
    import ipywidgets
    import matplotlib.pyplot as plt
    from matplotlib_inline.backend_inline import set_matplotlib_formats

    set_matplotlib_formats("retina" if ratio > 1 else "png")

    layout = None if name == "standard" else "constrained"  # the quickest that fits

    def draw(v):
        picture.build(plt.figure(figsize=picture.size, layout=layout))
        picture.update(v)
        plt.show()

    ipywidgets.interact(draw, v=ipywidgets.IntSlider(0, 0, TOP, layout=dict(width="600px")))
    return None


# ------------------------------------------------------------------------------- measuring

HANDLE = {"bench": ".cw-range", "interact": ".noUi-handle"}


def notebook(folder, number, way, name, ratio):
    """Write a notebook that shows one picture in one way; returns its name."""
    code = f"""import sys
sys.path.insert(0, {str(Path(__file__).parent)!r})
import _speed_browser
_speed_browser.show({way!r}, {name!r}, {ratio})"""
    stem = f"{number:02}-{way}-{name}-{ratio}"
    kernel = {"kernelspec": {"name": "python3", "display_name": "Python 3 (ipykernel)", "language": "python"}}
    lesson = nbformat.v4.new_notebook(cells=[nbformat.v4.new_code_cell(code)], metadata=kernel)
    nbformat.write(lesson, folder / f"{stem}.ipynb")
    return stem


def measure(lesson, way, ratio, moves, drags=5):
    """Latencies in ms of `moves` key presses, and what each of some fast drags of a bench showed."""
    page = lesson.page
    cdp = page.context.new_cdp_session(page)
    screen = dict(width=1400, height=1000, deviceScaleFactor=ratio, mobile=False)
    cdp.send("Emulation.setDeviceMetricsOverride", screen)
    page.evaluate(PROBE)
    lesson.run_all()
    page.evaluate("probe.until(0)")
    handle = page.locator(HANDLE[way]).first
    handle.focus()
    latencies = []
    for move in range(1, moves + 4):
        waiting = page.evaluate_handle("value => ({done: probe.until(value)})", move)
        page.wait_for_timeout(30 + 17 * (move * 0.618 % 1))  # anywhere between two frames
        page.keyboard.press("ArrowRight")
        latencies.append(page.evaluate("async waiting => await waiting.done - probe.key", waiting))
        page.wait_for_timeout(120)
    dragged = []
    for _ in range(drags if way == "bench" else 0):  # where in a picture's making a drag ends is chance
        page.keyboard.press("Home")
        page.evaluate("probe.until(0)")
        page.wait_for_timeout(500)
        dragged.append(handle.evaluate("slider => probe.drag(slider)"))
    return latencies[3:], dragged


# ------------------------------------------------------------------------------- rows


def browser(wish):
    from browser import Browser

    names = wish["browser"]
    if "all" in names:
        names = [name for path in lessons() for name, bench in lesson_benches(path).items() if bench.settings]
    runs = [(name, ratio, way) for name in names for ratio in (1, 2) for way in HANDLE]
    folder = Path(OPEN.enter_context(tempfile.TemporaryDirectory()))
    stems = {run: notebook(folder, number, run[2], run[0], run[1]) for number, run in enumerate(runs)}
    opened = OPEN.enter_context(Browser(folder))

    def take(name, ratio, moves):
        found = {}
        for way in ("interact", "bench"):
            with opened.lesson(stems[name, ratio, way], width=1400) as lesson:
                times, drags = measure(lesson, way, ratio, moves)
            found[way] = [(milliseconds / 1000, None) for milliseconds in times]
        last = sorted(one["last"] for one in drags)
        said = (f"{min(one['pictures'] for one in drags)} pictures or more in a drag of a second, the last after {last[2]:.0f} ms "
                f"(worst of five {last[-1]:.0f}), {sum(one['blank'] for one in drags)} blank, "
                f"height moved {max(one['jump'] for one in drags):.0f} px")  # fmt: skip
        return {"times": found["bench"], "beside": found["interact"], "said": said}

    return [Row(f"{name}, {ratio} pixel{'s' * (ratio > 1)} to the point", functools.partial(take, name, ratio), wish["moves"],
                "0.25, 0.30 of", warm=False, block=20) for name in names for ratio in (1, 2)]  # fmt: skip


WORKBOOK = "import sys; from coachwork import bootstrap; sys.exit(bootstrap.workbook(sys.argv[1:]))"
READY = '.jp-Notebook-ExecutionIndicator[data-status="idle"]'


def start(wish):
    """From the command, in an environment that stands and with a browser that is open, into a new reader's folder."""
    from browser import chromium

    rows = [Row("`workbook` until its server answers", started(lambda address: None), 3, "5 s", "s")]
    if not chromium():
        return rows

    def ready(address):
        page = _jupyter().chromium.new_page()
        page.goto(f"{address}/?token=for-tests")
        page.wait_for_selector(".jp-Notebook .jp-Cell", timeout=120_000)
        page.wait_for_selector(READY, timeout=120_000)
        page.close()

    return [*rows, Row("`workbook` until the first lesson stands, kernel ready", started(ready), 3, "", "s"),
            Row("lesson 01 opened and run whole", run_whole, 3, "8 s", "s")]  # fmt: skip


def started(until):
    """A row's `take`: a start of the workbook until its server answers and `until(address)` returns."""

    def once():
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            port = free.getsockname()[1]
        address = f"http://127.0.0.1:{port}"
        with tempfile.TemporaryDirectory(ignore_cleanup_errors=True) as home:
            env = dict(os.environ, COACHWORK_HOME=home, JUPYTER_TOKEN="for-tests")
            begun = time.perf_counter()
            server = subprocess.Popen([sys.executable, "-c", WORKBOOK, "--no-browser", f"--port={port}"], env=env,
                                      stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)  # fmt: skip
            try:
                while not _answers(address):
                    if server.poll() is not None:
                        raise RuntimeError(f"the workbook ended with {server.returncode}")
                    time.sleep(0.02)
                until(address)
                return time.perf_counter() - begun
            finally:
                server.terminate()
                try:
                    server.wait(30)
                except subprocess.TimeoutExpired:  # one that is stopped while its kernel starts may never end
                    server.kill()
                    server.wait()

    return lambda times: {"times": [(once(), None) for _ in range(times)]}


def _answers(address):
    try:
        urllib.request.urlopen(f"{address}/api", timeout=5).close()
        return True
    except OSError:
        return False


@functools.cache
def _jupyter():
    from browser import Browser

    return OPEN.enter_context(Browser())


def run_whole(times):
    """Seconds from opening lesson 01 until its kernel has run all of it."""
    found = []
    for _ in range(times):
        lesson = _jupyter().lesson("01-energy")
        lesson.page = _jupyter().page
        begun = time.perf_counter()
        lesson.command("docmanager:open", path="01-energy.ipynb")
        lesson.page.wait_for_selector(".jp-Notebook .jp-Cell")
        lesson.wait_idle()
        opened = time.perf_counter() - begun
        found.append((opened + lesson.run_all(), None))
        lesson.__exit__()
    return {"times": found}
