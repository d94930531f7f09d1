"""The samples, each compiled once in a process however many tests look at it."""

from functools import cache
from pathlib import Path

from builds import made_of

from layercut.job import load_job
from layercut.model import Made
from layercut.pipeline import compile_drawing

SAMPLES = sorted((Path(__file__).parents[2] / "samples").glob("*/*.svg"))


@cache
def sample_build(path: Path, *settings: str) -> Made:
    """A sample by its own job, but for these settings."""
    return made_of(compile_drawing(path, load_job(path.with_suffix(".toml"), settings)))
