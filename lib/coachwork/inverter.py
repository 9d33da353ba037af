"""Inverter: what the AC side asks of it, what it asks of the bank, and how shore power is shared.

The losses of an inverter, its direct current and the day at the battery are in `energy`; the arithmetic of an
inlet and of a charger on it is in `charging`. Here stand the AC loads that run together, the start of a motor seen
through bank, cable and inverter, the neutral and ground in every state, and the share of an inlet.
"""

import dataclasses
import functools
import math
import tomllib
from typing import Annotated

import numpy
from numpy import cos, sqrt

from coachwork import bootstrap, capacity, charging, conductor, network, sections
from coachwork import checks as rules
from coachwork import energy as energy_topic
from coachwork.profile import DAY_STEPS, covered_share
from coachwork.quantities import (
    ABOVE_ZERO,
    KINDS,
    Angle,
    ApparentPower,
    Current,
    Fraction,
    InputError,
    Length,
    Power,
    Quantity,
    Ratio,
    Resistance,
    ResistancePerLength,
    SharePerKelvin,
    Temperature,
    Time,
    Voltage,
    floats,
    formula,
    show,
)
from coachwork.sources import Source, table

PRACTICE = "common practice, no source"
LINE_VOLTAGE = Quantity(120.0, "V")
DERATED_ABOVE = Quantity(77.0, "degF").to("K")
COMPARTMENT = Quantity(104.0, "degF").to("K")
CABLE_TEMPERATURE = Quantity(75.0, "degC").to("K")
LUG = Quantity(0.1, "mohm")  # one bolted lug
FUSE_DROP = Quantity(0.1, "V")  # across a fuse and its holder at its rating
UNKNOWN_CABLE_DROP = 0.03  # share lost at full load where no cable is chosen yet
UNKNOWN_LENGTH = Quantity(10.0, "ft")
START_TIME = Quantity(1.0, "s")
CONTINUOUS_SHARE = 0.8
HORSEPOWER, KILOVOLT_AMPERE = Quantity(1.0, "hp"), Quantity(1.0, "kVA")
DC_INVERTER = "inverter"  # purpose of the circuit that feeds it
BANK = "bank"

# ------------------------------------------------------------------------------- what runs together


@formula
def apparent_power(power: Power, power_factor: Annotated[Fraction, ABOVE_ZERO]) -> ApparentPower:
    """Volt-amperes of an AC load: what its current means for inverter, breaker and wire.

    Parameters
    ----------
    power : watts that it draws
    power_factor : watts over volt-amperes, above 0

    Source: definition of power factor, IEC 60050-131-11-46 (from memory).
    """
    return power / power_factor


@formula
def diversified_power(power: Power, diversity: Fraction) -> Power:
    """Watts to plan for where not all that may run does run at once.

    Parameters
    ----------
    power : watts of all that may run at one time
    diversity : share of it that is planned for; 100 % is the worst case. A choice, shown as one

    Source: definition of demand factor, NEC Article 100 (from memory).
    """
    return power * diversity


@formula
def derated_power(
    rated_power: Power, derating_rate: SharePerKelvin, ambient: Temperature, reference: Temperature
) -> Power:
    """Continuous watts that an inverter still gives in warm air.

    Parameters
    ----------
    rated_power : of its data sheet, at the reference temperature
    derating_rate : share of it lost for each degree above that
    ambient : air around it
    reference : temperature for which it is rated

    Below the reference nothing is gained; far above it nothing is left. Source: common practice, no source (a straight
    line, as data sheets print it).
    """
    return max(0 * rated_power, rated_power * (1 - derating_rate * max(0 * (ambient - reference), ambient - reference)))


@formula
def derated_apparent_power(
    apparent_power: ApparentPower, derated_power: Power, rated_power: Annotated[Power, ABOVE_ZERO]
) -> ApparentPower:
    """Continuous volt-amperes that an inverter still gives in warm air: its watts and its volt-amperes go down alike.

    Parameters
    ----------
    apparent_power : volt-amperes of its data sheet, at the reference temperature
    derated_power : watts that are left in the warm air, from `derated_power`
    rated_power : watts of its data sheet, above 0

    Current is what heats it, and volt-amperes are current. Source: common practice, no source.
    """
    return apparent_power * derated_power / rated_power


def weighted_efficiency_eu(efficiencies: list[Fraction]) -> Fraction:
    """European weighted efficiency of an inverter: a mean over part loads of a solar day.

    Parameters
    ----------
    efficiencies : at 5, 10, 20, 30, 50 and 100 % of the rated power

    It says nothing of a coach, whose inverter idles most of the day. Source: JRC Ispra weights.
    """
    return _weighted(efficiencies, (0.03, 0.06, 0.13, 0.10, 0.48, 0.20))


def weighted_efficiency_cec(efficiencies: list[Fraction]) -> Fraction:
    """Californian (CEC) weighted efficiency of an inverter.

    Parameters
    ----------
    efficiencies : at 10, 20, 30, 50, 75 and 100 % of the rated power

    Source: Sandia 2005 performance test protocol for inverters, p. 17.
    """
    return _weighted(efficiencies, (0.04, 0.05, 0.12, 0.21, 0.53, 0.05))


def _weighted(efficiencies, weights):
    if len(efficiencies) != len(weights):
        raise InputError("efficiencies", f"{len(efficiencies)} are given", f"{len(weights)}, one for each load")
    values = [KINDS["fraction"].check(value, "efficiency") for value in efficiencies]
    return sum(weight * value for weight, value in zip(weights, values))


# ------------------------------------------------------------------------------- starts


@formula
def locked_rotor_current(
    motor_power: Power, kva_per_hp: Ratio, line_voltage: Annotated[Voltage, ABOVE_ZERO]
) -> Current:
    """Amps of a single-phase motor at the instant of its start, from the code letter on its plate.

    Parameters
    ----------
    motor_power : shaft power of the plate, horsepower
    kva_per_hp : kVA for each horsepower of its code letter (`code_letter`)
    line_voltage : of its supply, above 0

    For open motors. A hermetic compressor has no code letter: its locked-rotor amps stand on its plate.
    Source: NEC (NFPA 70) 2023, 430.7(B).
    """
    return motor_power / HORSEPOWER * kva_per_hp * KILOVOLT_AMPERE / line_voltage


