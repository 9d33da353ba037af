"""Pictures of the cycle life lesson: capacity left as a band, cycles against depth, three users, a stored "
"bank."""

import functools

import numpy

from coachwork import cycle_life
from coachwork.page.pictures import COLOURS, HATCHES, Picture
from coachwork.quantities import Q, floats, show

TESTED = 3  # years: about as long as the tests of both published cells ran, from memory
CELL_NAMES = {cycle_life.LARGE: "large cell (250 Ah)", cycle_life.SMALL: "small cell (3 Ah)"}


def _both(year):
    return [cycle_life.fade(year, cell) for cell in CELL_NAMES]


class CapacityLeft(Picture):
    """Capacity left over twenty years: the band between both published cells, and how far it can be "
    "trusted."""

    title = "Capacity left: a band, not a line"
    ylim = (60, 100)

    def __init__(self, end_of_life=0.8):
        self.end = end_of_life

    def build(self, fig):
        axes = fig.subplots()
        axes.set(xlim=(0, cycle_life.HORIZON), ylim=self.ylim, xticks=range(0, cycle_life.HORIZON + 1, 2))
        axes.set(xlabel="Years", ylabel="Capacity left in %")
        axes.axvspan(TESTED, cycle_life.HORIZON, color="#eeeeee", lw=0, zorder=0)
        axes.text(TESTED / 2, 61, "tested", ha="center")
        axes.text(TESTED + 0.3, 61, "forecast: no test ran so long", ha="left")
        axes.axhline(100 * self.end, color="#222222", ls="--", lw=1.2)
        axes.text(0.15, 100 * self.end - 2, "end of life", ha="left")
        years = cycle_life.fade(cycle_life.year_of_use(0, 0, Q(25, "degC")), cycle_life.LARGE).years
        self.band = axes.fill_between(
            years, 90, 95, facecolor=COLOURS["sky"] + "80", edgecolor="#444444", lw=0
        )
        self.lines = [
            axes.plot(years, years, style, color=COLOURS[colour], label=CELL_NAMES[cell])[0]
            for cell, style, colour in zip(CELL_NAMES, ("-", "--"), ("blue", "vermilion"))
        ]
        fig.legend(handles=self.lines, loc="outside lower center", ncols=2)
        self.moving = [self.band, *self.lines]

    def update(self, depth, temperature, cycles, weeks):
        year = cycle_life.year_of_use(cycles, depth / 100, Q(temperature, "degF"), weeks)
        fades = _both(year)
        left = [100 * fade.left for fade in fades]
        for line, values in zip(self.lines, left):
            line.set_ydata(values)
        self.band.set_data(fades[0].years, numpy.minimum(*left), numpy.maximum(*left))
        outside = {cell: " and ".join(found) for cell in CELL_NAMES if (found := year.outside(cell))}
        self.band.set_hatch("//" if outside else "")
        band = cycle_life.band(fades, self.end)
        ten = sorted(float(numpy.interp(10, fade.years, values)) for fade, values in zip(fades, left))
        words = f"{self.end:.0%} is left after {band}; after 10 years {ten[0]:.0f} to {ten[1]:.0f} %. "
        told = "; ".join(f"{cell} cell {found}" for cell, found in outside.items())
        words += f"Outside what was tested: {told}." if outside else "Depth and warmth as they were tested."
        alt = (
            f"Two falling curves over 20 years with the band between them: after 10 years {ten[0]:.0f} to "
            f"{ten[1]:.0f} %, "
            f"at the end-of-life line of {self.end:.0%} after {band}. From year {TESTED} on the ground is "
            f"grey: forecast. "
            + (
                "The band is hatched: outside the tested range."
                if outside
                else "The band is plain: inside the tested range."
            )
        )
        return words, alt


