"""What `python3 workbook site` and `python3 workbook print` share: their words, the lessons meant, the folder made."""

import argparse
import time

from coachwork import bootstrap
from coachwork.commands.open import LESSONS
from coachwork.commands.refresh import find
from coachwork.quantities import InputError


class Making:
    """One run of a command that makes an edition: what the command line asks for, and its folder.

    name : the command. does : it, in a sentence. left_out : what is made where no lesson is named. place : the folder
    made. ours : a pattern of the names of the files it may hold. stay : files of an earlier run stay.

    Raises bootstrap.Trouble where a lesson is unknown or the folder cannot be made, before anything is run.
    """

    def __init__(self, argv, name, does, left_out, place, ours, stay=False):
        from coachwork.page import edition

        self.begun = time.monotonic()
        words = argparse.ArgumentParser(prog=f"{bootstrap.PYTHON} workbook {name}", description=does)
        words.add_argument("lessons", nargs="*", metavar="LESSON", help=f"01, energy or 01-energy; left out: {left_out}")
        words.add_argument("--to", metavar="DIR", help="where the folder is put; left out: your folder")
        words.add_argument("--seed", type=int, help="whose numbers the questions take; left out: yours")
        words.add_argument("--units", type=str.upper, choices=("US", "SI"), help="left out: as you chose on a page")
        wish = words.parse_args(argv)
        known = sorted(LESSONS.glob("[0-9][0-9]-*.ipynb"))
        self.paths = sorted({self._lesson(word, known) for word in wish.lessons}) or known
        self.every = not wish.lessons
        self.seed, self.system = edition.whose(wish.seed, wish.units)
        self.folder = wish.to, place, ours, stay
        self._kindly(edition.room, *self.folder[:3])
        count = f"{len(self.paths)} lessons" if len(self.paths) > 1 else self.paths[0].stem
        print(f"Running {count} afresh" + ("; this takes a minute or more." if self.every else "."), flush=True)

    @staticmethod
    def _lesson(word, known):
        """The workbook's own lesson that a word means: an edition shows lessons as they are handed out."""
        name = find(word, known).name
        if found := [path for path in known if path.name == name]:
            return found[0]
        raise bootstrap.Trouble(f"{word} is no lesson of this workbook; its lessons are: {', '.join(path.stem for path in known)}.")

    def lessons(self, grid=False):
        """(file's name without its end, the lesson as `edition.lessons` tells it) one by one."""
        from coachwork.page import edition

        told = edition.lessons(self.paths, self.seed, self.system, grid=grid)
        return zip((path.stem for path in self.paths), told)

    def put(self, content, what, more=""):
        """Write the files (names to bytes) and say where they are. what : "still edition". more : a last sentence."""
        from coachwork.page import edition

        to, name, ours, stay = self.folder
        place = self._kindly(edition.put, to, name, content, ours, stay)
        print(f"The {what} is in {place}: {len(content)} files, {size(content.values())}, "
              f"made in {time.monotonic() - self.begun:.0f} s.{more}")  # fmt: skip
        return 0

    @staticmethod
    def _kindly(act, *given):
        try:
            return act(*given)
        except InputError as error:
            raise bootstrap.Trouble(str(error)) from None


def size(contents):
    """How much some files take, for example "1.2 MB"."""
    return f"{sum(map(len, contents)) / 1e6:.1f} MB"


def count(number, one):
    """A number of things in words: "1 bench", "2 benches"."""
    return f"{number} {one}" + ("" if number == 1 else "es" if one.endswith("ch") else "s")
