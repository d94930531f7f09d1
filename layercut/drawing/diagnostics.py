"""What there is to say about a drawing, gathered so that a thousand like elements give one finding.

Enters: remarks one by one. Leaves: findings in the order in which they first came up.
"""

from dataclasses import dataclass, field

from layercut.findings import CODES, Finding

MAX_FINDINGS = 100
"""Different remarks of one drawing beyond this are counted, not listed."""


@dataclass(slots=True)
class Diagnostics:
    """Counts remarks by what they say and the layer; the first element of each is named."""

    _counts: dict[tuple[str, str, str, str], int] = field(default_factory=dict)
    _first: dict[tuple[str, str, str, str], str] = field(default_factory=dict)
    _placed: list[Finding] = field(default_factory=list)
    _beyond: int = 0

    def add(self, code: str, statement: str, hint: str = "", *, layer: str = "", element: str = "") -> None:
        """Note that `statement` (a clause without a full stop) holds for an element."""
        key = (code, layer, statement, hint)
        if key not in self._counts and len(self._counts) >= MAX_FINDINGS:
            self._beyond += 1
            return
        self._counts[key] = self._counts.get(key, 0) + 1
        self._first.setdefault(key, element)

    def place(self, finding: Finding) -> None:
        """Note something that has a place of its own."""
        if len(self._placed) >= MAX_FINDINGS:
            self._beyond += 1
        else:
            self._placed.append(finding)

    def findings(self) -> tuple[Finding, ...]:
        """One finding for each remark, with how many elements it holds for."""
        result = []
        for (code, layer, statement, hint), count in self._counts.items():
            element = self._first[code, layer, statement, hint]
            who = f": {element}" if element else ""
            who += f" and {count - 1} more" if count > 1 else ""
            message = f"{statement}{who}. {hint}".rstrip()
            result.append(Finding(code, CODES[code][0], message, layer, element))
        result += self._placed
        if self._beyond:
            message = f"{self._beyond} more remarks on the drawing are not listed."
            result.append(Finding("unsupported", "warning", message))
        return tuple(result)