class CyclesAgainstDepth(Picture):
    """Cycles to the end of life against depth, on a log axis: by use alone, and as many as there is time "
    "for."""

    title = "How many cycles, against how deep"
    depths = (0.5, 0.6, 0.7, 0.8, 0.9, 1.0)

    def build(self, fig):
        axes = fig.subplots()
        axes.set(
            xlim=(10, 100),
            ylim=(100, 100_000),
            yscale="log",
            xlabel="Depth of each cycle in %",
            ylabel="Cycles to the end of life",
        )
        axes.set_yticks([100, 1000, 10_000, 100_000], ["100", "1,000", "10,000", "100,000"])
        axes.grid(which="minor", axis="y", color="#eeeeee", lw=0.6)
        depths = numpy.linspace(0.1, 1, 37)
        handles, self.told = [], []
        for name, colour, hatch in (
            ("AGM", "purple", HATCHES[2]),
            ("flooded lead-acid", "orange", HATCHES[3]),
        ):
            bands = [cycle_life.cycles_to_failure(name, depth) for depth in depths]
            handles.append(
                axes.fill_between(
                    100 * depths,
                    [band.low for band in bands],
                    [band.high for band in bands],
                    facecolor=COLOURS[colour],
                    alpha=0.4,
                    hatch=hatch,
                    edgecolor="#333333",
                    lw=0.6,
                    label=f"{name} (from memory)",
                )
            )
            half = cycle_life.cycles_to_failure(name, 0.5)
            self.told.append(f"{name} {half.low:,.0f} to {half.high:,.0f}")
        lithium = numpy.array(self.depths)
        cycles = [cycle_life.lithium_cycles(depth, Q(77, "degF")) for depth in self.depths]
        use, real = (
            numpy.array([[getattr(one, kind).low, getattr(one, kind).high] for one in cycles]).T
            for kind in ("by_use", "in_time")
        )
        handles.append(
            axes.fill_between(
                100 * lithium,
                *use,
                facecolor="none",
                hatch=HATCHES[1],
                edgecolor="#333333",
                lw=0.6,
                label="lithium, use alone",
            )
        )
        handles.append(
            axes.fill_between(
                100 * lithium,
                *real,
                facecolor=COLOURS["blue"],
                alpha=0.55,
                edgecolor="black",
                lw=0.6,
                label="lithium, one a day",
            )
        )
        at = self.depths.index(0.8)
        self.use, self.real = use[:, at], real[:, at]
        fig.legend(handles=handles, loc="outside lower center", ncols=2)

    def update(self):
        words = (
            f"At 80 % depth and {show(Q(77, 'degF'))} use alone would allow lithium {self.use[0]:,.0f} to "
            f"{self.use[1]:,.0f} cycles. One a day, with the calendar counted too, there is time for "
            f"{self.real[0]:,.0f} to {self.real[1]:,.0f}; counting stops at {cycle_life.HORIZON} years."
        )
        alt = (
            "Four bands of cycles against depth on a logarithmic axis, all falling to the right. At 50 % "
            "depth: "
            f"{', '.join(self.told)}. Lithium at 80 % depth and {show(Q(77, 'degF'))}: {self.use[0]:,.0f} to "
            f"{self.use[1]:,.0f} by use alone, {self.real[0]:,.0f} to {self.real[1]:,.0f} at one a day with "
            "the calendar counted, twenty years at most."
        )
        return words, alt


USERS = {
    "weekender": dict(cycles_per_week=2, depth_of_discharge=0.6, use_temperature=Q(68, "degF")),
    "full-timer": dict(cycles_per_week=7, depth_of_discharge=0.6, use_temperature=Q(77, "degF")),
    "seasonal": dict(
        cycles_per_week=7,
        depth_of_discharge=0.6,
        use_temperature=Q(77, "degF"),
        weeks_in_use=17,
        storage_temperature=Q(50, "degF"),
        storage_charge=0.5,
    ),
}


class WhatTakesIt(Picture):
    """What the calendar and what use has taken from three users' banks, one pair of bars for each."""

    title = "What takes the capacity of three users"

    def build(self, fig):
        self.fades = {name: _both(cycle_life.year_of_use(**use)) for name, use in USERS.items()}
        axes = fig.subplots()
        places = [3 * user + cell for user in range(3) for cell in range(2)]
        axes.set(xlim=(-0.8, 7.8), ylim=(0, 32), ylabel="Capacity lost in %")
        axes.set_xticks(places, ["large\ncell", "small\ncell"] * 3)
        for user, name in enumerate(USERS):
            axes.text(3 * user + 0.5, 29.5, name, ha="center", weight="bold")
        axes.grid(axis="x", visible=False)
        style = dict(width=0.8, edgecolor="black")
        self.calendar = axes.bar(
            places, [1] * 6, color=COLOURS["orange"], hatch=HATCHES[1], label="by the calendar", **style
        )
        self.cycle = axes.bar(places, [1] * 6, color=COLOURS["blue"], label="by use", **style)
        fig.legend(handles=[self.calendar, self.cycle], loc="outside lower center", ncols=2)
        self.moving = [*self.calendar, *self.cycle]

    def update(self, years):
        told = []
        bars = iter(zip(self.calendar, self.cycle))
        for name, fades in self.fades.items():
            for fade in fades:
                lower, upper = next(bars)
                calendar, cycle, _ = fade.at(Q(365 * years, "day"))
                lower.set_height(100 * calendar)
                upper.set_y(100 * calendar)
                upper.set_height(100 * cycle)
                told.append((name, fade.cell, calendar, cycle))
        shares = {name: [one[2] / (one[2] + one[3]) for one in told if one[0] == name] for name in USERS}
        words = (
            f"After {years:g} year{'s' * (years != 1)} the calendar's share of the loss: "
            + ", ".join(f"{name} {min(both):.0%} to {max(both):.0%}" for name, both in shares.items())
            + "."
        )
        alt = (
            f"Stacked bars after {years:g} year{'s' * (years != 1)}, calendar below and use above: "
            + "; ".join(
                f"{name}, {cell} cell {100 * calendar:.1f} and {100 * cycle:.1f} %"
                for name, cell, calendar, cycle in told
            )
            + "."
        )
        return words, alt


