"""Pictures of the cooling lesson: the day's heat by where it comes in, and a unit and a bank through two nights."""

import numpy

from coachwork import cooling_load, room
from coachwork.page.pictures import COLOURS, Picture
from coachwork.quantities import Q, show

HOURS = numpy.repeat(numpy.arange(25), 2)[1:-1]
SHORT = ("roof", "walls", "floor", "glass, warmth", "glass, sun", "leaks", "people, devices")
INK = ("orange", "vermilion", "green", "sky", "yellow", "blue", "purple")
HATCHES = ("", "//", "", "..", "", "\\\\", "")  # beside every plain one a hatched one: each costs a millisecond to draw
COVERS = {"as in the coach file": (None,), "no covers": (1.0,), "reflecting, inside (15 %)": (0.15, "inside"),
          "shade, outside (15 %)": (0.15, "outside")}  # fmt: skip
TOPS = (1000, 1500, 2000, 3000, 5000, 10_000)
BOTTOMS = (300, 700, 1500, 5000)
SET_POINTS = numpy.arange(66, 86, 2)


def _top(value, steps=TOPS):
    return next(top for top in steps if value <= 0.97 * top or top == steps[-1])


class DayOfGains(Picture):
    """The design day with the air held at the set point: heat by group on top of each other, and the day's sum of each."""

    title = "Where the heat comes in"
    size = (8.6, 4.4)

    def __init__(self, coach):
        self.coach = coach

    def build(self, fig):
        from matplotlib.patches import Polygon

        day, bars = fig.subplots(1, 2, width_ratios=(1.9, 1))
        day.set(xlim=(0, 24), xticks=range(0, 25, 4), ylim=(-500, 2000), xlabel="Hour of the day", ylabel="Heat into the air in W")
        day.set_title("The design day")
        corners = numpy.zeros((96, 2))
        self.areas = [day.add_patch(Polygon(corners, fc=COLOURS[ink], ec="black", lw=0.5, hatch=hatch))
                      for ink, hatch in zip(INK, HATCHES)]  # fmt: skip
        (self.total,) = day.plot(HOURS, numpy.zeros(48), color="black", lw=2.5, label="all together")
        (self.can,) = day.plot(HOURS, numpy.zeros(48), color="black", lw=2, ls="--", label="the unit can take out")
        bars.set(xlim=(-3, 9), ylim=(6.6, -0.6), xlabel="Heat in a day in kWh")
        bars.set_yticks(range(7), SHORT)
        bars.grid(axis="y", visible=False)
        bars.axvline(0, color="black", lw=1)
        self.bars = bars.barh(range(7), [1.0] * 7, height=0.7, color=[COLOURS[ink] for ink in INK], edgecolor="black")
        for bar, hatch in zip(self.bars, HATCHES):
            bar.set_hatch(hatch)
        fig.legend(handles=[self.total, self.can], loc="outside lower center", ncols=2)
        self.day = day
        self.moving = [*self.areas, self.total, self.can, *self.bars]

    def update(self, heading, skin, cover, set_point, people):
        coach = cooling_load.changed(
            self.coach, *COVERS[cover], heading=Q(heading, "deg"), skin=skin / 100, cool_to=Q(set_point, "degF"), people=people
        )
        groups = numpy.array(list(cooling_load.gains(coach).values()))
        can, total, sums = cooling_load.sensible_capacity(coach), groups.sum(axis=0), groups.sum(axis=1) / 1000
        above, below = numpy.zeros(24), numpy.zeros(24)
        for area, watts in zip(self.areas, groups):
            base = numpy.where(watts >= 0, above, below)
            edge = numpy.concatenate([numpy.repeat(base, 2), numpy.repeat(base + watts, 2)[::-1]])
            area.set_xy(numpy.column_stack([numpy.concatenate([HOURS, HOURS[::-1]]), edge]))
            above, below = above + numpy.maximum(watts, 0), below + numpy.minimum(watts, 0)
        self.total.set_ydata(numpy.repeat(total, 2))
        self.can.set_ydata(numpy.repeat(can, 2))
        self.limits(self.day, y=(-_top(-below.min(), BOTTOMS), _top(max(above.max(), can.max()))))
        for bar, kilowatt_hours in zip(self.bars, sums):
            bar.set_width(kilowatt_hours)
        worst, most = int(total.argmax()), int(sums.argmax())
        short = int((total > can).sum())
        words = (
            f"Most heat at {worst}:30, {show(Q(total[worst], 'W'))} sensible; the unit can take out {show(Q(can[worst], 'W'))} then. "
            f"In the day {show(Q(total.sum() / 1000, 'kWh'))} net; the largest part: {room.GROUPS[most]}. "
            + (f"In {short} hours more comes in than it can take out." if short else "It can take out all of it.")
        )
        told = "; ".join(f"{name} {show(Q(round(value, 1), 'kWh'))}" for name, value in zip(SHORT, sums))
        alt = (
            f"Left, heat by groups on top of each other over 24 hours; all together goes from {show(Q(total.min(), 'W'))} to "
            f"{show(Q(total.max(), 'W'))} at {worst}:30. A dashed line, {show(Q(can.min(), 'W'))} to {show(Q(can.max(), 'W'))}, is what "
            f"the unit can take out. Right, seven bars for the day: {told}."
        )
        return words, alt


