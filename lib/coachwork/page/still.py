"""The still edition: lessons as plain HTML out of the blocks of `edition`, for a memory stick.

No server, no kernel, nothing from elsewhere. Benches and questions use the workbook's own front end over what still.js
finds stored in the page. Everything a lesson says is escaped.
"""

import html
import json
from pathlib import Path

from coachwork.page import maths
from coachwork.page.cautions import DEFERRAL
from coachwork.page.edition import _shown, _values, plain, unit_facts
from coachwork.page.map import LessonMap
from coachwork.quantities import unit_names

HERE = Path(__file__).parent
NAME = "The electrical side of RVs"
PICTURES = "pictures"
EXPORT = "export default { render };"  # the last line of front.js: a page opened as a file may not load modules
esc = html.escape


def site(lessons, system, seed):
    """The files of the still edition of some lessons: names to bytes.

    lessons : as `edition.lessons` tells them with `grid`. system, seed : of the units and of the questions' numbers.
    """
    front = (HERE / "front.js").read_text(encoding="utf-8")
    if EXPORT not in front:
        raise ValueError(f"front.js does not end with {EXPORT}")
    script = "(() => {\n" + front.replace(EXPORT, "") + (HERE / "still.js").read_text(encoding="utf-8") + "})();\n"
    style = (HERE / "front.css").read_text(encoding="utf-8") + (HERE / "still.css").read_text(encoding="utf-8")
    content = {"still.js": script.encode(), "still.css": style.encode()}
    made = [one["file"] for one in lessons]
    said = f"{system} units; the questions take the numbers of learner {seed}."
    for lesson in lessons:
        content |= _Page(lesson, lessons, made, said).files()
    content["index.html"] = _index(lessons, made, said).encode()
    return content


def _address(file):
    return file.replace(".ipynb", ".html")


def _document(title, links, parts, main, said, script=""):
    """A whole page: head, skip link, landmarks. links, parts : (words, address) of other lessons, and of this one's parts."""
    top, foot = _links("Lessons", links), _links("Lessons, at the foot", links)
    header = f"<header>{top}{_links('Parts of this lesson', parts)}</header>" if links else ""
    return (
        '<!DOCTYPE html>\n<html lang="en"><head><meta charset="utf-8"><meta name="viewport" content="width=device-width, initial-scale=1">'
        f'<meta name="color-scheme" content="light dark"><title>{esc(title)}</title><link rel="icon" href="data:,">'
        f'<link rel="stylesheet" href="still.css"></head>\n<body><a class="skip" href="#main">Skip to the lesson</a>{header}\n<main id="main" tabindex="-1">\n'
        f"{main}\n</main>\n<footer>{foot}<p>{esc(said)} Local codes and licensed practice decide; where they differ from this workbook, "
        f"they are right. People, coaches and equipment are invented.</p></footer>{script}</body></html>\n"
    )


def _links(label, links):
    """A landmark of links; nothing where there are none."""
    items = "".join(f'<li><a href="{esc(address)}">{esc(words)}</a></li>' for words, address in links)
    return f'<nav aria-label="{label}"><ul>{items}</ul></nav>' if links else ""


def _index(lessons, made, said):
    page = _Page({"number": "", "blocks": []}, lessons, made, said)
    links = "".join(f'<li><a href="{_address(one["file"])}">{esc(one["number"])} {esc(one["title"])}</a></li>' for one in lessons)
    main = (
        f"<h1>{NAME}: a workbook, standing still</h1>"
        "<p>These pages are the lessons as the demonstration coach leaves them. They need nothing but a browser: no server, no network. "
        "A bench steps through pictures that were stored; the questions are checked on the page. In the workbook itself sliders move "
        "freely, your own coach takes the demonstration coach's place, and panels that hunt faults or try trips work.</p>"
        f"<h2>Lessons</h2><ul>{links}</ul><h2>What passes from lesson to lesson</h2>"
        + "".join(map(page.block, _shown(LessonMap(), False)))
    )
    return _document(f"{NAME}: a workbook", [], [], main, said)


