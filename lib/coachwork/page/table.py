"""A result table: as HTML with header scopes, as text, as CSV. It shows; it never calculates."""

import csv
import dataclasses
import html
import io
import textwrap
import typing
from collections.abc import Mapping
from pathlib import Path

import pint

from coachwork import files
from coachwork.quantities import (
    InputError,
    Quantity,
    in_display_units,
    kind_of,
    number_text,
    show,
    unit_text,
)

WIDEST = 110  # characters of a line of text
NARROWEST = 12
FORMULA_MARKS = tuple("=+-@\t\r＝＋－＠")  # what a spreadsheet takes for the start of a formula
FIGURE_SPACE, POINT_SPACE = "\u2007", "\u2008"  # as wide as a digit, as wide as a decimal point

STYLE = """<style>
.cw-table {overflow-x: auto; max-width: 100%; margin: 8px 0;}
.cw-table:focus-visible {outline: 2px solid var(--jp-brand-color1, #1976d2); outline-offset: 2px;}
.cw-table table.cw {border-collapse: collapse; margin: 0; border: 0; table-layout: auto;
  color: var(--jp-content-font-color1, #212121); font-size: var(--jp-content-font-size1, 14px);}
.cw-table table.cw caption {caption-side: top; text-align: left; font-weight: 600; padding: 0 0 6px 0;
  color: var(--jp-content-font-color1, #212121);}
.cw-table table.cw tr {background: none;}
.cw-table table.cw th, .cw-table table.cw td {padding: 4px 12px 4px 0; text-align: left; vertical-align: top;
  border: 0; border-bottom: 1px solid var(--jp-border-color2, #e0e0e0); min-width: 0; max-width: 26em;
  white-space: normal; line-height: 1.35;}
.cw-table table.cw thead th {font-weight: 600; vertical-align: bottom;
  border-bottom: 2px solid var(--jp-border-color1, #bdbdbd);}
.cw-table table.cw tbody th {font-weight: 400;}
.cw-table table.cw .n {text-align: right; white-space: nowrap; font-variant-numeric: tabular-nums;}
.cw-table table.cw thead th.n {white-space: normal;}
</style>"""


def table(rows, *, caption, columns=None, digits=3):
    """A table of results.

    Parameters
    ----------
    rows : list of dicts, of dataclass objects or of plain sequences
    caption : what the table shows, in a few words
    columns : the columns to show, in order: a list of their names, or a dict of name to heading. Left out,
        every key of the first row is shown; for plain sequences it is the list of headings and is needed.
    digits : significant figures of the numbers

    A column whose quantities share a dimension is shown in one unit, which stands in its heading. The first
    column is the heading of its row. Numbers of a dataclass field annotated as a fraction come as percent.

    Raises
    ------
    InputError
        for a row that is none of the three, or lacks a column.
    """
    return Table(rows, caption, columns, digits)


