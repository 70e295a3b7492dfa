"""Reports: a job's events become one `Report`, which becomes text or data. HTML and PDF are made at the edge."""

from guide.core.report.customer import CustomerPage, customer_page
from guide.core.report.document import document_of
from guide.core.report.gather import report_of
from guide.core.report.markdown import bench_text, customer_text
from guide.core.report.model import Report

__all__ = ["CustomerPage", "Report", "bench_text", "customer_page", "customer_text", "document_of", "report_of"]
