"""Pictures of the sun lesson: sun by month against the need, a week of sun, load and charge, a string in the cold."""

import numpy

from coachwork import sun, weather
from coachwork.page.pictures import COLOURS, HATCHES, Picture
from coachwork.quantities import Q, floats, show

SHORT = [name[:3] for name in weather.MONTHS]
SCALE = (500, 1000, 2000, 3000, 5000, 7500, 10_000, 15_000, 20_000, 30_000, 50_000, 100_000)


def _scale(value):
    """The next round number above: limits that move in a few steps keep most moves quick and comparable."""
    return next((top for top in SCALE if value <= 0.97 * top), value * 1.1)


class MonthsAgainstNeed(Picture):
    """A mean day of each month: what reaches the bank, and what the coach takes."""

    title = "Sun by month against the need"

    def __init__(self, coach):
        found = sun.study(coach)
        self.need = weather.by_month(found.load)
        self.losses = found.array.losses

    def build(self, fig):
        axes = fig.subplots()
        axes.set(xlim=(-0.6, 11.6), ylim=(0, 5000), ylabel="Energy of a mean day in Wh")
        axes.set_xticks(range(12), SHORT)
        axes.grid(axis="x", visible=False)
        self.bars = axes.bar(range(12), [1] * 12, width=0.7, color=COLOURS["orange"], edgecolor="black")
        (self.chosen,) = axes.bar([0], [1], width=0.7, color=COLOURS["vermilion"], edgecolor="black", hatch=HATCHES[1])
        (self.line,) = axes.plot(numpy.repeat(numpy.arange(13) - 0.5, 2)[1:-1], numpy.zeros(24), color="black", lw=2, ls="--")
        names = ["reaches the bank", "month asked for", "taken, with margin"]
        fig.legend([self.bars, self.chosen, self.line], names, loc="outside lower center", ncols=3)
        self.axes = axes
        self.moving = [*self.bars, self.chosen, self.line]

    def update(self, watts, tilt, place, month):
        charge = weather.by_month(sun.charge_by_hours(place, Q(watts, "W"), Q(tilt, "deg"), sun.SOUTH, self.losses))
        at = round(month) - 1
        self.limits(self.axes, y=(0, _scale(max(charge.max(), self.need.max()))))
        for bar, value in zip(self.bars, charge):
            bar.set_height(value)
        self.chosen.set_x(at - 0.35)
        self.chosen.set_height(charge[at])
        self.line.set_ydata(numpy.repeat(self.need, 2))
        hours = floats(weather.peak_sun_hours(place, at + 1, Q(tilt, "deg")), "h")
        share = charge / self.need
        worst = int(share.argmin())
        words = (
            f"{weather.MONTHS[at]} in {place}: {hours:.2f} peak sun hours, {show(Q(charge[at], 'Wh'))} a day reach the bank, "
            f"{share[at]:.0%} of the {show(Q(self.need[at], 'Wh'))} that the coach takes. "
            f"Worst month: {weather.MONTHS[worst]}, {share[worst]:.0%}."
        )
        enough = [name for name, part in zip(SHORT, share) if part >= 1]
        alt = (
            f"Twelve bars for {show(Q(watts, 'W'))} at {tilt:g} degrees in {place}, from {show(Q(charge.min(), 'Wh'))} in "
            f"{weather.MONTHS[int(charge.argmin())]} to {show(Q(charge.max(), 'Wh'))} in {weather.MONTHS[int(charge.argmax())]}. "
            f"A dashed line shows the need, {show(Q(self.need.min(), 'Wh'))} to {show(Q(self.need.max(), 'Wh'))}. "
            f"Bars reach it in {', '.join(enough) or 'no month'}. Hatched: {weather.MONTHS[at]}, {show(Q(charge[at], 'Wh'))}."
        )
        return words, alt


