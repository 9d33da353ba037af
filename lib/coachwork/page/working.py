"""A formula worked in the open: in symbols, with the numbers put in, and the result.

The lines are made from the source of the topic function itself, so a lesson cannot show another formula
than the one that is calculated. Nothing is evaluated as text: a few kinds of syntax node are walked, once
for each way of writing (text, LaTeX, speech) and once to calculate with the numbers as they are printed.
"""

import ast
import builtins
import dataclasses
import functools
import html
import inspect
import math
import re
import textwrap
import types

import numpy
import pint

from coachwork.page import words
from coachwork.quantities import (
    KINDS,
    Quantity,
    floats,
    in_display_units,
    kinds_of,
    number_text,
    unit_text,
    ureg,
    whole_up,
)

SUM, SIGN, PRODUCT, POWER, ATOM = 1, 2, 3, 4, 5  # how tightly a piece of a formula holds together
RESULT_DIGITS = 3
ROUNDED_FROM, SHORT = 4, 6  # longer numbers are rounded to 4 digits or more; up to 6 digits they stand whole
CALLS = {
    "sqrt": (math.sqrt, numpy.sqrt), "exp": (math.exp, numpy.exp), "ln": (math.log, numpy.log),
    "log10": (math.log10, numpy.log10), "min": (min,), "max": (max,), "abs": (abs, math.fabs, numpy.abs),
    "ceil": (math.ceil, numpy.ceil, whole_up), "floor": (math.floor, numpy.floor), "sin": (math.sin, numpy.sin),
    "cos": (math.cos, numpy.cos), "tan": (math.tan, numpy.tan),
}  # fmt: skip
OPERATORS = {ast.Add: ("+", SUM), ast.Sub: ("-", SUM), ast.Mult: ("*", PRODUCT), ast.Div: ("/", PRODUCT),
             ast.Pow: ("^", POWER)}  # fmt: skip
KELVIN, CELSIUS = ureg.Unit("kelvin"), ureg.Unit("degree_Celsius")
OFFSET = (CELSIUS, ureg.Unit("degree_Fahrenheit"))


class NotAFormula(TypeError):
    """For the lesson's author: the function holds something that `working` cannot show."""


def working(function, /, **values):
    """A topic function worked with numbers: its formula, the numbers put in, the result.

    Parameters
    ----------
    function : a function of a topic whose body is assignments, `+ - * / **`, calls such as `sqrt` and a return
    values : its arguments

    The printed numbers reproduce the printed result: inputs are given more digits until they do.

    Raises
    ------
    InputError
        where an argument is of the wrong kind or out of range, as from the function itself.
    NotAFormula
        where the function holds anything else than the above.
    """
    return Working(function, values)


# ------------------------------------------------------------------------------------ reading a function


@dataclasses.dataclass(frozen=True)
class Value:
    """A leaf of a formula whose value is known before calculation: an argument, a constant, a unit chosen."""

    name: str  # of the argument or the module's constant, empty for a number in the source
    value: object = None  # of a constant
    unit: object = None  # in which it must be shown, where the formula says so
    bare: bool = False  # whether the formula takes the number without its unit


