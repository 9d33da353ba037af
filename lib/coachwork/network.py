"""Networks of sources, conductors and loads, solved for the voltage of every node.

The same equations serve direct current and, later, voltages and currents that are all in phase at 60 Hz:
their RMS values then add like direct ones.

The method is nodal analysis with one further unknown, a current, for each element without resistance
(Ho, Ruehli and Brennan, The modified nodal approach to network analysis, IEEE Transactions on Circuits
and Systems 22, 1975). Loads of constant power are seen through the ports where they sit and found by
Newton's method from the no-load voltages downwards.
"""

import dataclasses

import numpy

from coachwork.quantities import (
    KINDS,
    InputError,
    Power,
    Quantity,
    Resistance,
    SignedCurrent,
    Voltage,
    show,
)

SMALLEST = 1e-9  # ohm; below it the difference of two node voltages has no digits left to give a current
LARGEST = 1e12  # ohm, volt, amp or watt
TOLERANCE = 1e-9  # of the largest no-load voltage, for the voltages of constant-power loads
_GIVEN = {
    "resistance": KINDS["resistance"],
    "emf": KINDS["voltage"],
    "current": KINDS["current either way"],
    "power": KINDS["power"],
}


class CannotCarry(InputError):
    """A load of constant power that the sources cannot carry.

    load: its name. asked, available: watts asked for, and the most that the network can bring to its
    terminals while the smaller constant-power loads run.
    """

    def __init__(self, load, node, asked, available, beside):
        self.load, self.asked, self.available = load, Quantity(asked, "W"), Quantity(available, "W")
        beside = f" beside {', '.join(beside)}" if beside else ""
        super().__init__(
            f'load "{load}"',
            f"it asks for {show(self.asked)}, and the sources can bring no more than {show(self.available, 4)} "
            f'to node "{node}"{beside}',
            "a power that the sources can carry",
            hint="a smaller load, a source with less resistance or a shorter and thicker lead would help",
        )


@dataclasses.dataclass(frozen=True)
class Element:
    """One named element between two nodes. Make it with `source`, `resistor`, `switch` or a load below.

    Values are quantities, or plain numbers in ohms, volts, amps and watts.

    name, start, end : the element and its two nodes
    resistance : of a conductor, joint, fuse or closed switch, or inside a source; 0, or at least 1 nanoohm
    emf : voltage that a source makes, start being its plus terminal; None for anything else
    current : of a constant-current load from start to end; negative for a charger that feeds start
    power : of a constant-power load, start being its plus terminal
    closed : False for an open switch, a blown fuse or a lead taken off
    """

    name: str
    start: str
    end: str
    resistance: Resistance = 0.0
    emf: Voltage | None = None
    current: SignedCurrent | None = None
    power: Power | None = None
    closed: bool = True

    def __post_init__(self):
        for field, kind in _GIVEN.items():
            value = getattr(self, field)
            if value is None or (isinstance(value, float) and 0 <= value <= LARGEST):
                continue
            if isinstance(value, (int, float, numpy.number)) and not isinstance(value, bool):
                value = Quantity(value, kind.unit)
            value = float(kind.check(value, f'{field} of "{self.name}"').magnitude)
            if abs(value) > LARGEST:
                raise InputError(f'{field} of "{self.name}"', f"{value:g} is given", f"at most {LARGEST:g}",
                                 f'"{kind.example}"')  # fmt: skip
            object.__setattr__(self, field, value)
        if self.start == self.end:
            raise InputError(f'element "{self.name}"', f'both its ends are on node "{self.start}"',
                             "two different nodes", '"bus" and "return"')  # fmt: skip
        if 0 < self.resistance < SMALLEST:
            raise InputError(f'resistance of "{self.name}"', f"{self.resistance:g} ohm is given",
                             "0, which is solved exactly, or 1 nanoohm and more", '"0.1 mohm"')  # fmt: skip
        parts = (self.emf is not None or self.resistance > 0, self.current is not None, self.power is not None)
        if sum(parts) > 1:
            raise InputError(f'element "{self.name}"', "it is given as more than one thing",
                             "a source or resistance, or a constant current, or a constant power",
                             "two elements with two names")  # fmt: skip

    @property
    def is_load(self):
        """True for a constant current or a constant power."""
        return self.current is not None or self.power is not None


