"""A browser for the tests of the page."""

import pytest

from tests.pages.browser import Reader


@pytest.fixture
def page(chromium: Reader) -> Reader:
    chromium.own = ()
    return chromium
