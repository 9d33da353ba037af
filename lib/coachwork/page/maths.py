r"""The LaTeX that lessons and `working` use, read once and written as MathML (still edition) or typst (print).

`read` makes a list of nodes, each a tuple that begins with its kind; a command it does not know raises
UnknownMaths, so no formula is ever printed half. The kinds:

  ("number", "1.25")    ("name", "I")       one letter, slanted       ("upright", "kWh")   letters or words, upright
  ("sign", "+")         ("function", "ln")  ("space", "thin")         ("dot", nodes)       a dot above
  ("fraction", above, below)                ("root", nodes)           ("fence", "(", nodes, ")")   grown to its height
  ("script", base, below, above)            base, below, above are lists of nodes, the latter two may be empty
  ("rows", [(left, right), ...])            lines aligned at their signs
"""

import html
import re

SLANTED = dict(alpha="α", beta="β", gamma="γ", delta="δ", varepsilon="ε", epsilon="ε", eta="η", theta="θ", lambda_="λ",
               mu="µ", rho="ρ", sigma="σ", tau="τ", phi="ϕ", varphi="φ", omega="ω", pi="π")  # fmt: skip
SLANTED = {name.rstrip("_"): sign for name, sign in SLANTED.items()}
UPRIGHT = dict(Delta="Δ", Omega="Ω", Phi="Φ")
FUNCTIONS = ("ln", "exp", "min", "max", "sin", "cos", "tan", "log")
SIGNS = dict(times="×", cdot="·", le="≤", ge="≥", approx="≈", Rightarrow="⇒", sum="∑", circ="∘", pm="±")
SPACES = {",": "thin", ":": "medium", ";": "thick", " ": "word", "quad": "quad", "qquad": "wide"}
FENCES = {"(": "(", ")": ")", "[": "[", "]": "]", "|": "|", r"\lceil": "⌈", r"\rceil": "⌉", r"\lfloor": "⌊", r"\rfloor": "⌋"}
EMPTY = ("script", [], [], [])
TOKEN = re.compile(r"\s+|(\d+(?:\{,\}\d{3})*(?:\.\d+)?|\\[A-Za-z]+|\\.|[^\s\\])", re.S)


class UnknownMaths(ValueError):
    """For the lesson's author: a formula holds something that the editions cannot write."""


def read(latex):
    """The nodes of a formula. Raises UnknownMaths where it holds something not in this module's list."""
    reader = _Reader(latex)
    nodes = reader.nodes(end=None)
    return nodes


