"""Live text: engraved, never cut.

Enters: a text element. Leaves: `Item`s with the role of a mark, one for each run of one paint, clipped and placed
as any other mark. What can't be read is a remark that says what the maker can do.
"""

import itertools
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from typing import Literal

from lxml import etree

from layercut.colour.coats import Coat
from layercut.colour.shown import most_opaque
from layercut.drawing.display_list import Context, Ink, Item
from layercut.drawing.lettering.letters import Letter, read_letters, text_path_in
from layercut.drawing.lettering.shaping import FontSetter, FontShelf
from layercut.drawing.lettering.single_line import SingleLineSetter
from layercut.drawing.lettering.typeset import Glyph, MixedDirectionsError, join_paths, set_type
from layercut.drawing.names import called
from layercut.drawing.shapes import stroke_pen
from layercut.drawing.transforms import mean_scale
from layercut.drawing.traversal import Traversal
from layercut.geometry.regions import EMPTY
from layercut.geometry.strokes import StrokeStyle
from layercut.job_values import SingleLineFace

MAX_LETTERS = 50_000
"""Letters of all texts together; a page of a book has two thousand."""

HAIRLINE = StrokeStyle(1e-6, "round", "round")
"""The pen of a single stroke: it is burnt along its centre, whatever its width."""

_TO_PATHS = "Turn it into paths, in a group named mark-area."
_TO_FONT = "Put the font's file beside the drawing and name it in marks.fonts, or turn the text into paths."

_HORIZONTAL = {"horizontal-tb", "lr", "lr-tb", "rl", "rl-tb"}
_PLAIN = {
    "text-decoration": ("none",),
    "text-transform": ("none",),
    "baseline-shift": ("baseline", "0"),
    "dominant-baseline": ("auto", "alphabetic"),
    "alignment-baseline": ("auto", "baseline", "alphabetic"),
    "font-variant": ("normal", "none"),
    "font-stretch": ("normal", "100%"),
    "font-feature-settings": ("normal",),
    "font-variation-settings": ("normal",),
    "inline-size": ("auto", "0"),
    "shape-inside": ("auto", "none"),
}
"""Properties that change where or how letters stand, and the values that change nothing."""

TextStyle = Literal["area", "outline", "single-line"]


@dataclass(slots=True)
class Lettering:
    """How the job wants text: `style`, the face of single-line letters, the fonts; and how many letters there were.

    `line_below_mm` tells thin outlines of letters from thick ones.
    """

    style: TextStyle
    single_line: SingleLineFace
    shelf: FontShelf
    line_below_mm: float
    _letters: int = field(default=0, init=False)

    def has_room(self, letters: int) -> bool:
        """Count so many letters more; False once there are too many of them."""
        self._letters += letters
        return self._letters <= MAX_LETTERS


def text_items(traversal: Traversal, lettering: Lettering, element: etree._Element, here: Context) -> list[Item]:
    """The marks of a text; empty where nothing of it shows or it can't be read, which is then a remark."""
    if here.role == "guide":
        return []
    if text_path_in(element) is not None:
        if here.style.get("visibility").lower() == "visible":
            _leave_out(traversal, element, here, "text along a path")
        return []
    letters = read_letters(traversal, element, here)
    # Paint comes first: of a text that shows nothing, nothing that it can't do is worth a word.
    inks = _inks(traversal, element, letters)
    if not any(fill or stroke for fill, stroke in inks.values()):
        return []
    problem = _unreadable(lettering, letters)
    if problem:
        _leave_out(traversal, element, here, problem)
        return []
    _note_ignored(traversal, element, letters)
    style = _style(lettering.style, here)
    setter: SingleLineSetter | FontSetter = (
        SingleLineSetter(lettering.single_line) if style == "single-line" else FontSetter(lettering.shelf)
    )
    try:
        glyphs = set_type(letters, setter)
    except MixedDirectionsError:
        _leave_out(traversal, element, here, "text that runs from right to left and from left to right in turn")
        return []
    # Which letters were missing is known only with the last one, so that one remark names them all.
    setter.finish()
    for code, statement in setter.remarks:
        hint = _TO_FONT if code == "font-missing" else setter.hint
        traversal.report(code, element, here, statement, hint)
    thin = lettering.line_below_mm
    return list(_items(_base(traversal, element, here), glyphs, inks, line_below_mm=thin, style=style))


def _style(style: TextStyle, here: Context) -> TextStyle:
    """The job's style unless a name or `data-layercut` says line or area."""
    if here.clipping or here.role == "mark-area":
        return "area"
    return "outline" if here.role == "mark-line" and style == "area" else style


