"""What can befall the folder while it is written: a kill, a full disk, a disk that can't be written, another run.

After each, the folder is the old one or the new one, whole.
"""

import json
import os
import signal
import subprocess
import sys
import textwrap
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from own_folder import with_manifest

from layercut.cli import main
from layercut.errors import OutputError
from layercut.output.folder import write_folder

OLD = with_manifest({"stack.svg": b"old", "sheets/01-old.svg": b"old"})
NEW = with_manifest({"stack.svg": b"new", "sheets/01-sky.svg": b"new", "paint/01-sky.svg": b"new"})
DRAWING = (
    '<svg xmlns="http://www.w3.org/2000/svg" width="90mm" height="90mm" viewBox="0 0 90 90">'
    '<g id="back"><rect width="90" height="90"/></g><g id="front"><rect y="50" width="90" height="40"/></g></svg>'
)


def tree(folder: Path) -> dict[str, bytes]:
    return {path.relative_to(folder).as_posix(): path.read_bytes() for path in folder.rglob("*") if path.is_file()}


KILLED_AT_A_STEP = """
    import json, os, signal, sys
    from pathlib import Path
    from layercut.output import folder as module

    new = {name: text.encode() for name, text in json.loads(sys.stdin.readline()).items()}

    def write(step, target, in_two_steps, keep_old):
        done = 0

        def event(name, arguments):
            # Every change to the disk asks the auditors first; at the chosen one the process is killed, with no
            # goodbye.
            nonlocal done
            changes = ("open", "os.mkdir", "os.rename", "os.rmdir", "os.remove", "shutil.rmtree")
            if name in changes and str(target.parent) in str(arguments[0]):
                done += 1
                if done == step:
                    os.kill(os.getpid(), signal.SIGKILL)

        whole = module.exchange

        def exchange(first, second):
            if in_two_steps:
                return False
            event("os.rename", (str(first),))
            result = whole(first, second)
            event("os.rename", (str(first),))
            return result

        module.exchange = exchange
        sys.addaudithook(event)
        module.write_folder(target, new, keep_old=keep_old)

    # The library is loaded once: each write is in a process of its own that is split off from this one.
    for line in sys.stdin:
        step, target, how, old = json.loads(line)
        child = os.fork()
        if not child:
            write(step, Path(target), how == "two", old == "keep")
            sys.exit(0)
        print(os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]), flush=True)
"""

Kill = Callable[..., bool]


@pytest.fixture(scope="module")
def kill_at() -> Iterator[Kill]:
    """Writes the new folder in another process that is killed at a step; True when it was killed."""
    with subprocess.Popen(
        [sys.executable, "-c", textwrap.dedent(KILLED_AT_A_STEP)],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    ) as running:
        assert running.stdin is not None
        assert running.stdout is not None
        orders, ends = running.stdin, running.stdout
        print(json.dumps({name: data.decode() for name, data in NEW.items()}), file=orders, flush=True)

        def kill(step: int, target: Path, how: str, old: str = "replace") -> bool:
            print(json.dumps([step, str(target), how, old]), file=orders, flush=True)
            code = int(ends.readline())
            assert code in (0, -signal.SIGKILL)
            return code != 0

        yield kill


@pytest.mark.skipif(sys.platform != "linux", reason="changing places in one step")
def test_killed_at_any_step_there_is_the_old_folder_or_the_new(kill_at: Kill, tmp_path: Path) -> None:
    seen = set()
    step = 1
    while True:
        target = tmp_path / f"{step}" / "out"
        write_folder(target, OLD)
        killed = kill_at(step, target, "one")
        found = tree(target)
        assert found in (OLD, NEW), step
        seen.add(found == NEW)
        # What the killed run left beside it is hidden, and the next run doesn't mind it.
        assert all(path.name.startswith(".out.") for path in target.parent.iterdir() if path != target)
        write_folder(target, NEW)
        assert tree(target) == NEW
        if not killed:
            break
        step += 1
    assert seen == {True, False}
    assert step > 8


