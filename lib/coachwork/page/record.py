"""The design record of a coach: every topic heard, put on pages for whoever must sign it. It writes; it never calculates.

`record(coach)` gives one dict of plain text, lists and dicts. HTML, PDF and JSON are three clothes of that dict.

The JSON, format 1 (a newer format gets a higher number):
  format, kind     1 and "coachwork design record"
  coach, date      name of the coach, day of the record
  digest           the first 12 hexadecimal digits of SHA-256 over coach_file as JSON, keys sorted, no spaces, in UTF-8
  program          name and version of the program that made it
  verdict          what was checked and what came of it, in words
  counts           how many checks meet, are close, miss, guard, and are missed without an answer
  checks           topic, lesson, verdict, asked, found, limit, why, mend, source, status, guards, answer; misses first;
                   circuit, size, device where the check is of one circuit of the wire schedule, else empty
  assumed          topic, lesson, place, value of everything that nobody decided, measured or read from a real part
  numbers          "topic.name" to a quantity as text, as a coach file holds it
  pages            id, title, lesson, form ("tall", "wide", "sheet") and blocks; a block is one of
                   {text}, {heading}, {list}, {caution: [title, says, source]}, {lines: [...]} to fill in by hand, {boxes: [...]} to tick,
                   {table: caption, head, numeric, rows}, {drawing: svg, name, alt, words}
  coach_file       the coach as its file says it
"""

import collections
import dataclasses
import datetime
import hashlib
import html
import importlib.metadata
import json
import math
import os
import re
import shutil
import unicodedata
from pathlib import Path

from coachwork import bootstrap, capacity, checks, commissioning, design, files, whole_system, wiring
from coachwork.page.cautions import DEFERRAL, cautions
from coachwork.page.diagram import one_line
from coachwork.page.map import lessons
from coachwork.page.table import table
from coachwork.quantities import InputError, Quantity, floats, number_text, show, write_quantity

FORMAT = 1
KIND = "coachwork design record"
TEMPLATE = Path(__file__).with_name("record.typ")
NOT_YET = "This workbook has no such lesson yet: nothing of it was worked out or checked here."


def record(coach, heard=None):
    """The design record of a coach as a dict of plain values: see the head of this file.

    Parameters
    ----------
    coach : the coach file
    heard : of `design.hear`, where it has been asked already

    The day is that of COACHWORK_DATE, else today.
    """
    heard = design.hear(coach) if heard is None else heard
    known = {one.topic: one for one in lessons()}
    said = {one.topic: one for one in heard}
    rows = {row.name: row for row in said["wiring"].study.rows} if "wiring" in said and said["wiring"].study else {}
    held = [_check(coach, check, known, rows) for check in design.all_checks(heard)]
    assumed = [
        {"topic": one.topic, "lesson": known[one.topic].number, "place": one.place, "value": one.value}
        for one in design.assumed(coach, heard)
    ]
    made = {
        "format": FORMAT,
        "kind": KIND,
        "coach": coach.name,
        "date": os.environ.get("COACHWORK_DATE") or datetime.date.today().isoformat(),
        "digest": digest(coach),
        "program": f"coachwork {importlib.metadata.version('coachwork')}",
        "verdict": design.verdict(coach, heard),
        "counts": dict(
            collections.Counter(one["verdict"] for one in held)
            | {"guards": sum(bool(one["guards"]) for one in held)}
            | {"unanswered": sum(one["verdict"] == checks.MISSES and not one["answer"] for one in held)}
        ),
        "checks": held,
        "assumed": assumed,
        "numbers": {
            f"{one.topic}.{name}": write_quantity(value)
            for one in heard
            if one.study is not None
            for name, value in _scalars(one.study)
            if isinstance(value, Quantity)
        },
        "pages": [],
        "coach_file": coach.plain(),
    }
    for name, title, topic, form, write in PAGES:
        blocks = []
        if topic and topic not in said:
            blocks = [_text(NOT_YET)]
        elif topic and said[topic].study is None:
            blocks = [_text(f"This part could not be worked out: {said[topic].refusal}")]
        else:
            blocks = list(write(coach, said[topic].study if topic else made))
        if topic in said and topic != "design" and name not in ("worksheets", "card"):
            blocks = _standing(topic, made) + blocks
        lesson = f"{known[topic].number} {known[topic].title}" if topic else ""
        made["pages"].append({"id": name, "title": title, "lesson": lesson, "form": form, "blocks": blocks})
    return json.loads(json.dumps(made))


def digest(coach):
    """Twelve digits by which a reviewer tells whether a record and a coach file belong together: see the head of this file."""
    text = json.dumps(coach.plain(), ensure_ascii=False, sort_keys=True, separators=(",", ":"))
    return hashlib.sha256(text.encode()).hexdigest()[:12]


def _check(coach, check, known, rows):
    circuit = check.asked.partition(":")[0].partition(",")[0]
    row = rows.get(circuit) if ":" in check.asked else None
    return {
        "topic": check.topic,
        "lesson": known[check.topic].number if check.topic in known else "",
        "verdict": check.verdict,
        "asked": check.asked,
        "found": check.found.replace("A2 s", "A²·s"),
        "limit": check.wanted.replace("A2 s", "A²·s"),
        "why": check.why,
        "mend": check.mend,
        "source": check.source.text,
        "status": check.source.status,
        "guards": check.guards,
        "answer": design.answer(coach, check),
        "circuit": circuit if row else "",
        "size": (row.size or "") if row else "",
        "device": (row.device or "") if row else "",
    }


def _scalars(study):
    """Every single value of a study: name and quantity, number or short text."""
    for field in dataclasses.fields(study):
        value = getattr(study, field.name)
        if isinstance(value, Quantity) and not getattr(value.magnitude, "ndim", 0):
            yield field.name, value
        elif isinstance(value, (int, float, str)) and not isinstance(value, bool) and value != "":
            yield field.name, value


# ------------------------------------------------------------------------------- blocks


def _text(words):
    return {"text": words}


def _heading(words):
    return {"heading": words}


def _list(items):
    return {"list": [str(one) for one in items]}


