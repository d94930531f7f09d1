"""What can go wrong, as one small tree.

Enters: nothing. Leaves: exceptions that carry one clear sentence. The commands turn them into an exit code;
nothing else does. Each code is explained in docs/messages.md.
"""

from collections.abc import Iterator
from contextlib import contextmanager

from layercut.units import MILLIMETRES, Units


class LayercutError(Exception):
    """Anything layercut refuses to do, with what, where and what to do.

    `code` is a stable slug; `message` one sentence; `hint` what the maker can do; `file`, `layer` and
    `element` say where, as far as known. Both sentences may hold quantities as `units.py` leaves them: `message`
    and `hint` tell them in mm, `words` and `sentence` in a reader's `units`, which `told_in` sets.
    """

    exit_code = 2

    def __init__(
        self,
        code: str,
        message: str,
        hint: str = "",
        *,
        file: str = "",
        layer: str = "",
        element: str = "",
    ) -> None:
        super().__init__(MILLIMETRES.told(message))
        self.code = code
        self.message = MILLIMETRES.told(message)
        self.hint = MILLIMETRES.told(hint)
        self.units = MILLIMETRES
        self._said = (message, hint)
        self.file = file
        self.layer = layer
        self.element = element

    @property
    def text(self) -> str:
        """The message with its quantities as `units.py` leaves them, for another sentence to hold."""
        return self._said[0]

    def words(self) -> str:
        """Message and hint in one line, in the reader's units."""
        return " ".join(filter(None, map(self.units.told, self._said)))

    def sentence(self) -> str:
        """The whole of it in one line: place, message, hint, in the reader's units."""
        place = ", ".join(
            part
            for part in (
                self.file,
                f"layer '{self.layer}'" if self.layer else "",
                self.element,
            )
            if part
        )
        return f"{place}: {self.words()}" if place else self.words()


class DrawingError(LayercutError):
    """The drawing can't be read, or isn't a layered drawing."""


class JobError(LayercutError):
    """The job file, or a setting on the command line, is wrong."""


class OutputError(LayercutError):
    """The folder or picture can't be written."""


class InternalError(LayercutError):
    """A fault of layercut's own: a law that every run checks does not hold."""

    exit_code = 70


@contextmanager
def told_in(units: Units) -> Iterator[None]:
    """Whatever LayercutError arises within is told in these units."""
    try:
        yield
    except LayercutError as error:
        error.units = units
        raise
