"""Pictures of the charging lesson: a charge over time, the tow vehicle's line, the sources side by side."""

import numpy

from coachwork import capacity, charging, network
from coachwork.page.pictures import COLOURS, Picture
from coachwork.quantities import Q, floats, show

HOURS = (2, 4, 6, 8, 12, 16, 24, 36, 48, 72, 120, 240)
LEVELS = {"level": (0, 105), "volts": (11.8, 15), "amps": (0, 110)}


class ChargeOverTime(Picture):
    """Current, voltage and state of charge of a bank over the time of one charge, with the tail."""

    title = "A charge over time"
    size = (8, 5.2)

    def __init__(self, capacity_=Q(240, "Ah")):
        self.capacity = capacity_

    def build(self, fig):
        axes = fig.subplots(3, 1, sharex=True, height_ratios=(1.2, 1, 1))
        labels = ("Current\nin A", "Volts at\nthe posts", "Charge\nin %")
        for ax, (name, limits), label in zip(
            axes, (("amps", LEVELS["amps"]), ("volts", LEVELS["volts"]), ("level", LEVELS["level"])), labels
        ):
            ax.set(ylim=limits, ylabel=label, xlim=(0, 8))
        axes[2].set_xlabel("Hours on the charger")
        colours = [COLOURS[name] for name in ("blue", "vermilion", "green")]
        self.lines = [
            ax.plot([0, 1], [0, 0], style, color=colour, lw=2.2)[0]
            for ax, style, colour in zip(axes, ("-", "--", "-."), colours)
        ]
        self.knees = [ax.axvline(0, color="#222222", lw=1.2, ls=":", label="the knee") for ax in axes]
        fig.legend(
            handles=[*self.lines, self.knees[0]],
            labels=["current into the bank", "voltage", "state of charge", "the knee"],
            loc="outside lower center",
            ncols=4,
        )
        self.axes = axes
        self.moving = [*self.lines, *self.knees]

    def update(self, current, load, start, chemistry):
        facts, one = charging.acceptance(chemistry), capacity.chemistry(chemistry)
        left = charging.battery_current(Q(current, "A"), Q(load, "A"))
        full = charging.full_charge(facts.tail_rate, facts.acceptance_time)
        if left.magnitude <= 0:
            for line in (*self.lines, *self.knees):
                line.set_visible(False)
            return (
                f"Nothing is left for the bank: the loads take {load:g} A of {current:g} A.",
                f"Three empty diagrams: the loads take all {current:g} A that the charger gives.",
            )
        curve = charging.charge_curve(
            chemistry,
            self.capacity,
            one.cells_for_12_volt,
            left,
            start / 100,
            full,
            facts.absorption * one.cells_for_12_volt,
        )
        top = floats(curve.time, "h")
        self.limits(self.axes[2], x=(0, next((hours for hours in HOURS if top <= hours), HOURS[-1])))
        for line, values in zip(self.lines, (curve.amps, curve.volts, curve.level * 100)):
            line.set_visible(True)
            line.set_data(curve.hours, values)
        at = floats(curve.knee_time, "h") if curve.knee_time is not None else 0.0
        for line in self.knees:
            line.set_visible(curve.knee_time is not None)
            line.set_xdata([at, at])
        ninety = charging.charge_time(
            self.capacity, left, start / 100, 0.9, facts.acceptance_time, facts.charge_efficiency
        )
        tenth = curve.time - ninety if start < 90 else curve.time
        falls, steady = curve.knee_time is not None, at > 0
        words = (
            (
                f"{show(left)} into the bank"
                if steady
                else f"The bank takes no more than {curve.amps[0]:.0f} A from the start"
            )
            + f": full after {show(curve.time)}. "
            + (f"Steady up to {curve.knee_charge:.0%}, then the tail. " if steady and falls else "")
            + f"From 90 % on it takes {show(tenth)}."
        )
        alt = (
            f"Three lines over {top:.1f} hours. Current: {curve.amps[0]:.0f} A"
            + (
                f" up to {at:.1f} hours, then"
                if steady and falls
                else " at first,"
                if falls
                else " to the end"
            )
            + (f" dying away to {curve.amps[-1]:.1f} A. " if falls else ". ")
            + f"Voltage rises from {curve.volts[0]:.1f} to {curve.volts[-1]:.1f} V. "
            f"Charge rises from {start:g} to {100 * curve.level[-1]:.1f} %."
        )
        return words, alt


