"""Questions of the charging lesson."""

from coachwork import charging
from coachwork.page.questions import Choice, Question, pick, slip
from coachwork.quantities import Q, floats

IDEA, EXAMPLE, TRY, RULES = "4 The idea", "5 Worked example", "6 Try it", "7 Rules of the trade"


def _tail_share(given):
    """The tail alone as a share of the whole charge."""
    turn = charging.knee(given["capacity"], given["current"], given["acceptance_time"])
    tail = charging.tail_time(given["acceptance_time"], turn, given["end_charge"])
    return floats(tail / charging.charge_time(**given), "")


def _added(given):
    charger, load = (given[name].magnitude for name in ("charger_current", "load_current"))
    return (charger - load) / (charger + load)


QUESTIONS = [
    Question(
        "A lithium bank of {capacity} stands at {start_charge}. A charger gives {charger_current} while the DC loads take "
        "{load_current}. How long until it stands at {end_charge}? Leave losses in the bank out.",
        given=dict(capacity=pick(240, 480, 720, unit="Ah"), charger_current=pick(40, 50, 60, unit="A"),
                   load_current=pick(6, 8, 10, unit="A"), start_charge=Q(30, "%"), end_charge=Q(90, "%")),
        answer=charging.refill_time,
        unit="h",
        slips=[
            slip("What runs meanwhile is forgotten: the loads take {load_current} before the bank gets any.",
                 load_current=Q(0, "A")),
            slip("The loads were added to the charger. They take from it.", factor=_added),
            slip("That is from empty. It stands at {start_charge} already.", start_charge=Q(0, "%")),
        ],
        outcome=1,
        see=EXAMPLE,
    ),
    Question(
        "An AGM bank of {capacity} accepts its missing amp-hours divided by {acceptance_time}. A charger can give {current}. "
        "How long from {start_charge} to {end_charge}, leaving losses in the bank out?",
        given=dict(capacity=Q(210, "Ah"), current=pick(30, 60, unit="A"), start_charge=pick(40, 50, unit="%"),
                   end_charge=pick(97, 98, 99, unit="%"), acceptance_time=Q(1, "h")),
        answer=charging.charge_time,
        unit="h",
        slips=[
            slip("Full current to the end: from the knee on the battery takes less and less.", acceptance_time=Q(0, "h")),
            slip("That is the tail alone. The time up to the knee comes first.", factor=_tail_share),
        ],
        outcome=1,
        see=EXAMPLE,
    ),
    Question(
        "An AGM bank of {capacity} with an acceptance time of {acceptance_time} is charged with {current}. At which state of "
        "charge does the tail start?",
        given=dict(capacity=pick(200, 220, 300, unit="Ah"), current=pick(25, 40, 50, 60, unit="A"),
                   acceptance_time=Q(1, "h")),
        answer=charging.knee,
        unit="%",
        slips=[
            slip("That is what is still missing there. The state of charge is the rest.",
                 factor=lambda given: (1 - charging.knee(**given)) / charging.knee(**given)),
            slip("A larger bank has a later knee: current is divided by capacity, not capacity by current.",
                 factor=lambda given: (given["capacity"] / given["current"]).magnitude / 100 / charging.knee(**given)),
        ],
        outcome=1,
        see=IDEA,
    ),
    Question(
        "A simple charger gives {charger_current} at {voltage}. It is {efficiency} efficient and its power factor is "
        "{power_factor}. What does it take from a {line_voltage} inlet?",
        given=dict(charger_current=pick(40, 50, 60, unit="A"), voltage=Q(14.2, "V"), efficiency=pick(82, 85, unit="%"),
                   power_factor=pick(65, 70, unit="%"), line_voltage=Q(120, "V")),
        answer=charging.charger_line_current,
        unit="A",
        slips=[
            slip("Charger amps on the wrong side: those are the amps at {voltage}, not at {line_voltage}.",
                 factor=lambda given: given["charger_current"].magnitude / charging.charger_line_current(**given).magnitude),
            slip("The power factor is forgotten: the inlet carries volt-amperes.", power_factor=Q(100, "%")),
            slip("The charger's loss is forgotten.", efficiency=Q(100, "%")),
        ],
        outcome=2,
        see=EXAMPLE,
    ),
    Question(
        "On a {inlet_current} inlet {power} of other things run while the bank is charged for hours. What current is left for "
        "the charger at {line_voltage}?",
        given=dict(inlet_current=pick(20, 30, unit="A"), power=pick(300, 900, 1080, unit="W"), line_voltage=Q(120, "V")),
        answer=charging.line_current_left,
        unit="A",
        slips=[
            slip("For hours a circuit carries 80 % of its rating, not all of it.", continuous_share=Q(100, "%")),
            slip("What runs meanwhile is forgotten.", power=Q(0, "W")),
        ],
        outcome=2,
        see=IDEA,
    ),
    Question(
        "A {rated_current} alternator keeps up {hot_share} of its plate when hot. The vehicle takes {chassis_current}. What is "
        "left for the house?",
        given=dict(rated_current=pick(150, 180, 220, unit="A"), hot_share=pick(55, 60, 65, unit="%"),
                   chassis_current=pick(35, 40, 45, unit="A")),
        answer=charging.alternator_spare,
        unit="A",
        slips=[
            slip("The plate holds cold and at full speed. Hot, {hot_share} of it is left.", hot_share=Q(100, "%")),
            slip("The vehicle takes its own amps first.", chassis_current=Q(0, "A")),
        ],
        outcome=2,
        see=IDEA,
    ),
    Question(
        "A DC-DC charger gives {output_current} at {output_voltage} and is {efficiency} efficient. At its input stand "
        "{input_voltage}. What does it draw there?",
        given=dict(output_current=pick(20, 30, 50, unit="A"), output_voltage=Q(14.6, "V"),
                   input_voltage=pick(12, 12.2, unit="V"), efficiency=pick(90, 92, unit="%")),
        answer=charging.dcdc_input_current,
        unit="A",
        slips=[
            slip("Those are the amps on the bank's side. On the engine's side it takes more.",
                 factor=lambda given: given["output_current"].magnitude / charging.dcdc_input_current(**given).magnitude),
            slip("Efficiency was multiplied where it divides: it takes in more than it gives.",
                 factor=lambda given: given["efficiency"].to("").magnitude ** 2),
            slip("The charger's loss is forgotten.", efficiency=Q(100, "%")),
        ],
        outcome=3,
        see=EXAMPLE,
    ),
    Question(
        "A tow vehicle holds {supply_voltage}. Its charge line, there and back with fuse and pins, is {resistance}. The bank "
        "rests at {open_circuit_voltage}. What current arrives?",
        given=dict(supply_voltage=pick(14.0, 14.2, 14.4, unit="V"), open_circuit_voltage=pick(13.2, 13.3, unit="V"),
                   resistance=pick(100, 120, 150, unit="mohm")),
        answer=charging.charge_current_through,
        unit="A",
        slips=[
            slip("Only the difference of the two voltages drives the current: the bank pushes back.",
                 open_circuit_voltage=Q(0, "V")),
            slip("That counts one way only. The current comes back as well.",
                 resistance=lambda given: given["resistance"] / 2),
        ],
        outcome=3,
        see=EXAMPLE,
    ),
    Choice(
        "A crew tows its trailer with a pickup that has a smart alternator. On a long flat road the plain charge line empties "
        "the trailer's bank. Why?",
        right="The alternator has let its voltage fall below that of the bank, so the current flows back to the pickup.",
        wrong={
            "The wire is too thin.": "A thin wire lets little through, but it does not turn the current round.",
            "The bank is too large for the alternator.": "A large bank takes more for longer. It does not give back.",
            "The charge line's fuse has blown.": "Then nothing would flow in either direction.",
        },
        outcome=3,
        see=TRY,
    ),
    Choice(
        "A converter made for lead-acid follows temperature and equalises at 15.5 V each month. A lithium bank of 14.6 V at most "
        "takes the place of the old batteries. What follows?",
        right="It has to go or be set otherwise: it would lift the bank above its limit, and the protection would open under charge.",
        wrong={
            "It may stay: the battery's electronics protect it.": "They are the last line. Each opening under charge lets the converter leap, and the bus with it.",
            "It may stay if it is switched off in cold weather.": "The equalising comes in any weather.",
            "It only takes longer.": "It would charge well enough, up to the day on which it equalises.",
        },
        outcome=4,
        see=RULES,
    ),
    Choice(
        "A second alternator charges a lithium bank and nothing else is connected to it. On the road the last module opens. "
        "What happens first?",
        right="The alternator's voltage leaps: nothing holds it while its field dies away.",
        wrong={
            "The alternator stops at once.": "Its field needs a fraction of a second to die away, and what it makes has nowhere to go.",
            "Nothing: the regulator takes care of it.": "A regulator acts on the field, and the field is slow.",
            "The fuse blows.": "The current falls. A fuse sees current, not volts.",
        },
        outcome=4,
        see=RULES,
    ),
    Question(
        "A generator gives {power} at {efficiency}. Its gasoline holds {heat_content}. What does it burn in an hour?",
        given=dict(power=pick(800, 1000, 1200, unit="W"), efficiency=pick(15, 18, 20, unit="%"),
                   heat_content=Q(35.2, "kWh/gal")),
        answer=charging.fuel_rate,
        unit="gph",
        slips=[
            slip("That would be an engine without loss. Only {efficiency} of the heat becomes electricity.",
                 efficiency=Q(100, "%")),
            slip("Efficiency was multiplied where it divides.",
                 factor=lambda given: given["efficiency"].to("").magnitude ** 2),
        ],
        outcome=5,
        see=IDEA,
    ),
    Question(
        "A night takes {energy} out of a {voltage} bank. A charger gives {charger_current} while the loads take {load_current}. "
        "How long must it run to bring the night back? Leave losses in the bank out.",
        given=dict(energy=pick(1500, 1900, 2200, unit="Wh"), voltage=Q(12.8, "V"), charger_current=pick(30, 45, 60, unit="A"),
                   load_current=pick(5, 8, unit="A")),
        answer=charging.time_for_energy,
        unit="h",
        slips=[
            slip("What runs meanwhile is forgotten: the loads take {load_current} first.", load_current=Q(0, "A")),
            slip("Watt-hours were divided by amps. Amps times {voltage} are watts.",
                 factor=lambda given: given["voltage"].magnitude),
        ],
        outcome=5,
        see=EXAMPLE,
    ),
]  # fmt: skip
