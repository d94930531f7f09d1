"""A drawing's layers, and the way from the file to `Drawing`.

Enters: a path and the job. Leaves: `Drawing`. Layers are the top-level groups, back to front; a lone wrapper
that holds only groups is looked through.
"""

from dataclasses import dataclass
from pathlib import Path

from lxml import etree

from layercut.drawing.conditions import DRAWN, chosen, passes
from layercut.drawing.css.styles import Styles, read_styles
from layercut.drawing.curve_cache import CurveCache
from layercut.drawing.diagnostics import Diagnostics
from layercut.drawing.display_list import Item
from layercut.drawing.document import Document, load_document, local_name
from layercut.drawing.lettering.fonts import Fonts
from layercut.drawing.lettering.shaping import FontShelf
from layercut.drawing.lettering.text import Lettering
from layercut.drawing.linework.layers import render_lines
from layercut.drawing.names import Places, drawn_in_lines, is_guide_name, layer_name, word_of
from layercut.drawing.page import Page, read_page
from layercut.drawing.references import read_references
from layercut.drawing.render import Rules, render
from layercut.drawing.walk import Walker
from layercut.errors import DrawingError
from layercut.geometry.curves import flatten
from layercut.job import Job
from layercut.job_tables import LayerJob
from layercut.model import Drawing, Layer

MAX_LAYERS = 200
"""Layers of a drawing, guides and hidden ones not counted. Some stages look at every pair of sheets."""

_WRAPPERS = {"g", "a", "svg", "switch"}
_UNDRAWN = {"image"}  # beside the layers a reference photo is welcome, and no shape


@dataclass(frozen=True, slots=True)
class _Groups:
    """The groups that are layers with their names, those that count for nothing, and every wrapper around them."""

    layers: dict[etree._Element, int]
    names: tuple[str, ...]
    skipped: frozenset[etree._Element]


def read_drawing(path: Path, job: Job, cache: CurveCache | None = None) -> Drawing:
    """Read a drawing: its page, its layers from back to front, and what there is to say about it.

    `cache` keeps curves for the next reading, where there will be one.

    Raises DrawingError where it can't be read, or is no layered drawing.
    """
    document = load_document(path)
    diagnostics = Diagnostics()
    page = read_page(document.root, job, document.file)
    styles = read_styles(document, diagnostics)
    lettering = _lettering(path, job)
    places = Places()
    groups = _find_layers(document, styles, places, diagnostics)
    for group in groups.layers:
        places.enter(group)
    rules = Rules(
        job.marks.line_below,
        job.paint.wood_opacity,
        job.paint.roles,
        page.px_map,
        document.file,
        flatten if cache is None else cache.flatten,
    )
    walker = Walker(
        rules,
        styles,
        read_references(document.root),
        diagnostics,
        places,
        lettering,
        # Within one reading hardly a curve is flattened twice, but a symbol's path is read wherever it is used.
        (cache or CurveCache()).parse,
        groups.layers,
        groups.names,
        groups.skipped,
    )
    items = _walk_all(document, walker, page)
    ways = _line_layers(groups, job, document.file)
    layers = tuple(
        _layer(name, items[index], rules, diagnostics, ways.get(name)) for index, name in enumerate(groups.names)
    )
    return Drawing(document.file, document.sha256, page.width_mm, page.height_mm, layers, diagnostics.findings())


def _lettering(path: Path, job: Job) -> Lettering:
    marks = job.marks
    fonts = Fonts(path.parent, marks.fonts)
    fonts.check_listed()
    return Lettering(marks.text, marks.single_line, FontShelf(fonts), marks.line_below)


def _line_layers(groups: _Groups, job: Job, file: str) -> dict[str, LayerJob]:
    """The layers that are drawn in lines: those the job says, and those that say so themselves."""
    ways = {}
    for group, index in groups.layers.items():
        name = groups.names[index]
        said = drawn_in_lines(group, file, name)
        way = job.layers.get(name) or LayerJob.model_validate({})
        if way.face == "lines" or (said and "face" not in way.model_fields_set):
            ways[name] = way
    return ways


def _layer(name: str, items: list[Item], rules: Rules, diagnostics: Diagnostics, way: LayerJob | None) -> Layer:
    drawn = [item for item in items if item.paints and item.role != "guide"]
    shapes = (
        render(drawn, rules, diagnostics, name) if way is None else render_lines(drawn, way, rules, diagnostics, name)
    )
    if not any(shape.role == "wood" for shape in shapes):
        message = "the layer has no wood, so its sheet would be a bare frame; draw filled shapes in it, or hide it"
        diagnostics.add("layer-empty", message, layer=name)
    return Layer(name, shapes)


