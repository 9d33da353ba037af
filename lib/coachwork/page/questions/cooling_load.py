"""Questions of the cooling lesson."""

from coachwork import cooling_load, energy
from coachwork.page.questions import Choice, Question, pick, slip
from coachwork.quantities import Q

IDEA, EXAMPLE, TRY, RULES = "4 The idea", "5 Worked example", "6 Try it", "7 Rules of the trade"
BTUH_IN_A_WATT = 3.412142

QUESTIONS = [
    Question(
        "A wall of {surface} has a U-value of {heat_loss}. Outside it is {temperature_difference} warmer than inside, in the "
        "shade. What heat comes through when it has settled?",
        given=dict(heat_loss=pick(0.09, 0.11, 0.14, unit="btu_per_hour/ft**2/delta_degF"), surface=pick(60, 90, 140, unit="ft**2"),
                   temperature_difference=pick(18, 25, 32, unit="delta_degF")),
        answer=cooling_load.conducted_heat,
        unit="btu_per_hour",
        slips=[
            slip("That is one square foot only. The wall has {surface}.", surface=Q(1, "ft**2")),
            slip("The U-value was taken for an R-value. Heat is U times area times difference.",
                 factor=lambda given: given["heat_loss"].m_as("btu_per_hour/ft**2/delta_degF") ** -2),
            slip("That is the energy of a whole day. A heat flow is Btu each hour.", factor=24),
        ],
        outcome=1,
        see=IDEA,
    ),
    Question(
        "Sun of {irradiance} falls on {surface} of glass with a solar heat gain coefficient of {solar_gain}, behind an outside "
        "shade that lets {cover} through. What heat comes in?",
        given=dict(irradiance=pick(550, 650, 750, unit="W/m**2"), surface=pick(0.5, 0.7, 0.9, unit="m**2"),
                   solar_gain=pick(60, 70, 76, unit="%"), cover=pick(15, 20, 30, unit="%")),
        answer=cooling_load.sun_through_window,
        unit="W",
        slips=[
            slip("The shade is missing.", cover=1.0),
            slip("That is the share that the shade keeps out. It lets {cover} through.",
                 cover=lambda given: 1 - given["cover"].to("").magnitude),
            slip("Not all sun on the glass ends inside: the coefficient is missing.", solar_gain=1.0),
            slip("Square feet were taken for square meters. 1 ft2 is 0.0929 m2.", factor=1 / 0.09290304),
        ],
        outcome=1,
        see=IDEA,
    ),
    Question(
        "A unit of {cooling_capacity} has a sensible share of {sensible_share}. How much of its capacity makes water and cools "
        "nothing?",
        given=dict(cooling_capacity=pick(5000, 9000, 13500, unit="btu_per_hour"), sensible_share=pick(68, 72, 78, unit="%")),
        answer=cooling_load.latent_capacity,
        unit="btu_per_hour",
        slips=[
            slip("That is the part that cools.",
                 sensible_share=lambda given: 1 - given["sensible_share"].to("").magnitude),
            slip("That is all of it.", sensible_share=0.0),
        ],
        outcome=2,
        see=IDEA,
    ),
    Question(
        "Somebody sells a unit of {count} tons. How many Btu/h is that?",
        given=dict(count=pick(0.75, 1, 1.25, 1.5)),
        answer=cooling_load.capacity_of_tons,
        unit="btu_per_hour",
        slips=[
            slip("That is a weight: 2000 lb. A ton of cooling is 12,000 Btu/h.", factor=2000 / 12_000),
            slip("12,000 is Btu/h already, not watts.", factor=BTUH_IN_A_WATT),
        ],
        outcome=2,
        see=IDEA,
    ),
    Question(
        "A unit removes {cooling_capacity} at an EER of {energy_efficiency_ratio}. What does it draw then?",
        given=dict(cooling_capacity=pick(5000, 6000, 9000, unit="btu_per_hour"),
                   energy_efficiency_ratio=pick(8, 9, 11, 12, unit="btu_per_hour/watt")),
        answer=energy.power_at_energy_efficiency_ratio,
        unit="W",
        slips=[
            slip("The EER was taken for a COP. It has Btu/h on one side and watts on the other.", factor=1 / BTUH_IN_A_WATT),
            slip("Btu/h were taken for watts, and then divided by a COP.", factor=BTUH_IN_A_WATT),
        ],
        outcome=2,
        see=EXAMPLE,
    ),
    Question(
        "A sheet says {cooling_capacity} at 95 °F, and a change of {capacity_change} a kelvin. What is left at {ambient}?",
        given=dict(cooling_capacity=pick(5100, 9000, 13500, unit="btu_per_hour"), capacity_change=pick(0.8, 0.9, 1.0, unit="%"),
                   ambient=pick(108, 110, 115, unit="degF")),
        answer=cooling_load.capacity_at,
        unit="btu_per_hour",
        slips=[
            slip("That is the capacity at 95 °F. It is hotter.", ambient=Q(95, "degF")),
            slip("The degrees Fahrenheit were taken for kelvins: 1.8 °F are one.",
                 capacity_change=lambda given: 1.8 * given["capacity_change"].to("").magnitude),
        ],
        outcome=2,
        see=EXAMPLE,
        tolerance=0.01,
    ),
    Question(
        "A unit that runs on and off would have to run {duty} of the time. By the rule for untested units, what share of its "
        "full-load efficiency is left?",
        given=dict(duty=pick(20, 30, 40, unit="%")),
        answer=cooling_load.cycling_efficiency,
        unit="",
        slips=[
            slip("That is what is lost at rest, as if it ran for the other part of the time.",
                 duty=lambda given: 1 - given["duty"].to("").magnitude),
            slip("That is the duty itself. A unit that runs half the time does not lose half of its efficiency.",
                 factor=lambda given: (d := given["duty"].to("").magnitude) / (1 - 0.25 * (1 - d))),
        ],
        outcome=3,
        see=IDEA,
        tolerance=0.01,
    ),
    Choice(
        "On a humid coast a unit four times as large as the load is put in, \"to be safe\", and its fan is set to run on. What "
        "happens at night?",
        right="It stops after minutes, and in the pauses its fan dries the coil back into the room, which stays damp.",
        wrong={
            "It holds the set point and takes a quarter of the energy.": "It moves the same heat, and each start costs some.",
            "It dries the air better, for its coil is larger.": "A coil dries only while it is cold and running.",
            "Nothing: a thermostat makes every unit the right size.": "It makes the mean right. Starts, drying and the inverter's surge are another matter.",
        },
        outcome=3,
        see=TRY,
    ),
    Choice(
        "A table for houses says 5000 Btu/h for 100 to 150 sq ft. A trailer has 137 sq ft. Why may the table not be used?",
        right="A coach has thin sides in the sun and many leaks for so little floor; its heat must be worked out.",
        wrong={
            "Because a coach has less floor than any house.": "The table's first row would cover it. The floor is not what lets heat in.",
            "Because a coach is always cooler: it can be parked in the shade.": "Perhaps today. A steel or fiberglass box in the sun is not.",
            "Because the table is in Btu/h and a coach runs on watts.": "That is only a unit.",
        },
        outcome=3,
        see=RULES,
    ),
    Question(
        "A night brings {heat_removed} of heat, dampness counted. The unit's COP through the night is {coefficient_of_performance}. "
        "What electric energy does it take?",
        given=dict(heat_removed=pick(3, 4.5, 6, unit="kWh"), coefficient_of_performance=pick(2.5, 3.0, 3.5)),
        answer=cooling_load.electric_energy,
        unit="kWh",
        slips=[
            slip("Heat was multiplied by the COP. It moves more heat than it takes.",
                 factor=lambda given: given["coefficient_of_performance"] ** 2),
            slip("The COP was taken for an EER.", factor=BTUH_IN_A_WATT),
        ],
        outcome=4,
        see=EXAMPLE,
    ),
    Question(
        "A bank can give {energy}. Cooling and everything else take {power} at the battery, on the mean. How long does it last?",
        given=dict(energy=pick(2.4, 3.7, 5.6, 9.3, unit="kWh"), power=pick(180, 250, 320, unit="W")),
        answer=energy.hours_from_energy,
        unit="h",
        slips=[
            slip("Kilowatt-hours were taken for watt-hours.", factor=1 / 1000),
            slip("The energy was divided by 12.8 V. That gives amp-hours.",
                 factor=lambda given: given["power"].m_as("W") / 12.8),
        ],
        outcome=4,
        see=EXAMPLE,
    ),
    Choice(
        'A seller says: "Cools all night on a 1280 Wh battery." What do you ask first?',
        right="Which night: outdoor temperature, set point, how large a space, how many people, and is the inverter's loss in it?",
        wrong={
            "What the unit's EER is.": "An EER holds at 95 °F and full load. Nights are cooler, and the unit idles along.",
            "How many kilowatts the battery has.": "A battery stores kilowatt-hours. Kilowatts say how fast.",
            "Nothing: 1280 Wh over 8 hours are 160 W, and that is plenty.": "It may be, on a mild night. Work out how many of your nights are mild.",
        },
        outcome=4,
        see="8 Your coach",
    ),
    Choice(
        "A model's heating energy of a test box lies 4 % above six reference programs, inside the acceptance limits. What may you say?",
        right="It is near them for that box; where it lies outside their range is written down with the likely reason.",
        wrong={
            "It is right to 4 % for every coach.": "The test says nothing of your coach's layers, leaks and habits, which are guesses.",
            "It is wrong, for it is outside their range.": "Programs differ among themselves. The limits say how far one may.",
            "One film should be changed until it fits.": "A constant fitted to the answer proves nothing any more.",
        },
        outcome=5,
        see=EXAMPLE,
    ),
    Choice(
        "Once a coach has been pulled down, its worst hour asks 1400 Btu/h. Three units are offered, in sensible Btu/h in that "
        "hour: A, one speed, 9700; B, 1300 to 3600; C, 500 to 1200. Which is of the right size, by the rule of this lesson?",
        right="B: it can do more than 1400, and half of its lowest 1300 is less than 1400.",
        wrong={
            "A: the larger, the safer.": "Half of 9700 is 4850, much more than 1400: too large. It runs in short bursts.",
            "C: at 500 it never starts and stops.": "It can do 1200 at most, and 1400 are asked: too small.",
            "None: B's lowest 1300 is more than half of 1400.": "The rule halves the unit's lowest speed, not the load: 650 against 1400.",
        },
        outcome=3,
        see=EXAMPLE,
    ),
]  # fmt: skip
