"""A browser for the tests of the page."""

from collections.abc import Iterator

import pytest

from tests.pages.browser import Reader, reader


@pytest.fixture(scope="module")
def page() -> Iterator[Reader]:
    with reader() as opened:
        yield opened
