"""`layercut start`: a drawing and a job file from measurements, which compile takes as they are."""

import json
import re
from pathlib import Path

import pytest
from builds import made_of
from elements import all_text, only, value
from lxml import etree

from layercut.cli import main
from layercut.job import Job, load_job
from layercut.pipeline import compile_drawing
from layercut.setup.guide_layer import drawing_text
from layercut.setup.measures import Measure, parse_pair
from layercut.setup.start import StartPlan, describe_house, plan_start
from layercut.setup.starter_job import job_text

FOOT = 304.8
SVG = {"s": "http://www.w3.org/2000/svg"}
PANEL = (304.8, 228.6)
WORDS = ["start", "house", "--width", "36ft", "--panel", "12in x 9in"]


def make_plan(**changes: object) -> StartPlan:
    house = describe_house(Measure(36 * FOOT), 2, Measure(9 * FOOT), Measure(1.5 * FOOT), Measure(8 * FOOT))
    return plan_start("house", house, PANEL, **changes)  # type: ignore[arg-type]


def tree_of(plan: StartPlan) -> etree._Element:
    return etree.fromstring(drawing_text(plan))


def box_of(tree: etree._Element, own: str) -> tuple[float, float, float, float]:
    rect = only(tree, f"//s:g[@id='{own}']/s:rect")
    x, y, width, height = (float(value(rect, key)) for key in ("x", "y", "width", "height"))
    return x, y, width, height


def test_the_page_is_the_panel_in_mm() -> None:
    tree = tree_of(make_plan())
    assert (tree.get("width"), tree.get("height"), tree.get("viewBox")) == ("304.8mm", "228.6mm", "0 0 304.8 228.6")


def test_layers_are_empty_named_and_in_order_behind_them_the_guide() -> None:
    tree = tree_of(make_plan())
    groups = tree.findall("s:g", SVG)
    assert [group.findtext("s:title", namespaces=SVG) for group in groups] == [
        "guide", "sky", "house", "front", "foreground",
    ]  # fmt: skip
    assert all(len(group) == 1 for group in groups[1:])


def test_reference_boxes_stand_on_each_other_at_the_scale() -> None:
    plan = make_plan()
    tree = tree_of(plan)
    assert plan.fit.scale.ratio == 48
    foundation, first, second, roof = (
        box_of(tree, f"guide-{own}") for own in ("foundation", "storey-1", "storey-2", "roof")
    )
    for (_, top, width, high), feet in zip((foundation, first, second, roof), (1.5, 9, 9, 8), strict=True):
        assert high == pytest.approx(feet * FOOT / 48, abs=0.002)
        assert width == pytest.approx(36 * FOOT / 48, abs=0.002)
        assert top > plan.frame_mm
    assert foundation[1] + foundation[3] == pytest.approx(plan.ground_mm, abs=0.002)
    for below, above in ((foundation, first), (first, second), (second, roof)):
        assert above[1] + above[3] == pytest.approx(below[1], abs=0.002)
    assert foundation[0] + foundation[2] / 2 == pytest.approx(PANEL[0] / 2, abs=0.002)


def test_doors_and_people_are_as_large_as_they_are() -> None:
    plan = make_plan()
    tree = tree_of(plan)
    assert box_of(tree, "guide-door")[2:] == pytest.approx((36 * 25.4 / 48, 80 * 25.4 / 48), abs=0.002)
    assert box_of(tree, "guide-door")[1] == pytest.approx(
        plan.ground_mm - (1.5 * FOOT + 80 * 25.4) / 48, abs=0.002
    )  # it stands on the first floor
    head = only(tree, "//s:g[@id='guide-adult']/s:circle")
    top = float(value(head, "cy")) - float(value(head, "r"))
    assert plan.ground_mm - top == pytest.approx(68 * 25.4 / 48, abs=0.002)


