"""Capacity: choose, size, arrange and share a house battery bank.

A bank is modules in strings (series adds volts) side by side (parallel adds amp-hours). What a reader can use
of it is less than its label: part stays in for a long life, part goes with age, cold and fast discharge. And
modules side by side never share quite alike: the leads decide how the current divides.

Chemistries are named as in the coach file. Everything typical of one, with its source, stands in
`data/tables/chemistries.csv`; a module's own data sheet is always the better number.
"""

import dataclasses
import functools
import itertools
import math
import tomllib
from typing import Annotated

import numpy

from coachwork import bootstrap, conductor, network, sections
from coachwork import checks as rules
from coachwork import energy as energy_topic
from coachwork.profile import window_hours
from coachwork.quantities import (
    ABOVE_ZERO,
    KINDS,
    Charge,
    Count,
    Current,
    Energy,
    Fraction,
    InputError,
    Length,
    Mass,
    Power,
    Price,
    Quantity,
    Ratio,
    Resistance,
    ResistancePerLength,
    SignedCurrent,
    Temperature,
    Time,
    Voltage,
    Volume,
    floats,
    formula,
    kind_of,
    nearest,
    show,
    whole_up,
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


COMPARED = {
    "cell_voltage": "nominal volts of a cell",
    "cell_charge_voltage": "highest charge volts of a cell",
    "cell_cut_off_voltage": "cut-off volts of a cell",
    "depth": "share that may be taken out",
    "end_of_life": "share left when worn out",
    "peukert_exponent": "Peukert exponent",
    "module_resistance": "resistance, 12 V 100 Ah",
    "coldest_charge": "coldest to charge",
    "coldest_discharge": "coldest to discharge",
    "self_discharge": "lost in a month at rest",
    "mass_per_kwh": "mass for a rated kWh",
    "volume_per_kwh": "room for a rated kWh",
}


def comparison() -> list[dict]:
    """The chemistries side by side: rows with `what`, a column for each chemistry, and `status`.

    Source: each value names its own, in data/tables/chemistries.csv.
    """
    facts = [chemistry(name) for name in chemistries()]
    percent = [field.name for field in dataclasses.fields(Chemistry) if (kind := kind_of(field.type)) and kind.percent]

    def value(one, part):
        found = getattr(one, part)
        return Quantity(100 * found, "percent") if part in percent else found

    return [
        {"what": words, **{one.name: value(one, part) for one in facts}, "status": facts[0].sources[part].status}
        for part, words in COMPARED.items()
    ]


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
    internal_resistance: Annotated[Resistance, ABOVE_ZERO],
    parallel: Annotated[Count, ABOVE_ZERO],
    lead_resistance: Resistance,
) -> Current:
    """Current that flows at once when a module at another voltage is put beside a bank.

    Only the resistances limit it: of the module, of the bank's modules side by side, and of the leads.

    Parameters
    ----------
    voltage_difference : between the module and the bank, measured before they are joined
    internal_resistance : of one module, above 0
    parallel : modules already in the bank
    lead_resistance : of one lead with its joints; the module has two

    Source: Ohm's law.
    """
    return voltage_difference / (internal_resistance + internal_resistance / parallel + 2 * lead_resistance)


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
    lead_resistance : of one lead with its joints; the module has two

    Source: Ohm's law. The trade says 0.1 V (common practice, no source).
    """
    return charge_limit * (internal_resistance + internal_resistance / parallel + 2 * lead_resistance)


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

    A billionth too much is rounding, not a string more. Source: IEEE 1013 (number of parallel strings).
    """
    return whole_up(rated_energy / (module_energy * series))


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
    current: Annotated[Current, ABOVE_ZERO],
) -> Time:
    """Hours that a share of a lead-acid bank carries a steady current, Peukert counted.

    Parameters
    ----------
    capacity, rated_hours, peukert_exponent : of the bank, as for `peukert_hours`
    share : share of what it gives at that current
    current : at the bank, inverter loss counted (`energy.inverter_input_current`), above 0

    Source: Peukert 1897, I^k t = constant.
    """
    return share * rated_hours * (capacity / (current * rated_hours)) ** peukert_exponent


# ------------------------------------------------------------------------------- sharing between modules

TAKE_OFFS = sections.TAKE_OFFS


@dataclasses.dataclass(frozen=True)
class Branch:
    """One string of a bank as the leads see it.

    voltage : at rest. internal_resistance : of the string. on : whether its own switch or protection is closed.
    """

    voltage: Voltage
    internal_resistance: Resistance
    on: bool = True


