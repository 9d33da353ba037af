"""Pictures of lesson 00: volts, amps and watts on one bench; a key to the symbols of a one-line diagram."""

import html

import numpy

from coachwork import energy
from coachwork.page.pictures import COLOURS, Picture
from coachwork.page.table import STYLE
from coachwork.quantities import Q, current_by_ohms_law, floats, show

MOST_VOLTS = 30
SCALE = (1, 2, 5, 10, 20, 50, 100, 200, 500, 1000, 2000, 5000, 10_000)


def _scale(value):
    """The next round number above."""
    return next(top for top in SCALE if value <= 0.95 * top or top == SCALE[-1])


class VoltsAmpsWatts(Picture):
    """A voltage across a resistance: the current it drives, and the power that becomes heat."""

    title = "Volts, amps, watts"

    def build(self, fig):
        current, power = fig.subplots(1, 2, width_ratios=(2.4, 1))
        current.set(xlim=(0, MOST_VOLTS), ylim=(0, 10), xlabel="Voltage in V", ylabel="Current in A")
        current.set_title("Current at each voltage")
        (self.line,) = current.plot([0, 1], [0, 1], color=COLOURS["blue"])
        (self.reach,) = current.plot([0, 0], [0, 0], color="#555555", ls="--", lw=1.2)
        (self.point,) = current.plot([0], [0], color=COLOURS["vermilion"], marker="o", ms=11, ls="")
        power.set(ylim=(0, 100), ylabel="Power in W", xlim=(-0.8, 0.8), xticks=[])
        power.set_title("Power")
        (self.bar,) = power.bar([0], [1], width=0.8, color=COLOURS["orange"], edgecolor="black")
        self.current, self.power = current, power
        self.moving = [self.line, self.reach, self.point, self.bar]

    def update(self, voltage, resistance):
        amps = current_by_ohms_law(Q(voltage, "V"), Q(resistance, "ohm"))
        most_amps = current_by_ohms_law(Q(MOST_VOLTS, "V"), Q(resistance, "ohm"))
        most = floats(most_amps, "A")
        watts = energy.power_from_current(Q(voltage, "V"), amps)
        flows, heats = floats(amps, "A"), floats(watts, "W")
        self.limits(self.current, y=(0, _scale(most)))
        self.limits(
            self.power, y=(0, _scale(floats(energy.power_from_current(Q(MOST_VOLTS, "V"), most_amps), "W")))
        )
        self.line.set_data(numpy.array([0, MOST_VOLTS]), numpy.array([0, most]))
        self.reach.set_data([voltage, voltage, 0], [0, flows, flows])
        self.point.set_data([voltage], [flows])
        self.bar.set_height(heats)
        volts, ohms = show(Q(voltage, "V")), show(Q(resistance, "ohm"))
        words = f"{volts} across {ohms} drives {show(amps)}, and {show(watts)} become heat."
        alt = (
            f"Left, a straight line of current against voltage, from 0 up to {show(most_amps)} at "
            f"{MOST_VOLTS} V, with a point at {volts} and {show(amps)}. Right, a bar of {show(watts)}."
        )
        return words, alt


# ------------------------------------------------------------------------------- symbols

