"""What every test has: steady examples, the scenes, gold that can be updated, and skips told by reason."""

from collections import Counter

import pytest
from hypothesis import settings
from scenes import Scenes

settings.register_profile("steady", derandomize=True, deadline=None)
settings.load_profile("steady")
"""A suite that decides what may land looks at the same examples each time; tests/bench/ looks further each time."""


@pytest.fixture(scope="session")
def scenes() -> Scenes:
    """Drawings made by hand, and what the stages make of them. Session-wide, so that property tests can use it."""
    return Scenes()


def pytest_addoption(parser: pytest.Parser) -> None:
    """`--update-gold`: write what tests/test_cases.py expects anew instead of comparing."""
    parser.addoption("--update-gold", action="store_true", help="write the expected manifests of tests/cases anew")


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    """A line for each reason for which tests were skipped; pytest's own listing has one for each place."""
    told = [report.longrepr for report in terminalreporter.stats.get("skipped", ())]
    reasons = Counter(place[2].removeprefix("Skipped: ") for place in told if isinstance(place, tuple))
    for reason, count in sorted(reasons.items()):
        terminalreporter.write_line(f"{count} skipped: {reason}")


@pytest.fixture
def update_gold(request: pytest.FixtureRequest) -> bool:
    """True when expected files are to be written anew."""
    return bool(request.config.getoption("--update-gold"))