@dataclasses.dataclass(frozen=True)
class Sharing:
    """How a bank's current divides.

    currents : of each string, positive where it delivers, negative where it is charged; 0 where it is off.
    leads : of each lead by name, positive towards the take-off on the plus side, away from it on the minus side.
    voltage : at the take-off.
    """

    currents: tuple
    leads: dict
    voltage: Voltage

    @property
    def total(self):
        """Current of the whole bank."""
        return sum(self.currents)

    @property
    def most(self):
        """Current of the hardest-worked string, without its sign."""
        return max(abs(current) for current in self.currents)

    @property
    def hardest(self):
        """Number of the hardest-worked string, counted from 1."""
        return max(range(len(self.currents)), key=lambda place: abs(self.currents[place])) + 1

    @property
    def unevenness(self):
        """Current of the hardest-worked string over an equal share among those that are on; 1 is perfect."""
        working = [current for current in self.currents if current.magnitude]
        if not working:
            return 1.0
        return float((self.most / abs(self.total) * len(working)).to("").magnitude) if self.total.magnitude else math.inf


@formula
def lead_resistance(length: Length, resistance_per_length: ResistancePerLength, joint_resistance: Resistance) -> Resistance:
    """Resistance of one lead with the joint at each of its ends.

    Parameters
    ----------
    length : of the lead
    resistance_per_length : of its conductor, at its temperature
    joint_resistance : of one bolted joint: lug, post and what lies between

    Source: resistances in series.
    """
    return length * resistance_per_length + 2 * joint_resistance


def bank_elements(branches: list[Branch], take_off: str, lead_resistance: Resistance) -> list[network.Element]:
    """A bank as network elements between the nodes `plus` and `minus` of its take-off.

    Parameters
    ----------
    branches : the strings, in the order in which they stand
    take_off : "one end", "diagonal" or "bus bars"
    lead_resistance : of one lead with its joints: a link between neighbours, or a lead from a post to its bar

    Elements are named `string 1`, `plus lead 1`, `minus lead 1` and so on; a link is named after the string
    farther from the plus take-off. A string that is off is left out: its posts still carry what passes by.
    Source: none, this is a drawing in words.
    """
    if take_off not in TAKE_OFFS:
        near = nearest(str(take_off), TAKE_OFFS)
        raise InputError("take-off", f'"{take_off}" is not known', "one of " + ", ".join(TAKE_OFFS), f'"{near or "diagonal"}"')
    if not branches:
        raise InputError("branches", "an empty list is given", "at least one string")
    ohms = float(KINDS["resistance"].check(lead_resistance, "lead resistance").magnitude)
    last = len(branches)
    elements, known = [], {}
    for place, branch in enumerate(branches, 1):
        if id(branch) not in known:  # most strings are alike, and a slider waits for this
            known[id(branch)] = (
                float(KINDS["voltage"].check(branch.voltage, "voltage").magnitude),
                float(KINDS["resistance"].check(branch.internal_resistance, "internal resistance").magnitude),
            )
        if branch.on:
            elements.append(network.source(f"string {place}", f"plus {place}", f"minus {place}", *known[id(branch)]))
    if take_off == "bus bars":
        for place in range(1, last + 1):
            elements.append(network.resistor(f"plus lead {place}", f"plus {place}", "plus", ohms))
            elements.append(network.resistor(f"minus lead {place}", "minus", f"minus {place}", ohms))
        return elements
    for place in range(2, last + 1):
        near, far = (place - 1, place) if take_off == "one end" else (place, place - 1)
        elements.append(network.resistor(f"plus lead {place}", f"plus {place}", f"plus {place - 1}", ohms))
        elements.append(network.resistor(f"minus lead {place}", f"minus {near}", f"minus {far}", ohms))
    elements.append(network.resistor("plus take-off", "plus 1", "plus", 0.0))
    end = 1 if take_off == "one end" else last
    elements.append(network.resistor("minus take-off", "minus", f"minus {end}", 0.0))
    return elements


def share(
    branches: list[Branch],
    take_off: str,
    lead_resistance: Resistance,
    bank_current: SignedCurrent | None = None,
    power: Power | None = None,
) -> Sharing:
    """How the current of a bank divides between its strings.

    Parameters
    ----------
    branches : the strings, in the order in which they stand
    take_off : "one end", "diagonal" or "bus bars"
    lead_resistance : of one lead with its joints: a link between neighbours, or a lead from a post to its bar
    bank_current : drawn from the bank, negative for charging; give this or power
    power : drawn from the bank whatever its voltage, as an inverter does

    Errors: `network.CannotCarry` where the bank cannot bring the power; InputError for a bank all switched
    off. Source: Kirchhoff's laws, solved by `network`.
    """
    if (bank_current is None) == (power is None):
        raise InputError("load of the bank", "both or neither of current and power are given", "one of the two",
                         'bank_current = "150 A"')  # fmt: skip
    if not any(branch.on for branch in branches):
        raise InputError("branches", "every string is switched off", "at least one that is on")
    load = network.current_load("load", "plus", "minus", bank_current) if power is None else \
        network.power_load("load", "plus", "minus", power)  # fmt: skip
    solved = network.solve([*bank_elements(branches, take_off, lead_resistance), load], ground="minus")
    amps = solved.amps
    leads = {name: Quantity(value, "A") for name, value in amps.items() if " lead " in name}
    currents = tuple(Quantity(amps.get(f"string {place}", 0.0), "A") for place in range(1, len(branches) + 1))
    return Sharing(currents, leads, solved.across("plus", "minus"))