def _walk_all(document: Document, walker: Walker, page: Page) -> list[list[Item]]:
    """The items of each layer.

    Raises DrawingError `outside-layers` for anything drawn outside them.
    """
    root = document.root
    around = walker.enter_root(root, page)
    drawn: list[Item] = []
    for child in root:
        under = walker.walk(child, around)
        if any(item.layer is None and item.paints and item.role != "guide" for item in under):
            raise _outside(document, walker, child)
        drawn += under
        if local_name(child) in ("text", "foreignObject") and walker.styles.computed(child).get("display") != "none":
            raise _outside(document, walker, child)
    # Sorted only now: the whole drawing's own mask or clip path is for all layers together.
    items: list[list[Item]] = [[] for _ in walker.layer_names]
    for item in walker.with_effects(root, around.style, around, drawn):
        if item.layer is not None:
            items[item.layer].append(item)
    return items


def _outside(document: Document, walker: Walker, element: etree._Element) -> DrawingError:
    return DrawingError(
        "outside-layers",
        "is drawn outside every layer.",
        "Put it into one of the top-level groups, which are the layers.",
        file=document.file,
        element=walker.places.name(element),
    )


def _find_layers(document: Document, styles: Styles, places: Places, diagnostics: Diagnostics) -> _Groups:
    groups = [element for element in _holding(document.root) if local_name(element) == "g"]
    layers: dict[etree._Element, int] = {}
    names: list[str] = []
    drawn = {layer_name(group, number) for number, group in enumerate(groups, 1)}
    skipped: set[etree._Element] = set()
    # Hidden groups and guides are numbered too, so that hiding one renames none of the others.
    for number, group in enumerate(groups, 1):
        name = layer_name(group, number)
        shown = places.name(group)
        hidden = styles.computed(group).get("display").lower() == "none" or not passes(group)
        word = word_of(group, document.file, name, shown, by_name=False)
        if hidden or is_guide_name(name) or word == "guide":
            skipped.add(group)
            continue
        if len(layers) == MAX_LAYERS:
            raise _too_many_layers(len(groups), document.file)
        layers[group] = len(names)
        names.append(_distinct_name(name, names, drawn, diagnostics))
    if not layers:
        why = "every group of the drawing is hidden or a guide." if groups else "the drawing has no layers."
        hint = "Put what belongs on one sheet into one top-level group."
        raise DrawingError("no-layers", why, hint, file=document.file)
    return _Groups(layers, tuple(names), frozenset(skipped))


def _too_many_layers(count: int, file: str) -> DrawingError:
    message = f"the drawing has {count} top-level groups; the most that can be sheets is {MAX_LAYERS}."
    hint = "Group what belongs on one sheet, or hide groups that are no sheets."
    return DrawingError("too-many-layers", message, hint, file=file)


def _distinct_name(name: str, taken: list[str], drawn: set[str], diagnostics: Diagnostics) -> str:
    """A name no other layer has: neither one given before nor one that the maker drew."""
    number, result = 1, name
    while result in taken or (number > 1 and result in drawn):
        number += 1
        result = f"{name} {number}"
    if result != name:
        message = f"another layer is called '{name}' too; this one is called '{result}'"
        diagnostics.add("name-repeated", message, layer=result)
    return result


def _holding(root: etree._Element) -> list[etree._Element]:
    """What stands where layers stand: the root's own elements, or those within lone wrappers.

    Hidden groups count here, so that hiding one layer doesn't turn the other into a wrapper.
    """
    found = inside = _drawn(root)
    while len(inside) == 1 and local_name(inside[0]) in _WRAPPERS:
        inside = _drawn(inside[0])
        if not inside or not all(local_name(element) in _WRAPPERS for element in inside):
            break
        if all(local_name(element) == "g" for element in inside):
            found = inside  # only groups of groups are looked through: a switch within a layer is its content
    return found


def _drawn(parent: etree._Element) -> list[etree._Element]:
    if local_name(parent) == "switch":
        child = chosen(parent)
        return [] if child is None else [child]
    return [child for child in parent if local_name(child) in DRAWN - _UNDRAWN]
