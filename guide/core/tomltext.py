"""TOML as a person wrote it by hand: read, or refused with the line where it goes wrong."""

from __future__ import annotations

import re
import tomllib
from typing import Any

from guide.core.errors import BadInput


def toml_text(raw: bytes, name: str) -> tuple[str, dict[str, Any]]:
    """Return the text of the file called `name` and what it says (TOML 1.0). Raises BadInput with file:line."""
    try:
        text = raw.decode("utf-8")
        return text, tomllib.loads(text)
    except UnicodeDecodeError as error:
        line = raw[: error.start].count(b"\n") + 1
        raise BadInput(f"{name}:{line}: not UTF-8 text; save the file as UTF-8") from error
    except (tomllib.TOMLDecodeError, RecursionError) as error:
        found = re.search(r"line (\d+)", str(error))
        raise BadInput(f"{name}:{found.group(1) if found else 1}: not TOML: {error}") from error
