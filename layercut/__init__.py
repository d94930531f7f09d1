"""layercut: from one layered drawing to the sheets of a layered wooden picture.

The library's front door, all that the commands do: docs/library.md shows it in use. Names load when first used, so
that importing the package costs nothing.
"""

import importlib
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from layercut.errors import DrawingError, InternalError, JobError, LayercutError, OutputError
    from layercut.findings import Finding
    from layercut.job import Job, load_job
    from layercut.library import (
        Started,
        check_picture,
        set_kerf,
        write_coupon,
        write_picture,
        write_start,
    )
    from layercut.model import (
        Build,
        Cut,
        Drawing,
        Layer,
        Made,
        Paint,
        Planned,
        Proof,
        Shape,
        Sheet,
        Stack,
        StackLayer,
    )
    from layercut.output.bundle import check_bundle, write_bundle
    from layercut.output.contents import folder_files, sheet_files, write_build
    from layercut.output.folder import check_folder, write_folder
    from layercut.output.manifest import manifest, manifest_text
    from layercut.pipeline import check_drawing, compile_drawing, run
    from layercut.proof.failures import ProofFailure, Verdict
    from layercut.proof.verify import verdict_text, verify_folder
    from layercut.setup.coupon import Coupon, KerfReading, make_coupon, read_kerf
    from layercut.setup.measures import Measure
    from layercut.setup.rectify import Rectified, Shot, parse_shot, rectify
    from layercut.setup.start import House, StartPlan, describe_house, plan_start
    from layercut.tracing import Paper, put_picture, read_paper
    from layercut.views.picture.stack_png import compose_png
    from layercut.views.picture.stack_svg import compose_svg
    from layercut.watching.follow import Watched, watched_files
    from layercut.watching.run import watch

_HOMES = {
    "layercut.errors": ("DrawingError", "InternalError", "JobError", "LayercutError", "OutputError"),
    "layercut.findings": ("Finding",),
    "layercut.job": ("Job", "load_job"),
    "layercut.library": ("Started", "check_picture", "set_kerf", "write_coupon", "write_picture", "write_start"),
    "layercut.model": (
        "Build",
        "Cut",
        "Drawing",
        "Layer",
        "Made",
        "Paint",
        "Planned",
        "Proof",
        "Shape",
        "Sheet",
        "Stack",
        "StackLayer",
    ),
    "layercut.output.bundle": ("check_bundle", "write_bundle"),
    "layercut.output.contents": ("folder_files", "sheet_files", "write_build"),
    "layercut.output.folder": ("check_folder", "write_folder"),
    "layercut.output.manifest": ("manifest", "manifest_text"),
    "layercut.pipeline": ("check_drawing", "compile_drawing", "run"),
    "layercut.proof.failures": ("ProofFailure", "Verdict"),
    "layercut.proof.verify": ("verdict_text", "verify_folder"),
    "layercut.setup.coupon": ("Coupon", "KerfReading", "make_coupon", "read_kerf"),
    "layercut.setup.measures": ("Measure",),
    "layercut.setup.rectify": ("Rectified", "Shot", "parse_shot", "rectify"),
    "layercut.setup.start": ("House", "StartPlan", "describe_house", "plan_start"),
    "layercut.tracing": ("Paper", "put_picture", "read_paper"),
    "layercut.views.picture.stack_svg": ("compose_svg",),
    "layercut.views.picture.stack_png": ("compose_png",),
    "layercut.watching.follow": ("Watched", "watched_files"),
    "layercut.watching.run": ("watch",),
}

_HOME_OF = {name: home for home, names in _HOMES.items() for name in names}

__all__ = [
    "Build",
    "Coupon",
    "Cut",
    "Drawing",
    "DrawingError",
    "Finding",
    "House",
    "InternalError",
    "Job",
    "JobError",
    "KerfReading",
    "Layer",
    "LayercutError",
    "Made",
    "Measure",
    "OutputError",
    "Paint",
    "Paper",
    "Planned",
    "Proof",
    "ProofFailure",
    "Rectified",
    "Shape",
    "Sheet",
    "Shot",
    "Stack",
    "StackLayer",
    "StartPlan",
    "Started",
    "Verdict",
    "Watched",
    "check_bundle",
    "check_drawing",
    "check_folder",
    "check_picture",
    "compile_drawing",
    "compose_png",
    "compose_svg",
    "describe_house",
    "folder_files",
    "load_job",
    "make_coupon",
    "manifest",
    "manifest_text",
    "parse_shot",
    "plan_start",
    "put_picture",
    "read_kerf",
    "read_paper",
    "rectify",
    "run",
    "set_kerf",
    "sheet_files",
    "verdict_text",
    "verify_folder",
    "watch",
    "watched_files",
    "write_build",
    "write_bundle",
    "write_coupon",
    "write_folder",
    "write_picture",
    "write_start",
]


def __getattr__(name: str) -> Any:
    if name not in _HOME_OF:
        raise AttributeError(f"module 'layercut' has no attribute {name!r}")
    return getattr(importlib.import_module(_HOME_OF[name]), name)
