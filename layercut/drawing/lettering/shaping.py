"""Letters with a font's outlines.

Enters: letters and the fonts at hand. Leaves: clusters of outlines, shaped by HarfBuzz: kerning, ligatures, accents
and joined scripts as the font has them. Holds: a letter that no font has is left out and named, never a blank box.
"""

import unicodedata
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import Any

from layercut.drawing.css.fonts import font_families, font_weight, is_slanted
from layercut.drawing.css.styles import Style
from layercut.drawing.lettering.fonts import FontFile, Fonts, Wish
from layercut.drawing.lettering.letters import Letter
from layercut.drawing.lettering.typeset import Cluster, join_paths, runs_left
from layercut.drawing.units import parse_length
from layercut.geometry.curves import Affine, Path, PathBuilder

_NO_LIGATURES = {"liga": False, "clig": False}
_BOLD = 600
"""From this weight on a face is called bold."""


@dataclass(slots=True)
class LoadedFont:
    """A face ready to shape with: HarfBuzz's font in font units, and the outlines drawn so far."""

    face: FontFile
    hb: Any
    upem: float
    letters: frozenset[int]
    _outlines: dict[int, Path] = field(default_factory=dict)

    def outline(self, glyph: int) -> Path:
        """A glyph's outline in font units, y up. Empty for a space, and for glyphs that are pictures."""
        if glyph not in self._outlines:
            pen = _Pen()
            self.hb.draw_glyph_with_pen(glyph, pen)
            self._outlines[glyph] = pen.builder.build()
        return self._outlines[glyph]


class _Pen:
    """Takes outlines in the way of font tools' pens; their names are not ours to choose."""

    def __init__(self) -> None:
        self.builder = PathBuilder()

    def moveTo(self, point: tuple[float, float]) -> None:  # noqa: N802
        self.builder.move(*point)

    def lineTo(self, point: tuple[float, float]) -> None:  # noqa: N802
        self.builder.line(*point)

    def qCurveTo(self, handle: tuple[float, float], point: tuple[float, float]) -> None:  # noqa: N802
        self.builder.quadratic(*handle, *point)

    def curveTo(self, first: tuple[float, float], second: tuple[float, float], point: tuple[float, float]) -> None:  # noqa: N802
        self.builder.cubic(*first, *second, *point)

    def closePath(self) -> None:  # noqa: N802
        self.builder.close()

    def endPath(self) -> None:  # noqa: N802
        """Outlines of fonts are closed."""


@dataclass(slots=True)
class FontShelf:
    """The faces that a drawing uses, each opened once, and what there is to say about their choice."""

    fonts: Fonts
    _loaded: dict[tuple[FontFile, int], LoadedFont] = field(default_factory=dict)
    _chosen: dict[tuple[tuple[str, ...], Wish], tuple[list[LoadedFont], list[str]]] = field(default_factory=dict)
    _others: dict[Wish, Sequence[LoadedFont]] = field(default_factory=dict)

    def choose(self, style: Style) -> tuple[list[LoadedFont], list[str]]:
        """The fonts of a style in order of preference, and what isn't as the style wants it. Maybe no font."""
        families = font_families(style.get("font-family"))
        wish = Wish(font_weight(style.get("font-weight")) or 400, is_slanted(style.get("font-style")))
        if (families, wish) not in self._chosen:
            self._chosen[families, wish] = self._choose(families, wish)
        return self._chosen[families, wish]

    def others(self, wish: Wish) -> Sequence[LoadedFont]:
        """Where else a letter may come from: the job's other fonts, then the machine's plain one."""
        if wish not in self._others:
            plain = self.fonts.find("sans-serif", wish)
            faces = [*self.fonts.own(), *([plain] if plain else [])]
            self._others[wish] = [self._load(face, wish) for face in faces]
        return self._others[wish]

    def _choose(self, families: tuple[str, ...], wish: Wish) -> tuple[list[LoadedFont], list[str]]:
        if not families:
            own = self.fonts.own()
            families = (own[0].family,) if own else ("serif",)
        faces = [self.fonts.find(family, wish) for family in families]
        missing = f"the font '{families[0]}' was not found"
        if not any(faces):
            faces = [self.fonts.instead(families[0], wish)]
        found = [face for face in faces if face is not None]
        if not found:
            return [], [f"{missing}, nor any other, and its text was left out"]
        remarks = _style_remarks(found[0], wish)
        if self.fonts.find(families[0], wish) is None:
            remarks.insert(0, f"{missing}; '{found[0].family}' was used instead")
        return [self._load(face, wish) for face in found], remarks

    def _load(self, face: FontFile, wish: Wish) -> LoadedFont:
        import uharfbuzz as hb  # noqa: PLC0415 - only drawings with text need it

        weight = min(max(wish.weight, face.weights[0]), face.weights[1])
        if (face, weight) not in self._loaded:
            table = hb.Face(hb.Blob.from_file_path(str(face.path)), face.number)
            font = hb.Font(table)
            if face.weights[0] < face.weights[1]:
                font.set_variations({"wght": weight})
            self._loaded[face, weight] = LoadedFont(face, font, float(table.upem), frozenset(table.unicodes))
        return self._loaded[face, weight]


