"""Energy: what the loads of a coach take from the house bank in a day.

Energy is counted at the terminals of the battery. A load's own energy is only the first part of it: the
inverter takes its idle draw whenever it is on and loses a share of what passes through it, and the wiring
between the bank and the loads warms a little. Each loss is named and counted by itself.
"""

import dataclasses
import functools
from typing import Annotated

import numpy

from coachwork import checks as rules
from coachwork.profile import DAY_STEPS, Profile, covered_share, day_profile
from coachwork.quantities import (
    ABOVE_ZERO,
    KINDS,
    ApparentPower,
    Charge,
    Count,
    Current,
    Energy,
    EnergyEfficiencyRatio,
    Fraction,
    InputError,
    Power,
    Price,
    PriceOfEnergy,
    Quantity,
    Ratio,
    Time,
    Voltage,
    floats,
    formula,
    read_window,
    show,
)
from coachwork.sources import Source

PRACTICE = "common practice, no source"
INVERTER_IDLE, INVERTER_CONVERSION, WIRING = "inverter idle", "inverter conversion", "wiring"
MARGIN = 0.20
WIRING_LOSS = 0.02

# ------------------------------------------------------------------------------- single formulas


@formula
def load_energy(power: Power, hours: Time, count: Count = 1.0, duty: Fraction = 1.0) -> Energy:
    """Energy that a load takes in a day.

    Parameters
    ----------
    power : what one of them draws while it runs, W
    hours : hours a day in which it is switched on
    count : how many there are
    duty : share of those hours in which it really runs (a refrigerator: about one third)

    Source: US DOE, Estimating Appliance and Home Electronic Energy Use (wattage x hours used).
    """
    return count * duty * power * hours


@formula
def power_from_current(voltage: Voltage, current: Current) -> Power:
    """Power of a load from its nameplate amps, direct current or unity power factor.

    Parameters
    ----------
    voltage : volts across the load
    current : amps through it

    Source: definition of electric power, P = V I (OpenStax College Physics, Electric Power and Energy).
    """
    return voltage * current


@formula
def current_from_power(power: Power, voltage: Annotated[Voltage, ABOVE_ZERO]) -> Current:
    """Amps that a power means at a voltage.

    Parameters
    ----------
    power : watts at the place where the current is wanted
    voltage : volts at the same place; zero is refused

    Source: definition of electric power, I = P / V (OpenStax College Physics, Electric Power and Energy).
    """
    return power / voltage


@formula
def energy_from_charge(charge: Charge, voltage: Voltage) -> Energy:
    """Watt-hours in a number of amp-hours at a voltage.

    Parameters
    ----------
    charge : amp-hours
    voltage : mean volts while they flow, for a bank its nominal voltage

    Source: definition of the volt, E = Q V.
    """
    return charge * voltage


@formula
def charge_from_energy(energy: Energy, voltage: Annotated[Voltage, ABOVE_ZERO]) -> Charge:
    """Amp-hours that a number of watt-hours means at a voltage.

    The same energy is four times the amp-hours at 12 V that it is at 48 V: amp-hours compare banks only
    at one voltage.

    Parameters
    ----------
    energy : watt-hours
    voltage : mean volts while they flow; zero is refused

    Source: definition of the volt, Q = E / V.
    """
    return energy / voltage


@formula
def inverter_input_power(power: Power, efficiency: Annotated[Fraction, ABOVE_ZERO]) -> Power:
    """Power that an inverter draws from the bank.

    Parameters
    ----------
    power : AC watts that it delivers
    efficiency : its efficiency at that load, above 0

    Source: definition of efficiency, output over input.
    """
    return power / efficiency


@formula
def inverter_input_current(
    power: Power, efficiency: Annotated[Fraction, ABOVE_ZERO], voltage: Annotated[Voltage, ABOVE_ZERO]
) -> Current:
    """Amps that an inverter draws from the bank: most at the lowest voltage.

    Parameters
    ----------
    power : AC watts that it delivers
    efficiency : its efficiency at that load, above 0
    voltage : volts at the inverter's DC terminals; zero is refused

    Source: definitions of efficiency and power, I = P / (efficiency V).
    """
    return power / (efficiency * voltage)


