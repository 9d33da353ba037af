"""Each lesson run once, in a process of its own, for the tests of the editions and of the benches."""

import concurrent.futures
import functools
import itertools
import multiprocessing

LONGEST = 220  # letters that fit in the three lines kept for the words of a bench


def run(path, function, *words):
    """What `function(path, *words)` of this module returns when a new process runs it."""
    with concurrent.futures.ProcessPoolExecutor(1, multiprocessing.get_context("spawn")) as alone:
        return alone.submit(function, path, *words).result()


@functools.cache
def once(path):
    """(the lesson in blocks as both editions need it, for learner 7 in US units; what is wrong with its benches)."""
    return run(path, read)


def read(path):
    from coachwork.page import edition
    from coachwork.page.bench import Bench

    made, begin = [], Bench.__init__
    Bench.__init__ = lambda self, *words: (made.append(self), begin(self, *words))[1]
    told = edition._lesson(path, 7, "US", True)
    return told, [wrong for one in made for wrong in faults(one)]


def faults(bench):
    """Whether its quick picture is the full one, and words and alt text say what they must, wherever the controls stand."""
    from coachwork.page import widgets

    parts, sheet = list(widgets.leaves(bench._own).values()), bench.sheet()
    for corner in itertools.islice(itertools.product((0, 1), repeat=len(parts)), 32):
        words, alt = sheet.update(**{part["name"]: somewhere(part, at) for part, at in zip(parts, corner)})
        if not words.endswith((".", "?")):
            yield f"{bench.title}, {words}: no sentence"
        if not any(letter.isdigit() for letter in alt):
            yield f"{bench.title}, {alt}: no number in the picture's words"
        if len(words) > LONGEST:
            yield f"{bench.title}, {words}: more than the three lines kept for them"
    moves = [{part["name"]: somewhere(part, at) for part in parts} for at in ((0, 0.35, 1) if parts else (0,))]
    quick = [(sheet.update(**settings), sheet.pixels().astype(int))[1] for settings in moves]
    for settings, pixels in zip(moves, quick):  # a full redraw throws away what the quick pictures had kept
        sheet.update(**settings)
        if (apart := abs(pixels - sheet.full_pixels()).max()) > 1:
            yield f"{bench.title}, {settings}: the quick picture is {apart} grey levels from the full one"


def somewhere(part, share):
    """A part's value at a share of its range."""
    if part["kind"] == "slider":
        steps = round((part["high"] - part["low"]) / part["step"])
        return part["low"] + round(share * steps) * part["step"]
    if part["kind"] == "check":
        return share > 0.5
    return part["options"][round(share * (len(part["options"]) - 1))]
