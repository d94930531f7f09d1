"""`layercut rectify`: photos of a known wall, taken by scikit-image's camera, squared up again."""

import base64
import io
import json
import re
from functools import lru_cache
from pathlib import Path

import numpy as np
import pytest
from elements import elements, only, parent, value
from lxml import etree
from PIL import Image, ImageDraw
from skimage.transform import ProjectiveTransform, warp

from layercut.cli import main
from layercut.errors import LayercutError
from layercut.job import load_job
from layercut.pipeline import compile_drawing
from layercut.setup.rectify import Shot, parse_corners, rectify
from layercut.setup.underlay import find_guide, lay_picture

SIZE = (10972.8, 5486.4)
LEFT = "112,160 760,225 770,500 100,570"
RIGHT = "70,210 690,140 700,570 65,490"
TREE_LEFT = (330, 130, 470, 590)
TREE_RIGHT = (80, 230, 160, 560)
WORDS = ["--corners", LEFT, "--size", "36ft x 18ft"]
BRICKS = (720, 360)


def make_wall() -> np.ndarray:
    """A wall of bricks with three windows and a door, 720 x 360 px."""
    image = Image.new("RGB", BRICKS, (196, 170, 140))
    draw = ImageDraw.Draw(image)
    for row, y in enumerate(range(0, 360, 24)):
        for x in range(-40, 720, 80):
            shade = (180 + (x * 7 + y) % 30, 110 + (x * 3 + y * 5) % 25, 90)
            draw.rectangle([x + row % 2 * 40, y, x + row % 2 * 40 + 74, y + 19], fill=shade)
    for x in (75, 300, 525):
        draw.rectangle([x, 80, x + 80, 210], fill=(60, 80, 110), outline=(250, 250, 245), width=6)
    draw.rectangle([415, 190, 475, 359], fill=(110, 60, 30))
    return np.asarray(image)


WALL = make_wall()


@lru_cache
def take_photo(
    corners: str, tree: tuple[int, int, int, int] | None = None, gain: float = 1.0, size: tuple[int, int] = (860, 700)
) -> Image.Image:
    """The wall with its corners there, what is around it grey, a tree before it."""
    wide, high = BRICKS
    frame = np.array([[0, 0], [wide, 0], [wide, high], [0, high]], dtype=float)
    back = ProjectiveTransform.from_estimate(parse_corners(corners), frame)
    seen = warp(WALL, lambda at: back(at + 0.5) - 0.5, output_shape=size[::-1], order=1, cval=0.55)
    image = Image.fromarray(np.clip(np.rint(seen * 255 * gain), 0, 255).astype(np.uint8))
    if tree is not None:
        ImageDraw.Draw(image).ellipse(tree, fill=(30, 90, 40))
    return image


def shot(path: Path, corners: str, hidden: tuple[int, int, int, int] | None = None, options: str = "--") -> Shot:
    boxes = ((hidden[0] - 2, hidden[1] - 2, hidden[2] + 2, hidden[3] + 2),) if hidden else ()
    return Shot(path, parse_corners(corners), boxes, (), options)


def pixels_of(png: bytes) -> np.ndarray:
    return np.asarray(Image.open(io.BytesIO(png)).convert("RGBA")).astype(float)


def expected(pixels: tuple[int, int]) -> np.ndarray:
    return np.asarray(Image.fromarray(WALL).resize(pixels, Image.Resampling.BILINEAR)).astype(float)


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    take_photo(LEFT, TREE_LEFT).save("left.png")
    return tmp_path


def test_a_photo_comes_out_as_the_wall(tmp_path: Path) -> None:
    take_photo(LEFT).save(tmp_path / "a.png")
    made = rectify([shot(tmp_path / "a.png", LEFT)], SIZE, 48.0, 60)
    assert made.drawn_mm == pytest.approx((228.6, 114.3))
    assert made.pixels == (540, 270)
    found = pixels_of(made.png)
    assert made.unseen == 0
    difference = np.abs(found[..., :3] - expected(made.pixels)).mean(axis=-1)
    assert difference.mean() < 8
    shifted = np.abs(np.roll(found, 4, axis=1)[..., :3] - expected(made.pixels)).mean()
    assert difference.mean() < shifted / 2  # it lies where it should, not four pixels beside