def whole_folders(place: Path) -> list[dict[str, bytes]]:
    """Every folder in a place, and what the hidden ones hold."""
    seen = [path for path in place.iterdir() if not path.name.startswith(".")]
    return [tree(path) for path in (*seen, *place.glob(".out.*/*"))]


@pytest.mark.parametrize("how", ["one", "two"])
@pytest.mark.skipif(sys.platform != "linux", reason="changing places in one step")
def test_killed_at_any_step_the_old_folder_is_kept(kill_at: Kill, tmp_path: Path, how: str) -> None:
    """What isn't layercut's is set aside: wherever the run is killed, it is there whole, and no half of a new folder
    beside it."""
    mine = {**OLD, "notes.txt": b"mine"}
    for step in range(1, 60):
        target = tmp_path / f"{step}" / "out"
        write_folder(target, OLD)
        (target / "notes.txt").write_bytes(b"mine")
        killed = kill_at(step, target, how, "keep")
        found = whole_folders(target.parent)
        assert found.count(mine) == 1, step
        if target.exists():
            assert tree(target) in (mine, NEW)
            seen = [path for path in target.parent.iterdir() if not path.name.startswith(".")]
            assert all(tree(path) in ({}, mine, NEW) for path in seen), step
        else:
            assert how == "two"
        if not killed:
            assert tree(target) == NEW
            assert tree(target.with_name("out-old-1")) == mine
            break
    else:
        pytest.fail("never ended")


def test_killed_where_folders_change_places_in_two_steps(kill_at: Kill, tmp_path: Path) -> None:
    """Between the two the folder is away for a moment, but nothing is lost or mixed: old and new are both whole."""
    away = 0
    for step in range(1, 80):
        target = tmp_path / f"{step}" / "out"
        write_folder(target, OLD)
        killed = kill_at(step, target, "two")
        if target.exists():
            assert tree(target) in (OLD, NEW), step
        else:
            (holder,) = target.parent.glob(".out.*")
            assert tree(holder / "old") == OLD
            assert tree(holder / "new") == NEW
            away += 1
        write_folder(target, NEW)
        assert tree(target) == NEW
        if not killed:
            break
    assert away == 1


@pytest.mark.parametrize("how", ["one", "two"])
def test_many_runs_into_one_folder_at_once(tmp_path: Path, how: str) -> None:
    code = """
        import sys
        from pathlib import Path
        from layercut.output import folder as module
        from own_folder import with_manifest
        target, mine, how = Path(sys.argv[1]), sys.argv[2].encode(), sys.argv[3]
        if how == "two":
            module.exchange = lambda first, second: False
        for turn in range(40):
            text = mine + str(turn).encode()
            files = {f"sheets/{number:02}-{sys.argv[2]}.svg": text for number in range(4)}
            module.write_folder(target, with_manifest({"stack.svg": text, **files}))
    """
    target = tmp_path / "out"
    runs = [
        subprocess.Popen(
            [sys.executable, "-c", textwrap.dedent(code), str(target), name, how],
            stderr=subprocess.PIPE,
            text=True,
            env={**os.environ, "PYTHONPATH": os.pathsep.join(sys.path)},
        )
        for name in ("left", "right")
    ]
    ends = [(run.communicate(timeout=60)[1], run.returncode) for run in runs]
    assert ends == [("", 0), ("", 0)]
    found = tree(target)
    last = found["stack.svg"]
    assert last in (b"left39", b"right39")
    sheets = {f"sheets/{number:02}-{last[:-2].decode()}.svg": last for number in range(4)}
    assert found == with_manifest({"stack.svg": last, **sheets})
    assert [path.name for path in tmp_path.iterdir()] == ["out"]


