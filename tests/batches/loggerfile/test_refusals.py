"""Files that are refused: where, what and what to do."""

import hashlib
import io
import pickle
import zipfile
from datetime import datetime

import pytest

from batches.loggerfile import MAX_BYTES, LoggerFileError, understand
from tests.batches.loggerfile.build import ZONE, read


def zipped(*names: str) -> bytes:
    held = io.BytesIO()
    with zipfile.ZipFile(held, "w") as archive:
        for name in names:
            archive.writestr(name, "invented")
    return held.getvalue()


@pytest.mark.parametrize(
    ("data", "what"),
    [
        (b"", "empty"),
        (b"  \r\n\t ", "nothing in this file"),
        (b"\xef\xbb\xbf", "nothing in this file"),
        (zipped("xl/workbook.xml"), "spreadsheet (XLSX)"),
        (zipped("word/document.xml"), "word-processor"),
        (zipped("readings.csv"), "compressed folder (ZIP)"),
        (b"%PDF-1.7 invented", "PDF"),
        (b"\x89PNG\r\n\x1a\n....", "picture (PNG)"),
        (b"\xff\xd8\xff\xe0 invented", "picture (JPEG)"),
        (b"\xd0\xcf\x11\xe0 invented", "XLS"),
        (b"\x1f\x8b invented", "gzip"),
        (b"<!DOCTYPE html><html></html>", "web page"),
        (b"<?xml version='1.0'?><a/>", "XML"),
        (b'{"readings": []}', "JSON"),
        (bytes(range(32)) * 9, "not a text file"),
        (b"just a few words", "No columns"),
        (b"a,b\nc,d\n", "No columns"),
        (b"Time,Note\n2025-06-30 10:00,hello\n", "date and a number"),
        (b"Time,Battery (V)\n2025-06-30 10:00,3.1\n", "No column holds temperatures"),
        (b"Time,P1 (F)\n2025-02-30 10:00,71.2\n", "No reading is left"),
        (b"Time,P1 (F)\n2031-01-01 10:00,71.2\n", "in the future"),
        (b"1,2\n" * 3, "No column says when"),
        (b"2025-06-30 10:00" + b",1" * 300, "more than 256 columns"),
        (b"2025-06-30 10:00,1\n" + b"x" * 30_000, "30,000 characters"),
        (b"1,2\n" * 1_000_002, "1,000,002 lines"),
    ],
)
def test_file_of_the_wrong_kind_is_refused_with_what_it_is(
    data: bytes, what: str
) -> None:
    with pytest.raises(LoggerFileError) as caught:
        read(data)
    assert what in caught.value.what
    assert caught.value.where.startswith("invented.csv")
    assert caught.value.remedy.endswith(".")
    assert caught.value.what in str(caught.value)


def test_file_that_is_too_large_is_refused() -> None:
    with pytest.raises(LoggerFileError, match="at most 32 MB"):
        read(b"x" * (MAX_BYTES + 1))


def test_error_survives_pickling() -> None:
    error = LoggerFileError("file, line 3", "wrong.", "Do this.")
    assert str(pickle.loads(pickle.dumps(error))) == str(error)  # noqa: S301


def test_hash_and_size_are_those_of_the_original_bytes() -> None:
    data = "\ufeffTime;P1 °F\r\n2025-06-30 10:00;71,2\r\n".encode()
    understood = read(data)
    assert understood.sha256 == hashlib.sha256(data).hexdigest()
    assert understood.size_bytes == len(data)


def test_now_without_a_zone_is_a_mistake_of_the_caller() -> None:
    with pytest.raises(ValueError, match="time zone"):
        understand(b"x", name="x", time_zone=ZONE, now=datetime(2025, 1, 1))  # noqa: DTZ001
