"""Path data, where the standard leaves a reader alone with its rounding."""

import shapely

from layercut.drawing.pathdata import parse_path
from layercut.geometry.curves import chord_counts, flatten, place
from layercut.geometry.strokes import StrokeStyle, stroke_region


def test_a_relative_path_that_comes_back_but_for_rounding_is_closed_there() -> None:
    """Its steps add up to its start but for the last digits; a closing line of that length would have any direction,
    and its corner a spike of four widths under a pen."""
    blob = "M51.483 30.639c1.173 0 2.124.949 2.124 2.12 0 7.933-6.445 14.365-14.395 14.365"
    blob += "a2.122 2.122 0 0 1-2.124-2.12c0-1.17.95-2.119 2.124-2.119 5.604 0 10.147-4.534 10.147-10.126"
    path, good = parse_path(blob + " 0-1.171.95-2.12 2.124-2.12z")
    assert good
    assert not path.straight[-1]
    assert (path.segments[-1, 3] == path.segments[0, 0]).all()
    spike = shapely.Point(49.44, 29.69)
    placed = place([path], [(1, 0, 0, 1, 0, 0)])
    (lines,) = flatten([path], placed, chord_counts([path], placed))
    assert stroke_region(lines, StrokeStyle(2.0)).distance(spike) > 0.1


def test_rounded_digits_make_no_spike_under_a_pen() -> None:
    """A drop whose steps of four digits end 0.0004 from its start: less than the grid, but a corner to a pen."""
    drop = "M44.5416,46.2169a3.6376,3.6376,0,0,1-1.1052-2.5764c-.0405-3.2205,2.9651-6.34,3.0929-6.4712"
    drop += "a.6891.6891,0,0,1,.9748-.0123c.1313.1281,3.2143,3.1713,3.2555,6.3924a3.6626,3.6626,0,0,1-6.2183,2.6673Z"
    path, _ = parse_path(drop)
    placed = place([path], [(1, 0, 0, 1, 0, 0)])
    (lines,) = flatten([path], placed, chord_counts([path], placed))
    stroke = stroke_region(lines, StrokeStyle(2.0, miter_limit=10.0))
    within_reach = shapely.buffer(shapely.LineString(lines[0].points), 1.0)
    assert shapely.difference(stroke, within_reach).area < 0.01
