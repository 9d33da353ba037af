"""`python3 workbook guide`: open the guide for instructors, in your own folder as a lesson is."""

from coachwork.commands import open as opening


def main(argv):
    return opening.main(argv, guide=True)