def code_letter(letter: str) -> Ratio:
    """Locked-rotor kVA for each horsepower of a code letter: the upper limit of the letter.

    Parameters
    ----------
    letter : A to U, without I, O and Q

    Source: NEC (NFPA 70) 2023, Table 430.7(B).
    """
    return table("nec_430_7_b").row(letter=letter)["kva_per_hp"]


def motor_full_load_current(horsepower: str, column: str = "at 115 V") -> Current:
    """Running amps of a single-phase motor at full load, where no plate can be read.

    Parameters
    ----------
    horsepower : shaft horsepower as printed, "1/6" to "3"
    column : "at 115 V" or "at 230 V"

    Source: NEC (NFPA 70) 2023, Table 430.248.
    """
    printed = table("nec_430_248")
    printed.column(column)
    return printed.row(horsepower=horsepower)[column]


@formula
def start_power(power: Power, start_multiple: Ratio) -> Power:
    """Volt-amperes of a start, counted in watts, where only a multiple of the running power is known.

    Parameters
    ----------
    power : what the load draws while it runs
    start_multiple : starting over running, 3 to 7 for compressors and pumps, less with a soft start

    Source: common practice, no source.
    """
    return power * start_multiple


@formula
def start_power_from_current(locked_rotor_current: Current, line_voltage: Voltage) -> Power:
    """Volt-amperes of a start, counted in watts, from the locked-rotor amps of the plate.

    Parameters
    ----------
    locked_rotor_current : LRA of the plate
    line_voltage : of the supply

    A starting motor takes fewer watts than volt-amperes. An inverter is stopped by its current, so the volt-amperes
    count; for the bank this errs on the safe side. Source: definition of apparent power.
    """
    return locked_rotor_current * line_voltage


@formula
def surge_demand(other_power: Power, power: Power, start_multiple: Ratio) -> Power:
    """What the inverter must deliver while one load starts: all that runs already, and the start.

    Parameters
    ----------
    other_power : watts of what runs already, without the load that starts
    power : running power of the load that starts; it is part of the start and is not added again
    start_multiple : starting over running

    Source: sum of powers.
    """
    return other_power + start_multiple * power


@formula
def start_dip(
    start_apparent_power: ApparentPower,
    fault_current: Annotated[Current, ABOVE_ZERO],
    supply_voltage: Annotated[Voltage, ABOVE_ZERO],
    line_voltage: Voltage,
) -> Voltage:
    """Volts by which a supply dips while a motor starts on it.

    Parameters
    ----------
    start_apparent_power : of the start
    fault_current : what the supply drives into a short circuit at that place, above 0
    supply_voltage : where both are taken, above 0
    line_voltage : on which the dip is stated: 120 V

    The dip is the start's current over the fault current: a generator, whose fault current is a few times its rating,
    dips deeply. Holds where the start's current and the supply's impedance are of one phase angle, the worst case.
    Source: Gonen, Electric Power Distribution System Engineering, Ex. 9.11.
    """
    return line_voltage * start_apparent_power / (fault_current * supply_voltage)


@formula
def line_drop(
    line_current: Current,
    length: Length,
    resistance_per_length: ResistancePerLength,
    line_voltage: Annotated[Voltage, ABOVE_ZERO],
) -> Ratio:
    """Share of the voltage lost along a cord.

    Parameters
    ----------
    line_current : amps in it
    length : of the cord
    resistance_per_length : of both its conductors together, there and back
    line_voltage : of the supply, above 0

    Source: Ohm's law; Gonen, Ex. 7.4, uses the same product with tabled factors.
    """
    return line_current * length * resistance_per_length / line_voltage


@formula
def resistive_power(voltage: Voltage, resistance: Annotated[Resistance, ABOVE_ZERO]) -> Power:
    """Power in a resistance at a voltage: of a cold lamp or heater at the instant it is switched on.

    Parameters
    ----------
    voltage : across it
    resistance : cold, above 0

    Source: P = V^2 / R (OpenStax College Physics, Electric Power and Energy).
    """
    return voltage**2 / resistance


# ------------------------------------------------------------------------------- the DC side


@formula
def ripple_current(current: Current, ripple_share: Fraction = 1.0) -> Current:
    """RMS of the 120 Hz ripple on the direct current of a single-phase inverter.

    Parameters
    ----------
    current : mean direct current
    ripple_share : height of the ripple over the mean; 100 % is the full swing from 0 to twice the mean, less where
        capacitors carry a part

    Power at 60 Hz and unity power factor goes as 1 - cos(2 w t), so does the current of a stiff bank.
    Source: RMS of a sine is its height over the square root of 2.
    """
    return current * ripple_share / sqrt(2)


@formula
def rms_with_ripple(current: Current, ripple_share: Fraction = 1.0) -> Current:
    """RMS of an inverter's direct current: what heats conductors and fuses, up to 1.22 times the mean.

    Parameters
    ----------
    current : mean direct current, what a DC clamp meter shows
    ripple_share : as for `ripple_current`

    Source: mean and ripple add as squares: I sqrt(1 + r^2/2).
    """
    return current * sqrt(1 + ripple_share**2 / 2)


# ------------------------------------------------------------------------------- two legs and a neutral


@formula
def neutral_current(leg_current: Current, other_leg_current: Current, phase: Angle) -> Current:
    """Amps in a neutral that two legs share.

    Parameters
    ----------
    leg_current, other_leg_current : of the two circuits, at unity power factor
    phase : between the legs: 180 deg on 120/240 V shore power, 0 deg where one 120 V source feeds both legs

    Against each other the legs leave their difference in the neutral; in step they add, and no breaker sees it. The
    same as I_A^2 + I_B^2 + 2 I_A I_B cos(phase) under the root. Source: addition of two sines of one frequency.
    """
    return sqrt((leg_current - other_leg_current) ** 2 + 2 * leg_current * other_leg_current * (1 + cos(phase)))


@formula
def open_neutral_voltage(
    leg_power: Annotated[Power, ABOVE_ZERO], other_leg_power: Power, line_voltage: Voltage
) -> Voltage:
    """Volts on one leg of 120/240 V service when the neutral is open.

    Parameters
    ----------
    leg_power : watts that the loads of this leg take at the normal voltage, above 0
    other_leg_power : watts of the other leg's loads at the normal voltage
    line_voltage : normal voltage of one leg, 120 V

    The loads of the two legs then lie in series across twice that voltage, and the smaller load gets the larger share.
    Holds for loads of constant resistance. Source: voltage divider.
    """
    return 2 * line_voltage * other_leg_power / (leg_power + other_leg_power)


# ------------------------------------------------------------------------------- the AC side of a day


