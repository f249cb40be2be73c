"""Damaged files of every format against every reader: `make fuzz FILES=1000`.

Each file must be read, or refused in words, within its time and memory. A child process reads them,
so that a hang or a crash is counted like any other failure.
"""
