"""The colour of wood that nobody painted.

Enters: nothing. Leaves: the one constant that pictures, plans and compositing share.
"""

from layercut.colour.washes import Rgb

PLYWOOD = "#dcbc8c"
"""About the colour of birch plywood. It lies under everything, so translucent paint is composited over it."""

PLYWOOD_RGB: Rgb = (0xDC / 255, 0xBC / 255, 0x8C / 255)
