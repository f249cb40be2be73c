"""What a forked reader of MDF needs, imported before it is forked."""

import sys

sys.modules["sympy"] = None  # type: ignore[assignment]  # as the reader itself does
import asammdf  # noqa: E402, F401
import polars  # noqa: E402, F401

import tuneledger.logs.mdf.child  # noqa: E402, F401
