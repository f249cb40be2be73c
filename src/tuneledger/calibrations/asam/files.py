"""Files in any order, told apart by content, and opened as one store of parameters."""

import re
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from tuneledger.bounded import at_most, how_to_raise, open_plain, why_unread
from tuneledger.calibrations.asam import limits
from tuneledger.calibrations.asam.a2l.description import Description, read_description
from tuneledger.calibrations.asam.a2l.store import Described
from tuneledger.calibrations.asam.a2l.tokens import Page
from tuneledger.calibrations.asam.images import Image, read_image
from tuneledger.calibrations.asam.parameter import NotRepresentedError, Store
from tuneledger.calibrations.asam.tell import SAYS, Kind, told
from tuneledger.calibrations.detect import looks_like_sheet
from tuneledger.calibrations.tree import quoted
from tuneledger.errors import CalibrationError, Fault
from tuneledger.record import record
from tuneledger.wording import listing

HEAD_BYTES = 1 << 20
ORDERS = ("MSB_FIRST", "MSB_LAST")
_MOST: dict[Kind, int] = {
    "description": limits.DESCRIPTION_BYTES,
    "image": limits.IMAGE_BYTES,
    "instances": limits.INSTANCES_BYTES,
}
_PROJECT = "PROJECT"
_INCLUDE = re.compile(r'/include\s+(?:"([^"\n]*)"|(\S+))')


@record
class Given:
    """Files by what they are, in the order given."""

    descriptions: tuple[Path, ...] = ()
    images: tuple[Path, ...] = ()
    instances: tuple[Path, ...] = ()
    sheets: tuple[Path, ...] = ()


@record
class Wishes:
    """What the user says of the files where they do not say it themselves.

    shift:      added to an address of the description to find it in the image
    order:      of bytes, MSB_FIRST or MSB_LAST, where the description leaves it open
    mismatched: an image of another version than the description's is read all the same
    """

    shift: int = 0
    order: str | None = None
    mismatched: bool = False


def sort_files(paths: Sequence[Path]) -> Given:
    """The files by what they are. CalibrationError for one that is nothing of the kind.

    A file that a description among them includes is part of it, whatever it holds.
    """
    kinds: dict[str, list[Path]] = {"description": [], "image": [], "instances": [], "sheet": []}
    unknown: list[tuple[Path, bytes]] = []
    for path in paths:
        head = _read(path, HEAD_BYTES)
        kind = "sheet" if looks_like_sheet(head) else told(head)
        if kind is None:
            unknown.append((path, head))
        else:
            kinds[kind].append(path)
    for path, head in unknown:
        if not _included(path, kinds["description"]):
            expected = listing([*SAYS.values(), "a mapping or sheet"], "or")
            found = "this is nothing that is known here" if head else "the file is empty"
            raise CalibrationError(Fault(found, file=str(path), expected=expected))
        kinds["description"].append(path)
    return Given(*(tuple(kinds[kind]) for kind in ("description", "image", "instances", "sheet")))


def _included(path: Path, descriptions: Sequence[Path]) -> bool:
    """Whether one of the descriptions names a file as one that it includes."""
    for description in descriptions:
        text = _decoded(_read(description, _MOST["description"], whole=True))
        for found in _INCLUDE.finditer(text):
            name = (found[1] or found[2]).replace("\\", "/").rpartition("/")[2]
            if name.casefold() == path.name.casefold():
                return True
    return False


_NO_WISHES = Wishes()


