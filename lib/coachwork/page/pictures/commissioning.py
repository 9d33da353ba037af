"""Pictures of the commissioning lesson: the practice board, drops against prediction, and a joint's
warmth."""

import dataclasses
import fnmatch
import functools
import itertools
from string import ascii_uppercase

import numpy

from coachwork import commissioning, wiring
from coachwork.page.pictures import COLOURS, PIXELS, Picture
from coachwork.quantities import Q, floats, in_display_units, number_text, show, unit_text
from coachwork.sources import table

# ------------------------------------------------------------------------------- the practice board
# A board is drawn as pieces, each a line from point to point. Above the line stand its title and what its
# parts are, below it the names of its ends and the letters of the clamp. Every word has a width of its own in
# the line, so that none can touch another, a symbol or a wire. All lengths are CSS pixels.

WIDTH = 768.0
SIZE = 12.5  # points, as the style file has it for every picture
TITLE, LABEL, WIRE, BELOW, LINE = 15, 34, 56, 74, 95  # down from a line's top: two baselines, the wire, top
# of the names, the next line
POINT, RING = 13.0, 17.0  # from the middle of a point to its edge, and to the edge of a probe's mark on it
JAWS = 16.0  # from the middle of a letter to the edge of the clamp's mark on it
ROOM = 6.0  # between symbols
WORDS = 12.0  # between words
BETWEEN = 22.0  # pieces of one line
SOURCES = ("*, cells", "*, voltage", "*, output", "engine", "site, leg ?")
LOADS = ("*, load", "*, input", "*, microwave", "*, element", "lights on *", "charger on *", "filter, *")
SWITCHES = ("*disconnect", "*switch*", "*breaker*")
FUSES = ("*fuse", "shunt")
JOINTS = ("*lug", "*joint", "*landing", "*contact")
PLAIN = {"wire out": "wire", "wire back": "wire", "wire to it": "wire", "lights on leg 1": "lights",
         "charger on leg 2": "charger", "wire to the charger": "wire", "module fuse": "fuse",
         "branch fuse": "fuse", "charge fuse": "fuse", "solar disconnect": "disconnect",
         "ground joint": "joint", "neutral bond": "bond", "ground rod": "rod", "hot wire": "wire",
         "neutral wire": "wire", "ground wire": "wire", "ground contact": "contact",
         "neutral contact": "contact", "main fuse": "fuse", "main switch": "switch", "plus take-off": "lead",
         "minus take-off": "lead"}  # fmt: skip


def _pieces(board):
    """The drawn parts of a board as (title, patterns of element names), in the order of the diagram."""
    if board.alternating:
        return [
            ("transformer of the site", ["site, leg ?"]),
            ("site's ground", ["site, neutral bond", "site, ground rod"]),
            *((f"leg {leg}", [f"site, breaker {leg}", f"cord leg {leg}, *", f"transfer switch, leg {leg}"])
              for leg in (1, 2)),
            ("neutral", ["cord, neutral contact", "transfer switch, neutral"]),
            ("ground", ["cord, ground contact", "inlet, *", "skin, *"]),
            ("inverter", ["transfer switch, inverter *", "inverter, voltage"]),
            ("inverter's bond", ["inverter, bond"]),
            ("outlet", ["outlet, hot wire", "outlet, microwave", "outlet, neutral wire"]),
            ("outlet's ground", ["outlet, ground wire"]), ("water heater", ["water heater, *"]),
            ("on leg 1", ["lights on leg 1"]), ("on leg 2", ["charger on leg 2"]),
            ("filters of appliances", ["filter, *"]),
        ]  # fmt: skip
    modules = [name.removesuffix(", module fuse") for name in _names(board, "*, module fuse")]
    branches = [name.removesuffix(", branch fuse") for name in _names(board, "*, branch fuse")]
    return [
        *((name, [f"{name}, *"]) for name in modules), ("leads, plus", ["plus lead *", "plus take-off"]),
        ("leads, minus", ["minus lead *", "minus take-off"]),
        ("main cable, plus", ["main fuse", "main switch", "main cable, [!w]*", "main cable, wire out"]),
        ("main cable, minus", ["shunt", "main cable, wire back"]), ("inverter", ["inverter*"]),
        ("DC panel, plus", ["DC panel feed, *", "DC panel plus, *"]),
        ("DC panel, minus", ["DC panel minus, *", "DC panel return, *"]),
        *((name, [f"{name}, *"]) for name in branches if name != "step light"),
        ("step light, back by the frame", ["step light, *", "chassis return, *"]),
        ("solar controller", ["solar controller, *"]),
        ("engine and charge line", ["engine", "charge line, *", "DC-DC charger, input"]),
        ("DC-DC charger", ["DC-DC charger, output", "DC-DC charger, cable"]),
    ]  # fmt: skip