class _Reader:
    """One function's source as a list of (name, node), the last name being empty, and what its nodes mean."""

    def __init__(self, function):
        self.function = inspect.unwrap(function)
        self.scope = self.function.__globals__
        lines, self.first_line = inspect.getsourcelines(self.function)
        tree = ast.parse(textwrap.dedent("".join(lines))).body[0]
        if not isinstance(tree, ast.FunctionDef):
            raise self.refuse(tree, "no plain function")
        arguments = tree.args
        if arguments.vararg or arguments.kwarg:
            raise self.refuse(tree, "a star argument")
        self.arguments = [one.arg for one in arguments.posonlyargs + arguments.args + arguments.kwonlyargs]
        self.kinds = kinds_of(self.function)
        body = tree.body[1:] if ast.get_docstring(tree) is not None else tree.body
        self.known, self.lines = set(self.arguments), []
        for statement in body:
            self.lines.append(self.statement(statement, last=statement is body[-1]))
        if not body:
            raise self.refuse(tree, "no formula")

    def refuse(self, node, what):
        line = self.first_line + getattr(node, "lineno", 1) - 1
        return NotAFormula(f"{self.function.__module__}.{self.function.__qualname__}, line {line}: `working` cannot show "
                           f"{what}; it shows assignments to one name, + - * / **, {', '.join(CALLS)} and a "
                           "return at the end")  # fmt: skip

    def statement(self, node, last):
        if last and isinstance(node, ast.Return) and node.value is not None:
            self.check(node.value)
            return "", node.value
        if not last and isinstance(node, ast.Assign) and len(node.targets) == 1 \
                and isinstance(node.targets[0], ast.Name):  # fmt: skip
            self.check(node.value)
            name = node.targets[0].id
            if name in self.known:
                raise self.refuse(node, f"a second value for {name}")
            self.known.add(name)
            return name, node.value
        raise self.refuse(node, f"`{ast.unparse(node)}`" + (" as the end" if last else " here"))

    def check(self, node):
        """Refuse everything that is not part of a formula, before anything is calculated."""
        if self.leaf(node) is None:
            for part in self.parts(node):
                self.check(part)

    def parts(self, node):
        """The pieces of a node that is not a leaf, in order."""
        if isinstance(node, ast.BinOp) and type(node.op) in OPERATORS:
            return [node.left, node.right]
        if isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.USub):
            return [node.operand]
        if isinstance(node, ast.Call) and self.call(node):
            return node.args
        if conversion := self.conversion(node):
            return [conversion[0]]
        raise self.refuse(node, f"`{ast.unparse(node)}`")

    def leaf(self, node):
        """The Value of a node that stands for one number, or None."""
        if isinstance(node, ast.Constant) and type(node.value) in (int, float):
            return Value("", node.value)
        if isinstance(node, ast.Name):
            if node.id in self.known:
                return Value(node.id)
            value = self.scope.get(node.id)
            if type(value) in (int, float) or isinstance(value, pint.Quantity) and numpy.ndim(value.magnitude) == 0:
                return Value(node.id, value)
            raise self.refuse(node, f"the name {node.id}, which is neither an argument nor a constant of the module,")
        if isinstance(node, ast.Attribute) and type(value := self.find(node)) in (int, float):
            return Value(ast.unparse(node), value)
        if isinstance(node, ast.Call) and self.find(node.func) is Quantity:
            given = [argument.value for argument in node.args if isinstance(argument, ast.Constant)]
            if len(given) == len(node.args) == 2 and not node.keywords:
                return Value("", Quantity(*given))
        if conversion := self.conversion(node):
            inner, unit, bare = conversion
            if isinstance(inner, ast.Name) and (found := self.leaf(inner)):
                kind = self.kinds.get(found.name)
                return dataclasses.replace(found, unit=unit or kind and kind.unit, bare=bare)
        return None

    def leaves(self, node):
        """All Values of a formula, from left to right."""
        leaf = self.leaf(node)
        return [leaf] if leaf else [found for part in self.parts(node) for found in self.leaves(part)]

    def conversion(self, node):
        """(node, unit or None, bare) of `x.to("W")`, `x.to("W").magnitude`, `x.magnitude`, `floats(x, "W")`."""
        if isinstance(node, ast.Attribute) and node.attr == "magnitude":
            inner = self.conversion(node.value)
            if inner and not inner[2]:
                return inner[0], inner[1], True
            if isinstance(node.value, ast.Name):
                return node.value, None, True
            raise self.refuse(node, "a magnitude of something that was not put in a unit first with .to(unit)")
        if not isinstance(node, ast.Call) or node.keywords:
            return None
        texts = [part.value for part in node.args if isinstance(part, ast.Constant) and isinstance(part.value, str)]
        if isinstance(node.func, ast.Attribute) and node.func.attr == "to" and len(texts) == len(node.args) == 1:
            return node.func.value, ureg.Unit(texts[0]), False
        if self.find(node.func) is floats and len(texts) == 1 and len(node.args) == 2:
            return node.args[0], ureg.Unit(texts[0]), True
        return None

    def find(self, node):
        """The object that a plain or dotted name stands for in the function's module."""
        if isinstance(node, ast.Name) and node.id not in self.known:
            return self.scope.get(node.id, vars(builtins).get(node.id))
        if isinstance(node, ast.Attribute) and isinstance(module := self.find(node.value), types.ModuleType):
            return getattr(module, node.attr, None)
        return None

    def call(self, node):
        """(our name, function) of a call of mathematics, or None."""
        function = self.find(node.func)
        if node.keywords or not node.args:
            return None
        return next(((name, function) for name, known in CALLS.items() if any(function is one for one in known)), None)

    @functools.cached_property
    def in_celsius(self):
        """Names of temperatures that only ever meet another temperature in a sum, so that °C may stand for K."""

        def meets(node):
            found = self.leaf(node)
            return bool(found) and found.unit is None and (self.is_temperature(found) or self.is_difference(found))

        free, tied = set(), set()
        for _, line in self.lines:
            pairs = {}
            for node in ast.walk(line):
                if isinstance(node, ast.BinOp) and isinstance(node.op, (ast.Add, ast.Sub)):
                    both = meets(node.left) and meets(node.right)
                    pairs.update({id(node.left): both, id(node.right): both})
                if conversion := isinstance(node, (ast.Call, ast.Attribute)) and self.conversion(node):
                    pairs[id(conversion[0])] = pairs.get(id(conversion[0])) is not False
                if isinstance(node, ast.Name):
                    (free if pairs.get(id(node)) else tied).add(node.id)
        return free - tied

    def is_temperature(self, leaf):
        """Whether a leaf is a temperature, as against a difference of two."""
        if isinstance(leaf.value, pint.Quantity):  # a constant in kelvin is a difference only where it is small
            return leaf.value.units in OFFSET or leaf.value.units == KELVIN and leaf.value.magnitude >= 200
        kind = self.kinds.get(leaf.name)
        return bool(kind) and kind.unit == KELVIN and kind.shown == CELSIUS

    def is_difference(self, leaf):
        """Whether a leaf is an argument that is a difference of temperatures."""
        kind = self.kinds.get(leaf.name)
        return bool(kind) and kind.unit == KELVIN and kind.shown != CELSIUS


