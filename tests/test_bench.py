"""Benches: the quick picture equals the full one, costs a quarter of it, and the panel keeps its word."""

import io
import statistics
import subprocess
import sys
import time

import numpy
import pytest
from PIL import Image

import _speed_browser as speed
from _lessons import faults
from coachwork.page import bench, choice, slider, unit_switch, widgets
from coachwork.page.pictures import Picture, Sheet, halved, still
from coachwork.quantities import InputError, display_system, set_display_system


@pytest.fixture(autouse=True)
def us_units():
    set_display_system("US")
    yield
    set_display_system("US")


class Level(Picture):
    """A small picture in which everything happens: text over data, a line, limits that may change."""

    title = "Level"

    def build(self, fig):
        self.ax = fig.add_subplot(xlim=(0, 10), ylim=(0, 10), xlabel="x", ylabel="y")
        (self.line,) = self.ax.plot([0, 10], [0, 0], label="level", lw=6)
        (self.other,) = self.ax.plot([0, 10], [0, 0], label="other", zorder=5)
        self.ax.text(5, 5, "fixed words", ha="center")
        self.ax.axhline(4, color="0.3", zorder=4)
        self.ax.legend(loc="upper right")
        self.moving = [self.line, self.other, self.ax.set_title("")]

    def update(self, height):
        self.line.set_ydata([height, height])
        self.other.set_ydata([height / 2, height])
        self.moving[2].set_text(f"{height:g} high")
        return f"The level is {height:g}.", f"A line at {height:g}."


def read_png(data):
    return numpy.asarray(Image.open(io.BytesIO(data)))


def grey_levels_apart(sheet):
    """The largest difference of the quick picture from a full redraw, in grey levels."""
    quick = sheet.pixels().astype(int)
    return abs(quick - sheet.full_pixels()).max()


@pytest.mark.parametrize("ratio", [1, 1.5, 2])
def test_quick_picture_is_the_full_one(ratio):
    sheet = Sheet(Level(), ratio)
    for height in (2, 5, 5.0, 9.7):
        sheet.update(height=height)
        assert grey_levels_apart(sheet) <= 1
    first = sheet.pixels().copy()
    assert first.shape == (384 * ratio, 768 * ratio, 4)
    sheet.update(height=1)
    assert (sheet.pixels() != first).any()


@pytest.mark.parametrize(
    "change",
    [
        lambda ax: ax.set_ylim(0, 20),
        lambda ax: ax.set_yticks([1, 5, 9]),
        lambda ax: ax.set_xlabel("another word"),
        lambda ax: ax.grid(False),
        lambda ax: ax.get_figure().set_dpi(120),
        lambda ax: ax.get_figure().set_size_inches(6, 3),
    ],
)
def test_kept_background_is_thrown_away_when_it_changes(change):
    sheet = Sheet(Level())
    sheet.update(height=3)
    before = sheet.pixels().copy()
    change(sheet.picture.ax)
    after = sheet.pixels()
    assert after.shape != before.shape or (after != before).any()
    assert grey_levels_apart(sheet) <= 1


def test_kept_background_is_kept_otherwise():
    sheet = Sheet(Level())
    sheet.update(height=3)
    sheet.pixels()
    [kept] = sheet.kept.values()
    sheet.update(height=8)
    for top in (10, 12, 10, 12, 10):
        sheet.picture.limits(sheet.picture.ax, y=(0, top))
        sheet.pixels()
    assert len(sheet.kept) == 2 and kept in sheet.kept.values()
    assert grey_levels_apart(sheet) <= 1


def test_a_background_of_old_words_is_never_used_again():
    sheet = Sheet(Level())
    sheet.update(height=3)
    for top, words in ((8, "before"), (9, "before"), (9, "after"), (8, "after")):
        sheet.picture.limits(sheet.picture.ax, y=(0, top))
        if sheet.picture.ax.get_ylabel() != words:
            sheet.picture.ax.set_ylabel(words)
        sheet.pixels()
        again = Sheet(Level())
        again.update(height=3)
        again.picture.ax.set(ylim=(0, top), ylabel=words)
        assert abs(sheet.pixels().astype(int) - again.pixels()).max() <= 1


def test_kept_backgrounds_are_few():
    sheet = Sheet(Level())
    for top in range(10, 40):
        sheet.update(height=3)
        sheet.picture.limits(sheet.picture.ax, y=(0, top))
        sheet.pixels()
    assert len(sheet.kept) <= 13


