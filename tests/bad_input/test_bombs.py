"""Drawings built to exhaust the reader: each is read or refused within seconds, in bounded memory.

Seconds are the processor's, so that a busy machine doesn't fail a test; memory is measured in processes of their own.
"""

import gzip
import math
import multiprocessing
import random
import resource
import time
from collections.abc import Callable
from pathlib import Path

import pytest

from layercut.drawing import read_drawing
from layercut.errors import LayercutError
from layercut.job import Job

HEAD = '<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="100mm" viewBox="0 0 100 100">'
RECTS = '<rect width="5" height="5"/>' * 200
MEGABYTES = 1000


def drawing(body: str) -> str:
    return f"{HEAD}<g id='a'>{body}</g><g id='b'><rect width='9' height='9'/></g></svg>"


def scattered(count: int) -> str:
    """A path that runs across itself at random: nearly a quarter of all pairs of its lines cross."""
    chance = random.Random(1)
    return " ".join(f"{chance.uniform(5, 95):.2f} {chance.uniform(5, 95):.2f}" for _ in range(count))


def circle(count: int) -> str:
    """Points around a circle."""
    angles = (2 * math.pi * index / count for index in range(count))
    return " ".join(f"{50 + 40 * math.cos(t):.6f} {50 + 40 * math.sin(t):.6f}" for t in angles)


def _read(path: Path, answers: "multiprocessing.queues.Queue[tuple[str, float, float]]") -> None:
    start = time.process_time()
    try:
        read_drawing(path, Job())
        outcome = "read"
    except LayercutError as error:
        outcome = error.code
    except BaseException as error:
        outcome = repr(error)
    answers.put((outcome, time.process_time() - start, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024))


def read_apart(text: str, folder: Path) -> str:
    """What comes of a drawing in a process of its own, held to ten seconds and a gigabyte."""
    path = folder / "bomb.svg"
    path.write_text(text, encoding="utf-8")
    context = multiprocessing.get_context("fork")
    answers = context.Queue()
    process = context.Process(target=_read, args=(path, answers))
    process.start()
    try:
        outcome, seconds, megabytes = answers.get(timeout=120)
    finally:
        process.kill()
        process.join()
    assert seconds < 10
    assert megabytes < MEGABYTES
    return outcome


def test_half_a_million_nested_groups(tmp_path: Path) -> None:
    assert read_apart(drawing("<g>" * 500_000 + "</g>" * 500_000), tmp_path) == "too-deep"


def test_a_million_segments_that_make_one_outline_are_read(tmp_path: Path) -> None:
    assert read_apart(drawing(f'<path d="M{circle(1_000_000)}z"/>'), tmp_path) == "read"


def test_curves_that_need_millions_of_points_are_refused(tmp_path: Path) -> None:
    curves = "c1 1 2 -1 1 .001c1 1 -2 -1 -1 .001" * 150_000
    assert read_apart(drawing(f'<path d="M0 0{curves}z"/>'), tmp_path) == "too-detailed"


@pytest.mark.parametrize(
    "path",
    [
        lambda: f'<path d="M{scattered(3_000)}z"/>',
        lambda: f'<path fill-rule="evenodd" d="M{scattered(20_000)}z"/>',
        lambda: f'<path d="M{scattered(1_500)}z"/>',
    ],
    ids=["scattered", "even-odd", "few"],
)
def test_an_outline_that_crosses_itself_without_end_is_refused(path: Callable[[], str], tmp_path: Path) -> None:
    assert read_apart(drawing(path()), tmp_path) == "too-detailed"


def test_a_clip_path_that_crosses_itself_without_end_is_refused(tmp_path: Path) -> None:
    body = f'<clipPath id="c"><path d="M{scattered(2_000)}z"/></clipPath><g clip-path="url(#c)">{RECTS}</g>'
    assert read_apart(drawing(body), tmp_path) == "too-detailed"


def test_a_rosette_of_a_hundred_turns_is_read(tmp_path: Path) -> None:
    angles = [2 * math.pi * index / 100 for index in range(10_000)]
    reach = [(25 + 15 * math.sin(0.93 * t)) for t in angles]
    points = " ".join(
        f"{50 + r * math.cos(t):.5f} {50 + r * math.sin(t):.5f}" for r, t in zip(reach, angles, strict=True)
    )
    assert read_apart(drawing(f'<path fill-rule="evenodd" d="M{points}z"/>'), tmp_path) == "read"


def test_a_line_that_crosses_itself_without_end_is_drawn(tmp_path: Path) -> None:
    line = f'<path fill="none" stroke="#000" stroke-width="2" d="M{scattered(2_000)}"/>'
    assert read_apart(drawing(line), tmp_path) == "read"
    slanted = line.replace("<path", '<path transform="skewX(20)"')
    assert read_apart(drawing(slanted), tmp_path) == "too-detailed"


