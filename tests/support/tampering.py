"""A folder to tamper with, and what slips, editors and strangers could do to it.

`GARDEN` is a small drawing with everything that a folder can hold: openings, marked lines and areas with holes, a
tie, a loose piece on its riser, spacers. The changes work on text, as an editor would.
"""

import re
from collections.abc import Callable

import shapely
import shapely.ops
from shapely import Polygon

from layercut.proof.paths import read_path

Change = Callable[[str], str]

GARDEN = """<svg xmlns="http://www.w3.org/2000/svg" width="120mm" height="100mm" viewBox="0 0 120 100">
<g id="sky"><rect width="120" height="100" fill="#a9cfe0"/></g>
<g id="hill">
  <path fill="#4c6c3b" fill-rule="evenodd" d="M0 60L40 50L80 58L120 52L120 100L0 100Z M50 70L62 70L62 82L50 82Z"/>
  <path fill="#5d402d" d="M70 72L80 72L80 86L70 86Z"/>
  <path d="M15 80Q30 84 45 82" fill="none" stroke="#000000" stroke-width="0.3"/>
  <path d="M14 66L44 62" fill="none" stroke="#000000" stroke-width="0.3"/>
  <g data-layercut="mark-area" fill-rule="evenodd">
    <path d="M90 62C97 62 97 72 90 72ZM91.5 64L91.5 70C94 70 94 64 91.5 64Z"/>
    <path d="M100 62L108 62L108 64L102 64L102 72L100 72Z"/>
  </g>
</g>
<g id="things">
  <path id="cloud" fill="#ffffff" d="M20 20L44 18L46 30L22 32Z"/>
  <path id="kite" fill="#c8502f" d="M85 15L97 27L85 45L73 27Z"/>
  <rect fill="#998866" width="120" height="12" y="88"/>
</g>
</svg>"""

SETTINGS = ("islands.policy=loose", "islands.pieces.things#2=tie", "hanging.screw=12mm")
SKY, HILL, THINGS = "sheets/01-sky.svg", "sheets/02-hill.svg", "sheets/03-things.svg"
SPACER, MAP = "sheets/spacer.svg", "paint/02-hill.svg"

_PATH = r"\n<path d=\"[^\"]*\"/>"


def swap(old: str, new: str, count: int = 1) -> Change:
    """Some words put in the place of others."""
    return lambda text: text.replace(old, new, count)


def exchange(one: str, other: str) -> Change:
    """Two words each in the other's place."""
    return lambda text: text.replace(one, "\0").replace(other, one).replace("\0", other)


def on_group(role: str, words: str) -> Change:
    """More attributes on the group of a role."""
    return swap(f'data-role="{role}"', f'data-role="{role}" {words}')


def paint(role: str, name: str, value: str | None) -> Change:
    """A group's paint property changed, or taken away."""
    with_it = "" if value is None else f' {name}="{value}"'
    return lambda text: re.sub(rf'(data-role="{role}"[^>]*?) {name}="[^"]*"', rf"\1{with_it}", text)


def group_of(text: str, role: str) -> str:
    """A role's group, with its paths."""
    found = re.search(rf'<g data-role="{role}".*?</g>', text, re.DOTALL)
    assert found is not None
    return found[0]


def paths_of(text: str, role: str) -> list[str]:
    """A role's paths, in order."""
    return re.findall(_PATH, group_of(text, role))


def in_group(role: str, how: Change) -> Change:
    """A change of one role's group only."""

    def change(text: str) -> str:
        group = group_of(text, role)
        return text.replace(group, how(group), 1)

    return change


def on_path(role: str, words: str, which: int = 0) -> Change:
    """More attributes on one path of a role."""
    return in_group(role, lambda group: _nth(group, which, lambda path: path.replace("<path", f"<path {words}", 1)))


def without_path(role: str, which: int = 0) -> Change:
    """One path of a role gone."""
    return in_group(role, lambda group: _nth(group, which, lambda _path: ""))


def twice(role: str, which: int = 0) -> Change:
    """One path of a role there twice."""
    return in_group(role, lambda group: _nth(group, which, lambda path: path * 2))


def emptied(role: str) -> Change:
    """All paths of a role gone."""
    return in_group(role, lambda group: re.sub(_PATH, "", group))


