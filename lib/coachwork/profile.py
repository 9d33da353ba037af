"""Profiles: a series of equal steps over local standard time, and what clock windows make of a day."""

import dataclasses
import datetime

import numpy

from coachwork.quantities import Quantity, floats, read_window, ureg

DAY_STEPS = 288  # a day at 5 minutes


@dataclasses.dataclass(frozen=True, eq=False)
class Profile:
    """Values that hold over equal steps.

    start: local standard time at which the first step begins. step: length of one step.
    values: numpy array, shape (n,), the mean over each step. unit: pint unit of the values.
    """

    start: datetime.datetime
    step: datetime.timedelta
    values: numpy.ndarray
    unit: object

    def __post_init__(self):
        if self.values.ndim != 1 or not len(self.values):
            raise ValueError(f"a profile needs one row of values, got shape {self.values.shape}")

    def __len__(self):
        return len(self.values)

    @property
    def hours(self):
        """Hours from `start` to the beginning of each step, shape (n,)."""
        return numpy.arange(len(self.values)) * self._step_hours

    @property
    def _step_hours(self):
        return self.step.total_seconds() / 3600

    def total(self):
        """The integral over time: Wh of a profile in W, Ah of one in A."""
        return Quantity(float(self.values.sum()) * self._step_hours, ureg.Unit(self.unit) * ureg.hour)

    def running_total(self):
        """The integral up to the end of each step, shape (n,), in unit times hours, as floats."""
        return numpy.cumsum(self.values) * self._step_hours

    def mean(self):
        """The mean over the whole profile."""
        return Quantity(float(self.values.mean()), self.unit)

    def peak(self):
        """The largest value of any step."""
        return Quantity(float(self.values.max()), self.unit)

    def share_within(self, windows):
        """The share of the total that falls into daily clock windows such as `["20:00-06:00"]`.

        A profile whose total is zero has no share: 0.0.
        """
        per_day = round(24 / self._step_hours)
        covered = covered_share(windows, per_day)
        covered = covered[(numpy.arange(len(self)) + round(self._offset_steps())) % per_day]
        whole = self.values.sum()
        return float((self.values * covered).sum() / whole) if whole else 0.0

    def _offset_steps(self):
        midnight = self.start.replace(hour=0, minute=0, second=0, microsecond=0)
        return (self.start - midnight) / self.step


def day_profile(values, unit):
    """A day of equal steps from midnight: `values` in `unit`, shape (n,). The first day of 2001 stands for any day."""
    values = numpy.asarray(values, float)
    step = datetime.timedelta(days=1) / len(values)
    return Profile(datetime.datetime(2001, 1, 1), step, values, ureg.Unit(unit))


def covered_share(windows, steps=DAY_STEPS):
    """How much of each step of a day lies inside the windows, 0 to 1, shape (steps,).

    Windows that overlap count once. A window that does not end on a step covers part of it, so that the
    energy of a load does not depend on the step.

    Parameters
    ----------
    windows : texts such as `"06:00-08:30"`; `"22:00-06:00"` passes midnight.
    """
    spans = []
    for window in windows:
        start, end = read_window(window)
        spans += [(start, end)] if start < end else [(start, 24.0), (0.0, end)]
    merged = []
    for start, end in sorted(spans):
        if merged and start <= merged[-1][1]:
            merged[-1][1] = max(merged[-1][1], end)
        else:
            merged.append([start, end])
    edges = numpy.arange(steps + 1) * (24 / steps)
    share = numpy.zeros(steps)
    for start, end in merged:
        share += numpy.clip(numpy.minimum(edges[1:], end) - numpy.maximum(edges[:-1], start), 0, None)
    return share * (steps / 24)


def window_hours(windows):
    """Hours a day that the windows cover."""
    return float(covered_share(windows).sum() * 24 / DAY_STEPS)
