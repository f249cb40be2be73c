"""How much of a stranger's calibration file is taken in."""

MEGABYTE = 1 << 20

DESCRIPTION_BYTES = 256 * MEGABYTE
IMAGE_BYTES = 192 * MEGABYTE  # of text
INSTANCES_BYTES = 128 * MEGABYTE

NESTED = 64  # blocks in blocks, elements in elements
BLOCKS = 1_000_000  # that are kept, of all included files together
WORDS = 20_000_000  # in blocks that are kept; each takes some sixty bytes
ELEMENTS = 5_000_000  # of one XML file
NAME = 1024  # characters, with those it stands in: ASAM MCD-2 MC, Ident (from memory)
NAMES = 64 * MEGABYTE  # characters of all names of a file together
CELLS = 1_000_000  # of one parameter
INCLUDED = 16  # files in files
INCLUDES = 10_000  # times that any file is included, of all files together
RECORDS = 6_000_000  # of an image; the longest text has so many of 11 bytes
RUNS = 400_000  # of records that follow one another; each takes some 200 bytes more than it holds
PIECES = 100_000  # of an image, apart from each other
