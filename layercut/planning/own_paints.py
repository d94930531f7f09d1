"""The maker's own paints, and which of them comes nearest to a colour.

Enters: the file that the job names, and colours. Leaves: `OwnPaints`, and `OwnMatch` by CIEDE2000.
"""

import csv
import re
from dataclasses import dataclass
from pathlib import Path

from layercut.colour.cielab import difference, lab_of
from layercut.errors import JobError
from layercut.reading import TooLargeError, read_plain
from layercut.workplan import OwnMatch

LIMIT_BYTES = 1_000_000
"""A list of paints larger than this isn't one."""

LIMIT_PAINTS = 5_000
"""More paints than this nobody has."""

NAME_LENGTH = 80
"""A name of a paint is cut off here."""

_COLOUR = re.compile(r"#?([0-9a-fA-F]{6})")
_HINT = "Write one paint a line, such as 'barn red,#8c2f24', under the heading 'name,hex'."


@dataclass(frozen=True, slots=True)
class OwnPaints:
    """The paints of a file in its order: name and colour `#rrggbb`."""

    file: str
    paints: tuple[tuple[str, str], ...]


def read_own(folder: Path, name: str) -> OwnPaints:
    """The paints of a file, its path as the job gives it, from `folder`.

    Raises JobError when there is no such file, it is not text, or a line is no paint.
    """
    path = folder / name
    try:
        text = read_plain(path, LIMIT_BYTES).decode("utf-8-sig")
    except TooLargeError:
        message = f"is larger than {LIMIT_BYTES // 10**6} MB, so it isn't a list of paints."
        raise JobError("own-unreadable", message, file=name) from None
    except FileNotFoundError:
        hint = "'paint.own' is a path from where the drawing is."
        raise JobError("own-unreadable", "there is no such list of paints.", hint, file=name) from None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or "it is not text in UTF-8"
        raise JobError("own-unreadable", f"can't be read ({reason}).", file=name) from None
    paints = _read_paints(text, name)
    if not paints:
        raise JobError("own-unreadable", "holds no paint.", _HINT, file=name)
    return OwnPaints(name, paints)


def _read_paints(text: str, name: str) -> tuple[tuple[str, str], ...]:
    paints: list[tuple[str, str]] = []
    columns: tuple[int, int] | None = None
    reader = csv.reader(text.splitlines())
    try:
        for row in reader:
            cells = [cell.strip() for cell in row]
            if not any(cells):
                continue
            if columns is None:
                words = [cell.lower() for cell in cells]
                columns = (words.index("name"), words.index("hex")) if {"name", "hex"} <= set(words) else (0, 1)
                if "hex" in words:
                    continue
            paints.append(_paint(cells, columns, reader.line_num, name))
            if len(paints) > LIMIT_PAINTS:
                raise JobError("own-unreadable", f"holds more than {LIMIT_PAINTS} paints.", file=name)
    except csv.Error as error:
        raise JobError("own-unreadable", f"line {reader.line_num}: {error}.", _HINT, file=name) from None
    return tuple(paints)


def _paint(cells: list[str], columns: tuple[int, int], line: int, file: str) -> tuple[str, str]:
    name, colour = (cells[column] if column < len(cells) else "" for column in columns)
    match = _COLOUR.fullmatch(colour)
    plain = "".join(char for char in name if char.isprintable())[:NAME_LENGTH].strip()
    if match is None or not plain:
        what = "a name" if match else "a colour of six hexadecimal digits"
        raise JobError("own-unreadable", f"line {line} has no paint: it lacks {what}.", _HINT, file=file)
    return plain, f"#{match[1].lower()}"


class Matcher:
    """Finds the nearest of the own paints."""

    def __init__(self, own: OwnPaints) -> None:
        """Take the paints."""
        self._paints = own.paints
        self._labs = lab_of([colour for _, colour in own.paints])

    def nearest(self, colour: str) -> OwnMatch:
        """The paint that differs least by CIEDE2000; of equal ones the first in the file."""
        off = difference(lab_of([colour])[0], self._labs)
        place = int(off.argmin())
        return OwnMatch(*self._paints[place], float(off[place]))
