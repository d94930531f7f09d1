"""What the commands print with `--json`, each held to the schema that docs/ has of it."""

import importlib.util
import json
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import jsonschema
import pydantic
import pytest
from PIL import Image

import layercut.cli.check
import layercut.output.contents
from layercut.cli import main
from layercut.cli.documents import CouponDocument, document_text

DOCS = Path(__file__).parents[1] / "docs"
NAMES = sorted(path.name.removesuffix(".schema.json") for path in DOCS.glob("*.schema.json"))

DRAWING = """<svg xmlns="http://www.w3.org/2000/svg" width="60mm" height="40mm" viewBox="0 0 60 40">
<g id="sky"><rect width="60" height="40" fill="#88aaff"/></g>
<g id="ground"><rect y="25" width="60" height="15" fill="#448844"/></g>
</svg>"""
FLOATING = DRAWING.replace("</svg>", '<g id="sun"><circle cx="30" cy="15" r="4" fill="#ffff00"/></g></svg>')

Printed = Callable[..., dict[str, Any]]


def schema(name: str) -> dict[str, Any]:
    return dict(json.loads((DOCS / f"{name}.schema.json").read_text(encoding="utf-8")))


def hold(document: object, name: str) -> None:
    jsonschema.Draft202012Validator(schema(name)).validate(document)


@pytest.fixture
def printed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Printed:
    """Run a command with `--json` in a folder of its own, and read what it printed."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(layercut.output.contents, "PICTURE_WIDTH_PX", 100)

    def call(*words: str, code: int = 0) -> dict[str, Any]:
        assert main([*words, "--json"]) == code
        return dict(json.loads(capsys.readouterr().out))

    return call


# --- the files


def test_the_written_schemas_are_those_of_the_code() -> None:
    spec = importlib.util.spec_from_file_location("docs_generate", DOCS / "generate.py")
    assert spec is not None
    assert spec.loader is not None
    generator = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(generator)
    for name, text in generator.schema_files().items():
        written = json.loads((DOCS / name).read_text(encoding="utf-8"))
        assert written == json.loads(text), "run: python docs/generate.py"  # older pydantics write 0 as 0.0


def objects(node: object) -> Iterator[dict[str, Any]]:
    """Every schema of an object within one."""
    if isinstance(node, list):
        for inner in node:
            yield from objects(inner)
    if isinstance(node, dict):
        if node.get("type") == "object":
            yield node
        for inner in node.values():
            yield from objects(inner)


@pytest.mark.parametrize("name", NAMES)
def test_a_schema_is_one_closed_and_fetches_nothing(name: str) -> None:
    found = schema(name)
    jsonschema.Draft202012Validator.check_schema(found)
    assert found["$schema"] == "https://json-schema.org/draft/2020-12/schema"
    assert "$id" not in found
    assert list(objects(found))
    for node in objects(found):
        assert node["additionalProperties"] is not True
        assert set(node.get("required", ())) == set(node.get("properties", ())), "a key may be null, but is there"


def test_the_documents_have_a_schema_each() -> None:
    assert NAMES == ["check", "coupon", "error", "manifest", "rectify", "start", "verify"]


# --- what is printed


def closed(document: dict[str, Any], name: str) -> None:
    """The document holds; with a key more or a key less, it doesn't."""
    hold(document, name)
    with pytest.raises(jsonschema.ValidationError):
        hold({**document, "more": 1}, name)
    for key in document:
        with pytest.raises(jsonschema.ValidationError):
            hold({other: value for other, value in document.items() if other != key}, name)


def test_check(printed: Printed) -> None:
    Path("house.svg").write_text(DRAWING)
    document = printed("check", "house.svg")
    assert len(document["sheets"]) == 2
    closed(document, "check")
    hold(document, "manifest")


def test_check_of_what_can_not_be_made(printed: Printed) -> None:
    Path("house.svg").write_text(FLOATING)
    document = printed("check", "house.svg", "--islands", "refuse", code=1)
    assert document["sheets"] == []
    closed(document, "check")


