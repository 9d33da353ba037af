"""Commissioning: prove the work with a meter, set it up, find a fault.

Two practice boards stand in for the coach: its own 12 V side as the coach file describes it, and an invented
120/240 V site with line, neutral and ground, whose voltages are all in phase (or against each other), so that
RMS values add like direct ones. A meter is put on named points and reads what a real one would, its burden
and resolution included. A fault is a change of some elements; `line_of_reasoning` finds it by the measurement
that halves what is left for the least time.

The practice loads are resistances and the filters of appliances too: real filters are capacitors, so only the
size of a floating voltage is right here, not its phase.
"""

import dataclasses
import functools
import math
import tomllib
from typing import Annotated

import numpy

from coachwork import bootstrap, capacity, charging, network, wiring
from coachwork import checks as rules
from coachwork.quantities import (ABOVE_ZERO, KINDS, Age, Charge, Current, Fraction, InputError, Moment,
                                  Quantity, Ratio, Resistance, TemperatureDifference, Time, Voltage, floats,
                                  formula, nearest, quoted, show)  # fmt: skip
from coachwork.sources import Source, table

PRACTICE = "common practice, no source"
BURDEN = Quantity(10.0, "megaohm")  # of an ordinary multimeter on volts, from memory
TEST_CURRENT = Quantity(0.5, "mA")  # that it sends on ohms, from memory
MA20, SECOND = Quantity(20.0, "mA"), Quantity(1.0, "s")

# ------------------------------------------------------------------------------- what a meter makes of it


@formula
def voltmeter_reading(voltage: Voltage, resistance: Resistance,
                      burden: Annotated[Resistance, ABOVE_ZERO]) -> Voltage:
    """What a voltmeter shows: its own resistance loads what it measures.

    Parameters
    ----------
    voltage : between the two points before the meter is there
    resistance : of the circuit as seen from the two points
    burden : resistance of the meter, 10 megaohm for an ordinary one

    Source: voltage divider (Lessons in Electric Circuits, vol. I, Voltmeter impact on measured circuit).
    """
    return voltage * burden / (burden + resistance)


@formula
def ohmmeter_reading(
    resistance: Resistance, voltage: Voltage, test_current: Annotated[Current, ABOVE_ZERO]
) -> Resistance:
    """What an ohmmeter shows: the volts that it finds over the amps that it sends. Foreign volts count as
    ohms.

    Parameters
    ----------
    resistance : between the two points
    voltage : that stands there already; 0 on a dead circuit, the only one on which ohms may be measured
    test_current : that the meter sends

    Source: Ohm's law.
    """
    return resistance + voltage / test_current


@formula
def drop_resistance(voltage_drop: Voltage, current: Annotated[Current, ABOVE_ZERO]) -> Resistance:
    """Resistance of a joint, fuse or wire from the volts across it while a current flows.

    Parameters
    ----------
    voltage_drop : across it, under load
    current : through it at the same moment, above 0: without load there is nothing to see

    Source: Ohm's law.
    """
    return voltage_drop / current


@formula
def resistance_from_two_loads(
    light_voltage: Voltage, light_current: Current, heavy_voltage: Voltage, heavy_current: Current
) -> Resistance:
    """Resistance of a source and its leads from two loads.

    Parameters
    ----------
    light_voltage, light_current : with the smaller load, which may be none
    heavy_voltage, heavy_current : with the larger load

    Errors: InputError where the two currents are alike. Source: Thevenin's theorem.
    """
    _apart(light_current, heavy_current)
    return (light_voltage - heavy_voltage) / (heavy_current - light_current)


def _apart(light, heavy):
    if not heavy > light:
        raise InputError("heavy current", f"{show(heavy)} beside {show(light)} is given",
                         "a current above that of the light load", '"20 A"')  # fmt: skip


@formula
def expected_drop(current: Current, resistance: Resistance) -> Voltage:
    """Drop to expect at the current that flows during the test, which is seldom the design current.

    Parameters
    ----------
    current : as the clamp reads it
    resistance : of the path, predicted

    Source: Ohm's law.
    """
    return current * resistance


@formula
def drop_limit(voltage_drop: Voltage, drop_tolerance: Fraction, resolution: Voltage) -> Voltage:
    """Largest reading that still passes.

    Parameters
    ----------
    voltage_drop : predicted at the current of the test
    drop_tolerance : for warm copper, the length as pulled, and the two meters
    resolution : of the voltmeter

    Source: this workbook's rule, common practice, no source.
    """
    return voltage_drop * (1 + drop_tolerance) + resolution


@formula
def shunt_voltage(current: Current, rated_current: Annotated[Current, ABOVE_ZERO],
                  full_scale: Voltage) -> Voltage:
    """Volts across a shunt.

    Parameters
    ----------
    current : through it
    rated_current : marked on it
    full_scale : volts at that current, 50 mV as a rule

    Source: definition.
    """
    return full_scale * current / rated_current


@formula
def capacity_from_test(
    hours: Time, rated_hours: Annotated[Time, ABOVE_ZERO], temperature_factor: Annotated[Ratio, ABOVE_ZERO]
) -> Ratio:
    """Share of its rated capacity that a battery showed in a test at its rated current, down to its end
    voltage.

    Parameters
    ----------
    hours : that the test lasted
    rated_hours : that it should have lasted
    temperature_factor : of lead-acid from `capacity.capacity_test_factor`; 1 for lithium, without its maker's
    curve

    Source: IEEE 450, time-adjusted method (formula from memory, factors published).
    """
    return hours / (rated_hours * temperature_factor)


@formula
def rise_at(
    temperature_rise: TemperatureDifference, tested_current: Annotated[Current, ABOVE_ZERO], current: Current
) -> TemperatureDifference:
    """Rise of a joint at another current than that of the test: heat goes with the current squared.

    Parameters
    ----------
    temperature_rise : measured, over the air or over a like part
    tested_current : at which it was measured
    current : at which it is asked for

    Source: Joule's law, with heat shed in proportion to the rise.
    """
    return temperature_rise * (current / tested_current) ** 2


@formula
def trip_time(current: Annotated[Current, ABOVE_ZERO]) -> Moment:
    """Longest time that ground-fault protection for people may take to open.

    Parameters
    ----------
    current : that leaks, 6 to 264 mA; below 4 mA it must not trip

    Source: UL 943: (20 mA / I) to the power 1.43, in seconds.
    """
    return SECOND * (MA20 / current) ** 1.43


@formula
def standing_time(charge: Charge, standing_current: Annotated[Current, ABOVE_ZERO]) -> Age:
    """How long a store lasts with everything switched off.

    Parameters
    ----------
    charge : that may be taken out
    standing_current : what still flows, as measured

    Source: definition of the amp-hour.
    """
    return charge / standing_current


@formula
def skin_voltage(
    line_voltage: Voltage, hot_leakage: Resistance, neutral_leakage: Annotated[Resistance, ABOVE_ZERO]
) -> Voltage:
    """Volts of the coach's metal against the earth when its ground wire is open.

    Parameters
    ----------
    line_voltage : hot to neutral
    hot_leakage : from hot to the metal, through the filters of appliances
    neutral_leakage : from neutral to the metal, the same

    Source: voltage divider.
    """
    return line_voltage * neutral_leakage / (hot_leakage + neutral_leakage)


def heat_verdict(temperature_rise: TemperatureDifference, against: str) -> str:
    """What a warm joint means, from its rise.

    Parameters
    ----------
    temperature_rise : measured after an hour under load
    against : "over like" for a like part under the same load, "over air" for the air around it

    Source: ANSI/NETA MTS Table 100.18 (secondary).
    """
    if against not in ("over like", "over air"):
        raise InputError("against", f"{quoted(against)} is given", '"over like" or "over air"', '"over like"')
    rise = round(floats(KINDS["temperature difference"].check(temperature_rise, "temperature rise"), "K"))
    rows = [row for row in table("heat_check").rows if row[against] is not None]
    reached = [row["verdict"] for row in rows if rise >= floats(row[against], "delta_degC")]
    return reached[-1] if rise > 0 else "sound"


