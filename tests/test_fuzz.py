"""Whatever comes from outside is read, or refused by our own error: in bounded time and memory, with no file changed.

The bound is processor time, for the machine may be busy: a quarter of a second and 10 microseconds for each byte read. What is
drawn starts from real files (demo coaches, ledgers, weather, answers, a record), damaged in the ways in which files are: lines
lost, doubled or mixed, values of another kind, brackets without end, single bytes.
"""
import functools
import hashlib
import json
import resource
import time
from pathlib import Path

import pvlib.iotools  # noqa: F401 (with pandas two seconds, where first needed: not the work of what is read)
import pytest
import scipy.optimize  # noqa: F401
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as some

from coachwork import bootstrap, charging, coach, weather, whole_system, wiring
from coachwork.page import ledger, record
from coachwork.page.questions import record as keep, results
from coachwork.quantities import KINDS, InputError, Quantity, read_clock, read_quantity, read_window
from test_weather import epw_of

SECONDS, EACH_BYTE, MEGABYTES = 0.25, 1e-5, 400
bounded = settings(deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow,
                                                         HealthCheck.data_too_large])  # fmt: skip


def tries(count):
    return settings(bounded, max_examples=count)


def digest(folder):
    """Names and content of every file below a folder."""
    return {str(path.relative_to(folder)): hashlib.sha256(path.read_bytes()).hexdigest()
            for path in folder.rglob("*") if path.is_file()}  # fmt: skip


@pytest.fixture(scope="module", autouse=True)
def nothing_of_ours_changes():
    """Data and lessons are afterwards as they were, and memory did not grow without bound."""
    before, grown = digest(bootstrap.ROOT / "data"), resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    yield
    assert digest(bootstrap.ROOT / "data") == before
    assert (resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - grown) / 1024 < MEGABYTES


def answer(call, length, more=0.0):
    """What a call gives, or the words of our own refusal; any other error goes on, and so does work beyond the bound."""
    began = time.process_time()
    try:
        found = call()
    except InputError as error:
        found = str(error)
        assert 0 < len(found) < 2000 and "\n" not in found
    assert time.process_time() - began < SECONDS + more + EACH_BYTE * length
    return found


def unchanged(folder, call, length, more=0.0):
    """`answer`, with every file of the folder as it was."""
    before = digest(folder)
    found = answer(call, length, more)
    assert digest(folder) == before
    return found


# ------------------------------------------------------------------ damage

VALUES = [
    "nan", "inf", "-1", "0", "1e400", "9" * 5000, "true", "[]", "{}", '""', '"nan W"', '"inf W"', '"-5 W"', '"1e999 W"', '"9**9**9 W"',
    '"' + "9" * 3000 + ' W"', "1979-05-27T07:32:00Z", "1979-05-27", "07:32:00", '"\\u0000"', '"\\U0001F50B"', '"١٢ W"', '"∞ W"', "'''\n'''",
    "0x1F", '["a", 1, []]', "[" * 3000, "[" * 400 + "]" * 400, "{a = " * 60 + "1" + "}" * 60, '"1 m"', '"1 W/W/W"', '"24:01-99:99"',
    '["22:00-22:00"]', "{ power = 1 }", "[[1], [2.5]]", '"' + "ä" * 70_000 + '"', "-0.0", "3_0", '"1,5 W"', "null", "None",
]  # fmt: skip
KEYS = ["power", "loads", "format", "name", "", "a.b.c.d", '"quoted key"', "from", "__class__", "model_config", "ключ", "a" * 3000]
LINES = ["[loads]", "[[coach]]", "[[loads]]", "[capacity.module.module]", "x = 1", "]", '"', "'''", "\x00", "\ufeff", "= 3", "[" + "a." * 500 + "a]",
         "format = 2", "format = 1", 'name = "Water pump"', "\r"]  # fmt: skip


