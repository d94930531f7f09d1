"""Ways of tampering with a folder: what is changed, and the problem that must tell it."""

import hashlib
import json
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from builds import made_of
from marked_scenes import write_build
from tampering import GARDEN, HILL, MAP, SETTINGS, SKY, SPACER, THINGS, Change

from layercut.job import load_job
from layercut.model import Made
from layercut.output.contents import sheet_files
from layercut.pipeline import compile_drawing
from layercut.proof.check import check_sheets
from layercut.proof.failures import ProofFailure
from layercut.proof.plan import Plan, plan_from_stack
from layercut.proof.verify import verify_folder
from layercut.units import INCHES

MANIFEST = "manifest.json"


@dataclass(frozen=True)
class Slip:
    """A change of one file, and the problem that must tell it: its code, its file, and words of its sentence."""

    name: str
    file: str
    change: Change
    code: str
    says: str


def slips(code: str, file: str, *rows: tuple[str, Change, str]) -> list[Slip]:
    """Slips in one file that one code tells: the name, the change, and words of the sentence of each."""
    return [Slip(name, file, change, code, says) for name, change, says in rows]


@dataclass(frozen=True)
class Honest:
    """A compiled drawing: what the run knows, its plan, and its folder."""

    build: Made
    plan: Plan
    folder: Path


def compile_garden(base: Path) -> Honest:
    """The garden, compiled and written."""
    (base / "garden.svg").write_text(GARDEN)
    build = made_of(compile_drawing(base / "garden.svg", load_job(None, SETTINGS)))
    write_build(build, base / "garden")
    return Honest(build, plan_from_stack(build.stack, build.sheets, build.job), base / "garden")


def changed(text: str, change: Change) -> str:
    """The text after a change, which must change something."""
    after = change(text)
    assert after != text, "the change must change something"
    return after


def assert_told(slip: Slip, honest: Honest, folder: Path) -> None:
    """A sheet that was written wrong is told by the last stage of the compile, and by `verify`, though the manifest
    has the hash of the wrong sheet."""
    texts = sheet_files(honest.build)
    texts[slip.file] = changed(texts[slip.file], slip.change)
    for problems in (check_sheets(texts, honest.plan).failures, verified(folder, {slip.file: texts[slip.file]})):
        assert told(problems, slip), problems


def told(problems: tuple[ProofFailure, ...], slip: Slip) -> bool:
    """Whether a problem says what and where."""
    assert all(is_in_inches(INCHES.told(one.text)) for one in problems), problems
    return any((one.code, one.file) == (slip.code, slip.file) and slip.says in one.message for one in problems)


def is_in_inches(told: str) -> bool:
    """Whether whoever reads inches finds no metric unit, but where it is said what the file must be written in."""
    return not re.search(r"\bmm2?\b|mm²|\d g\b", told.replace("its size in mm", ""))


def verified(folder: Path, texts: Mapping[str, str]) -> tuple[ProofFailure, ...]:
    """What `verify` says once some files were written otherwise, and their hashes into the manifest."""
    for name, text in texts.items():
        (folder / name).write_text(text)
    change_manifest(folder, lambda document: rehash(document, folder))
    return verify_folder(folder).failures


def change_manifest(folder: Path, how: Callable[[dict[str, Any]], object]) -> None:
    """Change the manifest as data."""
    document = json.loads((folder / MANIFEST).read_text())
    how(document)
    (folder / MANIFEST).write_text(json.dumps(document))


def rehash(document: dict[str, Any], folder: Path) -> None:
    """The hashes of the files as they lie there now."""
    for one in document["files"]:
        path = folder / one["file"]
        if path.exists():
            one["sha256"] = hashlib.sha256(path.read_bytes()).hexdigest()


__all__ = [
    "HILL",
    "MANIFEST",
    "MAP",
    "SKY",
    "SPACER",
    "THINGS",
    "Honest",
    "Slip",
    "assert_told",
    "change_manifest",
    "changed",
    "compile_garden",
    "rehash",
    "slips",
    "told",
    "verified",
]
