"""The one-line diagram of a coach: who feeds whom, through which conductor and device. It draws; it never calculates.

One line stands for both conductors of a circuit. The layout is a tree that grows to the right: every circuit has a
row of its own, its words stand in the free space above and below its line, and every thing has a column of its own,
so no word can touch another or a line. Symbols are the generic ones of IEC 60617 and IEEE 315, drawn from memory.
"""

import dataclasses
import html
import textwrap
import unicodedata

from coachwork import capacity, wiring
from coachwork.quantities import show

FONT = 10.5  # pixels
LETTER, LINE = 6.5, 13  # a letter's width and a line's height; DejaVu Sans Mono is 0.602 of its size wide
NODE, EDGE = 122, 204  # widths of the columns
ROOM = 10  # between a line and the words above and below it: half the height of a symbol on it, and a little more
GAP = 9  # between rows
STAYS = {"keep": "stays", "move": "moved", "limit": "stays, limited"}
MARGIN = 12


@dataclasses.dataclass(frozen=True)
class Box:
    """A rectangle on the sheet that words, a symbol or a line take up. what : "words", "thing" or "line"."""

    what: str
    text: str
    left: float
    top: float
    right: float
    bottom: float


@dataclasses.dataclass
class _Thing:
    """Something with a name: a source, a bus bar, a panel, a load. ways : (circuit, thing) that hang on it."""

    name: str
    kind: str
    ways: list = dataclasses.field(default_factory=list)
    left: list = dataclasses.field(default_factory=list)


@dataclasses.dataclass(frozen=True)
class _Way:
    """A circuit as drawn: words above and below its line, symbols near its two ends."""

    title: str
    words: tuple
    near: tuple = ()
    far: tuple = ()


@dataclasses.dataclass(frozen=True)
class Diagram:
    """A drawing. svg : its text. alt : in a sentence. words : all of it, a line a circuit. boxes : what is where."""

    name: str
    svg: str
    alt: str
    words: tuple
    width: float
    height: float
    boxes: tuple

    def __repr__(self):
        return "\n".join([self.alt, *self.words])

    def _repr_mimebundle_(self, include=None, exclude=None):
        listed = "".join(f"<li>{html.escape(line)}</li>" for line in self.words)
        return {
            "text/html": f'<div style="overflow-x:auto" tabindex="0" role="group" aria-label="{html.escape(self.name)}">'
            f"{self.svg}</div><details><summary>{html.escape(self.name)}, in words</summary><ul>{listed}</ul></details>",
            "text/plain": repr(self),
        }


# ------------------------------------------------------------------------------- what hangs on what


def one_line(coach):
    """The two sheets of the one-line diagram: the DC side, and the 120 V side where there is an inverter or inlet.

    Parameters
    ----------
    coach : the coach file

    Sizes, lengths and devices are those of the wire schedule; removed circuits are not drawn.
    """
    sheets = [_drawn(f"One-line diagram, {coach.name}: DC side", _dc_side(coach))]
    if coach.inverter is not None or coach.charging.inlet is not None:
        sheets.append(_drawn(f"One-line diagram, {coach.name}: 120 V side", _ac_side(coach)))
    return sheets


def _dc_side(coach):
    rows = {row.name: row for row in wiring.study(coach).rows}
    circuits = sorted(
        (one for one in coach.circuits if one.existing != "remove" and not _mains(one)),
        key=lambda one: one.purpose != "bank",
    )
    plan, leads = wiring.decided(coach).wiring, wiring.array_leads(circuits)
    drawn, seen, roots = set(), set(), []
    for start in [wiring.BANK, *(one.from_ for one in circuits)]:
        if start in seen or start != wiring.BANK and all(one.name in drawn for one in circuits if one.from_ == start):
            continue
        roots.append(_Thing(start, _kind(start, None)))
        roots[-1].left = _modules(coach, rows) if start == wiring.BANK else []
        seen.add(start)
        waiting = [roots[-1]]
        for thing in waiting:  # those nearest to the root first, so that the tree stays shallow
            for one in circuits:
                if one.name in drawn or thing.name not in (one.from_, one.to):
                    continue
                drawn.add(one.name)
                other = one.to if one.from_ == thing.name else one.from_
                way = _way(one, rows[one.name], plan, one.from_ == thing.name, leads)
                if other in seen:
                    thing.ways.append((way, _Thing(f"{other}, drawn elsewhere", "reference")))
                    continue
                seen.add(other)
                waiting.append(_Thing(other, _kind(other, one)))
                thing.ways.append((way, waiting[-1]))
    return roots


