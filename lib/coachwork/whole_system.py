"""Whole system: loads, bank, sun, engine, shore and generator together, for a night, a week or a year.

Time goes in equal steps. In each the loads are served first by what is offered for nothing (sun, engine, shore), then
by the generator where its rule lets it run, then by the bank; what is left over charges the bank. That one step is
written twice: `step` moves one bank over floats and can be read, `flows` is the same over numpy arrays and gives every
flow of many moments, or of many designs, at once. Tests hold them to each other.

Powers are at the bank, in W, and levels in Wh above empty, floats and arrays. Quantities stand at the public edges.
"""

import dataclasses
import functools
import math
from typing import Annotated

import numpy

from coachwork import capacity, charging, cooling_load, cycle_life, energy, heating, sections, sun, weather
from coachwork import checks as rules
from coachwork.profile import covered_share
from coachwork.quantities import (
    ABOVE_ZERO,
    Area,
    Count,
    Energy,
    Fraction,
    Fuel,
    InputError,
    Mass,
    Power,
    Price,
    PriceOfAnHour,
    PriceOfFuel,
    Quantity,
    Ratio,
    Time,
    floats,
    formula,
    show,
)
from coachwork.sources import Source

PRACTICE = "common practice, no source"
DAYS, HOURS = 365, 8760
ALL_YEAR = tuple(range(1, 13))
MONTH = 730.5  # hours, over which self-discharge is stated
ENOUGH = 1e-6  # W that count as nothing

# ------------------------------------------------------------------------------- by hand


@formula
def nights_carried(usable_energy: Energy, night_energy: Annotated[Energy, ABOVE_ZERO]) -> Count:
    """Nights that a bank carries if nothing comes back.

    Parameters
    ----------
    usable_energy : that may be taken from the bank
    night_energy : taken from it in one night, above 0

    Source: arithmetic.
    """
    return usable_energy / night_energy


@formula
def through_the_bank(day_energy: Energy, night_energy: Energy, stored_share: Annotated[Fraction, ABOVE_ZERO]) -> Energy:
    """Energy that must be offered in the day so that day and night are served and the bank ends as full as it began.

    Parameters
    ----------
    day_energy : used while the source gives, which does not pass through the bank
    night_energy : used out of the bank
    stored_share : watt-hours out of the bank over watt-hours in, above 0

    Source: balance of energy.
    """
    return day_energy + night_energy / stored_share


@formula
def array_in_balance(
    energy: Energy, peak_sun_hours: Annotated[Time, ABOVE_ZERO], performance: Annotated[Fraction, ABOVE_ZERO]
) -> Power:
    """Array whose sun brings an energy in a day.

    Parameters
    ----------
    energy : that must reach the bank's terminals in the day, from `through_the_bank`
    peak_sun_hours : of that day, above 0
    performance : what reaches the bank over plate watts times peak sun hours, above 0

    Source: balance of energy; lesson 05.
    """
    return energy / (peak_sun_hours * performance)


@formula
def days_until_empty(usable_energy: Energy, missing_energy: Annotated[Energy, ABOVE_ZERO]) -> Count:
    """Days that a bank bridges while the sun brings too little.

    Parameters
    ----------
    usable_energy : in the bank at the start
    missing_energy : by which a day's sun falls short of what the day takes, above 0: else it never empties

    Source: balance of energy.
    """
    return usable_energy / missing_energy


@formula
def generator_time(energy: Energy, power: Annotated[Power, ABOVE_ZERO], stored_share: Annotated[Fraction, ABOVE_ZERO]) -> Time:
    """How long a generator runs to put an energy back into the bank.

    Parameters
    ----------
    energy : that is to come out of the bank again
    power : that the generator's charger gives to the bank, less what runs meanwhile, above 0
    stored_share : watt-hours out over watt-hours in, above 0

    Source: balance of energy.
    """
    return energy / (stored_share * power)


@formula
def chance_of_all(night_chance: Fraction, nights: Count) -> Fraction:
    """Chance that every night of several is carried, if each is carried by its own luck.

    Parameters
    ----------
    night_chance : of one night
    nights : how many

    Dark days come in rows, so real trips are all good or bad more often than this says. Source: rule of the product.
    """
    return night_chance**nights


@formula
def uncertainty_of_share(night_chance: Fraction, trials: Annotated[Count, ABOVE_ZERO]) -> Ratio:
    """Standard error of a share that was counted in independent trials.

    Parameters
    ----------
    night_chance : the share that was counted
    trials : how many, above 0; of nights that hang together count the trips

    Source: binomial distribution.
    """
    return math.sqrt(night_chance * (1 - night_chance) / trials)


@formula
def modules_for_power(power: Power, efficiency: Annotated[Fraction, ABOVE_ZERO], module_power: Annotated[Power, ABOVE_ZERO]) -> Count:
    """Solar modules that feed a load while the sun shines, not rounded.

    Parameters
    ----------
    power : that the load gives
    efficiency : of the load, or of what stands between, above 0
    module_power : of one module in that sun, above 0

    Source: Khan, Non-Conventional Energy Resources, ex. 6.3.
    """
    return power / efficiency / module_power


@formula
def owning_cost(
    price_paid: Price, fuel: Fuel, fuel_price: PriceOfFuel, running_time: Time, hour_price: PriceOfAnHour, years: Count
) -> Price:
    """What a system costs over some years: bought once, fuel and generator hours every year. No interest.

    Parameters
    ----------
    price_paid : for bank and array
    fuel, running_time : of the generator in a year
    fuel_price, hour_price : of the fuel, and of oil, wear and repair for an hour
    years : over which it is counted

    Source: arithmetic.
    """
    return price_paid + years * (fuel * fuel_price + running_time * hour_price)


# ------------------------------------------------------------------------------- what the step works on


@dataclasses.dataclass(frozen=True, eq=False)
class Warming:
    """How a coach warms where its air conditioner is not served: two nodes, air and everything heavy.

    They hold how much warmer than it should be each of them is, in K; 0 while the air conditioner gets what it asks.
    air, mass : Wh/K. loss : from the air to outside, W/K. exchange : between air and mass, W/K. performance : heat
    removed over energy at the bank. most : W at the bank, all that the air conditioner can take.
    """

    air: float = 60.0
    mass: float = 900.0
    loss: float = 90.0
    exchange: float = 250.0
    performance: float = 2.5
    most: float = 1500.0

    def over(self, hours):
        """((a, b, c, d), (e, f)): air and mass after a time are a air + b mass + e heat, c air + d mass + f heat."""
        change = numpy.array([[-(self.loss + self.exchange) / self.air, self.exchange / self.air],
                              [self.exchange / self.mass, -self.exchange / self.mass]])  # fmt: skip
        speeds, shapes = numpy.linalg.eig(change)
        after = (shapes * numpy.exp(speeds * hours)) @ numpy.linalg.inv(shapes)
        heated = numpy.linalg.solve(change, (after - numpy.eye(2)) @ [1 / self.air, 0])
        return tuple(after.ravel().tolist()), tuple(heated.tolist())


@dataclasses.dataclass(frozen=True, eq=False)
class System:
    """A bank with its sources, floats; or many of them, arrays of shape (designs,) in place of any float.

    full, floor, reserve : Wh; loads stop at the floor, the air conditioner already at the reserve. charge_limit,
    discharge_limit : W. stored_share : Wh out over Wh in. acceptance : hours, as in lesson 04. leak : share lost in an
    hour at rest. array : W by the plates. generator : W that its charger gives to the bus. start, stop : Wh. idle_fuel
    : L for an hour with nothing connected. fuel : L for each Wh at the bus on top. warming : Warming.
    """

    full: float
    floor: float = 0.0
    reserve: float = 0.0
    charge_limit: float = math.inf
    discharge_limit: float = math.inf
    stored_share: float = 1.0
    acceptance: float = 0.0
    leak: float = 0.0
    array: float = 0.0
    generator: float = 0.0
    start: float = 0.0
    stop: float = 0.0
    idle_fuel: float = 0.0
    fuel: float = 0.0
    warming: Warming = Warming()

    def kept(self, hours):
        """Share of the level that self-discharge leaves in a step."""
        return (1 - self.leak) ** hours

    def tail(self, hours):
        """What is missing, divided by this, is the most that goes in: full at the end of the step, or on its way.

        The tail of lesson 04 solved over the step, so that no step overshoots.
        """
        if not numpy.all(self.acceptance):
            return self.stored_share * hours
        return self.stored_share * hours / -numpy.expm1(-self.stored_share * hours / self.acceptance)


