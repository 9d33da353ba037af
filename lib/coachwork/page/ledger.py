"""The handbook ledger: published values that the library's functions must reproduce.

One runner serves the tests, the lessons and the count in the README. A row names a function as
`topic.function`; it is looked up among the library's own public functions, and its arguments are read
from text by the function's annotations. Nothing is evaluated.
"""

import collections
import dataclasses
import html
import importlib
import math
import types
import typing

from coachwork import bootstrap, files
from coachwork.page.table import table
from coachwork.quantities import InputError, Quantity, kind_of, number_text, quoted, read_quantity, unit_text
from coachwork.sources import STATUSES, Source

LEDGERS = bootstrap.ROOT / "data" / "handbook"
MODULES = (
    "quantities profile network conductor air weather room energy capacity cycle_life charging sun inverter wiring heating "
    "cooling_load whole_system commissioning design"
).split()
KEYS = {"what", "call", "with", "field", "expect", "raises", "tolerance", "source", "status", "note"}


class Disagreement(AssertionError):
    """A handbook row that this workbook does not reproduce."""


@dataclasses.dataclass(frozen=True)
class Outcome:
    """One row of a ledger, run. `difference` is ours less the print as a share of the print, or None."""

    what: str
    ours: str
    printed: str
    tolerance: str
    difference: float | None
    source: Source
    agrees: bool
    note: str
    topic: str


def topics():
    """Names of the ledgers in data/handbook, in reading order of the library."""
    return sorted((path.stem for path in LEDGERS.glob("*.toml")), key=lambda name: MODULES.index(name))


def rows(topic_or_file):
    """The rows of a ledger, as read: `rows("wiring")` or `rows(Path("ours.toml"))`."""
    path = topic_or_file if hasattr(topic_or_file, "read_bytes") else LEDGERS / f"{topic_or_file}.toml"
    try:
        ledger = files.read_toml(path.read_text(encoding="utf-8"))
    except (OSError, ValueError) as error:
        raise InputError(
            str(path), f"it cannot be read as a ledger ({error})", "a TOML file of [[check]] rows"
        ) from None
    found = ledger.get("check", [])
    if (
        set(ledger) - {"check"}
        or not isinstance(found, list)
        or not all(isinstance(row, dict) for row in found)
    ):
        raise InputError(path.name, "it holds something other than [[check]] rows", "only [[check]] rows")
    for number, row in enumerate(found):
        place = f"{path.name}, check[{number}]"
        for key in row:
            if key not in KEYS:
                raise InputError(place, f'"{key}" is not a key of a row', "one of " + ", ".join(sorted(KEYS)))
        for key in ("what", "call", "source", "status"):
            if not isinstance(row.get(key), str):
                raise InputError(place, f'"{key}" is missing or not text', f'text, as in {key} = "..."')
        if ("expect" in row) == ("raises" in row):
            raise InputError(place, "a row needs either expect or raises", "one of the two")
        if row["status"] not in STATUSES:
            raise InputError(place, f'status "{row["status"]}" is not known', "one of " + "; ".join(STATUSES))
    return found


def run_row(row, topic=""):
    """Run one row; the Outcome says whether it agrees. InputError where the row itself is wrong."""
    try:
        return _run_row(row, topic)
    except InputError:
        raise
    except Exception as error:  # what a wrong row does to a function can be any kind of error; its writer needs one sentence
        why = " ".join(f"{type(error).__name__}: {error}".split())[:120]
        raise InputError(quoted(row["what"]), f"the row cannot be run ({why})",
                         f"the arguments of {quoted(row['call'])}, and a field of its result") from error  # fmt: skip


def _run_row(row, topic):
    function = _function(row["call"])
    source = Source(row["source"], row["status"])

    def outcome(ours, printed, difference, agrees):
        return Outcome(row["what"], ours, printed, row.get("tolerance", "exact"), difference, source, agrees,
                       row.get("note", ""), topic)  # fmt: skip

    if "raises" in row:
        try:
            result = function(**_arguments(function, row.get("with", {}), row["call"]))
        except InputError as error:
            return outcome(
                f"refused: {error}", f"refused: {row['raises']}", None, row["raises"] in str(error)
            )
        return outcome(str(result), f"refused: {row['raises']}", None, False)
    result = function(**_arguments(function, row.get("with", {}), row["call"]))
    for part in filter(None, row.get("field", "").split(".")):
        result = (
            result[int(part)]
            if part.isdigit()
            else result[part]
            if isinstance(result, dict)
            else getattr(result, part)
        )
    return outcome(*_compare(result, row["expect"], row.get("tolerance"), row["what"]))


def _function(call):
    module_name, _, name = call.partition(".")
    if module_name in MODULES:
        module = importlib.import_module(f"coachwork.{module_name}")
        found = vars(module).get(name)
        if (
            isinstance(found, types.FunctionType)
            and not name.startswith("_")
            and found.__module__ == module.__name__
        ):
            return found
    raise InputError("call", f'"{call}" is not a public function of the library', "topic.function",
                     '"energy.load_energy"')  # fmt: skip


def _arguments(function, given, call):
    hints = typing.get_type_hints(function, include_extras=True)
    hints.pop("return", None)
    for name in given:
        if name not in hints:
            raise InputError(call, f'it has no argument "{name}"', "one of " + ", ".join(hints))
    return {name: _read(value, hints[name], f"{call} {name}") for name, value in given.items()}


