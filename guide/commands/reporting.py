"""Reports of jobs."""

from __future__ import annotations

from collections.abc import Callable
from enum import StrEnum
from pathlib import Path

from guide import app
from guide.commands.common import profile, store
from guide.commands.data import write_private
from guide.core.errors import BadInput, Unavailable
from guide.core.jsontext import json_text
from guide.core.report import Report, bench_text, customer_page, customer_text, document_of, report_of
from guide.edge.terminal import Lines


class Reader(StrEnum):
    """Whom a report is for."""

    BENCH = "bench"
    CUSTOMER = "customer"


def report(job: str, reader: str, to: Path | None) -> int:
    """Write the report of a job, as Markdown to standard output where no file is named."""
    whom = _reader(reader)
    make = _form(to, {".md": markdown, ".html": html, ".pdf": pdf, ".json": as_json}) if to else markdown
    data = make(report_on(job), whom)
    if to is None:
        Lines().tell(data.decode("utf-8").rstrip("\n"))
        return 0
    write_private(to, data)
    Lines().tell(f"The {whom} report of job {job} is in {to}.")
    return 0


def report_on(job: str) -> Report:
    """Return the report of a job. Raises UnknownJob, and BadInput where nothing has been read and something may be."""
    with store() as kept:
        held, recorded = app.load(kept, job, meter=profile()), kept.events(job)
    told = report_of(held.tree, recorded, meter=held.meter)
    if not told.rows and held.closed is None:
        raise BadInput(f"job {job} has no reading to report yet; go on with it: guide resume {job}")
    return told


def _reader(said: str) -> Reader:
    if said not in tuple(Reader):
        raise BadInput(f"--for {said[:40]}: a report is for {' or '.join(Reader)}")
    return Reader(said)


Maker = Callable[[Report, Reader], bytes]


def _form(to: Path, forms: dict[str, Maker]) -> Maker:
    made = forms.get(to.suffix.lower())
    if made is None:
        raise BadInput(f"{to}: the end of the name says the form; use {', '.join(forms)}")
    return made


def markdown(told: Report, whom: Reader) -> bytes:
    text = customer_text(customer_page(told)) if whom is Reader.CUSTOMER else bench_text(told)
    return text.encode("utf-8")


def as_json(told: Report, whom: Reader) -> bytes:
    data = document_of(customer_page(told) if whom is Reader.CUSTOMER else told)
    return (json_text(data, indent=1) + "\n").encode("utf-8")


def html(told: Report, whom: Reader) -> bytes:
    try:
        from guide.edge.reporting.html import bench_html, customer_html
    except ModuleNotFoundError as missing:
        raise _not_there("HTML", missing) from missing
    if whom is Reader.CUSTOMER:
        return customer_html(told, customer_page(told)).encode("utf-8")
    from guide.edge.reporting.photos import photos_of

    return bench_html(told, photos_of(told, Path.cwd())).encode("utf-8")


def pdf(told: Report, whom: Reader) -> bytes:
    try:
        from guide.edge.reporting.pdf import bench_pdf, customer_pdf
    except ModuleNotFoundError as missing:
        raise _not_there("PDF", missing) from missing
    if whom is Reader.CUSTOMER:
        return customer_pdf(told, customer_page(told))
    from guide.edge.reporting.photos import photos_of

    return bench_pdf(told, photos_of(told, Path.cwd()))


def _not_there(form: str, missing: ModuleNotFoundError) -> Unavailable:
    return Unavailable(
        f"{form} needs {missing.name}, which is not installed; pip install 'bench-guide[report]', or write .md or .json"
    )
