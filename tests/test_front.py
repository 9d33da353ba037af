"""The front end in a real browser: keys, drags, the reader's units, messages for screen readers, errors."""

import pytest

import _speed_browser as speed
import browser
from coachwork import bootstrap

if not browser.chromium():
    pytest.skip(browser.NONE_FOUND, allow_module_level=True)

LEVEL = f"""import sys
sys.path.insert(0, {str(bootstrap.ROOT / "tests")!r})
from test_bench import level_bench, broken_bench
from coachwork.page import unit_switch, questions
level_bench(unit="ft")"""


def test_a_fast_drag_is_never_blank_and_moves_nothing(lab):
    name = speed.notebook(lab.home, 91, "bench", "standard", 1)
    with lab.lesson(name) as bench:
        latencies, (drag,) = speed.measure(bench, "bench", 1, moves=3, drags=1)
    assert len(latencies) == 3
    assert drag["blank"] == 0 and drag["jump"] == 0 and drag["pictures"] > 1


@pytest.fixture(scope="module")
def lesson(lab):
    lab.write("90-front", LEVEL, "unit_switch()", "broken_bench()", "questions('energy')")
    with lab.lesson("90-front") as lesson:
        lesson.run_all()
        yield lesson


@pytest.fixture
def panels(lesson):
    """Locators of the panels in order: bench, unit switch, broken bench, questions."""
    panels = lesson.page.locator(".jp-Notebook .cw")
    return [panels.nth(at) for at in range(panels.count())]


def settled(panel):
    """Wait until the panel has been answered and what it says has been said."""
    panel.page.wait_for_function("panel => !panel.matches('.cw-busy')", arg=panel.element_handle())
    panel.page.wait_for_timeout(700)


def test_arrow_keys_move_the_slider_and_not_the_notebook(lesson, panels):
    bench, page = panels[0], lesson.page
    chosen = "jupyterapp.shell.currentWidget.content.activeCellIndex"
    slider = bench.locator("input[type=range]")
    slider.focus()
    before = page.evaluate(chosen)
    for key in ("ArrowDown", "ArrowRight", "ArrowRight", "ArrowUp"):
        page.keyboard.press(key)
    settled(bench)
    assert slider.input_value() == "5" and page.evaluate(chosen) == before
    assert bench.locator(".cw-result").inner_text() == "The level is 5."
    assert bench.locator("img").get_attribute("alt") == "A line at 5."
    assert slider.get_attribute("aria-valuetext") == "5 ft"
    page.keyboard.press("Tab")
    page.keyboard.press("ArrowUp")  # in the number box, by the slider's step
    settled(bench)
    assert slider.input_value() == "6"
    bench.locator("input[type=number]").fill("99")
    page.keyboard.press("Enter")
    settled(bench)
    assert bench.locator("input[type=number]").input_value() == "10"
    assert bench.locator(".cw-result").inner_text() == "The level is 10."


FAST_DRAG = """async (panel) => {
    const said = [], status = panel.querySelector('[role=status]'), slider = panel.querySelector('[type=range]');
    const watch = new MutationObserver(() => said.push(status.textContent.trim()));
    watch.observe(status, {childList: true});
    for (let n = 0; n < 40; n++) {
        slider.value = n % 10;
        slider.dispatchEvent(new Event('input'));
        await new Promise((next) => setTimeout(next, 15));
    }
    await new Promise((next) => setTimeout(next, 2500));
    watch.disconnect();
    return said;
}"""


def test_after_a_fast_drag_only_the_last_sentence_is_said(lesson, panels):
    bench = panels[0]
    assert bench.evaluate(FAST_DRAG) == ["The level is 9."]
    assert bench.locator(".cw-result").inner_text() == "The level is 9."


def test_the_unit_switch_reaches_every_bench(lesson, panels):
    bench, switch = panels[0], panels[1]
    bench.locator("input[type=number]").fill("9")
    lesson.page.keyboard.press("Enter")
    settled(bench)
    switch.get_by_label("SI").check()
    settled(bench)
    assert bench.locator(".cw-unit").inner_text() == "m"
    assert bench.locator("input[type=number]").input_value() == "2.7"
    assert bench.locator(".cw-result").inner_text() == "The level is 9."
    switch.get_by_label("US").check()
    settled(bench)
    assert bench.locator("input[type=number]").input_value() == "9"


