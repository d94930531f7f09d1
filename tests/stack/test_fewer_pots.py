"""Fewer pots in a stack: nothing moves, what is kept is kept everywhere, stains and coats over each other stay."""

from collections.abc import Sequence
from pathlib import Path

import pytest
import shapely
from coloraide import Color
from shapely import Polygon, box

from layercut.colour.washes import FlatWash, GradedWash, Gradient, GroupWash, Stop
from layercut.geometry.regions import EMPTY
from layercut.job import load_job
from layercut.model import Made, Paint, PaintedRegion
from layercut.pipeline import compile_drawing
from layercut.stack.fewer_pots import share_pots
from layercut.stack.painting import PaintedSheets

SKY, HAZE, HILL = "#8fc1de", "#91c2de", "#4f7d3a"
IDENTITY = (1.0, 0.0, 0.0, 1.0, 0.0, 0.0)


def _sheets(*sheets: Sequence[tuple[Paint | str, Polygon]]) -> PaintedSheets:
    regions = tuple(
        tuple(PaintedRegion(Paint(one) if isinstance(one, str) else one, region) for one, region in some)
        for some in sheets
    )
    return PaintedSheets(regions, regions, tuple(() for _ in regions))


def _shared(painted: PaintedSheets, limit: float = 2.0, most: int | None = None, **keep: Polygon) -> PaintedSheets:
    everything = [box(0, 0, 100, 100)] * len(painted.regions)
    return share_pots(painted, everything, [keep.get("stained", EMPTY)] * len(everything), limit, most)


def _rgb(colour: str) -> tuple[float, float, float]:
    red, green, blue = (value / 255 for value in bytes.fromhex(colour[1:]))
    return (red, green, blue)


def _blend(one: str, other: str) -> Paint:
    stops = (Stop(0.0, _rgb(one)), Stop(1.0, _rgb(other)))
    return Paint.over([GradedWash(Gradient("linear", (0.0, 0.0, 10.0, 0.0), IDENTITY, "pad", stops))])


def test_alike_colours_become_one_region_and_the_larger_keeps_its_colour() -> None:
    painted = _sheets([(HAZE, box(0, 0, 10, 10)), (SKY, box(10, 0, 40, 10))], [(HAZE, box(0, 20, 5, 25))])
    back, front = _shared(painted).regions
    (only,) = back
    assert only.paint == Paint(SKY)
    assert only.region.equals(box(0, 0, 40, 10))
    assert [(part.paint, part.region) for part in front] == [(Paint(SKY), box(0, 20, 5, 25))]
    (merged,) = _shared(painted).merged
    assert (merged.colour, merged.into) == (HAZE, SKY)
    assert merged.difference == pytest.approx(Color(HAZE).delta_e(Color(SKY), method="2000"), abs=1e-3)


def test_what_is_seen_counts_and_not_what_is_covered() -> None:
    painted = _sheets([(HAZE, box(0, 0, 10, 10)), (SKY, box(10, 0, 40, 10))])
    (parts,) = share_pots(painted, [box(0, 0, 15, 10)], [EMPTY], 2.0, None).regions
    assert [part.paint.colour for part in parts] == [HAZE]


def test_no_limit_and_nothing_alike_leave_the_very_same() -> None:
    painted = _sheets([(HAZE, box(0, 0, 10, 10)), (SKY, box(10, 0, 40, 10))])
    assert _shared(painted, limit=0.0) is painted
    apart = _sheets([(HILL, box(0, 0, 10, 10)), (SKY, box(10, 0, 40, 10))])
    assert _shared(apart).regions[0] is apart.regions[0]
    assert (_shared(apart).merged, _shared(apart).told) == ((), ())


def test_what_is_stained_keeps_its_colour() -> None:
    painted = _sheets([(HAZE, box(0, 0, 10, 10)), (SKY, box(10, 0, 40, 10))])
    shared = _shared(painted, stained=box(0, 0, 5, 5))
    assert [part.paint.colour for part in shared.regions[0]] == [HAZE, SKY]
    assert shared.merged == ()


def test_a_gradients_stop_is_taken_from_a_pot_that_is_there() -> None:
    painted = _sheets([(_blend(HAZE, HILL), box(0, 0, 10, 10)), (SKY, box(10, 0, 40, 10))])
    blend, sky = _shared(painted).regions[0]
    assert isinstance(blend.paint.washes[0], GradedWash)
    assert [stop.colour for stop in blend.paint.washes[0].gradient.stops] == [
        pytest.approx(_rgb(SKY), abs=1e-6),
        pytest.approx(_rgb(HILL), abs=1e-6),
    ]
    assert sky.paint == Paint(SKY)
    assert [(one.colour, one.into) for one in _shared(painted).merged] == [(HAZE, SKY)]


def test_a_gradient_of_one_pot_is_flat() -> None:
    painted = _sheets([(_blend(HAZE, SKY), box(0, 0, 10, 10)), (SKY, box(10, 0, 40, 10))])
    (only,) = _shared(painted).regions[0]
    assert only.paint == Paint(SKY)
    assert only.region.equals(box(0, 0, 40, 10))


def test_coats_over_each_other_stay_and_what_lies_under_a_glaze_follows() -> None:
    group = Paint(HAZE, washes=(FlatWash(_rgb(HAZE)), GroupWash((FlatWash(_rgb(HILL), 0.5),), 0.5)))
    glazed = Paint(HILL, under=Paint(HAZE))
    painted = _sheets([(group, box(0, 0, 10, 10)), (glazed, box(0, 10, 10, 20)), (SKY, box(10, 0, 40, 10))])
    stack, over, _ = _shared(painted).regions[0]
    assert stack.paint == group
    assert over.paint == Paint(HILL, under=Paint(SKY))


def test_a_number_of_pots_is_kept_and_told() -> None:
    colours = [SKY, HAZE, HILL, "#8c2f24", "#1b1b1d"]
    painted = _sheets([(one, box(10 * k, 0, 10 * k + 10, 10)) for k, one in enumerate(colours)])
    shared = _shared(painted, most=2)
    assert len({part.paint.colour for part in shared.regions[0]}) == 2
    (finding,) = shared.told
    assert "2 pots (paint.colours)" in finding.message
    areas = sum(part.region.area for part in shared.regions[0])
    assert areas == pytest.approx(500)
    assert _shared(painted, limit=0.0, most=5).merged == ()


DRAWING = f"""<svg xmlns="http://www.w3.org/2000/svg" width="60mm" height="40mm" viewBox="0 0 60 40">
  <g id="sky"><path fill="{SKY}" d="M0 0H60V20H0Z"/><path fill="{HAZE}" d="M0 20H60V40H0Z"/></g>
  <g id="hill"><path fill="{HILL}" d="M0 30H60V40H0Z"/></g>
</svg>"""


@pytest.mark.parametrize("merge", [0, 2])
def test_a_border_that_the_painter_cannot_see_is_not_burnt(tmp_path: Path, merge: float) -> None:
    (tmp_path / "a.svg").write_text(DRAWING)
    build = compile_drawing(tmp_path / "a.svg", load_job(None, [f"paint.merge={merge}"]))
    assert isinstance(build, Made)
    across = [line for line in build.sheets[0].mark_lines if shapely.dwithin(line, shapely.Point(30, 20), 0.01)]
    assert len(across) == (1 if merge == 0 else 0)
    colours = {colour.colour: colour for colour in build.work.paint.colours}
    assert set(colours) == ({SKY, HAZE, HILL} if merge == 0 else {SKY, HILL})
    assert [one.colour for one in colours[SKY].merged] == ([] if merge == 0 else [HAZE])
