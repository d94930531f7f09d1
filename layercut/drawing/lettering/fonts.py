"""Finding a font: among the job's own files, else among the system's.

Enters: families, weight and slant as CSS names them. Leaves: `FontFile`, one face of one file. Where fontconfig is
installed it lists the system's fonts and says what stands in for a missing one; else the usual folders are read.
"""

import os
import shutil
import subprocess
import sys
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from layercut.drawing.css.fonts import GENERIC
from layercut.errors import JobError
from layercut.reading import open_plain

_SUFFIXES = {".ttf", ".otf", ".ttc", ".otc"}
FONT_LIMIT_BYTES = 256 * 2**20
"""A font file larger than this isn't one: those of all of Unicode's ideographs have a tenth of it."""

_TIMEOUT_S = 20
_FAMILY_IDS, _FACE_IDS = (16, 1), (4, 6)  # of the OpenType name table: families, then full and PostScript names
_REGULAR, _NORMAL_WIDTH = 400, 5


@dataclass(frozen=True, slots=True)
class FontFile:
    """One face: its file, its number in it, its names, and what decides whether it is the face wanted.

    `names` are in lower case: family, full and PostScript names. `weights` is the range of a variable font.
    """

    path: Path
    number: int
    family: str
    names: frozenset[str]
    weights: tuple[int, int] = (_REGULAR, _REGULAR)
    slanted: bool = False
    width: int = _NORMAL_WIDTH
    kind: str = "sans-serif"


@dataclass(frozen=True, slots=True)
class Wish:
    """The style of face wanted within a family."""

    weight: int = _REGULAR
    slanted: bool = False


@dataclass(slots=True)
class Fonts:
    """The fonts of one job. `listed` are the job's paths, `folder` is where the drawing is.

    Nothing is read before the first text asks. Raises JobError `job-font` for a listed file that is none.
    """

    folder: Path
    listed: Sequence[str] = ()
    _own: list[FontFile] | None = None
    _system: dict[str, list[tuple[Path, int]]] | None = None
    _read: dict[Path, list[FontFile]] = field(default_factory=dict)
    _matched: dict[str, str] = field(default_factory=dict)

    def find(self, family: str, wish: Wish) -> FontFile | None:
        """The face of a family that comes nearest the wish; None where there is no such family."""
        self.own()  # a listed file that is none is told, whether this text would need it or not
        if family.lower() in GENERIC:
            return self._generic(family.lower(), wish)
        name = family.lower()
        own = [face for face in self.own() if name in face.names]
        return _nearest(own or self._of_system(name), wish)

    def instead(self, family: str, wish: Wish) -> FontFile | None:
        """What stands in for a family that is missing; None on a machine without any font."""
        own = self.own()
        if own:
            return self.find(own[0].family, wish)
        matched = self._match(family)
        return self.find(matched, wish) if matched else self._generic("sans-serif", wish)

    def own(self) -> list[FontFile]:
        """The faces of the job's files, in the job's order."""
        if self._own is None:
            self._own = [face for name in self.listed for face in self._listed_faces(name)]
        return self._own

    def check_listed(self) -> None:
        """Hold that every path of the job's leads somewhere, even where no text asks. Raises JobError `job-font`."""
        for name in self.listed:
            if not (self.folder / name).exists():
                raise _no_font(name, "isn't there")

    def _listed_faces(self, name: str) -> Iterator[FontFile]:
        path = self.folder / name
        if path.is_dir():
            inside = sorted(file for file in path.iterdir() if file.suffix.lower() in _SUFFIXES)
            faces = [face for file in inside for face in self._faces(file)]
        else:
            faces = self._faces(path)
        if not faces:
            what = "has no font in it" if path.is_dir() else "is no font" if path.exists() else "isn't there"
            raise _no_font(name, what)
        yield from faces

    def _faces(self, path: Path) -> list[FontFile]:
        if path not in self._read:
            self._read[path] = read_faces(path)
        return self._read[path]

    def _match(self, family: str) -> str:
        if family not in self._matched:
            self._matched[family] = _fontconfig_match(family)
        return self._matched[family]

    def _of_system(self, name: str) -> list[FontFile]:
        if self._system is None:
            self._system = dict(_fontconfig_list() or _folder_list(self._faces))
        found = self._system.get(name, [])
        return [face for path, number in found for face in self._faces(path) if face.number == number]

    def _generic(self, word: str, wish: Wish) -> FontFile | None:
        """A face of a kind: what fontconfig says, else the first by name that is of the kind."""
        matched = self._match(word)
        if matched and (face := _nearest(self._of_system(matched.lower()), wish)) is not None:
            return face
        self._of_system("")
        places = sorted({place for places in (self._system or {}).values() for place in places})
        faces = [face for path, number in places for face in self._faces(path) if face.number == number]
        kinds = [face for face in faces if face.kind == word] or faces
        first = min(kinds, key=lambda face: (face.width != _NORMAL_WIDTH, face.family), default=None)
        return None if first is None else _nearest([face for face in kinds if face.family == first.family], wish)


def _no_font(name: str, what: str) -> JobError:
    hint = "Name .ttf, .otf or .ttc files, or a folder of them, from where the drawing is."
    return JobError("job-font", f"'{name}' in marks.fonts {what}.", hint)


def read_faces(path: Path) -> list[FontFile]:
    """The faces of a font file; empty for a file that can't be read or is no font."""
    from fontTools.ttLib import TTCollection, TTFont  # noqa: PLC0415 - only drawings with text need it

    try:
        with open_plain(path, FONT_LIMIT_BYTES) as stream:
            collection = stream.read(4) == b"ttcf"
            stream.seek(0)
            fonts = TTCollection(stream, lazy=True).fonts if collection else [TTFont(stream, lazy=True)]
            return [_face(font, path, number) for number, font in enumerate(fonts)]
    except Exception:  # a damaged font fails in as many ways as it has tables
        return []