@dataclasses.dataclass(frozen=True, eq=False)
class AcDay:
    """AC power of one season's day at 5-minute steps; all arrays are floats of shape (288,).

    season : its name. mean : watts with duty, as lesson 01 counts them. watts, worst : watts and volt-amperes if all that
    may run at that time runs at its full power. surge : volt-amperes if of those the one with the largest start comes last.
    loads : volt-amperes of each AC load in the worst case, by name. starts : extra volt-amperes of its start, by name.
    """

    season: str
    mean: numpy.ndarray
    watts: numpy.ndarray
    worst: numpy.ndarray
    surge: numpy.ndarray
    loads: dict
    starts: dict

    @property
    def peak(self):
        """Largest volt-amperes that may run together."""
        return Quantity(float(self.worst.max()), "VA")

    @property
    def peak_step(self):
        """The 5-minute step of that peak, counted from 0."""
        return int(self.worst.argmax())

    def running(self, step):
        """Volt-amperes of each load that may run in a step: dict of name to float."""
        return {name: float(values[step]) for name, values in self.loads.items() if values[step] > 0}


def full_apparent_power(load) -> ApparentPower:
    """Volt-amperes of all of an AC load while it runs.

    Parameters
    ----------
    load : one load of a coach file

    Source: `apparent_power`.
    """
    watts = Quantity(energy_topic.load_watts(load) * load.count, "W")
    return apparent_power(watts, load.power_factor if load.power_factor is not None else 1.0)


def start_apparent_power(load) -> ApparentPower:
    """Volt-amperes at the instant when one of an AC load starts and its others run.

    Parameters
    ----------
    load : one load of a coach file

    From the plate's locked-rotor amps, else from the stated multiple; a load that states neither starts softly.
    Source: `start_power_from_current`, `start_power`.
    """
    running = floats(full_apparent_power(load), "VA")
    one = running / load.count if load.count else 0.0
    if load.start_current is not None:
        start = floats(load.start_current, "A") * floats(load.voltage or LINE_VOLTAGE, "V")
    else:
        start = one * (load.start_multiple if load.start_multiple is not None else 1.0)
    return Quantity(max(start, one) + running - one, "VA")


def ac_day(coach, season) -> AcDay:
    """The AC side of a day of one season.

    Parameters
    ----------
    coach : the coach file
    season : name of one of its seasons

    Worst case: every load with clock windows runs in all of them, one with hours only may run whenever the inverter
    is on. Source: `energy.day`.
    """
    day = energy_topic.day(coach, season)
    on = tuple(coach.inverter.on) if coach.inverter else ("00:00-24:00",)
    nothing = numpy.zeros(DAY_STEPS)
    found = AcDay(season, nothing, nothing, nothing, nothing, {}, {})
    for load in coach.loads:
        if load.side == "ac" and load.name in day.loads and load.count:
            found = with_load(found, load, on, day.loads[load.name])
    return found


def with_load(day, load, on=("00:00-24:00",), mean=None) -> AcDay:
    """The same day with one more AC load.

    Parameters
    ----------
    day : the AcDay
    load : one load of a coach file
    on : clock windows in which the inverter is on
    mean : watts of the load over the day, shape (288,); without it, its full power times its duty

    Source: sums of powers.
    """
    may_run = covered_share(load.windows or on) * covered_share(on) > 0
    watts, full = energy_topic.load_watts(load) * load.count, floats(full_apparent_power(load), "VA")
    loads = day.loads | {load.name: may_run * full}
    starts = day.starts | {load.name: floats(start_apparent_power(load), "VA") - full}
    worst = day.worst + may_run * full
    extra = numpy.max([(loads[name] > 0) * starts[name] for name in loads], axis=0)
    mean = may_run * watts * load.duty if mean is None else mean
    return AcDay(day.season, day.mean + mean, day.watts + may_run * watts, worst, worst + extra, loads, starts)


@dataclasses.dataclass(frozen=True)
class StartCase:
    """The start of one load at the worst time of the year.

    name : the load. season, hour : when. running : volt-amperes of the others meanwhile. start : of its start.
    demand : both together. time : how long its start takes, 1 s where the file does not say it.
    """

    name: str
    season: str
    hour: float
    running: ApparentPower
    start: ApparentPower
    demand: ApparentPower
    time: Time


def starts(coach) -> list[StartCase]:
    """The start of every AC load, each at the time when most runs beside it, hardest first.

    Parameters
    ----------
    coach : the coach file

    Source: `ac_day`, `surge_demand`.
    """
    found, times = {}, {load.name: load.start_time or START_TIME for load in coach.loads}
    for season in coach.seasons:
        day = ac_day(coach, season.name)
        for name, values in day.loads.items():
            if not values.any():
                continue
            step = int(numpy.where(values > 0, day.worst, -1.0).argmax())
            start = float(values[step]) + day.starts[name]
            others = float(day.worst[step] - values[step])
            powers = (Quantity(value, "VA") for value in (others, start, others + start))
            case = StartCase(name, day.season, step * 24 / DAY_STEPS, *powers, times[name])
            if name not in found or case.demand > found[name].demand:
                found[name] = case
    return sorted(found.values(), key=lambda case: (-case.demand.magnitude, -case.start.magnitude))


# ------------------------------------------------------------------------------- bank, cable, inverter


@dataclasses.dataclass(frozen=True)
class Step:
    """Bank, cable and inverter at one moment.

    power : AC watts delivered. dc_power : watts at the inverter's DC terminals. current : there. rest, bank, inverter :
    volts of the bank at rest, at its terminals, and at the inverter. string : amps of the hardest-worked string.
    """

    power: Power
    dc_power: Power
    current: Current
    rest: Voltage
    bank: Voltage
    inverter: Voltage
    string: Current


def dc_power(curve, power: Power) -> Power:
    """DC watts that an inverter draws while it delivers an AC power, its idle draw included.

    Parameters
    ----------
    curve : energy.InverterLoss; above the largest data-sheet point its polynomial is carried on
    power : AC watts

    Source: `energy.inverter_loss`.
    """
    watts = floats(KINDS["power"].check(power, "power"), "W")
    return Quantity(watts + float(curve.watts(watts)), "W")