def withstand_test(rule: str) -> Voltage:
    """Voltage of a dielectric test. For people with a tester made for it; electronics disconnected first.

    Parameters
    ----------
    rule : a row of data/tables/dielectric_tests.csv, such as "NEC 551.60 one minute"

    Source: each row names its own.
    """
    return table("dielectric_tests").row(rule=rule)["voltage"]


def proof_120_v() -> list[dict]:
    """The tests of the 120 V side, for a licensed electrician: rows for a table.

    Source: data/tables/proof_120_v.csv, each row with its own.
    """
    return list(table("proof_120_v").rows)


def acceptance_rules() -> list[dict]:
    """The rules by which work is accepted, each with the belief that gets it wrong: rows for a table.

    Source: data/tables/acceptance_rules.csv, each row with its own.
    """
    return list(table("acceptance_rules").rows)


# ------------------------------------------------------------------------------- the practice boards

FAULTS = bootstrap.ROOT / "data" / "faults.toml"
ACTS = ("opens", "closes", "adds", "times")  # what a fault does to an element
LEAK, STANDBY, LUG = 1e8, 1e4, 1e-4  # ohm: damp and dust, a load that is off, a bolted lug
CHARGE_LEVEL = 0.8
TEST_SHARE = 0.5  # of its rated power that the inverter's test load draws
WARM_ROOM = Quantity(77.0, "degF")
TWELVE, MAINS = "12 V", "120 V"
HEAVY, LIGHT, SUN, ENGINE, MAIN = ("inverter test load", "panel loads", "sun", "engine", "main switch closed")
SHORE, INVERTER, LEG_1, LEG_2 = "shore power", "inverter", "microwave on leg 1", "water heater on leg 2"


@dataclasses.dataclass(frozen=True, eq=False)
class Board:
    """A network to practise on.

    elements : sound, every switch closed. points : where a probe may go. clamps : what jaws may close round,
    name to (element, sign) pairs. on, off : element to the control with which, or without which, it conducts.
    loads : names.
    states : named sets of controls that are on. monitor : element of the battery monitor's shunt, or None.
    follows : element that conducts only where a point stands above some volts.
    """

    name: str
    elements: tuple
    points: tuple
    clamps: dict
    on: dict
    off: dict
    loads: frozenset
    states: dict
    monitor: str | None = None
    follows: dict = dataclasses.field(default_factory=dict)

    @property
    def alternating(self):
        """Whether its volts and amps are RMS values of alternating current."""
        return self.name == MAINS

    @property
    def controls(self):
        """All controls, in the order of the states."""
        return tuple(dict.fromkeys([*self.on.values(), *self.off.values()]))

    def circuit(self, state, fault=None):
        """The elements with some controls on and a fault in them."""
        made = []
        for one in self.elements:
            conducts = one.closed and (one.name not in self.on or self.on[one.name] in state)
            conducts = conducts and not (one.name in self.off and self.off[one.name] in state)
            if one.name in self.loads and not conducts:
                one = dataclasses.replace(one, resistance=STANDBY * (100.0 if self.alternating else 1.0))
                conducts = True
            what, value = ("", 0.0) if fault is None else fault.changes.get(one.name, ("", 0.0))
            if what in ("adds", "times"):
                ohms = one.resistance + value if what == "adds" else one.resistance * value
                one = dataclasses.replace(one, resistance=ohms)
            conducts = {"opens": False, "closes": True}.get(what, conducts)
            made.append(one if one.closed == conducts else dataclasses.replace(one, closed=conducts))
        for name, (point, volts) in self.follows.items():
            dead = [dataclasses.replace(one, closed=False) if one.name == name else one for one in made]
            if network.solve(dead, GROUND[self.name]).volts[point] < volts:
                made = dead
        return made

    def solve(self, state, fault=None):
        """The network solved, no meter on it."""
        return network.solve(self.circuit(state, fault), GROUND[self.name])


GROUND = {TWELVE: "negative bus", MAINS: "earth"}


class _Builder:
    """Collects the elements of a board, and what may be probed and clamped."""

    def __init__(self):
        self.elements, self.on, self.off, self.loads, self.clamps, self.follows = [], {}, {}, set(), {}, {}

    def add(self, name, start, end, ohms, on=None, off=None, clamp=None, closed=True):
        ohms = max(float(ohms), 1e-6)
        self.elements.append(network.switch(name, start, end, closed=closed, resistance=ohms))
        self._controlled(name, on, off)
        if clamp:
            self.clamps[clamp] = (*self.clamps.get(clamp, ()), (name, 1))

    def source(self, name, plus, minus, volts, ohms, on=None, off=None):
        self.elements.append(network.source(name, plus, minus, float(volts), float(ohms)))
        self._controlled(name, on, off)

    def load(self, name, start, end, ohms, on=None):
        self.add(name, start, end, ohms, on)
        self.loads.add(name)

    def _controlled(self, name, on, off):
        if on:
            self.on[name] = on
        if off:
            self.off[name] = off

    def board(self, name, states, monitor=None, hidden=()):
        nodes = dict.fromkeys(node for one in self.elements for node in (one.start, one.end))
        points = tuple(node for node in nodes if node not in hidden)
        leaks = [network.resistor(f"leak of {node}", node, GROUND[name], LEAK) for node in nodes
                 if node != GROUND[name]]
        states = {state: frozenset(on) for state, on in states.items()}
        return Board(name, (*self.elements, *leaks), points, self.clamps, self.on, self.off,
                     frozenset(self.loads), states, monitor, self.follows)  # fmt: skip


def _run_ohms(row):
    """(fuse, one joint, one wire) of a row of the wire schedule, in ohm, at room temperature."""
    size = row.size.removesuffix(" AWG")
    several, _, one = size.rpartition(" x ")
    per_pole, size = float(several or 1), one
    wire = floats(wiring.metal_resistance(size, row.insulation, WARM_ROOM) * row.length, "ohm") / per_pole
    fuse = 0.0 if row.fuse is None else floats(wiring.family(row.device).resistance(row.fuse), "ohm")
    return fuse, floats(wiring.joints(size), "ohm") / 4 / per_pole, wire


def _one(coach, rows, wanted, purpose):
    for one in coach.circuits:
        if wanted(one) and one.existing != "remove" and one.name in rows and rows[one.name].size is not None:
            return rows[one.name]
    raise InputError("circuits", f"there is none for {purpose}", "a circuit of that kind: see lesson 07",
                     '"Inverter feed"')


