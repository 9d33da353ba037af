"""Charging: bring the energy back from shore, engine or generator, and say how long it takes.

A charger gives its full current until the battery's voltage reaches the charger's absorption voltage: the
knee. From there the battery decides: it takes what is missing, in amp-hours, divided by a time that its
chemistry sets. That one rule gives the current, the voltage and the time from any charge to any other.

In front of the charger stands a source with limits of its own: an inlet, an alternator that runs hot, a
generator in thin air, a thin wire from a tow vehicle. Each is worked out here, with its losses.
"""

import dataclasses
import functools
import math
import tomllib
from typing import Annotated

import numpy

from coachwork import air, bootstrap, capacity, conductor, cycle_life, network, sections
from coachwork import checks as rules
from coachwork import energy as energy_topic
from coachwork.profile import window_hours
from coachwork.quantities import (
    ABOVE_ZERO,
    KINDS,
    AirFlow,
    Altitude,
    ApparentPower,
    Area,
    Charge,
    Count,
    Current,
    Energy,
    Fraction,
    Fuel,
    FuelRate,
    HeatContent,
    HeatOfCombustion,
    InputError,
    Length,
    Mass,
    Power,
    Pressure,
    Quantity,
    Resistance,
    SignedCurrent,
    SpecificFuel,
    Temperature,
    Time,
    Voltage,
    VoltageTemperatureCoefficient,
    Volume,
    floats,
    formula,
    kind_of,
    show,
)
from coachwork.sources import Source, table

PRACTICE = "common practice, no source"
AC, DC_DC = "AC", "DC-DC"

# ------------------------------------------------------------------------------- what a battery accepts


@dataclasses.dataclass(frozen=True)
class Acceptance:
    """How a chemistry takes charge, and the usual settings of its chargers. Voltages are of one cell.

    acceptance_time : missing amp-hours divided by it is the current accepted. charge_efficiency : amp-hours
    out over in. tail_rate : current over capacity at which it counts as full. rate_low, rate_high : usual
    rates. sources : the Source of each value by its name.
    """

    name: str
    acceptance_time: Time
    charge_efficiency: Fraction
    tail_rate: Fraction
    rate_low: Fraction
    rate_high: Fraction
    absorption: Voltage
    absorption_low: Voltage
    float_voltage: Voltage
    float_high: Voltage
    compensation: VoltageTemperatureCoefficient
    sources: dict


def acceptance(chemistry_name: str) -> Acceptance:
    """How a chemistry takes charge, by its name in the coach file.

    Parameters
    ----------
    chemistry_name : "lithium iron phosphate", "AGM" or "flooded lead-acid"

    Source: each value names its own, in data/tables/charge_acceptance.csv.
    """
    return _acceptance(capacity.chemistry(chemistry_name).name)


@functools.cache
def _acceptance(name):
    kinds = {field.name: kind_of(field.type) for field in dataclasses.fields(Acceptance)}
    rows = {row["property"]: row for row in table("charge_acceptance").rows}
    values = {part: kinds[part].read(row[name], part) for part, row in rows.items()}
    sources = {part: Source(row["source"], row["row status"]) for part, row in rows.items()}
    return Acceptance(name=name, sources=sources, **values)


@formula
def accepted_current(
    capacity: Charge, state_of_charge: Fraction, acceptance_time: Annotated[Time, ABOVE_ZERO]
) -> Current:
    """Current that a battery takes at its absorption voltage: what is missing, divided by a time.

    Parameters
    ----------
    capacity : amp-hours of the bank
    state_of_charge : share that is in it
    acceptance_time : of the chemistry, above 0; longer when it is cold, old or sulfated

    Source: the ampere-hour rule of early charging handbooks (from memory): a lead-acid battery may be
    charged with as many amps as amp-hours are missing. It is a rule for planning, not a cell model.
    """
    return capacity * (1 - state_of_charge) / acceptance_time


@formula
def knee(capacity: Annotated[Charge, ABOVE_ZERO], current: Current, acceptance_time: Time) -> Fraction:
    """State of charge at which a charger's current becomes more than the battery takes.

    Parameters
    ----------
    capacity : amp-hours of the bank, above 0
    current : into the bank
    acceptance_time : of the chemistry

    Source: `accepted_current`, solved for the state of charge; 0 where the current is always too much.
    """
    return max(0, 1 - acceptance_time * current / capacity)


@formula
def bulk_time(
    capacity: Charge,
    current: Annotated[Current, ABOVE_ZERO],
    start_charge: Fraction,
    end_charge: Fraction,
    charge_efficiency: Annotated[Fraction, ABOVE_ZERO] = 1.0,
) -> Time:
    """Hours at a steady current, below the knee.

    Parameters
    ----------
    capacity : amp-hours of the bank
    current : into the bank, above 0: the charger's less what runs meanwhile
    start_charge, end_charge : states of charge
    charge_efficiency : amp-hours kept over amp-hours put in, above 0

    Source: definition of charge, t = Q / I.
    """
    return capacity * (end_charge - start_charge) / (current * charge_efficiency)


@formula
def refill_time(
    capacity: Charge,
    charger_current: Current,
    load_current: Current,
    start_charge: Fraction,
    end_charge: Fraction,
) -> Time:
    """Hours below the knee while loads run: they are served first, the bank gets the rest.

    Parameters
    ----------
    capacity : amp-hours of the bank
    charger_current : that the charger gives, more than load_current
    load_current : of the DC loads meanwhile
    start_charge, end_charge : states of charge

    Source: definition of charge and Kirchhoff's current law; nothing lost in the bank.
    """
    return capacity * (end_charge - start_charge) / (charger_current - load_current)


@formula
def time_for_energy(
    energy: Energy,
    voltage: Annotated[Voltage, ABOVE_ZERO],
    charger_current: Current,
    load_current: Current,
    charge_efficiency: Annotated[Fraction, ABOVE_ZERO] = 1.0,
) -> Time:
    """Hours of charging, below the knee, that bring back an amount of energy: what a drive or a run buys.

    Parameters
    ----------
    energy : to be brought back, a night's for instance
    voltage : nominal volts of the bank, above 0
    charger_current : that the charger gives, more than load_current
    load_current : of the DC loads meanwhile
    charge_efficiency : amp-hours kept over amp-hours put in, above 0

    Source: definitions of charge and of the volt.
    """
    return energy / (voltage * (charger_current - load_current) * charge_efficiency)


@formula
def tail_time(
    acceptance_time: Time,
    start_charge: Fraction,
    end_charge: Fraction,
    charge_efficiency: Annotated[Fraction, ABOVE_ZERO] = 1.0,
) -> Time:
    """Hours of the tail, where the battery takes less and less.

    Halving what is missing takes the same time each time, so a larger charger does not shorten it.

    Parameters
    ----------
    acceptance_time : of the chemistry
    start_charge : where the tail starts: the knee, or above it
    end_charge : below 1; what is full is only approached
    charge_efficiency : amp-hours kept over amp-hours put in, above 0

    Source: `accepted_current` integrated over time.
    """
    return acceptance_time / charge_efficiency * math.log((1 - start_charge) / (1 - end_charge))


@formula
def charge_time(
    capacity: Annotated[Charge, ABOVE_ZERO],
    current: Annotated[Current, ABOVE_ZERO],
    start_charge: Fraction,
    end_charge: Fraction,
    acceptance_time: Time,
    charge_efficiency: Annotated[Fraction, ABOVE_ZERO] = 1.0,
) -> Time:
    """Hours from one state of charge to another: steady current up to the knee, then the tail.

    Parameters
    ----------
    capacity : amp-hours of the bank, above 0
    current : most that goes into the bank, above 0
    start_charge, end_charge : states of charge; an end at or below the start takes no time, an end of 100 %
        is refused unless acceptance_time is 0
    acceptance_time : of the chemistry; 0 for a battery without a tail
    charge_efficiency : amp-hours kept over amp-hours put in, above 0

    Source: `bulk_time` and `tail_time`.
    """
    if end_charge <= start_charge:
        return Quantity(0.0, "h")
    if end_charge == 1 and acceptance_time.magnitude:
        raise InputError(
            "end charge",
            '"100 %" is given',
            "a state of charge below 100 %, which is only approached",
            '"99 %"',
        )
    turn = knee(capacity, current, acceptance_time)
    bulk_end = min(max(turn, start_charge), end_charge)
    bulk = bulk_time(capacity, current, start_charge, bulk_end, charge_efficiency)
    if bulk_end == end_charge:
        return bulk
    return bulk + tail_time(acceptance_time, bulk_end, end_charge, charge_efficiency)