def _grid(rows, caption, columns=None, digits=3):
    """A table as a block; nothing where it has no rows."""
    rows = list(rows)
    if not rows:
        return []
    head, numeric, cells = zip(*table(rows, caption=caption, columns=columns, digits=digits).cells())
    return [
        {
            "table": caption,
            "head": list(head),
            "numeric": list(numeric),
            "rows": [[cell.strip() for cell in row] for row in zip(*cells)],
        }
    ]


def _facts(caption, pairs):
    """A table of two columns: what, value; what is None is left out."""
    rows = [(what, show(value) if isinstance(value, Quantity) else str(value)) for what, value in pairs if value is not None]
    return _grid(rows, caption, ["what", "value"])


def _percent(share):
    return None if share is None else f"{number_text(100 * share)} %"


def _standing(topic, made):
    """How the checks of a topic stand, and what of it is assumed."""
    held = collections.Counter(one["verdict"] for one in made["checks"] if one["topic"] == topic)
    words = ", ".join(f"{held[verdict] or 'none'} {word}" for verdict, word in ((checks.MEETS, "met"), (checks.CLOSE, "close"), (checks.MISSES, "missed")))
    blocks = [_text(f"Checks of this topic: {words}. They stand on the page of all checks.")]
    mine = [one for one in made["assumed"] if one["topic"] == topic]
    if len(mine) > 4:
        blocks.append(_text(f"ASSUMED: {len(mine)} values that nobody decided or measured; they stand on the page of what is assumed."))
    elif mine:
        lesson = next(one for one in lessons() if one.topic == topic)
        blocks += _grid(mine, f"ASSUMED: not decided, not measured, or of an invented data sheet. Lesson {lesson.number}", {"place": "what", "value": "value"})
    return blocks


# ------------------------------------------------------------------------------- pages


def _cover(coach, made):
    plan, body = coach.design, coach.coach
    yield _text(made["verdict"])
    yield from _facts(
        "The coach",
        [
            ("kind", body.kind),
            ("length", body.length),
            ("about", coach.about),
            ("house bank", capacity.arrangement(coach).label),
            ("owner", plan.owner),
            ("designed by", plan.written_by),
            ("authority having jurisdiction", plan.authority or "not named yet"),
            ("date of this record", made["date"]),
            ("digest of the coach file", made["digest"]),
            ("made by", made["program"]),
        ],
    )
    missed = [one for one in made["checks"] if one["verdict"] == checks.MISSES]
    yield from _grid(missed, "Missed", {"asked": "asked", "found": "found", "limit": "wanted", "answer": "answer of the designer"})
    if made["assumed"]:
        yield _text(f"{len(made['assumed'])} values are assumed; each page marks its own, and the page after the checks lists them all.")
    yield _text(
        "A design record says what was planned and by which rule it was checked. It is no permit, no inspection and no "
        f"listing. {DEFERRAL}"
    )


def _unchecked(coach, made):
    rows = design.unchecked()
    yield _text("No check in this record looks at these. Whoever signs looks at them, or says who did.")
    yield from _grid(rows, "Not checked", {name: name for name in rows[0]})


CHECKED = {"asked": "asked", "found": "found", "limit": "wanted", "guards": "guards against", "why": "why", "mend": "what would mend it",
           "source": "source", "status": "status"}  # fmt: skip


def _all_checks(coach, made):
    by = collections.defaultdict(list)
    for one in made["checks"]:
        by[one["verdict"]].append(one)
    if not by[checks.MISSES]:
        yield _text("Missed: none.")
    yield from _grid(by[checks.MISSES], "Missed", CHECKED | {"answer": "answer of the designer"})
    yield from _grid(by[checks.CLOSE], "Close: met with less than 5 % of the limit to spare", CHECKED)
    by_topic = collections.defaultdict(list)
    for one in by[checks.MEETS]:
        by_topic[one["topic"], one["lesson"]].append(one)
    for (topic, lesson), rows in by_topic.items():
        name = topic.replace("_", " ").capitalize()
        yield _heading(f"Met: {name.lower()}" + (f", lesson {lesson}" if lesson else ""))
        rules = collections.defaultdict(list)
        for one in rows:
            rules[_rule(one) if one["circuit"] else ""].append(one)
        alone = [one for rule, held in rules.items() for one in held if not rule or len(held) < 3]
        yield from _grid(alone, f"{name}: checks of one thing each", CHECKED)
        for rule, held in rules.items():
            if rule and len(held) >= 3:
                yield from _one_rule(rule, held)


def _rule(one):
    """The question of a check of one circuit without the circuit and its device: one rule, asked of many."""
    head, _, question = one["asked"].partition(": ")
    question = question.replace(f"its {one['device']}", "its device") if one["device"] else question
    question = re.sub(r" \([^()]*\)\?$", "?", question)  # (limited by), (class of drop)
    return question[0].upper() + question[1:]


SHARED = {"guards": "Guards against {}.", "why": "{}", "mend": "If missed: {}", "source": "Source: {}", "status": "({})."}
HEADS = {"guards": "guards against", "why": "why", "mend": "what would mend it", "source": "source", "status": "status"}


def _one_rule(rule, rows):
    """A rule held against many circuits: a line each, and once above them what is the same for all."""
    same = {key: len({one[key] for one in rows}) == 1 for key in SHARED}
    words = [SHARED[key].format(rows[0][key]) for key in SHARED if same[key] and rows[0][key]]
    columns = {"circuit": "circuit", "size": "conductor", "device": "device", "asked": "asked", "found": "found", "limit": "wanted"}
    if len({one["asked"].partition(": ")[2].replace(one["device"] or "\0", "") for one in rows}) == 1:
        del columns["asked"]
    else:
        rows = [one | {"asked": (re.findall(r"\(([^()]*)\)\?$", one["asked"]) or [""])[0]} for one in rows]
        columns["asked"] = "by its"
    columns |= {key: HEADS[key] for key in SHARED if not same[key]}
    yield from _grid(rows, " ".join([rule, *words]), columns)


def _diagram(coach, made):
    yield _text("Drawn for a sheet of 17 x 11 in (tabloid; A3 with \"fit to page\"). On letter paper its words are too small to sign.")
    for sheet in one_line(coach):
        yield {"drawing": sheet.svg, "alt": sheet.alt, "words": list(sheet.words), "name": sheet.name}