@functools.lru_cache(maxsize=8)
def low_voltage_board(coach) -> Board:
    """The 12 V side of a coach as a practice board, from its bank and wire schedule.

    Parameters
    ----------
    coach : the coach file

    With the inverter at half its rated power, up to three circuits of the DC panel, and two invented
    additions: a step light that returns by the frame, and one DC-DC charger between engine and bus. Errors:
    InputError where the file has no cable from the bank, no inverter feed or no feed of the DC panel. Source:
    `wiring.study`; parts of series_parts.csv.
    """
    rows, bank = {row.name: row for row in wiring.study(coach).rows}, capacity.arrangement(coach)
    decided = wiring.decided(coach)
    main = _one(coach, rows, lambda c: c.from_ == "bank" and c.purpose == "bank", "the cable from the bank")
    feed = _one(coach, rows, lambda c: c.purpose == "inverter", "the inverter")
    panel = _one(coach, rows, lambda c: c.from_ == main.end and c.purpose == "load" and c.voltage is None
                 and any(other.from_ == c.to for other in coach.circuits), "the DC panel")  # fmt: skip
    branches = [rows[c.name] for c in coach.circuits if c.from_ == panel.end and c.name in rows
                and rows[c.name].size and c.purpose == "load" and c.existing != "remove"][:3]  # fmt: skip
    volts, make = floats(bank.voltage, "V"), _Builder()
    rest = floats(capacity.open_circuit_voltage(bank.module.chemistry, CHARGE_LEVEL, _cells(bank)), "V")
    inside = floats(capacity.bank_resistance(bank.module.resistance, bank.series, 1), "ohm")
    fuse = floats(wiring.family(decided.wiring.module_device).resistance(decided.capacity.module_fuse), "ohm")
    contact = floats(wiring.switches()[decided.wiring.module_switch].resistance, "ohm")
    for place in range(1, bank.parallel - bank.reserve + 1):
        name = f"module {place}"
        make.add(f"{name}, cells", f"{name} +", f"{name} inside", inside)
        make.source(f"{name}, voltage", f"{name} inside", f"minus {place}", rest, 1e-6)
        make.add(f"{name}, module fuse", f"{name} +", f"{name} after its fuse", fuse, clamp=f"lead of {name}")
        make.add(f"{name}, disconnect", f"{name} after its fuse", f"plus {place}", contact)
    for one in capacity.bank_elements(bank.branches(CHARGE_LEVEL), bank.take_off, bank.lead):
        if one.emf is None:
            make.add(one.name, one.start, one.end, max(one.resistance, 1e-6))
    f, joint, wire = _run_ohms(main)
    closes = floats(wiring.switches()[decided.wiring.main_switch].resistance, "ohm")
    make.add("main fuse", "plus", "after the main fuse", f)
    make.add("main switch", "after the main fuse", "after the main switch", closes, on=MAIN)
    make.add("main cable, wire out", "after the main switch", "main cable end", joint + wire,
             clamp="bank's plus cable")
    make.add("main cable, lug", "main cable end", "positive bus", joint)
    make.add("main cable, wire back", "bank side of the shunt", "minus", 2 * joint + wire)
    shunt = floats(FULL_SCALE / decided.wiring.shunt, "ohm")
    make.add("shunt", "negative bus", "bank side of the shunt", shunt)
    for name, row in (("inverter", feed), ("DC panel", panel)):
        f, joint, wire = _run_ohms(row)
        make.add(f"{name} feed, fuse", "positive bus", f"after the {name} fuse", f)
        make.add(f"{name} plus, wire out", f"after the {name} fuse", f"{name} cable end +", joint + wire,
                 clamp=f"{name}'s plus cable")  # fmt: skip
        make.add(f"{name} plus, lug", f"{name} cable end +", f"{name} +", joint)
        make.add(f"{name} minus, lug", f"{name} −", f"{name} cable end −", joint)
        make.add(f"{name} minus, wire back", f"{name} cable end −", f"{name} return lug", wire,
                 clamp=f"{name}'s minus cable")
        make.add(f"{name} return, landing", f"{name} return lug", "negative bus", joint)
        make.add(f"{name} return, landing on the bank side", f"{name} return lug", "bank side of the shunt",
                 joint, closed=False)
        if name == "inverter":
            ohms = volts**2 / (TEST_SHARE * floats(coach.inverter.rated_power, "W"))
            make.load("inverter, load", "inverter +", "inverter −", ohms, HEAVY)
    for row in branches:
        f, joint, wire = _run_ohms(row)
        ohms = volts / floats(row.current, "A")
        make.add(f"{row.name}, branch fuse", "DC panel +", f"{row.name}, after its fuse", f)
        make.add(f"{row.name}, wire out", f"{row.name}, after its fuse", f"{row.name} +", 2 * joint + wire,
                 clamp=f"wire to {row.name}")
        make.load(f"{row.name}, load", f"{row.name} +", f"{row.name} −", ohms, LIGHT)
        make.add(f"{row.name}, stuck contact", f"{row.name} +", f"{row.name} −", ohms, None, LIGHT,
                 closed=False)
        make.add(f"{row.name}, wire back", f"{row.name} −", "DC panel −", 2 * joint + wire)
    frame = floats(wiring.part_resistance("chassis return"), "ohm")
    make.add("step light, branch fuse", "DC panel +", "step light, after its fuse", 5e-3)
    make.add("step light, wire to it", "step light, after its fuse", "step light +", 0.03,
             clamp="wire to the step light")
    make.load("step light, load", "step light +", "step light −", volts / 5.0, LIGHT)
    make.add("step light, ground joint", "step light −", "frame at the step", 1e-3)
    make.add("chassis return, frame", "frame at the step", "frame at the bond", frame)
    make.add("chassis return, bond", "frame at the bond", "negative bus", 2 * LUG, clamp="bond to the frame")
    set_to = floats(charging.acceptance(bank.module.chemistry).absorption * _cells(bank), "V")
    make.source("solar controller, output", "controller +", "negative bus", set_to, 0.03, on=SUN)
    make.add("solar controller, solar disconnect", "controller +", "after the solar disconnect", contact)
    make.add("solar controller, fuse", "after the solar disconnect", "positive bus", 2e-3,
             clamp="solar controller's cable")
    engine = 14.2 * volts / 12.8 if volts < 20 else 14.2
    make.source("engine", "engine's battery +", "frame at the bond", engine, 0.01, on=ENGINE)
    make.add("charge line, charge fuse", "engine's battery +", "charge line, after its fuse", 5e-3)
    make.add("charge line, wire to the charger", "charge line, after its fuse", "DC-DC charger input", 0.05,
             clamp="charge line")
    make.load("DC-DC charger, input", "DC-DC charger input", "negative bus", 1.2, ENGINE)
    make.source("DC-DC charger, output", "DC-DC charger output", "negative bus", set_to, 0.1, on=ENGINE)
    make.add("DC-DC charger, cable", "DC-DC charger output", "positive bus", 3e-3,
             clamp="DC-DC charger's cable")
    make.follows["DC-DC charger, output"] = ("DC-DC charger input", 11.0)
    states = {"at rest": {MAIN}, "heavy load": {MAIN, HEAVY}, "panel loads": {MAIN, LIGHT},
              "sun and engine": {MAIN, SUN, ENGINE}, "sun, main switch open": {SUN},
              "main switch open": set()}  # fmt: skip
    hidden = {f"module {place} inside" for place in range(1, bank.parallel + 1)}
    return make.board(TWELVE, states, "shunt", hidden)


@functools.cache
def mains_board() -> Board:
    """An invented 50 A site and coach with line, neutral and ground, as a practice board: live work for
    qualified people.

    Source: invented values; line and neutral 120 V, legs against each other, all in phase or opposite.
    """
    make = _Builder()
    for row in table("practice_board").rows:
        part, on, off = (row["name"], row["from"], row["to"]), row["on"] or None, row["off"] or None
        ohms = floats(row["ohms"], "ohm")
        if row["kind"] == "source":
            make.source(*part, 120, ohms, on, off)
        elif row["kind"] == "load":
            make.load(*part, ohms, on)
        else:
            make.add(*part, ohms, on, off, row["clamp"] or None, closed=row["kind"] != "open")
    states = {"shore, little on": {SHORE}, "shore, microwave": {SHORE, LEG_1},
              "shore, water heater": {SHORE, LEG_2},
              "cord out, inverter": {INVERTER}, "dead": set()}  # fmt: skip
    return make.board(MAINS, states)


# ------------------------------------------------------------------------------- faults