def test_every_box_is_labelled() -> None:
    tree = tree_of(make_plan())
    for own in ("storey-1", "storey-2", "foundation", "roof", "door", "window", "adult", "child", "ground"):
        group = only(tree, f"//s:g[@id='guide-{own}']")
        assert all_text(group).strip(), own
    assert "1:48" in all_text(tree)


def test_the_job_file_says_the_panel_and_where_numbers_come_from(tmp_path: Path) -> None:
    plan = make_plan(frame_mm=10.0)
    path = tmp_path / "house.toml"
    path.write_text(job_text(plan))
    job = load_job(path)
    assert (job.panel.width, job.panel.height, job.panel.frame) == pytest.approx((304.8, 228.6, 10.0))
    defaults = Job.model_validate({})
    assert (job.material, job.limits, job.islands) == (defaults.material, defaults.limits, defaults.islands)
    text = path.read_text()
    assert "36 ft (10973 mm)" in text
    assert "1:48" in text


def test_what_nobody_measured_is_named() -> None:
    house = describe_house(Measure(36 * FOOT))
    assert len(house.assumed) == 4
    assert house.height.mm == pytest.approx((1.5 + 2 * 9 + 9) * FOOT)
    assert describe_house(Measure(1e4), 1, Measure(1), Measure(1), Measure(1)).assumed == ()


def test_errors_of_one_scale_bar_add_up_over_the_storeys() -> None:
    house = describe_house(Measure(1e4), 3, Measure(2700, 10), Measure(500, 1), Measure(2000, 5))
    assert house.height.plus_minus_mm == pytest.approx(1 + 3 * 10 + 5)


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    return tmp_path


