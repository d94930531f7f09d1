"""`layercut coupon`: the test piece as it is written, and the kerf found again from simulated cuts of it."""

import json
import re
from pathlib import Path

import numpy as np
import pytest
import shapely
from elements import strings, value
from lxml import etree
from shapely import LinearRing, Polygon, box

from layercut.cli import main
from layercut.errors import LayercutError
from layercut.geometry.offsets import rounded_box
from layercut.job import Job, load_job
from layercut.setup.coupon import Coupon, coupon_sheet, make_coupon, read_kerf
from layercut.sheets.smoothing import smooth_sheets
from layercut.sheets.svg_out import write_sheet

DEFAULTS = Job.model_validate({})


def text_of(coupon: Coupon) -> str:
    ordered, panel = coupon_sheet(coupon)
    (sheet,) = smooth_sheets([ordered], DEFAULTS)
    return write_sheet(sheet, panel, DEFAULTS)


def contours(text: str, role: str) -> list[Polygon]:
    """The closed contours of a role, as the file has them."""
    paths = strings(etree.fromstring(text.encode()), f"//*[@data-role='{role}']/*/@d")
    assert all(path.endswith("Z") for path in paths)
    return [Polygon(np.array(re.findall(r"-?[\d.]+", path), dtype=float).reshape(-1, 2)) for path in paths]


def cut(text: str, kerf: float, machine_error: float = 0.0) -> list[Polygon]:
    """The pieces that come off the bed: all wood that no beam of this width went over, along every line of the file.

    `machine_error` draws everything so much too long.
    """
    rings = [contour.exterior for role in ("cut-opening", "cut-outline") for contour in contours(text, role)]
    scaled = [LinearRing(np.array(ring.coords) * (1 + machine_error)) for ring in rings]
    burnt = shapely.union_all([ring.buffer(kerf / 2, join_style="mitre") for ring in scaled])
    (x0, y0, x1, y1) = shapely.total_bounds(np.array(scaled))
    return [part for part in box(x0, y0, x1, y1).difference(burnt).geoms if not part.interiors]


def measure(pieces: list[Polygon], resolution: float) -> tuple[float, float]:
    """What a caliper shows of all blocks pushed together, and of the uncut bar."""
    widths = sorted(piece.bounds[2] - piece.bounds[0] for piece in pieces)
    shown = (sum(widths[:-1]), widths[-1])
    return round(shown[0] / resolution) * resolution, round(shown[1] / resolution) * resolution


@pytest.mark.parametrize("kerf", [0.05, 0.1, 0.15, 0.183, 0.25, 0.4])
@pytest.mark.parametrize("coupon", [make_coupon(), make_coupon(50, 6), make_coupon(120, 10), make_coupon(80, 2)])
def test_the_kerf_is_found_again_from_a_simulated_cut(coupon: Coupon, kerf: float) -> None:
    pieces = cut(text_of(coupon), kerf)
    assert len(pieces) == coupon.blocks + 1
    exact, _ = measure(pieces, 1e-9)
    assert read_kerf(coupon, exact).kerf_mm == pytest.approx(kerf, abs=1e-6)
    shown, _ = measure(pieces, 0.05)
    reading = read_kerf(coupon, shown, 0.05)
    assert abs(reading.kerf_mm - kerf) <= reading.plus_minus_mm
    assert reading.plus_minus_mm == pytest.approx(0.05 / coupon.blocks)


@pytest.mark.parametrize("machine_error", [-0.01, 0.002, 0.01])
def test_the_uncut_bar_takes_the_machines_own_scale_out(machine_error: float) -> None:
    coupon = make_coupon(100, 8)
    shown, whole = measure(cut(text_of(coupon), 0.18, machine_error), 1e-9)
    one, two = read_kerf(coupon, shown), read_kerf(coupon, shown, whole_mm=whole)
    assert two.kerf_mm == pytest.approx(0.18, abs=1e-6)
    assert two.machine_error == pytest.approx(machine_error, abs=1e-6)
    assert abs(one.kerf_mm - 0.18) == pytest.approx(abs(machine_error) * 100 / 8, abs=1e-6)  # what it saves


def test_more_blocks_make_the_kerf_surer() -> None:
    sure = [read_kerf(Coupon(100, blocks), 99.0).plus_minus_mm for blocks in (2, 4, 8, 16)]
    assert sure == sorted(sure, reverse=True)


