"""Questions of the whole-system lesson."""

from coachwork import whole_system
from coachwork.page.questions import Choice, Question, pick, slip
from coachwork.quantities import Count, Energy, Fraction, Power, Q, Ratio, Time

IDEA, EXAMPLE, TRY = "4 The idea", "5 Worked example", "6 Try it"


def stored(offered_energy: Energy, missing: Energy, stored_share: Fraction) -> Energy:
    """What a bank has gained after a day of sun with no load: no more than it lacked."""
    full = 10 * offered_energy
    zero = Q(0, "Wh")
    end = whole_system.level_after_a_day(zero, zero, offered_energy, stored_share, full, full - missing)
    return end - (full - missing)


def modules_for_nights(night_energy: Energy, mean_energy: Energy, nights: Count, module_energy: Energy) -> Count:
    """Modules that carry so many nights like the worst one; the mean does not matter."""
    return 1 / whole_system.nights_carried(module_energy, nights * night_energy)


def refill(energy: Energy, power: Power, load: Power, stored_share: Fraction) -> Time:
    """Hours of a generator whose charger gives some power to the bus while loads take some of it."""
    return whole_system.generator_time(energy, power - load, stored_share)


def night_alone(power: Power, hours: Time, usable_energy: Energy) -> Count:
    """Nights that a bank carries a steady load."""
    return whole_system.nights_carried(usable_energy, power * hours)


def sun_needed(day_energy: Energy, night_energy: Energy, stored_share: Fraction) -> Energy:
    """What must be offered in the day."""
    return whole_system.through_the_bank(day_energy, night_energy, stored_share)


def doubt(kept: Count, trials: Count) -> Ratio:
    """Standard error of the share of trips that were kept."""
    return whole_system.uncertainty_of_share(kept / trials, trials)


def number(value):
    """A share such as 95 % as a number below 1."""
    return float(value.m_as(""))