def step(arrangement, cable: Resistance, curve, power: Power, state_of_charge: Fraction, other_power: Power = Quantity(0.0, "W")) -> Step:
    """Voltages and currents between bank and inverter while it delivers an AC power.

    Parameters
    ----------
    arrangement : the capacity.Arrangement
    cable : resistance from the bank's terminals to the inverter and back, lugs and fuses included
    curve : energy.InverterLoss
    power : AC watts delivered
    state_of_charge : of the bank
    other_power : DC watts of what else the bank feeds, taken at its terminals

    Raises network.CannotCarry (an InputError) where the bank cannot bring so much through that cable.
    Source: `network`; the bank's voltage at rest and resistance of `capacity`.
    """
    found = steps(arrangement, cable, curve, [power], state_of_charge, other_power)[0]
    if isinstance(found, network.CannotCarry):
        raise found
    return found


def steps(arrangement, cable: Resistance, curve, powers: list, state_of_charge: Fraction, other_power: Power = Quantity(0.0, "W")) -> list:
    """`step` for several AC powers one after another; network.CannotCarry stands where the bank cannot carry one.

    Parameters
    ----------
    arrangement, cable, curve, state_of_charge, other_power : as for `step`
    powers : AC watts delivered, in order

    Source: `step`.
    """
    branches = arrangement.branches(state_of_charge)
    whole = capacity.bank_elements(branches, arrangement.take_off, arrangement.lead)
    whole += [
        network.resistor("cable", "plus", "inverter", floats(KINDS["resistance"].check(cable, "cable"), "ohm")),
        network.power_load("other DC loads", "plus", "minus", floats(KINDS["power"].check(other_power, "other power"), "W")),
    ]
    found = []
    for power in powers:
        drawn = dc_power(curve, power)
        try:
            solved = network.solve([*whole, network.power_load("inverter", "inverter", "minus", floats(drawn, "W"))], ground="minus")
        except network.CannotCarry as refusal:
            found.append(refusal)
            continue
        strings = [amps for name, amps in solved.amps.items() if name.startswith("string ")]
        found.append(Step(KINDS["power"].check(power, "power"), drawn, Quantity(solved.amps["inverter"], "A"),
                          branches[0].voltage, Quantity(solved.volts["plus"], "V"), Quantity(solved.volts["inverter"], "V"),
                          Quantity(max(strings, key=abs), "A")))  # fmt: skip
    return found


@formula
def cable_resistance(
    length: Length, resistance_per_length: ResistancePerLength, lug_resistance: Resistance, fuse_resistance: Resistance
) -> Resistance:
    """Resistance from one end of a circuit to the other and back.

    Parameters
    ----------
    length : of the run, one way
    resistance_per_length : of one conductor, warm; divided by their number where several lie side by side
    lug_resistance : of one bolted lug; a pair of conductors has four
    fuse_resistance : of fuse and holder, 0 where there is none

    Source: resistances in series.
    """
    return 2 * length * resistance_per_length + 4 * lug_resistance + fuse_resistance


def cable(coach, rated_current: Current) -> Resistance:
    """Resistance between a coach's bank and its inverter and back, from the circuits of its file.

    Parameters
    ----------
    coach : the coach file
    rated_current : direct current at full load; where a circuit has no size yet, it is taken to lose 3 % at that

    Lugs of 0.1 mΩ, a fuse that drops 0.1 V at its rating. Source: `cable_resistance`; lugs and fuses are common
    practice, no source.
    """
    known = [one for one in coach.circuits if one.existing != "remove"]
    chain = [one for one in known if one.purpose == DC_INVERTER and one.voltage is None][:1]
    while chain and chain[-1].from_ != BANK:
        feeder = next((one for one in known if one.to == chain[-1].from_ and one not in chain), None)
        if feeder is None:
            break
        chain.append(feeder)
    total = Quantity(0.0, "mohm")
    for one in chain:
        if one.size is None:
            chain = []
            break
        count = one.per_pole or 1
        per_length = conductor.resistance_per_length(one.size, CABLE_TEMPERATURE) / count
        fuse = FUSE_DROP / one.fuse if one.fuse is not None else 0 * total
        total = total + cable_resistance(one.length, per_length, LUG / count, fuse.to("mohm"))
    if not chain:
        total = (UNKNOWN_CABLE_DROP * coach.capacity.nominal_voltage / rated_current).to("mohm")
    return total.to("mohm")


# ------------------------------------------------------------------------------- sources, transfer, neutral and ground

STATES = {
    "shore": "the cord is in, the site feeds the coach",
    "generator": "the generator feeds the coach through the same switch",
    "inverter, cord out": "the inverter feeds its circuits from the bank",
    "inverter, cord in": "the cord is in, but the site is dead or not used: the inverter feeds its circuits",
    "nothing": "no source is on",
}
BOND_RULES = {  # where the bond must be: the rule that says so
    "site": "NEC 551.54: none in the coach; the site's service has it",
    "generator": "NEC 250.34(C), portable and vehicle-mounted generators: neutral bonded to the frame of one that is a "
                 "separately derived system",
    "inverter": "NEC 250.30(A)(1): system bonding jumper of a separately derived system",
}


@dataclasses.dataclass(frozen=True)
class State:
    """One row of the truth table of a transfer switch.

    name, meaning : as in STATES. inverter_circuits, shore_circuits : what feeds them. charger : whether it runs.
    bonds : where neutral and ground are joined just then. wanted : where they should be, and nowhere else.
    right : whether that is so. loop : whether the inverter feeds the charger of its own bank.
    """

    name: str
    meaning: str
    inverter_circuits: str
    shore_circuits: str
    charger: str
    bonds: tuple
    wanted: str
    right: bool
    loop: bool