# ------------------------------------------------------------------------------------ numbers as printed


@dataclasses.dataclass(frozen=True)
class Numeral:
    """A number as it is printed: `text`, a power of ten if it needs one, a unit or None; and exactly that number."""

    text: str
    exponent: int
    unit: object

    @property
    def number(self):
        return float(f"{self.text.replace(',', '').replace('−', '-')}e{self.exponent}")

    @property
    def quantity(self):
        return self.number if self.unit is None else Quantity(self.number, self.unit)


def _numeral(value, digits=None, short=True):
    """A float or quantity rounded for print, unless it is short enough to stand whole.

    Without `digits` it stands as exactly as in the source; `short=False` rounds in every case.
    """
    unit = value.units if isinstance(value, pint.Quantity) else None
    number = float(value if unit is None else value.magnitude)
    if short and math.isclose(float(f"{number:.{SHORT - 1}e}"), number, rel_tol=1e-12):
        digits = max(digits or 0, SHORT)
    digits = digits or len(re.sub(r"e.*|^[-0.]*|[.]", "", repr(number)))
    if number and math.isfinite(number) and not 1e-4 <= abs(number) < 1e9:
        mantissa, exponent = f"{number:.{digits - 1}e}".split("e")
        return Numeral(number_text(float(mantissa), digits), int(exponent), unit)
    return Numeral(number_text(number, digits), 0, unit)


def _result(value, kind, digits):
    """A result as it is printed: Numerals of the same quantity, the last in the unit a reader likes best."""
    found = [value]
    if isinstance(value, pint.Quantity):
        other = in_display_units(value)
        if other.units != value.units:
            found = [value, other] if value.units == CELSIUS else [other]
    elif kind and kind.percent:
        found.append(Quantity(value * 100, "percent"))
    return [_numeral(one, digits, short=False) for one in found]


