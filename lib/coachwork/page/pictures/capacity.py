"""Pictures of the capacity lesson: voltage at rest, from label to use, the bank with its leads, modules lost."""

import functools
import math

import numpy

from coachwork import capacity, conductor
from coachwork.page.pictures import COLOURS, HATCHES, Picture
from coachwork.quantities import Q, floats, show

MOST_MODULES = 6
REST_VOLTS = Q(13.0, "V")
SIDES = ("plus", "minus")


def _round_up(value):
    """The next of 1, 1.5, 2, 3, 5, 7 times a power of ten: limits that move in few steps keep moves quick."""
    power = 10.0 ** math.floor(math.log10(max(value, 1e-9)))
    return next(top * power for top in (1, 1.5, 2, 3, 5, 7, 10) if value <= 0.98 * top * power)


class RestVoltage(Picture):
    """Voltage at rest against state of charge for three chemistries, with a line at the charge asked for."""

    title = "Voltage at rest against state of charge"

    def build(self, fig):
        levels = numpy.linspace(0, 1, 101)
        axes = fig.subplots()
        axes.set(xlim=(0, 100), ylim=(11, 14), xlabel="State of charge in %", ylabel="Voltage of a 12 V battery at rest")
        for name, style, colour in zip(capacity.chemistries(), ("-", "--", "-."), ("blue", "vermilion", "green")):
            axes.plot(levels * 100, [self._volts(name, level) for level in levels], style, color=COLOURS[colour], label=name)
        fig.legend(loc="outside lower center", ncols=3)
        self.line = axes.axvline(50, color="#222222", lw=1.2, ls=":")
        (self.marks,) = axes.plot([50] * 3, [12] * 3, "o", color="black")
        self.moving = [self.line, self.marks]

    @staticmethod
    def _volts(name, level):
        cells = capacity.chemistry(name).cells_for_12_volt
        return floats(capacity.open_circuit_voltage(name, level, cells), "V")

    def update(self, charge):
        volts = [self._volts(name, charge / 100) for name in capacity.chemistries()]
        self.line.set_xdata([charge, charge])
        self.marks.set_data([charge] * 3, volts)
        told = ", ".join(f"{name} {value:.2f} V" for name, value in zip(capacity.chemistries(), volts))
        lower = [self._volts(name, max(0.0, charge / 100 - 0.1)) for name in capacity.chemistries()]
        drops = [high - low for high, low in zip(volts, lower)]
        words = (
            f"At {charge:g} %: {told}. Ten percent less shows as "
            + ", ".join(f"{1000 * drop:.0f} mV" for drop in drops)
            + "."
        )
        alt = (
            "Three curves from 0 to 100 % of charge: lithium iron phosphate rises steeply up to 10 %, then is nearly flat "
            f"near 13.2 V; AGM and flooded lead-acid rise steadily from 11.7 and 12.0 V. A line marks {charge:g} %: {told}."
        )
        return words, alt


