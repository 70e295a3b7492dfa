"""What a camera writes beside a picture stays out of the report; the picture stays what it was.

Pictures are made by hand after the standards and checked with another decoder (Pillow) where there is one.
"""

import io
import random
import re
import struct
import zlib
from base64 import b64decode
from dataclasses import replace

import pytest

from guide.edge.reporting.stripping import Damaged, stripped
from tests.reports import long_report

SECRETS = (b"51 deg N", b"Serial 4711", b"Somebody", b"a film behind the picture", b"PREVIEW")


def segment(mark: int, body: bytes) -> bytes:
    return bytes((0xFF, mark)) + struct.pack(">H", len(body) + 2) + body


def exif(orientation: int, *, order: str = ">") -> bytes:
    """An Exif block with an owner, the camera's position and how it was held."""
    entries = [(0x010E, 2, 9, 0), (0x0112, 3, 1, orientation), (0x8825, 4, 1, 0)]
    packed = b"".join(
        struct.pack(order + "HHI", tag, form, count) + struct.pack(order + ("H2x" if form == 3 else "I"), value)
        for tag, form, count, value in entries
    )
    start = (b"MM\0*" if order == ">" else b"II*\0") + struct.pack(order + "I", 8)
    return b"Exif\0\0" + start + struct.pack(order + "H", 3) + packed + b"\0\0\0\0" + b"Somebody\0 51 deg N"


# An 8 by 8 grey dot: one component, one Huffman code of one bit for "nothing more" (ITU-T T.81 annex B and F).
QUANT = segment(0xDB, b"\0" + b"\x01" * 64)
FRAME = segment(0xC0, b"\x08\0\x08\0\x08\x01\x01\x11\0")
TABLES = segment(0xC4, b"\0" + b"\x01" + b"\0" * 15 + b"\0") + segment(0xC4, b"\x10" + b"\x01" + b"\0" * 15 + b"\0")
SCAN = segment(0xDA, b"\x01\x01\0\0\x3f\0") + b"\x3f"
JFIF = b"JFIF\0\x01\x02\0\0\x48\0\x48"
ICC = segment(0xE2, b"ICC_PROFILE\0\x01\x01" + b"profile")


def jpeg(*, orientation: int = 6, order: str = ">") -> bytes:
    return b"".join((
        b"\xff\xd8", segment(0xE0, JFIF + b"\x01\x01" + b"PRE"), segment(0xE0, b"JFXX\0\x10PREVIEW"),
        segment(0xE1, exif(orientation, order=order)), segment(0xE1, b"http://ns.adobe.com/xap/1.0/\0<x>Somebody</x>"),
        segment(0xE2, b"FPXR\0 Serial 4711"), segment(0xED, b"Photoshop 3.0\0Somebody"), segment(0xEE, b"Somebody"),
        b"\xff\xff\xff", segment(0xFE, b"51 deg N")[1:], QUANT, FRAME, TABLES, SCAN, b"\xff\xd9",
        b"a film behind the picture",
    ))  # fmt: skip


def chunk(kind: bytes, data: bytes) -> bytes:
    return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))


def png() -> bytes:
    return b"\x89PNG\r\n\x1a\n" + b"".join((
        chunk(b"IHDR", struct.pack(">IIBBBBB", 1, 1, 8, 0, 0, 0, 0)), chunk(b"pHYs", struct.pack(">IIB", 1, 1, 0)),
        chunk(b"eXIf", exif(1)), chunk(b"tEXt", b"Author\0Somebody"), chunk(b"iTXt", b"XML\0\0\0\0\x0051 deg N"),
        chunk(b"tIME", b"\x07\xea\x01\x05\x09\0\0"), chunk(b"prVt", b"Serial 4711"),
        chunk(b"IDAT", zlib.compress(b"\0\x80")), chunk(b"IEND", b""), b"a film behind the picture",
    ))  # fmt: skip


def gif() -> bytes:
    def extension(label: int, data: bytes) -> bytes:
        return bytes((0x21, label, len(data))) + data + b"\0"

    image = b"\x2c" + struct.pack("<HHHHB", 0, 0, 1, 1, 0) + b"\x02\x02\x44\x01\0"
    return b"".join((
        b"GIF89a", struct.pack("<HHBBB", 1, 1, 0x80, 0, 0), b"\0\0\0\xff\xff\xff", extension(0xFE, b"Somebody"),
        b"\x21\xff\x0bXMP DataXMP\x0bSerial 4711\0", extension(0xF9, b"\0\0\0\0"), image, b";",
        b"a film behind the picture",
    ))  # fmt: skip


MADE = {"jpeg": jpeg, "png": png, "gif": gif}


def pixels(data: bytes) -> tuple:
    pillow = pytest.importorskip("PIL.Image")
    with pillow.open(io.BytesIO(data)) as opened:
        opened.load()
        return opened.size, opened.convert("RGB").tobytes()


