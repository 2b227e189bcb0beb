"""Everything that a producer owns in one zip, made piece by piece and never whole in memory."""

import hashlib
import re
import tempfile
import zipfile
from collections.abc import Callable, Iterable, Iterator
from datetime import datetime
from functools import partial
from pathlib import Path
from typing import IO, Any, cast

from django.conf import settings

from reports import csv_text, export_collect
from reports.collect import Wish, batch_record
from reports.documents import plan_pdf, record_pdf
from reports.log_collect import log_kinds, log_sheet
from reports.log_documents import log_pdf
from reports.pdf import PdfUnavailable
from reports.plan_collect import signed_sheet

CHUNK = 256 * 1024  # bytes
SUMS = "SHA256SUMS"
LEFT_OUT = "NOT-INCLUDED.txt"
README = """\
Everything that {name} has on record, as it was on {at}.
Made by Brinewright {version}.

batches/    Every batch in the open format: one JSON document each, every number with its
            own digits, the loggers' series included.
tables/     Every table, all columns, one CSV file each (UTF-8, commas, instants as
            ISO 8601 in UTC). Rows are only ever added: a row with "corrects_id" corrects
            another, and "withdrawn" says that it was taken back. The packed series of
            the loggers are in batches/ and files/ instead; what signs people in is left
            out.
records/    The record of each batch as PDF.
plans/      Each signed plan as PDF.
logbook/    Sanitation, receiving, training, complaints, visits, papers, maintenance: PDF.
files/      Uploaded files as they came, under their place in the storage.
{sums}  The SHA-256 of every file here; sha256sum -c {sums} checks them.

Cells of the tables. A cell that begins with = + - @, a tab or a line end could be run as
a formula by a spreadsheet, so an apostrophe stands before it, and before one that begins
with an apostrophe. Take one leading apostrophe away to have the text as it was typed. A
cell that is nothing but a number, such as -18.0, stands as it is.

The tables are those of one instant. The documents were made right after it, so that an
entry of those minutes can be in a document and not in the tables.

Whether the food may be sold is decided by your inspector, your process authority and the
local code, not by this software.
"""

Progress = Callable[[str, int, int], None]
Piece = tuple[str, Callable[[], Iterable[bytes]]]


class _Pipe:
    """Takes what the zip writes and hands it on; it cannot go back, so nothing stays."""

    def __init__(self) -> None:
        self._parts: list[bytes] = []

    def write(self, data: bytes) -> int:
        self._parts.append(bytes(data))
        return len(data)

    def flush(self) -> None:
        """Do nothing: all is taken when it is asked for."""

    def taken(self) -> bytes:
        """Return what came since the last time."""
        data = b"".join(self._parts)
        self._parts.clear()
        return data


def _silent(what: str, done: int, total: int) -> None:
    pass


def export_chunks(
    producer: Any, *, at: datetime, progress: Progress = _silent
) -> Iterator[bytes]:
    """Yield the zip piece by piece; what cannot be made is named in it, and why."""
    pipe = _Pipe()
    sums: list[tuple[str, str]] = []
    left_out: list[str] = []
    with (
        tempfile.TemporaryDirectory() as folder,
        zipfile.ZipFile(cast("IO[bytes]", pipe), "w", zipfile.ZIP_DEFLATED) as zipped,
    ):
        pieces = _pieces(producer, at, _tables(producer, Path(folder)))
        for done, (name, content) in enumerate(pieces, start=1):
            try:
                parts = content()
            except (PdfUnavailable, OSError) as problem:
                left_out.append(f"{name}: {problem}")
                continue
            yield from _member(zipped, pipe, name, parts, sums)
            progress(name.split("/")[0], done, len(pieces))
        if left_out:
            text = "\n".join(left_out) + "\n"
            yield from _member(zipped, pipe, LEFT_OUT, [text.encode()], sums)
        zipped.writestr(SUMS, "".join(f"{digest}  {name}\n" for digest, name in sums))
    yield pipe.taken()


