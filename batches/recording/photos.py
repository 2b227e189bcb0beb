"""Writes: pictures that show what was answered."""

from datetime import datetime
from pathlib import PurePath

from django.db import transaction

from batches.errors import RecordError
from batches.models import Member, Photo, Response
from batches.pictures import written_anew
from batches.recording import files, guards, rows

MOST_PHOTOS = 12  # own figure: of one answer


@transaction.atomic
def add_photo(
    response: Response, *, name: str, data: bytes, by: Member, at: datetime
) -> Photo:
    """Keep a picture with an answer, written anew and under its SHA-256.

    The same picture sent again with the same answer is stored once.
    """
    producer = response.producer
    guards.check_member(by, producer)
    picture = written_anew(data)
    rows.held(response)
    path, sha256 = files.keep(producer, picture.data)
    before = response.photos.filter(sha256=sha256).first()
    if before is not None:
        return before
    if response.photos.count() >= MOST_PHOTOS:
        raise RecordError(
            "photo",
            f"There are {MOST_PHOTOS} pictures with this answer already. Write another "
            "answer for more.",
            "too-many",
        )
    return rows.add(
        Photo,
        producer=producer,
        response=response,
        name=PurePath(name.replace("\\", "/")).name or "photo",
        size=len(picture.data),
        width=picture.width,
        height=picture.height,
        sha256=sha256,
        content=path,
        **rows.signed(by, at),
    )
