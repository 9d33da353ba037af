"""The commands `site` and `print` as a reader meets them, and the still edition's pages in every dress."""

import pytest

import browser
from coachwork import bootstrap, coach, commissioning
from coachwork.commands import _editions
from coachwork.commands import print as printing
from coachwork.commands import site as siting
from coachwork.page import edition, maths, printed, still
from coachwork.page.bench import bench, choice, slider
from coachwork.page.meter import practice_meter
from coachwork.page.pictures import Picture
from coachwork.page.questions import Questions

HEADING = {"heading": {"level": 1, "words": ["A lesson"]}}


@pytest.fixture
def quick(monkeypatch):
    """Lessons that are told without being run; the list holds what was asked for."""
    asked = []

    def lessons(paths, seed, system, grid=False):
        for path in paths:
            asked.append((path.stem, seed, system, grid))
            yield {"number": path.stem[:2], "title": path.stem[3:], "file": path.name, "topic": "energy", "blocks": [HEADING]}

    monkeypatch.setattr(edition, "lessons", lessons)
    monkeypatch.setattr(printed, "pdf", lambda *given: b"%PDF")
    return asked


COMMANDS = pytest.mark.parametrize("command", [siting, printing], ids=["site", "print"])


@COMMANDS
def test_a_lesson_may_be_named_in_every_way_and_comes_once(command, quick, home, monkeypatch, capsys):
    monkeypatch.chdir(bootstrap.ROOT)
    words = ["07", "wiring", "workbook/07-wiring.ipynb", "01-energy", "--units", "si", "--seed", "5"]
    assert command.main(words) == 0
    assert [one[:3] for one in quick] == [("01-energy", 5, "SI"), ("07-wiring", 5, "SI")]
    assert str(home / command.PLACE) in capsys.readouterr().out
    assert not (home / command.PLACE / "course.pdf").exists()


@COMMANDS
def test_nothing_is_run_where_nothing_can_be_written(command, quick, home, tmp_path):
    (tmp_path / "file").write_text("mine")
    (home / command.PLACE).write_text("mine")
    with pytest.raises(bootstrap.Trouble, match="it is a file; wanted is a folder"):
        command.main(["01"])
    with pytest.raises(bootstrap.Trouble, match="cannot be written"):
        command.main(["01", "--to", str(tmp_path / "file")])
    place = tmp_path / "full" / command.PLACE
    place.mkdir(parents=True)
    (place / "taxes.doc").write_text("mine")
    with pytest.raises(bootstrap.Trouble, match="it also holds taxes.doc"):
        command.main(["01", "--to", str(place.parent)])
    assert quick == [] and (place / "taxes.doc").read_text() == "mine" and (home / command.PLACE).read_text() == "mine"


@COMMANDS
@pytest.mark.parametrize("word", ["13", "heatng", "for-instructors", "workbook/for-instructors.ipynb"])
def test_an_unknown_lesson_is_refused_with_the_known_ones(command, word, quick, home, monkeypatch):
    monkeypatch.chdir(bootstrap.ROOT)
    with pytest.raises(bootstrap.Trouble, match="07-wiring, 08-heating"):
        command.main([word])
    assert quick == [] and list(home.iterdir()) == []