class FromLabelToUse(Picture):
    """What must stand on the label, and what each factor takes of it until the need is left."""

    title = "From the label to what can be used"
    names = ("label", "cold", "fast discharge", "age", "left in", "use")

    def __init__(self, module_energy=Q(3072, "Wh")):
        self.module_energy = module_energy

    def build(self, fig):
        axes = fig.subplots()
        axes.set(xlim=(-0.6, 5.6), ylim=(0, 10), ylabel="Energy in kWh")
        axes.set_xticks(range(6), ["on the\nlabel", "lost to\ncold", "lost to fast\ndischarge", "lost to\nage",
                                   "left in for\nlong life", "can be\nused"])  # fmt: skip
        axes.grid(axis="x", visible=False)
        colours = ["sky", "blue", "purple", "orange", "yellow", "green"]
        self.bars = axes.bar(range(6), [1] * 6, width=0.72, edgecolor="black", color=[COLOURS[name] for name in colours])
        for bar, hatch in zip(self.bars, ("", *HATCHES[1:5], "")):
            bar.set_hatch(hatch)
        self.axes = axes
        self.moving = list(self.bars)

    def update(self, energy, days, chemistry, depth, end, temperature, hours):
        facts = capacity.chemistry(chemistry)
        need = capacity.autonomy_energy(Q(energy, "Wh"), days)
        cold = capacity.temperature_factor(chemistry, Q(temperature, "degF"))
        fast = capacity.rate_factor(facts.rated_hours, Q(hours, "h"), facts.peukert_exponent)
        factors = depth / 100, end / 100, cold, fast
        label = capacity.rated_energy(need, capacity.size_factor(chemistry, *factors))
        steps = capacity.steps_from_label(label, chemistry, *factors)
        taken = {step.what: floats(step.taken, "kWh") for step in steps}
        top, use = floats(label, "kWh"), floats(need, "kWh")
        self.limits(self.axes, y=(0, _round_up(top)))
        low = top
        for name, bar in zip(self.names, self.bars):
            height = {"label": top, "use": use}.get(name, taken.get(name, 0.0))
            low = low - height if name not in ("label", "use") else 0.0 if name == "use" else top
            bar.set_y(0.0 if name in ("label", "use") else low)
            bar.set_height(height)
        words = f"{show(label)} must stand on the label, {top / use:.2f} times the {show(need)} to be used"
        if facts.is_lithium:  # the module is a lithium one
            count = capacity.strings_needed(label, self.module_energy, 1)
            words += f": {count:.0f} module{'s' * (count > 1)} of {show(self.module_energy)}"
        words += "."
        lost = ", ".join(f"{name} {show(Q(value, 'kWh'))}" for name, value in taken.items())
        alt = f"Bars that step down from {show(label)} on the label to {show(need)} that can be used; in between: {lost}."
        return words, alt


@functools.cache
def _glyph(letter, points):
    """Outline of a letter at a size in points: vertices, codes, and how far the next letter stands."""
    from matplotlib.font_manager import FontProperties
    from matplotlib.textpath import TextPath, text_to_path

    font = FontProperties(family="DejaVu Sans", size=points)
    advance = text_to_path.get_text_width_height_descent(letter + "0", font, False)[0]
    advance -= text_to_path.get_text_width_height_descent("0", font, False)[0]
    if letter == " ":  # has no outline
        return (), (), advance
    path = TextPath((0, 0), letter, prop=font)
    return path.vertices, path.codes, advance


class Numbers:
    """Many short texts as one patch: text is what costs in a picture, and outlines of letters are kept.

    The axes fill the figure, so that a point of type has a known size in their units.
    """

    points = 12.5

    def __init__(self, axes):
        from matplotlib.patches import PathPatch
        from matplotlib.path import Path

        width, height = axes.figure.get_size_inches() * 72
        (left, right), (low, high) = axes.get_xlim(), axes.get_ylim()
        self.scale = numpy.array([(right - left) / width, (high - low) / height])
        self.path, self.empty = Path, Path(numpy.zeros((0, 2)))
        self.patch = axes.add_patch(PathPatch(self.empty, fc="#222222", lw=0, zorder=4))

    def write(self, texts):
        """Show these (x, y, text), each centred on its place in the units of the axes."""
        vertices, codes = [], []
        for x, y, text in texts:
            glyphs = [_glyph(letter, self.points) for letter in text]
            at = -sum(advance for _, _, advance in glyphs) / 2
            for outline, marks, advance in glyphs:
                if len(outline):
                    vertices.append((outline + (at, -0.36 * self.points)) * self.scale + (x, y))
                    codes.append(marks)
                at += advance
        self.patch.set_path(self.path(numpy.concatenate(vertices), numpy.concatenate(codes)) if codes else self.empty)