def open_store(given: Given, wishes: Wishes = _NO_WISHES) -> Store:
    """The parameters in the files: of a description, with an image where there is one; or of CDF.

    Raises CalibrationError where a file is damaged, is missing, or is one too many.
    """
    if given.instances:
        _alone(given.instances, "file of ASAM CDF")
        if given.descriptions or given.images:
            fault = Fault(
                "a file of ASAM CDF and a description or image", do="Give one or the other."
            )
            raise CalibrationError(fault)
        from tuneledger.calibrations.asam.cdf.read import read_instances

        path = given.instances[0]
        return read_instances(_read(path, _MOST["instances"], whole=True), path.name)
    if not given.descriptions:
        expected = "an ASAM MCD-2 MC description (A2L), or a file of ASAM CDF"
        held = listing(path.name for path in given.images)
        do = f"{held} holds bytes alone; a description says what they mean." if held else None
        raise CalibrationError(Fault("no description is among the files", None, None, expected, do))
    described = Described(_description(given.descriptions), None, wishes.order)
    if not given.images:
        return described
    _alone(given.images, "image")
    path = given.images[0]
    text = _read(path, _MOST["image"], whole=True).decode("latin-1")
    image = read_image(text, path.name, wishes.shift)
    wrong = _other_version(described.description, image)
    if wrong is not None:
        if not wishes.mismatched:
            raise CalibrationError(wrong)
        told = f"{image.name}: {wrong.found}, not {wrong.expected}; read all the same"
        image = replace(image, notes=(*image.notes, told))
    return Described(described.description, image, wishes.order)


def _description(paths: Sequence[Path]) -> Description:
    """The one that holds the project is read; the others stand ready to be included by it."""
    pages = [
        Page(_decoded(_read(path, _MOST["description"], whole=True)), path.name) for path in paths
    ]
    main = [page for page in pages if _PROJECT in page.text] if len(pages) > 1 else pages
    if len(main) != 1:
        names = listing([page.name for page in main or pages])
        found = f"{names}: {'several hold' if main else 'none holds'} a PROJECT"
        do = "Give one description, with the files that it includes beside it."
        raise CalibrationError(Fault(found, do=do))
    beside = {page.name.casefold(): page for page in pages if page is not main[0]}
    return read_description(main[0], beside)


def _alone(paths: Sequence[Path], what: str) -> None:
    if len(paths) > 1:
        names = listing([str(path) for path in paths])
        raise CalibrationError(Fault(f"more than one {what}: {names}", do="Give one of them."))


def _read(path: Path, most: int, *, whole: bool = False) -> bytes:
    """A file's first bytes, so many; `whole`: all of them, and more than the bound is a fault."""
    try:
        with open_plain(path) as file:
            data = file.read((at_most(most) if whole else most) + 1)
    except OSError as problem:
        if isinstance(problem, FileNotFoundError):
            do = f"To write a sheet there, say -o {path}." if path.suffix == ".toml" else None
            raise CalibrationError(Fault("there is no such file", file=str(path), do=do)) from None
        found, do = why_unread(problem)
        raise CalibrationError(Fault(found, file=str(path), do=do)) from None
    if whole and len(data) > at_most(most):
        expected = f"at most {at_most(most) // limits.MEGABYTE} MB"
        found, do = "the file is too large", how_to_raise()
        raise CalibrationError(Fault(found, file=str(path), expected=expected, do=do))
    return data


def _decoded(data: bytes) -> str:
    """Text of a description: by its mark, else UTF-8 where it is that, else ISO 8859-1."""
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        return data.decode("utf-16", "replace")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        return data.decode("latin-1")


def _other_version(description: Description, image: Image) -> Fault | None:
    """What is wrong with an image whose version mark is not the one that is expected."""
    for module in description.modules:
        version = module.version
        if version is None:
            continue
        try:
            found = image.read(version.address, len(version.text.encode("latin-1", "replace")))
        except NotRepresentedError:
            continue  # the mark lies outside of this image, as in one of data only
        text = found.decode("latin-1")
        if text != version.text:
            return Fault(
                f"the image is marked {quoted(text)} at 0x{version.address:08X}",
                file=image.name,
                expected=f"{quoted(version.text)}, which {description.name} was made for",
                do="Find the description of this image; --mismatched reads it all the same.",
            )
    return None
