"""Trials: trips tried one after another under drawn weather and habits, with a line of progress and a stop button."""

import asyncio

from coachwork import coach as coaches
from coachwork import whole_system
from coachwork.page.pictures import PIXELS, Sheet
from coachwork.page.pictures.whole_system import ChanceBars
from coachwork.page.widgets import Panel, button

FIRST, BREATH = 60, 0.02  # trips tried before anything is pressed; seconds in which the page may speak
LONG = 20  # marks of the progress line


class Trials(Panel):
    """A panel that goes on trying trips until all are tried or the reader stops it. Made by `trials`.

    Between two handfuls of trips the kernel listens, so Stop works; there is no thread and no timer.
    """

    def __init__(self, coach, parallels, trips, seed):
        self.coach, self.parallels, self.trips, self.seed = coach, tuple(parallels), trips, seed
        self.task, self._sheet = None, None
        promise = whole_system.study(coach).plan.promise
        series = whole_system.capacity.arrangement(coach).series
        self.drawing = ChanceBars([one * series for one in self.parallels], promise)
        self.begin()
        parts = [button("more", f"Try {trips} trips"), button("stop", "Stop"), button("again", "New trips")]
        width, height = (round(inches * PIXELS) for inches in self.drawing.size)
        super().__init__(parts, self.drawing.title, frame=[width, height])
        while self.found is None or self.found.trips < min(FIRST, trips):
            self.found = next(self.going)
        self.show_found()

    def begin(self):
        """Forget what was tried; the next trips are those of the seed."""
        self.going, self.found = whole_system.chances(self.coach, self.parallels, self.trips, self.seed), None

    def sheet(self):
        """The picture on paper in the page's resolution."""
        if not self._sheet or self._sheet.ratio != self.ratio:
            self._sheet = Sheet(self.drawing, self.ratio)
        return self._sheet

    def show_found(self, draw=False):
        """Words, and the picture where somebody looks."""
        words, self.alt = self.sheet().update(found=self.found)
        done = round(LONG * self.found.trips / self.trips)
        self.result = f"{'▓' * done}{'░' * (LONG - done)} {self.found.trips} of {self.trips} trips (seed {self.seed}). {words.split('. ', 1)[1]}"
        if draw:
            self.picture = self.sheet().png()

    def changed(self, settings):
        self.show_found(draw=True)

    def pressed(self, name, settings):
        if self.task is not None:
            self.task.cancel()
            self.task = None
        if name == "stop":
            self.spoken = f"Stopped after {self.found.trips} trips."
            return
        if name == "again":
            self.seed += 1
            self.begin()
        self.task = asyncio.get_running_loop().create_task(self.go_on())

    async def go_on(self):
        """Try what is left, a handful at a time."""
        for self.found in self.going:
            self.show_found(draw=True)
            await asyncio.sleep(BREATH)
        self.spoken = self.result

    def plain(self):
        self.show_found()
        return "\n".join([self.title, self.result])


def trials(coach=None, parallels=None, trips=400, seed=1):
    """A panel of `whole_system.chances`: nights and whole trips without a generator, for several banks.

    coach : the coach file; the reader's own where None. parallels : strings of modules; one to one more than its own where
    None. trips : how many are tried at most. seed : the same one draws the same trips.
    """
    coach = coach or coaches.current()
    own = whole_system.capacity.arrangement(coach)
    return Trials(coach, parallels or range(1, min(6, own.parallel - own.reserve + 1) + 1), trips, seed)
