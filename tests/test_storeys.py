"""The house has four storeys and imports point down; this reads them in the source."""

import ast
import sys
from pathlib import Path

import coachwork

LIBRARY = Path(coachwork.__file__).parent
FOUNDATIONS = "bootstrap quantities sources checks files sections coach".split()
SHARED = "profile network conductor air weather room".split()
TOPICS = ("energy capacity cycle_life charging sun inverter wiring heating cooling_load whole_system commissioning "
          "design").split()  # fmt: skip
UPSTAIRS = ("page", "commands")
NOT_BELOW_THE_PAGE = {"matplotlib", "ipywidgets", "anywidget", "IPython", "traitlets", "schemdraw"}
HEAVY = {"scipy", "pandas", "pvlib", "schemdraw"}


def storey(module):
    """(storey, place in it) of a module named below `coachwork`, None where the picture has no place for it."""
    room = module.partition(".")[0]
    if room in UPSTAIRS or room == "__main__":
        return 3, 0
    for level, rooms in enumerate((FOUNDATIONS, SHARED, TOPICS)):
        if room in rooms:
            return level, rooms.index(room)
    return None


def imports(tree, package):
    """Every (imported dotted name, whether it happens at import time, line) of a module."""
    found = []

    def walk(node, at_once):
        if isinstance(node, (ast.FunctionDef, ast.AsyncFunctionDef, ast.Lambda)):
            at_once = False
        if isinstance(node, ast.Import):
            found.extend((alias.name, at_once, node.lineno) for alias in node.names)
        if isinstance(node, ast.ImportFrom):
            base = node.module or ""
            if node.level:
                parents = package.split(".")[: len(package.split(".")) - node.level + 1]
                base = ".".join([*parents, base]).strip(".")
            found.extend((f"{base}.{alias.name}", at_once, node.lineno) for alias in node.names)
        for child in ast.iter_child_nodes(node):
            walk(child, at_once)

    walk(tree, True)
    return found


def faults(library):
    """Every import in a library that does not fit the picture, as text."""
    found, needs = [], {}
    files = {path.relative_to(library).with_suffix("").as_posix().replace("/", "."): path
             for path in sorted(library.rglob("*.py"))}  # fmt: skip
    for name, path in files.items():
        module = name.removesuffix(".__init__")
        package = "coachwork" + ("." + module.rpartition(".")[0] if "." in module else "")
        package = f"coachwork.{module}" if name.endswith(".__init__") else package
        used = imports(ast.parse(path.read_text(encoding="utf-8")), package)
        if name == "__init__":
            found += [f"coachwork/__init__.py imports {one}" for one, _, _ in used]
            continue
        own = storey(module)
        if own is None:
            found.append(f"{module} has no place in the house")
            continue
        needs[module] = set()
        for imported, at_once, line in used:
            fault = _fault(module, own, imported, at_once, files)
            if fault:
                found.append(f"{module}, line {line}: {fault}")
            inside = _inside(imported, files)
            if inside and inside != module and at_once:
                needs[module].add(inside)
    return found + _circles(needs)


def _inside(imported, files):
    """The module of the library that an import names, or None."""
    if not imported.startswith("coachwork."):
        return None
    name = imported.removeprefix("coachwork.")
    for candidate in (name, name.rpartition(".")[0]):
        if candidate in files or f"{candidate}.__init__" in files:
            return candidate
    return None


def _fault(module, own, imported, at_once, files):
    top = imported.partition(".")[0]
    if imported.startswith("matplotlib.pyplot") or imported == "pylab":
        return "pyplot is never imported"
    if top in HEAVY and at_once:
        return f"{top} is slow to import: import it inside the function that needs it"
    if own[0] < 3 and top in NOT_BELOW_THE_PAGE:
        return f"{top} belongs to the page"
    if module == "bootstrap" and top not in sys.stdlib_module_names:
        return f"bootstrap is standard library only, not {top}"
    if top != "coachwork" or imported == "coachwork":
        return None
    inside = _inside(imported, files)
    if inside is None:
        return f"{imported} is not in the library"
    other = storey(inside)
    if other and other[0] > own[0]:
        return f"imports {inside}, which is upstairs"
    if other and own[0] == other[0] == 2 and other[1] >= own[1]:
        return f"imports {inside}, which is further right"
    return None


def _circles(needs):
    """Modules that need each other while they are being imported."""
    found, done = [], set()

    def visit(module, path):
        if module in path:
            circle = path[path.index(module) :]
            if module == min(circle):
                found.append("circle: " + " > ".join([*circle, module]))
            return
        if module in done:
            return
        for other in sorted(needs.get(module, ())):
            visit(other, [*path, module])
        if not path:
            done.add(module)

    for module in sorted(needs):
        visit(module, [])
    return list(dict.fromkeys(found))


def test_imports_point_down():
    assert faults(LIBRARY) == []


GOOD = {"__init__": '"""Nothing."""', "quantities": "import math", "energy": "from coachwork.quantities import Q",
        "wiring": "from coachwork import energy\ndef f():\n    import scipy.optimize",
        "page/__init__": "", "page/table": "import matplotlib.figure", "page/bench": "from coachwork import wiring",
        "bootstrap": "import sys"}  # fmt: skip


def house(folder, **changes):
    for name, text in (GOOD | {name.replace("__over__", "/"): text for name, text in changes.items()}).items():
        path = folder / f"{name}.py"
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text)
    return faults(folder)


def test_a_good_house_has_no_fault(tmp_path):
    assert house(tmp_path) == []


def test_each_bad_import_is_caught(tmp_path):
    bad = {
        "upstairs": dict(energy="from coachwork.page.table import table"),
        "upstairs ": dict(quantities="def f():\n    from coachwork import energy"),
        "further right": dict(energy="from coachwork.sun import f", sun=""),
        "belongs to the page": dict(energy="import matplotlib.figure"),
        "belongs to the page ": dict(quantities="from IPython.display import display"),
        "pyplot": dict(page__over__table="from matplotlib import pyplot"),
        "pyplot ": dict(page__over__table="def f():\n    import matplotlib.pyplot as plt"),
        "slow to import": dict(wiring="import pandas"),
        "slow to import ": dict(wiring="class A:\n    from scipy import optimize"),
        "standard library only": dict(bootstrap="import numpy"),
        "standard library only ": dict(bootstrap="def f():\n    from coachwork import quantities"),
        "__init__.py imports": dict(__init__="import math"),
        "no place": dict(helpers="import math"),
        "circle: checks > sources > checks": dict(sources="from . import checks", checks="from .sources import a"),
        "circle: page.a > page.b > page.a": dict(page__over__a="from .b import x", page__over__b="from . import a"),
        "not in the library": dict(energy="from coachwork.nowhere import x"),
    }
    for number, (words, change) in enumerate(bad.items()):
        found = house(tmp_path / str(number), **change)
        assert len(found) == 1 and words.strip() in found[0], (words, found)
