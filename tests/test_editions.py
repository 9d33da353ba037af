"""The printed and the still edition: every formula, a PDF read back, pages opened from the disk without a network.

Each lesson is run once for all that is shown here, and for the benches in it.
"""

import io
import json
import re
import types

import nbformat
import pypdf
import pytest
from hypothesis import given
from hypothesis import strategies as st

import _lessons
import browser
from coachwork import bootstrap
from coachwork.commands import print as printing
from coachwork.commands import site as siting
from coachwork.commands.open import LESSONS
from coachwork.page import edition, maths, printed, still, words
from coachwork.page.map import lessons
from coachwork.page.questions import Choice, Questions
from coachwork.page.working import _Latex
from coachwork.quantities import KINDS, InputError, Quantity, write_quantity

PATHS = sorted(LESSONS.glob("[0-9][0-9]-*.ipynb"))

# ------------------------------------------------------------------------------- formulas


def formulas(blocks):
    """Every formula in some blocks, as LaTeX."""
    if isinstance(blocks, (tuple, list)):
        if len(blocks) == 2 and blocks[0] == "maths":
            yield blocks[1]
        for one in blocks:
            yield from formulas(one)
    elif isinstance(blocks, dict):
        for name, one in blocks.items():
            if name in ("formula", "latex"):
                yield one
            else:
                yield from formulas(one)


@pytest.mark.parametrize("path", PATHS, ids=lambda path: path.stem)
def test_every_formula_of_a_lesson_is_known(path):
    cells = nbformat.read(path, as_version=4).cells
    found = [one for cell in cells if cell.cell_type == "markdown" for one in formulas(edition.markdown(cell.source))]
    assert len(found) == sum(len(re.findall(r"\$\$.+?\$\$|(?<!\\)\$(?!\s).+?(?<!\s)\$", cell.source, re.S))
                             for cell in cells if cell.cell_type == "markdown")  # fmt: skip
    for latex in found:
        assert maths.mathml(latex) and maths.typst(latex) and maths.spoken(latex)


def test_every_symbol_and_unit_of_a_working_is_known_and_typst_takes_them():
    import typst

    known = [one.latex for one in words.names().values()]
    known += [_Latex().number(types.SimpleNamespace(text="1,234.5", exponent=-5, unit=kind.shown)) for kind in KINDS.values() if not kind.plain]
    lines = "\n".join(f'#math.equation(eval({maths._quoted(maths.typst(latex))}, mode: "math"))' for latex in known)
    assert len(known) > 400
    assert typst.compile(lines.encode(), format="pdf", ignore_system_fonts=True).startswith(b"%PDF")


@pytest.mark.parametrize("latex", [r"\oint x", r"\text{a\b}", r"\frac{1}{2", r"x^", r"\left( x \right\}", r"a \& b", "a & b",
                                   r"\begin{matrix} a \end{matrix}", r"\begin{aligned} a & b & c \end{aligned}", "{x", "#x", "}"])  # fmt: skip
def test_an_unknown_formula_is_refused(latex):
    with pytest.raises(maths.UnknownMaths, match="the formula"):
        maths.read(latex)


def test_formulas_in_three_ways():
    latex = r"q = \frac{T_\text{a} - 25\,°\text{C}}{R^2} \times \sqrt{x}"
    assert maths.spoken(latex) == "q equals T a minus 25 ° C over R squared times the square root of x"
    assert maths.typst(latex) == 'q eq frac(attach(T, b: "a") minus"25"thin"°""C", attach(R, t: "2")) times sqrt(x)'
    assert maths.mathml("x^2_1").count("<msubsup>") == 1
    assert maths.mathml(r"{}^{\circ}") == maths.mathml("°")
    assert "&lt;b&gt;" in maths.mathml(r"\text{<b>}") and maths.typst(r'\text{a"b}') == r'"a\"b"'


# ------------------------------------------------------------------------------- the lessons in blocks


