"""What svgelements would make of the values that the reader reads itself, and what it would cost.

    python tests/bench/own_values.py

Says how much longer svgelements takes for the lengths, transform lists, viewBoxes, arcs and basic shapes of the mill,
beside reading the mill; how many drawings would read otherwise in any digit if it mapped viewBoxes; and of how many
values that the reader's tests ask for it makes the same (`-v` lists the others). The figures are in docs/design.md,
"Reading".
"""

import hashlib
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from functools import partial
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import shapely
import svgelements

from layercut.drawing.document import local_name

sys.path.insert(0, str(Path(__file__).parents[1] / "support"))
from open_drawings import open_drawings

from layercut.drawing import page, read_drawing, shapes, transforms, units
from layercut.drawing.pathdata import parse_path
from layercut.errors import LayercutError
from layercut.geometry.curves import Path as Curves
from layercut.geometry.curves import PathBuilder
from layercut.job import Job, load_job

ROOT = Path(__file__).parents[2]
TESTS = [
    "tests/drawing",
    "tests/bad_input/test_harmful_values.py",
    *(f"tests/outside/test_{name}.py" for name in ("svg_units", "svg_render_cases", "svg_against_renderer")),
    *(f"tests/outside/test_{name}.py" for name in ("drawing_support", "text_outlines")),
]
SHAPES = {
    "rect": svgelements.Rect,
    "circle": svgelements.Circle,
    "ellipse": svgelements.Ellipse,
    "line": svgelements.SimpleLine,
    "polyline": svgelements.Polyline,
    "polygon": svgelements.Polygon,
}
SIZES = ("x", "y", "width", "height", "rx", "ry", "cx", "cy", "r", "x1", "y1", "x2", "y2", "points")
NEAR = 2e-3
"""Outlines that are apart by no more than this share of their size are the same: curves are sampled for it."""

Call = tuple[Any, ...]


@contextmanager
def replaced(function: Callable[..., Any], other: Callable[..., Any]) -> Iterator[None]:
    """Every module of layercut has the other function in place of this one."""
    modules = [module for name, module in sys.modules.items() if name.split(".")[0] == "layercut"]
    places = [(module, name) for module in modules for name, value in vars(module).items() if value is function]
    for module, name in places:
        setattr(module, name, other)
    try:
        yield
    finally:
        for module, name in places:
            setattr(module, name, function)


@contextmanager
def recorded() -> Iterator[dict[str, list[Call]]]:
    """The calls for each kind of value, in order."""
    calls: dict[str, list[Call]] = {kind: [] for kind in THEIRS}
    whole_arc = PathBuilder.arc

    def watched(kind: str, function: Callable[..., Any], *given: Any) -> Any:
        calls[kind].append(given)
        return function(*given)

    def arc(pen: PathBuilder, *given: Any) -> None:
        calls["arc"].append(((pen.x, pen.y), given))
        whole_arc(pen, *given)

    def shape(element: Any, style: Any, viewport: units.Viewport, parse: Any) -> Any:
        kind = local_name(element)
        if kind in SHAPES:
            said = {name: str(style.own.get(name) or element.get(name) or "") for name in SIZES}
            said = {name: value for name, value in said.items() if value}
            calls["shape"].append((kind, tuple(said.items()), viewport, style.font_size, element, style))
        return own_shape(element, style, viewport, parse)

    own_shape = shapes.shape_path
    with (
        replaced(units.parse_length, partial(watched, "length", units.parse_length)),
        replaced(transforms.parse_transform, partial(watched, "transform", transforms.parse_transform)),
        replaced(page.viewbox_map, partial(watched, "viewBox", page.viewbox_map)),
        replaced(own_shape, shape),
    ):
        PathBuilder.arc = arc  # type: ignore[method-assign, assignment]
        try:
            yield calls
        finally:
            PathBuilder.arc = whole_arc  # type: ignore[method-assign]


def their_length(text: str | None, whole: float | None, size: float = 16.0) -> float | None:
    value = svgelements.Length(text).value(ppi=96, relative_length=whole, font_size=size, font_height=size / 2)
    return float(value) if isinstance(value, int | float) else None