@dataclasses.dataclass(frozen=True, eq=False)
class Fault:
    """A kind of fault at one place. changes : element to what becomes of it; turned : the monitor counts the
    wrong way."""

    kind: str
    place: str
    complaint: str
    changes: dict
    turned: bool
    why: str
    mend: str


@functools.cache
def _sheet():
    return tomllib.loads(FAULTS.read_text(encoding="utf-8"))


def minutes(act: str) -> Time:
    """What an act costs on the practice boards.

    Parameters
    ----------
    act : "state", "volts", "clamp", "monitor", "ohms" or "answer"

    Source: data/faults.toml, invented.
    """
    costs = _sheet()["minutes"]
    if act not in costs:
        raise InputError("act", f"{quoted(act)} is not known", "one of " + ", ".join(costs), '"volts"')
    return Quantity(float(costs[act]), "min").to("h")


@functools.lru_cache(maxsize=16)
def faults(board: Board) -> tuple:
    """Every fault that a board can hide: each kind at each place where its elements stand.

    Parameters
    ----------
    board : from `low_voltage_board` or `mains_board`

    Source: data/faults.toml, invented.
    """
    names, found = [one.name for one in board.elements], []
    for row in (row for row in _sheet()["fault"] if row["board"] == board.name):
        acts = [(act, pattern) for act in ACTS for pattern in row.get(act, ())]
        value = row.get("factor", 0.0)
        if "ohms" in row:
            value = floats(KINDS["resistance"].read(row["ohms"], "ohms"), "ohm")
        end = acts[0][1].removeprefix("*") if acts else ""
        places = [name.removesuffix(end) for name in names if name.endswith(end)] if acts else [row["place"]]
        for place in places:
            changes = {pattern.replace("*", place): (act, value) for act, pattern in acts}
            if set(changes) <= set(names):
                found.append(Fault(row["kind"], place, row["complaint"], changes, row.get("turned", False),
                                   row["why"], row["mend"]))  # fmt: skip
    return tuple(found)


def kinds(board: Board) -> list[dict]:
    """The kinds of fault of a board, what gives each away and what to do: rows for a table.

    Parameters
    ----------
    board : from `low_voltage_board` or `mains_board`

    Source: data/faults.toml, invented.
    """
    return [{"fault": row["kind"], "what gives it away": row["why"], "what to do": row["mend"]}
            for row in _sheet()["fault"] if row["board"] == board.name]  # fmt: skip


# ------------------------------------------------------------------------------- the practice meter

VOLTS, OTHER_VOLTS, OHMS, AMPS, CLAMP, MONITOR = (
    "volts", "volts, wrong kind", "ohms", "amps by probes", "clamp", "battery monitor")  # fmt: skip
INSTRUMENTS = (VOLTS, OTHER_VOLTS, OHMS, AMPS, CLAMP, MONITOR)
COUNTS = 6000  # of its display, from memory
METER_FUSE, METER_OHMS = 10.0, 0.02
LARGEST_OHMS = 6e7
LIVE = 0.02  # V; above it ohms are not to be measured


@dataclasses.dataclass(frozen=True)
class Reading:
    """What a meter shows. text : as displayed. value : in V, A or ohm, None where it shows none. caution :
    what steps in."""

    text: str
    value: float | None
    caution: str = ""


def displayed(value: float, unit: str, lowest: float) -> float:
    """A value as a display of 6000 counts shows it.

    Parameters
    ----------
    value : in `unit`
    unit : for the error only
    lowest : its finest step

    Source: definition of a range of counts.
    """
    if not math.isfinite(value):
        raise InputError("reading", f"{value} {unit} is given", "a finite number")
    step = lowest
    while abs(value) >= COUNTS * step:
        step *= 10
    return round(value / step) * step + 0.0


def read(board: Board, state, instrument: str, at: tuple, fault: Fault | None = None) -> Reading:
    """What an instrument shows on a board.

    Parameters
    ----------
    board, state : the board, and the controls that are on
    instrument : one of INSTRUMENTS
    at : (red point, black point) for probes, (name,) of what the clamp closes round, () for the monitor
    fault : hidden in the board, None for a sound one

    Errors: InputError for a point, a clamp place or an instrument that the board does not have.
    Source: Thevenin's theorem; formulas of this module; counts, burden and test current from memory.
    """
    if instrument not in INSTRUMENTS:
        raise InputError("instrument", f"{quoted(instrument)} is not known",
                         "one of " + ", ".join(INSTRUMENTS), '"volts"')
    if instrument == MONITOR:
        if board.monitor is None:
            raise InputError("instrument", "this board has no battery monitor", "volts or the clamp",
                             '"volts"')  # fmt: skip
        shown = displayed(_monitor(board, board.solve(state, fault), fault), "A", 0.1)
        return Reading(f"{shown:.1f} A".replace("-", "−"), shown)
    if instrument == CLAMP:
        if at[0] not in board.clamps:
            near = nearest(at[0], board.clamps)
            raise InputError("clamp", f"{quoted(at[0])} is not there", "one of " + ", ".join(board.clamps),
                             near and f'"{near}"')
        amps = _clamped(board, board.solve(state, fault), at[0])
        leak = len(board.clamps[at[0]]) > 1
        shown = displayed(amps, "A", 1e-4 if leak and abs(amps) < 0.6 else 0.01 if abs(amps) < 60 else 0.1)
        text = f"{1000 * shown:.1f} mA" if leak and abs(amps) < 0.6 else f"{shown:.1f} A"
        return Reading(text.replace("-", "−"), shown)
    for point in at:
        if point not in board.points:
            near = nearest(point, board.points)
            raise InputError("probe", f'there is no point "{point}"', "a point of the drawing", near
                             and f'"{near}"')
    if at[0] == at[1]:
        raise InputError("probes", f'both are on "{at[0]}"', "two different points", '"plus" and "minus"')
    found = network.thevenin(board.circuit(state, fault), *at)
    volts, ohms = floats(found.voltage, "V"), floats(found.resistance, "ohm")
    volts = abs(volts) if board.alternating else volts
    if instrument == OTHER_VOLTS:
        return Reading("0.00 V", 0.0)
    if instrument == VOLTS:
        shown = displayed(volts * BURDEN.m_as("ohm") / (BURDEN.m_as("ohm") + ohms), "V", 1e-4)
        digits = 4 if abs(shown) < 0.6 else 3 if abs(shown) < 6 else 2 if abs(shown) < 60 else 1
        return Reading(f"{shown:.{digits}f} V".replace("-", "−"), shown)
    live = abs(volts) > LIVE
    if instrument == AMPS:
        amps = volts / (ohms + METER_OHMS)
        if abs(amps) > METER_FUSE:
            return Reading("0.00 A, the fuse of the meter blew", None, "meter")
        shown = displayed(amps, "A", 0.01)
        return Reading(f"{amps:.2f} A".replace("-", "−"), shown, "meter" if live else "")
    shown = ohms + volts / TEST_CURRENT.m_as("A")
    caution = "live work" if live else ""
    if abs(shown) > LARGEST_OHMS:
        return Reading("OL", None, caution)
    shown = displayed(shown, "ohm", 0.1)
    return Reading(show(Quantity(shown, "ohm"), 4), shown, caution)


def _clamped(board, solved, name):
    amps = sum(sign * solved.amps[element] for element, sign in board.clamps[name])
    return abs(amps) if board.alternating else amps


def _monitor(board, solved, fault):
    """Current of the bank as its monitor counts it: negative while it is discharged."""
    amps = -solved.amps[board.monitor]
    return amps if fault is None or not fault.turned else -amps


# ------------------------------------------------------------------------------- finding it

VOLT_ROOM, AMP_ROOM, LEAK_ROOM = (0.004, 0.01), (0.4, 0.02), (0.0005, 0.02)  # how far a reading is trusted


