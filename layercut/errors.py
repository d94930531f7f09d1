"""What can go wrong, as one small tree.

Enters: nothing. Leaves: exceptions that carry one clear sentence. The commands turn them into an exit code;
nothing else does. Each code is explained in docs/messages.md.
"""

from layercut.units import MILLIMETRES, Units


class LayercutError(Exception):
    """Anything layercut refuses to do, with what, where and what to do.

    `code` is a stable slug; `message` one sentence; `hint` what the maker can do; `file`, `layer` and
    `element` say where, as far as known. Both sentences may hold quantities as `units.py` leaves them: `sentence`
    tells them in a reader's units, `message` and `hint` in mm.
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
        self._said = (message, hint)
        self.file = file
        self.layer = layer
        self.element = element

    def sentence(self, units: Units = MILLIMETRES) -> str:
        """The whole of it in one line: place, message, hint."""
        message, hint = map(units.told, self._said)
        place = ", ".join(
            part
            for part in (
                self.file,
                f"layer '{self.layer}'" if self.layer else "",
                self.element,
            )
            if part
        )
        text = f"{place}: {message}" if place else message
        return f"{text} {hint}" if hint else text


class DrawingError(LayercutError):
    """The drawing can't be read, or isn't a layered drawing."""


class JobError(LayercutError):
    """The job file, or a setting on the command line, is wrong."""


class OutputError(LayercutError):
    """The folder or picture can't be written."""


class InternalError(LayercutError):
    """A fault of layercut's own: a law that every run checks does not hold."""

    exit_code = 70