def test_the_picture_goes_on_above_the_corners(tmp_path: Path) -> None:
    """With the corners of the wall's lower two thirds, the upper third comes out just as well."""
    take_photo(LEFT).save(tmp_path / "a.png")
    whole = rectify([shot(tmp_path / "a.png", LEFT)], SIZE, 48.0, 60)
    corners = parse_corners(LEFT)
    wall = np.array([[0, 0], [SIZE[0], 0], [SIZE[0], SIZE[1]], [0, SIZE[1]]], dtype=float)
    to_photo = ProjectiveTransform.from_estimate(wall, corners)
    third = SIZE[1] / 3
    lower = to_photo(np.array([[0, third], [SIZE[0], third], [SIZE[0], SIZE[1]], [0, SIZE[1]]]))
    part = Shot(tmp_path / "a.png", lower)
    made = rectify([part], (SIZE[0], SIZE[1] - third), 48.0, 60, third)
    assert made.drawn_mm == pytest.approx(whole.drawn_mm)
    assert made.pixels == whole.pixels
    assert np.abs(pixels_of(made.png) - pixels_of(whole.png)).max() <= 2
    with pytest.raises(LayercutError, match="that far up"):
        rectify([Shot(tmp_path / "a.png", parse_corners("100,100 700,120 600,500 200,480"))], SIZE, 480.0, 60, 1e5)


def test_two_views_fill_in_what_is_hidden_in_one(tmp_path: Path) -> None:
    take_photo(LEFT, TREE_LEFT).save(tmp_path / "left.png")
    take_photo(RIGHT, TREE_RIGHT, gain=0.8).save(tmp_path / "right.png")
    shots = [
        shot(tmp_path / "left.png", LEFT, TREE_LEFT),
        shot(tmp_path / "right.png", RIGHT, TREE_RIGHT, "--second-"),
    ]
    made = rectify(shots, SIZE, 48.0, 60)
    wall = expected(made.pixels)
    both = np.abs(pixels_of(made.png)[..., :3] - wall).mean(axis=-1)
    one = np.abs(pixels_of(rectify(shots[:1], SIZE, 48.0, 60).png)[..., :3] - wall).mean(axis=-1)
    assert (one > 40).mean() > 0.10  # the tree
    assert (both > 40).mean() < 0.01
    assert both.mean() < 10
    assert made.hidden < 0.005
    assert made.overlap is not None
    assert made.overlap.share > 0.5
    assert made.overlap.differing < 0.02


def test_without_boxes_the_disagreement_is_told_where_it_is(tmp_path: Path) -> None:
    take_photo(LEFT, TREE_LEFT).save(tmp_path / "left.png")
    take_photo(RIGHT).save(tmp_path / "right.png")
    made = rectify(
        [shot(tmp_path / "left.png", LEFT), shot(tmp_path / "right.png", RIGHT, None, "--second-")], SIZE, 48.0, 60
    )
    overlap = made.overlap
    assert overlap is not None
    assert overlap.differing > 0.10
    back = ProjectiveTransform.from_estimate(
        parse_corners(LEFT), np.array([[0, 0], [SIZE[0], 0], [SIZE[0], SIZE[1]], [0, SIZE[1]]])
    )
    ((x0, _), (x1, _)) = back(np.array([[TREE_LEFT[0], 360.0], [TREE_LEFT[2], 360.0]]))
    assert x0 < overlap.worst_at[0] < x1


def test_what_is_hidden_in_both_is_counted_and_shows_what_stands_there(tmp_path: Path) -> None:
    box = (0, 0, 860, 700)
    take_photo(LEFT).save(tmp_path / "a.png")
    made = rectify([shot(tmp_path / "a.png", LEFT, box)], SIZE, 48.0, 30)
    assert made.hidden == 1.0  # in every view there is
    assert (pixels_of(made.png)[..., 3] == 255).all()


