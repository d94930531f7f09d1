"""Letters of single strokes, as an engraving tool writes them.

Enters: letters. Leaves: clusters of open strokes, from open data that an installed package holds
(docs/single-line.md says which). It has the letters of ASCII only: others are drawn without their accents, or left
out, and named.
"""

import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass, field

from layercut.drawing.lettering.letters import Letter
from layercut.drawing.lettering.shaping import name_letters
from layercut.drawing.lettering.typeset import Cluster, join_paths
from layercut.geometry.curves import Path, PathBuilder
from layercut.geometry.stroke_letters import BASELINE, CAP_UNITS, StrokeLetter, load_strokes
from layercut.job_values import SingleLineFace

CAP_EM = 0.7
"""Height of a capital as a share of the font size, about that of most fonts."""

_ALIKE = {
    0x2018: "'",
    0x2019: "'",
    0x201A: ",",
    0x201C: '"',
    0x201D: '"',
    0x201E: '"',
    0x2013: "-",
    0x2014: "-",
    0x2212: "-",
    0x2010: "-",
    0x2011: "-",
    0x00D7: "x",
    0x00DF: "ss",
    0x00E6: "ae",
    0x00C6: "AE",
    0x0153: "oe",
    0x0152: "OE",
    0x00F8: "o",
    0x00D8: "O",
}
"""What stands for letters that Unicode doesn't take apart, by code point: quotes, dashes, joined letters."""

FACES: dict[SingleLineFace, str] = {
    "plain": "futural",
    "plain-bold": "futuram",
    "simple": "rowmans",
    "simple-bold": "rowmand",
    "roman": "timesr",
    "roman-bold": "timesrb",
    "roman-wide": "rowmant",
    "italic": "timesi",
    "italic-bold": "timesib",
    "script": "scripts",
    "script-bold": "scriptc",
    "cursive": "cursive",
    "blackletter": "gothiceng",
    "blackletter-german": "gothicger",
    "blackletter-italian": "gothicita",
}
"""What the data's files are called, by the job's word for a face."""


@dataclass(slots=True)
class SingleLineSetter:
    """Sets the letters of one text in a face of the data; `remarks` as in `FontSetter`."""

    face: SingleLineFace
    remarks: dict[tuple[str, str], None] = field(default_factory=dict)
    hint: str = 'Write it another way, or let marks.text be "area" or "outline".'
    _absent: dict[str, dict[str, None]] = field(default_factory=dict)

    def set(self, letters: Sequence[Letter]) -> list[Cluster]:
        """One cluster for each letter."""
        clusters = [self._cluster(index, letter) for index, letter in enumerate(letters)]
        return [cluster for cluster in clusters if cluster is not None]

    def finish(self) -> None:
        """Say which letters were missing: once for all that went the same way."""
        for fate, letters in self._absent.items():
            self.remarks["letter-missing", f"{name_letters(letters)} {fate}"] = None
        self._absent.clear()

    def _cluster(self, index: int, letter: Letter) -> Cluster | None:
        if letter.combines:
            self._miss("isn't among the single-line letters and was left out", letter.text)
            return None
        text = self._plain(letter.text)
        glyphs = load_face(self.face)
        scale = letter.here.style.font_size * CAP_EM / CAP_UNITS
        pieces = []
        x = 0.0
        for char in text:
            glyph = glyphs[char]
            pieces.append((_path(glyph), (scale, 0.0, 0.0, scale, x - glyph.left * scale, -BASELINE * scale)))
            x += (glyph.right - glyph.left) * scale
        return Cluster(index, join_paths(pieces), x)

    def _plain(self, char: str) -> str:
        """What of the data is drawn for a character; a space where there is nothing."""
        glyphs = load_face(self.face)
        if char in glyphs:
            return char
        if unicodedata.category(char) == "Zs":
            return " "
        if unicodedata.category(char) == "Cf":
            return ""
        bare = _ALIKE.get(ord(char)) or "".join(
            part for part in unicodedata.normalize("NFKD", char) if not unicodedata.combining(part)
        )
        if bare and all(part in glyphs for part in bare) and not bare.isspace():
            self._miss(f"isn't among the single-line letters, and '{bare}' was drawn instead", char)
            return bare
        self._miss("isn't among the single-line letters and was left out", char)
        return " "

    def _miss(self, fate: str, letter: str) -> None:
        self._absent.setdefault(fate, {})[letter] = None


def load_face(face: SingleLineFace) -> dict[str, StrokeLetter]:
    """The letters of a face: left and right edge and strokes, in the data's units. ASCII only."""
    return load_strokes(FACES[face])


def _path(glyph: StrokeLetter) -> Path:
    pen = PathBuilder()
    for stroke in glyph.strokes:
        pen.move(*stroke[0])
        for point in stroke[1:]:
            pen.line(*point)
    return pen.build()