def _survey(coach, study):
    lacking = study.unlisted
    yield _text(
        f"Not looked for: {', '.join(lacking)}. Each is a missed check." if lacking
        else "Every circuit that is dangerous to lose was found, or said to be absent."
    )  # fmt: skip
    if coach.design.absent:
        yield _text(f"Looked for, and not in this coach: {', '.join(coach.design.absent)}.")
    yield from _grid(study.survey, "What the survey found and what becomes of it", {"name": "name", "what": "what", "fate": "becomes", "note": "note"})


def _energy(coach, study):
    yield from _grid(
        [
            {"season": day.season, "energy of a day": day.energy, "charge": day.charge, "peak": day.peak, "mean": day.mean,
             "by night": _percent(day.night_share)}
            for day in study.days.values()
        ],
        "Energy of a day at the battery, by season, without margin",
    )  # fmt: skip
    yield _text(f"The design is made for {study.design_season}, with a margin of {_percent(study.margin)}: {show(study.energy, 4)} a day.")
    parts = {day.season: dict(day.by_part()) for day in study.days.values()}
    names = dict.fromkeys(name for found in parts.values() for name in found)
    yield from _grid([{"what": name} | {season: found.get(name) for season, found in parts.items()} for name in names], "Loads and losses of a day, by season")


def _bank(coach, study):
    bank = study.arrangement
    yield from _facts(
        "The bank",
        [
            ("modules", bank.label),
            ("rated energy", bank.energy),
            ("asked of it", study.need),
            ("given when new", study.usable_new),
            ("given at its end of life", study.usable),
            ("depth of a day, new", _percent(study.depth_new)),
            ("depth of a day, aged", _percent(study.depth_aged)),
            ("highest charge voltage", bank.charge_voltage),
            ("mass", bank.mass),
        ],
    )
    yield from _grid(study.steps, "From the label to what may be used", {"what": "what", "taken": "taken", "left": "left", "source": "source"})
    yield from _grid(
        [{"module or string": n, "current": one} for n, one in enumerate(study.sharing.currents, 1)], f"How the strings share {show(study.power)}"
    )
    yield from _grid(
        [
            {"strings lost": one.lost, "rated energy left": one.rated_energy, "current of the hardest worked": one.current, "limit": one.limit,
             "exceeded": one.told}
            for one in study.losses
        ],
        "Losing modules",
    )  # fmt: skip
    yield from _grid(
        capacity.without_bank(coach), "When the bank is gone: one module opens, the last one opens",
        {"part": "part", "one_opens": "one opens", "all_open": "the last opens", "recovers": "comes back", "mend": "what helps", "source": "source"},
    )  # fmt: skip
    yield from _grid(
        [
            {"bank": one.name, "rated energy": one.rated_energy, "usable, aged": one.usable, "nights": one.nights, "mass": one.mass,
             "price low": one.price_low, "price high": one.price_high, "first to break": one.first_to_break}
            for one in study.candidates
        ],
        "Three banks: small, middle, large",
    )  # fmt: skip


def _sources(coach, study):
    yield from _facts(
        "Limits of charging",
        [
            ("into the bank, all chargers together", study.charge_limit),
            ("with one module out", study.charge_limit_one_out),
            ("cold", study.cold_limit),
            ("DC loads meanwhile", study.load_current),
            ("energy of a night", study.night_energy),
            ("energy of a day", study.day_energy),
        ],
    )
    yield from _grid(
        [
            {"source": one.name, "through": one.charger, "amps": one.current, "set by": one.limited_by, "from the source": one.input_power,
             "whole refill": one.refill_time, "one night": one.night_time, "planned a day": one.hours, "brings": one.energy, "fuel": one.fuel}
            for one in study.sources
        ],
        "Sources beside the sun",
    )  # fmt: skip
    yield _text("What is set in each charger stands on the settings sheet.")


def _sun(coach, study):
    yield from _facts(
        "The array",
        [
            ("modules", f"{study.array.series} in series, {study.array.parallel} in parallel"),
            ("rated power", study.array.rated_power),
            ("coldest morning", study.coldest),
            ("open circuit then, by the module's coefficient", study.cold_voltage),
            ("voltage on the hottest day", study.hot_voltage),
            ("current of the array", study.array_current),
            ("ampacity asked of its leads", study.ampacity),
            ("current into the bank", study.bank_current),
            ("days of the year carried by the sun alone", _percent(study.carried)),
        ],
    )
    yield from _grid(
        [{"voltage": one.voltage, "basis": one.basis, "source": one.source} for one in design.array_voltages(coach)],
        "Voltages called highest, and what each stands on; the label takes the first",
    )  # fmt: skip
    yield from _grid(
        [
            {"month": one.month, "sun a day": one.sun, "into the bank": one.charge, "needed": one.need, "covered": _percent(one.covered)}
            for one in study.months
        ],
        f"Months of a typical year, {study.year.about}",
    )  # fmt: skip
    yield _text(f"Source of the weather: {study.year.source}. A typical year has no extremes; the coldest morning comes from the coach file.")


def _inverter(coach, study):
    yield from _facts(
        "Inverter",
        [
            ("inverter", study.plan.name),
            ("planned to run together", study.planned),
            ("in watts", study.watts),
            ("carried for hours in its warm place", study.continuous),
            ("ripple on the bank, share of its DC current", _percent(study.ripple_share)),
            ("cable and joints, there and back", study.cable),
            ("could not be worked out", study.refusal or None),
        ],
    )
    yield from _grid(study.dc, "Current on the DC side", {"what": "at", "voltage": "voltage", "current": "current", "rms": "RMS with ripple"})
    yield from _grid(
        [
            {"load": one.name, "season": one.season, "running beside it": one.running, "its start": one.start, "both": one.demand, "lasts": one.time}
            for one in study.starts
        ],
        "Starts",
    )
    yield from _grid(
        [
            {"source": one.name, "meaning": one.meaning, "inverter circuits": one.inverter_circuits, "shore circuits": one.shore_circuits,
             "charger": one.charger, "bonds of neutral to ground": ", ".join(one.bonds) or "none", "wanted": one.wanted,
             "right": "yes" if one.right else "NO"}
            for one in study.states
        ],
        "Transfer and bond: which source feeds what, and where neutral meets ground",
    )  # fmt: skip
    yield from _grid(
        [
            {"source": one.source, "for hours": one.limit, "on together": one.total, "charger": one.charger, "switched off first": ", ".join(one.off) or "nothing"}
            for one in study.shares
        ],
        "What the inlet carries",
    )


