"""The manifest of a folder: read, and held against itself.

Enters: its text. Leaves: a `Manifest`, and problems where figures that hang together don't: how many of each sheet,
how thick they are, how many spacers, how deep the stack is. Only the outside contract is known.
"""

import json
from collections.abc import Iterator
from typing import Annotated, Literal

from pydantic import BaseModel, Field, ValidationError

from layercut.errors import DrawingError
from layercut.proof.failures import ProofFailure
from layercut.proof.looks import Colours, rgb
from layercut.units import UnitName, said_mass, said_mm, said_number

NAME = "manifest.json"

FORMAT = 1
"""The version of the manifest that is read here."""

PAGES = ("stack.png", "stack.svg", "traveller.html")
"""The files of every folder beside sheets and paint maps."""

LABEL = "LABEL.svg"
"""The file of a folder whose job asked for a label for the back."""

DIGIT = 0.6e-3
"""Figures with three decimals agree to this, whatever was rounded."""

GRAMS, GRAMS_SHARE = 0.06, 2e-4
"""Masses agree to this, g, and to this share: they have one decimal, the density too."""

SHARE = 1e-3
"""Shares of wood agree to this: they have four decimals, the areas three."""

Place = tuple[float, float]
Size = Annotated[float, Field(ge=0, le=1e6, allow_inf_nan=False)]
Signed = Annotated[float, Field(ge=-1e6, le=1e6, allow_inf_nan=False)]
Area = Annotated[float, Field(ge=0, le=1e12, allow_inf_nan=False)]
Count = Annotated[int, Field(ge=0, le=1_000_000)]


class _Tie(BaseModel):
    at_mm: Place
    width_mm: Size


class _Piece(BaseModel):
    id: str
    area_mm2: Area
    centre_mm: Place


class _Strip(BaseModel):
    number: Count
    spacer: Count
    at_mm: Place
    area_mm2: Area
    pins: Count
    turned_deg: Annotated[float, Field(ge=-1e6, le=1e6, allow_inf_nan=False)]
    moved_mm: Place


class _Sheet(BaseModel):
    name: str
    kind: Literal["layer", "spacer"]
    file: Annotated[str, Field(pattern=r"^sheets/[^/\\]+\.svg$")]
    copies: Count
    wood_mm2: Area
    cut_mm: Annotated[float, Field(ge=0, le=1e9, allow_inf_nan=False)]
    mark_mm: Annotated[float, Field(ge=0, le=1e9, allow_inf_nan=False)]
    mark_mm2: Area
    ties: tuple[_Tie, ...]
    loose: tuple[_Piece, ...]
    strips: tuple[_Strip, ...] = ()


class _Drawing(BaseModel):
    file: Annotated[str, Field(pattern=r"^[^/\\]+$")]
    sha256: Annotated[str, Field(pattern=r"^[0-9a-f]{64}$")]


class _Panel(BaseModel):
    width_mm: Size
    height_mm: Size
    frame_mm: Size


class _Material(BaseModel):
    thickness_mm: Annotated[float, Field(gt=0, le=1e6, allow_inf_nan=False)]
    kerf_mm: Size


class _Hanging(BaseModel):
    spacers: Count
    spacer_width_mm: Size
    depth_mm: Size
    density_kg_m3: Size
    mass_g: Area


class _Time(BaseModel):
    name: str
    copies: Count


class _Times(BaseModel):
    sheets: tuple[_Time, ...]


class _Boards(BaseModel):
    panels: Count


class _Merged(BaseModel):
    colour: Annotated[str, Field(pattern=r"^#[0-9a-f]{6}$")]
    difference: Annotated[float, Field(ge=0, le=1e3, allow_inf_nan=False)]


class _Colour(BaseModel):
    number: Count
    colour: Annotated[str, Field(pattern=r"^#[0-9a-f]{6}$")]
    finish: Literal["paint", "stain"]
    visible_mm2: Area
    merged: tuple[_Merged, ...] = ()


class _Paint(BaseModel):
    merge: Annotated[float, Field(ge=0, le=1e3, allow_inf_nan=False)] = 0.0
    most: Count | None = None
    colours: tuple[_Colour, ...]


class _Work(BaseModel):
    paint: _Paint
    hanging: _Hanging
    times: _Times
    material: _Boards


class _Proof(BaseModel):
    pieces_planned: Count
    pieces_found: Count


class _File(BaseModel):
    file: Annotated[str, Field(pattern=r"^(?:(?:sheets|paint|boards)/)?[^/\\]+$")]
    sha256: Annotated[str, Field(pattern=r"^[0-9a-f]{64}$")]