def with_path(role: str, data: str) -> Change:
    """One more path of a role, the first."""
    return lambda text: re.sub(rf'(data-role="{role}"[^>]*>)', rf'\1\n<path d="{data}"/>', text, count=1)


def moved(role: str, dx: float, dy: float = 0.0, which: int | None = None) -> Change:
    """All paths of a role, or one, moved."""
    return _points(role, lambda x, y: (x + dx, y + dy), which)


def mirrored(role: str, about_x: float) -> Change:
    """All paths of a role mirrored left to right."""
    return _points(role, lambda x, y: (2 * about_x - x, y), None)


def _points(role: str, how: Callable[[float, float], tuple[float, float]], which: int | None) -> Change:
    def step(match: re.Match[str]) -> str:
        x, y = how(float(match[1]), float(match[2]))
        return f"{x:.3f} {y:.3f}"

    def path(text: str) -> str:
        return re.sub(r"(-?[\d.]+) (-?[\d.]+)", step, text)

    if which is not None:
        return in_group(role, lambda group: _nth(group, which, path))
    return in_group(role, lambda group: re.sub(_PATH, lambda found: path(found[0]), group))


def _nth(group: str, which: int, how: Change) -> str:
    found = [*re.finditer(_PATH, group)][which]
    return group[: found.start()] + how(found[0]) + group[found.end() :]


def reordered(role: str) -> Change:
    """A role's paths in the reverse order."""
    return in_group(
        role,
        lambda group: (
            group.replace("".join(found := re.findall(_PATH, group)), "".join(reversed(found))) if group else group
        ),
    )


def offset(role: str, by_mm: float) -> Change:
    """All closed contours of a role grown by a distance: a kerf made up for twice, or on the wrong side."""

    def grown(found: re.Match[str]) -> str:
        (contour,) = read_path(found[0].partition(' d="')[2].partition('"')[0])
        ring = Polygon(contour.points).buffer(by_mm, join_style="mitre").exterior
        return _written(ring)

    return in_group(role, lambda group: re.sub(_PATH, grown, group))


def bridged(at: shapely.Geometry) -> Change:
    """The openings redrawn with wood left at a place, so that what was free hangs there."""

    def change(group: str) -> str:
        wood: shapely.Geometry = Polygon()
        for path in re.findall(r' d="([^"]*)"', group):
            wood = shapely.symmetric_difference(wood, Polygon(read_path(path)[0].points))
        rings = [
            ring
            for part in shapely.get_parts(shapely.difference(wood, at))
            for ring in (*part.interiors, part.exterior)
        ]
        return re.sub(r"(?s)>.*</g>", ">" + "".join(map(_written, rings)) + "\n</g>", group, count=1)

    return in_group("cut-opening", change)


def _written(ring: shapely.LinearRing) -> str:
    return '\n<path d="M' + "L".join(f"{x:.3f} {y:.3f}" for x, y in list(ring.coords)[:-1]) + 'Z"/>'


def to_and_fro(role: str) -> Change:
    """The first open line of a role led back to where it began, the way that it came."""

    def back(found: re.Match[str]) -> str:
        (contour,) = read_path(found[1])
        there = "".join(f"L{x:.3f} {y:.3f}" for x, y in contour.points[-2::-1])
        return f'd="{found[1]}{there}"'

    return in_group(role, lambda group: re.sub(r'd="([^"Z]*)"', back, group, count=1))


def shortened(role: str, which: int = 0) -> Change:
    """One line of a role cut off at its middle."""

    def half(path: str) -> str:
        (contour,) = read_path(path.partition(' d="')[2].partition('"')[0])
        line = shapely.LineString(contour.points)
        points = shapely.get_coordinates(shapely.ops.substring(line, 0, 0.5, normalized=True))
        return '\n<path d="M' + "L".join(f"{x:.3f} {y:.3f}" for x, y in points) + '"/>'

    return in_group(role, lambda group: _nth(group, which, half))


def without_hole(role: str) -> Change:
    """The holes of a role's areas filled: of each path only its first contour left."""
    return in_group(role, lambda group: re.sub(r'(d="M[^MZ]*Z)[^"]*"', r'\1"', group))


def without_map_marks(text: str, role: str) -> str:
    """A paint map without its marks of a role; without its marks at all where none is named."""
    if role:
        return re.sub(rf'<path data-role="{role}"[^>]*/>', "", text)
    return re.sub(r'(?s)<g data-part="marks".*?</g>', "", text)