@pytest.fixture(scope="module")
def told():
    """Lesson 01 for both editions: benches, workings, tables, questions, cautions."""
    return _lessons.once(PATHS[1])[0]


def kinds(lesson, kind):
    return [block[kind] for block in lesson["blocks"] if kind in block]


def test_blocks_of_a_lesson(told):
    assert [block["level"] for block in kinds(told, "heading")][:2] == [1, 2]
    assert all(kinds(told, kind) for kind in ("paragraph", "list", "code", "printed", "formula", "working", "table", "folded", "caution"))
    assert not any(code.startswith(("from", "bench(", "questions(")) and "\n\n" not in code for code in kinds(told, "code"))
    for bench in kinds(told, "bench"):
        assert bench["result"] and bench["alt"] and bench["picture"].startswith(b"\x89PNG")
        assert len(bench["stills"]) <= edition.STILLS + 1
        stated = bench["stills"][0]
        assert stated[0] == bench["values"] and stated[1:3] == (bench["result"], bench["alt"])


def test_a_bench_keeps_its_stated_values_and_its_bound(told):
    for bench in kinds(told, "bench"):
        for part in bench["parts"]:
            values = edition._values(part)
            assert part["value"] in values and len(values) >= (1 if part["kind"] == "slider" else 2)
            assert part["kind"] != "slider" or len(values) > 2
        seen = [tuple(values.values()) for values, *_ in bench["stills"]]
        assert len(set(seen)) == len(seen)


@given(st.integers(-50, 50), st.integers(1, 400), st.sampled_from([0.1, 0.5, 1, 5]), st.floats(0, 1), st.integers(3, 12))
def test_a_slider_with_few_positions_keeps_its_stated_value(low, count, step, share, most):
    at = round(share * count)
    part = {"kind": "slider", "low": low, "high": low + count * step, "step": step, "value": low + at * step}
    edition._coarsen(part, most)
    values = edition._values(part)
    assert part["value"] == pytest.approx(values[still._place(part, part["value"])]) and len(values) <= most
    assert values[0] >= low - 1e-9 and values[-1] <= low + count * step + 1e-9
    assert len(values) >= min(count + 1, most) / 2 - 2


def test_a_slider_holds_half_of_its_stated_value_where_it_can():
    part = {"kind": "slider", "low": 1, "high": 30, "step": 1, "value": 10}
    edition._coarsen(part, 8)
    assert edition._values(part) == [5, 10, 15, 20, 25, 30]


def test_unknown_things_are_refused():
    with pytest.raises(bootstrap.Trouble, match="cannot show a object"):
        edition._shown(object(), False)
    with pytest.raises(bootstrap.Trouble, match="block_quote"):
        edition.markdown("> quoted")


def test_a_failing_cell_is_named(tmp_path):
    path = tmp_path / PATHS[1].name
    nbformat.write(nbformat.v4.new_notebook(cells=[nbformat.v4.new_code_cell("1 / 0")]), path)
    with pytest.raises(bootstrap.Trouble, match="cell 1 raised ZeroDivisionError"):
        list(edition.lessons([path], 0, "US"))


# ------------------------------------------------------------------------------- print


@pytest.fixture(scope="module")
def paper(told):
    return printed.pdf("01 Energy", [told], "US units, learner's number 7", ["A cover."])


def text_of(content):
    pages = pypdf.PdfReader(io.BytesIO(content)).pages
    return [" ".join(page.extract_text().split()) for page in pages]


def test_the_pdf_of_a_lesson(told, paper):
    pages = text_of(paper)
    assert len(pages) > 8
    whole = " ".join(pages)
    for block in kinds(told, "bench"):
        assert block["title"] in whole and all(value in whole for _, value in block["settings"])
    asked = kinds(told, "questions")[0]
    assert all(" ".join(one["ask"].split()[:4]) in whole for one in asked)
    assert all(f"page {number} of {len(pages)}" in page for number, page in enumerate(pages, 1))
    assert all("01 Energy" in page and "learner's number 7" in page for page in pages[1:])
    assert "Contents" in pages[0]
    assert "(see part" not in whole, "answers stand in their own file"