def test_start_writes_what_compile_answers_honestly(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(WORDS) == 0
    assert capsys.readouterr().out == "house.svg\n"
    build = compile_drawing(folder / "house.svg", load_job(folder / "house.toml"))
    assert [finding.code for finding in build.findings] == ["layer-empty"] * 4
    drawn = (
        (folder / "house.svg")
        .read_text()
        .replace('<g id="house">', '<g id="house"><rect y="100" width="304.8" height="128.6" fill="#aa5533"/>')
    )
    (folder / "house.svg").write_text(drawn)
    build = compile_drawing(folder / "house.svg", load_job(folder / "house.toml"))
    assert sorted(finding.layer for finding in build.findings if finding.code == "layer-empty") == [
        "foreground", "front", "sky",
    ]  # fmt: skip
    assert [sheet.name for sheet in made_of(build).sheets if sheet.kind == "layer"] == [
        "sky",
        "house",
        "front",
        "foreground",
    ]


def test_what_is_proposed_goes_to_people_with_the_cautions(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    words = ["start", "house", "--scale-bar", "20ft=84px", "--width", "151px", "--panel", "12in x 9in"]
    assert main([*words, "--units", "mm"]) == 0
    told = capsys.readouterr().err
    assert "35.95 ft (10958 mm) +- 5.9 in (149 mm)" in told
    assert ">    1:48" in told
    assert "assumed: 2 storeys" in told
    assert "Never leave a running laser alone" in told
    assert "PVC" in told
    assert (folder / "house.toml").exists()


MIXED = [
    # panel, other words, whether all is in inches
    ("12in x 9in", [], True),
    ("1ft x 9in", [], True),
    ("280mm x 9in", [], True),
    ("280mm x 21cm", [], False),
    ("12in x 9in", ["--units", "mm"], False),
    ("280mm x 210mm", ["--units", "in"], True),
]


@pytest.mark.parametrize(("panel", "more", "imperial"), MIXED)
def test_the_panels_unit_is_that_of_all_that_is_read(
    folder: Path, capsys: pytest.CaptureFixture[str], panel: str, more: list[str], imperial: bool
) -> None:
    """Whatever unit the house was measured in. The job file's panel is the same to a millionth of an inch."""
    assert main(["start", "house", "--width", "11m", "--panel", panel, *more]) == 0
    text, guide = (folder / "house.toml").read_text(), (folder / "house.svg").read_text()
    labels = " ".join(re.findall(r"<text[^>]*>([^<]*)<", guide))
    for read in (capsys.readouterr().err, text, labels):
        plain = read.replace('"3mm", "0.25in"', "").replace("3.5 mm to the foot", "")  # the scale's name
        assert bool(re.search(r"\bmm\b|\dmm\b", plain)) == (not imperial)
    job, (width, height) = load_job(folder / "house.toml"), parse_pair(panel, "--panel")
    assert job.units.imperial == imperial
    assert (job.panel.width, job.panel.height) == pytest.approx((width, height), abs=2e-5)
    assert main(["check", "house.svg"]) == 0


def test_a_panel_in_inches_is_written_as_it_was_typed(folder: Path) -> None:
    assert main(["start", "house", "--width", "36ft", "--panel", "11in x 8 1/2in", "--frame", "0.3in"]) == 0
    text = (folder / "house.toml").read_text()
    assert 'width = "11in"\nheight = "8 1/2in"\nframe = "0.3in"' in text
    panel = load_job(folder / "house.toml").panel
    assert (panel.width, panel.height, panel.frame) == pytest.approx((279.4, 215.9, 7.62), abs=1e-9)


def test_what_does_not_fit_is_told_in_the_panels_unit(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    for panel, room in (("12in x 9in", "room for 11 1/2 × 8 1/2 in"), ("300mm x 200mm", "room for 287.3 x 187.3 mm")):  # noqa: RUF001
        assert main(["start", "house", "--width", "36ft", "--panel", panel, "--scale", "1:10"]) == 2
        assert room in capsys.readouterr().err
    assert list(folder.iterdir()) == []


def test_json(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    words = [*WORDS[:-2], "--panel-width", "12in", "--panel-height", "9in", "--scale", "1:50", "--json"]
    assert main(words) == 0
    document = json.loads(capsys.readouterr().out)
    assert document["scale"]["name"] == "1:50"
    assert document["scale"]["width_mm"] == pytest.approx(36 * FOOT / 50, abs=0.001)
    assert document["house"]["width"] == {"mm": 10972.8, "plus_minus_mm": 0.0}
    assert document["scales"][0]["fits"] is False
    assert Path(document["drawing"]).name == "house.svg"
    assert (folder / document["job"]).exists()


@pytest.mark.parametrize("taken", ["house.svg", "house.toml"])
def test_a_file_that_exists_is_left_alone_and_nothing_else_is_written(
    folder: Path, capsys: pytest.CaptureFixture[str], taken: str
) -> None:
    (folder / taken).write_text("mine")
    assert main(WORDS) == 2
    assert (folder / taken).read_text() == "mine"
    assert [path.name for path in folder.iterdir()] == [taken]
    assert taken in capsys.readouterr().err


def test_a_link_that_leads_nowhere_counts_as_a_file(folder: Path) -> None:
    (folder / "house.toml").symlink_to(folder / "gone")
    assert main(WORDS) == 2
    assert [path.name for path in folder.iterdir()] == ["house.toml"]


def test_names_with_an_ending_and_in_a_folder(folder: Path) -> None:
    (folder / "mill").mkdir()
    assert main(["start", "mill/old.mill.svg", *WORDS[2:]]) == 0
    assert sorted(path.name for path in (folder / "mill").iterdir()) == ["old.mill.svg", "old.mill.toml"]


def test_a_name_with_signs_that_no_text_has(folder: Path) -> None:
    assert main(["start", "a\x01\n<b", *WORDS[2:]]) == 0
    compile_drawing(folder / "a\x01\n<b.svg", load_job(folder / "a\x01\n<b.toml"))


def test_heights_may_come_from_the_picture_too(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    words = ["start", "house", "--scale-bar", "20ft=84px", "--width", "151px", "--panel", "12in x 9in", "--json"]
    assert main([*words, "--storey-height", "38px", "--foundation", "0", "--roof", "0"]) == 0
    house = json.loads(capsys.readouterr().out)["house"]
    assert house["storey_height"]["mm"] == pytest.approx(20 * FOOT * 38 / 84, abs=0.01)
    assert house["height"]["plus_minus_mm"] == pytest.approx(2 * house["storey_height"]["plus_minus_mm"], abs=0.02)
    assert "guide-roof" not in (folder / "house.svg").read_text()
    assert "guide-foundation" not in (folder / "house.svg").read_text()


def test_layers_of_ones_own_with_names_that_need_care(folder: Path) -> None:
    assert main([*WORDS, "--layers", 'far & <near>,  harbour wall ,"quay"\\,7']) == 0
    build = compile_drawing(folder / "house.svg", load_job(folder / "house.toml"))
    assert [layer.name for layer in build.drawing.layers] == ["far & <near>", "harbour wall", '"quay"\\', "7"]


@pytest.mark.parametrize("name", ["harbour wall", 'a"b\\c', "plain", "größe", "7.5"])
def test_the_commented_table_for_one_layer_is_right_once_uncommented(tmp_path: Path, name: str) -> None:
    text = job_text(make_plan(layers=["sky", name]))
    path = tmp_path / "a.toml"
    path.write_text(text.replace("# [islands", "[islands").replace('# policy = "loose"', 'policy = "loose"'))
    assert load_job(path).islands.policy_for(name, ()) == "loose"


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"--width": "36"}, "--width: '36' is not a length"),
        ({"--width": "0ft"}, "--width"),
        ({"--width": "151px"}, "--scale-bar"),
        ({"--panel": "12 x 9"}, "--panel"),
        ({"--panel": "12in"}, "not a width and a height"),
        ({"--panel": "12mm x 9mm"}, "leave nothing"),
        ({"--panel": "13mm x 13mm"}, "even at 1:10000"),
        ({"--panel": "100000m x 80000m"}, "the most is 10000 mm"),
        ({"--panel-width": "12in"}, "needed, once"),
        ({"--frame": "1mm"}, "narrower than the neck"),
        ({"--frame": "-1mm"}, "--frame"),
        ({"--margin": "6in"}, "leave nothing"),
        ({"--storeys": "0"}, "storeys"),
        ({"--storeys": "-2"}, "storeys"),
        ({"--storey-height": "0"}, "--storey-height"),
        ({"--scale": "1:24"}, "1:48"),
        ({"--scale": "48"}, "not a scale"),
        ({"--layers": "sky,,house"}, "empty"),
        ({"--layers": "sky,Sky"}, "twice"),
        ({"--layers": "guide lines,sky"}, "never cut"),
        ({"--scale-bar": "20ft"}, "not a scale bar"),
        ({"--pixel-error": "-1", "--scale-bar": "20ft=84px"}, "--pixel-error"),
    ],
)
def test_bad_input_gets_one_sentence_and_writes_nothing(
    folder: Path, capsys: pytest.CaptureFixture[str], changes: dict[str, str], says: str
) -> None:
    options = {"--width": "36ft", "--panel": "12in x 9in"} | changes
    words = [word for option, value in options.items() for word in (f"{option}={value}",)]
    assert main(["start", "house", *words]) == 2
    told = capsys.readouterr().err
    assert says in told
    assert told.count("\n") == 1
    assert list(folder.iterdir()) == []


def test_a_folder_that_is_not_there_is_told(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["start", "nowhere/house", *WORDS[2:]]) == 2
    assert "nowhere" in capsys.readouterr().err
    assert list(folder.iterdir()) == []


def test_the_same_input_gives_the_same_bytes() -> None:
    assert drawing_text(make_plan()) == drawing_text(make_plan())
    assert job_text(make_plan()) == job_text(make_plan())