class TowLine(Picture):
    """Where the volts of a tow vehicle's charge line go, and what arrives, plain and through a charger."""

    title = "The tow vehicle's charge line"
    size = (8, 4.2)
    parts = ("at the coach's end", "positive wire", "fuse, pins and joints", "return wire")

    def __init__(self, bank, charger):
        self.bank, self.charger = bank, charger
        cells = bank.module.cells * bank.series
        self.rest = lambda level: capacity.open_circuit_voltage(bank.module.chemistry, level, cells)
        self.inside = capacity.bank_resistance(
            bank.module.resistance, bank.series, bank.parallel - bank.reserve
        )

    def build(self, fig):
        volts, amps = fig.subplots(1, 2, width_ratios=(2, 1))
        for ax in (volts, amps):
            ax.set_ylim(-0.6, 1.6)
            ax.invert_yaxis()
            ax.grid(axis="y", visible=False)
        volts.set_yticks([0, 1], ["plain\nline", "DC-DC\ncharger"])
        amps.set_yticks([0, 1], ["", ""])
        volts.set(xlim=(9, 15), xlabel="Volts, counted from 9 V", title="Where the volts go")
        amps.set(xlim=(-15, 30), xlabel="Amps into the bank", title="What arrives")
        amps.axvline(0, color="black", lw=1)
        low = self.charger.lowest_input
        if low is not None:
            volts.axvline(floats(low, "V"), color="#222222", ls=":", lw=1.6)
        colours = [COLOURS[name] for name in ("green", "blue", "orange", "purple")]
        self.bars = []
        for part, colour, hatch in zip(self.parts, colours, ("", "//", "..", "\\\\")):
            self.bars.append(
                volts.barh(
                    [0, 1], [1, 1], height=0.6, color=colour, edgecolor="black", hatch=hatch, label=part
                )
            )
        self.amps = amps.barh([0, 1], [1, 1], height=0.6, color=COLOURS["sky"], edgecolor="black")
        handles = [bars[0] for bars in self.bars]
        labels = list(self.parts)
        if low is not None:
            handles.append(volts.lines[-1])
            labels.append("the charger stops below")
        fig.legend(handles=handles, labels=labels, loc="outside lower center", ncols=3)
        self.axes = amps
        self.moving = [*(bar for bars in self.bars for bar in bars), *self.amps]

    def update(self, length, size, supply, charge, output):
        line = charging.tow_parts(Q(length, "ft"), size, size, Q(20, "mohm"), charging.WIRE_TEMPERATURE)
        source = Q(supply, "V")
        plain = charging.tow_charge(source, line, self.rest(charge / 100), self.inside)
        power = charging.charger_input_power(Q(output, "A"), self.charger.absorption, self.charger.efficiency)
        try:
            through = charging.tow_charge_through_dcdc(source, line, power)
            carried = f"draws {show(through.current)} at {show(through.voltage)}"
            stops = self.charger.lowest_input is not None and through.voltage < self.charger.lowest_input
            if stops:
                carried += ", too low for it: it stops and starts"
        except network.CannotCarry as refusal:
            through, stops = None, True
            carried = f"asks for {show(power)}, and the line can bring {show(refusal.available)} at most"
        brought = [floats(plain.current, "A"), 0.0 if stops else output]
        self.limits(self.axes, x=(-15, 30) if abs(brought[0]) <= 29 and brought[0] > -15 else (-50, 100))
        for row, one in enumerate((plain, through)):
            at = 0.0
            for place, bars in enumerate(self.bars):
                name = self.parts[place]
                width = (
                    (floats(one.voltage, "V") if place == 0 else max(0.0, floats(one.drops[name], "V")))
                    if one
                    else 0.0
                )
                bars[row].set_x(at)
                bars[row].set_width(width)
                at += width
            self.amps[row].set_width(brought[row])
            self.amps[row].set_facecolor(
                COLOURS["vermilion"] if row and stops or brought[row] < 0 else COLOURS["sky"]
            )
            self.amps[row].set_hatch("//" if brought[row] < 0 else "")
        fed = "flow back out of the bank" if brought[0] < 0 else "arrive"
        words = (
            f"Plain line: {abs(brought[0]):.1f} A {fed}, {show(plain.lost)} warm the line. "
            f"A DC-DC charger set to {output:g} A {carried}."
        )
        drops = ", ".join(f"{name} {abs(floats(drop, 'V')):.2f} V" for name, drop in plain.drops.items())
        alt = (
            f"Two stacked bars of volts from {supply:g} V. Plain line: {show(plain.voltage)} at the coach's end, "
            f"lost in {drops}. "
            f"DC-DC charger: {carried}. Right, two bars of amps into the bank: {brought[0]:.1f} and {brought[1]:.1f}."
        )
        return words, alt


