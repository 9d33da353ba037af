"""`python3 workbook roster CLASS.csv --course WORD [--to DIR]`: numbers of their own for each learner, and the key.

CLASS.csv has the columns `id` and `name`, one learner a row. In DIR come `roster.csv` (the same with each learner's
seed; the gradebook wants it), `key.csv` and `key.html` (every learner's right answers) and `skills.html` (a sheet a
learner for what must be seen at the bench). The seeds are those of `coachwork.page.questions.course_seed`.
"""

import argparse
import csv
import dataclasses
import html
import io
import re
from pathlib import Path

from coachwork import bootstrap, files
from coachwork.page import course
from coachwork.page.questions import Choice, course_seed, draw_seed, numbers_of, topic_questions
from coachwork.page.table import table
from coachwork.quantities import InputError, show

LARGEST, MOST, LONGEST = 1_000_000, 1_000, 100  # bytes of a list, learners, characters of a name
ID = re.compile(r"\w[\w.@-]{0,63}")
SECRET = "This page holds the answers: keep it out of the learners' folders."


@dataclasses.dataclass(frozen=True)
class Learner:
    """One row of a course's list. seed : from what their questions are drawn."""

    id: str
    name: str
    seed: int


def main(argv):
    words = argparse.ArgumentParser(
        prog=bootstrap.PYTHON + " workbook roster", description="Numbers for each learner of a class, and the key."
    )
    words.add_argument("file", metavar="CLASS.csv", help="a table with the columns id and name")
    words.add_argument("--course", required=True, metavar="WORD", help="a word for this class; learners type it once")
    words.add_argument("--to", metavar="DIR", help="where it is put; left out: course in your folder")
    words.add_argument("--lessons", metavar="NO", nargs="+", help="numbers of lessons; left out: all")
    words.add_argument("--round", type=int, default=0, help="how often learners drew new numbers (default 0)")
    wish = words.parse_args(argv)
    from coachwork.page import units

    units.take_up()
    try:
        if not wish.course.strip():
            raise InputError("--course", "nothing is written", "a word for this class", '--course "spring 2027"')
        learners = read(wish.file, wish.course)
        taught = _lessons(wish.lessons)
        place = folder(wish.to)
        keep(place, {
            "roster.csv": csv_bytes(table([dataclasses.asdict(one) for one in learners], caption="Roster")),
            "key.csv": csv_bytes(table(list(key(learners, taught, wish.round)), caption="Key",
                                       columns=["id", "name", "lesson", "question", "outcome", "asked", "answer"])),
            "key.html": key_page(learners, taught, wish.round).encode("utf-8"),
            "skills.html": course.skills_pages([one.name for one in learners]).encode("utf-8"),
        })  # fmt: skip
    except InputError as error:
        raise bootstrap.Trouble(str(error))
    print("{} learners. In {}: roster.csv, key.csv, key.html, skills.html.".format(len(learners), place))
    print("Keep the folder to yourself: it holds the answers. Each learner types once:")
    print('  {} workbook learner ID --course "{}"'.format(bootstrap.PYTHON, plain(wish.course)))
    return 0


# ---- the list


def read(path, course_word=None):
    """The Learners of a CSV file. A `seed` in the file counts; where there is none it is made from the course's word.

    Raises
    ------
    InputError
        naming file and row, where the file is no such table, or two learners have one id or one seed.
    """
    path = Path(path)
    try:
        with open(path, "rb") as file:
            content = file.read(LARGEST + 1)
    except OSError as error:
        raise InputError(str(path), f"it cannot be read ({error.strerror})", "a CSV file with id and name") from None
    if len(content) > LARGEST:
        raise InputError(str(path), f"it is larger than {LARGEST:,} bytes", "the list of one class")
    try:
        text = content.decode("utf-8-sig")
        head = text.partition("\n")[0]
        rows = list(csv.DictReader(io.StringIO(text, newline=""), delimiter=";" if ";" in head else ",", strict=True))
    except UnicodeDecodeError:
        raise InputError(str(path), "it is not in UTF-8", 'a file saved as "CSV UTF-8"') from None
    except csv.Error as error:
        raise InputError(str(path), f"it is no CSV table ({error})", "the columns id and name") from None
    found, places = [], {}
    if len(rows) > MOST:
        raise InputError(str(path), f"it has {len(rows):,} rows", f"at most {MOST:,} learners")
    for number, row in enumerate(rows, 2):
        here = f"{path.name}, row {number}"
        row = {(name or "").strip().lower(): value for name, value in row.items()}
        who, name = plain(row.get("id") or ""), plain(row.get("name") or "")
        if not who and not name:
            continue
        if not ID.fullmatch(who):
            raise InputError(here, f'the id is "{who}"', "letters, digits and . @ - _ in a column id", "ana-1")
        if not name or len(name) > LONGEST:
            raise InputError(here, f'the name is "{name[:LONGEST]}"', f"1 to {LONGEST} characters in a column name")
        seed = _seed(row.get("seed"), here) if (row.get("seed") or "").strip() else None
        if seed is None and course_word is None:
            raise InputError(here, "the seed is missing", "the roster.csv that `workbook roster` made")
        one = Learner(who, name, course_seed(course_word, who) if seed is None else seed)
        for what, value in (("id", one.id.casefold()), ("seed", one.seed)):
            if (what, value) in places:
                raise InputError(here, f"the {what} {value} stands in row {places[what, value]} as well",
                                 f"another {what} for each learner")  # fmt: skip
            places[what, value] = number
        found.append(one)
    if not found:
        raise InputError(str(path), "it names no learner", "a head line id,name and one learner a row")
    return found


