"""The short way for owners: what each topic leaves to do in a coach, with links to the lessons that explain it."""

import html

from coachwork import checks, design
from coachwork.page.map import lessons
from coachwork.page.table import STYLE, table


class ShortWay:
    """What is open, topic by topic. Made by `short_way`; shown as a table with links, elsewhere as text."""

    caption = "What each lesson leaves to do in this coach"

    def __init__(self, coach, heard):
        known = {one.topic: one for one in lessons()}
        self.rows = [(known[one.topic], self._todo(one)) for one in design.still_open(coach, heard)]

    @staticmethod
    def _todo(one):
        words = [f"decide {name}" for name in one.assumed]
        words += [f"mend or answer: {check.asked} {check.mend}" for check in one.unanswered]
        words += [f"answered, but missed: {check.asked}" for check in one.answered]
        return words, f"{one.checks} checks, {len(one.close)} close"

    def __repr__(self):
        rows = [{"lesson": f"{one.number} {one.topic.replace('_', ' ')}", "checks": held, "to do": "; ".join(words) or "nothing"}
                for one, (words, held) in self.rows]  # fmt: skip
        return repr(table(rows, caption=self.caption))

    def html(self):
        """The table with a link to every lesson that is built."""
        body = ""
        for one, (words, held) in self.rows:
            name = html.escape(f"{one.number} {one.topic.replace('_', ' ')}")
            name = f'<a href="{one.file}">{name}</a>' if one.built and one.topic != "design" else name
            todo = "".join(f"<li>{html.escape(word)}</li>" for word in words)
            todo = f'<ul style="margin:0;padding-left:1.2em">{todo}</ul>' if todo else "nothing"
            body += f'<tr><th scope="row">{name}</th><td>{html.escape(held)}</td><td>{todo}</td></tr>\n'
        head = "".join(f'<th scope="col">{name}</th>' for name in ("lesson", "checks", "to do"))
        return (
            f'{STYLE}<div class="cw-table mathjax_ignore" role="group" tabindex="0" aria-label="{self.caption}"><table class="cw">'
            f"<caption>{self.caption}</caption><thead><tr>{head}</tr></thead><tbody>{body}</tbody></table></div>"
        )

    def _repr_mimebundle_(self, include=None, exclude=None):
        return {"text/html": self.html(), "text/plain": repr(self)}


def short_way(coach, heard):
    """What is still to decide, mend or answer in a coach, with links to the lessons; `heard` comes from `design.hear`."""
    return ShortWay(coach, heard)


def check_table(held, caption):
    """Checks as a table, misses first: verdict, asked, found, wanted, why, what would mend it."""
    rows = [
        {"verdict": one.verdict, "asked": one.asked, "found": one.found, "wanted": one.wanted, "why": one.why, "mend": one.mend, "source": str(one.source)}
        for one in checks.misses_first(held)
    ]
    return table(rows, caption=caption, columns={"verdict": "verdict", "asked": "asked", "found": "found", "wanted": "wanted", "why": "why",
                                                 "mend": "what would mend it", "source": "source"})  # fmt: skip


def changes_table(before, after, every=False):
    """The checks whose verdict a change of the coach turns, new misses first; `every` shows all that it moves.

    before, after : of `design.hear`, for the coach as it was and as it would be
    """
    moved = design.differences(before, after)
    shown = moved if every else [one for one in moved if one.was != one.now]
    rows = [
        {"lesson": one.topic.replace("_", " "), "asked": one.asked, "before": f"{one.was}: {one.before}" if one.was else "not asked",
         "after": f"{one.now}: {one.after}" if one.now else "not asked"}
        for one in shown
    ]  # fmt: skip
    quiet = len(moved) - len(shown)
    caption = "What the change turns" + (f"; {quiet} more checks move and keep their verdict" if quiet else "")
    return table(rows, caption=caption, columns=["lesson", "asked", "before", "after"])
