"""`python3 workbook`: lay working copies of the lessons in the reader's folder and open JupyterLab there.

The lessons of the repository are never opened themselves. A working copy whose cells the reader left as
they were is renewed when the lesson changes; one with the reader's own changes stays, and the new edition
is put beside it. What was laid is remembered in `.lessons.json` in the reader's folder.
"""
import argparse
import hashlib
import json
import os
import secrets
import sys
import urllib.request
import webbrowser

from coachwork import bootstrap

LESSONS = bootstrap.ROOT / "workbook"
GUIDE = "for-instructors.ipynb"  # laid only for whoever asks: it names what learners are likely to get wrong
# A package that JupyterLab takes along builds a large grammar at import, 1.6 s of every start, to check
# addresses that nothing here has; it is optional to the one that imports it, so it is left out.
JUPYTERLAB = "import sys; sys.modules['rfc3987_syntax'] = None; from jupyterlab.labapp import main; main()"
WIDGET_VIEW = "application/vnd.jupyter.widget-view+json"

# JupyterLab's own settings where the reader has not chosen otherwise. All cells stay in the page, so that
# searching finds every word and a bench keeps its picture when it is scrolled out of sight.
SETTINGS = {
    "@jupyterlab/apputils-extension:notification": {"fetchNews": "false", "checkForUpdates": False},
    "@jupyterlab/notebook-extension:tracker": {"windowingMode": "none"},
}
# No buttons in the corner of a cell: Tab would come to them before the controls of a lesson, their focus is hard to see, and
# Enter would lay a copy of the cell. (Their own setting is read before there is a notebook, and then has no effect.)
WITHOUT = {"disabledExtensions": {"@jupyterlab/cell-toolbar-extension:plugin": True}}


def main(argv, guide=False):
    command = " workbook guide" if guide else " workbook"
    words = argparse.ArgumentParser(prog=bootstrap.PYTHON + command, description="Open the {}.".format(
        "guide for instructors" if guide else "lessons"))
    words.add_argument("--no-browser", action="store_true", help="print the address and open nothing")
    words.add_argument("--port", type=int, default=8888, help="first port to try (default 8888)")
    wish = words.parse_args(argv)
    home = bootstrap.home()
    address = running(home)
    if address:                 # laying copies under an open lesson would pull it away from the reader
        if guide:
            if not (home / GUIDE).exists():
                write(home / GUIDE, (LESSONS / GUIDE).read_bytes())
            address = address.replace("/lab?", "/lab/tree/{}?".format(GUIDE))
        print("The workbook is already open at", address)
        if not wish.no_browser:
            webbrowser.open(address)
        return 0
    try:
        kept = lay_out(home, guide=guide)
        lay_seed(home)
        command, env = server(home, "--port={}".format(wish.port), *["--no-browser"] * wish.no_browser,
                              first=GUIDE if guide else None)
    except OSError as error:
        raise bootstrap.Trouble("Your folder {} cannot be written ({}): name another one in COACHWORK_HOME "
                                "and start again.".format(home, error.strerror or error))
    for name in kept:
        print("You changed this lesson, so its new edition was put beside your copy:", name)
    print("Your lessons are in {}. To close the workbook press Ctrl-C here twice.".format(home), flush=True)
    os.environ.update(env)
    return bootstrap.go_on(command)


# ---- working copies

def notebooks():
    """The notebooks of the repository: the lessons in order, then the guide."""
    return [*sorted(LESSONS.glob("[0-9][0-9]-*.ipynb")), LESSONS / GUIDE]


def lay_out(home, lessons=LESSONS, guide=False):
    """Lay lessons and pictures in the reader's folder; return the new editions put beside copies.

    The guide for instructors is laid where it is asked for, and kept up to date where it was.
    """
    (home / "pictures").mkdir(parents=True, exist_ok=True)
    if not (home / "seed.txt").exists():        # from now on this reader's questions have numbers of their own
        write(home / "seed.txt", b"%d\n" % secrets.randbelow(10**6))
    memory = home / ".lessons.json"
    try:
        laid = json.loads(memory.read_text("utf-8"))
    except (OSError, ValueError):
        laid = {}               # then every copy that differs counts as the reader's own and stays
    wanted = sorted(lessons.glob("[0-9][0-9]-*.ipynb"))
    wanted += [lessons / GUIDE] * (guide or (home / GUIDE).exists())
    beside = [lay_lesson(path, home, laid) for path in wanted]
    for path in sorted((lessons / "pictures").glob("*.*")):
        name, new = "pictures/" + path.name, path.read_bytes()
        old = (home / name).read_bytes() if (home / name).exists() else None
        if old is None or digest(old) == laid.get(name):
            laid[name] = digest(new)
            if old != new:
                write(home / name, new)
    write_json(memory, laid)
    return [name for name in beside if name]


def lay_seed(home):
    """Give the reader a number of their own, once, from which their questions are drawn."""
    if not (home / "seed.txt").exists():
        write(home / "seed.txt", "{}\n".format(secrets.randbelow(10**6)).encode())


