"""`python3 workbook learner ID --course WORD`: take the numbers that a course gives you.

The seed in your folder becomes that of `coachwork.page.questions.course_seed`. Answers given before are put aside.
"""

import argparse

from coachwork import bootstrap
from coachwork.files import replace
from coachwork.page.questions import course_seed


def main(argv):
    words = argparse.ArgumentParser(
        prog=bootstrap.PYTHON + " workbook learner", description="Take the numbers of your course."
    )
    words.add_argument("id", help="your name on the course's list, for example ana-1")
    words.add_argument("--course", required=True, metavar="WORD", help="the word your instructor gave the class")
    wish = words.parse_args(argv)
    for name, said in (("name on the list", wish.id), ("word of the course", wish.course)):
        if not said.strip():
            raise bootstrap.Trouble("Your {} is empty: write for example `{} workbook learner ana-1 --course "
                                    "\"spring 2027\"`.".format(name, bootstrap.PYTHON))  # fmt: skip
    seed = course_seed(wish.course, wish.id)
    try:
        replace(bootstrap.home() / "seed.txt", b"%d\n" % seed)
    except OSError as error:
        raise bootstrap.Trouble("Your folder {} cannot be written ({}): name another one in COACHWORK_HOME and start "
                                "again.".format(bootstrap.home(), error.strerror or error))  # fmt: skip
    print("Your questions are drawn from the number {} now. It must be the one on the course's list.".format(seed))
    print("A lesson that is open: run it again. Answers given before stay beside the new ones, and do not count.")
    return 0
