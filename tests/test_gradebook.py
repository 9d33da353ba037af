"""The gradebook: a class is merged, verdicts are found anew, and nothing from outside does any harm."""

import csv
import io
import json
import os
import random
import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import invented_class
from coachwork import bootstrap
from coachwork.commands import gradebook, roster
from coachwork.commands.gradebook import Gradebook, Handed, Skipped, understood
from coachwork.page import course
from coachwork.page.questions import Questions, course_seed, draw_seed, numbers_of, question_key, topic_questions
from coachwork.quantities import InputError, Q, write_quantity

SEED = 4711
ITEM = topic_questions("energy")[0]
NUMBERS = ITEM.draw(draw_seed(SEED, "energy", 0, 0))
RIGHT = write_quantity(Q(ITEM.solution(NUMBERS), ITEM.unit))


def one_try(answer=RIGHT, verdict="right", **others):
    return {"answer": answer, "numbers": numbers_of(NUMBERS), "verdict": verdict, "slip": ""} | others


def content(*tries, seed=SEED, key=f"{question_key(ITEM)}/0", **others):
    return {"format": 1, "seed": seed, "round": 0, "answers": {key: list(tries or [one_try()])}} | others


def put(folder, name="ana/answers/energy.json", made=None):
    path = folder / name
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(made if isinstance(made, bytes) else json.dumps(content() if made is None else made).encode())
    return path


def skipped(book):
    return {os.path.basename(where): why for where, why in book.skipped}


@pytest.fixture(scope="module")
def class_of_30(tmp_path_factory):
    """(folder, outputs) of the invented class, by its fixed seed."""
    folder = tmp_path_factory.mktemp("class")
    handed = invented_class.write(folder)
    learners = roster.read(folder / "class.csv", invented_class.WORD)
    book = Gradebook(handed, learners)
    return folder, book, book.files()


def rows(files, name):
    return list(csv.DictReader(io.StringIO(files[name].decode("utf-8-sig"), newline="")))


# ---- a class


def test_thirty_invented_learners_are_merged(class_of_30):
    folder, book, files = class_of_30
    assert all("Invented" in name for name in book.names.values())
    handed = [json.loads(path.read_text()) for path in sorted((folder / "handed in").rglob("*.json"))]
    tries = [one for file in handed for tried in file["answers"].values() for one in tried]
    assert book.skipped == [] and len(book.counted) == len(handed)
    assert len(book.tries) == len(tries) > 3000
    assert sorted(one.kind for one in book.tries) == sorted(one["verdict"] for one in tries)
    held = rows(files, "learners.csv")
    assert len(held) == 30 and sum(int(row["tries"]) for row in held) == len(tries)
    right = sum(any(one["verdict"] == "right" for one in tried) for file in handed for tried in file["answers"].values())
    at_once = sum(tried[0]["verdict"] == "right" for file in handed for tried in file["answers"].values())
    assert sum(int(row["right"]) for row in held) == right
    assert sum(int(row["right at first try"]) for row in held) == at_once


def test_slips_and_outcomes_are_counted_by_hand_the_same(class_of_30):
    folder, book, files = class_of_30
    worst = rows(files, "slips.csv")[0]
    lesson = next(one for one in course.asking() if one.number == worst["lesson"])
    item = topic_questions(course.topic(lesson))[int(worst["question"]) - 1]
    met = 0
    for path in (folder / "handed in").rglob(f"{course.topic(lesson)}.json"):
        tried = json.loads(path.read_text())["answers"][f"{question_key(item)}/0"]
        met += any(course.slips(item).get(one["slip"]) == worst["slip, and what the learner was told"] for one in tried)
    assert met == int(worst["learners"]) >= 10
    first = [path for path in (folder / "handed in").rglob("energy.json")]
    asked = [question_key(item) for item in topic_questions("energy") if item.outcome == 1]
    right = [json.loads(path.read_text())["answers"][f"{key}/0"][0]["verdict"] == "right" for path in first for key in asked]
    row = next(row for row in rows(files, "outcomes.csv") if row["outcome"] == "01.1")
    assert int(row["first tries"]) == len(right) and int(row["right [%]"]) == round(100 * sum(right) / len(right))


