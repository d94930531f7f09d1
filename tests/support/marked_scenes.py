"""Random scenes with much to engrave, and the folders that they are written as.

Marks are what proofs could stumble over: curves, dots, crossings, lines that are drawn twice, areas with holes, areas
that touch or are hardly wider than the tolerance; under every tolerance, and colours of the job's own.
"""

import math
from dataclasses import replace
from pathlib import Path
from random import Random

import shapely
from builds import build_made
from random_scenes import random_scene, random_settings
from shapely import LineString, MultiLineString, Point, affinity, box
from shapely.geometry.base import BaseGeometry

from layercut.job import Job
from layercut.model import Build, Drawing, Paint, Shape
from layercut.output.contents import board_files, map_files, sheet_files
from layercut.output.folder import write_folder
from layercut.output.manifest import manifest_text
from layercut.pipeline import cut_stack, plan_drawing
from layercut.proof.check import check_sheets
from layercut.proof.failures import Verdict
from layercut.proof.plan import plan_from_stack

PAGES = {name: name.encode() for name in ("stack.png", "stack.svg", "traveller.html")}
"""Stand for the picture and the page, which take long to draw: only their hashes count here."""

INK = Paint("#000000")


def marked_scene(chance: Random) -> Drawing:
    """A random scene, each layer with up to six marks on top."""
    drawing = random_scene(chance)
    layers = [
        replace(layer, shapes=(*layer.shapes, *(_mark(chance, k) for k in range(chance.randint(0, 6)))))
        for layer in drawing.layers
    ]
    return replace(drawing, layers=tuple(layers))


def marked_settings(chance: Random) -> list[str]:
    """Random settings, with the curves', the roles' and the hanging's."""
    settings = random_settings(chance)
    settings.append(f"curves.tolerance={chance.choice((0.001, 0.005, 0.02, 0.02, 0.02, 0.1, 0.3))}mm")
    if chance.random() < 0.15:
        settings.append("curves.smooth=false")
    if chance.random() < 0.3:
        settings += ["roles.mark_line=#0000ff", "roles.cut_opening=#ff0000"]
    if chance.random() < 0.5:
        settings.append(f"hanging.screw={chance.choice((6, 12, 20))}mm")
    return settings


def made_build(drawing: Drawing, job: Job) -> tuple[Build, Verdict | None]:
    """A build and its proof's verdict; no verdict where the drawing can't be made."""
    planned = plan_drawing(drawing, job)
    if not planned.makeable:
        return planned, None
    cut = cut_stack(planned)
    verdict = check_sheets(cut.written, plan_from_stack(cut.stack, cut.sheets, job))
    return build_made(drawing, cut.stack, cut.sheets, job, cut.findings, proof=verdict.proof), verdict


def write_build(build: Build, folder: Path) -> None:
    """The folder of a build, its picture and page stood for."""
    texts = {**sheet_files(build), **board_files(build), **map_files(build)}
    files = {**PAGES, **{name: text.encode() for name, text in texts.items()}}
    write_folder(folder, {**files, "manifest.json": manifest_text(build, files).encode()})


def _mark(chance: Random, number: int) -> Shape:
    x, y = chance.uniform(0, 100), chance.uniform(0, 80)
    if chance.random() < 0.6:
        maker = chance.choice((_wave, _dot, _polyline, _hatch, _spiral, _rings))
        return Shape("mark-line", maker(chance, x, y), INK, f"path 'm{number}'")
    maker = chance.choice((_letter, _blob, _sliver, _chess, _word))
    return Shape("mark-area", maker(chance, x, y), INK, f"path 'm{number}'")


def _wave(chance: Random, x: float, y: float) -> BaseGeometry:
    height, length = chance.uniform(0.1, 6), chance.uniform(2, 60)
    return LineString([(x + length * t / 200, y + height * math.sin(t / 12)) for t in range(201)])


def _dot(chance: Random, x: float, y: float) -> BaseGeometry:
    return Point(x, y).buffer(chance.choice((0.06, 0.1, 0.3, 1.5)), chance.choice((2, 8, 32))).boundary


def _polyline(chance: Random, x: float, y: float) -> BaseGeometry:
    points = [(x, y)]
    for _ in range(chance.randint(1, 12)):
        points.append((points[-1][0] + chance.uniform(-9, 9), points[-1][1] + chance.uniform(-9, 9)))
    return LineString(points)


def _hatch(chance: Random, x: float, y: float) -> BaseGeometry:
    step = chance.choice((0.05, 0.12, 0.5, 2.0))
    return MultiLineString([[(x + step * k, y), (x + step * k + 3, y + 12)] for k in range(12)])


def _spiral(chance: Random, x: float, y: float) -> BaseGeometry:
    pitch = chance.choice((0.02, 0.1, 0.4))
    return LineString(
        [(x + pitch * t / 8 * math.cos(t / 8), y + pitch * t / 8 * math.sin(t / 8)) for t in range(240)]
    )


def _rings(chance: Random, x: float, y: float) -> BaseGeometry:
    """Circles that touch, and one that is drawn twice."""
    disc = Point(x, y).buffer(chance.choice((1.0, 4.0)), 24).boundary
    beside = affinity.translate(disc, disc.bounds[2] - disc.bounds[0])
    return MultiLineString([*shapely.get_parts(disc), *shapely.get_parts(beside), *shapely.get_parts(disc)])


def _letter(chance: Random, x: float, y: float) -> BaseGeometry:
    size = chance.choice((0.8, 2.0, 8.0))
    bowl = Point(x, y).buffer(size, 12).difference(Point(x, y).buffer(size * chance.choice((0.3, 0.7, 0.95)), 12))
    return bowl.union(box(x - size, y, x - 0.7 * size, y + 2 * size))


def _word(chance: Random, x: float, y: float) -> BaseGeometry:
    return shapely.union_all([_letter(chance, x + 5 * k, y) for k in range(chance.randint(2, 7))])


def _blob(chance: Random, x: float, y: float) -> BaseGeometry:
    blob = affinity.scale(Point(x, y).buffer(1, 40), chance.uniform(0.2, 12), chance.uniform(0.2, 6))
    return affinity.rotate(blob, chance.uniform(0, 180))


def _sliver(chance: Random, x: float, y: float) -> BaseGeometry:
    """An area hardly wider than curves may deviate."""
    thin = box(x, y, x + chance.choice((0.5, 20.0)), y + chance.choice((0.004, 0.03, 0.06, 0.2)))
    return affinity.rotate(thin, chance.choice((0, 17, 90)))


def _chess(chance: Random, x: float, y: float) -> BaseGeometry:
    """Squares that touch at their corners, exactly or but for a hair."""
    side, hair = chance.choice((0.5, 3.0)), chance.choice((0.0, 0.0004, 0.001, 0.01))
    squares = [(k, j) for k in range(4) for j in range(4) if (k + j) % 2]
    return shapely.union_all(
        [box(x + side * k, y + side * j, x + side * (k + 1) + hair, y + side * (j + 1)) for k, j in squares]
    )
