"""The docs and the program say the same: the job file's page, and one explanation for every code."""

import ast
import importlib.util
import json
import re
import tomllib
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from types import ModuleType

import pytest

from layercut import errors
from layercut.findings import CODES
from layercut.job import Job, known_keys
from layercut.proof.failures import FAILURES

ROOT = Path(__file__).parents[1]
MESSAGES = (ROOT / "docs" / "messages.md").read_text(encoding="utf-8")


def load_generator() -> ModuleType:
    spec = importlib.util.spec_from_file_location("docs_generate", ROOT / "docs" / "generate.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


GENERATOR = load_generator()


def error_names() -> set[str]:
    return {
        name
        for name, value in vars(errors).items()
        if isinstance(value, type) and issubclass(value, errors.LayercutError)
    }


def error_calls(source: str) -> Iterator[ast.Call]:
    """Every call in a module's text that makes a LayercutError."""
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Call) and getattr(node.func, "id", getattr(node.func, "attr", "")) in error_names():
            yield node


@cache
def raised_codes() -> dict[str, str]:
    """Each error code of the package, and one place where it is raised."""
    found = {}
    for path in sorted((ROOT / "layercut").rglob("*.py")):
        for call in error_calls(path.read_text(encoding="utf-8")):
            place = f"{path.relative_to(ROOT)}:{call.lineno}"
            code = call.args[0] if call.args else None
            assert isinstance(code, ast.Constant), f"{place} raises an error whose code can't be read off the source"
            assert isinstance(code.value, str), place
            found[code.value] = place
    return found


def explained_codes(text: str) -> list[str]:
    return re.findall(r"^### `([^`\n]+)`$", text, flags=re.MULTILINE)


def test_the_scan_finds_codes() -> None:
    source = 'raise DrawingError("one", "x.")\nraise errors.JobError("two", "x.")\nraise ValueError("three")\n'
    assert [call.args[0].value for call in error_calls(source)] == ["one", "two"]  # type: ignore[attr-defined]
    assert {"job-value", "job-setting", "folder-not-ours"} <= set(raised_codes())


def test_every_code_is_explained_and_none_that_is_not_used() -> None:
    raised = raised_codes()
    explained = explained_codes(MESSAGES)
    assert len(explained) == len(set(explained))
    used = set(raised) | set(CODES) | set(FAILURES)
    missing = {code: raised.get(code, "findings.py or problems.py") for code in used - set(explained)}
    assert not missing, "docs/messages.md doesn't explain these"
    assert not set(explained) - used, "docs/messages.md explains codes that nothing uses"


def test_no_code_means_two_things() -> None:
    """A code is a finding, an error or what verify says."""
    codes = [*set(raised_codes()), *CODES, *FAILURES]
    assert len(codes) == len(set(codes))


def test_what_verify_says_has_a_section_of_its_own() -> None:
    section = MESSAGES.partition("## What verify says\n")[2].partition("\n## ")[0]
    assert explained_codes(section) == list(FAILURES)


@pytest.mark.parametrize("code", explained_codes(MESSAGES))
def test_an_explanation_is_short_and_whole(code: str) -> None:
    text = MESSAGES.partition(f"### `{code}`\n")[2].partition("\n#")[0].strip()
    assert 40 < len(text) < 600
    assert text.endswith(".")


@pytest.mark.parametrize("key", sorted(set(re.findall(r"`([a-z]+\.[a-z_]+)", MESSAGES))))
def test_settings_in_the_messages_page_exist(key: str) -> None:
    assert key in set(known_keys()) | {"manifest.json"}


def test_the_job_files_page_is_up_to_date() -> None:
    written = (ROOT / "docs" / "job-file.md").read_text(encoding="utf-8")
    assert written == GENERATOR.job_file_markdown(), "run: python docs/generate.py"