def test_the_pictures_words_say_what_the_tables_say(class_of_30):
    _, book, files = class_of_30
    page = files["gradebook.html"].decode()
    alt = re.search(r'<img src="gradebook\.png[^"]*" alt="([^"]+)"', page)[1]
    assert alt.startswith("A class of 30. ")
    lowest = min((row for row in rows(files, "outcomes.csv") if row["right [%]"]), key=lambda row: int(row["right [%]"]))
    assert f"{lowest['outcome']} ({lowest['right [%]']} %)" in alt
    for row in rows(files, "slips.csv")[:8]:
        assert f"lesson {row['lesson']}, question {row['question']}, by {row['learners']}: " in alt
    assert files["gradebook.png"].startswith(b"\x89PNG") and "<script" not in page


def test_the_command_writes_the_same_bytes_and_says_it(class_of_30, tmp_path, home, capsys):
    folder, _, files = class_of_30
    roster.main([str(folder / "class.csv"), "--course", invented_class.WORD, "--to", str(tmp_path / "made"), "--lessons", "01"])
    assert gradebook.main([str(folder / "handed in"), "--roster", str(tmp_path / "made/roster.csv")]) == 0
    assert {path.name: path.read_bytes() for path in (home / "gradebook").iterdir()} == files
    assert "30 learners" in capsys.readouterr().out


def test_what_a_lesson_really_writes_is_counted(home, tmp_path):
    (home / "seed.txt").write_text(f"{SEED}")
    panel = Questions("energy")
    panel.pressed("check-1", panel.settings | {"answer-1": "1 Wh"})
    panel.pressed("check-1", panel.settings | {"answer-1": RIGHT})
    panel.pressed("again", panel.settings)
    panel.pressed("check-1", panel.settings | {"answer-1": "1 Wh"})
    book = Gradebook(home.parent, [roster.Learner("ana", "Ana Invented", SEED)])
    assert [(one.question, one.turn, one.kind) for one in book.tries] == [(0, 0, "wrong"), (0, 0, "right"), (0, 1, "wrong")]
    [row] = book.learners()
    assert (row["right"], row["right at first try"], row["tries"]) == (1, 0, 3)


# ---- files from outside: each is named and skipped, the rest counts

DEEP = b'{"format": 1, "seed": 1, "round": 0, "answers": ' + b"[" * 200_000
BAD = {
    "empty": (b"", "damaged"),
    "half": (b'{"format": 1, "answ', "damaged"),
    "bytes": (bytes(range(256)), "damaged"),
    "utf-16": (json.dumps(content()).encode("utf-16"), "damaged"),
    "deep": (DEEP, "damaged"),
    "deep and closed": (b'{"a":' * 50_000 + b"1" + b"}" * 50_000, "damaged"),
    "a long number": (b'{"format": 1, "seed": ' + b"9" * 5000 + b', "answers": {}}', "damaged"),
    "a list": (b"[1, 2]", "damaged"),
    "answers a list": (content(answers=[]), "damaged"),
    "no answers": ({"format": 1, "seed": 1}, "damaged"),
    "huge": (b" " * 1_000_001, "larger than 1,000,000 bytes"),
    "newer": (content(format=2), "another version (format 2"),
    "format true": (content(format=True), "another version"),
    "format a text": (content(format="1\x1b[31m"), "another version"),
    "seed a text": (content(seed="../../x"), "seed"),
    "seed a list": (content(seed=[SEED]), "seed"),
    "seed not whole": (content(seed=4711.0), "seed"),
    "seed true": (content(seed=True), "seed"),
    "seed below zero": (content(seed=-1), "seed"),
    "seed NaN": (json.dumps(content(seed=float("nan"))).encode(), "seed"),
    "too many tries": (content(*[one_try()] * 2_001), "more than 2,000 tries"),
}


@pytest.mark.parametrize("name", BAD)
def test_a_bad_file_is_named_and_the_rest_counts(name, tmp_path):
    made, why = BAD[name]
    put(tmp_path, "ben/answers/energy.json", made)
    put(tmp_path)
    book = Gradebook(tmp_path)
    [(where, said)] = book.skipped
    assert "ben" in where and why in said and len(said) < 160 and said.isprintable()
    assert len(book.tries) == 1 and set(book.names) == {"ana"}


