"""`python3 workbook record FILE [--to DIR]`: make the design record of a coach, without Jupyter."""

import argparse

from coachwork import bootstrap
from coachwork.quantities import InputError


def main(argv):
    words = argparse.ArgumentParser(prog=bootstrap.PYTHON + " workbook record", description="Make the design record of a coach.")
    words.add_argument("file", nargs="?", help="a coach file; left out: the coach you work on")
    words.add_argument("--to", metavar="DIR", help="where its folder is put; left out: records in your folder")
    wish = words.parse_args(argv)
    from coachwork import coach
    from coachwork.page import record, units

    units.take_up()
    try:
        place = record.save(coach.read(wish.file) if wish.file else coach.current(), wish.to)
    except InputError as error:
        raise bootstrap.Trouble(str(error))
    made = record.read(place / "record.json")
    print(made["verdict"])
    print("The record is in {}: record.html, record.pdf, record.json and schedules for a spreadsheet.".format(place))
    return 0