class _Reader:
    def __init__(self, latex):
        self.latex = latex
        self.tokens = [(found.group(1), found.start()) for found in TOKEN.finditer(latex) if found.group(1)]
        self.at = 0

    def refuse(self, what):
        return UnknownMaths(f"the editions cannot write {what} in the formula {self.latex!r}")

    def peek(self):
        return self.tokens[self.at][0] if self.at < len(self.tokens) else None

    def take(self, wanted=None):
        if self.at >= len(self.tokens) or wanted not in (None, self.peek()):
            raise self.refuse(f"{self.peek() or 'the end'} where {wanted or 'more'} should stand")
        self.at += 1
        return self.tokens[self.at - 1][0]

    def nodes(self, end, upright=False):
        """Nodes up to and with the token `end`."""
        found = []
        while self.peek() != end:
            if self.peek() is None:
                raise self.refuse(f"a missing {end}")
            node = self.node(found, upright)
            if upright and node[0] == "upright" and found and found[-1][0] == "upright":
                node = ("upright", found.pop()[1] + node[1])
            found.append(node)
        if end is not None:
            self.take(end)
        return found

    def group(self, upright=False):
        """What stands in braces, or one node."""
        if self.peek() == "{":
            self.take()
            return self.nodes("}", upright)
        return [self.node([], upright)]

    def raw(self):
        """The text in braces as it stands."""
        start = self.tokens[self.at][1] + 1
        self.take("{")
        while self.peek() != "}":
            if self.take()[0] in "{\\":
                raise self.refuse("a brace inside of \\text")
        end = self.tokens[self.at][1]
        self.take()
        return self.latex[start:end]

    def node(self, before, upright):
        token = self.take()
        if token in "^_":
            return self.script(before, token)
        if token == "{":
            inner = self.nodes("}", upright)
            return inner[0] if len(inner) == 1 else ("script", inner, [], [])  # a script without marks is a mere group
        if token[0].isdigit():
            return ("number", token.replace("{,}", ","))
        if token.isalpha() and len(token) == 1:
            return ("upright" if upright else "name", token)
        if token in "°'":
            return ("upright", "°" if token == "°" else "′")
        if token in "+-=/(),:.|[]<>":
            return ("sign", token)
        if token == r"\%":
            return ("upright", "%")
        if token[0] == "\\" and token[1:] in SPACES:
            return ("space", SPACES[token[1:]])
        return self.command(token[1:] if token[0] == "\\" else "", token)

    def command(self, name, token):
        if name == "text":
            return ("upright", self.raw())
        if name == "mathrm":
            inner = self.group(upright=True)
            return inner[0] if len(inner) == 1 else ("script", inner, [], [])
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
        if name in FUNCTIONS:
            return ("function", name)
        raise self.refuse(token)

    def fence(self, end):
        left = self.take()
        inner = self.nodes(end)
        right = self.take()
        if left not in FENCES or right not in FENCES:
            raise self.refuse(f"the brackets {left} {right}")
        return ("fence", FENCES[left], inner, FENCES[right])

    def script(self, before, mark):
        base = [before.pop()] if before else []
        base = [] if base == [EMPTY] else base
        below, above = [], []
        if base and base[0][0] == "script" and (base[0][2] if mark == "^" else base[0][3]) and not (base[0][3] if mark == "^" else base[0][2]):
            _, base, below, above = base[0]
        if mark == "^":
            above = self.group()
        else:
            below = self.group()
        if not base and above == [("sign", "∘")]:
            return ("upright", "°")
        return ("script", base, below, above)

    def rows(self):
        if self.raw() != "aligned":
            raise self.refuse("a \\begin other than of aligned")
        rows, side, line = [], [], []
        while True:
            token = self.peek()
            if token in (r"\\", "&", r"\end"):
                self.take()
                line.append(side)
                side = []
                if token == "&":
                    continue
                if len(line) > 2:
                    raise self.refuse("more than one & in a line")
                rows.append((line[0], line[1]) if len(line) == 2 else ([], line[0]))
                line = []
                if token == r"\end":
                    if self.raw() != "aligned":
                        raise self.refuse("an \\end other than of aligned")
                    return ("rows", rows)
                if self.peek() == "[":  # a gap between lines such as [4pt]
                    while self.take() != "]":
                        pass
            elif token is None:
                raise self.refuse("a missing \\end")
            else:
                side.append(self.node(side, False))


# ------------------------------------------------------------------------------------------- MathML

WIDTHS = dict(thin="0.167em", medium="0.222em", thick="0.278em", word="0.25em", quad="1em", wide="2em")


def mathml(latex, block=False, label=""):
    """A formula as MathML. block : on a line of its own. label : in words, for whoever does not see it."""
    said = f' aria-label="{html.escape(label)}"' if label else ""
    shown = ' display="block"' if block else ""
    return f'<math xmlns="http://www.w3.org/1998/Math/MathML"{shown}{said}>{_row(read(latex))}</math>'


def _row(nodes):
    inner = "".join(map(_mathml, nodes))
    return inner if len(nodes) == 1 else f"<mrow>{inner}</mrow>"


def _mathml(node):
    kind, *parts = node
    if kind == "number":
        return f"<mn>{parts[0]}</mn>"
    if kind == "name":
        return f"<mi>{parts[0]}</mi>"
    if kind == "upright":
        text = html.escape(parts[0])
        if len(text) == 1 and text.isalpha():
            return f'<mi mathvariant="normal">{text}</mi>'
        return f"<mtext>{text.replace(' ', chr(160))}</mtext>"
    if kind == "function":
        return f"<mi>{parts[0]}</mi><mo>&#x2061;</mo>"
    if kind == "sign":
        sign = {"-": "−"}.get(parts[0], html.escape(parts[0]))
        return f'<mo stretchy="false">{sign}</mo>'
    if kind == "space":
        return f'<mspace width="{WIDTHS[parts[0]]}"></mspace>'
    if kind == "fraction":
        return f"<mfrac>{_row(parts[0])}{_row(parts[1])}</mfrac>"
    if kind == "root":
        return f"<msqrt>{_row(parts[0])}</msqrt>"
    if kind == "dot":
        return f'<mover accent="true">{_row(parts[0])}<mo>˙</mo></mover>'
    if kind == "fence":
        left, inner, right = parts
        return f'<mrow><mo stretchy="true" form="prefix">{left}</mo>{_row(inner)}<mo stretchy="true" form="postfix">{right}</mo></mrow>'
    if kind == "script":
        base, below, above = map(_row, parts)
        if parts[1] and parts[2]:
            return f"<msubsup>{base}{below}{above}</msubsup>"
        return f"<msub>{base}{below}</msub>" if parts[1] else f"<msup>{base}{above}</msup>" if parts[2] else base
    rows = "".join(f"<mtr><mtd>{_row(left)}</mtd><mtd>{_row(right)}</mtd></mtr>" for left, right in parts[0])
    return f'<mtable displaystyle="true" class="aligned">{rows}</mtable>'