def _wiring(coach, study):
    rows = _schedule(study)
    yield from _grid(rows, "Conductors", [name for name in rows[0] if name not in DEVICE_COLUMNS] if rows else None)
    yield from _grid(rows, "Fuses and breakers", ["circuit", *DEVICE_COLUMNS, "verdict"])
    bases = wiring.bases(coach)
    several = [f"{one.name} {show(one.slowest)}" for one, row in zip(bases, (row for row in study.rows if row.size is not None))
               if one.slowest is not None and one.slowest > 1.01 * row.fault_least]  # fmt: skip
    yield _text(
        "Fault least is with one module left to feed it. The check of clearing takes the case that is longest to open; where more "
        f"modules share a larger current, that is another one: {'; '.join(several) or 'nowhere here'}."
    )
    yield _text(
        "Not checked: the largest fault at that device, or what the device breaks, is not known here. It is no finding that "
        "the device will do."
    )
    yield from _grid(
        [
            {"circuit": row.name, "from": row.start, "to": row.end, "breaker": row.fuse, "conductor": row.size, "insulation": row.insulation,
             "length": row.length, "GFCI": UNKNOWN, "breaks": UNKNOWN, "available fault": UNKNOWN}
            for row in study.rows
            if row.rule == wiring.AC_RULE
        ],
        "120 V side: what the coach file holds of it. Licensed work",
    )  # fmt: skip
    yield from _facts(
        "Faults",
        [
            ("highest short-circuit current at the bank", study.highest.into(Quantity(0.0, "ohm"))),
            ("at the fuse of one module, from the others", study.modules.others),
            ("from the module itself", study.modules.own),
            ("lowest at the bank, out of one aged, cold and nearly empty module", study.modules.lowest),
            ("through main fuse, main switch and shunt", study.bus_current),
        ],
    )
    airy = [one.name for one in bases if one.rule == wiring.AIR_RULE]
    if airy:
        yield _text(
            f"Valid only in free air, never in conduit, loom or a bundle: {', '.join(airy)}. Laid otherwise they carry less, and "
            "their fuse no longer protects them: work them out anew."
        )
    yield from _grid(
        bases, "What each ampacity stands on",
        {"name": "circuit", "rule": "rule", "laid": "how laid", "ambient": "air", "insulation": "insulation", "terminals": "terminals", "limited": "limited by"},
    )  # fmt: skip


UNKNOWN = "not checked"
DEVICE_COLUMNS = ("device", "rating", "at", "interrupts", "fault most", "fault least", "assumed")


def _schedule(study):
    return [
        {"circuit": row.name, "from": row.start, "to": row.end, "existing": row.existing, "length": row.length, "planned": row.current, "heating (RMS)": row.heating,
         "conductor": row.size, "insulation": row.insulation, "ampacity": row.ampacity, "drop": row.drop,
         "drop share": _percent(row.share), "device": row.device, "rating": row.fuse, "at": row.at or None, "interrupts": row.interrupt,
         "fault most": row.fault_most, "fault least": row.fault_least, "governed by": row.governed,
         "assumed": ", ".join(word.partition(": ")[2] or word for word in row.assumed) or None, "verdict": row.verdict}
        for row in study.rows
    ]  # fmt: skip


def _cooling(coach, study):
    if not any(one.kind == "air conditioner" and one.existing in (None, "move") for one in coach.equipment):
        counted = coach.whole_system.air_conditioning == "on the bank"
        yield _text(
            "STUDIED ONLY, NOT PART OF THIS DESIGN: no such unit is among the new equipment, so weight, parts and circuits hold none. "
            + ("The year on its own page counts what it would take." if counted else "The year on its own page runs without it.")
        )
    yield from _facts(
        "Air conditioner",
        [
            ("unit", study.unit.name),
            ("hottest hour of the design day", study.hottest),
            ("heat to remove in the worst hour", study.peak),
            ("size", study.size),
            ("energy of a design night at the battery", study.night.battery_energy),
            ("mean power by night", study.night.mean_power),
            ("bank alone would carry such a night for", study.night.bank_hours),
            ("with all loads and the sun, from the evening on", f"{number_text(study.carried.hours)} h" + (" or more" if study.carried.lasts else "")),
            ("left at sunrise", _percent(study.carried.at_sunrise)),
            ("cooling in a typical year", study.year_energy),
        ],
    )


def _life(coach, study):
    def pair(values):
        return None if values is None else f"{show(values[0])} to {show(values[1])}"

    def age(value):
        return "more than 20 years" if value is None else show(value)

    yield from _facts(
        "Life and cost",
        [
            ("bank", study.offer.label),
            ("depth of a cycle", _percent(study.depth)),
            ("life, shorter of the published cells", age(study.offer.life.shortest)),
            ("life, longer", age(study.offer.life.longest)),
            ("by the warranted cycles", study.paper_life),
            ("out of the bank in a year", study.yearly_energy.to("kWh")),
            ("price", pair(study.offer.price)),
            ("wear of each kWh", pair(study.offer.wear)),
            ("cost of each kWh", pair(study.offer.cost)),
            ("stored", study.stored),
            ("storage until cut-off", study.storage_life),
            ("warranty ends by", None if study.warranty is None else f"{study.warranty.first}, after {show(study.warranty.age)}"),
        ],
    )
    if study.outside:
        yield _text("Where the published cells do not reach:")
        yield _list(study.outside)


def _weight(coach, study):
    found, body = study.weight, coach.coach
    yield from _grid(found.scales, "On the scale", {"where": "where", "before": "before", "change": "change", "after": "after", "limit": "limit"})
    yield from _facts(
        "Beside it",
        [
            ("cargo capacity of the door sticker", body.cargo_capacity),
            (f"share of the {found.front}, afterwards", _percent(found.share)),
            ("things without a mass", ", ".join(found.unweighed) or None),
            ("things without a place", ", ".join(found.unplaced) or None),
        ],
    )
    yield from _grid(
        found.moves, "What comes, goes and moves",
        {"name": "thing", "mass": "mass", "ahead": "ahead of rear axle", "left_of_middle": "left of middle", "front": f"on the {found.front}", "left": "on left tires"},
    )  # fmt: skip
    yield _text("Law of the lever; insulation, boxes and fastenings are not counted. Weigh the coach again afterwards, ready to travel.")