@pytest.mark.parametrize(
    ("sheet", "outcome"),
    [
        ("@media print{" * 2_000 + "rect{fill:red}" + "}" * 2_000, "read"),
        ("rect{fill:" + "(" * 200_000 + "}", "read"),
        ("[" * 200_000, "read"),
        (" ".join("g" * 5_000) + "{fill:red}", "read"),
        (":not(" * 1_000 + "g" + ")" * 1_000 + "{fill:red}", "read"),
        ("x g g g g g g g g g g g g g g rect{fill:red}", "read"),
        ("a ~ rect ~ rect ~ rect ~ rect ~ rect{fill:red}", "read"),
        (":has(g:has(rect)) rect:nth-last-child(3n+1){fill:red}" * 300, "too-detailed"),
        ("".join(f".c{n} .d{n}>rect{{fill:#{n % 4096:03x}}}" for n in range(25_000)), "too-detailed"),
        ("".join(f"g :not(.a{n}) rect{{fill:red}}" for n in range(5_000)), "too-detailed"),
        (",".join(f".c{n}" for n in range(25_000)) + "{fill:red}", "too-detailed"),
        ("rect{" + "fill:red;" * 30_000 + "}", "read"),
        ("/*" + "*" * 1_000_000, "read"),
    ],
    ids=[
        *("media-in-media", "brackets", "open-brackets", "long-selector", "not-in-not", "backtracking", "siblings"),
        *(
            "has",
            "rules",
            "asked-of-every-element",
            "a-long-list",
            "one-long-rule",
            "open-comment",
        ),
    ],
)
def test_style_sheet_bombs(sheet: str, outcome: str, tmp_path: Path) -> None:
    nested = "<g>" * 60 + RECTS + "</g>" * 60
    assert read_apart(drawing(f"<style>{sheet}</style>{nested}{RECTS}"), tmp_path) == outcome


def test_a_style_attribute_bomb(tmp_path: Path) -> None:
    path = tmp_path / "drawing.svg"
    path.write_text(drawing(f'<rect width="5" height="5" style="fill:{"(" * 100_000}"/>'), encoding="utf-8")
    (first, _) = read_drawing(path, Job()).layers
    assert len(first.shapes) == 1
    assert any("too deeply" in finding.message for finding in read_drawing(path, Job()).findings)


def test_usual_style_sheets_are_matched_in_full(tmp_path: Path) -> None:
    """What an editor exports stays far below the limits: four hundred classes on four thousand shapes."""
    sheet = "".join(f".st{n}{{fill:#{n:06x};stroke:none}}" for n in range(400))
    shapes = "".join(f'<rect class="st{n % 400}" x="{n % 60}" width="1" height="1"/>' for n in range(4_000))
    path = tmp_path / "drawing.svg"
    path.write_text(drawing(f"<style>{sheet} g g > rect{{stroke:red}}</style>{shapes}"), encoding="utf-8")
    found = read_drawing(path, Job())
    assert [shape.paint.colour for shape in found.layers[0].shapes[:3]] == ["#000000", "#000001", "#000002"]
    assert not found.findings


@pytest.mark.parametrize(
    "element",
    [
        '<rect width="5" height="5" transform="' + "rotate(1)" * 100_000 + '"/>',
        '<path d="M0 0h90" stroke="#000" stroke-dasharray="' + "1 " * 100_000 + '"/>',
        '<linearGradient id="g">'
        + '<stop offset=".5"/>' * 20_000
        + '</linearGradient><rect fill="url(#g)" width="9" '
        'height="9"/>',
        "".join(f'<rect id="a" width="5" height="5" x="{n % 90}"/>' for n in range(5_000)),
        '<clipPath id="c"><circle r="40"/></clipPath>'
        + '<g clip-path="url(#c)">' * 60
        + '<rect width="50" height="50"/>' * 20
        + "</g>" * 60,
    ],
    ids=["transforms", "dashes", "stops", "one-id", "clips-in-clips"],
)
def test_long_lists(element: str, tmp_path: Path) -> None:
    assert read_apart(drawing(element), tmp_path) == "read"


def test_a_gzip_bomb_takes_no_memory(tmp_path: Path) -> None:
    path = tmp_path / "bomb.svg"
    with gzip.open(path, "wb", compresslevel=9) as stream:
        for _ in range(200):
            stream.write(b" " * 1_000_000)
    assert path.stat().st_size < 300_000
    with pytest.raises(LayercutError) as caught:
        read_drawing(path, Job())
    assert caught.value.code == "too-large"


def test_gzip_within_gzip_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "twice.svg"
    path.write_bytes(gzip.compress(gzip.compress(drawing(RECTS).encode())))
    with pytest.raises(LayercutError) as caught:
        read_drawing(path, Job())
    assert caught.value.code == "not-xml"
