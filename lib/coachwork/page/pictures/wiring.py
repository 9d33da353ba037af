"""Pictures of the wiring lesson: the stair of lost volts, how far each size goes, fault current along a
cable.
"""

import functools

import numpy

from coachwork import capacity, conductor, wiring
from coachwork.page.pictures import COLOURS, HATCHES, Picture
from coachwork.quantities import Q, display_system, floats, show

LONGEST = Q(30.0, "ft")
DISTANCE = Q(numpy.linspace(0, 20, 81), "ft")


def length_unit():
    """Unit of the page for lengths, and how it is written."""
    return ("ft", "ft") if display_system() == "US" else ("m", "m")


class DropStair(Picture):
    """Volts along a circuit as a stair: after the fuse, the joints, the way out and the way back."""

    title = "Where the volts go"
    parts = ("fuse", "joints", "way out", "way back")

    def __init__(self, voltage=Q(12.8, "V"), drop_class="critical"):
        self.voltage, self.drop_class = voltage, drop_class

    def build(self, fig):
        axes = fig.subplots()
        top = floats(self.voltage, "V")
        axes.set(xlim=(0, 6), ylim=(top - 1.0, top + 0.1), ylabel="Volts that are left")
        axes.set_xticks([0.5, 1.5, 2.5, 3.5, 4.5, 5.5], ["source", *self.parts, "load"])
        axes.grid(axis="x", visible=False)
        (self.line,) = axes.plot([], [], color=COLOURS["blue"], lw=2.5, label="volts left")
        share = wiring.allowed_drop(self.drop_class)
        self.floor = axes.axhline(top * (1 - share), color=COLOURS["vermilion"], ls="--", lw=1.6,
                                  label=f"lowest allowed, {share:.0%} lost")  # fmt: skip
        self.bars = axes.bar([1.5, 2.5, 3.5, 4.5], [0] * 4, width=0.7, color=COLOURS["orange"],
                             edgecolor="black",
                             hatch=HATCHES[1], label="volts lost in it")  # fmt: skip
        fig.legend(loc="outside lower center", ncols=3)
        self.axes = axes
        self.moving = [*self.bars, self.line, self.floor]

    def update(self, current, length, size, insulation, ambient):
        run = wiring.Run(Q(current, "A"), Q(length, "ft"), self.voltage, wiring.allowed_drop(self.drop_class),
                         insulation,
                         wiring.DEFAULT_RULE, Q(ambient, "degF"), device="class T fuse")  # fmt: skip
        fuse = wiring.device_for(run)
        steps, found = wiring.stair(size, run, fuse), wiring.fit(size, run, fuse)
        levels = [floats(self.voltage, "V"), *(floats(step.left, "V") for step in steps)]
        lost = levels[0] - levels[-1]
        self.limits(self.axes, y=(levels[0] - next((one for one in (1, 2, 4, 8, 13) if lost < 0.95 * one),
                                                   13), levels[0] + 0.1))
        for bar, step, before in zip(self.bars, steps, levels):
            bar.set_y(floats(step.left, "V"))
            bar.set_height(before - floats(step.left, "V"))
        stairs = [*levels, levels[-1]]
        self.line.set_data(numpy.repeat(numpy.arange(7), 2)[1:-1], numpy.repeat(stairs, 2))
        share = lost / levels[0]
        limit = wiring.allowed_drop(self.drop_class)
        words = (
            f"{size} AWG loses {show(Q(lost, 'V'))}, {share:.1%} of {show(self.voltage)}: "
            + (f"within the {limit:.0%}" if share <= limit else f"more than the {limit:.0%}")
            + " of a critical circuit. "
        )
        if found.temperature is None:
            words += f"And it gets hotter than {insulation} may be."
        elif "protection" in found.misses:
            words += f"Its {show(fuse)} fuse is too large for it: it carries {show(found.ampacity.usable)}."
        else:
            words += f"It runs at {show(found.temperature)} behind a {show(fuse)} fuse."
        told = ", ".join(f"{step.part} {show(step.lost)}" for step in steps)
        alt = f"A stair from {show(self.voltage)} down to {show(steps[-1].left)} at the load. Lost in it: {told}."
        return words, alt