@formula
def energy_at_battery(energy: Energy, efficiency: Annotated[Fraction, ABOVE_ZERO]) -> Energy:
    """Energy that leaves the battery for a load behind something that loses a share.

    Parameters
    ----------
    energy : energy that the load takes
    efficiency : of whatever stands between, an inverter or a DC converter, above 0

    Source: definition of efficiency, output over input.
    """
    return energy / efficiency


@formula
def efficiency_by_pvwatts(
    power: Annotated[Power, ABOVE_ZERO],
    rated_power: Annotated[Power, ABOVE_ZERO],
    nominal_efficiency: Fraction,
) -> Fraction:
    """Efficiency of an inverter at part load by a published curve for grid inverters.

    Shown beside the coach's own fit: the shape (idle, linear and square loss) is the same.

    Parameters
    ----------
    power : DC watts into the inverter, above 0
    rated_power : DC watts at which it delivers its rated AC power
    nominal_efficiency : efficiency there

    Holds for loads up to the rated power. Source: PVWatts version 5 manual (NREL/TP-6A20-62641), section on
    the inverter; 0.9637 is the reference efficiency of the curve.
    """
    load = (power / rated_power).to("").magnitude
    return max(0.0, nominal_efficiency / 0.9637 * (-0.0162 * load - 0.0059 / load + 0.9858))


@formula
def output_by_pvwatts(
    power: Annotated[Power, ABOVE_ZERO],
    rated_power: Annotated[Power, ABOVE_ZERO],
    nominal_efficiency: Fraction,
) -> Power:
    """AC watts of an inverter by the same published curve.

    Parameters
    ----------
    power, rated_power, nominal_efficiency : as for `efficiency_by_pvwatts`

    Source: PVWatts version 5 manual (NREL/TP-6A20-62641), section on the inverter.
    """
    return power * efficiency_by_pvwatts(power, rated_power, nominal_efficiency)


@formula
def power_at_energy_efficiency_ratio(
    cooling_capacity: Power, energy_efficiency_ratio: Annotated[EnergyEfficiencyRatio, ABOVE_ZERO]
) -> Power:
    """Electric power of an air conditioner from its cooling capacity.

    Parameters
    ----------
    cooling_capacity : heat removed at the rating point, Btu/h or W
    energy_efficiency_ratio : EER, Btu/h of cooling for each watt, at the same point; zero is refused

    Source: definition of EER, 10 CFR 430.2 (from memory).
    """
    return cooling_capacity / energy_efficiency_ratio


@formula
def energy_efficiency_ratio(
    cooling_capacity: Power, power: Annotated[Power, ABOVE_ZERO]
) -> EnergyEfficiencyRatio:
    """EER of an air conditioner: Btu/h of cooling for each watt it draws.

    Parameters
    ----------
    cooling_capacity : heat removed, Btu/h or W
    power : watts drawn at the same moment; zero is refused

    Source: definition of EER, 10 CFR 430.2 (from memory).
    """
    return cooling_capacity / power


@formula
def coefficient_of_performance(energy_efficiency_ratio: EnergyEfficiencyRatio) -> Ratio:
    """COP of an air conditioner: the same ratio as the EER with watts on both sides.

    Parameters
    ----------
    energy_efficiency_ratio : EER, Btu/h of cooling for each watt

    Source: 1 W = 3.412142 Btu/h, NIST SP 811.
    """
    return energy_efficiency_ratio


@formula
def energy_cost(energy: Energy, price: PriceOfEnergy) -> Price:
    """What an amount of energy costs.

    Parameters
    ----------
    energy : watt-hours or kilowatt-hours
    price : money for each kilowatt-hour

    Source: US DOE, Estimating Appliance and Home Electronic Energy Use.
    """
    return energy * price


@formula
def load_factor(
    energy: Energy, peak_power: Annotated[Power, ABOVE_ZERO], hours: Annotated[Time, ABOVE_ZERO]
) -> Fraction:
    """Mean power as a share of the peak: how evenly energy is taken.

    Parameters
    ----------
    energy : energy taken in the span
    peak_power : largest power in it, above 0
    hours : length of the span, above 0

    Source: Theraja, A Textbook of Electrical Technology, Vol. III, ch. 50 (definition of load factor).
    """
    return energy / (peak_power * hours)


