"""A report as one JSON document."""

from __future__ import annotations

from dataclasses import fields, is_dataclass
from enum import Enum
from typing import Any

from guide.core.report.customer import CustomerPage
from guide.core.report.model import Report

VERSION = 1


def document_of(report: Report | CustomerPage) -> dict[str, Any]:
    """Return the report as JSON-ready data with the version of its form; keys are the names of the fields."""
    kind = "bench" if isinstance(report, Report) else "customer"
    return {"report": kind, "v": VERSION, **plainly(report)}


def plainly(value: Any) -> Any:
    """Return dataclasses as mappings and tuples as lists, all the way down."""
    if is_dataclass(value):
        return {f.name: plainly(getattr(value, f.name)) for f in fields(value)}
    if isinstance(value, Enum):
        return value.value
    if isinstance(value, tuple):
        return [plainly(v) for v in value]
    return value
