"""`python3 workbook gradebook FOLDER [--roster roster.csv] [--to DIR]`: where the class stumbles.

FOLDER holds what learners handed in: the folder `answers` of each, in folders named as you like. In DIR come
`learners.csv`, `questions.csv`, `outcomes.csv`, `slips.csv`, `skipped.csv`, and `gradebook.html` with `gradebook.png`.

Files from outside are untrusted. They are read as data with bounds on size, number and depth; links are not followed;
nothing in them names a place to write to. No verdict in them is believed: each is found anew from the seed and the
answer. What cannot be proved by a file: who typed, and that no try was taken out. With a roster the seed must stand
in it; without one the file's own seed is taken.
"""

import argparse
import collections
import dataclasses
import functools
import html
import json
import os
import re
import stat
import zlib
from pathlib import Path

from coachwork import bootstrap
from coachwork.commands import roster
from coachwork.commands.roster import csv_bytes, plain
from coachwork.page import course
from coachwork.page.questions import RIGHT, SLIP, draw_seed, numbers_of, question_key, topic_questions
from coachwork.page.table import table
from coachwork.quantities import InputError

FORMAT = 1
LARGEST = 1_000_000  # bytes of an answer file: some thousand tries
MOST_ENTRIES, DEEPEST = 50_000, 8  # files and folders looked at, folders inside folders
MOST_TRIES, LONGEST = 2_000, 500  # tries of a file, characters of an answer
KEY = re.compile(r"([0-9a-f]{12})/([0-9]{1,4})")
TOLD = 30  # skipped files named on the screen; the page names all


class Skipped(Exception):
    """Why a file, or a part of it, does not count."""


@dataclasses.dataclass(frozen=True)
class Handed:
    """One answer file. who : name of its folder. tries : (question, round, answer, numbers, verdict said)."""

    place: str
    who: str
    topic: str
    seed: int
    tries: tuple
    damaged: int


@dataclasses.dataclass(frozen=True)
class Try:
    """A try that counts. question : its place from 0. slip : as the question names it, empty where there is none."""

    learner: str
    topic: str
    question: int
    turn: int
    kind: str
    slip: str


def main(argv):
    words = argparse.ArgumentParser(
        prog=bootstrap.PYTHON + " workbook gradebook", description="Where the class stumbles, from what was handed in."
    )
    words.add_argument("folder", metavar="FOLDER", help="learners' answers, a folder for each learner")
    words.add_argument("--roster", metavar="CSV", help="the roster.csv of your class: whose seed is whose")
    words.add_argument("--to", metavar="DIR", help="where it is put; left out: gradebook in your folder")
    wish = words.parse_args(argv)
    try:
        place = roster.folder(wish.to, "gradebook")
        book = Gradebook(wish.folder, roster.read(wish.roster) if wish.roster else None)
        roster.keep(place, book.files())
    except InputError as error:
        raise bootstrap.Trouble(str(error))
    print("\n".join(book.summary()))
    for where, why in book.skipped[:TOLD]:
        print(f"  skipped: {where}: {why}")
    if len(book.skipped) > TOLD:
        print(f"  and {len(book.skipped) - TOLD} more, all in skipped.csv")
    print("Open", place / "gradebook.html")
    return 0


# ---- reading what comes from outside


def name_of(path):
    """A path from outside, fit to print: whatever is no plain character is written as its code."""
    text = os.fsencode(str(path)).decode("utf-8", "backslashreplace")
    return "".join(sign if sign.isprintable() else f"\\x{ord(sign):02x}" for sign in text)


def collect(folder):
    """Every .json file below a folder, in order, and what was skipped: (paths, [(name, why)]). Links are not followed."""
    found, skipped, waiting, seen = [], [], [(Path(folder), 0)], 0
    while waiting:
        here, depth = waiting.pop()
        try:
            with os.scandir(here) as entries:
                entries = sorted(entries, key=lambda entry: entry.name)
        except OSError as error:
            skipped.append((name_of(here), f"it cannot be read ({error.strerror})"))
            continue
        for entry in entries:
            seen += 1
            if seen > MOST_ENTRIES:
                skipped.append((name_of(folder), f"it holds more than {MOST_ENTRIES:,} files; the rest was not read"))
                return found, skipped
            path = Path(entry.path)
            if entry.is_symlink():
                skipped.append((name_of(path), "it is a link; hand in the file itself"))
            elif entry.is_dir(follow_symlinks=False):
                if depth == DEEPEST:
                    skipped.append((name_of(path), f"it lies more than {DEEPEST} folders deep"))
                elif not entry.name.startswith("."):  # an editor's or a notebook's own, never answers
                    waiting.append((path, depth + 1))
            elif entry.name.endswith(".json") and entry.name != ".lessons.json":  # what the workbook laid, no answers
                found.append(path)
    return sorted(found), skipped