class _Sum:
    """One calculation with the numbers as they are printed at `digits` (None: exactly)."""

    def __init__(self, reader, given, digits):
        self.reader, self.digits, self.names = reader, digits, {}
        self.given = given
        self.lines = []
        for name, node in reader.lines:
            value = self.value(node)
            if name:
                value = self.tidy(name, value)
                self.names[name] = numeral = _numeral(value, digits)
                self.lines.append([numeral])
            else:
                self.raw, kind = value, reader.kinds.get("return")
                if kind and kind.plain and isinstance(value, pint.Quantity):
                    value = value.to("").magnitude
                self.result = kind.result(value) if kind else value

    def tidy(self, name, value):
        """An intermediate value in a unit that a reader knows."""
        if not isinstance(value, pint.Quantity):
            return value
        if value.dimensionless:
            return value.to("").magnitude
        known = words.names().get(name)
        kind = KINDS.get(known.kind) if known else None
        if kind is None or kind.unit.dimensionality != value.dimensionality:
            alike = (one for one in KINDS.values() if one.unit.dimensionality == value.dimensionality)
            kind = next((one for one in alike if "temperature" not in one.name), None)
        return in_display_units(value.to(kind.shown)) if kind else value

    def numeral(self, leaf):
        """How a leaf is printed."""
        if leaf.name in self.names:
            value = self.names[leaf.name].quantity
        else:
            value = self.given[leaf.name] if leaf.name in self.given else leaf.value
        if not isinstance(value, pint.Quantity):
            return _numeral(value, self.digits if leaf.name in self.given else None)
        if leaf.unit is not None:
            value = value.to(leaf.unit)
        elif self.reader.is_temperature(leaf):
            value = value.to(CELSIUS if not leaf.name or leaf.name in self.reader.in_celsius else KELVIN)
        numeral = _numeral(value, self.digits)
        return dataclasses.replace(numeral, unit=None) if leaf.bare else numeral

    def value(self, node):
        """The value of a node, from the printed numbers."""
        reader = self.reader
        leaf = reader.leaf(node)
        if leaf is not None:
            value = self.numeral(leaf).quantity
            offset = isinstance(value, pint.Quantity) and value.units == CELSIUS
            return value.to(KELVIN) if offset and leaf.unit is None else value
        parts = [self.value(part) for part in reader.parts(node)]
        if isinstance(node, ast.BinOp):
            left, right = parts
            return {"+": lambda: left + right, "-": lambda: left - right, "*": lambda: left * right,
                    "/": lambda: left / right, "^": lambda: left**right}[OPERATORS[type(node.op)][0]]()  # fmt: skip
        if isinstance(node, ast.UnaryOp):
            return -parts[0]
        if conversion := reader.conversion(node):
            value = parts[0] if isinstance(parts[0], pint.Quantity) else Quantity(parts[0])
            value = value.to(conversion[1])
            return value.magnitude if conversion[2] else value
        return reader.call(node)[1](*parts)


# ------------------------------------------------------------------------------------ three ways of writing


class _Text:
    """Plain text."""

    equals, pi = " = ", "π"
    spelled = {"+": "{} + {}", "-": "{} − {}", "*": "{} × {}", "/": "{} / {}", "^": "{}^{}"}
    brackets, negative = "({})", "−{}"
    calls = {"sqrt": "√({})", "abs": "|{}|", "ceil": "({} rounded up)", "floor": "({} rounded down)"}
    loose_fraction = True

    def name(self, name):
        known = words.names().get(name)
        return known.symbol if known else name.replace("_", " ").lower()

    def call(self, name, arguments):
        return self.calls.get(name, name + "({})").format(", ".join(arguments))

    def number(self, numeral):
        text = numeral.text + (f" × 10^{_minus(numeral.exponent)}" if numeral.exponent else "")
        unit = self.unit(numeral) if numeral.unit is not None else ""
        return text + (unit if unit.startswith("/") else " " + unit if unit else "")

    def unit(self, numeral):
        text = unit_text(numeral.unit)
        return text[1:] if text.startswith("1/") else text


