r"""The LaTeX that lessons and `working` use, read once and written as MathML (still edition), typst (print) or words.

`read` makes a list of nodes, each a tuple that begins with its kind; a command it does not know raises
UnknownMaths, so no formula is ever printed half. The kinds:

  ("number", "1.25")    ("name", "I")       one letter, slanted       ("upright", "kWh")   letters or words, upright
  ("sign", "+")         ("function", "ln")  ("space", ",")            ("dot", nodes)       a dot above
  ("fraction", above, below)                ("root", nodes)           ("fence", "(", nodes, ")")   grown to its height
  ("script", base, below, above)            base, below, above are lists of nodes; with neither mark it is a mere group
  ("rows", [(left, right), ...])            lines aligned at their signs

A symbol more is one row of a table below, a command more one line in `_Reader.command` and in each of the three writers.
"""

import html
import re

SLANTED = {"alpha": "α", "beta": "β", "gamma": "γ", "delta": "δ", "epsilon": "ε", "varepsilon": "ε", "eta": "η", "theta": "θ",
           "lambda": "λ", "mu": "µ", "rho": "ρ", "sigma": "σ", "tau": "τ", "phi": "ϕ", "varphi": "φ", "omega": "ω", "pi": "π"}  # fmt: skip
UPRIGHT = {"Delta": "Δ", "Omega": "Ω", "Phi": "Φ", "%": "%"}
LETTERS = {sign: name.removeprefix("var") for name, sign in {**SLANTED, **UPRIGHT}.items()}
FUNCTIONS = ("ln", "exp", "min", "max", "sin", "cos", "tan", "log")
SIGNS = {"times": "×", "cdot": "·", "le": "≤", "ge": "≥", "approx": "≈", "Rightarrow": "⇒", "sum": "∑", "circ": "∘", "pm": "±",
         "lceil": "⌈", "rceil": "⌉", "lfloor": "⌊", "rfloor": "⌋"}  # fmt: skip
FENCES = "()[]|⌈⌉⌊⌋"
SIGN = {  # how typst names a sign, and how it is said
    "+": ("plus", "plus"), "-": ("minus", "minus"), "=": ("eq", "equals"), "/": ("slash", "over"), "±": ("plus.minus", "plus or minus"),
    "×": ("times", "times"), "·": ("dot.op", "times"), "∑": ("sum", "the sum of"), "∘": ("compose", "degrees"),
    "≤": ("lt.eq", "is at most"), "≥": ("gt.eq", "is at least"), "<": ("lt", "is less than"), ">": ("gt", "is more than"),
    "≈": ("approx", "is about"), "⇒": ("arrow.r.double", "so"), ",": ("comma", ","), ":": ("colon", ":"), ".": ("dot.basic", "."),
    "(": ("paren.l", "open bracket"), ")": ("paren.r", "close bracket"), "[": ("bracket.l", "open bracket"),
    "]": ("bracket.r", "close bracket"), "|": ("bar.v", "bar"), "⌈": ("ceil.l", "rounded up"), "⌉": ("ceil.r", ""),
    "⌊": ("floor.l", "rounded down"), "⌋": ("floor.r", ""),
}  # fmt: skip
SPACE = {  # the width of a space, its name in typst, and how it is said
    ",": ("0.167em", "thin", ""), ":": ("0.222em", "med", ""), ";": ("0.278em", "thick", ""), " ": ("0.25em", "space.nobreak", ""),
    "quad": ("1em", "quad", ","), "qquad": ("2em", "wide", ","),
}  # fmt: skip
TOKEN = re.compile(r"\s+|(\d+(?:\{,\}\d{3})*(?:\.\d+)?|\\[A-Za-z]+|\\.|[^\s\\])", re.S)


class UnknownMaths(ValueError):
    """For the lesson's author: a formula holds something that the editions cannot write."""


def read(latex):
    """The nodes of a formula. Raises UnknownMaths where it holds something not in this module's list."""
    return _Reader(latex).nodes(None)


