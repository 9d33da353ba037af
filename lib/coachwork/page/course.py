"""What an instructor's guide shows: outcomes and their questions, misconceptions, counts of the ledger, skills.

All of it is made from the lessons, the QUESTIONS and the ledgers, so none of it can drift from them.
"""

import functools
import html
import importlib.util
import json
import math
import re

from coachwork import bootstrap
from coachwork.page import ledger
from coachwork.page.cautions import DEFERRAL
from coachwork.page.map import lessons
from coachwork.page.questions import Choice, topic_questions
from coachwork.page.table import table

AT_SCREEN = "none: seen at the screen"  # lesson 00: opening a lesson is not asked, it is done
OUTCOMES = re.compile(r"^## (?:2 )?By the end you can\n(.*?)(?=^## |\Z)", re.M | re.S)

# What somebody must be seen to do: (skill, what is seen, when it does not count).
SKILLS = (
    (
        "Crimp a terminal",
        "Chooses terminal and die for the conductor; strips without cutting strands; strands fill the barrel; the crimp "
        "holds the pull that the terminal's maker names; sleeve shrunk over barrel and insulation.",
        "Cut or loose strands, copper outside the barrel, the wrong die, or pliers instead of the tool.",
    ),
    (
        "Torque a joint",
        "Finds the value in the device's sheet; cleans the faces; sets the tool; pulls once, steadily, to the click; "
        "marks the joint; writes the value down.",
        "A value guessed, a second click for luck, or washers between lug and stud.",
    ),
    (
        "Prove dead",
        "Opens and locks every source of the rig and hangs a tag; tries the meter on a known live point; measures between "
        "all conductors and to the frame; tries the meter on the live point again.",
        "A source forgotten, the second try left out, or hands on metal before the last reading.",
    ),
    (
        "Measure a drop under load",
        "Says the expected volts first; leads on the right points; reads while the load runs; turns volts and amps into "
        "ohms; names the worst joint.",
        "Ohms measured on a live circuit, or the meter's lead left in the amps jack.",
    ),
    (
        "Find a hidden fault",
        "Halves what is left with each measurement; says what each reading rules out; mends and tests again.",
        "Parts changed on suspicion, or a fuse replaced by a larger one.",
    ),
)  # fmt: skip


def topic(lesson):
    """The module of a lesson's questions: `start_here` for lesson 00."""
    return lesson.topic.replace("-", "_")


def asking():
    """The lessons that are built and have questions."""
    return [one for one in lessons()
            if one.built and importlib.util.find_spec(f"coachwork.page.questions.{topic(one)}")]  # fmt: skip


def in_general(text):
    """A question or a slip without a learner's numbers: `{count} lamps` is `[count] lamps`."""
    return re.sub(r"\{(\w+)\}", lambda name: f"[{name[1].replace('_', ' ')}]", text)


def outcomes(lesson):
    """The lines under "By the end you can" of a lesson, as the lesson says them."""
    notebook = json.loads((bootstrap.ROOT / "workbook" / lesson.file).read_text(encoding="utf-8"))
    text = "\n".join("".join(cell["source"]) + "\n" for cell in notebook["cells"] if cell["cell_type"] == "markdown")
    part = OUTCOMES.search(text)
    if not part:
        raise ValueError(f'{lesson.file} has no part "By the end you can"')
    lines = re.findall(r"^- (.*(?:\n  .*)*)", part[1], re.M)
    return [" ".join(line.split()).rstrip(";.") for line in lines]


def outcomes_table():
    """Every outcome of every lesson, and the questions of the lesson that ask for it."""
    rows = []
    for lesson in asking():
        asked = [item.outcome for item in topic_questions(topic(lesson))]
        for number, said in enumerate(outcomes(lesson), 1):
            places = [str(place) for place, outcome in enumerate(asked, 1) if outcome == number]
            rows.append({"outcome": f"{lesson.number}.{number}", "by the end the learner can": said,
                         "questions": ", ".join(places) or AT_SCREEN})  # fmt: skip
    return table(rows, caption="Outcomes, and the questions that ask for them")


def slips(item):
    """The slips of a question as its verdicts name them, each with words that need no learner's numbers."""
    if isinstance(item, Choice):
        return {wrong: f'"{wrong.rstrip(".")}": {why}' for wrong, why in item.wrong.items()}
    return {one.reason: in_general(one.reason) for one in item.slips}


def misconceptions(lesson):
    """Rows for the table of a lesson: question, outcome, what the learner is told when the slip is met."""
    for place, item in enumerate(topic_questions(topic(lesson)), 1):
        for said in slips(item).values():
            yield {"question": place, "outcome": item.outcome, "slip, and what the learner is told": said}