def transfer_states(
    bond: str, panel_bond: str = "none", generator_bond: str = "", neutral: str = "switched", charger_feed: str = "ahead"
) -> list[State]:
    """What feeds what, and where neutral and ground are joined, in every state.

    Parameters
    ----------
    bond : bond inside the inverter: "while it inverts", "always" or "never"
    panel_bond : "none" or "bonded"
    generator_bond : "bonded", "floating", or empty where there is no generator
    neutral : "switched", or "through" where the inlet's neutral stays joined
    charger_feed : what feeds the AC charger: "ahead" of the inverter, or "behind" it

    Exactly one bond, at the source: with none, a fault to metal opens no breaker; with two, the ground wire and the
    coach's metal carry a part of the load's current. Source: BOND_RULES, from memory.
    """
    for name, value, known in (("bond", bond, sections.INVERTER_BONDS), ("panel bond", panel_bond, sections.PANEL_BONDS),
                               ("generator bond", generator_bond, ["", *sections.GENERATOR_BONDS]),
                               ("neutral", neutral, sections.NEUTRALS),
                               ("charger feed", charger_feed, sections.CHARGER_FEEDS)):  # fmt: skip
        if value not in known:
            raise InputError(name, f'"{value}" is not known', "one of " + ", ".join(known), f'"{next(iter(known))}"')
    found = []
    for name, meaning in STATES.items():
        inverts, fed = name.startswith("inverter"), name in ("shore", "generator")
        if name == "generator" and not generator_bond:
            continue
        bonds = []
        if name == "shore" or (name == "inverter, cord in" and neutral == "through"):
            bonds.append("site")
        if name == "generator" and generator_bond == "bonded":
            bonds.append("generator")
        if bond == "always" or (inverts and bond == "while it inverts"):
            bonds.append("inverter")
        if panel_bond == "bonded":
            bonds.append("panel")
        loop = inverts and charger_feed == "behind"
        wanted = {"shore": "site", "generator": "generator"}.get(name, "inverter" if inverts else "anywhere")
        found.append(State(
            name, meaning, name if fed else "inverter" if inverts else "nothing", name if fed else "nothing",
            "runs" if fed else "runs off its own bank" if loop else "off", tuple(bonds), wanted,
            bonds == [wanted] or name == "nothing", loop,  # one bond, and at the source that feeds
        ))  # fmt: skip
    return found


# ------------------------------------------------------------------------------- sharing an inlet


@dataclasses.dataclass(frozen=True)
class InletShare:
    """What may run on an inlet, a pedestal's breaker or a generator.

    source : its name. limit : amps of one leg that may be carried for hours. legs : dicts of load to amps, one for each
    leg. off : what is switched off, first one first. charger : amps for the charger. total : of the heavier leg.
    """

    source: str
    limit: Current
    legs: tuple
    off: tuple
    charger: Current
    total: Current

    @property
    def fits(self):
        """Whether the breaker holds."""
        return bool(self.total.magnitude <= floats(self.limit, "A") * (1 + 1e-9))


def split_over_legs(amps: dict, legs: int) -> tuple:
    """Loads over the legs of a panel: the largest first, each on the leg that carries less.

    Parameters
    ----------
    amps : load to amps, floats
    legs : 1 or 2

    Returns one dict for each leg. Source: none; a person who lays out a panel does the same.
    """
    found = tuple({} for _ in range(legs))
    for name, value in sorted(amps.items(), key=lambda item: (-item[1], item[0])):
        min(found, key=lambda leg: sum(leg.values()))[name] = value
    return found


def share_inlet(source: str, amps: dict, shed: tuple, charger_input: Current, line_limit: Current, legs: int = 1) -> InletShare:
    """Switch off, in order, until the breaker holds with the charger at its share.

    Parameters
    ----------
    source : name of the source
    amps : load to amps on the 120 V side, floats
    shed : names of loads to switch off, first one first
    charger_input : amps on the AC side to which the charger is set
    line_limit : amps that one leg may carry for hours
    legs : 1, or 2 for 120/240 V

    Source: Kirchhoff's current law. What does not fit when all of `shed` is off is left as it is: `fits` says so.
    """
    running, off, waiting = dict(amps), [], [name for name in shed if name in amps]
    while True:
        split = split_over_legs(running, legs)
        min(split, key=lambda leg: sum(leg.values()))["charger"] = floats(charger_input, "A")
        total = max(sum(leg.values()) for leg in split)
        if total <= floats(line_limit, "A") * (1 + 1e-9) or not waiting:
            return InletShare(source, line_limit, split, tuple(off), charger_input, Quantity(total, "A"))
        off.append(waiting.pop(0))
        del running[off[-1]]


def largest_charger_share(amps: dict, shed: tuple, line_limit: Current, legs: int = 1) -> Current:
    """Amps that are left for the charger when no more is switched off than the loads themselves ask for.

    Parameters
    ----------
    amps, shed, line_limit, legs : as for `share_inlet`

    Source: Kirchhoff's current law.
    """
    without = share_inlet("", amps, shed, Quantity(0.0, "A"), line_limit, legs)
    lightest = min(sum(leg.values()) for leg in without.legs)
    return Quantity(max(0.0, floats(line_limit, "A") - lightest), "A")


# ------------------------------------------------------------------------------- the three doors

# Data sheet and facts that may be proposed where the file does not say them.
SHEET = ("rated_power", "idle", "efficiency", "name", "apparent_power", "surge_power", "surge_time", "derating", "cut_off",
         "restart", "highest_current", "idle_search", "idle_off")  # fmt: skip


@functools.cache
def _on_offer():
    path = bootstrap.ROOT / "data" / "equipment" / "inverters.toml"
    rows = tomllib.loads(path.read_text(encoding="utf-8"))["inverter"]
    return tuple(
        (KINDS["voltage"].read(row["nominal_voltage"]),
         sections.Inverter.model_validate({key: row[key] for key in SHEET} | {"ripple": row["ripple_current"]}))
        for row in rows
    )  # fmt: skip


def propose(coach) -> dict:
    """Sound decisions where the reader has not decided: a dict of name to value, as [inverter] takes them.

    Parameters
    ----------
    coach : the coach file

    The smallest inverter on offer that carries the worst case and the hardest start; a bond that closes only while it
    inverts; the charger ahead of it; shore-only loads switched off first. What is missing of a data sheet (surge,
    cut-off) is proposed carefully and shown as assumed. Nothing where no AC load is. Source: common practice, no source.
    """
    if coach.inverter is None and not any(load.side == "ac" for load in coach.loads):
        return {}
    proposals = {}
    plan = coach.inverter
    if plan is None:
        plan = _smallest(coach)
        proposals.update({name: getattr(plan, name) for name in (*SHEET, "ripple")})

    def decided(name, value):
        if getattr(plan, name) is None:
            proposals[name] = value
        return proposals.get(name, getattr(plan, name))

    decided("apparent_power", Quantity(floats(plan.rated_power, "W"), "VA"))
    decided("surge_power", plan.rated_power)
    decided("surge_time", START_TIME)
    decided("derating", Quantity(1.0, "percent/K"))
    decided("derated_above", DERATED_ABOVE.to("degF"))
    decided("compartment", COMPARTMENT.to("degF"))
    decided("cut_off", coach.capacity.nominal_voltage * 10.5 / 12.8)
    decided("diversity", 1.0)
    decided("legs", "one leg")
    decided("bond", "while it inverts")
    decided("panel_bond", "none")
    decided("neutral", "switched")
    decided("neutral_bar", "own")
    decided("shared_neutrals", 0)
    decided("charger_feed", "ahead")
    if coach.charging.generator is not None:
        decided("generator_bond", "bonded")
    charge = _charging(coach)
    inlet = charging.inlet(charge.inlet)
    pedestal = decided("pedestal", inlet["rating"])
    amps = line_amps(coach, plan)
    shed = plan.shed
    if not shed and amps:
        shed = tuple(sorted(amps, key=lambda name: -amps[name]))
        proposals["shed"] = shed
    limit, legs = _limit(inlet, pedestal)
    most = min(largest_charger_share(amps, shed, limit, legs), _charger_amps(charge))
    decided("charger_input", Quantity(math.floor(10 * floats(most, "A")) / 10, "A"))
    return proposals


