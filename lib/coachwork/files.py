"""Files of the reader: written whole or not at all, and TOML changed without losing its comments."""

import contextlib
import os
import shutil
import tomllib

import tomlkit

from coachwork.quantities import InputError, Quantity, write_quantity


@contextlib.contextmanager
def writing(place):
    """What the disk refuses inside is told in one sentence: an InputError that names `place`."""
    try:
        yield
    except OSError as error:
        raise InputError(str(place), f"it cannot be written ({error.strerror or error})",
                         "a folder that can be written, on a disk with room") from None  # fmt: skip


def replace(path, content):
    """Put the bytes `content` at `path` in one step: whoever reads sees all of the old file or of the new one.

    Folders are made where missing. Raises OSError, with the old file whole and no draft left beside it.
    """
    path.parent.mkdir(parents=True, exist_ok=True)
    draft = path.with_name(f".{path.name}.{os.getpid()}.draft")
    try:
        with open(draft, "wb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        if path.exists():
            shutil.copymode(path, draft)
        os.replace(draft, path)
    finally:
        draft.unlink(missing_ok=True)


MOST_DOTS = 2000  # in a line, as many as a note may hold: a key of n parts costs the reader of TOML n squared steps


def read_toml(text):
    """The values in TOML text, a dict. ValueError says why it is none, or would take too long to read."""
    if max((line.count(".") for line in text.splitlines()), default=0) > MOST_DOTS:
        raise ValueError(f"a line of it holds more than {MOST_DOTS:,} dots")
    try:
        return tomllib.loads(text)
    except RecursionError:
        raise ValueError("its brackets go too deep") from None
    except ValueError as error:  # its words may hold a key of any length; its place stands at their end
        why = str(error)
        raise ValueError(why if len(why) <= 160 else f"{why[:100]}...{why[-50:]}") from None


def toml_value(value):
    """A value as TOML holds it: a quantity as text, a whole number without its point, tuples as lists."""
    if isinstance(value, Quantity):
        return write_quantity(value)
    if isinstance(value, tuple):
        return [toml_value(one) for one in value]
    return int(value) if isinstance(value, float) and value == int(value) and abs(value) < 1e15 else value


def edit_toml(text, old, new):
    """The TOML text changed so that it says `new`, where it said `old`; what stays the same keeps its layout.

    Both are dicts of TOML values. Tables in a list of tables are known by their `name`; one that is renamed
    in its place stays the same table.
    """
    windows = text.count("\r\n") == text.count("\n") > 0
    text = text.replace("\r\n", "\n") if windows else text
    document = tomlkit.parse(text + ("" if text.endswith("\n") or not text else "\n"))
    _edit(document, old, new)
    text = tomlkit.dumps(document)
    return text.replace("\n", "\r\n") if windows else text


def _edit(table, old, new, top=True):
    for key in [key for key in old if key not in new]:
        del table[key]
    for key, value in new.items():
        before = old.get(key)
        if before == value:
            continue
        tables = isinstance(value, list) and any(isinstance(one, dict) for one in value)
        if before is None and (isinstance(value, dict) or tables and top):
            table.append(key, tomlkit.table() if isinstance(value, dict) else tomlkit.aot())
        if isinstance(value, dict):
            _edit(table[key], before or {}, value, top=False)
        elif top and tables and isinstance(table[key], tomlkit.items.AoT):
            _edit_rows(table[key], before or [], value)
        else:
            table[key] = _list_of_tables(value) if tables else value


def _list_of_tables(rows):
    """Small tables inside brackets, one a line."""
    lines = tomlkit.array().multiline(True)
    for row in rows:
        line = tomlkit.inline_table()
        line.update(row)
        lines.append(line)
    return lines


def _edit_rows(tables, old, new):
    """Change a list of tables, given by their rows. Lines of comment before a table stay before it."""
    rows, wanted = list(old), [row["name"] for row in new]
    for place in reversed(range(len(rows))):
        name = rows[place]["name"]
        renamed = len(old) == len(new) and wanted[place] not in [row["name"] for row in old]
        if name not in wanted and not renamed:
            tail = _tail(tables[place])
            if place:
                _add(tables[place - 1], tail)
            elif len(rows) > 1:
                tables[1].trivia.indent = "".join(item.as_string() for item in tail) + tables[1].trivia.indent
            del tables[place], rows[place]
    for place, row in enumerate(new):
        names = [one["name"] for one in rows]
        if row["name"] in names:
            at = names.index(row["name"])
        elif len(old) == len(new) and place < len(rows) and names[place] not in wanted:
            at = place
        else:
            at = len(rows)
        added = at == len(rows)
        table, before = (tomlkit.table(), {}) if added else (tables[at], rows[at])
        _edit(table, before, row, top=False)
        if added and place:
            table.trivia.indent = "\n"
            _add(table, _tail(tables[place - 1]))
        if at > place and not added:
            del tables[at], rows[at]
        if at > place or added:
            tables.insert(place, table)
            rows.insert(place, row)
        rows[place] = row


def _tail(table):
    """Take the blank lines and comments after a table's last value out of it: they belong to what follows."""
    body = table.value.body
    end = next((at + 1 for at in reversed(range(len(body))) if body[at][0] is not None), 0)
    tail = [item for _, item in body[end:]]
    del body[end:]
    return tail


def _add(table, tail):
    for item in tail:
        table.add(item)