@dataclasses.dataclass(frozen=True)
class Measurement:
    """One measurement: a named state of the board, an instrument and where it is put."""

    state: str
    instrument: str
    at: tuple

    @property
    def unit(self):
        """Of its reading."""
        return "V" if self.instrument in (VOLTS, OTHER_VOLTS) else "Ω" if self.instrument == OHMS else "A"

    @property
    def words(self):
        """`volts from a to b, heavy load`."""
        where = {2: " from {} to {}", 1: " round {}", 0: ""}[len(self.at)].format(*self.at)
        return f"{self.instrument}{where}, {self.state}"


@dataclasses.dataclass(frozen=True, eq=False)
class Predictions:
    """Readings of every fault at every sensible measurement: `values[fault, measurement]`, and `room` beside
    each."""

    board: Board
    faults: tuple
    measurements: tuple
    values: numpy.ndarray
    room: numpy.ndarray
    sound: numpy.ndarray

    @functools.cached_property
    def alike(self):
        """Whether two faults cannot be told apart by a measurement: an array fault x fault x measurement."""
        apart = numpy.abs(self.values[:, None] - self.values[None])
        return apart <= self.room[:, None] + self.room[None]


def measurements(board: Board) -> list:
    """The sensible measurements: across each part and each load, clamps and the monitor, in every named
    state.

    Parameters
    ----------
    board : from `low_voltage_board` or `mains_board`

    Source: none.
    """
    pairs = dict.fromkeys((one.start, one.end) for one in board.elements if not one.name.startswith("leak of")
                          and one.start in board.points and one.end in board.points)  # fmt: skip
    if board.alternating:
        pairs |= dict.fromkeys([("panel, leg 1", "panel neutral"), ("panel, leg 2", "panel neutral"),
                                ("outlet neutral", "outlet ground"), ("outlet hot", "outlet ground"),
                                ("skin", "earth"), ("panel neutral", "ground bar")])  # fmt: skip
    else:
        pairs |= dict.fromkeys((point, "negative bus") for point in board.points
                               if "+" in point or "fuse" in point)  # fmt: skip
    found = []
    for state in board.states:
        found += [Measurement(state, VOLTS, pair) for pair in pairs]
        found += [Measurement(state, CLAMP, (name,)) for name in board.clamps]
        found += [Measurement(state, MONITOR, ())] if board.monitor else []
    return found


@functools.lru_cache(maxsize=8)
def predictions(board: Board) -> Predictions:
    """What every fault of a board would show; burden left out, for the parts measured are far below it.

    Parameters
    ----------
    board : from `low_voltage_board` or `mains_board`

    Source: `network.solve`.
    """
    hidden, wanted, rows = faults(board), tuple(measurements(board)), []
    for fault in (None, *hidden):
        solved = {state: board.solve(on, fault) for state, on in board.states.items()}
        rows.append([_ideal(board, solved[one.state], one, fault) for one in wanted])
    values = numpy.array(rows)
    rooms = numpy.array([_trust(board, one) for one in wanted])
    room = rooms[:, 0] + rooms[:, 1] * numpy.abs(values)
    return Predictions(board, hidden, wanted, values[1:], room[1:], values[0])


def _trust(board, one):
    """(fixed part, share) of how closely a reading of a measurement is trusted."""
    if one.instrument in (CLAMP, MONITOR):
        return LEAK_ROOM if one.instrument == CLAMP and len(board.clamps[one.at[0]]) > 1 else AMP_ROOM
    return (0.5, 0.01) if one.instrument == OHMS else AMP_ROOM if one.instrument == AMPS else VOLT_ROOM


def _ideal(board, solved, one, fault):
    if one.instrument == MONITOR:
        return _monitor(board, solved, fault)
    if one.instrument == CLAMP:
        return _clamped(board, solved, one.at[0])
    volts = solved.volts[one.at[0]] - solved.volts[one.at[1]]
    return abs(volts) if board.alternating else volts


@dataclasses.dataclass(frozen=True)
class Step:
    """One step of a line of reasoning: what to measure, what it shows, what a sound board would show, who is
    left."""

    measurement: Measurement
    shows: float
    sound: float
    left: tuple
    time: Time


def line_of_reasoning(board: Board, fault: Fault, complaint_known: bool = True, most: int = 12) -> list:
    """The short way to a fault: at each step the measurement that leaves the fewest suspects for its minutes.

    Parameters
    ----------
    board, fault : the board and what is hidden in it
    complaint_known : whether only the kinds with its complaint are suspects
    most : steps after which it gives up; the last step's `left` then names more than one

    Source: greedy halving; costs from data/faults.toml.
    """
    known = predictions(board)
    true = known.faults.index(fault)
    left = numpy.array([not complaint_known or one.complaint == fault.complaint for one in known.faults])
    state, steps = "", []
    cost = {VOLTS: floats(minutes("volts"), "h"), CLAMP: floats(minutes("clamp"), "h"),
            MONITOR: floats(minutes("monitor"), "h")}
    turn = floats(minutes("state"), "h")
    while left.sum() > 1 and len(steps) < most:
        time = numpy.array([cost[one.instrument] + (turn if one.state != state else 0.0)
                            for one in known.measurements])
        remaining = known.alike[numpy.ix_(left, left)].sum(axis=1).mean(axis=0)
        gain = numpy.log(left.sum() / remaining) / time
        best = int(numpy.argmax(gain))
        if gain[best] <= 1e-9:
            break
        left = left & known.alike[true, :, best]
        one, state = known.measurements[best], known.measurements[best].state
        suspects = tuple(f"{other.kind}: {other.place}" for other, stays in zip(known.faults, left) if stays)
        steps.append(Step(one, float(known.values[true, best]), float(known.sound[best]), suspects,
                          Quantity(time[best], "h").to("min")))
    return steps


def suspects_left(board: Board, fault: Fault, taken: list) -> list:
    """What a learner's own measurements leave: after each one, the faults that would have shown the same.

    Parameters
    ----------
    board, fault : the board and what is hidden in it; the complaint is known
    taken : Measurement objects, in order

    Source: `read`.
    """
    left, found = [one for one in faults(board) if one.complaint == fault.complaint], []
    for one in taken:
        shown = read(board, board.states[one.state], one.instrument, one.at, fault)
        fixed, share = _trust(board, one)

        def alike(other):
            there = read(board, board.states[one.state], one.instrument, one.at, other)
            if shown.value is None or there.value is None:
                return shown.text == there.text
            return abs(shown.value - there.value) <= 2 * fixed + share * (abs(shown.value) + abs(there.value))

        left = [other for other in left if alike(other)]
        found.append(tuple(left))
    return found


def hidden_fault(board: Board, seed: int) -> Fault:
    """The fault that a seed hides in a board.

    Parameters
    ----------
    board : from `low_voltage_board` or `mains_board`
    seed : any whole number

    Source: none.
    """
    import random

    return random.Random(f"{board.name}/{seed}").choice(faults(board))


def judge(fault: Fault, kind: str, place: str) -> str:
    """What to say to a named fault: "right", "wrong place" (the far end was blamed) or "wrong kind".

    Parameters
    ----------
    fault : what is hidden
    kind, place : what the learner names

    Source: none.
    """
    if kind != fault.kind:
        return "wrong kind"
    return "right" if place == fault.place else "wrong place"


# ------------------------------------------------------------------------------- what acceptance should show