def test_pictures_of_the_pdf_have_words_and_no_colours(told, paper):
    from PIL import Image

    reader = pypdf.PdfReader(io.BytesIO(paper))
    nodes = map(reader.get_object, range(1, reader.trailer["/Size"]))
    alts = [node["/Alt"] for node in nodes if isinstance(node, pypdf.generic.DictionaryObject) and "/Alt" in node]
    for block in kinds(told, "bench"):
        assert block["alt"] in alts
        assert Image.open(io.BytesIO(block["picture"])).convert("RGB").convert("HSV").getextrema()[1] == (0, 0)
    assert reader.metadata.title == "01 Energy"
    assert reader.trailer["/Root"]["/Lang"] == "en" and reader.trailer["/Root"]["/MarkInfo"]["/Marked"]


def test_a_wide_drawing_has_a_sheet_of_its_own():
    svg = '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {0} 400" width="{0}" height="400"><rect width="9" height="9"/></svg>'
    heading = {"heading": {"level": 1, "words": ["Drawings"]}}
    drawings = [{"drawing": {"svg": svg.format(width), "alt": "a square", "words": ["one way", "another"]}} for width in (600, 1300)]
    lesson = {"number": "99", "title": "Drawings", "blocks": [heading, *drawings]}
    pages = pypdf.PdfReader(io.BytesIO(printed.pdf("Drawings", [lesson], ""))).pages
    assert [float(page.mediabox.width) for page in pages] == [612, 1224, 612]
    assert "another" in pages[0].extract_text() and "another" in pages[2].extract_text()


def test_answers_stand_in_a_file_of_their_own(told):
    pages = " ".join(text_of(printed.pdf("Answers", [printed.answers(told)], "")))
    for one in kinds(told, "questions")[0]:
        assert one["told"].rstrip(".") in pages
        assert all(" ".join(slip[2].split()[:4]) in pages for slip in one.get("slips", []))


def test_the_same_lesson_gives_the_same_bytes(told, paper):
    (again,) = edition.lessons([PATHS[1]], 7, "US", grid=False)
    assert printed.pdf("01 Energy", [again], "US units, learner's number 7", ["A cover."]) == paper


def test_another_learner_has_other_numbers(told):
    (other,) = edition.lessons([PATHS[1]], 8, "SI", grid=False)
    assert [one["ask"] for one in kinds(other, "questions")[0]] != [one["ask"] for one in kinds(told, "questions")[0]]


# ------------------------------------------------------------------------------- on the disk


def test_an_edition_is_put_whole_or_not_at_all(tmp_path, monkeypatch):
    ours = r"[ab]\.txt|pictures/\d\.png"
    place = edition.put(tmp_path, "made", {"a.txt": b"1", "pictures/1.png": b"2"}, ours)
    edition.put(tmp_path, "made", {"b.txt": b"3"}, ours)
    assert [path.name for path in place.rglob("*")] == ["b.txt"]
    edition.put(tmp_path, "made", {"a.txt": b"4"}, ours, stay=True)
    assert {path.name: path.read_bytes() for path in place.iterdir()} == {"a.txt": b"4", "b.txt": b"3"}

    def full(path, content):
        raise OSError(28, "No space left on device")

    with monkeypatch.context() as patch:
        patch.setattr(edition.files, "replace", full)
        with pytest.raises(InputError, match="No space left"):
            edition.put(tmp_path, "made", {"a.txt": b"5"}, ours)
    (place / "mine.doc").write_bytes(b"!")
    with pytest.raises(InputError, match="mine.doc"):
        edition.put(tmp_path, "made", {"a.txt": b"5"}, ours)
    assert (place / "a.txt").read_bytes() == b"4" and [path.name for path in tmp_path.iterdir()] == ["made"]