class HowFar(Picture):
    """How far each size goes: bars by size; those that something else rules out are hatched; a line at the
    length.
    """

    title = "How far each size goes"
    size = (8, 5)

    def build(self, fig):
        unit, name = length_unit()
        axes = fig.subplots()
        self.far = floats(LONGEST, unit)
        sizes = wiring.SIZES
        axes.set(xlim=(0, self.far), ylim=(-0.7, len(sizes) - 0.3), xlabel=f"Longest run, one way, in {name}")
        axes.set_yticks(range(len(sizes)), [f"{size} AWG" for size in sizes])
        axes.grid(axis="y", visible=False)
        place = range(len(sizes))
        self.out = axes.barh(place, [1] * len(sizes), height=0.72, fc="white", ec="#555555", hatch="////")
        self.fits = axes.barh(place, [1] * len(sizes), height=0.72, fc=COLOURS["sky"], ec="black")
        self.best = axes.barh([0], [1], height=0.72, fc=COLOURS["green"], ec="black", hatch="..")
        self.line = axes.axvline(10, color="black", lw=2, ls="--")
        handles = [self.out[0], self.fits[0], self.best[0], self.line]
        labels = ["too thin at any length", "as far as its drop allows", "smallest that passes",
                  "length of the run"]
        fig.legend(handles, labels, loc="outside lower center", ncols=2)
        self.unit = unit
        self.moving = [*self.out, *self.fits, *self.best, self.line]

    def update(self, current, length, drop_class, insulation, ambient, bundled):
        run = wiring.Run(Q(current, "A"), Q(length, "ft"), drop=wiring.allowed_drop(drop_class),
                         marking=insulation,
                         ambient=Q(ambient, "degF"), conductors=bundled, device="class T fuse")  # fmt: skip
        reaches = {one.size: one for one in wiring.reaches(run)}
        for size, out, fits in zip(wiring.SIZES, self.out, self.fits):
            one = reaches.get(size)
            far = min(floats(one.longest, self.unit), self.far) if one else 0.0
            ruled_out = one is not None and bool(one.misses)
            out.set_width(self.far if ruled_out else 0.0)
            fits.set_width(0.0 if ruled_out else far)
        self.line.set_xdata([floats(run.length, self.unit)] * 2)
        fuse = wiring.device_for(run)
        asked = f"{show(run.current)} over {show(run.length)} asks for a {show(fuse)} fuse"
        best = next((one for one in reaches.values() if not one.misses and one.longest >= run.length), None)
        thin = [size for size, one in reaches.items() if one.misses]
        (bar,) = self.best
        if best is None:
            bar.set_width(0.0)
            words = (f"{asked}. No single wire passes: shorten it, raise the voltage, or use two of 1/0 or "
                     "larger in parallel.")
            alt = f"Bars by size. Hatched, too thin at any length: {', '.join(thin) or 'none'}."
            return words, f"{alt} None of {len(reaches)} passes."
        bar.set_y(wiring.SIZES.index(best.size) - 0.36)
        bar.set_width(min(floats(best.longest, self.unit), self.far))
        governed = ", ".join(wiring.governing(best.size, run, fuse))
        words = f"{asked}: {best.size} AWG, good for {show(best.longest)}. What governed: {governed}."
        alt = (
            f"Bars by size; hatched, too thin at any length: {', '.join(thin) or 'none'}. The others grow "
            f"longer with size; "
            f"the first beyond the line at {show(run.length)} is {best.size} AWG with {show(best.longest)}."
        )
        return words, alt