class _Reader:
    def __init__(self, latex):
        self.latex = latex
        self.tokens = [(found.group(1), found.start()) for found in TOKEN.finditer(latex) if found.group(1)] + [(None, len(latex))]
        self.at = 0

    def refuse(self, what):
        return UnknownMaths(f"the editions cannot write {what} in the formula {self.latex!r}")

    def peek(self):
        return self.tokens[self.at][0]

    def take(self, wanted=None):
        if self.peek() is None or wanted not in (None, self.peek()):
            raise self.refuse(f"{self.peek() or 'the end'} where {wanted or 'more'} should stand")
        self.at += 1
        return self.tokens[self.at - 1][0]

    def nodes(self, *ends, upright=False):
        """Nodes up to one of the tokens `ends`, and past it; None is the end of the formula."""
        found = []
        while self.peek() not in ends:
            if self.peek() is None:
                raise self.refuse(f"a missing {ends[-1]}")
            node = self.node(found, upright)
            if upright and node[0] == "upright" and found and found[-1][0] == "upright":
                node = ("upright", found.pop()[1] + node[1])
            found.append(node)
        self.at += 1
        return found

    def group(self, upright=False):
        """What stands in braces, or one node."""
        if self.peek() != "{":
            return [self.node([], upright)]
        self.take()
        return self.nodes("}", upright=upright)

    def raw(self):
        """The text in braces as it stands."""
        start = self.tokens[self.at][1] + 1
        self.take("{")
        while self.peek() != "}":
            if self.take()[0] in "{\\":
                raise self.refuse("a brace inside of \\text")
        self.take()
        return self.latex[start : self.tokens[self.at - 1][1]]

    def node(self, before, upright):
        token = self.take()
        if token in "^_":
            return self.script(before, "_^".index(token))
        if token == "{":
            return _one(self.nodes("}", upright=upright))
        if token[0].isdigit():
            return ("number", token.replace("{,}", ","))
        if token.isalpha() and len(token) == 1:
            return ("upright" if upright else "name", token)
        if token in "°'":
            return ("upright", token.replace("'", "′"))
        if token in SIGN and token.isascii():
            return ("sign", token)
        if token[0] == "\\":
            return self.command(token[1:])
        raise self.refuse(token)

    def command(self, name):
        if name == "text":
            return ("upright", self.raw())
        if name == "mathrm":
            return _one(self.group(upright=True))
        if name == "frac":
            return ("fraction", self.group(), self.group())
        if name == "sqrt":
            return ("root", self.group())
        if name == "dot":
            return ("dot", self.group())
        if name in ("left", "bigl"):
            return self.fence({"left": r"\right", "bigl": r"\bigr"}[name])
        if name == "begin":
            return self.rows()
        for kind, known in (("name", SLANTED), ("upright", UPRIGHT), ("sign", SIGNS)):
            if name in known:
                return (kind, known[name])
        if name in FUNCTIONS or name in SPACE:
            return ("function" if name in FUNCTIONS else "space", name)
        raise self.refuse(f"\\{name}")

    def fence(self, end):
        left, inner, right = self.take(), self.nodes(end), self.take()
        signs = [SIGNS.get(one[1:], one) for one in (left, right)]
        if not all(one in FENCES for one in signs):
            raise self.refuse(f"the brackets {left} {right}")
        return ("fence", signs[0], inner, signs[1])

    def script(self, before, place):
        """A mark below (place 0) or above (1); a second one joins the first."""
        base, marks = [before.pop()] if before else [], [[], []]
        if base and base[0][0] == "script" and not base[0][2 + place]:
            _, base, *marks = base[0]
        marks[place] = self.group()
        if not base and marks == [[], [("sign", "∘")]]:
            return ("upright", "°")
        return ("script", base, *marks)

    def rows(self):
        if self.raw() != "aligned":
            raise self.refuse("a \\begin other than of aligned")
        rows, line, end = [], [], ""
        while end != r"\end":
            line.append(self.nodes("&", r"\\", r"\end"))
            end = self.tokens[self.at - 1][0]
            if end == "&":
                continue
            if len(line) > 2:
                raise self.refuse("more than one & in a line")
            rows.append(([], *line)[-2:])
            line = []
            if end == r"\\" and self.peek() == "[":  # a gap between lines such as [4pt]
                while self.take() != "]":
                    pass
        if self.raw() != "aligned":
            raise self.refuse("an \\end other than of aligned")
        return ("rows", rows)


def _one(nodes):
    """Some nodes as one."""
    return nodes[0] if len(nodes) == 1 else ("script", nodes, [], [])


# ------------------------------------------------------------------------------------------- MathML


def mathml(latex, block=False, label=""):
    """A formula as MathML. block : on a line of its own. label : in words, for whoever does not see it."""
    said = f' aria-label="{html.escape(label)}"' if label else ""
    shown = ' display="block"' if block else ""
    nodes = read(latex)
    return " ".join(f'<math xmlns="http://www.w3.org/1998/Math/MathML"{shown}{said}>{_row(one)}</math>'
                    for one in ([nodes] if block else _at_commas(nodes)))  # fmt: skip


def _at_commas(nodes):
    """Several formulas in a line, each by itself with its comma: a browser breaks the line only between two."""
    found, depth = [[]], 0
    for kind, *parts in nodes:
        found[-1].append((kind, *parts))
        if kind == "sign":
            depth += (parts[0] in "([") - (parts[0] in ")]")
            if parts[0] == "," and depth == 0:
                found.append([])
    return [one for one in found if one] or [nodes]


