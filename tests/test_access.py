"""For whoever does not see, or has no mouse: every bench tells in words what its picture shows, text stands out from its
ground, and a panel is worked by keys alone and speaks once."""
import ast
import functools
import json
import re

import nbformat
import pytest

import browser
from coachwork.page import widgets
from coachwork.page.pictures import Sheet
from test_lessons import LESSONS

MOST = 600          # letters of a picture's words: about forty seconds of a screen reader


# ------------------------------------------------------------------------------- what the benches say


def names(node, kind):
    """The names that a statement reads (ast.Load) or binds (ast.Store)."""
    found = {one.id for one in ast.walk(node) if isinstance(one, ast.Name) and isinstance(one.ctx, kind)}
    if kind is ast.Store:
        for one in ast.walk(node):
            if isinstance(one, (ast.Import, ast.ImportFrom)):
                found |= {(name.asname or name.name).partition(".")[0] for name in one.names}
    return found


def benches(path):
    """The benches of a lesson, made by its own lines: each with only the lines before it that it needs."""
    before, found = [], []
    for cell in nbformat.read(path, as_version=4).cells:
        for line in ast.parse(cell.source).body if cell.cell_type == "code" else ():
            if getattr(getattr(getattr(line, "value", None), "func", None), "id", "") == "bench":
                needed, kept = names(line, ast.Load), []
                for earlier in reversed(before):
                    if names(earlier, ast.Store) & needed:
                        kept.insert(0, earlier)
                        needed |= names(earlier, ast.Load)
                scope = {}
                exec(compile(ast.Module(kept, []), path.name, "exec"), scope)
                found.append(eval(compile(ast.Expression(line.value), path.name, "eval"), scope))
            before.append(line)
    return found


def ends(part):
    """The first and the last position of a control."""
    if part["kind"] == "slider":
        return part["low"], part["high"]
    return (False, True) if part["kind"] == "check" else (part["options"][0], part["options"][-1])


def silent(picture, settings, parts):
    """Pairs of settings, each control at both ends, whose pictures differ though the words and the alt text do not."""
    sheet, told, found = Sheet(picture, 0.3), {}, []
    moves = [settings, *(settings | {name: end} for name, part in parts.items() for end in ends(part))]
    for one in (one for place, one in enumerate(moves) if one not in moves[:place]):
        words, alt = sheet.update(**one)
        assert 20 < len(alt) <= MOST and alt != picture.title and re.search(r"\d", alt), (picture.title, one, alt)
        assert words and "e+" not in words + alt, (picture.title, one, words, alt)
        told.setdefault((words, alt), []).append(one)
    for alike in (alike for alike in told.values() if len(alike) > 1):
        drawn = []
        for one in alike * 2:            # twice round: in the second every limit was seen, and the axes keep their places
            sheet.update(**one)
            drawn.append(sheet.pixels().tobytes())
        found += [(alike[0], one) for one, pixels in zip(alike, drawn[len(alike):]) if pixels != drawn[len(alike)]]
    return found


@pytest.mark.parametrize("path", LESSONS, ids=lambda path: path.stem)
def test_a_bench_says_what_its_picture_shows(path):
    found = benches(path)
    assert found
    for one in found:
        assert silent(one.drawing, one.settings, widgets.leaves(one._own)) == [], one.title


def test_a_picture_that_moves_without_a_word_is_found():
    class Mute(point()):
        def update(self, at):
            super().update(at)
            return "It moves.", "A point on a line from 0 to 9, somewhere."

    parts = widgets.leaves([widgets.slider("at", "At", 1, low=0, high=9, step=1)])
    assert silent(Mute(), {"at": 1.0}, parts) == [({"at": 1.0}, {"at": 0}), ({"at": 1.0}, {"at": 9})]
    assert silent(point()(), {"at": 1.0}, parts) == []


