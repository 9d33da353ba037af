"""Questions of the commissioning lesson."""

import math

from coachwork import capacity, commissioning
from coachwork.page.questions import Choice, Question, pick, slip
from coachwork.quantities import Charge, Count, Current, Q, Ratio, Resistance, Temperature, Time, Voltage


def joint(voltage_drop: Voltage, current: Current, light_current: Current) -> Resistance:
    """Resistance of a joint from the drop across it and the current at the same moment."""
    return commissioning.drop_resistance(voltage_drop, current)


def drop_now(current: Current, design_current: Current, resistance: Resistance) -> Voltage:
    """Drop at the current that flows during the test."""
    return commissioning.expected_drop(current, resistance)


def halvings(suspects: Count) -> Ratio:
    """Measurements that leave one suspect where each halves what is left."""
    return float(math.ceil(math.log2(suspects)))


def _limit(given, share):
    """Largest reading in mV at a share above the prediction."""
    return (1 + share) * given["voltage_drop"].m_as("mV") + given["resolution"].m_as("mV")


def weeks_left(charge: Charge, share: Ratio, standing_current: Current) -> Time:
    """How long a share of a bank lasts at its standing draw."""
    return commissioning.standing_time(charge * share, standing_current)


def shown_capacity(hours: Time, rated_hours: Time, temperature: Temperature) -> Ratio:
    """Share of its rating that a lead-acid bank showed, its temperature counted."""
    return commissioning.capacity_from_test(hours, rated_hours, capacity.capacity_test_factor(temperature))