LEADS = "M0 20H24M56 20H80"
# name: (what it is drawn as, what it is, parts of an 80 x 40 drawing). A part is a path, or a tuple that says
# what it is: a dot, a circle, a text, a thick or a dashed path.
SYMBOLS = {
    "conductor": ("a line", "a wire, a cable or a bus bar", "M0 20H80"),
    "joined conductors": (
        "lines that meet, with a dot",
        "they are connected",
        "M0 20H80M40 2V38",
        ("dot", 40, 20),
    ),
    "crossing conductors": ("lines that cross, without a dot", "they are not connected", "M0 20H80M40 2V38"),
    "cell or battery": (
        "a long thin line and a short thick one; the long one is positive",
        "a battery; several pairs in a row mean several cells",
        "M0 20H36M36 4V36M44 20H80",
        ("thick", "M44 12V28"),
        ("text", 27, 13, "+"),
    ),
    "fuse": ("a box with the conductor running through it", "a fuse", "M0 20H80M22 11H58V29H22Z"),
    "circuit breaker": (
        "two dots bridged by an arc",
        "a breaker: it opens by itself, and can be closed again",
        "M0 20H24M56 20H80M24 15Q40 -4 56 15",
        ("dot", 24, 20),
        ("dot", 56, 20),
    ),
    "switch or disconnect": (
        "a gap with a slanted line over it",
        "a switch, drawn open",
        "M0 20H26M26 20L56 4M56 20H80",
        ("dot", 26, 20),
        ("dot", 56, 20),
    ),
    "relay or contactor": (
        "a switch tied by a dashed line to a box",
        "a switch that a coil closes",
        "M0 10H26M26 10L54 0M56 10H80M28 26H52V38H28Z",
        ("dot", 26, 10),
        ("dot", 56, 10),
        ("dashed", "M40 5V26"),
    ),
    "load": (
        "an empty box",
        "anything that takes power; its name stands beside it",
        LEADS + "M24 9H56V31H24Z",
    ),
    "resistor": (
        "a zigzag; in international drawings an empty box",
        "a resistance",
        "M0 20H18L22 11L30 29L38 11L46 29L54 11L58 20H80",
    ),
    "lamp": (
        "a circle with a cross in it",
        "a lamp",
        LEADS + "M29 9L51 31M51 9L29 31",
        ("circle", 40, 20, 16),
    ),
    "motor": (
        "a circle with an M",
        "a motor: pump, fan, compressor",
        LEADS,
        ("circle", 40, 20, 16),
        ("text", 40, 26, "M"),
    ),
    "generator or alternator": (
        "a circle with a G",
        "a machine that makes electricity",
        LEADS,
        ("circle", 40, 20, 16),
        ("text", 40, 26, "G"),
    ),
    "solar module": (
        "a box with two arrows pointing at it",
        "a solar panel; the arrows are light",
        LEADS
        + "M24 14H56V34H24Z M24 14L36 24L24 34"
        + "M30 1L34 10M34 10L30 8M34 10L36 6M42 1L46 10M46 10L42 8M46 10L48 6",
    ),
    "inverter": (
        "a box cut by a slanted line, two straight lines on one side, a wave on the other",
        "direct current goes in, alternating comes out",
        LEADS + "M24 4H56V36H24Z M24 36L56 4M28 11H36M28 15H36M44 28Q47 23 50 28T56 28",
    ),
    "charger or converter": (
        "the same box with the wave on the left",
        "alternating current goes in, direct comes out",
        LEADS + "M24 4H56V36H24Z M24 36L56 4M26 13Q29 8 32 13T38 13M44 26H52M44 30H52",
    ),
    "DC-DC charger": (
        "the same box with straight lines on both sides",
        "direct current goes in, direct current of another voltage comes out",
        LEADS + "M24 4H56V36H24Z M24 36L56 4M28 11H36M28 15H36M44 26H52M44 30H52",
    ),
    "diode": (
        "a triangle that points at a bar",
        "current passes only the way the triangle points",
        "M0 20H80M30 8L52 20L30 32ZM52 8V32",
    ),
    "shunt": (
        "a box with two thin taps below",
        "a small exact resistance by which current is measured",
        LEADS + "M24 12H56V28H24Z M30 28V38M50 28V38",
    ),
    "ammeter": (
        "a circle with an A",
        "measures current; the current flows through it",
        LEADS,
        ("circle", 40, 20, 16),
        ("text", 40, 26, "A"),
    ),
    "voltmeter": (
        "a circle with a V",
        "measures voltage between two points",
        LEADS,
        ("circle", 40, 20, 16),
        ("text", 40, 26, "V"),
    ),
    "transformer": (
        "two circles that overlap",
        "changes an alternating voltage, or only separates two circuits",
        "M0 20H18M62 20H80",
        ("circle", 33, 20, 15),
        ("circle", 47, 20, 15),
    ),
    "outlet": ("half a circle on a conductor", "an outlet", "M0 20H34M50 6A14 14 0 0 0 50 34M34 20H36"),
    "earth ground": (
        "three lines that grow shorter",
        "joined to the earth itself, as at a pedestal",
        "M40 2V18M24 18H56M30 25H50M36 32H44",
    ),
    "chassis": (
        "a line with slanted strokes below",
        "joined to the metal of the coach",
        "M40 2V20M24 20H56M28 20L22 32M40 20L34 32M52 20L46 32",
    ),
    "direct current": (
        "a straight line over a dashed one",
        "DC: flows one way",
        "M24 15H56",
        ("dashed", "M24 25H56"),
    ),
    "alternating current": ("a wave", "AC: changes direction 60 times a second", "M22 20Q31 4 40 20T58 20"),
}
SOURCE = "Symbols in the manner of IEC 60617 and IEEE 315 (from memory), drawn for this workbook"


