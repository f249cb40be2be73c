"""Calibrations in the forms of open standards, and the way from them into a sheet.

A description (ASAM MCD-2 MC, "A2L") says where in an image (Intel HEX, Motorola S-record) each
number stands and what it means; a file of ASAM CDF 2.x holds the numbers themselves. Either is a
`Store` of parameters by name. A mapping, which is a sheet with names where numbers stand, chooses
among them.
"""
