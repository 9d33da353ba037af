"""`python3 tests handbook [--ledger FILE]`: run a ledger, the workbook's own or a course's, and print it."""

import argparse
import pathlib

from coachwork.page import ledger
from coachwork.quantities import InputError


def main(argv):
    parser = argparse.ArgumentParser(prog="python3 tests handbook", description=__doc__)
    parser.add_argument(
        "--ledger", type=pathlib.Path, help="a TOML file of [[check]] rows; without it, all of ours"
    )
    options = parser.parse_args(argv)
    try:
        ledgers = [options.ledger] if options.ledger else ledger.topics()
        outcomes = [one for source in ledgers for one in ledger.run(source)]
    except InputError as error:
        print(error)
        return 2
    for one in outcomes:
        sign = "agrees   " if one.agrees else "DISAGREES"
        print(
            f"{sign}  {one.what}: ours {one.ours}, print {one.printed}, within {one.tolerance}; {one.source}"
        )
    count = ledger.summary(outcomes)
    print(f"\n{count['rows']} rows, worst difference {100 * count['worst']:.2f} %")
    for status, number in count["by status"].items():
        print(f"{number:5}  {status}")
    return 0 if all(one.agrees for one in outcomes) else 1