def _style_remarks(face: FontFile, wish: Wish) -> list[str]:
    remarks = []
    if wish.slanted and not face.slanted:
        remarks.append(f"the font '{face.family}' has no italic, and its upright letters were used")
    if wish.weight >= _BOLD > face.weights[1]:
        remarks.append(f"the font '{face.family}' has no bold, and its regular letters were used")
    return remarks


@dataclass(slots=True)
class FontSetter:
    """Sets the letters of one text; `remarks` are (code, statement) pairs that came up, each once."""

    shelf: FontShelf
    remarks: dict[tuple[str, str], None] = field(default_factory=dict)
    hint: str = "Choose a font that has it, or turn the text into paths."
    _absent: dict[str, dict[str, None]] = field(default_factory=dict)

    def set(self, letters: Sequence[Letter]) -> list[Cluster]:
        """The clusters of letters that follow each other. Letters of a size of zero draw nothing."""
        clusters: list[Cluster] = []
        leftward = runs_left(letters)
        for begin, end, font in self._runs(letters):
            clusters += self._shape(letters[begin:end], begin, font, leftward=leftward)
        return clusters

    def finish(self) -> None:
        """Say which letters were missing: once for all that went the same way."""
        for fate, letters in self._absent.items():
            self.remarks["letter-missing", f"{name_letters(letters)} {fate}"] = None
        self._absent.clear()

    def _runs(self, letters: Sequence[Letter]) -> Iterator[tuple[int, int, LoadedFont]]:
        """Letters of one font and size, from `begin` up to `end`; those without any font are passed over."""
        fonts: list[LoadedFont | None] = []
        # An accent goes with the letter that it stands on, or the font couldn't put it there.
        for letter in letters:
            before = fonts[-1] if fonts else None
            fonts.append(before if letter.combines and before else self._font_of(letter))
        begin = 0
        for index in range(1, len(letters) + 1):
            same = (
                index < len(letters)
                and fonts[index] is fonts[begin]
                and _manner(letters[index]) == _manner(letters[begin])
            )
            font = fonts[begin]
            if not same:
                if font is not None:
                    yield begin, index, font
                begin = index

    def _font_of(self, letter: Letter) -> LoadedFont | None:
        """The first font that has the letter; the preferred one where none has it."""
        style = letter.here.style
        chosen, remarks = self.shelf.choose(style)
        self.remarks.update({("font-missing", remark): None for remark in remarks})
        if not chosen:
            return None
        wanted = ord(letter.text)
        if wanted in chosen[0].letters or not _shows(letter.text):
            return chosen[0]
        wish = Wish(font_weight(style.get("font-weight")) or 400, is_slanted(style.get("font-style")))
        for font in (*chosen[1:], *self.shelf.others(wish)):
            if wanted in font.letters:
                fate = f"isn't in the font '{chosen[0].face.family}' and was taken from '{font.face.family}'"
                self._miss(fate, letter.text)
                return font
        return chosen[0]

    def _shape(self, run: Sequence[Letter], begin: int, font: LoadedFont, *, leftward: bool) -> list[Cluster]:
        import uharfbuzz as hb  # noqa: PLC0415 - only drawings with text need it

        buffer = hb.Buffer()
        buffer.add_codepoints([ord(letter.text) for letter in run])
        buffer.guess_segment_properties()
        buffer.direction = "rtl" if leftward else "ltr"
        buffer.language = "en"  # never that of the machine, or the same drawing could come out differently
        hb.shape(font.hb, buffer, _features(run))
        scale = run[0].here.style.font_size / font.upem
        clusters: list[Cluster] = []
        placed: list[tuple[int, int, float, float, float]] = []
        for info, position in zip(buffer.glyph_infos, buffer.glyph_positions, strict=True):
            if placed and placed[-1][0] != info.cluster:
                clusters.append(self._cluster(run, begin, font, placed, scale))
                placed = []
            x = sum(advance for *_, advance in placed) + position.x_offset
            placed.append((info.cluster, info.codepoint, x, position.y_offset, position.x_advance))
        if placed:
            clusters.append(self._cluster(run, begin, font, placed, scale))
        return clusters

    def _cluster(
        self,
        run: Sequence[Letter],
        begin: int,
        font: LoadedFont,
        placed: Sequence[tuple[int, int, float, float, float]],
        scale: float,
    ) -> Cluster:
        first = placed[0][0]
        pieces: list[tuple[Path, Affine]] = []
        for _, glyph, x, y, _ in placed:
            # Glyph 0 is the box that stands for a missing letter: nobody wants it engraved.
            outline = font.outline(glyph) if glyph else PathBuilder().build()
            if not outline.is_empty:
                pieces.append((outline, (scale, 0.0, 0.0, -scale, x * scale, -y * scale)))
        if not pieces and _shows(run[first].text):
            self._miss(f"isn't in the font '{font.face.family}' and was left out", run[first].text)
        return Cluster(begin + first, join_paths(pieces), scale * sum(advance for *_, advance in placed))

    def _miss(self, fate: str, letter: str) -> None:
        self._absent.setdefault(fate, {})[letter] = None