def test_two_compiles_into_one_folder_at_once(tmp_path: Path) -> None:
    (tmp_path / "house.svg").write_text(DRAWING)
    command = [sys.executable, "-m", "layercut", "compile", "house.svg", "--out", "out"]
    kerfs = ("0.1mm", "0.2mm")
    runs = [
        subprocess.Popen([*command, "--set", f"material.kerf={kerf}"], cwd=tmp_path, stderr=subprocess.PIPE)
        for kerf in kerfs
    ]
    assert [(run.wait(60), run.communicate()[1].count(b"Traceback")) for run in runs] == [(0, 0), (0, 0)]
    whole = []
    for kerf in kerfs:
        subprocess.run(
            [*command[:-1], kerf, "--set", f"material.kerf={kerf}"], cwd=tmp_path, check=True, capture_output=True
        )
        whole.append(tree(tmp_path / kerf))
    assert whole[0] != whole[1]
    assert tree(tmp_path / "out") in whole


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path]:
    """A file system of 256 kB."""
    place = tmp_path / "disk"
    place.mkdir()
    if sys.platform != "linux" or os.geteuid() != 0:
        pytest.skip("only the superuser can mount a disk")
    mounted = subprocess.run(
        ["mount", "-t", "tmpfs", "-o", "size=256k", "none", str(place)], capture_output=True, check=False
    )
    if mounted.returncode:
        pytest.skip("nothing can be mounted here")
    try:
        yield place
    finally:
        subprocess.run(["umount", str(place)], check=True)


def test_a_disk_that_is_really_full(small_disk: Path) -> None:
    target = small_disk / "out"
    write_folder(target, OLD)
    large = {**NEW, "stack.png": b"x" * 300_000}
    with pytest.raises(OutputError, match="No space left on device"):
        write_folder(target, large)
    assert tree(target) == OLD
    assert [path.name for path in small_disk.iterdir()] == ["out"]


def test_a_compile_onto_a_full_disk(small_disk: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    drawing = tmp_path / "house.svg"
    drawing.write_text(DRAWING)
    target = small_disk / "out"
    write_folder(target, OLD)
    (small_disk / "filler").write_bytes(b"x" * 200_000)
    assert main(["compile", str(drawing), "--out", str(target)]) == 2
    said = capsys.readouterr().err
    assert "No space left on device" in said
    assert "Traceback" not in said
    assert tree(target) == OLD


def test_a_disk_that_can_only_be_read(small_disk: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    drawing = tmp_path / "house.svg"
    drawing.write_text(DRAWING)
    target = small_disk / "out"
    write_folder(target, OLD)
    subprocess.run(["mount", "-o", "remount,ro", str(small_disk)], check=True)
    for place in (target, small_disk / "other"):
        assert main(["compile", str(drawing), "--out", str(place)]) == 2
        said = capsys.readouterr().err
        assert "Read-only file system" in said
        assert "Traceback" not in said
    assert tree(target) == OLD


def test_a_compile_through_links(tmp_path: Path) -> None:
    """The drawing is a link, and so is the folder: both stay links, and nothing is written beside what they mean."""
    for name in ("drawings", "jobs", "sheets"):
        (tmp_path / name).mkdir()
    (tmp_path / "drawings" / "real.svg").write_text(DRAWING)
    (tmp_path / "jobs" / "house.svg").symlink_to("../drawings/real.svg")
    (tmp_path / "jobs" / "house-sheets").symlink_to("../sheets")
    for _ in range(2):
        assert main(["compile", str(tmp_path / "jobs" / "house.svg")]) == 0
    assert (tmp_path / "jobs" / "house.svg").is_symlink()
    assert (tmp_path / "jobs" / "house-sheets").is_symlink()
    assert "manifest.json" in tree(tmp_path / "sheets")
    assert [path.name for path in (tmp_path / "drawings").iterdir()] == ["real.svg"]
    assert sorted(path.name for path in tmp_path.iterdir()) == ["drawings", "jobs", "sheets"]


def test_a_link_to_nothing_becomes_the_folder_it_means(tmp_path: Path) -> None:
    (tmp_path / "out").symlink_to("later")
    write_folder(tmp_path / "out", NEW)
    assert (tmp_path / "out").is_symlink()
    assert tree(tmp_path / "later") == NEW
