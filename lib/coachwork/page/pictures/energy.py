"""Pictures of the energy lesson: one load as an area, the day with the inverter's hours, the loads in order."""

import numpy

from coachwork import energy
from coachwork.page.pictures import COLOURS, HATCHES, Picture
from coachwork.profile import DAY_STEPS
from coachwork.quantities import Q, floats, show

EDGES = numpy.repeat(numpy.arange(DAY_STEPS + 1) * 24 / DAY_STEPS, 2)[1:-1]  # each step drawn level
SCALE = (30, 100, 300, 1000, 3000, 10_000, 30_000, 100_000, 300_000, 1_000_000)
NIGHT = "#e8e8ee"


def _scale(value):
    """The next round number above: limits that move in a few steps keep most moves quick and comparable."""
    return next(top for top in SCALE if value <= 0.97 * top or top == SCALE[-1])


class LoadDay(Picture):
    """One load: its power over its hours is an area, and the area is the energy; beside it, the losses."""

    title = "One load for a day"

    def __init__(self, coach):
        self.coach = coach
        self.voltage = coach.capacity.nominal_voltage

    def build(self, fig):
        from matplotlib.patches import Rectangle

        area, bars = fig.subplots(1, 2, width_ratios=(2.2, 1))
        area.set(
            xlim=(0, 24), xticks=range(0, 25, 4), xlabel="Hours a day", ylabel="Power in W", ylim=(0, 100)
        )
        area.set_title("Power × time = energy")
        self.on = area.add_patch(
            Rectangle((0, 0), 1, 1, fill=False, hatch="//", ec="#555555", lw=1, label="switched on")
        )
        self.runs = area.add_patch(
            Rectangle((0, 0), 1, 1, fc=COLOURS["blue"], ec="black", lw=1, label="really runs")
        )
        area.legend(handles=[self.runs, self.on], loc="upper center", bbox_to_anchor=(0.5, -0.2), ncols=2)
        bars.set(ylim=(0, 1000), ylabel="Energy in Wh", xlim=(-0.6, 1.6))
        bars.set_xticks([0, 1], ["at the\nload", "at the\nbattery"])
        bars.set_title("A day")
        bars.grid(axis="x", visible=False)
        self.at_load = bars.bar([0, 1], [1, 1], width=0.7, color=COLOURS["blue"], edgecolor="black")
        (self.loss,) = bars.bar(
            [1], [1], width=0.7, color=COLOURS["orange"], edgecolor="black", hatch=HATCHES[1]
        )
        bars.legend([self.loss], ["loss"], loc="upper center", bbox_to_anchor=(0.5, -0.24))
        self.area, self.bars = area, bars
        self.moving = [self.on, self.runs, *self.at_load, self.loss]

    def update(self, power, count, hours, duty, side):
        asked = energy.load_energy(Q(power, "W"), Q(hours, "h"), count, duty / 100)
        together = Q(power * count, "W")
        if side == "AC inverter":
            inverter = self.coach.inverter
            efficiency = energy.fitted_efficiency(together, inverter.idle, inverter.efficiency)
            way = f"through an inverter that is {efficiency:.0%} efficient at {show(together)}"
        else:
            efficiency = 1 - self.coach.energy.wiring_loss
            way = f"with {1 - efficiency:.0%} lost in the wiring"
        taken = energy.energy_at_battery(asked, efficiency)
        charge = energy.charge_from_energy(taken, self.voltage)
        watts, load, battery = power * count, floats(asked, "Wh"), floats(taken, "Wh")
        self.limits(self.area, y=(0, _scale(watts)))
        self.limits(self.bars, y=(0, _scale(battery)))
        self.on.set_bounds(0, 0, hours, watts)
        self.runs.set_bounds(0, 0, hours * duty / 100, watts)
        for bar in self.at_load:
            bar.set_height(load)
        self.loss.set_y(load)
        self.loss.set_height(battery - load)
        words = f"{show(asked)} a day at the load, {show(taken)} at the battery {way}: {show(charge)} at {show(self.voltage)}."
        alt = (
            f"Left, a rectangle {hours:g} hours wide and {watts:g} W high, of which the first {hours * duty / 100:.3g} hours "
            f"are filled. Right, two bars: {show(asked)} at the load, {show(taken)} at the battery, the difference being loss."
        )
        return words, alt