@dataclasses.dataclass(frozen=True, eq=False)
class Series:
    """What comes from outside, one value a step: arrays of shape (n,), or (n, trials) where trials differ.

    hours : length of a step. load : everything but the air conditioner. cooling : what it asks. sun : W for each W of
    array. engine, shore : offered. share : of the charge limit that the cells' temperature allows, 0 to 1. may_run :
    whether the generator may. away : whether the coach is on a trip. celsius : the cells' temperature, where their years
    are asked for. Loads and sources in W at the bank.
    """

    hours: float
    load: numpy.ndarray
    cooling: numpy.ndarray
    sun: numpy.ndarray
    engine: numpy.ndarray
    shore: numpy.ndarray
    share: numpy.ndarray
    may_run: numpy.ndarray
    away: numpy.ndarray
    celsius: numpy.ndarray | None = None

    def __post_init__(self):
        for name in ("load", "cooling", "sun", "engine", "shore", "share"):
            values = getattr(self, name)
            if len(values) != len(self.load) or not (values >= 0).all() or not numpy.isfinite(values).all():
                raise InputError(name, f"{len(values)} values from {values.min():.4g} to {values.max():.4g} are given",
                                 f"{len(self.load)} numbers of at least 0, one for each step")  # fmt: skip

    @property
    def a_day(self):
        """Steps in a day."""
        return round(24 / self.hours)


def step(system, hours):
    """The step for one system: a function of state and moment that gives the next state.

    Parameters
    ----------
    system : a System of floats
    hours : length of the step

    The function takes level, running (generator), air and mass (K too warm), then load, cooling, free (sun, engine and
    shore together), most (into the bank, W) and may_run, and returns the first four as they are at the step's end.
    Source: balance of energy.
    """
    kept, tail = system.kept(hours), float(system.tail(hours))
    full, floor, reserve, limit = system.full, system.floor, system.reserve, system.discharge_limit
    stored, generator, start, stop = system.stored_share, system.generator, system.start, system.stop
    (a, b, c, d), (e, f) = system.warming.over(hours)
    performance, most_cooling = system.warming.performance, system.warming.most

    def move(level, running, air, mass, load, cooling, free, most, may_run):
        level *= kept
        running = may_run and (level < start or (running and level < stop))
        if air or mass:
            return scarce(level, running, air, mass, load, cooling, free, most)
        spare = free - load - cooling
        if running:
            spare += generator
        if spare > 0:  # the bank takes what is over, as far as it can
            room = (full - level) / tail
            if room > most:
                room = most
            if spare > room:
                spare = room
            level += spare * stored * hours
            return (full if level > full else level), running, 0.0, 0.0
        after = level + spare * hours
        if after < reserve or after < floor or spare < -limit:
            return scarce(level, running, air, mass, load, cooling, free, most)
        return after, running, 0.0, 0.0

    def scarce(level, running, air, mass, load, cooling, free, most):
        asked = cooling
        if cooling:  # the coach is too warm: cool it down again, as fast as the air conditioner can
            asked += max(0.0, min((a * air + b * mass) / (e * performance), most_cooling - cooling))
        offered = free + (generator if running else 0.0)
        spare = max(0.0, min(offered - load - asked, most, (full - level) / tail))
        short = max(0.0, load - offered)
        short_of_cooling = max(0.0, load + asked - offered) - short
        given = min(short, limit, max(0.0, level - floor) / hours)
        cooled = min(short_of_cooling, limit - given, max(0.0, level - given * hours - reserve) / hours)
        level = min(full, max(0.0, level + (spare * stored - given - cooled) * hours))
        heat = (cooling - asked + short_of_cooling - cooled) * performance
        return level, running, a * air + b * mass + e * heat, c * air + d * mass + f * heat

    return move


@dataclasses.dataclass(frozen=True, eq=False)
class Flows:
    """Every flow of a step, arrays of one shape, W at the bank: of moments, of designs or of trials.

    level, running, air, mass : the state at the step's end. sun, engine, shore, generator : used. spilled : sun offered
    and not used. put : into the bank, before its loss. given, cooled : out of the bank for the loads, for the air
    conditioner. missed, missed_cooling : asked and not served. asked : by the air conditioner, catching up counted
    where it was served. leaked : Wh lost at rest.
    """

    level: numpy.ndarray
    running: numpy.ndarray
    air: numpy.ndarray
    mass: numpy.ndarray
    sun: numpy.ndarray
    spilled: numpy.ndarray
    engine: numpy.ndarray
    shore: numpy.ndarray
    generator: numpy.ndarray
    put: numpy.ndarray
    given: numpy.ndarray
    cooled: numpy.ndarray
    missed: numpy.ndarray
    missed_cooling: numpy.ndarray
    asked: numpy.ndarray
    leaked: numpy.ndarray


def _some(values):
    """Whether any is not zero; quicker than numpy.any for a single number."""
    return values.any() if isinstance(values, numpy.ndarray) else values


def flows(system, hours):
    """The same step over arrays: a function of state and moment that gives every flow.

    Parameters
    ----------
    system : a System, of floats or of arrays
    hours : length of the step

    The function takes level, running, air, mass, load, cooling, sun, engine, shore, share and may_run, and returns Flows.
    Source: as for `step`.
    """
    least, most, some = numpy.minimum, numpy.maximum, _some
    kept, tail = system.kept(hours), system.tail(hours)
    (a, b, c, d), (e, f) = system.warming.over(hours)
    performance, most_cooling = system.warming.performance, system.warming.most

    def move(level, running, air, mass, load, cooling, sun, engine, shore, share, may_run):
        left = level * kept
        running = may_run & ((left < system.start) | (running & (left < system.stop)))
        warm = some(air) or some(mass)
        asked = cooling
        if warm:
            wanted = least((a * air + b * mass) / (e * performance), most_cooling - cooling)
            asked = cooling + numpy.where(cooling > 0, most(0.0, wanted), 0.0)
        need = load + asked
        brought, from_sun, from_engine, from_shore, from_generator, put, spilled = 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0
        runs = some(running)
        if some(sun) or some(engine) or some(shore) or runs:
            want = need + least(share * system.charge_limit, (system.full - left) / tail)
            offered = sun * system.array
            brought = from_sun = least(offered, want)
            spilled = offered - from_sun
            if some(engine):
                from_engine = least(engine, want - brought)
                brought = brought + from_engine
            if some(shore):
                from_shore = least(shore, want - brought)
                brought = brought + from_shore
            if runs:
                from_generator = least(running * system.generator, want - brought)
                brought = brought + from_generator
            put = most(brought - need, 0.0)
        short = most(load - brought, 0.0)
        given = least(least(short, system.discharge_limit), most(left - system.floor, 0.0) / hours)
        change, cooled, missed_cooling = put * system.stored_share - given, 0.0, 0.0
        if some(asked):
            short_of_cooling = most(need - brought, 0.0) - short
            above = most(left - given * hours - system.reserve, 0.0) / hours
            cooled = least(least(short_of_cooling, system.discharge_limit - given), above)
            unmet, change = short_of_cooling - cooled, change - cooled
            missed_cooling = least(unmet, cooling)  # catching up is asked again in the next step: it counts once
            asked = asked - (unmet - missed_cooling)
        after = least(system.full, most(0.0, left + change * hours))
        if warm or some(missed_cooling):
            heat = (cooling - asked + missed_cooling) * performance
            air, mass = a * air + b * mass + e * heat, c * air + d * mass + f * heat
        return Flows(after, running, air, mass, from_sun, spilled, from_engine, from_shore, from_generator, put, given, cooled,
                     short - given, missed_cooling, asked, level - left)  # fmt: skip

    return move


# ------------------------------------------------------------------------------- one run