def parallel_batteries(batteries: list[Branch], load_resistance: Resistance | None = None) -> Sharing:
    """Unlike batteries, or batteries and a supply, side by side on one load with leads that count for nothing.

    Parameters
    ----------
    batteries : each with its voltage at rest and its resistance, above 0; a supply behind a resistor is one too
    load_resistance : of the load, None for nothing but the batteries themselves

    A negative current charges that battery. Source: Kirchhoff's laws, solved by `network`.
    """
    elements = [
        network.source(f"string {place}", "plus", "minus", one.voltage, one.internal_resistance)
        for place, one in enumerate(batteries, 1)
        if one.on
    ]
    if load_resistance is not None:
        elements.append(network.resistor("load", "plus", "minus", load_resistance))
    solved = network.solve(elements, ground="minus")
    currents = tuple(Quantity(solved.amps.get(f"string {place}", 0.0), "A") for place in range(1, len(batteries) + 1))
    return Sharing(currents, {}, solved.across("plus", "minus"))


# ------------------------------------------------------------------------------- a bank of modules


@dataclasses.dataclass(frozen=True)
class Arrangement:
    """Modules of one kind, n_s in series by n_p in parallel.

    module : data sheet as in the coach file. series, parallel : counts. take_off : how the leads are taken off.
    lead : resistance of one lead with its joints. reserve : strings that are kept switched off.
    """

    module: object
    series: int
    parallel: int
    take_off: str = "bus bars"
    lead: Resistance = Quantity(0.2, "mohm")
    reserve: int = 0

    def __post_init__(self):
        for name in ("series", "parallel"):
            value = getattr(self, name)
            if value < 1 or value != int(value):
                raise InputError(name, f'"{show(value)}" is given', "a whole number of at least 1", "2")
        if not 0 <= self.reserve < self.parallel or self.reserve != int(self.reserve):
            raise InputError("reserve", f'"{show(self.reserve)}" of {self.parallel} strings is given',
                             "a whole number below that of the strings", "1")  # fmt: skip

    @property
    def voltage(self):
        """Nominal voltage."""
        return bank_voltage(self.module.voltage, self.series)

    @property
    def capacity(self):
        """Rated amp-hours of the strings that are on."""
        return bank_capacity(self.module.charge, self.parallel - self.reserve)

    @property
    def energy(self):
        """Rated watt-hours of the strings that are on."""
        return bank_energy(self.module.voltage, self.module.charge, self.series, self.parallel - self.reserve)

    @property
    def module_count(self):
        """Modules altogether, reserve counted."""
        return int(self.series * self.parallel)

    @property
    def mass(self):
        """Mass of all modules."""
        return self.module.mass * self.module_count

    @property
    def charge_voltage(self):
        """Highest voltage at which it is charged."""
        return bank_voltage(self.module.charge_voltage, self.series)

    @property
    def cut_off(self):
        """Voltage at which its protection, or its owner, ends the discharge."""
        return bank_voltage(self.module.cut_off, self.series)

    @property
    def label(self):
        """`2 x 240 Ah 12.8 V in parallel`."""
        words = f"{self.module_count} x {show(self.module.charge)} {show(self.module.voltage)}"
        if self.series > 1:
            words += f", {int(self.series)} in series"
        return words + (f", {int(self.parallel)} in parallel" if self.parallel > 1 else "")

    def branches(self, state_of_charge, out=()):
        """The strings as `share` wants them; `out`: places, counted from 1, of those that are lost."""
        rest = open_circuit_voltage(self.module.chemistry, state_of_charge, self.module.cells * self.series)
        resistance = bank_resistance(self.module.resistance, self.series, 1)
        on, off = Branch(rest, resistance), Branch(rest, resistance, on=False)
        working = self.parallel - self.reserve
        return [on if place <= working and place not in out else off for place in range(1, self.parallel + 1)]

    def share(self, state_of_charge, bank_current=None, power=None, out=()):
        """How a current or power divides at a state of charge, with the strings at places `out` lost."""
        return share(self.branches(state_of_charge, out), self.take_off, self.lead, bank_current, power)


# ------------------------------------------------------------------------------- what each factor takes away


@dataclasses.dataclass(frozen=True)
class Step:
    """One factor between the label and what can be used: its name, what it takes, what is left, its source."""

    what: str
    taken: Energy
    left: Energy
    source: Source