@formula
def state_after_charge(
    capacity: Annotated[Charge, ABOVE_ZERO],
    current: Annotated[Current, ABOVE_ZERO],
    start_charge: Fraction,
    hours: Time,
    acceptance_time: Time,
    charge_efficiency: Annotated[Fraction, ABOVE_ZERO] = 1.0,
) -> Fraction:
    """State of charge after some hours on a charger: `charge_time` read backwards.

    Parameters
    ----------
    capacity, current, start_charge, acceptance_time, charge_efficiency : as for `charge_time`
    hours : on the charger

    Source: as for `charge_time`.
    """
    rate = floats(current * charge_efficiency / capacity, "1/h")
    turn = max(start_charge, knee(capacity, current, acceptance_time))
    left = floats(hours, "h") - (turn - start_charge) / rate
    if left <= 0 or not acceptance_time.magnitude:
        return min(1.0, start_charge + rate * floats(hours, "h"))
    return 1 - (1 - turn) * math.exp(-left * charge_efficiency / floats(acceptance_time, "h"))


@formula
def full_charge(tail_rate: Fraction, acceptance_time: Time) -> Fraction:
    """State of charge at which the current has fallen to the tail current, where a charger says "full".

    Parameters
    ----------
    tail_rate : that current over the capacity, a C-rate: 5 % is C/20
    acceptance_time : of the chemistry

    Source: `accepted_current`, solved for the state of charge.
    """
    return max(0, 1 - tail_rate * acceptance_time.to("hour").magnitude)


@formula
def charging_voltage(
    open_circuit_voltage: Voltage,
    absorption_voltage: Voltage,
    current: Current,
    accepted_current: Annotated[Current, ABOVE_ZERO],
) -> Voltage:
    """Voltage at the posts while charging: it reaches absorption just where the current is all that is taken.

    Parameters
    ----------
    open_circuit_voltage : at rest at the same state of charge
    absorption_voltage : to which the charger is set
    current : into the bank
    accepted_current : what it would take at the absorption voltage, from `accepted_current`

    Source: derived: volts above rest in proportion to the current, as in `accepted_current`.
    """
    return open_circuit_voltage + (absorption_voltage - open_circuit_voltage) * current / accepted_current


@formula
def battery_current(charger_current: Current, load_current: Current) -> SignedCurrent:
    """Current that is left for the bank while loads run; negative where the loads take more.

    Parameters
    ----------
    charger_current : of all chargers that run
    load_current : of the DC loads meanwhile

    Source: Kirchhoff's current law.
    """
    return charger_current - load_current


@formula
def charge_current_through(
    supply_voltage: Voltage, open_circuit_voltage: Voltage, resistance: Annotated[Resistance, ABOVE_ZERO]
) -> SignedCurrent:
    """Current that a plain supply drives into a battery: only the difference of the voltages counts.

    Parameters
    ----------
    supply_voltage : of an alternator or a simple charger
    open_circuit_voltage : of the battery
    resistance : of everything in the loop, inside of the battery counted, above 0

    Negative where the battery stands higher: it then feeds the supply back.
    Source: Ohm's law (Dhogal, Basic Electrical Engineering, ch. 9).
    """
    return (supply_voltage - open_circuit_voltage) / resistance


def side_by_side(capacity_: Charge, current: Current, spans) -> list[dict]:
    """Hours of each chemistry from one charge to another: rows with `chemistry`, `time constant`, `kept` and the spans.

    Parameters
    ----------
    capacity_ : amp-hours of the bank
    current : most that goes into the bank
    spans : pairs of states of charge, start and end

    Source: `charge_time` with the values of `acceptance`.
    """
    rows = []
    for name in capacity.chemistries():
        facts = acceptance(name)
        rows.append({"chemistry": name, "time constant": facts.acceptance_time, "kept": Quantity(100 * facts.charge_efficiency, "percent")})
        for start, end in spans:
            rows[-1][f"{start:.0%} to {end:.0%}"] = charge_time(
                capacity_, current, start, end, facts.acceptance_time, facts.charge_efficiency
            )
    return rows


@dataclasses.dataclass(frozen=True, eq=False)
class ChargeCurve:
    """A charge over time, as float arrays of one shape: hours, amps into the bank, volts, level (0 to 1).

    time : from start to end. knee_time : until the current starts to fall (None where it never does).
    knee_charge : state of charge there. energy : put into the bank.
    """

    hours: numpy.ndarray
    amps: numpy.ndarray
    volts: numpy.ndarray
    level: numpy.ndarray
    time: Time
    knee_time: Time | None
    knee_charge: Fraction
    energy: Energy


def charge_curve(
    chemistry_name: str,
    capacity_: Charge,
    cells: Count,
    current: Current,
    start_charge: Fraction,
    end_charge: Fraction,
    absorption_voltage: Voltage,
    points: int = 240,
) -> ChargeCurve:
    """Current, voltage and state of charge over the time of a charge.

    Parameters
    ----------
    chemistry_name : a chemistry
    capacity_ : amp-hours of the bank
    cells : in series in the bank
    current : most that goes into the bank
    start_charge, end_charge : states of charge, the end above the start and below 100 %
    absorption_voltage : of the bank
    points : how many moments

    Holds for cells near 77 °F. Source: `charge_time`, `accepted_current` and `charging_voltage`.
    """
    facts = acceptance(chemistry_name)
    capacity_, current = (
        KINDS["charge"].check(capacity_, "capacity"),
        KINDS["current"].check(current, "current"),
    )
    start = KINDS["fraction"].check(start_charge, "start charge")
    end = KINDS["fraction"].check(end_charge, "end charge")
    if not start < end:
        raise InputError(
            "end charge",
            f'"{show(Quantity(100 * end, "percent"))}" is not above the start',
            "a state of charge above that of the start",
            '"99 %"',
        )
    tau, kept = facts.acceptance_time, facts.charge_efficiency
    time = charge_time(capacity_, current, start, end, tau, kept)
    turn = knee(capacity_, current, tau)
    amp_hours, amps, tau_hours = floats(capacity_, "Ah"), floats(current, "A"), floats(tau, "h")
    hours = numpy.linspace(0, floats(time, "h"), points)
    rate, top = amps * kept / amp_hours, max(turn, start)
    bulk_hours = (top - start) / rate
    after = numpy.maximum(hours - bulk_hours, 0)
    level = numpy.where(
        hours < bulk_hours, start + rate * hours, 1 - (1 - top) * numpy.exp(-after * kept / tau_hours)
    )
    accepted = amp_hours * (1 - level) / tau_hours
    flowing = numpy.minimum(amps, accepted)
    rest = rest_volts(chemistry_name, level, cells)
    ceiling = floats(KINDS["voltage"].check(absorption_voltage, "absorption voltage"), "V")
    volts = rest + (ceiling - rest) * flowing / accepted
    watts = flowing * volts
    put_in = float(((watts[1:] + watts[:-1]) / 2 * numpy.diff(hours)).sum())
    return ChargeCurve(
        hours,
        flowing,
        volts,
        level,
        time,
        Quantity(bulk_hours, "h") if top < end else None,
        turn,
        Quantity(put_in, "Wh"),
    )


def rest_volts(chemistry_name: str, level, cells: Count):
    """Volts at rest at many states of charge: floats of the shape of `level`.

    Parameters
    ----------
    chemistry_name : a chemistry
    level : states of charge, an array
    cells : in series

    Source: capacity.open_circuit_voltage, straight lines between each percent.
    """
    return numpy.interp(level, *_rest_curve(chemistry_name)) * float(cells)


@functools.cache
def _rest_curve(chemistry_name):
    known = numpy.linspace(0, 1, 101)
    volts = [floats(capacity.open_circuit_voltage(chemistry_name, float(level)), "V") for level in known]
    return known, numpy.array(volts)


# ------------------------------------------------------------------------------- shore power and AC chargers


@formula
def inlet_apparent_power(inlet_current: Current, line_voltage: Voltage, legs: Count = 1.0) -> ApparentPower:
    """Volt-amperes of an inlet. A 50 A inlet has two legs of 120 V.

    Parameters
    ----------
    inlet_current : its rating
    line_voltage : of one leg, 120 V
    legs : 1, or 2 for 120/240 V

    Source: NEC (NFPA 70) 2023 551.73 (values of the sites).
    """
    return inlet_current * line_voltage * legs


@formula
def continuous_current(inlet_current: Current, continuous_share: Fraction = 0.8) -> Current:
    """Current that a circuit may carry for three hours or more, as a charger does.

    Parameters
    ----------
    inlet_current : rating of the inlet and of its breaker
    continuous_share : 80 %

    Source: NEC (NFPA 70) 2023 210.20(A): a breaker of 125 % of the continuous load. The rule speaks of branch
    circuits; for an inlet and a pedestal's breaker it is taken by analogy.
    """
    return inlet_current * continuous_share


@formula
def charger_input_power(
    charger_current: Current, voltage: Voltage, efficiency: Annotated[Fraction, ABOVE_ZERO]
) -> Power:
    """Watts that a charger takes in.

    Parameters
    ----------
    charger_current : amps that it gives on the DC side
    voltage : of the battery meanwhile: the absorption voltage for the worst case
    efficiency : of the charger, above 0

    Source: definition of efficiency.
    """
    return charger_current * voltage / efficiency