def _smallest(coach):
    voltage = coach.capacity.nominal_voltage
    fitting = [one for nominal, one in _on_offer() if 0.9 < floats(nominal / voltage, "") < 1.15]
    if not fitting:
        raise InputError("inverter", f"none on offer is made for {show(voltage)}", "one of your own, from its data sheet")
    needs = [(ac_day(coach, season.name).peak, season) for season in coach.seasons]
    worst = max(floats(peak, "VA") for peak, _ in needs)
    hardest = max((floats(case.demand, "VA") for case in starts(coach)), default=0.0)
    fitting.sort(key=lambda one: floats(one.rated_power, "W"))
    return next((one for one in fitting
                 if floats(derated_power(one.rated_power, one.derating, COMPARTMENT, DERATED_ABOVE), "W") >= worst
                 and floats(one.surge_power, "W") >= hardest), fitting[-1])  # fmt: skip


def _charging(coach):
    return coach.charging.model_copy(update=charging.propose(coach))


def _charger_amps(charge):
    """AC amps of all AC chargers at their full output."""
    total = Quantity(0.0, "A")
    for one in charge.chargers:
        if one.kind == "AC":
            factor = one.power_factor if one.power_factor is not None else 1.0
            output = one.current if one.current is not None else one.rated_current
            total = total + charging.charger_line_current(output, one.absorption, one.efficiency, factor, LINE_VOLTAGE)
    return total


def _limit(inlet, pedestal):
    """(amps for hours on one leg, legs) of the inlet on a pedestal's breaker."""
    smaller = min(pedestal, inlet["rating"])
    legs = int(inlet["legs"]) if smaller == inlet["rating"] else 1
    return charging.continuous_current(smaller, CONTINUOUS_SHARE), legs


def line_amps(coach, plan) -> dict:
    """Amps of all that may run together on shore power at the hardest time of the year, by load; floats.

    Parameters
    ----------
    coach : the coach file
    plan : its [inverter] section, with the loads that only shore power feeds

    Source: `ac_day`, `apparent_power`.
    """
    days = [ac_day(coach, season.name) for season in coach.seasons]
    volts = floats(LINE_VOLTAGE, "V")
    day = max(days, key=lambda one: one.peak)
    amps = {name: value / volts for name, value in day.running(day.peak_step).items()}
    for load in plan.shore_only:
        factor = load.power_factor if load.power_factor is not None else 1.0
        amps[load.name] = floats(apparent_power(load.power, factor), "VA") / volts
    return amps


@dataclasses.dataclass(frozen=True)
class DcPoint:
    """Direct current at full load at one voltage: what it is, volts, amps (mean), amps (RMS)."""

    what: str
    voltage: Voltage
    current: Current
    rms: Current


@dataclasses.dataclass(frozen=True, eq=False)
class Study:
    """Everything this topic says of a coach.

    plan : the [inverter] section, proposals filled in. days : the AcDay of each season. worst, planned : volt-amperes of
    all that may run together, and with diversity. watts : the watts of it, with diversity. continuous, continuous_apparent :
    watts and volt-amperes that are left in the compartment's heat. idle : table of the modes. starts : StartCase of every load, hardest first. dc : DcPoint at
    nominal voltage, low charge and cut-off. ripple_share : ripple height over the mean. cable : resistance between bank
    and inverter. level : state of charge at which starts are looked at. steps : Step idle, running, starting; a step that
    the bank cannot carry is None, and `refusal` says why. states : truth table. shares : InletShare of shore, of smaller
    breakers and of the generator. circuits : what the wire schedule must carry. assumed : names of proposals.
    """

    plan: object
    days: dict
    worst: ApparentPower
    planned: ApparentPower
    watts: Power
    continuous: Power
    continuous_apparent: ApparentPower
    idle: tuple
    starts: tuple
    dc: tuple
    ripple_share: float
    cable: Resistance
    level: float
    steps: dict
    refusal: str
    states: tuple
    shares: tuple
    assumed: tuple

    @property
    def hardest(self):
        """The hardest StartCase, None where no AC load is."""
        return self.starts[0] if self.starts else None

    @property
    def busiest(self):
        """The AcDay with the largest worst case."""
        return max(self.days.values(), key=lambda day: day.peak)

    def share(self, source):
        """The InletShare of a source by name."""
        return next(one for one in self.shares if one.source == source)


def planned(coach):
    """(the [inverter] section with proposals filled in, the proposals); (None, {}) where a coach needs no inverter.

    Parameters
    ----------
    coach : the coach file

    Source: `propose`.
    """
    proposals = propose(coach)
    if coach.inverter is None and not proposals:
        return None, {}
    if coach.inverter is None:
        return sections.Inverter(**{name: value for name, value in proposals.items()}), proposals
    return coach.inverter.model_copy(update=proposals), proposals


