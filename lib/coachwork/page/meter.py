"""The practice meter and the fault hunt: one panel on a practice board of `commissioning`.

The learner sets the board, chooses an instrument, puts it somewhere and reads. Every act costs minutes. In a
hunt a fault is hidden; once it is named (or told), the panel shows the learner's line and a short one.
"""

from coachwork import commissioning
from coachwork.page.cautions import cautions
from coachwork.page.pictures import PIXELS, Sheet
from coachwork.page.pictures.commissioning import BoardDiagram, in_words, lettered, numbered
from coachwork.page.questions import learner_seed
from coachwork.page.widgets import Panel, button, check, choice, fold, group, words
from coachwork.quantities import Quantity, show

NONE_YET = "Nothing read yet."
VERDICTS = {
    "wrong kind": "Not it. Something else is wrong, or nothing is wrong there. A part was changed for "
                  "nothing: {cost}.",
    "wrong place": "Such a fault there is, but not at {place}: the far end was blamed. A part was changed "
                   "for nothing: {cost}.",
}


def practice_meter(board):
    """A sound board with a meter, the last line of a cell:
    `practice_meter(commissioning.low_voltage_board(mine))`."""
    return Meter(board)


def fault_hunt(board, seed=None):
    """A board with a hidden fault, the last line of a cell. seed : which one; the learner's own number unless
    given."""
    return Hunt(board, learner_seed() if seed is None else seed)


