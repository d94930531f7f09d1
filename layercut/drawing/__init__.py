"""SVG in, `Drawing` out: the reader.

Enters: a file. Leaves: `Drawing`, in mm on the panel. `layers.py` has the way through it; `walk.py` goes over the
tree, and `render.py` makes shapes of what that finds. `css/` has styles, `lettering/` live text, `linework/` layers
that are drawn in lines.
"""

from layercut.drawing.curve_cache import CurveCache
from layercut.drawing.layers import read_drawing

__all__ = ["CurveCache", "read_drawing"]
