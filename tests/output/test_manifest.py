"""The manifest of a hand-made build: against its published schema, number by number, and byte by byte."""

import dataclasses
import json
from pathlib import Path

import jsonschema
import pytest
from blends import downwards
from builds import build_made, spacers_made
from scenes import Scenes
from shapely import LineString, Point, Polygon, box

from layercut.findings import Finding, in_order
from layercut.job import Job, load_job
from layercut.model import Drawing, Layer, Made, OrderedSheet, Panel, Planned, Proof, Stack, StackLayer
from layercut.output.manifest import manifest, manifest_text
from layercut.planning.own_paints import OwnPaints
from layercut.sheets.smoothing import smooth_sheets
from layercut.workplan import BurnTimes

SCHEMA = json.loads((Path(__file__).parents[2] / "docs" / "manifest.schema.json").read_text())
JOB = load_job(None, ["material.kerf=0.2mm", "material.name=lime"])


KEYS = [
    "format",
    "drawing",
    "panel",
    "material",
    "page",
    "roles",
    "sheets",
    "boards",
    "board_plan",
    "prices",
    "findings",
    "proof",
    "work",
    "files",
]


def make_build(*, findings: tuple[Finding, ...] = (), job: Job = JOB, file: str = "house.svg") -> Made:
    """A panel of 100 x 80 mm with one sheet, which has one square hole and two marks."""
    outline, interior = box(0, 0, 100, 80), box(10, 10, 90, 70)
    panel = Panel(100.0, 80.0, 10.0, outline, interior, Polygon(outline.exterior, [interior.exterior]))
    hole = box(20, 20, 30, 30)
    ordered = OrderedSheet(
        name="sky",
        kind="layer",
        file="sheets/01-sky.svg",
        copies=1,
        wood=outline.difference(hole),
        mark_areas=(box(60, 20, 70, 25),),
        mark_lines=(LineString([(40, 40), (43, 44)]), LineString([(50, 50), (60, 50)])),
        openings=(hole,),
        outline=outline,
    )
    (sheet,) = smooth_sheets([ordered], job)
    sheet = dataclasses.replace(sheet, travel_mm=12.34567, times=BurnTimes(travel_s=33.449))
    sky = StackLayer("sky", outline, interior, Polygon(), Polygon(), ordered.wood, ())
    drawing = Drawing(file, "0f" * 32, 100.0, 80.0, (Layer("sky", ()),))
    proof = Proof(stack_mismatch_mm2=-0.0, pieces_planned=2, pieces_found=2)
    told = in_order(findings, ("sky", "garden"))
    build = build_made(drawing, Stack(panel, (sky,), Polygon()), (sheet,), job, proof=proof)
    return dataclasses.replace(build, findings=told)


def validate(document: object) -> None:
    jsonschema.Draft202012Validator(SCHEMA).validate(document)


def test_schema_is_itself_valid() -> None:
    jsonschema.Draft202012Validator.check_schema(SCHEMA)


def test_every_object_of_the_schema_is_closed() -> None:
    def objects(node: object) -> list[dict[str, object]]:
        if isinstance(node, list):
            return [found for item in node for found in objects(item)]
        if not isinstance(node, dict):
            return []
        inner = [found for item in node.values() for found in objects(item)]
        return [node, *inner] if node.get("type") == "object" else inner

    found = objects(SCHEMA)
    assert len(found) >= 8
    for node in found:
        assert node["additionalProperties"] is False
        assert sorted(node["required"]) == sorted(node["properties"])  # type: ignore[call-overload]


def test_numbers_and_keys() -> None:
    document = manifest(make_build())
    validate(document)
    assert list(document) == KEYS
    assert document["format"] == 1
    assert document["drawing"] == {"file": "house.svg", "sha256": "0f" * 32}
    assert document["panel"] == {"width_mm": 100.0, "height_mm": 80.0, "frame_mm": 10.0}
    assert document["material"] == {"name": "lime", "thickness_mm": 3.0, "kerf_mm": 0.2}
    assert document["roles"] == {
        "mark_area": "#56B4E9",
        "mark_line": "#CC79A7",
        "cut_opening": "#009E73",
        "cut_outline": "#E69F00",
    }
    assert document["files"] == []
    (sheet,) = document["sheets"]
    assert sheet == {
        "name": "sky",
        "kind": "layer",
        "file": "sheets/01-sky.svg",
        "copies": 1,
        "wood_mm2": 7900.0,
        "cut_mm": 400.0,
        "mark_mm": 15.0,
        "mark_mm2": 50.0,
        "travel_mm": 12.346,
        "seconds": 33.4,
        "ties": [],
        "choices": [],
        "loose": [],
        "slip_mm": None,
        "strips": [],
    }
    assert document["proof"] == {"stack_mismatch": 0.0, "pieces_planned": 2, "pieces_found": 2}


def test_the_folders_files_are_named_with_their_hashes() -> None:
    """The hashes of "abc" and of nothing are those of FIPS 180-2, appendix B.1, and of its usual test vectors."""
    document = manifest(make_build(), {"stack.png": b"abc", "sheets/01-sky.svg": b""})
    validate(document)
    assert document["files"] == [
        {
            "file": "sheets/01-sky.svg",
            "sha256": "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855",
        },
        {"file": "stack.png", "sha256": "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"},
    ]


