"""Questions of the lesson on the design record."""

from coachwork import design
from coachwork.page.questions import Choice, Question, pick, slip
from coachwork.quantities import Q, floats

IDEA, EXAMPLE, RULES, COACH, JOB = "4 The idea", "5 Worked example", "7 Rules of the trade", "8 Your coach", "10 On the job"


def _ratio(given, top, bottom):
    return floats(given[top], "ft") / floats(given[bottom], "ft")


def left_tires(mass_change, left, track):
    """What the left tires of a motorhome take of a mass: all its tires carry all of it."""
    return design.left_change(mass_change, mass_change, left, track)


QUESTIONS = [
    Question(
        "A bank of {mass_change} goes into a trailer, {ahead} ahead of the middle of its axles. From there to the ball it is {span}. "
        "What does it add to the tongue?",
        given=dict(mass_change=pick(140, 165, 220, unit="lb"), ahead=pick(2, 3, 5, unit="ft"), span=pick(12, 14, 16, unit="ft")),
        answer=design.front_change,
        unit="lb",
        slips=[
            slip("That is the whole bank. The axles take most of it.", factor=lambda given: 1 / _ratio(given, "ahead", "span")),
            slip("That is the part of the axles. The tongue takes the rest.",
                 factor=lambda given: 1 / _ratio(given, "ahead", "span") - 1),
        ],
        outcome=1,
        see=IDEA,
    ),
    Question(
        "Old batteries of {mass_change} sat on the tongue, {ahead} ahead of the axles; the ball is {span} ahead of them. What did they put "
        "on the axles?",
        given=dict(mass_change=pick(90, 126, 150, unit="lb"), ahead=pick(11, 12, unit="ft"), span=pick(14, 15, unit="ft")),
        answer=design.rear_change,
        unit="lb",
        slips=[
            slip("That is the part of the tongue.",
                 factor=lambda given: 1 / (1 / _ratio(given, "ahead", "span") - 1)),
            slip("That is all of it. The tongue carried most.",
                 factor=lambda given: 1 / (1 - _ratio(given, "ahead", "span"))),
        ],
        outcome=1,
        see=EXAMPLE,
    ),
    Question(
        "In a motorhome, {mass_change} are put in {left} left of the middle; from the left tires to the right ones it is {track}. Front and rear "
        "together, what do the left tires take?",
        given=dict(mass_change=pick(120, 180, 240, unit="lb"), left=pick(2, 2.5, unit="ft"), track=pick(6, 6.5, unit="ft")),
        answer=left_tires,
        unit="lb",
        slips=[
            slip("That is half. What sits left of the middle puts more on the left.", left=Q(0, "ft")),
            slip("The half is missing: even in the middle it would put half on the left.", 
                 factor=lambda given: 1 / (1 + 1 / (2 * _ratio(given, "left", "track")))),
        ],
        outcome=1,
        see=IDEA,
    ),
    Question(
        "A trailer weighs {loaded_mass} ready to travel, {front_mass} of it on the tongue. What share is on the tongue?",
        given=dict(loaded_mass=pick(4800, 5400, 6200, unit="lb"), front_mass=pick(420, 560, 640, unit="lb")),
        answer=design.front_share,
        unit="%",
        slips=[
            slip("The tongue was divided by what the axles carry. The share is of the whole trailer.",
                 factor=lambda given: 1 / (1 - floats(given["front_mass"], "lb") / floats(given["loaded_mass"], "lb"))),
            slip("That is the share of the axles.",
                 factor=lambda given: floats(given["loaded_mass"], "lb") / floats(given["front_mass"], "lb") - 1),
        ],
        outcome=1,
        see=RULES,
    ),
    Question(
        "A door sticker allows {gross_rating}. Over the scale, ready to travel, the coach weighs {loaded_mass}. How much may still come aboard?",
        given=dict(gross_rating=pick(6200, 11500, 14500, unit="lb"), loaded_mass=pick(5350, 5600, 5900, unit="lb")),
        answer=design.room_left,
        unit="lb",
        slips=[
            slip("That is twice over: only the difference of the two is left.", factor=2),
            slip("Rating and weight were added. What is left is their difference.",
                 factor=lambda given: (floats(given["gross_rating"], "lb") + floats(given["loaded_mass"], "lb"))
                 / (floats(given["gross_rating"], "lb") - floats(given["loaded_mass"], "lb"))),
        ],
        outcome=1,
        see=EXAMPLE,
    ),
    Choice(
        "A record says: 263 checks were made, none missed. What does that tell the electrician?",
        right="That the numbers in the coach file meet the rules beside the checks; the work itself has still to be looked at.",
        wrong={
            "That the coach may be used.": "No number on paper says that. Local codes and licensed practice decide.",
            "That nothing was assumed.": "Assumed values are checked like decided ones. They stand on a page of their own.",
            "That every rule of the code was looked at.": "Only the rules that stand on the page were held against the coach.",
        },
        outcome=2,
        see=IDEA,
    ),
    Choice(
        "Two checks: one is met with 1 % to spare and guards against fire, the other with 1 % to spare and asks for cargo room. How are they told?",
        right="The first one meets; the second one is close.",
        wrong={
            "Both are close.": "A check that guards against fire, shock or gas is met or missed: it has no close.",
            "Both are missed.": "They are on the allowed side of the limit.",
            "The first one is missed, because fire leaves no room.": "It is on the allowed side, so it is met.",
        },
        outcome=2,
        see=IDEA,
    ),
    Choice(
        "A value stands in the record as assumed. What has happened?",
        right="Nobody decided it: the workbook put in a sound value, and the lesson named beside it decides.",
        wrong={
            "It was read in a handbook.": "A number with a source is not an assumption: its source stands beside it.",
            "The check that uses it was left out.": "The check was made, with the assumed value.",
            "The electrician decided it.": "Then it would stand in the coach file, and not be assumed.",
        },
        outcome=3,
        see=COACH,
    ),
    Choice(
        "A check about fire is missed, and the designer writes an answer to it. How does it stand in the record?",
        right="Still as missed, with the answer beside it.",
        wrong={
            "As met, because there is an answer.": "Words do not change a number. Only another design, or another coach, does.",
            "It is taken off the page.": "A missed check never leaves the page. The reviewer must see it first.",
            "As close.": "A check that guards against fire has no close, and an answer changes no verdict.",
        },
        outcome=3,
        see=COACH,
    ),
    Choice(
        "You put a fourth module beside three. The bank's own checks get better. What do you read next?",
        right="The new misses: more modules drive a larger fault and weigh more, so fuses, switches and axles may no longer do.",
        wrong={
            "Nothing: a larger bank can only help.": "It helps the energy. Fault current, weight and shared fuses change with it.",
            "Only the price.": "Price matters, but the list of differences begins with what the change breaks.",
            "Only the checks of lesson 02.": "A bank is felt in wiring, charging, weight and more: all topics are asked again.",
        },
        outcome=4,
        see=COACH,
    ),
    Choice(
        "The inverter's 120 V side is to be wired in your coach. What do you do with the record?",
        right="Ask the authority having jurisdiction who may do it, and give the record to the licensed person who does.",
        wrong={
            "Do the work and keep the record as proof.": "A record is no permit. 120 V work belongs to whoever is licensed for it there.",
            "Send it to the maker of the inverter.": "The maker's instructions bind, but the maker has no jurisdiction.",
            "Nothing, because 12 V feeds it.": "Its output is 120 V like any outlet.",
        },
        outcome=5,
        see=JOB,
    ),
    Choice(
        "A month after the work, what does the handover page still ask for?",
        right="To tighten every bolted joint again and write down the date.",
        wrong={
            "To replace all fuses.": "Fuses do not wear by the month. Spare ones lie aboard.",
            "To make the record anew without looking.": "A record changes when the coach changes.",
            "Nothing.": "Copper and lugs settle: a joint that was tight may not be so now.",
        },
        outcome=5,
        see=JOB,
    ),
]  # fmt: skip
