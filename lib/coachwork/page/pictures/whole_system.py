"""Pictures of the whole-system lesson: a week by hours, designs side by side, the map of bank and array, chances."""

import numpy

from coachwork import whole_system, weather
from coachwork.page.pictures import COLOURS, HATCHES, Picture
from coachwork.quantities import Q, number_text, show

SCALE = (500, 1000, 1500, 2000, 3000, 5000, 7500, 10_000)


def _scale(value):
    return next((top for top in SCALE if value <= 0.97 * top), value * 1.1)


def date(day):
    """Month and day of a day of the year, from 1: 5 January is 5."""
    month = int(numpy.searchsorted(numpy.cumsum(weather.MONTH_DAYS), day - 1, "right"))
    return f"{weather.MONTHS[month]} {day - sum(weather.MONTH_DAYS[:month])}"


def count_of(modules):
    """So many modules, in words."""
    return f"{modules} module" if modules == 1 else f"{modules} modules"


class WeekOfSystem(Picture):
    """Seven days of the year with everything at work: power above, state of charge below."""

    title = "A week with everything at work"
    size = (8, 4.8)

    def __init__(self, coach):
        self.coach = coach
        self.series = whole_system.series_of(coach)
        self.known = {}

    def build(self, fig):
        power, bank = fig.subplots(2, 1, sharex=True)
        hours, flat = numpy.repeat(numpy.arange(169), 2)[1:-1], numpy.zeros(336)
        for axes in (power, bank):
            axes.set(xlim=(0, 168), xticks=range(0, 169, 24))
        looks = dict(offered=("sky", "sun offered", 1.5, ":"), sun=("orange", "sun used", 2, "-"),
                     other=("vermilion", "engine, generator", 2, "-."), shore=("purple", "shore power", 2, "-"), asked=("black", "asked by loads", 1.2, "--"))  # fmt: skip
        self.lines = {name: power.plot(hours, flat, color=COLOURS[colour], lw=width, ls=style, label=label)[0]
                      for name, (colour, label, width, style) in looks.items()}  # fmt: skip
        power.set(ylim=(0, 1000), ylabel="Power in W")
        (self.level,) = bank.plot(numpy.arange(169), numpy.zeros(169), color=COLOURS["green"], lw=2, label="state of charge")
        (self.missed,) = bank.plot([], [], "s", color=COLOURS["vermilion"], ms=4, label="something not served")
        (self.home,) = bank.plot(numpy.arange(169), numpy.zeros(169), color="0.6", lw=6, ls="-", solid_capstyle="butt", label="at home")
        system = whole_system.system_of(self.coach)
        marks = {"floor": system.floor, "reserve": system.reserve} | (
            {"start": system.start, "stop": system.stop} if system.generator else {})  # fmt: skip
        groups = []
        for name, level in sorted(((name, 100 * level / system.full) for name, level in marks.items()), key=lambda one: one[1]):
            bank.axhline(level, color="black", lw=0.8, ls="--" if name == "floor" else ":")
            if groups and level - groups[-1][-1][1] < 15:  # their words would cover each other
                groups[-1].append((name, level))
            else:
                groups.append([(name, level)])
        for group in groups:
            bank.text(169.5, sum(level for _, level in group) / len(group), "\n".join(name for name, _ in reversed(group)),
                      va="center", fontsize="small", linespacing=0.85)  # fmt: skip
        bank.set(ylim=(-4, 104), yticks=(0, 50, 100), ylabel="Charge in %", xlabel="Hours from midnight of the first day")
        fig.legend(handles=[*self.lines.values(), self.level, self.home, self.missed], loc="outside lower center", ncols=3)
        self.axes, self.moving = power, [*self.lines.values(), self.level, self.home, self.missed]

    def run(self, *design):
        """The year of a design; the last few are kept, so that moving the day alone is quick."""
        if design not in self.known:
            if len(self.known) > 20:
                self.known.clear()
            self.known[design] = whole_system.run(self.series, whole_system.system_of(self.coach, *design))
        return self.known[design]

    def update(self, modules, watts, day):
        one = self.run(round(modules), float(watts))
        first = round(day) - 1
        now, flows = slice(24 * first, 24 * (first + 7)), one.flows
        parts = dict(offered=(flows.sun + flows.spilled)[now], sun=flows.sun[now],
                     other=(flows.engine + flows.generator)[now], shore=flows.shore[now],
                     asked=(self.series.load + flows.asked)[now])  # fmt: skip
        self.limits(self.axes, y=(0, _scale(max(values.max() for values in parts.values()))))
        for name, values in parts.items():
            self.lines[name].set_ydata(numpy.repeat(values, 2))
        before = 24 * first - 1
        level = 100 * numpy.concatenate([one.state_of_charge[before:before + 1] if first else [1.0], one.state_of_charge[now]])
        self.level.set_ydata(level)
        stands = numpy.append(~self.series.away[now], False)
        self.home.set_ydata(numpy.where(stands, 101.0, numpy.nan))
        missed = (flows.missed + flows.missed_cooling)[now]
        bad = numpy.flatnonzero(missed > 1e-6)
        self.missed.set_data(bad + 0.5, numpy.full(len(bad), 3.0))
        sums = {name: show(Q(float(values[now].sum()) / 1000, "kWh")) for name, values in
                (("sun", flows.sun), ("spilled", flows.spilled), ("generator", flows.generator), ("asked", self.series.load + flows.asked))}  # fmt: skip
        words = (f"From {date(first + 1)}: {sums['asked']} asked, {sums['sun']} of sun used, {sums['spilled']} spilled, "
                 f"{int(flows.running[now].sum())} h of generator; {show(Q(float(missed.sum()) / 1000, 'kWh'))} not served. "
                 f"Lowest charge {level.min():.0f} %.{self.at_home(stands, flows.shore[now])}")  # fmt: skip
        alt = (f"Above, sun offered up to {show(Q(float(parts['offered'].max()), 'W'))} and used up to "
               f"{show(Q(float(parts['sun'].max()), 'W'))}; engine and generator up to {show(Q(float(parts['other'].max()), 'W'))}; loads ask "
               f"up to {show(Q(float(parts['asked'].max()), 'W'))}. Below, the state of charge between {level.min():.0f} and "
               f"{level.max():.0f} %, at the end {level[-1]:.0f} %; something is not served in {len(bad)} of 168 hours.")  # fmt: skip
        return words, alt

    @staticmethod
    def at_home(stands, shore):
        """The days of the week at home in words, or nothing."""
        days = stands[:168].reshape(7, 24).any(axis=1)
        if not days.any():
            return ""
        names = [str(day + 1) for day in range(7) if days[day]]
        plugged = shore.reshape(7, 24).any(axis=1)
        return f" At home on day {', '.join(names)}{', plugged in' if (days & plugged).any() else ''}."