@dataclasses.dataclass(frozen=True, eq=False)
class Answers:
    """What a run says of its days away: floats, or arrays of shape (designs,).

    lowest : share of the full bank. low_hours : below the reserve. missed, missed_cooling : Wh not served. days, alone
    : days away, and those that needed no generator and lacked nothing. nights, kept : nights away (noon to noon), and
    those that lacked nothing. generator_hours, fuel : h and L. sun, spilled : Wh of sun used, and offered in vain.
    engine, shore, generator : Wh that they brought. out : Wh out of the bank, all year. cycles : equivalent full cycles.
    warm_hours : the coach more than 2 °F too warm. warmest : K too warm, the worst.
    """

    lowest: float
    low_hours: float
    missed: float
    missed_cooling: float
    days: int
    alone: float
    nights: int
    kept: float
    generator_hours: float
    fuel: float
    sun: float
    spilled: float
    engine: float
    shore: float
    generator: float
    out: float
    cycles: float
    warm_hours: float
    warmest: float

    def at(self, place):
        """The Answers of one of many designs."""
        return Answers(**{field.name: value[place] if numpy.ndim(value := getattr(self, field.name)) else value
                          for field in dataclasses.fields(self)})  # fmt: skip


TOO_WARM = 10 / 9  # K, 2 °F