class InverterHours(Picture):
    """The day of a coach by group, and what the hours of its inverter cost."""

    title = "The day at the battery, and the inverter's hours"
    most_groups = 4

    def __init__(self, coach, season):
        self.coach, self.season = coach, season
        self.whole = energy.day(energy.changed_inverter_hours(coach, "00:00-24:00"), season)
        by_group = {name: values.sum() for name, values in self.whole.by_group().items() if name != "losses"}
        self.groups = sorted(by_group, key=by_group.get, reverse=True)[: self.most_groups]

    def _stack(self, day):
        grouped = day.by_group()
        rows = [grouped.get(name, numpy.zeros(DAY_STEPS)) for name in self.groups]
        rest = [values for name, values in grouped.items() if name not in (*self.groups, "losses")]
        layers = numpy.array([*rows, sum(rest, numpy.zeros(DAY_STEPS)), grouped["losses"]]).repeat(2, axis=1)
        steps = (abs(numpy.diff(layers)) > 1e-6).any(axis=0)  # corners alone, beyond rounding: a tenth of the points
        corners = numpy.r_[True, steps] | numpy.r_[steps, True]
        return EDGES[corners], layers[:, corners]

    def build(self, fig):
        power, bars = fig.subplots(1, 2, width_ratios=(3, 1))
        start, end = energy.night_hours(self.whole)
        for span in [(0, end), (start, 24)] if start > end else [(start, end)]:
            power.axvspan(*span, color=NIGHT, lw=0, zorder=0)
        names = [*self.groups, "other loads", "losses"]
        colours = [COLOURS[name] for name in ("blue", "orange", "green", "purple", "sky", "vermilion")]
        self.layers = power.stackplot(*self._stack(self.whole), labels=names, colors=colours, edgecolor="black", lw=0.4)
        for layer, hatch in zip(self.layers, ("", "//", "..", "\\\\", "xx", "--")):
            layer.set_hatch(hatch)
        top = 1.6 * numpy.quantile(self.whole.at_battery.values, 0.96)
        cut = top < floats(self.whole.peak, "W")
        power.set(
            xlim=(0, 24), xticks=range(0, 25, 4), ylim=(0, top), xlabel="Hour of the day (night is grey)"
        )
        power.set(ylabel="Power at the battery in W" + ("\n(short peaks run off the top)" if cut else ""))
        fig.legend(handles=self.layers[::-1], loc="outside lower center", ncols=3)
        bars.set(
            ylim=(0, 1.15 * floats(self.whole.energy, "Wh")),
            ylabel="Energy of the day in Wh",
            xlim=(-0.6, 1.6),
        )
        bars.set_xticks([0, 1], ["all\nday", "as\nset"])
        bars.grid(axis="x", visible=False)
        bars.bar(
            [0], [floats(self.whole.energy, "Wh")], width=0.7, color="white", edgecolor="black", hatch="//"
        )
        (self.bar,) = bars.bar([1], [1], width=0.7, color=COLOURS["blue"], edgecolor="black")
        self.moving = [*self.layers, self.bar]

    def update(self, start, end):
        window = f"{_clock(start)}-{_clock(end)}"
        day = energy.day(energy.changed_inverter_hours(self.coach, window), self.season)
        hours, stack = self._stack(day)
        low = numpy.zeros(len(hours))
        for layer, values in zip(self.layers, stack):
            layer.set_data(hours, low, low + values)
            low = low + values
        self.bar.set_height(floats(day.energy, "Wh"))
        saved = self.whole.energy - day.energy
        words = (
            f"Inverter on {window.replace('-', ' to ')}: {show(day.energy)} a day, {show(saved)} less than all day; "
            f"peak {show(day.peak)}."
        )
        if day.missed:
            words += " It is off while these should run: " + ", ".join(
                f"{name} ({show(Q(hours, 'h'))})" for name, hours in day.missed.items()
            ) + "."  # fmt: skip
        alt = (
            f"Stacked areas of the {self.season} day's power at the battery by group: {', '.join(self.groups)}, other loads, "
            f"losses; peak {show(day.peak)}, night's share {day.night_share:.0%}. Beside it two bars: "
            f"{show(self.whole.energy)} with the inverter on all day, {show(day.energy)} as set."
        )
        return words, alt


class LoadsInOrder(Picture):
    """Loads and losses of a day by energy, the largest first."""

    title = "What takes the day's energy"
    most = 12

    def __init__(self, day):
        self.day = day
        self.size = (8, 5)

    def build(self, fig):
        parts = {name: floats(value, "Wh") for name, value in self.day.by_part().items()}
        names = list(parts)[: self.most]
        values = [parts[name] for name in names]
        if len(parts) > self.most:
            names.append(f"{len(parts) - self.most} others")
            values.append(sum(parts.values()) - sum(values))
        axes = fig.subplots()
        lossy = [name in self.day.losses for name in names]
        colours = [COLOURS["orange"] if loss else COLOURS["blue"] for loss in lossy]
        bars = axes.barh(range(len(names)), values, color=colours, edgecolor="black", height=0.72)
        for bar, loss in zip(bars, lossy):
            bar.set_hatch("//" if loss else "")
        axes.bar_label(bars, labels=[f"{value:,.0f}" for value in values], padding=4)
        axes.set_yticks(range(len(names)), names)
        axes.invert_yaxis()
        axes.grid(axis="y", visible=False)
        axes.set(
            xlabel="Energy of the day at the battery in Wh (hatched: losses)", xlim=(0, 1.12 * max(values))
        )
        self.parts = dict(zip(names, values))

    def update(self):
        first = list(self.parts.items())[:3]
        words = f"{show(self.day.energy)} in the {self.day.season} day. The largest: " + ", ".join(
            f"{name} {value:,.0f} Wh" for name, value in first
        ) + "."  # fmt: skip
        alt = (
            "Bars, largest first: "
            + ", ".join(f"{name} {value:,.0f} Wh" for name, value in self.parts.items())
            + "."
        )
        return words, alt


def _clock(hour):
    return f"{int(hour):02}:{round(hour % 1 * 60):02}"