def their_transform(text: str) -> tuple[float, ...]:
    found = svgelements.Matrix(text)
    return tuple(float(value) for value in (found.a, found.b, found.c, found.d, found.e, found.f))


def their_viewbox(viewbox: tuple[float, ...], aspect: str | None, width: float, height: float) -> tuple[float, ...]:
    text = svgelements.Viewbox.viewbox_transform(0, 0, width, height, *viewbox, aspect or "xMidYMid meet")
    return their_transform(text)


def their_arc(start: tuple[float, float], given: Call) -> np.ndarray:
    rx, ry, turn, large, sweep, x, y = given
    text = f"M{start[0]!r},{start[1]!r}A{rx!r},{ry!r} {turn!r} {int(large)},{int(sweep)} {x!r},{y!r}"
    return their_cubics(svgelements.Path(text))


def their_shape(kind: str, said: Call, viewport: units.Viewport, size: float, *_: Any) -> np.ndarray:
    found = SHAPES[kind](dict(said))
    found.render(ppi=96, width=viewport.width, height=viewport.height, font_size=size, font_height=size / 2)
    return their_cubics(svgelements.Path(found))


def their_cubics(path: svgelements.Path) -> np.ndarray:
    """All segments as cubics, (n, 4, 2)."""
    found = []
    for part in path:
        if isinstance(part, svgelements.Arc):
            found += [(c.start, c.control1, c.control2, c.end) for c in part.as_cubic_curves()]
        elif not isinstance(part, svgelements.Move) and part.end is not None:
            found.append((part.start, part.start, part.end, part.end))
    return np.array([[tuple(point) for point in cubic] for cubic in found], dtype=float).reshape(-1, 4, 2)


THEIRS: dict[str, Callable[..., Any]] = {
    "transform": their_transform,
    "length": their_length,
    "viewBox": their_viewbox,
    "arc": their_arc,
    "shape": their_shape,
}


def our_arc(start: tuple[float, float], given: Call) -> np.ndarray:
    pen = PathBuilder()
    pen.move(*start)
    pen.arc(*given)
    return pen.build().segments


def our_shape(_kind: str, _said: Call, viewport: units.Viewport, _size: float, element: Any, style: Any) -> Any:
    path: Curves = shapes.shape_path(element, style, viewport, parse_path)[0]
    return path.segments


OURS: dict[str, Callable[..., Any]] = {
    "transform": transforms.parse_transform.__wrapped__,
    "length": units.parse_length,
    "viewBox": page.viewbox_map,
    "arc": our_arc,
    "shape": our_shape,
}


def same(ours: Any, theirs: Any) -> bool:
    """Numbers to a billionth; outlines by where they begin and how far they are apart."""
    if ours is None or theirs is None:
        return ours is theirs
    if not isinstance(ours, np.ndarray):
        return bool(np.allclose(ours, theirs, rtol=1e-9, atol=1e-9))
    if not len(ours) or not len(theirs):
        return len(ours) == len(theirs)
    one, other = sampled(ours), sampled(theirs)
    near = NEAR * float(np.ptp(one, axis=0).max()) + 1e-9
    apart = shapely.hausdorff_distance(shapely.LineString(one), shapely.LineString(other))
    return bool(apart <= near and np.hypot(*(one[0] - other[0])) <= near)


def sampled(cubics: np.ndarray) -> np.ndarray:
    t = np.linspace(0, 1, 33)[:, None, None]
    a, b, c, d = cubics.transpose(1, 0, 2)
    points: np.ndarray = (
        ((1 - t) ** 3 * a + 3 * (1 - t) ** 2 * t * b + 3 * (1 - t) * t**2 * c + t**3 * d).transpose(1, 0, 2)
    ).reshape(-1, 2)
    return points


def their_answer(kind: str, call: Call) -> Any:
    """What svgelements makes of a call; None where it refuses."""
    try:
        return THEIRS[kind](*call)
    except Exception:  # it raises whatever comes up inside
        return None