class Meter(Panel):
    """A practice board and its instruments. Made by `practice_meter`; `Hunt` hides a fault in it."""

    fault = None

    def __init__(self, board, title="The practice meter", lead=""):
        self.board, self.drawing = board, BoardDiagram(board)
        right, wrong = ("volts, AC", "volts, DC") if board.alternating else ("volts, DC", "volts, AC")
        names = {commissioning.VOLTS: right, commissioning.OTHER_VOLTS: wrong,
                 commissioning.AMPS: "amps, by probes in line",
                 commissioning.CLAMP: "clamp, AC" if board.alternating else "clamp, DC"}  # fmt: skip
        self.instruments = {names.get(one, one): one for one in commissioning.INSTRUMENTS
                            if board.monitor or one != commissioning.MONITOR}  # fmt: skip
        closed = {name: [one for one in board.controls if one in on] for name, on in board.states.items()}
        self.states = {f"{name} (on: {', '.join(on) or 'nothing'})": name for name, on in closed.items()}
        self.points = {f"{number} {point}": point for number, point in numbered(board).items()}
        self.letters = {f"{letter} {name}": (letter, name) for letter, name in lettered(board).items()}
        self.kept, self._sheet = {}, None
        self._forget_all()
        width, height = (round(inches * PIXELS) for inches in self.drawing.size)
        lead = lead or "All is sound here: learn what sound looks like."
        if board.alternating:
            lead += " Practice only: on a real coach this is live work for a licensed electrician."
        super().__init__(self._all_parts(next(iter(self.instruments))), title, lead, frame=[width, height])
        self.result = NONE_YET
        self.alt = self._draw()[1]

    def _forget_all(self):
        self.taken, self.told, self.spent, self.state = [], [], Quantity(0.0, "min"), None

    # ---- the parts

    def _all_parts(self, instrument):
        return [
            group("set", "Board and meter", choice("state", "State of the board", list(self.states)),
                  choice("instrument", "Instrument", list(self.instruments))),
            *self._where(self.instruments[instrument]),
            button("read", "Read"),
            check("sound", "Show what a sound board would read", help="as your worksheet would"),
            *self._naming(),
            group("log", f"Readings, {show(self.spent)} spent",
                  *(words(f"log-{place}", text) for place, text in self.told[::-1])),
            *self._ending(),
            fold("board", "The board in words", in_words(self.board)),
        ]  # fmt: skip

    def _where(self, instrument):
        if instrument == commissioning.MONITOR:
            return []
        if instrument == commissioning.CLAMP:
            return [group("jaws", "Where", choice("clamp", "Jaws round", list(self.letters)))]
        first, second, *_ = self.points
        return [group("probes", "Where", choice("red", "Red probe on", list(self.points), first),
                      choice("black", "Black probe on", list(self.points), second))]  # fmt: skip

    def _naming(self):
        return []

    def _ending(self):
        return []

    # ---- what the learner does

    def changed(self, settings):
        self._redraw()
        self.spoken = ""

    def pressed(self, name, settings):
        if name == "read":
            self._read()
        self._redraw()

    def _redraw(self):
        self.kept.update(self.settings)
        self.settings = dict(self.kept)
        self.put(self._all_parts(self.settings["instrument"]))
        self.picture, self.alt = self._draw()

    def _draw(self):
        if not self._sheet or self._sheet.ratio != self.ratio:
            self._sheet = Sheet(self.drawing, self.ratio)
        chosen = self.settings
        where = dict(red=self.points.get(chosen.get("red"), ""),
                     black=self.points.get(chosen.get("black"), ""),
                     clamp=self.letters.get(chosen.get("clamp"), ("", ""))[0])  # fmt: skip
        alt = self._sheet.update(**where)[1]
        return self._sheet.png(self.dragged), alt

    def _measurement(self):
        chosen = self.settings
        instrument = self.instruments[chosen["instrument"]]
        at = () if instrument == commissioning.MONITOR else (self.letters[chosen["clamp"]][1],) \
            if instrument == commissioning.CLAMP else (self.points[chosen["red"]],
                                                       self.points[chosen["black"]])  # fmt: skip
        return commissioning.Measurement(self.states[chosen["state"]], instrument, at)

    def _show(self, one, fault):
        return commissioning.read(self.board, self.board.states[one.state], one.instrument, one.at, fault)

    def _read(self):
        one = self._measurement()
        found = self._show(one, self.fault)
        act = one.instrument.split()[-1] if one.instrument in (commissioning.CLAMP, commissioning.OHMS) else \
            "monitor" if one.instrument == commissioning.MONITOR else "volts"  # fmt: skip
        cost = commissioning.minutes(act)
        if one.state != self.state:
            cost, self.state = cost + commissioning.minutes("state"), one.state
        self.spent = (self.spent + cost).to("min")
        self.taken.append(one)
        told = f"{self._words(one)}: {found.text}"
        if self.settings["sound"]:
            told += f" (sound: {self._show(one, None).text})"
        self.told.append((len(self.told) + 1, f"{len(self.told) + 1}. {told}"))
        self.result = f"It shows {found.text}. {show(self.spent)} spent.{self._of_amps(one, found)}"
        self.notes = {"read": ["note", found.text]}
        if found.caution:
            caution = cautions()[found.caution]
            false = (" What it shows is false: volts that were there already count as ohms; a real meter may "
                     "show OL." if one.instrument == commissioning.OHMS else "")  # fmt: skip
            self.notes |= {"instrument": ["error", f"Stop: {caution.title}. {caution.says}{false}"]}
        self.spoken = " ".join([self.result, *(text for name, (_, text) in self.notes.items()
                                               if name == "instrument")])

    @staticmethod
    def _of_amps(one, found):
        """What to know of amps by probes."""
        if one.instrument != commissioning.AMPS:
            return ""
        return " A new fuse is in for the next reading." if found.value is None else \
            "" if found.caution else " Across a closed part the meter only shares the current."  # fmt: skip

    def _words(self, one):
        """A measurement in the words of the panel."""
        name = next(label for label, own in self.instruments.items() if own == one.instrument)
        number = {point: label for label, point in self.points.items()}
        letter = {place: label for label, (_, place) in self.letters.items()}
        where = f" red on {number[one.at[0]]}, black on {number[one.at[1]]}" if len(one.at) == 2 else \
            f" round {letter[one.at[0]]}" if one.at else ""  # fmt: skip
        return f"{name}{where}, {one.state}"

    def plain(self):
        """The panel in words, with the board."""
        return "\n".join([super().plain(), self._draw()[1], *in_words(self.board)])


