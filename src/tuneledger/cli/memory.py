"""What the C library does with memory that was freed: mallopt(3), where there is a glibc.

Left to itself it hands every array that is no longer needed back to the system, and asks for the
next one anew: each of its pages is then taken, cleared and mapped again. A command frees hundreds
of columns and is over in a second.
"""

import ctypes

_TRIM_THRESHOLD, _TOP_PAD, _MMAP_THRESHOLD = -1, -2, -3  # as malloc.h numbers them
_USUAL_TRIM, _NEVER_TRIM = 128 << 10, 1 << 30
# A column of 90,000 samples is 0.7 MB. What is larger than this is still handed back at once.
_COLUMNS = 4 << 20
_AT_A_TIME = 16 << 20


def keep_freed() -> bool:
    """Keep what is freed for what comes next; False where the C library cannot be told."""
    return _tell(
        (_MMAP_THRESHOLD, _COLUMNS), (_TRIM_THRESHOLD, _NEVER_TRIM), (_TOP_PAD, _AT_A_TIME)
    )


def hand_back_freed() -> bool:
    """Hand back what is freed, as usual: for a program that goes on for hours."""
    return _tell((_TRIM_THRESHOLD, _USUAL_TRIM))


def _tell(*options: tuple[int, int]) -> bool:
    try:
        mallopt = ctypes.CDLL(None).mallopt
    except (OSError, AttributeError, TypeError):  # another C library, or another system
        return False
    done = [mallopt(option, value) == 1 for option, value in options]
    return all(done)
