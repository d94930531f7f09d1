"""What a proof can find wrong, and what it says in the end.

Enters: nothing. Leaves: `ProofFailure`, `SheetVerdict` and `Verdict`, frozen, and `FAILURES`, the meaning of each
code. docs/messages.md explains every code, and a test holds the two together.
"""

from dataclasses import dataclass

from layercut.model import Proof
from layercut.units import MILLIMETRES, Units, in_mm

FAILURES: dict[str, str] = {
    "bundle-differs": "a file of a bundle is not the one that was packed, is missing, or is not in its list",
    "no-sheets": "the folder is that of a drawing that can't be made: it holds no sheet",
    "manifest-differs": "figures of the manifest that hang together don't agree",
    "file-missing": "a picture or a page that the manifest names is not in the folder",
    "file-changed": "a file is not the one that was written: its hash isn't the manifest's",
    "sheet-missing": "a sheet that the manifest names is not in the folder",
    "sheet-unknown": "the folder holds a sheet, a board or a paint map that the manifest doesn't name",
    "sheet-damaged": "a sheet is not what the contract says, so that a machine could make something else of it",
    "role-differs": "a machine would burn something of a sheet as another role than its group's",
    "paint-missing": "a sheet's paint map is not in the folder",
    "paint-damaged": "the paint maps can't be read, or don't fill the picture without gaps",
    "pots-differ": "colours share a pot that are not so near to each other as the job and the manifest say",
    "size-differs": "a sheet's page is not as large as the panel",
    "length-differs": "a sheet's cuts or marks are longer or shorter than the manifest says",
    "order-roles": "marks, openings and the rim are not burnt in that order",
    "order-inside": "a contour is cut before one inside it",
    "rim-differs": "the rim doesn't cut out the panel",
    "frame-differs": "the frame is not whole, or a pin's hole is missing",
    "picture-differs": "from the front, the stack is not the drawing",
    "piece-loose": "wood comes loose that the manifest doesn't name",
    "piece-missing": "a loose piece that the manifest names doesn't come loose",
    "piece-differs": "a loose piece has another size than the manifest says",
    "tie-missing": "a tie that the manifest names is gone or too narrow",
    "mark-missing": "marks that were planned are not on a sheet, or are elsewhere",
    "mark-added": "a sheet has marks that were not planned, or burns one twice",
    "mark-on-cut": "a mark runs along a cut",
    "behind-unpainted": "a piece that is painted on a sheet behind its own has no paint there",
    "behind-unmarked": "the outline of a piece that is painted behind is not marked there",
    "mark-in-air": "a mark runs where there is no wood",
    "board-missing": "a board that the manifest names is not in the folder",
    "board-damaged": "a board is not what the contract says, or of another size than the manifest says",
    "part-missing": "a sheet, a copy of one, a strip or a spare is on no board, or isn't where the manifest says",
    "part-twice": "a sheet, a strip or a spare is on the boards more often than there are copies of it",
    "part-differs": "a part of a board isn't what its sheet makes: another size or shape, mirrored, turned or moved",
    "part-added": "wood comes loose from a board that is of no part",
    "parts-close": "two parts of a board are nearer to each other than the gap",
    "part-off-board": "a part reaches beyond its board",
}


@dataclass(frozen=True, slots=True)
class ProofFailure:
    """One thing that doesn't hold: a code, a sentence, the file, a place on the panel (mm) and a size.

    `text` holds its quantities as `units.py` leaves them; `message` is the same in mm, for machines and records.
    `size` is an area in mm2 or a length in mm, as the message says; place and size are None where there is none.
    """

    code: str
    text: str
    file: str = ""
    at_mm: tuple[float, float] | None = None
    size: float | None = None

    def __post_init__(self) -> None:
        if self.code not in FAILURES:
            raise ValueError(f"unknown problem code {self.code!r}")

    @property
    def message(self) -> str:
        """What doesn't hold, its quantities in mm."""
        return in_mm(self.text)


@dataclass(frozen=True, slots=True)
class FoundPiece:
    """A piece that comes off the bed beside the framed one: the manifest's name for it, or none."""

    id: str
    area_mm2: float
    at_mm: tuple[float, float]


@dataclass(frozen=True, slots=True)
class SheetVerdict:
    """What cutting one sheet leaves: how many pieces hold its frame (one, if all is well), and what comes loose."""

    file: str
    pieces_on_frame: int
    loose: tuple[FoundPiece, ...]


@dataclass(frozen=True, slots=True)
class Verdict:
    """What the sheets really make, and everything about it that is not as it should be.

    `mismatch_mm2` is the area that is wrong to look at: the picture, the frame and the rim. `units` are those in
    which the folder's maker reads.
    """

    sheets: tuple[SheetVerdict, ...]
    failures: tuple[ProofFailure, ...]
    mismatch_mm2: float
    pieces_planned: int
    units: Units = MILLIMETRES

    @property
    def holds(self) -> bool:
        """True when nothing is wrong."""
        return not self.failures

    @property
    def proof(self) -> Proof:
        """The figures of the verdict, as the manifest has them."""
        found = sum(sheet.pieces_on_frame + len(sheet.loose) for sheet in self.sheets)
        return Proof(round(self.mismatch_mm2, 3), self.pieces_planned, found)
