"""Cautions: every lesson has its own, each is short, sourced and defers; the box says what it is without colour."""

import re
import tomllib

import pytest

from coachwork import bootstrap
from coachwork.page.cautions import DEFERRAL, caution, cautions, cautions_for
from coachwork.quantities import InputError

TOPICS = [lesson["topic"] for lesson in tomllib.loads((bootstrap.ROOT / "data/lessons.toml").read_text())["lesson"]]
NEEDED = ("fault current", "tools and jewellery", "disconnect order", "arc", "120 V", "solar strings", "roof work",
          "hydrogen", "lithium fire", "exhaust", "propane", "hot work", "lifting batteries", "capacitors", "hot joints",
          "alternator heat", "combustion heaters", "refrigerant", "heat stress", "cold charging",
          "lock out and prove dead", "restraint")  # fmt: skip


def test_all_that_can_hurt_is_there():
    assert set(NEEDED) <= set(cautions())


@pytest.mark.parametrize("topic", TOPICS)
def test_every_lesson_has_cautions(topic):
    assert all(topic in one.topics for one in cautions_for(topic))


@pytest.mark.parametrize("one", cautions().values(), ids=lambda one: one.name)
def test_caution_is_short_and_defers_once(one):
    assert set(one.topics) <= set(TOPICS)
    assert 1 <= len(re.findall(r"[.!?](?= |$)", one.says)) <= 3
    assert DEFERRAL not in one.says
    said = " ".join(one.text().split())
    assert said.startswith(f"CAUTION: {one.title}. {one.says}") and said.count(DEFERRAL) == 1
    assert said.endswith(f"Source: {one.source}")


def test_box_is_a_note_with_a_word_and_a_sign():
    bundle = caution("120 V")._repr_mimebundle_()
    assert 'role="note"' in bundle["text/html"] and "Caution: 120 V kills." in bundle["text/html"]
    assert 'aria-hidden="true">⚠' in bundle["text/html"]
    assert bundle["text/plain"] == caution("120 V").text() == repr(caution("120 V"))


def test_unknown_names_are_refused_with_the_nearest():
    with pytest.raises(InputError, match='"fault current"'):
        caution("fault curent")
    with pytest.raises(InputError, match="has no cautions"):
        cautions_for("wirring")
