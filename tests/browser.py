"""A real JupyterLab in a real Chromium, for the browser tests and for people who want to look at pages.

    python3 tests browser 01-energy [more lessons] --shots /tmp/shots [--coach FILE]

opens each lesson in an empty reader's folder, runs it whole, says what is wrong with it and takes pictures
in both themes at two widths. Nothing outside this machine is asked.
"""
import argparse
import shutil
import signal
import socket
import subprocess
import sys
import tempfile
import time
import urllib.request
from pathlib import Path

import nbformat
from nbformat import v4

from coachwork.bootstrap import Trouble
from coachwork.commands import open as opening
from coachwork.commands.refresh import find, surroundings

NONE_FOUND = ("no Chromium was found, so the browser tests were skipped: install one "
              "(Debian, Ubuntu: `sudo apt install chromium`; elsewhere Chrome will do) and run again")
FLAGS = ("--no-sandbox --disable-gpu --disable-quic --no-first-run --disable-background-networking "
         "--disable-component-update --disable-sync").split()
THEMES = {"light": "JupyterLab Light", "dark": "JupyterLab Dark"}
WIDTHS = (1280, 800)


def chromium():
    """The path of a Chromium or Chrome on this machine, or None."""
    names = ("chromium", "chromium-browser", "google-chrome", "google-chrome-stable", "chrome")
    return next(filter(None, map(shutil.which, names)), None)


class Browser:
    """One JupyterLab and one Chromium over an empty reader's folder; a context manager.

    `lessons` is the folder the working copies are laid from, `coach` a coach file to put into the folder.
    """

    def __init__(self, lessons=opening.LESSONS, coach=None, guide=False):
        self.folder = tempfile.TemporaryDirectory(prefix="coachwork-browser-", ignore_cleanup_errors=True)
        self.home = Path(self.folder.name) / "home"
        self.lessons, self.coach, self.guide = lessons, coach, guide

    def __enter__(self):
        from playwright.sync_api import sync_playwright
        opening.lay_out(self.home, self.lessons, self.guide)
        if self.coach:
            shutil.copy(self.coach, self.home / "coach.toml")
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            self.port = free.getsockname()[1]
        command, env = opening.server(
            self.home, f"--port={self.port}", "--no-browser", "--ServerApp.port_retries=0",
            "--IdentityProvider.token=for-tests", "--LabApp.expose_app_in_browser=True")
        env.update({**surroundings(self.home), "IPYTHONDIR": env["IPYTHONDIR"]})
        self.log = open(self.home.parent / "log", "w+b")
        self.server = subprocess.Popen(command, env=env, stdout=self.log, stderr=subprocess.STDOUT)
        try:
            self.wait_for_server()
            self.playwright = sync_playwright().start()
            self.chromium = self.playwright.chromium.launch(executable_path=chromium(), args=FLAGS)
            self.page = self.chromium.new_page()
            self.page.set_default_timeout(60_000)
            self.page.goto(f"http://127.0.0.1:{self.port}/lab?reset&token=for-tests")
            self.page.wait_for_function("window.jupyterapp && jupyterapp.restored.then(() => true)")
            self.page.evaluate("jupyterapp.shell.collapseLeft()")
        except BaseException:
            self.stop_server()
            raise
        return self

    def __exit__(self, *exc):
        self.chromium.close()
        self.playwright.stop()
        self.stop_server()

    def wait_for_server(self):
        for _ in range(2400):
            try:
                return urllib.request.urlopen(f"http://127.0.0.1:{self.port}/api", timeout=5).close()
            except OSError:
                time.sleep(.05)
            if self.server.poll() is not None:
                break
        self.log.seek(0)
        raise Trouble("JupyterLab did not start: " + self.log.read().decode("utf-8", "replace")[-2000:])

    def stop_server(self):
        self.server.send_signal(signal.SIGTERM)
        self.server.wait(30)
        self.log.close()
        self.folder.cleanup()

    def write(self, name, *sources, text=""):
        """Put the notebook `name` with these code cells into the folder; what it keeps lies in a reader's folder of its
        own, which is returned."""
        home = self.home.parent / name
        home.mkdir()
        sources = [f"import os; os.environ['COACHWORK_HOME'] = {str(home)!r}", *sources]
        cells = [v4.new_markdown_cell(text), *map(v4.new_code_cell, sources)]
        kernel = {"name": "python3", "display_name": "Python 3", "language": "python"}
        nbformat.write(v4.new_notebook(cells=cells, metadata={"kernelspec": kernel}), self.home / f"{name}.ipynb")
        return home

    def lesson(self, name, width=WIDTHS[0], theme="light"):
        """Open a working copy (`01-energy`) with its kernel ready; a context manager."""
        return Lesson(self, name, width, theme)


