"""A lesson for paper and for a memory stick: its cells run once in an empty home, what they show as plain blocks.

`lessons(paths, ...)` gives a dict a lesson: number, topic, title, blocks. A block is a dict with one of these keys:

  heading: level, words     paragraph: words     list: items of blocks, ordered     code: text     printed: text
  formula: latex            working: latex, speech, given: [(symbol, value, name)]
  table: caption, head, numeric, rows of cells of words
  folded: a line of words over blocks            caution: title, says, source
  drawing: svg, alt, words (a list)              bench: see `_bench`
  questions: see `_questions`                    panel: see `_panel` (needs a kernel: how it begins)

Words are a list: text, or (kind, ...) with kind "strong", "slanted", "link" (words, and an address), "code", "maths", "svg".

Each lesson runs in a process of its own, as it does in the workbook: what one lesson loads or decides, no other sees.
"""

import ast
import concurrent.futures
import contextlib
import io
import itertools
import multiprocessing
import os
import re
import shutil
import sys
import tempfile
import traceback
from pathlib import Path

from coachwork import bootstrap, files
from coachwork.quantities import InputError

STILLS = 40  # pictures of one bench in the still edition, at most
FINE = 6  # positions of a control below which controls move one at a time instead of together


def lessons(paths, seed, system, grid=False):
    """The lessons in these notebooks, in order, two at a time where there are two processors.

    seed : of the learner whose numbers the questions take. system : "US" or "SI". grid : whether a bench brings a
    picture for every position of its controls (for the still edition) beside the one in grey (for print).

    Raises bootstrap.Trouble where a cell of a lesson fails.
    """
    spawn = multiprocessing.get_context("spawn")
    workers = min(len(paths), os.cpu_count() or 1)
    with concurrent.futures.ProcessPoolExecutor(workers, spawn, max_tasks_per_child=1) as pool:
        yield from pool.map(_lesson, *zip(*((path, seed, system, grid) for path in paths)))


def _lesson(path, seed, system, grid):
    sys.modules.setdefault("rfc3987_syntax", None)  # as in commands/open.py: 1.6 s of every process
    from coachwork.commands.refresh import surroundings

    there = os.getcwd()
    with tempfile.TemporaryDirectory() as home:
        os.environ.update(surroundings(home))
        Path(home, "seed.txt").write_text(f"{seed}\n", encoding="utf-8")
        Path(home, "units.txt").write_text(f"{system}\n", encoding="utf-8")
        os.chdir(home)
        try:
            return _Reader(path, grid).lesson()
        finally:
            os.chdir(there)


class _Reader:
    """Runs the cells of one lesson and gathers its blocks."""

    def __init__(self, path, grid):
        self.path, self.grid, self.blocks, self.printed = path, grid, [], io.StringIO()

    def lesson(self):
        import IPython.display
        import nbformat

        from coachwork.page.map import lessons

        IPython.display.display = self.show  # cells hand us the things themselves, not their pictures
        known = next(one for one in lessons() if one.file == Path(self.path).name)
        scope = {"__name__": "__main__", "display": self.show}
        for number, cell in enumerate(nbformat.read(self.path, as_version=4).cells, 1):
            if cell.cell_type == "markdown":
                self.blocks += markdown(cell.source)
            elif cell.source.strip():
                if not _plumbing(cell.source):
                    self.blocks.append({"code": cell.source})
                try:
                    with contextlib.redirect_stdout(self.printed):
                        self.run(cell.source, scope)
                except Exception as error:
                    where = traceback.extract_tb(error.__traceback__)[-1]
                    raise bootstrap.Trouble(f"{Path(self.path).name}: cell {number} raised {type(error).__name__}: {error} "
                                            f"({where.filename}, line {where.lineno}; nothing was written).") from None  # fmt: skip
        return {"number": known.number, "topic": known.topic, "title": known.title, "file": known.file, "blocks": self.blocks}

    def run(self, source, scope):
        """Run one cell; the value of its last line is shown, unless it ends with a semicolon."""
        body = ast.parse(source).body
        last = body.pop() if isinstance(body[-1], ast.Expr) and not source.rstrip().endswith(";") else None
        exec(compile(ast.Module(body, []), "<cell>", "exec"), scope)
        value = last and eval(compile(ast.Expression(last.value), "<cell>", "eval"), scope)
        if value is not None:
            self.show(value)
        self.flush()

    def flush(self):
        """What was printed so far, as a block."""
        if text := self.printed.getvalue().rstrip():
            self.blocks.append({"printed": text})
        self.printed.seek(0)
        self.printed.truncate()

    def show(self, *values):
        """Take up what a cell shows."""
        self.flush()
        for value in values:
            self.blocks += _shown(value, self.grid)