TOLERANCE = 0.20  # warm copper 10 %, length as pulled 5 %, clamp 2 %, volts 1 %, rounded up: our own
RESOLUTION = Quantity(2.0, "mV")
SHARE_ROOM = 0.15  # of the predicted current of a module: this workbook's own
SHUNT_ROOM = 0.05  # the clamp's 2 % and a step of 0.1 mV in a few mV: this workbook's own
FULL_SCALE = Quantity(50.0, "mV")  # of a shunt at its rated current
MEANT_LOAD = 0.5  # of its design current at which a circuit is tested, where no reading says otherwise
CUT_OFF_ROOM = 0.015  # by which the inverter stops above the modules: this workbook's own
TAIL_ROOM = 1.2  # by which the monitor's tail stands above the chemistry's, at which chargers stop: its own
COLD_ROOM = Quantity(2.0, "delta_degF")  # between the module's coldest charge and a setting: its own
RETORQUE = Quantity(90.0, "day")  # after the first trip, and then: common practice, no source
STANDING_WEEKS = Quantity(8.0, "week")  # that a bank left alone should last to half, this workbook's own


@dataclasses.dataclass(frozen=True)
class Expected:
    """Drop to expect on one main circuit, both ways, from where it starts to where it ends.

    resistance : predicted, copper at 77 °F. current : at which it is tested. drop : predicted there. limit :
    largest that passes. measured, measured_current : what the coach file holds, None where nothing was
    measured.
    """

    name: str
    start: str
    end: str
    resistance: Resistance
    current: Current
    drop: Voltage
    limit: Voltage
    measured: Voltage | None = None

    @property
    def found(self):
        """Resistance that the measurement shows, None where there is none."""
        return None if self.measured is None else drop_resistance(self.measured, self.current)


def acceptance(coach) -> list:
    """Drop to expect on every main circuit of the 12 V side: a list of Expected.

    Parameters
    ----------
    coach : the coach file; a drop that stands in [commissioning] brings its own current

    Source: `wiring.study`; tolerance of this workbook, common practice, no source.
    """
    plan, found = coach.commissioning, []
    measured = {one.name: one for one in plan.measured}
    tolerance = TOLERANCE if plan.drop_tolerance is None else plan.drop_tolerance
    rows = {row.name: row for row in wiring.study(coach).rows}
    for circuit in coach.circuits:
        row = rows.get(circuit.name)
        if row is None or row.size is None or row.drop is None or row.current.m_as("A") < 10 \
                or circuit.voltage is not None \
                or circuit.purpose in ("chassis return", "tow charge line", BRAKE):  # fmt: skip
            continue
        fuse, joint, wire = _run_ohms(row)
        frame = floats(wiring.part_resistance("chassis return"), "ohm")
        back = frame if circuit.returns == "chassis" else wire
        ohms = Quantity(fuse + 4 * joint + wire + back, "ohm").to("mohm")
        one = measured.get(circuit.name)
        current = row.current * MEANT_LOAD if one is None else one.current.to("A")
        drop = expected_drop(current, ohms)
        found.append(Expected(circuit.name, circuit.from_, circuit.to, ohms, current, drop,
                              drop_limit(drop, tolerance, RESOLUTION), one and one.drop.to("V")))  # fmt: skip
    return found


# ------------------------------------------------------------------------------- what the sheets say

SHEETS = bootstrap.ROOT / "data" / "sheets.toml"
LEARNER, LICENSED = "owner or technician, 12 V side", "licensed electrician"
BY_MAIN, BY_MODULES = "main switch", "modules' switches"
ENGINE_LINES = {"alternator": "charge line", "emergency-start solenoid": "emergency-start cable"}
ALARMS, BRAKE = ("LP gas detector", "carbon monoxide alarm"), "breakaway brake"
MAINS_LUGS = ("its 12 V output lugs, with the 120 V cover shut; else the far end of its cable, or leave it "
              "to the electrician")  # fmt: skip


@functools.cache
def _texts():
    return tomllib.loads(SHEETS.read_text(encoding="utf-8"))


def _said(parts, facts):
    """One text out of its parts, those whose words hold; see data/sheets.toml."""
    return "".join("".join(texts).format(**facts) for when, *texts in parts
                   if all(bool(facts[word.removeprefix("no-")]) != word.startswith("no-")
                          for word in when.split()))  # fmt: skip


def _lines(texts, facts):
    """The texts of which something is left."""
    return [line for line in (_said(parts, facts) for parts in texts) if line]


def _facts(coach):
    """What data/sheets.toml asks of a coach: names to words, or to whether it is so."""
    bank, plan, charge = capacity.arrangement(coach), coach.commissioning, coach.charging
    facts, cells, inverter = charging.acceptance(bank.module.chemistry), _cells(bank), coach.inverter
    absorption, cut = (facts.absorption * cells).to("V"), inverter_cut_off(coach)
    stands = [one.highest_voltage for one in coach.capacity.devices if one.highest_voltage is not None]
    kept = {one.purpose for one in _there(coach)}
    alarms, brake = {_silenced(coach, one) for one in ALARMS}, _silenced(coach, BRAKE)
    engine_lines = " and the ".join(words for purpose, words in ENGINE_LINES.items() if purpose in kept)
    ac = any(one.kind == charging.AC for one in charge.chargers)
    tolerance = TOLERANCE if plan.drop_tolerance is None else plan.drop_tolerance
    test = (bank.module.charge / bank.module.rated_hours).to("A")
    found = {
        "lithium": _lithium(bank), "trailer": coach.coach.kind in ("travel trailer", "fifth wheel"),
        "array": coach.sun.module is not None, "generator": charge.generator is not None,
        "inlet": charge.inlet, "shore": charge.inlet is not None or ac, "ac_charger": ac,
        "tow": "tow charge line" in kept, "engine_lines": engine_lines,
        "engine": "tow charge line" in kept or engine_lines, "propane": _propane(coach),
        "alarms": kept & set(ALARMS), "alarms_by_main": BY_MAIN in alarms,
        "alarms_by_modules": BY_MODULES in alarms, "brake": BRAKE in kept, "brake_by_main": brake == BY_MAIN,
        "brake_by_modules": brake == BY_MODULES,
        "dark_by_main": _falls_silent(coach, BY_MAIN), "dark_by_modules": _falls_silent(coach, BY_MODULES),
        "ahead": ", ".join(one.name for one in _there(coach)
                           if one.from_ == wiring.BANK and one.purpose != "bank"),
        "main_switch_at": plan.main_switch_at, "extinguisher_at": plan.extinguisher_at,
        "bank": bank.label, "chemistry": bank.module.chemistry,
        "inverter": inverter and inverter.name,
        "controller": coach.sun.controller and coach.sun.controller.name,
        "stops_first": cut is not None and cut > bank.cut_off,
        "drop_factor": f"{1 + tolerance:g}", "resolution": f"{floats(RESOLUTION, 'V'):g}",
    }  # fmt: skip
    quantities = {
        "energy": bank.energy.to("kWh"), "charge": bank.capacity, "cut_off": bank.cut_off,
        "absorption": absorption, "charge_limit": charging.bank_charge_limit(bank).to("A"),
        "top": min([bank.charge_voltage, *stands]), "float": (facts.float_voltage * cells).to("V"),
        "float_limit": (facts.float_high * cells).to("V"),
        "coldest_charge": bank.module.coldest_charge, "no_charge_below": _coldest(coach, bank),
        "inverter_cut_off": cut, "inverter_restart": inverter and inverter.restart,
        "charger_input": inverter and inverter.charger_input, "pedestal": inverter and inverter.pedestal,
        "shunt": wiring.decided(coach).wiring.shunt, "charged_above": absorption - Quantity(0.2, "V"),
        "tail": (TAIL_ROOM * facts.tail_rate * bank.capacity / Quantity(1.0, "h")).to("A"),
        "draw": _draw(bank), "idle": standing_limit(coach), "standing_weeks": STANDING_WEEKS, "test": test,
        "test_in_all": test * (bank.parallel - bank.reserve), "rated_hours": bank.module.rated_hours,
        "test_end": _lowest(coach) if _lithium(bank) else bank.cut_off, "retorque": RETORQUE,
    }  # fmt: skip
    return found | {name: "" if one is None else show(one) for name, one in quantities.items()}


