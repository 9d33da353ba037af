"""Cycle life: how long a bank lasts, and what a kilowatt-hour from it costs.

A battery ages in two ways at once. It ages by the calendar, faster when it is warm and full, whether it is
used or not; and it ages by use, faster when it is cycled deep. Two published lithium iron phosphate cells
stand here, called the large cell (250 Ah) and the small cell (3 Ah). Both are good cells and they age
differently: every answer is the band between them, never one line. For lead-acid no trustworthy published
curve was found; its band is from memory and says so.

Depth, state of charge and losses are shares of the rated capacity. A year has 365 days here.
"""

import dataclasses
import functools
import inspect
import math
from typing import Annotated

import numpy

from coachwork import capacity as capacity_topic
from coachwork import checks as rules
from coachwork import energy as energy_topic
from coachwork.profile import covered_share
from coachwork.quantities import (
    ABOVE_ZERO,
    KINDS,
    ActivationEnergy,
    Age,
    Charge,
    Count,
    Current,
    Energy,
    Fraction,
    InputError,
    Mass,
    Number,
    Price,
    PriceOfEnergy,
    Quantity,
    Ratio,
    SpecificHeat,
    Temperature,
    TemperatureDifference,
    Time,
    Voltage,
    VoltageTemperatureCoefficient,
    floats,
    formula,
    nearest,
    show,
)
from coachwork.sources import Source, table

PRACTICE = "common practice, no source"
LARGE, SMALL = "large", "small"
END_OF_LIFE = 0.8
DAYS, HORIZON = 365, 20  # of a year; years beyond which no forecast is given
WEEK, MONTH = Quantity(1.0, "week"), Quantity(1.0, "month")
GAS_CONSTANT = Quantity(8.314462618, "J/(mol*K)")

# ------------------------------------------------------------------------------- counting


@formula
def life_by_count(cycles: Count, cycles_per_week: Annotated[Count, ABOVE_ZERO]) -> Age:
    """Years that a number of cycles lasts on paper: no calendar in it, so it promises too much.

    Parameters
    ----------
    cycles : cycles by the data sheet
    cycles_per_week : how many are used in a week, above 0

    Source: arithmetic; "6000 cycles are 16 years" is common practice, no source.
    """
    return cycles / cycles_per_week * WEEK


@formula
def equivalent_full_cycles(cycles: Count, depth_of_discharge: Fraction) -> Count:
    """Cycles counted as full ones: two of half depth move as much charge as one of full depth.

    Parameters
    ----------
    cycles : how many
    depth_of_discharge : of each

    Source: definition (charge moved over rated charge).
    """
    return cycles * depth_of_discharge


@formula
def throughput(rated_energy: Energy, equivalent_full_cycles: Count) -> Energy:
    """Energy that comes out of a bank in a number of equivalent full cycles.

    Parameters
    ----------
    rated_energy : watt-hours by the label
    equivalent_full_cycles : from `equivalent_full_cycles`

    Source: definition.
    """
    return rated_energy * equivalent_full_cycles


@dataclasses.dataclass(frozen=True, eq=False)
class Cycles:
    """Cycles by rainflow counting: depths (ranges), mean levels, counts (1 or 0.5), arrays of shape (n,)."""

    depths: numpy.ndarray
    means: numpy.ndarray
    counts: numpy.ndarray

    @property
    def by_range(self):
        """How many of each range: a dict of range to count."""
        found = {}
        for depth, count in zip(self.depths.tolist(), self.counts.tolist()):
            found[depth] = found.get(depth, 0.0) + count
        return found

    @property
    def total(self):
        """How many cycles altogether, halves as halves."""
        return float(self.counts.sum())

    @property
    def equivalent(self):
        """The same in cycles of range 1."""
        return float((self.depths * self.counts).sum())

    @property
    def mean_depth(self):
        """Mean range, each cycle counted by the charge it moves; 0 where nothing moves."""
        return float((self.depths**2 * self.counts).sum() / self.equivalent) if self.equivalent else 0.0


def rainflow_cycles(levels: list[Number]) -> Cycles:
    """Cycles in a trace of state of charge, small ones inside large ones taken apart.

    Parameters
    ----------
    levels : state of charge at each moment, at least one

    Source: ASTM E1049-85 section 5.4.4 (rainflow counting), by the package `rainflow`.
    """
    import rainflow

    values = numpy.asarray(levels, float)
    if values.ndim != 1 or not len(values) or not numpy.isfinite(values).all():
        raise InputError(
            "levels", f"an array of shape {values.shape} is given", "a row of finite numbers", "[1, 0.4, 1]"
        )
    values = values[numpy.append(True, numpy.diff(values) != 0)]
    way = numpy.sign(numpy.diff(values))  # turning points are found here: the package is slow on arrays
    turns = values[numpy.concatenate([[True], way[:-1] != way[1:], [True]])] if len(values) > 1 else values
    # The last value stands twice, because the package takes two points for none.
    found = list(rainflow.extract_cycles([*turns.tolist(), float(turns[-1])])) or [
        (0.0, float(values[0]), 0.0)
    ]
    depths, means, counts, *_ = zip(*found)
    return Cycles(numpy.array(depths), numpy.array(means), numpy.array(counts))


def miners_sum(counts: list[Count], lives: list[Count]) -> Ratio:
    """Share of a life that is used up: each cycle takes one part of the number that its kind would last.

    Parameters
    ----------
    counts : how many cycles of each kind
    lives : how many of that kind alone would end the life, in the same order

    Source: Palmgren 1924 and Miner 1945 (from memory). Order and rest do not matter in it; in a battery
    they do.
    """
    if len(counts) != len(lives) or not len(counts):
        raise InputError(
            "lives",
            f"{len(lives)} are given for {len(counts)} counts",
            "one life for each count",
            "[500, 1200]",
        )
    counts, lives = (
        numpy.array([KINDS["count"].check(one, name) for one in given])
        for name, given in (("counts", counts), ("lives", lives))
    )
    if not (lives > 0).all():
        raise InputError("lives", "a life of 0 cycles is given", "numbers above 0", "[500, 1200]")
    return float((counts / lives).sum())


# ------------------------------------------------------------------------------- the large cell


@formula
def graphite_voltage(state_of_charge: Fraction) -> Voltage:
    """Voltage of the graphite electrode of a cell against lithium: the fuller the cell, the lower.

    Low voltage is what drives calendar ageing; where it comes near zero, lithium plates.

    Parameters
    ----------
    state_of_charge : share of the capacity that is left

    Source: Safari and Delacourt, J. Electrochem. Soc. 158 (2011) A562, as used by NREL BLAST-Lite.
    """
    filled = 0.0085 + state_of_charge * (0.78 - 0.0085)
    return Quantity(
        0.6379
        + 0.5416 * numpy.exp(-305.5309 * filled)
        - 0.044 * numpy.tanh((filled - 0.1958) / 0.1088)
        - 0.1978 * numpy.tanh((filled - 1.0571) / 0.0854)
        - 0.6875 * numpy.tanh((filled + 0.0117) / 0.0529)
        - 0.0175 * numpy.tanh((filled - 0.5692) / 0.0875),
        "V",
    )


