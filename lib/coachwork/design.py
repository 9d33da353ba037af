"""Design: everything the topics say of one coach, put together for whoever must sign it.

Nothing is worked out anew here but weight and the parts list. The other topics are asked through their
three doors; one that is not built is simply not in the list. The record of `page.record` is made from what
this module returns.
"""

import collections
import dataclasses
import functools
import importlib
import importlib.util
import math
from typing import Annotated

from coachwork import capacity, conductor, sun, wiring
from coachwork import checks as rules
from coachwork.quantities import (
    ABOVE_ZERO,
    ConductorArea,
    Fraction,
    InputError,
    Length,
    Mass,
    MassChange,
    Position,
    Price,
    Quantity,
    floats,
    formula,
    show,
)
from coachwork.sections import DANGEROUS, Section
from coachwork.sources import Source, table

TOPICS = (
    "energy",
    "capacity",
    "cycle_life",
    "charging",
    "sun",
    "inverter",
    "wiring",
    "heating",
    "cooling_load",
    "whole_system",
    "commissioning",
)
PRACTICE = "common practice, no source"
COPPER = Quantity(8.89, "g/cm**3")
NO_MASS = Quantity(0.0, "kg")

# ------------------------------------------------------------------------------- weight


@formula
def front_change(mass_change: MassChange, ahead: Position, span: Annotated[Length, ABOVE_ZERO]) -> MassChange:
    """What a thing adds to the front axle, the tongue or the pin.

    A thing behind the rear axle takes weight off the front: a negative distance gives a negative result.

    Parameters
    ----------
    mass_change : added, or taken away (negative)
    ahead : where it sits, ahead of the rear axle (of several, ahead of their middle); behind it negative
    span : from the rear axle to the front axle, or to the ball or pin of a trailer; zero is refused

    Source: law of the lever (OpenStax, University Physics, ch. 12: sum of torques is zero).
    """
    return mass_change * ahead / span


@formula
def rear_change(mass_change: MassChange, ahead: Position, span: Annotated[Length, ABOVE_ZERO]) -> MassChange:
    """What a thing adds to the rear axle, or to the axles of a trailer: what the front does not take.

    Parameters
    ----------
    mass_change, ahead, span : as for `front_change`

    Source: law of the lever, as for `front_change`.
    """
    return mass_change * (span - ahead) / span


@formula
def left_change(
    wheel_change: MassChange, mass_change: MassChange, left: Position, track: Annotated[Length, ABOVE_ZERO]
) -> MassChange:
    """What a thing adds to all left tires of a coach.

    Half of what the coach's own tires take, and more where it sits left of the middle. A hitch ball takes its
    share in the middle: it cannot hold a coach against leaning.

    Parameters
    ----------
    wheel_change : what all tires of the coach take of it: all of it, but on a trailer `rear_change`
    mass_change : added, or taken away (negative)
    left : where it sits, left of the middle; right of it negative
    track : from the middle of the left tires to the middle of the right ones; zero is refused

    Source: law of the lever, as for `front_change`.
    """
    return wheel_change / 2 + mass_change * left / track


@formula
def front_share(front_mass: Mass, loaded_mass: Annotated[Mass, ABOVE_ZERO]) -> Fraction:
    """Share of a coach's mass that its front axle, tongue or pin carries.

    Parameters
    ----------
    front_mass : on front axle, tongue or pin
    loaded_mass : of the whole coach, ready to travel; zero is refused

    Source: definition.
    """
    return front_mass / loaded_mass


@formula
def center_of_mass(front_mass: Mass, loaded_mass: Annotated[Mass, ABOVE_ZERO], span: Length) -> Position:
    """Where the mass of a coach sits, ahead of its rear axle.

    Parameters
    ----------
    front_mass : on front axle, tongue or pin
    loaded_mass : of the whole coach; zero is refused
    span : from the rear axle to the front axle, ball or pin

    Source: law of the lever, as for `front_change`.
    """
    return span * front_mass / loaded_mass


@formula
def room_left(gross_rating: Mass, loaded_mass: Mass) -> MassChange:
    """Mass that may still be added; negative where the coach is overloaded.

    Parameters
    ----------
    gross_rating : most that the coach may weigh, from its door sticker
    loaded_mass : what it weighs

    Source: definition of gross vehicle weight rating, 49 CFR 571.3 (from memory).
    """
    return gross_rating - loaded_mass


@formula
def copper_mass(area: ConductorArea, length: Length) -> Mass:
    """Mass of the copper of a conductor; insulation, lugs and fuse holders come on top.

    Parameters
    ----------
    area : of its metal
    length : of it: twice the run for the way there and back

    Source: density of annealed copper, 8.89 g/cm3 at 20 °C (NBS Handbook 100, Copper Wire Tables).
    """
    return COPPER * area * length


