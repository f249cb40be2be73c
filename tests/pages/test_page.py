"""The file as it is sent: complete, safe, small, and the same every time."""

import json
import re
from html.parser import HTMLParser

import pytest

from tests.pages.climbs import HOSTILE, busy, hostile
from tests.statements import ALL, crowded, explained_by_charge_air, raised_under_load
from tuneledger.pages import write_page
from tuneledger.pages.document import script_safe
from tuneledger.pages.names import LONGEST, name_of
from tuneledger.pages.tag import Markup, join, tag


class Reader(HTMLParser):
    """The elements and the text of a page, as a browser would take them apart."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.text = ""
        self._inside = ""
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))
        self._inside = tag

    def handle_endtag(self, tag: str) -> None:
        self._inside = ""

    def handle_data(self, data: str) -> None:
        if self._inside not in ("script", "style"):
            self.text += data


@pytest.mark.parametrize("name", sorted(ALL))
def test_a_reader_without_scripts_gets_the_whole_statement(name: str) -> None:
    statement = ALL[name]()
    text = Reader(write_page(statement)).text
    assert statement.headline in text
    for cause in statement.causes:
        if "\x1b" not in cause.says:
            assert cause.says in text
        assert cause.next_step in text
    for note in statement.notes[:3]:
        assert note[1:20] in text
    assert "detonation" in text, "the cautions"
    assert text.count("detonation") == 1, "once"


def test_nothing_is_fetched_and_nothing_else_may_run() -> None:
    page = Reader(write_page(busy()))
    policy = next(a["content"] for t, a in page.tags if a.get("http-equiv"))
    assert policy is not None
    assert "default-src 'none'" in policy
    assert "unsafe" not in policy
    assert "*" not in policy
    nonce = re.search(r"script-src 'nonce-([^']+)'", policy)
    assert nonce
    for name, attributes in page.tags:
        assert not {"src", "href", "style", "onclick", "onerror"} & set(attributes), name
        runs = name == "script" and attributes.get("type") in (None, "module", "importmap")
        assert (attributes.get("nonce") == nonce[1]) == (runs or name == "style")


def test_names_that_are_markup_stay_text() -> None:
    page = write_page(hostile())
    reader = Reader(page)
    assert [t for t, _ in reader.tags].count("script") == 4
    assert "img" not in [t for t, _ in reader.tags]
    assert HOSTILE in reader.text
    assert "\x1b" not in page
    assert "\u2028" not in page


def test_a_name_without_end_is_cut() -> None:
    assert len(name_of("x" * 1_000_000)) == LONGEST
    assert name_of("Boost") == "Boost"


def test_data_inside_a_script_cannot_leave_it() -> None:
    text = script_safe(json.dumps(["</script>", "<!--", "&", "\u2028"], ensure_ascii=False))
    assert not set("<>&\u2028") & set(text)
    assert json.loads(text) == ["</script>", "<!--", "&", "\u2028"]


def test_text_is_escaped_and_markup_is_not() -> None:
    assert tag("b", "<i>", Markup("<u>x</u>"), title='"&') == (
        '<b title="&quot;&amp;">&lt;i&gt;<u>x</u></b>'
    )
    assert join("a", Markup("<br>")) == "a<br>"


def test_the_same_statement_gives_the_same_page() -> None:
    assert write_page(explained_by_charge_air()) == write_page(explained_by_charge_air())


def test_advance_above_the_map_under_load_is_said_before_all_else() -> None:
    page = write_page(raised_under_load())
    assert "Stop." in page
    assert page.index("Stop.") < page.index('id="causes"')
    assert "Stop.</b>" not in write_page(explained_by_charge_air())


def test_causes_beyond_the_first_few_are_folded_away() -> None:
    assert "9 more causes" in write_page(crowded())


def test_a_log_of_ninety_thousand_rows_makes_a_page_that_can_be_mailed() -> None:
    size = len(write_page(busy(900.0, 100.0)).encode())
    assert 150_000 < size < 3_000_000
