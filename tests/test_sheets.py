"""The sheets to print: every test on one page of its own, every word of the calculation on it, nothing but
black on white."""

import re

import pytest

import browser
from coachwork import coach, commissioning
from coachwork.page.cautions import DEFERRAL
from coachwork.page.sheets import card_html, print_sheets, worksheets_html

READ = [coach.read(path) for path in coach.demos()]
EACH = pytest.mark.parametrize("mine", READ, ids=lambda one: one.name)


def plain(page):
    """The words of a page."""
    from html import unescape

    return " ".join(unescape(re.sub(r"<[^>]+>", " ", page.partition("<body>")[2])).split())


@EACH
def test_every_line_of_the_calculation_is_on_paper(mine):
    page, said = worksheets_html(mine), plain(worksheets_html(mine))
    for sheet in commissioning.worksheets(mine):
        for text in (sheet.title, sheet.who, sheet.pass_rule, *sheet.before, str(sheet.source)):
            assert " ".join(text.split()) in said
        for line in sheet.lines:
            assert all(" ".join(text.split()) in said
                       for text in (line.what, line.where, line.predicted, line.passes))
    for one in commissioning.settings_sheet(mine):
        assert all(text in said for text in (one.device, one.what, one.value, one.reason, one.limit))
    assert page.count("<section") == len(commissioning.worksheets(mine)) + 1


@EACH
def test_the_card_says_what_the_calculation_says(mine):
    said = plain(card_html(mine))
    for heading, lines in commissioning.emergency_card(mine).parts:
        assert heading in said and all(" ".join(line.split()) in said for line in lines)
    assert DEFERRAL in said and mine.commissioning.main_switch_at in said


def test_names_cannot_break_the_page():
    page = card_html(READ[0].changed("commissioning", main_switch_at="<b>left & low</b>"))
    assert "&lt;b&gt;left &amp; low&lt;/b&gt;" in page and "<b>left" not in page


def test_it_is_black_on_white():
    assert set(re.findall(r"#[0-9a-f]{3,6}\b", worksheets_html(READ[0]).partition("</style>")[0])) == {"#000",
        "#fff"}


def test_files_are_written_where_asked(tmp_path):
    assert [path.name for path in print_sheets(READ[0], tmp_path)] == ["worksheets.html",
        "emergency-card.html"]
    assert all(path.read_text(encoding="utf-8").startswith("<!doctype html>") for path in tmp_path.iterdir())


@pytest.mark.skipif(not browser.chromium(), reason=browser.NONE_FOUND)
def test_each_test_fills_one_page_and_the_card_another(tmp_path):
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        chromium = playwright.chromium.launch(executable_path=browser.chromium(), args=browser.FLAGS)
        page = chromium.new_page()
        for mine in READ:
            sheets, card = print_sheets(mine, tmp_path)
            assert pages(page, card) == 1
            page.goto(sheets.as_uri())
            every = page.locator("section")
            for place in range(1, every.count()):  # alone on the paper; the settings may take more
                page.evaluate("n => document.querySelectorAll('section').forEach((s, i) => { s.hidden = i != "
                              "n })", place)
                assert counted(page) == 1, every.nth(place).locator("h1").inner_text()
        chromium.close()


def pages(page, path):
    page.goto(path.as_uri())
    return counted(page)


def counted(page):
    """On how many sheets of paper the page prints."""
    return len(re.findall(rb"/Type\s*/Page[^s]", page.pdf(prefer_css_page_size=True)))
