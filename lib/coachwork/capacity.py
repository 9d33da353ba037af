"""Capacity: choose, size, arrange and share a house battery bank.

A bank is modules in strings (series adds volts) side by side (parallel adds amp-hours). What a reader can use
of it is less than its label: part stays in for a long life, part goes with age, cold and fast discharge. And
modules side by side never share quite alike: the leads decide how the current divides.

Chemistries are named as in the coach file. Everything typical of one, with its source, stands in
`data/tables/chemistries.csv`; a module's own data sheet is always the better number.
"""

import dataclasses
import functools
import math
from typing import Annotated

import numpy

from coachwork import checks as rules
from coachwork import energy as energy_topic
from coachwork.quantities import (
    ABOVE_ZERO,
    KINDS,
    Charge,
    Count,
    Current,
    Energy,
    Fraction,
    InputError,
    Mass,
    Power,
    Quantity,
    Ratio,
    Resistance,
    Temperature,
    Time,
    Voltage,
    Volume,
    floats,
    formula,
    kind_of,
    nearest,
    show,
)
from coachwork.sources import Source, table

PRACTICE = "common practice, no source"
LITHIUM, AGM, FLOODED = "lithium iron phosphate", "AGM", "flooded lead-acid"

# ------------------------------------------------------------------------------- series and parallel


@formula
def bank_voltage(module_voltage: Voltage, series: Count) -> Voltage:
    """Voltage of modules in series: volts add.

    Parameters
    ----------
    module_voltage : volts of one module
    series : modules one after another in a string

    Source: US Army correspondence course IT0335, cells in series and parallel.
    """
    return module_voltage * series


@formula
def bank_capacity(capacity: Charge, parallel: Count) -> Charge:
    """Amp-hours of strings in parallel: amp-hours add. In series they do not.

    Parameters
    ----------
    capacity : amp-hours of one module, which are those of its string
    parallel : strings side by side

    Source: US Army correspondence course IT0335, cells in series and parallel.
    """
    return capacity * parallel


@formula
def bank_energy(module_voltage: Voltage, capacity: Charge, series: Count, parallel: Count) -> Energy:
    """Rated energy of a bank: however its modules are arranged, the watt-hours are the same.

    Parameters
    ----------
    module_voltage : nominal volts of one module
    capacity : rated amp-hours of one module
    series : modules in a string
    parallel : strings side by side

    Source: definition of the volt, E = Q V.
    """
    return (module_voltage * series) * (capacity * parallel)


@formula
def bank_resistance(
    internal_resistance: Resistance, series: Count, parallel: Annotated[Count, ABOVE_ZERO]
) -> Resistance:
    """Internal resistance of a bank whose strings share alike.

    Parameters
    ----------
    internal_resistance : of one module
    series : modules in a string
    parallel : strings side by side, above 0

    Source: resistances in series and parallel (Dhogal, Basic Electrical Engineering, ch. 9).
    """
    return internal_resistance * series / parallel


@formula
def current_into_load(
    open_circuit_voltage: Voltage,
    internal_resistance: Resistance,
    load_resistance: Annotated[Resistance, ABOVE_ZERO],
) -> Current:
    """Current that a bank drives through a resistance.

    Parameters
    ----------
    open_circuit_voltage : of the bank, at rest
    internal_resistance : of the bank
    load_resistance : of what is connected, above 0

    Source: Ohm's law (Bird, Electrical Circuit Theory and Technology, ch. 4).
    """
    return open_circuit_voltage / (internal_resistance + load_resistance)


@formula
def terminal_voltage(
    open_circuit_voltage: Voltage, current: Current, internal_resistance: Resistance
) -> Voltage:
    """Voltage at the posts while a current is drawn.

    Parameters
    ----------
    open_circuit_voltage : at rest
    current : drawn
    internal_resistance : of the battery, or of the bank

    Source: Robertson, Fundamental Electrical and Electronic Principles, ch. 1.
    """
    return open_circuit_voltage - current * internal_resistance