class Misconceptions:
    """The slips of all lessons, a table each, folded away. Made by `misconceptions_table`."""

    def __init__(self):
        self.tables = []
        for lesson in asking():
            rows = list(misconceptions(lesson))
            head = f"{lesson.number} {lesson.title}: {len(topic_questions(topic(lesson)))} questions, {len(rows)} slips"
            self.tables.append((head, table(rows, caption=head)))

    def _repr_mimebundle_(self, include=None, exclude=None):
        folded = "".join(f"<details><summary>{html.escape(head)}</summary>{rows.html()}</details>"
                         for head, rows in self.tables)  # fmt: skip
        return {"text/html": folded, "text/plain": str(self)}

    def __str__(self):
        return "\n\n".join(rows.text() for head, rows in self.tables)

    __repr__ = __str__


def misconceptions_table():
    """Every slip that the questions of a lesson know, with the words the learner is met with."""
    return Misconceptions()


@functools.cache
def _ledgers():
    """Every ledger, run once: name to outcomes."""
    return {name: ledger.run(name) for name in ledger.topics()}


def widest_gaps(most=5):
    """The rows of all ledgers that lie farthest from the print, as a share of the print, and why."""
    found = [one for outcomes_of in _ledgers().values() for one in outcomes_of if one.difference is not None]
    found = sorted((one for one in found if math.isfinite(one.difference)), key=lambda one: -abs(one.difference))[:most]
    rows = [{"what": one.what, "ours": one.ours, "the print": one.printed, "gap [%]": round(100 * one.difference, 1),
             "within": one.tolerance, "note": one.note} for one in found]  # fmt: skip
    return table(rows, caption="The rows farthest from their print")


def ledger_counts():
    """Every ledger: rows, how many of each status, the widest gap between this workbook and the print, disagreements."""
    held = dict(_ledgers())
    held["all"] = [one for outcomes_of in held.values() for one in outcomes_of]
    counts = {name: ledger.summary(outcomes_of) for name, outcomes_of in held.items()}
    rows = [
        {"ledger": name, "rows": count["rows"], **{status: count["by status"].get(status, 0) for status in counts["all"]["by status"]},
         "widest gap [%]": round(100 * count["worst"], 2), "disagree": sum(not one.agrees for one in held[name])}
        for name, count in counts.items()
    ]  # fmt: skip
    return table(rows, caption="Handbook values by status")


def skills_table():
    """What a learner must be seen to do at the bench."""
    return table(SKILLS, columns=["skill", "seen", "does not count"], caption="Observed skills")


# ------------------------------------------------------------------------------------- pages to print

STYLE = """
@page {size: letter; margin: 14mm;}
body {margin: 0 auto; max-width: 62rem; padding: 1rem; color: #111; background: #fff; font: 1rem/1.45 system-ui, sans-serif;}
h1 {font-size: 1.6rem;} h2 {font-size: 1.25rem; margin-top: 2rem;} h3 {font-size: 1.05rem; margin-bottom: .2rem;}
img {max-width: 100%; height: auto;} section {break-after: page;}
table.blank {border-collapse: collapse; width: 100%;} table.blank caption {text-align: left; font-weight: 600;}
table.blank th, table.blank td {border: 1px solid #555; padding: .35rem .5rem; text-align: left; vertical-align: top; font-weight: 400;}
table.blank thead th {font-weight: 600;} table.blank td.fill {min-width: 7rem;}
@media print {body {padding: 0; font-size: 10pt;} tr, h2, h3 {break-inside: avoid; break-after: avoid;}}
"""


def page(title, parts):
    """A whole HTML page from parts of HTML: no script, nothing from elsewhere."""
    return (
        f'<!DOCTYPE html>\n<html lang="en"><head><meta charset="utf-8"><meta name="viewport" content="width=device-width">'
        f"<title>{html.escape(title)}</title><style>{STYLE}</style></head><body><main><h1>{html.escape(title)}</h1>\n"
        + "\n".join(parts)
        + "\n</main></body></html>\n"
    )


def skills_pages(names):
    """A sheet of observed skills for each name, as one HTML page to print."""
    head = "".join(f'<th scope="col">{one}</th>' for one in ("skill", "seen", "does not count", "day", "seen by"))
    body = "".join(
        f'<tr><th scope="row">{html.escape(skill)}</th><td>{html.escape(seen)}</td><td>{html.escape(not_so)}</td>'
        '<td class="fill"></td><td class="fill"></td></tr>'
        for skill, seen, not_so in SKILLS
    )
    rows = f'<table class="blank"><caption>Observed skills</caption><thead><tr>{head}</tr></thead><tbody>{body}</tbody></table>'
    return page("Observed skills", [
        f"<section><h2>{html.escape(name)}</h2>{rows}<p>Signing says that the skill was seen on the training rig. It gives no "
        f"licence. {html.escape(DEFERRAL)}</p></section>" for name in names
    ])  # fmt: skip
