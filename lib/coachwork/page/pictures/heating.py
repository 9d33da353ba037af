"""Pictures of the heating lesson: a cold night with the heater's duty, where a box loses heat, a summer day."""

import numpy

from coachwork import heating
from coachwork.page.pictures import COLOURS, Picture
from coachwork.quantities import Q, display_system, floats, show

VENTS = ("closed", "NEC 552.10(D)")
SUNS = ("shade", "sun on the door")


def _unit():
    """Unit of a temperature axis, and its sign."""
    return ("degF", "°F") if display_system() == "US" else ("degC", "°C")


def _shown(celsius):
    """Temperatures in °C as the axis shows them."""
    return numpy.asarray(celsius) * 1.8 + 32 if display_system() == "US" else numpy.asarray(celsius)


class ColdNight(Picture):
    """A battery box from 15:00 to 15:00: air and cells above, the heater's watts below."""

    title = "A cold night in the battery box"
    size = (8, 5.2)

    def __init__(self, coach):
        self.coach, self.usable = coach, heating.study(coach).usable

    def build(self, fig):
        above, below = fig.subplots(2, 1, sharex=True, height_ratios=(2.6, 1))
        hours = heating.night_hours()
        low, high = _shown(-40), _shown(27)
        above.set(xlim=(15, 39), ylim=(low, high), ylabel=f"Temperature in {_unit()[1]}")
        frost = above.axhline(_shown(0), color="black", lw=1, ls=":", label="no charge below")
        nothing = numpy.zeros(len(hours))
        (self.outside,) = above.plot(hours, nothing, color=COLOURS["sky"], ls="-.", lw=2, label="outside")
        (self.air,) = above.plot(hours, nothing, color=COLOURS["orange"], ls="--", lw=1.5, label="air in the box")
        (self.cells,) = above.plot(hours, nothing, color=COLOURS["blue"], lw=3, label="cells")
        below.set(ylim=(0, 160), yticks=(0, 50, 100, 150), ylabel="Heater\nin W", xlabel="Hour of the clock")
        below.set_xticks(range(15, 40, 3), [str(hour % 24) for hour in range(15, 40, 3)])
        (self.heater,) = below.plot(hours, nothing, color=COLOURS["vermilion"], lw=1, label="heater")
        fig.legend(handles=[self.outside, self.air, self.cells, frost, self.heater], loc="outside lower center", ncols=3)
        self.moving = [self.outside, self.air, self.cells, self.heater]

    def update(self, thickness, heater, coldest, vents):
        box = heating.insulated(self.coach, Q(thickness, "inch"))
        if vents != VENTS[0]:
            box = heating.with_code_vents(box)
        night = heating.cold_night(box, Q(coldest, "degF"), Q(heater, "W"), Q(40, "degF"), Q(44, "degF"), Q(32, "degF"))
        for line, values in ((self.outside, night.outside), (self.air, night.air), (self.cells, night.cells)):
            line.set_ydata(_shown(values))
        self.heater.set_ydata(night.heater)
        share = floats(night.energy / self.usable, "")
        words = (
            f"The cells fall to {show(night.lowest)} while the air outside falls to {show(Q(coldest, 'degF'))}. The heater runs "
            f"{night.duty:.0%} of the time: {show(night.energy)}, {share:.0%} of the usable bank. Charging: {night.charging}."
        )
        alt = (
            f"Lines from three in the afternoon to three the next. Outside falls to {show(Q(coldest, 'degF'))} at six; air in the box "
            f"swings about the cells, which lag and fall to {show(night.lowest)}. Below, the heater at 0 or {heater:g} W, on "
            f"{night.duty:.0%} of the time."
        )
        return words, alt


