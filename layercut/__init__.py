"""layercut: from one layered drawing to the sheets of a layered wooden picture.

The library's front door: `compile_drawing` reads a drawing and gives a `Build`, `check_drawing` its findings; the
public types are those of `layercut.model`, `layercut.findings`, `layercut.job` and `layercut.errors`. Names load when
first used, so that importing the package costs nothing.
"""

import importlib
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from layercut.errors import DrawingError, InternalError, JobError, LayercutError, OutputError
    from layercut.findings import Finding
    from layercut.job import Job, load_job
    from layercut.model import Build, Drawing, Layer, Paint, Proof, Shape, Sheet, Stack, StackLayer
    from layercut.pipeline import check_drawing, compile_drawing, sheet_files

_HOMES = {
    "layercut.errors": ("DrawingError", "InternalError", "JobError", "LayercutError", "OutputError"),
    "layercut.findings": ("Finding",),
    "layercut.job": ("Job", "load_job"),
    "layercut.model": (
        "Build",
        "Drawing",
        "Layer",
        "Paint",
        "Proof",
        "Shape",
        "Sheet",
        "Stack",
        "StackLayer",
    ),
    "layercut.pipeline": ("check_drawing", "compile_drawing", "sheet_files"),
}

__all__ = [
    "Build",
    "Drawing",
    "DrawingError",
    "Finding",
    "InternalError",
    "Job",
    "JobError",
    "Layer",
    "LayercutError",
    "OutputError",
    "Paint",
    "Proof",
    "Shape",
    "Sheet",
    "Stack",
    "StackLayer",
    "check_drawing",
    "compile_drawing",
    "load_job",
    "sheet_files",
]


def __getattr__(name: str) -> Any:
    for home, names in _HOMES.items():
        if name in names:
            return getattr(importlib.import_module(home), name)
    raise AttributeError(f"module 'layercut' has no attribute {name!r}")