def source(name, plus, minus, emf, resistance=0.0):
    """A battery, module, charger output or supply `name`: `emf` behind `resistance`, from `plus` to `minus`."""
    return Element(name, plus, minus, resistance, emf=emf)


def resistor(name, start, end, resistance):
    """A conductor, joint, shunt, bus bar or load of constant `resistance`, called `name`, from `start` to `end`."""
    return Element(name, start, end, resistance)


def switch(name, start, end, closed=True, resistance=0.0):
    """A switch, fuse or breaker `name` from `start` to `end`.

    It is `resistance` when `closed` (0 is exact, no stand-in is used), nothing when open.
    """
    return Element(name, start, end, resistance, closed=closed)


def current_load(name, start, end, current):
    """A load `name`, from `start` to `end`, that takes the same current at any voltage.

    A negative one is a charger that gives it to `start`.
    """
    return Element(name, start, end, current=current)


def power_load(name, plus, minus, power):
    """A load `name`, from `plus` to `minus`, that takes the same power at any voltage, as an inverter does."""
    return Element(name, plus, minus, power=power)


def opened(elements, *names):
    """The same elements with `names` taken out of the circuit: a fuse blown, a module switched off."""
    known = {element.name for element in elements}
    for name in names:
        if name not in known:
            raise InputError("element to open", f'there is no "{name}"', "one of " + ", ".join(sorted(known)))
    return [
        dataclasses.replace(element, closed=False) if element.name in names else element for element in elements
    ]


@dataclasses.dataclass(frozen=True)
class Balance:
    """Where the power goes: `given` = `stored` + `heat` + `used`, as closely as floats allow.

    given : made by discharging sources and by chargers (constant currents that feed)
    stored : taken in by sources that are being charged
    heat : lost in every resistance, those inside the sources included
    used : taken by the loads
    """

    given: Power
    stored: Power
    heat: Power
    used: Power


@dataclasses.dataclass(frozen=True)
class Solution:
    """Voltages, currents and powers of a solved network.

    volts : node to volts above the ground node
    amps : element to amps, counted from start to end; a source's are counted out of its plus terminal,
        so that they are positive when it delivers and negative when it is being charged
    watts : element to watts that it takes in at its terminals; negative for a source that delivers

    `voltages`, `currents` and `powers` say the same in quantities.
    """

    elements: tuple
    volts: dict
    amps: dict
    watts: dict

    @property
    def voltages(self):
        """Node to voltage above the ground node."""
        return {name: Quantity(value, "V") for name, value in self.volts.items()}

    @property
    def currents(self):
        """Element to current, directions as in `amps`."""
        return {name: Quantity(value, "A") for name, value in self.amps.items()}

    @property
    def powers(self):
        """Element to the power that it takes in at its terminals."""
        return {name: Quantity(value, "W") for name, value in self.watts.items()}

    @property
    def balance(self):
        """The energy balance of the whole network."""
        heat = stored = given = used = 0.0
        for element in self.elements:
            amps, watts = self.amps[element.name], self.watts[element.name]
            if element.is_load:
                given, used = given - min(watts, 0.0), used + max(watts, 0.0)
                continue
            heat += element.resistance * amps**2
            made = (element.emf or 0.0) * amps
            given, stored = given + max(made, 0.0), stored - min(made, 0.0)
        return Balance(*(Quantity(value, "W") for value in (given, stored, heat, used)))

    def across(self, plus, minus):
        """What a perfect voltmeter reads with its red lead on `plus` and its black lead on `minus`."""
        for node in (plus, minus):
            if node not in self.volts:
                raise _no_node(node, self.volts)
        return Quantity(self.volts[plus] - self.volts[minus], "V")


