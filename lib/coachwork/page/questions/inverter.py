"""Questions of the inverter lesson."""

from coachwork import charging, energy, inverter
from coachwork.page.questions import Choice, Question, pick, slip
from coachwork.quantities import Q

IDEA, EXAMPLE, TRY, RULES = "4 The idea", "5 Worked example", "6 Try it", "7 Rules of the trade"


def _share(given, name):
    return given[name].to("").magnitude


QUESTIONS = [
    Question(
        "A plate says {power} and a power factor of {power_factor}. How many volt-amperes must the inverter's output carry?",
        given=dict(power=pick(55, 90, 130, 180, unit="W"), power_factor=pick(55, 60, 65, unit="%")),
        answer=inverter.apparent_power,
        unit="VA",
        slips=[
            slip("The watts were taken for volt-amperes. The current follows the volt-amperes.", power_factor=1.0),
            slip("The power factor was multiplied. It divides: volt-amperes are never fewer than watts.",
                 factor=lambda given: _share(given, "power_factor") ** 2),
        ],
        outcome=1,
        see=IDEA,
    ),
    Question(
        "An inverter is rated {rated_power} at {reference} and loses {derating_rate}. Its compartment reaches {ambient}. "
        "What does it carry for hours?",
        given=dict(rated_power=pick(1500, 2000, 3000, unit="W"), derating_rate=Q(1.0, "percent/K"),
                   ambient=pick(104, 113, 122, unit="degF"), reference=Q(77, "degF")),
        answer=inverter.derated_power,
        unit="W",
        slips=[
            slip("The difference was taken in °F. The sheet gives its loss for each kelvin, and 1.8 °F are one.",
                 derating_rate=Q(1.8, "percent/K")),
            slip("The heat is forgotten: that is the plate's figure.", ambient=Q(77, "degF")),
        ],
        outcome=1,
        see=EXAMPLE,
    ),
    Question(
        "{other_power} runs already. A pump that draws {power} while it runs starts at {start_multiple} times that. What must "
        "the inverter deliver at that moment?",
        given=dict(other_power=pick(400, 600, 800, unit="W"), power=pick(250, 300, 350, unit="W"), start_multiple=pick(4, 5, 6)),
        answer=inverter.surge_demand,
        unit="W",
        slips=[
            slip("The pump was added twice: its running power is part of its start.",
                 start_multiple=lambda given: given["start_multiple"] + 1),
            slip("That is the start alone. {other_power} runs already.", other_power=Q(0, "W")),
            slip("Only the pump starts. What runs already does not start again.",
                 other_power=lambda given: given["start_multiple"] * given["other_power"]),
        ],
        outcome=2,
        see=EXAMPLE,
    ),
    Question(
        "The plate of a sealed compressor says LRA {locked_rotor_current}. It is fed with {line_voltage}. What does its start "
        "ask for, in watts as this workbook counts them?",
        given=dict(locked_rotor_current=pick(18, 26, 35, unit="A"), line_voltage=Q(120, "V")),
        answer=inverter.start_power_from_current,
        unit="W",
        slips=[
            slip("That is a start at 240 V.", line_voltage=Q(240, "V")),
            slip("Amps were multiplied by the bank's volts. LRA is on the 120 V side.", line_voltage=Q(12.8, "V")),
        ],
        outcome=2,
        see=IDEA,
    ),
    Choice(
        "An air conditioner's plate has no code letter. Where does its starting current come from?",
        right="From the locked-rotor amps (LRA) on the plate: a sealed compressor carries no code letter.",
        wrong={
            "From the code letter of a motor of the same horsepower.": "The table of code letters is for open motors; it does not cover sealed compressors.",
            "From the running amps, times two.": "Compressors start at 3 to 7 times. Twice is what a soft start may reach.",
            "From the size of its breaker.": "A breaker rides through a start. It says nothing of its size.",
        },
        outcome=2,
        see=RULES,
    ),
    Question(
        "An inverter on a 12.8 V bank delivers {power} at an efficiency of {efficiency} and stops at {voltage}. Which direct "
        "current must the cable be planned for?",
        given=dict(power=pick(1200, 1800, 2400, unit="W"), efficiency=pick(91, 92, 93, unit="%"), voltage=Q(10.0, "V")),
        answer=energy.inverter_input_current,
        unit="A",
        slips=[
            slip("That is the current at the nominal 12.8 V. It is largest just before the cut-off.", voltage=Q(12.8, "V")),
            slip("The efficiency was multiplied where it divides: the bank gives more than the loads get.",
                 factor=lambda given: _share(given, "efficiency") ** 2),
            slip("The inverter's loss is forgotten.", efficiency=1.0),
        ],
        outcome=3,
        see=EXAMPLE,
    ),
    Question(
        "A clamp meter on DC shows {current} while the inverter's ripple swings the current from zero to twice the mean. Which "
        "current heats the cable?",
        given=dict(current=pick(120, 180, 240, unit="A"), ripple_share=1.0),
        answer=inverter.rms_with_ripple,
        unit="A",
        slips=[
            slip("That is the mean. Heat follows the square, so the swing counts.", ripple_share=0.0),
            slip("Mean and ripple add as squares, not as numbers.", factor=(1 + 0.5**0.5) / 1.5**0.5),
        ],
        outcome=3,
        see=IDEA,
    ),
    Question(
        "A site has a 50 A, 120/240 V outlet; a meter shows {line_voltage} from each leg to neutral. How many volt-amperes does "
        "the inlet bring?",
        given=dict(inlet_current=Q(50, "A"), line_voltage=pick(117, 120, 123, unit="V"), legs=2),
        answer=charging.inlet_apparent_power,
        unit="VA",
        slips=[
            slip("That is one leg. A 50 A inlet has two.", legs=1),
            slip("Twice 240 V was counted. Each of the two legs has {line_voltage}.", legs=4),
        ],
        outcome=4,
        see=IDEA,
    ),
    Question(
        "A 30 A inlet at {line_voltage} carries {power} of other things for hours. How many amps are left for the charger?",
        given=dict(inlet_current=Q(30, "A"), power=pick(900, 1200, 1500, unit="W"), line_voltage=Q(120, "V")),
        answer=charging.line_current_left,
        unit="A",
        slips=[
            slip("For hours a breaker carries 80 % of its rating, 24 A of 30.", continuous_share=1.0),
            slip("That is what the inlet carries for hours. The other things take their part of it.", power=Q(0, "W")),
        ],
        outcome=4,
        see=EXAMPLE,
    ),
    Question(
        "A charger gives {charger_current} at {voltage}, {efficiency} efficient, power factor {power_factor}. What does it take "
        "from a leg of {line_voltage}?",
        given=dict(charger_current=pick(60, 80, 100, unit="A"), voltage=Q(14.2, "V"), efficiency=pick(88, 90, unit="%"),
                   power_factor=pick(65, 70, unit="%"), line_voltage=Q(120, "V")),
        answer=charging.charger_line_current,
        unit="A",
        slips=[
            slip("The watts were taken for volt-amperes: the power factor is missing.", power_factor=1.0),
            slip("The efficiency was multiplied where it divides.", factor=lambda given: _share(given, "efficiency") ** 2),
        ],
        outcome=4,
        see=EXAMPLE,
    ),
    Question(
        "A 120 V inverter feeds both legs of a panel, in step. Two circuits that share one neutral carry {leg_current} and "
        "{other_leg_current}. What flows in the neutral?",
        given=dict(leg_current=pick(14, 15, 16, unit="A"), other_leg_current=pick(9, 10, 11, unit="A"), phase=Q(0, "deg")),
        answer=inverter.neutral_current,
        unit="A",
        slips=[
            slip("That holds on 120/240 V, where the legs work against each other. Here they are in step and add.",
                 phase=Q(180, "deg")),
            slip("That is one leg only.", other_leg_current=Q(0, "A")),
        ],
        outcome=5,
        see=EXAMPLE,
    ),
    Choice(
        "The coach is plugged in at a site. Where are neutral and ground joined?",
        right="At the site's service, and nowhere in the coach.",
        wrong={
            "In the coach's panel, as in a house.": "A coach is fed like a sub-panel. A second bond lets the ground wire and the coach's metal carry load current.",
            "In the inverter, always, to be safe.": "Its bond belongs to it only while it is the source. On shore it is a second one.",
            "In the panel and at the site, two are safer than one.": "Two bonds make the ground wire a second neutral.",
        },
        outcome=5,
        see="8 Your coach",
    ),
]  # fmt: skip
