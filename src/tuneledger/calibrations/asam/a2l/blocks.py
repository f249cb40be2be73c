"""Blocks of a description: what stands between /begin NAME and /end NAME, as a tree.

Only the kinds that calibration data need are kept. All others (IF_DATA and A2ML of measuring
systems above all) are passed over with whatever is nested in them.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import PurePosixPath

from tuneledger.bounded import at_most, how_to_raise
from tuneledger.calibrations.asam.a2l.tokens import Page, Token, tokens
from tuneledger.calibrations.asam.limits import (
    BLOCKS,
    DESCRIPTION_BYTES,
    INCLUDED,
    INCLUDES,
    MEGABYTE,
    NESTED,
    WORDS,
)
from tuneledger.errors import CalibrationError
from tuneledger.wording import visible

KEPT = frozenset(
    (
        *("PROJECT", "MODULE", "MOD_COMMON", "MOD_PAR", "CHARACTERISTIC", "AXIS_PTS"),
        *("AXIS_DESCR", "FIX_AXIS_PAR_LIST", "RECORD_LAYOUT", "COMPU_METHOD", "FORMULA"),
        *("COMPU_TAB", "COMPU_VTAB", "COMPU_VTAB_RANGE"),
        *("VIRTUAL_CHARACTERISTIC", "INSTANCE", "BLOB"),
    )
)


@dataclass(slots=True)
class Block:
    """`items` are words, texts and the kept blocks inside, in the order of the file."""

    name: str
    page: Page
    at: int
    items: list["str | Block"] = field(default_factory=list)

    def inside(self, name: str) -> Iterator["Block"]:
        """The blocks of one kind that stand directly in it."""
        return (item for item in self.items if isinstance(item, Block) and item.name == name)

    @property
    def called(self) -> str:
        """The first word in it: its identifier, where it has one."""
        first = self.items[0] if self.items else ""
        return first if isinstance(first, str) else ""


@dataclass(slots=True)
class Reading:
    """The files of a description, read into one tree.

    beside:   further files by name, for /include
    missing:  what was to be included and is not there, each once
    count:    blocks that are kept so far
    words:    words and texts in them
    includes: times that a file was to be included
    expanded: characters that were gone through, those of a file each time that it is included
    """

    beside: Mapping[str, Page]
    missing: list[str] = field(default_factory=list)
    used: set[str] = field(default_factory=set)
    count: int = 0
    words: int = 0
    includes: int = 0
    expanded: int = 0

    def tree(self, page: Page) -> Block:
        """A block without a name that holds those of the file. CalibrationError with a line."""
        root = Block("", page, 0)
        self.expanded += len(page.text)
        most_words = at_most(WORDS)
        open_blocks = [root]
        passed: list[str] = []  # names of the blocks that are being passed over
        for kind, text, at, where in self._stream(page, 0):
            if kind == "begin":
                self._begin(text, at, where, open_blocks, passed)
            elif kind == "end":
                _end(text, at, where, open_blocks, passed)
            elif not passed:
                self.words += 1
                if self.words > most_words:
                    raise _beyond(where, at, "more words than that", f"at most {most_words:,}")
                open_blocks[-1].items.append(text)
        if passed or len(open_blocks) > 1:
            last = open_blocks[-1]
            inside = passed[-1] if passed else last.name
            raise last.page.fault(
                last.at,
                f"the file ends inside {visible(inside[:60])}; it is cut short",
            )
        return root

    def _begin(
        self, name: str, at: int, where: Page, open_blocks: list[Block], passed: list[str]
    ) -> None:
        if len(open_blocks) + len(passed) > at_most(NESTED):
            most = f"at most {at_most(NESTED)} levels"
            raise _beyond(where, at, "blocks nested too deeply", most)
        if passed or name not in KEPT:
            passed.append(name)
            return
        self.count += 1
        if self.count > at_most(BLOCKS):
            raise _beyond(where, at, "more blocks than that", f"at most {at_most(BLOCKS):,}")
        block = Block(name, where, at)
        open_blocks[-1].items.append(block)
        open_blocks.append(block)

    def _stream(self, page: Page, depth: int) -> Iterator[tuple[str, str, int, Page]]:
        """Tokens, /begin and /end joined to the word after them, included files in place."""
        run = tokens(page)
        for kind, text, at in run:
            if kind in ("word", "text"):
                yield kind, text, at, page
                continue
            name = _word_after(run, page, at, kind)
            if kind != "include":
                yield kind, name, at, page
                continue
            yield from self._included(name, at, page, depth)

    def _included(
        self, name: str, at: int, page: Page, depth: int
    ) -> Iterator[tuple[str, str, int, Page]]:
        """What another file holds, if it was handed over; a path in a file is never opened."""
        self.includes += 1
        if self.includes > at_most(INCLUDES):
            found = "files are included again and again"
            most = f"at most {at_most(INCLUDES):,} times, those in included files too"
            raise _beyond(page, at, found, most)
        last = PurePosixPath(name.replace("\\", "/")).name.casefold()
        other = self.beside.get(last)
        if other is None:
            if name not in self.missing:
                self.missing.append(name)
            return
        if depth >= at_most(INCLUDED):
            most = f"at most {at_most(INCLUDED)} files in files"
            raise _beyond(page, at, "files included in each other too deeply", most)
        self.expanded += len(other.text)
        if self.expanded > at_most(DESCRIPTION_BYTES):
            size = at_most(DESCRIPTION_BYTES) // MEGABYTE
            most = f"at most {size} MB, all included files together"
            raise _beyond(page, at, "the included files make it too large", most)
        self.used.add(last)
        yield from self._stream(other, depth + 1)


def _beyond(page: Page, at: int, found: str, most: str) -> CalibrationError:
    return page.fault(at, found, most, how_to_raise())


def _word_after(run: Iterator[Token], page: Page, at: int, mark: str) -> str:
    kind, text, _ = next(run, ("", "", at))
    if kind == "word" or (kind == "text" and mark == "include"):
        return str(text)
    raise page.fault(at, f"/{mark} without a name after it")


def _end(text: str, at: int, where: Page, open_blocks: list[Block], passed: list[str]) -> None:
    expected = passed[-1] if passed else open_blocks[-1].name
    if text != expected:
        began = "" if passed else f" (begun in line {where.line(open_blocks[-1].at)})"
        wanted = f"/end {visible(expected[:60])}{began}" if expected else "no block to be open"
        raise where.fault(at, f"/end {visible(text[:60])}", wanted)
    if passed:
        passed.pop()
    else:
        open_blocks.pop()
