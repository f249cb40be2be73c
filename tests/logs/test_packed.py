"""Logs in archives: what comes out, what is bounded, and what stays where it is."""

import bz2
import gzip
import io
import lzma
import os
import subprocess
import sys
import tarfile
import zipfile
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from tests.logs.packing import ROWS, as_text, gzipped, table, zipped
from tuneledger.errors import LogError
from tuneledger.logs import open_log
from tuneledger.logs.limits import MEGABYTE, Limits
from tuneledger.logs.model import Log
from tuneledger.logs.registry import open_sources
from tuneledger.supplied import open_supplied

SHEET = b"""
format = "tuneledger-calibration/1"
title = "Kestrel"
revision = "D"
[spark.map]
axes = [{ signal = "engine speed", unit = "rpm", at = [900, 7000] }]
values = [12.0, 30.0]
"""


@pytest.fixture
def plain(tmp_path: Path) -> Path:
    return as_text(tmp_path / "run.csv")


def same(one: Log, other: Log) -> bool:
    return [c.name for c in one.channels] == [c.name for c in other.channels] and all(
        np.array_equal(one.values(a), other.values(b), equal_nan=True)
        for a, b in zip(one.channels, other.channels, strict=True)
    )


def test_a_compressed_log_is_that_log(plain: Path, tmp_path: Path) -> None:
    packed = gzipped(tmp_path / "run.csv.gz", plain.read_bytes())
    assert same(open_log(packed), open_log(plain))
    assert open_log(packed).file == "run.csv.gz"


def test_a_zip_with_one_log_is_that_log(plain: Path, tmp_path: Path) -> None:
    packed = zipped(tmp_path / "mail.zip", {"from/the/hill/run.csv": plain.read_bytes()})
    assert same(open_log(packed), open_log(plain))
    assert open_log(packed).file == "run.csv"


def test_everything_of_an_e_mail_is_told_apart(plain: Path, tmp_path: Path) -> None:
    packed = zipped(
        tmp_path / "mail.zip",
        {
            "__MACOSX/._run.csv": b"\x00\x05litter",
            "photo.png": b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR",
            "rev-d.toml": SHEET,
            "hello.txt": b"Here is the run of today.\n",
            "run.csv": plain.read_bytes(),
        },
    )
    supplied = open_supplied([packed], memory=False)
    assert [log.file for log, _ in supplied.logs] == ["run.csv"]
    assert [sheet.calibration.revision for sheet in supplied.sheets] == ["D"]
    assert [note.split(":")[0] for note in supplied.notes] == ["photo.png", "hello.txt"]


def test_what_is_packed_within_a_packed_file_stays_packed(plain: Path, tmp_path: Path) -> None:
    inner = zipped(tmp_path / "inner.zip", {"other.csv": plain.read_bytes()})
    outer = zipped(
        tmp_path / "outer.zip", {"inner.zip": inner.read_bytes(), "run.csv": plain.read_bytes()}
    )
    supplied = open_supplied([outer], memory=False)
    assert [log.file for log, _ in supplied.logs] == ["run.csv"]
    assert supplied.notes[0].startswith("inner.zip: left out")


def test_an_archive_that_grows_without_measure_is_refused(tmp_path: Path) -> None:
    bomb = zipped(tmp_path / "bomb.zip", {"run.csv": b"\0" * (64 * MEGABYTE)})
    with pytest.raises(LogError, match=r"it grows too large.*--large"):
        open_log(bomb, limits=Limits(expansion=50))
    compressed = gzipped(tmp_path / "bomb.gz", b"\0" * (64 * MEGABYTE))
    with pytest.raises(LogError, match="it grows too large"):
        open_log(compressed, limits=Limits(expansion=50))
    with pytest.raises(LogError, match="it grows too large"):
        open_log(bomb, limits=Limits(unpacked=MEGABYTE))


def test_more_files_than_anybody_mails_are_refused(plain: Path, tmp_path: Path) -> None:
    many = zipped(tmp_path / "many.zip", {f"{i}.csv": plain.read_bytes() for i in range(30)})
    with pytest.raises(LogError, match="it holds 30 files; expected at most 20"):
        open_sources(many, Limits(members=20))


def test_no_name_in_an_archive_becomes_a_place_on_the_disk(plain: Path, tmp_path: Path) -> None:
    packed = zipped(
        tmp_path / "mail.zip",
        {"../../escape.csv": plain.read_bytes(), "/absolute.csv": plain.read_bytes()},
    )
    sources = open_sources(packed)
    assert [source.name for source in sources] == ["escape.csv", "absolute.csv"]
    folder = sources[0].folder
    assert folder is not None
    assert all(source.path.parent == folder.path for source in sources)
    assert not (tmp_path.parent / "escape.csv").exists()


def test_what_was_unpacked_is_gone_with_its_last_user(plain: Path, tmp_path: Path) -> None:
    packed = gzipped(tmp_path / "run.csv.gz", plain.read_bytes())
    (source,) = open_sources(packed)
    place = source.path
    assert place.exists()
    del source
    assert not place.exists()