def test_what_is_made_is_said_at_its_full_path(quick, tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    siting.main(["--to", "stick"])
    said = capsys.readouterr().out.splitlines()
    assert said[0].startswith("Running 13 lessons afresh") and said[1] == "00-start-here: 0 benches, 0 pictures, 0.0 MB"
    assert str(tmp_path / "stick" / "coachwork-site") in said[-1]
    assert sorted(path.name for path in tmp_path.iterdir()) == ["stick"] and (tmp_path / "stick/coachwork-site/index.html").is_file()
    assert [_editions.count(number, "bench") for number in (1, 2)] == ["1 bench", "2 benches"]


def test_every_unit_a_reader_may_write_is_known_to_the_page():
    table = still.unit_table()
    assert table["hrs"] == table["h"] == edition.unit_facts("hour") and table["Ω"]["name"] == "ohm"


def test_a_meter_shows_its_board_on_paper_and_on_the_page(tmp_path):
    panel = practice_meter(commissioning.low_voltage_board(coach.current()))
    (block,) = edition._shown(panel, True)
    told = block["panel"]
    assert "Red probe on" in told["text"] and told["alt"].startswith("One-line diagram") and "module 1" in told["alt"]
    page = still._Page({"number": "11", "file": "x.ipynb"}, [], [], "")
    made = page.block(block)
    assert page.pictures == {"pictures/11-0-00.png": told["still"]} and 'src="pictures/11-0-00.png" alt="One-line' in made
    lesson = {"number": "11", "title": "Meter", "blocks": [HEADING, block]}
    printed.sources(tmp_path, "Meter", [lesson], "")
    assert (tmp_path / "panel-0.png").read_bytes() == told["picture"] and printed.pdf("Meter", [lesson], "").startswith(b"%PDF")


def test_formulas_in_a_line_may_break_after_their_commas():
    made = maths.mathml(r"V = I R, W = f(a, b)")
    assert made.count("<math ") == 2 and made.index("</math> <math") > made.index(">,<")
    assert maths.mathml(r"V = I R, W = f(a, b)", block=True).count("<math ") == 1 and maths.mathml("").count("<math ") == 1


# ------------------------------------------------------------------------------- a page with everything that a lesson may show


class Line(Picture):
    title = "A line"

    def build(self, fig):
        axes = fig.add_subplot(xlim=(0, 10), ylim=(0, 10), xlabel="Current in A", ylabel="Loss in W")
        (self.mark,) = axes.plot([0], [0], "o")
        self.moving = [self.mark]

    def update(self, current, side):
        self.mark.set_data([current], [current])
        return f"{current:g} A on the {side} side.", f"A point at {current:g} A, {side}."


def everything():
    """A lesson with every kind of block, each at its widest."""
    long = "a word and another, " * 8
    words = ["Plain ", ("strong", ["strong"]), ", ", ("slanted", ["slanted"]), ", ", ("code", "coach.decide(" + "x" * 60 + ")"), ", ",
             ("maths", r"I = \frac{P}{V}"), ", ", ("link", ["a page"], "https://www.example.org/"), "."]  # fmt: skip
    svg = '<svg xmlns="http://www.w3.org/2000/svg" role="img" aria-label="A square" viewBox="0 0 1300 90" width="1300" height="90"><rect width="9" height="9"/></svg>'
    table = {"table": {"caption": "A table", "head": [[one] for one in "abcdefgh"], "numeric": [False] + [True] * 7,
                       "rows": [[[long], *[["12,345.6 kWh"]] * 7]] * 3}}  # fmt: skip
    made = bench(Line(), slider("current", "Current", 4, low=0, high=10, step=1, unit="A"), choice("side", "Side", ["DC", "AC"]), predict="More?")
    return [HEADING, {"paragraph": words}, {"heading": {"level": 2, "words": ["1 A part"]}}, {"list": {"ordered": True, "items": [[{"paragraph": words}]]}},
            {"code": "x = " + "1 + " * 60 + "1"}, {"printed": "y" * 200}, {"formula": "x = " + " + ".join(["\\frac{a_1}{b_2}"] * 30)},
            {"working": {"latex": " + ".join(["x^2"] * 40), "speech": "x squared and so on", "given": [("x_a", "2 W", "a power")] * 9}}, table,
            {"folded": {"line": "Rows of the handbook", "blocks": [table]}}, {"caution": {"title": "fault current", "says": long, "source": "a law"}},
            {"drawing": {"svg": svg, "alt": "A square", "words": ["one way"]}}, {"panel": {"title": "A panel", "text": "z" * 120}},
            {"bench": edition._bench(made, True)}, {"heading": {"level": 2, "words": ["9 Check yourself"]}},
            {"questions": edition._questions(Questions("wiring"))}]  # fmt: skip


@pytest.fixture(scope="module")
def site(tmp_path_factory):
    folder = tmp_path_factory.mktemp("site")
    lesson = {"number": "07", "title": "Everything", "file": "07-wiring.ipynb", "topic": "wiring", "blocks": everything()}
    for name, content in still.site([lesson], "US", 7).items():
        (folder / name).parent.mkdir(exist_ok=True)
        (folder / name).write_bytes(content)
    return folder


needs_browser = pytest.mark.skipif(not browser.chromium(), reason=browser.NONE_FOUND)


@pytest.fixture(scope="module")
def open_page(site):
    """Opens a page of the site from the disk in some dress: open_page(name, width, **dress); errors end the test."""
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        chromium = playwright.chromium.launch(executable_path=browser.chromium(), args=browser.FLAGS)
        contexts = []

        def opened(name="07-wiring", width=1280, **dress):
            context = chromium.new_context(viewport=dict(width=width, height=900), reduced_motion="reduce", **dress)
            contexts.append(context)
            context.set_offline(True)
            page = context.new_page()
            page.on("pageerror", lambda error: wrong.append(str(error)))
            page.on("console", lambda said: wrong.append(said.text) if said.type in ("error", "warning") else None)
            page.goto((site / f"{name}.html").as_uri())
            page.wait_for_function("[...document.querySelectorAll('.cw-pictured')].every((bench) => bench.querySelector('img'))")
            return page

        wrong = []
        yield opened
        chromium.close()
        assert wrong == []


DRESSES = {"by day": {}, "by night": {"color_scheme": "dark"}, "on a telephone": {"width": 320}, "at twice the size": {"width": 640},
           "in colours of the reader's own": {"forced_colors": "active"}}  # fmt: skip


@needs_browser
@pytest.mark.parametrize("name", ["07-wiring", "index"])
@pytest.mark.parametrize("dress", DRESSES)
def test_a_page_is_sound_in_every_dress(name, dress, open_page):
    from axe_playwright_python.sync_playwright import Axe

    page = open_page(name, **DRESSES[dress])
    page.evaluate("document.querySelectorAll('details').forEach((one) => { one.open = true; })")
    found = Axe().run(page, options={"preload": False}).response["violations"]  # styles of a file cannot be fetched
    assert [f"{rule['id']}: {node['html'][:200]}" for rule in found for node in rule["nodes"]] == []
    assert page.evaluate("document.documentElement.scrollWidth <= document.documentElement.clientWidth")
    wide = page.evaluate("[...document.querySelectorAll('.wrap')].filter((one) => one.scrollWidth > one.clientWidth).map((one) => one.tabIndex)")
    assert set(wide) <= {0} and (wide or name == "index")


STOP = """() => { const one = document.activeElement, { top, bottom } = one.getBoundingClientRect(), { outlineStyle, outlineWidth } = getComputedStyle(one);
  return one === document.body ? null : { place: top + scrollY, seen: top >= 0 && bottom <= innerHeight + 1, outline: outlineStyle !== 'none' && parseFloat(outlineWidth) > 1 }; }"""


@needs_browser
def test_the_keyboard_reaches_everything_in_order_and_leaves_again(open_page):
    page = open_page()
    stops = []
    while len(stops) < 200:
        page.keyboard.press("Tab")
        if (stop := page.evaluate(STOP)) is None:
            break
        stops.append(stop)
    assert len(stops) < 200, "the keyboard does not come out of the page"
    assert all(stop["seen"] and stop["outline"] for stop in stops)
    single = "a[href], button, select, summary, .wrap[tabindex='0'], input:not([type=radio])"  # of radio buttons one is a stop
    folded = "[...document.querySelectorAll(query)].filter((one) => one.checkVisibility()).length"
    groups = page.evaluate("new Set([...document.querySelectorAll('input[type=radio]')].map((one) => one.name)).size")
    assert len(stops) == page.evaluate(f"(query) => {folded}", single) + groups
    body = stops[1:]  # the skip link stands above all
    assert all(later["place"] > earlier["place"] - 40 for earlier, later in zip(body, body[1:]))


@needs_browser
def test_the_links_to_the_parts_of_a_lesson_lead_there(open_page):
    page = open_page()
    links = page.get_by_role("navigation", name="Parts of this lesson").get_by_role("link")
    assert links.all_inner_texts() == ["1 A part", "9 Check yourself"]
    links.last.focus()
    page.keyboard.press("Enter")
    page.wait_for_function("Math.abs(document.querySelector(location.hash).getBoundingClientRect().top) < 100")
    assert page.evaluate("document.querySelector(location.hash).textContent") == "9 Check yourself"


@needs_browser
def test_a_picture_on_a_telephone_can_be_read_and_scrolled(open_page):
    page = open_page(width=320)
    paper = page.locator(".cw-paper").first
    page.wait_for_function("(paper) => paper.scrollWidth >= 500 && paper.tabIndex === 0", arg=paper.element_handle())
    assert paper.evaluate("(paper) => paper.clientHeight >= paper.querySelector('img').clientHeight")  # nothing is cut below
    paper.focus()
    page.keyboard.press("ArrowRight")
    page.wait_for_function("(paper) => paper.scrollLeft > 0", arg=paper.element_handle())
    page.set_viewport_size(dict(width=1280, height=900))
    page.wait_for_function("(paper) => paper.tabIndex === -1", arg=paper.element_handle())


@needs_browser
def test_a_printed_page_says_what_its_controls_stand_at(open_page):
    page = open_page()
    page.emulate_media(media="print")
    assert page.locator(".cw-pictured .cw-box").first.is_visible() and not page.locator(".cw-range").first.is_visible()
    assert not page.get_by_role("button", name="Check").first.is_visible() and not page.locator("nav").first.is_visible()
