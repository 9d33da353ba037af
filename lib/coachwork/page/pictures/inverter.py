"""Pictures of the inverter lesson: the AC side of a day, direct current, a start in steps, an inlet shared."""

import numpy

from coachwork import capacity, charging, conductor, energy, inverter, sections
from coachwork.page.pictures import COLOURS, HATCHES, Picture
from coachwork.profile import DAY_STEPS
from coachwork.quantities import Q, floats, show

EDGES = numpy.repeat(numpy.arange(DAY_STEPS + 1) * 24 / DAY_STEPS, 2)[1:-1]  # each step drawn level


def _clock(hour):
    minutes = round(hour * 60)
    return f"{minutes // 60 % 24:02d}:{minutes % 60:02d}"


class AcSide(Picture):
    """The day's AC side against the inverter's continuous and surge limits, with one load added."""

    title = "What runs together, and the hardest start"

    def __init__(self, coach, season):
        self.plan, _ = inverter.planned(coach)
        self.day = inverter.ac_day(coach, season)

    def build(self, fig):
        axes = fig.subplots()
        axes.set(xlim=(0, 24), xticks=range(0, 25, 3), ylim=(0, 10), xlabel="Hour of the day", ylabel="Power in kW or kVA")
        blank = numpy.zeros(2 * DAY_STEPS)
        (self.surge,) = axes.plot(EDGES, blank, "--", color=COLOURS["vermilion"], lw=1.6, label="a start on top")
        (self.worst,) = axes.plot(EDGES, blank, color=COLOURS["blue"], lw=2, label="all that may run")
        (self.mean,) = axes.plot(EDGES, blank, ":", color=COLOURS["green"], lw=2, label="mean, with duty")
        self.continuous = axes.axhline(1, color="black", lw=1.4, label="continuous limit, hot")
        self.most = axes.axhline(1, color="black", lw=1.4, ls="-.", label="surge limit")
        fig.legend(loc="outside lower center", ncols=3)
        self.axes = axes
        self.moving = [self.surge, self.worst, self.mean, self.continuous, self.most]

    def update(self, power, multiple, hour, air):
        end = min(hour + 0.5, 24)
        added = sections.Load(name="the added load", side="ac", power=f"{power} W", start_multiple=multiple,
                              windows=(f"{_clock(hour)}-{'24:00' if end == 24 else _clock(end)}",)) if power else None  # fmt: skip
        day = inverter.with_load(self.day, added) if added else self.day
        limit = inverter.derated_power(self.plan.rated_power, self.plan.derating, Q(air, "degF"), self.plan.derated_above)
        limit, surge = floats(limit, "kW"), floats(self.plan.surge_power, "kW")
        for line, values in ((self.surge, day.surge), (self.worst, day.worst), (self.mean, day.mean)):
            line.set_ydata(numpy.repeat(values / 1000, 2))
        self.continuous.set_ydata([limit, limit])
        self.most.set_ydata([surge, surge])
        top = max(surge, float(day.surge.max()) / 1000)
        self.limits(self.axes, y=(0, next(step for step in (3, 5, 8, 12, 20, 40) if top <= step * 0.97 or step == 40)))
        watts, start = float(day.watts.max()), float(day.surge.max())
        when, at = int(day.watts.argmax()) / 12, int(day.surge.argmax()) / 12
        held = "holds" if watts <= 1000 * limit else "is passed"
        words = (
            f"At {_clock(when)} {show(Q(watts, 'W'))} may run together: the continuous limit of {show(Q(limit, 'kW'))} {held}. "
            f"At {_clock(at)} a start asks for {show(Q(start, 'VA'))}: the surge limit of {show(Q(surge, 'kW'))} "
            f"{'holds' if start <= 1000 * surge else 'is passed'}."
        )
        alt = (
            f"Three stepped lines over a day: the mean, all that may run with its peak of {watts:.0f} W at {_clock(when)}, and "
            f"the hardest start, up to {start:.0f} VA at {_clock(at)}. Level lines at {limit:.2f} kW continuous and "
            f"{surge:.2f} kW surge."
            + (f" From {_clock(hour)} to {_clock(end)}, with the added load, {day.watts[int(12 * hour)]:.0f} W." if power else "")
        )
        return words, alt


