"""The pieces that really come off the bed, counted on an independent raster of the written sheets.

Under `tie` each sheet is one piece, under `loose` exactly the manifest's, under `refuse` a drawing is refused exactly
when the raster of its planned wood sees an island. On own scenes, the samples, and open drawings.
"""

from collections.abc import Callable
from pathlib import Path

import pytest
from builds import sheets_made
from open_drawings import deal_into_layers, open_drawings
from scenes import Scenes
from shapely import Point, affinity, box
from shapely.geometry.base import BaseGeometry
from sheet_raster import DUST_MM2, count, cut_pieces, piece_at, planned_pieces

from layercut.drawing import read_drawing
from layercut.job import Job, load_job
from layercut.model import Drawing, Sheet, Stack
from layercut.pipeline import plan_stack
from layercut.sheets.svg_out import write_sheet

SAMPLES = sorted((Path(__file__).parents[2] / "samples").glob("*/*.svg"))
FLOATING = [path for path in SAMPLES if path.stem != "mill"]
"""Nothing of the mill floats: every policy makes the same of it, which `test_raster_check.py` looks at."""
PX_PER_MM = 10
DISC = Point(50, 50).buffer(12, 32)
LEAVES = [affinity.rotate(affinity.scale(DISC, 0.4, 0.2), 40 * k, (50, 20)) for k in range(5)]

SCENES: dict[str, list[list[BaseGeometry]]] = {
    "held": [[box(0, 60, 100, 100)]],
    "disc": [[DISC]],
    "disc behind a band": [[DISC], [box(0, 45, 100, 55)]],
    "disc in front of a band": [[box(0, 45, 100, 55)], [DISC]],
    "ring": [[DISC.difference(Point(50, 50).buffer(9))]],
    "ring and disc": [[DISC.difference(Point(50, 50).buffer(9)), Point(50, 50).buffer(4)]],
    "window": [[box(0, 20, 100, 80).difference(box(30, 30, 70, 70)), box(45, 45, 55, 55)]],
    "thin stem": [[DISC, box(0, 49.6, 45, 50.4)]],
    "wide stem": [[DISC, box(0, 48, 45, 52)]],
    "two stems": [[DISC, box(0, 49.6, 100, 50.4)]],
    "leaves": [LEAVES],
    "leaves on two layers": [LEAVES, [affinity.translate(leaf, 5, 40) for leaf in LEAVES]],
    "corner to corner": [[box(30, 30, 45, 45), box(45, 45, 60, 60)]],
    "chain": [[Point(20 + 15 * k, 50).buffer(5) for k in range(5)] + [box(20, 49.7, 80, 50.3)]],
    "touching the frame": [[Point(50, 16).buffer(10)]],
    "near the frame": [[Point(50, 16.6).buffer(10)]],
    "stack of discs": [[Point(50, 50).buffer(30)], [Point(50, 50).buffer(20)], [Point(50, 50).buffer(10)]],
    "thin stick": [[box(20, 50, 70, 51)]],
    "stick through a hole": [[box(0, 30, 100, 70).difference(box(20, 40, 80, 60)), box(0, 49, 100, 51)]],
    "off the panel": [[box(90, 40, 130, 60), box(40, 40, 44, 44)]],
    "everything hidden": [[DISC], [box(0, 0, 100, 100)]],
    "long bar": [[box(15, 50, 85, 55)]],
    "letters": [
        [box(30, 30, 70, 70).difference(box(36, 36, 64, 64)), box(40, 40, 60, 60).difference(Point(50, 50).buffer(6))]
    ],
    "touching across layers": [[box(20, 20, 50, 50)], [box(50, 20, 80, 50)]],
}

HOWEVER_SLENDER = "limits.slender=1000"
"""Some pieces here are far from all wood; that a slender tie is refused is tested elsewhere."""


def _drawing(scenes: Scenes, name: str) -> Drawing:
    return scenes.drawing([scenes.ground()], *SCENES[name])


def _made(drawing: Drawing, job: Job) -> tuple[Stack, tuple[Sheet, ...], list[str]]:
    stack = plan_stack(drawing, job)
    sheets = sheets_made(drawing, stack, job)
    return stack, sheets, [write_sheet(sheet, stack.panel, job) for sheet in sheets]