@dataclasses.dataclass(frozen=True, eq=False)
class Run:
    """One system over a series: `flows` with arrays of shape (n,), and what they add up to."""

    series: Series
    system: System
    flows: Flows

    @property
    def state_of_charge(self):
        """Share of what the bank holds when full, at the end of each step."""
        return self.flows.level / self.system.full

    @functools.cached_property
    def answers(self):
        """Answers of this run; it must be whole days."""
        one, hours, a_day = self.flows, self.series.hours, self.series.a_day
        away, system = self.series.away, self.system
        sums = {name: float(getattr(one, name)[away].sum()) * hours for name in
                ("missed", "missed_cooling", "sun", "spilled", "engine", "shore", "generator")}  # fmt: skip
        short = one.missed + one.missed_cooling > ENOUGH
        days = away.reshape(-1, a_day).any(axis=1)
        helped = (short | one.running).reshape(-1, a_day).any(axis=1)
        nights = days[:-1] & days[1:]
        dark = short[a_day // 2 : len(short) - a_day // 2].reshape(-1, a_day).any(axis=1)
        ran = float((one.running & away).sum()) * hours
        out = float((one.given + one.cooled).sum()) * hours
        level = one.level[away]
        return Answers(
            lowest=float(level.min() / system.full) if len(level) else 1.0,
            low_hours=float((level < system.reserve - ENOUGH).sum()) * hours,
            days=int(days.sum()), alone=float((days & ~helped).sum()),
            nights=int(nights.sum()), kept=float((nights & ~dark).sum()),
            generator_hours=ran, fuel=ran * system.idle_fuel + sums["generator"] * system.fuel,
            out=out, cycles=out / system.full,
            warm_hours=float((one.air[away] > TOO_WARM).sum()) * hours, warmest=float(one.air[away].max(initial=0.0)), **sums,
        )  # fmt: skip


def run(series, system, start: float = 1.0) -> Run:
    """Move one system through a series.

    Parameters
    ----------
    series : a Series of shape (n,)
    system : a System of floats
    start : how full the bank is at the start, 0 to 1

    Source: `step`.
    """
    move = step(system, series.hours)
    level, running, air, mass = float(start * system.full), False, 0.0, 0.0
    levels, runs, airs, masses = [], [], [], []
    free = series.sun * system.array + series.engine + series.shore
    moments = (series.load, series.cooling, free, series.share * system.charge_limit, series.may_run)
    for load, cooling, offered, most, may_run in zip(*(values.tolist() for values in moments)):
        levels.append(level)
        runs.append(running)
        airs.append(air)
        masses.append(mass)
        level, running, air, mass = move(level, running, air, mass, load, cooling, offered, most, may_run)
    states = (numpy.array(levels), numpy.array(runs), numpy.array(airs), numpy.array(masses))
    found = flows(system, series.hours)(*states, series.load, series.cooling, series.sun, series.engine, series.shore,
                                        series.share, series.may_run)  # fmt: skip
    parts = [numpy.broadcast_to(getattr(found, field.name), series.load.shape) for field in dataclasses.fields(found)]
    return Run(series, system, Flows(*parts))


def many(series, systems, start: float = 1.0) -> Answers:
    """Move many systems through a series at once.

    Parameters
    ----------
    series : a Series of shape (n,), or (n, designs) where each design has its own; whole days
    systems : a System with arrays of shape (designs,)
    start : how full the banks are at the start, 0 to 1; or an array of shape (designs,)

    Source: `flows`.
    """
    move, hours, a_day = flows(systems, series.hours), series.hours, series.a_day
    count = max(numpy.size(getattr(systems, field.name)) for field in dataclasses.fields(systems))
    count = max(count, *(values.shape[-1] for values in (series.load, series.sun) if values.ndim == 2), 1)
    level, running = numpy.full(count, 1.0) * systems.full * start, numpy.zeros(count, bool)
    air, mass = numpy.zeros(count), numpy.zeros(count)
    names = ("missed", "missed_cooling", "sun", "spilled", "engine", "shore", "generator", "ran", "out", "low", "warm",
             "alone", "kept")  # fmt: skip
    sums = {name: numpy.zeros(count) for name in names}
    lowest, warmest = numpy.full(count, math.inf), numpy.zeros(count)
    short_day, short_night, helped = (numpy.zeros(count, bool) for _ in range(3))
    reserve = systems.reserve - ENOUGH
    days = series.away.reshape(-1, a_day).any(axis=1)
    moments = (series.load, series.cooling, series.sun, series.engine, series.shore, series.share, series.may_run)
    moments = [values.tolist() if values.ndim == 1 else values for values in moments]
    for at, (now, away) in enumerate(zip(zip(*moments), series.away.tolist())):
        one = move(level, running, air, mass, *now)
        level, running, air, mass = one.level, one.running, one.air, one.mass
        sums["out"] += one.given
        if _some(one.asked):
            sums["out"] += one.cooled
        if away:
            short = one.missed + one.missed_cooling > ENOUGH
            if _some(short):
                sums["missed"] += one.missed
                sums["missed_cooling"] += one.missed_cooling
                short_day |= short
                short_night |= short
            if _some(now[2]):
                sums["sun"] += one.sun
                sums["spilled"] += one.spilled
            if _some(now[3]):
                sums["engine"] += one.engine
            if _some(now[4]):
                sums["shore"] += one.shore
            if running.any():
                sums["generator"] += one.generator
                sums["ran"] += running
                helped |= running
            numpy.minimum(lowest, level, out=lowest)
            sums["low"] += level < reserve
            if air.any():
                sums["warm"] += air > TOO_WARM
                numpy.maximum(warmest, air, out=warmest)
        day, hour = divmod(at + 1, a_day)
        if hour == 0:
            if days[day - 1]:
                sums["alone"] += ~(short_day | helped)
            short_day, helped = numpy.zeros(count, bool), numpy.zeros(count, bool)
        if hour == a_day // 2:
            if day and days[day - 1] and days[day]:
                sums["kept"] += ~short_night
            short_night = numpy.zeros(count, bool)
    energies = {name: sums[name] * hours for name in ("missed", "missed_cooling", "sun", "spilled", "engine", "shore", "generator")}
    ran, out = sums["ran"] * hours, sums["out"] * hours
    return Answers(
        lowest=numpy.where(numpy.isfinite(lowest), lowest / systems.full, 1.0), low_hours=sums["low"] * hours,
        days=int(days.sum()), alone=sums["alone"], nights=int((days[:-1] & days[1:]).sum()), kept=sums["kept"],
        generator_hours=ran, fuel=ran * systems.idle_fuel + energies["generator"] * systems.fuel,
        out=out, cycles=out / systems.full, warm_hours=sums["warm"] * hours, warmest=warmest, **energies,
    )  # fmt: skip


# ------------------------------------------------------------------------------- the step held against arithmetic


def _steady(hours, load=0.0, sun=0.0):
    """A Series of so many hours, whole days, in which nothing else happens: floats, or arrays of that shape."""
    zero = numpy.zeros(hours)
    return Series(1.0, load + zero, zero, sun + zero, zero, zero, zero + 1, zero > 0, zero == 0)


def hours_to_empty(usable_energy: Energy, power: Annotated[Power, ABOVE_ZERO]) -> Time:
    """How long a full bank carries a steady load, found by running the step: energy served over power.

    Parameters
    ----------
    usable_energy : in the full bank
    power : of the load, above 0

    Source: `run`.
    """
    watts, full = floats(power, "W"), floats(usable_energy, "Wh")
    if not full <= watts * HOURS:
        raise InputError("usable energy", f"{show(usable_energy)} for a load of {show(power)} is given", "what is empty within a year",
                         '"2000 Wh"')  # fmt: skip
    one = run(_steady(24 * (1 + math.ceil(full / watts / 24)), watts), System(full))
    return Quantity(float(one.flows.given.sum()) / watts, "h")


def given_back(energy: Energy, stored_share: Annotated[Fraction, ABOVE_ZERO]) -> Energy:
    """What comes out again of an energy that a source puts into an empty bank, found by running the step.

    Parameters
    ----------
    energy : put in during one hour; then a load empties the bank
    stored_share : watt-hours out over watt-hours in

    Source: `run`.
    """
    watts, hour = floats(energy, "Wh"), numpy.arange(24)
    series = _steady(24, numpy.where(hour > 0, watts, 0.0), numpy.where(hour == 0, 1.0, 0.0))
    one = run(series, System(10 * watts, stored_share=float(stored_share), array=watts), start=0.0)
    return Quantity(float(one.flows.given.sum()), "Wh")


def level_after_a_day(
    day_energy: Energy, night_energy: Energy, offered_energy: Energy, stored_share: Annotated[Fraction, ABOVE_ZERO],
    usable_energy: Annotated[Energy, ABOVE_ZERO], start_energy: Energy,
) -> Energy:
    """What is in a bank after twelve hours of load and sun and twelve of load alone, found by running the step.

    Parameters
    ----------
    day_energy, night_energy : taken in the first and in the second twelve hours, evenly
    offered_energy : by the sun in the first twelve, evenly
    stored_share : watt-hours out over watt-hours in
    usable_energy : in the bank when it is full. start_energy : in it at the start

    Source: `run`.
    """
    day, full = numpy.arange(24) < 12, floats(usable_energy, "Wh")
    load = numpy.where(day, floats(day_energy, "Wh"), floats(night_energy, "Wh")) / 12
    system = System(full, stored_share=float(stored_share), array=floats(offered_energy, "Wh") / 12)
    one = run(_steady(24, load, day * 1.0), system, start=floats(start_energy, "Wh") / full)
    return Quantity(float(one.flows.level[-1]), "Wh")


# ------------------------------------------------------------------------------- the calendar


def day_number(day: str) -> int:
    """Day of a plain year, from 0. day : a text such as "04-06". Source: the calendar."""
    month, number = map(int, day.split("-"))
    return sum(weather.MONTH_DAYS[: month - 1]) + number - 1


@dataclasses.dataclass(frozen=True, eq=False)
class Calendar:
    """The days of a year, each array of shape (365,): away, driving, on shore power away, on shore power at home.

    starts : (trip, day of the year, from 0) of every start.
    """

    away: numpy.ndarray
    driving: numpy.ndarray
    shore: numpy.ndarray
    home_shore: numpy.ndarray
    starts: tuple


def calendar_of(trips, storage: str) -> Calendar:
    """Trips laid out over a year; one that passes its end goes on in January.

    Parameters
    ----------
    trips : rows of `[whole_system] trips`
    storage : how the coach stands between them, a key of sections.STORAGE

    Errors: InputError where two trips share a day. Source: the coach file.
    """
    away, driving, shore, home = (numpy.zeros(DAYS, bool) for _ in range(4))
    starts = []
    for trip in trips:
        for turn in range(trip.times):
            first = day_number(trip.first) + turn * (trip.every or 0)
            days = (first + numpy.arange(trip.nights + 1)) % DAYS
            if away[days].any():
                raise InputError("[whole_system] trips", f'"{trip.name}", time {turn + 1}, begins before another trip is over',
                                 "trips that do not share a day", "another first day, or fewer times")  # fmt: skip
            away[days] = True
            for asked, marks in ((trip.driving_days or (1, trip.nights + 1), driving), (trip.shore_days, shore)):
                marks[[days[day - 1] for day in asked if day <= len(days)]] = True
            starts.append((trip, int(first % DAYS)))
    if storage == "plugged in":
        home = ~away
    elif storage == "charged the day before":
        home[[(day - 1) % DAYS for _, day in starts]] = True
        home &= ~away
    return Calendar(away, driving, shore, home, tuple(starts))


# ------------------------------------------------------------------------------- a coach as system and series

DEFAULTS = {
    "storage": "charged the day before", "driving_hours": Quantity(3.0, "h"),
    "generator_stop": 0.8, "promise": 0.9, "spread": 0.15, "watt_price": Quantity(1.6, "USD/W"),
    "fuel_price": Quantity(3.8, "USD/gal"), "hour_price": Quantity(1.0, "USD/h"),
}  # fmt: skip
WEEKENDS = sections.Trip(name="Week-ends", first="04-03", nights=2, times=26, every=7)
DRIVING_FROM = 9  # o'clock; common practice, no source
INSIDE_FILM, MASS_FILM = 8.0, 4.0  # W/(m2 K): air to wall, air to heavy things; from memory


def propose(coach) -> dict:
    """Sound decisions where the reader has not decided: a dict of name to value, as [whole_system] takes them.

    Parameters
    ----------
    coach : the coach file

    Half a year of week-ends, charged the day before; the bank as worn as lesson 02 plans for; the air conditioner stops a
    tenth above the floor, the generator starts while a night's worth is left. Prices invented. Source: common practice, no source.
    """
    plan, bank = coach.whole_system, _bank(coach)
    found = DEFAULTS | {
        "trips": (WEEKENDS,), "health": bank.end_of_life, "reserve": min(1.0, 1.1 - bank.depth),
        "generator_start": min(0.75, 1.35 - bank.depth),
        "air_conditioning": "on the bank" if coach.cooling_load.unit is not None else "not on the bank",
        "other_unit": next(one.name for one in cooling_load.on_offer()
                           if coach.cooling_load.unit is None or one.name != coach.cooling_load.unit.name),
        "module_price": _mean_price(bank.module),
    }  # fmt: skip
    return {name: value for name, value in found.items() if getattr(plan, name) in (None, ())}


def _mean_price(module):
    if module.price_low is None or module.price_high is None:
        return Quantity(1000.0, "USD")
    return (module.price_low + module.price_high) / 2


def _bank(coach):
    return coach.capacity.model_copy(update=capacity.propose(coach))


def _plan(coach):
    return coach.whole_system.model_copy(update=propose(coach))


@dataclasses.dataclass(frozen=True, eq=False)
class Hours:
    """A coach by hours of the typical year, shape (8760,), as if it were away all the time: W at the bank.

    load : everything but the air conditioner, the heater of the bank's box counted. heater : that heater alone, which goes
    with the weather. cooling : what the air conditioner asks. sun : W for each W of plates. celsius : cells. warming : Warming.
    """

    load: numpy.ndarray
    heater: numpy.ndarray
    cooling: numpy.ndarray
    sun: numpy.ndarray
    celsius: numpy.ndarray
    warming: Warming


@functools.lru_cache(maxsize=16)
def hours_of(coach, unit: str = "") -> Hours:
    """Loads, air conditioner, sun and warmth of a coach by hours of its typical year.

    Parameters
    ----------
    coach : the coach file
    unit : name of another air conditioner on offer; empty for the coach's own; "none" for none

    The list's own row of the air conditioner is left out: the hours of lesson 09 take its place. No margin: the spread of
    habits takes its place. In a month without a minute of cooling the air conditioner is off at its breaker and takes no
    standby. Source: energy.day, heating.winter_of (heater of the box, cells), cooling_load.cool,
    sun.study.
    """
    plan, beside, studied = _plan(coach), cooling_load.without_listed(coach), _sun(coach)
    warmth = heating.winter_of(beside, months=ALL_YEAR)
    heater = warmth.heater / _heater_efficiency(coach)
    load = sun.load_by_hours(beside) + heater
    cooling, warming = numpy.zeros(HOURS), Warming()
    if plan.air_conditioning == "on the bank" and unit != "none":
        sheet = cooling_load.unit_named(unit) if unit else None
        found = cooling_load.cool(coach, sheet)
        cooling = _off_in_winter(cooling_load.battery_watts(coach, found), found)
        warming = _warming(coach, found, cooling)
    per_watt = studied.output.bank / floats(studied.array.rated_power, "W")
    return Hours(load, heater, cooling, per_watt, warmth.cells, warming)


def _off_in_winter(watts, found):
    """W of an air conditioner, nothing in the months in which it neither cools nor heats."""
    months = numpy.repeat(numpy.arange(12), 24 * numpy.array(weather.MONTH_DAYS))
    works = numpy.bincount(months, weights=found.share + found.heating, minlength=12) > 0
    return numpy.where(works[months], watts, 0.0)


def _heater_efficiency(coach):
    """What stands between the bank and the heater of its box: an inverter, or nothing."""
    plan, sheet = coach.heating.model_copy(update=heating.propose(coach)), coach.inverter
    if plan.heater_side == "dc" or sheet is None or not plan.heater.magnitude:
        return 1.0
    return energy.fitted_efficiency(plan.heater, sheet.idle, sheet.efficiency)


def _warming(coach, found, cooling):
    """The two nodes of a cooled space: what its walls, windows and leaks lose, and what stands in it."""
    plan = coach.cooling_load.model_copy(update=cooling_load.propose(coach))
    shell = cooling_load.shell_of(plan, weather.year(coach.place.weather or sun.PLACE))
    areas = sum(face.area for face in shell.faces)
    through = sum(face.area / (1 / INSIDE_FILM + 1 / 17 + sum(one.thickness / one.conductivity for one in face.layers))
                  for face in shell.faces)  # fmt: skip
    glass = sum(one.area * 5.7 for one in shell.openings)
    leaks = shell.density * 1006.0 * floats(plan.leakage, "m**3/s")
    runs = found.sensible > 0
    performance = float(found.sensible[runs].sum() / cooling[runs].sum()) if runs.any() else Warming.performance
    inner = sum(face.area * face.layers[-1].thickness * face.layers[-1].density * face.layers[-1].specific_heat for face in shell.faces)
    return Warming(
        air=3 * shell.volume * shell.density * 1006.0 / 3600,  # with what lies open in it
        mass=(shell.furnishing + inner) / 3600, loss=through + glass + leaks, exchange=MASS_FILM * areas,
        performance=max(performance, 0.5), most=float(cooling.max(initial=1.0)),
    )  # fmt: skip


@functools.lru_cache(maxsize=16)
def _charge_shares(coach):
    """(°C, share of the charge limit) of the bank's cells: nothing in the cold, less near it."""
    bank = capacity.arrangement(coach)
    limit, degrees = charging.bank_charge_limit(bank), numpy.arange(-40, 61)
    shares = [floats(charging.cold_charge_limit(bank, Quantity(float(one), "degC"), limit) / limit, "") for one in degrees]
    return degrees, numpy.array(shares)


def _charge_share(coach, celsius):
    degrees, shares = _charge_shares(coach)
    return shares[numpy.clip(numpy.floor(celsius).astype(int) - degrees[0], 0, len(shares) - 1)]


def _offered(coach):
    """W at the bus that shore, engine and generator offer while they are there."""
    studied = charging.study(coach)
    found = {one.name: floats(one.current * studied.bank.voltage, "W") for one in studied.sources}
    found.setdefault("engine", found.pop("tow line alone", 0.0))
    return {name: found.get(name, 0.0) for name in ("shore", "engine", "generator")}


@functools.lru_cache(maxsize=16)
def series_of(coach, unit: str = "") -> Series:
    """The year of a coach as its calendar says, 8760 hours from 1 January.

    Parameters
    ----------
    coach : the coach file
    unit : as for `hours_of`

    Source: `hours_of`, `calendar_of`, charging.study.
    """
    plan, hours = _plan(coach), hours_of(coach, unit)
    days = calendar_of(plan.trips, plan.storage)
    away, driving, shore, home = (numpy.repeat(one, 24) for one in (days.away, days.driving, days.shore, days.home_shore))
    offered, clock = _offered(coach), numpy.arange(HOURS) % 24
    asleep = coach.cycle_life.model_copy(update=cycle_life.propose(coach))
    at_rest = floats(asleep.standing_current * capacity.arrangement(coach).voltage, "W")
    drives = numpy.clip(floats(plan.driving_hours, "h") - (clock - DRIVING_FROM), 0, 1) * (clock >= DRIVING_FROM) * driving
    celsius = numpy.where(away, hours.celsius, floats(asleep.storage_temperature, "degC"))
    return Series(
        1.0, numpy.where(away, hours.load, at_rest), numpy.where(away, hours.cooling, 0.0),
        hours.sun * (away | (plan.storage == "sun only")), drives * offered["engine"], (away & shore | home) * offered["shore"],
        _charge_share(coach, celsius), numpy.tile(_allowed(coach), DAYS) & away, away, celsius,
    )  # fmt: skip


def _allowed(coach):
    """Whether the generator may run, by hours of the day."""
    return covered_share(coach.charging.generator.allowed, 24) >= 1 if coach.charging.generator else numpy.zeros(24, bool)


@functools.lru_cache(maxsize=16)
def _own(coach):
    """(System of the coach's own bank and array, its strings)."""
    plan, bank, built = _plan(coach), _bank(coach), capacity.arrangement(coach)
    # Lesson 02's cold and fast discharge are kept all year: in summer the bank holds a little more than counted here.
    full = floats(capacity.study(coach).usable, "Wh") / bank.depth * plan.health / bank.end_of_life
    chemistry = bank.module.chemistry
    idle, fuel, generator = _generator(coach)
    strings = built.parallel - built.reserve
    return System(
        full=full, floor=(1 - bank.depth) * full, reserve=max(plan.reserve, 1 - bank.depth) * full,
        charge_limit=floats(charging.bank_charge_limit(built) * built.voltage, "W"),
        discharge_limit=floats(bank.module.continuous * strings * built.voltage, "W"), stored_share=sun.STORED[chemistry],
        acceptance=floats(charging.acceptance(chemistry).acceptance_time, "h"),
        leak=1 - (1 - capacity.chemistry(chemistry).self_discharge) ** (1 / MONTH),
        array=floats(_sun(coach).array.rated_power, "W"), generator=generator, start=plan.generator_start * full,
        stop=plan.generator_stop * full, idle_fuel=idle, fuel=fuel,
    ), strings  # fmt: skip


GROWS = ("full", "floor", "reserve", "charge_limit", "discharge_limit", "start", "stop")  # with the number of strings


def system_of(coach, parallel=None, watts=None, unit: str = "") -> System:
    """A coach's bank, array and generator as the step takes them.

    Parameters
    ----------
    coach : the coach file
    parallel : strings of modules; watts : by the plates; floats, or arrays of shape (designs,); None for the coach's own
    unit : as for `hours_of`

    The controller is taken to grow with the array, and leads and fuses with the bank. Source: capacity, charging and sun of the
    coach.
    """
    own, strings = _own(coach)
    grown = {} if parallel is None else {name: getattr(own, name) * (parallel / strings) for name in GROWS}
    return dataclasses.replace(own, **grown, array=own.array if watts is None else watts, warming=hours_of(coach, unit).warming)


@functools.lru_cache(maxsize=16)
def _sun(coach):
    return sun.study(cooling_load.without_listed(coach))


def _generator(coach):
    """(L an hour with nothing connected, L for each Wh at the bus on top, W at the bus)."""
    one = coach.charging.generator
    if one is None:
        return 0.0, 0.0, 0.0
    studied = charging.study(coach)
    source = next((row for row in studied.sources if row.name == "generator"), None)
    if source is None:
        return 0.0, 0.0, 0.0
    rated = floats(charging.fuel_rate(one.rated_power, one.efficiency, charging.heat_content(one.fuel)), "L/h")
    efficiency = next(row.efficiency for row in studied.plan.chargers if row.name == source.charger)
    more = (1 - one.idle_share) * rated / floats(one.rated_power, "W") / efficiency
    return one.idle_share * rated, more, floats(source.current * studied.bank.voltage, "W")


def grid(coach, parallels, watts, unit: str = "") -> System:
    """Every bank with every array as one System of arrays, the arrays' watts running fastest.

    Parameters
    ----------
    coach : the coach file
    parallels : strings of modules. watts : by the plates. unit : as for `hours_of`

    Source: `system_of`.
    """
    strings, plates = numpy.meshgrid(numpy.asarray(parallels, float), numpy.asarray(watts, float), indexing="ij")
    return system_of(coach, strings.ravel(), plates.ravel(), unit)


def prices(coach, parallels, watts, fuel, hours) -> numpy.ndarray:
    """`cost_of` over arrays, USD: strings and W of each design, L and h of its generator in a year.

    Parameters
    ----------
    coach : the coach file
    parallels, watts, fuel, hours : floats or arrays of shape (designs,)

    Source: `owning_cost`.
    """
    plan = _plan(coach)
    years = floats(coach.cycle_life.model_copy(update=cycle_life.propose(coach)).years_wanted, "year")
    module = floats(plan.module_price, "USD") * capacity.arrangement(coach).series
    return (module * parallels + floats(plan.watt_price, "USD/W") * watts
            + years * (fuel * floats(plan.fuel_price, "USD/L") + hours * floats(plan.hour_price, "USD/h")))  # fmt: skip


# ------------------------------------------------------------------------------- what a run means


def life_of(coach, one):
    """Years of the bank in such a year: a cycle_life.Band.

    Parameters
    ----------
    coach : the coach file
    one : a Run of 8760 hours

    Source: cycle_life.life, or its lead-acid tables.
    """
    bank = _bank(coach)
    year = cycle_life.Year(numpy.clip(one.state_of_charge, 0, 1), one.series.celsius + 273.15)
    if capacity.chemistry(bank.module.chemistry).is_lithium:
        return cycle_life.life(year, bank.end_of_life)
    return cycle_life.lead_acid_life(bank.module.chemistry, year)


def cost_of(coach, parallel: int, watts: float, answers) -> Price:
    """What bank, array and generator cost over the years that the owner wants.

    Parameters
    ----------
    coach : the coach file
    parallel : strings. watts : by the plates. answers : Answers of a year, of one design

    Source: `owning_cost`; prices are the coach file's.
    """
    plan, bank = _plan(coach), _bank(coach)
    years = floats(coach.cycle_life.model_copy(update=cycle_life.propose(coach)).years_wanted, "year")
    series = capacity.arrangement(coach).series
    price = plan.module_price * parallel * series + plan.watt_price * Quantity(watts, "W")
    return owning_cost(price, Quantity(answers.fuel, "L"), plan.fuel_price, Quantity(answers.generator_hours, "h"),
                       plan.hour_price, years)  # fmt: skip


@dataclasses.dataclass(frozen=True)
class Choice:
    """One design of a comparison, its year in a row of a table.

    alone : share of the days away that needed no generator and lacked nothing. lowest : state of charge. spilled : share of
    the offered sun. low_hours : below the reserve. years : of the bank. price : over the years wanted.
    """

    modules: int
    watts: Power
    unit: str
    alone: Fraction
    lowest: Fraction
    low_hours: Time
    missed: Energy
    generator_hours: Time
    fuel: Fuel
    spilled: Fraction
    cycles: float
    years: str
    price: Price


def row_of(coach, one, parallel: int, unit: str) -> Choice:
    """A Run as a Choice. coach : the coach file. one : Run. parallel : strings. unit : its air conditioner's name."""
    found = one.answers
    offered = found.sun + found.spilled
    return Choice(
        parallel * capacity.arrangement(coach).series, Quantity(one.system.array, "W"), unit.split(",")[0], _share(found.alone, found.days),
        found.lowest, Quantity(found.low_hours, "h"), Quantity(round((found.missed + found.missed_cooling) / 1000, 2), "kWh"),
        Quantity(found.generator_hours, "h"), Quantity(found.fuel, "L"), found.spilled / offered if offered else 0.0,
        found.cycles, str(life_of(coach, one)).replace("more than ", "> "), cost_of(coach, parallel, one.system.array, found),
    )  # fmt: skip


def _share(part, whole):
    return float(part / whole) if whole else 1.0


def compare(coach) -> list[Choice]:
    """A small, a middle and a large bank, with and without the array, with either air conditioner: a row each.

    Parameters
    ----------
    coach : the coach file

    The banks have 1, 2, 3 strings of modules, or 1, half as many as the coach's own, and its own. Where the bank carries
    no air conditioner there is one row for both. Source: `run`.
    """
    plan, strings_now = _plan(coach), _own(coach)[1]
    parallels = (1, 2, 3) if strings_now <= 3 else (1, -(-strings_now // 2), strings_now)
    own = coach.cooling_load.model_copy(update=cooling_load.propose(coach)).unit.name
    units = {own: "", plan.other_unit: plan.other_unit} if plan.air_conditioning == "on the bank" else {"none": "none"}
    watts = _own(coach)[0].array
    return [row_of(coach, run(series_of(coach, unit), system_of(coach, strings, plates, unit)), strings, name)
            for name, unit in units.items() for plates in (0.0, watts) for strings in parallels]  # fmt: skip


def by_start(coach, starts=(0.25, 0.35, 0.45, 0.5, 0.55, 0.65)) -> list[dict]:
    """The year of a coach with other rules of the generator: rows with the state of charge at which it starts.

    Parameters
    ----------
    coach : the coach file
    starts : states of charge

    Source: `run`.
    """
    rows, own, series = [], system_of(coach), series_of(coach)
    for start in starts:
        one = run(series, dataclasses.replace(own, start=start * own.full, stop=max(own.stop, start * own.full))).answers
        rows.append({"starts_below": Quantity(100 * start, "percent"), "generator": Quantity(one.generator_hours, "h"),
                     "fuel": Quantity(one.fuel, "L").to("gal"), "alone": round(one.alone),
                     "lowest": Quantity(100 * one.lowest, "percent"), "missed": Quantity(one.missed, "Wh"),
                     "missed_cooling": Quantity(one.missed_cooling, "Wh")})  # fmt: skip
    return rows


def side_by_side(coach, designs) -> list[dict]:
    """The year of a coach with other modules, arrays or rules of the generator: rows of what the promise turns on.

    Parameters
    ----------
    coach : the coach file
    designs : for each (strings of modules, W of array, state of charge at which the generator starts)

    Source: `run`, `cost_of`.
    """
    rows, series = [], series_of(coach)
    for strings, watts, start in designs:
        system = system_of(coach, strings, float(watts))
        one = run(series, dataclasses.replace(system, start=start * system.full, stop=max(system.stop, start * system.full)))
        found = one.answers
        worst = min((row.alone / row.days for row in _months(one) if row.days), default=1.0)
        rows.append({"starts_below": Quantity(100 * start, "percent"), "modules": strings * capacity.arrangement(coach).series,
                     "watts": Quantity(system.array, "W"), "days": round(found.alone), "alone": _share(found.alone, found.days),
                     "worst_month": Quantity(100 * worst, "percent"), "missed": Quantity(found.missed + found.missed_cooling, "Wh"),
                     "generator": Quantity(found.generator_hours, "h"),
                     "price": cost_of(coach, strings, system.array, found)})  # fmt: skip
    return rows


@dataclasses.dataclass(frozen=True)
class MeanDay:
    """A mean day of some months, as if away: direct : used while the sun serves it. banked : used out of the bank.
    offered : by the array. heater : of the box of the bank, among the two first."""

    direct: Energy
    banked: Energy
    offered: Energy
    heater: Energy


def mean_day(coach, months) -> MeanDay:
    """What a mean day takes and the sun offers, nothing but the sun at hand: for sums by hand.

    Parameters
    ----------
    coach : the coach file
    months : numbers from 1

    Source: `hours_of`.
    """
    hours, now = hours_of(coach), weather.hours_of(months)
    asked, offered = (hours.load + hours.cooling)[now], system_of(coach).array * hours.sun[now]
    direct, days = numpy.minimum(asked, offered), now.sum() / 24
    sums = (direct, asked - direct, offered, hours.heater[now])
    return MeanDay(*(Quantity(float(values.sum() / days), "Wh") for values in sums))


@dataclasses.dataclass(frozen=True, eq=False)
class Map:
    """Days without a generator over module count and array watts.

    modules : shape (m,). watts : shape (w,). alone, price : shape (m, w), share of the days away and USD. days : away.
    promise : the share wanted. best : (place among modules, place among watts) of the cheapest that keeps it, or None.
    """

    modules: numpy.ndarray
    watts: numpy.ndarray
    alone: numpy.ndarray
    price: numpy.ndarray
    days: int
    promise: float

    def cheapest(self, promise: float):
        """(modules, watts, price) places of the cheapest design that keeps a promise, or None."""
        keeps = self.alone >= promise - 1e-9
        if not keeps.any():
            return None
        return tuple(int(one) for one in numpy.unravel_index(numpy.where(keeps, self.price, numpy.inf).argmin(), keeps.shape))

    @property
    def best(self):
        """Places of the cheapest design that keeps the coach's own promise, or None."""
        return self.cheapest(self.promise)


def map_of(coach, most_modules: int | None = None, most_watts: float | None = None, unit: str = "") -> Map:
    """Module count by array watts: the year of every pair.

    Parameters
    ----------
    coach : the coach file
    most_modules, most_watts : ends of the map; None for twice the coach's own
    unit : as for `hours_of`

    Source: `many`.
    """
    plan, own = _plan(coach), system_of(coach)
    built = capacity.arrangement(coach)
    most_modules = most_modules or max(4, 2 * (built.parallel - built.reserve))
    most_watts = most_watts or max(800.0, 2 * own.array)
    strings, watts = numpy.arange(1, most_modules + 1), numpy.linspace(0, most_watts, 13)
    systems = grid(coach, strings, watts, unit)
    found = many(series_of(coach, unit), systems)
    price = prices(coach, numpy.repeat(strings, len(watts)), systems.array, found.fuel, found.generator_hours)
    alone = found.alone / found.days if found.days else numpy.ones(len(price))
    shape = (len(strings), len(watts))
    return Map(strings * built.series, watts, alone.reshape(shape), price.reshape(shape), found.days, plan.promise)


@dataclasses.dataclass(frozen=True)
class Need:
    """What a promise takes on sun alone: modules and watts, roof area of the array, mass of the bank, price of both.

    day_energy : of the air conditioner at the bank on its hungriest day. alone : share of the days away that is kept.
    missed_cooling : what the air conditioner does not get on the other days of a year; the loads get all they ask.
    """

    modules: int
    watts: Power
    surface: Area
    mass: Mass
    price: Price
    day_energy: Energy
    alone: Fraction
    missed_cooling: Energy


def day_and_night(coach, most_modules: int = 12, most_watts: float = 6000.0) -> Need | None:
    """The cheapest bank and array that run the air conditioner day and night, on sun alone, for the promised share of days,
    and serve all other loads on every day: only the air conditioner may stop.

    Parameters
    ----------
    coach : the coach file
    most_modules, most_watts : where the search ends

    Neither engine, shore nor generator help while away. None where even the largest does not keep the promise.
    Source: `many`, cooling_load.cool with cooling from midnight to midnight.
    """
    always = coach.model_copy(update={
        "cooling_load": coach.cooling_load.model_copy(update={"cooled": ("00:00-24:00",)}),
        "whole_system": coach.whole_system.model_copy(update={"air_conditioning": "on the bank"})})  # fmt: skip
    series = series_of(always)
    series = dataclasses.replace(series, engine=0 * series.engine, shore=series.shore * ~series.away)
    strings, watts = numpy.arange(1, most_modules + 1), numpy.arange(0, most_watts + 1, 200.0)
    systems = dataclasses.replace(grid(always, strings, watts), generator=0.0)
    found = many(series, systems)
    plan, built = _plan(coach), capacity.arrangement(coach)
    price = prices(coach, numpy.repeat(strings, len(watts)), systems.array, 0.0, 0.0)
    keeps = (found.alone >= plan.promise * found.days) & (found.missed < 1.0)
    if not keeps.any():
        return None
    at = int(numpy.where(keeps, price, numpy.inf).argmin())
    one, plates, sheet = int(strings[at // len(watts)]), float(systems.array[at]), _sun(coach).array
    return Need(
        one * built.series, Quantity(plates, "W"), (sheet.surface / sheet.rated_power * Quantity(plates, "W")).to("ft**2"),
        built.module.mass * one * built.series, Quantity(float(price[at]), "USD"),
        Quantity(float(series.cooling.reshape(DAYS, 24).sum(axis=1).max()), "Wh"), _share(found.alone[at], found.days),
        Quantity(float(found.missed_cooling[at]) / 1000, "kWh"),
    )  # fmt: skip


# ------------------------------------------------------------------------------- chance

WEATHER_DAYS = 15  # by which a trip's weather is moved, either way


@dataclasses.dataclass(frozen=True, eq=False)
class Chances:
    """What trips under many weathers and habits came to, for several banks: arrays of shape (banks,).

    modules : of each. nights, trips : how many were tried with each. kept : nights that lacked nothing. whole : trips of
    which every night was kept.
    """

    modules: numpy.ndarray
    nights: int
    trips: int
    kept: numpy.ndarray
    whole: numpy.ndarray

    @property
    def night_chance(self):
        """Share of the nights that were kept."""
        return self.kept / max(self.nights, 1)

    @property
    def trip_chance(self):
        """Share of the trips of which every night was kept."""
        return self.whole / max(self.trips, 1)

    @property
    def uncertainty(self):
        """Standard error of `trip_chance`."""
        share = self.trip_chance
        return numpy.sqrt(share * (1 - share) / max(self.trips, 1))

    def enough(self, promise: float):
        """The fewest modules whose nights keep a promise, or None."""
        good = self.modules[self.night_chance >= promise]
        return int(good.min()) if len(good) else None


def chances(coach, parallels=(1, 2, 3, 4), trips: int = 200, seed: int = 1, together: int = 20):
    """Tries trips without a generator under drawn weather and habits; yields Chances after every few of them.

    Parameters
    ----------
    coach : the coach file
    parallels : strings of modules to try, all with the same trips
    trips : how many are tried at most. seed : whole number; the same one draws the same trips
    together : trips tried in one go

    A trip of the calendar is drawn, then the block of days from which its weather comes: the same dates of the typical
    year moved by up to 15 days, kept in its order, so that dull days stay in rows; then how much its people use, a normal
    spread around the plan. Heater and temperature of the cells move with the weather. Every trip begins as full as storage leaves the bank.
    Source: `many`; block bootstrap.
    """
    plan, hours, series = _plan(coach), hours_of(coach), series_of(coach)
    days = calendar_of(plan.trips, plan.storage)
    draw = numpy.random.default_rng(seed)
    levels = run(series, system_of(coach)).state_of_charge
    built, count = capacity.arrangement(coach), len(parallels)
    nights, done, kept, whole = 0, 0, numpy.zeros(count), numpy.zeros(count)
    modules = numpy.array(parallels) * built.series
    while done < trips and days.starts:
        nights_each = days.starts[draw.integers(len(days.starts))][0].nights
        alike = [first for trip, first in days.starts if trip.nights == nights_each]  # one length at a time: one array
        now = min(together, trips - done)
        first = numpy.array(alike)[draw.integers(len(alike), size=now)]
        long = 24 * (nights_each + 1)
        at = (24 * first + numpy.arange(long)[:, None]) % HOURS
        moved = (at + 24 * draw.integers(-WEATHER_DAYS, WEATHER_DAYS + 1, now)) % HOURS
        habits = numpy.clip(1 + plan.spread * draw.standard_normal(now), 0.1, None)
        across = lambda values: numpy.repeat(values, count, axis=-1)  # noqa: E731: every trip with every bank
        tried = Series(1.0, across((hours.load - hours.heater)[at] * habits + hours.heater[moved]), across(hours.cooling[moved]), across(hours.sun[moved]),
                       across(series.engine[at]), across(series.shore[at]), across(_charge_share(coach, hours.celsius[moved])),
                       numpy.zeros(long, bool), numpy.ones(long, bool))  # fmt: skip
        systems = dataclasses.replace(system_of(coach, numpy.tile(parallels, now)), generator=0.0)
        found = many(tried, systems, across(levels[at[0] - 1]))
        each = found.kept.reshape(now, count)
        kept, whole = kept + each.sum(axis=0), whole + (each >= nights_each).sum(axis=0)
        nights, done = nights + now * nights_each, done + now
        yield Chances(modules, nights, done, kept, whole)


# ------------------------------------------------------------------------------- the doors


@dataclasses.dataclass(frozen=True, eq=False)
class Study:
    """Everything this topic says of a coach.

    plan : [whole_system] with nothing left open. calendar : Calendar. run : Run of the typical year. life : years of the
    bank, a cycle_life.Band. price : over the years wanted. months : twelve MonthRow. full_at_start : share of the trips that
    begin at home with at least 95 % in the bank. worst, worst_uncooled : the Night that takes most out of the bank, of all and
    of those without air conditioning. quiet : the quiet hours of the coach's generator, away, that take most out of the bank.
    assumed : names of proposals.
    """

    plan: object
    calendar: Calendar
    run: Run
    life: object
    price: Quantity
    months: tuple
    full_at_start: float
    worst: object
    worst_uncooled: object
    quiet: object
    mean_night: Quantity
    assumed: tuple

    @property
    def alone(self):
        """Share of the days away that needed no generator and lacked nothing."""
        return _share(self.run.answers.alone, self.run.answers.days)

    @property
    def worst_month(self):
        """The MonthRow with the smallest share of days without generator, or None without a trip."""
        away = [row for row in self.months if row.days]
        return min(away, key=lambda row: row.alone / row.days) if away else None


@dataclasses.dataclass(frozen=True)
class MonthRow:
    """The days away of one month: how many, how many without generator, sun used and spilled, what else came, missed."""

    month: str
    days: int
    alone: int
    lowest: Fraction
    sun: Energy
    spilled: Energy
    engine: Energy
    generator: Energy
    missed: Energy


@dataclasses.dataclass(frozen=True)
class Night:
    """A night: the month and day on which it begins, what loads and air conditioner took out of the bank, and its share of
    the full bank."""

    day: str
    energy: Energy
    share: Fraction


def _nights(one):
    """Wh for the loads and Wh for the air conditioner out of the bank, noon to noon, of every night away; its day."""
    away = one.series.away.reshape(-1, 24).any(axis=1)
    loads, cooled = (values[12:-12].reshape(-1, 24).sum(axis=1) for values in (one.flows.given, one.flows.cooled))
    at = numpy.flatnonzero(away[:-1] & away[1:])
    return loads[at], cooled[at], at


def _quiet(one, allowed):
    """Wh out of the bank in the hours of each night away, noon to noon, in which a rule lets no generator run; its day."""
    away = one.series.away.reshape(-1, 24).any(axis=1)
    taken = ((one.flows.given + one.flows.cooled) * numpy.tile(~allowed, DAYS))[12:-12].reshape(-1, 24).sum(axis=1)
    at = numpy.flatnonzero(away[:-1] & away[1:])
    return taken[at], at


def _most(one, taken, at):
    """The Night that takes most, or None."""
    if not taken.any():
        return None
    most = float(taken.max())
    return Night(_date(int(at[taken.argmax()])), Quantity(most, "Wh"), most / one.system.full)


def _date(day):
    month = int(numpy.searchsorted(numpy.cumsum(weather.MONTH_DAYS), day, "right"))
    return f"{weather.MONTHS[month]} {day - sum(weather.MONTH_DAYS[:month]) + 1}"


def _months(one):
    flows_, away = one.flows, one.series.away
    short = flows_.missed + flows_.missed_cooling > ENOUGH
    helped = (short | flows_.running).reshape(DAYS, 24).any(axis=1)
    found = []
    for month in range(1, 13):
        now = weather.hours_of([month]) & away
        whole = now.reshape(DAYS, 24).any(axis=1)
        sums = {name: Quantity(float(getattr(flows_, name)[now].sum()) / 1000, "kWh")
                for name in ("sun", "spilled", "engine", "generator")}  # fmt: skip
        missed = Quantity(float((flows_.missed + flows_.missed_cooling)[now].sum()) / 1000, "kWh")
        lowest = float(one.state_of_charge[now].min()) if now.any() else 1.0
        found.append(MonthRow(weather.MONTHS[month - 1], int(whole.sum()), int((whole & ~helped).sum()), lowest, missed=missed, **sums))
    return tuple(found)


@functools.lru_cache(maxsize=8)  # the other topics and the record ask again and again
def study(coach) -> Study:
    """Everything this topic says of a coach: its year by hours and what it adds up to.

    Parameters
    ----------
    coach : the coach file

    Source: the functions above.
    """
    proposals, plan = propose(coach), _plan(coach)
    one, built = run(series_of(coach), system_of(coach)), capacity.arrangement(coach)
    days = calendar_of(plan.trips, plan.storage)
    loads, cooled, at = _nights(one)
    taken = loads + cooled
    uncooled = _most(one, numpy.where(cooled > 0, 0.0, taken), at)
    quiet = _most(one, *_quiet(one, _allowed(coach)))
    from_home = [day for _, day in days.starts if not days.away[day - 1]]
    starts = [float(one.state_of_charge[24 * day - 1]) for day in from_home]
    return Study(
        plan, days, one, life_of(coach, one), cost_of(coach, built.parallel - built.reserve, one.system.array, one.answers),
        _months(one), float(numpy.mean([level >= 0.95 for level in starts])) if starts else 1.0,
        _most(one, taken, at), uncooled, quiet,
        Quantity(float(taken.mean()) if len(at) else 0.0, "Wh"), tuple(proposals),
    )  # fmt: skip


def summary(found) -> list[dict]:
    """A year's answers as rows with `what` and `value`. found : a Study. Source: `Run.answers`."""
    one = found.run.answers
    wh = lambda value: Quantity(value / 1000, "kWh")  # noqa: E731
    return [dict(what=what, value=value) for what, value in (
        ("days away", one.days), ("of them without generator, nothing lacking", round(one.alone)),
        ("lowest state of charge", Quantity(100 * one.lowest, "percent")), ("hours below the reserve", Quantity(one.low_hours, "h")),
        ("not served: loads", wh(one.missed)), ("not served: air conditioner", wh(one.missed_cooling)),
        ("generator", Quantity(one.generator_hours, "h")), ("its fuel", Quantity(one.fuel, "L").to("gal")),
        ("sun used", wh(one.sun)), ("sun spilled", wh(one.spilled)), ("from the engine", wh(one.engine)),
        ("full cycles in a year", one.cycles), ("years of the bank", str(found.life)),
        ("price over the years wanted", found.price),
    )]  # fmt: skip


def checks(coach) -> list:
    """The rules of this topic held against a coach: a list of Check.

    Parameters
    ----------
    coach : the coach file

    Source: each check names its own.
    """
    found = study(coach)
    plan, answers = found.plan, found.run.answers
    hourly, practice = Source("hourly balance of energy on the coach file", "derived"), Source(PRACTICE, PRACTICE)
    wanted = floats(coach.cycle_life.model_copy(update=cycle_life.propose(coach)).years_wanted, "year")
    missed = Quantity((answers.missed + answers.missed_cooling) / 1000, "kWh")
    return [
        rules.at_least(
            "Do as many days away as promised need no generator and lack nothing?", Quantity(100 * found.alone, "percent"),
            Quantity(100 * plan.promise, "percent"), why="It is what the owner was told.",
            mend="The cheapest design that keeps it stands in lesson 10; or promise less.", source=hourly, topic="whole_system",
        ),
        rules.holds(
            "Is everything served, with the generator by its rule where there is one?", f"{show(missed)} missed in the year", "nothing missed",
            true=floats(missed, "Wh") < 1.0, why="A load that stops in the night is found out by the sleepers.",
            mend="Start the generator earlier, a larger bank, or a smaller load.", source=hourly, topic="whole_system",
        ),
        rules.holds(
            "Does the generator stop above where it starts, and both above the floor?",
            f"{plan.generator_start:.0%} to {plan.generator_stop:.0%}", f"rising, from {1 - _bank(coach).depth:.0%}",
            true=1 - _bank(coach).depth <= plan.generator_start < plan.generator_stop,
            why="Otherwise it runs for minutes, or starts when nothing is left.", mend="A wider span between the two.",
            source=practice, topic="whole_system",
        ),
        rules.at_least(
            "Do the trips begin with a full bank?", Quantity(100 * found.full_at_start, "percent"), Quantity(95.0, "percent"),
            why="The first night is carried by what storage left in it.", mend="Charge the day before, or leave the array connected.",
            source=hourly, topic="whole_system",
        ),
        rules.holds(
            "Does the bank last as many years as its owner wants?", str(found.life), show(Quantity(wanted, "year")),
            true=found.life.shortest is None or floats(found.life.shortest, "year") >= wanted,
            why="A small bank is cycled deeper, and lies in the warmth as long.", mend="A larger bank, a cooler place, storage half full.",
            source=Source("cycle_life, the worse of two published cells", "model result"), topic="whole_system",
        ),
    ]  # fmt: skip
