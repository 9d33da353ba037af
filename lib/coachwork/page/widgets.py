"""The controls of a lesson and the panel that shows them: one front end for benches, questions and forms.

A part of a panel is a plain dict made by `slider`, `choice`, `text`, `button`, ...; a panel is a list of
parts. The front end (`front.js`) sends the values of all parts, and for a button its name, one message at a
time: while one is being answered, only the latest values wait. So a fast drag never queues.
"""

import math
from pathlib import Path

import anywidget
import traitlets

from coachwork.page import units
from coachwork.quantities import (
    InputError,
    Quantity,
    display_system,
    in_display_units,
    number_text,
    on_display_change,
    read_quantity,
    set_display_system,
    unit_text,
)

HERE = Path(__file__).parent

# ------------------------------------------------------------------------------- parts


def slider(name, label, value, *, low, high, step, unit="", help=""):
    """A slider with a number box. The reader sees it in their own system where the unit has a US/SI pair.

    name : the argument of the picture's `update` that it sets, a float in `unit`.
    label : what it is, in words. value, low, high, step : in `unit`. unit : such as "W", "ft", "degF" or "%".
    """
    place = f"slider {name}"
    if not low <= value <= high or low >= high:
        raise InputError(place, f"value {value} with the range {low} to {high} is given", "a value inside a range")
    if not step > 0:
        raise InputError(place, f"step {step} is given", "a step above 0", "step=1")
    if unit:
        read_quantity(f"1 {unit}", place)
    return _part("slider", name, label, float(value), help, low=low, high=high, step=step, unit=unit)


def choice(name, label, options, value=None, *, help=""):
    """One of several, from a list that folds out. options : texts. value : the first one unless given."""
    return _chosen("choice", name, label, options, options[0] if value is None else value, help)


def radio(name, label, options, value=None, *, help=""):
    """One of several, all in sight. options : texts. value : none is chosen unless given."""
    return _chosen("radio", name, label, options, value, help)


def check(name, label, value=False, *, help=""):
    """Yes or no: `update` gets True or False."""
    return _part("check", name, label, bool(value), help)


def text(name, label, value="", *, help="", enter="", press="", lines=1):
    """A line of text, or several `lines`. enter : name of the button that the Enter key presses; with `press`, a
    button of that name and these words stands beside it."""
    return _part("text", name, label, str(value), help, enter=enter, press=press, lines=lines)


def button(name, label, *, help=""):
    """A button: the panel's `pressed(name)` is called."""
    return _part("button", name, label, None, help)


def group(name, label, *parts, columns=False):
    """Parts that belong together, in a frame with a name; in columns where there is room for more than one."""
    return dict(kind="group", name=name, label=label, parts=list(parts), columns=columns)


def fold(name, label, lines):
    """A list of sentences behind a line that opens it: what most readers need not see and some need to hear."""
    return dict(kind="fold", name=name, label=label, lines=list(lines))


def words(name, text):
    """A paragraph between the controls."""
    return dict(kind="words", name=name, label=text)


def _chosen(kind, name, label, options, value, help):
    options = [str(option) for option in options]
    if value is not None and value not in options:
        raise InputError(f"{kind} {name}", f'"{value}" is given', "one of " + ", ".join(options))
    return _part(kind, name, label, value, help, options=options)


def _part(kind, name, label, value, help, **more):
    return dict(kind=kind, name=name, label=label, value=value, help=help, **more)


def leaves(parts):
    """The parts that hold a value, groups opened: name to part."""
    found = {}
    for part in parts:
        if part["kind"] == "group":
            found.update(leaves(part["parts"]))
        elif "value" in part and part["kind"] != "button":
            found[part["name"]] = part
    return found


# ------------------------------------------------------------------------------- the reader's units


def _pair(part):
    """(unit as stated, unit as shown) of a slider; None where they are the same."""
    if part["kind"] != "slider" or not part["unit"]:
        return None
    stated = read_quantity(f"1 {part['unit']}").units
    shown = in_display_units(Quantity(1.0, stated)).units
    return None if shown == stated else (stated, shown)


def to_shown(part, value):
    """A value of a part as the reader sees it."""
    pair = _pair(part)
    return float(Quantity(value, pair[0]).to(pair[1]).magnitude) if pair else value


def from_shown(part, value):
    """What the front end sent to the part's own value, held to its range; refuses what cannot be one."""
    kind, given = part["kind"], value
    if kind == "slider":
        if isinstance(value, bool) or not isinstance(value, (int, float)) or not math.isfinite(value):
            raise InputError(part["label"], f'"{given}" is not a number', "a number", number_text(part["value"]))
        if pair := _pair(part):
            value = float(Quantity(value, pair[1]).to(pair[0]).magnitude)
        return float(min(max(value, part["low"]), part["high"]))
    if kind in ("choice", "radio") and value not in [*part["options"], None]:
        raise InputError(part["label"], f'"{given}" is given', "one of " + ", ".join(part["options"]))
    if kind == "check":
        return bool(value)
    return value


def shown(part):
    """A part as the front end draws it: ranges and steps in the reader's system, in round numbers."""
    if part["kind"] == "group":
        return dict(part, parts=[shown(one) for one in part["parts"]])
    if part["kind"] != "slider":
        return dict(part)  # a copy: what is changed in a part later must be seen as a change
    unit = unit_text(read_quantity(f"1 {part['unit']}").units) if part["unit"] else ""
    pair = _pair(part)
    if not pair:
        return dict(part, unit=unit)
    low, high = to_shown(part, part["low"]), to_shown(part, part["high"])
    step = _round_step((high - low) * part["step"] / (part["high"] - part["low"]))
    low, high = round(low / step) * step, round(high / step) * step
    return dict(part, low=low, high=high, step=step, unit=unit_text(pair[1]))