def _plumbing(source):
    """Whether a cell only imports names and shows things of the page: nothing in it is worth reading on paper."""
    from coachwork.page import EXPORTS

    def shows(node, names):
        call = isinstance(node, ast.Expr) and isinstance(node.value, ast.Call) and node.value.func
        return isinstance(call, ast.Name) and call.id in names

    body = ast.parse(source).body
    if shows(body[-1], ("bench", "trials", "practice_meter", "fault_hunt", "form")):
        return True
    return all(isinstance(node, (ast.Import, ast.ImportFrom)) or shows(node, (*EXPORTS, "display")) for node in body)


# ------------------------------------------------------------------------------- what cells show


def _shown(value, grid):
    """The blocks of one thing that a cell shows."""
    from coachwork.page import widgets
    from coachwork.page.bench import Bench
    from coachwork.page.cautions import Caution
    from coachwork.page.diagram import Diagram
    from coachwork.page.ledger import Handbook
    from coachwork.page.map import LessonMap
    from coachwork.page.owner import ShortWay
    from coachwork.page.pictures.start_here import SymbolKey
    from coachwork.page.questions import Questions
    from coachwork.page.table import Table, table
    from coachwork.page.working import Working

    if isinstance(value, Table):
        return [_table(value)]
    if isinstance(value, Caution):
        return [{"caution": {"title": value.title, "says": value.says, "source": str(value.source)}}]
    if isinstance(value, Working):
        return [{"working": {"latex": value.latex(), "speech": value.speech(), "given": value.given()}}]
    if isinstance(value, Handbook):
        sources = {"list": {"ordered": True, "items": [[_words(one.partition("] ")[2])] for one in value.sources]}}
        return [{"folded": {"line": value.head, "blocks": [_table(table(value.rows, caption="This workbook beside the print")), sources]}}]
    if isinstance(value, Bench):
        return [{"bench": _bench(value, grid)}]
    if isinstance(value, Questions):
        return [{"questions": _questions(value)}]
    if isinstance(value, widgets.UnitSwitch):
        return []
    if isinstance(value, widgets.Panel):
        return [{"panel": _panel(value)}]
    if isinstance(value, Diagram):
        return [{"drawing": {"svg": value.svg, "alt": value.alt, "words": list(value.words)}}]
    if isinstance(value, LessonMap):
        rows = [[[("link", [f"{one.number} {one.title}"], one.file)], [takes], [gives]] for one, takes, gives in value.rows()]
        return [{"drawing": {"svg": _black(value.svg()), "alt": value.alt(), "words": []}},
                _grid("What passes from lesson to lesson", ["lesson", "takes (from)", "gives (to)"], rows)]  # fmt: skip
    if isinstance(value, SymbolKey):
        rows = [[[name], [("svg", _black(svg), name)], [shape], [says]] for name, svg, shape, says in value.rows()]
        return [_grid("Symbols of a one-line diagram", ["name", "symbol", "drawn as", "what it is"], rows), _words(f"{value.source}.")]
    if isinstance(value, ShortWay):
        rows = [[[("link", [f"{one.number} {one.topic.replace('_', ' ')}"], one.file)], [held], ["; ".join(words) or "nothing"]]
                for one, (words, held) in value.rows]  # fmt: skip
        return [_grid(value.caption, ["lesson", "checks", "to do"], rows)]
    if isinstance(value, (str, tuple, int, float)):
        return [{"printed": repr(value)}]
    raise bootstrap.Trouble(f"The editions cannot show a {type(value).__name__}.")


def plain(words):
    """Words without their clothes, as text."""
    return "".join(one if isinstance(one, str) else "[picture]" if one[0] == "svg" else plain(one[1]) if isinstance(one[1], list) else one[1]
                   for one in words)  # fmt: skip