def test_the_page_of_limits_is_up_to_date() -> None:
    written = (ROOT / "docs" / "limits.md").read_text(encoding="utf-8")
    assert written == GENERATOR.limits_markdown(), "run: python docs/generate.py"
    codes = {code for _, _, _, code, _ in GENERATOR.LIMITS}
    assert codes <= set(explained_codes(MESSAGES))


def test_the_page_about_paint_is_up_to_date() -> None:
    written = (ROOT / "docs" / "paint.md").read_text(encoding="utf-8")
    assert written == GENERATOR.paint_markdown(), "run: python docs/generate.py"


def test_the_job_files_page_tells_every_key() -> None:
    text = GENERATOR.job_file_markdown()
    for key in known_keys():
        table, _, name = key.partition(".")
        section = text.partition(f"## `[{table}]`")[2].partition("\n## ")[0]
        assert f"\n| `{name}` |" in section, key


def test_the_job_files_page_says_the_true_defaults() -> None:
    """Each default, read back from the page as a maker would copy it, gives the default job."""
    tables: dict[str, dict[str, object]] = {}
    for section in GENERATOR.job_file_markdown().split("\n## `[")[1:]:
        table = section.partition("]`")[0]
        rows = re.findall(r"^\| `(\w+)` \| `(.+?)` \|", section, flags=re.MULTILINE)
        tables[table] = {key: tomllib.loads(f"value = {value}")["value"] for key, value in rows}
    assert tables["panel"]["frame"] == "6.35mm"
    assert Job.model_validate(tables) == Job()


def test_the_example_of_the_job_files_page_loads() -> None:
    job = Job.model_validate(tomllib.loads(GENERATOR.EXAMPLE))
    assert job.panel.width == pytest.approx(279.4)
    assert job.paint.roles == {"#ff0000": "mark-line"}


def test_the_manifests_schema_names_no_place_to_fetch() -> None:
    schema = json.loads((ROOT / "docs" / "manifest.schema.json").read_text(encoding="utf-8"))
    assert schema["$schema"] == "https://json-schema.org/draft/2020-12/schema"
    assert "$id" not in schema


def package_pages() -> dict[str, str]:
    """The pages that are installed with the package: name there to path here."""
    build = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["tool"]["hatch"]["build"]
    placed = build["targets"]["wheel"]["shared-data"]
    return {target.removeprefix("share/doc/layercut/"): source for source, target in placed.items()}


def links(text: str) -> list[str]:
    return re.findall(r"\]\(([^)\s]+)\)", text)


def test_installed_pages_link_only_to_each_other() -> None:
    pages = package_pages()
    assert {"job-file.md", "messages.md"} <= set(pages)
    for path in (path for path in pages.values() if path.endswith(".md")):
        for link in links((ROOT / path).read_text(encoding="utf-8")):
            here = link.partition("#")[0]
            folder, _, name = here.rpartition("/")
            there = here in pages or (folder in pages and (ROOT / pages[folder] / name).is_file())
            assert link.startswith("https://") or there, f"{path} links to {link}"


def test_the_package_page_stands_alone() -> None:
    """Where a package is shown, nothing lies beside its page: no picture, and no link that isn't whole."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    text = (ROOT / project["readme"]).read_text(encoding="utf-8")
    assert "share/doc/layercut/" in text
    assert "![" not in text
    assert all(link.startswith("https://") for link in links(text))


def test_the_program_names_no_page_that_is_not_installed() -> None:
    """Comments and docstrings are for whoever has the source; what is told to a maker is not."""
    installed = {f"docs/{name}" for name in package_pages()}
    for path in sorted((ROOT / "layercut").rglob("*.py")):
        tree = ast.parse(path.read_text(encoding="utf-8"))
        docstrings = {id(node.value) for node in ast.walk(tree) if isinstance(node, ast.Expr)}
        for node in ast.walk(tree):
            if isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in docstrings:
                named = set(re.findall(r"docs/[a-z-]+\.\w+", node.value))
                assert named <= installed, f"{path}:{node.lineno}"