@formula
def internal_resistance(
    open_circuit_voltage: Voltage, loaded_voltage: Voltage, current: Annotated[Current, ABOVE_ZERO]
) -> Resistance:
    """Internal resistance from two readings of a voltmeter and one of an ammeter.

    Parameters
    ----------
    open_circuit_voltage : at rest
    loaded_voltage : while the current flows
    current : drawn at the second reading, above 0

    Source: Robertson, Fundamental Electrical and Electronic Principles, ch. 1.
    """
    return (open_circuit_voltage - loaded_voltage) / current


def string_window(states: list[Fraction]) -> Fraction:
    """Share of the capacity that a string can still give and take when its modules are not equally full.

    The fullest module ends the charge and the emptiest ends the discharge, so what they differ by is lost:
    1 - (fullest - emptiest). That is why modules are charged full one by one before they are put in series.

    Parameters
    ----------
    states : state of charge of each module of the string, all at the same moment

    Source: arithmetic on modules of equal capacity.
    """
    if not states:
        raise InputError("states", "an empty list is given", "the state of charge of each module", '["90 %", "85 %"]')
    shares = [KINDS["fraction"].check(state, "states") for state in states]
    return 1 - (max(shares) - min(shares))


# ------------------------------------------------------------------------------- charge, efficiency, Peukert


@formula
def charge_from_current(current: Current, hours: Time) -> Charge:
    """Amp-hours that a steady current takes out or puts in.

    Parameters
    ----------
    current : amps
    hours : how long they flow

    Source: definition of charge, Q = I t (Dhogal, Basic Electrical Engineering, ch. 9).
    """
    return current * hours


@formula
def charge_efficiency(
    charge_out: Charge, charge_in: Annotated[Charge, ABOVE_ZERO]
) -> Fraction:
    """Amp-hour (coulombic) efficiency of a cycle.

    Parameters
    ----------
    charge_out : amp-hours that came out
    charge_in : amp-hours put in to be as full as before, above 0

    Source: Dhogal, Basic Electrical Engineering, ch. 9.
    """
    return charge_out / charge_in


@formula
def cycle_efficiency(
    charge_out: Charge,
    voltage_out: Voltage,
    charge_in: Annotated[Charge, ABOVE_ZERO],
    voltage_in: Annotated[Voltage, ABOVE_ZERO],
) -> Fraction:
    """Watt-hour efficiency of a cycle: lower than the amp-hour one, because charging needs more volts.

    Parameters
    ----------
    charge_out : amp-hours that came out
    voltage_out : mean volts meanwhile
    charge_in : amp-hours put in, above 0
    voltage_in : mean volts meanwhile, above 0

    Source: Dhogal, Basic Electrical Engineering, ch. 9.
    """
    return (charge_out * voltage_out) / (charge_in * voltage_in)


RESERVE_CURRENT = Quantity(25.0, "A")


@formula
def reserve_charge(reserve_time: Time) -> Charge:
    """Amp-hours in a reserve capacity: minutes for which a battery gives 25 A down to 1.75 V a cell at 80 °F.

    It is the capacity at 25 A. The amp-hours over 20 hours are more, by Peukert.

    Parameters
    ----------
    reserve_time : the minutes on the label

    Source: SAE J537 (definition of reserve capacity).
    """
    return RESERVE_CURRENT * reserve_time


