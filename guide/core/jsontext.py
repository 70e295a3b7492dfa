"""JSON as text that cannot drive the terminal it is printed on."""

from __future__ import annotations

import json
import re
from typing import Any

# JSON escapes what is below U+0020 only. A terminal also obeys DEL and the C1 controls (U+009B begins a command as
# ESC [ does), direction marks make a line read as what it is not, and a lone surrogate cannot be written at all.
_UNSAFE = re.compile("[\x7f-\x9f\u061c\u200b\u200e\u200f\u2028-\u202e\u2060-\u2069\ufeff\ud800-\udfff]")


def json_text(data: Any, *, indent: int | None = None) -> str:
    """Return `data` as JSON (RFC 8259, section 7), readable, with every character a terminal would obey escaped.

    Raises ValueError for a number JSON does not have.
    """
    text = json.dumps(data, ensure_ascii=False, indent=indent, allow_nan=False)
    return _UNSAFE.sub(lambda found: f"\\u{ord(found.group()):04x}", text)
