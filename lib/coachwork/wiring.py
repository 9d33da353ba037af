"""Wiring: conductor, protection and disconnect for every circuit of a coach.

A conductor must carry its load without getting too hot, must be protected by a device that opens before
it does, and must not lose too many volts on the way. The device must open for the smallest fault and
survive the largest. Each of these asks for a size of its own: the largest one governs.

Which rule says how much a conductor carries is always named. No 150 % allowance is ever used: what a
device lets through for hours, the conductor carries for hours.
"""

import dataclasses
import functools
import math
import tomllib
from typing import Annotated

from coachwork import bootstrap, capacity, conductor, network
from coachwork import checks as rules
from coachwork.quantities import (
    ABOVE_ZERO,
    KINDS,
    Capacitance,
    ConductorArea,
    Count,
    Current,
    Energy,
    Fraction,
    InputError,
    InsulationRating,
    Length,
    LetThrough,
    Moment,
    Power,
    Quantity,
    Ratio,
    Resistance,
    ResistancePerLength,
    Resistivity,
    SignedCurrent,
    Temperature,
    Time,
    Voltage,
    floats,
    formula,
    kind_of,
    nearest,
    quoted,
    show,
)
from coachwork.sources import Source, table

ln = math.log
sqrt = math.sqrt
CONTINUOUS = 1.25
COPPER_K = 226
# -234.5 °C, where the straight line of IEC 60949 would reach no resistance
COPPER_ZERO = Quantity(38.65, "K")
AMP, SECOND, AMP_PER_AREA = Quantity(1.0, "A"), Quantity(1.0, "s"), Quantity(1.0, "A / mm**2")
SAME = 1 + 1e-9  # 1.25 x 12 A is 15 A, whatever the last digit of a float says

# ------------------------------------------------------------------------------- voltage drop


@formula
def voltage_drop(
    current: Current,
    length: Length,
    resistance_per_length: ResistancePerLength,
    series_resistance: Resistance = Quantity(0.0, "ohm"),
) -> Voltage:
    """Volts lost between source and load, there and back.

    Parameters
    ----------
    current : through the circuit
    length : of the run, one way; the formula counts the way back
    resistance_per_length : of the conductor, one way, at the temperature at which it works
    series_resistance : of lugs, fuse, shunt and switch together

    Source: Ohm's law (Bird, Electrical Circuit Theory and Technology, ch. 2 and 3).
    """
    return current * (2 * length * resistance_per_length + series_resistance)


@formula
def drop_share(voltage_drop: Voltage, voltage: Annotated[Voltage, ABOVE_ZERO]) -> Ratio:
    """Share of the system's voltage that is lost.

    Parameters
    ----------
    voltage_drop : volts lost, there and back
    voltage : of this system: 12.8 V of a 12 V bank, not 120 V

    Source: definition.
    """
    return voltage_drop / voltage


@formula
def area_for_drop(
    current: Current, length: Length, voltage_drop: Annotated[Voltage, ABOVE_ZERO], resistivity: Resistivity
) -> ConductorArea:
    """Smallest cross-section that loses no more than some volts.

    In circular mils, feet and ohm circular mils per foot it is the trade's CM = K x I x L / E.

    Parameters
    ----------
    current : through the circuit
    length : of the run, one way; the formula counts the way back
    voltage_drop : volts that may be lost, above 0
    resistivity : of the conductor at its temperature: the K of the trade's formula

    Source: Ohm's law; the same as the conductor formula of ABYC E-11 (from memory).
    """
    return 2 * resistivity * length * current / voltage_drop


@formula
def longest_run(
    current: Annotated[Current, ABOVE_ZERO],
    voltage_drop: Voltage,
    resistance_per_length: Annotated[ResistancePerLength, ABOVE_ZERO],
) -> Length:
    """Longest run, one way, on which a conductor loses no more than some volts.

    Parameters
    ----------
    current : through the circuit, above 0
    voltage_drop : volts that may be lost
    resistance_per_length : of the conductor, one way

    Source: Ohm's law.
    """
    return voltage_drop / (2 * current * resistance_per_length)


@dataclasses.dataclass(frozen=True)
class Tap:
    """A load that hangs on a run somewhere along it. distance : from the source, one way."""

    current: Current
    distance: Length


def area_for_taps(taps: list[Tap], voltage_drop: Voltage, resistivity: Resistivity) -> ConductorArea:
    """Cross-section of one run that feeds several loads along it, for a drop at its far end.

    Parameters
    ----------
    taps : the loads along the run
    voltage_drop : volts that may be lost at the farthest, there and back
    resistivity : of the conductor at its temperature

    Source: superposition of drops (Theraja, A Textbook of Electrical Technology, vol. III, ch. 40).
    """
    KINDS["voltage"].check(voltage_drop, "voltage drop")
    if not voltage_drop.magnitude:
        raise _refuse_zero("voltage drop", voltage_drop, "a voltage above 0", '"0.4 V"')
    moment = sum((tap.current * tap.distance for tap in taps), Quantity(0.0, "A*m"))
    return (2 * resistivity * moment / voltage_drop).to("mm**2")


@formula
def working_temperature(
    ambient: Temperature, rating: InsulationRating, current: Current, ampacity: Annotated[Current, ABOVE_ZERO]
) -> Temperature:
    """Temperature of a conductor that has carried a current for long.

    At its ampacity it is as hot as its insulation may be; below, the rise goes with the current squared.

    Parameters
    ----------
    ambient : of the air round the conductor
    rating : temperature for which the ampacity is printed: of the insulation, or of the table's last column
        where the insulation stands more than that
    current : carried for long
    ampacity : of the conductor in this ambient, under the rule by which `rating` was taken

    Source: heat balance of a conductor (Neher and McGrath 1957, simplified: resistance held constant).
    """
    return ambient + (rating - ambient) * (current / ampacity) ** 2


@formula
def joint_heat(current: Current, joint_resistance: Resistance) -> Power:
    """Heat that a joint, fuse or shunt makes.

    Parameters
    ----------
    current : through it
    joint_resistance : of one joint

    Source: Joule's law.
    """
    return current**2 * joint_resistance


@formula
def area_ratio(area: ConductorArea, than: Annotated[ConductorArea, ABOVE_ZERO]) -> Ratio:
    """How many times more copper one conductor has than another.

    Parameters
    ----------
    area : of the one
    than : area of the other

    Source: definition.
    """
    return area / than


# ------------------------------------------------------------------------------- currents


@formula
def continuous_current(current: Current) -> Current:
    """Rating that a load of three hours or more asks of conductor and device: 125 % of it.

    This workbook takes it for every circuit, because few loads of a coach are surely shorter.

    Parameters
    ----------
    current : of the load

    Source: NEC (NFPA 70) 2023 210.19(A), 210.20(A), 215.2(A).
    """
    return CONTINUOUS * current


@formula
def rms_current(current: Current, ripple_current: Current) -> Current:
    """Current that heats a conductor as much as a mean current with ripple on top.

    Parameters
    ----------
    current : mean, as a DC clamp reads it
    ripple_current : RMS of the ripple alone, 120 Hz on the DC side of a 60 Hz inverter

    Source: RMS of a sum of currents of different frequency (Bird, ch. 14 and 36).
    """
    return sqrt((current**2 + ripple_current**2) / AMP**2) * AMP


@formula
def module_ripple(
    ripple_current: Current, current: Current, bank_current: Annotated[SignedCurrent, ABOVE_ZERO]
) -> Current:
    """Ripple in one module, and so in its fuse and lead: the bank's, divided as the mean current is divided.

    Parameters
    ----------
    ripple_current : RMS of the ripple alone that the whole bank feeds
    current : mean, out of this module
    bank_current : mean, out of all modules together, above 0

    Holds while resistances alone divide the current, as where modules and leads are alike; their inductance is left out.
    Source: current divider, superposition (Bird, ch. 13); left-out inductance: common practice, no source.
    """
    return ripple_current * current / bank_current


@formula
def derated_rating(fuse_rating: Current, ambient_factor: Ratio) -> Current:
    """What a fuse carries for long in warm air.

    Parameters
    ----------
    fuse_rating : printed on it
    ambient_factor : of this fuse family at the temperature where it sits

    Source: the family's data sheet.
    """
    return fuse_rating * ambient_factor


# ------------------------------------------------------------------------------- faults


@formula
def fault_current(voltage: Voltage, resistance: Annotated[Resistance, ABOVE_ZERO]) -> Current:
    """Current through a short circuit. Inductance is left out, so it is never larger than this.

    Parameters
    ----------
    voltage : of the source, nothing connected
    resistance : of source and path together, above 0

    Source: Ohm's law, as in IEEE 946.
    """
    return voltage / resistance


@formula
def short_circuit_constant(initial_temperature: Temperature, final_temperature: Temperature) -> Ratio:
    """k of a copper conductor, in A sqrt(s)/mm2: how much fault it takes before its insulation is too hot.

    Parameters
    ----------
    initial_temperature : of the conductor before the fault, at worst its insulation's rating
    final_temperature : that the insulation may reach for up to 5 s

    Source: IEC 60949, IEC 60364-5-54 Annex A: k = 226 sqrt(ln((234.5 + T_f)/(234.5 + T_i))) for copper.
    """
    return COPPER_K * sqrt(ln((final_temperature - COPPER_ZERO) / (initial_temperature - COPPER_ZERO)))


@formula
def area_for_fault(
    current: Current, fault_time: Moment, short_circuit_constant: Annotated[Ratio, ABOVE_ZERO]
) -> ConductorArea:
    """Smallest cross-section that a fault does not overheat. No heat leaves: good for up to 5 s.

    Parameters
    ----------
    current : of the fault
    fault_time : until the device has opened
    short_circuit_constant : k in A sqrt(s)/mm2, from `short_circuit_constant`

    Source: IEC 60364-4-43, 434.5.2: S = I sqrt(t) / k.
    """
    return current * sqrt(fault_time / SECOND) / (short_circuit_constant * AMP_PER_AREA)


@formula
def withstand(area: ConductorArea, short_circuit_constant: Ratio) -> LetThrough:
    """Amps squared times seconds that a conductor stands in a fault.

    Parameters
    ----------
    area : of the conductor
    short_circuit_constant : k in A sqrt(s)/mm2

    Source: IEC 60364-4-43, 434.5.2: I2t = k2 S2.
    """
    return (short_circuit_constant * AMP_PER_AREA * area) ** 2 * SECOND


@formula
def precharge_time(resistance: Resistance, capacitance: Capacitance, charged_share: Fraction) -> Moment:
    """How long a resistor takes to charge an inverter's capacitors before its switch is closed.

    Parameters
    ----------
    resistance : of the pre-charge resistor
    capacitance : at the inverter's DC terminals
    charged_share : share of the bank's voltage that is enough, below 1; 95 % is three time constants

    Source: charging of a capacitor (Bird, ch. 18): v = V (1 - exp(-t/RC)).
    """
    return -resistance * capacitance * ln(1 - charged_share)


@formula
def stored_energy(capacitance: Capacitance, voltage: Voltage) -> Energy:
    """Energy in charged capacitors; the pre-charge resistor turns as much into heat.

    Parameters
    ----------
    capacitance : at the inverter's DC terminals
    voltage : to which it is charged

    Source: Bird, ch. 6: W = C V2 / 2.
    """
    return capacitance * voltage**2 / 2


# ------------------------------------------------------------------------------- ampacity under a named rule


@dataclasses.dataclass(frozen=True)
class _Rule:
    ampacity: str  # table of ampacity; None in it: the cap is all there is
    cap: str  # table of largest devices on small conductors
    says: str


