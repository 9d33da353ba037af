"""The map of the lessons: which quantity feeds which, made from data/lessons.toml."""

import dataclasses
import html
import tomllib

from coachwork import bootstrap
from coachwork.page.table import STYLE

FILE = bootstrap.ROOT / "data" / "lessons.toml"
EVERY = "every"  # a take that begins so comes from all earlier lessons
ROW, BOX, LEFT, RIGHT = 46, 34, 170, 70  # sizes of the drawing, in pixels
WIDE = 300


@dataclasses.dataclass(frozen=True)
class Lesson:
    """One lesson. takes, gives: what passes from lesson to lesson. built: whether it can be opened."""

    number: str
    topic: str
    title: str
    takes: tuple
    gives: tuple
    built: bool

    @property
    def file(self):
        """The name of its notebook."""
        return f"{self.number}-{self.topic.replace('_', '-')}.ipynb"


def lessons():
    """All lessons in reading order."""
    rows = tomllib.loads(FILE.read_text(encoding="utf-8"))["lesson"]
    names = [field.name for field in dataclasses.fields(Lesson)]
    return [
        Lesson(**{name: tuple(row[name]) if isinstance(row[name], list) else row[name] for name in names})
        for row in rows
    ]


def feeds(known):
    """Who feeds whom: a list of (giver, what, taker). ValueError where a take has no giver."""
    found = []
    for at, taker in enumerate(known):
        for what in taker.takes:
            if what.startswith(EVERY):
                continue
            givers = [giver for giver in known[:at] if what in giver.gives]
            if not givers:
                raise ValueError(
                    f'{FILE.name}: lesson {taker.number} takes "{what}", which no earlier lesson gives'
                )
            found.append((givers[-1], what, taker))
    return found


class LessonMap:
    """The map of the lessons as a picture and as a table. Made by `lesson_map`."""

    def __init__(self):
        self.lessons = lessons()
        self.feeds = feeds(self.lessons)

    def rows(self):
        """A row a lesson: the lesson, what it takes (from where) and what it gives (to where) as text."""
        for one in self.lessons:
            takes = [f"{what} ({giver.number})" for giver, what, taker in self.feeds if taker is one]
            takes += [what for what in one.takes if what.startswith(EVERY)]
            gives = []
            for what in one.gives:
                takers = [taker.number for giver, fed, taker in self.feeds if giver is one and fed == what]
                gives.append(f"{what} ({', '.join(takers)})" if takers else what)
            yield one, "; ".join(takes) or "nothing", "; ".join(gives)

    def __str__(self):
        lines = ["The lessons, what each takes from earlier ones, and what it gives to later ones"]
        for one, takes, gives in self.rows():
            lines += [f"{one.number} {one.title}", f"   takes {takes}", f"   gives {gives}"]
        return "\n".join(lines)

    __repr__ = __str__

    def alt(self):
        """The picture in words."""
        arrows = []
        for one in self.lessons:
            takers = dict.fromkeys(taker.number for giver, what, taker in self.feeds if giver is one)
            if takers:
                arrows.append(f"from {one.number} to {', '.join(takers)}")
        whole = [one.number for one in self.lessons if any(what.startswith(EVERY) for what in one.takes)]
        return (
            f"{len(self.lessons)} lessons in a column. Arrows lead {'; '.join(arrows)}. A line along the "
            f"right side leads from all earlier lessons to {' and '.join(whole)}. The table below names what "
            "passes along each arrow."
        )

    def svg(self):
        """The picture: lessons in a column, arrows at the left, at the right what takes everything."""
        place = {one.number: at for at, one in enumerate(self.lessons)}
        drawn = []
        for giver, taker in dict.fromkeys((giver.number, taker.number) for giver, _, taker in self.feeds):
            start, end = place[giver] * ROW + BOX * 0.7, place[taker] * ROW + BOX * 0.35
            reach = LEFT - 12 - 17 * (place[taker] - place[giver])
            drawn.append(
                f'<path d="M{LEFT} {start:.0f}C{reach} {start:.0f} {reach} {end:.0f} {LEFT - 7} {end:.0f}"/>'
                f'<path d="M{LEFT} {end:.0f}l-9 -4v8z" fill="currentColor" stroke="none"/>'
            )
        edge = LEFT + WIDE
        for at, one in enumerate(self.lessons):
            top = at * ROW
            name = html.escape(one.title.partition(":")[0])
            drawn.append(f'<rect x="{LEFT}" y="{top}" width="{WIDE}" height="{BOX}" rx="4"/>')
            drawn.append(
                f'<text x="{LEFT + 12}" y="{top + BOX * 0.66:.0f}" fill="currentColor" stroke="none">'
                f"{one.number} {name}</text>"
            )
            if any(what.startswith(EVERY) for what in one.takes):
                middle, far = top + BOX / 2, edge + 20 + 22 * (at == len(self.lessons) - 1)
                drawn += [f'<path d="M{edge} {before * ROW + BOX / 2}H{far}"/>' for before in range(at)]
                drawn.append(f'<path d="M{far} {BOX / 2}V{middle}H{edge + 8}"/>')
                drawn.append(f'<path d="M{edge} {middle}l9 -4v8z" fill="currentColor" stroke="none"/>')
        width, height = edge + RIGHT, len(self.lessons) * ROW
        return (
            f'<svg role="img" aria-label="{html.escape(self.alt())}" viewBox="-1 -1 {width} {height}" '
            f'width="{width}" style="max-width:100%;height:auto" fill="none" stroke="currentColor" '
            f'stroke-width="1.5" font-family="sans-serif" font-size="15">{"".join(drawn)}</svg>'
        )

    def html(self):
        """The picture, and the same as a table; a lesson that can be opened is a link."""
        body = ""
        for one, takes, gives in self.rows():
            name = html.escape(f"{one.number} {one.title}")
            here = one is self.lessons[0]  # the map stands in the first lesson
            name = f'<a href="{one.file}">{name}</a>' if one.built and not here else name
            passes = f"<td>{html.escape(takes)}</td><td>{html.escape(gives)}</td>"
            body += f'<tr><th scope="row">{name}</th>{passes}</tr>\n'
        head = "".join(
            f'<th scope="col">{heading}</th>' for heading in ("lesson", "takes (from)", "gives (to)")
        )
        caption = "What passes from lesson to lesson"
        return (
            f"{STYLE}{self.svg()}"
            f'<div class="cw-table mathjax_ignore" role="region" tabindex="0" aria-label="{caption}">'
            f'<table class="cw"><caption>{caption}</caption><thead><tr>{head}</tr></thead>'
            f"<tbody>{body}</tbody></table></div>"
        )

    def _repr_mimebundle_(self, include=None, exclude=None):
        return {"text/html": self.html(), "text/plain": str(self)}


def lesson_map():
    """A map of the lessons: what each takes from earlier ones and gives to later ones."""
    return LessonMap()
