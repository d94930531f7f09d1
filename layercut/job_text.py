"""The job file's text: read, and its words looked at.

Enters: a path, or the text of a setting. Leaves: plain tables, before anything is known of what they mean. Holds: a
text built to exhaust the reader is refused at once.
"""

import re
import tomllib
import unicodedata
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from layercut.errors import JobError
from layercut.reading import TooLargeError, read_plain

JOB_FILE_LIMIT = 1_000_000
"""A job file larger than this many bytes isn't one."""

MAX_KEY_PARTS = 32
"""Parts of a dotted key; a job's have four at the most. The reader's time grows with their square."""

SHOWN = 60
"""So many letters of a value are shown in a message."""

_PART = r"""(?:[A-Za-z0-9_-]+|"[^"\n]*"|'[^'\n]*')"""
_LONG_KEY = re.compile(rf"{_PART}(?:[ \t]*\.[ \t]*{_PART}){{{MAX_KEY_PARTS}}}")

_UNSEEN = {"Cc", "Cs", "Zl", "Zp"}
"""Unicode's categories of control characters, lone surrogates, and ends of lines and paragraphs."""

_TURNING = {*map(chr, range(0x202A, 0x202F)), *map(chr, range(0x2066, 0x206A))}
"""Characters that turn the direction of the text around them (Unicode Standard Annex 9, table 4)."""


def read_tables(path: Path) -> dict[str, Any]:
    """The tables of a job file. Raises JobError `job-unreadable`."""
    try:
        text = read_plain(path, JOB_FILE_LIMIT).decode("utf-8-sig")
    except FileNotFoundError:
        raise JobError("job-unreadable", "there is no such job file.", file=str(path)) from None
    except TooLargeError:
        message = f"is larger than {JOB_FILE_LIMIT // 10**6} MB, so it isn't a job file."
        raise JobError("job-unreadable", message, file=path.name) from None
    except OSError as error:
        raise JobError("job-unreadable", f"can't be read ({error.strerror}).", file=str(path)) from None
    except UnicodeDecodeError:
        raise JobError("job-unreadable", "is not text in UTF-8.", "Save it as UTF-8.", file=path.name) from None
    try:
        return parse_toml(text)
    except ValueError as error:
        raise JobError("job-unreadable", f"is not a TOML file: {error}.", file=path.name) from None


def parse_toml(text: str) -> dict[str, Any]:
    """The tables of a TOML text. Raises ValueError, also where it would take the reader too long or too deep."""
    if _LONG_KEY.search(text):
        raise ValueError(f"a key has more than {MAX_KEY_PARTS} parts")
    try:
        return tomllib.loads(text)
    except RecursionError:
        raise ValueError("its values are nested too deeply") from None
    except tomllib.TOMLDecodeError:
        raise
    except ValueError:  # Python's own limit for the digits of a whole number
        raise ValueError("a number has too many digits") from None


def setting_value(text: str) -> object:
    """The value of a setting on the command line: as TOML has it, else the text itself."""
    try:
        return parse_toml(f"value = {text}")["value"]
    except ValueError:
        return text


def check_words(tables: dict[str, Any], file: str) -> None:
    """Hold that every word can be shown on a line of its own as it is. Raises JobError `job-value`."""
    for key, word in _words(tables):
        bad = unseen(word)
        if bad:
            message = f"'{key}' holds a character that can't be seen, {bad}."
            raise JobError("job-value", message, "Take it out.", file=file)


def unseen(word: str) -> str:
    """The first character of a word that steers a line instead of standing in it, as `U+0007`; empty for none."""
    for char in word:
        if unicodedata.category(char) in _UNSEEN or char in _TURNING:
            return f"U+{ord(char):04X}"
    return ""


def shown(value: object) -> str:
    """A value for a message, not all of it if it is long."""
    text = repr(value)
    return text if len(text) <= SHOWN else f"{text[:SHOWN]}..."


def _words(tables: dict[str, Any]) -> Iterator[tuple[str, str]]:
    """Every text among nested values, keys too, with the dotted key where it is. Values may be nested deeper than
    Python calls."""
    left: list[tuple[str, object]] = [("", tables)]
    while left:
        key, value = left.pop()
        if isinstance(value, str):
            yield key, value
        elif isinstance(value, dict):
            yield from ((key or "a key", str(name)) for name in value)
            left += [(f"{key}.{name}" if key else str(name), inner) for name, inner in value.items()]
        elif isinstance(value, list):
            left += [(key, inner) for inner in value]