def _round_step(step):
    """The nearest of 1, 2, 5 times a power of ten, not above the step."""
    power = 10.0 ** math.floor(math.log10(step))
    return next(round(nice * power, 12) for nice in (5, 2, 1) if nice * power <= step * (1 + 1e-9))


def value_text(part, value):
    """A part's value in words: `60 W`, `yes`, `DC`."""
    if part["kind"] == "check":
        return "yes" if value else "no"
    if part["kind"] == "slider":
        unit = shown(part)["unit"]
        return f"{number_text(to_shown(part, value))} {unit}".strip()
    return str(value) if value else "not chosen"


# ------------------------------------------------------------------------------- the panel


class Panel(anywidget.AnyWidget):
    """Parts, and below or beside them a picture and a line of words; the base of benches, questions, forms.

    A subclass says in `changed(settings)` and `pressed(name, settings)` what a new setting or a button does;
    settings are the values of all parts by name. There it may set

    - `result`: the line of words;  - `spoken`: what a screen reader is told (once, politely);
    - `notes`: `{part: [mark, text]}`, words beside a part; mark is right, wrong, error or note;
    - `put(parts)`: other parts; - `settings[name] = ...`, then `self.show_settings()`;
    - `go_to(name)`: the keyboard moves to that part; - `picture` (PNG bytes) and `alt`.

    `plain()` is its text/plain: the same in every run.
    """

    _esm = HERE / "front.js"
    _css = HERE / "front.css"
    title = traitlets.Unicode().tag(sync=True)
    lead = traitlets.Unicode().tag(sync=True)
    parts = traitlets.List().tag(sync=True)
    values = traitlets.Dict().tag(sync=True)
    notes = traitlets.Dict().tag(sync=True)
    result = traitlets.Unicode().tag(sync=True)
    spoken = traitlets.Unicode().tag(sync=True)
    frame = traitlets.List().tag(sync=True)  # width and height of the picture in CSS pixels, or empty
    picture = traitlets.Bytes().tag(sync=True)
    alt = traitlets.Unicode().tag(sync=True)
    goal = traitlets.List().tag(sync=True)  # the part to which the keyboard moves, and a count
    answered = traitlets.List().tag(sync=True)  # the view and number of the message just answered

    dragged = False  # whether a quick, coarser picture is asked for: a hand is dragging, the sharp one comes after

    def __init__(self, parts, title="", lead="", **traits):
        self.ratio = _last["ratio"]
        super().__init__(title=title, lead=lead, **traits)
        self.put(parts)
        self.on_msg(self._answer)
        self._forget = on_display_change(self.show_units)

    def changed(self, settings):
        """New settings came from the front end (or a view wants its first answer)."""

    def pressed(self, name, settings):
        """The button `name` was pressed."""

    def plain(self):
        """The panel in words, for a page without a kernel."""
        lines = [f"{part['label']}: {value_text(part, self.settings[name])}" for name, part in leaves(self._own).items()]
        return "\n".join(filter(None, [self.title, self.lead, *lines, self.result]))

    def put(self, parts):
        """Show these parts; values of parts that stay are kept."""
        old = getattr(self, "settings", {})
        self._own = list(parts)
        self.settings = {name: old.get(name, part["value"]) for name, part in leaves(self._own).items()}
        self.show_units()

    def go_to(self, name):
        """Move the keyboard to a part, in the view that is being answered."""
        self.goal = [name, len(self.goal) and self.goal[1] + 1]

    def show_units(self):
        """Show parts and values in the reader's system; every view on the page then asks for its picture anew."""
        with self.hold_sync():
            self.show_settings()
            self.parts = [shown(part) for part in self._own]

    def show_settings(self):
        """Bring the controls on the page to `self.settings`."""
        self.values = {name: to_shown(part, self.settings[name]) for name, part in leaves(self._own).items()}

    def close(self):
        self._forget()
        super().close()

    def _answer(self, _, message, buffers):
        parts = leaves(self._own)
        with self.hold_sync():  # everything goes to the page in one message, also after an error
            self.answered = [message["view"], message["number"]]
            try:
                self.ratio = _last["ratio"] = min(max(float(message["ratio"]), 0.25), 3.0)
                self.dragged = bool(message.get("draft"))
                for name, value in message["values"].items():
                    if name in parts:
                        self.settings[name] = from_shown(parts[name], value)
                self.values = dict(message["values"])
                if message["press"]:
                    self.pressed(message["press"], self.settings)
                else:
                    self.changed(self.settings)
            except InputError as error:
                self.result = self.spoken = str(error)
            except Exception as error:
                self.result = self.spoken = f"This did not work ({type(error).__name__}: {error})."
                raise

    def _repr_mimebundle_(self, **kwargs):
        bundle, *rest = super()._repr_mimebundle_(**kwargs)
        return dict(bundle, **{"text/plain": self.plain()}), *rest


_last = {"ratio": 1.0}  # screen pixels to a stated pixel of a picture, of the page that spoke last


class UnitSwitch(Panel):
    """The switch between US and SI units for everything on the page, kept for the pages opened later."""

    def __init__(self):
        super().__init__([radio("system", "Units on this page", ["US", "SI"], display_system())])

    def changed(self, settings):
        if settings["system"] == display_system():
            return  # a view asks for its first answer: the reader has chosen nothing
        set_display_system(settings["system"])
        try:
            units.keep()
        except OSError as error:
            self.result = self.spoken = f"Switched on this page, but the choice could not be kept: {error}."

    def show_units(self):
        self.settings["system"] = display_system()
        super().show_units()


def unit_switch():
    """A switch between US and SI units for everything on the page."""
    return UnitSwitch()