def _words(text):
    return {"paragraph": [text]}


def _black(svg):
    """A drawing in the colour of its text, for white paper."""
    return svg.replace("currentColor", "#000").replace("<svg ", '<svg xmlns="http://www.w3.org/2000/svg" ', 1)


def _table(value):
    head, numeric, cells = zip(*value.cells(figure_spaces=True))
    return _grid(value.caption, list(head), [[[cell] for cell in row] for row in zip(*cells)], list(numeric))


def _grid(caption, head, rows, numeric=None):
    return {"table": {"caption": caption, "head": [[one] for one in head], "numeric": numeric or [False] * len(head), "rows": rows}}


# ------------------------------------------------------------------------------- markdown


def markdown(text):
    """The blocks of a markdown cell."""
    import mistune

    return _blocks(mistune.create_markdown(renderer=None, plugins=["table", "math"])(text))


def _blocks(tokens):
    return [block for token in tokens if (block := _block(token))]


def _block(token):
    kind, inner = token["type"], token.get("children", [])
    if kind == "blank_line":
        return None
    if kind == "heading":
        return {"heading": {"level": token["attrs"]["level"], "words": _inline(inner)}}
    if kind in ("paragraph", "block_text"):
        return {"paragraph": _inline(inner)}
    if kind == "list":
        return {"list": {"ordered": token["attrs"]["ordered"], "items": [_blocks(item["children"]) for item in inner]}}
    if kind == "block_code":
        return {"code": token["raw"].rstrip()}
    if kind == "block_math":
        return {"formula": token["raw"].strip()}
    if kind == "table":
        head, body = inner
        rows = [[_inline(cell["children"]) for cell in row["children"]] for row in body["children"]]
        return {"table": {"caption": "", "head": [_inline(cell["children"]) for cell in head["children"]],
                          "numeric": [cell["attrs"]["align"] == "right" for cell in head["children"]], "rows": rows}}  # fmt: skip
    raise bootstrap.Trouble(f"The editions cannot show a {kind} of a lesson's text.")


def _inline(tokens):
    found = []
    for token in tokens:
        kind = token["type"]
        if kind in ("text", "softbreak"):
            text = token["raw"] if kind == "text" else " "
            if found and isinstance(found[-1], str):
                text = found.pop() + text
            found.append(text)
        elif kind in ("strong", "emphasis"):
            found.append(({"strong": "strong", "emphasis": "slanted"}[kind], _inline(token["children"])))
        elif kind == "link":
            found.append(("link", _inline(token["children"]), token["attrs"]["url"]))
        elif kind in ("codespan", "inline_math"):
            found.append(({"codespan": "code", "inline_math": "maths"}[kind], token["raw"]))
        else:
            raise bootstrap.Trouble(f"The editions cannot show a {kind} in a line of a lesson's text.")
    return found


# ------------------------------------------------------------------------------- benches


def _bench(bench, grid):
    """A bench as it stands: title, lead, settings [(label, value)], result, alt, frame, and for print `picture`, a PNG in grey.

    With `grid`, `parts` and `values` are what the front end draws, `together` says
    whether controls move together or one at a time, and `stills` holds [values, result, alt, PNG] a position.
    """
    from coachwork.page import widgets
    from coachwork.page.pictures import Sheet

    parts = widgets.leaves(bench._own)
    settings = [(part["label"], widgets.value_text(part, bench.settings[name])) for name, part in parts.items()]
    sheet = Sheet(bench.drawing, 2.0)
    result, alt = sheet.update(**bench.settings)
    told = {"title": bench.title, "lead": bench.lead, "settings": settings, "frame": list(bench.frame), "result": result, "alt": alt,
            "picture": _small(sheet.pixels(), "grey")}  # fmt: skip
    if not grid:
        return told
    sheet = Sheet(bench.drawing, 1.25)
    shown, together = _coarse(bench)
    told |= {"parts": list(shown.values()), "values": {name: part["value"] for name, part in shown.items()}, "together": together}
    stills = []
    for values in _positions(shown, together):
        settings = {name: widgets.from_shown(parts[name], value) for name, value in values.items()}
        result, alt = sheet.update(**settings)
        stills.append((values, result, alt, _small(sheet.pixels(), "colour")))
    return told | {"stills": stills}