def test_the_file_is_like_any_sheet() -> None:
    text = text_of(make_coupon())
    tree = etree.fromstring(text.encode())
    groups = [child for child in tree if child.get("data-role")]
    assert [group.get("data-role") for group in groups] == ["mark-area", "mark-line", "cut-opening", "cut-outline"]
    paints = [groups[0].get("fill"), *(group.get("stroke") for group in groups[1:])]
    roles = DEFAULTS.roles
    assert paints == [roles.mark_area, roles.mark_line, roles.cut_opening, roles.cut_outline]
    assert tree.get("viewBox") == f"0 0 {value(tree, 'width')[:-2]} {value(tree, 'height')[:-2]}"
    assert value(tree, "width").endswith("mm")


def test_contours_keep_apart_and_inside_the_rim() -> None:
    text = text_of(make_coupon(55, 11))
    (rim,) = contours(text, "cut-outline")
    inner = contours(text, "cut-opening")
    assert len(inner) == 12
    for place, contour in enumerate(inner):
        assert rim.exterior.distance(contour) >= 3.999
        assert rim.contains(contour)
        for other in inner[place + 1 :]:
            assert contour.distance(other) >= 3.999


def test_blocks_are_numbered_each_stroke_inside_its_block() -> None:
    for coupon in (make_coupon(), make_coupon(55, 11)):
        sheet, _ = coupon_sheet(coupon)
        for number, block in enumerate(sheet.openings[:-1], 1):
            mine = [line for line in sheet.mark_lines if block.buffer(-0.3).contains(line)]
            left, top, right, bottom = shapely.MultiLineString(mine).bounds
            # A font's digits of one height have their own widths; a 1 is nearly none.
            assert bottom - top == pytest.approx(min(4.0, coupon.block_mm / 1.05 / len(str(number))), rel=0.01)
            assert (left + right) / 2 == pytest.approx(block.centroid.x, abs=0.6)
            assert len(mine) >= len(str(number))
        assert all(any(block.contains(line) for block in sheet.openings[:-1]) for line in sheet.mark_lines)


def test_drawn_lengths_are_those_that_are_written() -> None:
    coupon = make_coupon(50, 6)  # no whole number of thousandths
    blocks = contours(text_of(coupon), "cut-opening")[:-1]
    assert sum(block.bounds[2] - block.bounds[0] for block in blocks) == pytest.approx(coupon.length_mm, abs=1e-9)


def test_the_simulated_wood_is_what_is_left() -> None:
    sheet, _ = coupon_sheet(make_coupon())
    assert sheet.wood.area == pytest.approx(
        sheet.outline.area - sum(opening.area for opening in sheet.openings), abs=1e-6
    )
    left, top, right, bottom = sheet.outline.bounds
    assert sheet.outline.equals(rounded_box(left, top, right, bottom, 0.0))


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    return tmp_path


def test_the_test_piece_is_written_once_with_the_cautions(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["coupon"]) == 0
    done = capsys.readouterr()
    assert done.out == "coupon.svg\n"
    assert "PVC" in done.err
    assert "Never leave a running laser alone" in done.err
    (folder / "coupon.svg").write_text("mine")
    assert main(["coupon"]) == 2
    assert (folder / "coupon.svg").read_text() == "mine"


def test_colours_of_the_job_are_used(folder: Path) -> None:
    (folder / "a.toml").write_text('[roles]\ncut_opening = "#123456"\n')
    assert main(["coupon", "--job", "a.toml"]) == 0
    assert 'stroke="#123456"' in (folder / "coupon.svg").read_text()


def test_a_reading_gives_the_kerf(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["coupon", "--measured", "49.1mm"]) == 0
    done = capsys.readouterr()
    assert done.out == "0.180mm\n"
    assert "(50 - 49.1) / 5 = 0.180 mm, +- 0.010 mm" in done.err
    assert main(["coupon", "--measured", "49.1mm", "--resolution", "0.01mm", "--json"]) == 0
    document = json.loads(capsys.readouterr().out)
    assert (document["kerf_mm"], document["plus_minus_mm"]) == (0.18, 0.002)
    assert list(folder.iterdir()) == []