def steps_from_label(
    rated_energy: Energy,
    chemistry_name: str,
    depth_of_discharge: Fraction,
    end_of_life: Fraction,
    temperature_factor: Ratio = 1.0,
    rate_factor: Ratio = 1.0,
) -> list[Step]:
    """From the label down to what can be counted on, factor by factor.

    Parameters
    ----------
    rated_energy : watt-hours by the label
    chemistry_name : lithium takes the product of depth and age, lead-acid the larger of the two
    depth_of_discharge, end_of_life, temperature_factor, rate_factor : as for `size_factor_product`

    What is left at the end is `usable_energy` with the size factor of the chemistry.
    Source: as for `size_factor_product` and `size_factor_larger`.
    """
    facts = chemistry(chemistry_name)
    cold = Source("IEEE 485, Table 1", "published") if not facts.is_lithium else Source("cell data sheets", "from memory")
    larger = Source("IEEE 1013 method, the larger of depth and age", "from memory")
    fast = Source("Peukert's law", "derived")
    parts = [("cold", 1 / temperature_factor, cold), ("fast discharge", 1 / rate_factor, fast)]
    if facts.is_lithium:
        parts += [("age", end_of_life, facts.sources["end_of_life"]), ("left in", depth_of_discharge, facts.sources["depth"])]
    elif depth_of_discharge <= end_of_life:
        parts += [("left in", depth_of_discharge, larger)]
    else:
        parts += [("age", end_of_life, larger)]
    left, steps = KINDS["energy"].check(rated_energy, "rated energy"), []
    for what, share_left, source in parts:
        steps.append(Step(what, left * (1 - share_left), left * share_left, source))
        left = left * share_left
    return steps


def size_factor(
    chemistry_name: str,
    depth_of_discharge: Fraction,
    end_of_life: Fraction,
    temperature_factor: Ratio = 1.0,
    rate_factor: Ratio = 1.0,
    margin: Ratio = 0.0,
) -> Ratio:
    """The size factor that this workbook uses for a chemistry: the product for lithium, else the larger.

    Parameters
    ----------
    chemistry_name : a chemistry
    depth_of_discharge, end_of_life, temperature_factor, rate_factor, margin : as for `size_factor_product`

    Source: as for `size_factor_product` and `size_factor_larger`.
    """
    rule = size_factor_product if chemistry(chemistry_name).is_lithium else size_factor_larger
    return rule(depth_of_discharge, end_of_life, temperature_factor, rate_factor, margin)


# ------------------------------------------------------------------------------- losing a module, losing the bank


@dataclasses.dataclass(frozen=True)
class Loss:
    """A bank after some of its strings are lost, the worst of all ways to lose so many.

    lost : how many. rated_energy : watt-hours by the label that are left. current : of the hardest-worked
    string that is left, None where the bank cannot carry the load at all. limit : what a string may carry.
    voltage : at the take-off. exceeded : what is then exceeded, in words, first to break first.
    """

    lost: int
    rated_energy: Energy
    current: Current | None
    limit: Current
    voltage: Voltage | None
    exceeded: tuple

    @property
    def carries(self):
        """Whether the load is carried with nothing exceeded."""
        return not self.exceeded

    @property
    def told(self):
        """All that is exceeded, in words."""
        return "; ".join(self.exceeded) or "nothing"


def after_losing(arrangement, lost, power, state_of_charge, module_fuse=None, lowest_voltage=None) -> Loss:
    """What a bank is and carries after losing some of its strings.

    Parameters
    ----------
    arrangement : the Arrangement
    lost : how many strings of those that are on; 0 for the whole bank
    power : W drawn from the bank meanwhile
    state_of_charge : at which it happens; the emptier, the harder
    module_fuse : A of the fuse of each string, None where not yet chosen
    lowest_voltage : V below which the inverter stops, None where not known

    Of all ways to lose so many, the one that leaves the hardest-worked string counts. Source: `share`.
    """
    working = int(arrangement.parallel - arrangement.reserve)
    limit = arrangement.module.continuous
    if not 0 <= lost <= working:
        raise InputError("lost", f'"{lost}" of {working} strings is given', f"a whole number from 0 to {working}", "1")
    left = arrangement.energy * ((working - lost) / working)
    if lost == working:
        return Loss(lost, left, None, limit, None, ("nothing is left to carry the load",))
    alike = arrangement.take_off == "bus bars"  # then it makes no difference which ones are lost
    ways = [tuple(range(1, lost + 1))] if alike else itertools.combinations(range(1, working + 1), lost)
    whole = bank_elements(arrangement.branches(state_of_charge), arrangement.take_off, arrangement.lead)
    whole.append(network.power_load("load", "plus", "minus", power))
    most, volts = -1.0, 0.0
    for out in ways:
        gone = {f"string {place}" for place in out}
        try:
            solved = network.solve([element for element in whole if element.name not in gone], ground="minus")
        except network.CannotCarry as refusal:
            return Loss(lost, left, None, limit, None, (f"the bank brings {show(refusal.available)} at most",))
        hardest = max(solved.amps[f"string {place}"] for place in range(1, working + 1) if place not in out)
        if hardest > most:
            most, volts = hardest, solved.volts["plus"]
    current, voltage = Quantity(most, "A"), Quantity(volts, "V")
    exceeded = []
    if current > limit:
        exceeded.append(f"module limit {show(limit)} by {show(current - limit)}")
    if module_fuse is not None and current > module_fuse:
        exceeded.append(f"fuse of {show(module_fuse)} by {show(current - module_fuse)}")
    if voltage < arrangement.cut_off:
        exceeded.append(f"low-voltage cut-off {show(arrangement.cut_off)}: the bank stands at {show(voltage)}")
    if lowest_voltage is not None and voltage < lowest_voltage:
        exceeded.append(f"inverter minimum {show(lowest_voltage)}: it sees {show(voltage)}")
    return Loss(lost, left, current, limit, voltage, tuple(exceeded))