class Hunt(Meter):
    """A hidden fault to find. Made by `fault_hunt`."""

    def __init__(self, board, seed):
        self.seed, self.fault, self.over = seed, commissioning.hidden_fault(board, seed), ""
        super().__init__(board, "Fault hunt", self._complaint())

    def _complaint(self):
        return (f"The crew says: \"{self.fault.complaint}\" Find the place and name the fault. "
                f"A wrong name costs {self._cost()}.")  # fmt: skip

    @staticmethod
    def _cost():
        return show(commissioning.minutes("answer").to("min"))

    def _naming(self):
        known = commissioning.faults(self.board)
        kinds, places = (list(dict.fromkeys(found))
                         for found in ([one.kind for one in known], sorted(one.place for one in known)))
        return [group("name", "Name it", choice("kind", "What", kinds), choice("place", "Where", places),
                      button("answer", "That is it"), button("tell", "Tell me"))]  # fmt: skip

    def _ending(self):
        if not self.over:
            return []
        left = commissioning.suspects_left(self.board, self.fault, self.taken)
        yours = [f"{place}. {self._words(one)}: {self._show(one, self.fault).text}. {_suspects(suspects)}"
                 for place, (one, suspects) in enumerate(zip(self.taken, left), 1)]  # fmt: skip
        steps = commissioning.line_of_reasoning(self.board, self.fault)
        short = [f"{place}. {self._words(one.measurement)}: {self._show(one.measurement, self.fault).text}, "
                 f"where a sound board shows "
                 f"{self._show(one.measurement, None).text}. {_suspects(one.left)}" for place,
                 one in enumerate(steps, 1)]  # fmt: skip
        time = sum((one.time for one in steps), Quantity(0.0, "min"))
        lines = {"yours": (f"Your line, {show(self.spent)}", yours or [NONE_YET]),
                 "short": (f"A short line, {show(time)}", short)}
        return [group("debrief", "What it was", words("verdict", self.over),
                      *(group(name, title, *(words(f"{name}-{place}", text) for place,
                                             text in enumerate(texts)))
                        for name, (title, texts) in lines.items()),
                      button("another", "Hide another fault"))]  # fmt: skip

    def pressed(self, name, settings):
        if name == "another":
            self._hide_another()
        elif name in ("answer", "tell") and not self.over:
            self._judge(name, settings)
        elif name in ("answer", "tell"):
            self.result = self.spoken = "It is named already. Hide another fault to go on."
        super().pressed(name, settings)
        if name == "another":
            self.go_to("state")

    def _judge(self, name, settings):
        verdict = "told" if name == "tell" else commissioning.judge(self.fault, settings["kind"],
            settings["place"])
        if verdict in VERDICTS:
            self.spent = (self.spent + commissioning.minutes("answer")).to("min")
            self.result = self.spoken = VERDICTS[verdict].format(place=settings["place"], cost=self._cost())
            self.notes = {"kind" if verdict == "wrong kind" else "place": ["wrong", self.result]}
            return
        self.over = f"{self.fault.kind}, {self.fault.place}. {self.fault.why} To mend: {self.fault.mend}"
        said = "Right: " if verdict == "right" else "It was: "
        self.notes = {"kind": ["right", "Right."]} if verdict == "right" else {}
        debrief = f"{show(self.spent)} spent. The debrief stands below the readings."
        self.result = f"{said}{self.fault.kind}, {self.fault.place}. {debrief}"
        self.spoken = f"{said}{self.over} {debrief}"

    def _hide_another(self):
        before = self.fault
        while self.fault is before:
            self.seed += 1
            self.fault = commissioning.hidden_fault(self.board, self.seed)
        self.over, self.notes = "", {}
        self._forget_all()
        self.lead = self._complaint() + (self.lead[self.lead.index(" Practice only"):]
                                         if self.board.alternating else "")
        self.result = NONE_YET
        self.spoken = self.lead


def _suspects(left):
    if len(left) == 1:
        one = left[0]
        return f"Only one is left: {one if isinstance(one, str) else f'{one.kind}: {one.place}'}."
    return f"Still possible: {len(left)}."