def _read(value, hint, place):
    """A value from a ledger to what the annotation says: a quantity, a dataclass, a list of either, or as it is."""
    if typing.get_origin(hint) in (typing.Union, types.UnionType):
        hint = next(part for part in typing.get_args(hint) if part is not type(None))
    container = typing.get_origin(hint) if not hasattr(hint, "__metadata__") else None
    if container in (list, tuple, collections.abc.Sequence) and isinstance(value, list):
        inner = typing.get_args(hint)
        kinds = inner if container is tuple and inner[-1:] != (...,) else (inner[0],) * len(value)
        return container(_read(item, part, place) for item, part in zip(value, kinds)) if container is not \
            collections.abc.Sequence else [_read(item, inner[0], place) for item in value]  # fmt: skip
    if container is dict and isinstance(value, dict):
        return {key: _read(item, typing.get_args(hint)[1], place) for key, item in value.items()}
    if kind := kind_of(hint):
        return kind.read(value, place)
    if dataclasses.is_dataclass(hint) and isinstance(value, dict):
        hints = typing.get_type_hints(hint, include_extras=True)
        unknown = set(value) - set(hints)
        if unknown:
            raise InputError(
                place, f'"{min(unknown)}" is not a part of {hint.__name__}', "one of " + ", ".join(hints)
            )
        return hint(**{name: _read(item, hints[name], f"{place}.{name}") for name, item in value.items()})
    return value


def _compare(result, expect, tolerance, what):
    """(ours, printed, difference, agrees), everything in the unit of the print."""
    if isinstance(result, (bool, str)) or result is None:
        return str(result), str(expect), None, result == expect
    printed = read_quantity(str(expect), what)
    if isinstance(result, Quantity):
        unit = printed.units
        ours = result.to(unit).magnitude
    else:
        unit = printed.units
        ours = Quantity(float(result)).to(unit).magnitude
    ours, target = float(ours), float(printed.magnitude)
    if tolerance is None:
        raise InputError(what, "the row has no tolerance", "a share or a quantity", '"1 %"')
    allowed = read_quantity(tolerance, f"{what}, tolerance")
    if str(allowed.units) == "percent":
        allowed = abs(target) * allowed.to("").magnitude
    else:
        delta = {"degree_Celsius": "delta_degree_Celsius", "degree_Fahrenheit": "delta_degree_Fahrenheit"}
        allowed = allowed.to(delta.get(str(unit), unit)).magnitude
    gap = ours - target
    agrees = bool(abs(gap) <= allowed + 1e-9 * abs(target))
    relative = gap / target if target else (0.0 if gap == 0 else math.inf)
    written = str(expect) if not isinstance(expect, str) else expect
    unit = unit_text(unit)
    return (f"{number_text(ours, _digits(written))} {unit}".strip(), f"{written.split()[0].replace('-', '−')} {unit}".strip(),
            relative, agrees)  # fmt: skip


def _digits(printed):
    """As many digits as the print, and one more, so that a reader sees what rounding hides."""
    number = printed.split()[0].replace(",", "").lstrip("-+").partition("e")[0]
    return min(10, max(3, len(number.replace(".", "").lstrip("0")) + 1))


def run(topic_or_file):
    """All rows of a ledger, run."""
    name = topic_or_file if isinstance(topic_or_file, str) else ""
    return [run_row(row, name) for row in rows(topic_or_file)]


def handbook(topic):
    """The ledger of a topic for a lesson; raises Disagreement where a row is not reproduced."""
    outcomes = run(topic)
    wrong = [one for one in outcomes if not one.agrees]
    if wrong:
        raise Disagreement(
            "; ".join(f"{one.what}: ours {one.ours}, print {one.printed} ({one.source})" for one in wrong)
        )
    return Handbook(outcomes)


class Handbook:
    """The rows of a topic for a lesson: folded away behind one line of counts, sources numbered below."""

    def __init__(self, outcomes):
        sources = list(dict.fromkeys(one.source for one in outcomes))
        number = {source: place for place, source in enumerate(sources, 1)}
        counts = ", ".join(f"{count} {status}" for status, count in summary(outcomes)["by status"].items())
        self.head = f"{len(outcomes)} handbook values, all reproduced ({counts})"
        self.rows = [
            {
                "what": one.what,
                "this workbook": one.ours.partition(":")[0] if one.ours.startswith("refused") else one.ours,
                "the print": one.printed.partition(":")[0] if one.ours.startswith("refused") else one.printed,
                "within": "" if one.tolerance == "exact" else one.tolerance,
                "source": f"[{number[one.source]}]",
                "note": one.note,
            }
            for one in outcomes
        ]
        self.sources = [f"[{number[source]}] {source}" for source in sources]

    def _repr_mimebundle_(self, include=None, exclude=None):
        rows = table(self.rows, caption="This workbook beside the print")._repr_mimebundle_()["text/html"]
        sources = "".join(f"<li>{html.escape(source.partition('] ')[2])}</li>" for source in self.sources)
        folded = f"<details><summary>{html.escape(self.head)}</summary>{rows}<p>Sources</p><ol>{sources}</ol></details>"
        return {"text/plain": str(self), "text/html": folded}

    def __str__(self):
        lines = [
            f"{row['what']}: {row['this workbook']}; print {row['the print']} {row['source']}"
            for row in self.rows
        ]
        return "\n".join([self.head, *lines, *self.sources])

    __repr__ = __str__


def summary(outcomes):
    """Counts by status and the worst relative disagreement: `{"rows": 40, "by status": {...}, "worst": 0.004}`."""
    differences = [
        abs(one.difference)
        for one in outcomes
        if one.difference is not None and math.isfinite(one.difference)
    ]
    return {
        "rows": len(outcomes),
        "by status": dict(collections.Counter(one.source.status for one in outcomes).most_common()),
        "worst": max(differences, default=0.0),
    }