@pytest.mark.parametrize("kind", MADE)
def test_nothing_the_camera_wrote_beside_the_picture_is_left(kind):
    made = MADE[kind]()
    assert any(secret in made for secret in SECRETS)
    kept = stripped(kind, made)
    assert not [secret for secret in SECRETS if secret in kept]
    assert stripped(kind, kept) == kept


@pytest.mark.parametrize("kind", MADE)
def test_another_decoder_sees_the_same_picture(kind):
    assert pixels(stripped(kind, MADE[kind]())) == pixels(MADE[kind]())


@pytest.mark.parametrize("order", [">", "<"])
@pytest.mark.parametrize("orientation", range(1, 9))
def test_a_photo_keeps_how_the_camera_was_held_and_nothing_else_of_its_exif(orientation, order):
    pillow = pytest.importorskip("PIL.Image")
    with pillow.open(io.BytesIO(stripped("jpeg", jpeg(orientation=orientation, order=order)))) as opened:
        told = dict(opened.getexif())
    assert told == ({0x0112: orientation} if orientation > 1 else {})


def test_colour_profiles_and_the_density_stay():
    made = jpeg().replace(QUANT, ICC + segment(0xEE, b"Adobe\0\x64\0\0\0\0\0") + QUANT)
    kept = stripped("jpeg", made)
    assert ICC in kept
    assert b"Adobe" in kept
    assert segment(0xE0, JFIF + b"\0\0") in kept


def test_a_picture_in_several_scans_with_restarts_is_kept_byte_for_byte():
    """Stuffed zeros and restart marks belong to the coded data; tables may stand between scans."""
    scans = SCAN + b"\xff\x00\xff\xd0\x12\xff\xff\xd7\x34" + TABLES + SCAN
    whole = b"\xff\xd8" + QUANT + FRAME + TABLES + scans + b"\xff\xd9"
    assert stripped("jpeg", whole) == whole


@pytest.mark.parametrize("kind", MADE)
def test_a_picture_cut_anywhere_is_refused_never_passed_on_unread(kind):
    made = MADE[kind]()
    end = made.index(b"a film")
    for cut in range(end):
        with pytest.raises(Damaged):
            stripped(kind, made[:cut])


@pytest.mark.parametrize("kind", MADE)
def test_a_spoilt_picture_is_refused_or_comes_out_without_a_comment(kind):
    chance, made = random.Random(4), MADE[kind]()
    refused = 0
    for _ in range(3000):
        spoilt = bytearray(made)
        for _ in range(chance.randint(1, 4)):
            spoilt[chance.randrange(len(spoilt))] = chance.randrange(256)
        try:
            assert len(stripped(kind, bytes(spoilt))) <= len(spoilt) + 40
        except Damaged:
            refused += 1
    assert refused > 100


def test_a_photo_in_a_report_says_nothing_of_where_it_was_taken_and_the_file_is_left_alone(tmp_path):
    pytest.importorskip("jinja2")
    pytest.importorskip("typst")
    from guide.edge.reporting.html import bench_html
    from guide.edge.reporting.pdf import bench_pdf
    from guide.edge.reporting.photos import photos_of

    (tmp_path / "board.jpg").write_bytes(jpeg())
    report = replace(long_report(3), facts=(("photos", "board.jpg"),))
    photos = photos_of(report, tmp_path)
    (embedded,) = re.findall(r"data:image/jpeg;base64,([^\"]+)", bench_html(report, photos))
    assert b64decode(embedded) == stripped("jpeg", jpeg())
    printed = bench_pdf(report, photos)
    assert b"DCTDecode" in printed
    assert not [secret for secret in SECRETS if secret in printed]
    assert (tmp_path / "board.jpg").read_bytes() == jpeg()


def test_a_larger_photo_of_another_encoder_is_the_same_picture():
    """Pillow writes it, progressive and plain, with Exif, comment and profile; Pillow reads what is left."""
    pillow = pytest.importorskip("PIL.Image")
    noise = pillow.frombytes("RGB", (61, 47), random.Random(1).randbytes(61 * 47 * 3))
    held = pillow.Exif()
    held[0x0112], held[0x010F] = 8, "Somebody"
    held.get_ifd(0x8825)[2] = (51.0, 30.0, 0.0)
    for progressive in (False, True):
        file = io.BytesIO()
        noise.save(file, "JPEG", exif=held, comment=b"Somebody", progressive=progressive, quality=92)
        kept = stripped("jpeg", file.getvalue())
        assert b"Somebody" not in kept
        assert pixels(kept) == pixels(file.getvalue())
        with pillow.open(io.BytesIO(kept)) as opened:
            assert dict(opened.getexif()) == {0x0112: 8}
