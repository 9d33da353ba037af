"""Sheets to print: the tests of a coach, one page each, its settings, and the card by the door. Black on
white."""

import html
from pathlib import Path

from coachwork import bootstrap, commissioning, files
from coachwork.page.cautions import DEFERRAL, cautions

STYLE = """
@page { size: letter; margin: 12mm; }
* { box-sizing: border-box; }
body { margin: 0 auto; max-width: 190mm; color: #000; background: #fff;
       font: 9.5pt/1.3 system-ui, sans-serif; }
section { break-after: page; }
section:last-of-type { break-after: auto; }
h1 { font-size: 17pt; margin: 0 0 1mm; }
h2 { font-size: 12pt; margin: 2mm 0 0.5mm; }
p, ul { margin: 1mm 0; }
ul { padding-left: 6mm; }
table { width: 100%; border-collapse: collapse; margin: 2mm 0; font-size: 8.5pt; }
caption { text-align: left; font-weight: 600; padding-bottom: 1mm; }
th, td { border: 0.3mm solid #000; padding: 0.8mm 1.4mm; text-align: left; vertical-align: top;
         font-weight: 400; }
thead th { font-weight: 600; }
tr { break-inside: avoid; }
.blank { width: 24mm; }
.caution { border: 0.3mm solid #000; border-left: 1.6mm double #000; padding: 0.8mm 2mm; font-size: 8.5pt; }
.foot { border-top: 0.3mm solid #000; padding-top: 1mm; font-size: 9pt; }
.card { font-size: 13pt; }
.card h2 { font-size: 15pt; }
"""
BLANK = "________________"


def print_sheets(coach, folder=None):
    """Write the sheets of a coach as two HTML files that any browser prints; returns their paths.

    Parameters
    ----------
    coach : the coach file
    folder : where to, the reader's own folder unless given

    `worksheets.html` holds the settings sheet and one page for each test, `emergency-card.html` the card by
    the door.
    """
    folder = bootstrap.home() if folder is None else Path(folder)
    written = {"worksheets.html": worksheets_html(coach), "emergency-card.html": card_html(coach)}
    with files.writing(folder):
        for name, text in written.items():
            files.replace(folder / name, text.encode("utf-8"))
    return [folder / name for name in written]


def worksheets_html(coach):
    """The settings sheet and the worksheets of a coach as one HTML page, each on paper of its own."""
    settings = {}
    for one in commissioning.settings_sheet(coach):
        settings.setdefault(one.device, []).append((one.what, one.value, one.reason, one.limit, ""))
    heads = ("setting", "value", "reason", "must not cross", "as set")
    first = _section(coach, "Settings", [_table(device, heads, rows) for device, rows in settings.items()],
                     commissioning.LEARNER)
    return _page(f"{coach.name}: worksheets", [first,
                                               *(_worksheet(coach, one)
                                                 for one in commissioning.worksheets(coach))])


def card_html(coach):
    """The card by the door as an HTML page."""
    card = commissioning.emergency_card(coach)
    parts = [f"<h2>{_text(heading)}</h2>{_list(lines)}" for heading, lines in card.parts]
    foot = f'<p class="foot">Source: {_text(card.source)}. {_text(DEFERRAL)}</p>'
    return _page(card.title,
                 [f'<section class="card"><h1>{_text(card.title)}</h1>{"".join(parts)}{foot}</section>'])


def _worksheet(coach, one):
    rows = [(line.what, line.where, line.predicted, line.passes, "", "") for line in one.lines]
    known = cautions()
    boxes = [f'<p class="caution"><strong>Caution: {_text(known[name].title)}.</strong> '
             f'{_text(known[name].says)}</p>' for name in one.cautions]
    parts = [*boxes, f"<h2>Before</h2>{_list(one.before)}",
             _table("Predicted and measured", ("what", "where", "predicted", "passes", "measured", "pass?"),
                    rows),
             f"<p><strong>It passes when:</strong> {_text(one.pass_rule)}</p>"]  # fmt: skip
    return _section(coach, one.title, parts, one.who, f"Source: {one.source}. {DEFERRAL}")


def _section(coach, title, parts, who, foot=DEFERRAL):
    head = (f"<h1>{_text(title)}</h1><p>{_text(coach.name)}. "
            f"May be done by: <strong>{_text(who)}</strong>.</p>")  # fmt: skip
    signed = f"<p>Date {BLANK} Meter {BLANK} Done by {BLANK} Signed {BLANK}</p>"
    return f'<section>{head}{"".join(parts)}{signed}<p class="foot">{_text(foot)}</p></section>'


def _table(caption, heads, rows):
    head = "".join(f'<th scope="col"{" class=blank" if name in ("measured", "as set") else ""}>{name}</th>'
                   for name in heads)
    body = ""
    for first, *others in rows:
        cells = "".join(f"<td>{_text(cell)}</td>" for cell in others)
        body += f'<tr><th scope="row">{_text(first)}</th>{cells}</tr>'
    return (f"<table><caption>{_text(caption)}</caption><thead><tr>{head}</tr></thead>"
            f"<tbody>{body}</tbody></table>")  # fmt: skip


def _list(lines):
    return "<ul>" + "".join(f"<li>{_text(line)}</li>" for line in lines) + "</ul>"


def _text(value):
    return html.escape(str(value))


def _page(title, sections):
    return (f'<!doctype html>\n<html lang="en"><head><meta charset="utf-8"><title>{_text(title)}</title>\n'
            f"<style>{STYLE}</style></head><body><main>\n{''.join(sections)}\n"
            f"</main></body></html>\n")  # fmt: skip
