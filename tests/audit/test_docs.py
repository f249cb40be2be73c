"""docs/audit.md says what the checks say of themselves, and what the audit really prints."""

from pathlib import Path

from tuneledger.audit.docs import brought_up_to_date
from tuneledger.audit.registry import CHECKS

ROOT = Path(__file__).parents[2]


def test_the_page_of_the_audit_is_up_to_date() -> None:
    page = (ROOT / "docs" / "audit.md").read_text(encoding="utf-8")
    assert brought_up_to_date(page, ROOT / "demo") == page, "make docs makes it anew"
    assert all(f"\n### {name}\n" in page for name in CHECKS)
