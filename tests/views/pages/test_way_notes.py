"""Where blends run, in words and as arrows."""

import re
from collections.abc import Callable
from dataclasses import replace

import pytest
from blends import blended, downwards, round_one, straight
from builds import build_made
from scenes import Scenes
from shapely import Point, Polygon, box
from shapely.geometry.base import BaseGeometry

from layercut.colour.bare import PLYWOOD
from layercut.colour.washes import FlatWash, GroupWash
from layercut.model import Made, Paint
from layercut.units import INCHES, MILLIMETRES
from layercut.views.pages.map_ground import Ground, ground_of
from layercut.views.pages.map_notes import INK, Legend
from layercut.views.pages.paint_map import paint_map
from layercut.views.pages.way_notes import arrows, made_of, part_words, stop_at
from layercut.views.pages.work_pages import work_pages_html
from layercut.workplan import BlendStop

NIGHT = ((0.0, "#1f3892"), (1.0, "#000000"))
GLOW = ((0.0, "#ffe9a0"), (1.0, "#ffb000", 0.0))

BuildOf = Callable[..., Made]


@pytest.fixture(scope="module")
def build_of(scenes: Scenes) -> BuildOf:
    """A build of one sheet whose ground has a paint, and of more regions over it."""

    def make(ground: Paint, *others: tuple[BaseGeometry, Paint], size: tuple[float, float] = (100.0, 200.0)) -> Made:
        shapes = [(box(0, 0, *size), ground), *others]
        shape = scenes.shape(scenes.ground())
        drawn = [
            replace(shape, geometry=region, paint=paint, element=f"path '{k}'")
            for k, (region, paint) in enumerate(shapes)
        ]
        drawing = scenes.drawing(drawn, size=size)
        made = scenes.make(drawing)
        return build_made(drawing, made.stack, made.sheets, made.job, proof=made.proof)

    return make


def told(build: Made) -> list[str]:
    plan = build.work.paint
    return [
        words for part in plan.sheets[0].parts for words in part_words(part, plan, build.stack.panel, MILLIMETRES)
    ]


@pytest.mark.parametrize(
    ("start", "end", "words"),
    [
        ((0, 12), (0, 180), "top (12 mm) #1f3892 to bottom (180 mm) #000000, straight down"),
        ((0, 180), (0, 12), "bottom (180 mm) #1f3892 to top (12 mm) #000000, straight up"),
        ((10, 0), (90, 0), "left (10 mm) #1f3892 to right (90 mm) #000000, to the right"),
        ((90, 7), (10, 7), "right (90 mm) #1f3892 to left (10 mm) #000000, to the left"),
    ],
)
def test_straight_ways_in_words(
    build_of: BuildOf, start: tuple[float, float], end: tuple[float, float], words: str
) -> None:
    assert told(build_of(blended(straight(start, end, NIGHT)))) == [words]


def test_a_slanted_way_says_both_places_and_its_slope(build_of: BuildOf) -> None:
    (words,) = told(build_of(blended(straight((20, 150), (80, 46), NIGHT))))
    assert re.fullmatch(
        r"bottom left \([\d.]+, [\d.]+ mm\) #1f3892 to top right \([\d.]+, [\d.]+ mm\) #000000, "
        r"up to the right, 60° off level",
        words,
    )


def test_a_way_longer_than_the_panel_says_what_it_is_at_its_edge(build_of: BuildOf) -> None:
    (words,) = told(build_of(blended(straight((0, -100), (0, 300), ((0.0, "#000000"), (1.0, "#ffffff"))))))
    assert words == "top (0 mm, 25 %) #404040 to bottom (200 mm, 75 %) #bfbfbf, straight down"


def test_round_ways_in_words(build_of: BuildOf) -> None:
    assert told(build_of(blended(round_one((60, 40), 25, NIGHT)))) == [
        "round: middle (60, 40 mm) #1f3892 to a radius of 25 mm #000000"
    ]
    (aside,) = told(build_of(blended(round_one((60, 40), 25, NIGHT, focus=(50, 36)))))
    assert aside == "round: from (50, 36 mm) #1f3892 to a radius of 25 mm around (60, 40 mm) #000000"
    (oval,) = told(build_of(blended(round_one((60, 40), 25, NIGHT, to_mm=(1.0, 0.0, 0.0, 2.0, 0.0, 0.0)))))
    assert oval == "round: middle (60, 80 mm) #1f3892 to a radius of 50 by 25 mm #000000"
    (tiled,) = told(build_of(blended(straight((0, 10), (0, 30), NIGHT, "repeat"))))
    assert tiled.endswith("straight down, over and over")


