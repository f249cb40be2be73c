"""Text for people: a letter or a note that came along with the files is told as what it is."""

from tuneledger.logs.source import Source

_FEWEST_WORDS = 12
_WORDS_A_LINE = 4.0
_MOST_NUMBERS = 0.1
# A header row has more delimiters than this, and no name with more words: judgement.
_FEWEST_NAMES, _LONGEST_NAME = 4, 5


def reads_like_prose(source: Source) -> bool:
    """Whether the beginning of a file holds lines of several words and hardly a number."""
    text = source.head.decode("utf-8", errors="replace")
    lines = [line.split() for line in text.splitlines() if line.strip()]
    words = [word for line in lines for word in line]
    if len(words) < _FEWEST_WORDS or _names_alone(text.strip()):
        return False
    numbers = sum(any(c.isdigit() for c in word) for word in words)
    bare = sum(word.strip(".,;:!?()'\"").isalpha() for word in words)
    several = len(words) / len(lines) >= _WORDS_A_LINE
    return several and numbers <= _MOST_NUMBERS * len(words) and bare > 0.7 * len(words)


def _names_alone(text: str) -> bool:
    """Whether it is one line of names between delimiters, as a header row without samples is."""
    if "\n" in text or text.endswith((".", "!", "?", "。")):
        return False
    return any(
        text.count(delimiter) >= _FEWEST_NAMES
        and all(len(name.split()) <= _LONGEST_NAME for name in text.split(delimiter))
        for delimiter in "\t;|,"
    )
