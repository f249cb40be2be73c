"""Logs written out again: as delimited text, Parquet or ASAM MDF. See `model` and `tables`."""