class WeekOfSun(Picture):
    """Seven days: sun and load above, what is left in the bank below."""

    title = "A week of sun, load and charge"

    def __init__(self, coach):
        self.found = sun.study(coach)
        self.place = self.found.year.name

    def build(self, fig):
        power, bank = fig.subplots(2, 1, sharex=True, height_ratios=(3, 2))
        hours = numpy.repeat(numpy.arange(169), 2)[1:-1]
        for axes in (power, bank):
            axes.set(xlim=(0, 168), xticks=range(0, 169, 24))
        (self.sun,) = power.plot(hours, numpy.zeros(336), color=COLOURS["orange"], lw=2, label="sun into the bank")
        (self.load,) = power.plot(hours, numpy.zeros(336), color=COLOURS["blue"], lw=1.5, ls="--", label="load")
        power.set(ylim=(0, 1000), ylabel="Power in W")
        (self.level,) = bank.plot(numpy.arange(1, 169), numpy.zeros(168), color=COLOURS["green"], lw=2,
                                  label="left in the bank")  # fmt: skip
        (self.empty,) = bank.plot([], [], "s", color=COLOURS["vermilion"], ms=4, label="empty: another source must help")
        bank.set(ylim=(-4, 104), yticks=(0, 50, 100), ylabel="Left in %\nof usable", xlabel="Hours from midnight of the first day")
        fig.legend(handles=[self.sun, self.load, self.level, self.empty], loc="outside lower center", ncols=2)
        self.axes = power
        self.moving = [self.sun, self.load, self.level, self.empty]

    def update(self, watts, tilt, month, which):
        found = self.found
        charge = sun.charge_by_hours(self.place, Q(watts, "W"), Q(tilt, "deg"), sun.SOUTH, found.array.losses)
        usable = floats(found.usable, "Wh")
        one = sun.week(found.load, charge, usable, found.stored_share, round(month), which)
        self.limits(self.axes, y=(0, _scale(max(one.charge.max(), one.load.max()))))
        self.sun.set_ydata(numpy.repeat(one.charge, 2))
        self.load.set_ydata(numpy.repeat(one.load, 2))
        left = 100 * one.run.stored / usable
        self.level.set_ydata(left)
        dark = numpy.flatnonzero(one.run.missing > 0)
        self.empty.set_data(dark + 1, numpy.zeros(len(dark)))
        good = round(7 * one.run.carried())
        words = (
            f"The {which} week of {weather.MONTHS[round(month) - 1]} in {self.place}: {show(Q(one.charge.sum() / 1000, 'kWh'))} "
            f"of sun for {show(Q(one.load.sum() / 1000, 'kWh'))} of load. The sun alone carries {good} of 7 days; "
            f"{show(Q(one.run.missing.sum() / 1000, 'kWh'))} must come from elsewhere, "
            f"{show(Q(one.run.spilled.sum() / 1000, 'kWh'))} find the bank full."
        )
        alt = (
            f"Above, seven humps of sun up to {show(Q(one.charge.max(), 'W'))} and a jagged line of load up to "
            f"{show(Q(one.load.max(), 'W'))} in the hour. Below, what is left in the bank: it starts full, is at its lowest at "
            f"{left.min():.0f} %, and ends the week at {left[-1]:.0f} %; it is empty in {len(dark)} of 168 hours."
        )
        return words, alt


class StringInTheCold(Picture):
    """The voltages of a string: hot and working, by its plate, on the coldest morning; and the controller's limit."""

    title = "A string on a hot day and on the coldest morning"
    names = ("at work, hot", "nothing connected,\n77 °F (25 °C)", "nothing connected,\ncoldest morning",
             "the same by\nthe code's table")  # fmt: skip

    def build(self, fig):
        axes = fig.subplots()
        axes.set(xlim=(0, 250), ylim=(3.6, -0.6), xlabel="Voltage of the string in V")
        axes.set_yticks(range(4), self.names)
        axes.grid(axis="y", visible=False)
        colours = ["sky", "yellow", "blue", "purple"]
        self.bars = axes.barh(range(4), [1] * 4, height=0.66, color=[COLOURS[name] for name in colours], edgecolor="black")
        for bar, hatch in zip(self.bars, HATCHES):
            bar.set_hatch(hatch)
        self.limit = axes.axvline(100, color=COLOURS["vermilion"], lw=2.5, label="the controller's limit")
        self.bank = axes.axvline(14, color="black", lw=2, ls="--", label="the bank while it charges, with headroom")
        fig.legend(handles=[self.limit, self.bank], loc="outside lower center", ncols=2)
        self.moving = [*self.bars, self.limit, self.bank]

    def update(self, series, coldest, module, controller):
        sheet, device = sun.module_named(module), sun.controller_named(controller)
        cold = Q(coldest, "degF")
        values = [
            sun.hot_voltage(sheet.voltage, series, sheet.power_coefficient, sun.HOT_CELL),
            sheet.open_circuit_voltage * series,
            sun.cold_voltage(sheet.open_circuit_voltage, series, sheet.voltage_coefficient, cold),
            sun.cold_voltage_of_table(sheet.open_circuit_voltage, series, cold),
        ]
        for bar, value in zip(self.bars, values):
            bar.set_width(floats(value, "V"))
        needed = Q(14.6, "V") + device.headroom
        self.limit.set_xdata([floats(device.highest_voltage, "V")] * 2)
        self.bank.set_xdata([floats(needed, "V")] * 2)
        stands = "stands it" if values[2] <= device.highest_voltage else "DOES NOT STAND IT"
        charges = "still charges the bank" if values[0] >= needed else "does not charge the bank"
        words = (
            f"{series:g} in series: {show(values[1])} by the plate, {show(values[2])} at {show(cold)} by the coefficient "
            f"({show(values[3])} by the table). The controller's limit is {show(device.highest_voltage)}: it {stands}. "
            f"Hot, the string works at {show(values[0])} and {charges} (needed: {show(needed)})."
        )
        told = ", ".join(f"{name.replace(chr(10), ' ')} {show(value)}" for name, value in zip(self.names, values))
        alt = f"Four bars: {told}. A line at {show(device.highest_voltage)} is the controller's limit, one at {show(needed)} the bank."
        return words, alt