class SourcesSideBySide(Picture):
    """Amps that each source leaves for the bank, and the hours in which it brings back a night."""

    title = "The sources side by side"
    size = (8, 3.6)
    longest = 24

    def __init__(self, study):
        self.study = study

    def build(self, fig):
        amps, hours = fig.subplots(1, 2)
        sources = self.study.sources
        places = numpy.arange(len(sources))
        current = [max(0.0, floats(one.battery_current, "A")) for one in sources]
        taken = [floats(one.current, "A") - left for one, left in zip(sources, current)]
        amps.barh(
            places, current, color=COLOURS["blue"], edgecolor="black", height=0.62, label="into the bank"
        )
        amps.barh(
            places,
            taken,
            left=current,
            color=COLOURS["orange"],
            edgecolor="black",
            hatch="//",
            height=0.62,
            label="to the loads meanwhile",
        )
        night = [floats(one.night_time, "h") if one.night_time is not None else numpy.inf for one in sources]
        shown = [min(value, self.longest) for value in night]
        bars = hours.barh(places, shown, color=COLOURS["green"], edgecolor="black", height=0.62)
        texts = [
            f"{value:.1f} h" if value < 10 else f"{value:.0f} h" if numpy.isfinite(value) else "never"
            for value in night
        ]
        hours.bar_label(bars, labels=texts, padding=4)
        for axes in (amps, hours):
            axes.set_yticks(places, [one.name for one in sources] if axes is amps else [""] * len(sources))
            axes.invert_yaxis()
            axes.grid(axis="y", visible=False)
        amps.set(
            xlabel="Amps that the source brings", xlim=(0, 1.1 * max(a + b for a, b in zip(current, taken)))
        )
        hours.set(xlabel=f"Hours to bring back a night (cut at {self.longest})", xlim=(0, 1.25 * max(shown)))
        fig.legend(loc="outside lower center", ncols=2)
        self.rows = list(zip([one.name for one in sources], current, texts))

    def update(self):
        words = (
            f"A night takes {show(self.study.night_energy)}. "
            + ", ".join(f"{name}: {amps:.0f} A, {text}" for name, amps, text in self.rows)
            + "."
        )
        alt = (
            "Bars for each source. "
            + "; ".join(
                f"{name} leaves {amps:.1f} A for the bank and brings back a night in {text}"
                for name, amps, text in self.rows
            )
            + "."
        )
        return words, alt
