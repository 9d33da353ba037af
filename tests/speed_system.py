"""How long a coach's hours take: `python3 tests speed --system`. This workbook's runs beside what a reader would use instead.

Peers work the same toy year (sun, load, one bank with a limit and a loss): a loop over Python lists for one design and, by ten of
them, for a thousand; a loop over numpy scalars; and the same sheet recalculated by LibreOffice Calc without a window, where it is
installed (its start, measured on an empty sheet, is taken off).
"""

import dataclasses
import shutil
import subprocess
import tempfile
import time
from pathlib import Path

import numpy

from coachwork import coach, cooling_load, whole_system

FULL, FLOOR, STORED = 7373.0, 1475.0, 0.95


def best(work, times=5):
    """Least seconds of a few runs."""
    found = []
    for _ in range(times):
        begun = time.perf_counter()
        work()
        found.append(time.perf_counter() - begun)
    return min(found)


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


def calc_seconds(load, sun):
    """Seconds in which LibreOffice Calc recalculates the sheet, and the last charge that it found; None where it is not installed."""
    program = shutil.which("soffice") or shutil.which("libreoffice")
    if program is None:
        return None
    with tempfile.TemporaryDirectory() as folder:
        folder = Path(folder)
        sheet(folder / "empty.fods", [], [])
        sheet(folder / "year.fods", load, sun)

        def convert(name):
            subprocess.run([program, f"-env:UserInstallation={(folder / 'profile').as_uri()}", "--headless", "--convert-to", "csv",
                            "--outdir", folder, folder / f"{name}.fods"], check=True, capture_output=True)  # fmt: skip

        convert("empty")  # the first start also makes its profile
        seconds = best(lambda: convert("year"), 3) - best(lambda: convert("empty"), 3)
        last = float((folder / "year.csv").read_text().split()[-1].split(",")[-1])
    return seconds, last


def main():
    """Print the lines."""
    trailer = coach.read(coach.main_demo())
    begun = time.perf_counter()
    cooled, system = whole_system.series_of(trailer), whole_system.system_of(trailer)
    made = time.perf_counter() - begun
    plain = dataclasses.replace(cooled, cooling=0 * cooled.cooling)
    week = slice(24 * 4, 24 * 11)
    fields = ("load", "cooling", "sun", "engine", "shore", "share", "may_run", "away")
    fine = whole_system.Series(1 / 12, **{name: numpy.repeat(getattr(cooled, name)[week], 12) for name in fields})
    thousand = whole_system.grid(trailer, numpy.linspace(1, 6, 25), numpy.linspace(0, 3000, 40))
    load, sun = cooled.load.tolist(), (cooled.sun * system.array).tolist()
    rows = [
        ("a week at 5 minutes", 15, best(lambda: whole_system.run(fine, system).answers)),
        ("a year by hours, no air conditioner", 25, best(lambda: whole_system.run(plain, system).answers)),
        ("a year by hours, with the air conditioner's series", 90, best(lambda: whole_system.run(cooled, system).answers)),
        ("the air conditioner's year by hours", 60, best(lambda: cooling_load.cool(trailer), 15)),
        ("the air conditioner's design day", 15, best(lambda: cooling_load.cool(trailer, design_day=True), 15)),
        ("1000 designs, a year by hours", 1500, best(lambda: whole_system.many(cooled, thousand), 3)),
        ("  peer: toy year, one design, loop over lists", None, best(lambda: toy(load, sun))),
        ("  peer: toy year, one design, loop over numpy scalars", None, best(lambda: toy(numpy.array(load), numpy.array(sun)), 3)),
        ("  peer: toy year, 1000 designs, loop over lists (100 times ten)", None, 100 * best(lambda: [toy(load, sun) for _ in range(10)], 2)),
    ]
    print(f"{'what':68} {'ms':>8}  wanted below")
    for name, wanted, seconds in rows:
        print(f"{name:68} {1000 * seconds:8.1f}  {wanted or ''}")
    calc = calc_seconds(load, sun)
    print("  peer: toy year in LibreOffice Calc: " + ("not installed" if calc is None else f"{1000 * calc[0]:.0f} ms, ends at {calc[1]:.0f} Wh"))
    print(f"loads, sun and air conditioner of the coach's year, once: {made:.1f} s")