@formula
def hours_from_energy(energy: Energy, power: Annotated[Power, ABOVE_ZERO]) -> Time:
    """How long an energy lasts at a steady power.

    Parameters
    ----------
    energy : usable watt-hours
    power : mean watts drawn from it; zero is refused

    Source: definition of power, t = E / P.
    """
    return energy / power


@formula
def mean_power(energy: Energy, hours: Annotated[Time, ABOVE_ZERO]) -> Power:
    """Mean power that uses an energy up in a time.

    Parameters
    ----------
    energy : watt-hours
    hours : the time; zero is refused

    Source: definition of power, P = E / t.
    """
    return energy / hours


@formula
def with_margin(energy: Energy, margin: Ratio) -> Energy:
    """Energy with the reader's margin on top. The margin is a choice, shown as one.

    Parameters
    ----------
    energy : energy of the day
    margin : share added, 0.2 for 20 %

    Source: common practice, no source (20 to 25 % on the day's energy).
    """
    return energy * (1 + margin)


@formula
def power_from_apparent_power(apparent_power: ApparentPower, power_factor: Fraction) -> Power:
    """Watts of an AC load from its volt-amperes.

    Parameters
    ----------
    apparent_power : volts times amps of the nameplate, VA
    power_factor : the share of them that does work

    Source: definition of power factor, IEC 60050-131-11-46 (from memory).
    """
    return apparent_power * power_factor


@dataclasses.dataclass(frozen=True)
class AuditLine:
    """One line of a load audit, with the names of `load_energy`."""

    power: Power
    hours: Time
    count: Count = 1.0
    duty: Fraction = 1.0


def audit(lines: list[AuditLine]) -> Energy:
    """Energy of a list of loads: the sum of `load_energy` over its lines.

    Parameters
    ----------
    lines : the lines of the audit, at least one

    Source: US DOE, Estimating Appliance and Home Electronic Energy Use.
    """
    if not lines:
        raise InputError(
            "lines", "an empty list is given", "at least one load", '{power = "60 W", hours = "3 h"}'
        )
    return sum((load_energy(**vars(line)) for line in lines), Quantity(0.0, "Wh"))


# ------------------------------------------------------------------------------- the inverter's losses


@dataclasses.dataclass(frozen=True)
class EfficiencyPoint:
    """One line of an inverter's data sheet: AC power delivered and efficiency there."""

    power: Power
    efficiency: Fraction


@dataclasses.dataclass(frozen=True)
class InverterLoss:
    """Loss of an inverter while it is on: idle + linear P + square P^2, P the AC power in W.

    idle : draw with nothing connected. linear : 1. square : 1/W.
    misfit : largest distance of the fitted efficiency from a data-sheet point (a fraction).
    """

    idle: Power
    linear: float
    square: float
    misfit: Fraction

    def watts(self, ac_watts):
        """Loss in W at AC powers in W (floats, any shape) while the inverter is on."""
        idle = floats(self.idle, "W")
        return idle + self.linear * ac_watts + self.square * ac_watts**2

    def efficiency(self, power):
        """Efficiency at an AC power above 0, a fraction."""
        ac_watts = floats(KINDS["power"].check(power, "power"), "W")
        return ac_watts / (ac_watts + self.watts(ac_watts)) if ac_watts else 0.0


