"""What those who read one kind of content may ask of the walk over the tree.

Enters: nothing. Leaves: `Traversal`. Clips, masks, patterns, paints and lettering come upon elements that must be
walked in their turn; they import this, and the walk imports them.
"""

from typing import Protocol

from lxml import etree

from layercut.colour.coats import Veil
from layercut.drawing.css.styles import Style, Styles
from layercut.drawing.display_list import Context, Ink, Item
from layercut.drawing.gradients import Box
from layercut.drawing.names import Places
from layercut.drawing.references import References
from layercut.drawing.render import Rules


class Traversal(Protocol):
    """One walk over one drawing; `Walker` is it."""

    @property
    def rules(self) -> Rules:
        """What decides what a paint is."""

    @property
    def styles(self) -> Styles:
        """The styles of all elements."""

    @property
    def references(self) -> References:
        """What each address of the drawing names."""

    @property
    def places(self) -> Places:
        """How messages name elements."""

    def walk(self, element: etree._Element, around: Context) -> list[Item]:
        """All that an element draws."""

    def enter_span(self, element: etree._Element, around: Context) -> Context | None:
        """The context of an element within a text; None where it isn't shown."""

    def with_effects(
        self, element: etree._Element, style: Style, here: Context, items: list[Item], around: Box | None = None
    ) -> list[Item]:
        """The items under the element's own mask and clip path; `around` is the box of what a mask's mask is for."""

    def veil_of(self, style: Style) -> tuple[Veil, ...]:
        """The group that an element's own opacity or mask makes of it."""

    def paints(self, element: etree._Element, here: Context) -> tuple[Ink | None, Ink | None]:
        """Fill and stroke of an element with their own opacity."""

    def layer_name(self, here: Context) -> str:
        """The name of the layer that we are in, empty outside all."""

    def next_serial(self) -> int:
        """A number that nothing else of the drawing has."""

    def note(self, element: etree._Element, here: Context, statement: str, hint: str = "") -> None:
        """Say that something isn't supported, unless the maker said that the element is a guide."""

    def report(self, code: str, element: etree._Element, here: Context, statement: str, hint: str = "") -> None:
        """Say that `statement` (a clause without a full stop) holds for an element."""
