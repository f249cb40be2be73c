"""What all tests share: how examples are drawn, and the browsers, each opened once a process.

Hypothesis draws the same examples on every machine, so that a red suite means a changed project.
`HYPOTHESIS_PROFILE=search` draws new ones each time: for whoever looks for faults.
"""

import os
from collections.abc import Iterator
from typing import TYPE_CHECKING

import pytest
from hypothesis import settings

if TYPE_CHECKING:
    from tests.pages.browser import Reader

settings.register_profile("steady", derandomize=True, deadline=None, database=None)
settings.register_profile("search", deadline=None)
settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE", "steady"))


@pytest.fixture(scope="session")
def chromium() -> Iterator["Reader"]:
    """Chromium, opened once; skips where there is none."""
    from tests.pages.browser import reader

    with reader() as opened:
        yield opened


@pytest.fixture(scope="session")
def firefox() -> Iterator["Reader"]:
    """Firefox, opened once; skips where there is none."""
    from tests.pages.fox import fox_reader

    with fox_reader() as opened:
        yield opened
