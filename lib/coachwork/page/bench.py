"""Bench: controls beside one picture and a line of words that says the result."""

import inspect

from coachwork.page.pictures import PIXELS, Sheet
from coachwork.page.widgets import Panel, choice, leaves, slider
from coachwork.quantities import InputError

__all__ = ["bench", "choice", "slider"]


class Bench(Panel):
    """A panel with a picture. Made by `bench`."""

    def __init__(self, picture, parts, predict="", title=""):
        self.drawing = picture
        width, height = (round(inches * PIXELS) for inches in picture.size)
        lead = f"Predict first: {predict}" if predict else ""
        super().__init__(parts, title or picture.title, lead, frame=[width, height])
        self.result, self.alt = self.sheet().update(**self.settings)

    def show_units(self):
        """The picture's own text may speak of feet or metres: it is built anew when somebody looks."""
        self._sheet = None
        super().show_units()

    def sheet(self):
        """The picture on paper, in the resolution and units of the page."""
        if not self._sheet or self._sheet.ratio != self.ratio:
            self._sheet = Sheet(self.drawing, self.ratio)
        return self._sheet

    def changed(self, settings):
        sheet = self.sheet()
        self.result, self.alt = sheet.update(**settings)
        self.spoken = self.result
        self.picture = sheet.png(self.dragged)

    def plain(self):
        self.result, self.alt = self.sheet().update(**self.settings)
        return super().plain()


def bench(picture, *parts, predict="", title=""):
    """A bench for a lesson, the last line of its cell.

    picture : a Picture (see coachwork.page.pictures). parts : `slider(...)`, `choice(...)`, `check(...)`, one
    for each argument of the picture's `update`. predict : a question to decide before the slider is moved.

    ::

        bench(
            LoadDay(),
            slider("power", "Power of the load", 60, low=0, high=500, step=5, unit="W"),
            choice("side", "Side", ["DC", "AC"]),
            predict="Will halving the hours halve the energy? Decide, then move the slider.",
        )
    """
    _matches(picture, parts)
    return Bench(picture, parts, predict, title)


def _matches(picture, parts):
    """Refuse parts that are not the arguments of the picture's `update`."""
    wanted = list(inspect.signature(picture.update).parameters)
    given = list(leaves(parts))
    if sorted(wanted) != sorted(given):
        raise InputError(f"bench of {type(picture).__name__}", f"controls {', '.join(given) or 'none'} are given",
                         f"one for each argument of update: {', '.join(wanted)}")  # fmt: skip