@formula
def peukert_hours(
    capacity: Charge,
    rated_hours: Annotated[Time, ABOVE_ZERO],
    peukert_exponent: Annotated[Ratio, ABOVE_ZERO],
    current: Annotated[Current, ABOVE_ZERO],
) -> Time:
    """Hours that a battery carries a steady current, by Peukert's law in its normalised form.

    At the rated current, capacity / rated hours, it gives the rated hours whatever the exponent. The form
    C / I^k seen in tutorials is right only where C is the capacity at one amp; with a 20-hour rating it
    promises too little by a factor (rated current in amps)^(k-1): 2.13 for 250 Ah and 1.3.

    Parameters
    ----------
    capacity : rated amp-hours
    rated_hours : hours over which they are stated, 20 for most lead-acid
    peukert_exponent : 1 for an ideal battery, above 1 for a real one
    current : drawn steadily, above 0

    Holds at one temperature and steady current, for currents near those it was fitted to.
    Source: Peukert 1897, I^k t = constant; normalised t = H (C / (I H))^k.
    """
    return rated_hours * (capacity / (current * rated_hours)) ** peukert_exponent


@formula
def peukert_charge(
    capacity: Charge,
    rated_hours: Annotated[Time, ABOVE_ZERO],
    peukert_exponent: Annotated[Ratio, ABOVE_ZERO],
    current: Annotated[Current, ABOVE_ZERO],
) -> Charge:
    """Amp-hours that a battery gives at a steady current.

    Parameters
    ----------
    capacity, rated_hours, peukert_exponent, current : as for `peukert_hours`

    Source: as for `peukert_hours`.
    """
    return current * rated_hours * (capacity / (current * rated_hours)) ** peukert_exponent


@formula
def peukert_exponent(
    slow_current: Annotated[Current, ABOVE_ZERO],
    slow_hours: Annotated[Time, ABOVE_ZERO],
    fast_current: Annotated[Current, ABOVE_ZERO],
    fast_hours: Annotated[Time, ABOVE_ZERO],
) -> Ratio:
    """Peukert's exponent from two discharges of one battery.

    Parameters
    ----------
    slow_current, slow_hours : amps of the slower discharge and how long it took
    fast_current, fast_hours : amps of the faster one and how long it took

    Source: Peukert 1897, I^k t = constant, solved for k.
    """
    return math.log(slow_hours / fast_hours) / math.log(fast_current / slow_current)


@formula
def rate_factor(
    rated_hours: Time,
    hours: Annotated[Time, ABOVE_ZERO],
    peukert_exponent: Annotated[Ratio, ABOVE_ZERO],
) -> Ratio:
    """How much larger a bank must be because it is emptied faster than it was rated for.

    No credit is given for a slower discharge: the result is at least 1.

    Parameters
    ----------
    rated_hours : hours over which the amp-hours are stated
    hours : hours in which the bank is really emptied, above 0
    peukert_exponent : of the chemistry

    Source: derived from Peukert's law, C(H) / C(t) = (H / t)^((k-1)/k).
    """
    return max(1, (rated_hours / hours) ** ((peukert_exponent - 1) / peukert_exponent))


# ------------------------------------------------------------------------------- chemistries


@dataclasses.dataclass(frozen=True)
class Chemistry:
    """Typical values of one chemistry, to size with until a data sheet is in hand.

    Voltages are of a cell, `module_resistance` of a 12 V 100 Ah module, `self_discharge` is a month's.
    sources : the Source of each value by its name.
    """

    name: str
    cell_voltage: Voltage
    cells_for_12_volt: Count
    cell_charge_voltage: Voltage
    cell_cut_off_voltage: Voltage
    depth: Fraction
    end_of_life: Fraction
    peukert_exponent: Ratio
    peukert_low: Ratio
    peukert_high: Ratio
    rated_hours: Time
    module_resistance: Resistance
    coldest_charge: Temperature
    warmest_charge: Temperature
    coldest_discharge: Temperature
    warmest_discharge: Temperature
    self_discharge: Fraction
    mass_per_kwh: Mass
    volume_per_kwh: Volume
    sources: dict

    @property
    def is_lithium(self):
        """Whether the product of all factors is used to size it, and the lithium curves hold."""
        return self.name == LITHIUM


