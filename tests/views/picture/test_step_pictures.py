"""The steps in pictures: colours of the plan where the plan has them, and the same bytes each time."""

import io
from dataclasses import replace

import numpy as np
import pytest
from blends import blended, straight
from numpy.typing import NDArray
from PIL import Image
from scenes import Scenes
from shapely import box

from layercut.model import Called, Drawing, Made
from layercut.pipeline import conclude, cut_stack, plan_drawing
from layercut.planning.coat_steps import plan_coats
from layercut.views.picture.scene import rgb
from layercut.views.picture.step_coats import SHADES, base_bands, lay_coat, mixed
from layercut.views.picture.step_pictures import STEPS, StepPictures, draw_steps

SKY, HILL, WHITE, BOARD = "#88aacc", "#4c7a34", "#ffffff", "#7a4a2a"


@pytest.fixture(scope="module")
def build(scenes: Scenes) -> Made:
    """A sky, and before it a hill, a white cloud and a stained board."""
    board = scenes.shape(box(70, 30, 90, 50), colour=BOARD, called=Called("rect", ident="board", around=("board",)))
    front = [
        scenes.shape(box(0, 60, 100, 100), colour=HILL),
        scenes.shape(box(10, 62, 40, 80), colour=WHITE),
        scenes.shape(box(0, 30, 70, 60), colour=WHITE),
        board,
    ]
    return made(scenes, scenes.drawing([scenes.shape(scenes.ground(), colour=SKY)], front), 'paint.stain=["board"]')


def made(scenes: Scenes, drawing: Drawing, *settings: str) -> Made:
    planned = plan_drawing(drawing, scenes.job(*settings))
    done = conclude(cut_stack(planned), None)
    assert isinstance(done, Made)
    return done


def sheet_after(build: Made, place: int) -> dict[str, NDArray[np.float32]]:
    """A sheet by itself after each coat, exactly: (3, height, width)."""
    steps = plan_coats(build.work, build.stack.panel, build.job.paint)
    plan, window = build.work.paint, steps.window
    bands = list(base_bands(plan.sheets[place], plan, steps))
    picture = np.concatenate([base for _, base in bands], axis=1)
    after = {"base": picture.copy()}
    for shade in SHADES:
        lay_coat(picture, shade, place, slice(0, window.height), mixed(plan, steps))
        after[shade] = picture.copy()
    return after


def at(picture: NDArray[np.float32], x: float, y: float) -> tuple[int, ...]:
    scale = picture.shape[1] / 100
    return tuple(round(float(channel[int(y * scale), int(x * scale)])) for channel in picture)


def test_each_coat_has_its_shade_where_it_lies(build: Made) -> None:
    after = sheet_after(build, 1)
    hill = next(colour for colour in build.work.paint.colours if colour.colour == HILL).shades
    inner, edge, lamp = (70, 85), (70, 60.4), (70, 62.2)
    assert {at(after["base"], *place) for place in (inner, edge, lamp)} == {rgb(hill.base)}
    assert [at(after["middle"], *place) for place in (inner, edge, lamp)] == [
        rgb(hill.middle), rgb(hill.base), rgb(hill.middle)
    ]  # fmt: skip
    assert [at(after["light"], *place) for place in (inner, edge, lamp)] == [
        rgb(hill.middle), rgb(hill.base), rgb(hill.light)
    ]  # fmt: skip


@pytest.mark.parametrize(("place", "colour"), [((25, 71), WHITE), ((80, 40), BOARD)])
def test_white_and_stain_are_one_shade_from_the_first_coat_on(
    build: Made, place: tuple[float, float], colour: str
) -> None:
    after = sheet_after(build, 1)
    assert {at(picture, *place) for picture in after.values()} == {rgb(colour)}
    x, y = place[0], 62.3 if colour == WHITE else 30.3  # and along its edge
    assert {at(picture, x, y) for picture in after.values()} == {rgb(colour)}


def test_base_goes_on_under_the_sheet_in_front(build: Made) -> None:
    sky = next(colour for colour in build.work.paint.colours if colour.colour == SKY).shades
    after = sheet_after(build, 0)
    assert {at(after[shade], 80, 50.0 - 0.5) for shade in after} == {rgb(sky.base)}  # behind the board
    assert at(after["light"], 80, 40) == (0, 0, 0)  # further in: bare wood


def test_a_blend_is_its_base_first_and_itself_then(scenes: Scenes) -> None:
    sky = scenes.shape(scenes.ground(), called=Called("rect", ident="sky", around=("sky",)))
    build = made(scenes, scenes.drawing([replace(sky, paint=blended(straight((0.0, 0.0), (0.0, 100.0))))]))
    after = sheet_after(build, 0)
    base = build.work.paint.colours[0].shades.base
    assert at(after["base"], 50, 20) == at(after["base"], 50, 80) == rgb(base)
    for y in (20, 50, 80):
        red, green, blue = at(after["middle"], 50, y)
        assert (red, green, blue) == pytest.approx((255 * (1 - y / 100), 0, 255 * y / 100), abs=3)
    assert np.array_equal(after["middle"], after["light"])


def pictures(build: Made) -> StepPictures:
    return draw_steps(build, plan_coats(build.work, build.stack.panel, build.job.paint))


def test_the_pictures_are_whole_and_the_same_each_time(build: Made) -> None:
    first, again = pictures(build), pictures(build)
    assert first == again
    assert len(first.sheets) == 2
    assert len({shot.data for shot in first.stack}) == STEPS
    for shots in (first.stack, *(shots for sheet in first.sheets for shots in (sheet.whole, sheet.close))):
        assert len(shots) == STEPS
        for shot in shots:
            with Image.open(io.BytesIO(shot.data)) as image:
                assert (image.format, image.size) == ("WEBP", (shot.width, shot.height))


def test_the_whole_picture_shows_each_sheet_where_it_is_in_front(build: Made) -> None:
    """After the base: the sky's base above, the hill's below, bare wood at the frame."""
    with Image.open(io.BytesIO(pictures(build).stack[0].data)) as image:
        shown = np.moveaxis(np.asarray(image.convert("RGB")).astype(np.float32), -1, 0)
    shades = {colour.colour: colour.shades for colour in build.work.paint.colours}
    assert at(shown, 85, 20) == pytest.approx(rgb(shades[SKY].base), abs=6)
    assert at(shown, 80, 85) == pytest.approx(rgb(shades[HILL].base), abs=6)
    assert at(shown, 50, 3) != pytest.approx(rgb(shades[SKY].base), abs=30)