class StoredBank(Picture):
    """A bank put away: its charge month by month, and what ten such winters take from it."""

    title = "A bank put away for the winter"

    def __init__(self, capacity, self_discharge, lowest=cycle_life.LOWEST_CHARGE):
        self.capacity, self.self_discharge, self.lowest = capacity, self_discharge, lowest

    def build(self, fig):
        level, bars = fig.subplots(1, 2, width_ratios=(1.35, 1))
        level.set(
            xlim=(0, 12),
            ylim=(0, 100),
            xticks=range(0, 13, 2),
            xlabel="Months put away",
            ylabel="State of charge in %",
        )
        level.axhspan(0, 100 * self.lowest, color="#f3d5c9", lw=0, zorder=0)
        level.text(11.8, 100 * self.lowest / 2, "protection opens", va="center", ha="right")
        (self.line,) = level.plot([], [], "-", color=COLOURS["blue"])
        self.end = level.axvline(6, color="#222222", ls=":", lw=1.4)
        (self.mark,) = level.plot([0], [0], "o", color="black")
        bars.set(xlim=(-0.7, 4.2), ylim=(0, 30), ylabel="Lost in 10 years in %")
        bars.set_xticks([0, 1, 2.5, 3.5], ["large\ncell", "small\ncell"] * 2)
        bars.text(0.5, 31, "as set", ha="center", weight="bold")
        bars.text(3, 31, f"half, {show(Q(50, 'degF'))}", ha="center", weight="bold")
        bars.grid(axis="x", visible=False)
        colours = [COLOURS["orange"]] * 2 + [COLOURS["green"]] * 2
        self.lost = bars.bar([0, 1, 2.5, 3.5], [1] * 4, width=0.8, color=colours, edgecolor="black")
        for bar, hatch in zip(self.lost, (HATCHES[1], HATCHES[1], "", "")):
            bar.set_hatch(hatch)
        self.moving = [self.line, self.end, self.mark, *self.lost]

    @staticmethod
    @functools.lru_cache(maxsize=64)
    def _ten_years(months, charge, temperature):
        """Loss of each cell in ten years, in %: a cycle a day of 60 % at 77 °F, put away for so many "
        "months of each."""
        weeks = 52 - round(months * 52 / 12)
        year = cycle_life.year_of_use(7, 0.6, Q(77, "degF"), weeks, Q(temperature, "degF"), charge / 100)
        return [100 * (1 - fade.at(Q(3650, "day"))[2]) for fade in _both(year)]

    def update(self, charge, months, temperature, draw):
        bank = dict(
            capacity=self.capacity, standing_current=Q(draw, "mA"), self_discharge=self.self_discharge
        )
        months_to = numpy.linspace(0, 12, 49)
        levels = cycle_life.charge_in_storage(state_of_charge=charge / 100, age=Q(months_to, "month"), **bank)
        self.line.set_data(months_to, 100 * levels)
        lasts = floats(
            cycle_life.time_to_cut_off(state_of_charge=charge / 100, lowest_charge=self.lowest, **bank),
            "month",
        )
        self.end.set_xdata([months, months])
        left = float(numpy.interp(months, months_to, levels))
        self.mark.set_data([months], [100 * left])
        losses = self._ten_years(months, charge, temperature) + self._ten_years(months, 50, 50)
        for bar, value in zip(self.lost, losses):
            bar.set_height(value)
        enough = (
            f"After {months:g} month{'s' * (months != 1)} {100 * left:.0f} % is left"
            if lasts >= months
            else f"Its protection opens after {lasts:.1f} months"
        )
        words = (
            f"{enough}. Ten such years take {min(losses[:2]):.0f} to {max(losses[:2]):.0f} % of its "
            f"capacity; put away half full at "
            f"{show(Q(50, 'degF'))}: {min(losses[2:]):.0f} to {max(losses[2:]):.0f} %."
        )
        alt = (
            f"Left, state of charge falling from {charge:g} % over twelve months; it meets the zone where "
            f"protection opens "
            f"after {lasts:.1f} months; a line marks month {months:g}. Right, capacity lost in ten years: "
            f"as set "
            f"{losses[0]:.1f} and {losses[1]:.1f} %, put away half full and cool {losses[2]:.1f} and "
            f"{losses[3]:.1f} %."
        )
        return words, alt
