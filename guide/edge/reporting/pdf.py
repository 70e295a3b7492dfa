"""A report as PDF through typst. Text goes in as JSON data, never as markup; no network and no file outside its own
folder is within reach."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from datetime import UTC, datetime
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any, Literal

import typst

from guide.core.errors import Unavailable
from guide.core.palette import COLOURS
from guide.core.report.customer import CustomerPage
from guide.core.report.model import Report
from guide.core.tree import in_words
from guide.edge.reporting import pictures
from guide.edge.reporting.photos import Photo
from guide.edge.reporting.templating import TEMPLATES
from guide.edge.reporting.views import bench_view, customer_sections, told_most

# The first is carried by typst itself, so the layout is the same everywhere; the others lend scripts it lacks.
_STANDARDS: tuple[Literal["ua-1"] | None, ...] = ("ua-1", None)
FONTS = ("Libertinus Serif", "DejaVu Sans", "Noto Sans", "Noto Sans CJK SC", "Liberation Sans")


def bench_pdf(report: Report, photos: Sequence[Photo] = ()) -> bytes:
    """Return the bench report."""
    view = bench_view(report)
    rows = [{**row, "told": f"{row['check']}: {row['shown']} {row['error']}, band {row['band']}"}
            for row in view["rows"]]  # fmt: skip
    data = {**view, "rows": rows, "kind": "bench", "title": f"Job {report.job}: {report.device}",
            "foot": f"Job {report.job}, {report.device[:80]}"}  # fmt: skip
    return _compiled(data, photos, report.last)


def customer_pdf(report: Report, page: CustomerPage) -> bytes:
    """Return the customer's page: one page of A4, set smaller where there is much to say."""
    row = told_most(report)
    picture = {"svg": pictures.strip(row), "told": f"{row.ask} {row.shown}, {in_words(row.band)}"} if row else None
    about = f"Job {page.job} · {page.dates} · {page.state}"
    about += f" · your reference {page.reference}" if page.reference else ""
    data = {
        "kind": "customer", "title": f"Job {page.job}: {page.device}", "foot": f"Job {page.job}", "about": about,
        "page": {"device": page.device, "symptom": page.symptom, "found": page.found, "sure": page.sure},
        "sections": [{"head": head, "said": said} for head, said in customer_sections(page)], "picture": picture,
    }  # fmt: skip
    return _compiled(data, (), report.last)


def _compiled(data: Mapping[str, Any], photos: Sequence[Photo], at: str) -> bytes:
    """Compile to a tagged PDF/UA-1; where a script has no glyph, to a plain PDF; a photo typst refuses is left out."""
    fault = ""
    for shown in (photos, _named(photos)):
        for standards in _STANDARDS:
            try:
                return _compile(data, shown, at, standards)
            except typst.TypstError as error:
                fault = error.message
    raise Unavailable(f"the PDF could not be set ({fault[:200]}); write the report to a .html file and print that")


def _named(photos: Sequence[Photo]) -> tuple[Photo, ...]:
    return tuple(Photo(p.name, "", b"", p.fault or "cannot be set in a PDF") for p in photos)


def _compile(data: Mapping[str, Any], photos: Sequence[Photo], at: str, standards: Literal["ua-1"] | None) -> bytes:
    with TemporaryDirectory(prefix="guide-report-") as folder:
        main = Path(folder) / "report.typ"
        main.write_bytes((TEMPLATES / main.name).read_bytes())
        files = [_put(Path(folder), i, photo) for i, photo in enumerate(photos)]
        listed = [{"name": p.name, "fault": p.fault, "file": f} for p, f in zip(photos, files, strict=True)]
        whole = json.dumps({**data, "photos": listed, "colours": dict(COLOURS), "fonts": FONTS})
        made = typst.compile(
            str(main),
            root=folder,
            format="pdf",
            sys_inputs={"data": whole},
            pdf_standards=[standards] if standards else [],
            timestamp=_stamp(at),
        )
    assert isinstance(made, bytes), "a PDF is one file"
    return made


def _put(folder: Path, index: int, photo: Photo) -> str:
    if not photo.data:
        return ""
    name = f"photo-{index}.{photo.kind}"
    (folder / name).write_bytes(photo.data)
    return name


def _stamp(at: str) -> datetime:
    """Return the job's last moment as the time of making, so that the same job gives the same bytes."""
    try:
        return datetime.fromisoformat(at).astimezone(UTC)
    except ValueError:
        return datetime(2000, 1, 1, tzinfo=UTC)
