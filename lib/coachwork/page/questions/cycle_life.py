"""Questions of the cycle life lesson."""

from coachwork import cycle_life
from coachwork.page.questions import Choice, Question, pick, slip
from coachwork.quantities import (
    Age,
    Charge,
    Count,
    Current,
    Energy,
    Fraction,
    Q,
    Ratio,
    Temperature,
    Time,
    floats,
)

IDEA, EXAMPLE, RULES = "4 The idea", "5 Worked example", "7 Rules of the trade"


def energy_held(rated_energy: Energy, calendar_loss: Ratio, cycle_loss: Ratio) -> Energy:
    """Energy that an aged bank still holds."""
    return rated_energy * cycle_life.capacity_left(calendar_loss, cycle_loss)


def warranted_years(
    warranty_cycles: Count, cycles_per_week: Count, weeks: Count, depth_of_discharge: Fraction
) -> Age:
    """Years in which full cycles of a warranty are used up."""
    full = cycle_life.equivalent_full_cycles(cycles_per_week * weeks, depth_of_discharge)
    return Q(float(warranty_cycles / full), "year")


def time_of_draw(
    capacity: Charge, state_of_charge: Fraction, lowest_charge: Fraction, standing_current: Current
) -> Time:
    """How long a steady draw takes from one state of charge to another, self-discharge left out."""
    return capacity * (float(state_of_charge.to("")) - float(lowest_charge.to(""))) / standing_current


def highest_charge_current(capacity: Charge, temperature: Temperature) -> Current:
    """Highest charge current of a lithium bank at a temperature."""
    return Q(cycle_life.cold_charge_rate(temperature) * floats(capacity, "Ah"), "A")


def share(value):
    """A percentage as a number below 1."""
    return float(value.to("").magnitude)


