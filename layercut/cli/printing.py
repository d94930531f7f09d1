"""Everything that is printed: results on standard output, what is for people's eyes on standard error.

Enters: texts, findings, verdicts. Leaves: lines. Nothing else in the program prints.
"""

import os
import sys
import time
import unicodedata
from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import contextmanager, redirect_stdout, suppress
from typing import TYPE_CHECKING, Any, TextIO, TypeVar, cast

from layercut.errors import OutputError

if TYPE_CHECKING:
    from layercut.findings import Finding, Severity
    from layercut.model import Planned
    from layercut.proof.verify import Verdict
    from layercut.units import Units

T = TypeVar("T")

QUIET_S = 1.0
"""A run tells of its stages only after this many seconds: a quick one has nothing to tell."""

SHOWN_PER_CODE = 12
"""So many findings of one code and severity are listed on the terminal; the rest are counted."""

_COLOURS: "dict[Severity, str]" = {"error": "31;1", "warning": "33", "info": "36"}
_NOUNS = {"island": ("island", "islands"), "neck": ("neck", "necks")}


class PipeClosedError(Exception):
    """Whoever read standard output has gone."""


class Progress:
    """Names each stage on standard error, once the run has lasted long enough for somebody to wonder.

    It also keeps how long each stage took, from when it was named to when the next one was.
    """

    def __init__(self) -> None:
        self._start_s = time.monotonic()
        self._begun: list[tuple[str, float]] = [("starting", self._start_s)]

    def __call__(self, stage: str) -> None:
        now = time.monotonic()
        self._begun.append((stage, now))
        if now - self._start_s > QUIET_S:
            say(f"{stage} ...")

    def show_timings(self) -> None:
        """A line for each stage with its seconds, in order, and one for all of them."""
        now = time.monotonic()
        ends = [begun for _, begun in self._begun[1:]] + [now]
        for (stage, begun), end in zip(self._begun, ends, strict=True):
            say(f"{end - begun:8.2f} s  {stage}")
        say(f"{now - self._start_s:8.2f} s  in all")


def show_findings(build: "Planned", rest: str) -> None:
    """One line a finding, the worst first; `rest` says where to see those left out."""
    units = build.job.units
    counts: Counter[tuple[Severity, str]] = Counter()
    for finding in build.findings:
        kind = (finding.severity, finding.code)
        counts[kind] += 1
        if counts[kind] <= SHOWN_PER_CODE:
            say(f"{finding.code}{_place(finding, units)}: {units.told(finding.text)}", severity=finding.severity)
    for (severity, code), count in counts.items():
        if count > SHOWN_PER_CODE:
            say(f"{code}: and {count - SHOWN_PER_CODE} more, {rest}", severity=severity)


def _place(finding: "Finding", units: "Units") -> str:
    """` garden (path 'leaf-3') at 120.4, 33.0 mm`, as far as known."""
    layer = f" {finding.layer}" if finding.layer else ""
    element = f" ({finding.element})" if finding.element else ""
    at = f" at {units.place(*finding.at_mm)}" if finding.at_mm else ""
    return f"{layer}{element}{at}"


def show_problems(verdict: "Verdict") -> None:
    """One line a problem; beyond a dozen of one code, only how many more."""
    counts = Counter(problem.code for problem in verdict.failures)
    shown: Counter[str] = Counter()
    units = verdict.units
    for problem in verdict.failures:
        shown[problem.code] += 1
        if shown[problem.code] <= SHOWN_PER_CODE:
            file = f"{problem.file} " if problem.file else "the folder "
            at = f"at {units.place(*problem.at_mm)} " if problem.at_mm else ""
            say(f"{problem.code}: {file}{at}{units.told(problem.text)}", severity="error")
    for code, count in counts.items():
        if count > SHOWN_PER_CODE:
            say(f"{code}: and {count - SHOWN_PER_CODE} more, --json lists them all", severity="error")