@some.composite
def damaged(draw, text, most=4):
    """A text of lines, damaged in up to so many places."""
    lines = text.splitlines()
    for _ in range(draw(some.integers(1, most))):
        at = draw(some.integers(0, len(lines) - 1))
        key, equals, _ = lines[at].partition("=")
        way = draw(some.sampled_from(["value", "value", "value", "key", "lose", "double", "line", "swap", "cut", "characters"]))
        if way == "value" and equals:
            lines[at] = f"{key}= {draw(some.sampled_from(VALUES))}"
        elif way == "key" and equals:
            lines[at] = f"{draw(some.sampled_from(KEYS))} {lines[at][len(key):]}"
        elif way == "lose":
            del lines[at : at + draw(some.integers(1, 5))]
        elif way == "double":
            lines.insert(at, lines[at])
        elif way == "line":
            lines.insert(at, draw(some.sampled_from(LINES)))
        elif way == "swap":
            other = draw(some.integers(0, len(lines) - 1))
            lines[at], lines[other] = lines[other], lines[at]
        elif way == "cut":
            lines = lines[: at + 1]
        else:
            place = draw(some.integers(0, len(lines[at])))
            lines[at] = lines[at][:place] + draw(some.text(max_size=3)) + lines[at][place + draw(some.integers(0, 3)) :]
        lines = lines or [""]
    return "\n".join(lines)


@some.composite
def with_bytes(draw, content):
    """Bytes with some of them others."""
    content = bytearray(content)
    for _ in range(draw(some.integers(1, 6))):
        at = draw(some.integers(0, len(content) - 1))
        content[at : at + draw(some.integers(0, 3))] = draw(some.binary(max_size=3))
    return bytes(content)


# ------------------------------------------------------------------ coach files

DEMO = coach.main_demo().read_text(encoding="utf-8")


@given(damaged(DEMO).map(lambda text: text.encode("utf-8", "replace")) | with_bytes(DEMO.encode()) | some.binary(max_size=200))
@tries(150)
def test_a_damaged_coach_file(tmp_path, content):
    path = tmp_path / "my-coach.toml"
    path.write_bytes(content)
    found = unchanged(tmp_path, lambda: coach.read(path), len(content), more=0.5)
    assert isinstance(found, (str, coach.Coach))


@pytest.mark.parametrize("text", [
    "format = 1\nname = " + "[" * 900_000, "format = 1\n" + "a." * 400_000 + "a = 1", "format = 1\n" + "[a]\n" * 200_000,
    "format = 1\n" + "[[loads]]\n" * 90_000, "format = 1\nx = " + "9" * 990_000, 'format = 1\nname = "' + "\\u00e4" * 160_000 + '"',
    "format = 1\n" + "".join(f"k{n} = {n}\n" for n in range(60_000)), "format = 1\nx = " + "{a=" * 300 + "1" + "}" * 300,
    "format = 1\nx = " + "[" * 450 + "]" * 450, 'format = 1\nname = "x"\n' + '[[seasons]]\nname = "s"\nmonths = [1]\n' * 20_000,
    "format = 1\n[" + ".".join("abcdefghij" * 200) + "]\nx = 1", "\n" * 999_999, "#" * 999_999, "format = 1\n" + "x" * 2_000_000,
], ids=["brackets", "dots", "tables twice", "rows", "digits", "name", "keys", "braces", "lists", "seasons", "deep table", "blank",
        "comment", "too large"])  # fmt: skip
def test_a_coach_file_made_to_be_slow(tmp_path, text):
    path = tmp_path / "my-coach.toml"
    path.write_text(text, encoding="utf-8")
    assert isinstance(unchanged(tmp_path, lambda: coach.read(path), len(text), more=0.5), str)


@given(some.binary(max_size=60) | some.sampled_from([b"\x00", b"\xff\xfe", b"x" * 5000, b"/", b".", b"~", b"\n", "bücher/é".encode()]))
@tries(40)
def test_a_damaged_choice_of_the_coach(home, content):
    (home / coach.CHOICE).write_bytes(content)
    assert isinstance(unchanged(home, coach.current, len(content), more=1.0), (str, coach.Coach))


# ------------------------------------------------------------------ text