def test_the_commands(told, tmp_path, monkeypatch, capsys, home):
    monkeypatch.setattr(edition, "lessons", lambda paths, seed, system, grid=False: [told] * len(paths))
    assert printing.main(["01", "--to", str(tmp_path)]) == 0
    assert sorted(path.name for path in (tmp_path / "coachwork-print").iterdir()) == ["01-energy-answers.pdf", "01-energy.pdf"]
    assert siting.main(["energy", "--to", str(tmp_path), "--units", "SI"]) == 0
    said = capsys.readouterr().out
    assert "MB" in said and "index.html" in said and "pictures" in said
    monkeypatch.setattr(siting, "MOST", 1000)
    with pytest.raises(bootstrap.Trouble, match="make fewer lessons"):
        siting.main(["energy", "--to", str(tmp_path)])


# ------------------------------------------------------------------------------- the still edition


@pytest.fixture(scope="module")
def folder(told, tmp_path_factory):
    folder = tmp_path_factory.mktemp("site")
    for name, content in still.site([told], "US", 7).items():
        (folder / name).parent.mkdir(exist_ok=True)
        (folder / name).write_bytes(content)
    return folder


def test_pages_ask_for_nothing_from_elsewhere(folder):
    for path in [*folder.glob("*.html"), folder / "still.css", folder / "still.js"]:
        text = path.read_text(encoding="utf-8").replace("http://www.w3.org/", "")
        assert not re.findall(r'(?:src|href|url|import|fetch)\s*[=(]\s*["\']?(?:https?:)?//', text)
        if path.suffix == ".html":
            for address in re.findall(r'(?:src|href)="([^"#]+)"', text):
                assert address.startswith("data:") or (folder / address).is_file()


def test_what_a_lesson_says_is_escaped():
    page = still._Page({"number": "99", "file": "x.ipynb"}, [], [], "")
    bad = "<script>alert(1)</script>"
    blocks = [{"paragraph": [bad, ("strong", [bad]), ("code", bad), ("link", [bad], "javascript:alert(1)"), ("maths", r"\text{<script>}")]},
              {"code": bad}, {"printed": bad}, {"heading": {"level": 2, "words": [bad]}}, {"panel": {"title": bad, "text": bad}},
              {"caution": {"title": bad, "says": bad, "source": bad}}, {"list": {"ordered": False, "items": [[{"paragraph": [bad]}]]}},
              {"table": {"caption": bad, "head": [[bad]], "numeric": [False], "rows": [[[bad]]]}}]  # fmt: skip
    made = "".join(map(page.block, blocks))
    assert "<script" not in made and "javascript" not in made


needs_browser = pytest.mark.skipif(not browser.chromium(), reason=browser.NONE_FOUND)


@pytest.fixture(scope="module")
def chromium():
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        chromium = playwright.chromium.launch(executable_path=browser.chromium(), args=browser.FLAGS)
        yield chromium
        chromium.close()


@pytest.fixture(scope="module")
def opened(chromium, folder):
    """Opens a page of the still edition without a network; what goes wrong there is gathered."""
    context = chromium.new_context(viewport=dict(width=1280, height=900), reduced_motion="reduce")
    context.set_offline(True)
    page = context.new_page()
    page.wrong = []
    page.on("pageerror", lambda error: page.wrong.append(str(error)))
    page.on("console", lambda said: page.wrong.append(said.text) if said.type in ("error", "warning") else None)
    page.on("requestfailed", lambda request: page.wrong.append(request.url))
    page.goto((folder / "01-energy.html").as_uri())
    yield page
    assert page.wrong == []
    context.close()