@formula
def calendar_rate(temperature: Temperature, graphite_voltage: Voltage) -> Ratio:
    """How fast the large cell ages by the calendar: the share lost in its first day.

    Parameters
    ----------
    temperature : of the cells; fitted from 10 to 45 °C, colder and warmer is a guess
    graphite_voltage : from `graphite_voltage`

    Source: NREL BLAST-Lite, model of a 250 Ah cell, data doi:10.1016/j.est.2023.109042.
    """
    return (
        83700
        * numpy.exp(-5210 / floats(temperature, "K"))
        * numpy.exp(-3560 * floats(graphite_voltage, "V") / floats(temperature, "K"))
    )


@formula
def calendar_loss(calendar_rate: Ratio, age: Age) -> Ratio:
    """Share of its capacity that the large cell has lost by the calendar: fast at first, then slower.

    Parameters
    ----------
    calendar_rate : from `calendar_rate`
    age : since it was new

    Source: as for `calendar_rate`.
    """
    return calendar_rate * floats(age, "day") ** 0.526


@formula
def cycle_rate(depth_of_discharge: Fraction, c_rate: Ratio, temperature: Temperature) -> Ratio:
    """How fast the large cell ages by use: the share lost in its first full cycle.

    It comes out smaller for a warmer cell. The fit only balances the calendar's share there: do not read it
    as advice.

    Parameters
    ----------
    depth_of_discharge : of a cycle; fitted from 80 to 100 %
    c_rate : mean rate of charge and discharge while current flows; charging was tested up to 0.65
    temperature : of the cells; fitted from 10 to 45 °C

    Source: as for `calendar_rate`. A second term, which is below 1e-200 at any temperature here, is left out.
    """
    return (4.38e-8 + 1.55e-8 * depth_of_discharge + 1.68e-7 * c_rate) * numpy.exp(
        2190 / floats(temperature, "K")
    )


@formula
def cycle_loss(cycle_rate: Ratio, equivalent_full_cycles: Count) -> Ratio:
    """Share of its capacity that the large cell has lost by use.

    Parameters
    ----------
    cycle_rate : from `cycle_rate`
    equivalent_full_cycles : since it was new

    Source: as for `calendar_rate`.
    """
    return cycle_rate * equivalent_full_cycles**0.828


@formula
def capacity_left(calendar_loss: Ratio, cycle_loss: Ratio) -> Fraction:
    """Share of the rated capacity that is left. Both losses are shares of the new capacity, so they add.

    Parameters
    ----------
    calendar_loss : lost by the calendar
    cycle_loss : lost by use

    Source: NREL BLAST-Lite, both cells.
    """
    return max(0, 1 - calendar_loss - cycle_loss)


# ------------------------------------------------------------------------------- the small cell


@formula
def small_calendar_limit(temperature: Temperature, graphite_voltage: Voltage) -> Ratio:
    """Share that the small cell would lose by the calendar in the very long run.

    Parameters
    ----------
    temperature : of the cells; fitted from 20 to 40 °C
    graphite_voltage : from `graphite_voltage`

    Source: NREL BLAST-Lite, model of a 3 Ah cell, model doi:10.1149/1945-7111/ac86a8, data
    doi:10.1016/j.est.2018.01.019.
    """
    kelvin, root = floats(temperature, "K"), floats(graphite_voltage, "V") ** 0.5
    return 0.989687151293590 * numpy.exp(
        -2881067.56019324 * root / kelvin**2 + 8742.06309157261 * root / kelvin
    )


@formula
def small_calendar_shape(temperature: Temperature, graphite_voltage: Voltage) -> Ratio:
    """How the small cell's calendar loss bends over time: 0.5 is the square root.

    Parameters
    ----------
    temperature, graphite_voltage : as for `small_calendar_limit`

    Source: as for `small_calendar_limit`.
    """
    kelvin, volts = floats(temperature, "K"), floats(graphite_voltage, "V")
    third, fourth = volts ** (1 / 3), volts**0.25
    return 0.000332850281062177 * numpy.exp(
        (734553185711.369 / kelvin**4 - 3284991315.45121 / kelvin**3) * third
        + (0.00127227593657290 * kelvin**2 - 2.82161575620780e-06 * kelvin**3) * fourth
    )


SMALL_SPEED = 0.000130510034211874  # per day


@formula
def small_calendar_loss(calendar_limit: Ratio, calendar_shape: Ratio, age: Age) -> Ratio:
    """Share of its capacity that the small cell has lost by the calendar.

    Parameters
    ----------
    calendar_limit : from `small_calendar_limit`
    calendar_shape : from `small_calendar_shape`
    age : since it was new

    Source: as for `small_calendar_limit`; its sigmoid written as a hyperbolic tangent.
    """
    return calendar_limit * numpy.tanh((SMALL_SPEED * floats(age, "day")) ** calendar_shape / 2)


@formula
def small_cycle_rate(depth_of_discharge: Fraction, c_rate: Ratio) -> Ratio:
    """How fast the small cell ages by use. Its tests showed too little of temperature to have it in.

    Parameters
    ----------
    depth_of_discharge : of a cycle; fitted from 80 to 100 %, and without meaning below 18 %, where it turns
        back
    c_rate : mean rate of charge and discharge while current flows, up to 1

    Source: NREL BLAST-Lite, model of a 3 Ah cell; data doi:10.1016/j.jpowsour.2019.227666.
    """
    return abs(
        -6.81260579372875e-06
        + 2.59615973160844e-05 * depth_of_discharge
        + 2.11559710307295e-06 * numpy.exp(depth_of_discharge**2 * c_rate**3)
    )


@formula
def small_cycle_loss(cycle_rate: Ratio, equivalent_full_cycles: Count) -> Ratio:
    """Share of its capacity that the small cell has lost by use.

    Parameters
    ----------
    cycle_rate : from `small_cycle_rate`
    equivalent_full_cycles : since it was new

    Source: as for `small_cycle_rate`.
    """
    return (cycle_rate * equivalent_full_cycles) ** 1.12847759334355


# ------------------------------------------------------------------------------- a year of a bank, repeated


def _daily_cycle():
    """Share of a cycle's depth that is out at the end of each hour: 16 hours out, 8 hours in."""
    return numpy.concatenate([numpy.arange(1, 17) / 16, numpy.arange(7, -1, -1) / 8])


