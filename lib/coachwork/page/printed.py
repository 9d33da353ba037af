"""The printed edition: PDFs of lessons and of their answers out of the blocks of `edition`, by typst with its own fonts.

Black on white: pictures come in 16 greys, code without colours. The same lessons give the same bytes.
"""

import json
import re
import tempfile
from pathlib import Path

from coachwork.page import maths
from coachwork.page.cautions import DEFERRAL
from coachwork.page.edition import plain
from coachwork.page.record import column_shares

TEMPLATE = Path(__file__).with_name("edition.typ")
NAME = "The electrical side of RVs, a workbook"
WIDE, HIGH = 650, 800  # pixels of a drawing that fill the width and the height of a page
SHEET = (1460, 850)  # and of a sheet of 17 by 11 inches


def pdf(title, lessons, about, cover=()):
    """Bytes of the PDF of some lessons as `edition` tells them. title : of the whole. about : stands at the foot of each
    page. cover : paragraphs of a first page, which then lists the contents; without any there is none."""
    import typst

    with tempfile.TemporaryDirectory() as folder:
        main = sources(folder, title, lessons, about, cover)
        return typst.compile(main, root=folder, format="pdf", ignore_system_fonts=True, timestamp=0, pdf_standards=["ua-1"])


def sources(folder, title, lessons, about, cover=()):
    """Write what typst needs for `pdf` into a folder; return the path of its main file."""
    pictures = {}
    pages = [{"title": f"{one['number']} {one['title']}", "parts": _parts([_block(block, pictures) for block in one["blocks"]])} for one in lessons]
    told = {"title": title, "name": NAME, "about": about, "cover": list(cover), "depth": 1, "deferral": DEFERRAL, "lessons": pages}
    for name, content in {"main.typ": TEMPLATE.read_bytes(), "edition.json": json.dumps(told).encode(), **pictures}.items():
        Path(folder, name).write_bytes(content)
    return Path(folder, "main.typ")


def _parts(blocks):
    """Blocks as {wide, blocks}: a drawing too wide for the page has a sheet of its own, all else goes on in one column."""
    parts = []
    for block in blocks:
        drawing = block.get("drawing")
        if wide := bool(drawing) and drawing["pixels"] > 1.4 * WIDE:
            words, block = drawing["words"], {"drawing": drawing | {"width": drawing["sheet"], "words": []}}
        if wide or not parts or parts[-1]["wide"]:
            parts.append({"wide": wide, "blocks": []})
        parts[-1]["blocks"].append(block)
        if wide:
            parts.append({"wide": False, "blocks": [{"list": {"ordered": False, "items": [[{"paragraph": [one]}] for one in words]}}]})
    return parts


def answers(lesson):
    """The answers of a lesson as a lesson of their own, for `pdf`."""
    asked = [question for block in lesson["blocks"] for question in block.get("questions", [])]
    title = {"heading": {"level": 1, "words": [f"{lesson['number']} {lesson['title']}: answers"]}}
    return lesson | {"title": f"{lesson['title']}: answers", "blocks": [title, {"answers": asked}]}


def _block(block, files):
    """A block as the template takes it: formulas written for typst, pictures put into `files`."""
    ((kind, told),) = block.items()
    if kind == "heading":
        told = told | {"words": _words(told["words"])}
    elif kind == "paragraph":
        told = _words(told)
    elif kind == "list":
        told = told | {"items": [[_block(one, files) for one in item] for item in told["items"]]}
    elif kind == "formula":
        told = _formula(told, maths.spoken(told))
    elif kind == "working":
        given = [[*symbol.partition("_")[::2], f"{value} ({name})"] for symbol, value, name in told["given"]]
        told = {"formula": _formula(told["latex"], told["speech"]), "given": given}
    elif kind == "table":
        told = _table(told)
    elif kind == "folded":
        told = told | {"blocks": [_block(one, files) for one in told["blocks"]]}
    elif kind == "drawing":
        width, height = (float(size) for size in re.search(r'viewBox="\S+ \S+ (\S+) (\S+)"', told["svg"]).groups())
        fit, sheet = (min(100.0, 100 * width / wide, 100 * width / height * high / wide) for wide, high in ((WIDE, HIGH), SHEET))
        told = told | {"pixels": width, "width": fit, "sheet": sheet}
    elif kind == "bench":
        name = f"bench-{len(files)}.png"
        files[name] = told["picture"]
        told = {key: told[key] for key in ("title", "lead", "settings", "result", "alt")} | {"picture": name}
    elif kind == "panel" and "picture" in told:
        name = f"panel-{len(files)}.png"
        files[name] = told["picture"]
        told = {key: told[key] for key in ("title", "text", "alt")} | {"picture": name}
    elif kind == "answers":
        told = [_answer(one) for one in told]
    return {kind: told}


def _formula(latex, words):
    return {"typst": maths.typst(latex), "alt": words}


def _words(words):
    found = []
    for one in words:
        if isinstance(one, str):
            found.append(one)
            continue
        kind, inner, *_ = one
        found.append({"kind": kind} | (_formula(inner, maths.spoken(inner)) if kind == "maths" else {"text": inner} if kind == "code"
                     else {"svg": inner, "alt": one[2]} if kind == "svg" else {"words": _words(inner)}))  # fmt: skip
    return found


def _table(told):
    text = {"head": list(map(plain, told["head"])), "rows": [list(map(plain, row)) for row in told["rows"]]}
    shares = column_shares(text)
    rows = [[_words(cell) for cell in row] for row in told["rows"]]
    return told | {"head": list(map(_words, told["head"])), "rows": rows, "widths": shares, "small": len(shares) > 5 or any(shares)}


def _answer(question):
    """A question with its answer and the foreseen mistakes: pairs of a wrong answer and what is said to it."""
    if "options" in question:
        slips = [(option, reason) for option, reason in zip(question["options"], question["reasons"]) if reason]
    else:
        slips = [(words, reason) for _, _, reason, words in question["slips"]]
    return {"ask": question["ask"], "told": question["told"], "see": question["see"], "slips": slips}
