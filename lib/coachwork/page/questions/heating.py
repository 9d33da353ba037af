"""Questions of the heating lesson."""

from coachwork import heating
from coachwork.page.questions import Choice, Question, pick, slip
from coachwork.quantities import Q

IDEA, EXAMPLE, TRY, RULES = "4 The idea", "5 Worked example", "6 Try it", "7 Rules of the trade"
U, H = "btu_per_hour/ft**2/delta_degF", "btu_per_hour/delta_degF"
R, K, C = "ft**2*delta_degF/btu_per_hour", "btu_per_hour/ft/delta_degF", "Btu/delta_degF"
BTUH_IN_A_WATT = 3.412142


def _degrees(given):
    return given["temperature_difference"].m_as("delta_degF")


QUESTIONS = [
    Question(
        "A battery box has {surface} of walls in all, six sides, of a U-value of {heat_loss}, and {bridges} is added for bolts and "
        "holes. What does it lose for each degree?",
        given=dict(heat_loss=pick(0.08, 0.1, 0.12, 0.15, unit=U), surface=pick(13, 16, 19, unit="ft**2"),
                   bridges=pick(10, 15, 20, unit="%")),
        answer=heating.box_conductance,
        unit=H,
        slips=[
            slip("That is one side. A box loses heat through all six.", factor=1 / 6),
            slip("The U-value was taken for an R-value. Heat is U times area; R divides.",
                 factor=lambda given: given["heat_loss"].m_as(U) ** -2),
            slip("The bridges are missing.", bridges=0.0),
        ],
        outcome=1,
        see=IDEA,
    ),
    Question(
        "Foam of {thickness} has a conductivity of {conductivity}. What does the layer resist?",
        given=dict(thickness=pick(1, 1.5, 2, unit="inch"), conductivity=pick(0.0125, 0.015, 0.02, unit=K)),
        answer=heating.layer_resistance,
        unit=R,
        slips=[
            slip("That is the layer's heat loss, U. R is thickness over conductivity.",
                 factor=lambda given: (given["conductivity"].m_as(K) / given["thickness"].m_as("ft")) ** 2),
            slip("Inches were taken for feet.", factor=12),
        ],
        outcome=1,
        see=IDEA,
    ),
    Question(
        "A box loses {heat_conductance}. It is {temperature_difference} colder outside than in. What must a heater give to hold it?",
        given=dict(heat_conductance=pick(1.2, 1.6, 2.1, unit=H), temperature_difference=pick(45, 54, 63, unit="delta_degF")),
        answer=heating.steady_loss,
        unit="W",
        slips=[
            slip("32 was taken off. That is for a temperature. Of a difference of {temperature_difference}, 5/9 are kelvins.",
                 factor=lambda given: (_degrees(given) - 32) / _degrees(given)),
            slip("That is Btu/h. 1 W is 3.412 Btu/h.", factor=BTUH_IN_A_WATT),
            slip("That is the energy of a day, watt-hours. A heater is rated in watts.", factor=24),
        ],
        outcome=1,
        see=EXAMPLE,
    ),
    Question(
        "Cells of {heat_capacity} stand in a box that loses {heat_conductance}. What is the time constant?",
        given=dict(heat_capacity=pick(14, 27, 40, unit=C), heat_conductance=pick(1.2, 1.7, 2.2, unit=H)),
        answer=heating.box_time_constant,
        unit="h",
        slips=[
            slip("That is the time in which half of a difference goes. The time constant is C over H.", factor=0.693147),
            slip("They were multiplied. More loss makes it shorter: C over H.",
                 factor=lambda given: given["heat_conductance"].m_as(H) ** 2),
        ],
        outcome=2,
        see=IDEA,
    ),
    Question(
        "The cells are at {temperature} when the heater fails. The box stands in air of {ambient} and has a time constant of "
        "{time_constant}. How warm are the cells {hours} later?",
        given=dict(temperature=pick(48, 52, 56, unit="degF"), ambient=pick(-5, 5, 12, unit="degF"), time_constant=pick(18, 22, 26, unit="h"),
                   hours=pick(10, 12, 14, unit="h")),
        answer=heating.temperature_after,
        unit="degF",
        tolerance="0.5 delta_degF",
        slips=[
            slip("That is the air. Cells are heavy and follow slowly.", hours=Q(5000, "h")),
            slip("It does not fall along a straight line: the nearer it comes to the air, the slower it goes.",
                 factor=lambda given: _straight(given) / heating.temperature_after(**given).m_as("degF")),
        ],
        outcome=2,
        see=EXAMPLE,
    ),
    Question(
        "A bank at {temperature} must reach {limit_temperature}. A heater of {power} warms it in air of {ambient}. Cells: "
        "{heat_capacity}; the box loses {heat_conductance}. How long does that take?",
        given=dict(temperature=pick(10, 14, 18, unit="degF"), limit_temperature=Q(38, "degF"), ambient=pick(0, 8, unit="degF"),
                   power=pick(60, 80, 100, unit="W"), heat_capacity=pick(27, 40, unit=C), heat_conductance=pick(1.5, 1.8, unit=H)),
        answer=heating.warm_up_time,
        unit="h",
        slips=[
            slip("Nothing was lost on the way. The box loses more the warmer it gets.", heat_conductance=Q(1e-6, "W/K")),
            slip("These are minutes.", factor=60),
        ],
        outcome=2,
        see=EXAMPLE,
    ),
    Question(
        "A box loses {heat_conductance} and is held {temperature_difference} above the mean of the night's air for {hours}. What does "
        "the night take?",
        given=dict(heat_conductance=pick(1.3, 1.7, 2.2, unit=H), temperature_difference=pick(40, 48, 55, unit="delta_degF"),
                   hours=pick(12, 14, 15, unit="h")),
        answer=heating.heat_over_hours,
        unit="Wh",
        slips=[
            slip("That is the power, in watts. Energy is power times hours.", hours=Q(1, "h")),
            slip("That is Btu. 1 Wh is 3.412 Btu.", factor=BTUH_IN_A_WATT),
        ],
        outcome=3,
        see=EXAMPLE,
    ),
    Question(
        "A box loses {heat} at its set point. Its heater gives {power}. For what share of the time does it run?",
        given=dict(heat=pick(18, 24, 29, unit="W"), power=pick(50, 60, 80, unit="W")),
        answer=heating.heater_duty,
        unit="%",
        slips=[
            slip("That is the share in which it rests.", factor=lambda given: _share(given) ** -1 - 1),
            slip("That is upside down: how many such boxes the heater could hold.", factor=lambda given: _share(given) ** -2),
        ],
        outcome=3,
        see=IDEA,
    ),
    Choice(
        "The thermostat's contact of a 60 W heater welds shut while nobody is there. What must stop it?",
        right="A thermal cut-out on the heater itself, in series, that needs neither thermostat nor battery electronics.",
        wrong={
            "The heater's fuse.": "60 W is what the heater takes when it is well. A fuse opens for a short circuit, not for warmth.",
            "The battery's own protection, at its highest temperature.": "It may stop charge and discharge; a heater ahead of it runs on, and foam is warmer than cells.",
            "The box is vented, so it cannot get too warm.": "Vents carry little: 60 W make an insulated box far too hot.",
        },
        outcome=3,
        see=RULES,
    ),
    Question(
        "A box gives off {heat} of waste heat at {altitude}. The air that comes in has {ambient} and may get {temperature_rise} warmer. "
        "What must the fan move?",
        given=dict(heat=pick(80, 120, 160, unit="W"), temperature_rise=pick(15, 18, 20, unit="delta_degF"), altitude=pick(6000, 7500, 9000, unit="ft"),
                   ambient=pick(85, 95, unit="degF")),
        answer=heating.fan_for_rise,
        unit="cfm",
        slips=[
            slip("That is sea level. Thin air carries less: more of it is needed.", altitude=Q(0, "ft")),
            slip("Watts were put where the trade's 1.08 wants Btu/h: 1 W is 3.412 Btu/h.", factor=1 / BTUH_IN_A_WATT),
            slip("The rise was taken for kelvins.", factor=1 / 1.8),
        ],
        outcome=4,
        see=IDEA,
    ),
    Choice(
        "Cells at 104 °F instead of 77 °F, all year. What does that cost?",
        right="Years: the calendar's share of the fade grows quickly with warmth, whether the bank works or not.",
        wrong={
            "Nothing, as long as the module's limit is not passed.": "The limit is where it is switched off. Fade has no limit below it.",
            "Capacity on the day only, and it comes back.": "Cold takes capacity that comes back. Warmth takes it for good.",
            "Only the energy of the fan.": "That is what it costs to prevent it.",
        },
        outcome=4,
        see="8 Your coach",
    ),
    Question(
        "A bank of {mass} is to be held at {restraint_g} times its own weight, fore and aft. What must its restraint hold?",
        given=dict(mass=pick(110, 165, 220, 275, unit="lb"), restraint_g=pick(10, 15, 20)),
        answer=heating.restraint_force,
        unit="lbf",
        slips=[
            slip("That is its weight at rest.", restraint_g=1.0),
            slip("Newtons were written for pounds.", factor=4.448222),
        ],
        outcome=5,
        see=RULES,
    ),
    Choice(
        "There is room for the bank in the front bay, between the two propane cylinders and the converter. Is that its place?",
        right="No. Propane gathers low and the converter sparks: neither may share a compartment with a battery.",
        wrong={
            "Yes, if the bay has vents.": "Vents thin a gas out. They do not take a spark away, and cylinders leak when they are changed.",
            "Yes, lithium cells give off no hydrogen.": "A lithium cell that fails gives off gas that burns. The propane is there in any case.",
            "Yes, if the cylinders are closed while it charges.": "A rule that depends on somebody's memory fails on the first cold night.",
        },
        outcome=5,
        see=RULES,
    ),
]  # fmt: skip


def _straight(given):
    start, end = given["temperature"].m_as("degF"), given["ambient"].m_as("degF")
    return start - (start - end) * (given["hours"] / given["time_constant"]).m_as("")


def _share(given):
    return (given["heat"] / given["power"]).m_as("")
