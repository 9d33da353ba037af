"""Cautions: one short box at the place where a reader could get hurt, from data/cautions.toml."""

import dataclasses
import functools
import html
import textwrap
import tomllib

from coachwork import bootstrap
from coachwork.page.words import lookup
from coachwork.quantities import InputError
from coachwork.sources import Source

FILE = bootstrap.ROOT / "data" / "cautions.toml"
DEFERRAL = (
    "Local codes and the maker's instructions come before this workbook, "
    "and work that needs a license belongs to someone who holds one."
)


@dataclasses.dataclass(frozen=True)
class Caution:
    """One caution. name: how a lesson asks for it. title, says: what it tells. topics: the lessons it belongs to."""

    name: str
    title: str
    says: str
    topics: tuple
    source: Source

    def text(self):
        """The caution as plain text, the same every time."""
        told = f"CAUTION: {self.title}. {self.says} {DEFERRAL}"
        return "\n".join([*textwrap.wrap(told, 100, break_on_hyphens=False), *textwrap.wrap(f"Source: {self.source}", 100, break_on_hyphens=False)])

    def html(self):
        """The caution as HTML: a note whose sign and label do not depend on colour."""
        title, says, source = (html.escape(str(part)) for part in (self.title, self.says, self.source))
        return (
            '<div role="note" class="cw-caution mathjax_ignore" style="margin:8px 0;padding:8px 12px;max-width:46em;'
            "border:1px solid var(--jp-border-color1,#bdbdbd);border-left:6px double var(--jp-content-font-color1,#212121);"
            'color:var(--jp-content-font-color1,#212121)">'
            f'<p style="margin:0 0 4px 0"><span aria-hidden="true">⚠ </span><strong>Caution: {title}.</strong> {says} '
            f"{DEFERRAL}</p>"
            f'<p style="margin:0;font-size:0.85em">Source: {source}</p></div>'
        )

    def __repr__(self):
        return self.text()

    def _repr_mimebundle_(self, include=None, exclude=None):
        return {"text/html": self.html(), "text/plain": self.text()}


@functools.cache
def cautions():
    """All cautions: a dict of name to Caution, in the order of the file. ValueError where a name is repeated."""
    found = {}
    for row in tomllib.loads(FILE.read_text(encoding="utf-8"))["caution"]:
        if row["name"] in found:
            raise ValueError(f'{FILE.name}: "{row["name"]}" stands there twice')
        source = Source(row["source"], row["status"])
        found[row["name"]] = Caution(row["name"], row["title"], row["says"], tuple(row["topics"]), source)
    return found


def caution(name):
    """The caution of that name, to stand at the place where it matters.

    Raises
    ------
    InputError
        where there is none of that name; it names the nearest.
    """
    return lookup("caution", name, cautions(), FILE.name)


def cautions_for(topic):
    """The cautions of one topic, in the order of the file: what a lesson's "Before you touch anything" must show.

    Raises
    ------
    InputError
        where no caution names that topic.
    """
    found = tuple(one for one in cautions().values() if topic in one.topics)
    if not found:
        known = dict.fromkeys(topic for one in cautions().values() for topic in one.topics)
        raise InputError("topic", f'"{topic}" has no cautions', "one of " + ", ".join(known), '"wiring"')
    return found
