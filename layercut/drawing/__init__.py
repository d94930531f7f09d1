"""SVG in, `Drawing` out: the reader.

Enters: a file. Leaves: `Drawing`, in mm on the panel. `layers.py` has the way through it.
"""

from layercut.drawing.curve_cache import CurveCache
from layercut.drawing.layers import read_drawing

__all__ = ["CurveCache", "read_drawing"]
