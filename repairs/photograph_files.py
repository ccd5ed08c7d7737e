"""Photograph files: checked when they come in, shrunk, and kept without where they were taken."""

from __future__ import annotations

import hashlib
import io
from dataclasses import dataclass
from datetime import datetime, tzinfo
from typing import IO, TYPE_CHECKING

from django.core.exceptions import ValidationError
from django.core.files.base import ContentFile
from PIL import ExifTags, Image, ImageFile, ImageOps, UnidentifiedImageError

if TYPE_CHECKING:
    from django.core.files.uploadedfile import UploadedFile

MOST_BYTES = 25 * 1024 * 1024
MOST_PIXELS = 80_000_000
LONGEST_SIDE = 2400
SMALL_SIDE = 480
QUALITY = 85
READABLE = ["JPEG", "PNG", "WEBP"]
HEIC_BRANDS = {b"heic", b"heix", b"hevc", b"hevx", b"heim", b"heis", b"mif1", b"msf1", b"avif"}
EXIF_TIME = "%Y:%m:%d %H:%M:%S"


@dataclass(frozen=True)
class PreparedPhotograph:
    """A photograph fit to be kept: a JPEG of ours, upright, no larger than needed."""

    content: bytes
    sha256: str  # of the file as it was sent
    original_name: str

    def file(self) -> ContentFile[bytes]:
        return ContentFile(self.content, name="photograph.jpg")


def checked_photograph(upload: UploadedFile) -> PreparedPhotograph:
    """Check an uploaded file and re-encode it; a ValidationError says what to do instead.

    Where it was taken is dropped; when it was taken stays in the file (see `taken_at`)."""
    name = (upload.name or "This photograph")[-200:]
    if (upload.size or 0) > MOST_BYTES:
        size = (upload.size or 0) / 1024 / 1024
        raise ValidationError(
            f"“{name}” is {size:.0f} MB; the most is 25 MB. "
            "Send it smaller: choose a lower resolution in the camera, or crop it.",
            code="photograph-too-large",
        )
    data = upload.read()
    try:
        return PreparedPhotograph(_re_encoded(data), hashlib.sha256(data).hexdigest(), name)
    except Image.DecompressionBombError:
        raise _too_many_pixels(name) from None
    except _TooManyPixels:
        raise _too_many_pixels(name) from None
    except (UnidentifiedImageError, OSError, SyntaxError, ValueError, EOFError):
        raise _unreadable(name, data) from None


class _TooManyPixels(Exception):
    pass


def _too_many_pixels(name: str) -> ValidationError:
    return ValidationError(
        f"“{name}” has more than {MOST_PIXELS // 1_000_000} million pixels. "
        "Send it at a lower resolution.",
        code="photograph-too-many-pixels",
    )


def _unreadable(name: str, data: bytes) -> ValidationError:
    if data[4:8] == b"ftyp" and data[8:12] in HEIC_BRANDS:
        return ValidationError(
            f"“{name}” is a HEIC photograph, which cannot be read here. Set the camera to JPEG "
            "(often called ‘most compatible’), or send a copy saved as JPEG.",
            code="photograph-heic",
        )
    return ValidationError(
        f"“{name}” is not a photograph that can be read. Send a JPEG, PNG or WebP picture.",
        code="photograph-unreadable",
    )


def _re_encoded(data: bytes) -> bytes:
    # WeasyPrint, once loaded, has every picture of the process read even if half of it is missing.
    ImageFile.LOAD_TRUNCATED_IMAGES = False
    with Image.open(io.BytesIO(data), formats=READABLE) as probe:
        if probe.width * probe.height > MOST_PIXELS:
            raise _TooManyPixels
        probe.verify()
    with Image.open(io.BytesIO(data), formats=READABLE) as image:
        exif = _only_the_time(image.getexif())
        image.draft("RGB", (LONGEST_SIDE, LONGEST_SIDE))
        upright = ImageOps.exif_transpose(image)
        upright.thumbnail((LONGEST_SIDE, LONGEST_SIDE), Image.Resampling.LANCZOS)
        return _as_jpeg(upright, exif)


def _only_the_time(exif: Image.Exif) -> Image.Exif | None:
    kept = Image.Exif()
    times = exif.get_ifd(ExifTags.IFD.Exif)
    wanted = (ExifTags.Base.DateTimeOriginal, ExifTags.Base.OffsetTimeOriginal)
    if found := {int(tag): times[tag] for tag in wanted if isinstance(times.get(tag), str)}:
        kept.get_ifd(ExifTags.IFD.Exif).update(found)
        return kept
    return None


def _as_jpeg(image: Image.Image, exif: Image.Exif | None = None) -> bytes:
    if image.has_transparency_data:
        backed = Image.new("RGBA", image.size, "white")
        backed.alpha_composite(image.convert("RGBA"))
        image = backed
    plain = image.convert("RGB")
    plain.info.clear()  # A comment or a note in XMP would be written along, places included.
    out = io.BytesIO()
    plain.save(
        out, "JPEG", quality=QUALITY, optimize=True, **({} if exif is None else {"exif": exif})
    )
    return out.getvalue()


def taken_at(file: IO[bytes], zone: tzinfo) -> datetime | None:
    """When the camera says that it was taken; `zone` is for cameras that say no offset."""
    file.seek(0)
    with Image.open(file) as image:
        times = image.getexif().get_ifd(ExifTags.IFD.Exif)
    file.seek(0)
    stamp = times.get(ExifTags.Base.DateTimeOriginal)
    if not stamp:
        return None
    offset = times.get(ExifTags.Base.OffsetTimeOriginal) or ""
    try:
        if offset:
            return datetime.strptime(f"{stamp} {offset}", f"{EXIF_TIME} %z")
        return datetime.strptime(stamp, EXIF_TIME).replace(tzinfo=zone)
    except ValueError:
        return None


def small_name(name: str) -> str:
    """What the small copy of a stored photograph is called."""
    return f"{name.removesuffix('.jpg')}-small.jpg"


def small_copy(file: IO[bytes]) -> bytes:
    """The same photograph, its longest side 480 pixels."""
    file.seek(0)
    with Image.open(file) as image:
        image.draft("RGB", (SMALL_SIDE, SMALL_SIDE))
        image.thumbnail((SMALL_SIDE, SMALL_SIDE), Image.Resampling.LANCZOS)
        return _as_jpeg(image)