def _parts(coach, study):
    yield from _grid(study.parts, "Parts", {"name": "part", "amount": "amount", "use": "for", "price": "price"})
    priced = sum(one.price is not None for one in study.parts)
    yield _text(f"{priced} of {len(study.parts)} lines have a price; together {show(study.cost, 4)}. Conductors are the runs, both ways, with nothing for waste.")
    yield _text(f"Not listed here: {design.NOT_IN_PARTS}.")


def _settings(coach, study):
    yield from _grid(study.settings, "Settings sheet")
    if coach.inverter is not None:
        yield _text(_cut_offs(coach))


def _cut_offs(coach):
    """Each voltage at which discharging ends, by its own name, highest first."""
    bank, words = capacity.arrangement(coach), []
    settings = commissioning.study(coach).settings
    mine = next((one.value for one in settings if one.device == coach.inverter.name and "cut-off" in one.what), None)
    if mine is not None:
        words.append(f"{mine}, the inverter's cut-off as it is to be set here")
    words.append(f"{show(bank.module.cut_off * bank.series)}, the cut-off of the modules' own electronics")
    if coach.inverter.cut_off is not None:
        words.append(f"{show(coach.inverter.cut_off)}, the inverter's cut-off as its data sheet has it: at this one its largest current is reckoned")
    return f"Three cut-offs are named in this record: {'; '.join(words)}."


def _worksheets(coach, study):
    known, shown = cautions(), set()
    for sheet in study.worksheets:
        yield _heading(sheet.title)
        yield _text(f"Who: {sheet.who}.")
        for name in sheet.cautions:
            if name not in shown:
                yield _caution(known[name])
        again = [known[name].title for name in sheet.cautions if name in shown]
        if again:
            yield _text(f"Caution, as on the worksheets before: {'. '.join(again)}.")
        shown |= set(sheet.cautions)
        yield _list(sheet.before)
        yield from _grid(
            [{"what": one.what, "where": one.where, "predicted": one.predicted, "passes": one.passes, "measured": "_" * 14} for one in sheet.lines], sheet.title
        )
        yield _text(f"{sheet.pass_rule} Source: {sheet.source}.")
    yield _heading("Torque of each joint")
    yield _text("Read each torque from the sheet of the real part; write it down, then what the wrench gave, plus and minus each for itself.")
    blank = "_" * 9
    yield from _grid(
        [{"joint": one.circuit, "at": one.place, "conductor": one.size, "wanted, plus": blank, "given": blank,
          "wanted, minus": "-" if one.poles == "one" else blank, "given ": "-" if one.poles == "one" else blank, "date, hand": blank}
         for one in design.joints(coach)],
        "Torque of each joint; NEC (NFPA 70) 2023 110.14(D) (from memory)",
    )  # fmt: skip


def _card(coach, study):
    yield _text("To hang by the door.")
    yield _heading(study.card.title)
    for heading, lines in study.card.parts:
        yield _heading(heading)
        yield _list(lines)


def _labels(coach, study):
    yield from _grid(study.labels, "Labels", {"place": "place", "words": "words", "why": "why", "source": "source"})


def _caution(one):
    return {"caution": [one.title, one.says, str(one.source)]}


def _cautions(coach, made):
    there = {one["topic"] for one in made["checks"]}
    shown = [block["caution"][0] for page in made["pages"] for block in page["blocks"] if "caution" in block]
    if shown:
        yield _text(f"Printed on the worksheets, and for all work on this coach: {'. '.join(dict.fromkeys(shown))}.")
    for one in cautions().values():
        if there & set(one.topics) and one.title not in shown:
            yield _caution(one)


def _assumed(coach, made):
    yield _text(
        "Nobody has decided or measured these, or read them from the sheet of a real part. A check that is met on them is met "
        "on an assumption."
    )
    yield from _grid(made["assumed"], "Assumed", {"lesson": "lesson", "place": "what", "value": "value"})


def _cited(coach, made):
    counted = collections.Counter((one["source"], one["status"]) for one in made["checks"])
    rows = [{"source": source, "status": status, "checks": count} for (source, status), count in sorted(counted.items())]
    yield from _grid(rows, "Sources of the checks and how they are known")
    yield _text("published: read in the named document. from memory: recalled, not confirmed; look it up before relying on it. invented: demonstration data.")


def _jurisdiction(coach, made):
    rows = design.jurisdiction()
    yield from _grid(rows, "Who has a say", {name: name for name in rows[0]})
    yield _text("Named here: " + (coach.design.authority or "nobody yet. Ask before the work, not after it."))


def _listings(coach, made):
    rows = design.listings(coach)
    yield from _grid(rows, "Listings to look for", {name: name for name in rows[0] if name != "found as"} if rows else None)


def _handover(coach, study):
    yield _list(
        [
            "Owner shown: main disconnect, what stays live with it open, how each source is shut down, the alarms and their test.",
            "Owner shown: settings sheet, state of charge, what a cold or hot bank does, who to call.",
            f"Spare fuses aboard: {study.spare_fuses} of each kind and rating.",
            "Photographs as built: every joint, every fuse with its rating, every label, the bank with its covers off.",
            f"All bolted joints tightened again after {show(study.retorque)}: date and hand below.",
            "Weighed again, ready to travel.",
            "Manuals, listings and data sheets of everything aboard in one folder, with this record.",
        ]
    )
    yield {"lines": ["Owner was shown all of it: name, date", "Photographs kept at", "Joints tightened again on, by", "Weights measured on, by"]}
    yield _text("Source: common practice, no source.")


def _reviewer(coach, made):
    plan = coach.design
    yield _text(
        "For the licensed electrician, or whoever has jurisdiction. What was not looked at is best said too. "
        "A signature here is a finding about the papers, unless the lines say that the work was seen."
    )
    if plan.reviewer or plan.license:
        yield from _facts("Named in the coach file", [("reviewer", plan.reviewer), ("license", plan.license)])
    yield from _facts(
        "This record",
        [("coach", made["coach"]), ("date", made["date"]), ("digest of the coach file", made["digest"]), ("made by", made["program"])],
    )
    yield _text("A coach file with another digest is another design: a signature here says nothing of it.")
    yield {"boxes": ["accepted", "accepted with the corrections below", "refused"]}
    yield {
        "lines": [
            "Name",
            "License: number, state, expires",
            "Reviewed: papers / work on site",
            *["Findings"] * 8,
            "Corrections asked for, by when",
            "Signature, date",
        ]
    }