AMPACITY_RULES = {
    "NEC 552.10": _Rule("NEC 310.16", "NEC 552.10(E)(1)", "12 V side, in a bundle, loom, cable or raceway"),
    "33 CFR 183.425": _Rule("33 CFR 183.425", "NEC 552.10(E)(1)", "12 V side, single conductors in air"),
    "NEC 310.16": _Rule("NEC 310.16", "NEC 240.4(D)", "120 V side: licensed work in many places"),
}
RULE_NOTES = {
    "NEC 552.10": "NEC 551.1 leaves the 12 V side of a coach to NFPA 1192 and ANSI/RVIA LV, which govern. "
                  "The low-voltage "
    "rule of park trailers can be read in the code book and stands in: Table 552.10(E)(1) caps devices up to "
    "10 AWG, "
    "larger sizes take NEC 310.16.",
    "33 CFR 183.425": "A boat law without force in a coach: its Table 5 is used as engineering data for "
                      "single conductors "
    "in air, without its 150 % allowance, and with the caps of Table 552.10(E)(1).",
    "NEC 310.16": "The 120 V side: ampacity with ambient and bundling, and the caps of 240.4(D).",
}
DEFAULT_RULE, AIR_RULE, AC_RULE = "NEC 552.10", "33 CFR 183.425", "NEC 310.16"
SMALLEST_TERMINAL = Quantity(60.0, "degC")
LARGE_TERMINAL = Quantity(75.0, "degC")
SMALL_CIRCUIT = Quantity(100.0, "A")
SMALLEST_PARALLEL = "1/0"
WALL = 0.75  # ampacity goes with area to this power: heat made 1/A, wall that sheds it sqrt(A)


def ampacity_rule(rule: str) -> str:
    """What an ampacity rule of this topic is, and what force it has.

    Parameters
    ----------
    rule : one of AMPACITY_RULES

    Source: NEC (NFPA 70) 2023 551.1, 552.10; 33 CFR 183.425.
    """
    _rule(rule)
    return RULE_NOTES[rule]


def _rule(rule):
    if rule not in AMPACITY_RULES:
        near = nearest(str(rule), AMPACITY_RULES)
        raise InputError("rule", f"{quoted(rule)} is not known", "one of " + ", ".join(AMPACITY_RULES),
                         f'"{near or DEFAULT_RULE}"')  # fmt: skip
    return AMPACITY_RULES[rule]


def terminal_rating(current: Current) -> InsulationRating:
    """Temperature to be taken for terminals that bear no mark: 60 °C up to 100 A, 75 °C above.

    Parameters
    ----------
    current : rating of the circuit

    Source: NEC (NFPA 70) 2023 110.14(C)(1) (from memory).
    """
    current = KINDS["current"].check(current, "current")
    return SMALLEST_TERMINAL if current <= SMALL_CIRCUIT else LARGE_TERMINAL


@dataclasses.dataclass(frozen=True)
class Ampacity:
    """What a conductor may carry, where it lies, and why no more.

    insulation : by its insulation, after ambient and bundling. terminal : by the terminals at its ends.
    cap : largest device that the rule allows on so small a conductor, None above 10 AWG.
    usable : the smallest of them, which also limits the device.
    """

    size: str
    rule: str
    insulation: Current
    terminal: Current
    cap: Current | None

    @property
    def usable(self):
        """The smallest of the limits."""
        return min(one for one in (self.insulation, self.terminal, self.cap) if one is not None)

    @property
    def governed(self):
        """The limit that is smallest: `cap`, `terminal` or `insulation`."""
        limits = {"cap": self.cap, "terminal": self.terminal, "insulation": self.insulation}
        return next(name for name, value in limits.items() if value is not None and value <= self.usable)


def ampacity(
    size: str,
    rule: str,
    marking: str,
    ambient: Temperature = conductor.AMBIENT_BASE,
    conductors: Count = 2.0,
    terminals: InsulationRating = LARGE_TERMINAL,
    per_pole: Count = 1.0,
) -> Ampacity:
    """What a conductor may carry under a rule: insulation, terminals and cap side by side.

    In air as hot as the insulation may be, `insulation` is 0: it may carry nothing there.

    Parameters
    ----------
    size : as in `conductor`
    rule : one of AMPACITY_RULES
    marking : insulation, the letters on the cable; one under an SAE standard has less copper than AWG
    ambient : of the air round the conductor
    conductors : how many carry current in the same bundle; a circuit of its own counts as two
    terminals : temperature for which the terminals are marked
    per_pole : conductors side by side in each pole; more than one only from 1/0 up (NEC 310.10(G))

    Errors: InputError for an unknown size, rule or insulation, and for small conductors in parallel.
    Source: the rule's tables; terminals NEC 110.14(C); smaller SAE cable by area to the power 0.75 (derived).
    """
    ambient = KINDS["temperature"].check(ambient, "ambient")
    terminals = KINDS["insulation rating"].check(terminals, "terminals")
    limits = _limits(conductor.size_name(size), rule, marking, ambient.magnitude, float(conductors),
                     terminals.magnitude,
                     float(per_pole))  # fmt: skip
    return Ampacity(conductor.size_name(size), rule,
                    *(None if one is None else Quantity(one, "A") for one in limits))


@functools.lru_cache(maxsize=4096)
def _limits(name, rule, marking, ambient, conductors, terminals, per_pole):
    """(insulation, terminal, cap) in A; temperatures in K. Sliders wait for this: it is worked out once."""
    parts, kind = _rule(rule), conductor.insulation(marking)
    if per_pole > 1 and conductor.area(name) * SAME < conductor.area(SMALLEST_PARALLEL):
        raise InputError("conductors in parallel", f"{per_pole:g} of {name} AWG are given",
                         "1/0 or larger (NEC 310.10(G))", '"1/0"')  # fmt: skip
    cap = conductor.overcurrent_limit(name, parts.cap)
    factor = conductor.ambient_factor(parts.ampacity, kind.dry, Quantity(ambient, "K"))
    factor *= conductor.bundling_factor(parts.ampacity, max(conductors, 1.0) * max(per_pole, 1.0))
    factor *= floats(metal_area(name, marking) / conductor.area(name), "") ** WALL
    if name in conductor.rule_sizes(parts.ampacity):
        by_insulation = conductor.base_ampacity(name, parts.ampacity, kind.dry)
        by_terminal = conductor.base_ampacity(name, parts.ampacity,
                                              min(Quantity(terminals, "K"), kind.dry.to("K")))
    elif cap is not None:  # 18 and 16 AWG have no row in NEC 310.16: the cap is their ampacity
        by_insulation = by_terminal = cap
    else:
        raise InputError("conductor size", f'"{name}" is not in the table of {rule}',
                         "one of " + ", ".join(conductor.rule_sizes(parts.ampacity)), '"10"')  # fmt: skip
    return (floats(by_insulation, "A") * factor * per_pole, floats(by_terminal, "A") * per_pole,
            None if cap is None else floats(cap, "A"))  # fmt: skip


@functools.cache
def _column(rule, marking):
    """°C of the column from which an ampacity is read: how warm a conductor gets that carries just that."""
    stands = floats(conductor.insulation(marking).dry, "degC") + 1e-6
    return max(one for one in conductor.rule_ratings(AMPACITY_RULES[rule].ampacity) if one <= stands)


def _is_sae(marking):
    return conductor.insulation(marking).standard.startswith("SAE")


def metal_area(size: str, marking: str = "") -> ConductorArea:
    """Cross-section of the copper of a size: battery and primary cable under an SAE standard has less.

    Parameters
    ----------
    size : AWG
    marking : insulation; without one, AWG is meant

    Source: ASTM B258; SAE J1127 and J1128.
    """
    return conductor.area(size, "SAE" if marking and _is_sae(marking) else "AWG")


def metal_resistance(size: str, marking: str, temperature: Temperature) -> ResistancePerLength:
    """Resistance per length of a size with an insulation, one way: SAE cable has less copper than AWG.

    Parameters
    ----------
    size : AWG
    marking : insulation
    temperature : of the conductor

    Source: `conductor.resistance_per_length`.
    """
    return conductor.resistance_per_length(size, temperature, "SAE cable" if _is_sae(marking)
                                           else "IACS stranded")


# ------------------------------------------------------------------------------- devices

DEVICES = bootstrap.ROOT / "data" / "equipment" / "fuses.toml"


@dataclasses.dataclass(frozen=True)
class Family:
    """A family of fuses or breakers, from its data sheet (data/equipment/fuses.toml says what each line
    means).
    """

    name: str
    duty: str
    ratings: tuple
    interrupt: tuple
    derating: tuple
    drop: Voltage
    opens: tuple
    terminals: InsulationRating
    let_through: Time | None = None
    load_break: bool = False
    polarised: bool = False
    alternating: bool = False

    def ambient_factor(self, ambient):
        """Share of a rating that it carries for long in air of a temperature; 0 above its sheet's last
        line.
        """
        celsius = floats(KINDS["temperature"].check(ambient, "ambient"), "degC")
        points = [(floats(at, "degC"), share) for at, share in self.derating]
        if celsius <= points[0][0]:
            return points[0][1]
        for (low, one), (high, other) in zip(points, points[1:]):
            if celsius <= high:
                return one + (other - one) * (celsius - low) / (high - low)
        return 0.0

    @property
    def voltage(self):
        """Largest direct voltage at which it may be used; 0 V where it is rated for alternating current
        only.
        """
        return Quantity(0.0, "V") if self.alternating else max(voltage for voltage, _ in self.interrupt)

    def interrupt_rating(self, voltage):
        """Largest fault current that it breaks at a direct voltage; 0 A above its rating, or if that is AC
        only.
        """
        found = [current for at, current in self.interrupt if voltage <= at * SAME and not self.alternating]
        return max(found, default=Quantity(0.0, "A"))

    def resistance(self, fuse_rating):
        """Resistance of one with its holder."""
        return (self.drop / fuse_rating).to("mohm")

    def opens_within(self, multiple):
        """Seconds in which it has opened at a multiple of its rating; infinite where the sheet promises
        nothing.
        """
        if multiple < self.opens[0][0]:
            return Quantity(math.inf, "s")
        for (low, slow), (high, fast) in zip(self.opens, self.opens[1:]):
            if multiple <= high:
                part = ln(multiple / low) / ln(high / low)
                return Quantity(floats(slow, "s") ** (1 - part) * floats(fast, "s") ** part, "s")
        return self.opens[-1][1].to("s")

    def passes(self, fuse_rating, fault):
        """A2s that it lets through before a fault is over."""
        multiple = floats(fault / fuse_rating, "")
        by_time = fault**2 * self.opens_within(multiple)
        if self.let_through is None or multiple < self.opens[-1][0]:
            return by_time.to("A**2*s")
        return (fuse_rating**2 * self.let_through).to("A**2*s")

    def next_rating(self, current, ambient):
        """The smallest rating that still carries a current for long in this ambient; None where there is
        none.
        """
        factor = self.ambient_factor(ambient)
        return next((one for one in self.ratings if derated_rating(one, factor) * SAME >= current), None)


@dataclasses.dataclass(frozen=True)
class Switch:
    """A switch or contactor. make_break : largest current that it may open; None: none."""

    name: str
    continuous: Current
    voltage: Voltage
    resistance: Resistance
    polarised: bool
    make_break: Current | None = None