@formula
def charger_line_current(
    charger_current: Current,
    voltage: Voltage,
    efficiency: Annotated[Fraction, ABOVE_ZERO],
    power_factor: Annotated[Fraction, ABOVE_ZERO],
    line_voltage: Annotated[Voltage, ABOVE_ZERO],
) -> Current:
    """Amps that a charger takes on its AC side.

    Parameters
    ----------
    charger_current : amps that it gives on the DC side
    voltage : of the battery meanwhile: the absorption voltage for the worst case
    efficiency : of the charger, above 0
    power_factor : watts over volt-amperes, above 0; 0.7 for a simple one, 0.98 for a corrected one
    line_voltage : of the leg, above 0

    Source: definitions of efficiency and power factor.
    """
    return charger_current * voltage / (efficiency * power_factor * line_voltage)


@formula
def charger_current_within(
    line_current: Current,
    line_voltage: Voltage,
    power_factor: Fraction,
    efficiency: Fraction,
    voltage: Annotated[Voltage, ABOVE_ZERO],
) -> Current:
    """Amps on the DC side for amps on the AC side: `charger_line_current` turned round.

    Parameters
    ----------
    line_current : what the inlet leaves for the charger
    line_voltage, power_factor, efficiency : as for `charger_line_current`
    voltage : of the battery meanwhile, above 0

    Source: definitions of efficiency and power factor.
    """
    return line_current * line_voltage * power_factor * efficiency / voltage


@formula
def line_current_left(
    inlet_current: Current,
    power: Power,
    line_voltage: Annotated[Voltage, ABOVE_ZERO],
    continuous_share: Fraction = 0.8,
) -> Current:
    """Amps that an inlet leaves for a charger while other things run on the same leg.

    Parameters
    ----------
    inlet_current : rating of the inlet
    power : AC watts of what runs meanwhile, at a power factor of 1
    line_voltage : of the leg, above 0
    continuous_share : 80 %

    Source: Kirchhoff's current law; NEC 210.20(A) for the share.
    """
    return max(0 * inlet_current, inlet_current * continuous_share - power / line_voltage)


def inlet(name: str) -> dict:
    """The row of an inlet: `rating`, `voltage`, `legs`, `apparent_power`.

    Parameters
    ----------
    name : "15 A", "20 A", "30 A" or "50 A"

    Source: NEC (NFPA 70) 2023 551.73, in data/tables/shore_inlets.csv.
    """
    return table("shore_inlets").row(inlet=name)


# ------------------------------------------------------------------------------- the engine


@formula
def dcdc_input_current(
    output_current: Current,
    output_voltage: Voltage,
    input_voltage: Annotated[Voltage, ABOVE_ZERO],
    efficiency: Annotated[Fraction, ABOVE_ZERO],
) -> Current:
    """Amps that a DC-DC charger takes from the engine's side: more than it gives.

    Parameters
    ----------
    output_current, output_voltage : on the bank's side
    input_voltage : at its own input terminals, above 0; the lower, the more current
    efficiency : above 0

    Source: definition of efficiency, V_out I_out = efficiency V_in I_in.
    """
    return output_current * output_voltage / (input_voltage * efficiency)


@formula
def dcdc_output_within(
    input_current: Current,
    input_voltage: Voltage,
    output_voltage: Annotated[Voltage, ABOVE_ZERO],
    efficiency: Fraction,
) -> Current:
    """Amps that reach the bank for amps on the engine's side: `dcdc_input_current` turned round.

    Parameters
    ----------
    input_current, input_voltage : on the engine's side
    output_voltage : on the bank's side, above 0
    efficiency : of the charger

    Source: definition of efficiency.
    """
    return input_current * input_voltage * efficiency / output_voltage


@formula
def alternator_spare(rated_current: Current, hot_share: Fraction, chassis_current: Current) -> Current:
    """Amps that a hot alternator has left for the house.

    Parameters
    ----------
    rated_current : on its plate, cold and at full speed
    hot_share : share that it keeps up hot, for hours; 50 to 75 %
    chassis_current : what the vehicle takes itself

    Source: hot share: common practice, no source.
    """
    return max(0 * rated_current, rated_current * hot_share - chassis_current)


@formula
def shaft_power(power: Power, efficiency: Annotated[Fraction, ABOVE_ZERO]) -> Power:
    """Power that an alternator takes from the engine; what does not come out is heat in it.

    Parameters
    ----------
    power : electric watts that it gives
    efficiency : of the alternator, above 0; 60 to 67 % is usual

    Source: definition of efficiency.
    """
    return power / efficiency


# ------------------------------------------------------------------------ the tow vehicle's charge line


@dataclasses.dataclass(frozen=True)
class TowCharge:
    """What a charge line brings.

    current : at the supply, negative where the bank feeds back. power : into the bank or the DC-DC charger.
    voltage : at the coach's end. lost : watts in the line. drops : volts of each part by its name.
    """

    current: SignedCurrent
    power: Power
    voltage: Voltage
    lost: Power
    drops: dict


def tow_parts(
    length: Length, size: str, return_size: str | None, contacts: Resistance, temperature: Temperature
) -> dict:
    """Resistances of a charge line by name, in order along the loop.

    Parameters
    ----------
    length : from the tow vehicle's battery to the bank, one way
    size : of the positive wire
    return_size : of the return wire, None where the frames carry it
    contacts : fuse, connector pins, joints and frame, all together
    temperature : of the wire

    Source: conductor.resistance_per_length.
    """
    parts = {
        "positive wire": conductor.resistance(conductor.resistance_per_length(size, temperature), length),
        "fuse, pins and joints": KINDS["resistance"].check(contacts, "contacts"),
    }
    if return_size is not None:
        per_length = conductor.resistance_per_length(return_size, temperature)
        parts["return wire"] = conductor.resistance(per_length, length)
    return parts


def tow_charge(
    supply_voltage: Voltage,
    parts: dict,
    open_circuit_voltage: Voltage,
    internal_resistance: Resistance,
) -> TowCharge:
    """What a plain charge line, without a DC-DC charger, brings into a bank.

    Parameters
    ----------
    supply_voltage : at the tow vehicle's battery, engine running
    parts : resistances of the line by name, as from `tow_parts`
    open_circuit_voltage, internal_resistance : of the bank

    Source: Kirchhoff's laws, solved by `network`.
    """
    bank = network.source("bank", "coach plus", "coach minus", open_circuit_voltage, internal_resistance)
    solved, drops = _tow_solved(supply_voltage, parts, bank)
    return _tow_result(solved, parts, drops)


def tow_charge_through_dcdc(supply_voltage: Voltage, parts: dict, power: Power) -> TowCharge:
    """What the same line carries to a DC-DC charger at its end, which takes its power at any voltage.

    Parameters
    ----------
    supply_voltage : at the tow vehicle's battery, engine running
    parts : resistances of the line by name, as from `tow_parts`
    power : that the charger takes in

    Errors: network.CannotCarry where the line cannot bring that power, with the most that it can.
    Source: Kirchhoff's laws, solved by `network`.
    """
    solved, drops = _tow_solved(
        supply_voltage, parts, network.power_load("bank", "coach plus", "coach minus", power)
    )
    return _tow_result(solved, parts, drops)


def _tow_solved(supply_voltage, parts, end):
    elements, node = [network.source("tow vehicle", "tow plus", "tow minus", supply_voltage), end], "tow plus"
    forward = [name for name in parts if not name.startswith("return")]
    for place, name in enumerate(forward, 1):
        after = "coach plus" if place == len(forward) else f"line {place}"
        elements.append(network.resistor(name, node, after, parts[name]))
        node = after
    back = parts.get("return wire", Quantity(0.0, "ohm"))
    elements.append(network.resistor("return wire", "coach minus", "tow minus", back))
    solved = network.solve(elements, ground="tow minus")
    amps = solved.amps["tow vehicle"]
    return solved, {name: Quantity(floats(parts[name], "ohm") * amps, "V") for name in parts}


def _tow_result(solved, parts, drops):
    amps = solved.amps["tow vehicle"]
    lost = sum(floats(parts[name], "ohm") for name in parts) * amps**2
    voltage = solved.across("coach plus", "coach minus")
    return TowCharge(Quantity(amps, "A"), voltage * Quantity(amps, "A"), voltage, Quantity(lost, "W"), drops)


# ------------------------------------------------------------------------------- the generator

ARMY_ALTITUDE, ARMY_STEP = Quantity(4000.0, "ft"), Quantity(328.0, "ft")
THOUSAND_FEET = Quantity(1000.0, "ft")
WINDING_ALTITUDE, WINDING_STEP = Quantity(1000.0, "m"), Quantity(500.0, "m")
KELVIN = Quantity(1.0, "K")