NUMBERS = some.sampled_from(["1", "-1", "+.5", "1e3", "1e-999", "1,000", "1_0", "٣", "1/2", "½", "0x1", "--1", "1e", "9" * 70, "-0", "1.2.3"])
WORDS = some.sampled_from(["W", "Wh", "kWh", "ohm", "Ω", "µF", "degF", "°C", "delta_degF", "%", "ft", "m2", "m^2", "m**-2", "in²", "btu", "hour",
                           "USD", "__import__", "W" * 90, "ﬁ", "km", "h2", "s-1", "1"])  # fmt: skip
JOINTS = some.sampled_from([" ", "*", "/", "·", "(", ")", " per ", "**", "^", "  ", "\t", "\n", "\u00a0", ""])
GRAMMAR = some.builds(lambda number, parts: number + " " + "".join(word + joint for word, joint in parts), NUMBERS,
                      some.lists(some.tuples(WORDS, JOINTS), max_size=6))  # fmt: skip
BYTES = some.binary(max_size=120).map(lambda one: one.decode("utf-8", "surrogateescape"))


@given(GRAMMAR | BYTES | some.text(max_size=120))
@tries(300)
def test_text_for_a_quantity(text):
    found = answer(lambda: read_quantity(text), 0)
    assert isinstance(found, (str, Quantity))


@given(GRAMMAR | some.text(max_size=60) | some.sampled_from([None, 1, -1.5, True, float("nan"), 10**400, [], {}, b"1 W", 3 + 4j]),
       some.sampled_from(list(KINDS.values())))  # fmt: skip
@tries(200)
def test_anything_for_a_kind(value, kind):
    answer(lambda: kind.check(kind.read(value)), 0)


@given(some.text(max_size=40) | some.builds("{}:{}-{}:{}".format, *[some.integers(-1, 99)] * 4) | some.none() | some.integers())
@tries(100)
def test_text_for_a_clock(text):
    answer(lambda: read_clock(text), 0)
    answer(lambda: read_window(text), 0)


