"""Bytes to text: refuses what is no text file, finds the encoding of what is."""

import codecs
import re
from dataclasses import dataclass

from batches.loggerfile.bounds import CONTROL_SHARE, MAX_BYTES, MEGABYTE
from batches.loggerfile.errors import LoggerFileError

_EXPORT = "Export the readings from the logger as CSV or text and bring that file."
_SAVE_AS_CSV = "Open it and save the sheet with the readings as CSV, then bring that."
_UNPACK = "Unpack it and bring the text file inside."

_KIND_BY_SIGNATURE = (
    (b"%PDF", "a PDF document", _EXPORT),
    (b"\x89PNG", "a picture (PNG)", _EXPORT),
    (b"\xff\xd8\xff", "a picture (JPEG)", _EXPORT),
    (b"GIF8", "a picture (GIF)", _EXPORT),
    (b"II*\x00", "a picture (TIFF)", _EXPORT),
    (b"\xd0\xcf\x11\xe0", "an old spreadsheet or document (XLS or DOC)", _SAVE_AS_CSV),
    (b"\x1f\x8b", "a compressed file (gzip)", _UNPACK),
    (b"7z\xbc\xaf", "a compressed folder (7z)", _UNPACK),
    (b"Rar!", "a compressed folder (RAR)", _UNPACK),
    (b"SQLite format", "a database", _EXPORT),
    (b"\x7fELF", "a program", _EXPORT),
    (b"{\\rtf", "a word-processor document (RTF)", _EXPORT),
)
_ZIP_SIGNATURE = b"PK\x03\x04"
_KIND_BY_CONTENT_OF_ZIP = (
    (b"xl/workbook", "a spreadsheet (XLSX)", _SAVE_AS_CSV),
    (b"opendocument.spreadsheet", "a spreadsheet (ODS)", _SAVE_AS_CSV),
    (b"word/document", "a word-processor document (DOCX)", _EXPORT),
    (b"", "a compressed folder (ZIP)", _UNPACK),
)
_KIND_OF_TEXT = (
    (re.compile(r"<!doctype html|<html", re.IGNORECASE), "a web page (HTML)"),
    (re.compile(r"<\?xml|<\w+[\s>]"), "an XML file"),
    (re.compile(r'\{\s*["}]|\[\s*[\[{]'), "a JSON file"),
)
_MARKS = (
    (codecs.BOM_UTF8, "utf-8", "UTF-8 with a byte-order mark"),
    (codecs.BOM_UTF32_LE, "utf-32-le", "UTF-32, little end first"),
    (codecs.BOM_UTF32_BE, "utf-32-be", "UTF-32, big end first"),
    (codecs.BOM_UTF16_LE, "utf-16-le", "UTF-16, little end first"),
    (codecs.BOM_UTF16_BE, "utf-16-be", "UTF-16, big end first"),
)
_UNMARKED_UTF16 = (
    ("utf-16-le", "UTF-16, little end first, without a byte-order mark", 0),
    ("utf-16-be", "UTF-16, big end first, without a byte-order mark", 1),
)
_SINGLE_BYTE = (
    ("cp1252", "Windows-1252 (Western European)"),
    ("latin-1", "Latin-1 (Western European)"),
)
_CONTROLS = re.compile("[\x00-\x08\x0e-\x19\x1b-\x1f\ufffd]")


@dataclass(frozen=True, slots=True)
class Decoded:
    """The text of a file and the name of its encoding for people."""

    text: str
    encoding: str


def decode(data: bytes, *, name: str) -> Decoded:
    """Turn the bytes of a file into text, or refuse the file."""
    _refuse_by_size(data, name)
    _refuse_by_signature(data, name)
    decoded = _decode_marked(data) or _decode_unmarked(data)
    text = decoded.text.removeprefix("\ufeff").rstrip("\x00\x1a")
    if not text.strip():
        raise LoggerFileError(name, "There is nothing in this file.", _EXPORT)
    if len(_CONTROLS.findall(text)) > CONTROL_SHARE * len(text):
        raise LoggerFileError(name, "This is not a text file.", _EXPORT)
    for pattern, kind in _KIND_OF_TEXT:
        if pattern.match(text.lstrip()):
            raise _wrong_kind(name, kind, _EXPORT)
    return Decoded(text.replace("\x00", ""), decoded.encoding)


def _refuse_by_size(data: bytes, name: str) -> None:
    if len(data) > MAX_BYTES:
        raise LoggerFileError(
            name,
            f"The file has {len(data) // MEGABYTE} MB; at most "
            f"{MAX_BYTES // MEGABYTE} MB are read at once.",
            "Export a shorter span of time, or split the file.",
        )
    if not data:
        raise LoggerFileError(name, "The file is empty (0 bytes).", _EXPORT)


def _refuse_by_signature(data: bytes, name: str) -> None:
    for signature, kind, remedy in _KIND_BY_SIGNATURE:
        if data.startswith(signature):
            raise _wrong_kind(name, kind, remedy)
    if data.startswith(_ZIP_SIGNATURE):
        for content, kind, remedy in _KIND_BY_CONTENT_OF_ZIP:
            if content in data:
                raise _wrong_kind(name, kind, remedy)


def _wrong_kind(name: str, kind: str, remedy: str) -> LoggerFileError:
    return LoggerFileError(name, f"This seems to be {kind}, not a text file.", remedy)


def _decode_marked(data: bytes) -> Decoded | None:
    for mark, codec, label in _MARKS:
        if data.startswith(mark):
            return Decoded(data.decode(codec, errors="replace"), label)
    return None


def _decode_unmarked(data: bytes) -> Decoded:
    start = data[: 10 * 100]
    half = len(start) // 2
    for codec, label, letters_at in _UNMARKED_UTF16:
        nulls = start[1 - letters_at :: 2].count(0)
        if half and nulls > half // 2 and not start[letters_at::2].count(0):
            return Decoded(data.decode(codec, errors="replace"), label)
    try:
        return Decoded(data.decode("utf-8"), "UTF-8")
    except UnicodeDecodeError:
        pass
    codec, label = _SINGLE_BYTE[0]
    try:
        return Decoded(data.decode(codec), label)
    except UnicodeDecodeError:
        codec, label = _SINGLE_BYTE[1]
        return Decoded(data.decode(codec), label)