@pytest.mark.parametrize(
    ("words", "job", "told"),
    [
        (["--measured", "1.94in"], "", ("0.0057in", "= (1.9685 - 1.94) / 5 = 0.0057 in, +- 0.0004 in")),
        (["--measured", "49.1mm"], '[page]\nunits = "in"\n', ("0.0071in", "= 0.0071 in")),
        (["--measured", "1.94in"], '[panel]\nwidth = "280mm"\n', ("0.145mm", "= 0.145 mm")),
        (["--measured", "49.1mm", "--units", "in"], "", ("0.0071in", "= 0.0071 in")),
    ],
)
def test_the_kerf_is_told_in_the_units_of_the_job_or_of_the_reading(
    folder: Path, capsys: pytest.CaptureFixture[str], words: list[str], job: str, told: tuple[str, str]
) -> None:
    kerf, said = told
    if job:
        (folder / "house.toml").write_text(job)
        words = [*words, "--write", "house.toml"]
    assert main(["coupon", *words]) == 0
    done = capsys.readouterr()
    assert done.out == f"{kerf}\n"
    assert said in done.err
    if job:
        assert f'kerf = "{kerf}"' in (folder / "house.toml").read_text()
    assert main(["coupon", *words, "--json"]) == 0
    document = json.loads(capsys.readouterr().out)
    unit = 25.4 if kerf.endswith("in") else 1.0
    assert document["kerf_mm"] == pytest.approx(float(kerf[:-2]) * unit, abs=0.002)
    assert "(50 - 49" in document["formula"]


def test_a_reading_in_inches_that_can_not_be_is_told_in_inches(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["coupon", "--measured", "1.2in"]) == 2
    told = capsys.readouterr().err
    assert "1.2 in would mean a kerf of 0.1537 in for 5 blocks drawn 1.9685 in long" in told
    assert "0.0008 to 0.0236 is likely" in told


def test_the_job_file_gets_the_kerf_and_keeps_its_comments(folder: Path) -> None:
    text = '# mine\n[material]\nkerf = "0.15mm"  # old guess\n\n[panel]\nframe = "7mm"\n'
    (folder / "house.toml").write_text(text)
    assert main(["coupon", "--measured", "49.1mm", "--write", "house.toml"]) == 0
    assert (folder / "house.toml").read_text() == text.replace("0.15mm", "0.180mm")
    assert load_job(folder / "house.toml").material.kerf == pytest.approx(0.18)


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["--measured", "50mm"], "no kerf"),
        (["--measured", "51mm"], "no kerf"),
        (["--measured", "30mm"], "would mean a kerf of 4.000 mm"),
        (["--measured", "46.9mm"], "would mean a kerf of 0.620 mm"),
        (["--measured", "49.95mm"], "would mean a kerf of 0.010 mm"),
        (["--measured", "49.1"], "--measured"),
        (["--measured", "0mm"], "--measured"),
        (["--measured", "49.1mm", "--resolution", "2mm"], "--resolution"),
        (["--measured", "49.1mm", "--resolution", "0mm"], "--resolution"),
        (["--measured", "49.1mm", "--whole", "49mm"], "no kerf"),
        (["--measured", "44.1mm", "--whole", "45mm"], "--whole"),
        (["--whole", "49.9mm"], "need --measured"),
        (["--write", "a.toml"], "need --measured"),
        (["--measured", "49.1mm", "--write", "gone.toml"], "no such job file"),
        (["--measured", "49.1mm", "--write", "bad.toml"], "bad.toml"),
        (["--length", "0mm"], "--length"),
        (["--length", "20mm"], "too narrow"),
        (["--blocks", "1"], "can't be cut"),
        (["--blocks", "0"], "can't be cut"),
        (["--length", "2m", "--blocks", "9"], "can't be cut"),
        (["-o", "nowhere/coupon.svg"], "nowhere"),
    ],
)
def test_bad_input_gets_one_sentence_and_writes_nothing(
    folder: Path, capsys: pytest.CaptureFixture[str], words: list[str], says: str
) -> None:
    (folder / "bad.toml").write_text("[material\n")
    assert main(["coupon", *words]) == 2
    told = capsys.readouterr().err
    assert says in told
    assert told.count("\n") == 1
    assert [path.name for path in folder.iterdir()] == ["bad.toml"]


def test_a_reading_needs_a_number() -> None:
    for reading in (float("nan"), float("inf"), -1.0):
        with pytest.raises(LayercutError):
            read_kerf(make_coupon(), reading)
