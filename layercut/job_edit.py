"""Changing one setting in a job file's text, and nothing else of it.

Enters: the text of a job file, a dotted key and its new value. Leaves: the new text; comments, order and layout
stay as the maker left them.
"""

import tomllib
from typing import Any

import tomlkit
from tomlkit.exceptions import TOMLKitError
from tomlkit.items import Comment, Table, Whitespace

from layercut.errors import InternalError, JobError

Value = str | bool | int | float

_BOM = "\ufeff"


def set_key(text: str, dotted_key: str, value: Value, *, file: str = "") -> str:
    """The job file's text with `dotted_key` (such as `material.kerf`) set to `value`; missing tables are made.

    A part of the key that holds a dot or a space is quoted, as in TOML: `layers."house.front".face`. `file` names the
    job file in errors. Raises JobError `job-unreadable` for text that is no TOML, and `job-setting` for a key that
    isn't one or that goes through a value.
    """
    parts = _parts(dotted_key, file)
    document = _read(text, file)
    table: Any = document  # tomlkit's kinds of tables share no type
    for depth, part in enumerate(parts[:-1]):
        if part not in table:
            _add_table(table, part, only_tables=depth < len(parts) - 2)
        table = table[part]
        if not hasattr(table, "items"):
            message = f"'{dotted_key}' goes through '{part}', which is not a table."
            raise JobError("job-setting", message, file=file)
    _set(table, parts[-1], value)
    changed = tomlkit.dumps(document)
    _check(changed, parts, value)
    return _BOM + changed if text.startswith(_BOM) else changed


def rename_key(text: str, dotted_key: str, name: str, *, file: str = "") -> str:
    """The job file's text with the last part of `dotted_key` called `name`, its value and its comment at the end of
    their table.

    The same text where the key isn't set; where there is a `name` already, the key only goes. Raises JobError as
    `set_key` does.
    """
    *tables, last = _parts(dotted_key, file)
    document = _read(text, file)
    table: Any = document
    for part in tables:
        table = table.get(part) if hasattr(table, "get") else None
    if not hasattr(table, "remove") or last not in table:
        return text
    item = table[last]
    table.remove(last)
    if name not in table:
        _append(table, name, item)
    return (_BOM if text.startswith(_BOM) else "") + tomlkit.dumps(document)


def _read(text: str, file: str) -> tomlkit.TOMLDocument:
    """The document that a job file's text makes. Raises JobError `job-unreadable` for text that is no TOML."""
    plain = text.removeprefix(_BOM)  # some editors begin a text so, and load_job lets them
    try:
        tomllib.loads(plain)  # the stricter of the two readers, and the one that load_job uses
        return tomlkit.parse(plain)
    except (tomllib.TOMLDecodeError, TOMLKitError, RecursionError) as error:
        raise JobError("job-unreadable", f"is not a TOML file: {error}.", file=file) from None


def _add_table(table: Any, part: str, *, only_tables: bool) -> None:
    """A new table at the end, after an empty line; one that only holds others needs no header of its own."""
    last = tomlkit.dumps(table).rstrip(" \t") if isinstance(table, tomlkit.TOMLDocument) else ""
    if last and not last.endswith("\n\n"):
        table.add(tomlkit.nl())
    table[part] = tomlkit.table(is_super_table=only_tables)


def _set(table: Any, key: str, value: Value) -> None:
    """Set a key; a comment behind an old value stays."""
    item = tomlkit.item(value)
    if key in table:
        old = table[key]
        if hasattr(old, "trivia"):
            item.trivia.comment_ws, item.trivia.comment = old.trivia.comment_ws, old.trivia.comment
            item.trivia.trail = old.trivia.trail
        table[key] = item
    else:
        _append(table, key, item)


def _append(table: Any, key: str, item: Any) -> None:
    """A new key as the last of its table, but before comments and empty lines that end it."""
    body = table.value.body if isinstance(table, Table) else []
    end = len(body)
    while end and isinstance(body[end - 1][1], Comment | Whitespace):
        end -= 1
    after = body[end:]  # it mostly speaks of the table below
    del body[end:]
    table[key] = item
    body.extend(after)


def _check(text: str, parts: list[str], value: Value) -> None:
    """Hold that another reader finds the value where it was put."""
    found: Any = tomllib.loads(text)
    for part in parts:
        found = found[part]
    if found != value:
        raise InternalError("fault", f"'{'.'.join(parts)}' was not written to the job file.")


def _parts(dotted_key: str, file: str) -> list[str]:
    """The parts of a dotted key, read as TOML reads it."""
    try:
        inner: object = tomllib.loads(f"{dotted_key} = 0")
    except tomllib.TOMLDecodeError:
        inner = None
    parts = []
    while isinstance(inner, dict) and len(inner) == 1:
        ((part, inner),) = inner.items()
        parts.append(part)
    if not parts or inner != 0:
        raise JobError("job-setting", f"'{dotted_key}' is not the name of a setting.", file=file)
    return parts
