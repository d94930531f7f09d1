"""Which tests run in one process when several share the suite (`-n`): those that share what is costly to make."""

import pytest
from xdist.remote import Producer
from xdist.scheduler import LoadScopeScheduling

TOGETHER = {
    "walk": ("tests/walkthrough/",),
    "travellers": ("tests/browser/test_traveller.py::",),
    "browser": ("tests/browser/test_watch.py::",),
    "server": ("tests/watching/test_server.py::",),
    "harmed folders": ("tests/bad_input/test_harmed_folders.py::",),
    "samples": (
        "tests/outside/test_raster_check.py::test_sample_stack",
        "tests/views/picture/test_one_light.py::test_at_most",
        "tests/test_verify.py::test_the_samples",
        "tests/views/pages/test_map_labels.py::test_the_samples",
    ),
}
"""Beginnings of tests by what they share; every other test goes wherever there is room."""


class Grouped(LoadScopeScheduling):  # type: ignore[misc]  # it comes without types
    """Sends tests of one group to one process, and any other by itself."""

    def _split_scope(self, nodeid: str) -> str:
        return next((name for name, starts in TOGETHER.items() if nodeid.startswith(starts)), nodeid)


def make_scheduler(config: pytest.Config, log: Producer) -> Grouped:
    """What hands out the tests."""
    return Grouped(config, log)
