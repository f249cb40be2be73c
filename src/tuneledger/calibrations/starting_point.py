"""The sheet that somebody starts from: valid as it stands, with an example of most features."""

from importlib.resources import files


def starting_point() -> str:
    """The text of the sheet."""
    text = files("tuneledger.calibrations").joinpath("starting_point.toml")
    return text.read_text(encoding="utf-8")
