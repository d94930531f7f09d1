"""What a folder on the disk holds that layercut didn't write, or that was changed since.

Enters: a folder. Leaves: the first thing in it that would be lost if the folder were replaced. A file is layercut's
own if the folder's manifest names it with the hash that it has; what file managers leave there counts for nothing.
"""

import hashlib
import json
import stat
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path, PurePosixPath
from typing import Any

from layercut.reading import open_plain, read_plain

NAME = "manifest.json"

FILE_LIMIT = 2**31
"""A file larger than this, bytes, is none of layercut's."""

_PART = 2**20  # bytes that are hashed at a time
_MANIFEST_LIMIT = 100_000_000
_KEYS = {"format", "drawing", "panel", "sheets"}  # of every manifest that layercut wrote
_FILE_MANAGERS = {".DS_Store", "Thumbs.db", "desktop.ini", ".directory"}  # appear by themselves when one looks in


@dataclass(frozen=True, slots=True)
class Stranger:
    """Something that would be lost: its name within the folder, and why it isn't layercut's own."""

    name: str
    why: str


def is_empty(folder: Path) -> bool:
    """Whether a folder holds nothing but what file managers leave."""
    return next(_entries(folder), None) is None


def find_stranger(folder: Path) -> Stranger | None:
    """The first thing in a folder that isn't layercut's own as it wrote it; None for none, or an empty folder.

    Raises OSError where the folder can't be looked through.
    """
    first = next(_entries(folder), None)
    if first is None:
        return None
    manifest = _read_manifest(folder)
    if manifest is None:
        return Stranger(first.name, "which layercut didn't write")
    if "files" not in manifest:
        return Stranger(NAME, "of an earlier layercut, which doesn't say which files are its own")
    if not _as_written(folder, manifest):
        return Stranger(NAME, "which was changed since layercut wrote it")
    return _look_through(folder, _hashes(manifest))


def _entries(folder: Path) -> Iterator[Path]:
    """What lies in a folder, in order, less what file managers leave."""
    return (path for path in sorted(folder.iterdir()) if path.name not in _FILE_MANAGERS)


def _read_manifest(folder: Path) -> dict[str, Any] | None:
    """The manifest, if layercut wrote one like it."""
    try:
        document = json.loads(read_plain(folder / NAME, _MANIFEST_LIMIT))
    except (OSError, ValueError, RecursionError):
        return None
    return document if isinstance(document, dict) and document.keys() >= _KEYS else None


def _as_written(folder: Path, manifest: dict[str, Any]) -> bool:
    """Whether the manifest has the layout in which layercut writes it: it can't hold its own hash."""
    try:
        text = json.dumps(manifest, indent=2, ensure_ascii=False) + "\n"
    except RecursionError:
        return False
    return text.encode("utf-8", "replace") == (folder / NAME).read_bytes()


def _hashes(manifest: dict[str, Any]) -> dict[str, str]:
    """The hash of every file that the manifest names."""
    files = manifest["files"]
    named = [one for one in files if isinstance(one, dict)] if isinstance(files, list) else []
    return {str(one.get("file")): str(one.get("sha256")) for one in named}


def _look_through(folder: Path, hashes: Mapping[str, str]) -> Stranger | None:
    folders = {parent.as_posix() for name in hashes for parent in PurePosixPath(name).parents} - {"."}
    left = [*_entries(folder)][::-1]
    while left:
        path = left.pop()
        name = path.relative_to(folder).as_posix()
        kind = path.lstat().st_mode
        if stat.S_ISDIR(kind) and name in folders:
            left += [*_entries(path)][::-1]
        elif name != NAME and (why := _why_not_ours(path, kind, hashes.get(name))):
            return Stranger(name, why)
    return None


def _why_not_ours(path: Path, kind: int, sha256: str | None) -> str:
    """Why something isn't layercut's own; empty if it is."""
    if sha256 is None or not stat.S_ISREG(kind):
        return "which layercut didn't write"
    with open_plain(path, FILE_LIMIT) as stream:
        found = hashlib.sha256()
        while part := stream.read(_PART):
            found.update(part)
    return "" if found.hexdigest() == sha256 else "which was changed since layercut wrote it"
