"""Photographs: checked when they come in, and shown only to those who may see them."""

import io
from datetime import UTC, datetime
from zoneinfo import ZoneInfo

import pytest
from django.core.exceptions import ValidationError
from django.core.files.uploadedfile import SimpleUploadedFile
from PIL import ExifTags, Image

from repairs.photograph_files import checked_photograph, taken_at
from tests.factories import (
    DraftPhotographFactory,
    PhotographFactory,
    PropertyFactory,
    make_crew,
    make_viewer,
)

LONDON = ZoneInfo("Europe/London")


def picture(size=(640, 480), kind="JPEG", mode="RGB", exif=None, colour="sienna") -> bytes:
    out = io.BytesIO()
    Image.new(mode, size, colour).save(out, kind, **({"exif": exif} if exif else {}))
    return out.getvalue()


def upload(content: bytes, name="sill.jpg") -> SimpleUploadedFile:
    return SimpleUploadedFile(name, content)


def opened(prepared) -> Image.Image:
    return Image.open(io.BytesIO(prepared.content))


def refusal(content: bytes, name="sill.jpg") -> str:
    with pytest.raises(ValidationError) as refused:
        checked_photograph(upload(content, name))
    return str(refused.value.messages[0])


def test_a_photograph_is_kept_as_jpeg_no_larger_than_needed():
    kept = opened(checked_photograph(upload(picture((4000, 3000)))))
    assert (kept.format, kept.size) == ("JPEG", (2400, 1800))


def test_a_small_photograph_is_not_blown_up():
    assert opened(checked_photograph(upload(picture((300, 200))))).size == (300, 200)


@pytest.mark.parametrize(("kind", "mode"), [("PNG", "RGBA"), ("PNG", "P"), ("WEBP", "RGB")])
def test_other_kinds_of_picture_become_jpeg(kind, mode):
    colour = 0 if mode == "P" else "sienna"
    kept = opened(checked_photograph(upload(picture(kind=kind, mode=mode, colour=colour))))
    assert kept.format == "JPEG"


def test_a_see_through_picture_stands_on_white():
    clear = picture(kind="PNG", mode="RGBA", colour=(0, 0, 0, 0))
    assert opened(checked_photograph(upload(clear))).getpixel((5, 5)) == (255, 255, 255)


def exif_of_a_phone() -> Image.Exif:
    exif = Image.Exif()
    exif[ExifTags.Base.Orientation] = 6
    exif[ExifTags.Base.Make] = "Camera of an owner"
    exif.get_ifd(ExifTags.IFD.Exif)[ExifTags.Base.DateTimeOriginal] = "2026:05:04 16:20:00"
    exif.get_ifd(ExifTags.IFD.GPSInfo)[ExifTags.GPS.GPSLatitude] = (51.0, 30.0, 0.0)
    return exif


def test_a_photograph_stands_upright_and_forgets_where_it_was_taken():
    kept = opened(checked_photograph(upload(picture(exif=exif_of_a_phone()))))
    assert kept.size == (480, 640)
    assert not kept.getexif().get_ifd(ExifTags.IFD.GPSInfo)
    assert ExifTags.Base.Make not in kept.getexif()


def test_when_it_was_taken_is_read_by_the_clock_of_the_property():
    kept = checked_photograph(upload(picture(exif=exif_of_a_phone())))
    assert taken_at(io.BytesIO(kept.content), LONDON) == datetime(2026, 5, 4, 15, 20, tzinfo=UTC)


def test_a_photograph_that_says_no_time_has_none():
    assert taken_at(io.BytesIO(checked_photograph(upload(picture())).content), LONDON) is None


def test_a_text_file_named_jpg_is_refused():
    assert "is not a photograph that can be read" in refusal(b"just some words\n" * 50)


def test_half_a_photograph_is_refused():
    out = io.BytesIO()
    Image.effect_noise((800, 600), 60).convert("RGB").save(out, "JPEG")
    assert "is not a photograph" in refusal(out.getvalue()[: out.tell() // 2])


def test_half_a_photograph_is_refused_also_after_a_document_was_made():
    import weasyprint  # noqa: F401

    assert "is not a photograph" in refusal(picture((900, 700))[:-600])


def test_a_heic_photograph_is_refused_with_what_to_do():
    assert "Set the camera to JPEG" in refusal(b"\0\0\0\x18ftypheic" + b"\0" * 100, "IMG.HEIC")


def test_forty_megabytes_are_refused_with_the_limit():
    sentence = refusal(b"\xff\xd8" + b"\0" * (40 * 1024 * 1024))
    assert "40 MB" in sentence
    assert "25 MB" in sentence


def test_a_picture_of_too_many_pixels_is_refused_before_it_is_unpacked():
    bomb = picture((20_000, 20_000), kind="PNG", mode="1", colour=1)
    assert len(bomb) < 1_000_000
    assert "million pixels" in refusal(bomb)


# Served


@pytest.fixture
def photograph(db):
    return PhotographFactory()


def test_the_crew_sees_a_photograph(client, photograph):
    client.force_login(make_crew())
    answer = client.get(photograph.get_absolute_url())
    assert answer.status_code == 200
    assert answer["Content-Type"] == "image/jpeg"
    assert answer["X-Content-Type-Options"] == "nosniff"
    assert answer["Content-Disposition"] == "inline"
    assert "private" in answer["Cache-Control"]


def test_a_small_copy_is_made_once(client, photograph):
    client.force_login(make_crew())
    for _ in range(2):
        answer = client.get(photograph.get_absolute_url() + "?size=small")
        assert Image.open(io.BytesIO(answer.getvalue())).format == "JPEG"
    folder = photograph.file.storage.listdir("/".join(photograph.file.name.split("/")[:2]))
    assert sum("small" in name for name in folder[1]) == 1


def test_a_viewer_sees_only_photographs_of_the_own_properties(client, photograph):
    client.force_login(make_viewer(PropertyFactory()))
    assert client.get(photograph.get_absolute_url()).status_code == 404
    client.force_login(make_viewer(photograph.member.building.property))
    assert client.get(photograph.get_absolute_url()).status_code == 200


def test_a_missing_file_is_not_found(client, photograph):
    photograph.file.storage.delete(photograph.file.name)
    client.force_login(make_crew())
    assert client.get(photograph.get_absolute_url()).status_code == 404


def test_a_photograph_in_a_draft_is_seen_by_its_own_person_only(client, db):
    crew = make_crew()
    held = DraftPhotographFactory(draft__user=crew)
    client.force_login(crew)
    assert client.get(f"/photographs/draft/{held.pk}/").status_code == 200
    client.force_login(make_crew())
    assert client.get(f"/photographs/draft/{held.pk}/").status_code == 404
