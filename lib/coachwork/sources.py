"""Where numbers come from: the statuses a number can have, and the published tables in data/tables."""

import csv
import dataclasses
import functools

from coachwork import bootstrap
from coachwork.quantities import InputError, Quantity, read_quantity, ureg

STATUSES = {
    "published": "read in the named document, edition, table or section",
    "derived": "arithmetic on published values",
    "secondary": "read in something that repeats the authority",
    "model result": "computed once by a general-purpose open reference model",
    "common practice, no source": "a fact of the trade",
    "from memory": "recalled, not confirmed",
    "invented": "made up for the demonstration",
}
TABLES = bootstrap.ROOT / "data" / "tables"


@dataclasses.dataclass(frozen=True)
class Source:
    """A document and what standing a number from it has; a `status` outside STATUSES raises ValueError."""

    text: str
    status: str

    def __post_init__(self):
        if self.status not in STATUSES:
            raise ValueError(f"status {self.status!r} is not one of {', '.join(STATUSES)}")

    def __str__(self):
        if self.status == "published":
            return self.text
        return self.status if self.text == self.status else f"{self.text} ({self.status})"


@dataclasses.dataclass(frozen=True)
class Table:
    """A published table: named columns, rows as read, one source.

    A column headed `resistance [ohm/kft]` holds numbers with that unit; one headed `ratio []` holds plain
    numbers; one without brackets holds text. An empty cell is None: the print gives no value there.
    """

    name: str
    source: Source
    units: dict
    rows: tuple

    def column(self, name):
        """One column as a list: text, floats or quantities, None where the print is empty."""
        if name not in self.units:
            raise InputError(
                f"table {self.name}", f'there is no column "{name}"', "one of " + ", ".join(self.units)
            )
        return [row[name] for row in self.rows]

    def row(self, **where):
        """The one row in which each named text column equals the given text; InputError names what there is."""
        found = [row for row in self.rows if all(row[name] == value for name, value in where.items())]
        if len(found) != 1:
            name, value = next(iter(where.items()))
            known = list(dict.fromkeys(str(row[name]) for row in self.rows))
            raise InputError(name, f'"{value}" is not in the table {self.name}', "one of " + ", ".join(known),
                             f'"{known[0]}"')  # fmt: skip
        return found[0]


@functools.cache
def table(name):
    """The table in data/tables/<name>.csv, read once.

    Lines before the header that start with `#` say `source:`, `status:` and anything a reader should know.
    """
    path = TABLES / f"{name}.csv"
    lines = path.read_text(encoding="utf-8").splitlines()
    about = dict(line[1:].split(":", 1) for line in lines if line.startswith("#") and ":" in line)
    about = {key.strip(): value.strip() for key, value in about.items()}
    reader = csv.reader([line for line in lines if line and not line.startswith("#")])
    units, names = {}, []
    for heading in next(reader):
        label, bracket, unit = heading.partition("[")
        names.append(label.strip())
        text = unit.rstrip("] ").strip()
        units[label.strip()] = None if not bracket else read_quantity(f"1 {text}", f"{name}.csv").units
    rows = []
    for cells in reader:
        if len(cells) != len(names):
            raise ValueError(f"{path.name}: a row has {len(cells)} cells, the header {len(names)}: {cells}")
        rows.append({column: _cell(cell.strip(), units[column]) for column, cell in zip(names, cells)})
    return Table(name, Source(about["source"], about["status"]), units, tuple(rows))


def _cell(text, unit):
    if unit is None:
        return text
    if text == "":
        return None
    return float(text) if unit == ureg.Unit("") else Quantity(float(text), unit)