def test_png_is_what_was_drawn():

    sheet = Sheet(Level())
    sheet.update(height=3)
    read = read_png(sheet.png())
    assert (read == sheet.pixels()[..., :3]).all()
    assert Image.open(io.BytesIO(still(Level(), ratio=2, height=3))).size == (1536, 768)


def kernel_share(make, many_settings):
    """Median time of a move in the kernel, as a share of a full draw with matplotlib's own PNG."""
    sheet, full = Sheet(make()), Sheet(make())
    shares = []
    for settings in many_settings:
        begun = time.process_time()
        sheet.update(**settings)
        sheet.png()
        quick = time.process_time() - begun
        begun = time.process_time()
        full.update(**settings)
        full.canvas.print_png(io.BytesIO())
        shares.append(quick / (time.process_time() - begun))
    return statistics.median(shares[1:])


def test_a_move_costs_a_quarter_of_a_full_draw():
    assert kernel_share(speed.Standard, [dict(v=v) for v in range(25)]) <= 0.25


# ------------------------------------------------------------------------------- the panel


def answer(panel, press="", number=1, ratio=1, draft=False, **values):
    """What the front end would send, answered by the panel."""
    values = dict(panel.values, **values)
    message = dict(view="here", number=number, press=press, values=values, ratio=ratio, draft=draft)
    panel._answer(panel, message, [])
    assert panel.answered == ["here", number]


def level_bench(**more):
    return bench(Level(), slider("height", "Height", 3, low=0, high=10, step=1, **more), predict="Up or down?")


class Broken(Level):
    """A picture that fails for one of its settings."""

    def update(self, what):
        if what == "broken":
            return 1 / 0, ""
        return f"It is {what}.", "A line at 0."


def broken_bench():
    return bench(Broken(), choice("what", "What", ["whole", "broken"]))


def test_a_move_is_answered_by_picture_words_and_alt():
    one = level_bench()
    assert one.picture == b""  # nothing is drawn before somebody looks
    answer(one, height=7)
    assert one.picture.startswith(b"\x89PNG") and one.result == "The level is 7." and one.alt == "A line at 7."
    assert one.spoken == one.result
    small = len(one.picture)
    answer(one, number=2, ratio=2, height=7)
    assert one.picture[16:24] == (1536).to_bytes(4) + (768).to_bytes(4) and len(one.picture) > small
    assert one.frame == [768, 384]


def test_a_hand_that_drags_gets_a_quarter_of_the_pixels_and_then_all():
    one = level_bench()
    answer(one, ratio=2, draft=True, height=7)
    assert one.picture[16:24] == (768).to_bytes(4) + (384).to_bytes(4) and one.result == "The level is 7."
    quick = read_png(one.picture)
    answer(one, number=2, ratio=2, height=7)
    sharp = read_png(one.picture)
    assert sharp.shape == (768, 1536, 3)
    means = sharp.reshape(384, 2, 768, 2, 3).mean((1, 3))
    assert abs(quick - means).max() <= 1.5  # grey levels: a half is cut off three times


def test_a_draft_of_odd_size_leaves_out_the_last_line():
    pixels = numpy.arange(5 * 7 * 4, dtype=numpy.uint8).reshape(5, 7, 4)
    assert (halved(pixels)[0, 0] == pixels[:2, :2].mean((0, 1))).all() and halved(pixels).shape == (2, 3, 4)


def test_text_of_a_bench_is_the_same_every_time():
    texts = {level_bench()._repr_mimebundle_()[0]["text/plain"] for _ in range(2)}
    assert texts == {"Level\nPredict first: Up or down?\nHeight: 3\nThe level is 3."}
    assert "application/vnd.jupyter.widget-view+json" in level_bench()._repr_mimebundle_()[0]


@pytest.mark.parametrize("sent, kept", [(99, 10), (-1, 0), (4.4, 4.4)])
def test_values_are_held_to_the_range(sent, kept):
    one = level_bench()
    answer(one, height=sent)
    assert one.settings["height"] == kept


@pytest.mark.parametrize("sent", ["7", None, True, float("nan")])
def test_a_value_that_is_no_number_is_answered_in_words(sent):
    one = level_bench()
    answer(one, height=sent)
    assert "wanted is a number" in one.result and one.spoken == one.result and one.settings["height"] == 3


def test_an_error_in_a_picture_is_answered_and_raised():
    one = broken_bench()
    with pytest.raises(ZeroDivisionError):
        answer(one, what="broken")
    assert "ZeroDivisionError" in one.spoken and one.answered == ["here", 1]