@formula
def derating_by_army(altitude: Altitude, ambient: Temperature) -> Fraction:
    """Share of its rating that a small military engine set keeps.

    Parameters
    ----------
    altitude : 1.3 % less for each 328 ft above 4000 ft
    ambient : 3 % less for each 10 °C above 35 °C

    Source: US Army TM 9-6115-673-13&P, Table 2-3. Its temperature line calls 10 °C a difference of 50 °F;
    a difference of 10 °C is 18 °F, and that is used.
    """
    height = max(0, (altitude - ARMY_ALTITUDE) / ARMY_STEP)
    heat = max(0, (ambient - Quantity(308.15, "K")) / (10 * KELVIN))
    return max(0, 1 - 0.013 * height - 0.03 * heat)


@formula
def derating_by_winding(altitude: Altitude, ambient: Temperature) -> Fraction:
    """Share of its rating that the alternator end of a generator keeps, because thin hot air cools it less.

    Parameters
    ----------
    altitude : 3 % less for each 500 m above 1000 m
    ambient : 3 % less for each 5 °C above 40 °C

    Source: generator sizing sheets (secondary).
    """
    height = max(0, (altitude - WINDING_ALTITUDE) / WINDING_STEP)
    heat = max(0, (ambient - Quantity(313.15, "K")) / (5 * KELVIN))
    return max(0, 1 - 0.03 * height - 0.03 * heat)


@formula
def derating_from_sea_level(altitude: Altitude) -> Fraction:
    """Share of its rating that an engine keeps by the rule of 3.5 % for each 1000 ft.

    Parameters
    ----------
    altitude : above the sea

    Source: common practice, no source.
    """
    return min(1, max(0, 1 - 0.035 * altitude / THOUSAND_FEET))


@formula
def derating_by_air(altitude: Altitude, ambient: Temperature) -> Fraction:
    """Share of its rating that an engine without a turbocharger keeps if its power follows the air's density.

    Parameters
    ----------
    altitude : above the sea
    ambient : of the air that it breathes; no credit above the standard atmosphere's 59 °F

    Source: derived from the US Standard Atmosphere, 1976.
    """
    return min(1.0, air.density_ratio(altitude, ambient))


@formula
def derating_by_boat_law(ambient: Temperature) -> Fraction:
    """Share of its rating that a 40 °C machine keeps in hotter air: 80 % at 50 °C.

    Parameters
    ----------
    ambient : of the air that cools it

    Source: 46 CFR 183.320(b)(2); the straight line between 40 and 50 °C and beyond is ours.
    """
    return min(1, max(0, 1 - 0.02 * (ambient - Quantity(313.15, "K")) / KELVIN))


def deratings(altitude: Altitude, ambient: Temperature) -> list[dict]:
    """The rules side by side: rows with `rule`, `limits`, `share` and `source`.

    Parameters
    ----------
    altitude : highest place of use
    ambient : hottest air there

    Source: each row names its own, in data/tables/generator_deratings.csv.
    """
    shares = {
        "US Army": derating_by_army(altitude, ambient),
        "alternator end": derating_by_winding(altitude, ambient),
        "sea level": derating_from_sea_level(altitude),
        "air density": derating_by_air(altitude, ambient),
        "boat law": derating_by_boat_law(ambient),
    }
    rows = table("generator_deratings").rows
    return [
        {
            "rule": row["rule"],
            "limits": row["what it limits"],
            "share": shares[row["rule"]],
            "source": Source(row["source"], row["row status"]),
        }
        for row in rows
    ]


@formula
def generator_output(rated_power: Power, derating: Fraction) -> Power:
    """Power that a generator gives where it stands.

    Parameters
    ----------
    rated_power : by its plate, for hours
    derating : share that is left, from one of the rules

    Source: definition.
    """
    return rated_power * derating


def outputs_here(rated_power: Power, altitude: Altitude, ambient: Temperature) -> list[dict]:
    """What each rule leaves of a generator: the rows of `deratings` with `share` in percent and `output`.

    Parameters
    ----------
    rated_power : by its plate, for hours
    altitude : highest place of use
    ambient : hottest air there

    Source: `deratings`, `generator_output`.
    """
    return [row | {"share": Quantity(100 * row["share"], "percent"), "output": generator_output(rated_power, row["share"])}
            for row in deratings(altitude, ambient)]


@formula
def heat_in_fuel(fuel: Fuel, heat_content: HeatContent) -> Energy:
    """Heat in an amount of fuel.

    Parameters
    ----------
    fuel : gallons or liters
    heat_content : heat for each of them, higher heating value

    Source: US EIA, heat content of fuels.
    """
    return fuel * heat_content


@formula
def generator_efficiency(
    energy: Energy, fuel: Annotated[Fuel, ABOVE_ZERO], heat_content: Annotated[HeatContent, ABOVE_ZERO]
) -> Fraction:
    """Electric energy over the heat in the fuel that made it.

    Parameters
    ----------
    energy : delivered
    fuel : burned meanwhile, above 0
    heat_content : of that fuel, above 0; say whether higher or lower heating value

    Source: definition of efficiency.
    """
    return energy / (fuel * heat_content)


@formula
def fuel_rate(
    power: Power,
    efficiency: Annotated[Fraction, ABOVE_ZERO],
    heat_content: Annotated[HeatContent, ABOVE_ZERO],
) -> FuelRate:
    """Fuel that a generator burns in an hour.

    Parameters
    ----------
    power : electric watts that it gives
    efficiency : at that load, above 0
    heat_content : of its fuel, above 0

    Source: definition of efficiency.
    """
    return power / (efficiency * heat_content)


@formula
def part_load_efficiency(
    power: Power,
    rated_power: Annotated[Power, ABOVE_ZERO],
    efficiency: Fraction,
    idle_share: Fraction,
) -> Fraction:
    """Efficiency of a generator at part load: it burns fuel even with nothing connected.

    Parameters
    ----------
    power : electric watts that it gives, up to the rated power
    rated_power : above 0
    efficiency : at the rated power
    idle_share : fuel with nothing connected over fuel at the rated power

    Source: Willans' line: fuel grows in a straight line with load (engine handbooks, from memory).
    """
    load = power / rated_power
    return efficiency * load / (idle_share + (1 - idle_share) * load)


@formula
def specific_fuel(fuel_mass: Mass, energy: Annotated[Energy, ABOVE_ZERO]) -> SpecificFuel:
    """Mass of fuel for each kilowatt-hour at the shaft.

    Parameters
    ----------
    fuel_mass : burned
    energy : delivered meanwhile, above 0

    Source: Rajput, A Textbook of Internal Combustion Engines, ch. 17.
    """
    return fuel_mass / energy


@formula
def engine_efficiency(
    specific_fuel: Annotated[SpecificFuel, ABOVE_ZERO],
    heat_of_combustion: Annotated[HeatOfCombustion, ABOVE_ZERO],
) -> Fraction:
    """Shaft energy over the heat in the fuel.

    Parameters
    ----------
    specific_fuel : mass of fuel for each kilowatt-hour, above 0
    heat_of_combustion : heat for each unit of mass, above 0

    Source: Rajput, A Textbook of Internal Combustion Engines, ch. 17.
    """
    return 1 / (specific_fuel * heat_of_combustion)


def heat_content(fuel_name: str) -> HeatContent:
    """Heat content of a fuel by its name.

    Parameters
    ----------
    fuel_name : "gasoline", "diesel" or "propane"

    Source: US EIA, in data/tables/fuels.csv.
    """
    return table("fuels").row(fuel=fuel_name)["heat_content"]


# ------------------------------------------------------------------------------- hydrogen

FARADAY, GAS = Quantity(96485.33212, "coulomb/mole"), Quantity(8.314462618, "J/(mol*K)")
IEEE_484 = Quantity(0.000269, "ft**3/minute/ampere")
IEC_GAS = Quantity(0.00042, "m**3/(ampere*hour)")


@formula
def hydrogen_volume(
    charge: Charge, cells: Count, temperature: Temperature, pressure: Annotated[Pressure, ABOVE_ZERO]
) -> Volume:
    """Hydrogen that an overcharge makes, when all of it splits water.

    Parameters
    ----------
    charge : amp-hours that no longer charge
    cells : in series
    temperature, pressure : of the gas; a pressure of 0 is refused

    Source: Faraday's law, two electrons a molecule, and the ideal gas law; CODATA constants.
    """
    return charge * cells / (2 * FARADAY) * GAS * temperature / pressure


@formula
def hydrogen_flow(gassing_current: Current, cells: Count) -> AirFlow:
    """Hydrogen that a battery gives off while a current splits water, at 77 °F.

    Parameters
    ----------
    gassing_current : the part of the current that does not charge
    cells : in series

    Source: IEEE 484: 0.000269 cubic feet a minute for each amp and cell.
    """
    return IEEE_484 * gassing_current * cells


@formula
def ventilation(gassing_current: Current, cells: Count) -> AirFlow:
    """Fresh air that keeps hydrogen below 1 %, a quarter of what can explode, with a factor of 5 on top.

    Parameters
    ----------
    gassing_current : from `gassing_current`
    cells : in series

    24 parts of air to one of gas thin it to 4 %; the factor of 5 keeps it below a quarter of that.
    Source: IEC 62485-2 and 62485-3: Q = v q s n I with v = 24, q = 0.42e-3 m3/Ah, s = 5.
    """
    return 24 * 5 * IEC_GAS * gassing_current * cells


