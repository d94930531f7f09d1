"""Assembly: the order of gluing, step by step.

Enters: a finished build. Leaves: one section of HTML for the traveller. Holds: what `sections/__init__.py` says.
"""

from layercut.model import Made
from layercut.views.pages.sections.filling import cm2, filled
from layercut.workplan import Step

MOST_PIECES = 60
"""Loose pieces that a step names one by one."""

FRAME_LAST = (
    "When the glue has dried, that of spacers too, sand the outer edges flush along the grain: outdoors or with "
    "extraction, a dust mask and eye protection on. Wipe off the dust, then stain the outer edges and the frame's "
    "face in front, and let them dry as the stain's label says."
)
"""When the frame gets its colour: the one place that says it."""


def assembly_section(build: Made) -> str:
    """The section."""
    return filled("assembly", steps=tuple(_step_words(step, build) for step in build.work.steps))


def _step_words(step: Step, build: Made) -> str:
    """One step of the assembly as a sentence or two."""
    if step.kind == "lay":
        return f"Lay {step.what}, the back sheet, face up on a flat board, on paper that doesn't stick."
    if step.kind == "sheet":
        lined = "pins through the frame's holes" if build.stack.panel.pins else "the frame flush on all sides"
        return (
            f"Glue {step.what} on {step.on}: {cm2(step.contact_mm2)} of contact, glue on the hatched zones only. "
            f"Line it up with {lined}; clamp and let it dry as the glue's label says."
        )
    if step.kind == "pieces":
        return _pieces_words(step)
    if step.kind == "spacer":
        turned = "Turn the picture over onto something soft. " if step.on.startswith("the back of ") else ""
        return (
            f"{turned}Glue {step.what} on {step.on}: {cm2(step.contact_mm2)} of contact; clamp and dry by the label."
        )
    if step.kind == "edges":
        return FRAME_LAST
    return f"When all is dry, screw the hanger to {step.on}, in the middle of the frame's wood, not near its edge."


def _pieces_words(step: Step) -> str:
    shown = step.pieces[:MOST_PIECES]
    listed = "; ".join(
        f"{piece.piece} on {piece.rests_on} ({piece.contact_mm2:.0f} mm²"
        + (", a riser: nobody sees it" if piece.riser else "")
        + (", at its mark)" if piece.locator else ")")
        for piece in shown
    )
    more = f"; and {len(step.pieces) - len(shown)} more, in manifest.json" if len(step.pieces) > len(shown) else ""
    return (
        f"Glue on the loose pieces of {step.what}, risers first: {listed}{more}. Let them set before the next sheet."
    )