@functools.cache
def _equipment():
    sheets = tomllib.loads(DEVICES.read_text(encoding="utf-8"))

    def read(hint, value, place):
        kind = kind_of(hint)
        return kind.read(value, place) if kind else value

    def pairs(rows, first, second):
        return tuple((KINDS[first[1]].read(row[first[0]], first[0]),
                      KINDS[second[1]].read(row[second[0]], second[0]))
                     for row in rows)  # fmt: skip

    families, switches = {}, {}
    for row in sheets["family"]:
        values = {name: read(Family.__annotations__[name], value, name) for name, value in row.items()}
        values["ratings"] = tuple(KINDS["current"].read(one, "ratings").to("A") for one in row["ratings"])
        values["interrupt"] = pairs(row["interrupt"], ("voltage", "voltage"), ("current", "current"))
        values["derating"] = pairs(row["derating"], ("ambient", "temperature"), ("share", "fraction"))
        values["opens"] = pairs(row["opens"], ("multiple", "ratio"), ("within", "time"))
        families[row["name"]] = Family(**values)
    for row in sheets["switch"]:
        switches[row["name"]] = Switch(**{name: read(Switch.__annotations__[name], value, name) for name,
                                          value in row.items()})
    return families, switches


def families() -> dict:
    """The invented families of fuses and breakers, by name.

    Source: invented; bounds named in data/equipment/fuses.toml.
    """
    return _equipment()[0]


def family(name: str) -> Family:
    """One of `families`.

    Parameters
    ----------
    name : such as "class T fuse"

    Source: invented.
    """
    return _named(name, families(), "fuse family", "class T fuse")


def interrupt_rating(device: str, voltage: Voltage) -> Current:
    """Largest fault current that a family of devices breaks at a direct voltage; 0 A where it is not rated
    for that.

    Parameters
    ----------
    device : name of a family, such as "blade fuse"
    voltage : highest direct voltage across it

    Source: data/equipment/fuses.toml, invented within published bounds.
    """
    return family(device).interrupt_rating(voltage)


def switches() -> dict:
    """The invented switches, by name.

    Source: invented.
    """
    return _equipment()[1]


def _named(name, known, place, example):
    if name not in known:
        near = nearest(str(name), known)
        raise InputError(place, f"{quoted(name)} is not known", "one of " + ", ".join(known),
                         f'"{near or example}"')
    return known[name]


def family_for(current: Current, ambient: Temperature, voltage: Voltage, fault: Current) -> str:
    """Name of the first family that makes a device for a current, and breaks a fault at a voltage.

    Parameters
    ----------
    current : 125 % of the load
    ambient : where it sits
    voltage : highest charge voltage
    fault : largest fault current that can flow through it

    Errors: InputError where none does. Source: data/equipment/fuses.toml, least interrupt rating first.
    """
    for name, one in families().items():
        breaks = one.voltage * SAME >= voltage and one.interrupt_rating(voltage) >= fault
        if breaks and one.next_rating(current, ambient) is not None:
            return name
    raise InputError("device", f"no family here carries {show(current)} and breaks {show(fault)} at "
                               f"{show(voltage)}",
                     "less fault current or less load: a longer or thinner feed, two circuits, or a higher "
                     "voltage")  # fmt: skip


def part_resistance(part: str) -> Resistance:
    """Typical resistance of what stands in series with a conductor.

    Parameters
    ----------
    part : a row of data/tables/series_parts.csv, such as "bolted lug"

    Source: common practice, no source.
    """
    return table("series_parts").row(part=part)["resistance"]


def drop_classes() -> list:
    """Names of the classes of allowed drop.

    Source: data/tables/drop_classes.csv.
    """
    return table("drop_classes").column("class")


def drops() -> list[dict]:
    """The classes of allowed drop with what they are for, source and status: rows for a table.

    Source: data/tables/drop_classes.csv, each row with its own.
    """
    return [{"class": row["class"], "may lose": row["share"], "what it is for": row["what it is for"],
             "source": row["source"], "status": row["row status"]} for row in table("drop_classes").rows]


def workmanship() -> list[dict]:
    """Facts of good work with source and status: rows for a table.

    Source: data/tables/workmanship.csv, each row with its own.
    """
    return [{"what": row["what"], "how": row["how"], "source": row["source"], "status": row["row status"]}
            for row in table("workmanship").rows]  # fmt: skip


PRINTED = (("NEC", "NEC 310.16", 60), ("NEC", "NEC 310.16", 75), ("NEC", "NEC 310.16", 90),
           ("boat", "33 CFR 183.425", 75), ("boat", "33 CFR 183.425", 105))  # fmt: skip


def ampacities() -> list[dict]:
    """What the sizes carry in air of 30 °C as the rules print it, and the largest device on small ones: rows for a table.

    Source: NEC (NFPA 70) 2023 Table 310.16; 33 CFR 183.425 Table 5; NEC Table 552.10(E)(1) (from memory).
    """
    return [{"AWG": size, **{f"{words} {rating} °C": conductor.base_ampacity(size, rule, Quantity(float(rating), "degC"))
                             for words, rule, rating in PRINTED},
             "largest device": conductor.overcurrent_limit(size, "NEC 552.10(E)(1)")}
            for size in SIZES if size in conductor.rule_sizes("NEC 310.16")]  # fmt: skip


def air_factors() -> list[dict]:
    """What warm air leaves of an ampacity, and of a rating of each family for direct current: rows for a table.

    Source: NEC (NFPA 70) 2023 Table 310.15(B)(1)(1); the boat table by `conductor.temperature_correction`;
    data/equipment/fuses.toml, invented.
    """
    air = [Quantity(celsius, "degC") for celsius in (30.0, 40.0, 50.0, 60.0)]
    rows = [(f"wire: {words}, {rating} °C", [conductor.ambient_factor(rule, Quantity(float(rating), "degC"), one) for one in air])
            for words, rule, rating in PRINTED]  # fmt: skip
    rows += [(name, [one.ambient_factor(at) for at in air]) for name, one in families().items() if not one.alternating]
    return [{"what": what, **{show(at): factor for at, factor in zip(air, factors)}} for what, factors in rows]


def allowed_drop(drop_class: str) -> Fraction:
    """Share of the voltage that a circuit of a class may lose, there and back, at its full current.

    Parameters
    ----------
    drop_class : "charging", "critical" or "other"

    Source: data/tables/drop_classes.csv, each row with its own.
    """
    return floats(_drop_row(drop_class)["share"], "")


def _drop_row(drop_class):
    known = {row["class"]: row for row in table("drop_classes").rows}
    return _named(drop_class, known, "drop class", "critical")


# ------------------------------------------------------------------------------- choosing a conductor

AMPS_ABOVE = '"12 A"'


def _refuse_zero(place, value, wanted, example):
    return InputError(place, f'"{show(value)}" is given', wanted, example)


@dataclasses.dataclass(frozen=True)
class Run:
    """What a circuit asks of its conductors.

    current : most for long. length : one way. voltage : of the system. drop : share that may be lost.
    marking, rule, ambient, conductors, terminals, per_pole : as in `ampacity`. device : fuse family, and
    fuse : rating of its device, None to have it chosen.
    ripple : RMS of the ripple on top. surge : most for a moment, and surge_drop : volts that may then be
        lost.
    fault : largest fault current at the device. returns : "wire", or "chassis" where the frame is the way
        back.
    """

    current: Current
    length: Length
    voltage: Voltage = Quantity(12.8, "V")
    drop: Fraction = 0.03
    marking: str = "BC-5W2"
    rule: str = DEFAULT_RULE
    ambient: Temperature = Quantity(104.0, "degF")
    conductors: Count = 2.0
    terminals: InsulationRating = LARGE_TERMINAL
    per_pole: Count = 1.0
    device: str = "stud fuse"
    fuse: Current | None = None
    ripple: Current = Quantity(0.0, "A")
    surge: Current | None = None
    surge_drop: Voltage | None = None
    fault: Current | None = None
    returns: str = "wire"

    def __post_init__(self):
        for name, example in (("current", AMPS_ABOVE), ("length", '"12 ft"'), ("voltage", '"12.8 V"')):
            value = KINDS[name].check(getattr(self, name), name)
            if not value.magnitude > 0:
                raise _refuse_zero(name, value, f"a {name} above 0", example)
        KINDS["temperature"].check(self.ambient, "ambient")
        if not 0 < KINDS["ratio"].check(self.drop, "drop") <= 1:
            raise InputError("drop allowance", f'"{show(Quantity(100 * self.drop, "percent"))}" is given',
                             "a share above 0 and at most 100 %", '"3 %"')  # fmt: skip
        _rule(self.rule)
        family(self.device)
        conductor.insulation(self.marking)
        if self.returns not in ("wire", "chassis"):
            raise InputError("returns", f"{quoted(self.returns)} is given", '"wire" or "chassis"', '"wire"')
        for name in ("conductors", "per_pole"):
            value = getattr(self, name)
            if value < 1 or value != int(value):
                raise InputError(name, f"{quoted(value)} is given", "a whole number from 1", '"2"')

    @functools.cached_property
    def heating(self):
        """The current that heats: RMS of mean and ripple."""
        return rms_current(self.current, self.ripple)

    @functools.cached_property
    def asked(self):
        """What conductor and device must carry for long: 125 % of the current that heats."""
        return continuous_current(self.heating)


@dataclasses.dataclass(frozen=True)
class Fit:
    """One size in one run: what it carries, how warm it gets, what it loses, and which demands it misses."""

    size: str
    ampacity: Ampacity
    temperature: Temperature | None
    drop: Voltage | None
    share: Ratio | None
    misses: tuple


@dataclasses.dataclass(frozen=True)
class Choice:
    """The smallest size that meets every demand of a run.

    fuse : rating of its device. governed : the demands that a size smaller would miss, in words.
    smallest : for each demand the smallest size that meets it, None where no listed size does.
    """

    size: str
    per_pole: Count
    fuse: Current
    device: str
    governed: tuple
    fit: Fit
    smallest: dict

    @property
    def label(self):
        """The size in words: `6 AWG`, `2 x 1/0 AWG`."""
        return size_label(self.size, self.per_pole)


def size_label(size: str, per_pole: Count = 1.0) -> str:
    """A size in words: `6 AWG`, `2 x 1/0 AWG`.

    Parameters
    ----------
    size : as in `conductor`
    per_pole : conductors side by side in each pole

    Source: none.
    """
    name = conductor.size_name(size)
    return (f"{per_pole:g} x " if per_pole > 1 else "") + (name if " " in name else f"{name} AWG")


# 16: smallest run singly
SIZES = ("16", "14", "12", "10", "8", "6", "4", "3", "2", "1", "1/0", "2/0", "3/0", "4/0")
LUG_FROM = "8"
DEMANDS = {
    "ampacity": "insulation in this ambient and bundle",
    "terminals": "terminals at its ends",
    "protection": "the next device that the family makes",
    "drop": "voltage drop at normal load",
    "surge": "voltage drop at surge",
    "short circuit": "heat of a fault until the device opens",
    "mechanics": "smallest size that is run singly",
}


def joints(size: str) -> Resistance:
    """Resistance of the joints of a circuit: a lug or crimp terminal at each of its four ends.

    Parameters
    ----------
    size : of its conductors

    Source: data/tables/series_parts.csv, common practice, no source.
    """
    large = conductor.area(size) >= conductor.area(LUG_FROM) * (1 / SAME)
    return 4 * part_resistance("bolted lug" if large else "crimp terminal")