def _row(nodes):
    inner = "".join(map(_mathml, nodes))
    return inner if len(nodes) == 1 else f"<mrow>{inner}</mrow>"


def _mathml(node):
    match node:
        case ("number", text):
            return f"<mn>{text}</mn>"
        case ("name", text):
            return f"<mi>{text}</mi>"
        case ("upright", text) if len(text) == 1 and text.isalpha():
            return f'<mi mathvariant="normal">{text}</mi>'
        case ("upright", text):
            return f"<mtext>{html.escape(text).replace(' ', chr(160))}</mtext>"
        case ("function", text):
            return f"<mi>{text}</mi><mo>&#x2061;</mo>"
        case ("sign", text):
            return f'<mo stretchy="false">{html.escape(text.replace("-", "−"))}</mo>'
        case ("space", text):
            return f'<mspace width="{SPACE[text][0]}"></mspace>'
        case ("fraction", above, below):
            return f"<mfrac>{_row(above)}{_row(below)}</mfrac>"
        case ("root", inner):
            return f"<msqrt>{_row(inner)}</msqrt>"
        case ("dot", inner):
            return f'<mover accent="true">{_row(inner)}<mo>˙</mo></mover>'
        case ("fence", left, inner, right):
            return f'<mrow><mo stretchy="true" form="prefix">{left}</mo>{_row(inner)}<mo stretchy="true" form="postfix">{right}</mo></mrow>'
        case ("script", base, [], []):
            return _row(base)
        case ("script", base, below, []):
            return f"<msub>{_row(base)}{_row(below)}</msub>"
        case ("script", base, [], above):
            return f"<msup>{_row(base)}{_row(above)}</msup>"
        case ("script", base, below, above):
            return f"<msubsup>{_row(base)}{_row(below)}{_row(above)}</msubsup>"
        case ("rows", rows):
            lines = "".join(f"<mtr><mtd>{_row(left)}</mtd><mtd>{_row(right)}</mtd></mtr>" for left, right in rows)
            return f'<mtable displaystyle="true" class="aligned">{lines}</mtable>'


# ------------------------------------------------------------------------------------------- typst


def typst(latex):
    """A formula in typst's own mathematics: words of typst and quoted text, nothing of the formula's own."""
    return _run(read(latex))


def _quoted(text):
    return '"' + text.replace("\\", "\\\\").replace('"', '\\"') + '"'


def _run(nodes):
    """Pieces in a row; beside quoted text a blank would be printed as one, elsewhere it only parts two words."""
    written = ""
    for piece in map(_typst, nodes):
        written += piece if not written or '"' in (written[-1], piece[0]) else " " + piece
    return written or '""'


def _typst(node):
    match node:
        case ("number" | "upright", text):
            return _quoted(text)
        case ("name" | "function", text):
            return text
        case ("sign", text):
            return SIGN[text][0]
        case ("space", text):
            return SPACE[text][1]
        case ("fraction", above, below):
            return f"frac({_run(above)}, {_run(below)})"
        case ("root", inner):
            return f"sqrt({_run(inner)})"
        case ("dot", inner):
            return f"dot({_run(inner)})"
        case ("fence", left, inner, right):
            return f"lr({SIGN[left][0]} {_run(inner)} {SIGN[right][0]})"
        case ("script", base, below, above):
            marks = (f", b: {_run(below)}" if below else "") + (f", t: {_run(above)}" if above else "")
            return f"attach({_run(base)}{marks})" if marks else _run(base)
        case ("rows", rows):
            return " \\\n".join(f"{_run(left)} & {_run(right)}" for left, right in rows)


# ------------------------------------------------------------------------------------------- words


def spoken(latex):
    """A formula in words, for whoever does not see it."""
    return _said(read(latex))


def _said(nodes):
    return " ".join(filter(None, map(_spoken, nodes)))


def _spoken(node):
    match node:
        case ("number" | "function", text):
            return text
        case ("name" | "upright", text):
            return LETTERS.get(text, text).strip()
        case ("sign", text):
            return SIGN[text][1]
        case ("space", text):
            return SPACE[text][2]
        case ("fraction", above, below):
            return f"{_said(above)} over {_said(below)}"
        case ("root", inner):
            return f"the square root of {_said(inner)}"
        case ("dot", inner):
            return f"{_said(inner)} dot"
        case ("fence", left, inner, right):
            return f"{SIGN[left][1]} {_said(inner)} {SIGN[right][1]}".strip()
        case ("script", base, below, above):
            power = {"": "", "2": "squared"}.get(_said(above), f"to the power {_said(above)}")
            return " ".join(filter(None, (_said(base), _said(below), power)))
        case ("rows", rows):
            return ". ".join(f"{_said(left)} {_said(right)}".strip() for left, right in rows)