class FaultAlong(Picture):
    """Fault current against distance from the bank, between two bounds, with what devices can break."""

    title = "Fault current along a cable"
    size = (8, 5)
    devices = ("blade fuse", "panel breaker", "stud fuse", "class T fuse", "high-speed DC fuse")
    marking = wiring.NEW_INSULATION

    def __init__(self, arrangement):
        self.arrangement = arrangement

    @functools.cache
    def _bounds(self, modules):
        take_off = "bus bars" if modules > 2 else "diagonal"
        lead = capacity.lead_resistance(Q(1, "ft"), conductor.resistance_per_length("2/0", Q(20, "degC")),
                                        Q(0.1, "mohm"))
        bank = capacity.Arrangement(self.arrangement.module, self.arrangement.series, modules, take_off, lead)
        return wiring.highest_bound(bank), wiring.lowest_bound(bank), bank.charge_voltage

    def build(self, fig):
        unit, name = length_unit()
        axes = fig.subplots()
        axes.set(xlim=(0, floats(DISTANCE, unit)[-1]), yscale="log", ylim=(50, 100_000),
                 xlabel=f"Distance from the bank along the cable in {name}", ylabel="Fault current in A")
        axes.locator_params(axis="x", nbins=5, integer=True)
        axes.set_yticks([100, 1000, 10_000, 100_000], ["100", "1,000", "10,000", "100,000"])
        volts = self._bounds(1)[2]
        ratings = [floats(wiring.interrupt_rating(device, volts), "A") for device in self.devices]
        for rating in ratings:
            axes.axhline(rating, color="#555555", lw=1, ls=(0, (6, 3)))
        breaks = axes.secondary_yaxis("right")
        breaks.minorticks_off()
        breaks.set_yticks(ratings, [f"{device}, {rating / 1000:g} kA" for device,
                                    rating in zip(self.devices, ratings)])
        (self.high,) = axes.plot([], [], color=COLOURS["vermilion"], lw=2.4,
                                 label="largest: full, warm, all modules")
        (self.low,) = axes.plot([], [], color=COLOURS["blue"], lw=2.4, ls="-.",
                                label="smallest: one module, empty, cold, old")
        (self.dots,) = axes.plot([], [], "o", color="black", ms=8)
        self.line = axes.axvline(0, color="black", lw=1.4, ls=":")
        fig.legend(handles=[self.high, self.low], loc="outside lower center", ncols=2)
        self.x = floats(DISTANCE, unit)
        self.unit = unit
        self.moving = [self.line, self.high, self.low, self.dots]

    def update(self, modules, size, distance, fuse):
        most, least, volts = self._bounds(int(modules))
        hot = conductor.insulation(self.marking).dry
        high = wiring.fault_along(most, size, self.marking, wiring.COLD_COPPER, DISTANCE)
        low = wiring.fault_along(least, size, self.marking, hot, DISTANCE)
        self.high.set_data(self.x, floats(high, "A"))
        self.low.set_data(self.x, floats(low, "A"))
        at = Q(distance, "ft")
        large = wiring.fault_along(most, size, self.marking, wiring.COLD_COPPER, at)
        small = wiring.fault_along(least, size, self.marking, hot, at)
        self.line.set_xdata([floats(at, self.unit)] * 2)
        self.dots.set_data([floats(at, self.unit)] * 2, [floats(large, "A"), floats(small, "A")])
        told = ", ".join(f"{device} {show(wiring.interrupt_rating(device, volts))}" for device in self.devices)
        breaks = [device for device in self.devices if wiring.interrupt_rating(device, volts) >= large]
        seconds = wiring.family("class T fuse").opens_within(floats(small / Q(fuse, "A"), ""))
        opens = f"opens within {show(seconds)}" if numpy.isfinite(seconds.magnitude) else "never surely opens"
        words = (
            f"{show(at)} from the bank: at most {show(large)}"
            + (f", which a {breaks[0]} breaks" if breaks else ", more than any device here breaks")
            + f"; at least {show(small)}, at which a {fuse:g} A class T fuse {opens}."
        )
        alt = (
            f"Two falling curves on a logarithmic scale. With {modules:g} modules the largest fault falls "
            f"from {show(high[0])} at the "
            f"bank to {show(high[-1])}, the smallest from {show(low[0])} to {show(low[-1])}. Dots at {show(at)}: {show(large)} and "
            f"{show(small)}. Lines mark what devices break: {told}."
        )
        return words, alt