@dataclasses.dataclass(frozen=True)
class Thevenin:
    """What two nodes look like from outside: a voltage behind a resistance."""

    voltage: Voltage
    resistance: Resistance


def _no_node(name, nodes):
    return InputError("node", f'there is no node "{name}"', "one of " + ", ".join(nodes))


class _Equations:
    """The linear part, assembled: `matrix @ unknowns = constants`, unknowns being node volts, then bare currents.

    A bare current is that of an element without resistance, from start to end.
    """

    def __init__(self, elements, ground):
        self.elements = tuple(elements)
        if not self.elements:
            raise InputError("network", "it has no elements", "at least one source and something that it feeds")
        names = set()
        for element in self.elements:
            if element.name in names:
                raise InputError(f'element "{element.name}"', "the name is used twice", "one name for one element")
            names.add(element.name)
        if ground is None:
            ground = next((one.end for one in self.elements if one.emf is not None), self.elements[0].end)
        self.nodes = {ground: 0}
        for element in self.elements:
            self.nodes.setdefault(element.start, len(self.nodes))
            self.nodes.setdefault(element.end, len(self.nodes))
        if not any(ground in (element.start, element.end) for element in self.elements):
            raise _no_node(ground, list(self.nodes)[1:])
        self.start = numpy.array([self.nodes[one.start] for one in self.elements])
        self.end = numpy.array([self.nodes[one.end] for one in self.elements])
        self.resistance = numpy.array([one.resistance for one in self.elements])
        self.emf = numpy.array([one.emf or 0.0 for one in self.elements])
        self.current = numpy.array([one.current or 0.0 for one in self.elements])
        self.power = numpy.array([one.power or 0.0 for one in self.elements])
        closed = numpy.array([one.closed for one in self.elements])
        load = numpy.array([one.is_load for one in self.elements])
        self.current[~closed] = self.power[~closed] = 0.0
        conducts = closed & ~load
        self.resistive = numpy.flatnonzero(conducts & (self.resistance > 0))
        self.bare = numpy.flatnonzero(conducts & (self.resistance == 0))
        self.ports = numpy.flatnonzero(self.power > 0)
        self._refuse_floating(conducts)
        self._assemble()

    def _refuse_floating(self, conducts):
        """Every node must hang on the ground by closed elements; elements without resistance must not form a ring."""
        group = list(range(len(self.nodes)))

        def top(node):
            while group[node] != node:
                group[node] = node = group[group[node]]
            return node

        for index in (*self.bare, *self.resistive):
            one, other = top(self.start[index]), top(self.end[index])
            if one == other and self.resistance[index] == 0:
                raise InputError(
                    f'element "{self.elements[index].name}"',
                    "it closes a ring of elements without resistance, so that nothing says how current divides in it",
                    "a resistance in one of them", '"0.1 mohm"')  # fmt: skip
            group[one] = other
        for name, node in self.nodes.items():
            if top(node) == top(0):
                continue
            island = {other for other in self.nodes.values() if top(other) == top(node)}
            gaps = [
                element.name
                for element, a, b, through in zip(self.elements, self.start, self.end, conducts)
                if not through and not element.is_load and (a in island) != (b in island)
            ]
            raise InputError(
                f'node "{name}"',
                "it floats: no closed element with a fixed resistance or voltage joins it to the ground node "
                f'"{next(iter(self.nodes))}"',
                "a way to it", "a conductor, or a load given as a resistance",
                f"open: {', '.join(gaps)}" if gaps else "")  # fmt: skip

    def _assemble(self):
        nodes, bare = len(self.nodes), len(self.bare)
        matrix = numpy.zeros((nodes + bare, nodes + bare))
        constants = numpy.zeros(nodes + bare)
        self.conduct(matrix, self.resistive, 1 / self.resistance[self.resistive])
        rows = nodes + numpy.arange(bare)
        a, b = self.start[self.bare], self.end[self.bare]
        matrix[a, rows] = matrix[rows, a] = 1
        matrix[b, rows] = matrix[rows, b] = -1
        constants[rows] = self.emf[self.bare]
        fed = self.emf[self.resistive] / self.resistance[self.resistive]
        numpy.add.at(constants, self.start[self.resistive], fed)
        numpy.subtract.at(constants, self.end[self.resistive], fed)
        numpy.subtract.at(constants, self.start, self.current)
        numpy.add.at(constants, self.end, self.current)
        self.matrix, self.constants = matrix, constants

    def conduct(self, matrix, indices, conductance):
        """Add conductances between the ends of the elements at `indices`."""
        a, b = self.start[indices], self.end[indices]
        for row, column, sign in ((a, a, 1), (b, b, 1), (a, b, -1), (b, a, -1)):
            numpy.add.at(matrix, (row, column), sign * conductance)

    def drawn(self, starts, ends):
        """Right-hand sides, one column each, for one amp drawn from `starts` and given back at `ends`."""
        columns = numpy.zeros((len(self.constants), len(starts)))
        columns[starts, range(len(starts))] -= 1
        columns[ends, range(len(ends))] += 1
        return columns

    def unknowns(self, columns, matrix=None):
        """Solve for right-hand sides given as columns, the ground node held at 0 V."""
        matrix = self.matrix if matrix is None else matrix
        found = numpy.zeros_like(columns)
        found[1:] = numpy.linalg.solve(matrix[1:, 1:], columns[1:])
        return found

    def across(self, unknowns, indices):
        """Volts across the elements at `indices`, start above end."""
        return unknowns[self.start[indices]] - unknowns[self.end[indices]]

    def solve(self, tolerance):
        """Unknowns with every load at work, and the amps of the constant-power loads."""
        start, end = self.start[self.ports], self.end[self.ports]
        found = self.unknowns(numpy.column_stack([self.constants, self.drawn(start, end)]))
        if not len(self.ports):
            return found[:, 0], numpy.zeros(0)
        volts = self.across(found, self.ports)
        open_volts, resistance = volts[:, 0], -volts[:, 1:]
        amps = _constant_power_amps(open_volts, resistance, self.power[self.ports], tolerance)
        if amps is None:
            raise self._cannot_carry(open_volts, resistance, tolerance)
        return found[:, 0] + found[:, 1:] @ amps, amps

    def _cannot_carry(self, open_volts, resistance, tolerance):
        """Loads are put on from the smallest up; the first that does not fit is named."""
        asked = self.power[self.ports]
        order = numpy.argsort(asked, kind="stable")

        def fits(chosen, watts):
            part = numpy.ix_(chosen, chosen)
            return _constant_power_amps(open_volts[chosen], resistance[part], watts, tolerance) is not None

        count = next(n for n in range(1, len(order) + 1) if not fits(order[:n], asked[order[:n]]))
        chosen = order[:count]
        watts, low, high = asked[chosen].copy(), 0.0, float(asked[chosen[-1]])
        for _ in range(30):
            watts[-1] = (low + high) / 2
            low, high = (watts[-1], high) if fits(chosen, watts) else (low, watts[-1])
        names = [self.elements[self.ports[index]] for index in chosen]
        return CannotCarry(names[-1].name, names[-1].start, float(asked[chosen[-1]]), float(low),
                           [element.name for element in names[:-1]])  # fmt: skip


