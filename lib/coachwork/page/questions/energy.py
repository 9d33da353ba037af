"""Questions of the energy lesson."""

from coachwork import energy
from coachwork.page.questions import Choice, Question, pick, slip
from coachwork.quantities import Q

IDEA, EXAMPLE, RULES = "4 The idea", "5 Worked example", "7 Rules of the trade"

QUESTIONS = [
    Question(
        "{count} lamps of {power} each burn {hours} a day. What do they take in a day?",
        given=dict(power=pick(4, 6, 9, 12, unit="W"), hours=pick(3, 4, 5, 6, unit="h"), count=pick(3, 4, 6)),
        answer=energy.load_energy,
        unit="Wh",
        slips=[
            slip("That is one lamp only. There are {count} of them.", count=1),
            slip("The hours were counted as minutes.", factor=60),
            slip("The watts were taken for kilowatts.", factor=1000),
        ],
        outcome=1,
        see=IDEA,
    ),
    Question(
        "A refrigerator draws {power} while its compressor runs. It is switched on {hours} a day and its duty is "
        "{duty}. What does it take in a day?",
        given=dict(power=pick(50, 60, 75, unit="W"), hours=Q(24, "h"), duty=pick(28, 33, 40, 45, unit="%")),
        answer=energy.load_energy,
        unit="Wh",
        slips=[
            slip("The duty is missing: the compressor runs only {duty} of the time.", duty=1),
            slip("The duty is a share: {duty} is a number below 1, not the number before the sign.", factor=100),
            slip("That is the part of the time in which it rests.", duty=lambda given: 1 - given["duty"].to("").magnitude),
        ],
        outcome=1,
        see=IDEA,
    ),
    Question(
        "A day takes {energy} from a bank of {voltage}. How many amp-hours is that?",
        given=dict(energy=pick(1800, 2300, 2900, 3400, unit="Wh"), voltage=pick(25.6, 51.2, unit="V")),
        answer=energy.charge_from_energy,
        unit="Ah",
        slips=[
            slip("That is the charge at 12.8 V. This bank has {voltage}.", voltage=Q(12.8, "V")),
            slip("Watt-hours were multiplied by volts. Charge is energy divided by voltage.",
                 factor=lambda given: given["voltage"].magnitude ** 2),
        ],
        outcome=2,
        see=EXAMPLE,
    ),
    Question(
        "A module is labelled {charge} at {voltage}. How much energy does it hold?",
        given=dict(charge=pick(50, 100, 150, 240, unit="Ah"), voltage=pick(12.8, 25.6, 51.2, unit="V")),
        answer=energy.energy_from_charge,
        unit="Wh",
        slips=[
            slip("Amp-hours were divided by volts. Energy is charge times voltage.",
                 factor=lambda given: given["voltage"].magnitude ** -2),
            slip("Watt-hours were taken for kilowatt-hours.", factor=1000),
        ],
        outcome=2,
        see=IDEA,
    ),
    Question(
        "AC loads take {energy} in a day through an inverter that is {efficiency} efficient. What leaves the battery "
        "for them?",
        given=dict(energy=pick(600, 900, 1400, 2000, unit="Wh"), efficiency=pick(82, 85, 88, unit="%")),
        answer=energy.energy_at_battery,
        unit="Wh",
        slips=[
            slip("The inverter's loss is forgotten: more leaves the battery than reaches the loads.", efficiency=1),
            slip("Efficiency was multiplied where it divides: the battery must give more than the loads get.",
                 factor=lambda given: given["efficiency"].to("").magnitude ** 2),
        ],
        outcome=3,
        see=EXAMPLE,
    ),
    Question(
        "An inverter delivers {power} at an efficiency of {efficiency}. The bank has sagged to {voltage}. What current "
        "flows on the DC side?",
        given=dict(power=pick(1200, 1800, 2400, unit="W"), efficiency=pick(91, 92, 93, unit="%"), voltage=Q(11.0, "V")),
        answer=energy.inverter_input_current,
        unit="A",
        slips=[
            slip("That is the current at 12.8 V. It is largest when the bank is low.", voltage=Q(12.8, "V")),
            slip("The inverter's loss is forgotten.", efficiency=1),
            slip("That is the current on the 120 V side.", voltage=Q(120, "V"), efficiency=1),
        ],
        outcome=3,
        see=EXAMPLE,
    ),
    Question(
        "A coach takes {energy} in a day of {hours}. What is its mean power?",
        given=dict(energy=pick(1900, 2600, 3100, 4300, unit="Wh"), hours=Q(24, "h")),
        answer=energy.mean_power,
        unit="W",
        slips=[
            slip("That is the mean over 12 hours. A day has 24.", hours=Q(12, "h")),
            slip("Energy was multiplied by time. Mean power is energy divided by time.", factor=24**2),
        ],
        outcome=4,
        see=IDEA,
    ),
    Choice(
        "The night's share of a coach's day is 64 %. What does that say?",
        right="Of the day's energy, 64 % leaves the battery between sunset and sunrise, when no sun can replace it.",
        wrong={
            "The battery may be emptied to 64 % by the morning.": "A share of the day's energy says nothing of how full the bank is.",
            "The coach draws 64 % of its peak power at night.": "It is a share of energy, not of power.",
            "The night lasts 64 % of the day.": "It is a share of energy. The hours of the night only decide what counts as night.",
        },
        outcome=4,
        see=IDEA,
    ),
    Question(
        "The design day takes {energy} and the margin is {margin}. What must the bank be planned for?",
        given=dict(energy=pick(2200, 2700, 3300, unit="Wh"), margin=pick(20, 25, unit="%")),
        answer=energy.with_margin,
        unit="Wh",
        slips=[
            slip("That is the margin alone. It comes on top of the day.",
                 factor=lambda given: (m := given["margin"].to("").magnitude) / (1 + m)),
            slip("The margin was taken away. It comes on top.",
                 factor=lambda given: (1 - (m := given["margin"].to("").magnitude)) / (1 + m)),
            slip("The margin is a share: {margin} is a number below 1.",
                 factor=lambda given: (1 + 100 * (m := given["margin"].to("").magnitude)) / (1 + m)),
        ],
        outcome=5,
        see=RULES,
    ),
    Choice(
        "A coach is lived in all year. Its summer day takes 2.4 kWh, its winter day 3.1 kWh. Which day must the bank carry?",
        right="The winter day, because the bank must carry the season that takes most.",
        wrong={
            "The mean of the two.": "Half the year the bank would be too small.",
            "The summer day, because it has the most sun.": "Sun refills the bank. How much must be stored is another question.",
            "The sum of the two.": "No day takes both.",
        },
        outcome=5,
        see="8 Your coach",
    ),
]  # fmt: skip