@needs_browser
def test_a_slider_changes_the_picture_by_keyboard(opened):
    bench = opened.locator(".cw-pictured").first
    picture, slider = bench.locator("img"), bench.locator("input[type=range]").first
    picture.wait_for()
    before, alt, words = picture.get_attribute("src"), picture.get_attribute("alt"), bench.locator(".cw-result").inner_text()
    slider.focus()
    slider.press("ArrowRight")
    opened.wait_for_function("([img, old]) => img.getAttribute('src') !== old", arg=[picture.element_handle(), before])
    assert picture.evaluate("img => img.complete && img.naturalWidth > 100")
    assert picture.get_attribute("alt") != alt and bench.locator(".cw-result").inner_text() != words
    opened.wait_for_function("bench => bench.querySelector('[role=status]').textContent.trim() === bench.querySelector('.cw-result').textContent",
                             arg=bench.element_handle())  # fmt: skip
    assert "still bench" in opened.locator(".note").first.inner_text()


@needs_browser
def test_one_control_at_a_time_puts_the_others_back(opened, told):
    at, one = next((place, bench) for place, bench in enumerate(kinds(told, "bench")) if not bench["together"])
    bench = opened.locator(".cw-pictured").nth(at)
    first, second = (bench.locator("input[type=range]").nth(place) for place in (0, 1))
    stated = next(part["value"] for part in one["parts"] if part["kind"] == "slider")
    first.press("End")
    opened.wait_for_function("bench => !bench.matches('.cw-busy')", arg=bench.element_handle())
    assert float(first.input_value()) != stated
    second.press("End")
    opened.wait_for_function("([slider, value]) => Number(slider.value) === value", arg=[first.element_handle(), stated])


@needs_browser
def test_a_slip_is_met_with_its_words(opened, told):
    asked = kinds(told, "questions")[0]
    at, one = next((place, one) for place, one in enumerate(asked, 1) if one.get("slips"))
    value, _, reason, _ = one["slips"][0]
    group = opened.locator("fieldset.cw-group", has=opened.get_by_text(f"Question {at}", exact=True))
    group.locator("input").fill(f"{value!r} {one['unit']}")
    group.locator("input").press("Enter")
    note = group.locator(".cw-note:visible")
    note.wait_for()
    assert reason in note.inner_text() and "Not yet." in note.inner_text()
    group.locator("input").fill(f"{one['right']!r} {one['unit']}")
    group.get_by_role("button", name="Check").click()
    opened.wait_for_function("note => note.matches('.cw-right')", arg=note.element_handle())
    assert "1 of" in opened.locator("[data-questions] .cw-result").inner_text()


@needs_browser
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_axe_finds_nothing(opened, scheme):
    from axe_playwright_python.sync_playwright import Axe

    opened.emulate_media(color_scheme=scheme)
    opened.wait_for_function("dark => document.documentElement.dataset.jpThemeLight === String(!dark)", arg=scheme == "dark")
    found = Axe().run(opened, options={"preload": False}).response["violations"]  # styles of a file cannot be fetched
    assert [f"{rule['id']}: {node['html'][:200]}" for rule in found for node in rule["nodes"]] == []


@needs_browser
def test_a_narrow_page_does_not_scroll_sideways(opened):
    opened.set_viewport_size(dict(width=320, height=640))
    assert opened.evaluate("document.documentElement.scrollWidth") == 320
    opened.set_viewport_size(dict(width=1280, height=900))


@needs_browser
def test_the_skip_link_comes_first(opened):
    opened.reload()
    opened.keyboard.press("Tab")
    assert opened.evaluate("document.activeElement.textContent") == "Skip to the lesson"
    opened.keyboard.press("Enter")
    assert opened.evaluate("document.activeElement.id") == "main"
    levels = opened.evaluate("[...document.querySelectorAll('h1, h2, h3, h4')].map(one => Number(one.tagName[1]))")
    assert levels[0] == 1 and levels.count(1) == 1 and all(b - a <= 1 for a, b in zip(levels, levels[1:]))


