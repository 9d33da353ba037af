"""The class server with three real system users: each runs lesson 01 in a browser, none reaches another."""
import ast
import contextlib
import json
import os
import pwd
import shutil
import subprocess
import urllib.error
from pathlib import Path

import pytest

import _classroom
import browser
from coachwork import bootstrap
from coachwork.page.questions import course_seed

if why := _classroom.missing():
    pytest.skip(why, allow_module_level=True)
if not browser.chromium():
    pytest.skip(browser.NONE_FOUND, allow_module_level=True)

ROOM = _classroom.ROOM
KEY = ROOM / "instructor/key.csv"

# What a learner tries from a notebook; each line prints what came of it.
PROBE = """
import json, os, urllib.request, urllib.error
def tried(act):
    try:
        act()
        return "done"
    except urllib.error.HTTPError as error:
        return error.code
    except Exception as error:
        return type(error).__name__
def ask(address):
    own = "token " + os.environ["JUPYTERHUB_API_TOKEN"]
    return urllib.request.Request(address, headers={"Authorization": own})
found = {}
for path in READ: found["read " + path] = tried(lambda: open(path, "rb").read(1))
for path in LIST: found["list " + path] = tried(lambda: os.listdir(path))
for path in WRITE: found["write " + path] = tried(lambda: open(path, "ab"))
for pid in PIDS: found[f"stop {pid}"] = tried(lambda: os.kill(pid, 0))
for address in ADDRESSES:
    found["ask " + address] = tried(lambda: urllib.request.urlopen(ask(address), timeout=10))
print(json.dumps(found))
"""


@pytest.fixture(scope="module")
def room():
    with _classroom.Classroom(3) as one:
        KEY.write_text("question,answer\n1,42 Wh\n")
        yield one
        KEY.unlink()


@pytest.fixture(scope="module")
def chromium():
    from playwright.sync_api import sync_playwright
    with sync_playwright() as playwright:
        one = playwright.chromium.launch(executable_path=browser.chromium(), args=browser.FLAGS)
        yield one
        one.close()


class Learner:
    """A learner with a browser of their own."""

    def __init__(self, room, chromium, name):
        self.name, self.page = name, chromium.new_context().new_page()      # nobody else's cookies
        room.log_in(self.page, name)

    def lesson(self, name="01-energy"):
        return browser.Lesson(self, name, 1280, "light")

    def run(self, code):
        """What the code prints in the kernel of the lesson in sight."""
        return self.page.evaluate("""async code => {
            const kernel = jupyterapp.shell.currentWidget.context.sessionContext.session.kernel;
            const future = kernel.requestExecute({ code });
            let text = "";
            future.onIOPub = ({ content }) => { text += content.text || (content.traceback || []).join("\\n"); };
            await future.done;
            return text;
        }""", code)


def run(lesson):
    lesson.run_all(timeout=240)
    assert lesson.errors() == []
    assert lesson.missing_pictures() == []
    assert lesson.move_slider(timeout=30) is True
    lesson.command("docmanager:save")


def listening(user, pid=None):
    """Ports on which a user's processes listen, or one of them."""
    rows = [line.split() for line in Path("/proc/net/tcp").read_text().splitlines()[1:]]
    rows += [line.split() for line in Path("/proc/net/tcp6").read_text().splitlines()[1:]]
    sockets = {os.readlink(one) for one in Path(f"/proc/{pid}/fd").iterdir()} if pid else ()
    return sorted({int(row[1].rsplit(":", 1)[1], 16) for row in rows if row[3] == "0A" and int(row[7]) == user
                   and (pid is None or f"socket:[{row[9]}]" in sockets)})


