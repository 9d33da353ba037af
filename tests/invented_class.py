"""`python3 tests invented_class FOLDER`: lay what an invented class of thirty would hand in. Nobody in it is real."""

import argparse
import json
import pathlib
import random

from coachwork.page import course
from coachwork.page.questions import Choice, course_seed, draw_seed, numbers_of, question_key, topic_questions
from coachwork.quantities import Q, write_quantity

WORD = "invented class"
GIVEN = "Ada Bo Cyr Dea Eli Fay Gus Hal Ida Jon Kim Lea Max Ned Oda Pia Quy Ria Sol Tam Una Vic Wyn Xia Yul Zoe".split()


def names(number=30):
    """Ids and names, marked as invented."""
    return [(f"l{at:02}", f"{GIVEN[at % len(GIVEN)]} Invented {at:02}") for at in range(1, number + 1)]


def answer(item, given, chance, skill):
    """(answer, verdict, slip) as a learner of that skill (0 to 1) would give it."""
    lot = chance.random()
    if lot < skill:
        right = item.right if isinstance(item, Choice) else write_quantity(Q(item.solution(given), item.unit))
        return right, "right", ""
    if isinstance(item, Choice):
        wrong = chance.choice(list(item.wrong))
        return wrong, "slip", wrong
    if lot < skill + 0.75 * (1 - skill):
        slip = item.slips[0] if chance.random() < 0.7 else chance.choice(item.slips)  # some slips are commoner
        return write_quantity(Q(item.mistake(slip, given), item.unit)), "slip", slip.reason
    return write_quantity(Q(item.solution(given) * 7.77, item.unit)), "wrong", ""


def answers(topic, seed, chance, skill, turn=0):
    """The content of an answer file: each question tried until it is right, three times at most."""
    found = {}
    for place, item in enumerate(topic_questions(topic)):
        given, tries = item.draw(draw_seed(seed, topic, place, turn)), []
        for attempt in range(3):
            said, kind, slip = answer(item, given, chance, skill + 0.2 * attempt - 0.02 * place)
            tries.append({"answer": said, "numbers": numbers_of(given), "verdict": kind, "slip": slip})
            if kind == "right":
                break
        found[f"{question_key(item)}/{turn}"] = tries
    return {"format": 1, "seed": seed, "round": turn, "answers": found}


def write(folder, number=30, seed=14):
    """Lay the class's folders and class.csv in a folder; the n-th learner has done fewer lessons than the first."""
    chance = random.Random(seed)
    (folder / "class.csv").write_text("id,name\n" + "".join(f"{who},{name}\n" for who, name in names(number)))
    topics = [course.topic(lesson) for lesson in course.asking()]
    for at, (who, _) in enumerate(names(number)):
        place, skill = folder / "handed in" / who / "answers", 0.45 + 0.4 * chance.random()
        place.mkdir(parents=True)
        for topic in topics[: max(3, len(topics) - at // 4)]:
            made = answers(topic, course_seed(WORD, who), chance, skill)
            (place / f"{topic}.json").write_text(json.dumps(made), encoding="utf-8")
    return folder / "handed in"


def main(argv):
    parser = argparse.ArgumentParser(prog="python3 tests invented_class", description=__doc__)
    parser.add_argument("folder", type=pathlib.Path, help="an empty folder for class.csv and what was handed in")
    folder = parser.parse_args(argv).folder
    folder.mkdir(parents=True, exist_ok=True)
    print("Handed in:", write(folder), "  the course's word:", WORD)
    return 0