@dataclasses.dataclass(frozen=True)
class Move:
    """One thing that is added (positive), taken away (negative) or moved, and what it changes where.

    front, left : change on front axle, tongue or pin, and on all left tires; None where its place is unknown.
    """

    name: str
    mass: MassChange
    ahead: Position | None
    left_of_middle: Position | None
    front: MassChange | None
    left: MassChange | None


@dataclasses.dataclass(frozen=True)
class Scale:
    """One line of the weighing: before the work, change, after it, what is allowed; None: not known."""

    where: str
    before: Mass | None
    change: MassChange | None
    after: MassChange | None
    limit: Mass | None


@dataclasses.dataclass(frozen=True)
class Weight:
    """Weight before and after. front : name of the front of this kind of coach. moves : all that changes.

    unweighed, unplaced : names of things that lack a mass, or a place. share : of the front after the work.
    """

    front: str
    moves: tuple
    scales: tuple
    unweighed: tuple
    unplaced: tuple
    share: Fraction | None

    def scale(self, where):
        """The line of that place: total, front, rear, left or right."""
        return self.scales[("total", "front", "rear", "left", "right").index(where)]


FRONTS = {"travel trailer": "tongue", "fifth wheel": "pin"}
FRONT_SHARES = {"travel trailer": (0.10, 0.15), "fifth wheel": (0.15, 0.25)}


def weight(coach) -> Weight:
    """Weight of a coach before and after the work, on each axle and side.

    Parameters
    ----------
    coach : the coach file

    New modules come from [capacity], conductors from [[circuits]], all else from [[equipment]]. Copper is
    counted where the bank sits. Source: law of the lever.
    """
    plan, trailer = coach.design, coach.coach.kind in FRONTS
    changes, unweighed = [], []
    for thing in coach.equipment:
        if thing.existing in ("keep", "limit") or thing.carried == "elsewhere":
            continue
        if thing.mass is None:
            unweighed.append(thing.name)
        elif thing.existing == "remove":
            changes.append((f"{thing.name}, out", -thing.mass, thing.ahead, thing.left))
        else:
            if thing.existing == "move":
                changes.append(
                    (f"{thing.name}, from its old place", -thing.mass, thing.was_ahead, thing.was_left)
                )
            changes.append((thing.name, thing.mass, thing.ahead, thing.left))
    bank = capacity.arrangement(coach)
    if not any(thing.kind == "battery" and thing.existing is None for thing in coach.equipment):
        changes.append(
            (f"{bank.module_count} x {bank.module.name}", bank.mass, plan.bank_ahead, plan.bank_left)
        )
    copper = new_copper(coach)
    if copper > NO_MASS:
        changes.append(("Copper of new conductors", copper, plan.bank_ahead, plan.bank_left))
    moves = [_move(plan, trailer, *change) for change in changes]
    unplaced = [move.name for move in moves if move.ahead is None or move.left_of_middle is None]
    return _weighed(coach, tuple(moves), tuple(unweighed), tuple(unplaced))


def _move(plan, trailer, name, mass, ahead, left):
    front = side = None
    if ahead is not None and plan.span is not None:
        front = front_change(mass, ahead, plan.span)
        if left is not None and plan.track is not None:
            wheels = rear_change(mass, ahead, plan.span) if trailer else mass
            side = left_change(wheels, mass, left, plan.track)
    return Move(name, mass.to("lb"), ahead, left, front, side)


def _sum(values):
    """The sum of masses, None where one is not known."""
    values = list(values)
    return None if None in values else sum(values, NO_MASS).to("lb")


def _less(one, other):
    return None if one is None or other is None else (one - other).to("lb")


def _weighed(coach, moves, unweighed, unplaced):
    plan, trailer = coach.design, coach.coach.kind in FRONTS
    front = FRONTS.get(coach.coach.kind, "front axle")
    total, ahead, left = (_sum(getattr(move, name) for move in moves) for name in ("mass", "front", "left"))
    rear = _less(total, ahead)
    tires = rear if trailer else total
    on_tires = _less(plan.loaded_mass, plan.front_mass) if trailer else plan.loaded_mass
    axles = plan.rear_rating if trailer else _sum((plan.front_rating, plan.rear_rating))
    half = None if axles is None else axles / 2
    lines = (
        ("whole coach", plan.loaded_mass, total, coach.coach.gross_rating),
        (front, plan.front_mass, ahead, plan.front_rating),
        (
            "axles" if trailer else "rear axle",
            _less(plan.loaded_mass, plan.front_mass),
            rear,
            plan.rear_rating,
        ),
        ("left tires", plan.left_mass, left, half),
        ("right tires", _less(on_tires, plan.left_mass), _less(tires, left), half),
    )
    scales = [
        Scale(
            where,
            before,
            change,
            None if before is None or change is None else (before + change).to("lb"),
            limit,
        )
        for where, before, change, limit in lines
    ]
    share = None
    if (
        scales[0].after is not None
        and scales[1].after is not None
        and scales[0].after > NO_MASS < scales[1].after
    ):
        share = front_share(scales[1].after, scales[0].after)
    return Weight(front, moves, tuple(scales), unweighed, unplaced, share)