class NightsOnTheBank(Picture):
    """Above, the night's energy against the set point for two units; below, what is left in the bank over two days."""

    title = "A unit and a bank through two nights"
    size = (8.2, 5.8)

    def __init__(self, coach):
        self.coach, self.around = coach, cooling_load.beside(coach)
        self.units = {one.name.split(",")[0]: one for one in cooling_load.on_offer()}
        self.shown = list(self.units)[:2]

    def build(self, fig):
        above, below = fig.subplots(2, 1, height_ratios=(1, 1.15))
        above.set(xlim=(65, 85), xticks=SET_POINTS, xlabel="Set point in °F", ylabel="Night in Wh\nat the battery")
        most, curves = 0.0, []
        for name, ink, style, mark in zip(self.shown, ("vermilion", "blue"), ("--", "-"), ("s", "o")):
            found = [self._carried(name, degrees).night_energy for degrees in SET_POINTS]
            most = max(most, *found)
            curves += above.plot(SET_POINTS, found, color=COLOURS[ink], ls=style, marker=mark, ms=4, lw=2, label=name)
        above.set(ylim=(0, 1.15 * max(most, 100)))
        (self.here,) = above.plot([76], [0], "D", color="black", ms=9, label="as set")
        first = self.around.first
        below.set(xlim=(0, 48), ylim=(-4, 104), yticks=(0, 50, 100), ylabel="Left in %\nof usable",
                  xlabel="Hours from the evening of the first night")  # fmt: skip
        below.set_xticks(range(0, 49, 6), [f"{at}\n{(first + at) % 24}:00" for at in range(0, 49, 6)])
        hours = numpy.flatnonzero(numpy.roll(self.around.dark, -first))
        for start in (0, 24):
            dark = below.axvspan(start + hours[0], start + hours[-1] + 1, color="#e8e8ee", label="dark")
        (self.level,) = below.plot(numpy.arange(49), numpy.zeros(49), color=COLOURS["green"], lw=2.5, label="left in the bank")
        (self.empty,) = below.plot([], [], "s", color=COLOURS["vermilion"], ms=5, label="empty: something goes without")
        fig.legend(handles=[*curves, self.here, dark, self.level, self.empty], loc="outside lower center", ncols=2)
        self.moving = [self.here, self.level, self.empty]

    def _carried(self, unit, set_point, share=1.0, sun=True):
        coach = cooling_load.changed(self.coach, cool_to=Q(float(set_point), "degF"))
        found = cooling_load.cool(coach, self.units[unit], design_day=True)
        return cooling_load.carried(self.around, cooling_load.battery_watts(coach, found), share, sun)

    def update(self, unit, set_point, bank, sun):
        found = self._carried(unit, set_point, bank / 100, sun == "shines")
        night = found.night_energy
        left = 100 * numpy.concatenate([[1.0], found.run.stored / found.usable])
        self.here.set_data([set_point], [night])
        self.level.set_ydata(left)
        dry = numpy.flatnonzero(found.run.missing > 1e-9)
        self.empty.set_data(dry + 1, numpy.zeros(len(dry)))
        lasts = "carries both nights" if found.lasts else f"is at its floor after {show(Q(found.hours, 'h'))}"
        words = (
            f"The night takes {show(Q(night, 'Wh'))} at the battery for cooling. A bank of {show(Q(found.usable, 'Wh'))} usable, with "
            f"all other loads, {lasts}: {found.at_sunrise:.0%} left at the first sunrise, {found.at_sunset:.0%} the next evening."
        )
        alt = (
            f"Above, the night's energy falls as the set point rises, for two units; a diamond at {set_point:g} °F and "
            f"{show(Q(night, 'Wh'))}. Below, a line of what is left in the bank over 48 hours: full in the evening, {100 * found.at_sunrise:.0f} % at "
            f"sunrise, {left[24]:.0f} % the next evening, {left[48]:.0f} % at the end; empty in {len(dry)} hours."
        )
        return words, alt
