"""`python3 tests` runs every test; further words go to pytest, or name a command (tests/NAME.py)."""
import os
import sys

sys.path.insert(0, os.path.join(os.path.dirname(os.path.dirname(os.path.abspath(__file__))), "lib"))

from coachwork import bootstrap  # noqa: E402  (standard library only, and read by any Python from 3.6 on)

if __name__ == "__main__":
    bootstrap.start(bootstrap.tests)
