"""Small drawings made by hand, and all that the stages make of them; the reader of SVG is not involved."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from shapely import Polygon, box
from shapely.geometry.base import BaseGeometry

from layercut.findings import Finding
from layercut.geometry.regions import Region
from layercut.job import Job, load_job
from layercut.model import (
    NAMELESS,
    Called,
    Drawing,
    Layer,
    Paint,
    PaintedRegion,
    Proof,
    Role,
    Shape,
    Sheet,
    Stack,
    StackLayer,
)
from layercut.pipeline import order_sheets, plan_stack
from layercut.proof.check import check_sheets
from layercut.proof.plan import plan_from_stack
from layercut.sheets.smoothing import smooth_sheets
from layercut.sheets.svg_out import write_sheets


@dataclass(frozen=True)
class SceneRun:
    """All that one run makes of a drawing, islands or not."""

    drawing: Drawing
    job: Job
    stack: Stack
    sheets: tuple[Sheet, ...]
    findings: tuple[Finding, ...]
    proof: Proof
    files: tuple[str, ...]

    @property
    def codes(self) -> list[str]:
        """The codes of all findings, in order."""
        return [finding.code for finding in self.findings]


class Scenes:
    """Makes drawings and runs the stages on them."""

    def shape(
        self,
        geometry: BaseGeometry,
        role: Role = "wood",
        colour: str = "#aabbcc",
        element: str = "",
        called: Called = NAMELESS,
    ) -> Shape:
        return Shape(role, geometry, Paint(colour), element or f"path '{role}'", called)

    def layer(self, shapes: Iterable[Shape | BaseGeometry], name: str = "leaf") -> Layer:
        made = (
            shape
            if isinstance(shape, Shape)
            else self.shape(shape, element=f"path 's{number}'", called=Called("path", ident=f"{name}-{number + 1}"))
            for number, shape in enumerate(shapes)
        )
        return Layer(name, tuple(made))

    def drawing(self, *layers: Iterable[Shape | BaseGeometry], size: tuple[float, float] = (100.0, 100.0)) -> Drawing:
        named = tuple(self.layer(shapes, f"l{number}") for number, shapes in enumerate(layers))
        return Drawing("scene.svg", "0" * 64, *size, named)

    def ground(self, size: tuple[float, float] = (100.0, 100.0)) -> Polygon:
        """Wood for the whole panel."""
        return box(0, 0, *size)

    def job(self, *settings: str) -> Job:
        """A job that does nothing about islands, unless its settings say so: most tests look at what is drawn."""
        return load_job(None, ("islands.policy=refuse", *settings))

    def stack(self, drawing: Drawing, *settings: str) -> Stack:
        return plan_stack(drawing, self.job(*settings))

    def make(self, drawing: Drawing, *settings: str) -> SceneRun:
        job = self.job(*settings)
        stack = plan_stack(drawing, job)
        ordered, findings = order_sheets(drawing, stack, job)
        sheets = smooth_sheets(ordered, job)
        files = write_sheets(sheets, stack.panel, job)
        proof = check_sheets(files, plan_from_stack(stack, sheets, job)).proof
        told = (*stack.findings, *findings)
        return SceneRun(drawing, job, stack, sheets, told, proof, tuple(files.values()))

    def planned(
        self, wood: Region, visible: Region | None = None, painted: Sequence[PaintedRegion] = ()
    ) -> StackLayer:
        """A sheet's regions for a stage that looks at its wood and what is seen of it only."""
        seen = wood if visible is None else visible
        paints = tuple(painted)
        return StackLayer("leaf", wood, seen, Polygon(), Polygon(), wood, paints, coloured=paints)