def test_one_look_is_one_number_wherever_it_lies(build_of: BuildOf) -> None:
    """Two lamps with the same stops in two places, and a third that is another."""
    build = build_of(
        Paint("#202020"),
        (box(10, 10, 40, 40), blended(round_one((25, 25), 15, NIGHT))),
        (box(50, 60, 90, 95), blended(round_one((70, 80), 22, NIGHT))),
        (
            box(10, 110, 40, 140),
            blended(round_one((25, 125), 15, NIGHT[::-1] and ((0.0, "#ffffff"), (1.0, "#000000")))),
        ),
    )
    plan = build.work.paint
    assert [(len(part.runs), part.number) for part in plan.sheets[0].parts] == [(0, 1), (2, 2), (1, 3)]
    assert told(build)[:2] == [
        "round: middle (70, 80 mm) #1f3892 to a radius of 22 mm #000000",
        "round: middle (25, 25 mm) #1f3892 to a radius of 15 mm #000000",
    ]
    assert sum(run.region.area for run in plan.sheets[0].parts[1].runs) == pytest.approx(plan.colours[1].visible_mm2)


def test_a_stack_says_which_blend_lies_over_which(build_of: BuildOf) -> None:
    sky, glow = straight((0, 0), (0, 200), NIGHT), round_one((50, 100), 30, GLOW)
    disc = Point(50, 100).buffer(30)
    build = build_of(blended(sky), (disc, blended(sky, glow)))
    plan = build.work.paint
    assert [colour.number for colour in plan.colours] == [1, 2, 3]
    lone, stack, over = plan.colours
    assert made_of(stack, plan) == "blend 3 over blend 1"
    assert made_of(lone, plan) == made_of(over, plan) == ""
    assert (over.visible_mm2, over.painted_mm2) == (0, 0)
    assert [stop.opacity for stop in over.blend] == [1, 0]
    assert told(build)[1:] == [
        "blend 3: round: middle (50, 100 mm) #ffe9a0 to a radius of 30 mm clear",
        "blend 1: top (0 mm) #1f3892 to bottom (200 mm) #000000, straight down",
    ]
    page = work_pages_html(build)
    assert "blend 3 over blend 1" in page
    assert "Under or in others only." in page


def test_a_group_says_how_thin_and_that_it_is_faded(build_of: BuildOf) -> None:
    sky, glow = straight((0, 0), (0, 200), NIGHT), round_one((50, 100), 30, GLOW)
    veiled = GroupWash((FlatWash((1.0, 0.0, 0.0)), glow), 0.4, (straight((0, 0), (100, 0)),))
    plan = build_of(Paint("#804080", washes=(sky, veiled))).work.paint
    assert (
        made_of(plan.colours[0], plan)
        == "blend 4 at 40 % (faded by a mask) over no. 3 at 40 % (faded by a mask) over blend 2"
    )


def test_a_glaze_says_what_it_lies_on(build_of: BuildOf) -> None:
    blue, wood = Paint("#4060a0"), Paint(PLYWOOD)
    build = build_of(
        blue,
        (box(10, 10, 50, 60), Paint("#304878", under=blue)),
        (box(10, 100, 50, 150), Paint("#a58d69", under=wood)),
        (box(60, 100, 90, 150), Paint("#101010", under=Paint("#202020"))),
    )
    plan = build.work.paint
    assert [made_of(colour, plan) for colour in plan.colours] == [
        "", "a glaze over no. 1", "a glaze over bare wood", "a glaze over no. 5", "",
    ]  # fmt: skip
    legend = Legend(plan, plan.sheets[0], build.stack.panel, MILLIMETRES).notes(200)
    assert "#304878, a glaze over no. 1, paint," in legend
    assert "in others only" in legend
    assert "edge is not engraved: trace it from this map." in legend
    opaque = build_of(blue).work.paint
    assert "glaze" not in Legend(opaque, opaque.sheets[0], build.stack.panel, MILLIMETRES).notes(200)