def _lithium(bank):
    return bank.module.chemistry.startswith("lithium")


def _cells(bank):
    return bank.module.cells * bank.series


def _draw(bank):
    """Load at which the modules' currents are compared."""
    return min(bank.module.continuous * bank.parallel, Quantity(100.0, "A"))


def _there(coach):
    """Circuits of the coach that stay or are to be built."""
    return [one for one in coach.circuits if one.existing != "remove"]


def _silenced(coach, purpose):
    """What takes the feed of a purpose's circuits away: BY_MAIN, BY_MODULES, or None for nothing."""
    found = set()
    for one in _there(coach):
        at, seen, by = one.from_, set(), BY_MODULES
        while one.purpose == purpose and at not in seen and at != wiring.BANK:
            seen.add(at)
            feed = next((other for other in _there(coach) if other.to == at
                         and other.purpose not in wiring.CHARGES), None)  # fmt: skip
            if feed is None:
                break
            at, by = feed.from_, BY_MAIN if feed.purpose == "bank" else by
        if one.purpose == purpose and at == wiring.BANK:
            found.add(by)
    return BY_MAIN if BY_MAIN in found else BY_MODULES if found else None


def _falls_silent(coach, by):
    """What a switch takes the feed of, gas alarms and brake, and who keeps away; empty for none."""
    alarms, brake = any(_silenced(coach, one) == by for one in ALARMS), _silenced(coach, BRAKE) == by
    if alarms and brake:
        return "the gas alarms and the breakaway brake are dead: nobody sleeps, cooks or tows"
    return "the gas alarms are dead: nobody sleeps or cooks" if alarms else \
        "the breakaway brake is dead: nobody tows" if brake else ""


def _propane(coach):
    """Whether there is propane aboard: a detector, a generator that burns it, or something named after it."""
    generator = coach.charging.generator
    return (any(one.purpose == "LP gas detector" for one in _there(coach))
            or any("propane" in one.name.lower() for one in (*coach.loads, *coach.equipment))
            or generator is not None and generator.fuel == "propane")


# ------------------------------------------------------------------------------- the settings


@dataclasses.dataclass(frozen=True)
class Setting:
    """One line of the settings sheet: of which device, what, its value, the reason, and the limit it must not
    cross."""

    device: str
    what: str
    value: str
    reason: str
    limit: str


def settings_sheet(coach) -> list:
    """Every setting of the coach with its reason and its limit: a list of Setting in plain text.

    Parameters
    ----------
    coach : the coach file

    Source: `charging.settings`, the data sheets in the coach file; the rest common practice, no source.
    """
    facts, bank = _facts(coach), capacity.arrangement(coach)
    bounds = {one.name: _dcdc_bound(coach, one, bank) for one in coach.charging.chargers
              if one.kind == charging.DC_DC}  # fmt: skip
    found = [Setting(one.device, one.what, one.value,
                     bounds.get(one.device, one.why) if one.what == "charge current" else one.why,
                     _said(_texts()["limits"][one.what], facts))
             for one in charging.settings(coach)]  # fmt: skip
    rows = [Setting(_said(row["device"], facts), row["what"],
                    *(_said(row[name], facts) for name in ("value", "reason", "limit")))
            for row in _texts()["setting"]]  # fmt: skip
    return found + [row for row in rows if row.device and row.value] + _comfort(coach)


def _dcdc_bound(coach, charger, bank):
    """Why a DC-DC charger is set to its current."""
    if charging.bank_charge_limit(bank) < (charger.current or charger.rated_current):
        return "the bank's limit"
    if charger.current is None or charger.current >= charger.rated_current:
        return "its rated current, within the bank's limit"
    line = [one for one in _there(coach) if one.purpose == "tow charge line"]
    if not line or line[0].current is None or charger.lowest_input is None:
        return f"set below its rated {show(charger.rated_current)}"
    takes = charging.dcdc_input_current(charger.current, charger.absorption, charger.lowest_input,
                                        charger.efficiency)
    return (f"at {show(charger.lowest_input)} it takes {show(takes.to('A'))} of the {show(line[0].current)} "
            "that the tow charge line may carry")  # fmt: skip


def _coldest(coach, bank):
    """Cell temperature below which no charger charges: the warmest that any is set to, never the limit."""
    own = [one.coldest for one in coach.charging.chargers if one.coldest is not None]
    return max([bank.module.coldest_charge.to("degF") + COLD_ROOM, *own])


def inverter_cut_off(coach) -> Voltage | None:
    """Voltage at which the inverter is set to stop: as decided, else as its data sheet has it; None without
    either.

    Parameters
    ----------
    coach : the coach file

    Source: none.
    """
    if coach.commissioning.inverter_cut_off is not None:
        return coach.commissioning.inverter_cut_off.to("V")
    delivered = None if coach.inverter is None else coach.inverter.cut_off
    return None if delivered is None else delivered.to("V")


def _fence(bank):
    """Lowest voltage at which an inverter may be set to stop. For lithium it surely stops before the modules'
    own electronics do: theirs, room for two voltmeters that never agree, and rounded up to 0.1 V."""
    room = CUT_OFF_ROOM if _lithium(bank) else 0.0
    return Quantity(math.ceil(round(floats(bank.cut_off, "V") * (1 + room) * 10, 9)) / 10, "V")


def _lowest(coach):
    """Voltage at which the inverter, or a test, stops."""
    cut, fence = inverter_cut_off(coach), _fence(capacity.arrangement(coach))
    return fence if cut is None else max(cut, fence)


def _comfort(coach):
    """Set points of the cells' heater and fan, where the coach has the device and decides any (lesson 08)."""
    heating, found = coach.heating, []
    for name, field in type(heating).model_fields.items():
        device, value = name.partition("_")[0], getattr(heating, name)
        size = getattr(heating, device, None)  # a heater of 0 W, a fan of 0 cfm: there is none
        if device in ("heater", "fan") and {"on", "off"} & set(name.split("_")) and value is not None \
                and (size is None or size.magnitude):  # fmt: skip
            found.append(Setting("cell heater and fan", field.description, show(value), "lesson 08",
                                 "warmer than the coldest charge, cooler than the maker's limit"))
    return found


# ------------------------------------------------------------------------------- on paper


@dataclasses.dataclass(frozen=True)
class Line:
    """One line of a worksheet: what, where, what is predicted, what passes; the measured value is written in
    by hand."""

    what: str
    where: str
    predicted: str
    passes: str


@dataclasses.dataclass(frozen=True)
class Worksheet:
    """One test on one page. who : may do it. before : what to do first. cautions : names in
    data/cautions.toml."""

    title: str
    who: str
    before: tuple
    lines: tuple
    pass_rule: str
    cautions: tuple
    source: Source


def shut_down_order(coach) -> list[str]:
    """The order in which all sources of the coach are opened, the array included, and how each is known to be
    off.

    Parameters
    ----------
    coach : the coach file

    Source: data/sheets.toml, common practice, no source.
    """
    return _lines(_texts()["shut_down"], _facts(coach))


def switch_on_order(coach) -> list[str]:
    """The order in which the sources of the coach come back.

    Parameters
    ----------
    coach : the coach file

    Source: data/sheets.toml, common practice, no source.
    """
    return _lines(_texts()["switch_on"], _facts(coach))


