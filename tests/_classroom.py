"""A class server with real system users for the tests: install.sh's own folder, hub and proxy on loopback.

The users are made for the test and deleted after it. The folder is one of the tests' own (COACHWORK_CLASS,
default /opt/coachwork-trial), never that of a class at work.
"""
import contextlib
import json
import os
import pwd
import secrets
import shutil
import signal
import socket
import subprocess
import tempfile
import time
import urllib.request
from pathlib import Path

from coachwork import bootstrap

ROOM = Path(os.environ.get("COACHWORK_CLASS", "/opt/coachwork-trial"))
HANDED_IN = ROOM / "instructor/handed-in"
MARK = "coachwork trial learner"        # the comment of each user made here
COURSE = "trial"                        # the word of the roster
INSTALL = "workbook/hub/install.sh"
CONFIG = """
load_subconfig({real!r})
c.Spawner.args = ["--LabApp.expose_app_in_browser=True"]        # the tests speak with the page
c.JupyterHub.services.append(dict(name="tester", api_token={token!r}))
c.JupyterHub.load_roles.append(dict(name="tester", services=["tester"], scopes=[
    "admin:users", "admin:servers", "access:servers", "read:services"]))
c.JupyterHub.concurrent_spawn_limit = 4
"""


def missing():
    """Why no class server can be tried here, in one line; None where it can."""
    if os.name == "nt" or os.geteuid() != 0:
        return "the class server was not tried: making system users needs root"
    if not (ROOM / "venv/ready").exists() or not (ROOM / "proxy/node_modules").is_dir():
        return f"the class server was not tried: set one up for the tests with `bash {INSTALL} {ROOM}`"
    return None


def install(source=bootstrap.ROOT):
    """Lay the course of the workbook at `source` in the tests' room, as an instructor does."""
    subprocess.run(["bash", Path(source) / INSTALL, ROOM], check=True, stdout=subprocess.DEVNULL)


class Classroom:
    """Hub, proxy and `count` learners (`names`, `passwords`); a context manager that leaves nothing behind."""

    def __init__(self, count):
        tag = secrets.token_hex(2)
        self.passwords = {f"cw{tag}-{n}": secrets.token_urlsafe(12) for n in range(1, count + 1)}
        self.names = list(self.passwords)
        self.token = secrets.token_hex(24)
        self.folder = Path(tempfile.mkdtemp(prefix="coachwork-class-"))
        self.hub = None

    def __enter__(self):
        import fcntl                                    # no such thing where the tests are skipped
        self.alone = open(ROOM / "private/trial.lock", "a+")
        fcntl.flock(self.alone, fcntl.LOCK_EX)          # a second run on this machine waits for its turn
        try:
            end_hub(self.alone)
            for secret in ("jupyterhub.sqlite", "cookie_secret", "proxy.pid"):      # of an earlier run
                (ROOM / "private" / secret).unlink(missing_ok=True)
            shutil.rmtree(HANDED_IN, ignore_errors=True)
            for user in pwd.getpwall():
                if user.pw_gecos == MARK:               # of a run that was killed
                    remove(user.pw_name)
            install()
            for name in self.names:
                subprocess.run(["useradd", "--create-home", "-K", "HOME_MODE=0700", "--shell", "/usr/sbin/nologin",
                                "--comment", MARK, "--groups", "learners", name], check=True)
            lines = "".join(f"{name}:{word}\n" for name, word in self.passwords.items())
            subprocess.run(["chpasswd"], input=lines, text=True, check=True)
            self.start()
        except BaseException:
            self.__exit__()
            raise
        return self

    def __exit__(self, *exc):
        self.stop()
        existing = {user.pw_name for user in pwd.getpwall()}
        for name in self.names:
            if name in existing:
                remove(name)
        shutil.rmtree(HANDED_IN, ignore_errors=True)
        shutil.rmtree(self.folder)
        self.alone.close()

    def start(self):
        self.port = free_port()
        self.address = f"http://127.0.0.1:{self.port}"
        config = self.folder / "config.py"
        real = str(ROOM / "course/workbook/hub/jupyterhub_config.py")
        config.write_text(CONFIG.format(real=real, token=self.token))
        kept = {name: os.environ[name] for name in ("PATH", "LANG", "LC_ALL") if name in os.environ}
        self.log = open(self.folder / "log", "w+b")
        self.hub = subprocess.Popen([ROOM / "venv/bin/jupyterhub", "-f", config], cwd=self.folder,
                                    env=dict(kept, COACHWORK_PORT=str(self.port), COACHWORK_COURSE=COURSE),
                                    stdout=self.log, stderr=subprocess.STDOUT)
        self.alone.truncate(0)
        print(self.hub.pid, file=self.alone, flush=True)
        self.wait(lambda: self.api("") and True, "the hub to start", 90)

    def stop(self):
        if self.hub and self.hub.poll() is None:
            self.hub.send_signal(signal.SIGTERM)
            self.hub.wait(90)
        self.hub = None

    def said(self):
        """What hub and proxy wrote so far."""
        return (self.folder / "log").read_text("utf-8", "replace")

    def api(self, path, method="GET", of="/hub/api/"):
        """What the hub (or a learner's server) answers to the tests' own account; None while it is not there."""
        ask = urllib.request.Request(self.address + of + path, method=method,
                                     headers={"Authorization": "token " + self.token})
        try:
            with urllib.request.urlopen(ask, timeout=30) as answer:
                text = answer.read()
                return json.loads(text) if text else {}
        except (ConnectionError, urllib.error.URLError) as error:
            if isinstance(error, urllib.error.HTTPError) and error.code not in (404, 503):
                raise
            return None

    def wait(self, ready, what, seconds=60):
        until = time.monotonic() + seconds
        while not (found := ready()):
            if self.hub.poll() is not None or time.monotonic() > until:
                raise AssertionError(f"waited in vain for {what}:\n{self.said()[-3000:]}")
            time.sleep(.2)
        return found

    def home(self, name):
        """A learner's folder with the lessons."""
        return Path(pwd.getpwnam(name).pw_dir) / "coachwork"

    def log_in(self, page, name):
        """Log a learner in as they do, and wait until JupyterLab stands in the Playwright `page`."""
        page.set_default_timeout(120_000)
        page.goto(f"{self.address}/hub/login")
        page.fill("#username_input", name)
        page.fill("#password_input", self.passwords[name])
        page.click("#login_submit")
        page.wait_for_url(f"**/user/{name}/lab**")
        page.wait_for_function("window.jupyterapp && jupyterapp.restored.then(() => true)")
        page.evaluate("jupyterapp.shell.collapseLeft()")