def _new_circuits(coach):
    """Circuits that get new conductors, as decided or proposed."""
    return [one for one in _decided(coach).circuits if one.existing is None and one.size is not None]


def _poles(circuit):
    """How many conductors lie in a circuit, all poles together."""
    ways = 1 if circuit.purpose == "chassis return" or circuit.returns == "chassis" else 2
    return ways * (circuit.per_pole or 1)


def new_copper(coach) -> Mass:
    """Mass of the copper of all new conductors, the leads of the modules among them.

    Parameters
    ----------
    coach : the coach file

    Source: `copper_mass`.
    """
    whole = NO_MASS
    for one in _new_circuits(coach):
        whole = whole + copper_mass(conductor.area(one.size), one.length * _poles(one))
    bank = coach.capacity.model_copy(update=capacity.propose(coach))
    leads = bank.lead_length * (2 * int(bank.parallel))
    return (whole + copper_mass(conductor.area(bank.lead_size), leads)).to("lb")


@functools.lru_cache(maxsize=4)
def _decided(coach):
    return wiring.decided(coach)


# ------------------------------------------------------------------------------- what the survey found


@dataclasses.dataclass(frozen=True)
class Found:
    """One thing that a survey found, or that is new: what it is, what becomes of it, a note."""

    name: str
    what: str
    fate: str
    note: str


FATES = {"keep": "stays", "move": "stays, connected elsewhere", "remove": "taken out", None: "new"}
GUARDS = {
    "breakaway brake": "",
    "LP gas detector": "gas",
    "carbon monoxide alarm": "gas",
    "smoke alarm": "fire",
    "slide or jack": "",
    "emergency-start solenoid": "fire",
    "tow charge line": "fire",
    "converter": "fire",
    "chassis return": "fire",
}
ALARMS = ("LP gas detector", "carbon monoxide alarm", "smoke alarm")


def survey(coach) -> tuple:
    """What the survey found and what becomes of it: circuits first, then equipment.

    Parameters
    ----------
    coach : the coach file

    Source: the coach file.
    """

    def fate(one):
        limit = getattr(one, "limit", None)
        return (
            f"stays, no more than {show(limit)}"
            if limit is not None
            else FATES.get(one.existing, one.existing)
        )

    circuits = [
        Found(one.name, f"{one.purpose}, {one.from_} to {one.to}", fate(one), one.note or "")
        for one in coach.circuits
    ]
    return tuple(circuits + [Found(one.name, one.kind, fate(one), one.note or "") for one in coach.equipment])


def unlisted(coach) -> list:
    """Dangerous circuits that the survey neither lists nor says to be absent.

    Parameters
    ----------
    coach : the coach file

    Source: `sections.DANGEROUS`.
    """
    listed = {one.purpose for one in coach.circuits} | set(coach.design.absent)
    return [purpose for purpose in DANGEROUS if purpose not in listed]


# ------------------------------------------------------------------------------- parts, labels, listings


@dataclasses.dataclass(frozen=True)
class Part:
    """One line of the parts list. amount : with its unit, as text. price : of the whole line, or None."""

    name: str
    amount: str
    use: str
    price: Price | None


@dataclasses.dataclass(frozen=True)
class Label:
    """One label to print: where it goes, its words, why."""

    place: str
    words: str
    why: str
    source: Source


def _ends(row):
    """At how many ends of a circuit a device sits."""
    return 2 if row.at == f"{row.end} and {row.start}" and row.start != row.end else 1


