"""What a lesson shows: benches, questions, forms, tables, worked formulas, cautions.

`from coachwork.page import bench, slider` loads a part of the page only when it is asked for.
"""

import importlib
import sys
import types

EXPORTS = {  # name that a lesson imports: module of this package that holds it
    "bench": "bench",
    "slider": "widgets",
    "choice": "widgets",
    "unit_switch": "widgets",
    "form": "form",
    "lesson_map": "map",
    "symbol_key": "pictures.start_here",
    "handbook": "ledger",
    "working": "working",
    "table": "table",
    "caution": "cautions",
    "glossary": "words",
    "symbols": "words",
    "question": "questions",
    "questions": "questions",
    "trials": "trials",
    "practice_meter": "meter",
    "fault_hunt": "meter",
    "print_sheets": "sheets",
    "one_line": "diagram",
    "short_way": "owner",
    "check_table": "owner",
    "changes_table": "owner",
}
__all__ = list(EXPORTS)


def __getattr__(name):
    if name not in EXPORTS:
        raise AttributeError(f"coachwork.page has no {name!r}; it has {', '.join(EXPORTS)}")
    importlib.import_module(f"{__name__}.units").take_up()  # before anything is shown
    value = getattr(importlib.import_module(f"{__name__}.{EXPORTS[name]}"), name)
    setattr(sys.modules[__name__], name, value)
    return value


class _Page(types.ModuleType):
    """Python binds an imported submodule to its package: `bench` the function would become a module."""

    def __setattr__(self, name, value):
        if name in EXPORTS and isinstance(value, types.ModuleType):
            return
        super().__setattr__(name, value)


sys.modules[__name__].__class__ = _Page
