"""Logs whose columns have types already: Parquet, Arrow, MDF. See `columns` and `reader`."""