def end_hub(note):
    """End the hub whose number stands in the file `note`, where a run that was killed has left it and its proxy."""
    note.seek(0)
    for pid in note.read().split():
        with contextlib.suppress(FileNotFoundError, ProcessLookupError):
            old = Process(pid)
            if str(ROOM / "venv/bin/jupyterhub") in old.words:      # a number may since be another's
                os.kill(old.pid, signal.SIGTERM)
                until = time.monotonic() + 30
                while Path(f"/proc/{pid}").exists() and time.monotonic() < until:
                    time.sleep(.2)


def remove(name):
    """A learner of a trial, with processes and home."""
    for process in processes(name):                     # a kernel outlives its server for a moment
        process.kill()
    subprocess.run(["userdel", "--remove", name], stderr=subprocess.DEVNULL, check=False)
    shutil.rmtree(f"/home/{name}", ignore_errors=True)


class Process:
    """A process of /proc."""

    def __init__(self, pid):
        self.pid = int(pid)
        self.words = Path(f"/proc/{pid}/cmdline").read_bytes().decode("utf-8", "replace").split("\0")

    def kill(self):
        try:
            os.kill(self.pid, signal.SIGKILL)
        except ProcessLookupError:
            pass

    def memory(self):
        """Its share of the machine's memory in MB: shared pages divided among those who share them."""
        text = Path(f"/proc/{self.pid}/smaps_rollup").read_text()
        return int(text.split("\nPss:")[1].split()[0]) / 1024

    def seconds(self):
        """Processor time used so far, in s."""
        fields = Path(f"/proc/{self.pid}/stat").read_text().rsplit(")", 1)[1].split()
        return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


def processes(name):
    """The processes of a system user."""
    found, user = [], pwd.getpwnam(name).pw_uid
    for entry in Path("/proc").glob("[0-9]*"):
        try:
            if entry.stat().st_uid == user:
                found.append(Process(entry.name))
        except (FileNotFoundError, ProcessLookupError):
            continue
    return found


def free_port():
    """A port whose neighbours that the configuration takes (1 and 81 above) are free as well."""
    while True:
        base = 20000 + secrets.randbelow(20000)
        try:
            for port in (base, base + 1, base + 81):
                with socket.socket() as trial:
                    trial.bind(("127.0.0.1", port))
            return base
        except OSError:
            continue
