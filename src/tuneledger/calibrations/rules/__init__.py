"""What a sheet must keep to beyond types and words: one small file per subject.

A rule is a generator of faults over a `Spot`; it stays silent about what the model refuses anyway
(a wrong type, an unknown key), so that nothing is told twice.
"""