@pytest.mark.parametrize("length", [10**3, 10**5, 10**7])
@pytest.mark.parametrize("piece", ["9", "W*", "(", "1 ", "µ", "-", "1:", "\n"])
def test_long_text_is_refused_as_soon_as_short(piece, length):
    for read in (read_quantity, read_clock, read_window, KINDS["power"].read):
        assert isinstance(answer(lambda: read(piece * (length // len(piece))), 0), str)


# ------------------------------------------------------------------ weather files


@functools.cache
def weather_files():
    """One whole file of each kind, as lines: EPW, TMY3, TMY2."""
    import pvlib

    folder = Path(pvlib.__file__).parent / "data"
    own = bootstrap.home() / "fuzz.epw"
    text = epw_of(weather.year("Denver"), own).read_text()
    own.unlink()
    return {".epw": text, ".csv": (folder / "723170TYA.CSV").read_text(), ".tm2": (folder / "12839.tm2").read_text()}


CELLS = ["", "nan", "inf", "-9999", "1e308", "1e999", "x", "9" * 400, "-", "99/99/9999", "25:00", "0", '"', "\x00", "é", "1;2", "1,5"]


@some.composite
def damaged_weather(draw):
    """(ending, text) of a weather file with a few lines damaged: in its head, or anywhere."""
    ending = draw(some.sampled_from([".epw", ".csv", ".tm2"]))
    lines = weather_files()[ending].splitlines()
    for _ in range(draw(some.integers(1, 3))):
        at = draw(some.integers(0, min(12, len(lines) - 1)) | some.integers(0, len(lines) - 1))
        cells = lines[at].split(",") if ending != ".tm2" else [lines[at][i : i + 4] for i in range(0, len(lines[at]), 4)]
        way = draw(some.sampled_from(["cell", "cell", "cell", "lose", "column", "more", "short", "hole", "order", "bytes"]))
        place = draw(some.integers(0, max(0, len(cells) - 1)))
        if way == "cell" and cells:
            cells[place] = draw(some.sampled_from(CELLS))
        elif way == "column":
            del cells[place : place + 1]
        elif way == "more":
            cells += ["7"] * draw(some.integers(1, 40))
        elif way == "bytes":
            cells = [draw(some.text(max_size=30))]
        lines[at] = ("," if ending != ".tm2" else "").join(cells)
        if way == "lose":
            del lines[at]
        elif way == "short":
            lines = lines[: at + 1]
        elif way == "hole":
            del lines[at : at + 500]
        elif way == "order":
            lines = lines[:at] + lines[at:][::-1]
        lines = lines or [""]
    return ending, "\n".join(lines) + "\n"


@given(damaged_weather())
@tries(40)
def test_a_damaged_weather_file(tmp_path, drawn):
    ending, text = drawn
    path = tmp_path / f"my-place{ending}"
    path.write_text(text, encoding="utf-8", errors="surrogateescape")
    found = unchanged(tmp_path, lambda: weather.read_year(path), len(text))
    if not isinstance(found, str):
        for column, (low, high) in weather.COLUMNS.items():
            values = getattr(found, column)
            assert values.shape == (weather.HOURS,) and (values >= low).all() and (values <= high).all()


@given(some.sampled_from([".epw", ".csv", ".tm2"]), some.binary(max_size=400))
@tries(60)
def test_any_bytes_for_a_weather_file(tmp_path, ending, content):
    path = tmp_path / f"my-place{ending}"
    path.write_bytes(content)
    assert isinstance(unchanged(tmp_path, lambda: weather.read_year(path), len(content)), str)


# ------------------------------------------------------------------ ledgers

LEDGER = "\n".join((ledger.LEDGERS / f"{topic}.toml").read_text(encoding="utf-8")[:1800].rpartition("[[check]]")[0]
                   for topic in ("energy", "capacity", "network", "wiring", "sun", "cycle_life"))  # fmt: skip


@given(damaged(LEDGER).map(lambda text: text.encode("utf-8", "replace")) | with_bytes(LEDGER.encode()))
@tries(60)
def test_a_damaged_ledger(tmp_path, content):
    path = tmp_path / "ours.toml"
    path.write_bytes(content)
    found = unchanged(tmp_path, lambda: ledger.rows(path), len(content), more=0.5)
    for row in found if isinstance(found, list) else ():
        assert isinstance(answer(lambda: ledger.run_row(row), 0, more=1.0), (str, ledger.Outcome))


AMOUNTS = ["0", "-1", "1e308", "1e-308", "1e30", "nan", 0, -1, 1e308, float("nan"), float("inf"), True, "", [], {}, None, "1 W", "1e15 W",
           "1e15 Wh", "1e12 h", "1 h", "1e9 degC", "0 V", "0 ohm", "1e300 A", "100 %", "x", ["1 W"], {"power": "1 W"}, 10**30]  # fmt: skip
ROWS = [row for topic in ledger.topics() for row in ledger.rows(topic) if row.get("with") and not row["call"].startswith(("cooling_load.", "design."))]


@some.composite
def other_row(draw):
    """A row of our own ledgers with other arguments, another call, field, print or tolerance."""
    row = json.loads(json.dumps(draw(some.sampled_from(ROWS)), default=str))
    for _ in range(draw(some.integers(1, 2))):
        what = draw(some.sampled_from(["with", "with", "with", "lose", "field", "expect", "tolerance", "call"]))
        names = list(row["with"]) if isinstance(row["with"], dict) else []
        if what == "with" and names:
            row["with"][draw(some.sampled_from(names))] = draw(some.sampled_from(AMOUNTS))
        elif what == "lose" and names:
            del row["with"][draw(some.sampled_from(names))]
        elif what == "call":
            row["call"] = draw(some.sampled_from(["energy.day", "energy.__doc__", "coach.read", "os.system", "", "energy", "energy.math",
                                                  "network.solve", "capacity.share", "weather.year", "energy.load_energy"]))  # fmt: skip
        elif what != "lose":
            row[what] = draw(some.sampled_from([*AMOUNTS, "a.b", "0", "__class__", "99"]))
    return row


@given(other_row())
@tries(250)
def test_a_row_with_other_values(row):
    assert isinstance(answer(lambda: ledger.run_row(row), 0, more=1.5), (str, ledger.Outcome))


@pytest.mark.parametrize("call", [
    lambda: whole_system.hours_to_empty(Quantity(1e15, "Wh"), Quantity(1.0, "W")),
    lambda: whole_system.hours_to_empty(Quantity(1000.0, "Wh"), Quantity(1e-15, "W")),
    lambda: wiring.joint_heat(Quantity(1e300, "A"), Quantity(1.0, "ohm")),
    lambda: wiring.short_circuit_constant(Quantity(160.0, "degC"), Quantity(75.0, "degC")),
    lambda: weather.sun_from_temperatures(Quantity(20.0, "degC"), Quantity(5.0, "degC"), Quantity(30.0, "MJ/m**2")),
    lambda: weather.daylight("2015-06-21", Quantity(40.0, "deg"), Quantity(1e300, "deg"), -7),
    lambda: weather.daylight("2015-06-21", Quantity(40.0, "deg"), Quantity(-105.0, "deg"), 1e9),
    lambda: charging.hydrogen_volume(Quantity(10.0, "Ah"), 6, Quantity(25.0, "degC"), Quantity(0.0, "kPa")),
], ids=["endless", "endless by watts", "overflow", "cooler fault", "warmer night", "longitude", "time zone", "no pressure"])  # fmt: skip
def test_values_out_of_which_nothing_comes_are_refused(call):
    assert isinstance(answer(call, 0, more=0.5), str)


# ------------------------------------------------------------------ answers and records

ANSWERS = json.dumps({"format": 1, "seed": 0, "round": 2, "answers": {"one": [{"answer": "12 Wh", "verdict": "right", "numbers": {"a": 1}}],
                                                                     "two": []}}, indent=1)  # fmt: skip
LEAVES = some.none() | some.booleans() | some.integers() | some.floats() | some.text(max_size=8) | some.just(10**30)
TREES = some.recursive(LEAVES, lambda inner: some.lists(inner, max_size=4) | some.dictionaries(
    some.sampled_from(["format", "seed", "round", "answers", "answer", "verdict", "kind", "x"]), inner, max_size=5), max_leaves=12)  # fmt: skip
DEEP = ["[" * 100_000, '{"a":' * 100_000]
JSON = TREES.map(json.dumps) | some.sampled_from(["9" * 5000, "", "\x00", '{"format": 1', "NaN", "[1e999]", "[" * 500 + "]" * 500])


@given((JSON | some.sampled_from(DEEP) | damaged(ANSWERS)).map(lambda text: text.encode("utf-8", "replace")) | with_bytes(ANSWERS.encode()))
@tries(150)
def test_a_damaged_answer_file(home, content):
    """Nothing of it is lost: what cannot be read is put aside whole, and the learner goes on with an empty sheet."""
    folder = home / "answers"
    folder.mkdir(exist_ok=True)
    for old in folder.iterdir():
        old.unlink()
    (folder / "energy.json").write_bytes(content)
    found = answer(lambda: results("energy"), len(content))
    assert isinstance(found, dict) and found["format"] == 1 and isinstance(found["answers"], dict)
    assert [one.read_bytes() for one in folder.iterdir()] == [content]
    keep("energy", "one", {"answer": "1 W", "verdict": "right"})
    kept = json.loads((folder / "energy.json").read_text(encoding="utf-8"))
    assert kept["answers"]["one"][-1] == {"answer": "1 W", "verdict": "right"}


@given((JSON | damaged(json.dumps({"kind": record.KIND, "format": record.FORMAT, "x": [1, {"y": "z"}]}, indent=1)))
       .map(lambda text: text.encode("utf-8", "replace")) | some.binary(max_size=60))  # fmt: skip
@tries(100)
def test_a_damaged_record(tmp_path, content):
    path = tmp_path / "record.json"
    path.write_bytes(content)
    found = unchanged(tmp_path, lambda: record.read(path), len(content))
    assert isinstance(found, str) or found["kind"] == record.KIND and found["format"] == record.FORMAT


@pytest.mark.parametrize("text", DEEP)
def test_a_record_of_brackets_without_end(tmp_path, text):
    (tmp_path / "record.json").write_text(text)
    assert isinstance(unchanged(tmp_path, lambda: record.read(tmp_path / "record.json"), len(text)), str)
