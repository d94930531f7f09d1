"""The walk that the tests of the page share: its commands run once."""

import shutil

import pytest
from walk import Walk, run_page


@pytest.fixture(scope="session")
def walk(tmp_path_factory: pytest.TempPathFactory) -> Walk:
    """The page's commands, run in order in a folder of their own."""
    if shutil.which("sh") is None:
        pytest.skip("the page's commands are for a POSIX shell")
    return run_page(tmp_path_factory.mktemp("page"))