def test_a_drawing_that_cannot_be_made_has_no_sheets_and_no_proof() -> None:
    island = Finding("island", "error", "falls out.", "garden", "path 'leaf-3'", (120.4004, 33.0), (3.2, 1.00049))
    made = make_build()
    document = manifest(Planned(made.drawing, made.job, made.stack, (island,)))
    validate(document)
    assert document["sheets"] == []
    assert document["proof"] is None
    assert document["work"] is None
    assert document["findings"] == [
        {
            "code": "island",
            "severity": "error",
            "message": "falls out.",
            "layer": "garden",
            "element": "path 'leaf-3'",
            "at_mm": [120.4, 33.0],
            "size_mm": [3.2, 1.0],
        }
    ]


def test_what_a_finding_does_not_know_is_null() -> None:
    (finding,) = manifest(make_build(findings=(Finding("picture", "info", "ignored."),)))["findings"]
    assert [finding[key] for key in ("layer", "element", "at_mm", "size_mm")] == [None] * 4


def test_findings_are_worst_first_then_back_to_front() -> None:
    info = Finding("detail-lost", "info", "left out.", "sky")
    near = Finding("neck", "error", "thin.", "garden", at_mm=(1, 1))
    far = Finding("neck", "error", "thin.", "sky", at_mm=(5, 5))
    further = Finding("neck", "error", "thin.", "sky", at_mm=(6, 1))
    placeless = Finding("neck", "error", "thin.", "sky")
    given = (info, near, further, placeless, far)
    assert list(make_build(findings=given).findings) == [placeless, far, further, near, info]
    assert manifest_text(make_build(findings=given[::-1])) == manifest_text(make_build(findings=given))


def test_text_is_the_manifest_with_a_line_end() -> None:
    build = make_build(findings=(Finding("picture", "info", "ignored."),))
    text = manifest_text(build)
    assert text.endswith("}\n")
    assert json.loads(text) == manifest(build)
    assert "-0.0" not in text
    assert text == manifest_text(make_build(findings=build.findings))


def test_letters_stay_letters_and_an_undecodable_file_name_can_be_written() -> None:
    assert "grün.svg" in manifest_text(make_build(file="grün.svg"))
    text = manifest_text(make_build(file="gr\udcfcn.svg"))
    assert json.loads(text.encode())["drawing"]["file"] == "gr?n.svg"


def test_a_number_that_is_not_finite_is_refused() -> None:
    build = make_build()
    broken = dataclasses.replace(build.sheets[0], times=BurnTimes(rim_s=float("nan")))
    with pytest.raises(ValueError, match="JSON"):
        manifest_text(dataclasses.replace(build, sheets=(broken,)))


@pytest.mark.parametrize("key", KEYS)
def test_schema_refuses_a_missing_and_an_unknown_key(key: str) -> None:
    document = manifest(make_build())
    with pytest.raises(jsonschema.ValidationError):
        validate({name: value for name, value in document.items() if name != key})
    with pytest.raises(jsonschema.ValidationError):
        validate({**document, f"{key}_too": 1})


def test_the_work_plan_as_data(scenes: Scenes) -> None:
    """A whole run with everything in it: loose pieces, spacers, a blend and own paints, against the schema."""
    ground = scenes.shape(scenes.ground())
    blend = downwards(0.0, 100.0)
    drawing = scenes.drawing(
        [type(ground)("wood", ground.geometry, blend, "path 'sky'")],
        [box(0, 70, 100, 100), Point(50, 35).buffer(6)],
    )
    settings = ("islands.policy=loose", "hanging.screw=12mm", "machine.bed_width=300mm", "machine.bed_height=200mm")
    made = scenes.make(drawing, *settings)
    sheets = (*made.sheets, *spacers_made(made.stack, made.job))
    own = OwnPaints("own.csv", (("plum", "#804080"), ("linen", "#efe6d2")))
    document = manifest(build_made(drawing, made.stack, sheets, made.job, proof=made.proof, own=own))
    validate(document)
    work = document["work"]
    assert work["hanging"]["spacers"] == 4
    assert [sheet["copies"] for sheet in work["times"]["sheets"]] == [1, 1, 4]
    total = sum(work["times"]["total"].values())
    assert total == pytest.approx(sum(sheet["seconds"] * sheet["copies"] for sheet in document["sheets"]), abs=1)
    sky = work["paint"]["colours"][0]
    assert [stop["colour"] for stop in sky["blend"]] == ["#ff0000", "#0000ff"]
    assert sky["blend"][0]["paint"]["name"] == "plum"
    (way,) = work["paint"]["sheets"][0]["parts"][0]["runs"][0]["ways"]
    assert (way["kind"], way["from_mm"][1], way["to_mm"][1], way["axes_mm"]) == ("linear", 0.0, 100.0, None)
    assert [sheet["file"] for sheet in work["paint"]["sheets"]] == ["sheets/01-l0.svg", "sheets/02-l1.svg"]
    assert work["material"]["bed"] == {"width_mm": 300, "height_mm": 200, "each": 2, "boards": 3}
    assert [step["kind"] for step in work["steps"]] == ["lay", "sheet", "pieces", *["spacer"] * 4, "edges", "hanger"]
    assert work["steps"][2]["pieces"][0]["locator"] is True
