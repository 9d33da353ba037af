"""Checks: a rule that a design meets or misses, with everything a reviewer needs to judge it."""

import dataclasses

from coachwork.quantities import Quantity, show
from coachwork.sources import Source

MEETS, CLOSE, MISSES = "meets", "close", "misses"
CLOSE_SHARE = 0.05


@dataclasses.dataclass(frozen=True)
class Check:
    """One rule held against one coach.

    asked: the rule as a question. found, limit: what stands there and what is allowed, as text.
    verdict: meets, close (within 5 % on the allowed side) or misses. why: the reason for the rule.
    mend: what would help. guards: fire, shock or gas where a miss can hurt somebody, else empty;
    such a check has no "close". side: "at most" or "at least" where the limit is a number.
    """

    asked: str
    found: str
    limit: str
    verdict: str
    why: str
    mend: str
    source: Source
    guards: str = ""
    topic: str = ""
    side: str = ""

    def __post_init__(self):
        if self.verdict not in (MEETS, CLOSE, MISSES):
            raise ValueError(f"verdict {self.verdict!r}")
        if self.guards and self.verdict == CLOSE:
            raise ValueError("a check that guards against fire, shock or gas is met or missed, never close")

    @property
    def wanted(self):
        """What is allowed, in words: `at most 0.145 V`, `at least 32 °F`, or for a rule in words these."""
        return f"{self.side} {self.limit}".strip()

    def __str__(self):
        sign = {MEETS: "✓ meets", CLOSE: "≈ close", MISSES: "✗ misses"}[self.verdict]
        text = f"{sign}: {self.asked} Found {self.found}, wanted {self.wanted}."
        return text if self.verdict == MEETS else f"{text} {self.why} {self.mend}"


def at_most(asked, found, limit, *, why, mend, source, guards="", topic=""):
    """Check that `found` is no more than `limit` (quantities of one dimension, or numbers).

    asked, why, mend, source, guards, topic: as in `Check`.
    """
    return _compare(asked, found, limit, 1, why, mend, source, guards, topic)


def at_least(asked, found, limit, *, why, mend, source, guards="", topic=""):
    """Check that `found` is no less than `limit` (quantities of one dimension, or numbers).

    asked, why, mend, source, guards, topic: as in `Check`.
    """
    return _compare(asked, found, limit, -1, why, mend, source, guards, topic)


def holds(asked, found, limit, *, true, why, mend, source, guards="", topic=""):
    """Check a yes-or-no rule: `true` says whether it is met; `found` and `limit` are words.

    asked, why, mend, source, guards, topic: as in `Check`.
    """
    return Check(asked, found, limit, MEETS if true else MISSES, why, mend, source, guards, topic)


def _compare(asked, found, limit, side, why, mend, source, guards, topic):
    number = limit
    value = found
    if isinstance(limit, Quantity):
        number, value = limit.magnitude, found.to(limit.units).magnitude
    room = (number - value) * side
    if not room >= 0:  # a value that is not a number misses
        verdict = MISSES
    elif room < CLOSE_SHARE * abs(number) and not guards:
        verdict = CLOSE
    else:
        verdict = MEETS
    return Check(asked, show(found), show(limit), verdict, why, mend, source, guards, topic, "at most" if side == 1 else "at least")


def misses_first(checks):
    """The `checks` sorted for a reader: misses, then close ones, then those that are met."""
    order = {MISSES: 0, CLOSE: 1, MEETS: 2}
    return sorted(checks, key=lambda check: (order[check.verdict], not check.guards))
