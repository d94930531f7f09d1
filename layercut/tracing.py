"""A squared-up photo laid into a drawing: at which scale, where, and written back.

Enters: a drawing with its job, and the picture. Leaves: the drawing with the picture in its guide layer. `rectify`
imports this when it runs. The guide speaks of the page as drawn; where the job's panel scales the page, what is told
of scale and size is told of the panel.
"""

import math
from dataclasses import dataclass
from pathlib import Path

from lxml import etree

from layercut.drawing.css.styles import Style, read_styles
from layercut.drawing.diagnostics import Diagnostics
from layercut.drawing.document import MAX_BYTES, Document, load_document
from layercut.drawing.page import Page, read_page
from layercut.drawing.placement import own_transform
from layercut.drawing.transforms import compose, inverse
from layercut.errors import DrawingError, LayercutError
from layercut.geometry.curves import Affine
from layercut.job import Job
from layercut.output.files import check_file, write_file
from layercut.output.seal import seal_png
from layercut.reading import read_plain
from layercut.setup.measures import said_feet
from layercut.setup.rectify import Rectified
from layercut.setup.scale import parse_scale
from layercut.setup.underlay import GuideLayer, find_guide, image_element, lay_picture, matrix_text
from layercut.units import MILLIMETRES, Units, said_size


@dataclass(frozen=True, slots=True)
class Paper:
    """A drawing to lay a picture in: its bytes, its guide layer, its page (mm), and the map from mm to the layer's
    units.

    `grown` is by how much the job's panel enlarges the page, across and down; (1, 1) where it doesn't.
    """

    path: Path
    data: bytes
    guide: GuideLayer
    page_mm: tuple[float, float]
    to_user: Affine
    grown: tuple[float, float]

    @property
    def panel_ratio(self) -> float | None:
        """Real over what is cut, as the guide says it of the page; None where it doesn't."""
        return self.guide.ratio / math.sqrt(math.prod(self.grown)) if self.guide.ratio is not None else None


def read_paper(drawing: Path, job: Job) -> Paper:
    """A drawing that a picture can be laid in.

    Raises DrawingError as `compile` does, and `no-guide` where it has no guide layer, or one that can't be placed.
    """
    document = load_document(drawing)  # refuses what is no drawing, or built to exhaust a reader
    data = read_plain(drawing, MAX_BYTES)
    guide = find_guide(data, drawing.name)
    page = read_page(document.root, Job.model_validate({}), drawing.name)
    panel = read_page(document.root, job, drawing.name)
    to_user = inverse(_guide_map(document, guide, page))
    if to_user is None:
        message = "the guide layer is squeezed flat by its transform."
        raise DrawingError("no-guide", message, "Undo that in your editor.", file=drawing.name)
    grown = panel.width_mm / page.width_mm, panel.height_mm / page.height_mm
    return Paper(drawing, data, guide, (page.width_mm, page.height_mm), to_user, grown)


def ratio_of(scale: str | None, paper: Paper | None) -> float:
    """Real over what is cut: what `--scale` says, else the drawing. Raises DrawingError `no-scale`."""
    if scale is not None:
        return parse_scale(scale).ratio
    if paper is not None and paper.panel_ratio is not None:
        return paper.panel_ratio
    hint = "Give it with --scale, such as 1:48."
    if paper is None:
        raise DrawingError("no-scale", "without a drawing, nothing says the scale.", hint, file="--scale")
    raise DrawingError("no-scale", "its guide layer doesn't say its scale.", hint, file=paper.path.name)


def walls_of(paper: Paper | None) -> tuple[float, float]:
    """The walls' real width and height that the drawing's guide tells, mm. Raises DrawingError `no-scale`."""
    if paper is not None and paper.guide.walls_mm is not None and paper.guide.ratio is not None:
        _, _, width, height = paper.guide.walls_mm
        if min(width, height) > 0:
            return width * paper.guide.ratio, height * paper.guide.ratio
    message = "nothing says how large the wall is." if paper is None else "its guide layer says no walls' size."
    file = "--size" if paper is None else paper.path.name
    raise DrawingError("no-scale", message, 'Give it with --size, such as "36ft x 18ft".', file=file)


def walls_line(paper: Paper | None, size_mm: tuple[float, float], units: Units = MILLIMETRES) -> str:
    """What is to be said of a size that the drawing told."""
    width, height = (units.told(said_feet(side)) for side in size_mm)
    return f"the wall is {width} wide and {height} high to the eaves, as {paper.path.name} has it" if paper else ""


def growth_line(paper: Paper | None, units: Units = MILLIMETRES) -> str:
    """What is to be said of a job whose panel isn't the page; empty where it is."""
    if paper is None or max(abs(grown - 1) for grown in paper.grown) < 1e-6:
        return ""
    wide, high = (side * grown for side, grown in zip(paper.page_mm, paper.grown, strict=True))
    said = f"; its 1:{paper.guide.ratio:.4g} is 1:{paper.panel_ratio:.4g} there" if paper.guide.ratio else ""
    panel = units.told(said_size(wide, high))
    return (
        f"the job's panel of {panel} makes the drawing {math.sqrt(math.prod(paper.grown)):.4g} "
        f"times as large as it is drawn{said}"
    )


def put_picture(
    made: Rectified, paper: Paper | None, corner_mm: tuple[float, float] | None, out: Path | None, *, force: bool
) -> None:
    """Write the picture to its file, its drawing, or both; `corner_mm` is where its lower left one goes on the
    panel. Raises OutputError `file-exists` for another's file, unless `force`.
    """
    if out is not None:
        check_file(out, force=force)
    if paper is not None:
        grown = paper.grown
        wide, high = made.drawn_mm[0] / grown[0], made.drawn_mm[1] / grown[1]
        if corner_mm is None:
            left, bottom = paper.guide.standing_mm((wide, high), paper.page_mm)
        else:
            left, bottom = corner_mm[0] / grown[0], corner_mm[1] / grown[1]
        image = image_element(made.png, (left, bottom - high, wide, high), matrix_text(paper.to_user))
        data = lay_picture(paper.data, paper.guide, image)
        if len(data) > MAX_BYTES:
            message = f"with the picture, the drawing would be larger than {MAX_BYTES // 2**20} MB."
            raise LayercutError("photo-size", message, "Lower --dpi.", file=paper.path.name)
        write_file(paper.path, data)
    if out is not None:
        write_file(out, seal_png(made.png))


def _guide_map(document: Document, guide: GuideLayer, page: Page) -> Affine:
    """The map from the guide layer's units to mm on the page, whether attributes or style sheets say it."""
    styles = read_styles(document, Diagnostics())
    matrix, style = page.to_panel, Style()
    for element in _line_of(document.root, guide.number):
        style = style.child(styles.declared(element))
        if element is document.root:
            continue
        own, problem = own_transform(element, style, page.viewport)
        if problem:
            message = f"the guide layer is placed by what layercut can't follow: {problem}."
            raise DrawingError("no-guide", message, "Apply the transform in your editor.", file=document.file)
        matrix = compose(matrix, own)
    return matrix


def _line_of(root: etree._Element, number: int) -> list[etree._Element]:
    """The element of that number in the document's order, after those it lies in, the root first."""
    own = next(element for place, element in enumerate(root.iter("*")) if place == number)
    return [*reversed(list(own.iterancestors())), own]