@dataclasses.dataclass(frozen=True, eq=False)
class Year:
    """A year of a bank that repeats until its end, in equal steps, any whole number of them a day.

    state_of_charge : at the end of each step, shares of the rated capacity, floats of shape (n,).
    temperature : of the cells in each step, K, floats of the same shape.
    """

    state_of_charge: numpy.ndarray
    temperature: numpy.ndarray

    def __post_init__(self):
        level, kelvin = self.state_of_charge, self.temperature
        if level.ndim != 1 or level.shape != kelvin.shape or not len(level) or len(level) % DAYS:
            raise InputError(
                "year",
                f"{level.shape} states of charge and {kelvin.shape} temperatures are given",
                f"as many of one as of the other, a multiple of {DAYS}",
            )
        if not ((0 <= level) & (level <= 1)).all():
            raise InputError(
                "state of charge", f"{level.min():.3g} to {level.max():.3g} is given", "shares from 0 to 1"
            )
        if not ((200 < kelvin) & (kelvin < 373)).all():
            raise InputError(
                "temperature",
                f"{kelvin.min():.3g} to {kelvin.max():.3g} K is given",
                "temperatures of a battery, in kelvin",
            )

    @functools.cached_property
    def moved(self):
        """Charge that each step moves, either way, as a share of the capacity; the year closes on itself."""
        return numpy.abs(numpy.diff(self.state_of_charge, prepend=self.state_of_charge[-1]))

    @functools.cached_property
    def cycles(self):
        """The Cycles of the year by rainflow counting, from its fullest moment round to the same."""
        fullest = numpy.roll(self.state_of_charge, -int(self.state_of_charge.argmax()))
        return rainflow_cycles(numpy.append(fullest, fullest[0]))

    @property
    def equivalent_full_cycles(self):
        """Equivalent full cycles of the year: half of all charge moved."""
        return float(self.moved.sum() / 2)

    @property
    def c_rate(self):
        """Mean rate of charge and discharge while current flows (above C/1000), 1/h; 0 where none does."""
        rate = self.moved * (len(self.moved) / (24 * DAYS))
        flows = rate > 0.001
        return float(rate[flows].mean()) if flows.any() else 0.0

    @property
    def use_temperature(self):
        """Mean temperature in K while charge moves; of the whole year where none does."""
        return float(numpy.average(self.temperature, weights=self.moved if self.moved.any() else None))

    def outside(self, cell):
        """In what this year lies outside the fit of a cell: a dict of name to words, empty inside it."""
        low, high, most = (10, 45, 0.65) if cell == LARGE else (20, 40, 1.0)
        celsius, depth, found = self.temperature - 273.15, self.cycles.mean_depth, {}
        share = float(((celsius < low) | (celsius > high)).mean())
        if share:
            edges = f"{show(Quantity(low, 'degC'))} to {show(Quantity(high, 'degC'))}"
            found["warmth"] = f"{share:.0%} of the year outside {edges}"
        if self.moved.any() and depth < 0.8 - 1e-9:
            found["depth"] = f"depth {depth:.0%}, fitted for 80 to 100 %"
        if self.c_rate > most:
            found["rate"] = f"rate {self.c_rate:.2g}C, tested up to {most:g}C"
        return found


