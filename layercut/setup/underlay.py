"""A photo laid into a drawing's guide layer, every other byte of the file left as it is.

Enters: the bytes of a drawing and what to put in. Leaves: the new bytes. The places are found with expat, which knows
the byte at which each tag begins; the document is never written anew.
"""

import base64
import re
import xml.parsers.expat
from dataclasses import dataclass, field

from layercut.errors import DrawingError

PHOTO_ID = "guide-photo"
"""The id of the picture; one that is there already is replaced."""

OPACITY = 0.6
"""Of the photo, so that the guide's lines and letters can be read on it."""

SVG = "http://www.w3.org/2000/svg"

_TAG = re.compile(rb"""<[^"'>]*(?:"[^"]*"[^"'>]*|'[^']*'[^"'>]*)*>""")
_DEEPEST_GUIDE = 3  # elements around it: the root and at most two wrappers


@dataclass(slots=True)
class GuideLayer:
    """Where the guide layer and an earlier photo stand, in bytes, and what the layer says of itself.

    `tag_at` is where its start tag begins, `depth` how many elements it lies in; `photo` is where an earlier photo in
    it begins and where its end is told; `number` counts the elements that begin before it, the root among them.
    """

    tag_at: int
    depth: int
    attributes: dict[str, str]
    number: int
    photo: tuple[int, int] | None = None

    @property
    def ratio(self) -> float | None:
        """Real over drawn, as a new drawing says it; None where it doesn't."""
        numbers = _numbers(self.attributes.get("data-layercut-scale", ""))
        return numbers[0] if len(numbers) == 1 and numbers[0] > 0 else None

    @property
    def walls_mm(self) -> tuple[float, float, float, float] | None:
        """Left, top, width and height of the walls on the page, mm; None where the drawing doesn't say."""
        numbers = _numbers(self.attributes.get("data-layercut-walls", ""))
        return (numbers[0], numbers[1], numbers[2], numbers[3]) if len(numbers) == 4 else None

    def standing_mm(self, size_mm: tuple[float, float], page_mm: tuple[float, float]) -> tuple[float, float]:
        """The lower left corner of a picture of this size that stands on the ground, in the middle of the walls; in
        the middle of the page where the drawing doesn't say where the walls are.
        """
        if self.walls_mm is None:
            return (page_mm[0] - size_mm[0]) / 2, (page_mm[1] + size_mm[1]) / 2
        left, top, width, height = self.walls_mm
        return left + (width - size_mm[0]) / 2, top + height


@dataclass(slots=True)
class _Open:
    """An element that is being read; `label` and `title` as far as they are known."""

    name: str
    at: int
    number: int
    attributes: dict[str, str]
    title: str = ""

    def is_guide(self) -> bool:
        """Whether its name (label, else title, else id) begins with the word, or it says so itself."""
        said = self.attributes.get("data-layercut", "").strip().lower()
        label = next((v for k, v in self.attributes.items() if k.rpartition(" ")[2] == "label" and v.strip()), "")
        name = label or self.title or self.attributes.get("id", "")
        return said == "guide" or name.strip().lower().startswith("guide")


@dataclass(slots=True)
class _Finder:
    """Follows the parser and collects the guide layers near the top, and the photo within each."""

    parser: xml.parsers.expat.XMLParserType
    path: list[_Open] = field(default_factory=list)
    photos: list[tuple[int, int]] = field(default_factory=list)
    found: list[GuideLayer] = field(default_factory=list)
    count: int = 0

    def start(self, name: str, attributes: dict[str, str]) -> None:
        self.path.append(_Open(name, self.parser.CurrentByteIndex, self.count, attributes))
        self.count += 1

    def words(self, text: str) -> None:
        if len(self.path) > 1 and self.path[-1].name == f"{SVG} title":
            self.path[-2].title += text

    def end(self, name: str) -> None:
        here, depth = self.path[-1], len(self.path) - 1
        if name == f"{SVG} image" and here.attributes.get("id") == PHOTO_ID:
            self.photos.append((here.at, self.parser.CurrentByteIndex))
        groups = all(part.name == f"{SVG} g" for part in self.path[1:])  # not one that is only referred to
        if groups and 1 <= depth <= _DEEPEST_GUIDE and here.is_guide():
            photo = next((place for place in self.photos if place[0] > here.at), None)
            self.found.append(GuideLayer(here.at, depth, here.attributes, here.number, photo))
        self.path.pop()