def name_letters(letters: dict[str, None]) -> str:
    """Such as `the letter 'é' (U+00E9)`, or of several the first ten and how many more."""
    shown = [
        f"'{letter}' (U+{ord(letter):04X})" if letter.isprintable() else f"U+{ord(letter):04X}"
        for letter in list(letters)[:10]
    ]
    more = f" and {len(letters) - 10} more" if len(letters) > 10 else ""
    return f"the letter {shown[0]}" if len(letters) == 1 else f"each of the letters {', '.join(shown)}{more}"


def _manner(letter: Letter) -> tuple[float, str, bool]:
    """What must be the same for letters to be shaped together."""
    style = letter.here.style
    spaced = bool(parse_length(style.get("letter-spacing"), None, style.font_size))
    return style.font_size, style.get("font-kerning").lower(), spaced


def _features(run: Sequence[Letter]) -> dict[str, bool]:
    """No ligatures in spaced or shifted letters (CSS Text 3, 8.2; SVG 2, 11.5), kerning unless switched off."""
    _, kerning, spaced = _manner(run[0])
    features = dict(_NO_LIGATURES) if spaced or any(letter.moved for letter in run) else {}
    return features | ({"kern": False} if kerning == "none" else {})


def _shows(letter: str) -> bool:
    """False for spaces, controls and joiners, which draw nothing in any font."""
    return unicodedata.category(letter) not in ("Zs", "Zl", "Zp", "Cc", "Cf", "Mn", "Me")