def lay_lesson(lesson, home, laid):
    """Lay one lesson; return the file name if a new edition was put beside a changed copy, else None.

    The names tried in turn are `x.ipynb`, `x (new edition).ipynb`, `x (new edition 2).ipynb` and so on: the
    first one that is free, holds this edition, or was not changed by the reader is the place.
    """
    new, edition = lesson.read_bytes(), cells(lesson.read_bytes())
    for copy in editions(home, lesson):
        known, first = laid.get(copy.name), copy.name == lesson.name
        if not copy.exists():
            if first or known != edition:       # a new edition the reader has thrown away does not come back
                laid[copy.name] = edition
                write(copy, new)
                return None if first else copy.name
            return None
        have = cells(copy.read_bytes())
        if have == edition or have == known:
            laid[copy.name] = edition
            write(copy, new if have != edition else without_views(copy.read_bytes()))
            return None
        if have:                                # it can be read, and the reader changed it
            write(copy, without_views(copy.read_bytes()))
            if known == edition:
                return None


def editions(home, lesson):
    """The names a lesson's working copies may have, without end."""
    yield home / lesson.name
    number = 1
    while True:
        which = " {}".format(number) if number > 1 else ""
        yield home / "{} (new edition{}).ipynb".format(lesson.stem, which)
        number += 1


def cells(notebook):
    """A digest of the cells of a notebook (bytes), outputs aside; None if it is no notebook."""
    try:
        said = [(cell["cell_type"], "".join(cell["source"])) for cell in json.loads(notebook)["cells"]]
    except (ValueError, KeyError, TypeError):
        return None
    return digest(json.dumps(said).encode("utf-8"))


def without_views(notebook):
    """The notebook (bytes) without widgets' views: their models ended with the kernel that made them."""
    content, found = json.loads(notebook), WIDGET_VIEW.encode() in notebook
    for cell in content["cells"]:
        outputs = cell.get("outputs", [])
        for output in outputs:
            output.get("data", {}).pop(WIDGET_VIEW, None)
        cell.get("outputs", [])[:] = [o for o in outputs if o.get("data") != {}]
    if content["metadata"].pop("widgets", None) is None and not found:
        return notebook
    return (json.dumps(content, indent=1, sort_keys=True, ensure_ascii=False) + "\n").encode("utf-8")


def digest(content):
    return hashlib.sha256(content).hexdigest()


def write(path, content):
    """Write bytes so that the file is at every moment the old one or the new one, whole."""
    if path.exists() and path.read_bytes() == content:
        return
    beside = path.with_name("." + path.name + ".new")
    beside.write_bytes(content)
    os.replace(str(beside), str(path))


def write_json(path, content):
    path.parent.mkdir(parents=True, exist_ok=True)
    write(path, json.dumps(content, indent=1, sort_keys=True).encode("utf-8"))


# ---- JupyterLab

def server(home, *options, first=None):
    """Command and environment of a JupyterLab over the reader's folder, on this machine only.

    first : the notebook that it opens; left out, the first lesson where the folder is new.

    Its settings live in `.jupyter` in that folder, so neither reads nor changes the reader's other Jupyter.
    """
    own = home / ".jupyter"
    write_json(own / "app" / "overrides.json", SETTINGS)
    write_json(own / "app" / "page_config.json", WITHOUT)
    write_json(own / "ipython" / "profile_default" / "ipython_kernel_config.json",
               {"IPKernelApp": {"log_level": "ERROR", "extensions": ["coachwork.page.unmade"]}})
    lessons = [path.name for path in sorted(home.glob("[0-9][0-9]-*.ipynb"))]
    if first is None and lessons and not (own / "workspaces").exists():
        first = lessons[0]                      # later the reader finds the lessons open that were open
    command = [
        sys.executable, "-c", JUPYTERLAB, "--ip=127.0.0.1", "--log-level=ERROR", "--LabApp.log_level=ERROR",
        "--ServerApp.root_dir={}".format(home),
        "--ServerApp.use_redirect_file=False",  # packaged browsers may not read files in hidden folders
        "--LabApp.app_settings_dir={}".format(own / "app"),
        "--LabApp.default_url=/lab" + ("/tree/" + first if first else ""),
        "--LabApp.news_url=None", "--LabApp.check_for_updates_class=jupyterlab.NeverCheckForUpdate",
        *options]
    if hasattr(os, "geteuid") and os.geteuid() == 0:
        command.append("--allow-root")
    folders = {"JUPYTER_CONFIG_DIR": "config", "JUPYTER_DATA_DIR": "data", "JUPYTER_RUNTIME_DIR": "runtime",
               "JUPYTERLAB_SETTINGS_DIR": "settings", "JUPYTERLAB_WORKSPACES_DIR": "workspaces",
               "IPYTHONDIR": "ipython"}
    env = {name: str(own / folder) for name, folder in folders.items()}
    return command, dict(os.environ, COACHWORK_HOME=str(home), **env)


def running(home):
    """The address of a JupyterLab already open over this folder, or None."""
    for note in (home / ".jupyter" / "runtime").glob("jpserver-*.json"):
        try:
            said = json.loads(note.read_text("utf-8"))
            urllib.request.urlopen(said["url"] + "api", timeout=2).close()
        except (OSError, ValueError, KeyError):
            continue            # left by a server that did not end well
        return "{}lab?token={}".format(said["url"], said["token"])
    return None