class _Latex(_Text):
    """LaTeX for MathJax and for print."""

    equals, pi = " &= ", r"\pi"
    spelled = {"+": r"{} + {}", "-": r"{} - {}", "*": r"{} \times {}", "/": r"\frac{{{}}}{{{}}}", "^": "{}^{{{}}}"}
    brackets, negative = r"\left({}\right)", "-{}"
    calls = {"sqrt": r"\sqrt{{{}}}", "abs": r"\left|{}\right|", "ceil": r"\left\lceil {} \right\rceil",
             "floor": r"\left\lfloor {} \right\rfloor", "log10": r"\log_{{10}}\left({}\right)"}  # fmt: skip
    loose_fraction = False

    def name(self, name):
        known = words.names().get(name)
        return known.latex if known else r"\text{%s}" % name.replace("_", " ").lower()

    def call(self, name, arguments):
        return self.calls.get(name, "\\" + name + r"\left({}\right)").format(", ".join(arguments))

    def number(self, numeral):
        text = numeral.text.replace(",", "{,}").replace("−", "-")
        text += r" \times 10^{%d}" % numeral.exponent if numeral.exponent else ""
        return text + (self.unit(numeral) if numeral.unit is not None else "")

    def unit(self, numeral):
        text = re.sub(r"(?<=[^\W\d])(\d+)\b", r"^{\1}", super().unit(numeral))
        for sign, latex in {"%": r"\%", " ": r"\,", "Ω": r"\Omega ", "µ": r"\mu ", "°": r"{}^{\circ}"}.items():
            text = text.replace(sign, latex)
        return r"\mathrm{%s}" % text if text.startswith("/") else r"\,\mathrm{%s}" % text if text else ""


class _Speech(_Text):
    """Words, as a screen reader should say them."""

    equals, pi = " equals ", "pi"
    spelled = {"+": "{} plus {}", "-": "{} minus {}", "*": "{} times {}", "/": "{} divided by {}",
               "^": "{} to the power {}"}  # fmt: skip
    brackets, negative = "open bracket {} close bracket", "minus {}"
    calls = {"sqrt": "the square root of {}", "exp": "e to the power {}", "ln": "the natural logarithm of {}",
             "log10": "the logarithm of {}", "min": "the smallest of {}", "max": "the largest of {}",
             "abs": "the size of {}", "ceil": "{} rounded up", "floor": "{} rounded down", "sin": "the sine of {}",
             "cos": "the cosine of {}", "tan": "the tangent of {}"}  # fmt: skip
    irregular = {"foot": "feet", "inch": "inches", "hertz": "hertz", "siemens": "siemens", "henry": "henries",
                 "percent": "percent", "kilofoot": "thousand feet", "day": "days", "mil_inch": "mils", "USD": "dollars",
                 "degree_Celsius": "degrees Celsius", "degree_Fahrenheit": "degrees Fahrenheit",
                 "delta_degree_Celsius": "kelvins", "delta_degree_Fahrenheit": "Fahrenheit degrees",
                 "british_thermal_unit": "Btu", "btu_per_hour": "Btu per hour", "cubic_foot_per_minute":
                 "cubic feet per minute", "mile_per_hour": "miles per hour", "gallon_per_hour": "gallons per hour",
                 "pound_force_per_square_inch": "pounds per square inch", "inch_Hg": "inches of mercury",
                 "inch_H2O": "inches of water", "circular_mil": "circular mils"}  # fmt: skip

    def name(self, name):
        return name.replace("_", " ").lower()

    def call(self, name, arguments):
        inner = " and ".join(arguments)
        return self.calls[name].format(inner if len(arguments) > 1 or " " not in inner else self.brackets.format(inner))

    def number(self, numeral):
        text = numeral.text.replace("−", "minus ")
        text += f" times ten to the power {numeral.exponent}".replace("-", "minus ") if numeral.exponent else ""
        unit = self.unit(numeral) if numeral.unit is not None else ""
        return text + (" " + unit if unit else "")

    def unit(self, numeral):
        over, under = [], []
        for name, power in sorted(numeral.unit._units.items()):
            size = {1: "", 2: "square ", 3: "cubic "}.get(abs(power), "")
            (over if power > 0 else under).append((size, name))
        one = numeral.text == "1" and not numeral.exponent
        last = [size + (name.replace("_", " ") if one else self.irregular.get(name, name.replace("_", " ") + "s"))
                for size, name in over[-1:]]  # fmt: skip
        said = " ".join([size + name.replace("_", " ") for size, name in over[:-1]] + last)
        per = " and ".join(size + name.replace("_", " ") for size, name in under)
        return " per ".join(filter(None, [said, per])) if over else f"per {per}"


def _minus(number):
    return str(number).replace("-", "−")