class BankLeads(Picture):
    """Modules side by side with the current in each lead, for three ways to take the current off."""

    title = "How the modules share the current"
    size = (8, 4.4)

    def __init__(self, internal_resistance=Q(3, "mohm"), lead_size="2/0"):
        self.internal_resistance = internal_resistance
        self.per_length = conductor.resistance_per_length(lead_size, Q(104, "degF"))

    def build(self, fig):
        from matplotlib.patches import Rectangle

        fig.set_layout_engine("none")
        axes = fig.add_axes((0, 0, 1, 1), xlim=(-1.2, 6.35), ylim=(-1.1, 2.1))
        axes.set_axis_off()
        axes.spines[:].set_visible(False)
        for number in range(MOST_MODULES):
            axes.add_patch(Rectangle((number - 0.36, 0), 0.72, 1, fill=False, ec="#999999", ls=":", zorder=0.5))
            axes.text(number, 0.72, f"no. {number + 1}", ha="center", va="center", zorder=4)
        self.modules = [axes.add_patch(Rectangle((number - 0.36, 0), 0.72, 1, ec="black", lw=1.2))
                        for number in range(MOST_MODULES)]  # fmt: skip

        def line(side, width):
            colour = COLOURS["vermilion" if side == "plus" else "black"]
            return axes.plot([], [], "-", color=colour, lw=width, solid_capstyle="butt")[0]

        self.leads = {side: [line(side, 2) for _ in range(MOST_MODULES)] for side in SIDES}
        self.bars = {side: line(side, 9) for side in SIDES}
        self.ends = {side: line(side, 7.5) for side in SIDES}
        self.numbers = Numbers(axes)
        self.moving = [*self.modules, *self.leads["plus"], *self.leads["minus"], *self.bars.values(), *self.ends.values(),
                       self.numbers.patch]  # fmt: skip

    def update(self, modules, take_off, length, joint, current):
        count = round(modules)
        lead = capacity.lead_resistance(Q(length, "ft"), self.per_length, Q(joint, "mohm"))
        branches = [capacity.Branch(REST_VOLTS, self.internal_resistance)] * count
        sharing = capacity.share(branches, take_off, lead, Q(current, "A"))
        amps = [floats(one, "A") for one in sharing.currents]
        hardest = [number + 1 for number, value in enumerate(amps) if value > 0.995 * max(amps)]
        hardest = [] if len(hardest) == count else hardest
        for number, box in enumerate(self.modules):
            box.set_visible(number < count)
            box.set_facecolor(COLOURS["orange"] if number + 1 in hardest else "#dceaf5")
        texts = [(number, 0.32, f"{value:.1f} A") for number, value in enumerate(amps)]
        for side, level, outward in (("plus", 1.0, 1), ("minus", 0.0, -1)):
            texts += self._draw_side(side, level, outward, count, take_off, sharing, current)
        self.numbers.write(texts)
        told = ", ".join(f"{value:.1f}" for value in amps)
        numbers = " and ".join(map(str, hardest)) + (" gives" if len(hardest) == 1 else " give")
        words = f"Each lead with its joints is {show(lead)}. " + (
            f"The modules give {told} A: no. {numbers} {100 * (sharing.unevenness - 1):.0f} % above an equal share."
            if hardest
            else f"The modules share alike: {told} A."
        )
        alt = (
            f"{count} module{'s side by side' * (count > 1)}, drawn with their leads; take-off: {take_off}; "
            f"{current:g} A altogether; module currents from left to right {told} A."
        )
        return words, alt

    def _draw_side(self, side, level, outward, count, take_off, sharing, current):
        """Draw one side's leads; returns its texts as (x, y, text)."""
        barred = take_off == "bus bars"
        rail = level + outward * (0.5 if barred else 0.22)
        texts = []
        for number, line in enumerate(self.leads[side]):
            name = f"{side} lead {number + 1}"
            line.set_visible(name in sharing.leads)
            if name not in sharing.leads:
                continue
            amps = floats(sharing.leads[name], "A")
            if barred:
                line.set_data([number, number], [level, rail])
                texts.append((number + 0.36, level + outward * 0.25, f"{amps:.0f} A"))
            else:
                line.set_data([number - 1, number - 1, number, number], [level, rail, rail, level])
                texts.append((number - 0.5, rail + outward * 0.17, f"{amps:.0f} A"))
            line.set_linewidth(1.5 + 6 * abs(amps) / max(current, 1))
        self.bars[side].set_visible(barred)
        self.bars[side].set_data([-0.4, count - 0.6], [rail, rail])
        at_last = side == "minus" and take_off == "diagonal"
        start, edge = (count - 1, 6.3) if at_last else (0, -1.1)
        path = [rail, rail] if barred else [level, rail + outward * 0.4, rail + outward * 0.4]
        self.ends[side].set_data([start, edge] if barred else [start, start, edge], path)
        texts.append(((5.8 if at_last else -0.62), path[-1] + outward * 0.22, f"{side} {current:.0f} A"))
        return texts


