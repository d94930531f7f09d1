"""Assembly: the order of gluing, step by step.

Enters: a finished build. Leaves: one section of HTML for the traveller. Holds: what `sections/__init__.py` says.
"""

from layercut.model import Made
from layercut.units import Units
from layercut.views.pages.label import FILE as LABEL
from layercut.views.pages.label import label_size_mm, label_svg
from layercut.views.pages.piece_names import piece_words
from layercut.views.pages.sections.filling import Picture, filled
from layercut.workplan import Step

MOST_PIECES = 60
"""Loose pieces that a step names one by one."""

PVA = (
    "White or yellow wood glue (PVA) is usually clamped for 30 to 60 minutes and left for about 24 hours before the "
    "joint bears anything; longer in the cold (common practice). Glues differ: the label of yours counts more."
)
"""Usual clamp and dry times, common practice, from no one maker's label."""

FRAME_LAST = (
    "When the glue has dried, that of spacers too, sand the outer edges flush along the grain: outdoors or with "
    "extraction, a dust mask and eye protection on. Wipe off the dust, then stain the outer edges and the frame's "
    "face in front, and let them dry as the stain's label says."
)
"""When the frame gets its colour: the one place that says it."""


def assembly_section(build: Made) -> str:
    """The section."""
    return filled(
        "assembly",
        pva=PVA,
        steps=tuple(_step_words(step, build) for step in build.work.steps),
        label=_label(build),
    )


def _label(build: Made) -> tuple[Picture, ...]:
    """The label for the back, where there is one."""
    svg = label_svg(build)
    size = build.job.units.size(*label_size_mm(build.stack.panel), digits=0)
    return (Picture(svg, f"The label for the back, {LABEL}, {size}."),) if svg else ()


def _step_words(step: Step, build: Made) -> str:
    """One step of the assembly as a sentence or two."""
    units = build.job.units
    if step.kind == "lay":
        return f"Lay {step.what}, the back sheet, face up on a flat board, on paper that doesn't stick."
    if step.kind == "sheet":
        lined = _lined_up(step, build)
        return (
            f"Glue {step.what} on {step.on}: {units.area(step.contact_mm2)} of contact, glue on the hatched zones "
            f"only. Line it up with {lined}; clamp and let it dry as the glue's label says."
        )
    if step.kind == "pieces":
        return _pieces_words(step, build)
    if step.kind == "spacer" and step.pieces:
        return _strips_words(step, units)
    if step.kind == "spacer":
        turned = "Turn the picture over onto something soft. " if step.on.startswith("the back of ") else ""
        return (
            f"{turned}Glue {step.what} on {step.on}: {units.area(step.contact_mm2)} of contact; "
            "clamp and dry by the label."
        )
    if step.kind == "edges":
        return FRAME_LAST
    if step.kind == "label":
        return f"Print {LABEL}, cut it out and glue it on {step.on}, within the frame, where nothing covers it."
    return _hanger_words(step, build)


def _hanger_words(step: Step, build: Made) -> str:
    """Where hanger or rings are screwed on, and how long the screws may be."""
    hanging, units = build.work.hanging, build.job.units
    what = "the hanger" if hanging.hangers.kind == "one" else "the two rings"
    screws = (
        f"with screws that go no deeper than {units.length(hanging.longest_mm)}"
        if hanging.longest_mm
        else "but not with screws, which would come through"
    )
    return (
        f"When all is dry, fix {what} to {step.on} where Weight and hanging shows, in the middle of the frame's "
        f"wood, not near its edge, {screws}."
    )


def _strips_words(step: Step, units: Units) -> str:
    """How a spacer is glued from its strips."""
    first = step.on.startswith("the back of ")
    turned = "Turn the picture over onto something soft. " if first else ""
    over = "" if first else "; no joint lies on a joint below it"
    begin, end = (step.pieces[place].piece.removeprefix("strip ") for place in (0, -1))
    return (
        f"{turned}Glue {step.what} strip by strip on {step.on}: strips {begin} to {end}, "
        f"{units.area(step.contact_mm2)} of contact in all, and glue "
        f"on their ends too. Outer edges flush, ends pushed tight together{over}; clamp and dry by the label."
    )


def _lined_up(step: Step, build: Made) -> str:
    """What lines a sheet up with those behind it."""
    panel = build.stack.panel
    if panel.blind and step.what == build.stack.layers[-1].name:
        return (
            f"the frame flush on all sides: it has no holes, so that the pins don't show; cut them level with "
            f"{step.on} first"
        )
    return "pins through the frame's holes" if panel.pins else "the frame flush on all sides"


def _pieces_words(step: Step, build: Made) -> str:
    shown, words, units = step.pieces[:MOST_PIECES], piece_words(build), build.job.units
    listed = "; ".join(
        f"{words.get(piece.piece, piece.piece)} on {words.get(piece.rests_on, piece.rests_on)}"
        f" ({units.small_area(piece.contact_mm2)}"
        + (", a riser: nobody sees it" if piece.riser else "")
        + (", at its mark)" if piece.locator else ")")
        for piece in shown
    )
    more = f"; and {len(step.pieces) - len(shown)} more, in manifest.json" if len(step.pieces) > len(shown) else ""
    return (
        f"Glue on the loose pieces of {step.what}, risers first: {listed}{more}. Let them set before the next sheet."
    )