def _mains(circuit):
    """Whether a circuit belongs to the 120 V sheet."""
    return circuit.rule == "NEC 310.16"


def _modules(coach, rows):
    bank = capacity.arrangement(coach)
    plan = wiring.decided(coach).wiring
    row = next((row for row in rows.values() if row.start == "module"), None)
    found = []
    for number in range(1, int(bank.parallel) + 1):
        words, symbols = [], []
        if row is not None:
            words += [f"{row.size}, {show(row.length)}"]
            if row.device and row.fuse is not None:
                words.append(f"{row.device} {show(row.fuse)}")
                symbols.append("fuse")
        if plan.module_switch:
            words.append(plan.module_switch)
            symbols.append("switch")
        series = f"{int(bank.series)} in series, each " if bank.series > 1 else ""
        name = f"Module {number}: {series}{show(bank.module.voltage)}, {show(bank.module.charge)}"
        found.append((_Way("", tuple(words), tuple(symbols)), _Thing(name, "battery")))
    return found


def _way(one, row, plan, towards, leads=()):
    """The circuit as drawn from its nearer end: `towards` says that this is the end named first in the file.

    leads : the circuits that the array's disconnect opens.
    """
    words = [", ".join(filter(None, [row.size, show(one.length), STAYS.get(one.existing)]))]
    near, far = [], []
    places = row.at.split(" and ") if row.at else []
    if row.device and row.fuse is not None:
        breaker = "breaker" in row.device
        words.append(f"{row.device} {show(row.fuse)}" + (", at both ends" if len(places) > 1 else ""))
        for place in places:
            first = (place == one.from_) == towards
            (near if first else far).append("breaker" if breaker else "fuse")
    if one.purpose == "bank":
        if plan.main_switch:
            words.append(plan.main_switch)
            near.append("switch")
        if plan.shunt is not None:
            words.append(f"shunt {show(plan.shunt)}, in the negative")
            near.append("shunt")
    if plan is not None and plan.array_switch and one in leads:
        words.append(plan.array_switch)
        (far if towards else near).append("switch")
    if one.purpose == "emergency-start solenoid":
        words.append("solenoid")
        near.append("switch")
    return _Way(one.name, tuple(words), tuple(near), tuple(far))


def _kind(name, circuit):
    low = name.casefold()
    purpose = circuit.purpose if circuit else ""
    for words, kind in (
        (("panel", "fuse block"), "panel"),
        (("bus",), "bar"),
        (("negative",), "post"),
        (("dc-dc",), "dc-dc"),
        (("inverter",), "inverter"),
        (("controller",), "dc-dc"),
        (("charger", "converter"), "charger"),
        (("array",), "array"),
        (("frame", "body", "chassis"), "frame"),
        (("battery", "cell"), "battery"),
    ):
        if any(word in low for word in words):
            return kind
    if name == wiring.BANK:
        return "bar"
    return "frame" if purpose == "chassis return" else "load"


