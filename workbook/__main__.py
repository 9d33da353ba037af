"""`python3 workbook` opens the lessons; `python3 workbook COMMAND` runs one of coachwork/commands/."""
import os
import sys

sys.path.insert(0, os.path.join(os.path.dirname(os.path.dirname(os.path.abspath(__file__))), "lib"))

from coachwork import bootstrap  # noqa: E402  (standard library only, and read by any Python from 3.6 on)

if __name__ == "__main__":
    bootstrap.start(bootstrap.workbook)