class _Page:
    """One lesson as a page."""

    def __init__(self, lesson, lessons, made, said):
        self.lesson, self.lessons, self.made, self.said = lesson, lessons, made, said
        self.pictures, self.benches, self.questions, self.parts = {}, [], [], []

    def files(self):
        """The page and its pictures: names to bytes."""
        at = self.lessons.index(self.lesson)
        links = [("All lessons", "index.html")]
        links += [(f"Back: {one['number']} {one['title']}", _address(one["file"])) for one in self.lessons[at - 1 : at]] if at else []
        links += [(f"On: {one['number']} {one['title']}", _address(one["file"])) for one in self.lessons[at + 1 : at + 2]]
        main = "\n".join(map(self.block, self.lesson["blocks"]))
        stored = {"benches": self.benches, "questions": self.questions, "units": unit_table() if self.questions else {}}
        text = json.dumps(stored, ensure_ascii=False, separators=(",", ":")).replace("<", "\\u003c")
        script = f'<script type="application/json" id="stored">{text}</script><script src="still.js"></script>'
        title = f"{self.lesson['number']} {self.lesson['title']}"
        return {_address(self.lesson["file"]): _document(title, links, self.parts, main, self.said, script).encode(), **self.pictures}

    def block(self, block):
        """One block as HTML."""
        ((kind, told),) = block.items()
        return getattr(self, f"of_{kind}")(told)

    def words(self, words):
        """Words as HTML, escaped."""
        return "".join(esc(one) if isinstance(one, str) else self.dressed(*one) for one in words)

    def dressed(self, kind, inner, more=""):
        if kind == "maths":
            return maths.mathml(inner)
        if kind == "code":
            return f"<code>{esc(inner)}</code>"
        if kind == "svg":
            return inner
        if kind == "link" and not more.startswith("https://") and more not in self.made:
            return self.words(inner)  # a lesson that is not part of this edition
        tag = {"strong": "strong", "slanted": "em"}.get(kind)
        return f"<{tag}>{self.words(inner)}</{tag}>" if tag else f'<a href="{esc(_address(more))}">{self.words(inner)}</a>'

    def box(self, label, inner, more=""):
        """A box of its own to scroll sideways in, from the keyboard too."""
        return f'<div class="wrap{more}" tabindex="0" role="group" aria-label="{esc(label)}">{inner}</div>'

    def of_heading(self, told):
        level, words, mark = told["level"], self.words(told["words"]), ""
        if level == 2:
            self.parts.append((plain(told["words"]), f"#part-{len(self.parts) + 1}"))
            mark = f' id="part-{len(self.parts)}"'
        return f"<h{level}{mark}>{words}</h{level}>"

    def of_paragraph(self, told):
        return f"<p>{self.words(told)}</p>"

    def of_list(self, told):
        tag = "ol" if told["ordered"] else "ul"
        return f"<{tag}>" + "".join(f"<li>{self.item(one)}</li>" for one in told["items"]) + f"</{tag}>"

    def item(self, blocks):
        if len(blocks) == 1 and "paragraph" in blocks[0]:
            return self.words(blocks[0]["paragraph"])
        return "".join(map(self.block, blocks))

    def of_code(self, told):
        return self.box("Lines of Python", f"<pre><code>{esc(told)}</code></pre>", " code")

    def of_printed(self, told):
        return f'<pre class="printed">{esc(told)}</pre>'

    def of_formula(self, told):
        return self.box("Formula", maths.mathml(told, block=True))

    def of_working(self, told):
        given = ", ".join(f"<i>{_lowered(symbol)}</i> = {esc(value)} ({esc(name)})" for symbol, value, name in told["given"])
        where = f'<p class="given">where {given}</p>' if given else ""
        return self.box("Working", maths.mathml(told["latex"], block=True, label=told["speech"])) + where

    def of_table(self, told):
        mark = [' class="n"' if numeric else "" for numeric in told["numeric"]]
        head = "".join(f'<th scope="col"{mark[at]}>{self.words(one)}</th>' for at, one in enumerate(told["head"]))
        body = ""
        for first, *others in told["rows"]:
            body += f'<tr><th scope="row"{mark[0]}>{self.words(first)}</th>'
            body += "".join(f"<td{mark[at]}>{self.words(one)}</td>" for at, one in enumerate(others, 1)) + "</tr>\n"
        caption = f"<caption>{esc(told['caption'])}</caption>" if told["caption"] else ""
        return self.box(told["caption"] or "Table", f"<table>{caption}<thead><tr>{head}</tr></thead><tbody>{body}</tbody></table>")

    def of_folded(self, told):
        return f"<details><summary>{esc(told['line'])}</summary>{''.join(map(self.block, told['blocks']))}</details>"

    def of_caution(self, told):
        title, says, source = (esc(told[key]) for key in ("title", "says", "source"))
        return (f'<div class="caution" role="note"><p><span aria-hidden="true">⚠ </span><strong>Caution: {title}.</strong> {says} '
                f'{esc(DEFERRAL)}</p><p class="source">Source: {source}</p></div>')  # fmt: skip

    def of_drawing(self, told):
        words = "".join(f"<li>{esc(one)}</li>" for one in told["words"])
        return self.box("Drawing", told["svg"], " paper") + (f"<details><summary>In words</summary><ul>{words}</ul></details>" if words else "")

    def of_panel(self, told):
        drawn = ""
        if "still" in told:
            name = f"{PICTURES}/{self.lesson['number']}-0-{len(self.pictures):02}.png"
            self.pictures[name] = told["still"]
            width, height = told["frame"]
            drawn = self.box("The board", f'<img src="{name}" alt="{esc(told["alt"])}" width="{width}" height="{height}">', " paper")
        return (f'<div class="panel"><p><strong>{esc(told["title"])}</strong></p><p>This panel calculates as you go, so it works only in the '
                f"workbook. This is how it begins there:</p><pre>{esc(told['text'])}</pre>{drawn}</div>")  # fmt: skip

    def of_bench(self, told):
        stills = {}
        for at, (values, result, alt, picture) in enumerate(told["stills"]):
            name = f"{PICTURES}/{self.lesson['number']}-{len(self.benches) + 1}-{at:02}.png"
            self.pictures[name] = picture
            stills[",".join(str(_place(part, values[part["name"]])) for part in told["parts"])] = [result, alt, name]
            if at == 0:
                first = f'<figure><img src="{name}" alt="{esc(alt)}"><figcaption>{esc(result)}</figcaption></figure>'
        number = len(self.benches)
        self.benches.append({key: told[key] for key in ("title", "lead", "parts", "values", "frame", "together")} | {"stills": stills})
        if not told["parts"]:
            note = ""
        elif told["together"]:
            note = f"A still bench of {len(stills)} stored pictures: the controls go in coarse steps."
        else:
            note = (f"A still bench of {len(stills)} stored pictures: one control moves at a time, in coarse steps, while the others "
                    "stand at their first values. Where the text asks for two moves at once, make them in the workbook.")  # fmt: skip
        return (f'<p class="note">{note}</p>' if note else "") + f'<div data-bench="{number}">{first}</div>'

    def of_questions(self, told):
        self.questions.append(told)
        asked = "".join(f"<li>{esc(one['ask'])}</li>" for one in told)
        return f'<div data-questions="{len(self.questions) - 1}"><ol>{asked}</ol></div>'


def _place(part, value):
    """The place of a value among the positions of a part, from 0."""
    if part["kind"] == "slider":
        return round((value - part["low"]) / part["step"])
    return _values(part).index(value)


def _lowered(symbol):
    stem, _, below = symbol.partition("_")
    return esc(stem) + (f"<sub>{esc(below)}</sub>" if below else "")


def unit_table():
    """Every unit that `read_quantity` knows, for the page: name to what `edition.unit_facts` says of it."""
    return {name: unit_facts(unit) for name, unit in unit_names().items()}