def test_an_error_is_said_and_the_bench_goes_on(lesson, panels):
    bench = panels[2]
    bench.locator("select").select_option("broken")
    settled(bench)
    assert "ZeroDivisionError" in bench.locator(".cw-result").inner_text()
    assert "ZeroDivisionError" in bench.locator("[role=status]").inner_text()
    bench.locator("select").select_option("whole")
    settled(bench)
    assert bench.locator(".cw-result").inner_text() == "It is whole."


def test_answers_are_checked_by_the_enter_key_and_said_each_time(lesson, panels):
    asked = panels[3]
    field, status = asked.get_by_label("Your answer").first, asked.locator("[role=status]")
    field.fill("1 Wh")
    said = []
    for _ in range(2):
        field.press("Enter")
        settled(asked)
        said.append(status.text_content())
    assert "more" in said[0] and said[0].strip() == said[1].strip() and said[0] != said[1], "said anew, so heard anew"
    assert "more" in asked.locator(".cw-note:visible").inner_text()
    assert field.get_attribute("aria-describedby") == asked.locator(".cw-note:visible").get_attribute("id")


def test_pixels_follow_the_zoom(lesson, panels):
    page, image = lesson.page, panels[0].locator("img")
    cdp, size = page.context.new_cdp_session(page), page.viewport_size
    for ratio in (2, 1.5, 1):  # as the browser's own zoom does it: fewer CSS pixels, more device pixels to each
        cdp.send("Emulation.setDeviceMetricsOverride", {"width": round(size["width"] / ratio), "mobile": False,
                                                        "height": round(size["height"] / ratio), "deviceScaleFactor": ratio})  # fmt: skip
        page.wait_for_function(
            "([image, ratio]) => image.naturalWidth == Math.round(image.parentNode.clientWidth * ratio)",
            arg=[image.element_handle(), ratio],
        )
        box = image.bounding_box()
        assert box["width"] == pytest.approx(2 * box["height"], abs=1)


def test_a_drag_on_a_fine_screen_ends_sharp(lesson, panels):
    page, image = lesson.page, panels[0].locator("img")
    cdp, size = page.context.new_cdp_session(page), page.viewport_size
    sharp = "image => image.naturalWidth == Math.round(image.parentNode.clientWidth * devicePixelRatio)"
    fine = dict(width=size["width"] // 2, height=size["height"] // 2, deviceScaleFactor=2, mobile=False)
    cdp.send("Emulation.setDeviceMetricsOverride", fine)
    page.wait_for_function(sharp, arg=image.element_handle())
    widths = panels[0].locator(".cw-range").first.evaluate("""async slider => {
        const image = slider.closest(".cw").querySelector("img"), seen = new Set();
        const begun = performance.now(); // a busy machine may need longer than a second for its first answer
        for (let n = 0; n < 60 || (!seen.has(1) && performance.now() < begun + 20000); n++) {
            slider.value = n % 2 ? slider.max : slider.min;
            slider.dispatchEvent(new Event("input", {bubbles: true}));
            await new Promise(requestAnimationFrame);
            seen.add(image.naturalWidth / image.parentNode.clientWidth);
        }
        return [...seen];
    }""")
    assert 1 in widths, "while it moves, a picture of half the pixels each way"
    page.wait_for_function(sharp, arg=image.element_handle())
    cdp.send("Emulation.setDeviceMetricsOverride", dict(size, deviceScaleFactor=1, mobile=False))


def test_nothing_keeps_readers_out(lesson):
    assert lesson.barriers() == []


def test_a_restarted_kernel_is_told(lesson, panels):
    lesson.page.evaluate("jupyterapp.shell.currentWidget.context.sessionContext.session.kernel.restart()")
    panels[0].get_by_text("The kernel was restarted. Run this cell again").first.wait_for()
