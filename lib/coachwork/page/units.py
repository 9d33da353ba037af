"""US or SI, as the reader chose it on some page: kept in their folder for the pages that they open later."""

import functools

from coachwork import bootstrap, files
from coachwork.quantities import display_system, set_display_system

KEPT = "units.txt"  # in the reader's folder: "US" or "SI"


@functools.cache  # once a process: a page does not change its units because another one did
def take_up():
    """Show everything in the system that is kept; where none can be read, nothing changes."""
    try:
        kept = (bootstrap.home() / KEPT).read_bytes().strip()
    except OSError:
        return
    if kept in (b"US", b"SI"):
        set_display_system(kept.decode())


def keep():
    """Keep the system that is shown now. Raises OSError where the reader's folder cannot be written."""
    files.replace(bootstrap.home() / KEPT, f"{display_system()}\n".encode())
