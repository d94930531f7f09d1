"""The shapes of a layer that is drawn in lines.

Enters: the layer's items. Leaves: its shapes: first the wood that its lines enclose, then fills as wood and every
line as a mark, however thick it is drawn. Marks along the cut edge fall away later, as in any layer.
"""

import math
from collections.abc import Sequence
from dataclasses import replace

from layercut.colour.bare import PLYWOOD
from layercut.drawing.diagnostics import Diagnostics
from layercut.drawing.display_list import Item
from layercut.drawing.linework.faces import enclose
from layercut.drawing.render import Rules, render
from layercut.job_tables import LayerJob
from layercut.model import NAMELESS, Paint, Shape


def render_lines(
    items: Sequence[Item], way: LayerJob, rules: Rules, diagnostics: Diagnostics, layer: str
) -> tuple[Shape, ...]:
    """The shapes of a layer whose wood is what its lines enclose.

    Raises DrawingError as `render` does.
    """
    rules = replace(rules, line_below_mm=math.inf)
    shapes = render(items, rules, diagnostics, layer)
    work = render([replace(item, fill=None) for item in items if _is_work(item, rules)], rules, diagnostics, layer)
    face = enclose(work, way.gap, layer)
    for finding in face.findings:
        diagnostics.place(finding)
    if face.region.is_empty:
        return shapes
    element = work[0].element if len(work) == 1 else f"{work[0].element} and {len(work) - 1} more lines"
    # Behind everything else of the layer: wood that came later would lie over the marks.
    called = work[0].called if len(work) == 1 else NAMELESS
    return (Shape("wood", face.region, _paint(shapes, way), element, called), *shapes)


def _is_work(item: Item, rules: Rules) -> bool:
    """True for plain lines; a dashed one, and one that is named or painted to be something, bounds nothing."""
    return item.stroke is not None and not item.pen.dashes and rules.role_of(item, item.stroke) is None


def _paint(shapes: Sequence[Shape], way: LayerJob) -> Paint:
    if way.paint is not None:
        return Paint(way.paint)
    return next((shape.paint for shape in shapes if shape.role == "wood"), Paint(PLYWOOD))