def chemistry(name: str) -> Chemistry:
    """Typical values of a chemistry by its name in the coach file.

    Parameters
    ----------
    name : "lithium iron phosphate", "AGM" or "flooded lead-acid"

    Source: each value names its own, in data/tables/chemistries.csv.
    """
    if name not in chemistries():
        near = nearest(str(name), chemistries())
        raise InputError("chemistry", f'"{name}" is not known', "one of " + ", ".join(chemistries()),
                         f'"{near or LITHIUM}"')  # fmt: skip
    return _chemistry(name)


@functools.cache
def _chemistry(name):
    kinds = {field.name: kind_of(field.type) for field in dataclasses.fields(Chemistry)}
    rows = {row["property"]: row for row in table("chemistries").rows}
    values = {part: kinds[part].read(row[name], part) for part, row in rows.items()}
    sources = {part: Source(row["source"], row["row status"]) for part, row in rows.items()}
    return Chemistry(name=name, sources=sources, **values)


def chemistries() -> tuple:
    """Names of the chemistries, in the order of the coach file.

    Source: data/tables/chemistries.csv.
    """
    return LITHIUM, AGM, FLOODED


def _along(name, column, value, wanted):
    """The `wanted` column of a table where `column` has a value, straight lines between rows; a float."""
    source = table(name)
    known, results = (
        numpy.array([floats(Quantity(one), source.units[part]) for one in source.column(part)])
        for part in (column, wanted)
    )
    given = floats(Quantity(value), source.units[column])
    if not known[0] - 1e-9 <= given <= known[-1] + 1e-9:
        low, high = (show(Quantity(float(edge), source.units[column])) for edge in (known[0], known[-1]))
        raise InputError(column.replace("_", " "), f'"{show(value)}" is outside the table {name}',
                         f"between {low} and {high}")  # fmt: skip
    return float(numpy.interp(given, known, results))


@formula
def cell_size_factor(temperature: Temperature) -> Ratio:
    """By how much a lead-acid cell must be larger because it is cold.

    Parameters
    ----------
    temperature : of the cells, 25 to 125 °F; straight lines between the rows of the table

    Source: IEEE 485, Table 1; 25, 30, 35 and 125 °F from memory.
    """
    return _along("cell_size_factor", "temperature", temperature, "factor")


@formula
def capacity_test_factor(temperature: Temperature) -> Ratio:
    """What a lead-acid cell gives in a capacity test at a temperature, as a share of that at 77 °F.

    Not one over `cell_size_factor`: the standards differ in method.

    Parameters
    ----------
    temperature : of the cells, 40 to 120 °F; straight lines between the rows of the table

    Source: IEEE 450, Table 1.
    """
    return _along("capacity_test_factor", "temperature", temperature, "factor")


@formula
def lithium_cold_share(temperature: Temperature) -> Fraction:
    """Share of its 77 °F capacity that a cold lithium iron phosphate cell still gives.

    Parameters
    ----------
    temperature : of the cells, -4 to 113 °F; straight lines between the rows of the table

    Source: cell data sheets, from memory. An open reference model was asked and has no answer: its
    parameters do not change with temperature.
    """
    return _along("lithium_cold", "temperature", temperature, "share")


def temperature_factor(chemistry_name: str, temperature: Temperature) -> Ratio:
    """By how much a bank must be larger because its cells are cold; no credit for warm ones.

    Parameters
    ----------
    chemistry_name : a chemistry
    temperature : of the cells while they are used

    Source: lead-acid IEEE 485 Table 1; lithium from memory, one over `lithium_cold_share`.
    """
    if chemistry(chemistry_name).is_lithium:
        return max(1.0, 1 / lithium_cold_share(temperature))
    return max(1.0, cell_size_factor(temperature))


@formula
def specific_gravity(state_of_charge: Fraction) -> Ratio:
    """Specific gravity of the electrolyte of a flooded lead-acid cell at 80 °F.

    Parameters
    ----------
    state_of_charge : share of the capacity that is left

    Source: US Army TM 5-1185, Table II (1.28 full, 1.25, 1.22, 1.19), the line through its four rows.
    """
    return 1.16 + 0.12 * state_of_charge


