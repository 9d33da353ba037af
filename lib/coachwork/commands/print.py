"""`python3 workbook print [LESSON ...] [--to DIR]`: the lessons as PDFs for paper, their answers in PDFs of their own."""

import argparse
import time

from coachwork import bootstrap
from coachwork.commands.open import LESSONS
from coachwork.commands.refresh import find
from coachwork.quantities import InputError

PLACE = "coachwork-print"  # the folder that is made
COVER = (
    "This is the printed edition. The lessons stand here as the demonstration coach leaves them; in the workbook itself "
    "sliders move, and your own coach takes its place.",
    "A bench is a picture with sliders. Here it stands still: its settings and its result stand below it in words. Decide what "
    "it predicts before you read on.",
    "The questions have room for your answers. Their numbers are drawn from a learner's number, which stands at the foot of "
    "each page; another number gives other questions. The answers are in a file of their own.",
    "Lines of Python that only show a table, a picture or a question are left out.",
    "Local codes and licensed practice decide; where they differ from this workbook, they are right.",
)


def main(argv):
    words = argparse.ArgumentParser(prog=bootstrap.PYTHON + " workbook print", description="Make the lessons as PDFs.")
    words.add_argument("lessons", nargs="*", metavar="LESSON", help="01, energy or 01-energy; left out: all, and the course in one")
    words.add_argument("--to", metavar="DIR", help="where the folder is put; left out: your folder")
    words.add_argument("--seed", type=int, help="whose numbers the questions take; left out: yours")
    words.add_argument("--units", choices=("US", "SI"), help="left out: as you chose on a page")
    wish = words.parse_args(argv)
    from coachwork.page import edition, printed

    start = time.monotonic()
    known = sorted(LESSONS.glob("[0-9][0-9]-*.ipynb"))
    paths = sorted({find(word, known) for word in wish.lessons}) or known
    seed, system = edition.whose(wish.seed, wish.units)
    about = f"{system} units, learner's number {seed}"
    told, content = [], {}
    for path, one in zip(paths, edition.lessons(paths, seed, system)):
        told.append(one)
        content[f"{path.stem}.pdf"] = printed.pdf(f"{one['number']} {one['title']}", [one], about)
        content[f"{path.stem}-answers.pdf"] = printed.pdf(f"Answers: {one['title']}", [printed.answers(one)], about)
        print(f"{path.stem}: {_size(content[f'{path.stem}.pdf'])}", flush=True)
    if not wish.lessons:
        content["course.pdf"] = printed.pdf(printed.NAME, told, about, COVER)
        content["course-answers.pdf"] = printed.pdf(f"Answers: {printed.NAME}", list(map(printed.answers, told)), about, COVER[2:3])
    try:
        place = edition.put(wish.to, PLACE, content, r"[0-9]{2}-[a-z-]+\.pdf|course(-answers)?\.pdf", stay=True)
    except InputError as error:
        raise bootstrap.Trouble(str(error))
    total = _size(b"".join(content.values()))
    print(f"The printed edition is in {place}: {len(content)} files, {total}, made in {time.monotonic() - start:.0f} s.")
    return 0


def _size(content):
    return f"{len(content) / 1e6:.1f} MB"