def _coarse(bench):
    """The parts of a bench as shown, with as few positions as the bound of pictures allows; whether they move together."""
    from coachwork.page import widgets

    own = widgets.leaves(bench._own)
    shown = {name: widgets.shown(part) | {"value": widgets.to_shown(part, bench.settings[name])} for name, part in own.items()}
    sliders = [part for part in shown.values() if part["kind"] == "slider"]
    others = [len(_values(part)) for part in shown.values() if part["kind"] != "slider"]
    fixed = 1
    for count in others:
        fixed *= count
    most = int((STILLS / fixed) ** (1 / len(sliders)) + 1e-9) if sliders and fixed <= STILLS else 0
    together = not sliders and fixed <= STILLS or most >= FINE
    if not together:
        most = max(3, (STILLS - sum(others)) // max(1, len(sliders)))
    for part in sliders:
        _coarsen(part, most)
    return shown, together


def _coarsen(part, most):
    """Fewer positions for a slider: at most `most`, its stated value among them, half of it too where that costs few."""
    low, high, value = part["low"], part["high"], part["value"]

    def reach(times):
        return [int(gap / (part["step"] * times) + 1e-9) for gap in (value - low, high - value)]

    least = next(times for times in itertools.count(1) if sum(reach(times)) < most)

    def roundness(times):
        share = value / (part["step"] * times)
        return 2 if abs(share / 2 - round(share / 2)) < 1e-6 else 1 if abs(share - round(share)) < 1e-6 else 0

    times = max(range(least, int(1.6 * least) + 1), key=lambda times: (roundness(times), -times))
    (below, above), wide = reach(times), part["step"] * times
    part |= {"low": round(value - below * wide, 9), "high": round(value + above * wide, 9), "step": round(wide, 9)}


def _values(part):
    """Every position of a part."""
    if part["kind"] == "slider":
        count = round((part["high"] - part["low"]) / part["step"])
        return [round(part["low"] + part["step"] * at, 9) for at in range(count + 1)]
    return [False, True] if part["kind"] == "check" else list(part["options"])


def _positions(shown, together):
    """The stated values, then every other position that has a picture."""
    stated = {name: part["value"] for name, part in shown.items()}
    if together:
        found = [dict(zip(shown, values)) for values in itertools.product(*map(_values, shown.values()))]
    else:
        found = [stated | {name: value} for name, part in shown.items() for value in _values(part)]
    others = [one for one in found if one != stated]
    return [stated, *others]


def _small(pixels, colours):
    """A picture as a small PNG: 16 greys for print, 32 colours for the screen."""
    from PIL import Image

    image = Image.fromarray(pixels[..., :3].copy())
    if colours == "grey":
        image = image.convert("L").quantize(16, dither=Image.Dither.NONE)
    else:
        image = image.quantize(32, dither=Image.Dither.NONE)
    file = io.BytesIO()
    image.save(file, "PNG", compress_level=8)  # 9 takes twice as long for a hundredth less
    return file.getvalue()


def _panel(panel):
    """A panel that only a kernel can work, as it begins: title, text. A meter's board has a drawing too: frame, alt, `picture`
    in grey for print and `still` for the screen.
    """
    import numpy
    from PIL import Image

    from coachwork.page import widgets
    from coachwork.page.meter import Meter

    told = {"title": panel.title, "text": panel.plain().partition("\n")[2]}
    if not isinstance(panel, Meter):
        return told
    panel.ratio = 2.0
    panel.changed(panel.settings)
    pixels = numpy.asarray(Image.open(io.BytesIO(panel.picture)).convert("RGB"))
    whole, words = panel.plain(), widgets.Panel.plain(panel)  # with the board in words, and without
    return {"title": panel.title, "text": words.partition("\n")[2], "alt": whole[len(words) :].strip(), "frame": list(panel.frame),
            "picture": _small(pixels, "grey"), "still": _small(pixels, "colour")}  # fmt: skip


# ------------------------------------------------------------------------------- questions


def _questions(panel):
    """The questions of a topic with the learner's numbers: a list, each with what a page needs to ask and to check.

    ask, see, told (the answer in words); for one of several: options and reasons (sentence to what is said to it); else
XX    """
    from coachwork.page.questions import Choice
    from coachwork.quantities import Quantity, show, unit_text

    found = []
    for item, given, seed in zip(panel.items, panel.given, panel.seeds):
        one = {"ask": item.asked(given), "see": item.see, "told": item.told(given)}
        if isinstance(item, Choice):
            options = item.options(seed)
            one |= {"options": options, "right": options.index(item.right), "reasons": [item.wrong.get(option, "") for option in options]}
        else:
            facts = {name: show(value) for name, value in given.items()}
            right, slips = item.solution(given), [(item.mistake(slip, given), slip.reason.format(**facts)) for slip in item.slips]
            one |= {"unit": unit_text(item.unit), "facts": unit_facts(item.unit), "right": right, "room": item.room(right),
                    "slips": [(value, item.room(value), reason, show(Quantity(value, item.unit))) for value, reason in slips]}  # fmt: skip
        found.append(one)
    return found


def unit_facts(unit):
    """A unit as arithmetic needs it: name, factor and zero in base units, dimensions, and for temperatures which of the two
    it is, a "point" on a scale or a "span"."""
    from coachwork.quantities import Quantity

    zero, one = (Quantity(float(value), unit).to_base_units() for value in (0, 1))
    name = str(Quantity(1.0, unit).units)
    scale = "point" if zero.magnitude else "span" if name.startswith("delta_") else ""
    return {"name": name, "factor": one.magnitude - zero.magnitude, "offset": zero.magnitude, "scale": scale,
            "dimensions": {str(base): power for base, power in one.dimensionality.items()}}  # fmt: skip


# ------------------------------------------------------------------------------- who reads it, and where it goes


def whose(seed=None, system=None):
    """(seed, unit system) of the reader where they are not given: of their folder, else 0 and US."""
    from coachwork.page import units
    from coachwork.page.questions import learner_seed
    from coachwork.quantities import display_system

    units.take_up()
    return learner_seed() if seed is None else seed, system or display_system()


def room(folder, name, ours):
    """(path, files) of the folder `name` in `folder` (the reader's where None): what stands there already, names to paths.

    ours : a pattern of the names that an edition may hold. Asked before an edition is made, it says at once what `put` would
    say at the end.

    Raises
    ------
    InputError
        where something else stands there, or nothing can be written beside it.
    """
    place = (bootstrap.home() if folder is None else Path(folder).expanduser().resolve()) / name
    if place.exists() and not place.is_dir():
        raise InputError(str(place), "it is a file", "a folder, or nothing yet", hint="give that file another name")
    with files.writing(place):
        place.parent.mkdir(parents=True, exist_ok=True)
        tempfile.TemporaryDirectory(prefix=f".{name}.", dir=place.parent).cleanup()
        before = {one.relative_to(place).as_posix(): one for one in sorted(place.rglob("*")) if one.is_symlink() or not one.is_dir()}
    if others := [one for one in before if not re.fullmatch(ours, one)]:
        raise InputError(str(place), f"it also holds {', '.join(others[:3])}", "a folder with nothing but the edition",
                         hint="move your own files elsewhere first")  # fmt: skip
    return place, before


def put(folder, name, content, ours, stay=False):
    """Write an edition as the folder `name` in `folder` (the reader's where None) and return its path.

    content : file names to bytes. ours : a pattern of the names that an edition may hold. stay : files of an earlier edition
    that are not made anew stay. All or nothing: the folder is made beside its place and moved there.

    Raises
    ------
    InputError
        as `room` does, or where the disk is full; what stood there then stands there still.
    """
    place, before = room(folder, name, ours)
    draft, old = (place.with_name(f".{name}.{os.getpid()}.{word}") for word in ("draft", "old"))
    moved = False
    try:
        with files.writing(place):
            kept = {one: path.read_bytes() for one, path in before.items()} if stay else {}
            for one, text in (kept | content).items():
                files.replace(draft / one, text)
            if place.exists():
                os.replace(place, old)
                moved = True
            os.replace(draft, place)
    except InputError:
        if moved:
            os.replace(old, place)
        raise
    finally:
        shutil.rmtree(draft, ignore_errors=True)
    shutil.rmtree(old, ignore_errors=True)
    return place
