"""`python3 workbook site [LESSON ...] [--to DIR]`: the lessons as plain web pages that open from a memory stick."""

import argparse
import time

from coachwork import bootstrap
from coachwork.commands.open import LESSONS
from coachwork.commands.refresh import find
from coachwork.quantities import InputError

PLACE = "coachwork-site"  # the folder that is made
MOST = 25e6  # bytes that the whole may take


def main(argv):
    words = argparse.ArgumentParser(prog=bootstrap.PYTHON + " workbook site", description="Make the lessons as plain web pages.")
    words.add_argument("lessons", nargs="*", metavar="LESSON", help="01, energy or 01-energy; left out: all")
    words.add_argument("--to", metavar="DIR", help="where the folder is put; left out: your folder")
    words.add_argument("--seed", type=int, help="whose numbers the questions take; left out: yours")
    words.add_argument("--units", choices=("US", "SI"), help="left out: as you chose on a page")
    wish = words.parse_args(argv)
    from coachwork.page import edition, still

    start = time.monotonic()
    known = sorted(LESSONS.glob("[0-9][0-9]-*.ipynb"))
    paths = sorted({find(word, known) for word in wish.lessons}) or known
    seed, system = edition.whose(wish.seed, wish.units)
    told = []
    for path, one in zip(paths, edition.lessons(paths, seed, system, grid=True)):
        told.append(one)
        benches = [block["bench"] for block in one["blocks"] if "bench" in block]
        stills = [still[-1] for bench in benches for still in bench["stills"]]
        print(f"{path.stem}: {len(benches)} benches, {len(stills)} pictures, {sum(map(len, stills)) / 1e6:.1f} MB", flush=True)
    content = still.site(told, system, seed)
    total = sum(map(len, content.values()))
    if total > MOST:
        raise bootstrap.Trouble(f"The pages would take {total / 1e6:.0f} MB, more than {MOST / 1e6:.0f} MB: make fewer lessons at a time.")
    try:
        place = edition.put(wish.to, PLACE, content, r"index\.html|still\.(js|css)|[0-9]{2}-[a-z-]+\.html|pictures/[0-9-]+\.png")
    except InputError as error:
        raise bootstrap.Trouble(str(error))
    print(f"The still edition is in {place}: {total / 1e6:.1f} MB, made in {time.monotonic() - start:.0f} s. Open index.html.")
    return 0