def file_name(producer: Any, at: datetime) -> str:
    """Return what the file is called."""
    return f"{producer.slug}-{at:%Y-%m-%d}.zip"


def _member(
    zipped: zipfile.ZipFile,
    pipe: _Pipe,
    name: str,
    parts: Iterable[bytes],
    sums: list[tuple[str, str]],
) -> Iterator[bytes]:
    digest = hashlib.sha256()
    with zipped.open(name, "w", force_zip64=True) as out:
        for part in parts:
            out.write(part)
            digest.update(part)
            if data := pipe.taken():
                yield data
    sums.append((digest.hexdigest(), name))
    yield pipe.taken()


def _tables(producer: Any, folder: Path) -> list[Path]:
    """Write the tables of one instant to the disk, so that no reader is waited for."""
    paths = []
    with export_collect.one_instant():
        for model in export_collect.owned_models():
            path = folder / f"{model._meta.model_name}.csv"
            titles = [each.attname for each in export_collect.columns_of(model)]
            rows = export_collect.table(model, producer)
            with path.open("wb") as out:
                out.writelines(csv_text.lines(titles, rows))
            paths.append(path)
    return paths


def _pieces(producer: Any, at: datetime, tables: list[Path]) -> list[Piece]:
    readme = README.format(
        name=producer.name,
        at=at.isoformat(timespec="seconds"),
        version=settings.BRINEWRIGHT_VERSION,
        sums=SUMS,
    )
    codes = export_collect.batch_codes(producer)
    pieces: list[Piece] = [("README.txt", partial(_text, readme))]
    pieces += [(f"tables/{path.name}", partial(_read, path)) for path in tables]
    pieces += [
        (f"batches/{code}.json", partial(_batch, producer, code, at)) for code in codes
    ]
    pieces += [
        (f"records/{code}.pdf", partial(_record, producer, code, at)) for code in codes
    ]
    pieces += [
        (f"plans/product-{pk}-v{number}.pdf", partial(_plan, producer, pk, number, at))
        for pk, number in export_collect.signed_plans_of(producer)
    ]
    pieces += [
        (f"logbook/{kind}.pdf", partial(_log, producer, kind, at))
        for kind in log_kinds()
    ]
    pieces += [
        (f"files/{_safe_name(name)}", partial(_opened, file))
        for name, file in export_collect.files_of(producer)
    ]
    return pieces


def _text(text: str) -> Iterable[bytes]:
    return [text.encode()]


def _read(path: Path) -> Iterable[bytes]:
    return _chunks(path.open("rb"))


def _batch(producer: Any, code: str, at: datetime) -> Iterable[bytes]:
    return [export_collect.batch_file(producer, code, at)]


def _record(producer: Any, code: str, at: datetime) -> Iterable[bytes]:
    return [record_pdf(batch_record(producer, code, Wish(at=at))).content]


def _plan(producer: Any, pk: int, number: int, at: datetime) -> Iterable[bytes]:
    return [plan_pdf(signed_sheet(producer, pk, number, paper="", at=at)).content]


def _log(producer: Any, kind: str, at: datetime) -> Iterable[bytes]:
    return [log_pdf(log_sheet(producer, kind, at=at)).content]


def _opened(file: Any) -> Iterator[bytes]:
    """Open the file at once, so that one that is gone is told of, then read it."""
    return _chunks(file.storage.open(file.name, "rb"))


def _chunks(file: Any) -> Iterator[bytes]:
    with file:
        while chunk := file.read(CHUNK):
            yield chunk


def _safe_name(name: str) -> str:
    """Return a path of the storage that stays inside the folder it is unpacked into."""
    parts = [re.sub(r"[^A-Za-z0-9._-]+", "-", part) for part in name.split("/")]
    return "/".join(part for part in parts if part.strip("."))