class Table:
    """What `table` gives: shown by a notebook as HTML, elsewhere as text; see `csv` and `save_csv`."""

    def __init__(self, rows, caption, columns, digits):
        self.caption, self.digits = caption, digits
        rows = list(rows)
        if columns is None:
            columns = _names(rows[0]) if rows else []
            if columns is None:
                raise InputError("columns", "rows without names are given", "their headings",
                                 'columns=["load", "energy"]')  # fmt: skip
        headings = columns if isinstance(columns, Mapping) else {name: name.replace("_", " ") for name in columns}
        self._headings = list(headings.values())
        self._rows = [_cells(row, number, list(headings)) for number, row in enumerate(rows)]

    def _columns(self):
        """Every column as (heading, unit or None, values), in the display system of this moment."""
        found = []
        for place, heading in enumerate(self._headings):
            values = [row[place] for row in self._rows]
            unit = _shared_unit(values)
            if unit is not None:
                name = unit_text(unit)
                heading += f" [{name}]" if name else ""
                values = [value if value is None else float(value.to(unit).magnitude) for value in values]
            found.append((heading, values))
        return found

    def cells(self, figure_spaces=False):
        """Every column as (heading, whether it holds numbers, its cells as text), points under each other.

        figure_spaces : fill with blanks as wide as a digit or a point, for letters of unequal width.
        """
        blanks = (FIGURE_SPACE, POINT_SPACE) if figure_spaces else (" ", " ")
        return [(heading, *self._aligned(values, *blanks)) for heading, values in self._columns()]

    def text(self):
        """The table as plain text: aligned columns, long cells wrapped, the same every time."""
        columns = self.cells()
        if not columns:
            return f"{self.caption}\n(no rows)"
        longest = [max([_longest_word(heading), *map(len, cells)]) for heading, numeric, cells in columns]
        least = [width if numeric else min(width, max(NARROWEST, _longest_word(heading)))
                 for width, (heading, numeric, cells) in zip(longest, columns)]  # fmt: skip
        widths = [max(width, len(heading)) if not numeric else width
                  for width, (heading, numeric, cells) in zip(longest, columns)]  # fmt: skip
        while sum(widths) + 2 * (len(widths) - 1) > WIDEST:
            room = [width - low for width, low in zip(widths, least)]
            if max(room) <= 0:
                break
            widths[max((i for i in range(len(widths)) if room[i] > 0), key=lambda i: widths[i])] -= 1
        numeric = [column[1] for column in columns]
        lines = [self.caption, *_lines([column[0] for column in columns], widths, numeric)]
        lines.append("  ".join("-" * width for width in widths))
        for cells in zip(*(column[2] for column in columns)):
            lines += _lines(cells, widths, numeric)
        return "\n".join(lines if self._rows else [*lines, "(no rows)"])

    def html(self):
        """The table as HTML: caption, a scope on every heading, a box of its own to scroll sideways in."""
        columns = self.cells(figure_spaces=True)
        mark = [' class="n"' if numeric else "" for heading, numeric, cells in columns]
        head = "".join(f'<th scope="col"{mark[i]}>{html.escape(column[0])}</th>' for i, column in enumerate(columns))
        body = ""
        for cells in zip(*(column[2] for column in columns)):
            first, *others = (html.escape(cell) for cell in cells)
            body += f'<tr><th scope="row"{mark[0]}>{first}</th>'
            body += "".join(f"<td{mark[i]}>{cell}</td>" for i, cell in enumerate(others, 1)) + "</tr>\n"
        caption = html.escape(self.caption)
        # mathjax_ignore: a dollar sign in a cell is money. tabindex: the box can be scrolled from the keyboard.
        return (f'{STYLE}<div class="cw-table mathjax_ignore" role="group" tabindex="0" aria-label="{caption}">'
                f'<table class="cw"><caption>{caption}</caption>\n<thead><tr>{head}</tr></thead>\n'
                f"<tbody>{body}</tbody></table></div>")  # fmt: skip

    def csv(self):
        """The table as CSV text: numbers plain, units in the headings; text that could act as a formula is disarmed."""
        columns = self._columns()
        file = io.StringIO(newline="")
        writer = csv.writer(file)
        writer.writerow([_disarmed(heading) for heading, values in columns])
        writer.writerows(zip(*([_csv_cell(value) for value in values] for heading, values in columns)))
        return file.getvalue()

    def save_csv(self, path):
        """Write `csv()` to a file (UTF-8, with the mark by which spreadsheets know it) and return its path.

        Whole or not at all; a folder that is missing is made.

        Raises
        ------
        InputError
            where the file cannot be written.
        """
        path = Path(path).expanduser()
        with files.writing(path):
            files.replace(path, self.csv().encode("utf-8-sig"))
        return path

    def _aligned(self, values, space, point):
        """(numeric, cells as text); in a column of numbers the decimal points stand under each other."""
        cells = [_cell_text(value, self.digits) for value in values]
        numeric = any(map(_is_number, values)) and all(value is None or _is_number(value) for value in values)
        if numeric:
            decimals = [len(cell.partition(".")[2]) for cell in cells]
            if most := max(decimals):
                cells = [cell + space * (most - n) if n else cell + point + space * most
                         for cell, n in zip(cells, decimals)]  # fmt: skip
        return numeric, cells

    def __repr__(self):
        return self.text()

    def _repr_mimebundle_(self, include=None, exclude=None):
        return {"text/html": self.html(), "text/plain": self.text()}


