"""A compiled folder of any files: with the manifest that makes it layercut's own."""

import hashlib
import json
from collections.abc import Mapping


def with_manifest(files: Mapping[str, bytes], *, panel: float = 1.0) -> dict[str, bytes]:
    """The files, and a manifest that names each with its hash; another `panel` makes it another one."""
    named = [{"file": name, "sha256": hashlib.sha256(data).hexdigest()} for name, data in sorted(files.items())]
    document = {"format": 1, "drawing": {}, "panel": {"width_mm": panel}, "sheets": [], "files": named}
    return {**files, "manifest.json": (json.dumps(document, indent=2) + "\n").encode()}
