"""What a paint is put on.

Enters: an element, and the path that is to be filled or stroked. Leaves: `Painted`, which knows where gradients and
patterns lie there.
"""

from dataclasses import dataclass

from lxml import etree

from layercut.drawing.display_list import Context
from layercut.drawing.gradients import Place
from layercut.drawing.traversal import Traversal
from layercut.geometry.curves import Path, path_box


@dataclass(frozen=True, slots=True)
class Painted:
    """An element that uses a paint, and what is around it. `path` is None for letters."""

    traversal: Traversal
    element: etree._Element
    here: Context
    path: Path | None = None

    def place(self) -> Place:
        """Where gradients and patterns lie; without a path their box is the unit square."""
        box = (0.0, 0.0, 1.0, 1.0) if self.path is None else path_box(self.path)
        flat = box is None or box[2] <= 0 or box[3] <= 0
        return Place(self.here.matrix, self.here.viewport, self.here.style.font_size, None if flat else box)

    def note(self, statement: str, hint: str, code: str = "unsupported") -> None:
        """Say something about the paint."""
        self.traversal.report(code, self.element, self.here, statement, hint)
