"""Whether a drawing has depth at all.

Enters: a `Drawing`. Leaves: a finding for one that has none.
"""

from layercut.findings import Finding
from layercut.model import Drawing


def depth_findings(drawing: Drawing) -> tuple[Finding, ...]:
    """A word for a drawing of one layer, whose stack is a plain picture; none for any other."""
    if len(drawing.layers) != 1:
        return ()
    (layer,) = drawing.layers
    message = (
        "the drawing has this layer only, and a stack of one sheet is a plain picture. For depth, put what lies "
        "deeper and what lies in front into top-level groups of their own, from back to front."
    )
    return (Finding("single-layer", "info", message, layer.name),)