def parts(coach) -> list:
    """What must be bought, with quantities and the reader's own prices.

    Parameters
    ----------
    coach : the coach file

    Conductors are the length of the runs, both ways; nothing for waste. Lugs are for 6 AWG and larger.
    Source: the wire schedule and the coach file.
    """
    made, found = _decided(coach), wiring.study(coach)
    bank = capacity.arrangement(coach)
    amounts = {}  # name: [number, unit, uses]

    def add(name, number, unit, use):
        line = amounts.setdefault((name, unit), [0, []])
        line[0] += number
        if use not in line[1]:
            line[1].append(use)

    add(bank.module.name, bank.module_count, "", "house bank")
    for row in found.rows:
        if row.fuse is not None and row.device and row.existing != "keep":
            count = bank.parallel if row.start == "module" else _ends(row)
            add(f"{row.device}, {show(row.fuse)}, with holder", count, "", row.name)
    spare = coach.design.spare_fuses or propose(coach)["spare_fuses"]
    for row in found.rows:
        if row.fuse is not None and row.device and "fuse" in row.device:
            amounts[(f"{row.device}, {show(row.fuse)}, spare", "")] = [spare, ["kept aboard"]]
    for name, count, use in (
        (made.wiring.main_switch, 1, "main disconnect"),
        (made.wiring.module_switch, bank.parallel, "disconnect of each module"),
        (made.wiring.array_switch, 1, "between array and controller"),
    ):
        if name is not None:
            add(name, count, "", use)
    if made.wiring.shunt is not None:
        add(f"shunt, {show(made.wiring.shunt)}, 50 mV", 1, "", "negative of the bank")
    if made.wiring.precharge is not None:
        add(f"pre-charge resistor, {show(made.wiring.precharge)}", 1, "", "inverter")
    for one in _new_circuits(coach):
        number = int(_poles(one))
        add(f"{one.size} {one.insulation or ''}".strip(), floats(one.length, "ft") * number, "ft", one.name)
        if conductor.area(one.size) >= conductor.area("6"):
            add(f"lug for {one.size}", 2 * number, "", one.name)
    leads = coach.capacity.model_copy(update=capacity.propose(coach))
    size = f"{leads.lead_size.removesuffix(' AWG')} AWG"
    add(
        f"{size} {made.wiring.insulation or ''}".strip(),
        floats(leads.lead_length, "ft") * 2 * bank.parallel,
        "ft",
        "leads of the modules",
    )
    add(f"lug for {size}", 4 * bank.parallel, "", "leads of the modules")
    sheets = _sheets(coach)
    for thing in coach.equipment:
        if thing.existing is None and thing.kind != "battery":
            name, count = sheets.get(thing.kind, (thing.name, 1))
            add(name, count, "", thing.kind)
    prices = {one.name: one.price for one in coach.design.prices}
    return [
        Part(name, f"{show(number)} {unit}".strip(), ", ".join(uses), prices.get(name))
        for (name, unit), (number, uses) in amounts.items()
    ]


def _sheets(coach):
    """Kind of equipment to (name of its data sheet, how many), where the coach file has one such sheet."""
    found = {"inverter": (coach.inverter.name, 1)} if coach.inverter else {}
    if coach.sun.module and coach.sun.series and coach.sun.parallel:
        found["solar module"] = coach.sun.module.name, coach.sun.series * coach.sun.parallel
    if coach.sun.controller:
        found["charge controller"] = coach.sun.controller.name, 1
    for charger in coach.charging.chargers:
        found["charger" if charger.kind == "AC" else "DC-DC charger"] = charger.name, 1
    return found


def cost(coach) -> Price:
    """Sum of the prices that the reader has given.

    Parameters
    ----------
    coach : the coach file

    Source: the coach file.
    """
    return sum((one.price for one in parts(coach) if one.price is not None), Quantity(0.0, "USD"))


def labels(coach) -> list:
    """Labels to print and fix at the place where somebody will need them.

    Parameters
    ----------
    coach : the coach file

    Source: each label names its own.
    """
    found, bank = wiring.study(coach), capacity.arrangement(coach)
    practice, field = Source(PRACTICE, PRACTICE), Source("NEC (NFPA 70) 2023 110.22, 110.24", "from memory")
    most = Quantity(100.0 * math.ceil(floats(found.highest.into(Quantity(0.0, "ohm")), "A") / 100), "A")
    mains = {one.name for one in coach.circuits if one.purpose == "bank"}
    ahead = [
        row.name
        for row in found.rows
        if (row.at.startswith(wiring.BANK) or row.end == wiring.BANK) and row.name not in {*mains, found.rows[0].name}
    ]
    volts, full = show(bank.voltage), show(bank.charge_voltage)
    given = [
        Label(
            "main disconnect",
            f"HOUSE BANK MAIN DISCONNECT. {volts} nominal, {full} highest, direct current. Short-circuit "
            f"current up to {show(most)}. With it open these stay live: the modules, {', '.join(ahead)}. "
            f"The bus behind it stays live while the sun, a charger or an engine feeds it.",
            "Whoever works on it must know what it does not switch off.",
            field,
        ),
        Label(
            "house bank",
            f"{bank.module.chemistry.upper()} BATTERY, {volts}, {show(bank.energy)}. No bare tools or rings. "
            f"Replace fuses only with the same kind and rating.",
            "It cannot be switched off at its posts.",
            practice,
        ),
    ]
    given += [
        Label(
            f"string {number}",
            f"STRING {number} OF {bank.parallel}. {found.rows[0].device} {show(found.rows[0].fuse)}.",
            "Strings are connected one at a time, at equal voltage.",
            practice,
        )
        for number in range(1, bank.parallel + 1)
    ]
    if any(one.purpose == "array" and one.existing != "remove" for one in coach.circuits):
        sheet = coach.sun.model_copy(update=sun.propose(coach))
        volts = array_voltages(coach)[0].voltage
        amps = sun.highest_array_current(sheet.module.short_circuit_current, sheet.parallel)
        given.append(
            Label(
                "array's disconnect and both ends of its leads",
                f"SOLAR: live whenever it is light, up to {show(volts)} and {show(amps)}, direct current. "
                "Open this before the main disconnect.",
                "No switch at the bank makes it dead.",
                Source("NEC (NFPA 70) 2023 690.7(D), 690.13(B)", "from memory"),
            )
        )
    if coach.inverter is not None:
        given.append(
            Label(
                "AC panels, inlet and outlets that the inverter feeds",
                "120 V MAY BE ON WITH THE SHORE CORD UNPLUGGED. Switch off the inverter and lock it first.",
                "An inverter is a second source.",
                Source("NEC (NFPA 70) 2023 551, 705.10", "from memory"),
            )
        )
    alarms = [one.name for one in coach.circuits if one.purpose in ALARMS and _behind_main(coach, one)]
    if alarms:
        given.append(
            Label(
                "main disconnect, beside the first label",
                f"OPEN: {', '.join(alarms)} ARE SILENT. Nobody sleeps, cooks or heats aboard.",
                "They hang behind it.",
                Source("NFPA 1192 (alarms in recreational vehicles)", "from memory"),
            )
        )
    rows = [
        row for row in found.rows if row.size is not None and row.existing != "keep" and row.start != "module"
    ]
    for row in rows:
        device = f" {row.device} {show(row.fuse)}." if row.fuse is not None and row.device else ""
        given.append(
            Label(
                f"both ends of {row.name}",
                f"{row.name}: {row.start} to {row.end}. {row.size}.{device}",
                "As built and schedule must be found together.",
                practice,
            )
        )
    return given