PARTS = {
    "no key of ours": (content(key="../../etc/passwd"), "damaged"),
    "round of a million": (content(key=f"{question_key(ITEM)}/1000000"), "damaged"),
    "tries a text": (content(answers={f"{question_key(ITEM)}/0": "right"}), "damaged"),
    "a try a number": (content(7), "damaged"),
    "an answer a list": (content(one_try([RIGHT])), "damaged"),
    "an answer of a book": (content(one_try("1" * 501)), "damaged"),
    "another edition": (content(key="0123456789ab/0"), "of a question that this edition does not ask"),
    "other numbers": (content(one_try(numbers={"power": "1 W"})), "other numbers"),
    "no numbers": (content(one_try(numbers=None)), "other numbers"),
    "numbers deep": (content(one_try(numbers=[[[[]]]])), "other numbers"),
    "no unit": (content(one_try("12")), "cannot be read as an answer"),
    "code": (content(one_try("__import__('os').system('touch /tmp/pwned')")), "cannot be read as an answer"),
    "a power": (content(one_try("9**9**9 Wh")), "cannot be read as an answer"),
    "beyond numbers": (content(one_try("1e999 Wh")), "cannot be read as an answer"),
}


@pytest.mark.parametrize("name", PARTS)
def test_a_bad_part_is_named_and_the_rest_of_the_file_counts(name, tmp_path):
    made, why = PARTS[name]
    later = ITEM.draw(draw_seed(SEED, "energy", 0, 1))  # a sound try of round 1, which has its own numbers
    sound = one_try(write_quantity(Q(ITEM.solution(later), ITEM.unit)), numbers=numbers_of(later))
    put(tmp_path, made=made | {"answers": made["answers"] | {f"{question_key(ITEM)}/1": [sound]}})
    book = Gradebook(tmp_path)
    [(where, said)] = book.skipped
    assert where.endswith("ana/answers/energy.json") and re.match(r"1 of its tries .*" + why, said)
    assert [one.turn for one in book.tries] == [1]


def test_verdicts_are_found_anew_and_not_believed(tmp_path):
    put(tmp_path, made=content(one_try("1 Wh", "right"), one_try(RIGHT, "wrong"), one_try(RIGHT, {"no": "text"})))
    book = Gradebook(tmp_path)
    assert [one.kind for one in book.tries] == ["wrong", "right", "right"]
    assert skipped(book) == {"energy.json": "3 verdicts in it are not what we find; ours were counted"}


def test_with_a_roster_a_seed_of_ones_own_does_not_count(tmp_path):
    put(tmp_path)
    put(tmp_path, "ben/answers/energy.json", content(seed=5))
    book = Gradebook(tmp_path, [roster.Learner("ana", "Ana Invented", SEED), roster.Learner("ben", "Ben Invented", 6)])
    assert skipped(book) == {"energy.json": "its seed 5 is not on the roster"} and {one.learner for one in book.tries} == {"ana"}
    assert "Nothing that counts from: Ben Invented." in book.summary()


def test_numbers_of_another_seed_do_not_count(tmp_path):
    """Ben hands in Ana's answers with his own seed written over hers."""
    put(tmp_path, made=content(seed=5) | {"answers": content(one_try(numbers={"power": "5 W"}))["answers"]})
    put(tmp_path, "ben/answers/energy.json")
    assert "other numbers" in skipped(Gradebook(tmp_path))["energy.json"]


def test_handed_in_twice_the_longer_counts_and_the_other_is_named(tmp_path):
    put(tmp_path, "ana/monday/energy.json")
    put(tmp_path, "ana/tuesday/energy.json", content(one_try("1 Wh", "wrong"), one_try()))
    put(tmp_path, "ben/answers/energy.json", content(one_try()))
    book = Gradebook(tmp_path, [roster.Learner("ana", "Ana Invented", SEED)])
    assert len(book.tries) == 2
    said = dict(book.skipped)
    assert sorted(where.split("/")[-3:-1] for where in said) == [["ana", "monday"], ["ben", "answers"]]
    assert all("counted from" in why and "tuesday" in why for why in said.values())