def _names(row):
    if isinstance(row, Mapping):
        return list(row)
    if dataclasses.is_dataclass(row):
        return [field.name for field in dataclasses.fields(row)]
    return None


def _cells(row, number, names):
    """The values of one row in the order of the columns."""
    if isinstance(row, Mapping) or dataclasses.is_dataclass(row):
        look = row.__getitem__ if isinstance(row, Mapping) else lambda name: _field(row, name)
        try:
            return [look(name) for name in names]
        except (KeyError, AttributeError):
            have = _names(row)
            lacking = next(name for name in names if name not in have)
            raise InputError(f"rows[{number}]", f'it has no "{lacking}"', "a row with " + ", ".join(names)) from None
    if isinstance(row, (str, pint.Quantity)) or not hasattr(row, "__iter__"):
        raise InputError(f"rows[{number}]", f"{row!r} is not a row", "a dict, a dataclass or a list of cells")
    cells = list(row)
    if len(cells) != len(names):
        raise InputError(f"rows[{number}]", f"it has {len(cells)} cells", f"{len(names)}, one a column")
    return cells


def _field(row, name):
    """A field or property of a dataclass; a plain number annotated as a fraction comes as percent."""
    value = getattr(row, name)
    computed = getattr(type(row), name, None)
    owner = computed.fget if isinstance(computed, property) else type(row)
    hints = typing.get_type_hints(owner, include_extras=True)
    kind = kind_of(hints.get("return" if isinstance(computed, property) else name))
    return Quantity(value * 100, "percent") if kind and kind.percent and value is not None else value


def _shared_unit(values):
    """The unit in which a whole column of quantities can be shown, or None where there is none."""
    given = [value for value in values if value is not None]
    if not given or not all(isinstance(value, pint.Quantity) for value in given):
        return None
    units = [in_display_units(value).units for value in given]
    if all(unit == units[0] for unit in units):
        return units[0]
    # Temperatures and their differences share a dimension but not a meaning: never one column's unit.
    alike = all(value.dimensionality == given[0].dimensionality != {"[temperature]": 1} for value in given)
    return units[0] if alike else None


def _is_number(value):
    return isinstance(value, (int, float)) and not isinstance(value, bool) or hasattr(value, "dtype")


def _cell_text(value, digits):
    if value is None:
        return "–"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int):
        return (str(value) if abs(value) < 10_000 else f"{value:,}").replace("-", "−")
    if isinstance(value, pint.Quantity):
        return show(value, digits)
    return number_text(value, digits) if _is_number(value) else " ".join(str(value).split())


def _csv_cell(value):
    if value is None:
        return ""
    if isinstance(value, bool) or not _is_number(value):
        return _disarmed(_cell_text(value, 12))
    return str(value) if isinstance(value, int) else f"{float(value):.12g}"


def _disarmed(text):
    return "'" + text if text.startswith(FORMULA_MARKS) else text


def _longest_word(text):
    return max(map(len, text.split()), default=0)


def _lines(cells, widths, numeric):
    """One row as lines of text: cells wrapped to their column's width, numbers to the right."""
    wrapped = [textwrap.wrap(cell, width, break_on_hyphens=False) if len(cell) > width else [cell] for cell, width in zip(cells, widths)]
    lines = []
    for number in range(max(map(len, wrapped))):
        parts = [part[number] if number < len(part) else "" for part in wrapped]
        line = "  ".join(part.rjust(width) if right else part.ljust(width)
                         for part, width, right in zip(parts, widths, numeric))  # fmt: skip
        lines.append(line.rstrip())
    return lines