@functools.cache
def point():
    """A picture of one point on a line."""
    from coachwork.page.pictures import Picture

    class Point(Picture):
        title = "A point"
        size = (2, 1)

        def build(self, fig):
            (self.point,) = fig.add_subplot(xlim=(-1, 10), ylim=(-1, 1)).plot([0], [0], "o")
            self.moving = [self.point]

        def update(self, at):
            self.point.set_data([at], [0])
            return f"It is at {at:g}.", f"A point on a line from 0 to 9, at {at:g}."

    return Point


# ------------------------------------------------------------------------------- the front end, without a kernel

PAGE = """<!doctype html><html lang="en"><head><title>Panels</title><style>%s</style></head><body><main><h1>Panels</h1>
<div class="jp-Cell" id="first" tabindex="0"></div><div class="jp-Cell" id="second" tabindex="0"></div></main>
<script type="module">%s
class Kernel {
  constructor(state) { Object.assign(this, { state, handlers: {}, sent: [] }); }
  get(name) { return this.state[name]; }
  on(event, call) { (this.handlers[event] ||= []).push(call); }
  off() {}
  send(message) { this.sent.push(message); }
  tell(event) { this.handlers[event].forEach((call) => call()); }
  answer(change) {
    const { view, number } = this.sent.at(-1);
    Object.assign(this.state, change, { answered: [view, number] });
    this.tell("change");
  }
}
window.heard = { first: [], second: [] };
window.kernels = {};
for (const place of ["first", "second"]) {
  const kernel = (kernels[place] = new Kernel(structuredClone(STATE)));
  render({ model: kernel, el: document.getElementById(place) });
  const status = document.querySelector(`#${place} [role=status]`);
  new MutationObserver(() => heard[place].push(status.textContent)).observe(status, { childList: true });
  kernel.answer({ spoken: "as it stands" });
}
</script></body></html>"""
PARTS = [
    widgets.slider("current", "Current", 45, low=1, high=200, step=1, unit="A", help="at full load"),
    widgets.choice("size", "Size", ["6", "4"]),
    widgets.radio("side", "Side", ["DC", "AC"], "DC"),
    widgets.check("sound", "Show a sound one"),
    widgets.text("answer", "Your answer", enter="check", press="Check"),
    widgets.text("about", "About", lines=3),
    widgets.fold("words", "The board in words", ["1 to 2.", "2 to 3."]),
    widgets.button("read", "Read"),
]
NOTES = {"answer": ["wrong", "Once, not twice."], "current": ["error", "Stop."], "sound": ["right", "Yes."],
         "read": ["note", "4 A"]}  # fmt: skip


@pytest.fixture(scope="module")
def chromium():
    if not browser.chromium():
        pytest.skip(browser.NONE_FOUND)
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        one = playwright.chromium.launch(executable_path=browser.chromium(), args=browser.FLAGS)
        yield one
        one.close()


@pytest.fixture
def page(chromium):
    """Two panels with every kind of part, in cells of their own, and a kernel that a test plays: `kernels.first.answer(...)`."""
    values = {name: part["value"] for name, part in widgets.leaves(PARTS).items()}
    state = dict(title="A panel", lead="Decide first.", parts=[widgets.shown(part) for part in PARTS], values=values,
                 notes=NOTES, result="4 A flow.", spoken="", frame=[], alt="", goal=[], answered=["", 0])  # fmt: skip
    script = (widgets.HERE / "front.js").read_text("utf-8").replace("export default { render };", "")
    script += f"const STATE = {json.dumps(state)};"
    one = chromium.new_page(viewport=dict(width=700, height=900))
    one.set_default_timeout(20_000)
    one.set_content(PAGE % ((widgets.HERE / "front.css").read_text("utf-8"), script))
    one.wait_for_function("window.kernels?.second && document.querySelectorAll('.cw').length == 2")
    yield one
    one.close()


def focused(page):
    return page.evaluate("""() => { const one = document.activeElement, look = getComputedStyle(one);
        return [one.ariaLabel || one.labels?.[0]?.textContent || one.textContent || one.id,
                look.outlineStyle == 'solid' && parseInt(look.outlineWidth)]; }""")