@dataclasses.dataclass(frozen=True)
class ArrayVoltage:
    """One of the voltages that are called highest for one array, and what it stands on."""

    voltage: Quantity
    basis: str
    source: Source


def array_voltages(coach) -> list:
    """The highest voltages of an array by each way of reckoning, the highest first: a list of ArrayVoltage.

    Parameters
    ----------
    coach : the coach file

    Source: sun.cold_voltage, sun.cold_voltage_of_table, wiring.ARRAY_COLD.
    """
    proposals = sun.propose(coach)
    sheet, cold = coach.sun.model_copy(update=proposals), proposals.get("coldest", coach.place.coldest)
    module, code = sheet.module, Source("NEC (NFPA 70) 2023 690.7(A)", "from memory")
    found = [ArrayVoltage(
        sun.cold_voltage(module.open_circuit_voltage, sheet.series, module.voltage_coefficient, cold),
        f"open circuit at {show(cold)}, by the coefficient of the module's sheet: what modules and controller must stand", code,
    )]  # fmt: skip
    if cold >= Quantity(-40.0, "degC"):  # where the table ends
        found.append(ArrayVoltage(
            sun.cold_voltage_of_table(module.open_circuit_voltage, sheet.series, cold),
            f"open circuit at {show(cold)}, by the code's table, for sheets that give no coefficient", code,
        ))  # fmt: skip
    for one in wiring.array_leads(coach.circuits):
        if one.voltage is not None:
            found.append(ArrayVoltage(
                one.voltage * wiring.ARRAY_COLD,
                f"{wiring.ARRAY_COLD:g} times the {show(one.voltage)} of {one.name} at full power: a bound, what its fuse must stand",
                Source("bound of this workbook", PRACTICE),
            ))  # fmt: skip
    return sorted(found, key=lambda one: -one.voltage)


@dataclasses.dataclass(frozen=True)
class Joint:
    """A joint to be tightened: the circuit, the end of it, its conductor. poles : plus and minus, or one of them."""

    circuit: str
    place: str
    size: str
    poles: str


def joints(coach) -> list:
    """Both ends of every conductor that is new or moved, and the posts of the modules: a list of Joint.

    Parameters
    ----------
    coach : the coach file

    Which torque each wants stands on the sheet of the real part. Source: the wire schedule.
    """
    made = {one.name: one for one in coach.circuits}
    found = []
    for row in wiring.study(coach).rows:
        if row.size is None or row.existing not in ("new", "move"):
            continue
        one = made.get(row.name)
        single = one is not None and (one.purpose == "chassis return" or one.returns == "chassis")
        found += [Joint(row.name, place, row.size, "one" if single else "two") for place in (row.start, row.end)]
    return found


NOT_IN_PARTS = (
    "bus bars and covers, lugs below 6 AWG, ferrules and crimp sleeves, loom, conduit, grommets, clamps and cable ties, heat-shrink, "
    "screws and washers, the box of the bank with its insulation and restraint, heater, fan, thermostat and cut-out, roof feet and "
    "glands, connectors of the array, panels and boxes, equipment grounding conductors and bonds, everything of the 120 V side but the "
    "inverter's breaker and output, signal wires, labels"
)


def _behind_main(coach, circuit):
    """Whether a circuit is fed through the main disconnect: through a circuit of purpose `bank`."""
    feeder = {one.to: one for one in reversed(coach.circuits) if one.existing != "remove"}
    node, seen = circuit.from_, set()
    while node in feeder and node not in seen:
        seen.add(node)
        if feeder[node].purpose == "bank":
            return True
        node = feeder[node].from_
    return False