def _face(tables: Any, path: Path, number: int) -> FontFile:
    """What the tables of a font say about it."""
    names: dict[int, str] = {}
    for wanted in (*_FAMILY_IDS, *_FACE_IDS):
        name = tables["name"].getDebugName(wanted)
        if name:
            names[wanted] = str(name)
    family = names.get(16) or names.get(1) or path.stem
    os2 = tables.get("OS/2")
    weight = int(os2.usWeightClass) if os2 is not None else _REGULAR
    weights = (weight, weight)
    if "fvar" in tables:
        for axis in tables["fvar"].axes:
            if axis.axisTag == "wght":
                weights = (int(axis.minValue), int(axis.maxValue))
    slanted = bool(tables["head"].macStyle & 2) or bool(os2 is not None and os2.fsSelection & 0x201)
    width = int(os2.usWidthClass) if os2 is not None else _NORMAL_WIDTH
    known = frozenset(name.lower() for name in (family, *names.values()))
    return FontFile(path, number, family, known, weights, slanted, width, _kind(tables, os2))


def _kind(tables: Any, os2: Any) -> str:
    """Serif or not by PANOSE's digit for Latin text faces, and whether all letters are as wide."""
    if "post" in tables and tables["post"].isFixedPitch:
        return "monospace"
    panose = os2.panose if os2 is not None else None
    serif = panose is not None and panose.bFamilyType == 2 and 2 <= panose.bSerifStyle <= 10
    return "serif" if serif else "sans-serif"


def _nearest(faces: Sequence[FontFile], wish: Wish) -> FontFile | None:
    """CSS Fonts 4, "Font style matching": width first, then slant, then weight; the file's name settles a tie."""

    def rank(face: FontFile) -> tuple[float | bool | str, ...]:
        weight = min(max(wish.weight, face.weights[0]), face.weights[1])
        return (
            abs(face.width - _NORMAL_WIDTH),
            face.slanted != wish.slanted,
            *_weight_rank(weight, wish.weight),
            str(face.path),
            face.number,
        )

    return min(faces, key=rank, default=None)


def _weight_rank(weight: int, wanted: int) -> tuple[int, int]:
    """Which side of the wanted weight is looked at first, and how far away the weight is."""
    away = abs(weight - wanted)
    if 400 <= wanted <= 500:
        side = 0 if wanted <= weight <= 500 else 1 if weight < wanted else 2
    elif wanted < 400:
        side = 0 if weight <= wanted else 1
    else:
        side = 0 if weight >= wanted else 1
    return side, away


def _fontconfig(*arguments: str) -> str:
    """What a fontconfig command prints; empty where there is none."""
    program = shutil.which(arguments[0])
    if program is None:
        return ""
    try:
        answer = subprocess.check_output(
            [program, *arguments[1:]],
            timeout=_TIMEOUT_S,
            stdin=subprocess.DEVNULL,
        )
    except (OSError, ValueError, subprocess.SubprocessError):
        return ""
    return answer.decode("utf-8", "replace")


def _fontconfig_list() -> dict[str, list[tuple[Path, int]]]:
    """Every name of every font that fontconfig knows, in lower case, with the faces that have it."""
    places: dict[str, set[tuple[Path, int]]] = {}
    for line in _fontconfig("fc-list", "--format=%{file}\t%{index}\t%{family},%{fullname},%{postscriptname}\n").split(
        "\n"
    ):
        file, _, rest = line.partition("\t")
        index, _, names = rest.partition("\t")
        if Path(file).suffix.lower() in _SUFFIXES and index.isdigit():
            for name in names.replace("\\", "").split(","):
                # The upper half of the index counts the named instances of a variable font.
                places.setdefault(name.strip().lower(), set()).add((Path(file), int(index) & 0xFFFF))
    return {name: sorted(found) for name, found in places.items()}


def _fontconfig_match(family: str) -> str:
    """The family that fontconfig puts in the place of one; empty where it can't be asked."""
    escaped = "".join("\\" + char if char in "\\-:,=" else char for char in family)
    return _fontconfig("fc-match", "--format=%{family}", "--", escaped).partition(",")[0].strip()


def _folder_list(faces: Callable[[Path], list[FontFile]]) -> dict[str, list[tuple[Path, int]]]:
    """The same from the usual folders, every font file in them read."""
    places: dict[str, list[tuple[Path, int]]] = {}
    for file in sorted(_font_files(_usual_folders())):
        for face in faces(file):
            for name in face.names:
                places.setdefault(name, []).append((face.path, face.number))
    return places


def _font_files(folders: Iterable[Path]) -> Iterator[Path]:
    for folder in folders:
        for root, _, names in os.walk(folder):
            yield from (Path(root, name) for name in names if Path(name).suffix.lower() in _SUFFIXES)


def _usual_folders() -> list[Path]:
    home = Path.home()
    if sys.platform == "win32":
        own = Path(os.environ.get("LOCALAPPDATA", home)) / "Microsoft" / "Windows" / "Fonts"
        return [Path(os.environ.get("WINDIR", "C:/Windows")) / "Fonts", own]
    if sys.platform == "darwin":
        return [Path("/System/Library/Fonts"), Path("/Library/Fonts"), home / "Library" / "Fonts"]
    return [Path("/usr/share/fonts"), Path("/usr/local/share/fonts"), home / ".local/share/fonts", home / ".fonts"]