class DirectCurrent(Picture):
    """Direct current against AC power at three voltages, losses included."""

    title = "Direct current against AC power"

    def __init__(self, coach):
        plan, _ = inverter.planned(coach)
        nominal = coach.capacity.nominal_voltage
        self.curve = energy.inverter_loss(plan.idle, plan.efficiency)
        self.rated = plan.rated_power
        self.volts = (nominal, (nominal + plan.cut_off) / 2, plan.cut_off)

    def build(self, fig):
        axes = fig.subplots()
        watts = numpy.linspace(0, floats(self.rated, "W"), 61)
        drawn = watts + self.curve.watts(watts)
        names = ("nominal", "half-way", "cut-off")
        for name, volts, style, colour in zip(names, self.volts, ("-", "--", "-."), ("blue", "green", "vermilion")):
            axes.plot(watts, drawn / floats(volts, "V"), style, color=COLOURS[colour], label=f"{name}, {show(volts)}")
        axes.set(xlim=(0, watts[-1]), ylim=(0, None), xlabel="AC power in W", ylabel="Direct current in A")
        fig.legend(loc="outside lower center", ncols=3)
        self.line = axes.axvline(0, color="#222222", lw=1.2, ls=":")
        (self.marks,) = axes.plot([0] * 3, [0] * 3, "o", color="black")
        self.moving = [self.line, self.marks]

    def update(self, power):
        drawn = inverter.dc_power(self.curve, Q(power, "W"))
        amps = [floats(energy.current_from_power(drawn, volts), "A") for volts in self.volts]
        self.line.set_xdata([power, power])
        self.marks.set_data([power] * 3, amps)
        efficiency = self.curve.efficiency(Q(power, "W")) if power else 0.0
        told = ", ".join(f"{value:.0f} A at {show(volts)}" for value, volts in zip(amps, self.volts))
        words = (
            f"{show(Q(power, 'W'))} at an efficiency of {efficiency:.0%}: {told}. "
            f"With full ripple the last one heats like {show(inverter.rms_with_ripple(Q(amps[-1], 'A')))}."
        )
        alt = f"Three curves from the idle current upwards, steeper the lower the voltage. At {power:g} W: {told}."
        return words, alt


class StartSteps(Picture):
    """Bank at rest, bank under load and inverter, in volts, before, during and after a start."""

    title = "A start, seen from bank to inverter"
    stages = ("idle", "running", "starting", "running\nagain")

    def __init__(self, coach, size):
        plan, _ = inverter.planned(coach)
        self.curve = energy.inverter_loss(plan.idle, plan.efficiency)
        self.cut_off = plan.cut_off
        self.bank = capacity.arrangement(coach)
        self.per_length = conductor.resistance_per_length(size, inverter.CABLE_TEMPERATURE)

    def build(self, fig):
        axes = fig.subplots()
        nominal = floats(self.bank.voltage, "V")
        axes.set(xlim=(0, 4), ylim=(0.7 * nominal, 1.1 * nominal), ylabel="Volts")
        axes.set_xticks([0.5, 1.5, 2.5, 3.5], self.stages)
        axes.grid(axis="x", visible=False)
        blank = [nominal] * 8
        self.x = numpy.repeat(numpy.arange(5), 2)[1:-1]
        (self.rest,) = axes.plot(self.x, blank, ":", color=COLOURS["green"], label="bank at rest")
        (self.terminals,) = axes.plot(self.x, blank, "--", color=COLOURS["blue"], label="at the bank's terminals")
        (self.inverter,) = axes.plot(self.x, blank, color=COLOURS["vermilion"], label="at the inverter")
        axes.axhline(floats(self.cut_off, "V"), color="black", ls="-.", lw=1.4, label="the inverter's cut-off")
        fig.legend(loc="outside lower center", ncols=2)
        self.floor = 0.7 * nominal
        self.moving = [self.rest, self.terminals, self.inverter]

    def update(self, running, multiple, strings, length, charge):
        from dataclasses import replace

        bank = replace(self.bank, parallel=round(strings), reserve=0, take_off="bus bars")
        cable = inverter.cable_resistance(Q(length, "ft"), self.per_length, inverter.LUG, Q(0.3, "mohm"))
        start = inverter.start_power(Q(running, "W"), multiple)
        powers = [Q(0, "W"), Q(running, "W"), start]
        steps = inverter.steps(bank, cable, self.curve, powers, charge / 100)
        steps.append(steps[1])
        for line, field in ((self.rest, "rest"), (self.terminals, "bank"), (self.inverter, "inverter")):
            values = [floats(getattr(one, field), "V") if isinstance(one, inverter.Step) else self.floor for one in steps]
            line.set_ydata(numpy.repeat(values, 2))
        hard = steps[2]
        if not isinstance(hard, inverter.Step):
            words = f"The bank cannot bring {show(start)} through this cable: at most {show(hard.available)} of DC at the inverter."
            return words, f"The lines of bank and inverter fall to {self.floor:.1f} V at the start: the voltage collapses."
        room = hard.inverter - self.cut_off
        told = "the inverter stays on" if room.magnitude >= 0 else "the inverter stops"
        words = (
            f"The start takes {show(hard.power)}, {show(hard.current)}. Bank {show(hard.rest)} at rest, {show(hard.bank)} under it, "
            f"{show(hard.inverter)} at the inverter: {told}. Hardest module {show(hard.string)}."
        )
        alt = (
            f"Three stepped lines of volts. At rest {floats(hard.rest, 'V'):.2f} throughout; at the bank's terminals "
            f"{floats(hard.bank, 'V'):.2f} and at the inverter {floats(hard.inverter, 'V'):.2f} during the start, higher before and "
            f"after it; cut-off at {floats(self.cut_off, 'V'):.1f}."
        )
        return words, alt