def inverter_loss(idle: Power, points: list[EfficiencyPoint]) -> InverterLoss:
    """Fit an inverter's losses to its data sheet.

    The idle draw is taken as stated, because it rules the night. The linear and the square share are the
    least-squares fit to the losses per watt, 1/efficiency - 1, at the stated points.

    Parameters
    ----------
    idle : draw with nothing connected, W
    points : three (at least two) data-sheet points: AC power and efficiency

    Errors: InputError where points are fewer than two or repeat one power, where an efficiency is 0, and
    where the fit would give a negative loss below the largest stated power (the sheet contradicts itself).

    Source: loss as a second-order polynomial of the load: Schmidt and Sauer, Wechselrichter-Wirkungsgrade,
    Sonnenenergie 4/1996 (from memory); the same shape as the PVWatts version 5 curve.
    """
    idle_watts = floats(KINDS["power"].check(idle, "idle"), "W")
    power = numpy.array([floats(KINDS["power"].check(point.power, "power"), "W") for point in points])
    efficiency = numpy.array([KINDS["fraction"].check(point.efficiency, "efficiency") for point in points])
    if len(points) < 2 or len(set(power)) < len(points) or power.min() <= 0 or efficiency.min() <= 0:
        raise InputError("efficiency", f"{len(points)} points are given, some equal or zero",
                         "three different loads with their efficiency",
                         '{power = "300 W", efficiency = "91 %"}')  # fmt: skip
    wanted = 1 / efficiency - 1 - idle_watts / power
    (linear, square), *_ = numpy.linalg.lstsq(
        numpy.column_stack([numpy.ones_like(power), power]), wanted, rcond=None
    )
    trial = numpy.linspace(0, power.max(), 101)
    if (idle_watts + linear * trial + square * trial**2).min() < 0:
        raise InputError("efficiency", f"an idle draw of {show(idle)} does not go with the stated efficiencies",
                         "an idle draw and efficiencies from one data sheet")  # fmt: skip
    fitted = power / (power + idle_watts + linear * power + square * power**2)
    misfit = float(numpy.abs(fitted - efficiency).max())
    return InverterLoss(KINDS["power"].check(idle, "idle"), float(linear), float(square), misfit)


def fitted_efficiency(power: Power, idle: Power, points: list[EfficiencyPoint]) -> Fraction:
    """Efficiency of an inverter at an AC power, from its idle draw and data-sheet points.

    Parameters
    ----------
    power : AC watts delivered, above 0
    idle, points : as for `inverter_loss`

    Source: as for `inverter_loss`.
    """
    return inverter_loss(idle, points).efficiency(power)


# ------------------------------------------------------------------------------- the day


@dataclasses.dataclass(frozen=True, eq=False)
class Day:
    """A day of one season at the battery, at 5-minute steps.

    season : its name. voltage : nominal volts of the bank. night : clock window from sunset to sunrise.
    loads : watts of each load at its own terminals, shape (288,), by name.
    groups : group of each load, by name. losses : watts of each loss, by name.
    missed : hours a day that an AC load asks for while the inverter is off, by name.
    """

    season: str
    voltage: Quantity
    night: str
    loads: dict
    groups: dict
    losses: dict
    missed: dict

    @functools.cached_property
    def at_battery(self) -> Profile:
        """Watts at the battery's terminals: every load and every loss."""
        return day_profile(sum([*self.loads.values(), *self.losses.values()], numpy.zeros(DAY_STEPS)), "W")

    @functools.cached_property
    def energy(self):
        """Energy of the day at the battery, Wh."""
        return self.at_battery.total().to("Wh")

    @property
    def charge(self):
        """Amp-hours of the day at the bank's nominal voltage."""
        return charge_from_energy(self.energy, self.voltage)

    @property
    def peak(self):
        """Largest 5-minute power at the battery."""
        return self.at_battery.peak()

    @property
    def mean(self):
        """Mean power of the day at the battery."""
        return self.at_battery.mean()

    @property
    def night_share(self) -> Fraction:
        """Share of the day's energy taken between sunset and sunrise."""
        return self.at_battery.share_within([self.night])

    def running_energy(self):
        """Wh taken from midnight to the end of each step, floats of shape (288,)."""
        return self.at_battery.running_total()

    def by_part(self):
        """Energy of every load and every loss, largest first: a dict of name to Wh."""
        parts = {name: _watt_hours(values) for name, values in {**self.loads, **self.losses}.items()}
        return dict(sorted(parts.items(), key=lambda item: -item[1].magnitude))

    def by_group(self):
        """Watts by group of loads, with all losses together as the group `losses`: dict of (288,) arrays."""
        grouped = {}
        for name, values in self.loads.items():
            grouped[self.groups[name]] = grouped.get(self.groups[name], 0) + values
        grouped["losses"] = sum(self.losses.values(), numpy.zeros(DAY_STEPS))
        return grouped


def _watt_hours(values):
    return Quantity(float(values.sum()) * 24 / len(values), "Wh")


