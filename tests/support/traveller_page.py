"""The walk's traveller as words and tables, with a note of each number that was looked at."""

import re
from dataclasses import dataclass

from lxml import html
from walk import NUMBER, Walk

UNITS = r"mm²|mm/s²|mm/s|mm|cm²|m/s²|mg/m³|kg/m³|kg|g|m|min|N|%|°|sheets|coats|pieces"
"""What a figure of the traveller is counted in."""


@dataclass(frozen=True)
class Table:
    """A table of the page as cells of text, and where its words stand in the page's."""

    rows: tuple[tuple[str, ...], ...]
    place: tuple[int, int]


@dataclass(frozen=True)
class Traveller:
    """The page's words and tables. `read` collects where in the words a number was looked at."""

    text: str
    tables: tuple[Table, ...]
    read: list[tuple[int, int]]

    def numbers(self, pattern: str) -> list[tuple[str, ...]]:
        """The groups of each place in the page's words that a pattern finds."""
        found = list(re.finditer(pattern, self.text))
        assert found, f"the traveller doesn't say {pattern}"
        self.read.extend(match.span() for match in found)
        return [match.groups() for match in found]

    def number(self, pattern: str) -> float:
        """The number that a pattern holds as its group; said twice, it is the same."""
        (found,) = {float(groups[0]) for groups in self.numbers(pattern)}
        return found

    def table(self, *heads: str) -> list[dict[str, str]]:
        """The rows of the one table whose first row has these words, by the words of the first row."""
        found = [table for table in self.tables if all(head in table.rows[0] for head in heads)]
        assert len(found) == 1, heads
        self.read.append(found[0].place)
        first, *rows = found[0].rows
        return [dict(zip(first, row, strict=True)) for row in rows]

    def tables_of(self, *heads: str) -> list[list[dict[str, str]]]:
        """The rows of each table whose first row has these words, in the page's order."""
        found = [table for table in self.tables if all(head in table.rows[0] for head in heads)]
        assert found, heads
        self.read.extend(table.place for table in found)
        return [[dict(zip(table.rows[0], row, strict=True)) for row in table.rows[1:]] for table in found]

    def row(self, head: str) -> tuple[str, ...]:
        """The one row of any table that begins with a word."""
        found = [(table, row) for table in self.tables for row in table.rows if row[0] == head]
        assert len(found) == 1, head
        ((table, row),) = found
        words = " ".join(row)
        at = self.text.index(words, *table.place)
        self.read.append((at, at + len(words)))
        return row

    def unread(self) -> list[str]:
        """Numbers with a unit, each with the words before it, that nothing looked at."""
        return [
            self.text[max(match.start() - 60, 0) : match.end()]
            for match in re.finditer(rf"(?<![\w.]){NUMBER} ?({UNITS})(?!\w)", self.text)
            if not any(start <= match.start() and match.end() <= end for start, end in self.read)
        ]


def read_traveller(walk: Walk) -> Traveller:
    tree = html.parse(walk.folder / "ferry-house-sheets" / "traveller.html").getroot()
    for kind in ("style", "script", "svg"):
        for element in list(tree.iter(kind)):
            element.drop_tree()

    def words(element: html.HtmlElement) -> str:
        return " ".join(" ".join(element.itertext()).split())

    text, tables, end = words(tree.body), [], 0
    for table in tree.iter("table"):
        start = text.index(words(table), end)
        end = start + len(words(table))
        rows = tuple(tuple(words(cell) for cell in row.iter("td", "th")) for row in table.iter("tr"))
        tables.append(Table(rows, (start, end)))
    return Traveller(text, tuple(tables), [])