def _ac_side(coach):
    plan, sources = coach.inverter, coach.charging
    rows = {row.name: row for row in wiring.study(coach).rows}
    circuits = [one for one in coach.circuits if _mains(one) and one.existing != "remove"]
    chargers = [one.name for one in sources.chargers if one.kind == "AC"]
    ahead, roots = plan is not None and plan.charger_feed == "ahead", []
    panel = _Thing(circuits[0].to if circuits else "panel fed by the inverter", "panel")
    panel.ways += _branches([one.name for one in coach.loads if one.side == "ac"] if plan else [])
    if not ahead:
        panel.ways += [(_Way(name, (), ("breaker",)), _Thing("AC charger", "charger")) for name in chargers]
    if sources.inlet is not None:
        main = _Thing("main AC panel", "panel")
        main.ways += _branches([one.name for one in plan.shore_only] if plan else [], "shore or generator only")
        if ahead:
            main.ways += [(_Way(name, ("ahead of the transfer switch",), ("breaker",)), _Thing("AC charger", "charger")) for name in chargers]
        if plan is not None:
            transfer = _Thing("transfer switch", "transfer")
            words = ("neutral switched too" if plan.neutral == "switched" else "neutral passes through",)
            main.ways.insert(0, (_Way("To the transfer switch", words, ("breaker",)), transfer))
            transfer.ways.append((_Way("Inverter circuits", ("one source at a time",)), panel))
            out = circuits[0] if circuits else None
            way = _Way("Inverter output", ()) if out is None else _way(out, rows[out.name], None, towards=False)
            transfer.ways.append((way, _Thing(f"inverter, {show(plan.rated_power)}", "inverter")))
        words = ["main breaker at the panel"]
        if plan and plan.pedestal is not None:
            words.append(f"breaker of the site: {show(plan.pedestal)} or more")
        if sources.generator is None:
            name = f"inlet {sources.inlet}, from the site"
        else:
            name = f"inlet {sources.inlet}: site or generator, never both"
        inlet = _Thing(name, "inlet", [(_Way("Shore cord", tuple(words), (), ("breaker",)), main)])
        roots.append(inlet)
    elif plan is not None:
        out = circuits[0] if circuits else None
        way = _Way("Inverter output", ()) if out is None else _way(out, rows[out.name], None, towards=True)
        roots.append(_Thing(f"inverter, {show(plan.rated_power)}", "inverter", [(way, panel)]))
    return roots


def _branches(names, *words):
    """One line for all branch circuits of a panel: which breaker feeds what is not in the coach file."""
    way = _Way("Branch circuits", (*words, "breakers as the panel's schedule says"), ("breaker",))
    return [(way, _Thing(", ".join(names), "load"))] if names else []


# ------------------------------------------------------------------------------- where things stand


def _wide(text):
    """Columns that a text takes in a monospaced font."""
    return sum(2 if unicodedata.east_asian_width(letter) in "WF" else 1 for letter in text)