@pytest.mark.skipif(os.name == "nt", reason="links and pipes as Unix has them")
def test_links_pipes_and_folders_are_not_followed(tmp_path):
    outside = put(tmp_path / "outside", "energy.json")
    hand = tmp_path / "hand"
    put(hand)
    (hand / "ben").mkdir()
    (hand / "ben/energy.json").symlink_to(outside)
    (hand / "cyr").symlink_to(tmp_path / "outside")
    (hand / "loop").symlink_to(hand)
    (hand / "ben/sun.json").mkdir()
    os.mkfifo(hand / "ben/wiring.json")
    (hand / "ben/inverter.json").symlink_to("/dev/zero")
    book = Gradebook(hand)
    assert len(book.tries) == 1 and set(book.names) == {"ana"}
    assert skipped(book) == {**dict.fromkeys(["energy.json", "cyr", "loop", "inverter.json"], "it is a link; hand in the file itself"),
                             "wiring.json": "it is no ordinary file"}  # fmt: skip


@pytest.mark.skipif(os.name == "nt", reason="such names cannot be made there")
@pytest.mark.parametrize("name", ["..\\..\\x.json", "..%2f..%2fx.json", "<script>alert(1)<\\script>.json", "a\nb\x1b[31m.json",
                                  "=cmd|' !A0'.json", "\u202eenergy.json", "energy.damaged.json", "con.json"])  # fmt: skip
def test_names_are_only_shown(name, tmp_path):
    put(tmp_path)
    put(tmp_path, "ben/" + name)
    book = Gradebook(tmp_path)
    [(where, why)] = book.skipped
    assert why == "its name is no lesson's answer file" and where.isprintable()
    page = book.files()["gradebook.html"].decode()
    assert "<script" not in page


@pytest.mark.skipif(os.name == "nt", reason="such names cannot be made there")
def test_a_name_that_is_no_text_is_shown_as_its_bytes(tmp_path, capsys, home):
    put(tmp_path / "hand")
    with open(os.fsencode(tmp_path / "hand") + b"/\xff\xfe.json", "wb"):
        pass
    assert gradebook.main([str(tmp_path / "hand"), "--to", str(tmp_path / "to")]) == 0
    assert r"\xff\xfe.json: its name is no lesson's answer file" in capsys.readouterr().out


def test_nested_without_end(tmp_path):
    put(tmp_path)
    put(tmp_path, "/".join(["d"] * 30) + "/energy.json")
    [(where, why)] = Gradebook(tmp_path).skipped
    assert "folders deep" in why


def test_more_files_than_a_class_has(tmp_path, monkeypatch):
    put(tmp_path, "a/energy.json")
    put(tmp_path, "b/energy.json")
    monkeypatch.setattr(gradebook, "MOST_ENTRIES", 3)
    assert any("more than 3 files" in why for _, why in Gradebook(tmp_path).skipped)


FORMULAS = ["=HYPERLINK(1)", "+1+1", "-2+3", "@SUM(A1)", "\t=1", "＝1"]


@pytest.mark.skipif(os.name == "nt", reason="such names cannot be made there")
@pytest.mark.parametrize("name", FORMULAS)
def test_no_cell_starts_a_formula(name, tmp_path):
    put(tmp_path, f"{name}/energy.json")
    put(tmp_path, f"{name}/=1.json")
    files = Gradebook(tmp_path).files()
    for file in (file for file in files if file.endswith(".csv")):
        for row in csv.reader(io.StringIO(files[file].decode("utf-8-sig"), newline="")):
            assert not any(cell.lstrip().startswith(tuple("=+-@＝")) for cell in row)


def test_a_name_with_html_is_only_shown(tmp_path):
    put(tmp_path)
    name = '<img src=x onerror="alert(1)"> & "Bo"'
    page = Gradebook(tmp_path, [roster.Learner("bo", name, SEED)]).files()["gradebook.html"].decode()
    assert "<img src=x" not in page and "&lt;img src=x" in page


def test_a_folder_with_nothing_that_counts_is_told(tmp_path, home):
    with pytest.raises(bootstrap.Trouble, match="holds no answers that count"):
        gradebook.main([str(tmp_path)])
    with pytest.raises(bootstrap.Trouble, match="is no folder"):
        gradebook.main([str(tmp_path / "not there")])
    assert not (home / "gradebook").exists()


