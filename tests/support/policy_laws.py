"""The laws of islands: what must hold for every drawing under every policy. Judged from what a run leaves only.

`broken_laws` gives a sentence for each that doesn't hold; empty is well. Shares no code with stack/ but the values.
"""

from collections.abc import Iterator

import shapely
from builds import checked, sheets_made
from shapely import Point
from shapely.geometry.base import BaseGeometry

from layercut.errors import InternalError, LayercutError
from layercut.job import Job
from layercut.model import Drawing, LoosePiece, Stack, StackLayer
from layercut.pipeline import plan_stack
from layercut.sheets.svg_out import write_sheet

DUST_MM2 = 0.01
SEEN_MM2 = 0.05
HAIR_MM = 0.02
"""What is narrower than this, mm, nobody sees."""

CLOSING_CODES = {"opening-closes", "opening-pinches"}


def broken_laws(drawing: Drawing, job: Job, twice: bool = True) -> list[str]:
    """Every law that a drawing breaks, after all stages; an error of our own is one, a maker's fault isn't."""
    try:
        stack = plan_stack(drawing, job)
    except InternalError as error:
        return [f"fault of our own: {error.sentence()}"]
    except LayercutError:
        return []
    broken = [*_tiling(stack), *_ties(stack, job), *_left_over(stack, job)]
    if any(finding.severity == "error" for finding in stack.findings):
        # Nothing is cut, so only what holds in any case counts: what is refused has a name.
        return [*broken, *_names(stack)]
    broken += [*_names(stack), *_holding(stack, job), *_carrying(stack, job), *_chosen(stack, job)]
    sheets = sheets_made(drawing, stack, job)
    verdict = checked(sheets, stack, job)
    broken += [
        f"proof: {problem.code} {problem.file} {problem.at_mm} {problem.message}" for problem in verdict.failures
    ]
    if verdict.proof.pieces_found != verdict.proof.pieces_planned:
        broken.append(f"pieces: {verdict.proof.pieces_found} found, {verdict.proof.pieces_planned} planned")
    if twice:
        again = sheets_made(drawing, plan_stack(drawing, job), job)
        if [write_sheet(s, stack.panel, job) for s in sheets] != [write_sheet(s, stack.panel, job) for s in again]:
            broken.append("bytes: run twice, the sheets differ")
    return broken


def _tiling(stack: Stack) -> Iterator[str]:
    shown = [*(layer.visible for layer in stack.layers), stack.bare]
    total, inside = sum(region.area for region in shown), stack.panel.interior.area
    slack = 0.0005 * (stack.panel.interior.length + sum(region.length for region in shown)) + 1e-4
    if abs(total - inside) > slack:
        yield f"tiles: visible regions are {total:.4f} mm2 of {inside:.4f}"
    if abs(shapely.union_all(shown).area - total) > 1e-4:
        yield "tiles: visible regions overlap"
    for layer in stack.layers:
        if _area(layer.wood, layer.opening) > DUST_MM2:
            yield f"{layer.name}: {_area(layer.wood, layer.opening):.3f} mm2 of wood in its opening"


def _names(stack: Stack) -> Iterator[str]:
    """Every piece of wood hangs on the frame or has a name, and no two share one."""
    on_frame = shapely.point_on_surface(stack.panel.frame)
    for layer in stack.layers:
        named = [(piece.id, piece.region) for piece in layer.loose] + [
            (isle.id, isle.region) for isle in layer.islands
        ]
        pieces = [part for part in shapely.get_parts(layer.wood) if part.area >= DUST_MM2]
        if sum(part.contains(on_frame) for part in pieces) != 1:
            yield f"{layer.name}: no wood holds the frame"
        for part in pieces:
            mine = [name for name, region in named if _area(region, part) > 0.5 * min(region.area, part.area)]
            unheld = any(f.code == "unsupported-piece" for f in stack.findings)
            if not mine and not part.contains(on_frame) and not unheld:
                yield f"{layer.name}: {part.area:.3f} mm2 at {_at(part)} hang on nothing and have no name"
        if len({name for name, _ in named}) != len(named):
            yield f"{layer.name}: two pieces share a name"
        told = [finding for finding in stack.findings if finding.layer == layer.name]
        if len(layer.islands) != sum(finding.code in ("island", "neck") for finding in told):
            yield f"{layer.name}: {len(layer.islands)} islands, not as many findings"


def _holding(stack: Stack, job: Job) -> Iterator[str]:
    """A loose piece may be loose, and is a whole piece of the sheet's wood."""
    for layer in stack.layers:
        pieces = shapely.get_parts(layer.wood)
        for piece in layer.loose:
            if not piece.riser and job.islands.policy_for(layer.name, piece.names) not in {"loose", "auto"}:
                yield f"{layer.name}: {piece.id} is loose though it may not be"
            alone = [part for part in pieces if _area(part, piece.region) > DUST_MM2]
            if len(alone) != 1 or abs(alone[0].area - piece.region.area) > DUST_MM2:
                yield f"{layer.name}: {piece.id} is not a piece of its own"