class InletShared(Picture):
    """The loads on the legs of an inlet against what its breaker carries for hours, and what is switched off."""

    title = "Sharing an inlet"
    rows = ("leg A", "leg B", "switched\noff")

    def __init__(self, coach):
        plan, _ = inverter.planned(coach)
        self.amps = inverter.line_amps(coach, plan)
        self.shed = plan.shed
        self.names = [*sorted(self.amps, key=lambda name: -self.amps[name]), "charger"]

    def build(self, fig):
        axes = fig.subplots()
        axes.set(xlim=(0, 60), ylim=(2.6, -0.6), xlabel="Amps on the 120 V side")
        axes.set_yticks(range(3), self.rows)
        axes.grid(axis="y", visible=False)
        colours = ["blue", "orange", "green", "sky", "purple", "yellow", "vermilion"]
        self.bars = {}
        for place, name in enumerate(self.names):
            last = name == "charger"
            self.bars[name] = axes.barh([0], [1], height=0.62, edgecolor="black", label=name,
                                        color=COLOURS[colours[-1] if last else colours[place % 6]],
                                        hatch=HATCHES[place % len(HATCHES)])[0]  # fmt: skip
        (self.limit,) = axes.plot([24, 24], [-0.6, 0.5], color="black", lw=2, ls="--", label="80 % of the breaker")
        fig.legend(loc="outside lower center", ncols=2)
        self.moving = [*self.bars.values(), self.limit]

    def update(self, breaker, charger, order):
        row = charging.inlet(breaker)
        limit = charging.continuous_current(row["rating"])
        shed = self.shed if order == "in the coach's order" else ()
        found = inverter.share_inlet(breaker, self.amps, shed, Q(charger, "A"), limit, int(row["legs"]))
        self.limit.set_data([floats(limit, "A")] * 2, [-0.6, len(found.legs) - 0.5])
        placed = [*enumerate(found.legs), (2, {name: self.amps[name] for name in found.off})]
        for at, loads in placed:
            left = 0.0
            for name in self.names:
                if name in loads:
                    self.bars[name].set_bounds(left, at - 0.31, loads[name], 0.62)
                    left += loads[name]
        off = ", ".join(found.off) or "nothing"
        held = "holds" if found.fits else "trips in time"
        words = (
            f"Switched off: {off}. {show(found.total)} on the {'heavier leg' if len(found.legs) > 1 else 'leg'}, "
            f"{show(limit)} may flow for hours: the breaker {held}."
        )
        told = "; ".join(f"{name.replace(chr(10), ' ')} {sum(loads.values()):.1f} A" for name, (_, loads) in
                         zip([*self.rows[: len(found.legs)], self.rows[2]], placed))  # fmt: skip
        alt = f"Stacked bars of the loads in amps: {told}. A dashed line at {floats(limit, 'A'):.0f} A. Switched off: {off}."
        return words, alt