def _svg(name, parts):
    drawn = ""
    for part in parts:
        if isinstance(part, str):
            drawn += f'<path d="{part}"/>'
        elif part[0] == "dot":
            drawn += f'<circle cx="{part[1]}" cy="{part[2]}" r="3.5" fill="currentColor"/>'
        elif part[0] == "circle":
            drawn += f'<circle cx="{part[1]}" cy="{part[2]}" r="{part[3]}"/>'
        elif part[0] == "text":
            place = f'x="{part[1]}" y="{part[2]}" text-anchor="middle" font-size="17"'
            drawn += f'<text {place} fill="currentColor" stroke="none">{part[3]}</text>'
        else:
            more = 'stroke-width="5"' if part[0] == "thick" else 'stroke-dasharray="5 3"'
            drawn += f'<path d="{part[1]}" {more}/>'
    return (
        f'<svg role="img" aria-label="{html.escape(name)}" viewBox="0 -1 80 42" width="84" height="44" '
        f'style="vertical-align:middle" fill="none" '
        f'stroke="currentColor" stroke-width="2" font-family="sans-serif">{drawn}</svg>'
    )


class SymbolKey:
    """A key to the symbols of one-line diagrams. Made by `symbol_key`."""

    def __str__(self):
        lines = [
            f"{name}: {shape}. {says[:1].upper()}{says[1:]}." for name, (shape, says, *_) in SYMBOLS.items()
        ]
        return "\n".join(["Symbols of a one-line diagram", *lines, f"{SOURCE}."])

    __repr__ = __str__
    source = SOURCE

    def rows(self):
        """Each symbol: its name, its picture as SVG, its shape in words, its meaning."""
        return [(name, _svg(name, parts), shape, says) for name, (shape, says, *parts) in SYMBOLS.items()]

    def html(self):
        """The key as a table: picture, name, shape in words, meaning."""
        rows = "".join(
            f'<tr><td style="padding-top:0;padding-bottom:0">{_svg(name, parts)}</td>'
            f'<th scope="row">{html.escape(name)}</th>'
            f"<td>{html.escape(shape)}</td><td>{html.escape(says)}</td></tr>\n"
            for name, (shape, says, *parts) in SYMBOLS.items()
        )
        head = "".join(
            f'<th scope="col">{heading}</th>' for heading in ("symbol", "name", "drawn as", "what it is")
        )
        caption = "Symbols of a one-line diagram"
        return (
            f'{STYLE}<div class="cw-table mathjax_ignore" role="region" tabindex="0" aria-label="{caption}">'
            f'<table class="cw"><caption>{caption}</caption><thead><tr>{head}</tr></thead>'
            f"<tbody>{rows}</tbody></table>"
            f"<p>{SOURCE}.</p></div>"
        )

    def _repr_mimebundle_(self, include=None, exclude=None):
        return {"text/html": self.html(), "text/plain": str(self)}


def symbol_key():
    """A key to the symbols of one-line diagrams, each drawn and in words."""
    return SymbolKey()