@dataclasses.dataclass(frozen=True)
class WithoutBank:
    """What one source or load does when the bank's protection opens.

    part : what it is. one_opens : when one module of several opens. all_open : when the last one opens while
    it is at work. recovers : how it comes back. mend : what helps. source : where the row comes from.
    """

    part: str
    one_opens: str
    all_open: str
    recovers: str
    mend: str
    source: Source


def without_bank(coach=None) -> list[WithoutBank]:
    """What each source and load does when the bank is gone.

    Parameters
    ----------
    coach : rows for what stands in its circuits and equipment; None for all rows

    Source: each row names its own, in data/tables/without_bank.csv.
    """
    rows = table("without_bank").rows
    if coach is not None:
        there = {circuit.purpose for circuit in coach.circuits if circuit.existing != "remove"}
        there |= {thing.kind for thing in coach.equipment if thing.existing != "remove"}
        there |= {"load"} | ({"inverter"} if coach.inverter else set())
        rows = [row for row in rows if there & set(row["found as"].split("; "))]
    return [
        WithoutBank(row["part"], row["one opens"], row["all open"], row["recovers"], row["mend"],
                    Source(row["source"], row["row status"]))
        for row in rows
    ]  # fmt: skip


# ------------------------------------------------------------------------------- what may stand side by side

OLDEST_BESIDE = Quantity(1.0, "year")


def mixing_faults(module, other) -> list[str]:
    """Why another battery may not be wired in parallel with a module: reasons in words, none for an equal one.

    Parameters
    ----------
    module : data sheet of the bank's modules
    other : a battery of the coach file that stays

    Source: common practice, no source. Batteries in parallel have one voltage: unlike chemistries are then
    charged and emptied at each other's limits, unlike sizes, makes and ages share unalike.
    """
    faults = []
    if other.chemistry != module.chemistry:
        faults.append(f"{other.chemistry} beside {module.chemistry}")
    if abs(other.voltage / module.voltage - 1) > 0.01:
        faults.append(f"{show(other.voltage)} beside {show(module.voltage)}")
    if abs(other.charge / module.charge - 1) > 0.01:
        faults.append(f"{show(other.charge)} beside {show(module.charge)}")
    if other.name != module.name:
        faults.append("another make or model")
    if other.age is not None and other.age > OLDEST_BESIDE:
        faults.append(f"{show(other.age)} old beside new ones")
    return faults


# ------------------------------------------------------------------------------- the three doors

EQUIPMENT = bootstrap.ROOT / "data" / "equipment" / "modules.toml"
DAYS = 1.0
COLDEST = Quantity(50.0, "degF")
LEAD_LENGTH, LEAD_SIZE, JOINT = Quantity(1.0, "ft"), "2/0", Quantity(0.1, "mohm")
LEAD_TEMPERATURE = Quantity(104.0, "degF")
NEAR_VOLTAGE = 0.1  # 12 V and 12.8 V are one system; share by which a string may differ from the nominal voltage


@functools.cache
def modules_on_offer() -> tuple:
    """The invented modules of data/equipment/modules.toml, as data sheets of the coach file.

    Source: invented.
    """
    rows = tomllib.loads(EQUIPMENT.read_text(encoding="utf-8"))["module"]
    return tuple(sections.Module.model_validate(row) for row in rows)


def series_for(module, nominal_voltage: Voltage) -> int:
    """Modules in series for a nominal voltage, 0 where no whole number comes near it or the sheet forbids it.

    Parameters
    ----------
    module : data sheet
    nominal_voltage : of the house system; 12 V and 12.8 V count as one

    Source: voltages in series add.
    """
    series = _blocks(nominal_voltage) / _blocks(module.voltage)
    near = abs(floats(module.voltage * series / nominal_voltage, "") - 1) <= NEAR_VOLTAGE
    return int(series) if near and series == int(series) and series <= module.series_limit else 0