def read(path, who):
    """An answer file as Handed. Raises Skipped with the reason where it is none."""
    topic = path.name.removesuffix(".json")
    if topic not in _topics():
        raise Skipped("its name is no lesson's answer file")
    flags = getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_NONBLOCK", 0)  # a pipe would keep us waiting
    try:
        with open(path, "rb", opener=lambda name, mode: os.open(name, mode | flags)) as file:
            if not stat.S_ISREG(os.fstat(file.fileno()).st_mode):
                raise Skipped("it is no ordinary file")
            content = file.read(LARGEST + 1)
    except OSError as error:
        raise Skipped(f"it cannot be read ({error.strerror})") from None
    if len(content) > LARGEST:
        raise Skipped(f"it is larger than {LARGEST:,} bytes")
    return understood(content, name_of(path), who, topic)


def understood(content, place, who, topic):
    """The bytes of an answer file as Handed. Raises Skipped where they are none."""
    try:
        found = json.loads(content.decode("utf-8"))
    except (ValueError, RecursionError):  # RecursionError: brackets within brackets without end
        raise Skipped("it is damaged: no answer file as the lessons write them") from None
    if not isinstance(found, dict) or not isinstance(found.get("answers"), dict):
        raise Skipped("it is damaged: no answer file as the lessons write them")
    if type(found.get("format")) is not int or found["format"] != FORMAT:
        raise Skipped(f"it is of another version (format {plain(str(found.get('format')))[:20]}, wanted is {FORMAT})")
    if type(found.get("seed")) is not int or not 0 <= found["seed"] < 10**12:
        raise Skipped("its seed is no whole number below 10**12")
    tries, damaged = [], 0
    for key, tried in found["answers"].items():
        match = KEY.fullmatch(key)
        if not match or not isinstance(tried, list):
            damaged += 1
            continue
        for one in tried:
            if len(tries) == MOST_TRIES:
                raise Skipped(f"it holds more than {MOST_TRIES:,} tries")
            if not isinstance(one, dict) or not isinstance(one.get("answer"), str) or len(one["answer"]) > LONGEST:
                damaged += 1
                continue
            tries.append((match[1], int(match[2]), one["answer"], one.get("numbers"), one.get("verdict")))
    return Handed(place, who, topic, found["seed"], tuple(tries), damaged)


@functools.cache
def _topics():
    """Topic to (lesson, its questions by key): key to place."""
    return {
        course.topic(lesson): (lesson, {question_key(item): at for at, item in enumerate(topic_questions(course.topic(lesson)))})
        for lesson in course.asking()
    }


# ---- judging


class Judge:
    """Finds verdicts anew; the same answer to the same numbers is judged once."""

    def __init__(self):
        self.known = {}

    def __call__(self, topic, place, seed, turn, answer, numbers):
        """(kind, slip) of an answer. Raises Skipped where this edition did not ask so, or it cannot be read."""
        item = topic_questions(topic)[place]
        given = item.draw(draw_seed(seed, topic, place, turn))
        drawn = numbers_of(given)
        if numbers != drawn:
            raise Skipped("were asked with other numbers than this edition and this seed give")
        asked = (topic, place, json.dumps(drawn), answer)
        if asked not in self.known:
            try:
                verdict = item.judge(answer, given)
                self.known[asked] = verdict.kind, verdict.slip
            except InputError:
                self.known[asked] = None
        if self.known[asked] is None:
            raise Skipped("cannot be read as an answer")
        return self.known[asked]


