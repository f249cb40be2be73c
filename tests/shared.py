"""Where the cases and open data lie that are not part of the project, and how tests skip them."""

from pathlib import Path

import pytest

SHARED = Path(__file__).parents[1].parent / "shared"

needs_cases = pytest.mark.skipif(
    not (SHARED / "cases").is_dir(), reason="the shared cases are not beside this project"
)
needs_data = pytest.mark.skipif(
    not (SHARED / "data").is_dir(), reason="the shared open data is not beside this project"
)
