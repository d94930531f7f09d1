"""The values that pass between stages, all frozen.

Enters: nothing but geometry's and the job's words. Leaves: `Drawing` (what was drawn), `Stack` (what each sheet is
made of), `Sheet` (what the machine does), `Boards` (what lies on each board), `Planned`, `Cut` and `Made` (all that
is known by then). All lengths are mm; the origin is the panel's top left corner, x to the right, y down. Layers and
sheets are in order, 0 the back.
"""

from layercut.model.boards import BoardCuts, BoardLayout, BoardPart, BoardPlan, Boards
from layercut.model.build import Build, Cut, Made, Planned, Proof, sheets_of
from layercut.model.drawing import NAMELESS, Called, Drawing, Layer, Paint, Role, Shape
from layercut.model.sheets import OrderedSheet, Sheet, SheetCurves, Strip, spacer_count, spacer_woods, strip_name
from layercut.model.stack import (
    Choice,
    Guest,
    Island,
    LoosePiece,
    PaintedRegion,
    Panel,
    Price,
    Stack,
    StackLayer,
    Tie,
    WayOut,
)

__all__ = [
    "NAMELESS",
    "BoardCuts",
    "BoardLayout",
    "BoardPart",
    "BoardPlan",
    "Boards",
    "Build",
    "Called",
    "Choice",
    "Cut",
    "Drawing",
    "Guest",
    "Island",
    "Layer",
    "LoosePiece",
    "Made",
    "OrderedSheet",
    "Paint",
    "PaintedRegion",
    "Panel",
    "Planned",
    "Price",
    "Proof",
    "Role",
    "Shape",
    "Sheet",
    "SheetCurves",
    "Stack",
    "StackLayer",
    "Strip",
    "Tie",
    "WayOut",
    "sheets_of",
    "spacer_count",
    "spacer_woods",
    "strip_name",
]
