"""Every tolerance of the program, with its unit and its reason.

Enters: nothing. Leaves: constants. A tolerance that isn't here shouldn't exist.
"""

GRID_MM = 0.001
"""Fixed grid of the cell map, mm. A hundredth of a beam's width, and the last digit written to a sheet,
so that rounding on output moves nothing that the grid hasn't moved already."""

FLATTEN_MM = 0.002
"""Largest distance between a curve and its chords, mm. Ten times finer than a beam can follow; finer
flattening costs the region work next to nothing."""

OUTPUT_DECIMALS = 3
"""Digits after the point in written coordinates (mm): the grid's own."""

AREA_MM2 = 0.01
"""Regions smaller than this, mm2, are too small to cut, paint or see: a square of a tenth of a millimetre.
They are counted and reported together, never one by one."""

TILING_MM2_PER_MM = 1e-6
"""Allowed disagreement of areas that must add up, mm2 for each mm of boundary: rounding only."""

PAGE_RATIO = 0.005
"""How far a panel's proportions may be from the drawing's before scaling is refused (0.5 %)."""

MARK_MIN_MM = 0.3
"""A mark shorter than this is a burnt dot, mm; it is left out and counted."""

MARK_CLEARANCE_MM = 0.1
"""A mark nearer than this to a cut edge or to another mark is the same line for the eye, mm: about one beam width."""

MAX_COORDINATE_MM = 100_000.0
"""Beyond 100 m, a coordinate is a mistake of the drawing, not a shape; double precision on the grid
holds to far beyond."""

MAX_PANEL_MM = 10_000.0
"""The longest side of a panel, mm: three times what the largest beds take. Pictures and rows grow with it."""

NECK_SLACK_MM = 0.01
"""Wood this much narrower than the neck limit still passes, mm: what flattening, grid and round offsets leave of an
exact width."""

ARC_PIECE_DEG = 22.5
"""Largest part of an arc drawn as one cubic, degrees: off by 7e-8 of the radius, so that an arc of 20 m radius
is within the flattening tolerance."""

CUT_APART_MM = 0.02
"""What a planned gap has beyond the kerf, mm, so that the two cut lines beside it don't fall on each other."""

STROKE_DEVIATION_MM = 0.008
"""Largest deviation, mm, allowed to the edge of a stroke around bends tighter than its pen, where the exact
edge costs a hundred times as much. A twentieth of a usual kerf."""

SIGHT_MM = 0.02
"""Narrower than this nobody sees a region, mm: rounding on the grid leaves such seams between equal edges."""

FINEST_TURN_MM = 0.25
"""A gradient that repeats in less than this, mm, is seen and painted as its mean colour: a burnt line is as wide."""
