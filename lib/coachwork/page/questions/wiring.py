"""Questions of the wiring lesson."""

import math

from coachwork import conductor, wiring
from coachwork.page.questions import Choice, Question, pick, slip
from coachwork.quantities import (
    Count, Current, Length, Q, Ratio, Resistance, ResistancePerLength, Temperature, Voltage,
)  # fmt: skip

WARM = Q(50, "degC")


def share_lost(current: Current, length: Length, resistance_per_length: ResistancePerLength,
               voltage: Voltage) -> Ratio:
    """Share of the system's voltage that a run loses."""
    return wiring.drop_share(wiring.voltage_drop(current, length, resistance_per_length), voltage)


def fuse_for(current: Current, ambient: Temperature, share: Ratio) -> Current:
    """The next stud fuse for a load times a share, derated at an ambient."""
    return wiring.family("stud fuse").next_rating(share * current, ambient)


def bank_fault(voltage: Voltage, internal_resistance: Resistance, parallel: Count,
               resistance: Resistance) -> Current:
    """Fault current of modules side by side through a cable."""
    return wiring.fault_current(voltage, internal_resistance / parallel + resistance)


def module_fuse_load(current: Current, parallel: Count) -> Current:
    """125 % of what each module carries with one of them out."""
    return wiring.continuous_current(current / (parallel - 1))