def _compartment(coach, study):
    heater = show(study.at_battery.to("Wh"))
    yield from _facts(
        "Coldest night",
        [
            ("coldest air round the box", study.surroundings),
            ("heat lost for each degree, walls and vents", study.conductance),
            ("heat lost at the set point then", study.loss),
            ("heater needed", study.needed),
            ("heater in 24 hours, at the battery", heater),
            ("share of the usable bank", _percent(study.share)),
            ("coldest cells", study.night.lowest),
            ("with the heater dead, from the set point to the coldest charge", study.freeze_after or "never"),
            ("time constant", study.time_constant),
        ],
    )
    yield from _grid(
        [
            {"winter": name, "heater": one.energy, "on its worst day": one.worst_day, "coldest cells": one.lowest, "too cold to charge": _percent(one.locked)}
            for name, one in (("with heater", study.winter), ("without", study.winter_without))
        ],
        f"Winter: the three coldest months of a typical year ({', '.join(map(str, study.winter.months))})",
    )  # fmt: skip
    yield from _grid(
        [
            {"day": name, "warmest cells": one.highest, "mean of the day": one.mean, "air above outside": one.rise, "fan": one.fan_hours}
            for name, one in (("as decided", study.summer), ("without fan", study.summer_still))
        ],
        "Summer: a hot day that repeats itself",
    )
    if floats(coach.heating.fan or Quantity(0.0, "cfm"), "cfm"):
        yield _text("The fan's own watts stand in no list of loads; the hours above say how long it runs on such a day.")
    yield from _grid(
        [
            {"way": one.name, "lost at the set point": one.loss, "heater in 24 hours": one.energy, "of the bank": _percent(one.share),
             "coldest cells": one.lowest, "verdict": one.verdict}
            for one in study.options
        ],
        "Ways to keep this bank warm",
    )  # fmt: skip


def _year(coach, study):
    found = study.run.answers
    yield from _facts(
        "A typical year",
        [
            ("days away that needed no generator and lacked nothing", _percent(study.alone)),
            ("trips that begin with a full bank", _percent(study.full_at_start)),
            ("life of the bank in such years", str(study.life)),
            ("bank, array and generator over the years wanted", study.price),
            ("night that takes most out of the bank", f"{study.worst.day}, {show(study.worst.energy)}"),
            ("mean night", study.mean_night),
            ("generator", Quantity(found.generator_hours, "h")),
        ],
    )
    yield from _grid(
        [
            {"month": one.month, "days away": one.days, "alone": one.alone, "lowest charge": _percent(one.lowest), "sun used": one.sun,
             "sun spilled": one.spilled, "engine": one.engine, "generator": one.generator, "missed": one.missed}
            for one in study.months
        ],
        "Months",
    )  # fmt: skip
    own = int(capacity.arrangement(coach).parallel)
    unit = coach.cooling_load.unit.name if coach.cooling_load.unit else ""
    series = whole_system.series_of(coach)
    rows = [
        whole_system.row_of(coach, whole_system.run(series, whole_system.system_of(coach, strings)), strings, unit)
        for strings in sorted({max(1, own - 1), own, own + 1, own + 2})[:3]
    ]
    yield from _grid(
        [
            {"modules": one.modules, "alone": _percent(one.alone), "lowest charge": _percent(one.lowest), "below reserve": one.low_hours,
             "missed": one.missed, "generator": one.generator_hours, "fuel": one.fuel, "sun spilled": _percent(one.spilled),
             "life": one.years, "cost over the years wanted": one.price}
            for one in rows
        ],
        "Three banks in the same year, with the same array",
    )  # fmt: skip


PAGES = (  # id, title, topic that it needs, form of the paper, what writes it
    ("cover", "Design record", None, "tall", _cover),
    ("unchecked", "Not checked by this record", None, "tall", _unchecked),
    ("checks", "All checks, misses first", None, "wide", _all_checks),
    ("assumed", "What is assumed", None, "tall", _assumed),
    ("diagram", "One-line diagram", None, "sheet", _diagram),
    ("survey", "Survey: what is there and what becomes of it", "design", "tall", _survey),
    ("energy", "Energy by season", "energy", "tall", _energy),
    ("bank", "House bank", "capacity", "wide", _bank),
    ("sources", "Sources: shore, engine, generator", "charging", "wide", _sources),
    ("sun", "Sources: sun, and the day's balance", "sun", "tall", _sun),
    ("inverter", "Inverter, inlet and bonds", "inverter", "wide", _inverter),
    ("wiring", "Wire and fuse schedule", "wiring", "wide", _wiring),
    ("compartment", "Compartment of the bank, winter and summer", "heating", "tall", _compartment),
    ("cooling", "Air conditioner and its night", "cooling_load", "tall", _cooling),
    ("year", "A year, and three banks compared", "whole_system", "wide", _year),
    ("life", "Life and cost", "cycle_life", "tall", _life),
    ("weight", "Weight", "design", "tall", _weight),
    ("parts", "Parts", "design", "tall", _parts),
    ("settings", "Settings sheet", "commissioning", "wide", _settings),
    ("worksheets", "Acceptance worksheets", "commissioning", "tall", _worksheets),
    ("card", "Card by the door", "commissioning", "tall", _card),
    ("labels", "Labels to print", "design", "wide", _labels),
    ("cautions", "Cautions", None, "tall", _cautions),
    ("cited", "Sources", None, "tall", _cited),
    ("jurisdiction", "Who has jurisdiction", None, "wide", _jurisdiction),
    ("listings", "Listings to look for", None, "wide", _listings),
    ("handover", "Handover", "design", "tall", _handover),
    ("reviewer", "For the reviewer", None, "tall", _reviewer),
)


# ------------------------------------------------------------------------------- three clothes

