"""What goes wrong around the workbook: it goes on with the same result, or says in one sentence what to do; no file is lost.

Held elsewhere: cells out of order and a restarted kernel (test_order; what the panels say, test_front), a full disk while an
environment is made (test_bootstrap), a save broken off half-way (test_coach, test_record), 320 px (test_access, test_still,
test_editions).
Thought through and not a test: a clock that jumps while a lesson runs. Nothing here measures time by the clock of the day; the record's
date is the only thing that reads it, and `COACHWORK_DATE` sets it.
"""
import json
import os
import subprocess
import sys

import pytest

from coachwork import coach, weather
from coachwork.page import print_sheets, record, table
from coachwork.page.questions import record as keep_try
from coachwork.page.widgets import UnitSwitch
from coachwork.quantities import InputError, display_system, set_display_system

# A reader's session in a process of its own: a picture, words, a table, a ledger row, a decision; what came of it, as JSON.
SESSION = """
import hashlib, json, locale, sys
sys.stdout.reconfigure(encoding="utf-8")
try:
    locale.setlocale(locale.LC_ALL, "")
except locale.Error:
    pass
from coachwork import coach, energy, weather
from coachwork.page import ledger, working
from coachwork.page.pictures import Sheet
from coachwork.page.pictures.energy import LoadDay
from coachwork.page.table import table
from coachwork.quantities import Q, read_quantity, show, write_quantity
one = coach.current()
sheet = Sheet(LoadDay(one))
said = sheet.update(power=60, count=2, hours=3, duty=50, side="AC")
decided = one.decide("energy", margin=0.35)
print(json.dumps({
    "picture": hashlib.sha256(sheet.png(False)).hexdigest(), "said": said,
    "shown": show(energy.study(one).energy) + " " + show(Q(1234.5, "W")) + " " + write_quantity(Q(1234.5, "W")),
    "read": str(read_quantity("1,234.5 W")), "working": str(working(energy.load_energy, power=Q(85, "W"), hours=Q(2.5, "h"))),
    "table": table([{"what": "\\u03a9", "value": Q(1.5, "V")}], caption="x").csv(), "row": str(ledger.run_row(ledger.rows("energy")[0])),
    "sun": float(weather.year("Denver").level.sum()), "file": hashlib.sha256(decided.path.read_bytes()).hexdigest(),
    "name": decided.path.name,
}))
"""


def session(home, script=SESSION, **changed):
    """What a session says, run with other surroundings; None takes a variable away."""
    surroundings = {**os.environ, "COACHWORK_HOME": str(home), "PYTHONWARNINGS": "ignore", **changed}
    surroundings = {name: value for name, value in surroundings.items() if value is not None}
    return subprocess.run([sys.executable, "-c", script], env=surroundings, capture_output=True, encoding="utf-8", timeout=120)


def result(home, **changed):
    ran = session(home, **changed)
    assert ran.returncode == 0, ran.stderr[-1500:]
    return json.loads(ran.stdout.splitlines()[-1])


@pytest.fixture(scope="module")
def plain(tmp_path_factory):
    """What the session says where nothing is wrong."""
    return result(tmp_path_factory.mktemp("plain"))


@pytest.fixture(scope="module")
def german(tmp_path_factory):
    """The surroundings of a reader who writes 1,5: a German locale, compiled where the system has none."""
    folder = tmp_path_factory.mktemp("locale")
    try:
        subprocess.run(["localedef", "-i", "de_DE", "-f", "UTF-8", str(folder / "de_DE.UTF-8")], check=True, capture_output=True)
    except (OSError, subprocess.CalledProcessError) as error:
        pytest.skip(f"no German locale can be made here ({error})")
    return {"LOCPATH": str(folder), "LC_ALL": "de_DE.UTF-8"}


@pytest.mark.parametrize("changed", [
    {"DISPLAY": None, "MPLBACKEND": None}, {"DISPLAY": ":99", "MPLBACKEND": "TkAgg"}, {"LC_ALL": "C", "PYTHONUTF8": "0",
     "PYTHONCOERCECLOCALE": "0"}, {"TZ": "Asia/Kathmandu"}, {"PYTHONHASHSEED": "7"}, {"PYTHONOPTIMIZE": "1"},
], ids=["no display", "a display that is not there", "ASCII locale", "another time zone", "other order of sets", "optimized"])  # fmt: skip
def test_surroundings_change_nothing(plain, tmp_path, changed):
    assert result(tmp_path, **changed) == plain