def path_resistance(
    size: str, run: Run, temperature: Temperature, fuse: Current | None = None, bare: bool = False,
    aged: bool = False
) -> Resistance:
    """Resistance of a circuit there and back, with its joints and its fuse.

    Parameters
    ----------
    size : of its conductors
    run : the circuit
    temperature : of the conductors
    fuse : rating of its device, None for none
    bare : copper alone, for the largest fault current
    aged : with a corroded chassis return, for the smallest

    Source: resistances in series.
    """
    celsius = floats(KINDS["temperature"].check(temperature, "temperature"), "degC")
    series = 0.0 if fuse is None else floats(family(run.device).resistance(fuse), "ohm")
    return Quantity(_path(_copper(conductor.size_name(size), run.marking), run, celsius, series, bare, aged),
                    "ohm")


def _path(copper, run, celsius, fuse_ohms, bare=False, aged=False):
    """`path_resistance` in floats: degrees Celsius in, ohms out."""
    meters = floats(run.length, "m")
    back = one_way = copper.ohms(celsius) * meters / run.per_pole
    if run.returns == "chassis":
        back = 0.0 if bare else floats(part_resistance("chassis return aged" if aged else "chassis return"),
                                       "ohm")
    return one_way + back if bare else one_way + back + copper.joints / run.per_pole + fuse_ohms


@dataclasses.dataclass(frozen=True)
class _Copper:
    """What a size with an insulation is, in floats: ohm/m at 20 °C and for each kelvin, joints in ohm,
    A2s.
    """

    size: str
    at_20: float
    per_kelvin: float
    joints: float
    stands: float
    dry: float

    def ohms(self, celsius):
        """Ohms for each meter, one way: copper's resistance is a straight line."""
        return self.at_20 + self.per_kelvin * (celsius - 20.0)


@functools.cache
def _copper(size, marking):
    kind = conductor.insulation(marking)
    at = [floats(metal_resistance(size, marking, Quantity(one, "degC")), "ohm/m") for one in (20.0, 120.0)]
    stands = withstand(metal_area(size, marking), short_circuit_constant(kind.dry, kind.final))
    return _Copper(size, at[0], (at[1] - at[0]) / 100, floats(joints(size), "ohm"),
                   floats(stands, "A**2*s"), floats(kind.dry, "degC"))  # fmt: skip


def fit(size: str, run: Run, fuse: Current | None) -> Fit:
    """One size held against every demand of a run.

    Parameters
    ----------
    size : of the conductors
    run : the circuit
    fuse : rating of its device, None where there is none

    Source: the functions above.
    """
    celsius, volts, missed = _fit(conductor.size_name(size), run, fuse)
    may = ampacity(size, run.rule, run.marking, run.ambient, run.conductors, run.terminals, run.per_pole)
    temperature = drop = share = None
    if celsius is not None:
        temperature, drop = Quantity(celsius, "degC"), Quantity(volts, "V")
        share = drop_share(drop, run.voltage)
    return Fit(may.size, may, temperature, drop, share, missed)


def _fit(name, run, fuse):
    """(°C or None where it would be too hot, volts lost, demands missed) of a size; floats, for sliders wait
    for it.
    """
    heating, asked, ambient = floats(run.heating, "A"), floats(run.asked, "A"), run.ambient.to("K").magnitude
    insulation, terminal, cap = _limits(name, run.rule, run.marking, ambient, float(run.conductors),
                                        run.terminals.to("K").magnitude, float(run.per_pole))  # fmt: skip
    copper, missed, celsius, volts = _copper(name, run.marking), [], None, None
    if insulation * SAME < heating or not insulation:
        missed.append("ampacity")
    if terminal * SAME < asked:
        missed.append("terminals")
    usable = min(insulation, terminal, math.inf if cap is None else cap)
    if fuse is not None and usable * SAME < floats(fuse, "A"):
        missed.append("protection")
    series = 0.0 if fuse is None else floats(family(run.device).resistance(fuse), "ohm")
    if "ampacity" not in missed:
        air = ambient - 273.15
        celsius = air + (_column(run.rule, run.marking) - air) * (heating / insulation) ** 2
        ohms = _path(copper, run, celsius, series)
        volts = floats(run.current, "A") * ohms
        if volts > run.drop * floats(run.voltage, "V") * SAME:
            missed.append("drop")
        if None not in (run.surge, run.surge_drop) and run.surge * Quantity(ohms, "ohm") > run.surge_drop * SAME:
            missed.append("surge")
    if None not in (run.fault, fuse):
        let_through = floats(family(run.device).passes(fuse, run.fault), "A**2*s")
        if let_through > copper.stands * run.per_pole**2 * SAME:
            missed.append("short circuit")
    if _is_thin(name):
        missed.append("mechanics")
    return celsius, volts, tuple(missed)


@functools.cache
def _is_thin(name):
    return bool(conductor.area(name) * SAME < conductor.area(SIZES[0]))


def _stands(size, run):
    copper = _copper(conductor.size_name(size), run.marking)
    return Quantity(copper.stands * run.per_pole**2, "A**2*s")


def device_for(run: Run) -> Current:
    """Rating of the device of a run: as decided, else the next that its family makes for 125 % of the load,
    derated.

    Parameters
    ----------
    run : the circuit

    Errors: InputError where the family makes none so large.
    Source: NEC (NFPA 70) 2023 210.20(A) and 215.3 for the 125 %; the family's data sheet.
    """
    rating = run.fuse or family(run.device).next_rating(run.asked, run.ambient)
    if rating is None:
        largest = family(run.device).ratings[-1]
        raise InputError("device", f"the largest {run.device} is {show(largest)}, and 125 % of the load is "
                                   f"{show(run.asked)} "
                         f"at {show(run.ambient)}", "another family, two circuits, or a higher voltage",
                         '"class T fuse"')  # fmt: skip
    return rating


def choose(run: Run) -> Choice:
    """The smallest conductor that meets every demand of a run, its device, and what governed.

    1.25 x load <= next rating of the family, after its ambient derating <= what conductor and terminals
    carry.

    Parameters
    ----------
    run : the circuit

    Errors: InputError where no listed size passes, saying what would help.
    Source: the functions above.
    """
    fuse = device_for(run)
    fits = {size: _fit(size, run, fuse) for size in SIZES if _listed(size, run.marking, run.per_pole)}
    smallest = {}
    for demand in DEMANDS:
        smallest[demand] = next((size for size, (celsius, _, missed) in fits.items() if demand not in missed
                                 and (celsius is not None or demand not in ("drop", "surge"))), None)
    size = next((one for one, (_, _, missed) in fits.items() if not missed), None)
    if size is None:
        raise _no_size(run, fuse, smallest)
    return Choice(size, run.per_pole, fuse, run.device, governing(size, run, fuse), fit(size, run, fuse),
                  smallest)


def governing(size: str, run: Run, fuse: Current | None) -> tuple:
    """What the next smaller size would miss: the demands that made a conductor as large as it is; empty if
    none did.

    Parameters
    ----------
    size : of the conductors
    run : the circuit
    fuse : rating of its device

    Source: `fit`.
    """
    place = SIZES.index(conductor.size_name(size)) if conductor.size_name(size) in SIZES else 0
    smaller = [one for one in SIZES[:place] if _listed(one, run.marking, run.per_pole)]
    return _fit(smaller[-1], run, fuse)[2] if smaller else ("mechanics",)


@functools.cache
def _listed(size, marking, per_pole):
    """Whether the tables know a size of this cable, and whether so many may run side by side."""
    sae = _is_sae(marking) and size not in table("sae_cable").column("size")
    parallel = per_pole > 1 and conductor.gauge_number(size) > conductor.gauge_number(SMALLEST_PARALLEL)
    return not sae and not parallel


def _no_size(run, fuse, smallest):
    kind = conductor.insulation(run.marking)
    if run.ambient >= kind.dry:
        return InputError("ambient", f"{show(run.ambient)} is as hot as {run.marking} insulation may be "
                          f"({show(kind.dry)}), so its ampacity is zero",
                          "a cooler way, or an insulation rated higher",
                          '"SGX"')  # fmt: skip
    lacking = [name for name in DEMANDS if smallest[name] is None]
    helps = []
    if {"drop", "surge"} & set(lacking):
        helps.append("a shorter run")
    helps += ["a higher system voltage", f"two or more conductors of {SMALLEST_PARALLEL} AWG or larger in "
                                         f"parallel"]
    words = "; ".join(f"{name}: {DEMANDS[name]}" for name in lacking) or "all demands together"
    return InputError("conductor size", f"no listed size up to {SIZES[-1]} AWG passes for "
                                        f"{show(run.current)} over "
                      f"{show(run.length)} with a device of {show(fuse)} ({words})", " or ".join(helps))


@dataclasses.dataclass(frozen=True)
class Step:
    """One step of the stair from source to load: what it is, the volts lost in it, the volts left after
    it.
    """

    part: str
    lost: Voltage
    left: Voltage


def stair(size: str, run: Run, fuse: Current | None) -> list[Step]:
    """Where the volts of a circuit go, from its source to its load and back.

    Parameters
    ----------
    size : of the conductors
    run : the circuit
    fuse : rating of its device, None for none

    A conductor that would be hotter than its insulation allows counts as that hot.
    Source: resistances in series.
    """
    name = conductor.size_name(size)
    copper, celsius = _copper(name, run.marking), _fit(name, run, fuse)[0]
    series = 0.0 if fuse is None else floats(family(run.device).resistance(fuse), "ohm")
    whole = _path(copper, run, copper.dry if celsius is None else celsius, series)
    one_way = copper.ohms(copper.dry if celsius is None else celsius) * floats(run.length, "m") / run.per_pole
    sound = copper.joints / run.per_pole
    parts = {"fuse": series, "joints": sound, "way out": one_way,
             "way back": whole - series - sound - one_way}
    left, steps, amps = run.voltage.to("V"), [], run.current.to("A")
    for part, ohms in parts.items():
        lost = (amps * Quantity(ohms, "ohm")).to("V")
        left = left - lost
        steps.append(Step(part, lost, left))
    return steps


@dataclasses.dataclass(frozen=True)
class Reach:
    """How far one size goes before its drop is too large; misses : what else it misses, whatever the
    length.
    """

    size: str
    longest: Length
    misses: tuple


def reaches(run: Run) -> list[Reach]:
    """For every listed size, the longest run on which it meets the drop, and what it misses at any length.

    Parameters
    ----------
    run : the circuit; its length does not count

    Source: `choose`, turned round.
    """
    fuse = device_for(run)
    volts, amps = run.drop * floats(run.voltage, "V"), floats(run.current, "A")
    series, found = floats(family(run.device).resistance(fuse), "ohm"), []
    for size in SIZES:
        if not _listed(size, run.marking, run.per_pole):
            continue
        celsius, _, missed = _fit(size, run, fuse)
        copper, meters = _copper(size, run.marking), 0.0
        if celsius is not None:
            each = (2 if run.returns == "wire" else 1) * copper.ohms(celsius) / run.per_pole
            back = 0.0 if run.returns == "wire" else floats(part_resistance("chassis return"), "ohm")
            meters = max(0.0, (volts / amps - series - copper.joints / run.per_pole - back) / each)
        others = tuple(one for one in missed if one not in ("drop", "surge"))
        found.append(Reach(size, Quantity(meters, "m"), others))
    return found


# ------------------------------------------------------------------------------- two bounds of a fault

COLD_COPPER = Quantity(0.0, "degF")  # colder copper than a crew works in: resistance no lower than this
# of a module's stated resistance, warm, new and without its electronics: on the safe side, no source
WARM_SHARE = 0.6
COLD_AGED = 4.0  # times the stated resistance, cold, aged and nearly empty: on the safe side, no source
LOW_CHARGE = 0.10
CLEARED_WITHIN = Quantity(5.0, "s")  # as far as k2S2 holds (IEC 60364-4-43)
# an ordinary starter battery
STARTER_VOLTAGE, STARTER_RESISTANCE = Quantity(14.4, "V"), Quantity(5.0, "mohm")