def test_a_class(room, chromium, tmp_path):
    """One story, for each step stands on the one before."""
    first, second, third = learners = [Learner(room, chromium, name) for name in room.names]
    with contextlib.ExitStack() as stack:
        lessons = [stack.enter_context(learner.lesson()) for learner in learners]
        for learner, lesson in zip(learners, lessons):
            run(lesson)
            assert Path(f"/home/{learner.name}").stat().st_mode & 0o777 == 0o700
            assert room.home(learner.name).stat().st_mode & 0o777 == 0o700
            seed = course_seed(_classroom.COURSE, learner.name)
            assert (room.home(learner.name) / "seed.txt").read_text() == f"{seed}\n"
        culler = room.api("services/idle-culler")
        assert culler["pid"] > 0

        nobody_reaches_another(room, first, second)
        limit = second.run("import resource; print(resource.getrlimit(resource.RLIMIT_DATA)[0])")
        assert limit == f"{3 * 2**29}\n"
        assert "MemoryError" in second.run("too_much = bytearray(2**31)")
        assert second.run("print(6 * 7)") == "42\n"                 # the kernel lives on

        # the first learner changes a cell of lesson 01 and saves; the others have only run it
        first.page.evaluate("""jupyterapp.shell.currentWidget.content.model.cells.get(1)
            .sharedModel.setSource("My own note: ask about the fan.")""")
        lessons[0].command("docmanager:save")
        kept = handed_in_and_gathered(second, third)
    second_seed = (room.home(second.name) / "seed.txt").read_text()
    for learner in learners:
        learner.page.context.close()

    everybody_idle_is_ended(room)
    course = tmp_path / "course"
    shutil.copytree(bootstrap.ROOT, course, ignore=shutil.ignore_patterns(".*", "__pycache__", "tests"))
    new = course / "workbook/01-energy.ipynb"
    content = json.loads(new.read_text("utf-8"))
    content["cells"][0]["source"] += ["\n\nThe words of the next edition."]
    new.write_text(json.dumps(content), "utf-8")
    _classroom.install(course)

    for name in room.names[:2]:                                     # as the hub starts them when they log in
        room.api(f"users/{name}/server", "POST")
        room.wait(lambda: room.api(f"users/{name}")["servers"].get("", {}).get("ready"), f"the server of {name}", 120)
    changed, renewed = map(room.home, room.names[:2])
    assert "My own note" in (changed / "01-energy.ipynb").read_text("utf-8")
    assert "next edition" not in (changed / "01-energy.ipynb").read_text("utf-8")
    assert "next edition" in (changed / "01-energy (new edition).ipynb").read_text("utf-8")
    assert "next edition" in (renewed / "01-energy.ipynb").read_text("utf-8")
    assert not (renewed / "01-energy (new edition).ipynb").exists()
    assert kept.read_text() == "mine"
    assert (renewed / "seed.txt").read_text() == second_seed


def nobody_reaches_another(room, first, second):
    """All that `first` tries from a notebook and in the browser against `second`, the instructor and the hub."""
    other = Path(f"/home/{second.name}")
    servers = [one for one in _classroom.processes(second.name) if "--ServerApp.root_dir=" in " ".join(one.words)]
    kernels = [one for one in _classroom.processes(second.name) if "ipykernel_launcher" in one.words]
    assert len(servers) == 1 and kernels
    [port] = listening(pwd.getpwnam(second.name).pw_uid, servers[0].pid)
    read = [other / "coachwork/seed.txt", other / "coachwork/01-energy.ipynb", KEY, "/etc/shadow",
            ROOM / "private/jupyterhub.sqlite", ROOM / "private/cookie_secret",
            *(f"/proc/{pid}/environ" for pid in (room.hub.pid, servers[0].pid))]
    assert all(Path(path).read_bytes() for path in read)        # they are there: it is the learner who is refused
    write = [ROOM / "course/workbook/01-energy.ipynb", ROOM / "course/lib/coachwork/energy.py",
             ROOM / "venv/bin/jupyterhub", other / "coachwork/01-energy.ipynb"]
    places = [other, other / "coachwork/.jupyter/runtime", KEY.parent, ROOM / "private"]
    refused = {"READ": read, "LIST": places, "WRITE": write}
    pids = [room.hub.pid, servers[0].pid, *(one.pid for one in kernels)]
    addresses = {f"http://127.0.0.1:{port}/user/{second.name}/api/contents": 403,        # past the proxy
                 f"{room.address}/user/{second.name}/api/contents": 403,
                 f"{room.address}/hub/api/users/{second.name}": 404,                     # not even that they exist
                 f"{room.address}/hub/api/users": 403,
                 f"http://127.0.0.1:{room.port + 1}/api/routes": 403}
    code = "".join(f"{name} = {[str(path) for path in paths]!r}\n" for name, paths in refused.items())
    found = json.loads(first.run(f"{code}PIDS = {pids!r}\nADDRESSES = {list(addresses)!r}\n{PROBE}"))
    assert len(found) == sum(map(len, (read, places, write, pids, addresses)))
    for address, code in addresses.items():
        assert found.pop("ask " + address) == code
    assert set(found.values()) == {"PermissionError"}, found
    own = str(room.home(first.name) / "seed.txt")               # and the same probe reads what is theirs
    found = json.loads(first.run(f"READ = [{own!r}]\nLIST = WRITE = PIDS = ADDRESSES = []\n{PROBE}"))
    assert found == {"read " + own: "done"}

    page = first.page.context.new_page()
    assert page.goto(f"{room.address}/user/{second.name}/lab").status == 403
    assert page.goto(f"{room.address}/user/{first.name}/api/contents").status == 200
    page.close()