@functools.lru_cache(maxsize=8)  # the other topics and the record ask again and again
def study(coach) -> Study | None:
    """Everything this topic says of a coach; None where it has neither an inverter nor an AC load.

    Parameters
    ----------
    coach : the coach file

    Source: the functions above.
    """
    plan, proposals = planned(coach)
    if plan is None:
        return None
    fitted = coach.model_copy(update={"inverter": plan})
    days = {season.name: ac_day(fitted, season.name) for season in coach.seasons}
    worst = max(day.peak for day in days.values())
    planned_for = worst * plan.diversity
    watts = diversified_power(Quantity(max(float(day.watts.max()) for day in days.values()), "W"), plan.diversity)
    continuous = derated_power(plan.rated_power, plan.derating, plan.compartment.to("K"), plan.derated_above.to("K"))
    curve = energy_topic.inverter_loss(plan.idle, plan.efficiency)
    full = dc_power(curve, plan.rated_power)
    bank = capacity.arrangement(coach)
    level = 1 - (coach.capacity.depth if coach.capacity.depth is not None else capacity.propose(coach)["depth"])
    at_nominal = (full / coach.capacity.nominal_voltage).to("A")
    resistance = cable(coach, at_nominal)
    cases = tuple(starts(fitted))
    others = Quantity(floats(capacity.design_power(coach.model_copy(update={"inverter": None})), "W"), "W")
    asked = {"idle": Quantity(0.0, "W"), "running": watts, "full load": plan.rated_power,
             "starting": Quantity(floats(cases[0].demand, "VA") if cases else 0.0, "W")}  # fmt: skip
    at = dict(zip(asked, steps(bank, resistance, curve, list(asked.values()), level, others)))
    refusal = next((str(one) for one in at.values() if isinstance(one, network.CannotCarry)), "")
    at = {name: None if isinstance(one, network.CannotCarry) else one for name, one in at.items()}
    cut = (full / plan.cut_off).to("A")
    most = cut if plan.highest_current is None else plan.highest_current
    share = 1.0 if plan.ripple is None else min(1.0, floats(plan.ripple * sqrt(2) / most, ""))
    volts = [("nominal", coach.capacity.nominal_voltage.to("V"))]
    if at["full load"] is not None:
        volts.append((f"bank at {level:.0%} of charge", at["full load"].inverter))
    volts.append(("cut-off", plan.cut_off.to("V")))
    points = tuple(DcPoint(what, value, (full / value).to("A"), rms_with_ripple((full / value).to("A"), share))
                   for what, value in volts)  # fmt: skip
    states = tuple(transfer_states(plan.bond, plan.panel_bond, plan.generator_bond or "", plan.neutral, plan.charger_feed))
    apparent = derated_apparent_power(plan.apparent_power, continuous, plan.rated_power)
    return Study(plan, days, worst, planned_for, watts, continuous, apparent, tuple(_idle(plan)), cases, points, share, resistance, level, at,
                 refusal, states, tuple(_shares(fitted, plan)), tuple(proposals))  # fmt: skip


def _idle(plan):
    hours = float(covered_share(plan.on).sum()) * 24 / DAY_STEPS
    for what, watts, span in (("on, as planned", plan.idle, hours), ("on day and night", plan.idle, 24.0),
                              ("listening for a load", plan.idle_search, 24.0), ("off", plan.idle_off, 24.0)):  # fmt: skip
        if watts is not None:
            yield {"mode": what, "draw": watts, "hours": Quantity(span, "h"),
                   "energy of a day": energy_topic.load_energy(watts, Quantity(span, "h"))}  # fmt: skip


def _shares(coach, plan):
    charge = _charging(coach)
    inlet, amps = charging.inlet(charge.inlet), line_amps(coach, plan)
    limit, legs = _limit(inlet, plan.pedestal)
    yield share_inlet("shore", amps, plan.shed, plan.charger_input, limit, legs)
    for name in sections.INLETS:
        row = charging.inlet(name)
        if row["rating"] <= inlet["rating"]:
            limit, legs = charging.continuous_current(row["rating"], CONTINUOUS_SHARE), int(row["legs"])
            most = min(largest_charger_share(amps, plan.shed, limit, legs), _charger_amps(charge))
            yield share_inlet(f"{name} breaker", amps, plan.shed, most, limit, legs)
    if charge.generator is not None:
        limit = (charging.generator_power(charge) / LINE_VOLTAGE).to("A")
        most = min(largest_charger_share(amps, plan.shed, limit), _charger_amps(charge))
        yield share_inlet("generator", amps, plan.shed, most, limit)


def circuits(coach) -> dict:
    """The circuits that the inverter needs, for the wire schedule: name to the keys of [[circuits]].

    Parameters
    ----------
    coach : the coach file

    The feed carries the current of the data sheet (else that at cut-off), its ripple, and the hardest start; the output
    its volt-amperes. A circuit that stands in the file keeps its name, ends, length, and any larger current; for a new
    one 10 ft stands until it is measured.
    Source: `study`.
    """
    found = study(coach)
    if found is None:
        return {}
    there = {one.name: one for one in coach.circuits}
    feed = next((one.name for one in coach.circuits if one.purpose == DC_INVERTER and one.voltage is None), "Inverter feed")
    plan = found.plan
    most = found.dc[-1].current if plan.highest_current is None else plan.highest_current
    rows = {
        feed: {"from": "positive bus", "to": "inverter", "purpose": DC_INVERTER, "current": _whole_amps(most),
               "ripple": _whole_amps(ripple_current(most, found.ripple_share))},
        "Inverter output": {"from": "inverter", "to": "inverter panel", "purpose": "load", "voltage": LINE_VOLTAGE,
                            "current": _whole_amps((plan.apparent_power / LINE_VOLTAGE).to("A")), "rule": "NEC 310.16"},
    }  # fmt: skip
    if found.steps["starting"] is not None:
        rows[feed]["surge"] = _whole_amps(max(found.steps["starting"].current, most))
    for name, row in rows.items():
        old = there.get(name)
        row["length"] = UNKNOWN_LENGTH if old is None or old.length is None else old.length
        if old is not None:
            row.update({"from": old.from_, "to": old.to})
            for key in {"current", "ripple", "surge"} & row.keys():
                row[key] = max(filter(None, (row[key], getattr(old, key))), key=lambda amps: floats(amps, "A"))
    return rows


def _whole_amps(current):
    return Quantity(float(math.ceil(round(floats(current, "A"), 6))), "A")


def checks(coach) -> list:
    """The rules of this topic held against a coach: a list of Check.

    Parameters
    ----------
    coach : the coach file

    Source: each check names its own.
    """
    found = study(coach)
    if found is None:
        return []
    bank = capacity.arrangement(coach)
    sheet = Source("arithmetic on the coach file and the data sheets", "derived")
    results = [
        rules.at_most(
            "Does the inverter carry all that is planned to run together, in its warm compartment?",
            found.watts, found.continuous,
            why="An overloaded inverter stops, or ages in the heat.",
            mend="Move a load in time or to shore only, cool the compartment, or take a larger one.", source=sheet, topic="inverter",
        ),
        rules.at_most(
            "And in volt-amperes?", found.planned, found.continuous_apparent,
            why="Its output current is set by volt-amperes, not by watts.", mend="The same.", source=sheet, topic="inverter",
        ),
    ]  # fmt: skip
    results += _start_checks(found, bank, sheet) if found.starts else []
    results += _feed_checks(coach, found, sheet)
    results.append(_inlet_check(found))
    return [*results, *_bond_checks(found)]