def listings(coach) -> list:
    """Listings to look for on the equipment of a coach: rows of data/tables/listings.csv.

    Parameters
    ----------
    coach : the coach file

    Source: each row has its status.
    """
    there = {thing.kind for thing in coach.equipment if thing.existing != "remove"} | {"any"}
    there |= {"inverter"} if coach.inverter else set()
    return [row for row in table("listings").rows if there & set(row["found as"].split("; "))]


def jurisdiction() -> list:
    """Who has a say in what, and which document says so: rows of data/tables/jurisdiction.csv.

    Source: each row has its status.
    """
    return list(table("jurisdiction").rows)


def unchecked() -> list:
    """What no check of this workbook looks at, why, and who does: rows of data/tables/unchecked.csv.

    Source: each row has its status.
    """
    return list(table("unchecked").rows)


# ------------------------------------------------------------------------------- what the other topics say


@dataclasses.dataclass(frozen=True, eq=False)
class Said:
    """What one topic says of a coach. refusal : why it could say nothing, empty where it could."""

    topic: str
    study: object
    proposals: dict
    checks: tuple
    refusal: str = ""


DOORS = ("study", "propose", "checks")


def topics() -> list:
    """The topics that are built, as modules in the order of the lessons: those that have the three doors."""
    there = [
        importlib.import_module(f"coachwork.{name}")
        for name in TOPICS
        if importlib.util.find_spec(f"coachwork.{name}")
    ]
    return [module for module in there if all(hasattr(module, door) for door in DOORS)]


def hear(coach) -> list:
    """All topics asked through their three doors: a list of Said, this topic's own last.

    Parameters
    ----------
    coach : the coach file

    A topic that must refuse (its part of the file is incomplete) gives one missed check that says why.
    """
    return [_ask(module, module.__name__.rpartition(".")[2], coach) for module in topics()] + [
        Said("design", study(coach), propose(coach), tuple(checks(coach)))
    ]


def _ask(module, name, coach):
    try:
        return Said(name, module.study(coach), module.propose(coach), tuple(module.checks(coach)))
    except InputError as refusal:
        check = rules.holds(
            f"Could the topic {name.replace('_', ' ')} be worked out?",
            str(refusal),
            "a complete part of the coach file",
            true=False,
            why="What was not worked out was not checked.",
            mend="Complete the coach file and make the record anew.",
            source=Source("the coach file", "derived"),
            guards="fire",
            topic=name,
        )
        return Said(name, None, {}, (check,), str(refusal))


@dataclasses.dataclass(frozen=True)
class Assumed:
    """A value that nobody decided, measured or read from a real part: topic, place in the file, value."""

    topic: str
    place: str
    value: str


def proposed(heard) -> list:
    """The values that the topics propose because nobody has decided: a list of Assumed.

    Parameters
    ----------
    heard : of `hear`
    """
    return [Assumed(said.topic, *pair) for said in heard for pair in _flat(said.proposals)]


def assumed(coach, heard) -> list:
    """All that a design stands on without a decision, a measurement or a real data sheet: a list of Assumed.

    Parameters
    ----------
    coach : the coach file
    heard : of `hear`

    What is proposed, then what the wire schedule takes where the file is silent, then invented data sheets.
    """
    found = proposed(heard)
    if any(said.topic == "wiring" and said.study is not None for said in heard):
        found += [Assumed("wiring", *pair) for pair in wiring.silent(coach)]
    heads = {said.topic for said in heard}
    for place, name in _invented(coach.plain()):
        topic = place.partition(",")[0].replace(" ", "_")
        found.append(Assumed(topic if topic in heads else "design", f"{place}, data sheet", name))
    return found


def _invented(values, place=""):
    """(place, name) of every data sheet in a coach file whose name says that it is invented; not the coach's own."""
    if isinstance(values, dict):
        if place and str(values.get("name", "")).endswith(", invented"):
            yield place, values["name"]
        for key, value in values.items():
            yield from _invented(value, f"{place}, {key}".strip(", ").replace("_", " "))
    elif isinstance(values, (list, tuple)):
        for value in values:
            yield from _invented(value, place)


def _flat(values, before=""):
    for name, value in values.items():
        place = f"{before}{name.replace('_', ' ')}"
        if isinstance(value, dict):
            yield from _flat(value, f"{place}, ")
        else:
            yield place, _in_words(value)


def _in_words(value):
    if isinstance(value, Section):
        return getattr(value, "name", None) or "; ".join(f"{key} {_in_words(one)}" for key, one in value)
    if isinstance(value, tuple):
        return ", ".join(map(_in_words, value))
    return show(value) if isinstance(value, (Quantity, float, int)) else str(value)


def all_checks(heard) -> list:
    """Every check of every topic, misses first.

    Parameters
    ----------
    heard : of `hear`
    """
    return rules.misses_first([check for said in heard for check in said.checks])


def answer(coach, check) -> str:
    """What the designer has written about a check, empty where nothing.

    Parameters
    ----------
    coach : the coach file
    check : one of `all_checks`
    """
    return next((one.answer for one in coach.design.answers if check.asked.startswith(one.check)), "")


