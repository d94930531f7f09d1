"""The walk through docs/walkthrough.md: its commands run in a folder, and what the written sheets hold.

Enters: the page and its given files. Leaves: `Walk`, and contours, wood and weight read from the sheets with nothing
of the package.
"""

import json
import math
import os
import re
import stat
import subprocess
import sys
from dataclasses import dataclass
from functools import cache, reduce
from pathlib import Path

import numpy as np
import shapely
import shapely.affinity
import svgelements
from elements import string, strings
from lxml import etree
from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from layercut.job import Job, load_job

ROOT = Path(__file__).parents[2]
PAGE = ROOT / "docs" / "walkthrough.md"
GIVEN = ROOT / "docs" / "walkthrough"

NUMBER = r"(-?\d+(?:\.\d+)?)"


@dataclass(frozen=True)
class Walk:
    """The folder that the page's commands made, the commands, and what each block of them printed."""

    folder: Path
    blocks: tuple[str, ...]
    printed: tuple[str, ...]

    @property
    def job(self) -> Job:
        return load_job(self.folder / "ferry-house.toml")

    @property
    def manifest(self) -> dict[str, object]:
        return json.loads((self.folder / "ferry-house-sheets" / "manifest.json").read_text())  # type: ignore[no-any-return]


def fences(kind: str) -> list[tuple[int, str]]:
    """The fenced blocks of a kind, with where each begins on the page."""
    text = PAGE.read_text(encoding="utf-8")
    return [(match.start(), match[1]) for match in re.finditer(rf"^```{kind}\n(.*?)^```$", text, re.M | re.S)]


def run_page(root: Path) -> Walk:
    """The page's commands, run in order in a folder of their own."""
    folder = root / "walk"
    programs = root / "bin"
    folder.mkdir()
    programs.mkdir()
    for name in ("left.jpg", "right.jpg", "drawn.svg"):
        (folder / name).write_bytes((GIVEN / name).read_bytes())
    program = programs / "layercut"
    program.write_text(f'#!/bin/sh\nexec "{sys.executable}" -m layercut "$@"\n')
    program.chmod(program.stat().st_mode | stat.S_IXUSR)
    environment = {**os.environ, "PATH": f"{programs}{os.pathsep}{os.environ['PATH']}", "PYTHONPATH": str(ROOT)}
    blocks = tuple(text for _, text in fences("sh"))
    printed = []
    for block in blocks:
        done = subprocess.run(
            ["sh", "-e", "-c", block], cwd=folder, env=environment, check=False, capture_output=True, timeout=120
        )
        printed.append(done.stdout.decode() + done.stderr.decode())
        assert done.returncode == 0, f"{block}\n{printed[-1]}"
    return Walk(folder, blocks, tuple(printed))


@cache
def paths_of(file: Path, role: str) -> tuple[svgelements.Path, ...]:
    return tuple(
        svgelements.Path(str(path))
        for path in strings(etree.parse(file), f"//*[@data-role='{role}']//*[local-name()='path']/@d")
    )


def points_of(path: svgelements.Path) -> list[tuple[float, float]]:
    """A path as points close enough together for lengths and areas, mm."""
    points: list[tuple[float, float]] = []
    for part in path:
        if isinstance(part, svgelements.Move):
            points.append((part.end.x, part.end.y))
        else:
            steps = [1.0] if isinstance(part, svgelements.Line | svgelements.Close) else np.linspace(0, 1, 33)[1:]
            points += [(point.x, point.y) for point in (part.point(float(step)) for step in steps)]
    return points


def contours(walk: Walk, file: str, role: str) -> list[Polygon]:
    """The cut contours of a role in a written sheet."""
    return [Polygon(points_of(path)) for path in paths_of(walk.folder / "ferry-house-sheets" / file, role)]


def sheets(walk: Walk) -> list[tuple[str, str, int]]:
    """Name, file and copies of each sheet; how many copies the spacer needs is checked on its own."""
    found = sorted((walk.folder / "ferry-house-sheets" / "sheets").glob("*.svg"))
    made = [(path.stem.partition("-")[2] or path.stem, f"sheets/{path.name}") for path in found]
    return [(name, file, spacers_needed(walk) if name == "spacer" else 1) for name, file in made]


@cache
def wood(walk: Walk, file: str) -> BaseGeometry:
    """What the beam leaves of a sheet, from its written cut lines alone: between them, half a kerf off each."""
    rings = [ring for role in ("cut-outline", "cut-opening") for ring in contours(walk, file, role)]
    between: BaseGeometry = reduce(shapely.symmetric_difference, rings)
    return shapely.buffer(between, -walk.job.material.kerf / 2, join_style="mitre")


def drawn_path(walk: Walk, own: str) -> str:
    path = string(etree.parse(walk.folder / "drawn.svg"), f"//*[@id='{own}']/@d")
    return str(path)


def panes_of(walk: Walk) -> list[Polygon]:
    """The cut contours of the panes: of all openings of the front, those within the house."""
    house = Polygon(points_of(svgelements.Path(drawn_path(walk, "rooms"))))
    return [pane for pane in contours(walk, "sheets/03-front.svg", "cut-opening") if house.contains(pane)]


def spacers_needed(walk: Walk) -> int:
    """(b + 1) t >= screw + guard: the back sheet is the only one that surely has wood there."""
    job = walk.job
    assert job.hanging.screw is not None
    return math.ceil((job.hanging.screw + job.hanging.guard) / job.material.thickness) - 1


def count(walk: Walk) -> int:
    return sum(copies for _, _, copies in sheets(walk))


def mass(walk: Walk) -> float:
    area = sum(wood(walk, file).area * copies for _, file, copies in sheets(walk))
    return float(area * walk.job.material.thickness * 680e-6)  # kg/m3 and mm3 to g; the job gives no density


def seconds(clock: str) -> int:
    minutes, _, rest = clock.partition(":")
    return int(minutes) * 60 + int(rest)