def _write(reader, pen, node, numbers, symbols):
    """(text, how tightly it holds together) of a node: arguments as symbols, or everything as in a _Sum."""
    leaf = reader.leaf(node)
    if leaf is not None:
        if symbols and leaf.name in reader.known:
            return pen.name(leaf.name), ATOM
        if leaf.value == math.pi:
            return pen.pi, ATOM
        numeral = numbers.numeral(leaf)
        text = pen.number(numeral)
        if numeral.text.startswith("−"):
            return text, SIGN
        loose = numeral.exponent or numeral.unit is not None and "/" in unit_text(numeral.unit)
        return text, PRODUCT if loose else ATOM if numeral.unit is None else POWER
    parts = [_write(reader, pen, part, numbers, symbols) for part in reader.parts(node)]

    def held(part, least):
        return part[0] if part[1] >= least else pen.brackets.format(part[0])

    if isinstance(node, ast.BinOp):
        sign, level = OPERATORS[type(node.op)]
        if sign == "/" and not pen.loose_fraction:
            return pen.spelled[sign].format(parts[0][0], parts[1][0]), POWER
        left, right = {"+": (SUM, PRODUCT), "-": (SUM, PRODUCT), "*": (SIGN, PRODUCT), "/": (SIGN, POWER),
                       "^": (ATOM, ATOM)}[sign]  # fmt: skip
        if sign == "^" and not pen.loose_fraction:
            right = SUM  # a raised exponent needs no brackets
        return pen.spelled[sign].format(held(parts[0], left), held(parts[1], right)), min(level, parts[0][1] if parts[0][1] >= left else ATOM)
    if isinstance(node, ast.UnaryOp):
        return pen.negative.format(held(parts[0], PRODUCT)), SIGN
    if reader.conversion(node):
        return parts[0]
    return pen.call(reader.call(node)[0], [text for text, level in parts]), ATOM


# ------------------------------------------------------------------------------------ the page object