def test_a_decimal_comma_changes_nothing(plain, german, tmp_path):
    check = session(tmp_path, "import locale; locale.setlocale(locale.LC_ALL, ''); print(locale.str(1.5))", **german)
    assert check.stdout.strip() == "1,5"  # the locale is really there
    assert result(tmp_path, **german) == plain


def test_missing_fonts_change_nothing(plain, tmp_path):
    """No font of the system, no list of fonts from before: pictures are drawn with the one that comes with matplotlib."""
    empty = tmp_path / "empty"
    empty.mkdir()
    without = {"FONTCONFIG_FILE": os.devnull, "FONTCONFIG_PATH": str(empty), "XDG_DATA_HOME": str(empty), "HOME": str(empty),
               "MPLCONFIGDIR": str(empty), "XDG_CACHE_HOME": str(empty)}  # fmt: skip
    assert result(tmp_path, **without) == plain


@pytest.mark.parametrize("name", ["my coach in Hütten", "☃ 冬", "a'b \"c\" $HOME %TEMP% [x]*"])
def test_any_name_of_the_readers_folder(plain, tmp_path, name):
    home = tmp_path / name
    assert result(home) == plain
    assert sorted(path.name for path in home.iterdir()) == ["desert-trailer.toml"]


# ------------------------------------------------------------------ disks


def small_disk(folder, kilobytes):
    """A disk of a few kilobytes at a folder; skips where this process may not mount one."""
    folder.mkdir()
    try:
        subprocess.run(["mount", "-t", "tmpfs", "-o", f"size={kilobytes}k", "tmpfs", str(folder)], check=True, capture_output=True)
    except (OSError, subprocess.CalledProcessError) as error:
        pytest.skip(f"a small disk takes the right to mount one ({error})")
    return folder


@pytest.fixture
def disk(tmp_path, monkeypatch):
    """A reader's folder on a disk with room for the coach file and its version before, and no more."""
    folder = small_disk(tmp_path / "disk", 160)
    monkeypatch.setenv("COACHWORK_HOME", str(folder))
    yield folder
    subprocess.run(["umount", str(folder)], check=True)


def fill(folder, leave):
    """Fill a disk but for some bytes."""
    state = os.statvfs(folder)
    with open(folder / "photos", "wb") as file:
        file.write(b"x" * max(0, state.f_bavail * state.f_frsize - leave))


def test_a_full_disk_keeps_the_coach(disk):
    one = coach.current().decide("energy", margin=0.3)
    fill(disk, 8192)
    before = {path.name: path.read_bytes() for path in disk.iterdir()}
    with pytest.raises(InputError, match="cannot be written .No space left on device."):
        one.decide("energy", margin=0.4)
    assert coach.current() == one
    after = {path.name: path.read_bytes() for path in disk.iterdir()}
    assert all(after[name] == content for name, content in before.items()) and not [name for name in after if name.endswith(".draft")]
    (disk / "photos").unlink()
    assert one.decide("energy", margin=0.4).energy.margin == 0.4


def test_a_full_disk_leaves_no_half_record(disk):
    """A record is some hundred kilobytes: more than this disk has."""
    with pytest.raises(OSError, match="No space left"):  # `record.save` makes one sentence of it
        record._put(disk / "records" / "ours", {"record.html": b"x" * 90_000, "record.json": b"{}" * 60_000})
    assert not [path for path in disk.rglob("*") if path.is_file()]


@pytest.fixture
def read_only(tmp_path, monkeypatch):
    """A reader's folder with a coach, on a disk that is mounted read-only, for root may write anywhere else."""
    folder = small_disk(tmp_path / "disk", 400)
    monkeypatch.setenv("COACHWORK_HOME", str(folder))
    try:
        coach.current().decide("energy", margin=0.3)
        subprocess.run(["mount", "-o", "remount,ro", str(folder)], check=True)
        yield folder
    finally:
        subprocess.run(["umount", str(folder)], check=True)


def everything_written(one, folder):
    """What a lesson writes, by name: each is one attempt."""
    tried = {"answer": "1 Wh", "numbers": {}, "verdict": "wrong", "slip": ""}
    return {
        "decision": lambda: one.decide("energy", margin=0.4), "choice": lambda: coach.choose(one.path),
        "answer": lambda: keep_try("energy", "x/0", tried), "sheets": lambda: print_sheets(one),
        "table": lambda: table([{"a": 1}], caption="x").save_csv(folder / "schedule.csv"),
    }  # fmt: skip