class WhereHeatGoes(Picture):
    """The parts of a battery box by the heat that each loses in the coldest hour."""

    title = "Where the box loses its heat"
    size = (8, 3.2)

    def __init__(self, coach):
        self.losses = heating.losses_of(coach)

    def build(self, fig):
        axes = fig.subplots()
        names, watts = list(self.losses), list(self.losses.values())
        extra = [name == heating.CODE_VENTS for name in names]
        bars = axes.barh(range(len(names)), watts, color=["white" if one else COLOURS["blue"] for one in extra], edgecolor="black",
                         height=0.7)  # fmt: skip
        for bar, one in zip(bars, extra):
            bar.set_hatch("//" if one else "")
        axes.bar_label(bars, labels=[f"{value:.1f}" for value in watts], padding=4)
        axes.set_yticks(range(len(names)), [name.replace(", were", ",\nwere") for name in names])
        axes.invert_yaxis()
        axes.grid(axis="y", visible=False)
        axes.set(xlabel="Heat lost at the set point in the coldest hour in W", xlim=(0, max(1.0, 1.15 * max(watts))))

    def update(self):
        walls = {name: value for name, value in self.losses.items() if name != heating.CODE_VENTS}
        words = f"{show(Q(sum(walls.values()), 'W'))} in all" + (
            f"; the vents that a rule may ask for would add {show(Q(self.losses[heating.CODE_VENTS], 'W'))}."
            if heating.CODE_VENTS in self.losses else ", vents among them."
        )  # fmt: skip
        return words, "Bars: " + ", ".join(f"{name} {value:.1f} W" for name, value in self.losses.items()) + "."


class HotDay(Picture):
    """A battery box through a hot day, with the fan and without."""

    title = "A hot day in the battery box"
    size = (8, 4.8)

    def __init__(self, coach):
        self.box, self.gain, self.highest = heating.box_of(coach), heating.sun_gain_of(coach), heating.study(coach).plan.highest

    def build(self, fig):
        axes = fig.subplots()
        hours = heating.day_hours()
        axes.set(xlim=(0, 24), xticks=range(0, 25, 3), ylim=(_shown(10), _shown(85)), xlabel="Hour of the day",
                 ylabel=f"Temperature in {_unit()[1]}")  # fmt: skip
        limit = axes.axhline(_shown(floats(self.highest, "degC")), color="black", lw=1, ls=":", label="warmest wished for")
        nothing = numpy.zeros(len(hours))
        (self.outside,) = axes.plot(hours, nothing, color=COLOURS["sky"], ls="-.", lw=2, label="outside")
        (self.still,) = axes.plot(hours, nothing, color=COLOURS["vermilion"], ls="--", lw=2.5, label="cells, no fan")
        (self.air,) = axes.plot(hours, nothing, color=COLOURS["orange"], ls=":", lw=2, label="air, fan")
        (self.cells,) = axes.plot(hours, nothing, color=COLOURS["blue"], lw=3, label="cells, fan")
        fig.legend(handles=[self.outside, self.still, self.air, self.cells, limit], loc="outside lower center", ncols=3)
        self.moving = [self.outside, self.still, self.air, self.cells]

    def update(self, waste, fan, warmest, sun):
        gain = self.gain if sun == SUNS[1] else Q(0.0, "m**2")
        still, fanned = (heating.summer_day(self.box, Q(warmest, "degF"), Q(waste, "W"), gain, Q(flow, "cfm"), Q(86, "degF"))
                         for flow in (0.0, fan))  # fmt: skip
        for line, values in ((self.outside, still.outside), (self.still, still.cells), (self.air, fanned.air), (self.cells, fanned.cells)):
            line.set_ydata(_shown(values))
        words = (
            f"Without a fan the cells reach {show(still.highest)}; with {show(Q(fan, 'cfm'))} they reach {show(fanned.highest)}, and the fan "
            f"runs {show(fanned.fan_hours)}. Their mean over the day: {show(still.mean)} and {show(fanned.mean)}."
        )
        alt = (
            f"Lines over a day. Outside peaks at {show(Q(warmest, 'degF'))} in the afternoon. Cells without a fan run high, up to {show(still.highest)}, "
            f"{show(still.mean)} on the mean; with the fan the cells stay at {show(fanned.mean)} on the mean, up to {show(fanned.highest)}, "
            f"and the air swings close to outside."
        )
        return words, alt
