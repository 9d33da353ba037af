"""`python3 tests pictures`: redraw the README's pictures from the real page. CI never does this."""

import argparse
import io

from coachwork import bootstrap

FOLDER = bootstrap.ROOT / "workbook" / "pictures"
COLOURS = 64  # enough for a page of text and flat colours; keeps a picture under 60 kB


def main(argv):
    argparse.ArgumentParser(prog="python3 tests pictures", description=__doc__).parse_args(argv)
    import browser

    FOLDER.mkdir(exist_ok=True)
    with browser.Browser() as opened, opened.lesson("01-energy", width=1000) as lesson:
        lesson.run_all()
        page = lesson.page
        page.evaluate("jupyterapp.shell.currentWidget.content.node.querySelector('.jp-Cell').scrollIntoView()")
        page.wait_for_timeout(500)
        save("lesson", page.screenshot(clip=dict(x=0, y=0, width=1000, height=800)))
        save("bench", page.locator(".jp-OutputArea-output .cw-pictured").first.screenshot())
        rows = page.locator(".jp-OutputArea-output details").first
        rows.locator("summary").click()
        page.wait_for_timeout(300)
        rows.scroll_into_view_if_needed()
        place = rows.bounding_box()
        page.mouse.wheel(0, place["y"] - 100)
        page.wait_for_timeout(500)
        place = rows.bounding_box()
        save("handbook", page.screenshot(clip=dict(x=place["x"], y=place["y"], width=place["width"], height=420)))
    editions()
    return 0


def editions():
    """A page of the printed edition and one of the still edition."""
    import tempfile
    from pathlib import Path

    import pypdf
    import typst
    from playwright.sync_api import sync_playwright

    import browser
    from coachwork.commands.open import LESSONS
    from coachwork.page import edition, printed, still

    lessons = list(edition.lessons([LESSONS / "01-energy.ipynb"], 0, "US", grid=True))
    told = ("01 Energy", lessons, "US units, learner's number 0")
    with tempfile.TemporaryDirectory() as folder:
        main = printed.sources(folder, *told)
        pages = typst.compile(main, root=folder, format="png", ignore_system_fonts=True, ppi=96)
    paper = pypdf.PdfReader(io.BytesIO(printed.pdf(*told)))
    save("printed", next(page for page, text in zip(pages, paper.pages) if "Set to:" in text.extract_text()))
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as playwright:
        for name, content in still.site(lessons, "US", 0).items():
            Path(folder, name).parent.mkdir(exist_ok=True)
            Path(folder, name).write_bytes(content)
        page = playwright.chromium.launch(executable_path=browser.chromium(), args=browser.FLAGS).new_page(viewport=dict(width=1000, height=760))
        page.goto(Path(folder, "01-energy.html").as_uri())
        page.locator(".cw-picture").first.wait_for()
        page.evaluate("document.querySelector('.note').scrollIntoView()")
        page.wait_for_timeout(500)
        save("still", page.screenshot())


def save(name, content):
    from PIL import Image

    picture = Image.open(io.BytesIO(content)).convert("RGB").quantize(COLOURS)
    path = FOLDER / f"{name}.png"
    picture.save(path, optimize=True)
    print(path.relative_to(bootstrap.ROOT), f"{path.stat().st_size // 1000} kB")