class _BoardPart(BaseModel):
    part: str
    sheet: Annotated[str, Field(pattern=r"^sheets/[^/\\]+\.svg$")]
    piece: str | None
    at_mm: tuple[Signed, Signed]
    turned_deg: Literal[0, 90, 180, 270]


class _Board(BaseModel):
    file: Annotated[str, Field(pattern=r"^boards/[^/\\]+\.svg$")]
    width_mm: Annotated[float, Field(gt=0, le=1e6, allow_inf_nan=False)]
    height_mm: Annotated[float, Field(gt=0, le=1e6, allow_inf_nan=False)]
    parts: tuple[_BoardPart, ...]
    waste_share: Annotated[float, Field(ge=-1, le=1, allow_inf_nan=False)]


class _BoardPlan(BaseModel):
    gap_mm: Size


class _Roles(BaseModel):
    mark_area: str
    mark_line: str
    cut_opening: str
    cut_outline: str


class _Page(BaseModel):
    units: UnitName = "mm"


class Manifest(BaseModel):
    """What of the manifest the proof needs."""

    format: int
    drawing: _Drawing
    panel: _Panel
    material: _Material
    page: _Page = _Page()
    roles: _Roles
    sheets: tuple[_Sheet, ...]
    proof: _Proof | None
    work: _Work | None
    files: tuple[_File, ...]
    boards: tuple[_Board, ...] = ()
    board_plan: _BoardPlan | None = None

    @property
    def colours(self) -> Colours:
        """The colour of each role."""
        return {name.replace("_", "-"): colour for name, colour in self.roles.model_dump().items()}

    @property
    def layers(self) -> tuple[str, ...]:
        """The files of the sheets that have a paint map, back to front."""
        return tuple(sheet.file for sheet in self.sheets if sheet.kind == "layer")


def read_manifest(text: str, folder: str) -> Manifest:
    """The manifest of a folder. Raises DrawingError when it isn't one of this format."""
    try:
        manifest = Manifest.model_validate(json.loads(text))
    except (ValueError, RecursionError) as error:
        where = ".".join(str(part) for part in error.errors()[0]["loc"]) if isinstance(error, ValidationError) else ""
        what = f"a manifest whose '{where}' can't be" if where else "a manifest.json that isn't one"
        raise DrawingError("folder-unreadable", f"holds {what}.", "Compile it again.", file=folder) from None
    if manifest.format != FORMAT:
        raise DrawingError(
            "folder-unreadable",
            f"is of format {manifest.format}; this version of layercut reads format {FORMAT}.",
            "Compile it again.",
            file=folder,
        )
    return manifest


def map_name(sheet_file: str) -> str:
    """The paint map of a sheet."""
    return f"paint/{sheet_file.rpartition('/')[2]}"


def check_manifest(manifest: Manifest) -> Iterator[ProofFailure]:
    """Whether the manifest agrees with itself."""
    for message in _disagreements(manifest):
        yield ProofFailure("manifest-differs", f"{message}.", NAME)


def _disagreements(manifest: Manifest) -> Iterator[str]:
    yield from _about_names(manifest)
    yield from _about_copies(manifest)
    yield from _about_boards(manifest)
    if manifest.work is not None:
        yield from _about_work(manifest, manifest.work)
    if manifest.sheets and (manifest.work is None or manifest.proof is None):
        yield "has sheets without " + ("their work" if manifest.work is None else "their proof")
    proof = manifest.proof
    if proof is not None and proof.pieces_planned != proof.pieces_found:
        yield f"says that {proof.pieces_found} pieces were found where {proof.pieces_planned} were planned"


def _about_names(manifest: Manifest) -> Iterator[str]:
    seen = [rgb(colour) for colour in manifest.colours.values()]
    if None in seen or len(set(seen)) < len(seen):
        yield f"has the role colours {', '.join(manifest.colours.values())}, which a machine can't tell apart"
    files = [sheet.file for sheet in manifest.sheets]
    if twice := sorted({file for file in files if files.count(file) > 1}):
        yield f"names the sheet {twice[0]} twice"
    named = [one.file for one in manifest.files]
    if twice := sorted({file for file in named if named.count(file) > 1}):
        yield f"names the file {twice[0]} twice"
    boards = [board.file for board in manifest.boards]
    if twice := sorted({file for file in boards if boards.count(file) > 1}):
        yield f"names the board {twice[0]} twice"
    expected = {*files, *boards, *map(map_name, manifest.layers), *PAGES}
    if unnamed := sorted(expected - set(named)):
        yield f"doesn't name {unnamed[0]} among its files, so that nothing tells whether it was replaced"
    if unknown := sorted(set(named) - expected - {LABEL}):
        yield f"names {unknown[0]} among its files, which is no file of its sheets or boards"