VENT = Quantity(28.0, "cm**2*hour/m**3")


@formula
def vent_area(air_flow: AirFlow) -> Area:
    """Free area of the inlet, and again of the outlet, of a compartment aired without a fan.

    Parameters
    ----------
    air_flow : from `ventilation`

    Source: IEC 62485-2: A = 28 Q, in cm2 with Q in m3/h.
    """
    return VENT * air_flow


def gassing_current(charge_: Charge, chemistry_name: str, way: str) -> Current:
    """The part of a charge current that splits water instead of charging.

    Parameters
    ----------
    charge_ : amp-hours of the bank
    chemistry_name : "AGM" counts as valve regulated, "flooded lead-acid" as vented; lithium gives off none
    way : "IU" (held at 2.4 V a cell), "IUI" (constant current to the end), "float" or "boost"

    Source: EN 50272-3 Table 1; IEC 62485-2 Table 1; in data/tables/gassing_current.csv.
    """
    row = table("gassing_current").row(way=way)
    if capacity.chemistry(chemistry_name).is_lithium:
        return Quantity(0.0, "A")
    column = "vented" if chemistry_name == capacity.FLOODED else "valve_regulated"
    return row[column] * floats(KINDS["charge"].check(charge_, "charge"), "Ah") / 100


# ---------------------------------------------------------------------- what is on offer, what is proposed

EQUIPMENT = bootstrap.ROOT / "data" / "equipment" / "chargers.toml"
LINE_VOLTAGE = Quantity(120.0, "V")
CONTINUOUS_RULE = "NEC (NFPA 70) 2023 210.20(A), a rule of branch circuits, by analogy for inlet and pedestal"
WIRE_TEMPERATURE = Quantity(104.0, "degF")
UNKNOWN_LENGTH = Quantity(10.0, "ft")
ON_THE_ROAD = ("travel trailer", "fifth wheel")


@functools.cache
def _on_offer():
    rows = tomllib.loads(EQUIPMENT.read_text(encoding="utf-8"))
    return {
        "charger": tuple(sections.Charger.model_validate(row) for row in rows["charger"]),
        "alternator": tuple(sections.Alternator.model_validate(row) for row in rows["alternator"]),
        "generator": tuple(sections.Generator.model_validate(row) for row in rows["generator"]),
    }


def chargers_on_offer() -> tuple:
    """The invented chargers of data/equipment/chargers.toml, as data sheets of the coach file.

    Source: invented.
    """
    return _on_offer()["charger"]


def alternators_on_offer() -> tuple:
    """The invented alternators of data/equipment/chargers.toml.

    Source: invented.
    """
    return _on_offer()["alternator"]


def generators_on_offer() -> tuple:
    """The invented generators of data/equipment/chargers.toml.

    Source: invented.
    """
    return _on_offer()["generator"]


def charger_faults(charger, bank) -> list[str]:
    """Why a charger's profile does not fit a bank: reasons in words, none for one that fits.

    Parameters
    ----------
    charger : data sheet and settings, as in the coach file
    bank : the capacity.Arrangement

    Source: the module's data sheet; data/tables/charge_acceptance.csv.
    """
    facts, cells = acceptance(bank.module.chemistry), bank.module.cells * bank.series
    lithium = capacity.chemistry(bank.module.chemistry).is_lithium
    faults = []
    if charger.absorption > bank.charge_voltage:
        faults.append(
            f"absorption {show(charger.absorption)} is above the bank's {show(bank.charge_voltage)}"
        )
    if charger.absorption < 0.999 * facts.absorption_low * cells:
        faults.append(
            f"absorption {show(charger.absorption)} hardly fills it: at least "
            f"{show(facts.absorption_low * cells)}"
        )
    if charger.float_voltage is not None and charger.float_voltage > 1.001 * facts.float_high * cells:
        faults.append(
            f"float {show(charger.float_voltage)} wears it: at most {show(facts.float_high * cells)}"
        )
    if charger.equalise is not None and (lithium or charger.equalise > bank.charge_voltage):
        faults.append(f"it equalises at {show(charger.equalise)}")
    if lithium and charger.compensation.magnitude:
        faults.append(f"it follows temperature by {show(charger.compensation)} a cell")
    if not lithium and not -5 <= floats(charger.compensation, "mV/K") <= -3:
        faults.append(f"its compensation is {show(charger.compensation)} a cell, not -3 to -5")
    at_rest = capacity.open_circuit_voltage(bank.module.chemistry, 0.95, cells)
    if charger.restart is not None and charger.restart >= at_rest:
        faults.append(f"it restarts at {show(charger.restart)}, where the bank still rests when nearly full")
    return faults


def _fitting(kind, bank):
    fit = [
        charger
        for charger in chargers_on_offer()
        if charger.kind == kind and not charger_faults(charger, bank)
    ]
    if not fit:
        raise InputError(
            "chargers",
            f"no {kind} charger on offer fits {bank.module.chemistry} at {show(bank.voltage)}",
            "a data sheet of your own in [[charging.chargers]]",
            '{ name = "Mine", kind = "AC", ... }',
        )
    return fit


def propose(coach) -> dict:
    """Sound decisions where the reader has not decided: a dict of name to value, as [charging] takes them.

    Parameters
    ----------
    coach : the coach file

    A 30 A inlet, 300 W beside the charger, use up to 5000 ft and 95 °F. An AC charger near C/5 of the bank
    and a DC-DC charger that the alternator's spare current can feed, both with a profile for the chemistry.
    No generator. Source: common practice, no source; equipment invented.
    """
    plan, proposals = coach.charging, {}

    def decided(name, value):
        if getattr(plan, name) is None:
            proposals[name] = value
        return proposals.get(name, getattr(plan, name))

    bank = capacity.arrangement(coach)
    decided("inlet", "30 A")
    decided("meanwhile", Quantity(300.0, "W"))
    decided("altitude", Quantity(5000.0, "ft"))
    decided("hottest", Quantity(95.0, "degF"))
    depth = (
        coach.capacity.depth
        if coach.capacity.depth is not None
        else capacity.chemistry(bank.module.chemistry).depth
    )
    decided("start_charge", 1 - depth)
    facts = acceptance(bank.module.chemistry)
    decided("end_charge", round(full_charge(facts.tail_rate, facts.acceptance_time), 3))
    for name in ("shore_hours", "drive_hours", "generator_hours"):
        decided(name, Quantity(1.0 if name == "drive_hours" else 0.0, "h"))
    alternator = decided("alternator", alternators_on_offer()[0])
    tow = coach.coach.kind in ON_THE_ROAD
    if tow:
        decided(
            "tow_line",
            sections.TowLine(length="30 ft", size="12 AWG", return_size="12 AWG", contacts="15 mohm"),
        )
    if not plan.chargers:
        proposals["chargers"] = _chargers(coach, bank, alternator, plan.tow_line or proposals.get("tow_line"))
    return proposals


def _chargers(coach, bank, alternator, tow_line):
    """An AC charger near C/5, and the DC-DC charger that the engine's side feeds; the bank takes both."""

    def amps(one):
        return floats(_output(one), "A")

    able = [
        (one, floats(_engine_limit(one, coach, alternator, tow_line), "A")) for one in _fitting(DC_DC, bank)
    ]
    within = sorted((one for one, limit in able if amps(one) <= limit), key=amps)
    by_engine = within[-1:]
    if not within:  # even the smallest is too large: set it lower
        one, limit = min(able, key=lambda pair: amps(pair[0]))
        by_engine = (
            [one.model_copy(update={"current": Quantity(math.floor(limit), "A")})] if limit >= 1 else []
        )
    limit = _limit_one_out(bank)
    room = floats(bank_charge_limit(bank) if limit is None else limit, "A") - sum(map(amps, by_engine))
    fifth = floats(bank.capacity, "Ah") / 5
    return (min(_fitting(AC, bank), key=lambda one: (amps(one) > room, abs(amps(one) - fifth))), *by_engine)


def _output(charger):
    return charger.rated_current if charger.current is None else charger.current


def _draw(charger, voltage):
    """Amps from the engine's side at a voltage there, at absorption voltage on the other."""
    return dcdc_input_current(_output(charger), charger.absorption, voltage, charger.efficiency)


def _lowest_input(charger, alternator):
    return charger.lowest_input if charger.lowest_input is not None else alternator.voltage


def _spare(alternator):
    return alternator_spare(alternator.rated_current, alternator.hot_share, _chassis(alternator))


def _idle_spare(alternator):
    return max(Quantity(0.0, "A"), alternator.idle_current - _chassis(alternator))


def _chassis(alternator):
    return Quantity(0.0, "A") if alternator.house_only == "house only" else alternator.chassis_current


def _tow_circuits(coach):
    """The tow charge lines that stay, each with the least of its limit and its fuse (None: not known)."""
    for circuit in coach.circuits:
        if circuit.purpose == "tow charge line" and circuit.existing != "remove":
            known = [limit for limit in (circuit.limit, circuit.fuse) if limit is not None]
            yield circuit, min(known) if known else None