def _blocks(voltage):
    """12-volt blocks, in halves, in a voltage: 1 for 12 and 12.8 V, 4 for 48 and 51.2 V, 0.5 for 6 V."""
    return max(1, round(floats(voltage, "V") / 6.2)) / 2


def _best_module(name, nominal_voltage, label_needed):
    """The module that gives two strings or more with the least surplus, and of those the fewest modules."""

    def rank(module):
        series = series_for(module, nominal_voltage)
        one = bank_energy(module.voltage, module.charge, 1, 1)
        parallel = int(strings_needed(label_needed, one, series))
        return parallel < 2, max(parallel, 2) * series * floats(one, "Wh"), parallel * series

    fitting = [module for module in modules_on_offer()
               if module.chemistry == name and series_for(module, nominal_voltage)]  # fmt: skip
    if not fitting:
        raise InputError("nominal voltage", f"no {name} module on offer makes {show(nominal_voltage)}",
                         "12, 24 or 48 V, or a module of your own", '"12.8 V"')  # fmt: skip
    return min(fitting, key=rank)


@dataclasses.dataclass(frozen=True)
class Candidate:
    """One bank of several to choose from; what its first lost string breaks stands in `first_to_break`."""

    name: str
    arrangement: Arrangement
    rated_energy: Energy
    usable: Energy
    nights: float
    mass: Mass
    volume: Volume | None
    price_low: Price | None
    price_high: Price | None
    first_to_break: str

    @property
    def strings(self):
        """Strings side by side."""
        return self.arrangement.parallel


@dataclasses.dataclass(frozen=True, eq=False)
class Study:
    """Everything this topic says of a coach.

    need : energy that must come out of the bank before it is charged again. label_needed : watt-hours by the
    label for it. arrangement : the bank. usable, usable_new : of an aged and of a new one. depth_new,
    depth_aged : how far the need empties it, warm and slowly. steps : from label to usable. night_energy, night_hours : energy of the
    design night, and how long the aged bank carries its mean power. power : hardest steady draw. level : state
    of charge at which it is looked at. sharing : of that power. losses : with 0, 1 and 2 strings lost.
    candidates : small, middle, large. assumed : names of decisions that are proposals, not the reader's.
    """

    chemistry: Chemistry
    need: Quantity
    size_factor: float
    label_needed: Quantity
    arrangement: Arrangement
    usable: Quantity
    usable_new: Quantity
    depth_new: float
    depth_aged: float
    steps: tuple
    night_energy: Quantity
    night_hours: Quantity
    power: Quantity
    level: float
    sharing: Sharing | None
    losses: tuple
    candidates: tuple
    assumed: tuple


def design_power(coach) -> Power:
    """Hardest steady draw on the bank: the inverter at its rated power and the DC loads at their highest.

    Parameters
    ----------
    coach : the coach file

    Surges are not in it: they are lesson 06. Source: energy.inverter_loss and the days of the coach.
    """
    peak = max(_dc_watts(coach, season.name).max() for season in coach.seasons)
    if coach.inverter:
        rated = coach.inverter.rated_power
        curve = energy_topic.inverter_loss(coach.inverter.idle, coach.inverter.efficiency)
        peak += floats(energy_topic.inverter_input_power(rated, curve.efficiency(rated)), "W")
    return Quantity(float(peak), "W")


def _dc_watts(coach, season):
    day = energy_topic.day(coach, season)
    on_dc = [day.loads[load.name] for load in coach.loads if load.side == "dc" and load.name in day.loads]
    return sum(on_dc, numpy.zeros(len(day.at_battery))) + day.losses[energy_topic.WIRING]


def _demand(coach):
    """(energy of a design day with margin, hours in which it would be taken at the rate that most of it is taken)."""
    whole = energy_topic.study(coach)
    watts = whole.design_day.at_battery.values
    weighted = float((watts**2).sum() / watts.sum()) if watts.sum() else 0.0
    return whole, weighted


def propose(coach) -> dict:
    """Sound decisions where the reader has not decided: a dict of name to value, as [capacity] takes them.

    Parameters
    ----------
    coach : the coach file

    Lithium, one day without charging, depth and end of life of the chemistry, cells at 50 °F, at least two
    strings of the module on offer with the least surplus, a diagonal take-off for two strings and bus bars
    for more. Source: common practice, no source; modules invented.
    """
    return dict(_proposed(coach))


