"""Pictures without what the camera wrote beside them: place, time, owner, serial numbers, previews, comments.

Kept is what a picture needs to be drawn and shown the right way up; everything else goes, known or not. A file that
does not read as what it says it is raises Damaged, so that nothing passes unstripped. JPEG: ITU-T T.81 annex B, JFIF,
CIPA DC-008 (Exif); PNG: W3C PNG clause 5; GIF: GIF89a. From memory of these; the tests decode with another library.
"""

from __future__ import annotations

import struct
from collections.abc import Iterator


class Damaged(ValueError):
    """The picture ends early or is no such picture."""


def stripped(kind: str, data: bytes) -> bytes:
    """Return the picture of `kind` (jpeg, png or gif) without what was written beside it. Raises Damaged."""
    try:
        return {"jpeg": _jpeg, "png": _png, "gif": _gif}[kind](data)
    except (struct.error, IndexError) as error:
        raise Damaged("the picture ends early") from error


# --- JPEG -----------------------------------------------------------------------------------------------------------

_END, _SCAN = 0xD9, 0xDA
_JFIF, _EXIF, _COLOUR, _ADOBE, _COMMENT = 0xE0, 0xE1, 0xE2, 0xEE, 0xFE
_ALONE = {*range(0xD0, 0xD8), 0x01, _END}  # restart marks, TEM and the end carry no length
_UPRIGHT = 1
_ORIENTATION = 0x0112


def _jpeg(data: bytes) -> bytes:
    kept, up = [], _UPRIGHT
    for mark, whole in _segments(data):
        body = whole[4:]
        if mark == _EXIF and body.startswith(b"Exif\0\0"):
            up = _orientation(body[6:])
        elif mark == _JFIF and body.startswith(b"JFIF\0"):
            kept.append(_segment(_JFIF, body[:12] + b"\0\0"))  # without its thumbnail
        elif _is_drawn(mark, body):
            kept.append(whole)
    turned = [_segment(_EXIF, _upright_only(up))] if up != _UPRIGHT else []
    return b"".join([b"\xff\xd8", *turned, *kept])


def _is_drawn(mark: int, body: bytes) -> bool:
    """Tell whether a decoder needs the segment: all but comments and the makers' own, save two that bear on colour."""
    if mark == _COLOUR:
        return body.startswith(b"ICC_PROFILE\0")
    if mark == _ADOBE:
        return body.startswith(b"Adobe")
    return not (0xE0 <= mark <= 0xEF or mark == _COMMENT)


def _segments(data: bytes) -> Iterator[tuple[int, bytes]]:
    """Yield (marker, its bytes from FF on) up to the end of the picture; a scan has its coded data with it."""
    if data[:2] != b"\xff\xd8":
        raise Damaged("no start of a JPEG picture")
    at = 2
    while True:
        if data[at] != 0xFF:
            raise Damaged("no marker where one belongs")
        while data[at + 1] == 0xFF:  # fill bytes
            at += 1
        mark = data[at + 1]
        end = at + 2 + _length(data, mark, at + 2)
        if mark == _SCAN:
            end = _end_of_scan(data, end)
        yield mark, data[at:end]
        if mark == _END:
            return  # what is appended behind the end (a film, a second picture) stays behind
        at = end


def _length(data: bytes, mark: int, at: int) -> int:
    if mark in _ALONE:
        return 0
    (length,) = struct.unpack_from(">H", data, at)
    if length < 2 or at + length > len(data):
        raise Damaged("a segment is longer than the file")
    return int(length)


def _end_of_scan(data: bytes, at: int) -> int:
    """Return where the next marker stands: FF before neither a stuffed zero nor a restart mark."""
    while (at := data.find(b"\xff", at)) >= 0:
        after = data[at + 1]
        if after == 0xFF:  # fill
            at += 1
        elif after == 0 or 0xD0 <= after <= 0xD7:
            at += 2
        else:
            return at
    raise Damaged("the picture ends early")


def _segment(mark: int, body: bytes) -> bytes:
    return bytes((0xFF, mark)) + struct.pack(">H", len(body) + 2) + body


def _orientation(tiff: bytes) -> int:
    """Return how the camera was held, 1 to 8, 1 where it does not say. A damaged block says nothing."""
    order = {b"II": "<", b"MM": ">"}.get(tiff[:2], "")
    try:
        if not order:
            return _UPRIGHT
        (first,) = struct.unpack_from(order + "I", tiff, 4)
        (count,) = struct.unpack_from(order + "H", tiff, first)
        for number in range(count):
            tag, _, _, value = struct.unpack_from(order + "HHIH", tiff, first + 2 + 12 * number)
            if tag == _ORIENTATION:
                return int(value) if 1 <= value <= 8 else _UPRIGHT
    except struct.error:
        pass
    return _UPRIGHT


def _upright_only(orientation: int) -> bytes:
    """Return an Exif block that says how the camera was held and nothing else."""
    entry = struct.pack(">HHIHH", _ORIENTATION, 3, 1, orientation, 0)
    return b"Exif\0\0MM\0*" + struct.pack(">IH", 8, 1) + entry + struct.pack(">I", 0)


# --- PNG ------------------------------------------------------------------------------------------------------------

_PNG_START = b"\x89PNG\r\n\x1a\n"
_PNG_KEPT = frozenset(
    (b"IHDR", b"PLTE", b"IDAT", b"IEND", b"tRNS", b"gAMA", b"cHRM", b"sRGB", b"iCCP", b"cICP", b"sBIT", b"bKGD",
     b"pHYs", b"acTL", b"fcTL", b"fdAT")
)  # fmt: skip


def _png(data: bytes) -> bytes:
    if not data.startswith(_PNG_START):
        raise Damaged("no start of a PNG picture")
    kept, at, kind = [_PNG_START], len(_PNG_START), b""
    while kind != b"IEND":
        length, kind = struct.unpack_from(">I4s", data, at)
        end = at + 12 + length
        if end > len(data):
            raise Damaged("a chunk is longer than the file")
        if kind in _PNG_KEPT:
            kept.append(data[at:end])
        at = end
    return b"".join(kept)


# --- GIF ------------------------------------------------------------------------------------------------------------

_TRAILER, _EXTENSION, _IMAGE = 0x3B, 0x21, 0x2C
_GRAPHIC_CONTROL = 0xF9


def _gif(data: bytes) -> bytes:
    if data[:6] not in (b"GIF87a", b"GIF89a"):
        raise Damaged("no start of a GIF picture")
    at = 13 + _table(data[10])
    kept = [data[:at]]
    while data[at] != _TRAILER:
        if data[at] == _EXTENSION:
            end = _blocks(data, at + 2)
            keep = data[at + 1] == _GRAPHIC_CONTROL
        elif data[at] == _IMAGE:
            end, keep = _blocks(data, at + 10 + _table(data[at + 9]) + 1), True
        else:
            raise Damaged("no block where one belongs")
        if keep:
            kept.append(data[at:end])
        at = end
    return b"".join([*kept, b";"])


def _table(flags: int) -> int:
    """Return the size of the colour table the flags announce."""
    return 3 * 2 ** ((flags & 7) + 1) if flags & 0x80 else 0


def _blocks(data: bytes, at: int) -> int:
    """Return the place behind a run of sub-blocks, the empty one at its end included."""
    while data[at]:
        at += data[at] + 1
    return at + 1