def _wrapped(text, width):
    """The lines of a text, none wider than `width` pixels."""
    most = int(width // LETTER)
    if _wide(text) > len(text):
        most //= 2
    return textwrap.wrap(" ".join(text.split()), most, break_on_hyphens=False)


class _Sheet:
    """Draws things and remembers what takes up which place."""

    def __init__(self):
        self.drawn, self.boxes = [], []

    def words(self, lines, left, top, bold=False):
        for number, line in enumerate(lines):
            base = top + number * LINE + FONT * 0.86
            weight = ' font-weight="bold"' if bold else ""
            self.drawn.append(f'<text x="{left:g}" y="{base:g}"{weight}>{html.escape(line)}</text>')
            self.boxes.append(
                Box("words", line, left, top + number * LINE, left + _wide(line) * LETTER, top + number * LINE + FONT * 1.1)
            )

    def line(self, x1, y1, x2, y2, width=1.3):
        self.drawn.append(f'<path d="M{x1:g} {y1:g}L{x2:g} {y2:g}" stroke-width="{width:g}"/>')
        half = width / 2
        self.boxes.append(
            Box("line", "", min(x1, x2) - half, min(y1, y2) - half, max(x1, x2) + half, max(y1, y2) + half)
        )

    def symbol(self, kind, x, y):
        """A symbol on a line, its middle at (x, y)."""
        shapes = {
            "fuse": '<rect x="-10" y="-5" width="20" height="10" fill="#fff"/><path d="M-10 0H10"/>',
            "switch": '<path d="M-10 0H10" stroke="#fff" stroke-width="3"/><path d="M-10 0L8 -8M10 -3V3"/>'
            '<circle cx="-10" cy="0" r="1.6" fill="#000"/>',
            "breaker": '<path d="M-10 0H10" stroke="#fff" stroke-width="3"/><path d="M-10 0L8 -8M6 -3L13 3M6 3L13 -3"/>',
            "shunt": '<rect x="-10" y="-5" width="20" height="10" fill="#fff"/><path d="M-6 5V9M6 5V9"/>',
        }
        self.drawn.append(f'<g transform="translate({x:g} {y:g})">{shapes[kind]}</g>')

    def thing(self, kind, left, top, right, bottom):
        """The sign of a thing, within its outline."""
        x, y = (left + right) / 2, top + 15
        at = f'<g transform="translate({x:g} {y:g})">'
        square = '<rect x="-14" y="-11" width="28" height="22"/><path d="M-14 11L14 -11"/>'
        dc, ac = '<path d="M{0} {1}h8M{0} {2}h8"/>', '<path d="M{0} {1}q2 -5 4 0t4 0"/>'
        signs = {
            "battery": '<path d="M-14 0H-4M-4 -9V9M4 0H14"/><path d="M4 -5V5" stroke-width="3"/>',
            "inverter": square + dc.format(-11, -7, -4) + ac.format(3, 6),
            "charger": square + ac.format(-11, -5) + dc.format(3, 4, 7),
            "dc-dc": square + dc.format(-11, -7, -4) + dc.format(3, 4, 7),
            "array": '<rect x="-14" y="-11" width="28" height="22"/><path d="M-14 -11L0 0L14 -11M-8 4H8M-4 8H4"/>',
            "frame": '<path d="M0 -10V0M-12 0H12M-12 0L-16 8M0 0L-4 8M12 0L8 8"/>',
            "inlet": '<path d="M-10 -9A11 11 0 1 0 10 -9M0 -4V10M-14 -9H-6M14 -9H6"/>',
            "transfer": '<path d="M-14 -7H-6M-14 7H-6M14 0H6L-5 -6"/><circle cx="-5" cy="-7" r="1.6"/>'
            '<circle cx="-5" cy="7" r="1.6"/><circle cx="6" cy="0" r="1.6" fill="#000"/>',
            "panel": '<path d="M-14 -7H14M-8 -7V-1L-3 7M4 -7V-1L9 7"/>',
        }
        self.drawn.append(
            f'<rect x="{left:g}" y="{top:g}" width="{right - left:g}" height="{bottom - top:g}"'
            + (' stroke-dasharray="4 3"' if kind == "reference" else "")
            + "/>"
        )
        if kind in signs:
            self.drawn.append(f"{at}{signs[kind]}</g>")
        self.boxes.append(Box("thing", kind, left, top, right, bottom))


SIGNED = ("battery", "inverter", "charger", "dc-dc", "array", "frame", "inlet", "transfer", "panel")
RISE = 17  # of a thing's outline above its line


def _height(thing):
    """Height of a thing's outline, without what hangs on it."""
    lines = len(_wrapped(thing.name, NODE - 12)) * LINE
    return (32 if thing.kind in SIGNED else 6) + lines + 4


def _above(way, thing):
    """Room that a row needs above its line."""
    room = LINE * len(_wrapped(way.title, EDGE - 14)) + ROOM if way else 0
    if thing.kind == "bar":
        room = max(room, LINE * len(_wrapped(thing.name, NODE - 14)) + ROOM)
    else:
        room = max(room, RISE)
    for further in (thing.ways, thing.left):
        if further:
            room = max(room, _above(*further[0]))
    return room


def _below(way):
    return ROOM + sum(len(_wrapped(one, EDGE - 14)) for one in way.words) * LINE if way else 0


def _put(sheet, way, thing, left, y):
    """Draw a thing and all that hangs on it, its line at height y; return how far down it reaches."""
    right = left + NODE
    rows, last = [], y
    bottom = y + max(_below(way), ROOM)
    for number, (further, child) in enumerate(thing.ways):
        row = y if number == 0 else bottom_of_rows + GAP + _above(further, child)
        bottom_of_rows = _put(sheet, further, child, right + EDGE, row)
        _draw_way(sheet, further, right, row, bar=thing.kind == "bar")
        rows.append(row)
        bottom = max(bottom, bottom_of_rows)
    if rows:
        last = rows[-1]
    if thing.kind == "bar":
        lefts = _put_left(sheet, thing, left, y)
        last, bottom = max([last, *lefts[:1]]), max([bottom, *lefts[1:]])
        if way:
            sheet.line(left, y, right - 3, y)
        lines = _wrapped(thing.name, NODE - 14)
        sheet.words(lines, left + 2, y - ROOM - LINE * len(lines), bold=True)
        sheet.line(right - 3, y - 8, right - 3, last + 8, 5)
        return max(bottom, last + 10)
    top, low = y - RISE, max(y - RISE + _height(thing), last + RISE)
    sheet.thing(thing.kind, left, top, right, low)
    lines = _wrapped(thing.name, NODE - 12)
    sheet.words(lines, left + 6, top + (30 if thing.kind in SIGNED else 6), bold=False)
    return max(bottom, low)


def _put_left(sheet, thing, left, y):
    """Draw what joins a bar from the left, one below the other; return (last row, how far down), or nothing."""
    row, low, rows = y, y, []
    for number, (way, other) in enumerate(thing.left):
        if number:
            row = low + GAP + _above(way, other)
        low = max(row + _below(way), _put(sheet, None, other, left - EDGE - NODE, row))
        _draw_way(sheet, way, left - EDGE, row)
        sheet.line(left, row, left + NODE - 3, row)
        rows.append(row)
    return (rows[-1], low) if rows else ()


def _draw_way(sheet, way, left, y, bar=False):
    sheet.line(left - 3 * bar, y, left + EDGE, y)
    title = _wrapped(way.title, EDGE - 14)
    sheet.words(title, left + 8, y - ROOM - LINE * len(title) + 1, bold=True)
    top = y + ROOM
    for words in way.words:
        lines = _wrapped(words, EDGE - 14)
        sheet.words(lines, left + 8, top)
        top += LINE * len(lines)
    for number, kind in enumerate(way.near):
        sheet.symbol(kind, left + 24 + 34 * number, y)
    for number, kind in enumerate(way.far):
        sheet.symbol(kind, left + EDGE - 22 - 34 * number, y)


LEGEND = (("fuse", "fuse"), ("breaker", "circuit breaker"), ("switch", "disconnect or switch"), ("shunt", "shunt"))


def _legend(sheet, top):
    """What the symbols on the lines mean, and what a line stands for."""
    left = MARGIN
    for kind, meaning in LEGEND:
        sheet.line(left, top + 10, left + 44, top + 10)
        sheet.symbol(kind, left + 22, top + 10)
        sheet.words([meaning], left + 50, top + 4)
        left += 70 + LETTER * len(meaning)
    sheet.words(NOTES, MARGIN, top + 28)
    return top + 28 + LINE * len(NOTES)


NOTES = (
    "One line stands for all conductors of a circuit. DC side: fuses, breakers and switches are in the plus, or in both poles where they say so, the shunt is in the minus.",
    "Equipment grounding conductors and bonds are not drawn: see the checks.",
)


def _drawn(name, roots):
    sheet, top = _Sheet(), MARGIN
    for root in roots:
        y = top + _above(None, root)
        left = MARGIN + (NODE + EDGE if root.left else 0)
        top = _put(sheet, None, root, left, y) + 2 * GAP
    top = _legend(sheet, top + GAP)
    width = max(box.right for box in sheet.boxes) + MARGIN
    height = max(box.bottom for box in sheet.boxes) + MARGIN
    words = [line for root in roots for line in _told(root)]
    alt = f"{name}. {len(words)} circuits, listed below in words; sizes, lengths and devices stand in the wire schedule."
    svg = (
        f'<svg xmlns="http://www.w3.org/2000/svg" role="img" aria-label="{html.escape(alt)}" viewBox="0 0 {width:g} {height:g}" '
        f'width="{width:g}" height="{height:g}" fill="none" stroke="#000" stroke-width="1.3">'
        f'<rect width="{width:g}" height="{height:g}" fill="#fff" stroke="none"/>'
    )
    lines = [one for one in sheet.drawn if one.startswith("<text")]
    svg += "".join(one for one in sheet.drawn if not one.startswith("<text"))
    svg += f'<g fill="#000" stroke="none" font-family="DejaVu Sans Mono, Menlo, Consolas, monospace" font-size="{FONT:g}">'
    svg += "".join(lines) + "</g></svg>\n"
    return Diagram(name, svg, alt, tuple(words), width, height, tuple(sheet.boxes))


def _told(thing):
    """Every circuit of a tree in words."""
    for way, other in [*((way, other) for way, other in thing.left), *thing.ways]:
        title = f"{way.title}: " if way.title else ""
        yield f"{title}{thing.name} to {other.name}" + (f"; {'; '.join(way.words)}" if way.words else "")
        yield from _told(other)