def _tow_parts(tow_line):
    return tow_parts(
        tow_line.length, tow_line.size, tow_line.return_size, tow_line.contacts, WIRE_TEMPERATURE
    )


def _engine_limit(charger, coach, alternator, tow_line):
    """Most output amps for which alternator (hot and at idle) and tow line, if there is one, both hold."""
    amps = min(_spare(alternator), _idle_spare(alternator))
    found = dcdc_output_within(amps, alternator.voltage, charger.absorption, charger.efficiency)
    lowest = _lowest_input(charger, alternator)
    if tow_line is None:
        return found
    loop = sum(_tow_parts(tow_line).values())
    through = max(Quantity(0.0, "A"), charge_current_through(alternator.voltage, lowest, loop))
    allowed = [through, *(limit for _, limit in _tow_circuits(coach) if limit is not None)]
    return min(found, dcdc_output_within(min(allowed), lowest, charger.absorption, charger.efficiency))


# ------------------------------------------------------------------------------- the three doors


@dataclasses.dataclass(frozen=True)
class SourceStudy:
    """One source at work on the bank.

    name : "shore", "engine", "generator" or "tow line alone". charger : what it works through. current : into
    the bus. limited_by : what sets it. battery_current : what is left for the bank while its DC loads run.
    input_power : from the source. refill_time, night_time : hours to refill the bank from start to end, and
    to bring back one night's energy; None where nothing is left for the bank. hours : a day, as planned.
    energy : brought in them at most. fuel : for a refill, of a generator.
    """

    name: str
    charger: str
    current: Current
    limited_by: str
    battery_current: SignedCurrent
    input_power: Power
    refill_time: Time | None
    night_time: Time | None
    hours: Time
    energy: Energy
    fuel: Fuel | None = None


@dataclasses.dataclass(frozen=True)
class Setting:
    """One setting that follows, for commissioning: of which device, what, its value, why."""

    device: str
    what: str
    value: str
    why: str


@dataclasses.dataclass(frozen=True, eq=False)
class Study:
    """Everything this topic says of a coach.

    bank : the capacity.Arrangement. acceptance : of its chemistry. charge_limit : most that the whole bank
    takes, the hardest-worked string within its module's limit; charge_limit_one_out : with one string lost
    (None for a single one). cold_limit : with cells at the coldest of the coach. load_current : mean of the
    DC loads. night_energy, day_energy : of the design season. sources : SourceStudy of each. curve : the
    charge by shore, or by what there is (None without a charger). tow : what the charge line alone would
    bring, None without one. deratings : of the generator's place. settings : for commissioning. assumed :
    names of decisions that are proposals.
    """

    plan: object
    bank: capacity.Arrangement
    acceptance: Acceptance
    charge_limit: Current
    charge_limit_one_out: Current | None
    cold_limit: Current
    load_current: Current
    night_energy: Energy
    day_energy: Energy
    sources: tuple
    curve: ChargeCurve | None
    tow: TowCharge | None
    deratings: tuple
    settings: tuple
    assumed: tuple

    def source(self, name):
        """The source of that name; InputError names those that there are."""
        for one in self.sources:
            if one.name == name:
                return one
        raise InputError(
            "source",
            f'"{name}" is not one of this coach',
            "one of " + ", ".join(s.name for s in self.sources),
        )


def bank_charge_limit(bank, out=()) -> Current:
    """Most that a bank may be charged with: the hardest-worked string within its module's limit.

    Parameters
    ----------
    bank : the capacity.Arrangement
    out : places of strings that are lost

    Source: capacity.share; the module's data sheet.
    """
    trial = Quantity(100.0, "A")
    sharing = bank.share(0.5, bank_current=-trial, out=out)
    return trial * floats(bank.module.charge_current / sharing.most, "")


def cold_charge_limit(bank, temperature: Temperature, charge_limit: Current | None = None) -> Current:
    """Most that a bank should be charged with at a cell temperature: nothing below its module's limit.

    Parameters
    ----------
    bank : the capacity.Arrangement
    temperature : of the coldest cell
    charge_limit : of `bank_charge_limit`, where it has been asked already

    Lithium takes less in the cold than its sheet's plain number says: the careful rates of
    `cycle_life.cold_charge_rate` hold. Source: the module's data sheet; data/tables/cold_charge.csv.
    """
    limit = bank_charge_limit(bank) if charge_limit is None else charge_limit
    temperature = KINDS["temperature"].check(temperature, "temperature")
    if temperature < bank.module.coldest_charge:
        return 0 * limit
    if not capacity.chemistry(bank.module.chemistry).is_lithium:
        return limit
    rate = Quantity(cycle_life.cold_charge_rate(temperature), "1/h")
    return min(limit, (bank.capacity * rate).to("A"))


def _limit_one_out(bank):
    working = int(bank.parallel - bank.reserve)
    if working < 2:
        return None
    return min(bank_charge_limit(bank, (place,)) for place in range(1, working + 1))


def _dc_load(coach, season):
    day = energy_topic.day(coach, season)
    names = [load.name for load in coach.loads if load.side == "dc" and load.name in day.loads]
    watts = sum(float(day.loads[name].mean()) for name in names) + float(
        day.losses[energy_topic.WIRING].mean()
    )
    return Quantity(watts / floats(day.voltage, "V"), "A")


def inlet_charge_current(plan, charger) -> Current:
    """DC amps that the inlet leaves a charger, by the 80 % rule and beside what runs on the same leg.

    Parameters
    ----------
    plan : the [charging] section, decided
    charger : data sheet and settings

    Source: `line_current_left` and `charger_current_within`.
    """
    row = inlet(plan.inlet)
    left = line_current_left(row["rating"], plan.meanwhile, row["voltage"])
    factor = charger.power_factor if charger.power_factor is not None else 1.0
    return charger_current_within(left, row["voltage"], factor, charger.efficiency, charger.absorption)


def generator_power(plan) -> Power:
    """What the generator gives at the highest place in the hottest air, by the strictest rule.

    Parameters
    ----------
    plan : the [charging] section, decided, with a generator

    Source: `deratings`.
    """
    worst = min(row["share"] for row in deratings(plan.altitude, plan.hottest))
    return generator_output(plan.generator.rated_power, worst)


def _least(*pairs):
    """(amps, what sets them) of the smallest."""
    return min(pairs, key=lambda pair: floats(pair[0], "A"))


def _plan(coach):
    proposals = propose(coach)
    return coach.charging.model_copy(update=proposals), proposals


@functools.lru_cache(maxsize=8)  # the other topics and the record ask again and again
def study(coach) -> Study:
    """Everything this topic says of a coach: sources, the charge over time, what each hour buys, settings.

    Parameters
    ----------
    coach : the coach file

    Source: the functions above.
    """
    plan, proposals = _plan(coach)
    bank = capacity.arrangement(coach)
    facts = acceptance(bank.module.chemistry)
    whole = energy_topic.study(coach)
    night = whole.design_day.energy * whole.design_day.night_share
    load = _dc_load(coach, whole.design_season)
    limit = bank_charge_limit(bank)
    context = _Context(plan, bank, facts, load, night, limit)
    sources = []
    for charger in plan.chargers:
        sources += context.by_shore(charger) if charger.kind == AC else [context.by_engine(charger, coach)]
    tow = None
    if plan.tow_line is not None and plan.alternator is not None:
        tow = context.tow()
        sources.append(context.by_tow_line(tow))
    first = next(
        (one for one in plan.chargers if one.kind == AC), plan.chargers[0] if plan.chargers else None
    )
    at_work = next((one for one in sources if first and one.charger == first.name), None)
    curve = None
    if at_work is not None and at_work.battery_current.magnitude > 0 and plan.start_charge < plan.end_charge:
        curve = charge_curve(
            bank.module.chemistry,
            bank.capacity,
            bank.module.cells * bank.series,
            at_work.battery_current,
            plan.start_charge,
            plan.end_charge,
            first.absorption,
        )
    cold = cold_charge_limit(bank, _coldest(coach))
    return Study(
        plan,
        bank,
        facts,
        limit,
        _limit_one_out(bank),
        cold,
        load,
        night,
        whole.design_day.energy,
        tuple(sources),
        curve,
        tow,
        tuple(deratings(plan.altitude, plan.hottest)),
        tuple(settings(coach)),
        tuple(proposals),
    )


