"""Verify: honest folders hold, and folders that were tampered with don't, each told by its own code.

The sheets here are changed as text, the way a slip in an editor or a mixed-up copy would.
"""

import hashlib
import json
import re
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
import shapely

from layercut.cli import main
from layercut.errors import DrawingError
from layercut.job import Job, load_job
from layercut.model import Build
from layercut.output.contents import board_files, map_files, sheet_files
from layercut.output.folder import write_folder
from layercut.output.manifest import manifest_text
from layercut.pipeline import compile_drawing
from layercut.proof.failures import FAILURES
from layercut.proof.paths import read_path
from layercut.proof.plan import colours_of
from layercut.proof.reader import read_sheet
from layercut.proof.verify import Verdict, verify_folder
from samples import SAMPLES, sample_build

ROOT = Path(__file__).parents[1]
SMALL = sorted((ROOT / "tests" / "cases").glob("*/drawing.svg")) + sorted(
    (ROOT / "tests" / "bad_drawings").glob("*.svg")
)

COLOURS = colours_of(Job())
PAGES = dict.fromkeys(("stack.png", "stack.svg", "traveller.html"), b"as written")

# A sky, a hill with a window, a marked path, a cloud that hangs free, and a kite that touches the hill by a thread.
DRAWING = """<svg xmlns="http://www.w3.org/2000/svg" width="120mm" height="100mm" viewBox="0 0 120 100">
<g id="sky"><rect width="120" height="100" fill="#a9cfe0"/></g>
<g id="hill">
  <path fill="#4c6c3b" fill-rule="evenodd" d="M0 60L40 50L80 58L120 52L120 100L0 100Z M50 70L62 70L62 82L50 82Z"/>
  <path fill="#5d402d" d="M70 75L80 75L80 90L70 90Z"/>
  <path d="M15 85L45 88" fill="none" stroke="#000000" stroke-width="0.3"/>
</g>
<g id="things">
  <path id="cloud" fill="#ffffff" d="M20 20L44 18L46 30L22 32Z"/>
  <path id="kite" fill="#c8502f" d="M85 15L97 27L85 45L73 27Z"/>
  <rect fill="#998866" width="120" height="12" y="88"/>
</g>
</svg>"""


def compiled(source: Path, folder: Path, *settings: str) -> bool:
    """Write a drawing's folder without its pictures; False where it can't be made."""
    beside = [path for path in (source.with_suffix(".toml"), source.parent / "job.toml") if path.exists()]
    build = compile_drawing(source, load_job(beside[0] if beside else None, settings))
    write_without_pictures(build, folder)
    return build.makeable


def write_without_pictures(build: Build, folder: Path) -> None:
    texts = {**sheet_files(build), **board_files(build), **map_files(build)}
    files = {**PAGES, **{name: text.encode() for name, text in texts.items()}}
    write_folder(folder, {**files, "manifest.json": manifest_text(build, files).encode()})