ANSWERS = """import os
from coachwork import bootstrap
there = bootstrap.home() / "answers"
there.mkdir(exist_ok=True)
"""


def handed_in_and_gathered(honest, sly):
    """One learner has answers; another puts links where answers belong. Returns the honest learner's file."""
    folder = _classroom.HANDED_IN
    honest.run(f"{ANSWERS}(there / 'energy.json').write_text('mine')")
    sly.run(f"{ANSWERS}os.symlink({str(KEY)!r}, there / 'energy.json'); os.mkfifo(there / 'capacity.json')\n"
            f"os.symlink('/home/{honest.name}/coachwork/answers/energy.json', there / 'wiring.json')")
    sly_has = sorted(path.name for path in (Path(f"/home/{sly.name}/coachwork/answers")).iterdir())
    assert sly_has == ["capacity.json", "energy.json", "wiring.json"]
    subprocess.run(["bash", ROOM / "course/workbook/hub/gather.sh", ROOM], check=True, stdout=subprocess.DEVNULL)
    assert {str(path.relative_to(folder)) for path in folder.rglob("*.json")} == {f"{honest.name}/energy.json"}
    assert (folder / honest.name / "energy.json").read_text() == "mine"
    return Path(f"/home/{honest.name}/coachwork/answers/energy.json")


def everybody_idle_is_ended(room):
    """The culler of the configuration, with its own account's rights but a shorter patience."""
    assert all(room.api(f"users/{name}")["servers"] for name in room.names)
    command = next(line for line in room.said().splitlines() if "Starting service 'idle-culler'" in line)
    command = ast.literal_eval(command.split("'idle-culler': ", 1)[1])
    command = [word if not word.startswith("--timeout") else "--timeout=1" for word in command]
    culler = subprocess.Popen(command, stdout=room.log, stderr=subprocess.STDOUT, env={
        "JUPYTERHUB_API_TOKEN": room.token, "JUPYTERHUB_API_URL": f"{room.address}/hub/api"})
    try:
        room.wait(lambda: not any(room.api(f"users/{name}")["servers"] for name in room.names),
                  "the culler to end the learners' servers", 180)
    finally:
        culler.terminate()
        culler.wait(30)
    for name in room.names:
        assert [one.words for one in _classroom.processes(name)] == []


def test_who_is_not_of_the_class_does_not_get_in(room, chromium):
    """A wrong password, root, and a system user with a sound password who has left the group."""
    page, name = chromium.new_context().new_page(), room.names[2]
    subprocess.run(["gpasswd", "--delete", name, "learners"], check=True, stdout=subprocess.DEVNULL)
    for who, word in ((room.names[0], "wrong"), ("root", "wrong"), (name, room.passwords[name])):
        page.goto(f"{room.address}/hub/login")
        page.fill("#username_input", who)
        page.fill("#password_input", word)
        page.click("#login_submit")
        page.wait_for_selector("text=Invalid username or password")
        assert page.goto(f"{room.address}/hub/home").url.startswith(f"{room.address}/hub/login")
    page.context.close()


def test_only_loopback_listens(room):
    """Hub, proxy and learners' servers, seen from outside this machine: nothing."""
    users = {0, *(pwd.getpwnam(name).pw_uid for name in room.names)}
    wanted = {room.port, room.port + 1, room.port + 81}
    rows = [line.split() for line in Path("/proc/net/tcp").read_text().splitlines()[1:]]
    listen = [row for row in rows if row[3] == "0A" and int(row[7]) in users]
    ours = {int(row[1].split(":")[1], 16): row[1].split(":")[0] for row in listen}
    assert {port: ours[port] for port in wanted} == {port: "0100007F" for port in wanted}
    servers = {port: ours[port] for name in room.names for port in listening(pwd.getpwnam(name).pw_uid)}
    assert set(servers.values()) == {"0100007F"}, servers       # those that the first test left running


def test_the_test_account_is_not_in_the_configuration(room):
    """The rights the tests give themselves are the tests' only: the hub refuses a made-up token."""
    room.token, kept = "0" * 48, room.token
    try:
        with pytest.raises(urllib.error.HTTPError, match="403"):
            room.api("users")
    finally:
        room.token = kept