QUESTIONS = [
    Choice(
        "A pump is switched on and stands still. You put the voltmeter across its fuse, which has blown. "
        "What does it show?",
        right="Nearly the volts of the bank: no current flows, so the pump takes none of them",
        wrong={
            "0 V: nothing flows": "No current does not mean no volts. With the circuit broken here, all "
                                  "volts stand here.",
            "A few millivolts, as across any fuse": "That is a sound fuse under load. This one lets no "
                                                    "current through.",
            "Half of the bank: the meter is in the middle": "The meter has 10 MΩ, the pump a few ohms: the "
                                                            "meter gets all of it.",
        },
        outcome=1, see="4 The idea",
    ),
    Choice(
        "You want to know whether a fuse is open and turn the dial to ohms, with everything running. The "
        "display says 98 Ω. What "
        "is wrong?",
        right="The circuit is live: the volts across the fuse are shown as ohms, and the meter may be hurt",
        wrong={
            "The fuse is nearly open": "A fuse of 98 Ω would carry nothing. The reading is false: the "
                                       "circuit is live.",
            "The leads have too much resistance": "Leads have a tenth of an ohm or so. The circuit is live.",
            "Nothing: warm fuses have more ohms": "Not by a factor of ten thousand. The circuit is live.",
        },
        outcome=1, see="4 The idea",
    ),
    Choice(
        "The meter shows 0.00 V between the buses, yet the lights burn. What do you look at first?",
        right="The dial: on AC volts a steady voltage shows as nothing on most meters",
        wrong={
            "The main fuse": "The lights burn, so it conducts. The meter stands on the wrong kind of volts.",
            "The bank: it is flat": "Then the lights would be dark. The meter stands on the wrong kind of "
                                    "volts.",
            "The ground joint": "Both probes are on the buses; the frame does not matter here.",
        },
        outcome=1, see="6 Try it",
    ),
    Choice(
        "At noon the bus shows 14.2 V. Each morning the coach is dark. What does the 14.2 V say of the bank?",
        right="Nothing: it is the charger's voltage. Stop the sun, put a load on, and read the modules' own "
              "posts and currents",
        wrong={
            "It is full: 14.2 V is above its rest": "With its switch left open there need not even be a bank "
                                                    "on that bus.",
            "It is being charged": "Only a current into it says so. The controller may stand at 14.2 V "
                                   "alone.",
            "It is overcharged": "14.2 V is the absorption that was set. It says nothing of the bank.",
        },
        outcome=1, see="6 Try it",
    ),
    Question(
        "Before the load came on, the clamp read {light_current}. Now it reads {current}, and {voltage_drop} "
        "stand across one "
        "lug. What is the lug's resistance, in mΩ?",
        given=dict(voltage_drop=pick(90, 120, 150, unit="mV"), current=pick(110, 125, 140, unit="A"),
                   light_current=pick(15, 22, unit="A")),
        answer=joint, unit="mohm",
        slips=[
            slip("You divided by the current before the load. Volts and amps belong to the same moment.",
                 current=lambda g: g["light_current"]),
            slip("The drop is in millivolts; you took volts.", factor=1000),
            slip("That is amps over volts. Resistance is volts over amps.",
                 factor=lambda g: 1e3 / (g["voltage_drop"].m_as("mV") / g["current"].m_as("A")) ** 2),
        ],
        outcome=2, see="5 Worked example",
    ),
    Question(
        "A feed has {resistance}, there and back, by the wire schedule. It is made for {design_current}; "
        "during the test the clamp "
        "reads {current}. What drop do you expect?",
        given=dict(resistance=pick(1.0, 1.5, 2.2, unit="mohm"), design_current=pick(200, 235, unit="A"),
                   current=pick(70, 85, 140, unit="A")),
        answer=drop_now, unit="mV",
        slips=[
            slip("That is the drop at the design current. Only {current} flow now.",
                 current=lambda g: g["design_current"]),
            slip("The resistance is there and back already; you doubled it.", factor=2),
        ],
        outcome=2, see="4 The idea",
    ),
    Question(
        "A drop of {voltage_drop} is predicted at the current of the test. The tolerance is "
        "{drop_tolerance}, the meter's last step "
        "{resolution}. What is the largest reading that passes?",
        given=dict(voltage_drop=pick(75, 110, 150, unit="mV"), drop_tolerance=Q(20, "percent"),
                   resolution=Q(2, "mV")),
        answer=lambda voltage_drop, drop_tolerance, resolution: commissioning.drop_limit(
            voltage_drop, float(drop_tolerance.to("").magnitude), resolution),
        unit="mV",
        slips=[
            slip("The meter's last step may be wrong too: add {resolution}.", resolution=Q(0, "mV")),
            slip("You left the tolerance out.", drop_tolerance=Q(0, "percent")),
            slip("You took the tolerance away. It is added.",
                 factor=lambda g: _limit(g, -0.2) / _limit(g, 0.2)),
        ],
        tolerance="0.3 mV", outcome=2, see="4 The idea",
    ),
    Choice(
        "A lug at the bus is bad. The furnace at the other end of the coach blows slowly. Where does most of "
        "the missing voltage "
        "show?",
        right="Across the bad lug, wherever the complaint is",
        wrong={
            "Across the furnace: that is where it is weak": "The furnace is the far end. It gets what is "
                                                            "left; its own volts do not "
                                                            "say where the rest went.",
            "Spread evenly along the wire": "Each part takes its own I × R. The lug has most of the "
                                            "resistance, so most of the drop.",
            "Nowhere, with the furnace off": "True with it off, but it runs: under load the drop stands "
                                             "across the lug.",
        },
        outcome=3, see="4 The idea",
    ),
    Question(
        "{suspects} parts could be at fault, and each measurement in the middle of what is left clears half "
        "of them. How many "
        "measurements leave one?",
        given=dict(suspects=pick(8, 16, 32, 64)), answer=halvings, unit="",
        slips=[
            slip("That is one part after the other. Halving leaves half each time.",
                 factor=lambda g: (g["suspects"] - 1) / math.log2(g["suspects"])),
            slip("You halved once. Go on halving until one is left.",
                 factor=lambda g: g["suspects"] / 2 / math.log2(g["suspects"])),
        ],
        tolerance="0.3", outcome=3, see="4 The idea",
    ),
    Question(
        "With everything off the clamp reads {standing_current}. The bank holds {charge}; half of it may be "
        "used up. How many days "
        "does it last?",
        given=dict(charge=pick(480, 600, 720, unit="Ah"), share=0.5,
                   standing_current=pick(120, 250, 400, unit="mA")),
        answer=weeks_left, unit="day",
        slips=[
            slip("You used up all of it. Half is to stay.", share=1.0),
            slip("Those are hours. Divide by 24.", factor=24),
            slip("The current is in milliamps; you took amps.", factor=0.001),
        ],
        outcome=4, see="7 Rules of the trade",
    ),
    Question(
        "A lead-acid bank rated for {rated_hours} gave its rated current for {hours}, its cells at "
        "{temperature}. The IEEE 450 factor "
        "there is {factor_shown}. What share of its capacity did it show, in percent?",
        given=dict(rated_hours=Q(8, "h"), hours=pick(5.2, 5.8, 6.2, unit="h"), temperature=Q(60, "degF"),
                   factor_shown=0.882),
        answer=lambda rated_hours, hours, temperature,
             factor_shown: shown_capacity(hours, rated_hours, temperature),
        unit="%",
        slips=[
            slip("You left the temperature out. Cold cells give less, and that is not their fault.",
                 temperature=Q(77, "degF")),
            slip("You multiplied by the factor. The rated hours shrink with it, so the share grows.",
                 factor=0.882**2),
        ],
        outcome=4, see="7 Rules of the trade",
    ),
    Question(
        "A lug is {temperature_rise} warmer than its like while {tested_current} flow. What will the "
        "difference be at {current}? "
        "(A difference is written as delta_degF or K.)",
        given=dict(temperature_rise=pick(4, 5, 6, unit="delta_degC"), tested_current=pick(90, 100, unit="A"),
                   current=pick(200, 235, unit="A")),
        answer=commissioning.rise_at, unit="delta_degF",
        slips=[
            slip("You let it grow with the current. Heat goes with the current squared.",
                 factor=lambda g: (g["tested_current"] / g["current"]).m_as("")),
            slip("A difference has no 32 in it.", factor=lambda g: 1 + 32 / commissioning.rise_at(
                g["temperature_rise"], g["tested_current"], g["current"]).m_as("delta_degF")),
        ],
        outcome=4, see="6 Try it",
    ),
    Choice(
        "What is the lowest that the inverter's low-voltage cut-off may be, where the modules' own "
        "electronics open at 10.8 V?",
        right="A little above 10.8 V, as the last fence: the inverter stops first and the rest stays fed",
        wrong={
            "10.5 V, as it was delivered": "Then the modules open first: everything goes dark at once, gas "
                                           "alarms among them.",
            "10.8 V exactly": "Two devices with the same number: which opens first is left to their errors.",
            "As low as it goes, to use all that is in there": "The last percent costs the modules years and "
                                                              "you the lights.",
        },
        outcome=4, see="8 Your coach",
    ),
    Choice(
        "You shut the coach down by daylight. When does the array's disconnect open?",
        right="Before the bank's: without a bank the controller's output runs free, and its leads stay live "
              "anyway",
        wrong={
            "After the bank's: the bank is the larger source": "The controller then feeds the bus alone, "
                                                               "without a bank to hold its voltage.",
            "It need not: the controller stops by itself": "A controller is no disconnect. The bus would "
                                                           "stay live.",
            "Never: an array cannot be switched off": "Its panels stay live in daylight. Their path to the "
                                                      "bus can and must be opened.",
        },
        outcome=5, see="8 Your coach",
    ),
    Choice(
        "You have opened everything and the meter shows 0.0 V on the bus. Is it dead?",
        right="Only if the meter shows a live source before and after: else it may be the meter that is dead",
        wrong={
            "Yes: the meter says so": "A blown meter fuse, a flat battery or the wrong dial show 0.0 V as "
                                      "well.",
            "Yes, if all switches are tagged": "A tag keeps people off. It does not measure.",
            "Yes, after a minute": "Time empties capacitors. It does not prove the meter.",
        },
        outcome=5, see="7 Rules of the trade",
    ),
    Choice(
        "Plugged in, somebody feels the door frame tingle. What now?",
        right="Touch nothing, do not measure; the pedestal's breaker off with dry hands on dry ground, then "
              "unplug; the rest is licensed work",
        wrong={
            "Measure from the frame to the earth, to see how bad it is":
                "Whoever measures stands on the earth beside live metal. Measuring it is for a licensed "
                "electrician.",
            "It is harmless: a little leakage is normal":
                "It may be only leakage through filters, or it may be a fault that kills. Nobody touches it "
                "to find out.",
            "Join neutral and ground in the coach": "A second bond makes the metal carry the neutral's "
                                                    "current for good.",
        },
        outcome=5, see="6 Try it",
    ),
]