class Lesson:
    """An open lesson; `page` is its Playwright page."""

    def __init__(self, browser, name, width, theme):
        self.browser, self.name, self.width, self.theme = browser, name.removesuffix(".ipynb"), width, theme

    def __enter__(self):
        self.page = self.browser.page           # the same JupyterLab for all: loading it takes longest
        self.look(self.theme, self.width)       # before there is a lesson to draw anew
        self.command("docmanager:open", path=self.name + ".ipynb")
        self.page.wait_for_selector(".jp-Notebook .jp-Cell")
        self.wait_idle()
        return self

    def __exit__(self, *exc):
        self.page.evaluate("""async () => {
            const lesson = jupyterapp.shell.currentWidget;
            await lesson.context.sessionContext.shutdown();
            lesson.dispose();
        }""")

    def command(self, name, **words):
        self.page.evaluate(
            "([name, words]) => jupyterapp.commands.execute(name, words).then(() => null)", [name, words])

    def wait_idle(self):
        self.page.wait_for_function(
            "jupyterapp.shell.currentWidget.context.sessionContext.session?.kernel?.status == 'idle'")

    def run_all(self, timeout=120):
        """Run all cells and wait until every one is done and the pictures stand; return the seconds."""
        begun = time.perf_counter()
        self.page.evaluate("void jupyterapp.commands.execute('notebook:run-all-cells')")
        self.page.wait_for_function("""() => [...document.querySelectorAll('.jp-Notebook .jp-CodeCell')]
            .filter(cell => cell.querySelector('.cm-content').textContent.trim())
            .every(cell => /\\[\\d+\\]/.test(cell.querySelector('.jp-InputPrompt').textContent))
            || document.querySelector('.jp-Notebook [data-mime-type="application/vnd.jupyter.stderr"]')""",
            timeout=1000 * timeout, polling=100)    # asking at every frame takes up to a third of its time
        self.wait_idle()
        seconds = time.perf_counter() - begun
        self.page.wait_for_function("[...document.images].every(picture => picture.complete)")
        self.page.wait_for_timeout(500)
        return seconds

    def errors(self):
        """What cells printed as errors or warnings, and widgets that could not be shown."""
        return self.page.evaluate("""() => [...document.querySelectorAll('.jp-Notebook .jp-OutputArea-output')]
            .filter(e => e.dataset.mimeType == 'application/vnd.jupyter.stderr' ||
                         /Error (displaying|creating) widget|model not found/i.test(e.innerText))
            .map(e => e.innerText)""")

    def missing_pictures(self):
        """The addresses of pictures that could not be loaded."""
        return self.page.evaluate("""[...document.querySelectorAll('.jp-Notebook img')]
            .filter(picture => !picture.naturalWidth).map(picture => picture.src.slice(0, 200))""")

    def barriers(self):
        """What axe finds against readers with a screen reader, a keyboard or weak eyes, one line each."""
        from axe_playwright_python.sync_playwright import Axe
        places = [place for place in (".jp-RenderedMarkdown", ".jp-OutputArea-output")
                  if self.page.locator(".jp-Notebook " + place).count()]
        found = Axe().run(self.page, context={"include": [[".jp-Notebook " + place] for place in places]},
                          options={"resultTypes": ["violations"]})       # what passes is not described
        return [f"{rule['id']}: {node['html'][:200]} ({node['failureSummary']})"
                for rule in found.response["violations"] for node in rule["nodes"]]

    def look(self, theme, width):
        """Switch JupyterLab's theme (light, dark) and the width of the window."""
        self.command("apputils:change-theme", theme=THEMES[theme])
        self.page.set_viewport_size(dict(width=width, height=1000))
        self.page.wait_for_function(
            "dark => document.body.dataset.jpThemeLight == String(!dark)", arg=theme == "dark")
        self.page.wait_for_timeout(500)

    def move_slider(self, timeout=10):
        """Move the first slider that has a picture by a key. True when the picture then changes, False when
        it stays, None when the lesson has no such slider. A bench out of sight may draw its picture only when
        it is scrolled to."""
        bench = self.page.locator(".jp-Notebook .jp-OutputArea-output:has(input[type=range]):has(img, .cw-pictured)").first
        if not bench.count():
            return None
        slider, picture = bench.locator("input[type=range]").first, bench.locator("img").first
        slider.scroll_into_view_if_needed()
        picture.wait_for(timeout=1000 * timeout)
        before = picture.get_attribute("src")
        slider.focus()
        at_end = slider.evaluate("s => Number(s.value) >= Number(s.max)")
        slider.press("ArrowLeft" if at_end else "ArrowRight")
        until = time.perf_counter() + timeout
        while picture.get_attribute("src") == before and time.perf_counter() < until:
            self.page.wait_for_timeout(20)
        return picture.get_attribute("src") != before

    def shots(self, folder):
        """Pictures of the whole lesson as it looks now, one window after the other; return their paths."""
        Path(folder).mkdir(parents=True, exist_ok=True)
        scroll = "document.querySelector('.jp-NotebookPanel:not(.lm-mod-hidden) .jp-WindowedPanel-outer')"
        height, window = self.page.evaluate(f"[{scroll}.scrollHeight, {scroll}.clientHeight]")
        width = self.page.viewport_size["width"]
        theme = "light" if self.page.evaluate("document.body.dataset.jpThemeLight") == "true" else "dark"
        paths = []
        for n, top in enumerate(range(0, height, window - 40), 1):
            self.page.evaluate(f"top => {{ {scroll}.scrollTop = top }}", top)
            self.page.wait_for_timeout(150)
            paths.append(Path(folder) / f"{self.name}-{theme}-{width}-{n:02}.png")
            self.page.locator(".jp-NotebookPanel:not(.lm-mod-hidden)").screenshot(path=paths[-1])
        return paths