@dataclasses.dataclass(frozen=True)
class Bound:
    """A source as a fault sees it: a voltage behind a resistance, and chargers that add their own current."""

    voltage: Voltage
    resistance: Resistance
    chargers: Current = Quantity(0.0, "A")

    def into(self, path):
        """Current into a short circuit at the end of a path of some resistance."""
        return fault_current(self.voltage, self.resistance + path) + self.chargers


def highest_bound(arrangement, chargers: Current = Quantity(0.0, "A")) -> Bound:
    """What the largest fault current at a bank's take-off comes from, for the interrupt check.

    Full and at its highest charge voltage, all modules warm and new, cold copper, sound joints, chargers
    feeding; no credit for the modules' own protection.

    Parameters
    ----------
    arrangement : of `capacity`
    chargers : what all chargers give together

    Source: Thevenin's theorem by `network`; the shares of resistance are this workbook's, no source.
    """
    return _bank_bound(arrangement, range(1, arrangement.parallel + 1), arrangement.charge_voltage,
                       WARM_SHARE, chargers)


def lowest_bound(arrangement, strings: Count = 1.0) -> Bound:
    """What the smallest fault current comes from, for the clearing check: nearly empty, aged and cold
    modules.

    Parameters
    ----------
    arrangement : of `capacity`
    strings : how many of its strings are left to feed the fault; one is the least

    Source: as for `highest_bound`.
    """
    rest = capacity.open_circuit_voltage(arrangement.module.chemistry, LOW_CHARGE,
                                         arrangement.module.cells * arrangement.series)  # fmt: skip
    left = range(arrangement.parallel - int(strings) + 1, arrangement.parallel + 1)
    return _bank_bound(arrangement, left, rest, COLD_AGED, Quantity(0.0, "A"))


def _bank_bound(arrangement, places, voltage, share, chargers, at=("plus", "minus")):
    inside = capacity.bank_resistance(arrangement.module.resistance, arrangement.series, 1) * share
    branches = [capacity.Branch(voltage, inside, on=place in places)
                for place in range(1, arrangement.parallel + 1)]
    elements = capacity.bank_elements(branches, arrangement.take_off, arrangement.lead)
    found = network.thevenin(elements, *at)
    return Bound(found.voltage, found.resistance, chargers)


def fault_along(bound: Bound, size: str, marking: str, temperature: Temperature, length: Length) -> Current:
    """Fault current at the end of a run without joints or fuse; an array of lengths gives an array of
    currents.

    Parameters
    ----------
    bound : the source
    size : of the conductors, there and back
    marking : their insulation
    temperature : of the conductors
    length : of the run, one way

    Source: Ohm's law.
    """
    ohms = 2 * metal_resistance(size, marking, temperature) * length
    return fault_current(bound.voltage, bound.resistance + ohms) + bound.chargers


@dataclasses.dataclass(frozen=True)
class ModuleFaults:
    """Fault currents at the fuse of a module.

    own : out of the module itself, into a short circuit behind its fuse. others : out of all other modules
        and the
    chargers, back into a short circuit at this module. lowest : out of one aged and cold module.
    """

    own: Current
    others: Current
    lowest: Current

    @property
    def most(self):
        """What its fuse must be able to break."""
        return max(self.own, self.others)


def module_faults(arrangement, chargers: Current = Quantity(0.0, "A")) -> ModuleFaults:
    """Fault currents at the fuse of each module; of all modules the worst.

    Parameters
    ----------
    arrangement : of `capacity`
    chargers : what all chargers give together

    Source: as for `highest_bound`.
    """
    inside = capacity.bank_resistance(arrangement.module.resistance, arrangement.series, 1)
    own = fault_current(arrangement.charge_voltage, inside * WARM_SHARE)
    others = chargers
    for place in range(1, arrangement.parallel + 1):
        rest = [one for one in range(1, arrangement.parallel + 1) if one != place]
        if rest:
            bound = _bank_bound(arrangement, rest, arrangement.charge_voltage, WARM_SHARE, chargers,
                                (f"plus {place}", f"minus {place}"))  # fmt: skip
            others = max(others, bound.into(Quantity(0.0, "ohm")))
    low = lowest_bound(arrangement)
    return ModuleFaults(own, others, low.into(Quantity(0.0, "ohm")))


# ------------------------------------------------------------------------------- the wire schedule

PRACTICE = "common practice, no source"
BANK, OWN_CELL = "bank", "own cell"
OTHER_SOURCES = ("starter battery", "tow connector", "tow vehicle")
CHARGES = ("charger", "array", "alternator", "converter", "tow charge line", "emergency-start solenoid")
CRITICAL = ("breakaway brake", "LP gas detector", "carbon monoxide alarm", "smoke alarm", "inverter", "bank")
ALWAYS_FED = {"LP gas detector": "gas", "carbon monoxide alarm": "gas", "smoke alarm": "fire", "breakaway brake": ""}
IN_AIR = ("bank", "inverter", "alternator", "emergency-start solenoid", "chassis return")
AMBIENT = Quantity(104.0, "degF")
NEW_INSULATION, OLD_INSULATION, AC_INSULATION = "BC-5W2", "GPT", "THWN-2"
NEAR_SOURCE = Quantity(18.0, "in")
BOND_AT_LEAST = "8"
FEEDER_AND_BRANCH = 0.05
LARGEST_BLADE = Quantity(40.0, "A")
# cold open circuit over full power: 1.2 by the cell, 1.25 by the cold (NEC Table 690.7(A)); lesson 05 has it
ARRAY_COLD = 1.5
AC_DEVICE = "AC branch breaker"
NO_DEVICE = "class T fuse"  # stands in a run that has no device: nothing is asked of it
NO_OHMS, NO_AMPS = Quantity(0.0, "ohm"), Quantity(0.0, "A")
SHUNTS = (100.0, 200.0, 300.0, 500.0, 1000.0)  # A at 50 mV
SHUNT_SHARE = 2 / 3  # of its rating that a shunt carries for long: common practice, no source


@dataclasses.dataclass(frozen=True)
class Row:
    """One line of the wire schedule; None where it does not apply.

    current : most for long, and heating : its RMS where ripple comes on top. drop_total : from the bank's
        posts.
    fault_most, fault_least : the two bounds. at : where its device sits. assumed : values that are proposals.
    """

    name: str
    start: str
    end: str
    existing: str
    length: Length
    current: Current
    heating: Current
    size: str | None
    insulation: str | None
    rule: str
    ampacity: Current | None
    temperature: Temperature | None
    drop: Voltage | None
    share: Fraction | None
    share_total: Fraction | None
    device: str | None
    fuse: Current | None
    at: str
    interrupt: Current | None
    fault_most: Current | None
    fault_least: Current | None
    opens: Time | None
    governed: str
    checks: tuple
    assumed: tuple = ()

    @property
    def verdict(self):
        """The worst verdict of its checks; "not checked" where none is missed, but nobody knows the fault that its
        device must break.
        """
        verdicts = [check.verdict for check in rules.misses_first(self.checks)]
        blank = self.device is not None and None in (self.interrupt, self.fault_most)
        if blank and verdicts[:1] != [rules.MISSES]:
            return "not checked"
        return verdicts[0] if verdicts else "not the bank's"


@dataclasses.dataclass(frozen=True, eq=False)
class Study:
    """Everything this topic says of a coach.

    rows : the wire schedule. highest, lowest : the bank in a fault. modules : faults at the fuse of a module.
    bus_current : through main fuse, main switch and shunt. assumed : names of decisions that are proposals.
    """

    rows: tuple
    highest: Bound
    lowest: Bound
    modules: ModuleFaults
    bus_current: Current
    assumed: tuple

    def row(self, name):
        """The row of a circuit by its name."""
        return _named(name, {row.name: row for row in self.rows}, "circuit", "Inverter feed")


