"""The parts of a board in words, as the pages list them.

Enters: parts, and what loose pieces are called. Leaves: words, in the parts' order. Holds: strips stand together, and
so do the spares of one piece.
"""

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import pairwise

from layercut.model import BoardPart


def listed_parts(parts: Iterable[BoardPart], pieces: Mapping[str, str]) -> list[str]:
    """`sky`, `spacer 2`, `strips 1 to 4 and 9`, `spare of moon (2)`; `pieces` is what loose pieces are called, by id.

    Empty without parts.
    """
    some = list(parts)
    words = [part.name for part in some if not part.piece]
    strips = sorted(strip.number for part in some for strip in part.cut.strips)
    if strips:
        words.append(f"{'strip' if len(strips) == 1 else 'strips'} {runs(strips)}")
    spares = Counter(pieces.get(part.piece, part.piece) for part in some if part.spare)
    return words + [f"spare of {name}" + (f" ({count})" if count > 1 else "") for name, count in spares.items()]


def part_name(part: BoardPart, pieces: Mapping[str, str]) -> str:
    """One part: `sky`, `strip 4`, `moon, spare 2`."""
    return pieces.get(part.piece, part.piece) + part.name.removeprefix(part.piece) if part.spare else part.name


def counted_parts(parts: Sequence[BoardPart]) -> str:
    """`5 sheets, 12 strips and 2 spares`."""
    counts = {
        "sheet": sum(not part.piece for part in parts),
        "strip": sum(bool(part.cut.strips) for part in parts),
        "spare": sum(part.spare for part in parts),
    }
    return _joined([f"{count} {what}" + "s" * (count > 1) for what, count in counts.items() if count])


def runs(numbers: Sequence[int]) -> str:
    """Rising whole numbers with runs of three and more told by their ends: `1 to 4, 9 and 12`; empty for none."""
    words: list[str] = []
    for run in _runs(numbers):
        words += [f"{run[0]} to {run[-1]}"] if len(run) > 2 else map(str, run)
    return _joined(words)


def _runs(numbers: Sequence[int]) -> Iterator[list[int]]:
    if not numbers:
        return
    run = [numbers[0]]
    for before, after in pairwise(numbers):
        if after != before + 1:
            yield run
            run = []
        run.append(after)
    yield run


def _joined(words: Sequence[str]) -> str:
    return " and ".join(filter(None, (", ".join(words[:-1]), *words[-1:])))