STYLE = """
:root {color-scheme: light}
body {font: 15px/1.45 "Helvetica Neue", Arial, sans-serif; color: #111; background: #fff; max-width: 68rem; margin: 0 auto; padding: 1rem}
h1 {font-size: 1.7rem} h2 {font-size: 1.3rem; border-bottom: 2px solid #111; padding-bottom: .2rem} h3 {font-size: 1.05rem}
nav ol {columns: 2; padding-left: 1.5rem} a {color: #00427a}
.wrap {overflow-x: auto} .wrap:focus-visible {outline: 2px solid #00427a}
table {border-collapse: collapse; margin: .6rem 0 1.2rem; font-size: .85rem; min-width: min(100%, 44rem)}
caption {text-align: left; font-weight: 600; padding: .3rem 0; max-width: 60rem}
th, td {border-bottom: 1px solid #aaa; padding: .2rem .8rem .2rem 0; text-align: left; vertical-align: top; max-width: 22rem}
thead th {border-bottom: 2px solid #111} tbody th {font-weight: 400; max-width: 34rem} .n {text-align: right; font-variant-numeric: tabular-nums}
.caution {border: 1px solid #111; border-left: 6px double #111; padding: .4rem .8rem; margin: .5rem 0; max-width: 46rem}
.fill {border-bottom: 1px solid #111; height: 2.1rem; display: flex; align-items: flex-end; font-size: .85rem}
.boxes span {display: inline-block; width: .8rem; height: .8rem; border: 1px solid #111; margin: 0 .4rem 0 1.2rem}
svg {max-width: 100%; height: auto}
@page {size: letter; margin: 14mm 13mm} @page wide {size: letter landscape; margin: 12mm} @page sheet {size: 17in 11in; margin: 10mm}
@media print {
 body {max-width: none; padding: 0; font-size: 10pt} nav {display: none} .wrap {overflow: visible}
 section {break-before: page} section.wide {page: wide} section.sheet {page: sheet} table {font-size: 7.5pt}
 table {margin: .2rem 0 .7rem} tr, .caution, .short, svg {break-inside: avoid} thead {display: table-header-group} h2, h3, caption {break-after: avoid} a {color: inherit}
}
"""


def html_text(made):
    """The record as one HTML file: no script, nothing from elsewhere, every word escaped."""
    esc = html.escape
    first, *others = made["pages"]
    parts = [
        '<!DOCTYPE html>\n<html lang="en"><head><meta charset="utf-8"><meta name="viewport" content="width=device-width">'
        f"<title>Design record: {esc(made['coach'])}</title><style>{STYLE}</style></head><body><main>"
        f"<h1>Design record: {esc(made['coach'])}</h1>",
        *map(_html_block, first["blocks"]),
        "<nav aria-label=\"Pages\"><ol>",
        *(f'<li><a href="#{page["id"]}">{esc(page["title"])}</a></li>' for page in others),
        "</ol></nav>",
    ]
    for page in others:
        parts.append(f'<section id="{page["id"]}" class="{page["form"]}"><h2>{esc(page["title"])}</h2>')
        if page["lesson"]:
            parts.append(f"<p>Lesson {esc(page['lesson'])}</p>")
        parts += [*map(_html_block, page["blocks"]), "</section>"]
    return "\n".join([*parts, "</main></body></html>\n"])


def _html_block(block):
    esc = html.escape
    if "text" in block:
        return f"<p>{esc(block['text'])}</p>"
    if "heading" in block:
        return f"<h3>{esc(block['heading'])}</h3>"
    if "list" in block:
        return "<ul>" + "".join(f"<li>{esc(one)}</li>" for one in block["list"]) + "</ul>"
    if "caution" in block:
        title, says, source = map(esc, block["caution"])
        return f'<div class="caution" role="note"><p><strong>Caution: {title}.</strong> {says} {esc(DEFERRAL)}</p><p>Source: {source}</p></div>'
    if "lines" in block:
        return "".join(f'<div class="fill">{esc(one)}</div>' for one in block["lines"])
    if "boxes" in block:
        return '<p class="boxes">' + "".join(f"<span></span>{esc(one)} " for one in block["boxes"]) + "</p>"
    if "drawing" in block:
        words = "".join(f"<li>{esc(one)}</li>" for one in block["words"])
        return f"<h3>{esc(block['name'])}</h3>{block['drawing']}<details><summary>In words</summary><ul>{words}</ul></details>"
    def cell(words):  # a number is not parted from its unit
        return esc(words).replace(" ", "\u00a0") if len(words) <= 10 else esc(words)

    mark = [' class="n"' if numeric else "" for numeric in block["numeric"]]
    head = "".join(f'<th scope="col"{mark[at]}>{esc(one)}</th>' for at, one in enumerate(block["head"]))
    body = "".join(
        f'<tr><th scope="row"{mark[0]}>{esc(row[0])}</th>' + "".join(f"<td{mark[at]}>{cell(one)}</td>" for at, one in enumerate(row[1:], 1)) + "</tr>\n"
        for row in block["rows"]
    )
    return (
        f'<div class="wrap{" short" if len(block["rows"]) <= 12 else ""}" tabindex="0" role="group" aria-label="{esc(block["table"])}"><table><caption>{esc(block["table"])}</caption>'
        f"<thead><tr>{head}</tr></thead>\n<tbody>{body}</tbody></table></div>"
    )


def pdf_bytes(made):
    """The record as a PDF, by typst with the fonts it brings; the same record gives the same bytes.

    Characters that these fonts lack are listed on the first page: HTML and JSON hold them.
    """
    import typst

    pages = [
        page | {"blocks": [block | _laid(block, page["form"] != "tall") if "table" in block else block for block in page["blocks"]]}
        for page in made["pages"]
    ]
    told = {key: made[key] for key in ("coach", "date", "digest", "program")} | {"pages": pages, "lacking": lacking(made), "deferral": DEFERRAL}
    content = {"main.typ": TEMPLATE.read_bytes(), "record.json": json.dumps(told).encode()}
    return typst.compile(content, format="pdf", ignore_system_fonts=True, timestamp=0)


def column_shares(block):
    """Shares of the columns of a table on paper, one a column: 0 for one as wide as its words, else by how much stands in it.

    block : `head`, a list of texts, and `rows`, a list of lists of as many texts.
    """
    columns = [[heading, *(row[at] for row in block["rows"])] for at, heading in enumerate(block["head"])]
    longest = [max(map(len, cells)) for cells in columns]
    if sum(longest) + 2 * len(longest) <= 92:
        return [0] * len(longest)
    means = [sum(map(len, cells)) / len(cells) for cells in columns]
    return [0 if most <= 13 else round(max(mean, most / 3, 6.0) ** 0.7, 2) for most, mean in zip(longest, means)]