def year_of_use(
    cycles_per_week: Count,
    depth_of_discharge: Fraction,
    use_temperature: Temperature,
    weeks_in_use: Count = 52.0,
    storage_temperature: Temperature | None = None,
    storage_charge: Fraction = 0.5,
    top_charge: Fraction = 1.0,
    cycle_shape: object = None,
) -> Year:
    """A year of so many weeks of use and the rest in storage, hour by hour.

    In a week of use the bank rests full between its cycles. Weeks of use lie together in the middle of the
    year.

    Parameters
    ----------
    cycles_per_week : cycles in a week of use, at most one for each span that a cycle takes
    depth_of_discharge : of each cycle
    use_temperature : of the cells in weeks of use
    weeks_in_use : a year, 0 to 52; 52 leave no storage
    storage_temperature : of the cells in storage; None for that of use
    storage_charge : state of charge in storage
    top_charge : state of charge at which charging ends in use
    cycle_shape : share of the depth that is out at the end of each hour of a cycle, whole days, ending at 0;
        None for 16 hours out and 8 hours in

    Source: none, a description of use.
    """
    count, fraction, kelvin = KINDS["count"].check, KINDS["fraction"].check, KINDS["temperature"].check
    weeks, depth = count(weeks_in_use, "weeks in use"), fraction(depth_of_discharge, "depth of discharge")
    top, storage = fraction(top_charge, "top charge"), fraction(storage_charge, "storage charge")
    warm = floats(kelvin(use_temperature, "use temperature"), "K")
    cool = (
        warm
        if storage_temperature is None
        else floats(kelvin(storage_temperature, "storage temperature"), "K")
    )
    shape = _daily_cycle() if cycle_shape is None else numpy.asarray(cycle_shape, float)
    long = len(shape) // 24
    if weeks > 52:
        raise InputError("weeks in use", f'"{show(weeks)}" is given', "weeks of a year, 0 to 52", "26")
    if count(cycles_per_week, "cycles per week") * long > 7 + 1e-9:
        raise InputError("cycles per week", f'"{show(cycles_per_week)}" of {long} days each is given',
                         "cycles that fit in a week", "7")  # fmt: skip
    if depth > top:
        raise InputError("depth of discharge", f"{depth:.0%} is given, from a bank charged to {top:.0%}",
                         "no more than there is")  # fmt: skip
    used = DAYS if 7 * weeks > DAYS - 2 else round(7 * weeks)
    first = (DAYS - used) // 2
    level, temperature = numpy.full(24 * DAYS, storage), numpy.full(24 * DAYS, cool)
    level[24 * first : 24 * (first + used)], temperature[24 * first : 24 * (first + used)] = top, warm
    if 0 < used < DAYS:  # a day to fill it before, a day to let it down after
        level[24 * (first - 1) : 24 * first] = numpy.linspace(storage, top, 25)[1:]
        level[24 * (first + used) : 24 * (first + used + 1)] = numpy.linspace(top, storage, 25)[1:]
    cycles = min(round(cycles_per_week * used / 7), used // long)
    starts = first + numpy.arange(cycles) * used // max(cycles, 1)
    level[(24 * starts[:, None] + numpy.arange(len(shape))).ravel()] = numpy.tile(top - depth * shape, cycles)
    return Year(level, temperature)


@dataclasses.dataclass(frozen=True, eq=False)
class Fade:
    """Capacity that one published cell loses over the years: shares of the new capacity, month by month.

    cell : its name. years : floats of shape (n,), from 0 to HORIZON. calendar, cycle : what each way has
    taken by then.
    """

    cell: str
    years: numpy.ndarray
    calendar: numpy.ndarray
    cycle: numpy.ndarray

    @property
    def left(self):
        """Share of the capacity that is left, floats of shape (n,), never below 0."""
        return numpy.maximum(0, 1 - self.calendar - self.cycle)

    def at(self, age):
        """(calendar, cycle, left) at an age, floats, straight lines between months."""
        age = KINDS["age"].check(age, "age")
        if floats(age, "year") > HORIZON:
            raise InputError("age", f'"{show(age)}" is given', f"at most {HORIZON} years")
        years = floats(age, "day") / DAYS  # 20 years with their leap days end five days past the last month
        return tuple(
            float(numpy.interp(years, self.years, part)) for part in (self.calendar, self.cycle, self.left)
        )

    def years_to(self, end_of_life):
        """Years until so much is left, a float; None where it is later than HORIZON."""
        left = self.left
        if left[-1] > end_of_life:
            return None
        return float(numpy.interp(-end_of_life, -left, self.years))


SHALLOWEST = 0.5
MONTHS = numpy.arange(12 * HORIZON + 1) * (DAYS / 12)  # days at which a Fade is known


def fade(year: Year, cell: str) -> Fade:
    """How one published cell ages when a year repeats.

    Unlike days do not average: each moves the cell along its own curve from where it stands. For the power
    laws of the large cell that has a closed form, the mean of rate^(1/p); for the small cell's curve each
    month is carried on from the age at which that month alone would have done as much. Cycles shallower
    than half depth count as if they were of half depth: nothing was fitted there, and the small cell's law
    would turn back.

    Parameters
    ----------
    year : the year
    cell : "large" or "small"

    Source: the state equations of NREL BLAST-Lite, solved exactly.
    """
    if cell not in (LARGE, SMALL):
        raise InputError(
            "cell",
            f'"{cell}" is not known',
            f"one of {LARGE}, {SMALL}",
            f'"{nearest(str(cell), (LARGE, SMALL)) or LARGE}"',
        )
    kelvin = Quantity(year.temperature, "K")
    volts = _bare(graphite_voltage)(year.state_of_charge)
    efc, rate = year.equivalent_full_cycles, year.c_rate
    depth = min(1.0, max(SHALLOWEST, year.cycles.mean_depth))
    used = MONTHS / DAYS * efc
    if cell == LARGE:
        by_day = _bare(calendar_rate)(kelvin, volts).reshape(DAYS, -1).mean(axis=1)
        calendar = _mean_of_power(by_day, 0.526, None) * MONTHS**0.526
        by_step = _bare(cycle_rate)(depth, rate, kelvin)
        cycle = _mean_of_power(by_step, 0.828, year.moved) * used**0.828
    else:
        limit, shape = (
            _by_month(_bare(part)(kelvin, volts)) for part in (small_calendar_limit, small_calendar_shape)
        )
        calendar = _carried_on(limit, shape)
        cycle = _bare(small_cycle_loss)(small_cycle_rate(depth, rate), used)
    return Fade(cell, MONTHS / DAYS, calendar, cycle)


_bare = inspect.unwrap  # a formula without the checks of its arguments, for rows of numbers checked already


def _mean_of_power(rates, power, weights):
    weights = weights if weights is None or weights.any() else None
    return float(numpy.average(rates ** (1 / power), weights=weights) ** power)


def _by_month(values):
    edges = numpy.linspace(0, len(values), 13).astype(int)[:-1]
    return (numpy.add.reduceat(values, edges) / numpy.diff(numpy.append(edges, len(values)))).tolist()


def _carried_on(limit, shape):
    """Calendar loss of the small cell at MONTHS, from its limit and shape in each month of a year."""
    lost, step = [0.0], DAYS / 12
    for month in range(12 * HORIZON):
        most, bend, now = limit[month % 12], shape[month % 12], lost[-1]
        if now < most:
            days = (2 * math.atanh(now / most)) ** (1 / bend) / SMALL_SPEED + step
            now = max(now, most * math.tanh((SMALL_SPEED * days) ** bend / 2))
        lost.append(now)
    return numpy.array(lost)


@dataclasses.dataclass(frozen=True)
class Band:
    """A span of ages between the least and the most to be expected; None is later than HORIZON."""

    shortest: Age | None
    longest: Age | None

    def __str__(self):
        if self.shortest is None:
            return f"more than {HORIZON} years"
        low = floats(self.shortest, "year")
        if self.longest is None:
            return f"{low:.0f} to more than {HORIZON} years"
        high = floats(self.longest, "year")
        digits = 0 if high >= 10 else 1
        return f"{low:.{digits}f} to {high:.{digits}f} years"


def life(year: Year, end_of_life: Annotated[Fraction, ABOVE_ZERO] = END_OF_LIFE) -> Band:
    """Years until a lithium iron phosphate bank has so much left: the band between the two published cells.

    Parameters
    ----------
    year : how it is used
    end_of_life : share of the rated capacity at which it counts as worn out

    Both cells were tested for a few years only. What lies beyond, and every part of the bank that is not a
    cell (electronics, joints, seals), is not in it. Source: as for `fade`.
    """
    return band([fade(year, cell) for cell in (LARGE, SMALL)], end_of_life)


def band(fades, end_of_life: Annotated[Fraction, ABOVE_ZERO] = END_OF_LIFE) -> Band:
    """The Band of years in which several cells reach their end of life.

    Parameters
    ----------
    fades : the Fade of each
    end_of_life : share of the rated capacity at which they count as worn out

    Source: as for `fade`.
    """
    end = KINDS["fraction"].check(end_of_life, "end of life")
    found = sorted((years is None, years or 0.0) for years in (one.years_to(end) for one in fades))
    ages = [None if late else Quantity(years * DAYS, "day").to("year") for late, years in found]
    return Band(ages[0], ages[-1])


def capacity_after_daily_cycles(
    cell: str, depth_of_discharge: Fraction, temperature: Temperature, age: Age
) -> Fraction:
    """Capacity left of one published cell after a cycle a day: 16 hours out from full, 8 hours in.

    Parameters
    ----------
    cell : "large" or "small"
    depth_of_discharge : of each cycle
    temperature : of the cell
    age : since it was new, at most 20 years

    Source: as for `fade`.
    """
    return fade(year_of_use(7, depth_of_discharge, temperature), cell).at(age)[2]


def capacity_after_storage(
    cell: str, state_of_charge: Fraction, temperature: Temperature, age: Age
) -> Fraction:
    """Capacity left of one published cell that only stood.

    Parameters
    ----------
    cell : "large" or "small"
    state_of_charge : at which it stood
    temperature : of the cell
    age : since it was new, at most 20 years

    Source: as for `fade`.
    """
    return fade(year_of_use(0, 0, temperature, 0, storage_charge=state_of_charge), cell).at(age)[2]


def capacity_after_use(
    cell: str,
    cycles_per_week: Count,
    depth_of_discharge: Fraction,
    use_temperature: Temperature,
    age: Age,
    weeks_in_use: Count = 52.0,
    storage_temperature: Temperature | None = None,
    storage_charge: Fraction = 0.5,
    top_charge: Fraction = 1.0,
) -> Fraction:
    """Capacity left of one published cell after years of use and storage.

    Parameters
    ----------
    cell : "large" or "small"
    cycles_per_week, depth_of_discharge, use_temperature, weeks_in_use, storage_temperature, storage_charge,
    top_charge : as for `year_of_use`
    age : since it was new, at most 20 years

    Source: as for `fade`.
    """
    year = year_of_use(
        cycles_per_week,
        depth_of_discharge,
        use_temperature,
        weeks_in_use,
        storage_temperature,
        storage_charge,
        top_charge,
    )
    return fade(year, cell).at(age)[2]


def years_of_daily_cycles(
    cell: str, depth_of_discharge: Fraction, temperature: Temperature, end_of_life: Fraction = END_OF_LIFE
) -> Age:
    """Age at which one published cell, cycled once a day, has so much left.

    Parameters
    ----------
    cell, depth_of_discharge, temperature : as for `capacity_after_daily_cycles`
    end_of_life : share left that counts as worn out

    Errors: InputError where it lasts more than 20 years. Source: as for `fade`.
    """
    years = fade(year_of_use(7, depth_of_discharge, temperature), cell).years_to(
        KINDS["fraction"].check(end_of_life)
    )
    if years is None:
        raise InputError(
            "end of life", f"it is reached after more than {HORIZON} years", "harder use, or a higher share"
        )
    return Quantity(years * DAYS, "day").to("year")


@dataclasses.dataclass(frozen=True)
class CycleBand:
    """Cycles to the end of life, the least and the most to be expected."""

    low: Count
    high: Count


@dataclasses.dataclass(frozen=True)
class LithiumCycles:
    """Cycles of one depth: `by_use` if time did nothing, `in_time` as many as there is time for."""

    by_use: CycleBand
    in_time: CycleBand


def lithium_cycles(
    depth_of_discharge: Annotated[Fraction, ABOVE_ZERO],
    temperature: Temperature,
    cycles_per_week: Annotated[Count, ABOVE_ZERO] = 7.0,
    end_of_life: Fraction = END_OF_LIFE,
) -> LithiumCycles:
    """Cycles that lithium iron phosphate lasts, by use alone and with the calendar beside it.

    Parameters
    ----------
    depth_of_discharge : of each cycle, above 0; below half depth it counts as half
    temperature : of the cells
    cycles_per_week : how many are used in a week, above 0, at most 7
    end_of_life : share left that counts as worn out

    Time is counted up to HORIZON. Source: as for `fade`.
    """
    year, lost = year_of_use(cycles_per_week, depth_of_discharge, temperature), 1 - end_of_life
    depth = max(SHALLOWEST, depth_of_discharge)
    large = (lost / cycle_rate(depth, year.c_rate, temperature)) ** (1 / 0.828)
    small = lost ** (1 / 1.12847759334355) / small_cycle_rate(depth, year.c_rate)
    years = [fade(year, cell).years_to(end_of_life) for cell in (LARGE, SMALL)]
    cycles = [DAYS / 7 * cycles_per_week * (HORIZON if one is None else one) for one in years]
    return LithiumCycles(
        CycleBand(*sorted(one / depth_of_discharge for one in (large, small))), CycleBand(*sorted(cycles))
    )


# ------------------------------------------------------------------------------- lead-acid


def cycles_to_failure(chemistry_name: str, depth_of_discharge: Annotated[Fraction, ABOVE_ZERO]) -> CycleBand:
    """Cycles of one depth that a lead-acid battery lasts: a plain one badly charged, a good one well charged.

    Straight lines on log-log paper between the rows of the table; below 10 % the charge moved is what counts.

    Parameters
    ----------
    chemistry_name : "AGM" or "flooded lead-acid"
    depth_of_discharge : of each cycle, above 0

    Source: data/tables/lead_acid_cycles.csv, from memory.
    """
    depth = KINDS["fraction"].check(depth_of_discharge, "depth of discharge")
    if depth == 0:
        raise InputError("depth of discharge", '"0" is given', "a depth above 0", '"50 %"')
    low, high = _lead_acid_lives(chemistry_name, numpy.array([depth]))
    return CycleBand(float(low[0]), float(high[0]))


def _lead_acid_lives(chemistry_name, depths):
    """(low, high) cycles to failure at each depth, arrays."""
    rows = [row for row in table("lead_acid_cycles").rows if row["chemistry"] == chemistry_name]
    if not rows:
        known = list(dict.fromkeys(row["chemistry"] for row in table("lead_acid_cycles").rows))
        raise InputError(
            "chemistry",
            f'"{chemistry_name}" has no curve of cycles against depth',
            "one of " + ", ".join(known),
            f'"{nearest(str(chemistry_name), known) or known[0]}"',
        )
    known = numpy.array([floats(row["depth"], "") for row in rows])
    shallow = numpy.minimum(1.0, depths / known[0])
    return tuple(
        numpy.exp(
            numpy.interp(
                numpy.log(numpy.maximum(depths, known[0])),
                numpy.log(known),
                numpy.log([row[column] for row in rows]),
            )
        )
        / shallow
        for column in ("low", "high")
    )


@formula
def life_at_temperature(
    rated_life: Age,
    temperature: Temperature,
    reference: Temperature,
    halving: Annotated[TemperatureDifference, ABOVE_ZERO],
) -> Age:
    """Calendar life of a lead-acid battery at another temperature: so many degrees warmer, half the life.

    Parameters
    ----------
    rated_life : at the reference temperature
    temperature : of the battery, as a mean of the year
    reference : temperature of the printed life, 77 °F (25 °C)
    halving : degrees that halve the life; 10 K and 15 °F (8.3 K) are both in use, and nobody is sure whose
        they are

    Source: rule of thumb (its attribution to IEEE 1187 and 1188 is from memory).
    """
    return rated_life * 2 ** ((reference - temperature) / halving)


@formula
def activation_energy(
    speed_up: Annotated[Ratio, ABOVE_ZERO], temperature: Temperature, reference: Temperature
) -> ActivationEnergy:
    """Activation energy that a speed-up between two temperatures means.

    Parameters
    ----------
    speed_up : how many times faster at the temperature than at the reference
    temperature : the warmer one
    reference : the cooler one

    Source: Arrhenius.
    """
    return GAS_CONSTANT * numpy.log(speed_up) / (1 / reference - 1 / temperature)


@formula
def arrhenius_speed_up(
    activation_energy: ActivationEnergy, temperature: Temperature, reference: Temperature
) -> Ratio:
    """How many times faster a reaction goes at one temperature than at another.

    Parameters
    ----------
    activation_energy : from `activation_energy`, or of a published cell
    temperature : the one asked about
    reference : the one compared with

    Source: Arrhenius.
    """
    return numpy.exp(activation_energy / GAS_CONSTANT * (1 / reference - 1 / temperature))


@formula
def life_by_both(calendar_life: Annotated[Age, ABOVE_ZERO], cycling_life: Annotated[Age, ABOVE_ZERO]) -> Age:
    """Life of a battery that ages by the calendar and by use at once: the two rates add.

    Parameters
    ----------
    calendar_life : if it only stood
    cycling_life : if time did nothing

    Source: common practice, no source.
    """
    return 1 / (1 / calendar_life + 1 / cycling_life)


@formula
def charge_voltage_at(
    cell_charge_voltage: Voltage,
    voltage_coefficient: VoltageTemperatureCoefficient,
    temperature: Temperature,
    reference: Temperature,
    cells: Count = 1.0,
) -> Voltage:
    """Charge voltage of a lead-acid battery at its own temperature: lower when warm, or it dries out early.

    Parameters
    ----------
    cell_charge_voltage : of one cell at the reference temperature
    voltage_coefficient : a cell's, -3 to -5 mV/K
    temperature : of the battery
    reference : temperature for which the voltage is printed, 77 °F (25 °C)
    cells : in series, 6 for 12 V

    Lithium iron phosphate is charged without it. Source: battery reference text, secondary.
    """
    return cells * (cell_charge_voltage + voltage_coefficient * (temperature - reference))


def lead_acid_life(chemistry_name: str, year: Year) -> Band:
    """Band of years of a lead-acid bank by calendar and by Miner's sum of a year's cycles.

    Parameters
    ----------
    chemistry_name : "AGM" or "flooded lead-acid"
    year : how it is used, a Year

    Source: data/tables/lead_acid_calendar.csv and lead_acid_cycles.csv, from memory.
    """
    shelf = table("lead_acid_calendar").row(chemistry=chemistry_name)
    warmth = 2 ** (numpy.maximum(0, year.temperature - 298.15) / 10)  # no credit for cold
    cycles, found = year.cycles, []
    lives = _lead_acid_lives(chemistry_name, numpy.maximum(cycles.depths, 1e-9))
    for column, most in zip(("low", "high"), lives):
        calendar = shelf[column] / float(warmth.mean())
        used = float((cycles.counts / most).sum())
        found.append(life_by_both(calendar, Quantity(1 / used, "year")) if used else calendar.to("year"))
    return Band(*found)


# ------------------------------------------------------------------------------- side by side


@formula
def mismatch_life_cut(parallel: Count) -> Fraction:
    """Share of its life that a bank loses because its parallel cells differ by 10 % in resistance, at most.

    Parameters
    ----------
    parallel : strings side by side, 2 or more; beyond 2 the straight line is an extrapolation

    Source: Effect of terminal resistance and SoH asymmetry on parallel cell interaction, J. Energy Storage,
    article 118536, abstract: up to 3.2 % for two, 0.8 % more for each further one, under a drive schedule.
    """
    return 0.032 + 0.008 * (parallel - 2)


# ------------------------------------------------------------------------------- cold


def cold_charge_rate(temperature: Temperature) -> Ratio:
    """Highest rate at which lithium iron phosphate should be charged at a temperature; 0 where not at all.

    A step downwards at every doubtful place: below freezing nothing, near it C/10. A module's own sheet
    rules.

    Parameters
    ----------
    temperature : of the coldest cell

    Source: data/tables/cold_charge.csv, each row its own; 0 °C near-universal in data sheets, secondary;
    none above 45 °C, from memory.
    """
    celsius = floats(KINDS["temperature"].check(temperature, "temperature"), "degC")
    if celsius > 45 + 1e-9:
        return 0.0
    rates = [
        row["rate"]
        for row in table("cold_charge").rows
        if floats(row["temperature"], "degC") <= celsius + 1e-9
    ]
    return rates[-1] if rates else 0.0


@formula
def cooling_time(
    temperature: Temperature, limit_temperature: Temperature, ambient: Temperature, time_constant: Time
) -> Time:
    """How long a bank whose heater has failed stays above a limit: what a set point above freezing buys.

    Parameters
    ----------
    temperature : at which it was held, above the limit
    limit_temperature : below which it may not be charged
    ambient : of the surroundings, below the limit
    time_constant : in which it comes two thirds of the way to them; measured, or from lesson 08

    Source: Newton's law of cooling.
    """
    if not temperature > limit_temperature > ambient:
        raise InputError(
            "temperature",
            f'"{show(temperature)}", "{show(limit_temperature)}" and "{show(ambient)}" are given',
            "the bank above its limit and the limit above the surroundings",
            '"38 degF", "32 degF", "10 degF"',
        )
    return time_constant * numpy.log((temperature - ambient) / (limit_temperature - ambient))


@formula
def warm_up_energy(
    mass: Mass, specific_heat: SpecificHeat, temperature_rise: TemperatureDifference
) -> Energy:
    """Energy to warm a cold-soaked bank; what escapes meanwhile comes on top.

    Parameters
    ----------
    mass : of the cells
    specific_heat : of cells, 800 to 1130 J/(kg K)
    temperature_rise : from where it stands to where it may be charged

    Source: definition of specific heat, Q = m c ΔT.
    """
    return mass * specific_heat * temperature_rise


# ------------------------------------------------------------------------------- storage


@formula
def time_to_cut_off(
    capacity: Annotated[Charge, ABOVE_ZERO],
    state_of_charge: Fraction,
    lowest_charge: Fraction,
    standing_current: Current,
    self_discharge: Annotated[Fraction, ABOVE_ZERO],
) -> Age:
    """How long a stored bank lasts until its protection opens; 0 where it is that low already.

    Self-discharge takes a share of what is left, a standing draw always the same.

    Parameters
    ----------
    capacity : of the bank
    state_of_charge : at the start
    lowest_charge : at which its protection opens, or its owner must come
    standing_current : what is drawn with everything off: alarms, radio memory, the battery's own electronics
    self_discharge : share of what is left that goes in a month, above 0

    Source: ds/dt = -self-discharge s - draw, integrated.
    """
    start = max(state_of_charge, lowest_charge)
    leak = -numpy.log(1 - self_discharge) / MONTH
    draw = standing_current / capacity
    return numpy.log((start * leak + draw) / (lowest_charge * leak + draw)) / leak


@formula
def charge_in_storage(
    capacity: Annotated[Charge, ABOVE_ZERO],
    state_of_charge: Fraction,
    standing_current: Current,
    self_discharge: Annotated[Fraction, ABOVE_ZERO],
    age: Age,
) -> Fraction:
    """State of charge of a bank after some time in storage, never below 0.

    Parameters
    ----------
    capacity, state_of_charge, standing_current, self_discharge : as for `time_to_cut_off`
    age : time in storage

    Source: as for `time_to_cut_off`.
    """
    leak = -numpy.log(1 - self_discharge) / MONTH
    draw = standing_current / capacity
    return numpy.maximum(0, (state_of_charge + draw / leak) * numpy.exp(-leak * age) - draw / leak)


def storage_check(chemistry_name: str, state_of_charge: Fraction) -> rules.Check:
    """Whether a bank is stored at a charge that suits its chemistry.

    Parameters
    ----------
    chemistry_name : a chemistry
    state_of_charge : at which it is put away

    Source: common practice, no source; for lithium the calendar laws of both published cells say the same.
    """
    level = KINDS["fraction"].check(state_of_charge, "state of charge")
    practice = Source(PRACTICE, PRACTICE)
    found = show(Quantity(100 * level, "percent"))
    if capacity_topic.chemistry(chemistry_name).is_lithium:
        return rules.holds(
            "Is the bank stored about half full?",
            found,
            "40 to 60 %",
            true=0.4 - 1e-9 <= level <= 0.6 + 1e-9,
            why="Full, it ages faster; near empty, its own electronics may drain it for good.",
            mend="Stop at about half, open the main switch, look again after a few months.",
            source=practice,
            topic="cycle_life",
        )
    return rules.holds(
        "Is the bank stored full?",
        found,
        "100 %, topped up every month or two",
        true=level >= 0.95,
        why="Lead-acid left part empty sulfates within weeks, and its electrolyte freezes sooner.",
        mend="Charge it fully before and during storage.",
        source=practice,
        topic="cycle_life",
    )


# ------------------------------------------------------------------------------- money


@formula
def lifetime_energy(yearly_energy: Energy, age: Age) -> Energy:
    """Energy that a bank delivers in its life.

    Parameters
    ----------
    yearly_energy : out of the bank in a year
    age : to its end of life

    Source: arithmetic.
    """
    return yearly_energy * age / Quantity(1.0, "year")


@formula
def wear_cost(bank_price: Price, lifetime_energy: Annotated[Energy, ABOVE_ZERO]) -> PriceOfEnergy:
    """What the bank's own price adds to each kWh that comes out of it.

    Parameters
    ----------
    bank_price : of all modules
    lifetime_energy : from `lifetime_energy`, above 0

    Source: arithmetic.
    """
    return bank_price / lifetime_energy


@formula
def delivered_cost(
    bank_price: Price,
    lifetime_energy: Annotated[Energy, ABOVE_ZERO],
    price: PriceOfEnergy,
    cycle_efficiency: Annotated[Fraction, ABOVE_ZERO],
) -> PriceOfEnergy:
    """What a kWh out of the bank costs: its share of the bank, and the energy that went in for it.

    Parameters
    ----------
    bank_price : of all modules
    lifetime_energy : from `lifetime_energy`, above 0
    price : of a kWh that goes in: shore power, fuel, or nothing for sun that is there anyway
    cycle_efficiency : watt-hours out over watt-hours in

    Interest and the price of fitting are not in it. Source: arithmetic.
    """
    return bank_price / lifetime_energy + price / cycle_efficiency


@dataclasses.dataclass(frozen=True)
class WarrantyEnd:
    """When each limit of a warranty is reached: `ages` by name, and the first of them."""

    ages: dict

    @property
    def first(self):
        """Name of the limit that is reached first: "years", "cycles" or "energy"."""
        return min(self.ages, key=self.ages.get)

    @property
    def age(self):
        """Age at which it is reached."""
        return self.ages[self.first]


def warranty_end(
    cycles_per_year: Count,
    yearly_energy: Energy,
    warranty_years: Age | None = None,
    warranty_cycles: Count | None = None,
    warranty_energy: Energy | None = None,
) -> WarrantyEnd:
    """Which limit of a warranty ends it: years, cycles or energy, whichever comes first for this reader.

    Parameters
    ----------
    cycles_per_year : as the warranty counts them; many count every discharge, however shallow; 0 for a bank
        that only stands
    yearly_energy : out of the bank in a year
    warranty_years, warranty_cycles, warranty_energy : its limits, None where it has none of that kind

    Source: arithmetic.
    """
    year, found = Quantity(1.0, "year"), {}
    cycles, energy = KINDS["count"].check(cycles_per_year), KINDS["energy"].check(yearly_energy)
    if warranty_years is not None:
        found["years"] = KINDS["age"].check(warranty_years, "warranty years").to("year")
    if warranty_cycles is not None and cycles:
        found["cycles"] = KINDS["count"].check(warranty_cycles, "warranty cycles") / cycles * year
    if warranty_energy is not None and energy.magnitude:
        found["energy"] = (KINDS["energy"].check(warranty_energy, "warranty energy") / energy).to("") * year
    if not found:
        raise InputError("warranty", "it has no limit that this use reaches", "years, cycles or energy",
                         'warranty_years = "10 year"')  # fmt: skip
    return WarrantyEnd(found)


# ------------------------------------------------------------------------------- the three doors

CYCLE_EFFICIENCY = {True: (0.92, 0.96), False: (0.75, 0.85)}  # lithium or not; common practice, no source
LOWEST_CHARGE = 0.1
DEFAULTS = {
    "cycles_per_week": 7.0,
    "days_per_cycle": 1,
    "charge_window": "09:00-16:00",
    "weeks_in_use": 26.0,
    "top_charge": 1.0,
    "use_temperature": Quantity(77.0, "degF"),
    "storage_temperature": Quantity(50.0, "degF"),
    "energy_price": Quantity(0.2, "USD/kWh"),
    "years_wanted": Quantity(10.0, "year"),
}
OWN_DRAW = Quantity(20.0, "mA")  # of one lithium module's electronics in storage, from memory


@dataclasses.dataclass(frozen=True)
class Offer:
    """What one bank means in years and money.

    label : the bank in words. life : Band of years. cycles : the same in equivalent full cycles, (low,
    high), counted up to HORIZON as money is. price : (low, high) or None. wear, cost : (low, high) for each
    kWh delivered, without and with the energy that goes in, None where no price is known.
    """

    chemistry: str
    label: str
    rated_energy: Energy
    depth: Fraction
    life: Band
    cycles: tuple
    price: tuple | None
    wear: tuple | None
    cost: tuple | None


@dataclasses.dataclass(frozen=True, eq=False)
class Study:
    """Everything this topic says of a coach.

    year : the Year of its bank. depth : that a cycle reaches, as a share of the label; above 1 it cannot be.
    offer : years and money of its bank. fades : of both published cells, empty for lead-acid. paper_life :
    of the warranted cycles by count, None where none are. yearly_energy : out of the bank in a year. stored
    : how long the storage lasts. storage_life : until cut-off in storage. warranty : WarrantyEnd or None.
    outside : where the published cells do not reach. assumed : names of decisions that are proposals, not
    the reader's.
    """

    year: Year
    depth: float
    offer: Offer
    fades: tuple
    paper_life: Quantity | None
    yearly_energy: Quantity
    stored: Quantity
    storage_life: Quantity
    warranty: WarrantyEnd | None
    outside: tuple
    assumed: tuple


def propose(coach) -> dict:
    """Sound decisions where the reader has not decided: a dict of name to value, as [cycle_life] takes them.

    Parameters
    ----------
    coach : the coach file

    A cycle a day in half of the weeks of the year, charged in the day; stored half full (lead-acid: full)
    and cool. Source: common practice, no source.
    """
    section = coach.cycle_life
    proposals = {name: value for name, value in DEFAULTS.items() if getattr(section, name) is None}
    lithium = capacity_topic.chemistry(_bank(coach).module.chemistry).is_lithium
    if section.storage_charge is None:
        proposals["storage_charge"] = 0.5 if lithium else 1.0
    if section.standing_current is None:
        modules = capacity_topic.arrangement(coach).parallel
        proposals["standing_current"] = (OWN_DRAW * modules if lithium else Quantity(0.0, "mA")).to("mA")
    return proposals


def _bank(coach):
    return coach.capacity.model_copy(update=capacity_topic.propose(coach))


def _mean_day(coach):
    """Watts at the battery in each hour of a mean day, seasons by their months, floats of shape (24,)."""
    days = energy_topic.study(coach).days
    months = {season.name: max(1, len(season.months)) for season in coach.seasons}
    watts = sum(day.at_battery.values * months[name] for name, day in days.items()) / sum(months.values())
    return watts.reshape(24, -1).mean(axis=1)


def discharged_by_hour(watts, charge_window: str, days_per_cycle: Count = 1):
    """Wh that are out of a bank at the end of each hour of a cycle that is charged in a window of the day.

    Parameters
    ----------
    watts : at the battery in each hour of a day, floats of shape (24,)
    charge_window : span of the last day in which it is charged at a steady power
    days_per_cycle : days from one charge to the next, a whole number

    Returns floats of shape (24 days_per_cycle,) that begin where it is fullest and end at 0. What the loads
    take while it is charged does not pass through the bank. Source: none, bookkeeping.
    """
    days = int(days_per_cycle)
    window = covered_share([charge_window], 24)
    charging = numpy.concatenate([numpy.zeros(24 * (days - 1)), window])
    load = numpy.tile(numpy.asarray(watts, float), days)
    out = numpy.cumsum(load - charging * (load.sum() / charging.sum()))
    out = numpy.roll(out - out.min(), -1 - int(out.argmin()))
    return numpy.where(out < 1e-9 * max(1.0, load.sum()), 0.0, out)


def _year(coach, section, rated_energy):
    """(Year, depth before it is cut to what the bank holds) of a bank of so many Wh."""
    out = discharged_by_hour(_mean_day(coach), section.charge_window, section.days_per_cycle)
    most = float(out.max())
    depth = most / floats(rated_energy, "Wh")
    shape = out / most if most else out
    return year_of_use(
        section.cycles_per_week,
        min(depth, section.top_charge),
        section.use_temperature,
        section.weeks_in_use,
        section.storage_temperature,
        section.storage_charge,
        section.top_charge,
        shape,
    ), depth


def _offer(built, bank, section, year, depth):
    lithium = capacity_topic.chemistry(bank.module.chemistry).is_lithium
    band = life(year, bank.end_of_life) if lithium else lead_acid_life(bank.module.chemistry, year)
    spans = [
        one if one is not None else Quantity(float(HORIZON), "year") for one in (band.shortest, band.longest)
    ]
    full = tuple(year.equivalent_full_cycles * floats(span, "year") for span in spans)
    price = None
    if bank.module.price_low is not None and bank.module.price_high is not None:
        price = (bank.module.price_low * built.module_count, bank.module.price_high * built.module_count)
    wear = cost = None
    if price and year.equivalent_full_cycles:
        yearly = throughput(built.energy, year.equivalent_full_cycles)
        delivered = [lifetime_energy(yearly, span) for span in spans]
        wear = wear_cost(price[0], delivered[1]), wear_cost(price[1], delivered[0])
        poor, good = CYCLE_EFFICIENCY[lithium]
        cost = (delivered_cost(price[0], delivered[1], section.energy_price, good),
                delivered_cost(price[1], delivered[0], section.energy_price, poor))  # fmt: skip
    return Offer(bank.module.chemistry, built.label, built.energy, depth, band, full, price, wear, cost)


def study(coach) -> Study:
    """Everything this topic says of a coach: its year, years to the end, storage, money, warranty.

    Parameters
    ----------
    coach : the coach file

    Source: the functions above.
    """
    proposals = propose(coach)
    section, bank = coach.cycle_life.model_copy(update=proposals), _bank(coach)
    built, facts = capacity_topic.arrangement(coach), capacity_topic.chemistry(bank.module.chemistry)
    year, depth = _year(coach, section, built.energy)
    fades = tuple(fade(year, cell) for cell in (LARGE, SMALL)) if facts.is_lithium else ()
    yearly = throughput(built.energy, year.equivalent_full_cycles)
    cycles = section.cycles_per_week * section.weeks_in_use
    warranted = section.warranty_years, section.warranty_cycles, section.warranty_energy
    known = section.warranty_years is not None or cycles and any(one is not None for one in warranted)
    warranty = warranty_end(cycles, yearly, *warranted) if known else None
    paper = (
        life_by_count(section.warranty_cycles, cycles / 52)
        if section.warranty_cycles is not None and cycles
        else None
    )
    storage_life = time_to_cut_off(
        built.capacity, section.storage_charge, LOWEST_CHARGE, section.standing_current, facts.self_discharge
    )
    outside = (
        tuple(f"{cell} cell: {words}" for cell in (LARGE, SMALL) for words in year.outside(cell).values())
        if facts.is_lithium
        else ("lead-acid: cycles and years from memory",)
    )
    return Study(
        year,
        depth,
        _offer(built, bank, section, year, depth),
        fades,
        paper,
        yearly,
        ((52 - section.weeks_in_use) * WEEK).to("week"),
        storage_life,
        warranty,
        outside,
        tuple(proposals),
    )


def compare(coach) -> tuple:
    """The same coach with a bank of each chemistry, each sized for it by lesson 02: an Offer for each.

    Parameters
    ----------
    coach : the coach file

    Lead-acid is stored full, lithium as decided. Source: the functions above; modules and prices invented.
    """
    offers = []
    for name in capacity_topic.chemistries():
        own = name == _bank(coach).module.chemistry
        fresh = {
            part: None
            for part in ("depth", "end_of_life", "module", "series", "parallel", "take_off", "reserve")
        }
        other = coach if own else coach.model_copy(
            update={"capacity": coach.capacity.model_copy(update={"chemistry": name, **fresh})})  # fmt: skip
        section = other.cycle_life.model_copy(update=propose(other))
        if not capacity_topic.chemistry(name).is_lithium:
            section = section.model_copy(update={"storage_charge": 1.0})
        bank, built = _bank(other), capacity_topic.arrangement(other)
        offers.append(_offer(built, bank, section, *_year(other, section, built.energy)))
    return tuple(offers)


def banks(coach) -> dict:
    """The small, the middle and the large bank of lesson 02 on the same coach: a dict of name to Offer.

    Parameters
    ----------
    coach : the coach file

    Source: the functions above; prices invented.
    """
    section, bank = coach.cycle_life.model_copy(update=propose(coach)), _bank(coach)
    return {
        one.name: _offer(one.arrangement, bank, section, *_year(coach, section, one.rated_energy))
        for one in capacity_topic.study(coach).candidates
    }


def checks(coach) -> list:
    """The rules of this topic held against a coach: a list of Check.

    Parameters
    ----------
    coach : the coach file

    Source: each check names its own.
    """
    found, bank = study(coach), _bank(coach)
    section = coach.cycle_life.model_copy(update=propose(coach))
    lithium = capacity_topic.chemistry(bank.module.chemistry).is_lithium
    shortest = floats(found.offer.life.shortest, "year") if found.offer.life.shortest is not None else HORIZON
    model = Source("the two published cells, the shorter life of both", "derived") if lithium else \
        Source("life against depth and warmth", "from memory")  # fmt: skip
    answers = [
        rules.holds(
            "Does the bank last as long as its owner wants, at the short end of the band?",
            str(found.offer.life),
            show(section.years_wanted.to("year")),
            true=shortest >= floats(section.years_wanted, "year"),
            why="Depth, warmth, a high charge and time wear it out.",
            mend="A larger bank, a cooler place, "
            f"{'storage half full' if lithium else 'a full charge after each use'}; or a shorter wish.",
            source=model,
            topic="cycle_life",
        ),
        rules.at_most(
            "Does a cycle in use stay within the allowed depth?",
            Quantity(100 * found.depth, "percent"),
            Quantity(100 * bank.depth, "percent"),
            why="Deeper cycles wear it faster, and nothing is left for a bad day.",
            mend="A larger bank, fewer loads, or charging more often.",
            source=Source(PRACTICE, PRACTICE),
            topic="cycle_life",
        ),
        storage_check(bank.module.chemistry, section.storage_charge) if section.weeks_in_use < 52 else None,
        rules.at_least(
            "Does the stored bank last until somebody comes, counted in weeks?",
            floats(found.storage_life, "week"),
            floats(found.stored, "week"),
            why="Drained to its cut-off it may not take a charge again; an empty lead-acid one freezes.",
            mend="Open the main switch, store it fuller, or charge it half-way through.",
            source=Source("arithmetic on capacity, draw and self-discharge", "derived"),
            topic="cycle_life",
        )
        if section.weeks_in_use < 52
        else None,
        rules.at_least(
            "Are the cells, when coldest in use, warm enough to be charged?",
            bank.coldest,
            bank.module.coldest_charge,
            why="Lithium plates on a cold cell under charge: capacity is lost, and it can fail shorted."
            if lithium
            else "A cold battery takes its charge slowly.",
            mend="A heater with its set point a few degrees above, and a charger that stops below the limit.",
            source=Source("the module's data sheet", "invented"),
            guards="fire" if lithium else "",
            topic="cycle_life",
        ),
    ]
    if found.warranty and section.warranty_years is not None:
        answers.append(
            rules.holds(
                "Does the warranty run its full years in this use?",
                f"its {found.warranty.first} end it after {show(found.warranty.age)}",
                show(section.warranty_years.to("year")),
                true=found.warranty.first == "years",
                why="The limit that is reached first ends it.",
                mend="Count what it counts, and compare another warranty.",
                source=Source("arithmetic on the coach file", "derived"),
                topic="cycle_life",
            )
        )
    return [one for one in answers if one is not None]