@formula
def freezing_point(specific_gravity: Ratio) -> Temperature:
    """Temperature at which electrolyte of a specific gravity freezes.

    Parameters
    ----------
    specific_gravity : 1.000 to 1.280; straight lines between the rows of the table

    Source: US Army TM 5-1185, Table III.
    """
    fahrenheit = _along("electrolyte_freezing", "specific_gravity", specific_gravity, "freezing_point")
    return Quantity(fahrenheit, "degF")


@formula
def lead_acid_cell_voltage(specific_gravity: Ratio) -> Voltage:
    """Open-circuit voltage of a lead-acid cell from the specific gravity of its electrolyte.

    Parameters
    ----------
    specific_gravity : of the electrolyte

    Source: battery handbooks, from memory: volts = specific gravity + 0.84.
    """
    return (specific_gravity + 0.84) * VOLT


VOLT = Quantity(1.0, "V")


def open_circuit_voltage(chemistry_name: str, state_of_charge: Fraction, cells: Count = 1.0) -> Voltage:
    """Voltage at rest against state of charge, at 77 °F.

    Parameters
    ----------
    chemistry_name : a chemistry
    state_of_charge : share of the capacity that is left
    cells : cells in series, 1 for a cell, 4 for a 12.8 V lithium module

    The cells have rested for hours, longer for AGM. Lithium stands within 0.1 V a cell between 20 and 90 %:
    a voltmeter hardly tells how full it is.

    Source: lithium derived from two published electrode curves, flooded from US Army TM 5-1185 with
    `lead_acid_cell_voltage`, AGM from memory; see data/tables/open_circuit_*.csv.
    """
    level = KINDS["fraction"].check(state_of_charge, "state of charge")
    if chemistry(chemistry_name).name == FLOODED:
        cell = lead_acid_cell_voltage(specific_gravity(level))
    else:
        name = "open_circuit_lithium" if chemistry_name == LITHIUM else "open_circuit_agm"
        cell = _along(name, "charge_level", level, "cell_voltage") * VOLT
    return cell * KINDS["count"].check(cells, "cells")


@formula
def state_after_storage(
    state_of_charge: Fraction, self_discharge: Fraction, periods: Count
) -> Fraction:
    """State of charge after standing with nothing connected.

    Parameters
    ----------
    state_of_charge : at the start
    self_discharge : share of what is left that is lost in one period, a day or a month
    periods : how many such days or months

    Source: compounding of a steady share.
    """
    return state_of_charge * (1 - self_discharge) ** periods


@formula
def self_discharge_from_retention(
    retention: Annotated[Fraction, ABOVE_ZERO], periods: Annotated[Count, ABOVE_ZERO]
) -> Fraction:
    """Share lost in one period, from the share that is left after several.

    Parameters
    ----------
    retention : share left at the end, above 0
    periods : how many days or months, above 0

    Source: compounding of a steady share.
    """
    return 1 - retention ** (1 / periods)


# ------------------------------------------------------------------------------- voltages


@formula
def highest_charge_voltage(cell_charge_voltage: Voltage, cells: Count, series: Count) -> Voltage:
    """Highest voltage at which a bank is charged: what every device on its bus must stand.

    Parameters
    ----------
    cell_charge_voltage : of one cell, from its data sheet
    cells : cells in series in a module
    series : modules in a string

    Sixteen lithium cells reach 58.4 V: a device marked 58 V fails on a 48 V lithium bank.
    Source: voltages in series add.
    """
    return cell_charge_voltage * cells * series


