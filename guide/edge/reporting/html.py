"""A report as one HTML file: nothing is fetched, nothing runs, and it prints on A4."""

from __future__ import annotations

from collections.abc import Sequence

from guide.core.report.customer import CustomerPage
from guide.core.report.model import Report
from guide.edge.reporting import pictures
from guide.edge.reporting.photos import Photo
from guide.edge.reporting.templating import rendered
from guide.edge.reporting.views import bench_view, customer_sections, told_most


def bench_html(report: Report, photos: Sequence[Photo] = ()) -> str:
    """Return the bench report."""
    view = bench_view(report)
    return str(rendered("bench.html.j2", r=report, photos=photos, **view))


def customer_html(report: Report, page: CustomerPage) -> str:
    """Return the customer's page with the picture of the reading that told most."""
    row = told_most(report)
    picture = pictures.strip(row) if row else None
    return str(rendered("customer.html.j2", page=page, sections=customer_sections(page), picture=picture))