MEASURES = {  # name: (value of a Choice, label of the axis, top in steps)
    "days without a generator": (lambda row: 100 * row.alone, "Share of the days away in %"),
    "hours of the generator": (lambda row: row.generator_hours.m_as("h"), "Hours in a year"),
    "energy not served": (lambda row: row.missed.m_as("kWh"), "kWh in a year"),
    "sun spilled": (lambda row: 100 * row.spilled, "Share of the sun offered in %"),
    "price over the years": (lambda row: row.price.m_as("USD"), "USD over the years wanted"),
}
TOPS = (1, 5, 20, 100, 200, 500, 1000, 2000, 5000, 10_000, 20_000, 50_000, 100_000, 1_000_000)


class Designs(Picture):
    """A small, a middle and a large bank: with and without sun, with either air conditioner."""

    title = "Banks side by side"

    def __init__(self, coach):
        self.rows = whole_system.compare(coach)
        self.groups = list(dict.fromkeys((row.unit, round(row.watts.m_as("W"))) for row in self.rows))
        self.modules = list(dict.fromkeys(row.modules for row in self.rows))

    @staticmethod
    def name(group):
        """A group of bars in words."""
        unit, watts = group
        return f"{'no unit' if unit == 'none' else unit}\n{f'{watts:,} W of sun' if watts else 'no sun'}"

    def build(self, fig):
        axes = fig.subplots()
        wide = 0.8 / len(self.modules)
        self.bars = {}
        for at, count in enumerate(self.modules):
            bars = axes.bar(numpy.arange(len(self.groups)) + (at - (len(self.modules) - 1) / 2) * wide, 1.0, wide * 0.92,
                            color=list(COLOURS.values())[at], hatch=HATCHES[at], edgecolor="black",
                            label=count_of(count))  # fmt: skip
            for group, bar in zip(self.groups, bars):
                self.bars[group, count] = bar
        names = [self.name(group).replace(" unit ", "\n") for group in self.groups]
        axes.set_xticks(range(len(self.groups)), names)
        axes.set_xlim(-0.6, len(self.groups) - 0.4)
        axes.grid(axis="x", visible=False)
        axes.set(ylim=(0, 100), ylabel="")
        fig.legend(loc="outside lower center", ncols=len(self.modules))
        self.axes, self.moving = axes, list(self.bars.values())

    def update(self, measure):
        value, label = MEASURES[measure]
        found = {((row.unit, round(row.watts.m_as("W"))), row.modules): float(value(row)) for row in self.rows}
        most = max(found.values())
        self.limits(self.axes, y=(0, 100 if label.endswith("%") else next(top for top in TOPS if most <= top)))
        if self.axes.get_ylabel() != label:
            self.axes.set_ylabel(label)
        for key, bar in self.bars.items():
            bar.set_height(found[key])
        told = "; ".join(f"{self.name(group).replace(chr(10), ', ')}: " + ", ".join(number_text(found[group, count]) for count in self.modules)
                         for group in self.groups)  # fmt: skip
        alt = f"{measure[0].upper()}{measure[1:]}, {label}, for {', '.join(map(str, self.modules))} modules. {told}."
        best, worst = (pick(found, key=found.get) for pick in (max, min))
        words = (f"{measure[0].upper()}{measure[1:]}: from {number_text(found[worst])} ({count_of(worst[1])}, {self.name(worst[0]).replace(chr(10), ', ')}) "
                 f"to {number_text(found[best])} ({count_of(best[1])}, {self.name(best[0]).replace(chr(10), ', ')}). {label}.")  # fmt: skip
        return words, alt


