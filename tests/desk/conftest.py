"""A desk that runs and a browser that looks at it, for the tests that want both."""

from collections.abc import Iterator

import pytest

from tests.desk.running import Desk, desk
from tests.pages.browser import Reader


@pytest.fixture(scope="module")
def open_desk(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Desk]:
    with desk("--no-memory", home=tmp_path_factory.mktemp("home")) as running:
        yield running


@pytest.fixture
def browser(chromium: Reader) -> Reader:
    return chromium


@pytest.fixture
def page(browser: Reader, open_desk: Desk) -> Iterator[Reader]:
    """The desk's first screen; afterwards nothing was complained of or asked elsewhere."""
    browser.own = (open_desk.address,)
    browser.visit(open_desk.address)
    yield browser
    assert browser.complaints() == []
    assert browser.requests() == []