QUESTIONS = [
    Question(
        "By day {day_energy} are used, by night {night_energy} out of a bank that gives back {stored_share} of what it takes. "
        "What must the sun bring, so that the bank ends as full as it began?",
        given=dict(day_energy=pick(1500, 1800, 2100, unit="Wh"), night_energy=pick(1400, 1700, 1900, unit="Wh"),
                   stored_share=pick(75, 80, unit="%")),
        answer=sun_needed,
        unit="Wh",
        slips=[
            slip("That leaves out the loss in the bank: what the night takes must go in larger.",
                 factor=lambda g: float((g["day_energy"] + g["night_energy"]) / sun_needed(**g))),
            slip("What is used by day does not pass through the bank and pays no loss there.",
                 factor=lambda g: float((g["day_energy"] + g["night_energy"]) / g["stored_share"] / sun_needed(**g))),
        ],
        outcome=1,
        see=EXAMPLE,
    ),
    Question(
        "The array offers {offered_energy} in a day on which nothing is used. The bank lacks {missing} and gives back "
        "{stored_share} of what it takes. By how much does its charge rise?",
        given=dict(offered_energy=pick(3500, 4200, 5000, unit="Wh"), missing=pick(700, 900, 1200, unit="Wh"),
                   stored_share=pick(90, 95, unit="%")),
        answer=stored,
        unit="Wh",
        slips=[
            slip("You counted sun while the bank is full. It takes what it lacks; the rest is spilled.",
                 factor=lambda g: number(g["stored_share"]) * float(g["offered_energy"] / g["missing"])),
            slip("You counted all that the array offers, loss and full bank left out.",
                 factor=lambda g: float(g["offered_energy"] / g["missing"])),
        ],
        outcome=1,
        see=IDEA,
    ),
    Question(
        "A bank of {usable_energy} usable carries {power} for {hours} a night. How many such nights, if nothing comes back?",
        given=dict(usable_energy=pick(4600, 6100, 9200, unit="Wh"), power=pick(150, 190, 230, unit="W"),
                   hours=pick(9, 10, 11, unit="h")),
        answer=night_alone,
        unit="",
        slips=[
            slip("You divided by watts. A night takes energy: watts times its hours.", factor=lambda g: g["hours"].m_as("h")),
            slip("You counted 24 hours a night.", factor=lambda g: g["hours"].m_as("h") / 24),
        ],
        outcome=2,
        see=EXAMPLE,
    ),
    Question(
        "Over the year a night takes {mean_energy} on average, the worst one {night_energy}. A module has {module_energy} usable. "
        "How many modules, not rounded, carry {nights} nights like the worst in a row without any sun?",
        given=dict(mean_energy=pick(700, 800, 900, unit="Wh"), night_energy=pick(2100, 2500, 2900, unit="Wh"),
                   module_energy=pick(1900, 2400, unit="Wh"), nights=pick(2)),
        answer=modules_for_nights,
        unit="",
        slips=[
            slip("You took the average night. Half of all nights take more; the worst one is what the bank must carry.",
                 night_energy=lambda g: g["mean_energy"]),
            slip("That carries one night. {nights} follow each other.", nights=1),
        ],
        outcome=2,
        see=TRY,
    ),
    Question(
        "{energy} are to come out of the bank again. The generator's charger gives {power}, loads take {load} meanwhile, the bank gives "
        "back {stored_share}. How long does it run?",
        given=dict(energy=pick(1800, 2400, 3000, unit="Wh"), power=pick(700, 800, 900, unit="W"), load=pick(280, 300, 320, unit="W"),
                   stored_share=pick(80, 85, unit="%")),
        answer=refill,
        unit="h",
        slips=[
            slip("The loads take their share of the charger first.", load=Q(0, "W")),
            slip("That leaves out the loss in the bank.", stored_share=Q(100, "%")),
        ],
        outcome=3,
        see=EXAMPLE,
    ),
    Choice(
        "Two designs keep the promised nine days of ten: A costs less to buy and runs the generator 60 h a year, B costs 400 USD more "
        "and runs it 10 h. An hour takes 0.16 gal at 3.80 USD, and 1 USD for oil and wear. The owner counts ten years. Which is the cheaper?",
        right="B: fifty hours a year at 1.61 USD are 804 USD in ten years",
        wrong={
            "A: it costs less to buy": "Fifty hours more a year at 1.61 USD are 80 USD, every year, for ten years.",
            "They are equal: both keep the promise": "The promise is one limit; among designs that keep it the price decides.",
            "It cannot be said without the state of charge": "Both were run for a year, and the state of charge is in the hours found.",
        },
        outcome=4,
        see="8 Your coach",
    ),
    Question(
        "In {trials} trips under drawn weather {kept} lacked nothing. What is the standard error of that share, in percent?",
        given=dict(trials=pick(100, 150, 200), kept=pick(80, 86, 92)),
        answer=lambda trials, kept: Q(100 * doubt(kept, trials), "percent"),
        unit="%",
        slips=[
            slip("That is the share that failed, not the doubt about it.",
                 factor=lambda g: (1 - g["kept"] / g["trials"]) / doubt(g["kept"], g["trials"])),
            slip("You forgot the square root.", factor=lambda g: doubt(g["kept"], g["trials"])),
        ],
        outcome=5,
        see="4 The idea",
    ),
    Choice(
        "Each night of a five-night trip lacks nothing with a chance of 90 %. In 400 tried trips all five nights were kept in 80 % of them, "
        "though 0.9 to the fifth power is 59 %. Why?",
        right="Dull days come in rows: bad nights crowd into few trips, so more trips have none",
        wrong={
            "The trials are wrong: the product must come out": "The product holds for nights that do not hang together. These do.",
            "The bank is full again each evening": "Then no night would fail. On dull days it is not.",
            "80 % is luck: 400 trips are too few": "Their standard error, the doubt that the drawing leaves, is 2 %, so 59 % is far outside.",
        },
        outcome=5,
        see=TRY,
    ),
]
