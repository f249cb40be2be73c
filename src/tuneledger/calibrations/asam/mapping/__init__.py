"""A mapping: a sheet with `{ characteristic = "NAME" }` where numbers, points or words stand.

It chooses among the parameters of a store, which of them is the main map, which a correction, and
what their axes read; carried out, it is a sheet.
"""
