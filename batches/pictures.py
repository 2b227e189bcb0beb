"""Pictures that people upload: written anew as plain JPEG, or refused with a sentence."""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from io import BytesIO

from PIL import Image, ImageFile, ImageOps

from batches.errors import RecordError

LARGEST_MB = 20  # own figure: a phone's picture is a few megabytes
MOST_MEGAPIXELS = 64  # own figure: more than phones take; a bomb has far more
LONGEST_EDGE_PX = 2000  # own figure: fine enough to read a tag or a chart
JPEG_QUALITY = 85  # own figure
FORMATS = ("JPEG", "PNG", "WEBP")
KIND = "image/jpeg"

_MB = 1024 * 1024
_MEGA = 1000 * 1000
_NO_PICTURE = (OSError, ValueError, SyntaxError, IndexError, EOFError, TypeError)
_BOMB = (Image.DecompressionBombError, Image.DecompressionBombWarning)


@dataclass(frozen=True, slots=True)
class Picture:
    """A picture without anything but its points: no place, no camera, no comment."""

    data: bytes
    width: int
    height: int


def check_size(size: int) -> None:
    """Refuse an upload that is too large, before it is read."""
    if size > LARGEST_MB * _MB:
        raise RecordError(
            "photo",
            f"The picture is larger than {LARGEST_MB} MB. Take it smaller, or send "
            "it smaller.",
            "too-large",
        )


def written_anew(data: bytes) -> Picture:
    """Return the picture as JPEG, upright and made smaller, with nothing hidden in it."""
    check_size(len(data))
    try:
        with _only_whole(), Image.open(BytesIO(data), formats=FORMATS) as opened:
            _check_points(opened)
            opened.draft("RGB", (LONGEST_EDGE_PX, LONGEST_EDGE_PX))
            upright = ImageOps.exif_transpose(opened)
            small = _flat(upright)
            small.thumbnail((LONGEST_EDGE_PX, LONGEST_EDGE_PX))
            small.info = {}  # comments and profiles would be written again
            written = BytesIO()
            small.save(written, "JPEG", quality=JPEG_QUALITY)
    except _BOMB as error:
        raise _too_many_points() from error
    except _NO_PICTURE as error:
        raise RecordError(
            "photo",
            "This file is no picture that can be read. Send a JPEG, PNG or WebP.",
            "not-a-picture",
        ) from error
    return Picture(written.getvalue(), small.width, small.height)


@contextmanager
def _only_whole() -> Iterator[None]:
    """Refuse pictures that break off; the PDF engine lets them pass for everybody."""
    before = ImageFile.LOAD_TRUNCATED_IMAGES
    ImageFile.LOAD_TRUNCATED_IMAGES = False
    try:
        yield
    finally:
        ImageFile.LOAD_TRUNCATED_IMAGES = before


def _check_points(opened: Image.Image) -> None:
    width, height = opened.size
    if width * height > MOST_MEGAPIXELS * _MEGA:
        raise _too_many_points()


def _too_many_points() -> RecordError:
    return RecordError(
        "photo",
        f"The picture has more than {MOST_MEGAPIXELS} million points. Take it again "
        "with the phone's usual setting.",
        "too-many-points",
    )


def _flat(picture: Image.Image) -> Image.Image:
    """Return a picture without transparency, on white."""
    if picture.has_transparency_data:
        seen = picture.convert("RGBA")
        paper = Image.new("RGBA", seen.size, "white")
        return Image.alpha_composite(paper, seen).convert("RGB")
    return Image.merge("RGB", picture.convert("RGB").split())
