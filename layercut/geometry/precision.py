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

SIMPLIFY_MM = 0.008
"""Largest deviation, mm, of a written cut line from its flattened outline when vertices that add nothing
are left out. With flattening it stays within 0.01 mm, a fifteenth of a usual kerf."""

AREA_MM2 = 0.01
"""Regions smaller than this, mm2, are too small to cut, paint or see: a square of a tenth of a millimetre.
They are counted and reported together, never one by one."""

TILING_MM2_PER_MM = 1e-6
"""Allowed disagreement of areas that must add up, mm2 for each mm of boundary: rounding only."""

PAGE_RATIO = 0.005
"""How far a panel's proportions may be from the drawing's before scaling is refused (0.5 %)."""

MARK_MIN_MM = 0.3
"""A mark shorter than this is a burnt dot, mm; it is left out and counted."""

JOIN_MM = 0.002
"""Ends of marks nearer than this, mm, are one point: two grid steps."""

MAX_COORDINATE_MM = 100_000.0
"""Beyond 100 m, a coordinate is a mistake of the drawing, not a shape; double precision on the grid
holds to far beyond."""
