"""Live text.

Enters: a text element's name. Leaves: a remark; text is not read yet.
"""

from layercut.drawing.remarks import Remarks


def note_text(remarks: Remarks, layer: str, element: str) -> None:
    """Say that live text was left out."""
    hint = "Turn it into paths in your editor."
    remarks.add("text-unread", "live text is not read yet and was left out", hint, layer=layer, element=element)