def test_every_control_is_reached_by_tab_seen_there_and_left_by_esc(page):
    page.focus("#first")
    found = []
    for _ in range(10):
        page.keyboard.press("Tab")
        found.append(focused(page))
    assert found == [[name, 3] for name in ("Current", "Current, A", "Size", "DC", "Show a sound one", "Your answer", "Check",
                                            "About", "The board in words", "Read")]  # fmt: skip
    for _ in range(3):
        page.keyboard.press("Escape")
        assert page.evaluate("document.activeElement.id") == "first"
        page.keyboard.press("Tab")
        assert focused(page)[0] == "Current"


def test_the_words_of_a_drawing_open_by_key_as_a_list(page):
    page.focus("#first summary")
    page.keyboard.press("Enter")
    assert page.locator("#first details[open] li").all_inner_texts() == ["1 to 2.", "2 to 3."]


def test_the_answer_to_a_button_is_said_also_where_it_brings_new_parts(page):
    press = "document.querySelector('#first .cw-of-button button').click()"
    told = ["It shows 4 A.", "It shows 4 A.", "It shows 5 A."]
    for again, said in enumerate(told, 1):
        page.evaluate(f"{press}; kernels.first.answer({{ spoken: {json.dumps(said)}, parts: [...kernels.first.get('parts')] }})")
        page.evaluate("kernels.first.answer({ spoken: '' })")         # what the new parts ask for is nothing to say
        assert [text.strip() for text in page.evaluate("heard.first")] == told[:again]
    assert page.evaluate("heard.second") == []


def test_a_drag_is_said_once_at_its_end(page):
    page.evaluate("""() => { const slider = document.querySelector('#first input'), move = (value) => {
        slider.value = value; slider.dispatchEvent(new Event('input')); };
        for (let value = 50; value < 60; value++) { move(value); kernels.first.answer({ spoken: `${value} A` }); } }""")
    page.wait_for_function("heard.first.length")
    assert page.evaluate("heard.first") == ["59 A"]


def test_a_restarted_kernel_is_told_by_one_panel_and_again_to_whoever_goes_on(page):
    page.evaluate("Object.values(kernels).forEach((kernel) => kernel.tell('comm_live_update'))")
    told = page.evaluate("heard")
    assert len(told["first"]) == 1 and "kernel was restarted" in told["first"][0] and told["second"] == []
    page.focus("#second input")
    page.keyboard.press("ArrowRight")
    page.keyboard.press("ArrowRight")
    assert ["kernel was restarted" in text for text in page.evaluate("heard.second")] == [True, True]


def test_every_word_of_a_panel_stands_out_in_the_dark(page):
    """What is right, wrong, or an error too, which no lesson shows at first (by day the lessons themselves are held)."""
    from axe_playwright_python.sync_playwright import Axe

    page.evaluate("""() => {                    // what JupyterLab's dark theme says of itself
        document.body.dataset.jpThemeLight = 'false';
        Object.assign(document.body.style, { background: '#111', color: '#fff' });
        for (const [name, colour] of [['ui-font-color1', 'rgba(255, 255, 255, .87)'],
                ['ui-font-color2', 'rgba(255, 255, 255, .54)'], ['layout-color1', '#212121']])
            document.body.style.setProperty(`--jp-${name}`, colour); }""")
    found = Axe().run(page, options={"resultTypes": ["violations"]}).response["violations"]
    assert [(rule["id"], node["html"][:120], node["failureSummary"])
            for rule in found for node in rule["nodes"]] == []  # fmt: skip


def test_a_panel_of_320_pixels_needs_no_scrolling_sideways(page):
    page.set_viewport_size(dict(width=336, height=800))     # 320 and the body's margins
    assert page.evaluate("document.documentElement.scrollWidth") <= 336
    assert page.locator("#first .cw").evaluate("(panel) => [panel.clientWidth, panel.scrollWidth]") == [320, 320]


def test_the_focus_is_seen_in_forced_colours(page):
    page.emulate_media(forced_colors="active")
    test_every_control_is_reached_by_tab_seen_there_and_left_by_esc(page)