# ------------------------------------------------------------------------------------------- typst

NAMED = {"+": "plus", "-": "minus", "=": "eq", "/": "slash", "(": "paren.l", ")": "paren.r", ",": "comma", ":": "colon",
         ".": "dot.basic", "|": "bar.v", "[": "bracket.l", "]": "bracket.r", "<": "lt", ">": "gt", "×": "times", "·": "dot.op",
         "≤": "lt.eq", "≥": "gt.eq", "≈": "approx", "⇒": "arrow.r.double", "∑": "sum", "∘": "compose", "±": "plus.minus",
         "⌈": "ceil.l", "⌉": "ceil.r", "⌊": "floor.l", "⌋": "floor.r"}  # fmt: skip
GAPS = dict(thin="thin", medium="med", thick="thick", word="space.nobreak", quad="quad", wide="wide")


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
    kind, *parts = node
    if kind in ("number", "upright"):
        return _quoted(parts[0])
    if kind == "name":
        return parts[0]
    if kind == "function":
        return parts[0]
    if kind == "sign":
        return NAMED[parts[0]]
    if kind == "space":
        return GAPS[parts[0]]
    if kind == "fraction":
        return f"frac({_run(parts[0])}, {_run(parts[1])})"
    if kind == "root":
        return f"sqrt({_run(parts[0])})"
    if kind == "dot":
        return f"dot({_run(parts[0])})"
    if kind == "fence":
        return f"lr({NAMED[parts[0]]} {_run(parts[1])} {NAMED[parts[2]]})"
    if kind == "script":
        base, below, above = map(_run, parts)
        marks = (f", b: {below}" if parts[1] else "") + (f", t: {above}" if parts[2] else "")
        return f"attach({base}{marks})" if marks else base
    return " \\\n".join(f"{_run(left)} & {_run(right)}" for left, right in parts[0])


# ------------------------------------------------------------------------------------------- words

SPOKEN = {"+": "plus", "-": "minus", "=": "equals", "/": "over", "(": "open bracket", ")": "close bracket", "×": "times",
          "·": "times", "≤": "is at most", "≥": "is at least", "≈": "is about", "⇒": "so", "∑": "the sum of", "±": "plus or minus",
          "⌈": "rounded up", "⌊": "rounded down", "|": "bar", ",": ",", ":": ":", ".": ".", "∘": "degrees", "[": "open bracket",
          "]": "close bracket", "<": "is less than", ">": "is more than", "⌉": "", "⌋": ""}  # fmt: skip
LETTERS = {sign: name for name, sign in {**SLANTED, **UPRIGHT}.items()}


def spoken(latex):
    """A formula in words, for whoever does not see it."""
    return _said(read(latex))


def _said(nodes):
    return " ".join(filter(None, map(_spoken, nodes)))


def _spoken(node):
    kind, *parts = node
    if kind in ("number", "function"):
        return parts[0]
    if kind in ("name", "upright"):
        return LETTERS.get(parts[0], parts[0]).replace("varepsilon", "epsilon").replace("varphi", "phi")
    if kind == "sign":
        return SPOKEN[parts[0]]
    if kind == "space":
        return "," if parts[0] in ("quad", "wide") else ""
    if kind == "fraction":
        return f"{_said(parts[0])} over {_said(parts[1])}"
    if kind == "root":
        return f"the square root of {_said(parts[0])}"
    if kind == "dot":
        return f"{_said(parts[0])} dot"
    if kind == "fence":
        return f"{SPOKEN[parts[0]]} {_said(parts[1])} {SPOKEN[parts[2]]}".strip()
    if kind == "script":
        power = _said(parts[2])
        power = "squared" if power == "2" else power and f"to the power {power}"
        return " ".join(filter(None, map(str.strip, (_said(parts[0]), _said(parts[1]), power))))
    return ". ".join(f"{_said(left)} {_said(right)}".strip() for left, right in parts[0])