@dataclasses.dataclass(frozen=True)
class _Context:
    """What every source of a coach shares."""

    plan: object
    bank: object
    facts: Acceptance
    load: Current
    night: Energy
    limit: Current

    def time(self, amps, start, end):
        """Hours on these battery amps, None where there are none."""
        if amps.magnitude <= 0:
            return None
        return charge_time(
            self.bank.capacity, amps, start, end, self.facts.acceptance_time, self.facts.charge_efficiency
        )

    def source(self, name, charger, current, limited_by, input_power, hours, fuel_for=None):
        plan = self.plan
        left = battery_current(current, self.load)
        refill = self.time(left, plan.start_charge, plan.end_charge)
        share = floats(self.night / self.bank.energy, "")
        start = plan.start_charge
        night = self.time(left, start, min(start + share, 0.999)) if share else Quantity(0.0, "h")
        energy = current * self.bank.voltage * hours
        fuel = fuel_for(refill) if fuel_for and refill is not None else None
        return SourceStudy(
            name, charger, current, limited_by, left, input_power, refill, night, hours, energy.to("Wh"), fuel
        )

    def by_shore(self, charger):
        bank_side = ((_output(charger), "the charger"), (self.limit, "the bank"))
        amps, why = _least(
            *bank_side, (inlet_charge_current(self.plan, charger), f"the {self.plan.inlet} inlet")
        )
        found = [
            self.source("shore", charger.name, amps, why, self._watts(charger, amps), self.plan.shore_hours)
        ]
        if self.plan.generator is None:
            return found
        spare = max(Quantity(0.0, "W"), generator_power(self.plan) - self.plan.meanwhile)
        by_generator = charger_current_within(
            spare / LINE_VOLTAGE, LINE_VOLTAGE, 1.0, charger.efficiency, charger.absorption
        )
        amps, why = _least(
            *bank_side,
            (by_generator, "the generator where it stands"),
            (inlet_charge_current(self.plan, charger), f"the {self.plan.inlet} inlet"),
        )
        watts = self._watts(charger, amps)
        found.append(
            self.source(
                "generator",
                charger.name,
                amps,
                why,
                watts,
                self.plan.generator_hours,
                lambda refill: self.generator_fuel(watts + self.plan.meanwhile, refill),
            )
        )
        return found

    def generator_fuel(self, power, hours):
        """Fuel at a steady load, the charger's full power all the time: a little more than it will be."""
        one = self.plan.generator
        at_load = part_load_efficiency(power, one.rated_power, one.efficiency, one.idle_share)
        return (fuel_rate(power, at_load, heat_content(one.fuel)) * hours).to("gal")

    @staticmethod
    def _watts(charger, amps):
        return charger_input_power(amps, charger.absorption, charger.efficiency)

    def by_engine(self, charger, coach):
        plan = self.plan
        may = _engine_limit(charger, coach, plan.alternator, plan.tow_line)
        amps, why = _least(
            (_output(charger), "the charger"), (self.limit, "the bank"), (may, "alternator or tow line")
        )
        return self.source("engine", charger.name, amps, why, self._watts(charger, amps), plan.drive_hours)

    def tow(self):
        cells = self.bank.module.cells * self.bank.series
        rest = capacity.open_circuit_voltage(self.bank.module.chemistry, 0.5, cells)
        working = self.bank.parallel - self.bank.reserve
        resistance = capacity.bank_resistance(self.bank.module.resistance, self.bank.series, working)
        return tow_charge(self.plan.alternator.voltage, _tow_parts(self.plan.tow_line), rest, resistance)

    def by_tow_line(self, tow):
        amps = max(Quantity(0.0, "A"), tow.current)
        watts = (amps * self.plan.alternator.voltage).to("W")
        return self.source(
            "tow line alone", "none", amps, "the line's resistance", watts, self.plan.drive_hours
        )


def balance(coach, sun_energy: Energy = Quantity(0.0, "Wh")) -> list[dict]:
    """A day of the design season by source: rows with `source`, `hours`, `energy`, `share` of what it takes.

    Parameters
    ----------
    coach : the coach file
    sun_energy : what the array brings in the same day, from the sun lesson

    Energy is what each source can bring in its hours at full current; the last row is what is left over,
    negative where the bank is drawn down. A tow line counts only where no DC-DC charger does its work.
    Source: the functions above.
    """
    found = study(coach)
    engine = any(one.name == "engine" for one in found.sources)
    rows = [
        {"source": one.name, "hours": one.hours, "energy": one.energy}
        for one in found.sources
        if not (one.name == "tow line alone" and engine)
    ]
    rows.append({"source": "sun", "hours": None, "energy": KINDS["energy"].check(sun_energy, "sun energy")})
    brought = sum(floats(row["energy"], "Wh") for row in rows)
    rows.append({"source": "the day takes", "hours": None, "energy": -found.day_energy})
    rows.append(
        {
            "source": "left over",
            "hours": None,
            "energy": Quantity(brought - floats(found.day_energy, "Wh"), "Wh"),
        }
    )
    for row in rows:
        row["share"] = (
            row["energy"] / found.day_energy * Quantity(100.0, "percent")
            if found.day_energy.magnitude
            else None
        )
    return rows


def combined(coach, *names) -> Current:
    """Current into the bus when several sources charge at once, held within the bank's limit.

    Parameters
    ----------
    coach : the coach file
    names : of sources, "shore", "engine" ...; shore and generator share one inlet and are never on together

    Currents add only below the lowest absorption voltage of them: above it that charger drops out.
    Source: Kirchhoff's current law.
    """
    if {"shore", "generator"} <= set(names):
        raise InputError(
            "names",
            "shore and generator are given together",
            "one of them: they share the inlet",
            '"generator", "engine"',
        )
    found = study(coach)
    total = sum((found.source(name).current for name in names), Quantity(0.0, "A"))
    return min(total, found.charge_limit)


def settings(coach) -> list[Setting]:
    """The settings that follow from the design, for commissioning.

    Parameters
    ----------
    coach : the coach file

    Source: the coach file and the module's data sheet.
    """
    plan, _ = _plan(coach)
    bank = capacity.arrangement(coach)
    chemistry = bank.module.chemistry
    facts = acceptance(chemistry)
    tail = (facts.tail_rate * bank.capacity / Quantity(1.0, "h")).to("A")
    found = []
    for charger in plan.chargers:
        limit = inlet_charge_current(plan, charger) if charger.kind == AC else _output(charger)
        amps = min(_output(charger), bank_charge_limit(bank), limit)
        rows = [
            ("charge current", show(amps.to("A")), "least of charger, bank and inlet"),
            ("absorption", show(charger.absorption), f"the bank may see {show(bank.charge_voltage)}"),
            (
                "absorption ends at",
                show(min(tail, amps / 2)),
                f"{chemistry} counts as full there"
                if tail <= amps / 2
                else "half of a small charger's current",
            ),
            (
                "float",
                show(charger.float_voltage) if charger.float_voltage is not None else "off",
                f"at most {show(facts.float_high * bank.module.cells * bank.series)}",
            ),
            (
                "equalise",
                show(charger.equalise) if charger.equalise is not None else "off",
                f"for {chemistry}",
            ),
            (
                "temperature compensation",
                f"{show(charger.compensation)} a cell" if charger.compensation.magnitude else "off",
                f"for {chemistry}",
            ),
            (
                "restart",
                show(charger.restart) if charger.restart is not None else "as made",
                "below the bank's rest",
            ),
            (
                "no charge below",
                show(_warmer(charger.coldest, bank.module.coldest_charge)),
                "the warmer of sensor and module",
            ),
        ]
        if charger.kind == AC:
            rows.append(
                ("inlet limit", show(continuous_current(inlet(plan.inlet)["rating"])), "80 % of the inlet")
            )
        else:
            rows.append(("start signal", charger.start or "none", "a smart alternator's voltage says little"))
        found += [Setting(charger.name, *row) for row in rows]
    found.append(Setting("battery", "discharge ends at", show(bank.cut_off), "the module's cut-off"))
    return found


def _warmer(own, modules):
    return modules if own is None or own < modules else own