class DesignMap(Picture):
    """Module count by array watts: days of a year without a generator, the reader's design, and the cheapest for a promise."""

    title = "Days without a generator, by bank and array"

    def __init__(self, coach):
        self.found = whole_system.map_of(coach)
        built = whole_system.capacity.arrangement(coach)
        self.modules, self.watts = built.series * (built.parallel - built.reserve), whole_system.system_of(coach).array
        self.most_modules, self.most_watts = int(self.found.modules[-1]), float(self.found.watts[-1])

    def build(self, fig):
        found = self.found
        axes = fig.subplots()
        days = found.alone * found.days
        steps = numpy.linspace(0, found.days, 11)
        filled = axes.contourf(found.watts, found.modules, days, steps, cmap="cividis")
        axes.contour(found.watts, found.modules, days, steps[5:-1], colors="white", linewidths=1)
        fig.colorbar(filled, ax=axes, label=f"Days of {found.days} without generator")
        axes.set(xlim=(found.watts[0] - 40, found.watts[-1] + 40), ylim=(found.modules[0] - 0.3, found.modules[-1] + 0.3),
                 xlabel="Array, rated, in W", ylabel="Battery modules", yticks=found.modules)  # fmt: skip
        axes.grid(visible=False)
        (self.mine,) = axes.plot([0], [1], "o", ms=12, mfc="white", mec="black", mew=2, clip_on=False, label="your design")
        (self.best,) = axes.plot([], [], "*", ms=18, mfc=COLOURS["orange"], mec="black", clip_on=False, label="cheapest that keeps the promise")
        fig.legend(handles=[self.mine, self.best], loc="outside lower center", ncols=2)
        self.moving = [self.mine, self.best]

    def update(self, modules, watts, promise):
        found = self.found
        m = int(numpy.abs(found.modules - modules).argmin())
        n = int(numpy.abs(found.watts - watts).argmin())
        self.mine.set_data([found.watts[n]], [found.modules[m]])
        best = found.cheapest(promise / 100)
        self.best.set_data([], []) if best is None else self.best.set_data([found.watts[best[1]]], [found.modules[best[0]]])
        days, share = round(found.alone[m, n] * found.days), found.alone[m, n]
        design = f"{count_of(found.modules[m])} with {show(Q(float(found.watts[n]), 'W'))}: {days} of {found.days} days, {share:.0%}, "
        price = f"{show(Q(float(found.price[m, n]), 'USD'))} over the years. "
        if best is None:
            rest = f"Nothing on this map keeps {promise:g} %."
        else:
            rest = (f"Cheapest that keeps {promise:g} %: {count_of(found.modules[best[0]])} with {show(Q(float(found.watts[best[1]]), 'W'))}, "
                    f"{show(Q(float(found.price[best]), 'USD'))}.")  # fmt: skip
        alt = (f"A map of array watts, 0 to {found.watts[-1]:,.0f}, by {found.modules[0]} to {found.modules[-1]} modules: days rise to the "
               f"right and upwards, from {round(found.alone.min() * found.days)} to {round(found.alone.max() * found.days)}. "
               f"{design}marked by a circle. {rest}")  # fmt: skip
        return design + price + rest, alt