QUESTIONS = [
    Question(
        "A load of {current} hangs {length} from the panel. Its wire has {resistance_per_length} one way, "
        "warm. How many volts "
        "are lost in the wire?",
        given=dict(
            current=pick(8, 10, 12, 15, unit="A"),
            length=pick(12, 15, 18, 22, unit="ft"),
            resistance_per_length=pick(1.24, 1.98, 3.14, unit="ohm/kft"),
        ),
        answer=wiring.voltage_drop,
        unit="V",
        slips=[
            slip("You counted {length} only. The current also has to come back.", factor=0.5),
            slip("You doubled twice: {length} is the run one way.", factor=2),
            slip("The resistance is that of 1000 ft. Divide by 1000.", factor=1000),
        ],
        outcome=1,
        see="5 Worked example",
    ),
    Question(
        "{current} flow over a run of {length}. The wire has {resistance_per_length} one way, the bank "
        "{voltage}. What share of "
        "the voltage is lost, in percent?",
        given=dict(
            current=pick(20, 25, 30, unit="A"),
            length=pick(10, 12, 16, unit="ft"),
            resistance_per_length=pick(0.491, 0.778, unit="ohm/kft"),
            voltage=Q(12.8, "V"),
        ),
        answer=share_lost,
        unit="%",
        slips=[
            slip("That is a share of 120 V. These volts are missing from {voltage}.", voltage=Q(120, "V")),
            slip("You counted {length} only. Both conductors lose volts.", factor=0.5),
            slip("Those are the volts. Divide them by {voltage}, then take percent.", factor=0.128),
        ],
        outcome=1,
        see="4 The idea",
    ),
    Question(
        "A tapped-in survey bench takes {current} at the end of {length}. No more than {voltage_drop} may be "
        "lost. How many "
        "circular mils must the wire have, with K = 12.9 ohm cmil/ft?",
        given=dict(
            current=pick(12, 15, 20, unit="A"),
            length=pick(14, 18, 20, 25, unit="ft"),
            voltage_drop=pick(0.36, 0.38, 0.6, unit="V"),
            resistivity=Q(12.9, "ohm*circular_mil/ft"),
        ),
        answer=wiring.area_for_drop,
        unit="cmil",
        slips=[
            slip("You took the run one way. L is the way there and back.", factor=0.5),
            slip("You took K = 10.75: that is copper near 85 °F, and a loaded wire is warmer.",
                 resistivity=Q(10.75, "ohm*circular_mil/ft")),
        ],
        outcome=1,
        see="7 Rules of the trade",
    ),
    Choice(
        "A run needs 23,900 circular mils. 10 AWG has 10,380, 8 AWG has 16,510, 6 AWG has 26,240. Which one "
        "do you pull?",
        right="6 AWG: the first with enough copper",
        wrong={
            "10 AWG: the largest number is the largest wire": "The other way round: a smaller number is a "
                                                              "bigger wire.",
            "8 AWG: it is nearest": "It has 16,510 circular mils, a third less than needed.",
            "Two of 10 AWG side by side": "They have 20,760, and conductors smaller than 1/0 may not be used "
                                          "in parallel.",
        },
        outcome=1,
        see="4 The idea",
    ),
    Question(
        "A table gives {base} for a conductor. It lies in air for which the factor is {ambient_factor}, in a "
        "bundle for which "
        "the factor is {bundling_factor}. What may it carry there?",
        given=dict(
            base=pick(40, 55, 75, 95, unit="A"),
            ambient_factor=pick(0.87, 0.82, 0.76),
            bundling_factor=pick(0.7, 0.5),
        ),
        answer=conductor.corrected_ampacity,
        unit="A",
        slips=[
            slip("You left out the bundle: wires that lie together heat each other.", bundling_factor=1.0),
            slip("You left out the warm air.", ambient_factor=1.0),
            slip("You added up what is taken away. Each factor works on what the other has left: multiply.",
                 factor=lambda g: (g["ambient_factor"] + g["bundling_factor"] - 1)
                 / (g["ambient_factor"] * g["bundling_factor"])),
        ],
        outcome=2,
        see="4 The idea",
    ),
    Choice(
        "Someone has read that a boat rule lets you fuse a 12 V conductor at 150 % of its ampacity, and "
        "wants a 90 A fuse on "
        "10 AWG of 105 °C. The table of park trailers says 30 A. Which holds in your coach?",
        right="30 A at most: what the fuse carries for hours, the wire must carry for hours",
        wrong={
            "90 A: the rule is a federal law": "It is a law for gasoline boats, without force in a coach, "
                                               "and a wire at 90 A is a heater.",
            "60 A: the ampacity of the boat table": "The table that stands in for the 12 V side of a "
                                                    "coach caps 10 AWG at 30 A, whatever its insulation stands.",
            "Any, if the load is small": "A fuse does not know the load. It protects the wire in a fault.",
        },
        outcome=2,
        see="7 Rules of the trade",
    ),
    Question(
        "A load of {current} runs for hours. Its stud fuse sits where the air reaches 122 °F and carries "
        "only 93 % of its rating "
        "there. The family makes 30, 40, 50, 60, 80, 100, 125, 150 A. Which one do you fit?",
        given=dict(current=pick(39, 47, 78, 97, unit="A"), ambient=WARM, share=wiring.CONTINUOUS),
        answer=fuse_for,
        unit="A",
        slips=[
            slip("You rounded up first and derated afterwards, or not at all. In warm air that fuse carries "
                 "too little.",
                 ambient=Q(20, "degC")),
            slip("A load of three hours or more asks for 125 %.", ambient=Q(20, "degC"), share=1.0),
        ],
        tolerance="0.5 A",
        outcome=3,
        see="5 Worked example",
    ),
    Choice(
        "A pump of 6 A hangs on 14 AWG. Its 15 A fuse has blown twice, and the crew has only 30 A fuses. "
        "What now?",
        right="Find out why it blew; no fuse above 15 A goes on 14 AWG",
        wrong={
            "Fit 30 A: the pump takes 6 A anyway": "A stuck pump or a chafed wire can take 25 A for hours, "
                                                   "and 14 AWG overheats while the fuse holds.",
            "Fit 30 A until the next town": "A fire does not wait for the next town.",
            "Fit 30 A and a thicker wire at the pump's end": "The thin part of the wire stays unprotected.",
        },
        outcome=3,
        see="4 The idea",
    ),
    Choice(
        "Where does the fuse of a feed from the bank to the panel belong?",
        right="At the bank's end, within 18 in of conductor from the bus bar",
        wrong={
            "At the panel, where it can be reached": "Then the whole cable between bank and panel has no "
                                                     "protection.",
            "In the middle, half of the risk each": "The half at the bank can burn with all that the bank "
                                                    "gives.",
            "It needs none: the panel has fuses": "They protect what leaves the panel, not what feeds it.",
        },
        outcome=3,
        see="4 The idea",
    ),
    Question(
        "{parallel} modules stand side by side, each with {voltage} behind {internal_resistance}. The cable "
        "to the fuse has "
        "{resistance}, there and back. How large is the short-circuit current at the fuse?",
        given=dict(
            voltage=pick(13.6, 14.6, unit="V"),
            internal_resistance=pick(1.8, 2.4, 3.0, unit="mohm"),
            parallel=pick(3, 4),
            resistance=pick(0.4, 0.6, unit="mohm"),
        ),
        answer=bank_fault,
        unit="A",
        slips=[
            slip("You took one module. Side by side their resistance is divided by {parallel}.", parallel=1),
            slip("You left out the cable.", resistance=Q(0, "mohm")),
            slip("Modules side by side do not add resistance; they divide it.",
                 internal_resistance=lambda g: g["internal_resistance"] * g["parallel"] ** 2),
        ],
        outcome=4,
        see="5 Worked example",
    ),
    Question(
        "A fault of {current} flows for {fault_time} before the fuse has opened. The insulation is PVC that "
        "starts at 70 °C, k = 115. What is the smallest cross-section that stands it, in mm² or circular mils?",
        given=dict(
            current=pick(1500, 2000, 2500, 4000, unit="A"),
            fault_time=pick(0.05, 0.1, 0.2, unit="s"),
            short_circuit_constant=115.0,
        ),
        answer=wiring.area_for_fault,
        unit="mm**2",
        slips=[
            slip("Take the square root of the time.",
                 factor=lambda g: math.sqrt(g["fault_time"].to("s").magnitude)),
            slip("You took k = 143, which is XLPE that starts at 90 °C. This is PVC.",
                 short_circuit_constant=143.0),
            slip("You left out the time.", fault_time=Q(1, "s")),
        ],
        outcome=4,
        see="4 The idea",
    ),
    Choice(
        "A breaker is marked 10,000 A at 240 V AC. The fault at the bank's bus is 9,000 A at 14.6 V DC. May "
        "it be the main device?",
        right="No: only an interrupt rating marked for direct current counts",
        wrong={
            "Yes: 10,000 A is more than 9,000 A": "Alternating current stops 120 times a second and puts out "
                                                  "its arc. Direct current does not.",
            "Yes: 14.6 V is far below 240 V": "The voltage is lower, but nothing on the label says that it "
                                              "breaks DC at all.",
            "Yes, with a larger cable": "A larger cable makes the fault larger.",
        },
        outcome=4,
        see="4 The idea",
    ),
    Question(
        "{parallel} modules on bus bars carry {current} together for hours. What must each module's fuse carry, "
        "so that it "
        "holds when one module has dropped out? Take 125 %.",
        given=dict(current=pick(240, 300, 360, unit="A"), parallel=pick(3, 4)),
        answer=module_fuse_load,
        unit="A",
        slips=[
            slip("That is with all of them in. When one is out, the others carry its share.",
                 factor=lambda g: (g["parallel"] - 1) / g["parallel"]),
            slip("You forgot the 125 %.", factor=0.8),
            slip("That is the fuse of the whole bank. Each module carries a part.",
                 factor=lambda g: g["parallel"] - 1),
        ],
        outcome=5,
        see="7 Rules of the trade",
    ),
    Choice(
        "The inverter's capacitors are empty. In which order do you close the bank?",
        right="Module switches, then the pre-charge resistor, wait, then the main switch, then the loads",
        wrong={
            "Main switch first: it is the largest": "Empty capacitors are a short circuit for a moment: the "
                                                    "contact arcs and welds.",
            "Loads on, main switch, then the modules one by one": "The first module would carry everything, "
                                                                  "and its switch the arc.",
            "Any order: the fuses protect everything": "A fuse opens in a fault. It does not keep a contact "
                                                       "from welding.",
        },
        outcome=5,
        see="7 Rules of the trade",
    ),
]
