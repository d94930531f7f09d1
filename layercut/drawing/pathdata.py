"""Path data (SVG 2, chapter 9) to path geometry.

Enters: the text of `d`. Leaves: a `Path`, and whether the text was right to its end; what stands before an error
is drawn, as 9.5.4 asks. A tokeniser of our own because path data is nearly all of a large drawing: 70,000 cubic
segments take 0.4 s here.
"""

import itertools
import math
import re
from collections.abc import Callable, Iterator, Mapping

from layercut.drawing.units import NUMBER
from layercut.geometry.curves import Path, PathBuilder

_COMMAND = re.compile(r"([MmZzLlHhVvCcSsQqTtAa])")
# Anything that is no number becomes a token of its own, which float() then refuses: the place of the error.
_TOKEN = re.compile(rf"{NUMBER}|[^\s,]")
_ARC = re.compile(
    rf"[\s,]*({NUMBER})[\s,]*({NUMBER})[\s,]*({NUMBER})[\s,]*([01])[\s,]*([01])[\s,]*({NUMBER})[\s,]*({NUMBER})"
)
_STRAY_COMMA = re.compile(r",\s*,|[a-zA-Z]\s*,|,\s*[a-zA-Z]|,\s*$|^\s*,")
_SIZES = {"M": 2, "L": 2, "H": 1, "V": 1, "C": 6, "S": 4, "Q": 4, "T": 2, "A": 7}


def parse_path(text: str) -> tuple[Path, bool]:
    """The path, and True when all of the text was read."""
    stray = _STRAY_COMMA.search(text) if "," in text else None
    pieces = _COMMAND.split(text[: stray.start() + 1] if stray else text)
    pen = _Pen()
    good = stray is None and not pieces[0].strip(" \t\r\n\f")
    if pieces[0].strip(" \t\r\n\f"):
        return pen.builder.build(), False
    for command, arguments in zip(pieces[1::2], pieces[2::2], strict=True):
        if not pen.started and command not in "Mm":
            return pen.builder.build(), False
        numbers, complete = (_arcs if command in "Aa" else _numbers)(arguments)
        if not pen.run(command, numbers) or not complete:
            return pen.builder.build(), False
    return pen.builder.build(), good


def _numbers(text: str) -> tuple[list[float], bool]:
    tokens = _TOKEN.findall(text)
    try:
        numbers, complete = list(map(float, tokens)), True
    except ValueError:
        good = itertools.takewhile(lambda token: len(token) > 1 or token.isdigit(), tokens)
        numbers, complete = list(map(float, good)), False
    return _finite(numbers, complete)


def _arcs(text: str) -> tuple[list[float], bool]:
    """Arguments of arcs, whose flags may stand without a space before the next number."""
    numbers: list[float] = []
    at = 0
    while match := _ARC.match(text, at):
        numbers += map(float, match.groups())
        at = match.end()
    return _finite(numbers, not text[at:].strip(" \t\r\n\f,"))


def _finite(numbers: list[float], complete: bool) -> tuple[list[float], bool]:
    """The numbers before the first that is too large for a float."""
    if math.isfinite(sum(numbers)):
        return numbers, complete
    return list(itertools.takewhile(lambda number: abs(number) < 1e300, numbers)), False


class _Pen:
    """Carries out commands; knows the last handle, from which S and T go on."""

    def __init__(self) -> None:
        self.builder = PathBuilder()
        self.started = False
        self._handle: tuple[float, float] = (0.0, 0.0)
        self._last = ""

    def run(self, command: str, numbers: list[float]) -> bool:
        """Carry out one command with all of its argument groups; False where they are incomplete."""
        kind, relative = command.upper(), command.islower()
        if kind == "Z":
            self.builder.close()
            self._last = "Z"
            return not numbers
        size = _SIZES[kind]
        groups = _grouped(numbers, size)
        if kind == "M":
            first = next(groups, None)
            if first is None:
                return False
            x, y = (self.builder.x, self.builder.y) if relative else (0.0, 0.0)
            self.builder.move(x + first[0], y + first[1])
            self.started, self._last, kind = True, "M", "L"
        act = _ACTS[kind]
        builder = self.builder
        for group in groups:
            act(self, group, *((builder.x, builder.y) if relative else (0.0, 0.0)))
            self._last = kind
        return bool(numbers) and len(numbers) % size == 0

    def _line(self, v: tuple[float, ...], x: float, y: float) -> None:
        self.builder.line(x + v[0], y + v[1])

    def _horizontal(self, v: tuple[float, ...], x: float, _y: float) -> None:
        self.builder.line(x + v[0], self.builder.y)

    def _vertical(self, v: tuple[float, ...], _x: float, y: float) -> None:
        self.builder.line(self.builder.x, y + v[0])

    def _cubic(self, v: tuple[float, ...], x: float, y: float) -> None:
        self._handle = (x + v[2], y + v[3])
        self.builder.cubic(x + v[0], y + v[1], x + v[2], y + v[3], x + v[4], y + v[5])

    def _smooth_cubic(self, v: tuple[float, ...], x: float, y: float) -> None:
        first = self._mirrored("CS")
        self._handle = (x + v[0], y + v[1])
        self.builder.cubic(*first, x + v[0], y + v[1], x + v[2], y + v[3])

    def _quadratic(self, v: tuple[float, ...], x: float, y: float) -> None:
        self._handle = (x + v[0], y + v[1])
        self.builder.quadratic(x + v[0], y + v[1], x + v[2], y + v[3])

    def _smooth_quadratic(self, v: tuple[float, ...], x: float, y: float) -> None:
        self._handle = self._mirrored("QT")
        self.builder.quadratic(*self._handle, x + v[0], y + v[1])

    # Our own: svgelements 1.9.6 has every arc right, but takes 206 ms longer for the mill's 1,952, which is 77 % of
    # reading it (docs/design.md, "Reading").
    def _arc(self, v: tuple[float, ...], x: float, y: float) -> None:
        self.builder.arc(v[0], v[1], v[2], bool(v[3]), bool(v[4]), x + v[5], y + v[6])

    def _mirrored(self, kinds: str) -> tuple[float, float]:
        """The last handle mirrored at the current point; the point itself after anything else."""
        x, y = self.builder.x, self.builder.y
        if self._last not in kinds:
            return (x, y)
        return (2 * x - self._handle[0], 2 * y - self._handle[1])


_ACTS: Mapping[str, Callable[[_Pen, tuple[float, ...], float, float], None]] = {
    "L": _Pen._line,
    "H": _Pen._horizontal,
    "V": _Pen._vertical,
    "C": _Pen._cubic,
    "S": _Pen._smooth_cubic,
    "Q": _Pen._quadratic,
    "T": _Pen._smooth_quadratic,
    "A": _Pen._arc,
}
"""What each command does with one group of arguments and the point that they count from."""


def _grouped(numbers: list[float], size: int) -> Iterator[tuple[float, ...]]:
    return zip(*[iter(numbers)] * size, strict=False)