def test_nothing_is_written_into_the_workbook_or_outside_its_folder(tmp_path, home):
    put(tmp_path / "hand")
    for inside in ("workbook", "workbook/made", "lib/../workbook"):
        with pytest.raises(bootstrap.Trouble, match="workbook's own folder"):
            gradebook.main([str(tmp_path / "hand"), "--to", str(bootstrap.ROOT / inside)])
    victim = tmp_path / "victim.txt"
    victim.write_text("mine")
    (tmp_path / "to").mkdir()
    for name in ("learners.csv", "gradebook.html"):
        (tmp_path / "to" / name).symlink_to(victim)
    before = {path for path in tmp_path.rglob("*")}
    gradebook.main([str(tmp_path / "hand"), "--to", str(tmp_path / "to")])
    assert victim.read_text() == "mine"
    assert {path.parent for path in {*tmp_path.rglob("*")} - before} == {tmp_path / "to"}


@pytest.mark.skipif(os.name == "nt" or os.geteuid() == 0, reason="an administrator may read everything")
def test_a_file_that_may_not_be_read_is_named(tmp_path):
    put(tmp_path)
    put(tmp_path, "ben/sun.json").chmod(0)
    assert "cannot be read" in skipped(Gradebook(tmp_path))["sun.json"]


# ---- whatever else comes

JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=20),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(max_size=10), inner, max_size=4),
    max_leaves=12,
)
LIKE_OURS = st.fixed_dictionaries({
    "format": st.just(1) | JSON,
    "seed": st.just(SEED) | JSON,
    "answers": JSON | st.dictionaries(
        st.sampled_from([f"{question_key(item)}/0" for item in topic_questions("energy")]) | st.text(max_size=16),
        JSON | st.lists(st.fixed_dictionaries({"answer": JSON | st.text(max_size=30), "numbers": st.just(numbers_of(NUMBERS)) | JSON,
                                               "verdict": JSON}), max_size=3), max_size=3),
})  # fmt: skip


@given(st.binary(max_size=200) | (JSON | LIKE_OURS).map(lambda made: json.dumps(made).encode()))
@settings(max_examples=150)
def test_any_bytes_are_understood_or_skipped(made):
    try:
        found = understood(made, "x", "ana", "energy")
    except Skipped as why:
        assert str(why).isprintable()
    else:
        assert isinstance(found, Handed) and found.damaged >= 0


UNITS = sorted({item.unit for topic in gradebook._topics() for item in topic_questions(topic) if hasattr(item, "unit")})
SAID = st.text(max_size=85) | st.builds("{} {}".format, st.floats() | st.integers(), st.sampled_from(UNITS))


@given(st.sampled_from(sorted(gradebook._topics())), st.integers(0, 9999), SAID)
@settings(max_examples=150)
def test_any_answer_gets_a_verdict_or_cannot_be_read(topic, turn, said):
    place = turn % len(topic_questions(topic))
    drawn = numbers_of(topic_questions(topic)[place].draw(draw_seed(SEED, topic, place, turn)))
    try:
        kind, slip = gradebook.Judge()(topic, place, SEED, turn, said, drawn)
    except Skipped as why:
        assert str(why) == "cannot be read as an answer"
    else:
        assert kind in ("right", "slip", "wrong") and (kind == "slip") == bool(slip)


@given(st.randoms(use_true_random=False))
@settings(max_examples=20)
def test_a_file_with_a_few_bytes_changed_harms_nothing(tmp_path_factory, chance):
    made = bytearray(json.dumps(invented_class.answers("energy", SEED, random.Random(1), 0.5)).encode())
    for _ in range(chance.randint(1, 8)):
        made[chance.randrange(len(made))] = chance.randrange(256)
    folder = tmp_path_factory.mktemp("changed")
    put(folder, made=bytes(made))
    put(folder, "ben/energy.json")
    book = Gradebook(folder)
    assert "ben" in book.names and list(book.learners()) and list(book.slips()) is not None


# ---- the roster


def class_file(folder, text):
    (folder / "class.csv").write_bytes(text if isinstance(text, bytes) else text.encode())
    return folder / "class.csv"


@pytest.mark.parametrize("text", ["id,name\nana-1,Ana Invented\n", "\ufeffname;ID\r\nAna Invented;ana-1\r\n", "id,name,seed\nana-1,Ana  Invented,\n\n,,\n"])
def test_a_list_is_read_and_seeds_are_made(text, tmp_path):
    [one] = roster.read(class_file(tmp_path, text), "spring 2027")
    assert one == roster.Learner("ana-1", "Ana Invented", course_seed("spring 2027", "ana-1"))


