"""`python3 workbook refresh [lesson ...]`: run lessons, and the guide, top to bottom and store their text outputs.

The only way a lesson of the repository is written. Each runs in an empty reader's folder on a fixed date,
and what is stored depends on nothing else: running it again changes no byte.
"""
import os
import re
import tempfile
from pathlib import Path

import nbformat
from nbclient import NotebookClient
from nbclient.exceptions import CellExecutionError, CellTimeoutError, DeadKernelError

from coachwork import bootstrap
from coachwork.commands.open import notebooks, write

DATE = "2026-06-15"             # what lessons take for today while they are tested
RANDOM_ID = re.compile(r"[0-9a-f]{8}(-[0-9a-f]{4}){0,3}(-[0-9a-f]{12})?$")      # as editors and nbformat give
KEPT = {"tags", "jupyter"}      # of a cell's metadata; the rest is an editor's state


def main(argv):
    known = notebooks()
    for path in [find(word, known) for word in argv] or known:
        print(path.stem, end=" ... ", flush=True)
        fresh = refreshed(path)
        print("as it was" if fresh == path.read_bytes() else "written")
        write(path, fresh)
    return 0


def find(word, known):
    """The lesson meant by `07`, `wiring`, `07-wiring` or the path of any notebook."""
    if word.endswith(".ipynb") and Path(word).is_file():
        return Path(word)
    for path in known:
        if word.removesuffix(".ipynb") in (path.stem, path.stem[:2], path.stem[3:]):
            return path
    raise bootstrap.Trouble("There is no lesson '{}'; there are: {}.".format(
        word, ", ".join(path.stem for path in known) or "none yet"))


def surroundings(home):
    """The environment variables of a tested lesson: an empty reader's folder and a fixed date."""
    return {"COACHWORK_HOME": str(home), "COACHWORK_DATE": DATE, "IPYTHONDIR": str(Path(home, ".ipython"))}


def refreshed(path):
    """The bytes of the lesson at `path` when it is run afresh. Raises Trouble where a cell fails."""
    notebook = nbformat.read(path, as_version=4)
    with tempfile.TemporaryDirectory() as home:
        client = NotebookClient(notebook, kernel_name="python3", timeout=120, record_timing=False,
                                store_widget_state=False, coalesce_streams=True,
                                extra_arguments=["--log-level=ERROR"],
                                resources={"metadata": {"path": home}})
        try:
            client.execute(env=dict(os.environ, **surroundings(home)))
        except (CellExecutionError, CellTimeoutError, DeadKernelError) as error:
            raise bootstrap.Trouble("{}: {}".format(path.name, failure(notebook, error)))
    return tidy(notebook)


def failure(notebook, error):
    """One sentence: which cell failed, and with what."""
    for number, cell in enumerate(notebook.cells, 1):
        for output in cell.get("outputs", []):
            if output.output_type == "error":
                return "cell {} raised {}: {} (nothing was written).".format(
                    number, output.ename, output.evalue)
    return "{} (nothing was written).".format(str(error).strip().splitlines()[0])


def tidy(notebook):
    """The bytes of an executed notebook as they are stored: text outputs, counts in order, stable ids."""
    notebook.metadata = nbformat.from_dict({
        "kernelspec": {"display_name": "Python 3 (ipykernel)", "language": "python", "name": "python3"},
        "language_info": {"name": "python"}})
    notebook.nbformat_minor = 5
    taken, count = {cell.id for cell in notebook.cells}, 0
    free = (name for name in map("c{:02}".format, range(1, 10000)) if name not in taken)
    for cell in notebook.cells:
        if RANDOM_ID.match(cell.id):
            cell.id = next(free)
        cell.metadata = nbformat.from_dict({k: v for k, v in cell.metadata.items() if k in KEPT and v})
        if cell.cell_type == "code":
            count += bool(cell.source.strip())
            cell.execution_count = count if cell.source.strip() else None
            cell.outputs = [o for o in map(text_only, cell.outputs) if o]
            for output in cell.outputs:
                if output.output_type == "execute_result":
                    output.execution_count = count
    return (nbformat.writes(notebook).rstrip("\n") + "\n").encode("utf-8")


def text_only(output):
    """An output with nothing but its text, or None if it has none."""
    if output.output_type not in ("display_data", "execute_result"):
        return output
    if "text/plain" not in output.data:
        return None
    output.data = nbformat.from_dict({"text/plain": output.data["text/plain"]})
    output.metadata = nbformat.from_dict({})
    return output