def unanswered(coach, heard) -> list:
    """Checks that are missed and about which nothing is written.

    Parameters
    ----------
    coach : the coach file
    heard : of `hear`
    """
    return [
        check for check in all_checks(heard) if check.verdict == rules.MISSES and not answer(coach, check)
    ]


def verdict(coach, heard) -> str:
    """What was checked, and what came of it, in words that promise nothing.

    Parameters
    ----------
    coach : the coach file
    heard : of `hear`
    """
    held = all_checks(heard)
    missed = [check for check in held if check.verdict == rules.MISSES]
    hurting, close = (
        sum(bool(check.guards) for check in missed),
        sum(check.verdict == rules.CLOSE for check in held),
    )
    guarding, open_ = sum(bool(check.guards) for check in held), len(unanswered(coach, heard))
    text = f"{len(held)} checks were made, each by the rule beside it; {guarding} guard against fire, shock or gas. "
    text += f"{len(missed) or 'None'} missed" + (
        f", {hurting} of these guard against fire, shock or gas" if missed else ""
    )
    text += f"; {close or 'none'} close to the limit. "
    if missed:
        text += (
            f"{open_ or 'None'} of the missed ones stand{'s' if open_ == 1 else ''} here without an answer. "
        )
    weight_of = collections.Counter(check.source.status for check in held)
    text += "By how the rule is known: " + "; ".join(f"{count} {status}" for status, count in weight_of.most_common()) + ". "
    unheard = [name.replace("_", " ") for name in TOPICS if name not in {said.topic for said in heard}]
    text += (
        f"Not checked, because this workbook has no such lesson yet: {', '.join(unheard)}. "
        if unheard
        else ""
    )
    return text + (
        "A check that is met says that the numbers in the coach file meet one rule, nothing about the work. "
        "Local codes and licensed practice decide."
    )


@dataclasses.dataclass(frozen=True)
class Open:
    """What one topic leaves to do. assumed : proposals nobody decided. unanswered, answered : missed checks. close : near a limit."""

    topic: str
    checks: int
    assumed: tuple
    unanswered: tuple
    answered: tuple
    close: tuple


def still_open(coach, heard) -> list:
    """What each topic leaves to decide, to mend or to answer: a list of Open, in the order of the lessons.

    Parameters
    ----------
    coach : the coach file
    heard : of `hear`
    """
    found = []
    for said in heard:
        missed = [check for check in said.checks if check.verdict == rules.MISSES]
        found.append(
            Open(
                said.topic,
                len(said.checks),
                tuple(f"{one.place}: {one.value}" for one in proposed([said])),
                tuple(check for check in missed if not answer(coach, check)),
                tuple(check for check in missed if answer(coach, check)),
                tuple(check for check in said.checks if check.verdict == rules.CLOSE),
            )
        )
    return found


@dataclasses.dataclass(frozen=True)
class Change:
    """One check before and after a change of the coach: what was found, and the verdict; empty where it was not asked."""

    topic: str
    asked: str
    before: str
    was: str
    after: str
    now: str


def differences(before, after) -> list:
    """Checks that a change of the coach touches: a list of Change, new misses first, then mended ones, then the rest.

    Parameters
    ----------
    before, after : of `hear`, for the coach as it was and as it would be
    """
    old, new = ({check.asked: check for check in all_checks(heard)} for heard in (before, after))

    def told(check):
        return ("", "") if check is None else (f"{check.found}, wanted {check.wanted}", check.verdict)

    found = [
        Change((new.get(asked) or old[asked]).topic, asked, *told(old.get(asked)), *told(new.get(asked)))
        for asked in dict.fromkeys([*new, *old])
        if told(old.get(asked)) != told(new.get(asked))
    ]
    return sorted(found, key=lambda one: (one.now != rules.MISSES, one.was != rules.MISSES, one.was == one.now))


# ------------------------------------------------------------------------------- the three doors


@dataclasses.dataclass(frozen=True, eq=False)
class Study:
    """What this topic itself says of a coach.

    weight : before and after. survey : what was found and becomes of it. unlisted : dangerous circuits missing.
    parts, cost : to buy, and the sum of the prices given. labels : to print. spare_fuses, retorque : later.
    """

    weight: Weight
    survey: tuple
    unlisted: tuple
    parts: tuple
    cost: Quantity
    labels: tuple
    spare_fuses: int
    retorque: Quantity
    assumed: tuple


def propose(coach) -> dict:
    """Sound decisions where the reader has not decided: a dict of name to value, as [design] takes them.

    Parameters
    ----------
    coach : the coach file

    Two spare fuses of each rating, joints tightened again after a month. Source: common practice, no source.
    """
    sound = {"spare_fuses": 2, "retorque": Quantity(1.0, "month")}
    return {name: value for name, value in sound.items() if getattr(coach.design, name) is None}


