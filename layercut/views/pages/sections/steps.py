"""Painting, step by step: after the base coats, after the middle, after the light, done; in words and in pictures.

Enters: a finished build, and its step pictures where they were asked for. Leaves: one section of HTML for the
traveller. Holds: what `sections/__init__.py` says; without the script all pictures of the stack are shown.
"""

import base64
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import PurePath

from layercut.job_values import PaintHand
from layercut.model import Made
from layercut.views.pages.sections.filling import filled
from layercut.views.picture.step_pictures import Shot, StepPictures
from layercut.workplan import Colour, Handed, PaintPlan, SheetPaint

TITLES = ("After the base", "After the middle", "After the light", "Done")
"""The four steps."""


@dataclass(frozen=True, slots=True)
class _Picture:
    """A picture in the page: its data, its size in pixels, what it shows."""

    source: str
    width: int
    height: int
    text: str


@dataclass(frozen=True, slots=True)
class _Step:
    """One step of one sheet: title, words, and its pictures, none where nobody asked for any."""

    title: str
    words: tuple[str, ...]
    pictures: tuple[_Picture, ...]


@dataclass(frozen=True, slots=True)
class _Sheet:
    """A sheet with its four steps, and where its close look is."""

    name: str
    steps: tuple[_Step, ...]
    close: str


def steps_section(build: Made, pictures: StepPictures | None) -> str:
    """The section; `pictures` are None where nobody asked for any."""
    plan, paint, units = build.work.paint, build.job.paint, build.job.units
    hands = build.work.hands
    painted = [place for place, sheet in enumerate(plan.sheets) if sheet.parts]
    used = {one.hand for sheet in hands for one in sheet}
    return filled(
        "steps",
        file=PurePath(build.drawing.file).name,
        painted=bool(painted),
        edge=units.length(paint.edge),
        overlap=units.length(plan.overlap_mm),
        stained=any(colour.finish == "stain" for colour in plan.colours),
        stipples="stipple" in used,
        blends="blend" in used,
        stack=tuple(_stack(pictures)) if pictures and painted else (),
        sheets=tuple(_sheet(place, build, hands[place], pictures) for place in painted),
        close=units.length(pictures.close_mm, 0) if pictures else "",
    )


def _stack(pictures: StepPictures) -> Iterator[_Step]:
    for title, shot in zip(TITLES, pictures.stack, strict=True):
        yield _Step(title, (), (_picture(shot, f"The whole picture. {title}."),))


def _sheet(place: int, build: Made, hands: Sequence[Handed], pictures: StepPictures | None) -> _Sheet:
    name = f"{place + 1}. {build.stack.layers[place].name}"
    words = _words(build.work.paint.sheets[place], hands, build)
    shots = pictures.sheets[place] if pictures else None
    steps = []
    for number, (title, said) in enumerate(zip(TITLES, words, strict=True)):
        shown = (
            (
                _picture(shots.whole[number], f"Sheet {name}. {title}."),
                _picture(shots.close[number], f"A close look at sheet {name}. {title}."),
            )
            if shots
            else ()
        )
        steps.append(_Step(title, tuple(said), shown))
    close = build.job.units.place(*shots.corner_mm, 0) if shots else ""
    return _Sheet(name, tuple(steps), close)


def _picture(shot: Shot, text: str) -> _Picture:
    data = base64.b64encode(shot.data).decode("ascii")
    return _Picture(f"data:image/webp;base64,{data}", shot.width, shot.height, text)


def _words(sheet: SheetPaint, hands: Sequence[Handed], build: Made) -> tuple[list[str], ...]:
    """What is done in each of the four steps on a sheet, as short sentences."""
    plan, units = build.work.paint, build.job.units
    colours = [plan.colour(part.number) for part in sheet.parts]
    shaded = {colour.number for colour in colours if has_shades(colour)}
    return (
        [*_base(colours, plan, build)],
        [*_middle(shaded, hands, units.length(build.job.paint.edge))],
        [*_light(shaded, hands, plan)],
        [*_done(sheet, build)],
    )


