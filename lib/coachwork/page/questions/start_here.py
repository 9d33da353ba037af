"""Questions of lesson 00: ten before the start, each with a refresher to read again."""

from coachwork import energy
from coachwork.page.questions import Choice, Question, pick, slip
from coachwork.quantities import Q, box_volume, current_by_ohms_law, rectangle_area

OHM, PERCENT = "Refresher A: Ohm's law and power", "Refresher B: percent"
TURN, TENS = "Refresher C: turning a formula round", "Refresher D: powers of ten"
PLATE, SPACE = "Refresher E: reading a nameplate", "Refresher F: area and volume"


def _square(name, unit):
    """The square of what is given, as a factor."""
    return lambda given: given[name].to(unit).magnitude ** 2


QUESTIONS = [
    Question(
        "A heater element of {resistance} hangs on {voltage}. What current flows?",
        given=dict(voltage=pick(12.0, 12.8, 24.0, unit="V"), resistance=pick(1.5, 2.0, 3.0, 4.0, unit="ohm")),
        answer=current_by_ohms_law,
        unit="A",
        slips=[
            slip(
                "Volts were multiplied by ohms. Current is voltage divided by resistance.",
                factor=_square("resistance", "ohm"),
            ),
            slip(
                "Ohms were divided by volts. It is the other way round.",
                factor=lambda given: (
                    (given["resistance"].to("ohm").magnitude / given["voltage"].to("V").magnitude) ** 2
                ),
            ),
        ],
        outcome=4,
        see=OHM,
    ),
    Question(
        "A pump draws {current} at {voltage}. What power is that?",
        given=dict(voltage=pick(12.0, 12.5, 24.0, unit="V"), current=pick(4, 6, 7.5, 9, unit="A")),
        answer=energy.power_from_current,
        unit="W",
        slips=[
            slip(
                "Volts were divided by amps. Power is volts times amps.",
                factor=lambda given: given["current"].to("A").magnitude ** -2,
            ),
            slip("That is the power at 120 V. This pump has {voltage}.", voltage=Q(120, "V")),
        ],
        outcome=4,
        see=OHM,
    ),
    Question(
        "A day takes {energy}. Add {margin} on top. What is the sum?",
        given=dict(energy=pick(1500, 2200, 2800, unit="Wh"), margin=pick(15, 20, 30, unit="%")),
        answer=energy.with_margin,
        unit="Wh",
        slips=[
            slip(
                "That is the part added, alone. It comes on top of the day.",
                factor=lambda given: (m := given["margin"].to("").magnitude) / (1 + m),
            ),
            slip(
                "That is the day less {margin}. It is to be added.",
                factor=lambda given: (1 - (m := given["margin"].to("").magnitude)) / (1 + m),
            ),
            slip(
                "{margin} was taken as a whole number. Percent means hundredths.",
                factor=lambda given: (1 + 100 * (m := given["margin"].to("").magnitude)) / (1 + m),
            ),
        ],
        outcome=4,
        see=PERCENT,
    ),
    Question(
        "An inverter delivers {power}. Its efficiency is {efficiency}: that share of what goes in "
        "comes out. What goes in?",
        given=dict(power=pick(700, 900, 1100, 1600, unit="W"), efficiency=pick(80, 82, 84, unit="%")),
        answer=energy.inverter_input_power,
        unit="W",
        tolerance=0.01,
        slips=[
            slip(
                "That is {efficiency} of what comes out. More must go in than comes out: divide.",
                factor=lambda given: given["efficiency"].to("").magnitude ** 2,
            ),
            slip(
                "The loss was added as a share of what comes out. Efficiency is a share of what goes in: "
                "divide by it.",
                factor=lambda given: (e := given["efficiency"].to("").magnitude) * (2 - e),
            ),
            slip("The efficiency is missing.", efficiency=1),
        ],
        outcome=4,
        see=PERCENT,
    ),
    Question(
        "Energy is power times hours. A bank has {energy} left and the loads draw {power}. "
        "How long does it last?",
        given=dict(energy=pick(900, 1400, 2100, unit="Wh"), power=pick(55, 80, 130, unit="W")),
        answer=energy.hours_from_energy,
        unit="h",
        slips=[
            slip(
                "Power was divided by energy. Hours are energy divided by power.",
                factor=lambda given: (
                    (given["power"].to("W").magnitude / given["energy"].to("Wh").magnitude) ** 2
                ),
            ),
            slip(
                "Energy was multiplied by power. Turn the formula round first.", factor=_square("power", "W")
            ),
        ],
        outcome=4,
        see=TURN,
    ),
    Question(
        "A shunt is a small exact resistance. This one has {resistance}, and a meter across it "
        "reads {voltage}. What current flows?",
        given=dict(resistance=pick(0.1, 0.25, 0.5, unit="mohm"), voltage=pick(8, 12, 18, unit="mV")),
        answer=current_by_ohms_law,
        unit="A",
        slips=[
            slip("The millivolts were taken for volts: a thousand times too much.", factor=1000),
            slip("The milliohms were taken for ohms: a thousand times too little.", factor=0.001),
            slip(
                "Milli times milli is micro: the two were multiplied. Divide the volts by the ohms.",
                factor=_square("resistance", "ohm"),
            ),
        ],
        outcome=4,
        see=TENS,
    ),
    Choice(
        "Which of these is the largest power?",
        right="0.08 kW",
        wrong={
            "9,000 mW": "A milliwatt is a thousandth of a watt: that is 9 W.",
            "45 W": "Larger than 9,000 mW, but a kilowatt is a thousand watts: 0.08 kW is 80 W.",
            "0.00005 MW": "A megawatt is a million watts: that is 50 W.",
        },
        outcome=4,
        see=TENS,
    ),
    Question(
        "A charger's plate says: INPUT 120 V~ 60 Hz {current}; OUTPUT 14.4 V DC 40 A. What is the most "
        "that it may take from the outlet? Count volt-amperes as watts.",
        given=dict(voltage=Q(120, "V"), current=pick(7, 8, 9, unit="A")),
        answer=energy.power_from_current,
        unit="W",
        slips=[
            slip("That is the output. The outlet feeds the input.", voltage=Q(14.4, "V"), current=Q(40, "A")),
            slip("The amps of the input belong to the volts of the input.", voltage=Q(14.4, "V")),
            slip("The hertz are the frequency. They do not enter here.", voltage=Q(60, "V")),
        ],
        outcome=4,
        see=PLATE,
    ),
    Question(
        "A stretch of roof without vents is {length} long and {width} wide. What is its area?",
        given=dict(length=pick(78, 90, 102, unit="in"), width=pick(40, 45, 50, unit="in")),
        answer=rectangle_area,
        unit="ft**2",
        slips=[
            slip(
                "Square inches were divided by 12 once. A square foot has 12 × 12 square inches.", factor=12
            ),
            slip(
                "That is the way round it, a length in feet. Area is length times width.",
                factor=lambda given: (
                    2
                    * (given["length"] + given["width"]).to("ft").magnitude
                    / (given["length"] * given["width"]).to("ft**2").magnitude
                ),
            ),
        ],
        outcome=4,
        see=SPACE,
    ),
    Question(
        "A battery compartment is {length} by {width} by {height} inside. What is its volume?",
        given=dict(
            length=pick(26, 30, 34, unit="in"), width=pick(16, 20, unit="in"), height=pick(14, 18, unit="in")
        ),
        answer=box_volume,
        unit="ft**3",
        slips=[
            slip(
                "Cubic inches were divided by 12 once. A cubic foot has 12 × 12 × 12 cubic inches.",
                factor=144,
            ),
            slip("Cubic inches were divided by 12 × 12. A cubic foot has 12 × 12 × 12 of them.", factor=12),
            slip(
                "The height is missing: that is the floor.",
                factor=lambda given: 1 / given["height"].to("ft").magnitude,
            ),
        ],
        outcome=4,
        see=SPACE,
    ),
]