@pytest.fixture(scope="module")
def honest(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """One drawing compiled with ties, and with loose pieces."""
    base = tmp_path_factory.mktemp("verify")
    drawing = base / "scene.svg"
    drawing.write_text(DRAWING)
    folders = {policy: base / policy for policy in ("tie", "loose")}
    for policy, folder in folders.items():
        assert compiled(drawing, folder, f"islands.policy={policy}")
    return folders


def rehashed(document: dict[str, Any], folder: Path) -> None:
    for one in document["files"]:
        path = folder / one["file"]
        if path.exists():
            one["sha256"] = hashlib.sha256(path.read_bytes()).hexdigest()


class Folder:
    """A copy of an honest folder to tamper with."""

    def __init__(self, path: Path) -> None:
        self.path = path

    @property
    def manifest(self) -> dict[str, Any]:
        return json.loads((self.path / "manifest.json").read_text())

    def file(self, number: int) -> Path:
        return self.path / self.manifest["sheets"][number]["file"]

    def change(self, number: int, how: Callable[[str], str]) -> None:
        text = self.file(number).read_text()
        changed = how(text)
        assert changed != text, "the change must change something"
        self.write(self.manifest["sheets"][number]["file"], changed)

    def write(self, name: str, text: str) -> None:
        """Change a file as a slip of the writer would: the manifest has the hash of what was written."""
        (self.path / name).write_text(text)
        self.change_manifest(lambda document: rehashed(document, self.path))

    def change_manifest(self, how: Callable[[dict[str, Any]], None]) -> None:
        document = self.manifest
        how(document)
        (self.path / "manifest.json").write_text(json.dumps(document))

    def codes(self) -> set[str]:
        return {problem.code for problem in self.verdict().failures}

    def verdict(self) -> Verdict:
        return verify_folder(self.path)


@pytest.fixture
def folder(honest: dict[str, Path], tmp_path: Path) -> Callable[[str], Folder]:
    def copy(policy: str) -> Folder:
        shutil.copytree(honest[policy], tmp_path / policy)
        return Folder(tmp_path / policy)

    return copy


# --- changes


def paths_of(text: str, role: str) -> list[str]:
    group = text.partition(f'data-role="{role}"')[2].partition("</g>")[0]
    return re.findall(r"\n<path [^>]*/>", group)


def without_path(role: str, which: int) -> Callable[[str], str]:
    return lambda text: text.replace(paths_of(text, role)[which], "", 1)


def with_path(role: str, data: str) -> Callable[[str], str]:
    return lambda text: re.sub(rf'(data-role="{role}"[^>]*>)', rf'\1\n<path d="{data}"/>', text, count=1)


def moved(path: str, dx: float, dy: float = 0.0) -> str:
    def shift(match: re.Match[str]) -> str:
        return f"{match[1]}{float(match[2]) + dx:.3f} {float(match[3]) + dy:.3f}"

    return re.sub(r"([ML ]|C)([-\d.]+) ([-\d.]+)", shift, path)


def offset(path: str, by: float) -> str:
    """A contour grown by a distance."""
    (contour,) = read_path(path.partition(' d="')[2].partition('"')[0])
    ring = shapely.Polygon(contour.points).buffer(by, join_style="mitre").exterior
    return '\n<path d="M' + "L".join(f"{x:.3f} {y:.3f}" for x, y in list(ring.coords)[:-1]) + 'Z"/>'


def each(role: str, how: Callable[[str], str]) -> Callable[[str], str]:
    def change(text: str) -> str:
        for path in paths_of(text, role):
            text = text.replace(path, how(path), 1)
        return text

    return change


def largest(text: str, role: str = "cut-opening") -> str:
    return max(paths_of(text, role), key=len)


# --- honest folders


@pytest.mark.parametrize("policy", ["tie", "loose"])
def test_an_honest_folder_holds(folder: Callable[[str], Folder], policy: str) -> None:
    verdict = folder(policy).verdict()
    assert verdict.failures == ()
    assert verdict.holds
    assert [sheet.pieces_on_frame for sheet in verdict.sheets] == [1, 1, 1]
    loose = [piece.id for sheet in verdict.sheets for piece in sheet.loose]
    # the sky shows through the hill's sheet behind cloud and kite, so that each rests on a riser
    assert loose == (["hill#riser-1", "hill#riser-2", "cloud", "kite"] if policy == "loose" else [])


@pytest.mark.parametrize("policy", ["refuse", "tie", "loose"])
@pytest.mark.parametrize("source", SMALL, ids=lambda path: f"{path.parent.name}-{path.stem}")
def test_small_drawings_hold_under_every_policy(source: Path, policy: str, tmp_path: Path) -> None:
    made = compiled(source, tmp_path / "out", f"islands.policy={policy}")
    problems = verify_folder(tmp_path / "out").failures
    assert [problem.code for problem in problems] == ([] if made else ["no-sheets"])


@pytest.mark.parametrize(
    ("sample", "policy"), [("harbour", "refuse"), ("harbour", "tie"), ("harbour", "loose"), ("mill", "loose")]
)
def test_the_samples_hold_under_every_policy(sample: str, policy: str, tmp_path: Path) -> None:
    (path,) = (path for path in SAMPLES if path.stem == sample)
    write_without_pictures(sample_build(path, f"islands.policy={policy}"), tmp_path / "out")
    verdict = verify_folder(tmp_path / "out")
    assert verdict.failures == ()


# --- tampered folders


def test_a_tie_that_was_removed(folder: Callable[[str], Folder]) -> None:
    """The sheet of the loose policy has the very openings that the ties' has, but no tie."""
    tied, free = folder("tie"), folder("loose")
    assert tied.manifest["sheets"][2]["ties"]
    shutil.copy(free.file(2), tied.file(2))
    assert {"tie-missing", "piece-loose", "picture-differs"} <= tied.codes()


def test_a_tie_that_was_made_narrower(folder: Callable[[str], Folder]) -> None:
    tied = folder("tie")
    x, y = tied.manifest["sheets"][2]["ties"][0]["at_mm"]
    near, far = f"{x - 0.2:.3f}", f"{x + 0.2:.3f}"
    hole = f"M{near} {y}L{far} {y}L{far} {y + 0.4:.3f}L{near} {y + 0.4:.3f}Z"
    tied.change(2, with_path("cut-opening", hole))
    assert "tie-missing" in tied.codes()


@pytest.mark.parametrize("by", [(0.3, 0.0), (0.0, 0.3), (-0.1, 0.0)])
def test_a_path_that_was_shifted(folder: Callable[[str], Folder], by: tuple[float, float]) -> None:
    made = folder("loose")
    made.change(1, lambda text: text.replace(largest(text), moved(largest(text), *by)))
    # the sky's opening runs along the frame, so that the frame may lack something too
    assert "picture-differs" in made.codes() <= {"picture-differs", "frame-differs"}


def test_paths_in_another_order(folder: Callable[[str], Folder]) -> None:
    made = folder("loose")

    def turned(text: str) -> str:
        paths = paths_of(text, "cut-opening")
        return text.replace("".join(paths), "".join(reversed(paths)))

    made.change(2, turned)
    assert made.codes() == {"order-inside"}


def test_groups_in_another_order(folder: Callable[[str], Folder]) -> None:
    made = folder("loose")

    def turned(text: str) -> str:
        marks, cuts = (
            re.findall(rf'<g data-role="{role}".*?</g>', text, re.DOTALL)[0] for role in ("mark-line", "cut-opening")
        )
        return text.replace(marks, "@").replace(cuts, marks).replace("@", cuts)

    made.change(1, turned)
    assert made.codes() == {"order-roles"}


def test_a_hole_too_many(folder: Callable[[str], Folder]) -> None:
    made = folder("loose")
    made.change(1, with_path("cut-opening", "M20 70L24 70L24 74Z"))
    assert made.codes() == {"picture-differs", "length-differs"}


def test_a_hole_too_many_where_nobody_sees_it(folder: Callable[[str], Folder]) -> None:
    """The hill's sheet is hidden behind the things' ground along the lower edge."""
    made = folder("loose")
    made.change(1, with_path("cut-opening", "M50 90L58 90L58 93Z"))
    assert made.codes() == {"length-differs"}


def test_a_sheet_that_is_missing(folder: Callable[[str], Folder]) -> None:
    made = folder("loose")
    made.file(1).unlink()
    verdict = made.verdict()
    assert [(problem.code, problem.file) for problem in verdict.failures] == [("sheet-missing", "sheets/02-hill.svg")]
    assert len(verdict.sheets) == 2


def test_a_file_too_many(folder: Callable[[str], Folder]) -> None:
    made = folder("loose")
    shutil.copy(made.file(1), made.path / "sheets" / "09-copy.svg")
    shutil.copy(made.file(1), made.path / "paint" / "09-copy.svg")
    found = [(problem.code, problem.file) for problem in made.verdict().failures]
    assert found == [("sheet-unknown", "sheets/09-copy.svg"), ("sheet-unknown", "paint/09-copy.svg")]


@pytest.mark.parametrize(
    "change",
    [
        lambda text: text.replace("<path d", '<path transform="scale(1.01)" d', 1),
        lambda text: text.replace('<g data-role="cut-outline"', '<g transform="scale(1.01)" data-role="cut-outline"'),
        lambda text: text.replace("</svg>", '<rect width="5" height="5"/></svg>'),
        lambda text: text[:-40],
        lambda _text: "",
    ],
    ids=["scaled path", "scaled group", "rectangle", "cut off", "empty"],
)
def test_a_sheet_that_is_no_sheet(folder: Callable[[str], Folder], change: Callable[[str], str]) -> None:
    made = folder("loose")
    made.change(1, change)
    assert made.codes() == {"sheet-damaged"}


def test_a_mark_that_was_moved_into_the_air_or_onto_a_cut(folder: Callable[[str], Folder]) -> None:
    for where, code in (("M54 72L54 80", "mark-in-air"), ("M50.1 72L49.98 80", "mark-on-cut")):
        made = Folder(folder("loose").path)
        made.change(1, with_path("mark-line", where))
        assert made.codes() == {code, "mark-added", "length-differs"}
        shutil.rmtree(made.path)


def test_a_kerf_made_up_for_on_the_wrong_side(folder: Callable[[str], Folder]) -> None:
    made = folder("tie")
    made.change(1, each("cut-opening", lambda path: offset(path, 0.15)))
    assert "picture-differs" in made.codes()


def test_a_rim_that_was_cut_short(folder: Callable[[str], Folder]) -> None:
    made = folder("loose")
    made.change(1, each("cut-outline", lambda path: path.replace("120.075", "117")))
    assert {"rim-differs", "frame-differs"} <= made.codes()


def test_a_rim_that_is_missing(folder: Callable[[str], Folder]) -> None:
    made = folder("loose")
    made.change(1, without_path("cut-outline", 0))
    assert {"rim-differs", "frame-differs"} <= made.codes()


def test_a_loose_piece_that_was_joined(folder: Callable[[str], Folder]) -> None:
    """The cloud's outline and the opening around it become one contour: a bar of 2 mm joins it to the frame."""
    made = folder("loose")

    def joined(text: str) -> str:
        wood = shapely.Polygon()
        for ring in read_sheet(text, "x", COLOURS).contours("cut-opening"):
            wood = shapely.symmetric_difference(wood, shapely.Polygon(ring))
        opened = shapely.difference(wood, shapely.box(0, 24, 30, 26))
        head, group, tail = re.split(r'(?s)(<g data-role="cut-opening".*?</g>)', text)
        rings = [ring for part in shapely.get_parts(opened) for ring in (*part.interiors, part.exterior)]
        paths = [
            '\n<path d="M' + "L".join(f"{x:.3f} {y:.3f}" for x, y in ring.coords[:-1]) + 'Z"/>' for ring in rings
        ]
        return head + re.sub(r"(?s)>.*</g>", ">" + "".join(paths) + "\n</g>", group) + tail

    made.change(2, joined)
    assert {"piece-missing", "picture-differs"} <= made.codes()


def test_a_loose_piece_that_is_gone(folder: Callable[[str], Folder]) -> None:
    made = folder("loose")
    made.change(2, without_path("cut-opening", 0))
    assert {"piece-missing", "picture-differs"} <= made.codes()


def test_a_loose_piece_of_another_name_or_size(folder: Callable[[str], Folder]) -> None:
    made = folder("loose")
    made.change_manifest(lambda document: document["sheets"][2]["loose"][0].update(area_mm2=100))
    assert made.codes() == {"piece-differs"}
    made.change_manifest(lambda document: document["sheets"][2]["loose"].clear())
    assert made.codes() == {"piece-loose"}


def test_two_sheets_that_were_exchanged(folder: Callable[[str], Folder]) -> None:
    made = folder("loose")
    second, third = made.file(1).read_text(), made.file(2).read_text()
    made.file(1).write_text(third)
    made.file(2).write_text(second)
    assert {"picture-differs", "length-differs"} <= made.codes()


def test_a_sheet_for_another_panel(folder: Callable[[str], Folder]) -> None:
    made = folder("loose")
    made.change(1, lambda text: text.replace('width="120mm"', 'width="130mm"').replace("0 0 120", "0 0 130"))
    assert made.codes() == {"size-differs"}


# --- paint maps and the manifest


def test_paint_maps_that_are_missing_or_damaged(folder: Callable[[str], Folder]) -> None:
    made = folder("loose")
    path = made.path / "paint" / "02-hill.svg"
    made.write("paint/02-hill.svg", path.read_text().replace("<path", '<path transform="scale(2)"', 1))
    assert made.codes() == {"paint-damaged"}
    path.unlink()
    assert made.codes() == {"paint-missing"}
    for other in (made.path / "paint").iterdir():
        other.unlink()
    assert made.codes() == {"paint-missing"}


def test_paint_maps_that_leave_something_out_or_say_it_twice(folder: Callable[[str], Folder]) -> None:
    made = folder("loose")
    text = (made.path / "paint" / "02-hill.svg").read_text()
    made.write("paint/02-hill.svg", re.sub(r'<path data-paint="#5d402d"[^>]*/>', "", text))
    assert "paint-damaged" in made.codes()
    black = '<path data-paint="#000000" fill="#000000" d="M10 10L20 10L20 20Z"/><path'
    made.write("paint/02-hill.svg", text.replace("<path", black, 1))
    assert {"paint-damaged", "picture-differs"} <= made.codes()


def test_paint_maps_of_another_panel(folder: Callable[[str], Folder]) -> None:
    made = folder("loose")
    path = made.path / "paint" / "02-hill.svg"
    path.write_text(path.read_text().replace('"120mm"', '"130mm"').replace("0 0 120", "0 0 130"))
    assert "paint-damaged" in made.codes()


@pytest.mark.parametrize(
    "text",
    [None, "", "[]", "{", '{"format": 1}', '{"format": 2}', "[" * 100_000],
    ids=["none", "empty", "list", "broken", "bare", "other format", "deep"],
)
def test_what_is_no_folder_of_ours(folder: Callable[[str], Folder], text: str | None) -> None:
    made = folder("loose")
    path = made.path / "manifest.json"
    path.unlink() if text is None else path.write_text(text)
    with pytest.raises(DrawingError) as caught:
        made.verdict()
    assert caught.value.code == "folder-unreadable"


def test_a_format_of_another_version_is_named(folder: Callable[[str], Folder]) -> None:
    made = folder("loose")
    made.change_manifest(lambda document: document.update(format=7))
    with pytest.raises(DrawingError, match="format 7"):
        made.verdict()


def test_a_manifest_does_not_lead_out_of_the_folder(folder: Callable[[str], Folder]) -> None:
    made = folder("loose")
    made.change_manifest(lambda document: document["sheets"][0].update(file="../../secret.svg"))
    with pytest.raises(DrawingError, match=r"sheets\.0\.file"):
        made.verdict()


# --- the command


Run = Callable[..., tuple[int, str, str]]


@pytest.fixture
def run(capsys: pytest.CaptureFixture[str]) -> Run:
    def call(*words: object) -> tuple[int, str, str]:
        code = main([str(word) for word in words])
        return (code, *capsys.readouterr())

    return call


def test_the_command_says_that_it_holds(run: Run, folder: Callable[[str], Folder]) -> None:
    assert run("verify", folder("loose").path) == (
        0,
        "holds: 3 sheet files, 3 pieces on their frames, 4 loose\n",
        "",
    )


def test_the_command_tells_each_problem(run: Run, folder: Callable[[str], Folder]) -> None:
    made = folder("loose")
    made.file(1).unlink()
    code, out, err = run("verify", made.path)
    assert code == 1
    assert out == "doesn't hold: 1 sheet-missing\n"
    assert err == "error sheet-missing: sheets/02-hill.svg is not there.\n"


@pytest.mark.parametrize("units", ["in", "mm", None])
def test_what_is_wrong_is_told_in_the_units_of_the_folder(
    run: Run, folder: Callable[[str], Folder], units: str | None
) -> None:
    """Its manifest says which; one that says nothing was written when all was told in mm."""
    made = folder("loose")
    made.change(1, lambda text: text.replace(largest(text), moved(largest(text), 0.5, 0)))
    made.change_manifest(lambda document: document.pop("page"))
    if units is not None:
        made.change_manifest(lambda document: document.update(page={"units": units}))
    code, out, err = run("verify", made.path, "--json")
    assert code == 1
    assert re.search(r"\bmm2?\b", json.loads(out)["problems"][0]["message"])
    assert bool(re.search(r"\bmm2?\b", err)) == (units != "in")
    assert bool(re.search(r"\d in²?\b", err)) == (units == "in")


def test_the_commands_json(run: Run, folder: Callable[[str], Folder]) -> None:
    made = folder("loose")
    made.change(1, with_path("cut-opening", "M20 70L24 70L24 74Z"))
    code, out, _err = run("verify", made.path, "--json")
    assert code == 1
    document = json.loads(out)
    assert (document["format"], document["folder"], document["holds"]) == (1, "loose", False)
    assert [sheet["file"] for sheet in document["sheets"]] == [sheet["file"] for sheet in made.manifest["sheets"]]
    assert {piece["id"] for piece in document["sheets"][2]["loose"]} == {
        piece["id"] for piece in made.manifest["sheets"][2]["loose"]
    }
    for problem in document["problems"]:
        assert set(problem) == {"code", "message", "file", "at_mm", "size"}
        assert problem["code"] in FAILURES
    (seen,) = [problem for problem in document["problems"] if problem["code"] == "picture-differs"]
    assert 20 < seen["at_mm"][0] < 24
    assert seen["size"] == pytest.approx(8 + (8 + 32**0.5) * 0.075, abs=0.1)


def test_the_command_refuses_what_is_no_folder(run: Run, tmp_path: Path) -> None:
    code, out, err = run("verify", tmp_path / "nowhere")
    assert (code, out) == (2, "")
    assert err.startswith("layercut: ")
    assert err.count("\n") == 1


def test_a_compiled_folder_holds_all_that_verify_needs(run: Run, tmp_path: Path) -> None:
    drawing = tmp_path / "scene.svg"
    drawing.write_text(DRAWING)
    assert run("compile", drawing, "--islands", "tie")[0] == 0
    assert run("verify", tmp_path / "scene-sheets")[0] == 0
    assert sorted(path.name for path in (tmp_path / "scene-sheets" / "paint").iterdir()) == [
        "01-sky.svg",
        "02-hill.svg",
        "03-things.svg",
    ]


@pytest.fixture(scope="module")
def painted_behind(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The drawing with its cloud painted on the sky; the kite stands half before the hill, so it is cut free."""
    base = tmp_path_factory.mktemp("behind")
    (base / "drawing.svg").write_text(DRAWING)
    assert compiled(base / "drawing.svg", base / "out", "islands.policy=behind", "islands.pieces.things#2=loose")
    return base / "out"


def test_a_piece_painted_behind_is_read_as_paint_and_marks(painted_behind: Path) -> None:
    assert verify_folder(painted_behind).holds
    assert 'data-behind="cloud" data-marked="true"' in (painted_behind / "paint" / "01-sky.svg").read_text()


def test_a_piece_painted_behind_whose_outline_was_removed(painted_behind: Path, tmp_path: Path) -> None:
    made = Folder(Path(shutil.copytree(painted_behind, tmp_path / "made")))
    made.change(0, lambda text: text.replace("".join(paths_of(text, "mark-line")), ""))
    assert made.codes() == {"behind-unmarked", "length-differs", "mark-missing"}


def test_a_piece_painted_behind_whose_paint_was_forgotten(painted_behind: Path, tmp_path: Path) -> None:
    shutil.copytree(painted_behind, tmp_path / "made")
    file = tmp_path / "made" / "paint" / "01-sky.svg"
    file.write_text(file.read_text().replace('data-paint="#ffffff"', 'data-paint="bare"'))
    assert {problem.code for problem in verify_folder(tmp_path / "made").failures} == {
        "behind-unpainted",
        "file-changed",
        "manifest-differs",  # it has a white that no map shows any more
    }