def tell_same(calls: dict[str, list[Call]]) -> None:
    for kind, made in calls.items():
        once = {call[:4] if kind == "shape" else call: call for call in made}.values()
        given = [call for call in once if call[0] and (kind != "viewBox" or min(call[0][2:]) > 0)]
        answers = [(call, OURS[kind](*call), their_answer(kind, call)) for call in given]
        good = [entry for entry in answers if entry[1] is not None]
        none = [entry for entry in answers if entry[1] is None]
        right = [same(ours, theirs) for _, ours, theirs in good]
        taken = sum(theirs is not None for *_, theirs in none)
        print(f"{kind}: {sum(right)} of {len(good)} the same; of {len(none)} that are none, {taken} taken")
        for (call, *_), well in zip(good, right, strict=True):
            if not well and "-v" in sys.argv:
                print("   ", call[:4])


def best_s(work: Callable[[], object]) -> float:
    """Processor time of the quickest of five."""
    times = []
    for _ in range(5):
        begin = time.process_time()
        work()
        times.append(time.process_time() - begin)
    return min(times)


def all_of(how: Callable[..., Any], given: list[Call]) -> None:
    for call in given:
        how(*call)


def import_s() -> float:
    """Processor time of importing svgelements where all of layercut is loaded."""
    words = (
        "import time, layercut.pipeline; t = time.process_time(); import svgelements; print(time.process_time() - t)"
    )
    done = subprocess.run([sys.executable, "-c", words], cwd=ROOT, capture_output=True, text=True, check=True)
    return float(done.stdout)


def tell_cost() -> None:
    mill = ROOT / "samples" / "mill" / "mill.svg"
    job = load_job(mill.with_suffix(".toml"))
    read_drawing(mill, job)
    whole = best_s(lambda: read_drawing(mill, job))
    print(f"reading the mill: {1000 * whole:.0f} ms")
    loaded = sorted(import_s() for _ in range(9))[4]
    print(f"importing svgelements beside all else: {1000 * loaded:.1f} ms, {100 * loaded / whole:.1f} %")
    transforms.parse_transform.cache_clear()
    with recorded() as calls:
        read_drawing(mill, job)
    for kind, made in calls.items():
        given = [call for call in (set(made) if kind == "transform" else made) if call[0]]
        ours = best_s(partial(all_of, OURS[kind], given))
        theirs = best_s(partial(all_of, THEIRS[kind], given))
        more = theirs - ours
        print(
            f"{kind}: {len(given)} of the mill in {1000 * ours:.1f} ms, by svgelements {1000 * theirs:.1f} ms; "
            f"{1000 * more:.1f} ms more are {100 * more / whole:.1f} %"
        )


def digest(drawing: Path) -> str:
    with suppress(LayercutError):
        layers = read_drawing(drawing, Job()).layers
        texts = (shapely.to_wkb(shape.geometry) for layer in layers for shape in layer.shapes)
        return hashlib.sha256(b"".join(texts)).hexdigest()
    return ""


def tell_changed() -> None:
    drawings = [*ROOT.glob("samples/*/*.svg"), *ROOT.glob("tests/**/*.svg"), *open_drawings(300)]
    own = page.viewbox_map

    def mapped(viewbox: Any, *rest: Any) -> Any:
        return own(viewbox, *rest) if viewbox is None or min(viewbox[2:]) <= 0 else their_viewbox(viewbox, *rest)

    before = [digest(drawing) for drawing in drawings]
    with replaced(own, mapped):
        after = [digest(drawing) for drawing in drawings]
    changed = sum(one != other for one, other in zip(before, after, strict=True))
    print(f"viewBoxes by svgelements: {changed} of {len(drawings)} drawings read otherwise in some digit")


def main() -> None:
    tell_cost()
    tell_changed()
    with recorded() as calls:
        pytest.main(["-q", "-p", "no:cacheprovider", *(str(ROOT / test) for test in TESTS)])
    tell_same(calls)


if __name__ == "__main__":
    main()
