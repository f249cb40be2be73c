"""What the log has shown, written as a calibration sheet: a start for someone who has no file.

It is a reading of the ECU's own report. Every part is marked as inferred, cells where the run has
not been are "?", and the sheet says of itself that it is not for loading.
"""

from tuneledger.draft.sheet import NOTHING_TO_DRAFT, Draft, draft_sheet

__all__ = ["NOTHING_TO_DRAFT", "Draft", "draft_sheet"]
