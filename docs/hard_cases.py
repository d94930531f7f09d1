"""Writes the pictures and the table of docs/auto.md from the drawings in docs/auto: `python docs/hard_cases.py`.

Enters: docs/auto/*.svg. Leaves: a small picture of each as `auto` makes it, and what was chosen for each piece.
"""

import io
import sys
from pathlib import Path

from PIL import Image

from layercut import Build, compile_drawing, load_job
from layercut.views.picture.stack_png import compose_png

DOCS = Path(__file__).parent
CASES = ("bird", "leaf", "lamp", "smoke", "letters", "fence", "grass", "wheel", "chain", "snow", "stars", "crescent")
WIDTH_PX, COLOURS = 360, 96
DONE = {"tie": "tied", "loose": "cut free", "behind": "painted behind", "out": "left out"}


def made(name: str) -> Build:
    """One case as `auto` makes it; its page stands for a job without a file."""
    return compile_drawing(DOCS / "auto" / f"{name}.svg", load_job(None))


def picture(build: Build) -> bytes:
    """The finished stack, small: few colours are enough for it."""
    with Image.open(io.BytesIO(compose_png(build, 2 * WIDTH_PX))) as image:
        small = image.convert("RGB").resize(
            (WIDTH_PX, WIDTH_PX * image.height // image.width), Image.Resampling.LANCZOS
        )
    stream = io.BytesIO()
    small.quantize(COLOURS, dither=Image.Dither.NONE).save(stream, "PNG", optimize=True)
    return stream.getvalue()


def choices(build: Build) -> str:
    """What was chosen for each piece, pieces of one fate together."""
    by_fate: dict[str, list[str]] = {}
    for layer in build.stack.layers:
        for choice in layer.choices:
            after = choice.runner_up
            then = f"; next {DONE[after.policy]}, {after.mm2:.1f}" if after else ""
            by_fate.setdefault(DONE[choice.chosen or "out"], []).append(f"`{choice.id}` {choice.price_mm2:.1f}{then}")
    return ". ".join(f"**{fate}**: {' · '.join(pieces)}" for fate, pieces in by_fate.items())


def main() -> None:
    """Write all pictures, and print the rows of the table."""
    for name in sys.argv[1:] or CASES:
        build = made(name)
        (DOCS / "auto" / f"{name}.png").write_bytes(picture(build))
        sys.stdout.write(f"{name}: {choices(build)}\n")


if __name__ == "__main__":
    main()
