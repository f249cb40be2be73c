"""Pages of paper, as a browser prints them."""

import base64
import re
from collections.abc import Iterator

import pytest

from tests.change.test_order import EASED, EDIT, hot, one_sheet, ordered
from tests.explain.told import told
from tests.pages.browser import Reader, reader
from tests.runs import charge_air, climb, sheet
from tuneledger.pages.order import order_page


@pytest.fixture(scope="module")
def page() -> Iterator[Reader]:
    with reader() as opened:
        yield opened


def sheets_of_paper(page: Reader, html: str) -> int:
    path = page.folder / "still.html"
    path.write_text(html, encoding="utf-8")
    page.driver.get(path.as_uri())
    pdf = page.call("Page.printToPDF", preferCSSPageSize=True)["data"]
    return len(re.findall(rb"/Type\s*/Page\b", base64.b64decode(pdf)))


def test_a_change_order_prints_on_one_sheet(page: Reader) -> None:
    assert sheets_of_paper(page, order_page(ordered(one_sheet(), EDIT))) == 1
    assert page.complaints() == []


def test_so_does_one_with_many_other_differences(page: Reader) -> None:
    newer = sheet("rev-d.toml", "D", [charge_air(EASED)])
    raised = [[cell + 1.0 for cell in row] for row in newer.calibration.spark.map.values or ()]
    older = sheet("rev-c.toml", "C", [charge_air((0.0, 0.0, -3.0, -6.0))])
    made = ordered(told(hot(climb()), newer, older), ("spark.map.values", raised))
    assert len(made.edits) == 25
    assert len(made.besides) == 2
    assert sheets_of_paper(page, order_page(made)) == 1