def _about_copies(manifest: Manifest) -> Iterator[str]:
    for sheet in manifest.sheets:
        if sheet.kind == "layer" and sheet.copies != 1:
            yield f"says {sheet.copies} copies of {sheet.file}, where a layer has one"
        if sheet.kind == "spacer" and not sheet.copies:
            yield f"says no copy of {sheet.file}"
        if sheet.strips and sheet.copies != 1:
            yield f"says {sheet.copies} copies of {sheet.file}, where a board of strips has one"
    kinds = [sheet.kind for sheet in manifest.sheets]
    if kinds != sorted(kinds):
        yield "has a layer's sheet behind a spacer"


def _about_boards(manifest: Manifest) -> Iterator[str]:
    if (manifest.board_plan is None) == bool(manifest.boards):
        yield "has boards without their plan" if manifest.boards else "has a plan of boards without boards"
    files = {sheet.file: sheet for sheet in manifest.sheets}
    for board in manifest.boards:
        wood = 0.0
        for part in board.parts:
            if part.sheet not in files:
                yield f"cuts {part.part} of {board.file} from {part.sheet}, which is no sheet"
                continue
            sheet = files[part.sheet]
            areas = {piece.id: piece.area_mm2 for piece in sheet.loose}
            areas |= {f"strip {strip.number}": strip.area_mm2 for strip in sheet.strips}
            if part.piece is not None and part.piece not in areas:
                yield f"says that {part.part} of {board.file} is {part.piece}, which {part.sheet} doesn't have"
            wood += sheet.wood_mm2 if part.piece is None else areas.get(part.piece, 0.0)
        share = 1 - wood / (board.width_mm * board.height_mm)
        if abs(board.waste_share - share) > SHARE:
            yield f"says that {board.waste_share:g} of {board.file} is wasted, where its parts leave {share:.4f}"


def _about_work(manifest: Manifest, work: _Work) -> Iterator[str]:
    sheets, thick = manifest.sheets, manifest.material.thickness_mm
    boards = [sheet for sheet in sheets if sheet.strips]
    glued = {strip.spacer for sheet in boards for strip in sheet.strips}
    spacers = sum(sheet.copies for sheet in sheets if sheet.kind == "spacer" and not sheet.strips) + len(glued)
    if work.hanging.spacers != spacers:
        yield f"says {work.hanging.spacers} spacers to hang on, and {spacers} to cut"
    copies = sum(sheet.copies for sheet in sheets)
    if work.material.panels != copies:
        yield f"says {work.material.panels} panels of wood for {copies} sheets with their copies"
    timed = [(one.name, one.copies) for one in work.times.sheets]
    for (name, count), sheet in zip(timed, sheets, strict=False):
        if (name, count) != (sheet.name, sheet.copies):
            yield f"reckons the time of {count} of '{name}' where {sheet.file} is {sheet.copies} of '{sheet.name}'"
    if len(timed) != len(sheets):
        yield f"reckons the time of {len(timed)} sheets where there are {len(sheets)}"
    yield from _about_pots(work.paint)
    deep = copies - sum(sheet.copies for sheet in boards) + len(glued)
    depth = thick * deep
    if abs(work.hanging.depth_mm - depth) > DIGIT * max(deep, 1):
        told, each, made = said_mm(work.hanging.depth_mm, "g"), said_mm(thick, "g"), said_number(depth, "g")
        yield f"says a stack {told} deep, where {deep} sheets of {each} make {made}"
    wood = sum(sheet.copies * sheet.wood_mm2 for sheet in sheets)
    grams = wood * thick * work.hanging.density_kg_m3 * 1e-6
    if abs(work.hanging.mass_g - grams) > GRAMS + GRAMS_SHARE * grams:
        yield f"says a mass of {said_mass(work.hanging.mass_g)}, where its wood makes {said_mass(grams, '.1f', '')}"


def _about_pots(paint: _Paint) -> Iterator[str]:
    """Whether each colour is painted in one way. What is stained keeps its colour, so the same may be painted too."""
    numbers = [colour.number for colour in paint.colours]
    if numbers != list(range(1, len(numbers) + 1)):
        yield "doesn't number its paints from 1 on"
    merged = [one.colour for colour in paint.colours for one in colour.merged]
    if twice := sorted({colour for colour in merged if merged.count(colour) > 1}):
        yield f"paints {twice[0]} from two pots"
    stained = {colour.colour for colour in paint.colours if colour.finish == "stain"}
    kept = {colour.colour for colour in paint.colours if colour.finish == "paint"} - stained
    if both := sorted(kept & set(merged)):
        yield f"paints {both[0]} from the pot of another colour, and from one of its own"