def study(coach) -> Study:
    """What this topic itself says of a coach: weight, survey, parts, labels.

    Parameters
    ----------
    coach : the coach file

    Source: the functions above.
    """
    proposals = propose(coach)
    plan = coach.design.model_copy(update=proposals)
    return Study(
        weight(coach),
        survey(coach),
        tuple(unlisted(coach)),
        tuple(parts(coach)),
        cost(coach),
        tuple(labels(coach)),
        plan.spare_fuses,
        plan.retorque,
        tuple(proposals),
    )


def checks(coach) -> list:
    """The rules of this topic held against a coach: survey, alarms, weight.

    Parameters
    ----------
    coach : the coach file

    Source: each check names its own.
    """
    return _survey_checks(coach) + _weight_checks(coach)


def _survey_checks(coach):
    practice, alarm = (
        Source(PRACTICE, PRACTICE),
        Source("NFPA 1192 (alarms in recreational vehicles)", "from memory"),
    )
    lacking, found = unlisted(coach), []
    for purpose, meaning in DANGEROUS.items():
        there = purpose not in lacking
        found.append(
            rules.holds(
                f"Survey: was the {purpose} looked for?",
                "listed, or said to be absent" if there else "neither listed nor said to be absent",
                "one of the two",
                true=there,
                why=f"It {meaning}. A new bank must not cut it off or feed it wrongly."
                if not meaning.startswith("a ")
                else f"Mind: {meaning}.",
                mend="Find it and list it among the circuits, or say in the coach file that it is absent.",
                source=practice,
                guards=GUARDS[purpose],
                topic="design",
            )
        )
    for one in coach.circuits:
        if one.purpose not in ALARMS and one.purpose != "breakaway brake":
            continue
        others = [
            other.name
            for other in coach.circuits
            if other.purpose == one.purpose and other.existing != "remove"
        ]
        found.append(
            rules.holds(
                f"{one.name}: does the coach still have one afterwards?",
                ", ".join(others) or "taken out, none put in",
                "at least one",
                true=bool(others),
                why=f"It {DANGEROUS[one.purpose]}.",
                mend="Keep it, or put a new one in.",
                source=alarm,
                guards=GUARDS[one.purpose],
                topic="design",
            )
        )
    return found


def _weight_checks(coach):
    found, body = weight(coach), coach.coach
    sticker = Source("door sticker (49 CFR 567.4 and 571.120)", "from memory")
    practice, lever = Source(PRACTICE, PRACTICE), Source("law of the lever; ratings of the coach", "derived")
    held = [
        rules.holds(
            "Weight: has everything that comes, goes or moves a mass and a place?",
            "; ".join(
                [
                    *(f"{name}: no mass" for name in found.unweighed),
                    *(f"{name}: no place" for name in found.unplaced),
                ]
            )
            or "yes",
            "mass and place of each",
            true=not found.unweighed and not found.unplaced,
            why="Without them nothing can be said of axles and tires.",
            mend="Weigh it and measure from the rear axle.",
            source=practice,
            topic="design",
        )
    ]
    if body.cargo_capacity is not None:
        held.append(
            rules.at_most(
                "Weight: is what the work adds within the cargo capacity?",
                found.scale("total").change,
                body.cargo_capacity.to("lb"),
                why="Water, food, tools and belongings need the rest.",
                mend="A lighter bank, or less cargo.",
                source=sticker,
                topic="design",
            )
        )
    for scale in found.scales:
        half = "half of what the axles may carry" if "tires" in scale.where else "its rating"
        where = f"Weight, {scale.where}: no more than {half}?"
        known = scale.after is not None and scale.limit is not None
        asked = dict(
            why="Too much bends axles, bursts tires and lengthens every stop.",
            mend="Move or leave out something heavy, then weigh again.",
            source=lever,
            topic="design",
        )
        if known:
            held.append(rules.at_most(where, scale.after, scale.limit.to("lb"), **asked))
        else:
            lacking = [
                word
                for word, value in (
                    ("weighed", scale.before),
                    ("change known", scale.change),
                    ("rating known", scale.limit),
                )
                if value is None
            ]
            held.append(
                rules.holds(
                    where,
                    "not " + ", not ".join(lacking),
                    "a scale, places and a rating",
                    true=False,
                    **asked | {"mend": "Weigh it ready to travel, and read its sticker."},
                )
            )
    if body.kind in FRONT_SHARES and found.share is not None:
        low, high = FRONT_SHARES[body.kind]
        share = Quantity(100 * found.share, "percent")
        held.append(
            rules.at_least(
                f"Weight: does the {found.front} carry enough of the trailer?",
                share,
                Quantity(100 * low, "percent"),
                why="A trailer with too light a front sways.",
                mend="Move weight ahead of the axles.",
                source=practice,
                topic="design",
            )
        )
        held.append(
            rules.at_most(
                f"Weight: does the {found.front} carry no more than its share?",
                share,
                Quantity(100 * high, "percent"),
                why="It lifts the front wheels of the tow vehicle.",
                mend="Move weight back, towards the axles.",
                source=practice,
                topic="design",
            )
        )
    return held
