"""Hypothesis draws the same examples on every machine, so that a red suite means a changed project.

`HYPOTHESIS_PROFILE=search` draws new ones each time: for whoever looks for faults.
"""

import os

from hypothesis import settings

settings.register_profile("steady", derandomize=True, deadline=None, database=None)
settings.register_profile("search", deadline=None)
settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE", "steady"))