def _check_tied(drawing: Drawing, job: Job, px_per_mm: float = PX_PER_MM) -> None:
    stack, _, files = _made(drawing, job)
    assert not [finding for finding in stack.findings if finding.severity == "error"]
    assert [count(cut_pieces(text, job.material.kerf, px_per_mm)) for text in files] == [1] * len(files)


def _check_loose(drawing: Drawing, job: Job, px_per_mm: float = PX_PER_MM) -> None:
    """Each of the manifest's pieces is a piece of its own on the picture, and there is no other but the frame's."""
    stack, sheets, files = _made(drawing, job)
    if any(finding.severity == "error" for finding in stack.findings):
        assert {finding.code for finding in stack.findings if finding.severity == "error"} == {"unsupported-piece"}
        return
    for sheet, text in zip(sheets, files, strict=True):
        labels = cut_pieces(text, job.material.kerf, px_per_mm)
        frame = piece_at(labels, (stack.panel.width_mm / 2, stack.panel.frame_mm / 4), px_per_mm)
        large = [piece for piece in sheet.loose if piece.region.buffer(-2 / px_per_mm).area > DUST_MM2]
        own = [piece_at(labels, piece.at_mm, px_per_mm) for piece in large]
        assert 0 not in own, sheet.name
        assert len({frame, *own}) == 1 + len(large), sheet.name
        small = len(sheet.loose) - len(large)
        assert 1 + len(large) <= count(labels) <= 1 + len(large) + small, sheet.name


def _check_refused(drawing: Drawing, job: Job, px_per_mm: float = PX_PER_MM) -> None:
    """A layer has an island, as told, exactly when the raster of its planned wood has more pieces than one."""
    stack = plan_stack(drawing, job)
    for layer in stack.layers:
        told = [finding for finding in stack.findings if finding.layer == layer.name and finding.code == "island"]
        free = [island for island in layer.islands if island.neck_mm is None]
        assert len(told) == len(free)
        assert all(finding.severity == "error" for finding in told)
        large = [island for island in free if island.region.buffer(-2 / px_per_mm).area > DUST_MM2]
        seen = count(planned_pieces(layer.wood, stack.panel.width_mm, stack.panel.height_mm, px_per_mm))
        assert 1 + len(large) <= seen <= 1 + len(free), layer.name


@pytest.mark.parametrize("name", SCENES)
def test_under_tie_each_sheet_is_one_piece(scenes: Scenes, name: str) -> None:
    _check_tied(_drawing(scenes, name), scenes.job("islands.policy=tie", HOWEVER_SLENDER))


@pytest.mark.parametrize("name", SCENES)
def test_under_loose_there_are_exactly_the_manifest_s_pieces(scenes: Scenes, name: str) -> None:
    _check_loose(_drawing(scenes, name), scenes.job("islands.policy=loose"), px_per_mm=15)


@pytest.mark.parametrize("name", SCENES)
def test_under_refuse_islands_are_told_exactly_when_the_raster_sees_them(scenes: Scenes, name: str) -> None:
    _check_refused(_drawing(scenes, name), scenes.job())


@pytest.mark.parametrize("path", FLOATING, ids=lambda path: path.stem)
@pytest.mark.parametrize(
    ("policy", "check"), [("tie", _check_tied), ("loose", _check_loose), ("refuse", _check_refused)]
)
def test_samples(path: Path, policy: str, check: Callable[[Drawing, Job], None]) -> None:
    job = load_job(path.with_suffix(".toml"), [f"islands.policy={policy}", HOWEVER_SLENDER])
    check(read_drawing(path, job), job)


@pytest.mark.parametrize("number", range(24))
def test_open_drawings(number: int, tmp_path: Path) -> None:
    """Each of 24 under one of the policies, in turn; a kerf of 0.25 mm shows at 8 pixels a mm."""
    policy, check = [("tie", _check_tied), ("loose", _check_loose), ("refuse", _check_refused)][number % 3]
    path = tmp_path / "dealt.svg"
    path.write_text(deal_into_layers(open_drawings(40)[number]))
    job = load_job(None, [f"islands.policy={policy}", HOWEVER_SLENDER, "material.kerf=0.25mm"])
    check(read_drawing(path, job), job, 8)
