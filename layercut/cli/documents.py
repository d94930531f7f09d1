"""The JSON documents of the commands, as types.

Enters: plain values. Leaves: a document that has been held against its type, and the JSON Schema of each, which
docs/generate.py writes to docs/NAME.schema.json. The manifest, which `compile` and `check` print, has its own.
"""

import json
from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field, TypeAdapter

from layercut.cli.printing import utf8, write_result
from layercut.proof.failures import FAILURES

FORMAT = 1
"""Version of the JSON documents of these commands. A change that could break a reader raises it."""

Length = Annotated[float, Field(allow_inf_nan=False, description="mm")]
Share = Annotated[float, Field(ge=0, le=1, description="from 0 to 1")]
Place = Annotated[tuple[float, float] | None, Field(description="mm from the panel's top left corner, x and y")]


class _Document(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True)


class _Top(_Document):
    format: Literal[1] = Field(description="Version of this document.")


class PieceFound(_Document):
    """A piece that comes off the bed beside the framed one."""

    id: str = Field(description="the manifest's name for it; empty where it has none")
    area_mm2: float = Field(ge=0)
    at_mm: tuple[float, float]


class SheetFound(_Document):
    """What cutting one sheet leaves: how many pieces hold its frame (one, if all is well), and what comes loose."""

    file: str
    pieces_on_frame: int = Field(ge=0)
    loose: tuple[PieceFound, ...]


class ProblemTold(_Document):
    """One thing that doesn't hold."""

    code: str = Field(json_schema_extra={"enum": list(FAILURES)}, description="docs/messages.md explains each.")
    message: str
    file: str = Field(description="within the folder; empty where it is the folder itself")
    at_mm: Place
    size: float | None = Field(description="an area in mm2 or a length in mm, as the message says")


class VerifyDocument(_Top):
    """What `layercut verify --json` prints."""

    folder: str
    holds: bool = Field(description="whether nothing is wrong")
    sheets: tuple[SheetFound, ...]
    problems: tuple[ProblemTold, ...]


class MeasureTold(_Document):
    """A real length and its standard uncertainty, mm."""

    mm: Length
    plus_minus_mm: Annotated[float, Field(ge=0)]


class HouseTold(_Document):
    """The real sizes of the house."""

    width: MeasureTold
    storeys: int = Field(ge=1)
    storey_height: MeasureTold
    foundation: MeasureTold
    roof: MeasureTold
    height: MeasureTold
    assumed: tuple[str, ...] = Field(description="what nobody measured, with the rule that it comes from")


class PanelTold(_Document):
    """The panel, mm."""

    width_mm: Length
    height_mm: Length
    frame_mm: Length


class ScaleTold(_Document):
    """A scale, how large the house is in it, and how well it fills the panel."""

    name: str
    ratio: float = Field(gt=0, description="real over drawn")
    kind: str
    width_mm: Length
    plus_minus_mm: Length
    height_mm: Length
    fits: bool
    unused: float = Field(description="share of the room inside frame and margin that stays free")


class StartDocument(_Top):
    """What `layercut start --json` prints."""

    drawing: str
    job: str
    house: HouseTold
    panel: PanelTold
    scale: ScaleTold
    scales: tuple[ScaleTold, ...]
    filling_ratio: float = Field(gt=0, description="the scale that would fill the panel")
    ground_mm: Length
    left_mm: Length
    layers: tuple[str, ...]


class PictureTold(_Document):
    """The squared-up picture."""

    width_mm: Length
    height_mm: Length
    width_px: int = Field(ge=1)
    height_px: int = Field(ge=1)
    ratio: float = Field(gt=0, description="real over drawn")


class PhotoTold(_Document):
    """A photo, and how far a pixel's slip of each corner moves the wall, mm."""

    file: str
    slip_on_wall_mm: dict[str, float]


class CheckTold(_Document):
    """A spot whose place was measured, and how far the picture has it from there, mm on the wall."""

    file: str
    at_px: tuple[float, float]
    right_on_wall_mm: float
    down_on_wall_mm: float


class OverlapTold(_Document):
    """How well two views of the wall agree; differences of shade are out of 255."""

    share: Share
    mean_difference: float = Field(ge=0)
    differing: Share
    worst_difference: float = Field(ge=0)
    worst_at_mm: tuple[float, float]


class RectifyDocument(_Top):
    """What `layercut rectify --json` prints."""

    picture: PictureTold
    photos: tuple[PhotoTold, ...] = Field(min_length=1)
    checks: tuple[CheckTold, ...]
    unseen: Share
    hidden: Share
    overlap: OverlapTold | None


class CouponDocument(_Top):
    """What `layercut coupon --json` prints of a test piece that it wrote."""

    file: str
    length_mm: Length
    blocks: int = Field(ge=1)


class KerfDocument(_Top):
    """What `layercut coupon --measured --json` prints."""

    kerf_mm: Annotated[float, Field(gt=0)]
    plus_minus_mm: Annotated[float, Field(ge=0)]
    formula: str
    machine_error: float | None = Field(description="share by which the machine draws too large; negative: too small")


class ErrorTold(_Document):
    """Why nothing was done, and where."""

    code: str = Field(description="docs/messages.md explains each.")
    message: str
    hint: str | None
    file: str | None
    layer: str | None
    element: str | None


class ErrorDocument(_Top):
    """What any command with `--json` prints when it refuses, with exit code 2 or 70."""

    error: ErrorTold


DOCUMENTS: dict[str, Any] = {
    "verify": VerifyDocument,
    "start": StartDocument,
    "rectify": RectifyDocument,
    "coupon": CouponDocument | KerfDocument,
    "error": ErrorDocument,
}
"""The document that each command prints; `error` is that of all."""


def print_document(kind: type[_Top], values: dict[str, Any]) -> None:
    """One JSON document on standard output, its format first, once it is what its type says."""
    write_result(utf8(document_text(kind, values)))


def document_text(kind: type[_Top], values: dict[str, Any]) -> str:
    """The text of a document, with a newline at the end. Raises pydantic's ValidationError where it isn't one."""
    document = kind.model_validate({"format": FORMAT, **values})
    return json.dumps(document.model_dump(mode="json"), indent=2, ensure_ascii=False, allow_nan=False) + "\n"


def document_schemas() -> dict[str, dict[str, Any]]:
    """The JSON Schema of every command's document, by the command."""
    return {name: _schema(name, kind) for name, kind in DOCUMENTS.items()}


def _untitled(node: Any) -> Any:
    """A schema without the titles that only repeat the keys."""
    if isinstance(node, list):
        return [_untitled(inner) for inner in node]
    if not isinstance(node, dict):
        return node
    return {key: _untitled(inner) for key, inner in node.items() if key != "title" or not isinstance(inner, str)}


def _schema(name: str, kind: Any) -> dict[str, Any]:
    schema = _untitled(TypeAdapter(kind).json_schema(mode="serialization"))
    head = {"$schema": "https://json-schema.org/draft/2020-12/schema", "title": f"layercut {name}"}
    return {**head, **schema}
