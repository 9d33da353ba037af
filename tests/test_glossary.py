"""Names: every argument of a public formula stands in data/glossary.toml with its kind, and in its docstring."""

import dataclasses
import importlib
import importlib.util
import inspect
import re
import types

import pytest

from coachwork.page.words import glossary, names, symbols, words
from coachwork.quantities import KINDS, Energy, InputError, Power, Time, formula, kinds_of

FOUNDATIONS = "quantities sources checks files coach".split()
SHARED = "profile network conductor air weather room".split()
TOPICS = ("energy capacity cycle_life charging sun inverter wiring heating cooling_load whole_system commissioning "
          "design").split()  # fmt: skip
BUILT = [name for name in FOUNDATIONS + SHARED + TOPICS if importlib.util.find_spec(f"coachwork.{name}")]


def public(module):
    """The public functions that a module defines."""
    return [found for name, found in vars(module).items() if not name.startswith("_")
            and isinstance(found, types.FunctionType) and found.__module__ == module.__name__]  # fmt: skip


def arguments(function):
    return [name for name in inspect.signature(function).parameters if name not in ("self", "args", "kwargs")]


def is_formula(function):
    return hasattr(function, "__wrapped__") and bool(kinds_of(function))


def faults_of_names(function):
    """What is wrong with the names of a function's arguments that are quantities."""
    kinds, found = kinds_of(function), []
    for name in arguments(function):
        if name not in kinds:
            if is_formula(function):
                found.append(f"{name} has no kind")
        elif name not in names():
            found.append(f"{name} is not in data/glossary.toml (kind {kinds[name].name})")
        elif names()[name].kind != kinds[name].name:
            found.append(f"{name} is {kinds[name].name} here, {names()[name].kind} in data/glossary.toml")
    symbols_used = [names()[name].symbol for name in arguments(function) if name in names() and name in kinds]
    found += [f"two arguments share the symbol {one}" for one in set(symbols_used) if symbols_used.count(one) > 1]
    return found


def faults_of_docstring(function):
    """What a reader of a function's docstring would miss."""
    text = inspect.getdoc(function) or ""
    if not text:
        return ["no docstring"]
    found = [f"the docstring does not name {name}" for name in arguments(function)
             if not re.search(rf"\b{re.escape(name)}\b", text)]  # fmt: skip
    if is_formula(function) and not re.search(r"\bSource:", text):
        found.append('the docstring has no "Source:"')
    return found


LIBRARY = [
    pytest.param(function, id=f"{module}.{function.__name__}")
    for module in BUILT
    for function in public(importlib.import_module(f"coachwork.{module}"))
]
OUTSIDE_FOUNDATIONS = [one for one in LIBRARY if one.id.partition(".")[0] not in FOUNDATIONS]


@pytest.mark.parametrize("function", OUTSIDE_FOUNDATIONS)
def test_arguments_stand_in_the_glossary_with_their_kind(function):
    assert not faults_of_names(function)


@pytest.mark.parametrize("function", LIBRARY)
def test_docstring_names_every_argument(function):
    assert not faults_of_docstring(function)


@formula
def wrong(powr: Power, power: Time, hours: Time) -> Energy:
    """Names hours."""
    return powr * hours


@formula
def doubled(capacity: Energy, charge: Energy, mystery) -> Energy:
    return capacity


def test_the_test_itself_catches_faults():
    assert faults_of_names(wrong) == [
        "powr is not in data/glossary.toml (kind power)", "power is time here, power in data/glossary.toml",
    ]  # fmt: skip
    assert "mystery has no kind" in faults_of_names(doubled)
    assert "two arguments share the symbol Q" in faults_of_names(doubled)
    assert faults_of_docstring(wrong) == [
        "the docstring does not name powr", "the docstring does not name power", 'the docstring has no "Source:"',
    ]  # fmt: skip
    assert faults_of_docstring(doubled) == ["no docstring"]


@pytest.mark.parametrize("one", names().values(), ids=lambda one: one.name)
def test_row_is_whole(one):
    assert one.name.isidentifier() and one.name == one.name.lower()
    assert one.kind in KINDS or one.kind == ""
    assert all(dataclasses.astuple(one)[:3]) and one.meaning


def test_words_are_one_sentence_or_two_and_tables_show_them():
    assert all(meaning.endswith(".") and len(meaning) <= 160 for meaning in words().values())
    assert "duty" in glossary("duty").text()
    assert len(glossary()._rows) == len(words())
    assert "P_rated" in symbols("rated_power").text()
    with pytest.raises(InputError, match='"ampacity"'):
        glossary("ampacty")
    with pytest.raises(InputError, match='"power"'):
        symbols("powr")