class Working:
    """What `working` gives: shown by a notebook as mathematics with a spoken description, elsewhere as text."""

    def __init__(self, function, values):
        self._function = function
        self._result = function(**values)  # refuses a wrong argument before anything else
        self._reader = _Reader(function)
        bound = inspect.signature(function).bind(**values)
        bound.apply_defaults()
        self._values = bound.arguments
        self._sum()  # an author hears of trouble here, not when the page is drawn

    def _given(self):
        """The arguments as a reader would write them: quantities in display units, plain kinds as floats."""
        given = {}
        for name, value in self._values.items():
            kind = self._reader.kinds.get(name)
            if kind and kind.plain:
                value = kind.check(value, name)
            given[name] = in_display_units(value) if isinstance(value, pint.Quantity) else value
        return given

    def _sum(self):
        """The calculation with the fewest digits whose printed numbers give the printed result."""
        reader, given = self._reader, self._given()
        kind = reader.kinds.get("return")
        exact = _Sum(reader, given, None).result
        if not _close(exact, self._result):
            raise AssertionError(f"{self._function.__name__}: the lines give {exact}, the function {self._result}")
        for result_digits in range(RESULT_DIGITS, 16):
            wanted = _result(self._result, kind, result_digits)
            for digits in range(max(ROUNDED_FROM, result_digits), 17):
                found = _Sum(reader, given, digits)
                if _result(found.result, kind, result_digits) == wanted:
                    return found, wanted
        raise AssertionError(f"{self._function.__name__}: no number of digits reproduces {self._result}")

    def _lines(self, pen):
        """The lines of the working in one way of writing: a list of (left side, right side)."""
        reader = self._reader
        numbers, result = self._sum()
        lines = []
        for place, (name, node) in enumerate(reader.lines):
            left = pen.name(name or self._result_name())
            symbols, filled = (_write(reader, pen, node, numbers, symbols)[0] for symbols in (True, False))
            numerals = numbers.lines[place] if name else self._steps(numbers, result)
            sides = [symbols, *([filled] if filled != symbols else []), *map(pen.number, numerals)]
            sides = [side for place, side in enumerate(sides) if side not in sides[:place]]
            lines += [(left if place == 0 else "", side) for place, side in enumerate(sides)]
        return lines

    def _steps(self, numbers, result):
        """The result as the units of the inputs give it, where that is another number, then as it is wanted."""
        raw = numbers.raw
        if not isinstance(raw, pint.Quantity) or raw.units in (KELVIN, result[0].unit):
            return result
        first = result[0].quantity
        same = not isinstance(first, pint.Quantity) and raw.units == ureg.Unit("")
        value = raw.to(result[0].unit or "").magnitude
        if same or not value or math.isclose(raw.magnitude, value, rel_tol=1e-9):
            return result
        shown = _numeral(raw, numbers.digits)
        return result if shown.exponent else [shown, *result]

    def _result_name(self):
        """What the result is called: its own name in the glossary, its kind's if no argument has it, or in words."""
        known, reader = words.names(), self._reader
        name, kind = reader.function.__name__, reader.kinds.get("return")
        if name in known:
            return name
        own = kind and known.get(kind.name.replace(" ", "_"))
        taken = [known[other].symbol for other in reader.known if other in known]
        return own.name if own and own.symbol not in taken else name

    def _where(self, pen):
        """What is given: a list of (symbol, value, name), an argument a line."""
        numbers, _ = self._sum()
        found = []
        for name, value in numbers.given.items():
            kind = self._reader.kinds.get(name)
            if kind and kind.percent:
                percent = Quantity(float(f"{numbers.numeral(Value(name)).number * 100:.15g}"), "percent")
                texts = [pen.number(_numeral(percent, 15))]
            else:
                texts = [pen.number(_numeral(value, numbers.digits))]
            if self._reader.is_temperature(Value(name)):  # a formula calculates in °C or K: say so beside the reader's own
                leaves = (leaf for _, line in self._reader.lines for leaf in self._reader.leaves(line) if leaf.name == name)
                texts += [pen.number(numbers.numeral(dataclasses.replace(leaf, bare=False))) for leaf in leaves]
            found.append((name, pen.equals.join(dict.fromkeys(texts))))
        return [(pen.name(name), text, name.replace("_", " ")) for name, text in found]

    def given(self):
        """What was put in: a list of (symbol, value, name) as text."""
        return self._where(_Text())

    def text(self):
        """The working as plain text, the same every time."""
        lines = self._lines(_Text())
        width = max(len(left) for left, right in lines)
        where = "".join(f"\n  {symbol} = {value}  ({name})" for symbol, value, name in self._where(_Text()))
        return "\n".join(f"{left:>{width}} = {right}" for left, right in lines) + ("\nwhere" + where if where else "")

    def latex(self):
        """The working as LaTeX: the lines aligned at their equals signs."""
        rows = r" \\[4pt] ".join(f"{left} &= {right}" for left, right in self._lines(_Latex()))
        return r"\begin{aligned} " + rows + r" \end{aligned}"

    def speech(self):
        """The working in words, for a screen reader."""
        said, pen = "", _Speech()
        for left, right in self._lines(pen):
            said += (". " if said and left else "; " if said else "") + (left + pen.equals if left else "equals ") + right
        said = re.sub(r" to the power 2\b(?!\.)", " squared", said)
        return said[:1].upper() + said[1:] + "."

    def html(self):
        """The working as HTML: mathematics with its words as a label, then what was put in."""
        given = ", ".join(f"<i>{_subscript(symbol)}</i> = {html.escape(value)} ({html.escape(name)})"
                          for symbol, value, name in self._where(_Text()))  # fmt: skip
        where = f'<p style="margin:8px 0 4px 0" class="mathjax_ignore">where {given}</p>' if given else ""
        return (f'<div class="cw-working" style="overflow-x:auto;max-width:100%;margin:8px 0" tabindex="0" role="group" '
                f'aria-label="Working"><div role="math" aria-label="{html.escape(self.speech())}">'
                f"\\({html.escape(self.latex())}\\)</div>{where}</div>")  # fmt: skip

    def __repr__(self):
        return self.text()

    def _repr_mimebundle_(self, include=None, exclude=None):
        return {"text/html": self.html(), "text/latex": f"$\\displaystyle {self.latex()}$", "text/plain": self.text()}


def _subscript(symbol):
    stem, _, below = symbol.partition("_")
    return html.escape(stem) + (f"<sub>{html.escape(below)}</sub>" if below else "")


def _close(one, other):
    if isinstance(other, pint.Quantity):
        one, other = (x.to_base_units().magnitude for x in (one.to(other.units), other))
    return math.isclose(one, other, rel_tol=1e-9, abs_tol=1e-12)