class _Plan:
    """A coach's circuits as a tree from the bank outwards, proposals filled in where nothing is decided."""

    def __init__(self, coach):
        self.coach, self.wiring = coach, coach.wiring
        self.bank = capacity.arrangement(coach)
        self.circuits = [one for one in coach.circuits if one.existing != "remove"]
        self.by_name = {one.name: one for one in self.circuits}
        self.voltage = coach.capacity.nominal_voltage
        self.ambient = AMBIENT if self.wiring.ambient is None else self.wiring.ambient
        self.terminals = self.wiring.terminals
        chargers = [self.current(one) for one in self.circuits if one.purpose in CHARGES
                    and self.on_bank(one)]
        self.highest = highest_bound(self.bank, sum(chargers, Quantity(0.0, "A")))
        self.lowest = [lowest_bound(self.bank, strings) for strings in range(1, self.bank.parallel + 1)]
        self.faults = module_faults(self.bank, sum(chargers, Quantity(0.0, "A")))
        self.proposals = {}  # circuit name: {field: value}
        self.chosen = {}

    # ---- where a circuit hangs

    @staticmethod
    def current(circuit):
        """The current it is designed for."""
        return (circuit.limit or circuit.current).to("A")

    @functools.cached_property
    def feeder(self):
        """Node to the circuit that feeds it, from the bank outwards; the bank feeds itself."""
        found, grew = {BANK: None}, True
        while grew:
            grew = False
            for one in self.circuits:
                if one.purpose in CHARGES or one.purpose == "chassis return" or one.voltage is not None:
                    continue
                if one.from_ in found and one.to not in found:
                    found[one.to], grew = one, True
        return found

    def source_end(self, circuit):
        """The end from which the bank, or another source, drives a fault into it."""
        if circuit.purpose in CHARGES and circuit.to in self.feeder:
            return circuit.to
        return circuit.from_

    def on_bank(self, circuit):
        """Whether a fault in it is fed by the house bank."""
        return self.source_end(circuit) in self.feeder

    def upstream(self, node):
        """Circuits between the bank and a node, the nearest to the bank first."""
        found = []
        while self.feeder.get(node) is not None:
            found.append(self.feeder[node])
            node = self.feeder[node].from_
        return found[::-1]

    # ---- decisions and proposals

    def value(self, circuit, field, proposal):
        """What the file decides for a field, else the proposal, which is then remembered as assumed."""
        decided = getattr(circuit, field)
        if decided is not None:
            return decided
        self.proposals.setdefault(circuit.name, {})[field] = proposal
        return proposal

    def size(self, circuit, proposal):
        """The size decided, else proposed, as the tables name it."""
        return conductor.size_name(self.value(circuit, "size", f"{proposal} AWG"))

    def drop_class(self, circuit):
        """Class of its drop: decided, else by purpose; one that feeds others is critical, for its drop comes
        on top.
        """
        feeds = circuit.purpose not in CHARGES and any(one.from_ == circuit.to for one in self.circuits)
        proposal = "charging" if circuit.purpose in ("charger", "array", "alternator", "converter") else \
            "critical" if circuit.purpose in CRITICAL or feeds else "other"  # fmt: skip
        return circuit.drop or proposal

    def device_family(self, circuit, asked, ambient):
        """Family of its device: decided; else assumed for one that is there; else the first that will do."""
        if circuit.purpose == "chassis return":
            return None
        if circuit.rule == AC_RULE:
            return self.value(circuit, "device", AC_DEVICE)
        if circuit.existing and circuit.fuse is not None:
            return self.value(circuit, "device", "blade fuse" if circuit.fuse <= LARGEST_BLADE
                              else "bolt-down fuse")
        if circuit.device is not None:
            return circuit.device
        fault = self.most(circuit) or Quantity(0.0, "A")
        return self.value(circuit, "device", family_for(asked, ambient, self.highest_voltage(circuit), fault))

    def run(self, circuit):
        """The run of a circuit, with its device family."""
        old = circuit.existing and circuit.size
        new = AC_INSULATION if circuit.rule == AC_RULE else self.wiring.insulation or NEW_INSULATION
        marking = self.value(circuit, "insulation", OLD_INSULATION if old else new)
        rule = self.value(circuit, "rule", AIR_RULE if circuit.purpose in IN_AIR else DEFAULT_RULE)
        ambient = self.ambient if circuit.ambient is None else circuit.ambient
        ripple = circuit.ripple or NO_AMPS
        asked = continuous_current(rms_current(self.current(circuit), ripple))
        device = self.device_family(circuit, asked, ambient)
        return Run(
            self.current(circuit), circuit.length, circuit.voltage or self.voltage,
            allowed_drop(self.drop_class(circuit)), marking, rule, ambient, float(circuit.bundled or 2),
            self.terminals if self.terminals is not None else terminal_rating(asked),
            float(circuit.per_pole or 1), device or NO_DEVICE, circuit.fuse, ripple,
            circuit.surge, self.surge_room(circuit), self.most(circuit) if device else None, circuit.returns
            or "wire",
        )  # fmt: skip

    def surge_room(self, circuit):
        """Volts that this circuit may lose at its surge, before the inverter stops; None where nothing
        says.
        """
        lowest = [one.lowest_voltage for one in self.coach.capacity.devices if one.lowest_voltage is not None]
        if circuit.surge is None or circuit.purpose != "inverter" or not lowest:
            return None
        level = 1 - self.coach.capacity.model_copy(update=capacity.propose(self.coach)).depth
        left = self.bank.share(level, bank_current=circuit.surge).voltage
        for run, size, fuse, _ in self.ways(circuit.from_):
            left = left - circuit.surge * path_resistance(size, run, conductor.insulation(run.marking).dry,
                                                          fuse)
        return (left - max(lowest)).to("V")

    def ways(self, node):
        """The chosen circuits between the bank and a node; one for which nothing passes counts as no
        resistance.
        """
        return [way for way in map(self.choice, self.upstream(node)) if way[1] is not None]

    def choice(self, circuit):
        """(run, size, fuse, governed) of a circuit: as decided, else as chosen; size None where nothing
        passes.
        """
        if circuit.name not in self.chosen:
            try:
                self.chosen[circuit.name] = self._choice(circuit)
            except InputError as refusal:
                self.chosen[circuit.name] = None, None, None, str(refusal)
        return self.chosen[circuit.name]

    def _choice(self, circuit):
        run = self.run(circuit)
        if circuit.purpose == "chassis return":
            size, per_pole = self.bond() if circuit.size is None else (conductor.size_name(circuit.size),
                                                                       run.per_pole)
            if per_pole > 1:
                self.value(circuit, "per_pole", int(per_pole))
            return dataclasses.replace(run, per_pole=per_pole), self.size(circuit,
                                                                          size), None, "bond of the bank"
        if circuit.size is not None:
            # refuses a size that the rule's tables do not print
            ampacity(circuit.size, run.rule, run.marking)
            fuse = circuit.fuse
            if fuse is None and circuit.existing is None:
                fuse = self.value(circuit, "fuse", device_for(run))
            governed = ", ".join(governing(circuit.size, run, fuse)) or "larger than asked"
            return run, conductor.size_name(circuit.size), fuse, governed
        run, best = _fewest(run) if circuit.per_pole is None else (run, choose(run))
        if run.per_pole > 1:
            self.value(circuit, "per_pole", int(run.per_pole))
        fuse = self.value(circuit, "fuse", best.fuse)
        return run, self.size(circuit, best.size), fuse, ", ".join(best.governed)

    def bond(self):
        """(size, conductors) of the bond of the bank: as large as its largest ungrounded lead, at least 8
        AWG.
        """
        size, per_pole = BOND_AT_LEAST, 1.0
        for one in self.circuits:
            run, lead, *_ = self.choice(one) if one.from_ == BANK and one.purpose == "bank" else (None, None)
            if lead and conductor.area(lead) * run.per_pole > conductor.area(size) * per_pole:
                size, per_pole = lead, run.per_pole
        return size, per_pole

    # ---- faults

    def highest_voltage(self, circuit):
        """Highest direct voltage at its device."""
        if circuit.purpose == "array" and not self.on_bank(circuit):
            if circuit.voltage is None:
                raise InputError(f"{circuit.name}, voltage", "it is missing",
                                 "the string's voltage at full power", '"40 V"')
            return circuit.voltage * ARRAY_COLD
        return self.bank.charge_voltage if circuit.voltage is None else circuit.voltage

    def most(self, circuit):
        """Largest fault current at its device: cold, bare copper from the source to it."""
        node = self.source_end(circuit)
        if node in self.feeder and circuit.voltage is None:
            path = sum((path_resistance(size, run, COLD_COPPER, bare=True) for run, size,
                        *_ in self.ways(node)), NO_OHMS)
            return self.highest.into(path)
        return fault_current(STARTER_VOLTAGE, STARTER_RESISTANCE) if circuit.from_ in OTHER_SOURCES else None

    def least(self, circuit):
        """What opens for a fault at its far end: (fault, seconds, whose device) for one string feeding it,
        two, ...

        Any device through which the fault flows may open: its own, a feeder's, those of the modules still
        feeding.
        """
        node = self.source_end(circuit)
        ways = [*self.ways(node), self.choice(circuit)]
        path = sum((path_resistance(size, run, conductor.insulation(run.marking).dry, fuse, aged=True)
                    for run, size, fuse, _ in ways), NO_OHMS)  # fmt: skip
        devices = [(run.device, fuse, "the feeder's") for run, size, fuse, _ in ways if fuse is not None]
        if self.choice(circuit)[2] is not None:
            devices[-1] = (*devices[-1][:2], "its own")
        if node in self.feeder and circuit.voltage is None:
            module = self.module_device, self.module_fuse
            return [_opening(bound.into(path), devices, (*module, strings)) for strings,
                    bound in enumerate(self.lowest, 1)]
        if circuit.from_ in OTHER_SOURCES:
            return [_opening(fault_current(STARTER_VOLTAGE, STARTER_RESISTANCE * COLD_AGED + path), devices)]
        return []

    # ---- modules

    @functools.cached_property
    def ripple(self):
        """RMS of the ripple that the bank feeds: the largest that a circuit on it names."""
        return max((one.ripple.to("A") for one in self.circuits if one.ripple is not None and self.on_bank(one)),
                   default=NO_AMPS)  # fmt: skip

    @functools.cached_property
    def draws(self):
        """(A out of the bank, A out of its hardest-worked string) at lesson 02's hardest draw: all in, and one out."""
        whole = capacity.study(self.coach)
        return [((whole.power / loss.voltage).to("A"), loss.current.to("A")) for loss in whole.losses[:2]
                if loss.current is not None and whole.power.magnitude]  # fmt: skip

    @functools.cached_property
    def module_load(self):
        """(mean, ripple) that heats one string most for long: all in, or one out, no more mean than the module allows."""
        most = self.bank.module.continuous.to("A")
        return max(((min(one, most), module_ripple(self.ripple, one, whole)) for whole, one in self.draws),
                   key=lambda load: rms_current(*load), default=(most, self.ripple))  # fmt: skip

    @functools.cached_property
    def link_run(self):
        """The busiest lead of the modules as a run. In a row it carries, with the first module out, all that the bank gives."""
        run = self.module_run[1]
        if self.bank.take_off == "bus bars" or not self.draws:
            return run
        return dataclasses.replace(run, current=max(whole for whole, _ in self.draws), ripple=self.ripple)

    @functools.cached_property
    def module_device(self):
        """Family of the modules' fuses."""
        return self.wiring.module_device or family_for(
            continuous_current(rms_current(*self.module_load)), self.ambient, self.bank.charge_voltage, self.faults.most)

    @functools.cached_property
    def module_run(self):
        """The lead of a module as a run."""
        bank = self.coach.capacity.model_copy(update=capacity.propose(self.coach))
        mean, ripple = self.module_load
        return bank.lead_size, Run(
            mean, bank.lead_length, self.voltage, allowed_drop("critical"),
            self.wiring.insulation or NEW_INSULATION,
            AIR_RULE, self.ambient, 2.0, self.terminals if self.terminals is not None
            else terminal_rating(continuous_current(rms_current(mean, ripple))), 1.0,
            self.module_device, ripple=ripple, fault=self.faults.most)  # fmt: skip

    @functools.cached_property
    def module_fuse(self):
        """Rating of the modules' fuses: decided, else chosen."""
        return self.coach.capacity.module_fuse or device_for(self.module_run[1])


def _opening(fault, devices, module=None):
    """(fault, seconds until it is open, whose device opens first)."""
    times = [(family(name).opens_within(floats(fault / fuse, "")), whose) for name, fuse,
             whose in devices[::-1]]
    if module:
        name, fuse, strings = module
        times.append((family(name).opens_within(floats(fault / strings / fuse, "")), "the modules'"))
    return fault, *min(times, key=lambda time: time[0], default=(Quantity(math.inf, "s"), "no"))


def _fewest(run):
    """(run, choice) with one conductor in each pole, or as many as it takes, up to four."""
    refusal = None
    for per_pole in (1.0, 2.0, 3.0, 4.0):
        several = dataclasses.replace(run, per_pole=per_pole)
        try:
            return several, choose(several)
        except InputError as error:
            refusal = refusal or error
    raise refusal


# ------------------------------------------------------------------------------- the three doors


def propose(coach) -> dict:
    """Sound decisions where the reader has not decided, by section: `wiring`, `capacity`, and `circuits` by
    name.

    Circuits that stay as they are get no proposal: what is unknown of them is for the reader to find out.

    Parameters
    ----------
    coach : the coach file

    Source: the functions of this topic; devices invented.
    """
    plan, _ = _solved(coach)
    sections = {"wiring": {}, "capacity": {}, "circuits": {}}

    def wanted(name, value):
        if getattr(coach.wiring, name) is None and value is not None:
            sections["wiring"][name] = value

    wanted("ambient", AMBIENT)
    wanted("insulation", NEW_INSULATION)
    wanted("module_device", plan.module_device)
    bus, voltage = _bus_current(plan), plan.bank.charge_voltage
    behind = _main_fuse(plan)
    wanted("main_switch", _switch_for(bus, behind, voltage))
    wanted("module_switch", _switch_for(plan.module_run[1].heating, plan.module_fuse, voltage))
    leads = [one for one in array_leads(plan.circuits) if one.voltage is not None]
    if leads:
        wanted("array_switch", _switch_for(*_array_demand(plan, leads)))
    wanted("shunt", next((Quantity(one, "A") for one in SHUNTS if one * SHUNT_SHARE >= floats(behind, "A")),
                         None))
    if coach.capacity.module_fuse is None:
        sections["capacity"]["module_fuse"] = plan.module_fuse
    for name, values in plan.proposals.items():
        if plan.by_name[name].existing in (None, "move") and plan.choice(plan.by_name[name])[1] is not None:
            sections["circuits"][name] = values
    return {name: values for name, values in sections.items() if values}


def array_leads(circuits) -> list:
    """The circuits between an array and its controller, of all `circuits` of a coach.

    Source: none.
    """
    arrays = [one for one in circuits if one.purpose == "array" and one.existing != "remove"]
    fed = {one.to for one in arrays}
    return [one for one in arrays if one.from_ not in fed and any(other.from_ == one.to for other in arrays)]