@formula
def rejoin_current(
    voltage_difference: Voltage,
    internal_resistance: Resistance,
    parallel: Annotated[Count, ABOVE_ZERO],
    lead_resistance: Annotated[Resistance, ABOVE_ZERO],
) -> Current:
    """Current that flows at once when a module at another voltage is put beside a bank.

    Only the resistances limit it: of the module, of the bank's modules side by side, and of the leads.

    Parameters
    ----------
    voltage_difference : between the module and the bank, measured before they are joined
    internal_resistance : of one module
    parallel : modules already in the bank
    lead_resistance : of both leads and their joints, above 0

    Source: Ohm's law.
    """
    return voltage_difference / (internal_resistance + internal_resistance / parallel + lead_resistance)


@formula
def rejoin_difference(
    charge_limit: Current,
    internal_resistance: Resistance,
    parallel: Annotated[Count, ABOVE_ZERO],
    lead_resistance: Resistance,
) -> Voltage:
    """Largest difference in voltage at which a module may be put beside a bank.

    The module that is lower is charged by the rest: the current must not pass its charge limit.

    Parameters
    ----------
    charge_limit : largest charge current of one module
    internal_resistance : of one module
    parallel : modules already in the bank
    lead_resistance : of both leads and their joints

    Source: Ohm's law. The trade says 0.1 V (common practice, no source).
    """
    return charge_limit * (internal_resistance + internal_resistance / parallel + lead_resistance)


# ------------------------------------------------------------------------------- from energy to a bank


@formula
def autonomy_energy(energy: Energy, days: Count) -> Energy:
    """Energy that must come out of the bank before it is charged again.

    Parameters
    ----------
    energy : a day's, at the battery, with its margin
    days : days without charging

    Source: IEEE 1013 (days of autonomy).
    """
    return energy * days


@formula
def size_factor_product(
    depth_of_discharge: Annotated[Fraction, ABOVE_ZERO],
    end_of_life: Annotated[Fraction, ABOVE_ZERO],
    temperature_factor: Ratio = 1.0,
    rate_factor: Ratio = 1.0,
    margin: Ratio = 0.0,
) -> Ratio:
    """By how much the label must be larger than the need: every factor multiplied.

    The allowed depth then still holds on the last day of the bank's life. The safer reading, used here for
    lithium.

    Parameters
    ----------
    depth_of_discharge : share that may be taken out
    end_of_life : share of the label that an aged bank still has
    temperature_factor : from `temperature_factor`, 1 or more
    rate_factor : from `rate_factor`, 1 or more
    margin : share on top, 0 where the need already holds one

    Source: factors as in IEEE 485 and IEEE 1013; the product is ours.
    """
    return temperature_factor * rate_factor * (1 + margin) / (depth_of_discharge * end_of_life)


@formula
def size_factor_larger(
    depth_of_discharge: Annotated[Fraction, ABOVE_ZERO],
    end_of_life: Annotated[Fraction, ABOVE_ZERO],
    temperature_factor: Ratio = 1.0,
    rate_factor: Ratio = 1.0,
    margin: Ratio = 0.0,
) -> Ratio:
    """By how much the label must be larger than the need, in the manner of IEEE 1013.

    Of depth and age only the one that asks for more counts. A new bank keeps to the allowed depth; an aged
    one is emptied further, see `depth_reached`.

    Parameters
    ----------
    depth_of_discharge, end_of_life, temperature_factor, rate_factor, margin : as for `size_factor_product`

    Source: IEEE 1013 method for lead-acid in stand-alone systems (from memory: verify in a licensed copy).
    """
    return temperature_factor * rate_factor * (1 + margin) * max(1 / depth_of_discharge, 1 / end_of_life)


@formula
def rated_energy(energy: Energy, size_factor: Ratio) -> Energy:
    """Watt-hours that must stand on the label.

    Parameters
    ----------
    energy : that must come out before the bank is charged again
    size_factor : from `size_factor_product` or `size_factor_larger`

    Source: IEEE 1013 (capacity adjustment).
    """
    return energy * size_factor


