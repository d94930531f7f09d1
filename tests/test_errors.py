"""Errors say what, where and what to do in one line, and carry their exit code."""

import ast
from pathlib import Path

import pytest

from layercut.errors import DrawingError, InternalError, JobError, LayercutError, OutputError, told_in
from layercut.findings import CODES, SEVERITIES, Finding
from layercut.units import INCHES, said_mm

PACKAGE = Path(__file__).parents[1] / "layercut"


def test_sentence_with_nothing_but_a_message() -> None:
    assert DrawingError("not-svg", "is no drawing.").sentence() == "is no drawing."


def test_sentence_names_file_layer_and_element_before_and_the_hint_after() -> None:
    error = DrawingError(
        "stray", "lies in no layer.", "Put it into one.", file="a.svg", layer="sky", element="path 'p'"
    )
    assert error.sentence() == "a.svg, layer 'sky', path 'p': lies in no layer. Put it into one."
    assert str(error) == "lies in no layer."


def test_it_is_told_in_the_units_that_it_arose_in_and_kept_in_mm() -> None:
    with pytest.raises(JobError) as caught, told_in(INCHES):
        raise JobError("panel-bed", f"{said_mm(25.4)} is too wide.", f"Make it {said_mm(12.7)}.", file="a.toml")
    error = caught.value
    assert error.sentence() == "a.toml: 1 in is too wide. Make it 1/2 in."
    assert (error.message, error.hint, str(error)) == ("25.4 mm is too wide.", "Make it 12.7 mm.", error.message)


@pytest.mark.parametrize(
    ("kind", "code"), [(DrawingError, 2), (JobError, 2), (OutputError, 2), (LayercutError, 2), (InternalError, 70)]
)
def test_exit_codes(kind: type[LayercutError], code: int) -> None:
    assert kind("a", "b.").exit_code == code


def test_a_finding_must_have_a_known_code() -> None:
    with pytest.raises(ValueError, match="unknown finding code 'no-such'"):
        Finding("no-such", "error", "x.")


def test_every_code_has_a_known_severity_and_a_meaning() -> None:
    for code, (severity, meaning) in CODES.items():
        assert severity in SEVERITIES, code
        assert meaning, code


def test_only_the_commands_print_or_exit() -> None:
    """`print`, the standard streams and `sys.exit` stand in the commands alone (and `__main__`, which calls them).

    A copy of the process, made to share its work, must end where its work does: `geometry/processes.py`.
    """
    for path in sorted(PACKAGE.rglob("*.py")):
        if path.parent.name == "cli" or path.name == "__main__.py":
            continue
        allowed = {"_exit"} if path.name == "processes.py" else set()
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            names = (
                {node.id} if isinstance(node, ast.Name) else {node.attr} if isinstance(node, ast.Attribute) else set()
            )
            assert not names & {"print", "SystemExit", "exit", "_exit", "stdout", "stderr"} - allowed, (
                f"{path}:{ast.unparse(node)}"
            )