def worksheets(coach) -> list:
    """The tests of the coach, one page each, to be printed: a list of Worksheet in plain text.

    Parameters
    ----------
    coach : the coach file

    Source: each page names its own; texts of data/sheets.toml.
    """
    steps = " ".join(f"{number}. {step}" for number, step in enumerate(switch_on_order(coach), 1))
    facts, predicted, found = _facts(coach) | {"switch_on": steps}, _predicted_lines(coach), []
    for page in _texts()["worksheet"]:
        lines = [Line(what, *(_said(parts, facts) for parts in others))
                 for what, *others in page.get("lines", ())]  # fmt: skip
        source = table(page["table"]).source if "table" in page else Source(page.get("source", PRACTICE),
                                                                            page.get("status", PRACTICE))
        found.append(Worksheet(page["title"], LEARNER if page["who"] == "owner" else LICENSED,
                               tuple(_lines(page["before"], facts)),
                               (*lines, *predicted.get(page.get("rows"), ())),
                               _said(page["pass_rule"], facts), tuple(_lines(page["cautions"], facts)),
                               source))  # fmt: skip
    return found


def _predicted_lines(coach):
    """Lines of the worksheets that are worked out for the coach: a dict of their names in the texts."""
    bank = capacity.arrangement(coach)
    shares = bank.share(CHARGE_LEVEL, bank_current=_draw(bank)).currents
    draw, volts = _draw(bank), (charging.acceptance(bank.module.chemistry).absorption * _cells(bank)).to("V")
    shunt = shunt_voltage(draw, wiring.decided(coach).wiring.shunt, FULL_SCALE)
    lugs = {one.name: MAINS_LUGS if one.kind == charging.AC else "its output lugs"
            for one in coach.charging.chargers}  # fmt: skip
    if coach.sun.controller is not None:
        lugs[coach.sun.controller.name] = "its lugs to the bank, never the array's"
    return {
        "drops": tuple(Line(one.name, f"{one.start} to {one.end}",
                            f"{show(one.drop)} at {show(one.current)}, {show(one.resistance)}",
                            f"at most {show(one.limit)}; at ____ A: ____ V") for one in acceptance(coach)),
        "modules": (*(Line(f"module {place}", "clamp round its lead", show(amps),
                           f"within {SHARE_ROOM:.0%}, the sum {show(draw)}")
                      for place, amps in enumerate(shares, 1)),
                    Line("battery monitor", "its display, and volts across its shunt",
                         f"−{show(draw)} and {show(shunt.to('mV'))}",
                         f"within {SHUNT_ROOM:.0%} of the clamp round the bank's cable")),
        "chargers": tuple(Line(name, f"{where}; then the bank's posts",
                               f"{show(volts)} at the posts when absorption is reached",
                               "within 0.1 V; the difference of both is the cable's drop")
                          for name, where in lugs.items()),
        "shut_down": tuple(Line(f"step {number}", "", step, "done, and seen")
                           for number, step in enumerate(shut_down_order(coach), 1)),
        "proof": tuple(Line(row["test"], row["how"], row["sound"], f"fault: {row['a fault']}")
                       for row in proof_120_v()),
    }  # fmt: skip


def standing_limit(coach) -> Current:
    """Most that may flow with everything switched off: half of the bank then lasts eight weeks.

    Parameters
    ----------
    coach : the coach file; a limit that stands in [commissioning] comes first

    Source: this workbook's rule, common practice, no source.
    """
    own = capacity.arrangement(coach).capacity / 2 / STANDING_WEEKS
    return (coach.commissioning.standing_limit or own).to("mA")


@dataclasses.dataclass(frozen=True)
class Card:
    """The card by the door. parts : (heading, lines)."""

    title: str
    parts: tuple
    source: Source


def emergency_card(coach) -> Card:
    """What to do and to know in a fire, after a crash, and for whoever tows the coach away: plain text.

    Parameters
    ----------
    coach : the coach file

    Source: data/sheets.toml, common practice, no source.
    """
    facts = _facts(coach)
    return Card(f"{coach.name}: fire, crash, tow-away",
                tuple((part["heading"], tuple(_lines(part["lines"], facts))) for part in _texts()["card"]),
                Source(PRACTICE, PRACTICE))


# ------------------------------------------------------------------------------- the three doors


@dataclasses.dataclass(frozen=True, eq=False)
class Study:
    """Everything this topic says of a coach: drops to expect, settings, worksheets, order of shut-down,
    card."""

    expected: tuple
    settings: tuple
    worksheets: tuple
    shut_down: tuple
    card: Card
    standing_limit: Current
    assumed: tuple


def study(coach) -> Study:
    """Everything this topic says of a coach.

    Parameters
    ----------
    coach : the coach file

    Source: the functions above.
    """
    return Study(tuple(acceptance(coach)), tuple(settings_sheet(coach)), tuple(worksheets(coach)),
                 tuple(shut_down_order(coach)), emergency_card(coach), standing_limit(coach),
                 tuple(propose(coach)))  # fmt: skip


def propose(coach) -> dict:
    """Sound decisions where the reader has not decided: a dict of name to value, as [commissioning] takes
    them.

    Parameters
    ----------
    coach : the coach file

    Source: this workbook's rules, common practice, no source.
    """
    plan, found = coach.commissioning, {}
    if plan.drop_tolerance is None:
        found["drop_tolerance"] = TOLERANCE
    if plan.standing_limit is None:
        found["standing_limit"] = Quantity(float(floats(standing_limit(coach), "mA") // 10 * 10), "mA")
    if plan.inverter_cut_off is None and inverter_cut_off(coach) is not None:
        found["inverter_cut_off"] = _lowest(coach)
    return found


def checks(coach) -> list:
    """The rules of this topic held against a coach: measured drops and draw against their limits, settings
    against theirs.

    Parameters
    ----------
    coach : the coach file

    Source: each check names its own.
    """
    bank, practice, topic = capacity.arrangement(coach), Source(PRACTICE, PRACTICE), "commissioning"
    found = [rules.at_most(
        f"{one.name}: is its drop at {show(one.current)} what was predicted?", one.measured, one.limit,
        why="A joint or wire has more resistance than it should, and makes heat there.",
        mend="Halve the path until two points an inch apart show it.",
        source=Source("wire schedule; tolerance of this workbook", "derived"), guards="fire", topic=topic,
    ) for one in acceptance(coach) if one.measured is not None]  # fmt: skip
    if coach.commissioning.standing is not None:
        found.append(rules.at_most(
            "Is the standing draw small enough to leave the coach?", coach.commissioning.standing.to("mA"),
            standing_limit(coach), why="Something stays on, and the bank is flat when they come back.",
            mend="Open branch fuses one by one.", source=practice, topic=topic))  # fmt: skip
    cut = inverter_cut_off(coach)
    if cut is not None and _lithium(bank):
        found.append(rules.at_least(
            "Does the inverter stop before the modules' own electronics do?", cut, _fence(bank),
            why=f"Their electronics open at {show(bank.cut_off)}. Then everything aboard goes dark at once, "
                "the gas alarms too, and a charger may not find a bank to wake.",
            mend="Set its low-voltage cut-off higher.", source=practice, guards="gas",
            topic=topic))  # fmt: skip
    elif cut is not None:
        found.append(rules.at_least(
            "Does the inverter stop before the bank is drawn too low?", cut, _fence(bank),
            why="A lead-acid bank that is drawn lower than its maker allows wears out early.",
            mend="Set its low-voltage cut-off higher.", source=practice, topic=topic))  # fmt: skip
    found += [rules.at_most(
        f"{one.name}: is its absorption within what the bank allows?", one.absorption.to("V"),
        bank.charge_voltage.to("V"),
        why="Above it the modules' own protection opens, and the charger runs on without a bank.",
        mend="Set it lower.", source=Source("the module's data sheet", "invented"), guards="fire",
        topic=topic,
    ) for one in coach.charging.chargers]  # fmt: skip
    return found