def _names(board, pattern):
    return [one.name for one in board.elements if fnmatch.fnmatchcase(one.name, pattern)]


def _chains(elements):
    """Elements joined end to end: lists of (point, element, point, ..., point)."""
    chains, left = [], list(elements)
    while left:
        first = left.pop(0)
        chain = [first.start, first, first.end]
        while True:
            for one in left:
                ends = (one.start, one.end)
                if chain[-1] in ends:
                    chain += [one, ends[1 - ends.index(chain[-1])]]
                elif chain[0] in ends:
                    chain[:0] = [ends[1 - ends.index(chain[0])], one]
                else:
                    continue
                left.remove(one)
                break
            else:
                break
        chains.append(chain)
    return chains


def _probed(board, chain):
    """A chain without the points that no probe reaches: two elements that meet in one are drawn as the
    first."""
    found = chain[:1]
    for element, point in zip(chain[1::2], chain[2::2]):
        if found[-1] in board.points:
            found += [element, point]
        else:
            found[-1] = point
    return found


@dataclasses.dataclass(frozen=True)
class Piece:
    """A piece of a diagram as it lies in its line.

    chain : (point, element, ..., point). at : the middle of each. jaws : element to the place of its clamp.
    left, width : of the whole piece.
    """

    title: str
    chain: tuple
    at: tuple
    jaws: dict
    left: float
    width: float

    def moved(self, by):
        """The same piece further to the right."""
        return dataclasses.replace(self, left=self.left + by, at=tuple(one + by for one in self.at),
                                   jaws={name: place + by for name, place in self.jaws.items()})  # fmt: skip


@functools.lru_cache(maxsize=8)
def diagram(board):
    """The board as lines of pieces: a list of lists of Piece.

    Paths that only a fault closes, and leaks, are not drawn. A point of no probe (inside a module) joins two
    elements.
    """
    pieces = []
    for title, patterns in _pieces(board):
        elements = [one for one in board.elements if one.closed and not one.name.startswith("leak of ")
                    and _is(one.name, patterns)]  # fmt: skip
        pieces += [(title, _probed(board, chain)) for chain in _chains(elements)]
    named, letters, lines, x = _named(pieces), _letters_at(board), [[]], ROOM
    for title, chain in pieces:
        piece = _laid(title, chain, named, letters)
        if lines[-1] and x + piece.width > WIDTH - ROOM:
            lines.append([])
            x = ROOM
        lines[-1].append(piece.moved(x))
        x += piece.width + BETWEEN
    return lines


def _named(pieces):
    """Points whose names are written: where a piece ends."""
    return {point for _, chain in pieces for point in (chain[0], chain[-1])}


def _laid(title, chain, named, letters):
    """A piece with room for each word, its left edge at 0."""
    half = [max(RING, _wide(point) / 2 if point in named else 0.0) for point in chain[::2]]
    x, at, jaws = half[0], [half[0]], {}
    for element, left, right in zip(chain[1::2], half, half[1:]):
        name, symbol = element.name, _half(element.name)
        closes = 2 * symbol + ROOM + 4 if symbol else 0.0  # the jaws close beside a symbol
        before, after = max(RING + ROOM + closes, left + JAWS), max(RING + ROOM, right + JAWS)
        length = max(2 * (RING + ROOM + symbol), _wide(_label(name)),
                     left + right if RING < min(left, right) else 0.0,
                     before + after if name in letters else 0.0)  # fmt: skip
        middle = length / 2
        if name in letters:
            place = min(max(middle + closes / 2, before), length - after)
            middle, jaws[name] = place - ROOM - 4 - symbol if symbol else middle, x + place
        at += [x + middle, x + length]
        x += length
    fitting = _fitting(title)
    return Piece(fitting, tuple(chain), tuple(at), jaws, 0.0, max(x + half[-1], _wide(fitting, "bold")))


def _fitting(title):
    """A title no wider than the paper: a circuit may have any name."""
    short = title
    while _wide(short, "bold") > WIDTH - 2 * ROOM:
        title = title[:-1]
        short = f"{title}…"
    return short