@functools.lru_cache(maxsize=512)
def _covered(windows):
    share = covered_share(windows)
    share.setflags(write=False)
    return share


def day(coach, season) -> Day:
    """The day of one season on a coach, at 5-minute steps.

    Parameters
    ----------
    coach : the coach file, with its loads, seasons, energy, capacity and inverter sections
    season : name of one of its seasons

    A load with clock windows runs in them; one with only hours a day is spread evenly over the day (an AC
    load: over the time in which the inverter is on). An AC load cannot run while the inverter is off: what
    it asks for then is listed as missed, not counted.

    Source: sum of load energies as in the US DOE method; losses as in `inverter_loss`.
    """
    night = _season(coach, season).night
    inverter_on = _covered(tuple(coach.inverter.on)) if coach.inverter else numpy.zeros(DAY_STEPS)
    loads, groups, missed, ac_watts = {}, {}, {}, numpy.zeros(DAY_STEPS)
    for load in coach.loads:
        if load.seasons and season not in load.seasons:
            continue
        on_ac = load.side == "ac"
        may_run = inverter_on if on_ac else 1.0
        if load.windows:
            wanted = _covered(tuple(load.windows))
        else:
            available = float(inverter_on.mean()) * 24 if on_ac else 24.0
            hours = floats(load.hours, "h")
            wanted = numpy.full(DAY_STEPS, hours / 24) if not available else \
                numpy.full(DAY_STEPS, min(1.0, hours / available)) * may_run  # fmt: skip
            if on_ac and hours > available:
                missed[load.name] = hours - available
        runs = numpy.minimum(wanted, may_run)
        if load.windows and on_ac:
            lost = float((wanted - runs).sum()) * 24 / DAY_STEPS
            if lost > 1e-6:
                missed[load.name] = lost
        watts = load_watts(load)
        values = runs * (watts * load.duty * load.count)
        if load.standby is not None:
            values = values + (may_run - runs) * (floats(load.standby, "W") * load.count)
        loads[load.name], groups[load.name] = values, load.group
        if on_ac:
            ac_watts = ac_watts + values
    dc_watts = sum((values for name, values in loads.items()), numpy.zeros(DAY_STEPS)) - ac_watts
    wiring_loss = coach.energy.wiring_loss if coach.energy.wiring_loss is not None else WIRING_LOSS
    losses = {WIRING: dc_watts * (wiring_loss / (1 - wiring_loss))}
    if coach.inverter:
        curve = inverter_loss(coach.inverter.idle, coach.inverter.efficiency)
        idle = floats(curve.idle, "W")
        losses[INVERTER_IDLE] = inverter_on * idle
        losses[INVERTER_CONVERSION] = curve.watts(ac_watts) - idle
    return Day(season, coach.capacity.nominal_voltage, night, loads, groups, losses, missed)


def load_watts(load):
    """Watts of one of a load while it runs, a float: its power, or its current times its voltage.

    Parameters
    ----------
    load : one load of a coach file
    """
    if load.power is not None:
        return floats(load.power, "W")
    return floats(load.current, "A") * floats(load.voltage, "V")


def _season(coach, name):
    for season in coach.seasons:
        if season.name == name:
            return season
    raise InputError(
        "season", f'"{name}" is not in the coach file', "one of " + ", ".join(s.name for s in coach.seasons)
    )


def changed_load(coach, load_name, **changes):
    """A copy of the coach in which one load is changed, for questions of the kind "what if".

    Parameters
    ----------
    coach : the coach file
    load_name : name of the load
    changes : fields of the load, for example `count=0` or `duty=0.2`
    """
    if load_name not in [load.name for load in coach.loads]:
        raise InputError(
            "load", f'"{load_name}" is not in the coach file', "one of its loads", f'"{coach.loads[0].name}"'
        )
    loads = [load.model_copy(update=changes) if load.name == load_name else load for load in coach.loads]
    return coach.model_copy(update={"loads": tuple(loads)})


def changed_inverter_hours(coach, window):
    """A copy of the coach whose inverter is on only within a clock window; one without an inverter stays as it is.

    Parameters
    ----------
    coach : the coach file
    window : text such as `"06:00-22:00"`
    """
    if not coach.inverter:
        return coach
    return coach.model_copy(update={"inverter": coach.inverter.model_copy(update={"on": (window,)})})


