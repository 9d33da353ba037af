"""How long a coach's year takes, and what a reader would use instead.

Peers work the same toy year (sun, load, one bank with a limit and a loss): a loop over Python lists for one design and for a
thousand; a loop over numpy scalars; and the same sheet recalculated by LibreOffice Calc without a window, where it is
installed (its start, measured on an empty sheet, is taken off).
"""

import dataclasses
import functools
import shutil
import subprocess
import tempfile
import time
from pathlib import Path

import numpy

from _speed_rows import OPEN, Row, repeat

FULL, FLOOR, STORED = 7373.0, 1475.0, 0.95


def toy(load, sun):
    """The peers' year: one bank by a loop, no generator, no limits but full and floor."""
    level, missed = FULL, 0.0
    for asked, offered in zip(load, sun):
        net = offered - asked
        level += net * STORED if net > 0 else net
        if level > FULL:
            level = FULL
        elif level < FLOOR:
            missed, level = missed + FLOOR - level, FLOOR
    return missed


def sheet(path, load, sun):
    """The toy year as a flat spreadsheet of formulas without stored results; an empty one where there are no hours."""
    rows = ["<table:table-row><table:table-cell/><table:table-cell/><table:table-cell office:value-type='float' "
            f"office:value='{FULL}'/></table:table-row>"] if len(load) else []  # fmt: skip
    for row, (asked, offered) in enumerate(zip(load, sun), 2):
        net = f"([.B{row}]-[.A{row}])"
        formula = f"of:=MIN({FULL};MAX({FLOOR};[.C{row - 1}]+IF({net}&gt;0;{net}*{STORED};{net})))"
        rows.append(f"<table:table-row><table:table-cell office:value-type='float' office:value='{asked}'/><table:table-cell "
                    f"office:value-type='float' office:value='{offered}'/><table:table-cell table:formula='{formula}'/>"
                    "</table:table-row>")  # fmt: skip
    names = " ".join(f'xmlns:{name}="urn:oasis:names:tc:opendocument:xmlns:{kind}:1.0"' for name, kind in
                     (("office", "office"), ("table", "table"), ("text", "text")))  # fmt: skip
    path.write_text(f'<?xml version="1.0"?><office:document {names} xmlns:of="urn:oasis:names:tc:opendocument:xmlns:of:1.2" '
                    'office:version="1.2" office:mimetype="application/vnd.oasis.opendocument.spreadsheet"><office:body>'
                    f"<office:spreadsheet><table:table table:name='year'>{''.join(rows)}</table:table></office:spreadsheet>"
                    "</office:body></office:document>", "utf-8")  # fmt: skip


def calc(load, sun):
    """A row's `take` of LibreOffice Calc recalculating the sheet; no times where it is not installed."""
    program = shutil.which("soffice") or shutil.which("libreoffice")
    folder = Path(OPEN.enter_context(tempfile.TemporaryDirectory()))

    def convert(name):
        begun = time.perf_counter()
        subprocess.run([program, f"-env:UserInstallation={(folder / 'profile').as_uri()}", "--headless", "--convert-to", "csv",
                        "--outdir", folder, folder / f"{name}.fods"], check=True, capture_output=True)  # fmt: skip
        return time.perf_counter() - begun

    @functools.cache
    def start():
        sheet(folder / "empty.fods", [], [])
        sheet(folder / "year.fods", load, sun)
        convert("empty")  # the first start also makes its profile
        return min(convert("empty") for _ in range(3))

    def take(times):
        if not program:
            return {"times": [], "said": "LibreOffice Calc is not installed"}
        found = [(convert("year") - start(), None) for _ in range(times)]
        last = float((folder / "year.csv").read_text().split()[-1].split(",")[-1])
        return {"times": found, "said": f"the sheet ends the year at {last:.0f} Wh"}

    return take


def year(wish):
    from coachwork import coach, whole_system

    trailer = coach.read(coach.main_demo())
    cooled, system = whole_system.series_of(trailer), whole_system.system_of(trailer)
    plain = dataclasses.replace(cooled, cooling=0 * cooled.cooling)
    week = slice(24 * 4, 24 * 11)
    fields = ("load", "cooling", "sun", "engine", "shore", "share", "may_run", "away")
    fine = whole_system.Series(
        1 / 12, **{name: numpy.repeat(getattr(cooled, name)[week], 12) for name in fields}
    )
    thousand = whole_system.grid(trailer, numpy.linspace(1, 6, 25), numpy.linspace(0, 3000, 40))
    load, sun = cooled.load.tolist(), (cooled.sun * system.array).tolist()

    def lists(designs=1):
        for _ in range(designs):
            toy(load, sun)

    return [
        Row("a week at 5 minutes", repeat(lambda: whole_system.run(fine, system).answers), 15, "15 ms"),
        Row(
            "a year by hours, no air conditioner",
            repeat(lambda: whole_system.run(plain, system).answers, lists),
            15,
            "25 ms",
        ),
        Row(
            "a year by hours, with its air conditioner",
            repeat(lambda: whole_system.run(cooled, system).answers, lists),
            15,
            "90 ms",
        ),
        Row(
            "1000 designs, a year by hours",
            repeat(lambda: whole_system.many(cooled, thousand), lambda: lists(1000)),
            4,
            "1500 ms",
        ),
        Row(
            "peer: toy year over numpy scalars",
            repeat(lambda: toy(numpy.array(load), numpy.array(sun)), lists),
            8,
        ),
        Row("peer: toy year in LibreOffice Calc", calc(load, sun), 3, warm=False),
    ]
