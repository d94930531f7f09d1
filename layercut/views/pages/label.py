"""The label for the back of the picture: what it is called, who made it, when, and of which wood.

Enters: a build. Leaves: one SVG to print, or nothing where the job names no label. Holds: no figures but those that
the maker typed; every word is escaped; generic fonts, so that it prints anywhere.
"""

from collections.abc import Iterator
from dataclasses import dataclass

from layercut.job_tables import LabelJob
from layercut.model import Panel, Planned
from layercut.views.svg_text import number, plain

FILE = "LABEL.svg"

WIDE_MM, HIGH_MM = 80.0, 50.0
"""Size of the label, mm: a little smaller than a playing card laid down; a small picture's is smaller."""

MARGIN_MM = 6.0
"""Between the label's edge and its words, mm."""

MOST_OF_PANEL = 0.6
"""No label is wider or higher than this part of the picture."""

EM_WIDE = 0.52
"""How wide a letter of a serif face is on the average, in sizes of it: about that of text faces, from memory."""

INK, PAPER, RULE = "#2c2318", "#fffdf7", "#8a6238"

TITLE_MM, MAKER_MM, SMALL_MM = 7.0, 3.9, 3.1
"""Sizes of the letters, mm."""

LEAST_MM = 2.2
"""No letter is smaller than this, mm: about 6 pt, still read at arm's length; longer words are set narrower."""

TITLE_SHARES = (1.0, 0.8, 0.65)
"""Size of a title in one, two and three lines, in parts of the largest."""

LEADING = 1.36
"""From line to line, in sizes of the letters."""

RULE_ROOM_MM = 6.0
"""Height of the rule below the title with the room around it, mm."""


@dataclass(frozen=True, slots=True)
class _Line:
    """One line of words: its size, mm, and its look; without words it is the rule below the title."""

    words: str
    size_mm: float
    look: str = ""

    @property
    def high_mm(self) -> float:
        """With the room to the next line, mm."""
        return self.size_mm * LEADING if self.words else RULE_ROOM_MM


def label_svg(build: Planned) -> str:
    """The label as SVG text, without a final newline; empty where the job has no `[label]`."""
    label, panel = build.job.label, build.stack.panel
    if not label.wanted:
        return ""
    width, height = label_size_mm(panel)
    lines = tuple(_lines(label, build.job.material.name))
    y = (HIGH_MM - sum(line.high_mm for line in lines)) / 2
    words = []
    for line in lines:
        words.append(_set(line, y + (0.8 * line.size_mm if line.words else RULE_ROOM_MM / 2)))
        y += line.high_mm
    frames = "".join(
        f'<rect x="{number(inset)}" y="{number(inset)}" width="{number(WIDE_MM - 2 * inset)}" '
        f'height="{number(HIGH_MM - 2 * inset)}" rx="{number(3 - inset)}" fill="{fill}" stroke-width="{width}"/>'
        for inset, width, fill in ((0.5, ".35", PAPER), (1.6, ".12", "none"))
    )
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{number(width)}mm" height="{number(height)}mm" '
        f'viewBox="0 0 {number(WIDE_MM)} {number(HIGH_MM)}" role="img">'
        f'<title>{plain("Label for the back")}</title><g stroke="{RULE}">{frames}</g>'
        f'<g fill="{INK}" font-family="serif" text-anchor="middle">{"".join(words)}</g></svg>'
    )


def label_size_mm(panel: Panel) -> tuple[float, float]:
    """Width and height of a panel's label, mm."""
    scale = min(1.0, MOST_OF_PANEL * panel.width_mm / WIDE_MM, MOST_OF_PANEL * panel.height_mm / HIGH_MM)
    return WIDE_MM * scale, HIGH_MM * scale


def _lines(label: LabelJob, wood: str) -> Iterator[_Line]:
    """All lines from the top."""
    if label.title:
        rows = _wrapped(label.title)
        yield from (_Line(row, TITLE_MM * TITLE_SHARES[len(rows) - 1], ' font-style="italic"') for row in rows)
        yield _Line("", 0.0)
    if label.maker:
        yield _Line(label.maker, MAKER_MM)
    small = " \N{MIDDLE DOT} ".join(part for part in (label.date, wood) if part)
    yield _Line(small, SMALL_MM, ' letter-spacing=".12"')


def _wrapped(title: str) -> list[str]:
    """A title in as few lines as hold it, at most three, about as long as each other."""
    rows = [title]
    for count, share in enumerate(TITLE_SHARES, start=1):
        rows = _split(title.split(), count)
        if all(_wide(row, TITLE_MM * share) <= WIDE_MM - 2 * MARGIN_MM for row in rows):
            break
    return rows


def _split(words: list[str], count: int) -> list[str]:
    """Words in so many lines or fewer, filled up to the mean length."""
    rows, goal = [""], len(" ".join(words)) / count
    for word in words:
        if rows[-1] and len(rows[-1]) + len(word) / 2 > goal and len(rows) < count:
            rows.append("")
        rows[-1] = f"{rows[-1]} {word}".strip()
    return rows


def _wide(words: str, size_mm: float) -> float:
    return EM_WIDE * size_mm * len(words)


def _set(line: _Line, y: float) -> str:
    """A line on its base line, smaller or set narrower where it would run over the margin."""
    middle, room = WIDE_MM / 2, WIDE_MM - 2 * MARGIN_MM
    if not line.words:
        return (
            f'<g transform="translate({number(middle)} {number(y)})"><path fill="none" stroke="{RULE}" '
            f'stroke-width=".2" d="M-12 0H-1.6M1.6 0H12"/><path fill="{RULE}" d="M-.8 0l.8-.8 .8.8-.8.8z"/></g>'
        )
    size = max(min(line.size_mm, line.size_mm * room / _wide(line.words, line.size_mm)), LEAST_MM)
    tight = f' textLength="{number(room)}" lengthAdjust="spacingAndGlyphs"' if _wide(line.words, size) > room else ""
    return (
        f'<text x="{number(middle)}" y="{number(y)}" font-size="{number(round(size, 2))}"{line.look}{tight}>'
        f"{plain(line.words)}</text>"
    )
