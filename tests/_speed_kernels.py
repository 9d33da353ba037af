"""How long calculations take in the kernel: a move of every bench of every lesson, and what each topic does for a coach."""

import contextlib
import copy
import functools
import importlib
import inspect
import io
import itertools
import os
import sys
import tempfile

import numpy

from _speed_rows import Row, repeat

# ------------------------------------------------------------------------------- benches


def lesson_benches(path):
    """The benches of a lesson by name (`01-LoadDay`), its cells run from top to bottom in an empty reader's folder."""
    import nbformat

    from coachwork.commands.refresh import surroundings
    from coachwork.page.bench import Bench

    made, begin, before = [], Bench.__init__, dict(os.environ)

    def noted(bench, *words, **more):
        begin(bench, *words, **more)
        made.append(bench)

    with tempfile.TemporaryDirectory() as home, contextlib.redirect_stdout(io.StringIO()):
        Bench.__init__ = noted
        os.environ.update(surroundings(home))
        try:
            scope = {"__name__": "__main__", "display": lambda *shown: None}
            for cell in nbformat.read(path, as_version=4).cells:
                if cell.cell_type == "code":
                    exec(compile(cell.source, path.stem, "exec"), scope)
        finally:
            Bench.__init__ = begin
            os.environ.clear()
            os.environ.update(before)
    return {f"{path.stem[:2]}-{type(bench.drawing).__name__}": bench for bench in made}


def lessons():
    from coachwork.commands.open import LESSONS

    return sorted(LESSONS.glob("[0-9][0-9]-*.ipynb"))


def benches(wish):
    return [Row(name, moves(bench, wish["moves"]), wish["moves"], "0.25 of", block=8)
            for path in lessons() for name, bench in lesson_benches(path).items()]  # fmt: skip


