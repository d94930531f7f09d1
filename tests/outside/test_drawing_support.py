"""docs/drawing-support.md says what a run says: every construct is right, or something is said about it."""

import re
from pathlib import Path

import pytest
import support_page
from constructs import CASES, PAINT, TOLD, whole

from layercut.drawing import read_drawing
from layercut.job import Job
from layercut.model import Drawing

WRITTEN = support_page.PAGE.read_text(encoding="utf-8") if support_page.PAGE.is_file() else ""


def test_the_page_is_up_to_date() -> None:
    assert support_page.page_text(support_page.written_counts()) == WRITTEN, "run: python docs/generate.py"


def test_the_page_has_a_row_for_each_construct() -> None:
    rows = re.findall(r"^\| ([^|]+) \| (supported|marked|ignored with a finding|refused) \|", WRITTEN, re.MULTILINE)
    assert [name for name, _ in rows] == [*CASES, *PAINT, *TOLD]
    assert f"| {support_page.WRONG} |" not in WRITTEN


@pytest.mark.parametrize("name", TOLD)
def test_what_is_left_out_is_told(name: str) -> None:
    came, said = support_page.verdict(whole(TOLD[name]))
    assert came in (support_page.IGNORED, support_page.REFUSED, support_page.MARKED)
    assert (len(said) > 20) == (came != support_page.MARKED)


def test_a_construct_that_is_wrong_in_silence_would_be_seen(monkeypatch: pytest.MonkeyPatch) -> None:
    """A reader that forgot one of two shapes, with nothing to say about it."""
    text = whole('viewBox="0 0 100 100"><g><rect width="40" height="40"/><rect x="50" width="40" height="40"/></g>')
    assert support_page.verdict(text)[0] == support_page.SUPPORTED
    real = read_drawing

    def forgetful(path: Path, job: Job) -> Drawing:
        drawing = real(path, job)
        path.write_text(path.read_text().replace('<rect x="50" width="40" height="40"/>', ""))
        return real(path, job) if drawing.layers else drawing

    monkeypatch.setattr(support_page, "read_drawing", forgetful)
    assert support_page.verdict(text)[0] == support_page.WRONG


def test_the_counts_add_up() -> None:
    counts = support_page.written_counts().partition(support_page.FILES)[0]
    rows = dict(re.findall(r"^\| ([^|]+) \| ([\d |]+) \|$", counts, re.MULTILINE))
    numbers = {name: [int(number) for number in row.split("|")] for name, row in rows.items()}
    assert numbers, "run: python tests/bench/open_drawings_run.py --count 4495 --write"
    came = [row for name, row in numbers.items() if name == "made" or name.startswith(("refused", "fault:"))]
    assert [sum(column) for column in zip(*came, strict=True)] == numbers["drawings"]
    assert not any(numbers["faults"])


def test_the_counts_of_test_files_add_up_for_each_stage() -> None:
    files = support_page.written_counts().partition(support_page.FILES)[2]
    (total,) = (int(count) for count in re.findall(r"All (\d+) SVG files", files))
    _, reader, compiled = re.split(r"^\| (?:reader|compile) \| files \|$", files, flags=re.MULTILINE)
    for stage in (reader, compiled):
        rows = {name: int(count) for name, count in re.findall(r"^\| ([^|]+) \| (\d+) \|$", stage, re.MULTILINE)}
        assert sum(count for name, count in rows.items() if not name.startswith("over ")) == total
        assert not any("fault" in name for name in rows)
        assert not any(count for name, count in rows.items() if name.startswith("over "))
