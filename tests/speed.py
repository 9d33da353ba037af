"""How long a reader waits: `python3 tests speed [--moves 40] [picture ...]`.

In a real JupyterLab and Chromium: from a key press on a slider to the frame that shows the changed picture,
side by side for a bench and for plain ipywidgets `interact` with a new figure of the same picture; for the
bench also a fast drag, 60 values in a second. Each picture carries its slider's value as the colour of a small square, so the
page itself can tell which value is on show. Before it, a coach's year by hours (`speed_system`, `--system` for that alone);
last, how long the packages of a lesson take to import.
"""

import argparse
import os
import platform
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import nbformat
import numpy

from coachwork.bootstrap import Trouble
from coachwork.page.pictures import Picture

HOURS = numpy.arange(288) / 12
TOP = 63  # slider values 0 to 63
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


def pictures():
    """Name to (picture class, what it is made of, the setting that moves, its value for v, the other settings)."""
    from coachwork import coach
    from coachwork.page.pictures import energy

    trailer = coach.read(coach.main_demo())
    others = dict(power=60, count=1, duty=33, side="AC inverter")
    return {
        "standard": (Standard, (), "v", float, {}),
        "load": (energy.LoadDay, (trailer,), "hours", lambda v: (v + 1) * 3 / 8, others),
        "inverter": (energy.InverterHours, (trailer, "summer"), "end", lambda v: 13 + v / 6, dict(start=0)),
    }


def marked(name):
    """The picture with the slider's value v as a coloured square in its corner, for the probe to read."""
    kind, made_of, setting, value, others = pictures()[name]

    class Marked(kind):
        def build(self, fig):
            from matplotlib.patches import Rectangle

            super().build(fig)
            self.square = fig.add_artist(Rectangle((0, 0), 0.03, 0.06, lw=0))
            self.moving = [*self.moving, self.square]

        def update(self, v):
            self.square.set_facecolor((4 * v / 255, 0, 128 / 255))
            return super().update(**{setting: value(v)}, **others)

    return Marked(*made_of)


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
import speed
speed.show({way!r}, {name!r}, {ratio})"""
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


def percentile(values, share):
    ordered = sorted(values)
    return ordered[min(len(ordered) - 1, int(share * len(ordered)))]


def import_seconds():
    """Best of five fresh processes that import what a lesson needs; and of an empty one."""
    lesson = (
        "import coachwork.energy, coachwork.coach; from coachwork.page import bench, slider, questions; "
        "import matplotlib.figure, matplotlib.backends.backend_agg"
    )

    def best(code):
        times = []
        for _ in range(5):
            begun = time.perf_counter()
            subprocess.run([sys.executable, "-c", code], check=True)
            times.append(time.perf_counter() - begun)
        return min(times)

    return best(lesson), best("pass")


def machine():
    """One line: what it was measured on."""
    import importlib.metadata

    versions = " ".join(f"{name} {importlib.metadata.version(name)}" for name in ("jupyterlab", "matplotlib", "anywidget"))
    return (
        f"{platform.system()} {platform.machine()}, {os.cpu_count()} cores, load {os.getloadavg()[0]:.1f}, "
        f"Python {platform.python_version()}, {versions}"
    )


def main(argv):
    from browser import NONE_FOUND, Browser, chromium

    words = argparse.ArgumentParser(prog="tests speed", description=__doc__.split("\n")[0])
    words.add_argument("pictures", nargs="*", metavar="picture", choices=[[], *pictures()],
                       help=f"of {', '.join(pictures())} (default: all)")  # fmt: skip
    words.add_argument("--moves", type=int, default=40, help="key presses for each line (default 40)")
    words.add_argument("--system", action="store_true", help="only how long a coach's hours take, without a browser")
    wish = words.parse_args(argv)
    import speed_system

    print(machine())
    speed_system.main()
    if wish.system:
        return 0
    if not chromium():
        raise Trouble(NONE_FOUND)
    row = "{:12} {:>5} {:9} {:>6} {:>6} {:>7} {:>7}  {}"
    print(row.format("picture", "ratio", "way", "p50 ms", "p95 ms", "of p50", "of p95", "fast drag"))
    with tempfile.TemporaryDirectory() as folder:
        runs = [(way, name, ratio) for name in wish.pictures or pictures() for ratio in (1, 2)
                for way in ("interact", "bench")]  # fmt: skip
        stems = [notebook(Path(folder), number, *run) for number, run in enumerate(runs)]
        with Browser(lessons=Path(folder)) as browser:
            for stem, (way, name, ratio) in zip(stems, runs):
                with browser.lesson(stem, width=1400) as lesson:
                    times, drags = measure(lesson, way, ratio, wish.moves)
                p50, p95 = statistics.median(times), percentile(times, 0.95)
                if way == "interact":
                    base = p50, p95
                last = sorted(one["last"] for one in drags)
                dragged = drags and (
                    f"{min(one['pictures'] for one in drags)} pictures or more a second, the last after {last[2]:.0f} ms "
                    f"(worst of five {last[-1]:.0f}), {sum(one['blank'] for one in drags)} blank, "
                    f"height moved {max(one['jump'] for one in drags):.0f} px"
                )
                print(row.format(name, ratio, way, f"{p50:.0f}", f"{p95:.0f}", f"{p50 / base[0]:.2f}",
                                 f"{p95 / base[1]:.2f}", dragged or ""), flush=True)  # fmt: skip
    full, empty = import_seconds()
    print(f"import of what a lesson needs: {full:.2f} s, of which {empty:.2f} s are Python's own start")
    return 0
