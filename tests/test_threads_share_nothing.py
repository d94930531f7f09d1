"""What threads prepare is their own: an index hangs on its geometry, and two that make or use it at once crash."""

import threading
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
import shapely
from shapely.geometry.base import BaseGeometry

from layercut.geometry.parallel import WORKERS
from layercut.job import Job, load_job
from layercut.model import Made
from layercut.pipeline import compile_drawing

SAMPLES = Path(__file__).parent.parent / "samples"


class Prepared:
    """Every geometry that is prepared, with the threads that do it; both are held, so that none is taken for another
    that is gone."""

    def __init__(self) -> None:
        """Nothing is prepared yet."""
        self.by_geometry: dict[int, tuple[BaseGeometry, set[threading.Thread]]] = {}
        self._prepare = shapely.lib.prepare

    def __call__(self, geometry: object, **options: object) -> None:
        """Prepare, and note who does."""
        for one in np.atleast_1d(np.array(geometry, dtype=object)).ravel():
            if one is not None:
                self.by_geometry.setdefault(id(one), (one, set()))[1].add(threading.current_thread())
        self._prepare(geometry, **options)

    @property
    def shared(self) -> list[BaseGeometry]:
        """What more than one thread has prepared."""
        return [one for one, threads in self.by_geometry.values() if len(threads) > 1]

    @property
    def threads(self) -> int:
        """How many threads have prepared anything."""
        return len({thread for _, threads in self.by_geometry.values() for thread in threads})


def _regions(build: Made) -> Iterator[tuple[str, BaseGeometry]]:
    """All regions of a finished build, with what each is called."""
    panel = build.stack.panel
    yield from (("panel", one) for one in (panel.outline, panel.interior, panel.frame, *panel.pins))
    yield "bare", build.stack.bare
    for layer in build.stack.layers:
        for name in ("face", "visible", "opening", "hidden", "wood"):
            yield f"{layer.name}: {name}", getattr(layer, name)
        for name in ("painted", "coloured", "ties", "loose", "islands", "given", "guests"):
            yield from ((f"{layer.name}: {name}", one.region) for one in getattr(layer, name))
    for sheet in build.sheets:
        yield f"{sheet.name}: wood", sheet.wood
    for drawn in build.drawing.layers:
        yield from ((f"{drawn.name}: {shape.element}", shape.geometry) for shape in drawn.shapes)


MIST = """<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="100mm" viewBox="0 0 100 100">
<g id="sky"><rect width="100" height="100" fill="#88aacc"/></g>
<g id="hill"><rect y="60" width="100" height="40" fill="#668844"/>
<rect width="90" height="70" fill="#fff" opacity=".3"/></g>
<g id="wall"><rect y="80" width="100" height="20" fill="#884422"/>
<rect width="60" height="95" fill="#fff" opacity=".3"/></g>
<g id="mist"><rect y="90" width="100" height="10" fill="#222"/>
<rect width="50" height="99" fill="#fff" opacity=".3"/></g>
</svg>"""
"""Glazes upon the wood of several layers, so that the paint of each sheet is composed."""


@pytest.fixture(scope="module", params=["garden", "harbour", "mist"])
def compiled(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> tuple[Made, Prepared]:
    """A drawing compiled, and what was prepared on the way."""
    drawing, job = SAMPLES / request.param / f"{request.param}.svg", Job()
    if request.param == "mist":
        drawing = tmp_path_factory.mktemp("mist") / "mist.svg"
        drawing.write_text(MIST)
    else:
        job = load_job(drawing.with_suffix(".toml"))
    prepared = Prepared()
    with pytest.MonkeyPatch.context() as patch:
        # Not only shapely.prepare comes to this: contains_xy and intersects_xy prepare whatever they are given.
        patch.setattr(shapely.lib, "prepare", prepared)
        build = compile_drawing(drawing, job)
    assert isinstance(build, Made)
    return build, prepared


def test_what_two_threads_prepare_is_found() -> None:
    """Else the test below would tell nothing."""
    prepared, own, common = Prepared(), shapely.box(0, 0, 1, 1), shapely.box(0, 0, 2, 2)
    prepared(np.array([own, common], dtype=object))
    other = threading.Thread(target=prepared, args=(common,))
    other.start()
    other.join()
    assert prepared.shared == [common]


def test_no_geometry_is_prepared_by_two_threads(compiled: tuple[Made, Prepared]) -> None:
    _, prepared = compiled
    assert prepared.shared == []
    assert prepared.threads > 1 or WORKERS == 1


def test_no_region_of_a_finished_build_is_prepared(compiled: tuple[Made, Prepared]) -> None:
    """But for what is empty: that is one and the same everywhere, so another test may have prepared it."""
    build, _ = compiled
    regions = [(name, region) for name, region in _regions(build) if not region.is_empty]
    assert [name for name, region in regions if shapely.is_prepared(region)] == []