# ------------------------------------------------------------------------------- verdicts, here and on the page

ODD = ["", "  ", "12", "1e999", "x W", "12 W W", "9**9 W", "12 Wh/", "12 (Wh)", "12 kWh/h", "12 W2/W", "12 W²", "12 W/(h)", "1,200 Wh", "12,00 Wh",
       "−3 Wh", "5 parsec", "12 %", "0.5", "12 W h", "12 W·h", "12 W/(h h)", "12 W/(h (s))", "12 W*/h", "12 /h", "12 W^9", "12 W ^ 2", "3 inH2O",
       "20 °F", "20 delta_degF", "20 K", "4 hours", "1.5 days", "7 °", "12 constructor", "1" * 90 + " Wh", "12 Wh extra", "12 Wh  "]  # fmt: skip


def answers_for(item, given):
    """Answers to a question: right, each slip, wrong ones, in other units and unreadable."""
    if isinstance(item, Choice):
        return [item.right, *item.wrong, None]
    right = item.solution(given)
    values = [right, *(item.mistake(slip, given) for slip in item.slips), right * 3.17 + 1, right * 1.015, right * 0.97]
    found = [write_quantity(Quantity(value, item.unit)) for value in values]
    other = {"Wh": ("kWh", 1e-3), "W": ("kW", 1e-3), "A": ("mA", 1e3), "V": ("mV", 1e3), "h": ("min", 60), "ft": ("in", 12)}.get(item.unit)
    return found + ([f"{right * other[1]!r} {other[0]}"] if other else []) + ODD


@needs_browser
@pytest.mark.parametrize("topic", [one.topic.replace("-", "_") for one in lessons() if one.built])
def test_the_page_judges_as_the_workbook_does(chromium, topic, home):
    panel = Questions(topic)
    source = (still.HERE / "still.js").read_text(encoding="utf-8").partition("// ---- the page")[0]
    stored, wanted = edition._questions(panel), []
    for item, given, one in zip(panel.items, panel.given, stored):
        for answer in answers_for(item, given):
            try:
                verdict = item.judge(answer or "", given)
                wanted.append(["right" if verdict.kind == "right" else "wrong", verdict.words])
            except InputError:
                wanted.append(["error", None])
    asked = [[one, [answer for answer in answers_for(item, given)]] for item, given, one in zip(panel.items, panel.given, stored)]
    page = chromium.new_page()
    found = page.evaluate("([source, asked, units]) => { const judge = new Function(`${source}; return judge`)();"
                          " return asked.flatMap(([one, answers]) => answers.map((answer) => judge(one, answer, units))); }",
                          [source, json.loads(json.dumps(asked)), still.unit_table()])  # fmt: skip
    page.close()
    assert [[kind, words if kind != "error" else None] for kind, words in found] == wanted
    assert {"right", "wrong"} <= {kind for kind, _ in found}
    assert all(said for _, said in found)


# ------------------------------------------------------------------------------- all lessons, each run once


@pytest.mark.parametrize("path", PATHS, ids=lambda path: path.stem)
def test_every_bench_of_a_lesson(path):
    told, wrong = _lessons.once(path)
    assert wrong == []
    assert len(kinds(told, "bench")) >= 1 or path.name.startswith(("00", "11", "12"))


def test_all_lessons_in_both_editions():
    every = [_lessons.once(path)[0] for path in PATHS]
    content = still.site(every, "US", 7)
    assert sum(map(len, content.values())) < siting.MOST
    assert {path.with_suffix(".html").name for path in PATHS} < set(content)
    course = text_of(printed.pdf(printed.NAME, every, "", printing.COVER))
    assert all(any(page.startswith(one["number"]) for page in course) for one in every)
    assert len(course) > 100
    assert len(text_of(printed.pdf(printed.NAME, list(map(printed.answers, every)), ""))) > len(PATHS)