class Gradebook:
    """What a folder of answers says of a class.

    folder : what was handed in. learners : the roster, or None: then each folder is a learner.
    tries : what counts. skipped : (file, why) of what does not. names : learner to name.
    """

    def __init__(self, folder, learners=None):
        if not Path(folder).is_dir():
            raise InputError("FOLDER", f'"{name_of(folder)}" is no folder', "the folder with the learners' answers")
        paths, self.skipped = collect(folder)
        self.by_seed = None if learners is None else {one.seed: one for one in learners}
        self.names = {} if learners is None else {one.id: one.name for one in learners}
        self.tries, judge, handed = [], Judge(), []
        for path in paths:
            parts = path.relative_to(folder).parts
            try:
                handed.append(read(path, name_of(parts[0]) if len(parts) > 1 else "no folder"))
            except Skipped as why:
                self.skipped.append((name_of(path), str(why)))
        counted = {}
        for one in sorted(handed, key=lambda one: (-len(one.tries), one.place)):
            try:
                learner = self._learner(one)
                if (learner, one.topic) in counted:
                    raise Skipped(f"the same learner's answers were counted from {counted[learner, one.topic]}")
            except Skipped as why:
                self.skipped.append((one.place, str(why)))
                continue
            counted[learner, one.topic] = one.place
            self._count(one, learner, judge)
        if not counted:
            raise InputError("FOLDER", f'"{name_of(folder)}" holds no answers that count' + "".join(
                f"; {where}: {why}" for where, why in self.skipped[:3]), "answer files such as ana/answers/energy.json")  # fmt: skip
        self.skipped.sort()
        self.counted = counted

    def _learner(self, one):
        if self.by_seed is None:
            self.names.setdefault(one.who, one.who)
            return one.who
        if one.seed not in self.by_seed:
            raise Skipped(f"its seed {one.seed} is not on the roster")
        return self.by_seed[one.seed].id

    def _count(self, one, learner, judge):
        lesson, places = _topics()[one.topic]
        faults = collections.Counter({"are damaged": one.damaged})
        altered = 0
        for key, turn, answer, numbers, said in one.tries:
            try:
                if key not in places:
                    raise Skipped("are of a question that this edition does not ask")
                kind, slip = judge(one.topic, places[key], one.seed, turn, answer, numbers)
            except Skipped as why:
                faults[str(why)] += 1
                continue
            altered += said != kind
            self.tries.append(Try(learner, one.topic, places[key], turn, kind, slip))
        for why, number in faults.items():
            if number:
                self.skipped.append((one.place, f"{number} of its tries {why}"))
        if altered:
            self.skipped.append((one.place, f"{altered} verdicts in it are not what we find; ours were counted"))

    # ---- tables

    def by_question(self):
        """(learner, topic, question) to the kinds of its tries, in order of rounds."""
        found = collections.defaultdict(list)
        for one in sorted(self.tries, key=lambda one: one.turn):  # a stable order: tries of a round stay as they came
            found[one.learner, one.topic, one.question].append(one)
        return found

    def learners(self):
        """A row a learner: questions right and right at once in each lesson, and in all."""
        held = self.by_question()
        for learner, name in sorted(self.names.items(), key=lambda pair: (pair[1], pair[0])):
            row, right, first, tries = {"id": learner, "name": name}, 0, 0, 0
            for topic, (lesson, places) in _topics().items():
                mine = [held[learner, topic, at] for at in places.values() if (learner, topic, at) in held]
                done = sum(any(one.kind == RIGHT for one in tried) for tried in mine)
                row[f"{lesson.number} right of {len(places)}"] = done if mine else None
                right, tries = right + done, tries + sum(map(len, mine))
                first += sum(tried[0].kind == RIGHT for tried in mine)
            yield row | {"right": right, "right at first try": first, "tries": tries}

    def questions(self):
        """A row for each question that a learner tried."""
        for (learner, topic, at), tried in sorted(self.by_question().items()):
            item, kinds = topic_questions(topic)[at], [one.kind for one in tried]
            met = dict.fromkeys(course.slips(item)[one.slip] for one in tried if one.kind == SLIP)
            yield {"id": learner, "name": self.names[learner], "lesson": _topics()[topic][0].number, "question": at + 1,
                   "outcome": item.outcome, "tries": len(tried), "right": RIGHT in kinds,
                   "right at first try": kinds[0] == RIGHT, "slips met": " | ".join(met)}  # fmt: skip

    def outcomes(self):
        """A row for each outcome that a question asks for: how many first tries there were, and how many were right."""
        held = self.by_question()
        for topic, (lesson, places) in _topics().items():
            items, said = topic_questions(topic), course.outcomes(lesson)
            for outcome in sorted({item.outcome for item in items}):
                firsts = [tried[0].kind == RIGHT for (learner, where, at), tried in held.items()
                          if where == topic and items[at].outcome == outcome]  # fmt: skip
                yield {"outcome": f"{lesson.number}.{outcome}", "by the end the learner can": said[outcome - 1],
                       "first tries": len(firsts), "right [%]": round(100 * sum(firsts) / len(firsts)) if firsts else None}  # fmt: skip

    def slips(self):
        """A row for each slip that was met, the one that most learners met first."""
        met = collections.defaultdict(set)
        for one in self.tries:
            if one.kind == SLIP:
                met[one.topic, one.question, one.slip].add(one.learner)
        for (topic, at, slip), who in sorted(met.items(), key=lambda pair: (-len(pair[1]), pair[0])):
            item = topic_questions(topic)[at]
            yield {"lesson": _topics()[topic][0].number, "question": at + 1, "outcome": item.outcome,
                   "slip, and what the learner was told": course.slips(item)[slip], "learners": len(who)}  # fmt: skip

    # ---- what is written

    def summary(self):
        """What came of it, in a few lines."""
        took_part = len({one.learner for one in self.tries})
        lines = [f"{took_part} learners, {len(self.counted)} answer files, {len(self.tries)} tries counted."]
        silent = [name for learner, name in self.names.items() if learner not in {one.learner for one in self.tries}]
        if silent:
            lines.append(f"Nothing that counts from: {', '.join(sorted(silent))}.")
        worst = next(self.slips(), None)
        if worst:
            lines.append("Most met slip, by {learners} learners (lesson {lesson}, question {question}): {0}".format(
                worst["slip, and what the learner was told"], **worst))  # fmt: skip
        if self.skipped:
            lines.append(f"{len(self.skipped)} things skipped or put right:")
        return lines

    def files(self):
        """Everything that is written: name to bytes."""
        from coachwork.page.pictures.course import stumbles

        skipped = [{"file": where, "why": why} for where, why in self.skipped]
        rows = {"learners": list(self.learners()), "questions": list(self.questions()), "outcomes": list(self.outcomes()),
                "slips": list(self.slips()), "skipped": skipped}  # fmt: skip
        picture, alt = stumbles(rows["outcomes"], rows["slips"], len({one.learner for one in self.tries}))
        tables = {name: table(found, caption=f"{name.capitalize()} of the class", columns=None if found else ["nothing"])
                  for name, found in rows.items()}  # fmt: skip
        lowest = sorted((row for row in rows["outcomes"] if row["first tries"]), key=lambda row: row["right [%]"])[:10]
        parts = [
            *(f"<p>{html.escape(line)}</p>" for line in self.summary()[:-1 if self.skipped else None]),
            f'<p><img src="gradebook.png?{zlib.crc32(picture)}" alt="{html.escape(alt)}"></p>',
            "<h2>Slips that most learners met</h2>",
            table(rows["slips"][:15], caption="The first 15; all are in slips.csv").html() if rows["slips"] else "<p>None.</p>",
            "<h2>Outcomes that stand lowest</h2>",
            table(lowest, caption="Share of first tries that were right; all are in outcomes.csv").html(),
            "<h2>Learners</h2>", tables["learners"].html(),
            "<h2>Skipped or put right</h2>",
            tables["skipped"].html() if skipped else "<p>Nothing.</p>",
            "<p>Every verdict here was found anew from seed and answer. A file cannot prove who typed it, nor that no "
            "try was taken out.</p>",
        ]  # fmt: skip
        return {f"{name}.csv": csv_bytes(found) for name, found in tables.items()} | {
            "gradebook.png": picture, "gradebook.html": course.page("Where the class stumbles", parts).encode("utf-8")}  # fmt: skip