def has_shades(colour: Colour) -> bool:
    """Whether a paint has a base, a middle and a light that differ: stain and white have one shade."""
    return colour.finish == "paint" and len({colour.shades.base, colour.shades.middle, colour.shades.light}) > 1


def _base(colours: Sequence[Colour], plan: PaintPlan, build: Made) -> Iterator[str]:
    stained = [colour.number for colour in colours if colour.finish == "stain"]
    alone = [colour.number for colour in colours if colour.finish == "paint" and not has_shades(colour)]
    shaded = [colour.number for colour in colours if has_shades(colour)]
    if stained:
        yield f"Stain {_numbers(stained)} first, one coat, wiped along the grain: fresh air, gloves, rags laid flat."
    if shaded:
        yield f"Base shade of {_numbers(shaded)}, all over."
    if alone:
        yield f"{_numbers(alone)} in {'its' if len(alone) == 1 else 'their'} one shade: coats only, no dark edge."
    if shaded or alone:
        yield f"Go on {build.job.units.length(plan.overlap_mm)} under the sheet in front. Dry by the paint's label."


def _middle(shaded: set[int], hands: Sequence[Handed], edge: str) -> Iterator[str]:
    if not shaded:
        yield "Nothing more: these colours have one shade."
        return
    yield f"Middle shade, {edge} back from the edge, less where it is narrow."
    laid = {hand: _numbers(_by(hand, hands) & shaded) for hand in ("flat", "stipple", "blend")}
    if laid["flat"]:
        yield f"Flat brush: {laid['flat']}."
    if laid["stipple"]:
        yield f"Fan brush, nearly dry, dabbed: {laid['stipple']}."
    if laid["blend"]:
        yield f"Wet in wet: {laid['blend']}, on to the light while wet."
    if laid["flat"] or laid["stipple"]:
        yield f"{'The rest dries' if laid['blend'] else 'Dry'} by the label."


def _light(shaded: set[int], hands: Sequence[Handed], plan: PaintPlan) -> Iterator[str]:
    if not shaded:
        yield "Nothing more."
        return
    blended = _by("blend", hands) & shaded
    graded = {number for number in blended if plan.colour(number).blend or plan.colour(number).laid}
    flat, stippled = _by("flat", hands) & shaded, _by("stipple", hands) & shaded
    if flat or stippled:
        yield "Light shade on the side of the lamp, top left, further back."
    if flat:
        yield f"A thin band: {_numbers(flat)}."
    if stippled:
        yield f"A few dabs: {_numbers(stippled)}."
    if graded:
        yield f"{_numbers(graded)} {'has its' if len(graded) == 1 else 'have their'} light from the blend."
    for upwards, way in ((False, "down"), (True, "up")):
        wet = {one.number for one in hands if one.hand == "blend" and one.upwards == upwards} & blended - graded
        if wet:
            verb = "is" if len(wet) == 1 else "are"
            yield f"While {_numbers(wet)} {verb} wet, draw light in, {way} to the horizon."
    yield "Dry by the label."


def _done(sheet: SheetPaint, build: Made) -> Iterator[str]:
    marks = any(one.kind == "layer" and (one.mark_lines or one.mark_areas) for one in build.sheets)
    if marks:
        yield "Draw burnt lines again where paint has filled them, with a fine brush or a soft pencil."
    if sheet.glue_mm2:
        yield "Pull the tape off the glue zones."
    yield "Glue when all is hard by the label."


def _by(hand: PaintHand, hands: Iterable[Handed]) -> set[int]:
    """The numbers of the paints that a hand lays on."""
    return {one.number for one in hands if one.hand == hand}


def _numbers(numbers: Iterable[int]) -> str:
    """Numbers of paints as words, runs of three and more drawn together: `1 to 4, 7 and 9`; empty for none."""
    runs: list[list[int]] = []
    for number in sorted(numbers):
        if runs and number == runs[-1][-1] + 1:
            runs[-1].append(number)
        else:
            runs.append([number])
    words = [
        word
        for run in runs
        for word in ([f"{run[0]} to {run[-1]}"] if len(run) > 2 else [str(number) for number in run])
    ]
    return f"{', '.join(words[:-1])} and {words[-1]}" if len(words) > 1 else "".join(words)
