"""Whether the suite passes at the lowest versions that pyproject.toml allows, and at the newest.

    python tests/bench/dependency_bounds.py --quick
    python tests/bench/dependency_bounds.py --only newest --python ~/py313/bin/python --python python3.12

For each Python (by default the one that runs this) and each end of the bounds it makes an environment in a folder of
its own, installs the checkout and what its tests need with pip, and runs the suite there, or with `--quick` the part
that PARTS names, which touch every dependency. `--pin NAME==VERSION` tries another version of one package, to find
where its true bound lies. Prints the versions that were taken and how the tests ended. Ends with 1 unless all passed.

Run without xdist, one test after the other. Browser tests are left out: their browser isn't pip's to install.
"""

import argparse
import os
import subprocess
import sys
import tempfile
import time
import tomllib
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

ROOT = Path(__file__).parents[2]
ENDS = ("lowest", "newest")
PARTS = ("drawing", "colour", "geometry", "stack", "views", "watching", "planning", "setup", "test_*.py")
"""What `--quick` runs, within tests/: the reader, colours, ties, pictures, pages, the local server, every command."""


def bounded() -> list[Requirement]:
    """What layercut and its tests need, as pyproject.toml has it."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    return [Requirement(text) for text in (*project["dependencies"], *project["optional-dependencies"]["test"])]


def lowest(requirement: Requirement) -> str:
    """A requirement held to the lowest version that it allows."""
    (version,) = (part.version for part in requirement.specifier if part.operator in {">=", "=="})
    return f"{requirement.name}=={version}"


def constraints(end: str, pins: list[str]) -> list[str]:
    """The lines of pip's constraints file: the lowest versions, or none; `pins` come before both."""
    held = [lowest(requirement) for requirement in bounded()] if end == "lowest" else []
    pinned = {canonicalize_name(Requirement(pin).name) for pin in pins}
    return pins + [line for line in held if canonicalize_name(Requirement(line).name) not in pinned]


@contextmanager
def environment(python: str, lines: list[str]) -> Iterator[Path]:
    """An interpreter with the checkout installed under these constraints, which is gone afterwards."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        held = folder / "constraints.txt"
        held.write_text("".join(f"{line}\n" for line in lines))
        subprocess.run([python, "-m", "venv", folder / "venv"], check=True)
        own = folder / "venv" / "bin" / "python"
        pip = [str(own), "-m", "pip", "--quiet", "--disable-pip-version-check"]
        subprocess.run([*pip, "install", "--constraint", held, f"{ROOT}[test]"], check=True)
        yield own


def run_suite(python: Path, *, quick: bool, more: list[str]) -> bool:
    """Run the tests there; whether all passed."""
    tests = ROOT / "tests"
    parts = [str(path) for part in PARTS for path in sorted(tests.glob(part))] if quick else [str(tests)]
    words = ["-q", "-p", "no:xdist", "-p", "no:cacheprovider", "--ignore", str(tests / "browser"), *more, *parts]
    # The checkout's own files, not the installed copy: tests look for docs and samples beside the package.
    settings = {**os.environ, "PYTHONPATH": str(ROOT), "PYTHONDONTWRITEBYTECODE": "1"}
    return subprocess.run([python, "-m", "pytest", *words], cwd=ROOT, env=settings, check=False).returncode == 0


def versions(python: Path) -> str:
    """The versions of what pyproject.toml names, in one line."""
    code = "import importlib.metadata as m, sys; print(*(f'{n} {m.version(n)}' for n in sys.argv[1:]), sep=', ')"
    names = [requirement.name for requirement in bounded()]
    return subprocess.run([python, "-c", code, *names], capture_output=True, text=True, check=True).stdout.strip()


def try_end(python: str, end: str, options: argparse.Namespace) -> bool:
    """One environment from beginning to end; whether its tests passed."""
    begun = time.monotonic()
    title = f"{end}, {subprocess.run([python, '-V'], capture_output=True, text=True, check=True).stdout.strip()}"
    print(f"== {title}", flush=True)
    try:
        with environment(python, constraints(end, options.pin)) as own:
            print(versions(own), flush=True)
            passed = run_suite(own, quick=options.quick, more=options.more)
    except subprocess.CalledProcessError:
        print("it can't be installed")
        passed = False
    print(f"== {title}: {'passed' if passed else 'FAILED'} in {time.monotonic() - begun:.0f} s", flush=True)
    return passed


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--quick", action="store_true", help="only the parts that touch every dependency: 4 minutes")
    parser.add_argument("--only", choices=ENDS, help="only one end of the bounds")
    parser.add_argument("--python", action="append", help="an interpreter to run it with; can be repeated")
    parser.add_argument("--pin", action="append", default=[], metavar="NAME==VERSION", help="can be repeated")
    parser.add_argument("more", nargs="*", help="what pytest gets besides, after --")
    options = parser.parse_args()
    ends = [options.only] if options.only else ENDS
    passed = [try_end(python, end, options) for python in options.python or [sys.executable] for end in ends]
    return 0 if all(passed) else 1


if __name__ == "__main__":
    sys.exit(main())
