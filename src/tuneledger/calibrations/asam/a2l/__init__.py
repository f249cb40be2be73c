"""ASAM MCD-2 MC (formerly ASAP2), versions 1.3 to 1.7: what a description says of its parameters.

Read as far as calibration data need it: the rest of a file is passed over, block by block.
"""