Inks = dict[int, tuple[Ink | None, Ink | None]]


def _inks(traversal: Traversal, element: etree._Element, letters: list[Letter]) -> Inks:
    """Fill and stroke of each span that has letters; none for a hidden span and for a guide."""
    inks: Inks = {}
    for letter in letters:
        here = letter.here
        if letter.span in inks:
            continue
        fill, stroke = traversal.paints(element, here) if here.role != "guide" else (None, None)
        inks[letter.span] = (_if_shown(traversal, element, here, fill), _if_shown(traversal, element, here, stroke))
    return inks


def _if_shown(traversal: Traversal, element: etree._Element, here: Context, ink: Ink | None) -> Ink | None:
    """The ink, unless the job knows it as a guide's, or it is too faint to be meant."""
    word = None if ink is None else traversal.rules.paint_roles.get(ink.colour)
    if ink is None or word == "guide":
        return None
    meant = word is not None or here.role is not None
    if meant or most_opaque(Coat(EMPTY, ink.wash, here.veils)) >= traversal.rules.wood_opacity - 1e-9:
        return ink
    statement, hint = "text too faint to be meant was left out", "Give it more opacity, or hide it."
    traversal.report("see-through", element, here, statement, hint)
    return None


def _unreadable(lettering: Lettering, letters: list[Letter]) -> str:
    """What keeps the text from being read; empty for nothing."""
    if any(letter.here.style.get("writing-mode").lower() not in _HORIZONTAL for letter in letters):
        return "text that runs downwards"
    if not lettering.has_room(len(letters)):
        return f"text beyond the first {MAX_LETTERS} letters of a drawing"
    return ""


def _leave_out(traversal: Traversal, element: etree._Element, here: Context, what: str) -> None:
    traversal.report("text-unread", element, here, f"{what} is not supported and was left out", _TO_PATHS)


def _note_ignored(traversal: Traversal, element: etree._Element, letters: list[Letter]) -> None:
    """Remarks on what would make the text look different elsewhere."""
    styles = {letter.span: letter.here for letter in letters}
    for here in styles.values():
        for name, plain in _PLAIN.items():
            if here.style.get(name).lower() not in plain:
                traversal.note(element, here, f"'{name}' of text is not supported and was ignored", _TO_PATHS)
    here = letters[0].here
    if any(inner.get("textLength") for inner in element.iter()):
        traversal.note(element, here, "'textLength' of text is not supported and was ignored", _TO_PATHS)
    if here.role in ("wood", "opening"):
        statement = f"live text is marked, never cut, though it is named '{here.role}'"
        traversal.note(element, here, statement, "Turn it into paths to cut it.")


def _base(traversal: Traversal, element: etree._Element, here: Context) -> Item:
    """What all marks of a text have in common."""
    return Item(
        path=join_paths([]),
        matrix=here.matrix,
        rule="nonzero",
        fill=None,
        stroke=None,
        pen=HAIRLINE,
        fixed_pen=False,
        stroke_first=False,
        role="mark-line",
        clips=(),
        layer=here.layer,
        element=traversal.places.name(element),
        called=called(element, here.around),
    )


def _items(base: Item, glyphs: list[Glyph], inks: Inks, *, line_below_mm: float, style: TextStyle) -> Iterator[Item]:
    """The marks of each run of glyphs of one span, in order."""
    for span, run in itertools.groupby(glyphs, key=lambda glyph: glyph.letter.span):
        members = list(run)
        path = join_paths([(glyph.path, glyph.matrix) for glyph in members])
        fill, stroke = inks[span]
        if path.is_empty or not (fill or stroke):
            continue
        own = replace(base, path=path)
        if style == "single-line":
            yield replace(own, stroke=fill or stroke)
        elif style == "outline":
            yield replace(own, fill=fill or stroke, merged=True)
        else:
            here = members[0].letter.here
            yield from _areas(own, fill, stroke, stroke_pen(here.style, here.viewport), line_below_mm)


def _areas(
    base: Item, fill: Ink | None, stroke: Ink | None, pen: StrokeStyle, line_below_mm: float
) -> Iterator[Item]:
    """Filled letters as areas; their outlines as lines or, where they are thick, as areas too."""
    if fill is not None:
        yield replace(base, fill=fill, role="mark-area")
    if stroke is not None and pen.width > 0:
        thin = pen.width * mean_scale(base.matrix) < line_below_mm
        yield replace(base, stroke=stroke, pen=pen, role="mark-line" if thin else "mark-area")
