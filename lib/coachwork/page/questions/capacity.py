"""Questions of the capacity lesson."""

from coachwork import capacity
from coachwork.page.questions import Choice, Question, pick, slip
from coachwork.quantities import Charge, Count, Current, Energy, Fraction, Q, Resistance, Voltage

REST = Q(13.2, "V")


def label_needed(energy: Energy, days: Count, depth_of_discharge: Fraction, end_of_life: Fraction) -> Energy:
    """The label of a lithium bank for some days."""
    factor = capacity.size_factor_product(depth_of_discharge, end_of_life)
    return capacity.rated_energy(capacity.autonomy_energy(energy, days), factor)


def amp_hours(module_voltage: Voltage, capacity_of_one: Charge, series: Count, parallel: Count) -> Charge:
    """Amp-hours of modules in series and parallel."""
    return capacity.bank_capacity(capacity_of_one, parallel)


def top_voltage(cell_charge_voltage: Voltage, cells: Count, series: Count, parallel: Count) -> Voltage:
    """Highest charge voltage of modules in series and parallel."""
    return capacity.highest_charge_voltage(cell_charge_voltage, cells, series)


def near_module(internal_resistance: Resistance, lead_resistance: Resistance, bank_current: Current) -> Current:
    """Current of the first of two modules taken off at one end."""
    two = [capacity.Branch(REST, internal_resistance)] * 2
    return capacity.share(two, "one end", lead_resistance, bank_current).currents[0]


def each_left(parallel: Count, bank_current: Current) -> Current:
    """Current of each module on bus bars after one is lost."""
    modules = [capacity.Branch(REST, Q(3, "mohm"), on=number > 0) for number in range(round(parallel))]
    return capacity.share(modules, "bus bars", Q(0.3, "mohm"), bank_current).most


