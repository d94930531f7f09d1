"""Each module that decides something has a test at its own path, or DEVELOPERS.md says why not."""

import re
from pathlib import Path

ROOT = Path(__file__).parents[1]
PAGE = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
SECTION = PAGE.partition("## Where a module's test is")[2].partition("\n## ")[0]
ROWS = re.findall(r"^\| (`.*?) \| (.*) \|$", SECTION, re.MULTILINE)
EXCUSED = [name for modules, _ in ROWS for name in re.findall(r"`([^`]+)`", modules)]


def modules() -> list[str]:
    found = (path.relative_to(ROOT / "layercut") for path in (ROOT / "layercut").rglob("*.py"))
    return sorted(path.with_suffix("").as_posix() for path in found if not path.name.startswith("__"))


def has_test(module: str) -> bool:
    folder, _, name = module.rpartition("/")
    return (ROOT / "tests" / folder / f"test_{name}.py").is_file()


def covers(excuse: str, module: str) -> bool:
    return module.startswith(excuse) if excuse.endswith("/") else module == excuse


def test_every_module_has_a_test_at_its_path_or_is_excused() -> None:
    lacking = [module for module in modules() if not has_test(module)]
    assert [one for one in lacking if not any(covers(excuse, one) for excuse in EXCUSED)] == []


def test_nothing_is_excused_that_has_a_test_or_is_not_there() -> None:
    assert len(EXCUSED) == len(set(EXCUSED)) > 20
    for excuse in EXCUSED:
        covered = [module for module in modules() if covers(excuse, module)]
        assert covered, excuse
        assert not all(has_test(module) for module in covered), excuse


def test_what_is_named_instead_is_there() -> None:
    for _, reason in ROWS:
        for name in re.findall(r"`([^`]+)`", reason):
            assert [*(ROOT / "tests").glob(name)], name