class ModulesLost(Picture):
    """What the hardest-worked module carries, and what energy is left, as modules are lost."""

    title = "When modules are lost"
    most = 3

    def __init__(self, arrangement, level, module_fuse=None):
        self.arrangement, self.level, self.module_fuse = arrangement, level, module_fuse

    def build(self, fig):
        current, energy = fig.subplots(1, 2)
        for axes in (current, energy):
            axes.set_xticks(range(self.most), ["whole", "one lost", "two lost"])
            axes.grid(axis="x", visible=False)
            axes.set_xlim(-0.6, self.most - 0.4)
        limit = floats(self.arrangement.module.continuous, "A")
        current.set(ylim=(0, 2 * limit), ylabel="Hardest-worked module in A")
        current.axhline(limit, color="black", ls="--", lw=1.6, zorder=3)
        title = f"Dashed: module limit {limit:.0f} A"
        if self.module_fuse is not None:
            fuse = floats(self.module_fuse, "A")
            current.axhline(fuse, color="black", ls=":", lw=2, zorder=3)
            title += f"\nDotted: fuse {fuse:.0f} A"
        current.set_title(title)
        energy.set_title("Energy left")
        energy.set(ylabel="Energy by the label in kWh")
        self.currents = current.bar(range(self.most), [1] * self.most, width=0.7, edgecolor="black", color=COLOURS["blue"])
        self.energies = energy.bar(range(self.most), [1] * self.most, width=0.7, edgecolor="black", color=COLOURS["green"])
        self.axes = energy
        self.moving = [*self.currents, *self.energies]

    def update(self, modules, take_off, power):
        from dataclasses import replace

        count = round(modules)
        bank = replace(self.arrangement, parallel=count, take_off=take_off, reserve=0)
        losses = [
            capacity.after_losing(bank, lost, Q(power, "W"), self.level, self.module_fuse)
            for lost in range(min(count, self.most))
        ]
        self.limits(self.axes, y=(0, _round_up(floats(bank.energy, "kWh"))))
        told = []
        for place, (bar, left) in enumerate(zip(self.currents, self.energies)):
            loss = losses[place] if place < len(losses) else None
            amps = 0.0 if loss is None or loss.current is None else floats(loss.current, "A")
            bar.set_height(amps)
            exceeded = loss is not None and not loss.carries
            bar.set_facecolor(COLOURS["vermilion" if exceeded else "blue"])
            bar.set_hatch("//" if exceeded else "")
            left.set_height(floats(loss.rated_energy, "kWh") if loss else 0.0)
            if loss is not None:
                carried = f"{amps:.0f} A" if loss.current is not None else "not carried"
                told.append(f"{place} lost {carried}, {show(loss.rated_energy.to('kWh'))}")
        first = next((loss for loss in losses if loss.exceeded), None)
        words = (
            f"{show(Q(power, 'W'))} are carried with up to {len(losses) - 1} lost."
            if first is None
            else f"{f'With {first.lost} lost' if first.lost else 'Whole'}, too much is asked: {first.exceeded[0]}."
        )
        fuse = "" if self.module_fuse is None else f" and its fuse of {show(self.module_fuse)}"
        alt = (
            f"Two rows of bars for a bank of {count}: current of the hardest-worked module against its limit of "
            f"{show(bank.module.continuous)}{fuse}, and energy left: " + "; ".join(told) + "."
        )
        return words, alt