QUESTIONS = [
    Choice(
        "A van winters in the mountains. Its battery box falls to 20 °F at night, and the sun charges it in the morning. "
        "Which bank will live?",
        right="Lithium, with a heater that warms the cells above freezing before anything charges them",
        wrong={
            "Lithium as it is: its sheet says it may be used down to −4 °F":
                "That is the limit for taking energy out. Below 32 °F it must not be charged.",
            "Flooded lead-acid under the bed: it may be charged in the cold":
                "It may, but it gives off hydrogen, which has no place in a sleeping room.",
            "AGM, emptied to 80 % each night so that it can be small":
                "At 40 °F it already needs to be 1.3 times as large, and 80 % depth shortens its life.",
        },
        outcome=1,
        see="4 The idea",
    ),
    Choice(
        "A 12.8 V lithium bank has rested overnight and reads 13.25 V. How full is it?",
        right="Somewhere between four and seven tenths; only counting amp-hours tells it well",
        wrong={
            "Full: a full 12 V battery reads 12.7 V": "That is lead-acid. A full lithium bank rests above 13.4 V.",
            "60 %, exactly": "Ten percent of charge are 16 mV here, less than a handheld meter's error.",
            "Nearly empty: it is charged at up to 14.6 V": "Nearly empty it would rest below 12.8 V.",
        },
        outcome=1,
        see="4 The idea",
    ),
    Question(
        "A coach takes {energy} a day, margin counted. Its lithium bank must carry {days} days without charging, at a depth of "
        "{depth_of_discharge}, and still do so when {end_of_life} of the label is left. Its cells are warm and it is emptied "
        "slowly. How many watt-hours must stand on the label?",
        given=dict(
            energy=pick(1500, 2000, 2400, 3000, unit="Wh"),
            days=pick(2, 3),
            depth_of_discharge=pick(70, 75, 80, unit="percent"),
            end_of_life=pick(75, 80, unit="percent"),
        ),
        answer=label_needed,
        unit="Wh",
        slips=[
            slip("You divided by the depth twice. It counts once.",
                 depth_of_discharge=lambda g: g["depth_of_discharge"] ** 2),
            slip("That holds for a new bank. It must still do when {end_of_life} is left.", end_of_life=1),
            slip("That is the energy to be used. The label must be larger.", depth_of_discharge=1, end_of_life=1),
            slip("You multiplied by depth and age: the label came out smaller than the need. Divide.",
                 factor=lambda g: float((g["depth_of_discharge"] * g["end_of_life"]).to("").magnitude) ** 2),
            slip("You divided by {depth_of_discharge} as a number. A percentage is a fraction: 80 % is 0.80.", factor=0.01),
            slip("That is one day. It must carry {days}.", days=1),
        ],
        outcome=2,
        see="5 Worked example",
    ),
    Question(
        "A bank has {rated_energy} on its label, and you use {share} of it. A window air conditioner takes a mean {power} on "
        "the AC side, through an inverter of {efficiency}. How long does it run?",
        given=dict(
            rated_energy=pick(6144, 9216, 12288, unit="Wh"),
            share=pick(50, 60, unit="percent"),
            power=pick(300, 380, 460, unit="W"),
            efficiency=pick(85, 88, 90, unit="percent"),
        ),
        answer=capacity.run_time,
        unit="h",
        slips=[
            slip("You forgot the inverter's loss: the bank gives more than the load takes.", efficiency=1),
            slip("You took the whole label. Only {share} of it is used.", share=1),
            slip("You divided by the efficiency. The loss makes the time shorter: multiply.",
                 factor=lambda g: float(g["efficiency"].to("").magnitude) ** -2),
            slip("You took {share} for a number. A percentage is a fraction: 50 % is 0.50.", factor=100),
        ],
        outcome=2,
        see="7 Rules of the trade",
    ),
    Question(
        "A flooded battery of {capacity} over {rated_hours} has a Peukert exponent of {peukert_exponent}. How long does it carry "
        "a steady {current}?",
        given=dict(
            capacity=pick(200, 225, 250, unit="Ah"),
            rated_hours=Q(20, "h"),
            peukert_exponent=pick(1.2, 1.25, 1.3),
            current=pick(20, 25, 30, 40, unit="A"),
        ),
        answer=capacity.peukert_hours,
        unit="h",
        slips=[
            slip("You divided amp-hours by amps. At {current} it gives less than its label.", peukert_exponent=1),
            slip("You used C / I^k with the 20-hour rating. That form wants the capacity at one amp.",
                 rated_hours=lambda g: Q(g["capacity"].to("Ah").magnitude, "h")),
            slip("That is the other way up: a larger current gives a shorter time.",
                 factor=lambda g: float((g["current"] * g["rated_hours"] / g["capacity"]).to("").magnitude)
                 ** (2 * g["peukert_exponent"])),
            slip("You raised amp-hours over amps as they stand. The ratio is the rated current over the current drawn.",
                 factor=lambda g: g["rated_hours"].to("h").magnitude ** (g["peukert_exponent"] - 1)),
        ],
        outcome=2,
        see="5 Worked example",
    ),
    Question(
        "Modules of {module_voltage} and {capacity_of_one} stand {series} in series, and {parallel} such strings stand side by "
        "side. How many amp-hours has the bank?",
        given=dict(
            module_voltage=Q(12.8, "V"),
            capacity_of_one=pick(100, 120, 200, 240, unit="Ah"),
            series=pick(2, 4),
            parallel=pick(3, 5),
        ),
        answer=amp_hours,
        unit="Ah",
        slips=[
            slip("You added amp-hours in series too. In series only the volts add.", factor=lambda g: g["series"]),
            slip("You added amp-hours in series and not in parallel: it is the other way round.",
                 factor=lambda g: g["series"] / g["parallel"]),
            slip("That is one string. There are {parallel} side by side.", parallel=1),
        ],
        outcome=3,
        see="4 The idea",
    ),
    Question(
        "Lithium modules of {cells} cells stand {series} in series, {parallel} strings side by side. A cell is charged at up to "
        "{cell_charge_voltage}. What voltage must every device on the bus stand?",
        given=dict(
            cell_charge_voltage=pick(3.6, 3.65, unit="V"), cells=4, series=pick(2, 4), parallel=pick(3, 5)
        ),
        answer=top_voltage,
        unit="V",
        slips=[
            slip("That is the nominal voltage, 3.2 V a cell. While charging it stands higher.", cell_charge_voltage=Q(3.2, "V")),
            slip("You added volts in parallel too. In parallel only the amp-hours add.", factor=lambda g: g["parallel"]),
            slip("That is one module. There are {series} in series.", series=1),
        ],
        outcome=3,
        see="5 Worked example",
    ),
    Question(
        "Two modules of {internal_resistance} are joined by a plus link and a minus link of {lead_resistance} each, joints "
        "counted. Both leads of the bank sit on the first module. Of {bank_current}, how much does the first one give?",
        given=dict(
            internal_resistance=pick(2, 3, unit="mohm"),
            lead_resistance=pick(0.3, 0.4, 0.5, unit="mohm"),
            bank_current=pick(100, 150, 200, unit="A"),
        ),
        answer=near_module,
        unit="A",
        tolerance=0.01,
        slips=[
            slip("That is an equal share. The second module's current passes two links more.", lead_resistance=Q(0, "mohm")),
            slip("You counted one link. The current passes the plus link and the minus link.",
                 lead_resistance=lambda g: g["lead_resistance"] / 2),
            slip("That is what the second module gives.",
                 factor=lambda g: float((g["internal_resistance"] / (g["internal_resistance"] + 2 * g["lead_resistance"]))
                                        .to("").magnitude)),
        ],
        outcome=4,
        see="5 Worked example",
    ),
    Question(
        "{parallel} equal modules on bus bars feed {bank_current} to an inverter. One opens. If the inverter's current stays the "
        "same, what does each of the others give?",
        given=dict(parallel=pick(4, 5, 6), bank_current=pick(150, 180, 240, unit="A")),
        answer=each_left,
        unit="A",
        slips=[
            slip("That was the share before. Now one is missing.", parallel=lambda g: g["parallel"] + 1),
            slip("That is the whole current. It still divides between those that are left.",
                 factor=lambda g: g["parallel"] - 1),
            slip("You took away two modules. Only one is lost.", parallel=lambda g: g["parallel"] - 1),
        ],
        outcome=5,
        see="6 Try it",
    ),
    Choice(
        "The engine charges a lithium bank straight from the alternator, and the bank's electronics open because a cell is full. "
        "What happens?",
        right="The alternator's voltage leaps for an instant and can destroy its diodes and what hangs on the line",
        wrong={
            "Nothing: charging simply stops":
                "The current stops, but the alternator's field cannot fall as fast: its voltage leaps.",
            "The engine stalls": "It runs lighter. The danger is the voltage on the line.",
            "The loads switch over to the starting battery":
                "Nothing switches over by itself; that would need a relay or a DC-DC charger.",
        },
        outcome=5,
        see="8 Your coach",
    ),
]  # fmt: skip