@functools.lru_cache(maxsize=8)
def _proposed(coach):
    bank = coach.capacity
    proposals = {}

    def decided(name, value):
        if getattr(bank, name) is None:
            proposals[name] = value
        return proposals.get(name, getattr(bank, name))

    facts = chemistry(decided("chemistry", LITHIUM))
    days, depth = decided("days", DAYS), decided("depth", facts.depth)
    end, coldest = decided("end_of_life", facts.end_of_life), decided("coldest", COLDEST)
    whole, weighted = _demand(coach)
    need = autonomy_energy(whole.energy, days)
    label = rated_energy(need, size_factor(facts.name, depth, end, *_conditions(facts, coldest, need, weighted)))
    module = decided("module", None) or _best_module(facts.name, bank.nominal_voltage, label)
    if bank.module is None:
        proposals["module"] = module
    series = decided("series", max(1, series_for(module, bank.nominal_voltage)))
    one = bank_energy(module.voltage, module.charge, 1, 1)
    parallel = decided("parallel", max(2, int(strings_needed(label, one, series))))
    decided("reserve", 0)
    decided("take_off", "diagonal" if parallel == 2 else "bus bars")
    decided("lead_length", LEAD_LENGTH)
    decided("lead_size", LEAD_SIZE)
    decided("joint_resistance", JOINT)
    return proposals


def _conditions(facts, coldest, need, weighted):
    """(temperature factor, rate factor) of a bank."""
    hours = Quantity(floats(need, "Wh") / weighted, "h") if weighted else facts.rated_hours
    return temperature_factor(facts.name, coldest), rate_factor(facts.rated_hours, hours, facts.peukert_exponent)


@functools.lru_cache(maxsize=8)  # asked for by every topic further right
def arrangement(coach) -> Arrangement:
    """The bank of a coach, proposals filled in.

    Parameters
    ----------
    coach : the coach file

    Source: none.
    """
    return _arrangement(coach.capacity.model_copy(update=propose(coach)))


def _arrangement(bank, parallel=None, reserve=None):
    per_length = conductor.resistance_per_length(bank.lead_size, LEAD_TEMPERATURE)
    lead = lead_resistance(bank.lead_length, per_length, bank.joint_resistance)
    return Arrangement(bank.module, int(bank.series), int(bank.parallel if parallel is None else parallel),
                       bank.take_off, lead, int(bank.reserve if reserve is None else reserve))  # fmt: skip


@functools.lru_cache(maxsize=8)  # the other topics and the record ask again and again
def study(coach) -> Study:
    """Everything this topic says of a coach: need, bank, what can be used, sharing, losses, other banks.

    Parameters
    ----------
    coach : the coach file

    Source: the functions above.
    """
    proposals = propose(coach)
    bank = coach.capacity.model_copy(update=proposals)
    facts = chemistry(bank.chemistry)
    whole, weighted = _demand(coach)
    need = autonomy_energy(whole.energy, bank.days)
    cold, fast = _conditions(facts, bank.coldest, need, weighted)
    factor = size_factor(facts.name, bank.depth, bank.end_of_life, cold, fast)
    new = size_factor(facts.name, bank.depth, 1.0, cold, fast)
    built = _arrangement(bank)
    day = whole.design_day
    night_energy = day.energy * day.night_share
    usable = usable_energy(built.energy, factor)
    night_hours = run_time(usable, 1.0, night_energy / _night_length(day.night)) if night_energy.magnitude else \
        Quantity(math.inf, "h")  # fmt: skip
    power, level = design_power(coach), 1 - bank.depth
    working = built.parallel - built.reserve
    losses = tuple(_loss(bank, built, lost, power, level) for lost in range(min(2, working) + 1))
    steps = steps_from_label(built.energy, facts.name, bank.depth, bank.end_of_life, cold, fast)
    sharing = built.share(level, power=power) if losses[0].current is not None else None
    counts = (1, 2, 3) if built.parallel == 1 else (built.parallel - 1, built.parallel, built.parallel + 1)
    candidates = tuple(
        _candidate(name, _arrangement(bank, count, 0), factor, night_energy, bank, power, level)
        for name, count in zip(("small", "middle", "large"), counts)
    )
    return Study(facts, need, factor, rated_energy(need, factor), built, usable, usable_energy(built.energy, new),
                 depth_reached(need, built.energy, 1.0), depth_reached(need, built.energy, bank.end_of_life), tuple(steps), night_energy, night_hours, power, level, sharing, losses, candidates,
                 tuple(proposals))  # fmt: skip


def _night_length(window):
    return Quantity(window_hours([window]), "h")


def _loss(bank, built, lost, power, level):
    lowest = [device.lowest_voltage for device in bank.devices if device.lowest_voltage is not None]
    return after_losing(built, lost, power, level, bank.module_fuse, max(lowest) if lowest else None)