def verdict_line(verdict: "Verdict") -> str:
    """What came of a proof, in one line."""
    if not verdict.holds:
        counts = Counter(problem.code for problem in verdict.failures)
        return "doesn't hold: " + ", ".join(f"{count} {code}" for code, count in sorted(counts.items()))
    sheets, framed = len(verdict.sheets), sum(sheet.pieces_on_frame for sheet in verdict.sheets)
    loose = sum(len(sheet.loose) for sheet in verdict.sheets)
    nouns = (
        "sheet file" if sheets == 1 else "sheet files",
        "piece on its frame" if framed == 1 else "pieces on their frames",
    )
    return f"holds: {sheets} {nouns[0]}, {framed} {nouns[1]}, {loose} loose"


def outcome_line(build: "Planned") -> str:
    """What came of a compile, in one line."""
    from layercut.model import Cut
    from layercut.units import said_size

    if isinstance(build, Cut):
        count = sum(sheet.copies for sheet in build.sheets)
        panel = build.stack.panel
        size = said_size(round(panel.width_mm, 2), round(panel.height_mm, 2), ".6g")
        return f"can be made: {count} {'sheet' if count == 1 else 'sheets'}, {build.job.units.told(size)}"
    counts = Counter(finding.code for finding in build.findings if finding.severity == "error")
    parts = [f"{count} {_NOUNS.get(code, (code, code))[count > 1]}" for code, count in sorted(counts.items())]
    return f"can't be made as drawn: {', '.join(parts)}"


def say(text: str, severity: "Severity | None" = None, *, lines: bool = False) -> None:
    """One line for people's eyes (or several, if `lines`); a terminal that is gone is no reason to fail."""
    text = "\n".join(_plain(line) for line in text.split("\n")) if lines else _plain(text)
    if severity is not None:
        coloured = sys.stderr is not None and sys.stderr.isatty() and not os.environ.get("NO_COLOR")
        text = f"\033[{_COLOURS[severity]}m{severity}\033[0m {text}" if coloured else f"{severity} {text}"
    if sys.stderr is not None:
        with suppress(OSError, ValueError):
            print(text, file=sys.stderr, flush=True)


def _plain(text: str) -> str:
    """Text that stays on its line and can be encoded: control characters, line ends and lone surrogates escaped."""
    return "".join(
        char.encode("unicode_escape").decode() if unicodedata.category(char) in {"Cc", "Cs", "Zl", "Zp"} else char
        for char in text
    )


class _Guarded:
    """Standard output as a stream of text whose failures are told as `write_result` tells them: what typer prints
    goes that way. One that failed goes on failing, for typer tries a stream out before it prints."""

    def __init__(self, stream: TextIO) -> None:
        self._stream = stream
        self._failure: Exception | None = None

    def write(self, text: str) -> int:
        return self._try(lambda: self._stream.write(text))

    def flush(self) -> None:
        self._try(self._stream.flush)

    def _try(self, act: Callable[[], T]) -> T:
        if self._failure is not None:
            raise self._failure
        try:
            with _told():
                return act()
        except (OutputError, PipeClosedError) as error:
            self._failure = error
            raise

    def __getattr__(self, name: str) -> Any:
        return getattr(self._stream, name)


@contextmanager
def guarded_output() -> Iterator[None]:
    """Standard output that is full or closed is told as such, whoever prints."""
    if sys.stdout is None:
        yield
        return
    with redirect_stdout(cast(TextIO, _Guarded(sys.stdout))):
        yield


@contextmanager
def _told() -> Iterator[None]:
    """Raise OutputError where standard output can't be written, PipeClosedError where nobody reads."""
    try:
        yield
    except OSError as error:
        # What is left in the buffer would fail again, loudly, when the interpreter ends.
        with suppress(OSError, ValueError):
            os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        if isinstance(error, BrokenPipeError):
            raise PipeClosedError from None
        raise OutputError(
            "output-unwritable", f"can't be written ({error.strerror}).", file="standard output"
        ) from None


def print_result(line: str) -> None:
    """One line on standard output; a path leaves with the very bytes that it has on the disk."""
    write_result(os.fsencode(line) + b"\n")


def write_result(data: bytes) -> None:
    """Bytes on standard output. Raises OutputError where it can't be written, PipeClosedError where nobody reads."""
    if sys.stdout is None:
        return
    with _told():
        sys.stdout.buffer.write(data)
        sys.stdout.buffer.flush()


def utf8(text: str) -> bytes:
    """Text as bytes; what has no place in UTF-8 becomes a question mark."""
    return text.encode("utf-8", "replace")