def main(argv):
    words = argparse.ArgumentParser(prog="tests browser", description="Look at lessons in a real browser.")
    words.add_argument("lessons", nargs="*", help="01, energy or 01-energy (default: all)")
    words.add_argument("--shots", help="folder for the pictures, outside the repository")
    words.add_argument("--coach", help="a coach file to put into the reader's folder")
    wish = words.parse_args(argv)
    if not chromium():
        raise Trouble(NONE_FOUND)
    wrong = 0
    known = opening.notebooks()
    wanted = [find(word, known).stem for word in wish.lessons] or [path.stem for path in known]
    with Browser(coach=wish.coach, guide=True) as browser:
        for name in wanted:
            with browser.lesson(name) as lesson:
                seconds, moved = lesson.run_all(), lesson.move_slider()
                print(f"{name}: ran in {seconds:.1f} s; a slider changes the picture: {moved}")
                found = lesson.errors() + lesson.missing_pictures()
                for theme in THEMES:
                    for width in WIDTHS:
                        lesson.look(theme, width)
                        found += [f"{theme} {width}: {line}" for line in lesson.barriers()]
                        if wish.shots:
                            paths = lesson.shots(wish.shots)
                            print(f"  {len(paths)} pictures {paths[0]} ...")
                for line in found:
                    print("  WRONG", line)
                wrong += len(found)
    return int(wrong > 0)


if __name__ == "__main__":
    try:
        sys.exit(main(sys.argv[1:]))
    except Trouble as trouble:
        sys.exit(str(trouble))