def _candidate(name, built, factor, night_energy, bank, power, level):
    module, count = built.module, built.module_count
    usable = usable_energy(built.energy, factor)
    loss = _loss(bank, built, 1, power, level)
    each = lambda value: value * count if value is not None else None  # noqa: E731
    nights = float((usable / night_energy).to("").magnitude) if night_energy.magnitude else math.inf
    return Candidate(name, built, built.energy, usable, nights, built.mass, each(module.volume),
                     each(module.price_low), each(module.price_high),
                     loss.exceeded[0] if loss.exceeded else "nothing: the rest carries the load")  # fmt: skip


def checks(coach) -> list:
    """The rules of this topic held against a coach: a list of Check.

    Parameters
    ----------
    coach : the coach file

    Source: each check names its own.
    """
    bank = coach.capacity.model_copy(update=propose(coach))
    all_of_it = study(coach)
    built, module = all_of_it.arrangement, bank.module
    practice, arithmetic = Source(PRACTICE, PRACTICE), Source("arithmetic on the coach file and the module's data sheet",
                                                              "derived")  # fmt: skip
    found = [
        rules.at_least(
            "Does the bank, aged to its end of life, give what the design season asks?",
            all_of_it.usable, all_of_it.need,
            why="Depth, age, cold and rate leave less than the label.",
            mend="Another module, a smaller margin, or fewer days without charging.",
            source=Source("IEEE 1013 method" if not all_of_it.chemistry.is_lithium else "product of all factors",
                          "from memory" if not all_of_it.chemistry.is_lithium else "derived"), topic="capacity",
        ),
        rules.holds(
            "Are all modules of the chosen chemistry?", module.chemistry, bank.chemistry,
            true=module.chemistry == bank.chemistry,
            why="Chargers and limits are set for one chemistry.", mend="Choose a module of that chemistry.",
            source=practice, topic="capacity",
        ),
        rules.holds(
            "Does a string make the nominal voltage, with no more in series than the sheet allows?",
            f"{show(built.voltage)}, {built.series} in series", f"{show(bank.nominal_voltage)}, at most "
            f"{show(module.series_limit)} in series",
            true=series_for(module, bank.nominal_voltage) == built.series,
            why="Other strings are charged at the wrong voltage; protection electronics break beyond their limit.",
            mend="Change the number in series, the module, or the nominal voltage.", source=arithmetic, topic="capacity",
        ),
    ]  # fmt: skip
    beside = [(other.name, mixing_faults(module, other)) for other in bank.others if other.joined == "in parallel"]
    faults = [f"{name}: {', '.join(reasons)}" for name, reasons in beside if reasons]
    found.append(rules.holds(
        "Is everything wired in parallel alike?", "; ".join(faults) or "yes", "one chemistry, size, make and age",
        true=not faults,
        why="Batteries in parallel have one voltage: unlike ones charge, empty and age each other.",
        mend="Take it out, or join it through a DC-DC charger.", source=practice, guards="fire", topic="capacity",
    ))  # fmt: skip
    found += [_carries(loss, all_of_it, arithmetic) for loss in all_of_it.losses[:2]]
    if all_of_it.losses[1].rated_energy.magnitude:
        left = usable_energy(all_of_it.losses[1].rated_energy, all_of_it.size_factor)
        found.append(rules.at_least(
            "With one string lost, is the night still carried?", left, all_of_it.night_energy,
            why="A night without heat or alarms is the worst time to find out.",
            mend="One string more, or a list of what to switch off first.", source=arithmetic, topic="capacity",
        ))  # fmt: skip
    for device in bank.devices:
        if device.highest_voltage is not None:
            found.append(rules.at_least(
                f"Does the {device.name} stand the highest charge voltage?", device.highest_voltage, built.charge_voltage,
                why="A device above its limit fails, often at the end of the first full charge.",
                mend="A device with a higher limit, or fewer cells in series.", source=arithmetic, topic="capacity",
            ))  # fmt: skip
    found.append(rules.at_least(
        "Are the cells, when coldest, warm enough to be discharged?", bank.coldest, module.coldest_use,
        why="Below its limit the protection opens, and lead-acid freezes where it is empty.",
        mend="A warmer place or a heater: lesson 08. Charging has a higher limit still.",
        source=Source("the module's data sheet", "invented"), topic="capacity",
    ))  # fmt: skip
    return found


def _carries(loss, all_of_it, source):
    asked = "Does the whole bank carry the hardest draw?" if not loss.lost else \
        "With one string lost, do the others carry the hardest draw?"  # fmt: skip
    return rules.holds(
        asked,
        f"{show(all_of_it.power)}: {loss.told}" if loss.exceeded
        else f"{show(loss.current)} in the hardest-worked string",
        f"{show(loss.limit)} a module",
        true=loss.carries,
        why="Protection opens, and what is left of the bank goes dark under load.",
        mend="More strings, a module with a higher limit, better leads, or a smaller inverter.",
        source=source,
        topic="capacity",
    )  # fmt: skip
