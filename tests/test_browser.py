"""Each lesson in a real JupyterLab and a real Chromium, as a reader has it: one server for all of them (`lab` in conftest.py)."""
import pytest

import browser
from coachwork.commands.open import GUIDE
from test_lessons import FORM, LESSONS

if not browser.chromium():
    pytest.skip(browser.NONE_FOUND, allow_module_level=True)

BENCH = """import ipywidgets, anywidget, traitlets
class Bench(anywidget.AnyWidget):
    _esm = '''export default {render({model, el}) {
        el.innerHTML = '<label>v <input type="range" max="9" value="0"></label><img alt="a bar">';
        const draw = () => el.querySelector('img').src = "data:image/svg+xml," + encodeURIComponent(
            '<svg xmlns="http://www.w3.org/2000/svg" width="50" height="' + (10 + DRAW) + '"></svg>');
        el.querySelector('input').oninput = e => { model.set('v', +e.target.value); model.save_changes(); };
        el.onkeydown = e => e.stopPropagation();      // or JupyterLab takes the arrow keys
        model.on('change:v', draw); draw(); }}'''
    v = traitlets.Int(0).tag(sync=True)
Bench()"""


def check(lesson):
    """All that must hold of any lesson once it was run."""
    assert lesson.errors() == []
    assert lesson.missing_pictures() == []
    assert lesson.barriers() == []
    lesson.look("dark", browser.WIDTHS[1])
    assert lesson.barriers() == []


@pytest.mark.parametrize("name", [*(path.stem for path in LESSONS), GUIDE.removesuffix(".ipynb")])
def test_lesson(lab, name):
    with lab.lesson(name) as lesson:
        lesson.run_all()
        if FORM.get(name[:2]) == "eleven":
            assert lesson.move_slider() is True
        check(lesson)


def test_a_sound_notebook_is_found_sound(lab):
    lab.write("90-sound", "6 * 7", BENCH.replace("DRAW", "model.get('v')"), text="# Sound")
    with lab.lesson("90-sound") as lesson:
        lesson.run_all()
        assert lesson.move_slider() is True
        check(lesson)


def test_a_picture_that_comes_late_is_waited_for(lab):
    late = BENCH.replace("DRAW", "model.get('v')").replace('<img alt="a bar">', '<p class="cw-pictured"></p>')
    late = late.replace("draw(); }}", """setTimeout(() => {
            el.querySelector('p').innerHTML = '<img alt="a bar">'; draw(); }, 1500); }}""")
    lab.write("92-late", late, text="# A picture that comes late")
    with lab.lesson("92-late") as lesson:
        lesson.run_all()
        assert lesson.move_slider() is True


def test_each_fault_is_seen(lab):
    lab.write("91-faulty", BENCH.replace("DRAW", "0").replace('alt="a bar"', ""), "1 / 0",
              text="# Faulty\n\n![a picture](not-there.png)")
    with lab.lesson("91-faulty") as lesson:
        lesson.run_all()
        assert ["ZeroDivisionError" in text for text in lesson.errors()] == [True]
        assert ["not-there.png" in address for address in lesson.missing_pictures()] == [True]
        assert lesson.move_slider(timeout=2) is False
        assert ["image-alt" in line for line in lesson.barriers()] == [True]
