"""Numbers, shades and coats of the paints of a picture."""

import pytest

from layercut.colour.bare import PLYWOOD
from layercut.colour.merging import Merged
from layercut.job_tables import PaintJob
from layercut.planning.looks import CoatLook, PaintLook, StopLook
from layercut.planning.own_paints import OwnPaints
from layercut.planning.palette import BARE, Area, Given, Key, coat_key, mix_colours, number_paints
from layercut.workplan import BARE_WOOD

SKY, HILL = PaintLook("#88aacc"), PaintLook("#4c7a34")
GLAZE = CoatLook("#ffffff", opacity=0.5)
STACK = PaintLook("#a5bd99", (CoatLook("#4c7a34"), GLAZE))


def _coats(count: int) -> PaintJob:
    return PaintJob.model_validate({"coats": count})


def test_what_is_seen_comes_first_then_what_it_is_made_of() -> None:
    areas = {Key(STACK, "paint"): Area(10.0, 12.0), Key(SKY, "paint"): Area(30.0, 30.0)}
    numbers = number_paints(areas)
    assert [*numbers.values()] == [1, 2, 3, 4]
    assert numbers[Key(HILL, "paint")] == 3
    assert numbers[coat_key(GLAZE, "paint")] == 4
    stack, *_ = mix_colours(areas, numbers, Given(_coats(2)))
    assert [(coat.number, coat.opacity) for coat in stack.laid] == [(3, 1.0), (4, 0.5)]


def test_a_paint_that_is_seen_and_part_of_another_has_one_number() -> None:
    areas = {Key(HILL, "paint"): Area(10.0, 12.0), Key(STACK, "paint"): Area(5.0, 5.0)}
    assert number_paints(areas)[Key(HILL, "paint")] == 1
    assert len(number_paints(areas)) == 3


def test_a_glaze_lies_on_a_number_or_on_bare_wood() -> None:
    on_wood = {Key(SKY, "paint"): Area(1.0, 1.0, BARE)}
    (colour,) = mix_colours(on_wood, number_paints(on_wood), Given(_coats(2)))
    assert colour.over == BARE_WOOD
    on_hill = {Key(SKY, "paint"): Area(1.0, 1.0, HILL)}
    glaze, hill = mix_colours(on_hill, number_paints(on_hill), Given(_coats(2)))
    assert (glaze.over, hill.number, hill.over) == (2, 2, None)
    assert PLYWOOD not in {colour.colour for colour in (glaze, hill)}


def test_stain_is_one_coat_without_shades() -> None:
    areas = {Key(SKY, "stain"): Area(10.0, 10.0), Key(SKY, "paint"): Area(10.0, 10.0)}
    stain, paint = mix_colours(areas, number_paints(areas), Given(_coats(3)))
    assert (stain.coats, paint.coats) == (1, 3)
    assert {stain.shades.base, stain.shades.middle, stain.shades.light} == {SKY.colour}
    assert len({paint.shades.base, paint.shades.middle, paint.shades.light}) == 3


def test_a_blend_keeps_its_stops_and_the_nearest_paint_of_each() -> None:
    stops = (StopLook(0.0, "#ff0000", 1.0), StopLook(1.0, "#0000ff", 1.0))
    blend = PaintLook("#8c53a2", (CoatLook("#8c53a2", stops),))
    own = OwnPaints("rack.csv", (("brick", "#f01010"), ("night", "#1010f0")))
    areas = {Key(blend, "paint"): Area(9.0, 9.0)}
    (colour,) = mix_colours(areas, number_paints(areas), Given(_coats(2), own))
    assert [(stop.colour, stop.match.name if stop.match else "") for stop in colour.blend] == [
        ("#ff0000", "brick"),
        ("#0000ff", "night"),
    ]
    assert len(colour.matches) == 3


@pytest.mark.parametrize("own", [None, OwnPaints("rack.csv", (("sky", "#88aacc"),))])
def test_own_paints_are_matched_only_where_the_job_names_some(own: OwnPaints | None) -> None:
    areas = {Key(SKY, "paint"): Area(9.0, 9.0)}
    (colour,) = mix_colours(areas, number_paints(areas), Given(_coats(2), own))
    assert len(colour.matches) == (0 if own is None else 3)


def test_a_pot_says_for_which_colours_it_stands_and_takes_the_most_coats_of_them() -> None:
    areas = {Key(SKY, "paint"): Area(9.0, 9.0), Key(SKY, "stain"): Area(1.0, 1.0), Key(HILL, "paint"): Area(1.0, 1.0)}
    merged = (Merged("#88aacd", SKY.colour, 0.3), Merged("#89aacc", SKY.colour, 0.4))
    paint = PaintJob.model_validate({"coats_of": {"#89aacc": 5}})
    sky, stain, hill = mix_colours(areas, number_paints(areas), Given(paint, None, merged))
    assert sky.merged == merged
    assert (stain.merged, hill.merged) == ((), ())
    assert (sky.coats, stain.coats, hill.coats) == (5, 1, 2)