def test_what_no_photo_reaches_is_left_clear(tmp_path: Path) -> None:
    take_photo(LEFT, size=(436, 700)).save(tmp_path / "a.png")
    made = rectify([shot(tmp_path / "a.png", LEFT)], SIZE, 48.0, 30)
    alpha = pixels_of(made.png)[..., 3]
    assert made.unseen == pytest.approx((alpha == 0).mean(), abs=1e-4)
    assert 0.3 < made.unseen < 0.7
    assert (alpha[:, 0] == 255).all()
    assert (alpha[:, -1] == 0).all()


def test_known_spots_tell_the_error(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The sill of the right window: 525 px of 720 from the left, 210 px of 360 down."""
    wide, high = BRICKS
    frame = np.array([[0, 0], [wide, 0], [wide, high], [0, high]], dtype=float)
    seen = ProjectiveTransform.from_estimate(frame, parse_corners(LEFT))(np.array([[525.0, 210.0]]))[0]
    spot = f"{seen[0]:.4f},{seen[1]:.4f}={SIZE[0] * 525 / 720:.2f}mm,{SIZE[1] * 150 / 360:.2f}mm"
    off = f"{seen[0] + 5:.4f},{seen[1]:.4f}={SIZE[0] * 525 / 720:.2f}mm,{SIZE[1] * 150 / 360:.2f}mm"
    words = [
        "rectify",
        "left.png",
        *WORDS,
        "--scale",
        "1:48",
        "-o",
        "a.png",
        "--check",
        spot,
        "--check",
        off,
        "--json",
    ]
    assert main(words) == 0
    right, wrong = json.loads(capsys.readouterr().out)["checks"]
    assert abs(right["right_on_wall_mm"]) < 0.5
    assert abs(right["down_on_wall_mm"]) < 0.5
    assert 60 < wrong["right_on_wall_mm"] < 120  # 5 px of about 17 mm
    assert (folder / "a.png").exists()


def test_exif_orientation_is_honoured_and_nothing_of_the_photo_but_pixels_is_written(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    upright = take_photo(LEFT)
    exif = Image.Exif()
    exif[0x0112] = 6  # to be shown turned a quarter clockwise
    exif[0x010F] = "SECRETMAKER"
    place = exif.get_ifd(0x8825)
    place[1], place[2] = "N", (47.0, 11.0, 12.0)
    upright.transpose(Image.Transpose.ROTATE_90).save("turned.jpg", quality=98, exif=exif, comment=b"SECRETPLACE")
    upright.save("upright.png")
    assert main(["start", "house", "--width", "36ft", "--panel", "12in x 9in"]) == 0
    assert main(["rectify", "turned.jpg", *WORDS, "--drawing", "house.svg", "-o", "turned_out.png"]) == 0
    assert main(["rectify", "upright.png", *WORDS, "--scale", "1:48", "-o", "upright_out.png"]) == 0
    capsys.readouterr()
    one, two = (pixels_of((folder / name).read_bytes()) for name in ("turned_out.png", "upright_out.png"))
    assert np.abs(one - two).mean() < 3
    inlaid = base64.b64decode((folder / "house.svg").read_text().split("base64,")[1].split('"')[0])
    for png in ((folder / "turned_out.png").read_bytes(), inlaid):
        image = Image.open(io.BytesIO(png))
        assert set(image.info) <= {"layercut"}  # the seal: a hash of the pixels' own bytes
        assert not image.getexif()
        assert b"SECRET" not in png
        kinds = [png[place + 4 : place + 8] for place in chunk_places(png)]
        assert set(kinds) - {b"tEXt"} == {b"IHDR", b"IDAT", b"IEND"}
        assert kinds.count(b"tEXt") == len(image.info)


def chunk_places(png: bytes) -> list[int]:
    places, place = [], 8
    while place < len(png):
        places.append(place)
        place += 12 + int.from_bytes(png[place : place + 4], "big")
    return places


def test_the_picture_goes_into_the_guide_and_no_other_byte_changes(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["start", "house", "--width", "36ft", "--panel", "12in x 9in"]) == 0
    before = (folder / "house.svg").read_bytes()
    assert main(["rectify", "left.png", *WORDS, "--drawing", "house.svg", "--hidden", "330,130,470,590"]) == 0
    after = (folder / "house.svg").read_bytes()
    start, end = after.index(b"\n<image"), after.index(b'"/>', after.index(b"base64,")) + 3
    assert after[:start] + after[end:] == before
    tree = etree.fromstring(after)
    image = only(tree, "//*[local-name()='image']")
    assert value(parent(image), "id") == "guide"
    x, y, width, height = (float(value(image, key)) for key in ("x", "y", "width", "height"))
    assert (width, height) == pytest.approx((228.6, 114.3))
    left, top, wide, high = map(float, value(parent(image), "data-layercut-walls").split())
    assert (x + width / 2, y + height) == pytest.approx((left + wide / 2, top + high), abs=0.001)
    build = compile_drawing(folder / "house.svg", load_job(folder / "house.toml"))
    assert {finding.code for finding in build.findings} == {"layer-empty"}
    # Once more, with better corners: the first picture gives way.
    assert main(["rectify", "left.png", *WORDS, "--drawing", "house.svg", "--at", "30mm,200mm"]) == 0
    again = elements(etree.parse("house.svg"), "//*[local-name()='image']")
    assert [(value(image, "x"), value(image, "y")) for image in again] == [("30", "85.7")]
    assert "house.svg" in capsys.readouterr().out


@pytest.mark.parametrize(
    "guide",
    [
        '<g id="guide"/>',
        "<g id='guide' data-note='a > b'></g>",
        "<g id='g7'>\n <title>guide lines</title>\n <path d='M0 0H9'/></g>",
        '<g xmlns:e="urn:editor" id="layer3" e:label="Guide" ><g id="sub"/></g>',
        '<g data-layercut="guide"/>',
        '<v:g xmlns:v="http://www.w3.org/2000/svg" id="guide" />',
        '<g id="guide"><!-- > --><![CDATA[ <g id="x"> ]]><g/></g>',
    ],
)
def test_guide_layers_as_editors_write_them(guide: str) -> None:
    head = '<?xml version="1.0"?>\n<!-- a <g id="guide"> -->\n<svg xmlns="http://www.w3.org/2000/svg">'
    text = f'{head}<g id="house"><g id="guide-eye"/><path d="M0 0"/></g>{guide}<g id="sky"/></svg>\n'.encode()
    layer = find_guide(text, "a.svg")
    laid = lay_picture(text, layer, b'<image id="guide-photo" x="1"/>')
    image = only(etree.fromstring(laid), "//*[local-name()='image']")
    assert parent(parent(image)) is image.getroottree().getroot()
    assert parent(image).xpath("string(preceding-sibling::*[1]/@id)") == "house"
    again = lay_picture(laid, find_guide(laid, "a.svg"), b'<image id="guide-photo" x="2"></image>')
    third = lay_picture(again, find_guide(again, "a.svg"), b'<image id="guide-photo" x="1"/>')
    assert third == laid


def test_a_page_in_other_units_and_a_layer_that_is_moved(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (folder / "mill.svg").write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="300mm" height="200mm" viewBox="0 0 600 400">'
        '<g transform="translate(10 20)" id="guide"><path d="M0 0"/></g><g id="sky"><path d="M0 0h9v9z"/></g></svg>'
    )
    words = ["rectify", "left.png", *WORDS, "--drawing", "mill.svg", "--scale", "1:100", "--at", "50mm,150mm"]
    assert main(words) == 0
    capsys.readouterr()
    image = only(etree.parse("mill.svg"), "//*[local-name()='image']")
    a, b, c, d, e, f = map(float, value(image, "transform")[7:-1].split())
    x, y = float(value(image, "x")), float(value(image, "y")) + float(value(image, "height"))
    on_page = ((a * x + c * y + e + 10) / 2, (b * x + d * y + f + 20) / 2)
    assert on_page == pytest.approx((50, 150), abs=1e-4)


GUIDES = [
    '<style>#guide{transform:translate(10px,20px)}</style><g id="guide"><path d="M0 0"/></g>',
    '<g id="guide" style="transform: translate(10px, 20px)"><path d="M0 0"/></g>',
    '<g id="guide" style="transform: translate(10px, 20px)" transform="scale(9)"><path d="M0 0"/></g>',
    '<style>.w{transform:translate(10px,20px)}</style><g class="w"><!-- --><g id="guide"><path d="M0 0"/></g></g>',
]


@pytest.mark.parametrize("guide", GUIDES)
def test_a_guide_layer_that_a_style_sheet_moves(folder: Path, capsys: pytest.CaptureFixture[str], guide: str) -> None:
    (folder / "mill.svg").write_text(
        f'<svg xmlns="http://www.w3.org/2000/svg" width="300mm" height="200mm" viewBox="0 0 600 400">{guide}</svg>'
    )
    words = ["rectify", "left.png", *WORDS, "--drawing", "mill.svg", "--scale", "1:100", "--at", "50mm,150mm"]
    assert main(words) == 0
    capsys.readouterr()
    image = only(etree.parse("mill.svg"), "//*[local-name()='image']")
    a, b, c, d, e, f = map(float, value(image, "transform")[7:-1].split())
    x, y = float(value(image, "x")), float(value(image, "y")) + float(value(image, "height"))
    on_page = ((a * x + c * y + e + 10) / 2, (b * x + d * y + f + 20) / 2)
    assert on_page == pytest.approx((50, 150), abs=1e-4)


@pytest.mark.parametrize(
    ("units", "walls"),
    [
        ("mm", "36 ft (10973 mm) wide and 19.5 ft (5944 mm) high to the eaves"),
        ("in", "36 ft wide and 19 ft 6 in high to the eaves"),
    ],
)
def test_the_walls_of_a_started_drawing_need_no_size(
    folder: Path, capsys: pytest.CaptureFixture[str], units: str, walls: str
) -> None:
    """What is told of the photo is in the units of the job that `start` wrote."""
    assert main(["start", "house", "--width", "36ft", "--panel", "12in x 9in", "--units", units]) == 0
    assert main(["rectify", "left.png", "--corners", LEFT, "--drawing", "house.svg"]) == 0
    told = capsys.readouterr().err
    assert walls in told
    assert bool(re.search(r"\bmm\b", told.replace("3.5 mm to the foot", ""))) == (units == "mm")
    image = only(etree.parse("house.svg"), "//*[local-name()='image']")
    place = [float(value(image, key)) for key in ("x", "y", "width", "height")]
    assert place == pytest.approx(list(map(float, value(parent(image), "data-layercut-walls").split())), abs=0.002)
    plain = (
        '<svg xmlns="http://www.w3.org/2000/svg" width="9mm" height="9mm"><g id="guide"><path d="M0 0"/></g></svg>'
    )
    (folder / "mill.svg").write_text(plain)
    words = ["rectify", "left.png", "--corners", LEFT, "--scale", "1:48"]
    for target in (["--drawing", "mill.svg"], ["-o", "a.png"]):
        assert main([*words, *target]) == 2
        assert "--size" in capsys.readouterr().err


def test_a_guide_that_is_only_referred_to_is_none() -> None:
    text = b'<svg xmlns="http://www.w3.org/2000/svg"><defs><g id="guide"/></defs><g><g id="guide-2"/></g></svg>'
    assert find_guide(text, "a.svg").number == 4


def test_where_the_jobs_panel_scales_the_drawing_the_scale_is_the_panels(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Twice as large a panel makes a guide of 1:48 one of 1:24; the picture still covers the guide's walls."""
    assert main(["start", "house", "--width", "36ft", "--panel", "12in x 9in"]) == 0
    job = folder / "house.toml"
    job.write_text(job.read_text().replace('"12in"', '"24in"').replace('"9in"', '"18in"'))
    assert main(["rectify", "left.png", *WORDS, "--drawing", "house.svg", "--json"]) == 0
    done = capsys.readouterr()
    assert json.loads(done.out.partition("\n")[2])["picture"] == {
        "width_mm": 457.2, "height_mm": 228.6, "width_px": 2700, "height_px": 1350, "ratio": 24.0,
    }  # fmt: skip
    assert "2 times as large as it is drawn; its 1:48 is 1:24 there" in done.err
    image = only(etree.parse("house.svg"), "//*[local-name()='image']")
    x, y, width, height = (float(value(image, key)) for key in ("x", "y", "width", "height"))
    left, top, wide, high = map(float, value(parent(image), "data-layercut-walls").split())
    assert (width, height) == pytest.approx((wide, 114.3))
    assert (x, y + height) == pytest.approx((left, top + high), abs=0.001)
    # The same said by hand, and a place of one's own, on the panel.
    words = ["rectify", "left.png", *WORDS, "--drawing", "house.svg", "--scale", "1:24", "--at", "60mm,400mm"]
    assert main(words) == 0
    image = only(etree.parse("house.svg"), "//*[local-name()='image']")
    assert float(value(image, "width")) == pytest.approx(wide)
    assert (float(value(image, "x")), float(value(image, "y")) + 114.3) == pytest.approx((30, 200), abs=0.001)


def test_a_job_that_does_not_go_with_the_drawing_is_told(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["start", "house", "--width", "36ft", "--panel", "12in x 9in"]) == 0
    (folder / "other.toml").write_text('panel.width = "12in"\npanel.height = "12in"\n')
    capsys.readouterr()
    assert main(["rectify", "left.png", *WORDS, "--drawing", "house.svg", "--job", "other.toml"]) == 2
    assert "other proportions" in capsys.readouterr().err
    assert main(["rectify", "left.png", *WORDS, "-o", "a.png", "--scale", "1:48", "--job", "other.toml"]) == 2
    assert "--job needs --drawing" in capsys.readouterr().err


def test_16_bit_and_see_through_pictures_are_read(tmp_path: Path) -> None:
    wall = np.full((80, 120), 30000, dtype=np.uint16)
    Image.fromarray(wall).save(tmp_path / "grey.png")
    Image.new("RGBA", (120, 80), (0, 0, 0, 0)).save(tmp_path / "clear.png")
    corners = "10,10 110,10 110,70 10,70"
    for name, shade in (("grey.png", 30000 / 65535 * 255), ("clear.png", 255)):
        found = pixels_of(rectify([shot(tmp_path / name, corners)], SIZE, 100.0, 20).png)
        assert found[..., 0].mean() == pytest.approx(shade, abs=1)


BAD = [
    (["gone.png", *WORDS], "no such picture"),
    (["note.png", *WORDS], "can't be read as a picture"),
    ([".", *WORDS], "can't be read"),
    (["left.png", "--corners", "112,160 770,500 760,225 100,570", "--size", "36ft x 18ft"], "cross"),
    (["left.png", "--corners", "112,160 100,570 770,500 760,225", "--size", "36ft x 18ft"], "anticlockwise"),
    (["left.png", "--corners", "100,570 112,160 760,225 770,500", "--size", "36ft x 18ft"], "stands on its side"),
    (["left.png", "--corners", "100,100 400,100 700,100 100,570", "--size", "36ft x 18ft"], "on a line"),
    (["left.png", "--corners", "100,100 700,100 300,200 100,570", "--size", "36ft x 18ft"], "bend inward"),
    (["left.png", "--corners", "1,1 1,1 1,1 1,1", "--size", "36ft x 18ft"], "one place"),
    (["left.png", "--corners", "112,160 760,225 770,500", "--size", "36ft x 18ft"], "not four points"),
    (["left.png", "--corners", "a,b 760,225 770,500 1,1", "--size", "36ft x 18ft"], "not four points"),
    (["left.png", "--corners", "112,160 7600,225 7700,5000 100,570", "--size", "36ft x 18ft"], "far outside"),
    (["left.png", "--corners", LEFT, "--size", "0ft x 18ft"], "--size"),
    (["left.png", "--corners", LEFT, "--size", "36 x 18"], "--size"),
    (["left.png", *WORDS, "--hidden", "1,2,3"], "not a box"),
    (["left.png", *WORDS, "--hidden", "1,2,1,9"], "not a box"),
    (["left.png", *WORDS, "--check", "412,300"], "not a known spot"),
    (["left.png", *WORDS, "--check", "412,300=9,7"], "--check"),
    (["left.png", *WORDS, "--second", "left.png"], "--second-corners"),
    (["left.png", *WORDS, "--second-hidden", "1,2,3,4"], "--second"),
    (["left.png", *WORDS, "--second", "left.png", "--second-corners", "1,1 2,2 3,3 4,4"], "--second-corners"),
    (["left.png", *WORDS, "--at", "3mm"], "--at"),
    (["left.png", *WORDS, "--scale", "1:100000"], "on the panel"),
    (["left.png", *WORDS, "--scale", "2:1", "--dpi", "600"], "pixels"),
]


@pytest.mark.parametrize(("words", "says"), BAD)
def test_bad_input_gets_one_sentence(
    folder: Path, capsys: pytest.CaptureFixture[str], words: list[str], says: str
) -> None:
    (folder / "note.png").write_text("no picture")
    scale = [] if "--scale" in words else ["--scale", "1:48"]
    before = sorted(folder.iterdir())
    assert main(["rectify", *words, "-o", "out.png", *scale]) == 2
    told = capsys.readouterr().err
    assert says in told
    assert told.count("\n") == 1
    assert sorted(folder.iterdir()) == before


@pytest.mark.parametrize(
    ("words", "says"),
    [
        ([], "say where the picture goes"),
        (["-o", "out.jpg", "--scale", "1:48"], "End its name in .png"),
        (["-o", "left.png", "--scale", "1:48"], "is a photo or the drawing"),
        (["-o", "out.png"], "--scale"),
        (["--drawing", "gone.svg"], "no such drawing"),
        (["--drawing", "bare.svg"], "no guide layer"),
        (["--drawing", "plain.svg"], "doesn't say its scale"),
        (["--drawing", "flat.svg", "--scale", "1:48"], "squeezed flat"),
    ],
)
def test_bad_places_for_the_picture(
    folder: Path, capsys: pytest.CaptureFixture[str], words: list[str], says: str
) -> None:
    svg = '<svg xmlns="http://www.w3.org/2000/svg" width="300mm" height="200mm">{}<g id="sky"/></svg>'
    (folder / "bare.svg").write_text(svg.format("<g id='house'/>"))
    (folder / "plain.svg").write_text(svg.format("<g id='guide'/>"))
    (folder / "flat.svg").write_text(svg.format("<g id='guide' transform='scale(0)'/>"))
    before = {path: path.read_bytes() for path in folder.iterdir()}
    assert main(["rectify", "left.png", *WORDS, *words]) == 2
    told = capsys.readouterr().err
    assert says in told
    assert told.count("\n") == 1
    assert {path: path.read_bytes() for path in folder.iterdir()} == before


def test_a_damaged_picture_is_told(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    whole = (folder / "left.png").read_bytes()
    (folder / "half.png").write_bytes(whole[: len(whole) // 2])
    assert main(["rectify", "half.png", *WORDS, "-o", "out.png", "--scale", "1:48"]) == 2
    assert "half.png: can't be read as a picture" in capsys.readouterr().err
