"""Questions with the learner's own numbers, and slips that know the likely reason of a wrong answer.

A topic's questions stand in `page/questions/<topic>.py` as a list `QUESTIONS`::

    Question(
        "{count} lamps of {power} burn {hours} a day. What do they take in a day?",
        given=dict(power=pick(5, 10, 15, unit="W"), hours=pick(3, 4, 5, unit="h"), count=pick(2, 3, 4)),
        answer=energy.load_energy,
        unit="Wh",
        slips=[
            slip("That is one lamp only. There are {count}.", count=1),
            slip("You counted minutes, not hours.", factor=60),
        ],
        outcome=1,
        see="4 The idea",
    )

The answer comes from the topic function, called with what is given. A slip is the same function with a changed
argument, or its result times a factor; both may be functions of what is given. `outcome` is the number of the
line under "By the end you can" that the question serves, `see` the part of the lesson to read again.
`Choice` asks for one of several sentences; each wrong one has its reason.

An answer is right within `tolerance`: a share (0.02 unless given), or a text such as "1 delta_degF" where a share
makes no sense. A wrong answer that no slip explains is told on which side the right one lies; after the third
miss the learner is told the answer, and can draw new numbers.
"""

import dataclasses
import hashlib
import importlib
import inspect
import json
import random

import pint

from coachwork import bootstrap, files
from coachwork.page.widgets import Panel, button, group, radio, text, words
from coachwork.quantities import KINDS, InputError, Q, Quantity, kinds_of, read_quantity, show, write_quantity

TOLERANCE = 0.02
MISSES = 3  # after so many the answer is told
RIGHT, SLIP, WRONG = "right", "slip", "wrong"


@dataclasses.dataclass(frozen=True)
class Pick:
    """Values of which one is drawn, all in `unit`."""

    values: tuple
    unit: str = ""

    def draw(self, chance):
        """One of the values: a quantity, or a plain number where there is no unit."""
        value = chance.choice(self.values)
        return Q(float(value), self.unit) if self.unit else value


def pick(*values, unit=""):
    """One of these values, drawn for the learner."""
    return Pick(values, unit)


@dataclasses.dataclass(frozen=True)
class Slip:
    """A foreseen mistake: changed arguments, or a factor on the result; each may be a function of the given."""

    reason: str
    factor: object
    changes: dict


def slip(reason, *, factor=1.0, **changes):
    """A foreseen mistake and what to say to it; see the module's text."""
    return Slip(reason, factor, changes)


@dataclasses.dataclass(frozen=True)
class Verdict:
    """What an answer is: right, slip or wrong, and what the learner is told."""

    kind: str
    words: str
    slip: str = ""


@dataclasses.dataclass(frozen=True)
class Question:
    """A question for a quantity or a number; see the module's text."""

    text: str
    given: dict
    answer: object
    unit: str
    slips: list
    outcome: int
    see: str
    tolerance: object = TOLERANCE

    def draw(self, seed):
        """What is given, drawn by a seed (text): argument names of the answer to values."""
        chance = random.Random(seed)
        return {
            name: value.draw(chance) if isinstance(value, Pick) else value
            for name, value in self.given.items()
        }

    def asked(self, given):
        """The question in words."""
        return self.text.format(**{name: show(value) for name, value in given.items()})

    def solution(self, given):
        """The right answer in the question's unit, a float."""
        return self._in_unit(self.answer(**given))

    def mistake(self, slip, given):
        """What the slip leads to, in the question's unit, a float."""
        changes = {name: _of(value, given) for name, value in slip.changes.items()}
        return self._in_unit(self.answer(**(given | changes))) * _of(slip.factor, given)

    def _in_unit(self, value):
        value = value if isinstance(value, Quantity) else Q(float(value), "")
        return float(value.to(self.unit).magnitude)

    def judge(self, answer, given):
        """The Verdict on an answer (text with its unit); InputError where it cannot be read."""
        value = self._read(answer)
        right = self.solution(given)
        if self._alike(value, right):
            return Verdict(RIGHT, f"Right: {self._shown(right)}.")
        facts = {name: show(value) for name, value in given.items()}
        for one in self.slips:
            if self._alike(value, self.mistake(one, given)):
                reason = one.reason.format(**facts)
                return Verdict(SLIP, f"Not yet. {reason} See part {self.see}.", one.reason)
        much = "more" if value < right else "less"
        return Verdict(WRONG, f"Not yet: the right answer is {much}. See part {self.see}.")

    def _read(self, answer):
        if not answer.strip():
            raise InputError("answer", "nothing is written", "a number with its unit", f'"12 {self.unit}"')
        value = read_quantity(answer, "answer")
        if self.unit and value.units == Q(1, "").units:
            raise InputError(
                "answer",
                f'"{answer.strip()}" has no unit',
                f"a number with its unit, for example in {self.unit}",
            )
        if not value.is_compatible_with(self.unit):
            kind = kinds_of(self.answer).get("return") if inspect.isfunction(self.answer) else None
            (kind or KINDS["number"]).check(value, "answer")
        try:
            return float(value.to(self.unit).magnitude)
        except pint.DimensionalityError:  # a share for volts, a difference for a temperature
            wanted = f"a number with its unit, for example in {self.unit}" if self.unit else "a plain number"
            raise InputError("answer", f'"{answer.strip()}" is not of the kind that is asked for', wanted) from None

    def room(self, target):
        """How far an answer may be from `target`, in the question's unit."""
        if not isinstance(self.tolerance, str):
            return self.tolerance * abs(target)
        gap = read_quantity(self.tolerance, "tolerance")
        return abs(float(gap.to(f"delta_{Q(1, self.unit).units}" if self.unit in ("degC", "degF") else self.unit).magnitude))

    def _alike(self, value, target):
        return abs(value - target) <= self.room(target)

    def _shown(self, value):
        return show(Q(value, self.unit))

    def told(self, given):
        """The right answer in words."""
        return self._shown(self.solution(given))

    def parts(self, number, given, seed, answer=""):
        """The controls of the question in a panel."""
        label = "Your answer, with its unit" if self.unit else "Your answer"
        return [words(f"ask-{number}", self.asked(given)),
                text(f"answer-{number}", label, answer, enter=f"check-{number}", press="Check")]  # fmt: skip


