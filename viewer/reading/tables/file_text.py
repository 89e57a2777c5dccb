"""A file's bytes, and the text in them whatever its encoding."""

import codecs
import stat
from dataclasses import dataclass
from pathlib import Path

from charset_normalizer import from_bytes

from viewer.physics.nomenclature import counted
from viewer.reading.notation.limits import UnreadableFileError, check_size

_MARKS = (
    (codecs.BOM_UTF8, "utf-8-sig"),
    (codecs.BOM_UTF16_LE, "utf-16"),
    (codecs.BOM_UTF16_BE, "utf-16"),
)
_WESTERN_SIGNS = frozenset("°²³µ±·×§º–—‘’“”€\xa0")
_SINGLE_BYTE = ["cp1252", "latin_1", "cp1250", "cp1251", "cp1253", "cp1254", "mac_roman", "cp437"]
_SAMPLE = 4_000
"""Bytes around the first odd one that the encoding is guessed from."""


@dataclass(frozen=True)
class DecodedText:
    """Text with line ends as \\n, the encoding it had and why, and what was left out."""

    text: str
    encoding: str
    reasons: tuple[str, ...] = ()
    remarks: tuple[str, ...] = ()


def read_bytes(path: Path, source: str) -> bytes:
    """The file's bytes. Raises UnreadableFileError if it is too large or cannot be read.

    Only an ordinary file is opened: a pipe or a device might never end.
    """
    try:
        about = path.stat()
        if not stat.S_ISREG(about.st_mode):
            raise UnreadableFileError(f"{source} is not an ordinary file; name a file of points.")
        check_size(about.st_size, source)
        with open(path, "rb") as stream:
            return stream.read()
    except OSError as error:
        raise UnreadableFileError(f"{source} cannot be read: {error.strerror}.") from error


def decode(data: bytes, source: str, encoding: str | None = None) -> DecodedText:
    """Text from bytes: by `encoding` if it is given, else by byte-order mark, NUL pattern,
    UTF-8, or the likeliest single-byte encoding. Raises UnreadableFileError for binary data.
    """
    used = encoding or _encoding(data)
    try:
        text = data.decode(used)
    except (UnicodeDecodeError, LookupError) as error:
        raise UnreadableFileError(
            f"{source} is not text in the encoding {used[:40]}; save it as UTF-8."
        ) from error
    reasons: tuple[str, ...] = ()
    remarks: tuple[str, ...] = ()
    if used not in ("utf-8", "utf-8-sig", "utf-16") and not data.isascii():
        reasons = (f"The text is in the encoding {used}.",)
    if "\x00" in text:
        remarks = (f"Left out: {counted(text.count(chr(0)), 'NUL character')}.",)
        text = text.replace("\x00", "")
    _check_is_text(text, source)
    return DecodedText(_with_plain_line_ends(text), used, reasons, remarks)


def decode_plain(data: bytes) -> str | None:
    """The quick way for UTF-8; None if it is not that or holds NULs."""
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError:
        return None
    return None if "\x00" in text else _with_plain_line_ends(text)


def _with_plain_line_ends(text: str) -> str:
    return text.replace("\r\n", "\n").replace("\r", "\n") if "\r" in text else text


def _encoding(data: bytes) -> str:
    for mark, name in _MARKS:
        if data.startswith(mark):
            return name
    if wide := _unmarked_utf_16(data[:_SAMPLE]):
        return wide
    try:
        data.decode("utf-8")
    except UnicodeDecodeError as error:
        if _looks_western(data):
            return "cp1252"
        begin = max(0, error.start - _SAMPLE // 2)
        best = from_bytes(
            data[begin : begin + _SAMPLE], cp_isolation=_SINGLE_BYTE, explain=False
        ).best()
        return best.encoding if best is not None else "latin_1"
    return "utf-8"


def _looks_western(data: bytes) -> bool:
    """Whether all signs beyond ASCII are letters or units signs when read as cp1252."""
    try:
        text = data.decode("cp1252")
    except UnicodeDecodeError:
        return False
    return all(sign.isalpha() or sign in _WESTERN_SIGNS for sign in set(text) if sign > "\x7f")


def _unmarked_utf_16(sample: bytes) -> str | None:
    """UTF-16 of Latin text without a mark has a NUL in nearly every second byte."""
    if len(sample) < 8:
        return None
    even, odd = sample[0::2].count(0), sample[1::2].count(0)
    half = len(sample) // 2
    if odd > 0.7 * half and even < 0.1 * half:
        return "utf-16-le"
    if even > 0.7 * half and odd < 0.1 * half:
        return "utf-16-be"
    return None


def _check_is_text(text: str, source: str) -> None:
    sample = text[:20_000]
    odd = sum(1 for mark in sample if mark < " " and mark not in "\t\n\r\x0b\x0c\x1a")
    if odd > 0.02 * len(sample):
        raise UnreadableFileError(
            f"{source} is not a text file; export the trace as CSV or Excel workbook."
        )