def test_arrows_have_ticks_and_stay_on_the_panel(build_of: BuildOf) -> None:
    build = build_of(
        downwards(20.0, 180.0, NIGHT), (Point(50, 60).buffer(30), blended(round_one((50, 60), 90, GLOW)))
    )
    drawn = arrows(build.work.paint.sheets[0], build.stack.panel, INK, bare_ground())
    texts = [text for arrow in drawn for text in arrow.elements]
    assert len(texts) == 6  # a halo, a line and the figures of each
    figures = [text for text in texts if text.startswith("<g stroke")]
    assert figures[0].count("<rect") == 3
    assert figures[1].count("<rect") < 3  # 100 % of the second lies beyond
    for text in texts:
        for x, y in re.findall(r"[ML](-?[\d.]+) (-?[\d.]+)", text):
            if "scale" not in text:
                assert -3 <= float(x) <= 103
                assert -3 <= float(y) <= 203
    assert paint_map(build, 0).count(texts[1]) == 1


def bare_ground(*small: Polygon) -> Ground:
    """A map of 100 by 200 mm with nothing on it but small parts."""
    return ground_of(small, (100.0, 200.0), 100.0)


def test_a_figure_that_would_hide_a_part_stands_elsewhere_or_nowhere(build_of: BuildOf) -> None:
    build = build_of(downwards(20.0, 180.0, NIGHT))
    sheet, panel = build.work.paint.sheets[0], build.stack.panel
    (free,) = arrows(sheet, panel, INK, bare_ground())
    leaf = box(*free.figures[1])
    (moved,) = arrows(sheet, panel, INK, bare_ground(leaf))
    assert len(moved.figures) == 3
    assert not any(box(*figure).intersects(leaf) for figure in moved.figures)
    wall = [box(0, y, 100, y + 1.0) for y in range(80, 120)]
    (less,) = arrows(sheet, panel, INK, bare_ground(*wall))
    assert len(less.figures) == 2


def test_figures_are_as_large_as_the_map_is_shown_small(build_of: BuildOf) -> None:
    build = build_of(downwards(20.0, 180.0, NIGHT))
    sheet, panel = build.work.paint.sheets[0], build.stack.panel
    (full,), (half,) = (arrows(sheet, panel, INK, bare_ground(), scale) for scale in (1.0, 2.0))
    for one, other in zip(full.figures, half.figures, strict=True):
        assert other[3] - other[1] == pytest.approx(2 * (one[3] - one[1]))


def test_ways_in_inches(build_of: BuildOf) -> None:
    build = build_of(downwards(25.4, 152.4, NIGHT))
    plan = build.work.paint
    (words,) = part_words(plan.sheets[0].parts[0], plan, build.stack.panel, INCHES)
    assert words == "top (1 in) #1f3892 to bottom (6 in) #000000, straight down"


def test_many_small_regions_are_counted(build_of: BuildOf) -> None:
    spots = [
        (box(5 + 9 * k, 5 + 9 * j, 11 + 9 * k, 11 + 9 * j), blended(round_one((8 + 9 * k, 8 + 9 * j), 4, NIGHT)))
        for k in range(10)
        for j in range(9)
    ]
    build = build_of(Paint("#ffffff"), *spots, size=(100.0, 100.0))
    part = build.work.paint.sheets[0].parts[1]
    assert len(part.runs) > 60
    assert sum(bool(run.ways) for run in part.runs) >= 60
    words = part_words(part, build.work.paint, build.stack.panel, MILLIMETRES)
    assert len(words) == 5
    assert words[-1] == f"{len(part.runs) - 4} more regions, each as its own way runs"


def test_colours_between_stops() -> None:
    stops = (BlendStop(0.2, "#000000"), BlendStop(0.6, "#ff0000", None, 0.5), BlendStop(0.6, "#0000ff"))
    assert stop_at(stops, 0.1).colour == "#000000"
    assert (stop_at(stops, 0.4).colour, stop_at(stops, 0.4).opacity) == ("#800000", pytest.approx(0.75))
    assert stop_at(stops, 0.9).colour == "#0000ff"
