"""The glossary: one list of names, symbols and kinds for the whole library, and the words of the trade."""

import dataclasses
import difflib
import functools
import tomllib

from coachwork import bootstrap
from coachwork.page.table import table
from coachwork.quantities import KINDS, InputError, unit_text

FILE = bootstrap.ROOT / "data" / "glossary.toml"


@dataclasses.dataclass(frozen=True)
class Name:
    """One name that formulas use: its symbol as text and as LaTeX, its kind (empty: no quantity), its meaning."""

    name: str
    symbol: str
    latex: str
    kind: str
    meaning: str


@functools.cache
def _read():
    return tomllib.loads(FILE.read_text(encoding="utf-8"))


@functools.cache
def names():
    """All names of formulas: a dict of name to Name."""
    return {name: Name(name, **{"latex": row["symbol"], **row}) for name, row in _read()["name"].items()}


def words():
    """The words of the trade: a dict of word to its meaning."""
    return _read()["word"]


def lookup(place, name, known, file):
    """`known[name]`; InputError names the place, the file and the nearest name where it is not there."""
    if name not in known:
        near = difflib.get_close_matches(name, known, 1, 0.5) or list(known)
        raise InputError(place, f'"{name}" is not there', f"a name that stands in {file}", f'"{near[0]}"')
    return known[name]


def glossary(*wanted):
    """The meanings of some words of the trade as a table; without arguments, of all of them.

    Raises
    ------
    InputError
        where a word is not in data/glossary.toml; it names the nearest one.
    """
    known = words()
    wanted = wanted or sorted(known, key=str.casefold)
    rows = [{"word": word, "meaning": lookup("glossary", word, known, FILE.name)} for word in wanted]
    return table(rows, caption="Words of the trade")


def symbols(*wanted):
    """A lesson's small table of symbols: symbol, name, meaning and unit of the named quantities.

    Raises
    ------
    InputError
        where a name is not in data/glossary.toml; it names the nearest one.
    """
    rows = []
    for name in wanted:
        one = lookup("symbols", name, names(), FILE.name)
        kind = KINDS.get(one.kind)
        unit = "%" if kind and kind.percent else unit_text(kind.shown) if kind else ""
        rows.append({"symbol": one.symbol, "name": name.replace("_", " "), "meaning": one.meaning, "unit": unit})
    return table(rows, caption="Symbols")