def _seed(text, here):
    text = text.strip()
    if not re.fullmatch(r"[0-9]{1,12}", text):
        raise InputError(here, f'the seed is "{text[:20]}"', "a whole number", "837522465")
    return int(text)


def plain(text):
    """Text of one line without control characters: a name from outside, fit to print."""
    text = "".join(sign if sign.isprintable() else " " for sign in text)
    return " ".join(text.split())


# ---- the key


def _lessons(numbers):
    """The lessons that have questions, as (lesson, topic of its questions); those of the given numbers."""
    known = {one.number: one for one in course.asking()}
    for number in numbers or ():
        if number not in known:
            raise InputError("--lessons", f'there is no "{number}"', "numbers such as 01", "one of " + ", ".join(known))
    return [known[number] for number in dict.fromkeys(numbers or known)]


def key(learners, taught, turn=0):
    """What every learner is asked and what is right: rows of a table. turn : how often they drew new numbers."""
    for one, lesson, place, item, given in _asked(learners, taught, turn):
        yield {"id": one.id, "name": one.name, "lesson": lesson.number, "question": place + 1, "outcome": item.outcome,
               "asked": item.asked(given), "answer": item.told(given)}  # fmt: skip


def _asked(learners, taught, turn):
    for one in learners:
        for lesson in taught:
            topic = course.topic(lesson)
            for place, item in enumerate(topic_questions(topic)):
                yield one, lesson, place, item, item.draw(draw_seed(one.seed, topic, place, turn))


def key_page(learners, taught, turn=0):
    """The key as one HTML page to print: question by question, under each the learners with numbers and answers."""
    parts = [f"<p><strong>{SECRET}</strong> Round {turn}: {'the first numbers' if not turn else 'new numbers drawn'}.</p>"]
    for lesson in taught:
        topic = course.topic(lesson)
        parts.append(f"<h2>{lesson.number} {html.escape(lesson.title)}</h2>")
        for place, item in enumerate(topic_questions(topic)):
            parts.append(f"<h3>Question {place + 1}</h3><p>{html.escape(course.in_general(item.text))}</p>")
            if isinstance(item, Choice):
                parts.append(f"<p>Right for all: {html.escape(item.right)}</p>")
                continue
            rows, told = [], {}
            for one in learners:
                given = item.draw(draw_seed(one.seed, topic, place, turn))
                drawn = str(numbers_of(given))
                if drawn not in told:
                    told[drawn] = item.told(given)
                numbers = ", ".join(f"{name.replace('_', ' ')} {show(given[name])}" for name in item.given if f"{{{name}}}" in item.text)
                rows.append({"learner": f"{one.name} ({one.id})", "given": numbers, "right": told[drawn]})
            parts.append(table(rows, caption=f"Lesson {lesson.number}, question {place + 1}").html())
    return course.page("Answer key", parts)


# ---- files


def folder(wanted, usual="course"):
    """The folder for what an instructor makes: `wanted`, or `usual` in their own folder. Never in the workbook's.

    Raises
    ------
    InputError
        where it lies in the workbook's own folder, from which learners' copies are made.
    """
    place = Path(wanted).expanduser().resolve() if wanted else bootstrap.home() / usual
    if place.is_relative_to(bootstrap.ROOT.resolve()):
        raise InputError("--to", f"{place} lies in the workbook's own folder, which learners get",
                         "a folder elsewhere", "--to ~/course")  # fmt: skip
    return place


def keep(place, content):
    """Write files (name to bytes) into a folder, each whole or not at all."""
    with files.writing(place):
        place.mkdir(mode=0o700, parents=True, exist_ok=True)  # new: nobody else on this machine reads it
        for name, written in content.items():
            files.replace(place / name, written)


def csv_bytes(rows):
    """A table as the bytes of a CSV file that spreadsheets read, nothing in it taken for a formula."""
    return rows.csv().encode("utf-8-sig")