@functools.cache
def _wide(text, weight="normal"):
    """Width of a text in the picture, with some room about it."""
    from matplotlib.font_manager import FontProperties
    from matplotlib.textpath import text_to_path

    font = FontProperties(family="DejaVu Sans", size=SIZE, weight=weight)
    return text_to_path.get_text_width_height_descent(text, font, False)[0] * PIXELS / 72 + WORDS


def numbered(board):
    """The points of a board with the numbers that the diagram gives them: a dict of number to point."""
    points = dict.fromkeys(point for line in diagram(board) for piece in line for point in piece.chain[::2])
    return dict(enumerate(points, 1))


def lettered(board):
    """The places for the clamp with their letters: a dict of letter to name."""
    letters = (*ascii_uppercase, *map("".join, itertools.product(ascii_uppercase, repeat=2)))
    return dict(zip(letters, board.clamps))


def in_words(board):
    """The diagram for whoever does not see it: a list of sentences, each a piece from point to point with numbers and letters."""
    number = {point: place for place, point in numbered(board).items()}
    letter = _letters_at(board)
    told = []
    for piece in (piece for line in diagram(board) for piece in line):
        parts = [f"{number[piece.chain[0]]} {piece.chain[0]}"]
        for element, point in zip(piece.chain[1::2], piece.chain[2::2]):
            clamp = f" with clamp {letter[element.name]}" if element.name in letter else ""
            parts.append(f"{_label(element.name)}{clamp} to {number[point]} {point}")
        told.append(f"{piece.title}: " + ", ".join(parts) + ".")
    return told


def _letters_at(board):
    """Element to the letter of the clamp that closes round it."""
    return {element: letter for letter, name in lettered(board).items() for element, _ in board.clamps[name]}


def _label(name):
    last = name.rpartition(", ")[2]
    if " lead " in name:
        return "lead"
    return "transfer" if name.startswith("transfer ") else PLAIN.get(last, last)


def _is(name, patterns):
    return any(fnmatch.fnmatchcase(name, pattern) for pattern in patterns)


def _half(name):
    """Half the width of an element's symbol; 0 for a plain wire."""
    halves = ((SWITCHES, 13.0), (SOURCES, 10.0), (LOADS, 14.0), (FUSES, 12.0), (JOINTS, 5.0))
    return next((half for patterns, half in halves if _is(name, patterns)), 0.0)