def _array_demand(plan, leads):
    """(current, fuse, highest voltage) that the disconnect of an array must stand."""
    current = max(continuous_current(plan.current(one)) for one in leads)
    fuses = [plan.choice(one)[2] for one in leads if plan.choice(one)[2] is not None]
    return current, max([current, *fuses]), max(plan.highest_voltage(one) for one in leads)


def _switch_for(current, fuse, voltage):
    return next((name for name, one in switches().items() if one.make_break is not None and not one.polarised
                 and one.make_break >= current and one.continuous >= fuse and one.voltage >= voltage),
                None)  # fmt: skip


def _main_fuse(plan):
    """The largest fuse at the bank's take-off: what it lets through for hours, switch and shunt must carry."""
    found = [plan.choice(one)[2] for one in plan.circuits
             if one.from_ == BANK and one.purpose == "bank" and plan.choice(one)[2] is not None]  # fmt: skip
    return max(found, default=_bus_current(plan))


def _bus_current(plan):
    """RMS current through main fuse, main switch and shunt: of the circuits that start at the bank's
    take-off.
    """
    found = [plan.choice(one)[0].heating for one in plan.circuits
             if one.from_ == BANK and one.purpose == "bank" and plan.choice(one)[1] is not None]  # fmt: skip
    return max(found, default=plan.module_run[1].heating * (plan.bank.parallel - plan.bank.reserve))


def decided(coach):
    """The coach with every proposal of this topic filled in; nothing is written.

    Parameters
    ----------
    coach : the coach file

    Source: `propose`.
    """
    for section, values in propose(coach).items():
        if section == "circuits":
            for name, fields in values.items():
                coach = coach.changed(section, name, **fields)
        else:
            coach = coach.changed(section, **values)
    return coach


def study(coach) -> Study:
    """Everything this topic says of a coach: the wire schedule, the bank in a fault, the currents of its bus.

    Parameters
    ----------
    coach : the coach file

    Source: the functions above.
    """
    plan, rows = _solved(coach)
    assumed = [f"{name}: {', '.join(values)}" for name, values in plan.proposals.items()]
    return Study(rows, plan.highest, plan.lowest[0], plan.faults, _bus_current(plan), tuple(assumed))


@dataclasses.dataclass(frozen=True)
class Basis:
    """What an ampacity of the wire schedule stands on. limited : by insulation, terminal or the rule's cap.

    slowest : of the smallest faults the one that takes longest to open, which `_cleared` holds against its limits.
    """

    name: str
    rule: str
    laid: str
    ambient: Temperature
    insulation: str
    terminals: Temperature
    limited: str
    slowest: Current | None


LAID = {"NEC 552.10": "loom, cable or raceway", AIR_RULE: "single, in free air", AC_RULE: "cable or raceway"}


def bases(coach) -> list:
    """What the ampacity of every conductor of the wire schedule stands on: a list of Basis.

    Parameters
    ----------
    coach : the coach file

    Source: that of each rule, see `AMPACITY_RULES`.
    """
    plan, rows = _solved(coach)
    found = []
    for row in rows:
        if row.size is None:
            continue
        circuit = plan.by_name.get(row.name)
        size, run = plan.module_run if circuit is None else (plan.choice(circuit)[1], plan.choice(circuit)[0])
        cases = plan.least(circuit) if circuit is not None and row.device else []
        found.append(Basis(
            row.name, run.rule, LAID[run.rule] + (f", {run.conductors:g} together" if run.conductors > 2 else ""), run.ambient,
            f"{run.marking}, {show(conductor.insulation(run.marking).dry)}", run.terminals,
            fit(size, run, row.fuse).ampacity.governed,
            max(cases, key=lambda case: case[1])[0] if cases else None))  # fmt: skip
    return found


SILENT = {  # where a circuit's line in the coach file says nothing
    "ambient": "the air of the whole coach",
    "bundled": "its own two conductors, nothing beside them",
    "returns": "a wire of its own goes back",
    "drop": "class of drop by its purpose",
    "fuse_distance": "near its source: not checked",
}


def silent(coach) -> list:
    """What the wire schedule takes for granted where the coach file says nothing: a list of (what, value) in words.

    Parameters
    ----------
    coach : the coach file

    Proposed for circuits that stay is named one by one; `propose` leaves them out. Data of devices are invented.
    Source: none.
    """
    plan, rows = _solved(coach)
    found = [(f"circuits, {row.name}, {field}", str(getattr(row, field)))
             for row in rows if row.existing not in ("new", "move") for field in row.assumed]
    there = [one for one in plan.circuits if one.from_ != OWN_CELL]
    for field, value in SILENT.items():
        count = sum(getattr(one, field) is None for one in there)
        if count:
            found.append((f"circuits, {field.replace('_', ' ')}", f"{value}; {count} of {len(there)} circuits"))
    if plan.terminals is None:
        found.append(("wiring, terminals", "60 °C to 100 A, above that 75 °C"))
    devices = sorted({row.device for row in rows if row.device})
    return [*found, ("data of fuses, breakers and switches", f"invented: {', '.join(devices)}")]


def checks(coach) -> list:
    """The rules of this topic held against a coach: the checks of every row, and of bus, switches, shunt,
    pre-charge.

    Parameters
    ----------
    coach : the coach file

    Source: each check names its own.
    """
    plan, rows = _solved(coach)
    return [check for row in rows for check in row.checks] + _bus_checks(plan)


@functools.lru_cache(maxsize=4)
def _solved(coach):
    """(plan, rows) of a coach, worked out once: all three doors ask for it."""
    plan = _Plan(coach)
    return plan, (_module_row(plan), *(_row(plan, circuit) for circuit in plan.circuits))


def _row(plan, circuit):
    """The line of a circuit."""
    at = circuit.from_
    if circuit.purpose in CHARGES:
        at = " and ".join(dict.fromkeys([plan.source_end(circuit), circuit.from_]))
    head = dict(name=circuit.name, start=circuit.from_, end=circuit.to, existing=circuit.existing or "new",
                length=circuit.length, current=plan.current(circuit))  # fmt: skip
    empty = dict.fromkeys("size insulation ampacity temperature drop share share_total device fuse interrupt "
                          "fault_most fault_least opens".split())  # fmt: skip
    if circuit.from_ == OWN_CELL:
        return Row(**head, **empty, heating=plan.current(circuit), rule="", at="", governed="its own cell",
                   checks=())
    run, size, fuse, governed = plan.choice(circuit)
    if size is None:
        check = rules.holds(f"{circuit.name}: does a listed conductor and device pass?", governed,
                            "one that does", true=False,
                            why="Nothing listed meets every demand at once.",
                            mend="Shorten it, share the load, raise the voltage.",
                            source=Source("this workbook's tables", "derived"), guards="fire", topic="wiring")
        return Row(**head, **empty, heating=plan.current(circuit), rule="", at=at, governed="nothing passes",
                   checks=(check,))
    assumed = tuple(plan.proposals.get(circuit.name, ()))
    found = fit(size, run, fuse)
    upstream = [] if circuit.purpose in CHARGES else plan.ways(circuit.from_)
    spent = sum((fit(one, way, feed).drop or Quantity(0.0, "V") for way, one, feed, _ in upstream),
                Quantity(0.0, "V"))  # fmt: skip
    device = None if circuit.purpose == "chassis return" else run.device
    cases = plan.least(circuit) if device else []
    slowest = max(cases, key=lambda case: case[1], default=None)
    row = Row(
        **head, heating=run.heating, size=size_label(size, run.per_pole), insulation=run.marking,
        rule=run.rule,
        ampacity=found.ampacity.usable, temperature=found.temperature, drop=found.drop, share=found.share,
        share_total=None if found.drop is None else drop_share(spent + found.drop, run.voltage),
        device=device, fuse=fuse, at=at if device else "",
        interrupt=family(device).interrupt_rating(plan.highest_voltage(circuit)) if device
        and run.rule != AC_RULE else None,
        fault_most=plan.most(circuit) if device else None, fault_least=cases[0][0] if cases else None,
        opens=slowest[1] if cases else None, governed=governed, checks=(), assumed=assumed,
    )  # fmt: skip
    if device is None:
        held = _bond_checks(plan, circuit, size, run, found.ampacity)
    else:
        held = _row_checks(plan, circuit, row, run, found, size, cases)
    return dataclasses.replace(row, checks=tuple(held))


def _rule_source(run, size):
    parts = AMPACITY_RULES[run.rule]
    if size in conductor.rule_sizes(parts.ampacity):
        return conductor.rule_source(parts.ampacity)
    return conductor.rule_source(parts.cap)


def _protected(name, fuse, may, source, words="conductor"):
    """Is there a device, and does it open before the conductor is too hot? Guards against fire."""
    limits = {"cap": f"largest device that the rule allows on {may.size} AWG", "terminal": "terminals",
              "insulation": "insulation"}
    if fuse is None:
        return rules.holds(f"{name}: is the {words} protected at its source?", "no device",
                           "a fuse or breaker", true=False,
                           why="A short circuit in it burns until something else gives way.",
                           mend=f"A device of at most {show(may.usable)} at its source end.", source=source,
                           guards="fire",
                           topic="wiring")  # fmt: skip
    return rules.at_most(f"{name}: does its device protect the {words} ({limits[may.governed]})?", fuse,
                         may.usable * SAME,
                         why="What the device lets through for hours, the conductor carries for hours.",
                         mend="A smaller device, a larger conductor, or less load.", source=source,
                         guards="fire",
                         topic="wiring")  # fmt: skip


def _carried(name, size, run, may):
    """Does the conductor carry its load where it lies? Guards against fire."""
    return rules.at_least(
        f"{name}: does its conductor carry 125 % of the load where it lies?", may.usable * SAME, run.asked,
        why=f"With more than this, {size_label(size, run.per_pole)} {run.marking} at {show(run.ambient)}, limited "
            f"by its {may.governed}, would get too hot.",
        mend="A larger conductor, a cooler way, or less load.",
        source=_rule_source(run, conductor.size_name(size)),
        guards="fire", topic="wiring")  # fmt: skip


def _broken(name, device, most, voltage):
    """Can the device break the largest fault, at the highest voltage? Guards against fire."""
    code = Source("NEC (NFPA 70) 2023 110.9; device data invented", "from memory")
    one = family(device)
    held = [rules.at_least(
        f"{name}: is its {device} rated for the highest direct voltage?", one.voltage, voltage,
        why="Above its DC rating a fuse may burn on as an arc. An AC rating says nothing about DC.",
        mend="A device whose DC voltage rating is marked on it.", source=code, guards="fire", topic="wiring")]
    if most is not None:
        held.append(rules.at_least(
            f"{name}: can its {device} break the largest fault?", one.interrupt_rating(voltage), most,
            why="Above its interrupt rating a device can burst or weld instead of opening.",
            mend="A family with a higher interrupt rating, or a longer feed.", source=code, guards="fire",
            topic="wiring"))  # fmt: skip
    return held