def _constant_power_amps(open_volts, resistance, watts, tolerance):
    """Amps of constant-power loads behind open-circuit volts and a resistance matrix; None where none exist.

    Newton's method from the no-load voltages. Where all entries of the matrix are at or above zero, each
    step lowers every voltage towards the highest solution (the monotone Newton theorem: Ortega and
    Rheinboldt, Iterative Solution of Nonlinear Equations, 13.3), so a step upwards proves that there is none.
    """
    if numpy.any(open_volts <= 0):
        return None
    volts = open_volts.copy()
    monotone = numpy.all(resistance >= 0)
    allowed = tolerance * numpy.max(open_volts)
    for _ in range(100):
        error = volts - open_volts + resistance @ (watts / volts)
        slope = numpy.eye(len(volts)) - resistance * (watts / volts**2)
        if numpy.linalg.det(slope) == 0:
            return None
        step = numpy.linalg.solve(slope, error)
        if monotone and numpy.any(step < -allowed):
            return None
        volts = volts - step
        if numpy.any(volts <= 0):
            return None
        if numpy.max(numpy.abs(step)) <= allowed:
            return watts / volts
    return None


def solve(elements: list[Element], ground: str | None = None, tolerance: float = TOLERANCE) -> Solution:
    """Voltages, currents and powers of a network.

    Parameters
    ----------
    elements : sources, resistances, switches and loads, each with its own name
    ground : the node that counts as 0 V; without it, the minus terminal of the first source
    tolerance : how closely constant-power loads are found, as a share of the largest no-load voltage

    Raises
    ------
    InputError
        naming a floating node, a ring of elements without resistance, a name used twice, or a
        constant-current load that would pull its own voltage below zero.
    CannotCarry
        (an InputError) naming the constant-power load that the sources cannot carry.

    Source: Kirchhoff's laws; method in the module's first lines.
    """
    equations = _Equations(elements, ground)
    unknowns, load_amps = equations.solve(tolerance)
    everything = numpy.arange(len(equations.elements))
    volts = equations.across(unknowns, everything)
    amps = equations.current.copy()
    amps[equations.ports] = load_amps
    part = equations.resistive
    amps[part] = (volts[part] - equations.emf[part]) / equations.resistance[part]
    amps[equations.bare] = unknowns[len(equations.nodes) :]
    small = tolerance * float(numpy.max(numpy.abs(volts), initial=0.0))
    for index in numpy.flatnonzero((equations.current > 0) & (volts < -small)):
        element = equations.elements[index]
        raise InputError(
            f'load "{element.name}"',
            f"its {show(Quantity(element.current, 'A'))} would pull the voltage across it to "
            f"{show(Quantity(float(volts[index]), 'V'))}: the sources cannot carry it",
            "a smaller current, or less resistance on the way to it",
        )
    names = [element.name for element in equations.elements]
    outwards = numpy.where([element.emf is not None for element in equations.elements], -amps, amps) + 0.0
    return Solution(
        equations.elements,
        dict(zip(equations.nodes, unknowns.tolist())),
        dict(zip(names, outwards.tolist())),
        dict(zip(names, (volts * amps).tolist())),
    )


def thevenin(elements: list[Element], plus: str, minus: str) -> Thevenin:
    """The voltage and resistance that a meter or a new load finds between two nodes.

    The voltage is what a perfect voltmeter reads. The resistance is the slope there, volts lost per amp
    drawn: constant currents do not change it, a constant-power load counts with its own slope at the
    voltage that it has (-V2/P), so the resistance then holds for small changes only.

    Parameters
    ----------
    elements : the network, as for `solve`
    plus, minus : nodes where the red and the black lead are put

    Source: Thevenin's theorem.
    """
    equations = _Equations(elements, None)
    for node in (plus, minus):
        if node not in equations.nodes:
            raise _no_node(node, equations.nodes)
    unknowns, _ = equations.solve(TOLERANCE)
    matrix = equations.matrix.copy()
    ports = equations.ports
    equations.conduct(matrix, ports, -equations.power[ports] / equations.across(unknowns, ports) ** 2)
    a, b = equations.nodes[plus], equations.nodes[minus]
    change = equations.unknowns(equations.drawn([a], [b]), matrix)[:, 0]
    return Thevenin(
        Quantity(float(unknowns[a] - unknowns[b]), "V"), Quantity(float(change[b] - change[a]), "ohm")
    )
