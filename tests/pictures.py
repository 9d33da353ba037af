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
    return 0


def save(name, content):
    from PIL import Image

    picture = Image.open(io.BytesIO(content)).convert("RGB").quantize(COLOURS)
    path = FOLDER / f"{name}.png"
    picture.save(path, optimize=True)
    print(path.relative_to(bootstrap.ROOT), f"{path.stat().st_size // 1000} kB")
