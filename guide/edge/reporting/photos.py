"""Photo files a job names: read where they can be, named with the reason where they cannot.

A report leaves the shop, so what a camera writes beside a picture does not go into it. The file itself is left alone.
"""

from __future__ import annotations

from base64 import b64encode
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from guide.core.report.model import Report
from guide.core.report.wording import tidy
from guide.edge.reporting.stripping import Damaged, stripped

MOST = 12
LARGEST = 8 * 1024 * 1024
_SIGNATURES = ((b"\x89PNG\r\n\x1a\n", "png"), (b"\xff\xd8\xff", "jpeg"), (b"GIF87a", "gif"), (b"GIF89a", "gif"))


@dataclass(frozen=True, slots=True)
class Photo:
    """One photo. `data` is empty and `fault` says why where it cannot be shown."""

    name: str
    kind: str
    data: bytes
    fault: str

    @property
    def uri(self) -> str:
        """The picture as a data address, empty where there is none."""
        return f"data:image/{self.kind};base64,{b64encode(self.data).decode()}" if self.data else ""


def photos_of(report: Report, folder: Path) -> tuple[Photo, ...]:
    """Return the photos the intake names, looked for from `folder`; only PNG, JPEG and GIF files are ever read in."""
    said = dict(report.facts).get("photos", "").strip()
    return tuple(_photo(name, folder) for name in _names(said, folder)[:MOST])


def missing(said: str, folder: Path) -> tuple[str, ...]:
    """Return the names in `said` that no file has, looked for from `folder`."""
    return tuple(name for name in _names(said, folder) if not _is_file(_path(name, folder)))


def _names(said: str, folder: Path) -> Sequence[str]:
    """Split at commas and semicolons, unless the whole is a file's name or says that there is none."""
    if said.lower() in ("", "no", "none"):
        return ()
    if _is_file(folder / said):
        return [said]
    return [name for part in said.split(";") for name in (n.strip() for n in part.split(",")) if name]


def _is_file(path: Path) -> bool:
    try:
        return path.is_file()
    except (OSError, ValueError):
        return False


def _path(name: str, folder: Path) -> Path:
    return folder / Path(name).expanduser() if not name.startswith("~") or name[1:2] in ("", "/") else folder / name


def _photo(name: str, folder: Path) -> Photo:
    path = _path(name, folder)
    shown = tidy(path.name, longest=80)
    if not _is_file(path):
        return Photo(shown, "", b"", "no such file")
    try:
        with path.open("rb") as file:
            data = file.read(LARGEST + 1)
    except OSError as error:
        return Photo(shown, "", b"", f"cannot be read ({error.strerror})")
    if len(data) > LARGEST:
        return Photo(shown, "", b"", "over 8 MiB, left out; make it smaller")
    kind = next((k for start, k in _SIGNATURES if data.startswith(start)), "")
    if not kind:
        return Photo(shown, "", b"", "no PNG, JPEG or GIF picture")
    try:
        return Photo(shown, kind, stripped(kind, data), "")
    except Damaged as error:
        return Photo(shown, "", b"", f"cannot be shown ({error})")
