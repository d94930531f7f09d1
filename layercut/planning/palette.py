"""The paints of a whole picture: their numbers, shades, coats, and the nearest of the maker's own.

Enters: what is seen of each look on each sheet, mm2. Leaves: `Colour`s, the first with number 1. Holds: what is seen
has the first numbers, from back to front; after it come the paints that lie only under a glaze or in a stack.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

from layercut.colour.bare import PLYWOOD
from layercut.colour.merging import Merged
from layercut.job_tables import PaintJob
from layercut.planning.coats import coats_of
from layercut.planning.looks import CoatLook, PaintLook
from layercut.planning.mixing import Mixer
from layercut.planning.own_paints import Matcher, OwnPaints
from layercut.planning.shades import mean_colour, shades_of
from layercut.workplan import BARE_WOOD, BlendStop, Colour, Finish, LaidCoat, OwnMatch, Shades

MOST_MATCHED = 200
"""So many colours, those with the most area, are matched with the own paints: each takes some milliseconds."""

BARE = PaintLook(PLYWOOD)
"""How bare wood looks: a glaze may lie on it, and it bears no number."""


@dataclass(frozen=True, slots=True)
class Key:
    """What makes two regions one paint."""

    look: PaintLook
    finish: Finish


@dataclass(frozen=True, slots=True)
class Area:
    """How much of a paint there is, mm2: what is seen, and what is painted; and what it lies on where all of it is a
    glaze: the look under most of it."""

    visible_mm2: float = 0.0
    painted_mm2: float = 0.0
    under: PaintLook | None = None


Numbers = Mapping[Key, int]


def number_paints(areas: Mapping[Key, Area]) -> dict[Key, int]:
    """The number of every paint, from 1: those that are seen in their order, then what they lie on or are made of."""
    numbers = {key: number for number, key in enumerate(areas, start=1)}
    for key, area in areas.items():
        for other in _beneath(key, area.under):
            numbers.setdefault(other, len(numbers) + 1)
    return numbers


@dataclass(frozen=True, slots=True)
class Given:
    """What the job and the stack say about paints: how they are laid on, which of the maker's own there are, and
    which drawn colours others stand for."""

    paint: PaintJob
    own: OwnPaints | None = None
    merged: tuple[Merged, ...] = ()

    def merged_into(self, key: Key) -> tuple[Merged, ...]:
        """The colours for which a flat paint stands."""
        if key.look.coats or key.finish != "paint":
            return ()
        return tuple(one for one in self.merged if one.into == key.look.colour)


def mix_colours(areas: Mapping[Key, Area], numbers: Numbers, given: Given) -> tuple[Colour, ...]:
    """Every paint in the order of its number."""
    matches = _matches(areas, given.own)
    return tuple(_colour(key, areas.get(key, Area()), numbers, matches, given) for key in numbers)


def coat_key(coat: CoatLook, finish: Finish) -> Key:
    """The paint of one coat of several."""
    return Key(coat.alone, finish)


def _beneath(key: Key, under: PaintLook | None) -> Iterator[Key]:
    """The paints that one is made of, and that it lies on, and what that is made of."""
    if key.look.is_stack:
        yield from (coat_key(coat, key.finish) for coat in key.look.coats)
    if under is not None and under != BARE:
        yield Key(under, key.finish)
        yield from _beneath(Key(under, key.finish), None)


def _colour(key: Key, area: Area, numbers: Numbers, matches: Mapping[str, OwnMatch], given: Given) -> Colour:
    look, middle, merged = key.look, _middle(key.look), given.merged_into(key)
    drawn = (look.colour, *(one.colour for one in merged), *(stop.colour for stop in look.blend))
    shades = shades_of(middle) if key.finish == "paint" else Shades(middle, middle, middle)
    three = [matches[shade] for shade in (shades.base, middle, shades.light) if shade in matches]
    return Colour(
        number=numbers[key],
        colour=look.colour,
        finish=key.finish,
        shades=shades,
        coats=coats_of(middle, drawn, given.paint) if key.finish == "paint" else 1,
        visible_mm2=area.visible_mm2,
        painted_mm2=area.painted_mm2,
        blend=tuple(BlendStop(s.offset, s.colour, matches.get(s.colour), s.opacity) for s in look.blend),
        matches=tuple(three) if len(three) == 3 else (),
        laid=tuple(
            LaidCoat(numbers[coat_key(coat, key.finish)], coat.opacity, coat.masked)
            for coat in (look.coats if look.is_stack else ())
        ),
        over=None
        if area.under is None
        else BARE_WOOD
        if area.under == BARE
        else numbers[Key(area.under, key.finish)],
        merged=merged,
    )


def _middle(look: PaintLook) -> str:
    """The colour that a paint's shades are of: as drawn, or of an opaque gradient the mean in OKLab."""
    if look.blend and all(stop.opacity == 1 for stop in look.blend):
        return mean_colour(tuple((stop.offset, stop.colour) for stop in look.blend))
    return look.colour


def _matches(areas: Mapping[Key, Area], own: OwnPaints | None) -> dict[str, OwnMatch]:
    """The nearest of the own paints to every shade and stop of the colours with the most area, and the mix that comes
    nearer; none where the job names none."""
    if own is None:
        return {}
    matcher = Matcher(own)
    wanted: list[str] = []
    for key in sorted(areas, key=lambda key: -areas[key].visible_mm2)[:MOST_MATCHED]:
        for one in dict.fromkeys((key, *_beneath(key, areas[key].under))):
            middle = _middle(one.look)
            shades = shades_of(middle)
            more = (shades.base, shades.light) if one.finish == "paint" else ()
            wanted += [middle, *more, *(stop.colour for stop in one.look.blend)]
    mixer = Mixer(own)
    nearest = {colour: matcher.nearest(colour) for colour in dict.fromkeys(wanted)}
    return {colour: replace(one, mix=mixer.best(colour, one.difference)) for colour, one in nearest.items()}