@pytest.mark.parametrize("text, words", [
    ("", "names no learner"),
    ("id,name\n", "names no learner"),
    ("name\nAna\n", 'row 2: the id is ""'),
    ("id,name\n../../x,Ana\n", 'the id is "../../x"'),
    ("id,name\n=1,Ana\n", 'the id is "=1"'),
    ("id,name\nana,\n", "the name is"),
    ("id,name\nana," + "x" * 101 + "\n", "1 to 100 characters"),
    ("id,name\nana,A\nANA,B\n", "row 3: the id ana stands in row 2 as well"),
    ("id,name,seed\nana,A,7\nben,B,7\n", "row 3: the seed 7 stands in row 2"),
    ("id,name,seed\nana,A,-7\n", 'the seed is "-7"'),
    ("id,name,seed\nana,A,٣\n", "the seed is"),
    (b"id,name\nana,\xff\n", "not in UTF-8"),
    ('id,name\n"ana,A\n', "no CSV table"),
    ("id,name\n" + "".join(f"l{n},N\n" for n in range(1001)), "1,001 rows"),
    (b"x" * 1_000_001, "larger than"),
])  # fmt: skip
def test_a_bad_list_is_told_with_its_row(text, words, tmp_path):
    with pytest.raises(InputError, match=re.escape(words)):
        roster.read(class_file(tmp_path, text), "spring 2027")


def test_a_roster_without_seeds_is_no_roster_for_the_gradebook(tmp_path, home):
    put(tmp_path / "hand")
    path = class_file(tmp_path, "id,name\nana,Ana\n")
    with pytest.raises(bootstrap.Trouble, match="row 2: the seed is missing"):
        gradebook.main([str(tmp_path / "hand"), "--roster", str(path)])


def test_the_key_says_what_each_learner_is_asked(tmp_path, home, monkeypatch):
    path = class_file(tmp_path, "id,name\nana-1,<b>Ana</b>\nben-1,=Ben\n")
    roster.main([str(path), "--course", "Spring 2027", "--to", str(tmp_path / "to"), "--lessons", "01", "07"])
    held = rows({"key.csv": (tmp_path / "to/key.csv").read_bytes()}, "key.csv")
    assert {row["lesson"] for row in held} == {"01", "07"} and {row["name"] for row in held} == {"<b>Ana</b>", "'=Ben"}
    (home / "seed.txt").write_text(f"{course_seed('spring 2027', 'ana-1')}")
    panel = Questions("energy")
    mine = [row for row in held if row["id"] == "ana-1" and row["lesson"] == "01"]
    for row, item, given_ in zip(mine, panel.items, panel.given, strict=True):
        assert row["asked"] == item.asked(given_) and row["answer"] == item.told(given_)
    page = (tmp_path / "to/key.html").read_text()
    assert "&lt;b&gt;Ana" in page and "<b>Ana" not in page and roster.SECRET in page
    assert (tmp_path / "to/skills.html").read_text().count("<section>") == 2
    assert os.name == "nt" or (tmp_path / "to").stat().st_mode & 0o077 == 0
    again = roster.read(tmp_path / "to/roster.csv")
    assert [(one.id, one.seed) for one in again] == [(who, course_seed("spring 2027", who)) for who in ("ana-1", "ben-1")]


def test_the_key_is_never_put_where_learners_get_it(tmp_path):
    path = class_file(tmp_path, "id,name\nana,Ana\n")
    (tmp_path / "link").symlink_to(bootstrap.ROOT / "workbook")
    for to in (bootstrap.ROOT / "workbook" / "key", bootstrap.ROOT, tmp_path / "link"):
        with pytest.raises(bootstrap.Trouble, match="lies in the workbook's own folder"):
            roster.main([str(path), "--course", "x", "--to", str(to)])
    assert not (bootstrap.ROOT / "workbook" / "key").exists()


@pytest.mark.parametrize("words, said", [(["--course", " "], "a word for this class"), (["--course", "x", "--lessons", "99"], 'there is no "99"')])
def test_a_slip_in_the_command_is_told(words, said, tmp_path, home):
    with pytest.raises(bootstrap.Trouble, match=said):
        roster.main([str(class_file(tmp_path, "id,name\nana,Ana\n")), *words])