def _carrying(stack: Stack, job: Job) -> Iterator[str]:
    """Loose pieces rest on the sheet behind with the contact that is told; what only carries is never seen.

    Where the kerf closes an opening, which is told, what should show there is covered.
    """
    closed = any(finding.code in CLOSING_CODES for finding in stack.findings)
    for index, layer in enumerate(stack.layers):
        for piece in layer.loose:
            if not index:
                yield f"{layer.name}: {piece.id} of the back sheet is loose"
                continue
            behind = stack.layers[index - 1]
            carrier = _carrier(piece, behind)
            if carrier is None:
                yield f"{layer.name}: {piece.id} rests on {piece.rests_on}, which isn't there"
            elif _area(piece.region, carrier) <= 0:
                yield f"{layer.name}: {piece.id} doesn't touch {piece.rests_on}"
            need = min(job.limits.glue_contact, 0.4 * piece.region.area)
            touching = _area(piece.region, behind.wood)
            if touching < need - DUST_MM2 or piece.contact_mm2 > touching + DUST_MM2:
                told = f"told {piece.contact_mm2:.3f}, needs {need:.3f}"
                yield f"{layer.name}: {piece.id} touches {touching:.3f} mm2, {told}"
            if piece.riser and not closed:
                shown = shapely.union_all([stack.bare, *(other.visible for other in stack.layers[: index + 1])])
                seen = shapely.intersection(piece.region, shown)
                if seen.area > DUST_MM2 and not shapely.buffer(seen, -HAIR_MM / 2).is_empty:
                    yield f"{layer.name}: the riser {piece.id} is seen, {seen.area:.3f} mm2"
        if index + 1 < len(stack.layers) and layer.locators:
            cover = shapely.union_all([piece.region for piece in stack.layers[index + 1].loose])
            lines = shapely.union_all(list(layer.locators))
            if shapely.difference(lines, shapely.buffer(cover, -0.25)).length > 0.01:
                yield f"{layer.name}: a locator is not covered by its piece"
            if shapely.difference(lines, layer.wood).length > 0.01:
                yield f"{layer.name}: a locator lies in the air"


def _left_over(stack: Stack, job: Job) -> Iterator[str]:
    """What the job leaves to layercut is dealt with: nothing of it is refused."""
    says = [
        job.islands.policy,
        *(table.policy for table in job.islands.layers.values()),
        *job.islands.pieces.values(),
    ]
    if set(says) != {"auto"}:
        return
    for finding in stack.findings:
        if finding.code in {"island", "neck", "unsupported-piece"}:
            yield f"{finding.layer}: left over under auto: {finding.code} at {finding.at_mm}"


def _chosen(stack: Stack, job: Job) -> Iterator[str]:
    """What was chosen by price is whole enough to handle: loose pieces are wide and rest fully."""
    for index, layer in enumerate(stack.layers):
        ours = {choice.id for choice in layer.choices if choice.chosen == "loose" and not choice.own}
        for piece in layer.loose:
            if piece.id not in ours:
                continue
            rest = shapely.buffer(piece.region, -job.limits.setback)
            if _area(rest, stack.layers[index - 1].wood) < 0.97 * rest.area - DUST_MM2:
                yield f"{layer.name}: {piece.id} doesn't rest fully"
            if shapely.buffer(piece.region, -(job.limits.piece / 2 - 0.15)).is_empty:
                yield f"{layer.name}: {piece.id} is narrower than limits.piece"


def _carrier(piece: LoosePiece, behind: StackLayer) -> BaseGeometry | None:
    if piece.rests_on == behind.name:
        return shapely.difference(behind.wood, shapely.union_all([other.region for other in behind.loose]))
    return next((other.region for other in behind.loose if other.id == piece.rests_on), None)


def _ties(stack: Stack, job: Job) -> Iterator[str]:
    """Ties are whole and wide; a sheet without islands is one body for a disc nearly as wide as the limit."""
    told = {finding.layer for finding in stack.findings if finding.severity == "error"}
    width = max(job.islands.tie_width or 0.0, job.limits.neck)
    for layer in stack.layers:
        for tie in layer.ties:
            disc = shapely.buffer(Point(tie.at_mm), tie.width_mm / 2 - 0.01)
            lacking = shapely.difference(disc, shapely.union_all([layer.wood, *stack.panel.pins]))
            if tie.width_mm < width or lacking.area > DUST_MM2:
                yield f"{layer.name}: the tie at {tie.at_mm} lacks {lacking.area:.3f} mm2"
            if tie.length_mm > job.limits.slender * tie.width_mm + 1e-6:
                yield f"{layer.name}: the tie at {tie.at_mm} is {tie.length_mm:.1f} mm long"
            if any(_area(tie.region, pin) > 1e-6 for pin in stack.panel.pins):
                yield f"{layer.name}: the tie at {tie.at_mm} is told to fill a pin's hole"
        if any(_area(layer.wood, pin) > 1e-6 for pin in stack.panel.pins):
            yield f"{layer.name}: wood where a pin goes"
        if layer.name in told or job.limits.neck <= 0.1 or layer.loose:
            continue
        bodies = _bodies(layer.wood, job.limits.neck)
        seen = [body for body in bodies if _area(body, layer.visible) > SEEN_MM2]
        if len(bodies) > 1 and seen:
            least = min(bodies, key=lambda body: body.area)
            yield f"{layer.name}: {len(bodies)} bodies for a disc of the neck limit, one at {_at(least)}"


def _bodies(wood: BaseGeometry, neck_mm: float) -> list[BaseGeometry]:
    """Where the middle of a disc a little narrower than the limit can be, if one as wide as the limit fits there."""
    cores = shapely.get_parts(shapely.buffer(wood, -(neck_mm / 2 - 0.02), quad_segs=16))
    wide = shapely.buffer(wood, -(neck_mm / 2 - 0.008), quad_segs=16)
    return [core for core in cores if not core.is_empty and shapely.intersects(core, wide)]


def _area(first: BaseGeometry, second: BaseGeometry) -> float:
    return float(shapely.intersection(first, second).area)


def _at(region: BaseGeometry) -> tuple[float, float]:
    point = shapely.point_on_surface(region)
    return (round(point.x, 2), round(point.y, 2))
