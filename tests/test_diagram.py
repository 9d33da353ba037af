"""The one-line diagram: no word touches another or a line, whatever the coach; every circuit is on it, and only once."""

import re
import xml.etree.ElementTree as tree
from pathlib import Path

import matplotlib
import pytest
from hypothesis import given, settings
from hypothesis import strategies as some
from matplotlib.ft2font import FT2Font

from coachwork import coach, wiring
from coachwork.page import diagram

DEMOS = coach.demos()
FONT = FT2Font(str(Path(matplotlib.get_data_path(), "fonts/ttf/DejaVuSansMono-Bold.ttf")))
SVG = "{http://www.w3.org/2000/svg}"


def measured(element, size):
    """Left, top, right and bottom of a text as the font itself measures it, in 26.6 pixels at 72 dots an inch."""
    FONT.set_size(size, 72)
    FONT.set_text(element.text, 0.0)
    (width, height), descent = FONT.get_width_height(), FONT.get_descent()
    left, base = float(element.get("x")), float(element.get("y"))
    return left, base - (height - descent) / 64, left + width / 64, base + descent / 64


def drawn_lines(root):
    """Left, top, right and bottom of every straight conductor: the paths outside any symbol."""
    for path in root.findall(f"{SVG}path"):
        x1, y1, x2, y2 = map(float, re.fullmatch(r"M(\S+) (\S+)L(\S+) (\S+)", path.get("d")).groups())
        half = float(path.get("stroke-width")) / 2
        yield min(x1, x2) - half, min(y1, y2) - half, max(x1, x2) + half, max(y1, y2) + half


def symbols(root):
    """Boxes of the symbols, whose middles are where they were put: 20 wide and 18 high on a line."""
    for group in root.findall(f"{SVG}g"):
        place = re.fullmatch(r"translate\((\S+) (\S+)\)", group.get("transform") or "")
        if place:
            x, y = map(float, place.groups())
            yield x - 10, y - 9, x + 10, y + 9


def touch(one, two, room=0.3):
    return one[0] < two[2] - room and two[0] < one[2] - room and one[1] < two[3] - room and two[1] < one[3] - room


def crossings(svg):
    """Every pair that touches: words with words, with lines, with symbols; words that leave their outline or the sheet."""
    root = tree.fromstring(svg)
    size = next(float(group.get("font-size")) for group in root.findall(f"{SVG}g") if group.get("font-size"))
    texts = [(element.text, measured(element, size)) for element in root.iter(f"{SVG}text")]
    wide, high = float(root.get("width")), float(root.get("height"))
    outlines = [
        (float(rect.get("x")), float(rect.get("y")), float(rect.get("x")) + float(rect.get("width")), float(rect.get("y")) + float(rect.get("height")))
        for rect in root.findall(f"{SVG}rect")[1:]
    ]  # fmt: skip
    found = []
    for number, (text, box) in enumerate(texts):
        found += [(text, other) for other, two in texts[number + 1 :] if touch(box, two)]
        found += [(text, "a line") for line in drawn_lines(root) if touch(box, line)]
        found += [(text, "a symbol") for symbol in symbols(root) if touch(box, symbol)]
        for outline in outlines:
            inside = outline[0] <= box[0] and box[2] <= outline[2] and outline[1] <= box[1] and box[3] <= outline[3]
            found += [(text, "an outline")] if touch(box, outline) and not inside else []
        found += [(text, "the edge")] if min(box) < 0 or box[2] > wide or box[3] > high else []
    for number, one in enumerate(outlines):
        found += [("an outline", "an outline") for two in outlines[number + 1 :] if touch(one, two)]
        found += [("an outline", "a line") for line in drawn_lines(root) if touch(one, line, 1)]
    return found


@pytest.mark.parametrize("path", DEMOS, ids=lambda path: path.stem)
def test_nothing_touches_on_the_demo_coaches(path):
    for sheet in diagram.one_line(coach.read(path)):
        assert crossings(sheet.svg) == []


@pytest.mark.parametrize("path", DEMOS, ids=lambda path: path.stem)
def test_every_circuit_is_drawn_once_with_size_length_and_device(path):
    one = coach.read(path)
    sheets = diagram.one_line(one)
    told = [line for sheet in sheets for line in sheet.words]
    for row in wiring.study(one).rows:
        lines = [line for line in told if line.startswith(f"{row.name}: ")]
        if row.start == "module":
            lines = [line for line in told if " Module " in line]
            assert len(lines) == int(one.capacity.parallel)
        else:
            assert len(lines) == 1
        assert all(row.size is None or row.size in line for line in lines)
        assert all(row.fuse is None or row.device in line for line in lines)
    removed = [circuit.name for circuit in one.circuits if circuit.existing == "remove"]
    assert [name for name in removed if any(line.startswith(f"{name}: ") for line in told)] == []


@pytest.mark.parametrize("path", DEMOS, ids=lambda path: path.stem)
def test_the_array_is_drawn_with_its_disconnect(path):
    one = coach.read(path)
    sheet = diagram.one_line(one)[0]
    (line,) = [line for line in sheet.words if line.startswith("Array to controller: ")]
    assert one.wiring.array_switch in line
    moved = [further for further in diagram.one_line(one.changed("circuits", "Array to controller", purpose="load"))[0].words]
    assert not any(one.wiring.array_switch in further for further in moved)


def test_the_test_finds_what_touches():
    sheet = diagram.one_line(coach.read(DEMOS[0]))[0]
    text = re.search(r'<text x="(\S+)" y="(\S+)"[^>]*>Furnace<', sheet.svg)
    wrong = sheet.svg.replace(text[0], text[0].replace(f'y="{text[2]}"', f'y="{float(text[2]) + 14}"'))
    assert ("Furnace", "a line") in crossings(wrong)


NAMES = some.text(some.characters(codec="latin-1", categories=("L", "N", "P", "Zs")), min_size=1, max_size=60).filter(
    lambda text: text.strip() and text.isprintable()
)


@settings(max_examples=10)
@given(some.integers(1, 6), some.lists(some.tuples(NAMES, NAMES), max_size=5, unique_by=lambda row: row[0].strip().casefold()), some.data())
def test_nothing_touches_on_random_coaches(modules, extra, data):
    one = coach.read(data.draw(some.sampled_from(DEMOS))).changed("capacity", parallel=modules)
    places = ["DC panel", "positive bus", "bank"]
    for name, to in extra:
        if name.strip().casefold() in {circuit.name.casefold() for circuit in one.circuits}:
            continue
        one = one.changed("circuits", name.strip(), from_=data.draw(some.sampled_from(places)), to=to.strip(), length="9 ft",
                          current=f"{data.draw(some.integers(1, 40))} A", purpose="load")  # fmt: skip
    for sheet in diagram.one_line(one):
        assert crossings(sheet.svg) == []


def test_a_name_is_only_a_name():
    one = coach.read(DEMOS[0]).changed("", name="<script>alert(1)</script>")
    one = one.changed("circuits", "Furnace", to='"><script>alert(2)</script>')
    svg = diagram.one_line(one)[0].svg
    assert "<script" not in svg
    assert "script>alert(2)</script>" in "".join(tree.fromstring(svg).itertext()).replace(" ", "")