def circuits(coach) -> dict:
    """The circuits that the chargers need, for the wire schedule: name to the keys of [[circuits]].

    Parameters
    ----------
    coach : the coach file

    A circuit that stands in the file keeps its length; for a new one 10 ft stands until it is measured.
    Where a tow charge line feeds the DC-DC charger, its row stands already. Source: `dcdc_input_current`.
    """
    plan, _ = _plan(coach)
    there = {circuit.name: circuit for circuit in coach.circuits}
    by_tow = any(one.purpose == "tow charge line" and one.existing != "remove" for one in coach.circuits)
    found, seen = {}, {AC: 0, DC_DC: 0}
    for charger in plan.chargers:
        seen[charger.kind] += 1
        number = f" {seen[charger.kind]}" if seen[charger.kind] > 1 else ""
        title = ("Shore charger" if charger.kind == AC else "DC-DC charger") + number
        if charger.kind == DC_DC and not by_tow:
            found[f"{title} input"] = {
                "from": "starter battery",
                "to": title,
                "purpose": "alternator",
                "current": _whole_amps(_draw(charger, _lowest_input(charger, plan.alternator))),
            }
        found[f"{title} output"] = {
            "from": title,
            "to": "positive bus",
            "purpose": "charger",
            "current": _whole_amps(charger.rated_current),
        }
    for name, row in found.items():
        row["length"] = there[name].length if name in there else UNKNOWN_LENGTH
    return found


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
    plan, bank = found.plan, found.bank
    practice = Source(PRACTICE, PRACTICE)
    arithmetic = Source("arithmetic on the coach file and the data sheets", "derived")
    results = []
    for charger in plan.chargers:
        faults = charger_faults(charger, bank)
        results.append(
            rules.holds(
                f"Does the profile of {charger.name} fit the bank?",
                "; ".join(faults) or "yes",
                f"{bank.module.chemistry}, {show(bank.charge_voltage)} at most",
                true=not faults,
                why="A profile for another battery overcharges this one or never fills it.",
                mend="Set it for this chemistry, or take a charger that can be set.",
                source=arithmetic,
                guards="fire",
                topic="charging",
            )
        )
        results += [_cold_check(charger, coach, bank), _gone_check(charger, coach, practice)]
        if charger.kind == AC:
            results.append(_inlet_check(charger, plan))
        else:
            results += _engine_checks(charger, plan, coach, practice, arithmetic)
    most = sum((_output(charger) for charger in plan.chargers), Quantity(0.0, "A"))
    for asked, limit in (
        ("Can the bank take all chargers at once?", found.charge_limit),
        ("And with one string lost?", found.charge_limit_one_out),
    ):
        if limit is not None and plan.chargers:
            results.append(
                rules.at_most(
                    asked,
                    most,
                    limit,
                    why="Above its charge limit a module's protection opens, or its cells age.",
                    mend="Set the chargers lower, or let only one run.",
                    source=arithmetic,
                    topic="charging",
                )
            )
    if plan.generator is not None:
        results += _generator_checks(found, arithmetic, practice)
    return results


def _coldest(coach):
    return coach.capacity.coldest if coach.capacity.coldest is not None else capacity.COLDEST


def _cold_check(charger, coach, bank):
    coldest, limit = _coldest(coach), bank.module.coldest_charge
    own = charger.coldest is not None and charger.coldest >= limit
    return rules.holds(
        f"Does {charger.name} leave cold cells alone?",
        f"stops below {show(charger.coldest)}"
        if own
        else f"no lock-out of its own, cells down to {show(coldest)}",
        f"no charge below {show(limit)}",
        true=bool(own or coldest >= limit),
        why="Charging a frozen lithium cell plates metal in it.",
        mend="A charger with a battery temperature sensor, or a heater: lesson 08.",
        source=Source("the module's data sheet", "invented"),
        guards="fire",
        topic="charging",
    )


def _gone_check(charger, coach, practice):
    stands = [one.highest_voltage for one in coach.capacity.devices if one.highest_voltage is not None]
    limit = min(stands) if stands else None
    held = charger.highest_output is not None and limit is not None and charger.highest_output <= limit
    output = (
        f"output up to {show(charger.highest_output)}"
        if charger.highest_output is not None
        else "output not known"
    )
    return rules.holds(
        f"Is the bus safe when the bank's protection opens under {charger.name}?",
        f"{output}, stopped by {charger.stop}",
        f"a contact that stops it first, or no more than {show(limit)}"
        if limit is not None
        else "a contact that stops it first",
        true=charger.stop == "contact" or held,
        why="A charger that loses its battery can leap above what the devices on the bus stand.",
        mend="Let the battery's electronics stop it before they open, or a charger that holds its voltage.",
        source=practice,
        topic="charging",
    )


def _inlet_check(charger, plan):
    row = inlet(plan.inlet)
    factor = charger.power_factor if charger.power_factor is not None else 1.0
    amps = charger_line_current(
        _output(charger), charger.absorption, charger.efficiency, factor, row["voltage"]
    )
    amps = amps + (plan.meanwhile / row["voltage"]).to("A")
    return rules.at_most(
        f"Does the {plan.inlet} inlet carry {charger.name} and what runs meanwhile for hours?",
        amps,
        continuous_current(row["rating"]),
        why="A breaker and a plug loaded above 80 % for hours trip or char.",
        mend="Set the charger lower, run less beside it, or a larger inlet.",
        source=Source(CONTINUOUS_RULE, "derived"),
        guards="fire",
        topic="charging",
    )


def _engine_checks(charger, plan, coach, practice, arithmetic):
    alternator = plan.alternator
    draw, worst = _draw(charger, alternator.voltage), _draw(charger, _lowest_input(charger, alternator))
    found = [
        rules.at_most(
            f"Can the hot alternator feed {charger.name}?",
            draw,
            _spare(alternator),
            why="An alternator that gives all it can, slowly and for hours, burns its windings.",
            mend="Set the charger lower, or a second alternator for the house.",
            source=practice,
            guards="fire",
            topic="charging",
        ),
        rules.at_most(
            "And while the engine idles?",
            draw,
            _idle_spare(alternator),
            why="At idle an alternator gives least and cools worst; the starter battery pays.",
            mend="Let it charge on the road only, or set it lower.",
            source=practice,
            topic="charging",
        ),
    ]
    lowest = alternator.lowest_voltage
    starved = lowest is not None and charger.lowest_input is not None and lowest < charger.lowest_input
    found.append(
        rules.holds(
            f"Does {charger.name} start with the engine and stop with it?",
            f"by {charger.start or 'nothing'}, alternator down to "
            f"{show(lowest if lowest is not None else alternator.voltage)}",
            "an engine-run wire where a smart alternator falls below the charger's lowest input",
            true=charger.start == "engine-run wire" or (charger.start == "input voltage" and not starved),
            why="A smart alternator falls to resting voltage while it runs; a charger that waits for volts "
            "never starts, and one without a signal empties the starter battery.",
            mend="Wire the engine-run signal.",
            source=practice,
            topic="charging",
        )
    )
    for circuit, limit in _tow_circuits(coach):
        if limit is not None:
            found.append(
                rules.at_most(
                    f"Does the circuit {circuit.name} carry what {charger.name} takes?",
                    worst,
                    limit,
                    why="At its lowest input voltage a DC-DC charger takes most current.",
                    mend="A smaller charger, or a heavier line and fuse.",
                    source=arithmetic,
                    guards="fire",
                    topic="charging",
                )
            )
    if plan.tow_line is not None and charger.lowest_input is not None:
        found.append(_tow_voltage_check(charger, plan, arithmetic))
    for circuit in coach.circuits:
        if circuit.purpose == "emergency-start solenoid":
            found.append(
                rules.holds(
                    f"Is {charger.name} the only tie between starter battery and bank?",
                    f"{circuit.name}: {circuit.existing or 'new'}",
                    "remove or limit",
                    true=circuit.existing in ("remove", "limit"),
                    why="A closed solenoid goes round the charger: the bank takes what it wants.",
                    mend="Remove it, or let it close only while somebody holds the switch.",
                    source=practice,
                    guards="fire",
                    topic="charging",
                )
            )
    return found


def _tow_voltage_check(charger, plan, source):
    power = charger_input_power(_output(charger), charger.absorption, charger.efficiency)
    try:
        voltage = tow_charge_through_dcdc(plan.alternator.voltage, _tow_parts(plan.tow_line), power).voltage
        words = show(voltage)
    except network.CannotCarry as refusal:
        voltage, words = None, f"the line brings {show(refusal.available)} of {show(power)}"
    return rules.holds(
        f"Does {charger.name} see enough volts at the end of the tow vehicle's charge line?",
        words,
        f"at least {show(charger.lowest_input)}",
        true=voltage is not None and voltage >= charger.lowest_input,
        why="Below its lowest input it stops, the voltage recovers, and it starts again: on, off, on.",
        mend="A heavier or shorter line, or a lower current.",
        source=source,
        topic="charging",
    )


def _generator_checks(found, arithmetic, practice):
    plan = found.plan
    charger = next((one for one in plan.chargers if one.kind == AC), None)
    if charger is None:
        return []
    by_generator = found.source("generator")
    watts = charger_input_power(_output(charger), charger.absorption, charger.efficiency)
    allowed = Quantity(window_hours(plan.generator.allowed), "h")
    refill = by_generator.refill_time
    return [
        rules.at_most(
            "Does the generator carry the charger and what runs meanwhile where it stands?",
            watts + plan.meanwhile,
            generator_power(plan),
            why="Thin hot air takes power from engine and winding.",
            mend="Set the charger lower, or a larger generator.",
            source=Source("the strictest of the rules in data/tables/generator_deratings.csv", "secondary"),
            topic="charging",
        ),
        rules.holds(
            "Does a refill by generator fit between quiet hours?",
            show(refill) if refill is not None else "nothing is left for the bank",
            f"{show(allowed)} allowed",
            true=refill is not None and refill <= allowed,
            why="A camp's quiet hours stop it, and nobody sleeps beside a running engine.",
            mend="More charge current, or smaller meals: start earlier and stop at the knee.",
            source=arithmetic,
            topic="charging",
        ),
        rules.at_most(
            "Is the generator planned only outside quiet hours?",
            plan.generator_hours,
            allowed,
            why="A camp's quiet hours stop it.",
            mend="Fewer hours.",
            source=practice,
            topic="charging",
        ),
    ]
