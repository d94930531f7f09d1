"""A thousand like elements give one finding."""

import pytest

from layercut.drawing import diagnostics as module
from layercut.drawing.diagnostics import Diagnostics
from layercut.findings import Finding


def test_what_says_the_same_of_a_layer_is_one_finding() -> None:
    found = Diagnostics()
    for element in ("path 'a'", "path 'b'", "path 'c'"):
        found.add("unsupported", "'filter' was ignored", "Draw it.", layer="hill", element=element)
    found.add("unsupported", "'filter' was ignored", "Draw it.", layer="sky", element="path 'd'")
    found.add("picture", "a picture was ignored")
    first, second, third = found.findings()
    assert first == Finding(
        "unsupported", "warning", "'filter' was ignored: path 'a' and 2 more. Draw it.", "hill", "path 'a'"
    )
    assert second.message == "'filter' was ignored: path 'd'. Draw it."
    assert (third.code, third.message) == ("picture", "a picture was ignored.")


def test_beyond_a_number_they_are_counted(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(module, "MAX_FINDINGS", 2)
    found = Diagnostics()
    for number in range(5):
        found.add("unsupported", f"thing {number} was ignored")
    found.add("unsupported", "thing 0 was ignored")  # known already: counted there
    for number in range(3):
        found.place(Finding("gap-bridged", "info", f"gap {number}."))
    *listed, last = [finding.message for finding in found.findings()]
    assert listed == ["thing 0 was ignored and 1 more.", "thing 1 was ignored.", "gap 0.", "gap 1."]
    assert last == "4 more remarks on the drawing are not listed."