def _start_checks(found, bank, sheet):
    plan, case, at = found.plan, found.hardest, found.steps["starting"]
    asked = f"{case.name} starts on top of {show(case.running)}"
    results = [rules.at_most(
        f"{asked}: does the inverter's surge hold?", Quantity(floats(case.demand, "VA"), "W"), plan.surge_power,
        why="It stops at the start, and everything on it goes dark.",
        mend="A soft start, another time of day, or a larger inverter.", source=sheet, topic="inverter",
    )]  # fmt: skip
    above = [one for one in found.starts if floats(one.demand, "VA") > floats(found.continuous, "W")]
    if above:
        longest = max(above, key=lambda one: one.time)
        results.append(rules.at_most(
            f"{longest.name}: is its start over before the surge ends?", longest.time.to("s"), plan.surge_time.to("s"),
            why="After its seconds the inverter falls back to its continuous power and stops.",
            mend="A quicker start, or an inverter that surges longer.", source=sheet, topic="inverter",
        ))  # fmt: skip
    if at is None:
        return [*results, rules.holds(
            f"{asked}: does the bank bring the power?", found.refusal, "enough at the inverter's terminals", true=False,
            why="The voltage collapses.", mend="More strings, thicker or shorter cable, or a softer start.",
            source=sheet, topic="inverter",
        )]  # fmt: skip
    module = bank.module
    brief = module.peak is not None and (module.peak_time is None or module.peak_time >= plan.surge_time)
    allowed, words = (module.peak, "peak") if brief else (module.continuous, "continuous limit")
    results.append(rules.at_most(
        f"{asked}: does each module stay within its {words}?", at.string, allowed.to("A"),
        why="The module's protection opens, and the rest of the bank takes its share.",
        mend="More strings, or a softer start.", source=sheet, topic="inverter",
    ))  # fmt: skip
    for words, volts, limit in (("does the inverter's cut-off stay away", at.inverter, plan.cut_off),
                                ("does the battery's cut-off stay away", at.bank, bank.cut_off)):  # fmt: skip
        results.append(rules.at_least(
            f"{asked}, bank at {found.level:.0%}: {words}?", volts, limit.to("V"),
            why="It cuts off at the start although the bank still holds energy.",
            mend="Thicker or shorter cable, fewer joints, more strings, or a softer start.", source=sheet, topic="inverter",
        ))  # fmt: skip
    return results


def _feed_checks(coach, found, sheet):
    plan, most = found.plan, found.dc[-1].current
    results = []
    if plan.highest_current is not None:
        results.append(rules.at_most(
            "Is the direct current at cut-off within the inverter's data sheet?", most, plan.highest_current,
            why="Cable and fuse are chosen by the sheet's figure.", mend="Read the sheet again.", source=sheet, topic="inverter",
        ))  # fmt: skip
    bare = coach.model_copy(update={"circuits": ()})
    wanted = next(iter(circuits(bare).values()))
    for one in coach.circuits:
        if one.purpose != DC_INVERTER or one.voltage is not None or one.existing == "remove":
            continue
        for what, given, asked in (("current", one.current, wanted["current"]),
                                   ("ripple", one.ripple or Quantity(0.0, "A"), wanted["ripple"])):  # fmt: skip
            results.append(rules.at_least(
                f"{one.name}: is it planned for the inverter's {what}?", given, asked,
                why="A conductor planned for less gets too hot.", mend="Correct the circuit, then choose the conductor again.",
                source=sheet, guards="fire", topic="inverter",
            ))  # fmt: skip
    return results


def _inlet_check(found):
    share = found.share("shore")
    off = f", with {', '.join(share.off)} off" if share.off else ", with everything on"
    return rules.at_most(
        f"Does the pedestal's breaker hold{off}?", share.total, share.limit,
        why="A breaker that carries more than 80 % for hours trips, and often at night; plug, cord and inlet are hot by then.",
        mend="Set the charger's share lower, or switch more off.",
        source=Source(charging.CONTINUOUS_RULE, "from memory"), guards="fire", topic="inverter",
    )  # fmt: skip


def _bond_checks(found):
    plan = found.plan
    results = [
        rules.holds(
            f"{state.name}: are neutral and ground joined once, at the source?",
            " and ".join(state.bonds) or "nowhere", f"{state.wanted}, and nowhere else", true=state.right,
            why="With no bond a fault to metal opens no breaker; with two, the coach's metal carries current.",
            mend="Licensed work: a switched bond in the inverter, none in the panel, a bonded generator.",
            source=Source(BOND_RULES[state.wanted], "from memory"), guards="shock", topic="inverter",
        )
        for state in found.states if state.name != "nothing"
    ]  # fmt: skip
    results.append(rules.holds(
        "Is the charger of its own bank out of the inverter's reach?", sections.CHARGER_FEEDS[plan.charger_feed],
        sections.CHARGER_FEEDS["ahead"], true=not any(state.loop for state in found.states),
        why="The bank would empty itself in a circle, through two losses.",
        mend="Feed the charger from the side that only shore and generator reach.", source=Source(PRACTICE, PRACTICE),
        topic="inverter",
    ))  # fmt: skip
    results.append(rules.holds(
        "Do the inverter's circuits have their own neutral bar?", sections.NEUTRAL_BARS[plan.neutral_bar],
        sections.NEUTRAL_BARS["own"], true=plan.neutral_bar == "own",
        why="On a shared bar the neutrals of two sources meet, and ground-fault protection trips or fails.",
        mend="Licensed work: a sub-panel with its own neutral bar, apart from ground.",
        source=Source("common practice, no source", PRACTICE), guards="shock", topic="inverter",
    ))  # fmt: skip
    shared = int(plan.shared_neutrals)
    results.append(rules.holds(
        "Does no neutral carry the sum of two legs?",
        f"{sections.INVERTER_LEGS[plan.legs]}; {shared} shared neutrals", "no shared neutral where the legs are in step",
        true=plan.legs != "both legs joined" or shared == 0,
        why="In step the legs add in the neutral, up to twice its rating, and no breaker is in it.",
        mend="Licensed work: a neutral for each circuit, or an inverter for 120/240 V.",
        source=Source("NEC 551.40 and 310.15(E), neutral of two legs", "from memory"), guards="fire", topic="inverter",
    ))  # fmt: skip
    return results