@formula
def rated_capacity(charge: Charge, days: Count, size_factor: Ratio) -> Charge:
    """Amp-hours that must stand on the label.

    Parameters
    ----------
    charge : a day's amp-hours
    days : days without charging
    size_factor : from `size_factor_product` or `size_factor_larger`

    Source: IEEE 1013 (unadjusted capacity and its adjustment).
    """
    return charge * days * size_factor


@formula
def usable_energy(rated_energy: Energy, size_factor: Annotated[Ratio, ABOVE_ZERO]) -> Energy:
    """What can be counted on from a label: the size factor read backwards.

    Parameters
    ----------
    rated_energy : watt-hours of the bank by its label
    size_factor : from `size_factor_product` or `size_factor_larger`; with end of life 1 for a new bank

    Source: IEEE 1013 (capacity adjustment), solved for the energy.
    """
    return rated_energy / size_factor


@formula
def depth_reached(
    energy: Energy, rated_energy: Annotated[Energy, ABOVE_ZERO], capacity_left: Annotated[Fraction, ABOVE_ZERO]
) -> Ratio:
    """How far a bank is emptied; above 1 it is empty before the energy is out.

    Parameters
    ----------
    energy : taken out, a day's or that of all days without charging
    rated_energy : watt-hours by the label, above 0
    capacity_left : share of the label that the bank still has, 1 when new

    Source: definition of depth of discharge.
    """
    return energy / (rated_energy * capacity_left)


@formula
def strings_needed(rated_energy: Energy, module_energy: Annotated[Energy, ABOVE_ZERO], series: Count) -> Count:
    """Strings side by side: the energy divided by that of a string, rounded up.

    Parameters
    ----------
    rated_energy : watt-hours wanted on the label
    module_energy : watt-hours of one module, above 0
    series : modules in a string

    Source: IEEE 1013 (number of parallel strings).
    """
    return math.ceil(rated_energy / (module_energy * series))


# ------------------------------------------------------------------------------- run time


@formula
def run_time(
    rated_energy: Energy, share: Fraction, power: Annotated[Power, ABOVE_ZERO], efficiency: Fraction = 1.0
) -> Time:
    """Hours that a share of the bank carries a mean load.

    Parameters
    ----------
    rated_energy : watt-hours of the bank
    share : share of them to be used
    power : mean power of the load, above 0
    efficiency : of the inverter between, 1 for a DC load

    Source: definition of power, t = E / P.
    """
    return rated_energy * share * efficiency / power


@formula
def energy_for_hours(
    power: Power, hours: Time, share: Annotated[Fraction, ABOVE_ZERO], efficiency: Annotated[Fraction, ABOVE_ZERO] = 1.0
) -> Energy:
    """The label of a bank that carries a mean load for some hours on a share of it.

    Parameters
    ----------
    power : mean power of the load
    hours : how long
    share : share of the bank to be used, above 0
    efficiency : of the inverter between, above 0; 1 for a DC load

    Source: definition of power, E = P t.
    """
    return power * hours / (share * efficiency)


@formula
def run_time_at_rate(
    capacity: Charge,
    rated_hours: Annotated[Time, ABOVE_ZERO],
    peukert_exponent: Annotated[Ratio, ABOVE_ZERO],
    share: Fraction,
    power: Annotated[Power, ABOVE_ZERO],
    efficiency: Annotated[Fraction, ABOVE_ZERO],
    voltage: Annotated[Voltage, ABOVE_ZERO],
) -> Time:
    """Hours that a share of a lead-acid bank carries a load, Peukert and inverter loss counted.

    Parameters
    ----------
    capacity, rated_hours, peukert_exponent : of the bank, as for `peukert_hours`
    share : share of its capacity at that current to be used
    power : mean power of the load, above 0
    efficiency : of the inverter between, above 0
    voltage : mean volts of the bank while it discharges, above 0

    Source: Peukert 1897 with the definition of power.
    """
    current = power / (efficiency * voltage)
    return share * rated_hours * (capacity / (current * rated_hours)) ** peukert_exponent
