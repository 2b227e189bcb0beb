"""Pictures: written anew without anything hidden in them, or refused with a sentence."""

import struct
import zlib
from io import BytesIO

import pytest
from django.core.files.storage import default_storage
from PIL import Image

from batches import models, recording
from batches.pictures import LONGEST_EDGE_PX, written_anew
from tests import factories
from tests.batches.test_deviations import answered, opened
from tests.batches.test_recording import refused
from tests.factories import at

MAKE, GPS = 0x010F, 0x8825  # tags of the EXIF standard: maker, place
ORIENTATION = 0x0112


def picture(kind="JPEG", size=(40, 30), mode="RGB", **more):
    file = BytesIO()
    Image.new(mode, size, "red" if mode == "RGB" else None).save(file, kind, **more)
    return file.getvalue()


def bomb(width=10_000, height=10_000):
    """Return a PNG that says it has 100 million points, in a few bytes."""

    def chunk(name, data):
        sum_ = zlib.crc32(name + data)
        return struct.pack(">I", len(data)) + name + data + struct.pack(">I", sum_)

    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    return (
        b"\x89PNG\r\n\x1a\n"
        + chunk(b"IHDR", head)
        + chunk(b"IDAT", zlib.compress(b"\0" * 100))
        + chunk(b"IEND", b"")
    )


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
def test_picture_becomes_jpeg(kind):
    made = written_anew(picture(kind))
    with Image.open(BytesIO(made.data)) as read:
        assert read.format == "JPEG"
        assert read.size == (made.width, made.height) == (40, 30)


def test_nothing_hidden_survives():
    exif = Image.Exif()
    exif[MAKE] = "Hidden maker"
    exif[GPS] = {1: "N", 2: (45.0, 30.0, 0.0)}
    data = picture(exif=exif, comment=b"hidden words")
    assert b"Hidden maker" in data
    made = written_anew(data)
    assert b"idden" not in made.data
    with Image.open(BytesIO(made.data)) as read:
        assert not read.getexif()


def test_picture_stands_upright():
    exif = Image.Exif()
    exif[ORIENTATION] = 6  # to be turned by a quarter
    made = written_anew(picture(exif=exif))
    assert (made.width, made.height) == (30, 40)


def test_large_picture_is_made_smaller():
    made = written_anew(picture(size=(LONGEST_EDGE_PX * 2, 300)))
    assert (made.width, made.height) == (LONGEST_EDGE_PX, 150)


@pytest.mark.parametrize(
    ("mode", "kind"),
    [
        ("RGBA", "PNG"),
        ("P", "PNG"),
        ("L", "PNG"),
        ("LA", "PNG"),
        ("1", "PNG"),
        ("I;16", "PNG"),
        ("CMYK", "JPEG"),
    ],
)
def test_every_kind_of_colour_is_taken(mode, kind):
    assert written_anew(picture(kind, mode=mode)).width == 40


@pytest.mark.parametrize(
    "data",
    [
        b"",
        b"<html><script>alert(1)</script></html>",
        b"GIF89a" + b"\0" * 50,
        picture()[:200],
        picture("PNG")[:60],
        b"\x89PNG\r\n\x1a\n" + b"\0" * 40,
        b"\xff\xd8\xff\xe0" + b"A" * 400,
        b"RIFF\x10\0\0\0WEBPVP8 " + b"\0" * 20,
    ],
)
@pytest.mark.parametrize("is_printing", [False, True])
def test_what_is_no_picture_is_refused(data, is_printing, monkeypatch):
    # the PDF engine tells the library, for everybody, to take pictures that break off
    monkeypatch.setattr("PIL.ImageFile.LOAD_TRUNCATED_IMAGES", is_printing)
    with refused("not-a-picture", "photo", "no picture"):
        written_anew(data)


@pytest.mark.parametrize("size", [(10_000, 10_000), (30_000, 30_000), (8001, 8001)])
def test_bomb_is_refused_before_it_is_opened(size):
    with refused("too-many-points", "photo", "million points"):
        written_anew(bomb(*size))


def test_upload_that_is_too_large_is_refused():
    with refused("too-large", "photo"):
        written_anew(b"\0" * (20 * 1024 * 1024 + 1))


@pytest.mark.django_db
class TestKeeping:
    @pytest.fixture
    def response(self):
        deviation = opened(factories.BatchFactory())
        return answered(deviation, "evidence")

    def test_picture_is_kept_under_its_sha256(self, response):
        photo = recording.add_photo(
            response,
            name="C:\\in\\tag.png",
            data=picture("PNG"),
            by=response.by,
            at=at(95),
        )
        assert photo.name == "tag.png"
        with default_storage.open(photo.content.name) as file:
            assert len(file.read()) == photo.size

    def test_same_picture_is_kept_once(self, response):
        told = {"data": picture(), "name": "a", "by": response.by, "at": at(95)}
        assert recording.add_photo(response, **told) == recording.add_photo(
            response, **told
        )
        assert models.Photo.objects.count() == 1

    def test_no_picture_leaves_no_row(self, response):
        with refused("not-a-picture"):
            recording.add_photo(
                response, name="a", data=b"no", by=response.by, at=at(95)
            )
        assert not models.Photo.objects.exists()

    def test_too_many_are_refused(self, response):
        for number in range(12):
            recording.add_photo(
                response,
                name="a",
                data=picture(size=(40 + number, 30)),
                by=response.by,
                at=at(95),
            )
        with refused("too-many", "photo"):
            recording.add_photo(
                response, name="a", data=picture(size=(9, 9)), by=response.by, at=at(95)
            )

    def test_stranger_adds_none(self, response):
        with refused("not-allowed"):
            recording.add_photo(
                response,
                name="a",
                data=picture(),
                by=factories.MemberFactory(),
                at=at(95),
            )