def positions(parts, settings, moves):
    """Without end: settings in which one control after the other goes from low to high in so many moves, the others as stated."""
    steps = max(2, moves // max(1, len(parts)))
    ways = [{name: value} for name, part in parts.items() for value in along(part, steps)]
    return (settings | way for way in itertools.cycle(ways or [{}]))


def along(part, steps):
    """So many values of a control, from low to high; every option of a choice."""
    if part["kind"] == "slider":
        count = round((part["high"] - part["low"]) / part["step"])
        return [part["low"] + part["step"] * round(count * n / (steps - 1)) for n in range(steps)]
    return [False, True] if part["kind"] == "check" else part["options"]


def moves(bench, count):
    """A row's `take`: from a message of the front end to the picture's bytes; beside it a full redraw of the same picture.

    The redraw comes after the move with the same settings, so what a topic keeps of the first helps the second.
    """
    from coachwork.page import widgets
    from coachwork.page.pictures import Sheet

    parts = widgets.leaves(bench._own)
    full = Sheet(copy.copy(bench.drawing))
    ahead, now = positions(parts, dict(bench.settings), count), {}

    def move():
        values = {name: widgets.to_shown(parts[name], value) for name, value in now.items()}
        bench._answer(bench, dict(view="", number=1, press="", values=values, ratio=1, draft=False), [])
        assert bench.picture.startswith(b"\x89PNG")

    def redraw():
        full.update(**now)
        full.canvas.print_png(io.BytesIO())

    return repeat(move, redraw, every=4, ready=lambda: now.update(next(ahead)))


# ------------------------------------------------------------------------------- topics

MINUTES = numpy.arange(365 * 288)


def aged(cycle_life, mine):
    """Both cells after twenty years of an hourly profile."""
    hours = numpy.arange(8760)
    year = cycle_life.Year(
        0.6 + 0.35 * numpy.sin(hours * numpy.pi / 12), 290 + 10 * numpy.sin(hours * numpy.pi / 4380)
    )
    return [cycle_life.fade(year, cell).left[240] for cell in ("large", "small")]


def rainflow(cycle_life, mine):
    level = 0.6 + 0.3 * numpy.sin(MINUTES * numpy.pi / 144) + 0.01 * numpy.sin(MINUTES * numpy.pi / 3)
    return cycle_life.rainflow_cycles(level).total


def charge(charging, mine):
    from coachwork.quantities import Q

    return charging.charge_curve(
        "lithium iron phosphate", Q(720, "Ah"), 4, Q(60, "A"), 0.2, 0.95, Q(14.4, "V")
    )


@functools.cache
def array_and_year(mine):
    from coachwork import sun

    found = sun.study(mine)
    return found.array, found.year


def array_year(sun, mine):
    from coachwork.quantities import Q

    return sun.output(*array_and_year(mine), Q(12.8, "V"))


@functools.cache
def sixty_elements():
    from test_network import twelve_modules

    return twelve_modules()


def study(topic, mine):
    return topic.study(mine)


TOPICS = (  # topic, what it does, wanted, times, the call
    (
        "energy",
        "a day at 5 minutes",
        "5 ms",
        20,
        lambda energy, mine: energy.day(mine, mine.seasons[0].name).energy,
    ),
    ("network", "12 modules, 60 elements", "2 ms", 30, lambda network, mine: network.solve(sixty_elements())),
    ("capacity", "study", "", 15, study),
    ("cycle_life", "20 years of hours, two cells", "20 ms", 15, aged),
    ("cycle_life", "rainflow of a year at 5 minutes", "150 ms", 8, rainflow),
    ("cycle_life", "study, with the coach's year of use", "", 8, study),
    ("charging", "a charge at 240 moments", "", 20, charge),
    ("charging", "study", "", 15, study),
    ("sun", "the coach's array through a year", "50 ms", 15, array_year),
    ("sun", "study", "", 8, study),
    (
        "inverter",
        "the AC side of a day",
        "",
        20,
        lambda inverter, mine: inverter.ac_day(mine, mine.seasons[0].name),
    ),
    ("inverter", "study", "", 15, study),
    ("wiring", "study: every circuit, bank and faults", "", 8, study),
    ("heating", "a winter of hours", "40 ms", 15, lambda heating, mine: heating.winter_of(mine)),
    ("heating", "a night", "15 ms", 15, lambda heating, mine: heating.night_of(mine)),
    ("heating", "a hot day", "15 ms", 15, lambda heating, mine: heating.summer_of(mine)),
    ("cooling_load", "a year by hours", "60 ms", 15, lambda cooling_load, mine: cooling_load.cool(mine)),
    (
        "cooling_load",
        "the design day",
        "15 ms",
        15,
        lambda cooling_load, mine: cooling_load.cool(mine, design_day=True),
    ),
    ("whole_system", "the year's series", "", 8, lambda whole_system, mine: whole_system.series_of(mine)),
    ("whole_system", "study", "", 3, study),
    ("commissioning", "study", "", 8, study),
    ("design", "all topics heard anew", "", 3, lambda design, mine: design.hear(mine)),
)


def topics(wish):
    from coachwork import coach

    mine = coach.read(coach.main_demo())

    def take(topic, call):  # asks for the module when it is measured: an older commit may not have it
        return repeat(
            lambda: call(importlib.import_module(f"coachwork.{topic}"), mine), ready=lambda: forget(topic)
        )

    return [
        Row(f"{topic.replace('_', ' ')}: {words}", take(topic, call), times, wanted)
        for topic, words, wanted, times, call in TOPICS
    ]


def forget(topic):
    """Empty what a topic keeps of a coach. Weather, tables and walls stay warm, as they are in a lesson that was run."""
    for name, module in list(sys.modules.items()):
        if name == f"coachwork.{topic}" or topic == "design" and name.startswith("coachwork."):
            for one in vars(module).values():
                if (
                    hasattr(one, "cache_clear")
                    and one.__module__ == name
                    and "coach" in inspect.signature(one).parameters
                ):
                    one.cache_clear()