def find_guide(data: bytes, file: str) -> GuideLayer:
    """The guide layer of a drawing: of the groups near the top that are named so, the outermost and first.

    Raises DrawingError `no-guide` where there is none, `not-xml` where the file can't be followed byte by byte.
    """
    parser = xml.parsers.expat.ParserCreate(namespace_separator=" ")
    finder = _Finder(parser)
    parser.StartElementHandler, parser.EndElementHandler = finder.start, finder.end
    parser.CharacterDataHandler = finder.words
    if data.startswith((b"\xff\xfe", b"\xfe\xff", b"\x1f\x8b")):
        message = "is compressed, or not in UTF-8, so nothing can be put into it."
        raise DrawingError("not-xml", message, "Save it as a plain SVG file.", file=file)
    try:
        parser.Parse(data, True)
    except xml.parsers.expat.ExpatError as error:
        raise DrawingError("not-xml", f"is damaged: {error}.", "Save it again in your editor.", file=file) from None
    if not finder.found:
        message = "has no guide layer to lay the picture in."
        hint = "Add a layer named guide, or write the picture to a file with --out."
        raise DrawingError("no-guide", message, hint, file=file)
    return min(finder.found, key=lambda layer: (layer.depth, layer.tag_at))


def lay_picture(data: bytes, guide: GuideLayer, image: bytes) -> bytes:
    """The drawing with `image`, an SVG element, first in the guide layer, or in an earlier photo's place."""
    if guide.photo is not None:
        start, last = guide.photo
        end = _tag_end(data, start)
        if last > end or not data[:end].endswith(b"/>"):
            end = data.index(b">", last) + 1  # it has an end tag of its own
        return data[:start] + image + data[end:]
    end = _tag_end(data, guide.tag_at)
    tag = data[guide.tag_at : end]
    if tag.endswith(b"/>"):
        name = re.split(rb"[\s/>]", tag[1:], maxsplit=1)[0]
        return data[: end - 2] + b">\n" + image + b"\n</" + name + b">" + data[end:]
    return data[:end] + b"\n" + image + data[end:]


def image_element(png: bytes, box_mm: tuple[float, float, float, float], to_user: str) -> bytes:
    """An image element with a PNG in it: left, top, width, height in mm; `to_user` maps mm to the layer's units."""
    x, y, width, height = (f"{value:.4f}".rstrip("0").rstrip(".") for value in box_mm)
    transform = f' transform="{to_user}"' if to_user else ""
    return (
        (
            f'<image xmlns="{SVG}" xmlns:xlink="http://www.w3.org/1999/xlink" id="{PHOTO_ID}" x="{x}" y="{y}" '
            f'width="{width}" height="{height}" preserveAspectRatio="none" opacity="{OPACITY}"{transform} '
            f'xlink:href="data:image/png;base64,'
        ).encode()
        + base64.b64encode(png)
        + b'"/>'
    )


def matrix_text(matrix: tuple[float, float, float, float, float, float]) -> str:
    """A map as the value of a `transform`; empty for one that changes nothing."""
    if max(abs(one - two) for one, two in zip(matrix, (1, 0, 0, 1, 0, 0), strict=True)) < 1e-9:
        return ""
    return f"matrix({' '.join(f'{value:.9g}' for value in matrix)})"


def _tag_end(data: bytes, at: int) -> int:
    """Just after the tag that begins at a byte; its quoted values may hold `>`."""
    match = _TAG.match(data, at)
    return match.end() if match else at


def _numbers(text: str) -> list[float]:
    try:
        return [float(part) for part in text.split()]
    except ValueError:
        return []