def _of(value, given):
    return value(given) if callable(value) else value


@dataclasses.dataclass(frozen=True)
class Choice:
    """A question for one of several sentences. right : the true one. wrong : each other one with its reason."""

    text: str
    right: str
    wrong: dict
    outcome: int
    see: str

    def draw(self, seed):
        """Nothing is given; the order of the sentences is drawn in `parts`."""
        return {}

    def asked(self, given):
        """The question in words."""
        return self.text

    def options(self, seed):
        """The sentences in an order drawn by the seed."""
        options = [self.right, *self.wrong]
        random.Random(seed).shuffle(options)
        return options

    def judge(self, answer, given):
        """The Verdict on a chosen sentence; InputError where none is chosen."""
        if answer == self.right:
            return Verdict(RIGHT, "Right.")
        if answer not in self.wrong:
            raise InputError("answer", "nothing is chosen", "one of the sentences")
        return Verdict(SLIP, f"Not yet. {self.wrong[answer]} See part {self.see}.", answer)

    def told(self, given):
        """The true sentence."""
        return self.right

    def parts(self, number, given, seed, answer=None):
        """The controls of the question in a panel."""
        options = self.options(seed)
        return [radio(f"answer-{number}", self.text, options, answer if answer in options else None),
                button(f"check-{number}", "Check")]  # fmt: skip


def question_key(item):
    """Under what a question's tries are kept: a digest of its text, for its number may change with an edition."""
    return hashlib.sha256(item.text.encode("utf-8")).hexdigest()[:12]


def draw_seed(seed, topic, place, turn):
    """From what the numbers of a question are drawn: learner's seed, topic, place in QUESTIONS (from 0), round."""
    return f"{seed}/{topic}/{place}/{turn}"


def numbers_of(given):
    """What a question gave, as text: kept with a try, so that an edition that asks otherwise does not judge it."""
    return {name: write_quantity(value) if isinstance(value, Quantity) else str(value) for name, value in given.items()}


# ------------------------------------------------------------------------------- what the learner did


def course_seed(course, learner):
    """The seed of a learner of a course: a whole number below 10**9 made from the course's word and their id.

    Case and spaces at the ends do not matter. It is the first eight bytes of SHA-256 over `word/id` in UTF-8, as a
    number, modulo 10**9. Two of a class of 30 get the same one about once in two million courses.
    """
    said = "/".join(" ".join(part.casefold().split()) for part in (course, learner))
    return int.from_bytes(hashlib.sha256(said.encode("utf-8")).digest()[:8], "big") % 10**9


def learner_seed():
    """The number from which a learner's questions are drawn: in `seed.txt` of their folder, else 0."""
    path = bootstrap.home() / "seed.txt"
    try:
        return int(path.read_text(encoding="utf-8"))
    except (FileNotFoundError, ValueError):
        return 0


def _file(topic):
    return bootstrap.home() / "answers" / f"{topic}.json"


def results(topic):
    """What the learner answered so far: `{"format": 1, "seed": 0, "round": 0, "answers": {question: [...]}}`.

    A file that cannot be read is put aside as `<topic>.damaged.json` and nothing of it is lost. One that belongs to
    another seed is put aside as `<topic>.seed-<n>.json`, and comes back with its seed.
    """
    path, seed = _file(topic), learner_seed()
    found = _read(path)
    if found and found["seed"] != seed:
        path.replace(_file(f"{topic}.seed-{found['seed']}"))
        found = None
    earlier = _file(f"{topic}.seed-{seed}")
    if not found and earlier.exists():
        earlier.replace(path)
        found = _read(path)
    return found or {"format": 1, "seed": seed, "round": 0, "answers": {}}