def test_verify(printed: Printed) -> None:
    Path("house.svg").write_text(FLOATING)
    made = printed("compile", "house.svg", "--islands", "loose")
    closed(made, "manifest")
    with pytest.raises(jsonschema.ValidationError):
        hold(made, "check")  # it names the files of a folder
    document = printed("verify", "house-sheets")
    assert document["holds"]
    assert document["sheets"][2]["loose"]
    closed(document, "verify")


def test_verify_of_a_folder_that_was_harmed(printed: Printed) -> None:
    Path("house.svg").write_text(DRAWING)
    made = printed("compile", "house.svg")
    sheet = Path("house-sheets") / made["sheets"][1]["file"]
    sheet.write_text(sheet.read_text().replace("<path", '<path transform="translate(3 0)"', 1))
    Path("house-sheets", "stack.png").unlink()
    document = printed("verify", "house-sheets", code=1)
    assert {"file-missing", "sheet-damaged"} <= {problem["code"] for problem in document["problems"]}
    closed(document, "verify")


@pytest.mark.parametrize("more", [[], ["--scale", "1:50"], ["--storeys", "1", "--roof", "0"]])
def test_start(printed: Printed, more: list[str]) -> None:
    closed(printed("start", "house", "--width", "36ft", "--panel", "12in x 9in", *more), "start")


def test_coupon(printed: Printed) -> None:
    closed(printed("coupon", "-o", "coupon.svg"), "coupon")


@pytest.mark.parametrize("more", [[], ["--whole", "50.1mm", "--resolution", "0.02mm"]])
def test_the_kerf_of_a_coupon(printed: Printed, more: list[str]) -> None:
    closed(printed("coupon", "--measured", "49.1mm", *more), "coupon")


@pytest.mark.parametrize("views", [1, 2])
def test_rectify(printed: Printed, views: int) -> None:
    corners = "20,20 180,25 175,120 25,110"
    words = ["rectify", "a.png", "--corners", corners, "--size", "36ft x 18ft", "--scale", "1:48", "-o", "wall.png"]
    words += ["--dpi", "20", "--check", "100,70=18ft,9ft", "--hidden", "90,60,100,70"]
    for name in ("a.png", "b.png")[:views]:
        Image.linear_gradient("L").resize((200, 140)).convert("RGB").save(name)
    if views == 2:
        words += ["--second", "b.png", "--second-corners", corners]
    document = printed(*words)
    assert (document["overlap"] is None) == (views == 1)
    assert len(document["photos"]) == views
    closed(document, "rectify")


@pytest.mark.parametrize(
    "words",
    [
        ["check", "nowhere.svg"],
        ["check"],
        ["verify", "nowhere"],
        ["start", "house", "--width", "36"],
        ["coupon", "--measured", "nothing"],
        ["rectify", "nowhere.jpg", "--corners", "1,1 2,1 2,2 1,2", "-o", "a.png"],
    ],
)
def test_an_error_of_any_command(printed: Printed, words: list[str]) -> None:
    closed(printed(*words, code=2), "error")


def test_a_fault_is_told_in_the_same_document(printed: Printed, monkeypatch: pytest.MonkeyPatch) -> None:
    def fail(*_: object) -> None:
        raise ZeroDivisionError("division by zero")

    monkeypatch.setattr(layercut.cli.check, "load_job", fail)
    closed(printed("check", "house.svg", code=70), "error")


def test_a_document_that_is_not_what_its_type_says_is_not_printed() -> None:
    good = {"file": "coupon.svg", "length_mm": 50.0, "blocks": 5}
    assert json.loads(document_text(CouponDocument, good)) == {"format": 1, **good}
    for bad in ({"blocks": 0}, {"length_mm": float("nan")}, {"more": 1}):
        with pytest.raises(pydantic.ValidationError):
            document_text(CouponDocument, {**good, **bad})