def night_hours(day):
    """Sunset and sunrise of a day as hours after midnight, two floats.

    Parameters
    ----------
    day : the Day of a season
    """
    return read_window(day.night)


def saving(coach, season, changed):
    """Wh a day at the battery that a change saves (negative where it costs).

    Parameters
    ----------
    coach : the coach as it is
    season : name of the season
    changed : the coach after the change
    """
    return day(coach, season).energy - day(changed, season).energy


# ------------------------------------------------------------------------------- the three doors


@dataclasses.dataclass(frozen=True, eq=False)
class Study:
    """Everything this topic says of a coach.

    days : the Day of each season by name. design_season : the one that the bank must carry.
    margin : share on top. energy : the design day's energy at the battery with margin.
    assumed : names of decisions that are proposals, not the reader's.
    """

    days: dict
    design_season: str
    margin: float
    energy: Quantity
    assumed: tuple

    @property
    def design_day(self):
        """The Day of the design season."""
        return self.days[self.design_season]


def propose(coach):
    """Sound decisions where the reader has not decided: a dict of name to value.

    Parameters
    ----------
    coach : the coach file

    The design season is the one that takes most; the margin is 20 %, the lower end of common practice.
    """
    proposals = {}
    if coach.energy.margin is None:
        proposals["margin"] = MARGIN
    if coach.energy.wiring_loss is None:
        proposals["wiring_loss"] = WIRING_LOSS
    if coach.energy.design_season is None:
        proposals["design_season"] = max(
            coach.seasons, key=lambda season: day(coach, season.name).energy
        ).name
    return proposals


@functools.lru_cache(maxsize=8)  # the other topics and the record ask again and again
def study(coach) -> Study:
    """Everything this topic says of a coach: its days, its design day and the energy with margin.

    Parameters
    ----------
    coach : the coach file
    """
    proposals = propose(coach)
    days = {season.name: day(coach, season.name) for season in coach.seasons}
    margin = proposals.get("margin", coach.energy.margin)
    season = proposals.get("design_season", coach.energy.design_season)
    return Study(days, season, margin, with_margin(days[season].energy, margin), tuple(proposals))


def checks(coach):
    """The rules of this topic held against a coach: a list of Check.

    Parameters
    ----------
    coach : the coach file
    """
    found = []
    all_of_it = study(coach)
    missed = {}
    for one in all_of_it.days.values():
        for name, hours in one.missed.items():
            missed[name] = max(missed.get(name, 0.0), hours)
    found.append(
        rules.holds(
            "Is the inverter on whenever an AC load is to run?",
            "; ".join(f"{name} is without it {show(Quantity(hours, 'h'))} a day" for name, hours in missed.items())
            or "no AC load is missed",
            "none missed",
            true=not missed,
            why="An AC load off the grid runs only while the inverter is on.",
            mend="Widen the inverter's hours, move the load's hours, or give it a DC supply.",
            source=Source("arithmetic on the coach file", "derived"),
            topic="energy",
        )
    )
    most = max(all_of_it.days.values(), key=lambda one: one.energy)
    found.append(
        rules.holds(
            "Does the design season carry the season that takes most?",
            f"{all_of_it.design_season} {show(all_of_it.design_day.energy)}",
            f"{most.season} {show(most.energy)}",
            true=all_of_it.design_day.energy >= most.energy,
            why=f"The {most.season} takes more than the {all_of_it.design_season}.",
            mend=f"Choose {most.season} as the design season, or accept running short in it and say so.",
            source=Source("arithmetic on the coach file", "derived"),
            topic="energy",
        )
    )
    found.append(
        rules.holds(
            "Is there a margin on the day's energy?",
            show(Quantity(100 * all_of_it.margin, "percent")),
            "20 % or more",
            true=all_of_it.margin >= MARGIN,
            why="Habits, weather and age differ from the plan.",
            mend="Set a margin of 20 to 25 %.",
            source=Source(PRACTICE, PRACTICE),
            topic="energy",
        )
    )
    return found