def _laid(block, wide):
    """How a table is set: its columns, and whether it stays whole: one that has room on a page is not split over two."""
    shares = column_shares(block)
    letters, line, room = (200, 9.5, 480) if wide else (130, 11, 640)  # in a line of text; points high
    longest = [max(len(row[at]) for row in [block["head"], *block["rows"]]) for at in range(len(shares))]
    left = letters - sum(most + 2 for most, share in zip(longest, shares) if not share)
    space = [max(6, 0.8 * left * share / sum(shares)) if share else most for most, share in zip(longest, shares)]
    lines = [max(math.ceil(len(cell) / width) for cell, width in zip(row, space)) for row in [block["head"], *block["rows"]] if any(row)]
    return {"widths": shares, "whole": sum(line * count + 5.2 for count in lines) + 12 * (1 + len(block["table"]) // letters) < room}


KNOWN = "\u2212\u2013\u2018\u2019\u201c\u201d\u2026\u03a9\u03b7\u03bc\u0394\u2248\u2264\u2265\u2713\u2717\u2007\u2008"  # beside Latin, all in DejaVu Sans Mono


def lacking(made):
    """Characters of a record that the PDF's fonts may lack: "U+4E2D CJK UNIFIED IDEOGRAPH-4E2D" and so on.

    Held against DejaVu Sans Mono, which stands in for whatever the text's font lacks.
    """
    used = set(json.dumps(made["pages"], ensure_ascii=False) + made["coach"])
    odd = sorted(one for one in used if ord(one) > 0x17F and one not in KNOWN and one.isprintable())
    if not odd:
        return []
    import matplotlib
    from matplotlib.ft2font import FT2Font

    there = FT2Font(str(Path(matplotlib.get_data_path(), "fonts/ttf/DejaVuSansMono.ttf"))).get_charmap()
    return [f"U+{ord(one):04X} {unicodedata.name(one, 'without a name')}" for one in odd if ord(one) not in there]


def json_text(made):
    """The record as JSON text; `read` gives the same dict back."""
    return json.dumps(made, ensure_ascii=False, indent=1) + "\n"


def read(path):
    """The record in a JSON file. Raises InputError where it is none, or one of a newer format."""
    try:
        made = json.loads(Path(path).read_text(encoding="utf-8"))
    except OSError as error:
        raise InputError(str(path), f"it cannot be read ({error.strerror})", "a record's JSON file") from None
    except (ValueError, RecursionError) as error:
        raise InputError(str(path), f"it is not JSON ({error})", "a record's JSON file") from None
    if not isinstance(made, dict) or made.get("kind") != KIND:
        raise InputError(str(path), "it is not a design record", f'a file with kind "{KIND}"')
    if made.get("format") != FORMAT:
        raise InputError(str(path), f"its format is {made.get('format')}", f"format {FORMAT}", hint="open it with a newer workbook")
    return made


SCHEDULES = ("wires", "checks", "parts", "settings", "labels", "weight", "assumed")


def schedules(made, heard):
    """The schedules as CSV text: a dict of name to text, for a spreadsheet."""
    said = {one.topic: one.study for one in heard}
    rows = {"wires": _schedule(said["wiring"]) if said.get("wiring") else [], "checks": made["checks"], "assumed": made["assumed"]}
    own = said["design"]
    rows |= {"parts": own.parts, "labels": own.labels, "weight": own.weight.scales}
    rows["settings"] = said["commissioning"].settings if said.get("commissioning") else []
    columns = {"assumed": ["topic", "lesson", "place", "value"]}  # a file even where nothing is: that is worth knowing
    return {name: table(rows[name], caption=name, columns=columns.get(name)).csv() for name in SCHEDULES if rows[name] or name in columns}


# ------------------------------------------------------------------------------- on the disk


def save(coach, folder=None):
    """Write the record of a coach: a folder with HTML, PDF, JSON and CSV; return its path.

    Parameters
    ----------
    coach : the coach file
    folder : where the record's folder is put; the reader's folder `records` where left out

    All or nothing: the record is made beside the place and moved there in one step. What stood there before is kept
    beside it as `... (previous)`; one that says the same stays as it is.

    Raises
    ------
    InputError
        where it cannot be written; what stood there before then stands there still.
    """
    heard = design.hear(coach)
    made = record(coach, heard)
    content = {"record.html": html_text(made).encode(), "record.json": json_text(made).encode(), "record.pdf": pdf_bytes(made)}
    content |= {f"{name}.csv": text.encode("utf-8-sig") for name, text in schedules(made, heard).items()}
    folder = bootstrap.home() / "records" if folder is None else Path(folder).expanduser()
    place = folder / _file_name(coach.name)
    with files.writing(place):
        return _put(place, content)


def _file_name(name):
    """A folder's name out of a coach's: letters, digits and hyphens."""
    plain = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode()
    return (re.sub(r"[^A-Za-z0-9]+", "-", plain).strip("-").lower()[:40] or "coach") + "-record"


def _put(place, content):
    previous = place.with_name(f"{place.name} (previous)")
    draft, oldest = (place.with_name(f".{place.name}.{os.getpid()}.{word}") for word in ("draft", "oldest"))
    if place.is_dir() and {one.name: one.read_bytes() for one in place.iterdir() if one.is_file()} == content:
        return place
    known = {*content, *(f"{name}.csv" for name in SCHEDULES)}
    for old in (place, previous):
        own = sorted(one.name for one in old.iterdir() if one.name not in known) if old.is_dir() else []
        if own:
            raise InputError(str(old), f"it also holds {', '.join(own[:3])}", "a folder with nothing but the record", hint="move your own files elsewhere first")
    moved = []
    try:
        for name, text in content.items():
            files.replace(draft / name, text)
        for here, there in ((previous, oldest), (place, previous), (draft, place)):
            if here.exists():
                os.replace(here, there)
                moved.append((here, there))
    except OSError:
        for here, there in reversed(moved):
            os.replace(there, here)
        raise
    finally:
        shutil.rmtree(draft, ignore_errors=True)
    shutil.rmtree(oldest, ignore_errors=True)
    return place