@pytest.mark.parametrize("name", ["decision", "choice", "answer", "sheets", "table"])
@pytest.mark.parametrize("fault", ["disk", "read_only"])
def test_what_cannot_be_written_is_told_in_one_sentence(request, fault, name):
    """And the lesson goes on reading."""
    folder = request.getfixturevalue(fault)
    one = coach.current().decide("energy", margin=0.3)
    if fault == "disk":
        (folder / "schedule.csv").write_bytes(b"the schedule of before")
        fill(folder, 0)
    before = {path: path.read_bytes() for path in folder.rglob("*") if path.is_file()}
    with pytest.raises(InputError, match="cannot be written .* wanted is a folder that can be written, on a disk with room.$"):
        everything_written(one, folder)[name]()
    assert {path: path.read_bytes() for path in folder.rglob("*") if path.is_file()} == before
    assert coach.current() == one


def test_units_are_switched_where_the_choice_cannot_be_kept(read_only):
    switch = UnitSwitch()
    try:
        switch.changed({"system": "SI"})
        assert display_system() == "SI" and "could not be kept" in switch.result
    finally:
        set_display_system("US")


# ------------------------------------------------------------------ two tabs, and clocks

DECIDE = """
import sys
from coachwork import coach
from coachwork.quantities import InputError
one = coach.current()
print("read", flush=True)
sys.stdin.readline()
try:
    one.decide(SECTION, **VALUES)
    print("written")
except InputError as error:
    print("refused:", error)
"""


def tab(home, section, **values):
    """A lesson open in a process of its own: it has read the coach, and decides when it is told to."""
    script = DECIDE.replace("SECTION", repr(section)).replace("VALUES", repr(values))
    process = subprocess.Popen([sys.executable, "-c", script], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True,
                               env={**os.environ, "COACHWORK_HOME": str(home)})  # fmt: skip
    assert process.stdout.readline() == "read\n"
    return process


def test_two_tabs_on_one_coach(home):
    """The second to decide is told to read again; a decision that the first made already is no quarrel."""
    coach.current().decide("energy", margin=0.3)
    first, second, third = tab(home, "energy", margin=0.4), tab(home, "capacity", days=2), tab(home, "energy", margin=0.4)
    assert "written" in first.communicate("go\n", timeout=60)[0]
    refused = second.communicate("go\n", timeout=60)[0]
    assert "changed since it was read, so it is left as it is" in refused and "read it again" in refused
    assert "written" in third.communicate("go\n", timeout=60)[0]
    again = tab(home, "capacity", days=2)
    assert "written" in again.communicate("go\n", timeout=60)[0]
    now = coach.current()
    assert (now.energy.margin, now.capacity.days) == (0.4, 2)


@pytest.mark.parametrize("when", [0, 86400, 4102444800], ids=["1970", "a day later", "2100"])
def test_a_clock_that_was_set_changes_nothing_in_a_coach(home, when):
    """Files are known by what stands in them, not by their dates."""
    one = coach.current().decide("energy", margin=0.3)
    os.utime(one.path, (when, when))
    assert coach.current() == one and one.decide("energy", margin=0.3) == one
    assert one.decide("energy", margin=0.4).energy.margin == 0.4
    os.utime(one.path, (when, when))
    with pytest.raises(InputError, match="changed since it was read"):
        one.decide("energy", margin=0.5)


@pytest.mark.parametrize("when", [0, 4102444800], ids=["1970", "2100"])
def test_a_weather_file_that_was_replaced_is_read_again_whatever_its_date(tmp_path, when):
    from test_weather import GREENSBORO

    path = tmp_path / "my-place.csv"
    path.write_bytes(GREENSBORO.read_bytes())
    os.utime(path, (when, when))
    before = weather.year(str(path)).temperature[0]
    lines = path.read_text().splitlines(keepends=True)
    cells = lines[2].split(",")
    cells[lines[1].split(",").index("Dry-bulb (C)")] = "-33.3"
    draft = tmp_path / "draft"
    draft.write_text("".join([*lines[:2], ",".join(cells), *lines[3:]]))
    os.replace(draft, path)
    os.utime(path, (when, when))
    assert weather.year(str(path)).temperature[0] == -33.3 != before
