"""What HTML and PDF print of a bench report, line by line, so that both say the same."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from guide.core.report.customer import CustomerPage
from guide.core.report.markdown import (
    BITS,
    ERRORS,
    ending_said,
    headlines,
    path_lines,
    remaining,
    repair_lines,
    row_remarks,
    sections,
    speaks,
    verdict_said,
)
from guide.core.report.model import Ground, Option, Report, Row, Verdict
from guide.core.report.wording import minutes, moment, percent, unbroken
from guide.core.tree import in_words
from guide.edge.reporting import pictures


def bench_view(report: Report) -> dict[str, Any]:
    """Return every line and picture of a bench report; pictures are SVG text, None where there is none."""
    return {
        "job": report.job, "device": report.device, "headlines": headlines(report), "ending": ending_said(report),
        "verdicts": [_verdict(v, whole=v is report.verdict or v is report.verdicts[-1]) for v in report.verdicts],
        "errors": ERRORS, "bits": BITS, "rows": [_row(r) for r in report.rows],
        "pairs": [{"ask": p.ask, "told": p.told, "normal": p.normal, "picture": pictures.pair(p)}
                  for p in report.pairs],
        "odds": pictures.odds(report), "path": pictures.path(report), "steps": path_lines(report),
        "options": [_option(report, o) for o in report.options],
        "repairs": [*repair_lines(report), *(f"{moment(o.at)} {o.text}" for o in report.overrides)],
        "lists": remaining(report),
    }  # fmt: skip


def _verdict(verdict: Verdict, *, whole: bool) -> dict[str, Any]:
    rivals = "; ".join(f"{r.say}, {percent(r.p)}" for r in verdict.rivals)
    return {"said": verdict_said(verdict), "at": moment(verdict.at), "rivals": rivals if whole else "",
            "grounds": [_ground(g) for g in verdict.grounds] if whole else []}  # fmt: skip


def _ground(ground: Ground) -> dict[str, Any]:
    return {"check": in_words(ground.check), "ask": ground.ask, "shown": ground.shown, "band": in_words(ground.band),
            "normal": ground.normal, "speaks": speaks(ground.bits), "bits": f"{ground.bits:+.2f}"}  # fmt: skip


def _row(row: Row) -> dict[str, Any]:
    said: Sequence[str] = (moment(row.at), row.source, row_remarks(row))
    return {"number": row.number, "shown": row.shown, "error": row.error_shown,
            "band": in_words(row.band), "normal": row.normal, "check": in_words(row.check), "ask": row.ask,
            "meta": " · ".join(s for s in said if s),
            "strip": pictures.strip(row) if row.strip else None}  # fmt: skip


def _option(report: Report, option: Option) -> dict[str, Any]:
    chosen = any((r.option.cause, r.option.do) == (option.cause, option.do) for r in report.repairs)
    return {"do": option.do, "minutes": minutes(option.minutes), "bypass": option.bypass, "chosen": chosen,
            "needs": ", ".join(s for s in (option.parts, option.skill) if s), "restores": option.restores,
            "costs": ", ".join(s for s in (option.leaves, option.risk) if s)}  # fmt: skip


def customer_sections(page: CustomerPage) -> list[tuple[str, list[str]]]:
    """Return the customer's lists under their headings, no value parted from its unit."""
    return [(head, [unbroken(one) for one in said]) for head, said in sections(page)]


def told_most(report: Report) -> Row | None:
    """Return the reading that spoke loudest for the verdict, if it has a picture; none where a pair did, for each of
    its halves looks like that of a good unit."""
    verdict = report.verdict
    for ground in sorted(verdict.grounds, key=lambda g: (g.normal is not False, -g.bits)) if verdict else ():
        if ground.check in {pair.check for pair in report.pairs}:
            return None
        found = [r for r in report.rows if r.check == ground.check and r.band == ground.band and r.strip]
        if found and ground.bits > 0:
            return found[-1]
    return None