class BoardDiagram(Picture):
    """The practice board as a one-line diagram: points by number, places for the clamp by letter, probes as
    rings."""

    title = "The board"

    def __init__(self, board):
        self.board, self.lines = board, diagram(board)
        self.size = (WIDTH / PIXELS, round(len(self.lines) * LINE) / PIXELS)

    def build(self, fig):
        fig.set_layout_engine("none")
        width, height = (PIXELS * size for size in self.size)
        axes = fig.add_axes((0, 0, 1, 1), xlim=(0, width), ylim=(height, 0))
        axes.axis("off")
        number = {point: place for place, point in numbered(self.board).items()}
        letters = _letters_at(self.board)
        named = _named([(piece.title, piece.chain) for line in self.lines for piece in line])
        self.at, self.clamp_at = {}, {}
        for place, line in enumerate(self.lines):
            top = place * LINE
            y = top + WIRE
            for piece in line:
                axes.text(piece.left, top + TITLE, piece.title, weight="bold", size=SIZE, parse_math=False)
                for point, x in zip(piece.chain[::2], piece.at[::2]):
                    axes.plot([x], [y], "o", ms=19, mfc="white", mec="black", mew=1.1, zorder=3)
                    axes.text(x, y + 0.5, str(number[point]), size=SIZE, ha="center", va="center", zorder=4)
                    if point in named:
                        axes.text(x, top + BELOW, point, size=SIZE, ha="center", va="top")
                    self.at.setdefault(point, []).append((x, y))
                for order, element in enumerate(piece.chain[1::2]):
                    left, here, right = piece.at[2 * order : 2 * order + 3]
                    self._element(axes, element.name, left + POINT, here, right - POINT, y)
                    axes.text((left + right) / 2, top + LABEL, _label(element.name), size=SIZE, ha="center")
                    if element.name in piece.jaws:
                        self._jaws(axes, piece.jaws[element.name], y, letters[element.name])
        (self.red,) = axes.plot([], [], "o", ms=22, mfc="none", mec=COLOURS["vermilion"], mew=2.6, zorder=5)
        (self.black,) = axes.plot([], [], "s", ms=21, mfc="none", mec="black", mew=2.2, zorder=5)
        (self.jaws,) = axes.plot([], [], "D", ms=14, mfc="none", mec=COLOURS["blue"], mew=2.4, zorder=5)
        self.moving = [self.red, self.black, self.jaws]

    def _element(self, axes, name, left, x, right, y):
        from matplotlib.patches import Rectangle

        def wire(*ends):
            for start, end in zip(ends[::2], ends[1::2]):
                axes.plot([start, end], [y, y], "k-", lw=1.3, zorder=1)

        half = _half(name)
        if _is(name, SWITCHES):
            wire(left, x - 11, x + 11, right)
            axes.plot([x - 11, x + 11], [y, y - 7], "k-", lw=1.6)
            axes.plot([x - 11, x + 11], [y, y], "ko", ms=3.5)
        elif _is(name, SOURCES) and self.board.alternating:
            wire(left, x - half, x + half, right)
            axes.plot([x], [y], "o", ms=15, mfc="white", mec="black", mew=1.3)
            turn = numpy.linspace(-1, 1, 25)
            axes.plot(x + 6 * turn, y - 4 * numpy.sin(numpy.pi * turn), "k-", lw=1.3)
        elif _is(name, SOURCES):
            wire(left, x - 3, x + 3, right)
            axes.plot([x - 3, x - 3], [y - 9, y + 9], "k-", lw=1.3)
            axes.plot([x + 3, x + 3], [y - 5, y + 5], "k-", lw=3)
        else:
            wire(left, right)
            if _is(name, LOADS):
                axes.add_patch(Rectangle((x - half, y - 7), 2 * half, 14, fc="#dddddd", ec="black", lw=1.3,
                                         zorder=2))
            elif _is(name, FUSES):
                axes.add_patch(Rectangle((x - half, y - 5), 2 * half, 10, fc="none", ec="black", lw=1.3))
            elif _is(name, JOINTS):
                axes.plot([x], [y], "kD", ms=5)

    def _jaws(self, axes, x, y, letter):
        from matplotlib.patches import Ellipse

        axes.add_patch(Ellipse((x, y), 7, 16, fc="none", ec="black", lw=1.3))
        middle = y + BELOW - WIRE + 8
        axes.text(x, middle + 0.5, letter, size=SIZE, ha="center", va="center", weight="bold")
        self.clamp_at.setdefault(letter, []).append((x, middle))

    def update(self, red, black, clamp):
        """red, black : points, or empty text. clamp : its letter, or empty text. The words are empty: the
        meter speaks."""
        for artist, places in ((self.red, self.at.get(red)), (self.black, self.at.get(black)),
                               (self.jaws, self.clamp_at.get(clamp))):
            artist.set_data(*zip(*places) if places else ([], []))
        where = f"The clamp is at {clamp}." if clamp else \
            f"Red probe (ring) on {red}, black probe (square) on {black}." if red else ""
        return "", ("One-line diagram of the board, the same number being the same point; “The board in words” tells all of it. "
                    f"{where}").rstrip()  # fmt: skip


# ------------------------------------------------------------------------------- drops against prediction