class ChanceBars(Picture):
    """For each bank: share of the nights and share of whole trips that lacked nothing, with the doubt that is left."""

    title = "Nights and trips without a generator"

    def __init__(self, modules, promise):
        self.modules, self.promise = list(modules), promise

    def build(self, fig):
        axes = fig.subplots()
        at = numpy.arange(len(self.modules))
        self.nights = axes.bar(at - 0.2, 1.0, 0.38, color=COLOURS["blue"], edgecolor="black", label="nights")
        self.trips = axes.bar(at + 0.2, 1.0, 0.38, color=COLOURS["orange"], hatch=HATCHES[1], edgecolor="black", label="whole trips")
        self.doubt = [axes.plot([one + 0.2] * 2, [0, 0], color="black", lw=3, ls="-", marker="")[0] for one in at]
        line = axes.axhline(100 * self.promise, color=COLOURS["vermilion"], lw=2, ls="--", label="the promise")
        axes.set(ylim=(0, 105), ylabel="Share in %", xlabel="Battery modules")
        axes.set_xticks(at, self.modules)
        axes.set_xlim(-0.6, len(at) - 0.4)
        axes.grid(axis="x", visible=False)
        fig.legend(handles=[self.nights, self.trips, line], loc="outside lower center", ncols=3)
        self.moving = [*self.nights, *self.trips, *self.doubt]

    def update(self, found):
        for bars, shares in ((self.nights, found.night_chance), (self.trips, found.trip_chance)):
            for bar, share in zip(bars, shares):
                bar.set_height(100 * share)
        for line, share, doubt in zip(self.doubt, found.trip_chance, found.uncertainty):
            line.set_ydata([100 * max(0, share - 2 * doubt), 100 * min(1, share + 2 * doubt)])
        told = "; ".join(f"{count_of(count)}: {night:.0%} of the nights, {100 * trip:.0f} ± {200 * doubt:.0f} % of the trips"
                         for count, night, trip, doubt in zip(self.modules, found.night_chance, found.trip_chance, found.uncertainty))  # fmt: skip
        return f"{found.trips} trips, {found.nights} nights. {told}.", f"Pairs of bars. {told}. A dashed line stands at {self.promise:.0%}."