def _read(path):
    """The content of an answer file, or None where there is none or it is damaged and was put aside."""
    try:
        found = json.loads(path.read_text(encoding="utf-8"))
        texts = [one[key] for tried in found["answers"].values() for one in tried for key in ("answer", "verdict")]
        whole = all(isinstance(found[key], int) for key in ("seed", "round"))
        if found["format"] == 1 and whole and all(isinstance(one, str) for one in texts):
            return found
    except FileNotFoundError:
        return None
    except (ValueError, KeyError, TypeError, AttributeError, RecursionError):
        pass  # put aside below
    path.replace(path.with_suffix(".damaged.json"))
    return None


def _keep(topic, found):
    with files.writing(_file(topic)):
        files.replace(_file(topic), (json.dumps(found, indent=1, ensure_ascii=False) + "\n").encode("utf-8"))


def record(topic, place, try_):
    """Add a try to the file as it stands now: the same lesson may be open twice."""
    found = results(topic)
    found["answers"].setdefault(place, []).append(try_)
    _keep(topic, found)
    return found


def topic_questions(topic):
    """The list of questions of a topic."""
    return importlib.import_module(f"coachwork.page.questions.{topic}").QUESTIONS


# ------------------------------------------------------------------------------- the panel


class Questions(Panel):
    """All questions of a topic with the learner's own numbers. Made by `questions`."""

    def __init__(self, topic):
        self.topic = topic
        self.items = topic_questions(topic)
        self.found = results(topic)
        super().__init__([], "Check yourself")
        self._ask()

    def _ask(self):
        turn = self.found["round"]
        self.seeds = [draw_seed(learner_seed(), self.topic, place, turn) for place in range(len(self.items))]
        self.given = [item.draw(seed) for item, seed in zip(self.items, self.seeds)]
        parts = []
        for number, (item, given, seed) in enumerate(zip(self.items, self.given, self.seeds), 1):
            tried = self._tries(number)
            kept = [tried[-1]["answer"]] if tried else []
            parts.append(group(f"question-{number}", f"Question {number}", *item.parts(number, given, seed, *kept)))
        self.put([*parts, button("again", "New numbers for all questions")])
        self.notes = {f"answer-{number}": self._note(number) for number in range(1, len(parts) + 1)
                      if self._tries(number)}  # fmt: skip
        self.result = self.score()

    def _place(self, number):
        """Under what the tries at a question are kept: question and round."""
        return f"{question_key(self.items[number - 1])}/{self.found['round']}"

    def _tries(self, number):
        return self.found["answers"].get(self._place(number), [])

    def _note(self, number):
        """What stands beside the answer after the last try."""
        item, given, tried = self.items[number - 1], self.given[number - 1], self._tries(number)
        try:
            verdict = item.judge(tried[-1]["answer"], given)
        except InputError as error:  # kept from an edition that asked for something else
            return ["error", str(error)]
        said = verdict.words
        if verdict.kind != RIGHT and len(tried) >= MISSES:
            said += f" The answer is: {item.told(given).rstrip('.')}."
        return ["right" if verdict.kind == RIGHT else "wrong", said]

    def show_units(self):
        """Numbers in the questions follow the unit switch."""
        if getattr(self, "given", None) is not None:
            for number, (item, given) in enumerate(zip(self.items, self.given), 1):
                for part in self._own[number - 1]["parts"]:
                    if part["kind"] == "words":
                        part["label"] = item.asked(given)
        super().show_units()

    def pressed(self, name, settings):
        if name == "again":
            self.found = results(self.topic)
            self.found["round"] += 1
            _keep(self.topic, self.found)
            self.settings = {}
            self._ask()
            self.spoken = "New numbers are drawn."
            return
        number = int(name.rpartition("-")[2])
        field = f"answer-{number}"
        answer = settings[field] or ""
        try:
            verdict = self.items[number - 1].judge(answer, self.given[number - 1])
        except InputError as error:  # no try: it could not be read
            note = ["error", str(error)]
        else:
            numbers = numbers_of(self.given[number - 1])
            one = {"answer": answer, "numbers": numbers, "verdict": verdict.kind, "slip": verdict.slip}
            self.found = dict(record(self.topic, self._place(number), one), round=self.found["round"])
            note = self._note(number)
        self.notes = {**self.notes, field: note}
        self.result = self.score()
        self.spoken = note[1]

    def score(self):
        """How many of the present numbers are answered, in words."""
        verdicts = [[one["verdict"] for one in self._tries(number)] for number in range(1, len(self.items) + 1)]
        right = sum(RIGHT in tried for tried in verdicts)
        first = sum(tried[:1] == [RIGHT] for tried in verdicts)
        return f"{right} of {len(self.items)} right" + (f", {first} of them at the first try." if right else ".")

    def plain(self):
        """The questions in words."""
        lines = []
        for number, (item, given, seed) in enumerate(zip(self.items, self.given, self.seeds), 1):
            lines.append(f"{number}. {item.asked(given)}")
            lines += [f"   ( ) {option}" for option in item.options(seed)] if isinstance(item, Choice) else []
        return "\n".join(lines)


def questions(topic):
    """The questions of a topic, the last line of a lesson's cell: `questions("energy")`."""
    return Questions(topic)
