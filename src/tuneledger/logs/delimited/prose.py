"""Text for people: a letter or a note that came along with the files is told as what it is."""

from tuneledger.logs.source import Source

_FEWEST_WORDS = 12
_WORDS_A_LINE = 4.0
_MOST_NUMBERS = 0.1


def reads_like_prose(source: Source) -> bool:
    """Whether the beginning of a file holds lines of several words and hardly a number."""
    text = source.head.decode("utf-8", errors="replace")
    lines = [line.split() for line in text.splitlines() if line.strip()]
    words = [word for line in lines for word in line]
    if len(words) < _FEWEST_WORDS:
        return False
    numbers = sum(any(c.isdigit() for c in word) for word in words)
    bare = sum(word.strip(".,;:!?()'\"").isalpha() for word in words)
    several = len(words) / len(lines) >= _WORDS_A_LINE
    return several and numbers <= _MOST_NUMBERS * len(words) and bare > 0.7 * len(words)