def test_the_unit_switch_changes_what_is_shown_and_nothing_else(home):
    one = level_bench(unit="ft")
    assert (one.parts[0]["unit"], one.values["height"]) == ("ft", 3)
    switch = unit_switch()
    answer(switch, system="SI")
    assert one.parts[0]["unit"] == "m" and one.settings["height"] == 3
    assert one.values["height"] == pytest.approx(0.9144)
    assert (one.parts[0]["low"], one.parts[0]["high"], one.parts[0]["step"]) == (0, 3, 0.2)
    answer(one, height=3.0)
    assert one.settings["height"] == pytest.approx(9.8425, abs=1e-4)
    assert "Height: 3 m" in one.plain()
    answer(switch, number=2, system="US")
    assert one.parts[0]["high"] == 10


def test_the_reader_s_units_are_kept_when_the_reader_changes_them(home):
    kept, switch = home / "units.txt", unit_switch()
    answer(switch)  # a view asks for its first answer
    set_display_system("SI")  # a program, not the reader
    answer(switch, number=2)
    assert not kept.exists()
    answer(switch, number=3, system="US")
    assert kept.read_text() == "US\n"
    answer(switch, number=4, system="SI")
    assert kept.read_text() == "SI\n"
    kept.unlink()
    kept.mkdir()
    answer(switch, number=5, system="US")
    assert "could not be kept" in switch.spoken and display_system() == "US"


@pytest.mark.parametrize(
    "kept, system",
    [(b"SI\n", "SI"), (b"SI", "SI"), (b"US\n", "US"), (None, "US"), (b"\xff\xfe", "US"), ("folder", "US")],
)
def test_a_page_begins_in_the_units_that_are_kept(home, kept, system):
    if kept == "folder":
        (home / "units.txt").mkdir()
    elif kept is not None:
        (home / "units.txt").write_bytes(kept)
    code = "import coachwork.quantities as q; from coachwork.page import table; print(q.display_system())"
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert run.stdout.strip() == system


def test_temperatures_switch_with_their_offset():
    part = slider("t", "Outside", 68, low=32, high=122, step=1, unit="degF")
    assert widgets.shown(part)["unit"] == "°F"
    set_display_system("SI")
    seen = widgets.shown(part)
    assert (seen["low"], seen["high"], seen["step"], seen["unit"]) == (0, 50, 0.5, "°C")
    assert widgets.to_shown(part, 68) == pytest.approx(20)
    assert widgets.from_shown(part, 20) == pytest.approx(68)


@pytest.mark.parametrize(
    "make, words",
    [
        (lambda: bench(Level(), slider("hight", "Height", 1, low=0, high=2, step=1)), "height"),
        (lambda: bench(Level()), "controls none are given"),
        (lambda: slider("a", "A", 5, low=0, high=2, step=1), "inside a range"),
        (lambda: slider("a", "A", 1, low=0, high=2, step=0), "above 0"),
        (lambda: slider("a", "A", 1, low=0, high=2, step=1, unit="furlong"), "unknown unit"),
        (lambda: choice("a", "A", ["DC", "AC"], "XC"), "one of DC, AC"),
    ],
)
def test_a_wrong_bench_is_refused_in_words(make, words):
    with pytest.raises(InputError, match=words):
        make()


def test_page_names_are_functions_and_cost_nothing_until_used():
    code = (
        "import sys, coachwork.page\n"
        "assert not {'matplotlib', 'anywidget', 'pint'} & set(sys.modules)\n"
        "import coachwork.page.bench\n"
        "from coachwork.page import bench\n"
        "assert callable(bench) and 'matplotlib.pyplot' not in sys.modules"
    )
    subprocess.run([sys.executable, "-c", code], check=True)


def test_front_end_loads_nothing_from_elsewhere():
    for name in ("front.js", "front.css"):
        text = (widgets.HERE / name).read_text("utf-8")
        assert "http" not in text and "import " not in text and "@import" not in text


# ------------------------------------------------------------------------------- what the lessons' benches are held to


class Faulty(Level):
    """What it moves, it does not name; its words have no end, and its alt text has no number."""

    def build(self, fig):
        super().build(fig)
        self.moving = []

    def update(self, height):
        self.line.set_ydata([height, height])
        self.ax.get_figure().stale = False
        return "High" * 60, "A line."


def test_each_fault_of_a_bench_is_seen():
    assert list(faults(level_bench())) == []
    found = list(faults(bench(Faulty(), slider("height", "Height", 3, low=0, high=10, step=1))))
    for words in ("no sentence", "no number", "three lines", "grey levels"):
        assert sum(words in one for one in found) >= 2