class DropsMeasured(Picture):
    """Predicted drop of every main circuit, the limit beside it, and one that is measured with a bad joint in
    it."""

    title = "Predicted and measured drop"
    size = (8, 4.6)
    SCALES = (60, 150, 500, 1000)  # mV

    def __init__(self, coach):
        self.coach = coach
        self.rows = {one.name: one for one in commissioning.acceptance(coach)}
        plan = coach.commissioning.drop_tolerance
        self.tolerance = commissioning.TOLERANCE if plan is None else plan

    def build(self, fig):
        axes = fig.subplots()
        places = numpy.arange(len(self.rows))
        axes.set(xlim=(0, 500), ylim=(len(places) - 0.4, -0.6), xlabel="Drop there and back in mV")
        axes.set_yticks(places, list(self.rows))
        axes.grid(axis="y", visible=False)
        self.bars = axes.barh(places, [1.0] * len(places), height=0.6, fc="white", ec="black", hatch="//",
                              label="predicted")
        (self.limits_,) = axes.plot([], [], "|", ms=20, mew=3, color=COLOURS["vermilion"],
                                    label="passes up to here")
        (self.dot,) = axes.plot([], [], "D", ms=10, color=COLOURS["blue"], mec="black", label="measured")
        fig.legend(handles=[self.bars, self.limits_, self.dot], loc="outside lower center", ncols=3)
        self.axes, self.moving = axes, [*self.bars, self.limits_, self.dot]

    def update(self, circuit, share, more):
        drops, limits = [], []
        for one in self.rows.values():
            drop = commissioning.expected_drop(one.current * share / 100, one.resistance)
            drops.append(floats(drop, "mV"))
            limits.append(floats(commissioning.drop_limit(drop, self.tolerance, commissioning.RESOLUTION),
                                 "mV"))
        chosen, place = self.rows[circuit], list(self.rows).index(circuit)
        current, extra = chosen.current * share / 100, Q(more, "mohm")
        found = floats(commissioning.expected_drop(current, chosen.resistance + extra), "mV")
        for bar, drop in zip(self.bars, drops):
            bar.set_width(drop)
        self.limits_.set_data(limits, range(len(limits)))
        self.dot.set_data([found], [place])
        widest = max(found, *limits)
        self.limits(self.axes, x=(0, next(top for top in self.SCALES if widest <= 0.97 * top
                                          or top == self.SCALES[-1])))
        said = (f"{circuit} at {show(current)}: predicted {show(Q(drops[place], 'mV'))}, passes up to "
                f"{show(Q(limits[place], 'mV'))}, "
                f"measured {show(Q(found, 'mV'))}: ")  # fmt: skip
        said += "it passes." if found <= limits[place] else "it misses."
        if not share:
            said += " Without current there is nothing to see."
        elif more:
            said += f" The joint makes {show(wiring.joint_heat(current, extra))}."
        alt = "Bars of predicted drop, each with its limit: " + ", ".join(
            f"{name} {show(Q(drop, 'mV'))} up to {show(Q(limit, 'mV'))}" for name, drop,
            limit in zip(self.rows, drops, limits)
        ) + f". A diamond at {show(Q(found, 'mV'))} on {circuit}."  # fmt: skip
        return said, alt


class JointWarmth(Picture):
    """Rise of a joint over its like against current, through one measured point, with the steps of the heat
    check."""

    title = "How warm will it be at full load?"
    CURRENTS = numpy.linspace(1, 300, 150)

    def build(self, fig):
        self.unit = in_display_units(Q(1.0, "delta_degC")).units
        axes = fig.subplots()
        axes.set(xlim=(0, 300), ylim=(0, floats(Q(40.0, "delta_degC"), self.unit)), xlabel="Current in A",
                 ylabel=f"Rise over a like part in {unit_text(self.unit)}")  # fmt: skip
        self.steps = steps = [(floats(row["over like"], self.unit), row["verdict"].partition(" ")[0])
                 for row in table("heat_check").rows
                 if row["over like"] is not None and row["verdict"] != "sound"]  # fmt: skip
        for step, _ in steps:
            axes.axhline(step, color="#555555", lw=1, ls=(0, (6, 3)))
        right = axes.secondary_yaxis("right")
        right.set_yticks([step for step, _ in steps], [f"{name} deficiency" for _, name in steps])
        (self.curve,) = axes.plot([], [], color=COLOURS["vermilion"],
                                  label="heat goes with the current squared")
        (self.tested,) = axes.plot([], [], "D", ms=10, color=COLOURS["blue"], mec="black", label="measured")
        (self.asked,) = axes.plot([], [], "o", ms=10, color="white", mec="black", mew=2, label="at full load")
        fig.legend(handles=[self.curve, self.tested, self.asked], loc="outside lower center", ncols=3)
        self.moving = [self.curve, self.tested, self.asked]

    def update(self, rise, tested, current):
        measured, at, full = Q(rise, "delta_degC"), Q(tested, "A"), Q(current, "A")
        curve = commissioning.rise_at(measured, at, Q(self.CURRENTS, "A"))
        self.curve.set_data(self.CURRENTS, floats(curve, self.unit))
        self.tested.set_data([tested], [floats(measured, self.unit)])
        there = commissioning.rise_at(measured, at, full)
        self.asked.set_data([current], [floats(there, self.unit)])
        verdicts = [commissioning.heat_verdict(one, "over like") for one in (measured, there)]
        told = ", ".join(f"{name} deficiency from {number_text(step)} {unit_text(self.unit)} on" for step, name in self.steps)
        words = (f"{show(measured)} over its like at {show(at)}: {verdicts[0]}. At {show(full)} it would be "
                 f"{show(there)}: "
                 f"{verdicts[1]}.")  # fmt: skip
        alt = (f"A curve that rises with the current squared through a diamond at {show(at)} and "
               f"{show(measured)}; a circle at {show(full)} and {show(there)}. "
               f"Dashed lines: {told}.")  # fmt: skip
        return words, alt
