"""What settings were called before, so that an old job file is told what to write now.

Enters: the tables of a job file, or of it and its settings. Leaves: nothing, or one clear sentence.
"""

from collections.abc import Mapping
from typing import Any

from layercut.errors import JobError

KEYS = {
    "paint.rack": "paint.own",
    "paint.rack_limit": "paint.own_limit",
    "machine.corner_deviation": "machine.corner_rounding",
}
"""Keys by their old names."""

VALUES = {
    "marks.single_line": {
        "futural": "plain",
        "futuram": "plain-bold",
        "rowmans": "simple",
        "rowmand": "simple-bold",
        "rowmant": "roman-wide",
        "timesr": "roman",
        "timesrb": "roman-bold",
        "timesi": "italic",
        "timesib": "italic-bold",
        "scripts": "script",
        "scriptc": "script-bold",
        "gothiceng": "blackletter",
        "gothicger": "blackletter-german",
        "gothicita": "blackletter-italian",
    },
}
"""Values by their old names, for each key that takes a word."""


def check_renamed(tables: Mapping[str, Any], file: str) -> None:
    """Refuse a setting's old name. Raises JobError `job-renamed`, which says the new one."""
    for old, new in KEYS.items():
        if _value_of(tables, old) is not None:
            raise _renamed(f"'{old}' is now called '{new}'.", file)
    for key, words in VALUES.items():
        value = _value_of(tables, key)
        if isinstance(value, str) and value in words:
            raise _renamed(f"'{value}', the value of '{key}', is now called '{words[value]}'.", file)


def _renamed(message: str, file: str) -> JobError:
    return JobError("job-renamed", message, "Write that instead; it means the same.", file=file)


def _value_of(tables: Mapping[str, Any], key: str) -> object:
    """What stands at a dotted key; None where nothing does."""
    table, _, name = key.partition(".")
    inner = tables.get(table)
    return inner.get(name) if isinstance(inner, Mapping) else None