@pytest.mark.parametrize("kept", [0.3, 0.6, 0.95])
def test_a_cut_off_archive_says_that_it_is_damaged(
    plain: Path, tmp_path: Path, kept: float
) -> None:
    for packed in (
        gzipped(tmp_path / "run.csv.gz", plain.read_bytes()),
        zipped(tmp_path / "mail.zip", {"run.csv": plain.read_bytes()}),
    ):
        whole = packed.read_bytes()
        packed.write_bytes(whole[: int(kept * len(whole))])
        with pytest.raises(LogError, match="damaged"):
            open_log(packed)


def test_a_locked_archive_is_named_as_such(plain: Path, tmp_path: Path) -> None:
    packed = zipped(tmp_path / "mail.zip", {"run.csv": plain.read_bytes()})
    with zipfile.ZipFile(packed) as archive:
        entry = archive.infolist()[0]
        directory = archive.start_dir
    data = bytearray(packed.read_bytes())
    data[entry.header_offset + 6] |= 1  # the flag for encryption, in both places
    data[directory + 8] |= 1
    packed.write_bytes(bytes(data))
    with pytest.raises(LogError, match="locked with a password"):
        open_log(packed)


def test_several_logs_in_one_archive_are_several_logs(plain: Path, tmp_path: Path) -> None:
    content = plain.read_bytes()
    shorter = b"".join(content.splitlines(keepends=True)[:-5])
    packed = zipped(tmp_path / "mail.zip", {"a/run.csv": content, "b/run.csv": shorter})
    supplied = open_supplied([packed], memory=False)
    assert [log.file for log, _ in supplied.logs] == ["a/run.csv", "b/run.csv"]
    with pytest.raises(LogError, match="it holds 2 files; expected one log"):
        open_log(packed)


def test_a_log_that_comes_plain_and_packed_counts_once(plain: Path, tmp_path: Path) -> None:
    archive = zipped(tmp_path / "mail.zip", {"the same.csv": plain.read_bytes()})
    supplied = open_supplied([plain, archive], memory=False)
    assert [log.file for log, _ in supplied.logs] == [plain.name]
    assert supplied.notes == ("the same.csv: left out, it is the same log as run.csv",)


def test_a_command_leaves_nothing_unpacked_behind(plain: Path, tmp_path: Path) -> None:
    archive = zipped(tmp_path / "mail.zip", {"run.csv": plain.read_bytes()})
    apart = tmp_path / "apart"
    apart.mkdir()
    look = [sys.executable, "-m", "tuneledger", "look", str(archive), "--no-memory"]
    done = subprocess.run(
        look, check=False, env={**os.environ, "TMPDIR": str(apart)}, capture_output=True
    )
    assert done.returncode in (0, 1, 3), done.stderr
    assert not list(apart.iterdir())


def test_an_archive_that_points_outside_itself_is_damaged(plain: Path, tmp_path: Path) -> None:
    """Bytes lost from the middle: its table then tells places before the beginning of the file."""
    path = zipped(
        tmp_path / "mail.zip", {"run.csv": plain.read_bytes(), "again.csv": b"a,b\n1,2\n"}
    )
    whole = path.read_bytes()
    path.write_bytes(whole[:200] + whole[400:])
    with pytest.raises(LogError, match="it is packed, and damaged"):
        open_log(path)


def tarred(content: bytes) -> bytes:
    buffer = io.BytesIO()
    with tarfile.open(fileobj=buffer, mode="w") as archive:
        member = tarfile.TarInfo("run.csv")
        member.size = len(content)
        archive.addfile(member, io.BytesIO(content))
    return buffer.getvalue()


@pytest.mark.parametrize(
    ("pack", "form"),
    [
        (bz2.compress, "bzip2"),
        (lzma.compress, "xz"),
        (tarred, "tar"),
        (lambda content: gzip.compress(tarred(content)), "tar"),
        (lambda content: gzip.compress(gzip.compress(content)), "gzip within what is packed"),
        (lambda content: bz2.compress(tarred(content)), "bzip2"),
    ],
)
def test_what_is_packed_in_another_way_is_told_as_packed(
    pack: Callable[[bytes], bytes], form: str, plain: Path, tmp_path: Path
) -> None:
    packed = tmp_path / "run.csv"
    packed.write_bytes(pack(plain.read_bytes()))
    with pytest.raises(LogError, match=f"in a form that is not read .{form}.*Unpack it") as caught:
        open_log(packed)
    assert caught.value.faults[0].file == "run.csv"


def test_a_zip_in_a_zip_is_told_as_packed(plain: Path, tmp_path: Path) -> None:
    inner = zipped(tmp_path / "inner.zip", {"run.csv": plain.read_bytes()}).read_bytes()
    outer = zipped(tmp_path / "mail.zip", {"later.zip": inner})
    with pytest.raises(LogError, match="zip within what is packed already"):
        open_log(outer)


def test_a_file_without_a_name_in_a_zip_is_left_out(tmp_path: Path) -> None:
    named = {"Xnotes": b"1,2", "run.csv": table().write_csv().encode()}
    path = zipped(tmp_path / "mail.zip", named)
    path.write_bytes(path.read_bytes().replace(b"Xnotes", b"\0notes"))  # a name ends at a zero
    assert open_log(path).samples == ROWS