QUESTIONS = [
    Question(
        "A data sheet says {cycles} cycles. A coach uses {cycles_per_week} a week, all year. How many "
        "years is that on paper?",
        given=dict(cycles=pick(3000, 4000, 5000, 6000), cycles_per_week=pick(2, 3, 4, 5)),
        answer=cycle_life.life_by_count,
        unit="year",
        slips=[
            slip(
                "You divided by 365, as if every day had a cycle. This coach uses {cycles_per_week} a week.",
                cycles_per_week=7,
            ),
            slip("Those are weeks. A year has 52.", factor=52),
            slip("You divided by 12: that takes the cycles of a week for those of a month.", factor=52 / 12),
        ],
        outcome=1,
        see=IDEA,
    ),
    Question(
        "A bank has made {cycles} cycles, each from full down to {left} state of charge. How many "
        "equivalent full cycles is that?",
        given=dict(cycles=pick(400, 700, 900, 1500), left=pick(20, 30, 40, 70, unit="%")),
        answer=lambda cycles, left: cycle_life.equivalent_full_cycles(cycles, 1 - share(left)),
        unit="",
        slips=[
            slip(
                "You multiplied by the charge that was left. What counts is the depth: what was taken out.",
                factor=lambda g: share(g["left"]) / (1 - share(g["left"])),
            ),
            slip(
                "Those are the cycles themselves. One that is not full depth counts as part of a full one.",
                factor=lambda g: 1 / (1 - share(g["left"])),
            ),
            slip(
                "You divided by the depth. Shallow cycles move less charge, so there are fewer full ones.",
                factor=lambda g: (1 - share(g["left"])) ** -2,
            ),
        ],
        outcome=1,
        see=IDEA,
    ),
    Question(
        "A bank of {rated_energy} has lost {calendar_loss} by the calendar and {cycle_loss} by use, both "
        "of its capacity when new. "
        "What does it still hold?",
        given=dict(
            rated_energy=pick(5120, 6144, 9216, unit="Wh"),
            calendar_loss=pick(9, 11, 13, unit="%"),
            cycle_loss=pick(12, 15, 18, unit="%"),
        ),
        answer=energy_held,
        unit="Wh",
        tolerance=0.004,
        slips=[
            slip(
                "You multiplied what each one leaves. Both losses are shares of the new bank, so they add.",
                factor=lambda g: (
                    (1 - (a := share(g["calendar_loss"]))) * (1 - (b := share(g["cycle_loss"]))) / (1 - a - b)
                ),
            ),
            slip(
                "The fade is in it twice: you took the losses off a bank that was reduced already.",
                factor=lambda g: 1 - share(g["calendar_loss"]) - share(g["cycle_loss"]),
            ),
            slip(
                "That is what it has lost, not what it holds.",
                factor=lambda g: (lost := share(g["calendar_loss"]) + share(g["cycle_loss"])) / (1 - lost),
            ),
            slip(
                "The calendar is missing: it ages the bank whether it is used or not.",
                calendar_loss=Q(0, "percent"),
            ),
            slip("Use is missing: only the calendar was taken off.", cycle_loss=Q(0, "percent")),
        ],
        outcome=2,
        see=EXAMPLE,
    ),
    Question(
        "A reaction has an activation energy of {activation_energy}. How many times faster does it go at "
        "{temperature} than at "
        "{reference}?",
        given=dict(
            activation_energy=pick(45, 53, 60, unit="kJ/mol"),
            temperature=pick(95, 104, 113, unit="degF"),
            reference=Q(77, "degF"),
        ),
        answer=cycle_life.arrhenius_speed_up,
        unit="",
        slips=[
            slip(
                "You put degrees Celsius where kelvin belong: 25 °C is 298 K.",
                temperature=lambda g: Q(floats(g["temperature"], "degC"), "K"),
                reference=Q(25, "K"),
            ),
            slip(
                "You divided one temperature by the other. The rate follows an exponential, not the ratio.",
                factor=lambda g: floats(g["temperature"], "K") / 298.15 / cycle_life.arrhenius_speed_up(**g),
            ),
            slip(
                "That is how many times slower: the warmer one is faster.",
                factor=lambda g: cycle_life.arrhenius_speed_up(**g) ** -2,
            ),
        ],
        outcome=2,
        see=EXAMPLE,
    ),
    Question(
        "A lead-acid battery is good for {rated_life} at {reference}. In a coach that is {temperature} all "
        "year, with life halved "
        "for each {halving}, how long does it last?",
        given=dict(
            rated_life=pick(6, 8, 10, unit="year"),
            temperature=pick(86, 99, 104, unit="degF"),
            reference=Q(77, "degF"),
            halving=Q(18, "delta_degF"),
        ),
        answer=cycle_life.life_at_temperature,
        unit="year",
        slips=[
            slip("You took degrees Fahrenheit for kelvin: 18 °F are 10 K.", halving=Q(10, "delta_degF")),
            slip(
                "You took away a share for each degree. Each step halves what is left.",
                factor=lambda g: (
                    (1 - (steps := (g["temperature"] - g["reference"]).to("delta_degF").magnitude / 36))
                    * 2 ** (2 * steps)
                ),
            ),
            slip(
                "It comes out longer than at 77 °F: warmth shortens life.",
                factor=lambda g: 4 ** ((g["temperature"] - g["reference"]).to("delta_degF").magnitude / 18),
            ),
        ],
        outcome=2,
        see=EXAMPLE,
    ),
    Choice(
        "The two published cells give 13 and 19 years for a coach that cycles to 40 % depth. What do you "
        "tell its owner?",
        right="Perhaps 13 to 19 years, if its cells are as good as these; nothing was tested that long.",
        wrong={
            "16 years: the mean of the two.":
                "The two are different cells, not two tries at one. A mean hides the spread.",
            "19 years: the better cell is what is sold today.":
                "Nobody knows which of the two the module resembles, or neither.",
            "13 years for certain: that is the safe end.":
                "It is the lower of two forecasts. Electronics or one cold charge can end it sooner.",
        },
        outcome=2,
        see=IDEA,
    ),
    Question(
        "A lithium bank of {capacity} is put away at {state_of_charge}. Its protection opens at "
        "{lowest_charge}, and "
        "{standing_current} are drawn all the time. Leave self-discharge out: after how many days does it "
        "open?",
        given=dict(
            capacity=pick(200, 240, 480, unit="Ah"),
            state_of_charge=pick(60, 70, 80, unit="%"),
            lowest_charge=Q(10, "percent"),
            standing_current=pick(30, 50, 80, unit="mA"),
        ),
        answer=time_of_draw,
        unit="day",
        slips=[
            slip(
                "Charge and depth are confused: you counted from what was already taken out.",
                factor=lambda g: (1 - share(g["state_of_charge"])) / (share(g["state_of_charge"]) - 0.1),
            ),
            slip("You counted down to empty. It opens at {lowest_charge}.", lowest_charge=Q(0, "percent")),
            slip(
                "You counted from full. It was put away at {state_of_charge}.",
                state_of_charge=Q(100, "percent"),
            ),
            slip("Those are hours. A day has 24.", factor=24),
        ],
        outcome=3,
        see=EXAMPLE,
    ),
    Choice(
        "A trailer with a lithium bank stands from November to March. How do you put the bank away?",
        right="About half full, cool, main switch open, and a look at it after two or three months.",
        wrong={
            "Full, on its charger all winter.":
                "Full is where it ages fastest by the calendar. A lead-acid bank is kept full, not this one.",
            "Empty, so that nothing can happen.":
                "Its own electronics and self-discharge then take it below its cut-off within weeks.",
            "In a heated room, full.": "Warm and full at once is the hardest storage there is.",
        },
        outcome=3,
        see=RULES,
    ),
    Question(
        "A lithium bank of {capacity} has cells at {temperature}. By this lesson's table, what is the "
        "highest charge current?",
        given=dict(capacity=pick(200, 300, 480, unit="Ah"), temperature=pick(35, 41, 52, 59, unit="degF")),
        answer=highest_charge_current,
        unit="A",
        slips=[
            slip("That is the rate for warm cells. At {temperature} it is lower.", temperature=Q(77, "degF")),
            slip(
                "You took the row of the other cold step: the table's rows hold from their temperature up "
                "to the next.",
                temperature=lambda g: Q(52, "degF") if g["temperature"] < Q(50, "degF") else Q(41, "degF"),
            ),
            slip(
                "That is 1C, the whole capacity in an hour.",
                factor=lambda g: 1 / cycle_life.cold_charge_rate(g["temperature"]),
            ),
        ],
        outcome=4,
        see=EXAMPLE,
    ),
    Choice(
        "A compartment heater is set to 38 °F, though charging is allowed from 32 °F. What do the six "
        "degrees buy?",
        right="Hours until it freezes if the heater fails, and room for a sensor off the coldest cell.",
        wrong={
            "Nothing: a waste of energy.":
                "The sensor is not on the coldest cell, and a heater that fails gives no notice.",
            "Lithium plates at 32 °F and never at 38 °F.":
                "Plating is a trade-off of cold and rate. At 38 °F a high rate can still plate.",
            "A faster charge.": "The rate near freezing stays low on both sides of it.",
        },
        outcome=4,
        see=EXAMPLE,
    ),
    Question(
        "A bank of {bank_price} delivers {lifetime_energy} in its life. Each kWh that goes in costs "
        "{price}, and {cycle_efficiency} of "
        "it comes out again. What does a delivered kWh cost?",
        given=dict(
            bank_price=pick(1400, 2200, 2700, unit="USD"),
            lifetime_energy=pick(4000, 6000, 9000, unit="kWh"),
            price=pick(0.18, 0.25, 0.40, unit="USD/kWh"),
            cycle_efficiency=pick(75, 80, 85, unit="%"),
        ),
        answer=cycle_life.delivered_cost,
        unit="USD/kWh",
        tolerance=0.008,
        slips=[
            slip("The bank is missing: its price is spread over what it delivers.", bank_price=Q(0, "USD")),
            slip("The energy that goes in is missing.", price=Q(0, "USD/kWh")),
            slip("The loss is missing: {cycle_efficiency} of what goes in comes out.", cycle_efficiency=1.0),
        ],
        outcome=5,
        see=EXAMPLE,
    ),
    Question(
        "A warranty covers {warranty_cycles} equivalent full cycles. A coach makes {cycles_per_week} "
        "cycles of {depth_of_discharge} depth "
        "a week in {weeks} weeks of the year. After how many years are they used up?",
        given=dict(
            warranty_cycles=pick(2000, 3000, 4000),
            cycles_per_week=pick(5, 7),
            weeks=pick(24, 30),
            depth_of_discharge=pick(40, 60, 70, unit="%"),
        ),
        answer=warranted_years,
        unit="year",
        tolerance=0.01,
        slips=[
            slip(
                "You counted every cycle as a full one. This warranty counts full ones.",
                depth_of_discharge=1.0,
            ),
            slip(
                "Depth and charge are confused: what counts is what was taken out.",
                depth_of_discharge=lambda g: 1 - share(g["depth_of_discharge"]),
            ),
            slip("You counted all 52 weeks. The coach is used in {weeks}.", weeks=52),
        ],
        outcome=5,
        see=EXAMPLE,
    ),
]