def _row_checks(plan, circuit, row, run, found, size, cases):
    name, may, source = circuit.name, found.ampacity, _rule_source(run, size)
    held = [_protected(name, row.fuse, may, source), _carried(name, size, run, may)]
    if row.fuse is not None:
        carries = derated_rating(row.fuse, family(run.device).ambient_factor(run.ambient))
        held.append(rules.holds(
            f"{name}: does its device carry 125 % of the load in warm air?",
            f"{show(row.fuse)}, in warm air {show(carries)}",
            show(run.asked), true=carries * SAME >= run.asked, why="It would open, or age, without a fault.",
            mend="The next larger device, if the conductor allows it.",
            source=Source("NEC (NFPA 70) 2023 210.20(A); device data invented", "derived"), topic="wiring"))
    if row.drop is not None:
        limit = Quantity(100 * run.drop, "percent")
        drop_row = _drop_row(plan.drop_class(circuit))
        held.append(rules.at_most(
            f"{name}: does it lose no more than its class allows ({plan.drop_class(circuit)})?",
            Quantity(100 * row.share, "percent"), limit,
            why="Motors stall, lamps dim, detectors and chargers misread.",
            mend="A larger conductor or a shorter run.",
            source=Source(drop_row["source"], drop_row["row status"]),
            topic="wiring"))  # fmt: skip
        total = max(FEEDER_AND_BRANCH, run.drop)
        if row.share_total > row.share:
            held.append(rules.at_most(
                f"{name}: and together with what feeds it, from the bank?",
                Quantity(100 * row.share_total, "percent"),
                Quantity(100 * total, "percent"), why="The drop of a feeder comes on top.",
                mend="A larger feeder.",
                source=Source("NEC (NFPA 70) 2023 215.2, informational note: 5 % for feeder and branch",
                              "published"),
                topic="wiring"))  # fmt: skip
    if run.surge is not None and run.surge_drop is not None and found.temperature is not None:
        lost = (run.surge * path_resistance(size, run, found.temperature, row.fuse)).to("V")
        held.append(rules.at_most(
            f"{name}: does the inverter stay on while {show(run.surge)} flow for a moment?", lost,
            run.surge_drop,
            why="Below its cut-off the inverter stops in the middle of a start.",
            mend="Larger cables, or more modules.",
            source=Source("network of bank and cables", "derived"), topic="wiring"))  # fmt: skip
    if run.rule != AC_RULE:
        held += _broken(name, run.device, row.fault_most, plan.highest_voltage(circuit))
    if cases and row.fuse is not None:
        held.append(_cleared(name, cases, size, run))
    breaks = family(run.device).interrupt_rating(plan.highest_voltage(circuit)) if row.fault_most is not None \
        and run.rule != AC_RULE else None  # fmt: skip
    if cases and row.fuse is not None and (breaks is None or breaks >= row.fault_most):
        let = family(run.device).passes(row.fuse, row.fault_most)
        held.append(rules.at_most(
            f"{name}: does the conductor stand what its device lets through at the largest fault?", let,
            _stands(size, run),
            why="Its insulation would melt before the device has opened.",
            mend="A larger conductor, or a current-limiting fuse.",
            source=Source("IEC 60364-4-43, 434.5.2; device data invented", "from memory"), guards="fire",
            topic="wiring"))  # fmt: skip
    if circuit.purpose in ALWAYS_FED:
        behind = [one.name for one in plan.upstream(plan.source_end(circuit)) if one.purpose == "bank"]
        held.append(rules.holds(
            f"{name}: is it fed ahead of the main switch?", f"behind {behind[0]}" if behind else "ahead of it",
            "a feed from the bank that no switch opens", true=not behind,
            why="Whoever opens the main switch, for a night or a winter, would silence it.",
            mend="A fuse and a feed of its own from the bank.", source=Source(PRACTICE, PRACTICE),
            guards=ALWAYS_FED[circuit.purpose], topic="wiring"))
    if circuit.fuse_distance is not None:
        held.append(rules.at_most(
            f"{name}: is its device near the source?", circuit.fuse_distance.to("inch"), NEAR_SOURCE,
            why="The conductor between source and device has no protection.",
            mend="Move the device to the source.",
            source=Source("NEC (NFPA 70) 2023 552.10(E)(4), park trailers", "published"), guards="fire",
            topic="wiring"))  # fmt: skip
    return held


def _cleared(name, cases, size, run):
    """Does a device open in time for the smallest faults, and does the conductor stand it? Guards against
    fire.
    """
    heat = _stands(size, run)
    fault, seconds, whose = max(cases, key=lambda case: case[1])
    in_time = all(one <= CLEARED_WITHIN and amps**2 * one <= heat for amps, one, _ in cases)
    found = f"{show(fault)}, never surely open" if math.isinf(seconds.magnitude) else \
        f"{show(fault)}, open within {show(seconds)} by {whose} device"  # fmt: skip
    return rules.holds(
        f"{name}: does a device open for the smallest fault at its far end?", found,
        f"{show(CLEARED_WITHIN)} and {show(heat)}", true=bool(in_time),
        why="Aged, cold modules and hot copper drive little current: a large fuse then only warms, and so "
            "does the wire.",
        mend="A smaller fuse, a larger conductor, a shorter run, or a wire for the way back.",
        source=Source("IEC 60364-4-43, 434.5.2; bounds of this workbook; device data invented",
                      "from memory"),
        guards="fire", topic="wiring")  # fmt: skip


def _bond_checks(plan, circuit, size, run, may):
    least, per_pole = plan.bond()
    return [_carried(circuit.name, size, run, may), rules.at_least(
        f"{circuit.name}: is the bond of the bank to the chassis large enough?",
        conductor.area(size) * run.per_pole * SAME, conductor.area(least) * per_pole,
        why=f"A fault to the frame returns through it: at least {BOND_AT_LEAST} AWG, and not smaller than "
            f"the ungrounded lead.",
        mend=f"{size_label(least, per_pole)}.",
        source=Source("NEC (NFPA 70) 2023 552.10(C)(4), park trailers", "published"),
        guards="fire", topic="wiring")]  # fmt: skip


def _module_row(plan):
    """The line of the leads of the modules: one fuse and one disconnect each."""
    size, run = plan.module_run
    fuse, device = plan.module_fuse, plan.module_device
    found = fit(size, run, fuse)
    bank, name = plan.bank, "Lead of each module"
    path = path_resistance(size, run, conductor.insulation(run.marking).dry, fuse)
    fault = plan.faults.lowest
    seconds = family(device).opens_within(floats(fault / fuse, ""))
    may, source = found.ampacity, _rule_source(run, conductor.size_name(size))
    held = [
        _protected(name, _through_lead(plan, fuse), may, source),
        _carried(name, size, plan.link_run, may),
        rules.at_most(f"{name}: does its fuse carry 125 % of what it carries with all in and with one out?",
                      run.asked,
                      derated_rating(fuse, family(device).ambient_factor(run.ambient)),
                      why="When one module drops out, the others carry its share, and of the inverter's ripple too.",
                      mend="A larger fuse and lead.",
                      source=Source("NEC (NFPA 70) 2023 210.20(A); sharing by network, ripple shared alike", "derived"),
                      guards="fire", topic="wiring"),
        *_broken(f"{name}, the other modules feeding back", device, plan.faults.most, bank.charge_voltage),
        _cleared(name, [(fault, seconds, "its own")], size, run),
        _switched(plan.coach.wiring.module_switch, "each module", run.heating, fuse, bank.charge_voltage),
    ]  # fmt: skip
    if plan.coach.capacity.nominal_voltage and path.magnitude:
        drop = (run.current * path).to("V")
    return Row(
        name, "module", "bank", "new", run.length, run.current, run.heating, size_label(size), run.marking,
        run.rule, may.usable,
        found.temperature, drop, drop_share(drop, run.voltage), drop_share(drop, run.voltage), device, fuse,
        "module",
        family(device).interrupt_rating(bank.charge_voltage), plan.faults.most, fault, seconds, "lesson 02",
        tuple(held), () if plan.coach.capacity.module_fuse else ("fuse",))  # fmt: skip


def _through_lead(plan, fuse):
    """What fuses let through the busiest lead of the modules for hours. In a row a link carries all modules behind
    it, as far as the fuses at the take-off let them; on bus bars each lead carries its own.
    """
    behind = 1 if plan.bank.take_off == "bus bars" else max(plan.bank.parallel - 1, 1)
    leaving = [plan.choice(one)[2] for one in plan.circuits
               if one.from_ == BANK or (one.purpose in CHARGES and one.to == BANK)]  # fmt: skip
    return fuse * behind if None in leaving or not leaving else max(fuse, min(fuse * behind, sum(leaving[1:], leaving[0])))


def _switched(name, of, current, fuse, voltage, code="404.14, 551.31",
              why="A bank is charged and discharged; an arc under DC does not go out by itself. And "
                  "what the fuse lets through for hours, the switch must carry for hours."):
    """A disconnect that breaks its current either way and carries for hours what its fuse lets through for
    hours. Guards against fire and shock.
    """
    source = Source(f"NEC (NFPA 70) 2023 {code}; device data invented", "from memory")
    asked = f"Is there a disconnect for {of} that breaks its current either way and is as large as its fuse?"
    if name is None:
        return rules.holds(asked, "none is chosen", "one for each", true=False,
                           why="What cannot be switched off cannot be worked on.",
                           mend="Choose one in [wiring].", source=source, guards="shock", topic="wiring")
    one = _named(name, switches(), "switch", "battery switch 300 A")
    breaks = one.make_break or Quantity(0.0, "A")
    good = breaks >= current and one.continuous >= fuse and one.voltage >= voltage and not one.polarised
    found = f"{one.name}: breaks {show(breaks)} at up to {show(one.voltage)}" + (", one way only"
                                                                                 if one.polarised else "")
    found += f", carries {show(one.continuous)}"
    limit = f"breaks {show(current)} at {show(voltage)}, both ways, carries {show(fuse)}"
    return rules.holds(asked, found, limit, true=bool(good), why=why,
                       mend="A switch as large as its fuse, rated to make and break at this voltage, without "
                            "polarity.",
                       source=source,
                       guards="fire", topic="wiring")  # fmt: skip


def _array_check(plan):
    """The disconnect between an array and its controller, where there is an array whose voltage is known."""
    leads = array_leads(plan.circuits)
    if not leads or any(one.voltage is None for one in leads):
        return []  # without its voltage the array's own line in the schedule misses
    return [_switched(plan.wiring.array_switch, "the array, ahead of its controller,", *_array_demand(plan, leads), "690.13, 690.15",
                      "Its leads are live whenever it is light, and an arc under DC does not go out by itself. Whoever "
                      "works on the controller, or at the bank, must first part it from the sun, in both poles.")]  # fmt: skip


def _bus_checks(plan):
    wiring, bus, voltage = plan.wiring, _bus_current(plan), plan.bank.charge_voltage
    behind = _main_fuse(plan)
    found = [_switched(wiring.main_switch, "the whole bank", bus, behind, voltage), *_array_check(plan)]
    practice = Source(PRACTICE, PRACTICE)
    shunt = wiring.shunt or Quantity(0.0, "A")
    found.append(rules.at_least(
        "Does the shunt carry for long what the main fuse lets through?", shunt * SHUNT_SHARE, behind,
        why="A shunt is marked for 50 mV; for long it carries two thirds of that.",
        mend="The next larger shunt.",
        source=practice, topic="wiring"))  # fmt: skip
    if wiring.capacitance is not None:
        inrush = fault_current(voltage, plan.highest.resistance)
        wait = None if wiring.precharge is None else precharge_time(wiring.precharge, wiring.capacitance,
                                                                    0.95)
        found.append(rules.holds(
            "Are the inverter's capacitors charged through a resistor before its switch closes?",
            f"up to {show(inrush)} at the contact" if wait is None
            else f"{show(wait)} through {show(wiring.precharge)}",
            "10 s", true=wait is not None and bool(wait <= Quantity(10.0, "s")),
            why="Empty capacitors are a short circuit for a moment: contacts weld and fuses age.",
            mend="A resistor of some tens of ohms beside the switch, closed first.", source=practice,
            guards="fire",
            topic="wiring"))  # fmt: skip
    return found
