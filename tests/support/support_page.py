"""docs/drawing-support.md: what it holds, and how its two parts are written."""


def write_counts(count: int, counts: dict[str, dict[str, int]]) -> None:
    raise NotImplementedError
