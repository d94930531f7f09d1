"""The colour of ties: that of an end, whichever is seen less against what the tie crosses; one for all of a piece."""

from dataclasses import replace

import pytest
from shapely import LineString, Polygon, box

from layercut.geometry.regions import EMPTY, union
from layercut.job import load_job
from layercut.model import Paint, PaintedRegion, Panel, Tie
from layercut.stack.islands import Connectivity
from layercut.stack.resolve_islands import ResolvedSheet
from layercut.stack.supports import NOTHING_SUPPORTED
from layercut.stack.tie_paint import paint_ties
from layercut.stack.visible_paint import BARE, VisiblePaint
from layercut.stack.wood import SheetWood

PRICES = load_job(None).prices
OUTLINE, INTERIOR = box(0, 0, 100, 100), box(6, 6, 94, 94)
PANEL = Panel(100, 100, 6, OUTLINE, INTERIOR, OUTLINE.difference(INTERIOR))
SKY, PALE, DARK = Paint("#bcd7e6"), Paint("#c2d4dc"), Paint("#26361c")
LEFT, RIGHT = box(10, 10, 30, 90), box(70, 10, 90, 90)
WIDTH_MM = 1.5


def _tie(y: float, holds: str = "leaf", ends: tuple[float, float] = (29.0, 71.0), seen: bool = True) -> Tie:
    line = LineString([(ends[0], y), (ends[1], y)])
    region = line.buffer(WIDTH_MM / 2, cap_style="flat")
    visible_mm2 = float(region.intersection(INTERIOR).area) if seen else 0.0
    return Tie((50.0, y), WIDTH_MM, visible_mm2, region, holds, line.length, line)


def _sheet(*ties: Tie) -> ResolvedSheet:
    nothing = SheetWood(EMPTY, EMPTY, EMPTY, EMPTY, EMPTY, EMPTY)
    shown = union(tie.region.difference(union([LEFT, RIGHT])) for tie in ties)
    connectivity = Connectivity(EMPTY, (), (), (), (), ())
    return ResolvedSheet(nothing, connectivity, (), (), ties, shown, NOTHING_SUPPORTED, ())


def _paints(*ties: Tie, left: Paint = DARK, right: Paint = PALE, behind: dict[Paint, Polygon]) -> list[Paint | None]:
    """The paints of a front sheet's ties, between two shapes and over what is painted behind."""
    drawn = [PaintedRegion(paint, region) for paint, region in behind.items()]
    picture = VisiblePaint((), [drawn, [PaintedRegion(left, LEFT), PaintedRegion(right, RIGHT)]])
    _, front = paint_ties([_sheet(), _sheet(*ties)], picture, PANEL, PRICES)
    assert [replace(tie, paint=None) for tie in front.ties] == list(ties)
    return [tie.paint for tie in front.ties]


@pytest.mark.parametrize(("left", "right"), [(DARK, PALE), (PALE, DARK)])
def test_over_a_pale_sky_the_pale_end_gives_the_colour(left: Paint, right: Paint) -> None:
    assert _paints(_tie(50), left=left, right=right, behind={SKY: INTERIOR}) == [PALE]


def test_over_dark_ground_the_dark_end_gives_the_colour() -> None:
    assert _paints(_tie(50), behind={Paint("#22301a"): INTERIOR}) == [DARK]


def test_what_most_of_the_tie_crosses_decides() -> None:
    """Of the 40 mm between the shapes 28 lie over dark ground."""
    assert _paints(_tie(50), behind={DARK: box(6, 6, 58, 94), SKY: box(58, 6, 94, 94)}) == [DARK]
    assert _paints(_tie(50), behind={DARK: box(6, 6, 42, 94), SKY: box(42, 6, 94, 94)}) == [PALE]


def test_all_ties_of_a_piece_have_the_same_though_one_alone_would_have_the_other() -> None:
    behind = {SKY: box(6, 6, 94, 60), DARK: box(6, 60, 94, 94)}
    over_sky, also, over_dark = _tie(20), _tie(40), _tie(80)
    assert _paints(over_dark, behind=behind) == [DARK]
    assert _paints(over_sky, also, over_dark, behind=behind) == [PALE] * 3


def test_each_piece_has_its_own() -> None:
    behind = {SKY: box(6, 6, 94, 60), DARK: box(6, 60, 94, 94)}
    assert _paints(_tie(20, "leaf"), _tie(80, "bird"), behind=behind) == [PALE, DARK]


def test_a_tie_to_the_frame_has_the_colour_of_its_piece() -> None:
    assert _paints(_tie(50, ends=(71.0, 97.0)), right=PALE, behind={DARK: INTERIOR}) == [PALE]


def test_a_tie_from_frame_to_frame_stays_bare() -> None:
    assert _paints(_tie(50, ends=(3.0, 97.0)), behind={SKY: INTERIOR}) == [BARE]


def test_a_tie_that_nobody_sees_has_none() -> None:
    assert _paints(_tie(20, seen=False), _tie(40), behind={SKY: INTERIOR}) == [None, PALE]
    assert _paints(_tie(20, seen=False), behind={SKY: INTERIOR}) == [None]


def test_a_sheet_without_ties_stays_as_it_is() -> None:
    sheet = _sheet()
    assert paint_ties([sheet], VisiblePaint((), [()]), PANEL, PRICES)[0] is sheet
