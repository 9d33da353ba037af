"""Picture of the design lesson: where a bank sits, and what every axle, tongue and side then carries."""

import numpy

from coachwork import capacity, design
from coachwork.page.pictures import COLOURS, Picture
from coachwork.quantities import Q, floats, show


class OnTheScale(Picture):
    """Each line of the weighing as a share of its rating, before the work and after it, with the bank moved about."""

    title = "What each place carries, as a share of its rating"

    def __init__(self, coach):
        self.found, self.plan = design.weight(coach), coach.design
        self.trailer = coach.coach.kind in design.FRONTS
        name = f"{capacity.arrangement(coach).module_count} x"  # the slider's bank stands in for it
        rest = [move for move in self.found.moves if not move.name.startswith(name)]
        self.rest = [sum(floats(getattr(move, name), "lb") for move in rest) for name in ("mass", "front", "left")]
        self.before = [floats(scale.before, "lb") for scale in self.found.scales]
        self.limits_ = [floats(scale.limit, "lb") for scale in self.found.scales]
        self.names = [scale.where for scale in self.found.scales]

    def build(self, fig):
        axes = fig.subplots()
        at = numpy.arange(len(self.names))
        shares = [100 * before / limit for before, limit in zip(self.before, self.limits_)]
        axes.barh(at - 0.2, shares, 0.36, color="white", edgecolor="black", hatch="//", label="before the work")
        self.bars = axes.barh(at + 0.2, shares, 0.36, color=COLOURS["blue"], label="after it")
        axes.axvline(100, color=COLOURS["vermilion"], lw=2, ls="--", label="rating")
        axes.set(xlim=(0, 130), xlabel="Share of the rating in %", yticks=at, yticklabels=self.names)
        axes.invert_yaxis()
        fig.legend(loc="outside lower center", ncols=3)
        self.moving = list(self.bars)

    def update(self, mass, ahead, left):
        mass_change, place = Q(mass, "lb"), Q(ahead, "ft")
        front = design.front_change(mass_change, place, self.plan.span)
        rear = design.rear_change(mass_change, place, self.plan.span)
        side = design.left_change(rear if self.trailer else mass_change, mass_change, Q(left, "ft"), self.plan.track)
        total, front, side = (one + floats(more, "lb") for one, more in zip(self.rest, (mass_change, front, side)))
        rear = total - front
        changes = (total, front, rear, side, (rear if self.trailer else total) - side)
        after = [one + more for one, more in zip(self.before, changes)]
        shares = [100 * one / limit for one, limit in zip(after, self.limits_)]
        for bar, share in zip(self.bars, shares):
            bar.set_width(max(share, 0))
        over = [name for name, share in zip(self.names, shares) if share > 100]
        share = 100 * after[1] / after[0]
        words = (
            f"The {self.found.front} carries {show(Q(after[1], 'lb'))}, {share:.1f} % of the coach. "
            + (f"Above its rating: {', '.join(over)}." if over else "Everything is within its rating.")
        )
        alt = "Pairs of bars, share of the rating before and after: " + "; ".join(
            f"{name} {100 * before / limit:.0f} and {now:.0f} %"
            for name, before, limit, now in zip(self.names, self.before, self.limits_, shares)
        )
        return words, alt + "."
