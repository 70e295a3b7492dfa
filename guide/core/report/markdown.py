"""Reports as Markdown text."""

from __future__ import annotations

from guide.core.jobs.wording import in_brief
from guide.core.markdown import escaped, listed, table
from guide.core.report.customer import CustomerPage
from guide.core.report.model import Report, Row, Standing, Verdict
from guide.core.report.wording import minutes, moment, percent, struck
from guide.core.tree import in_words

STANDING = {
    Standing.COUNTS: "",
    Standing.REPEATED: "taken once more",
    Standing.WITHDRAWN: "taken back",
    Standing.REPLACED: "too old, taken anew",
}
ERRORS = "± is twice the standard uncertainty of meter, last digit and estimate (about 95 %)."
BITS = "One bit doubles the odds."


def customer_text(page: CustomerPage) -> str:
    """Return the customer's page."""
    reference = f" · your reference {escaped(page.reference)}" if page.reference else ""
    about = f"Job {escaped(page.job)} · {page.dates} · {escaped(page.state)}{reference}"
    lines = [
        f"# {escaped(page.device)}", "", about, "",
        f"Brought in for: {escaped(page.symptom)}", "",
        "## What was wrong", "", f"**{escaped(page.found)}** {escaped(page.sure)}".rstrip(), "",
    ]  # fmt: skip
    for head, said in sections(page):
        lines += [f"## {head}", "", *listed(said)]
    return "\n".join(lines).rstrip() + "\n"


def sections(page: CustomerPage) -> tuple[tuple[str, tuple[str, ...]], ...]:
    """Return the page's lists under their headings, in the order they are read."""
    return (
        ("How we know", page.how),
        ("What was done or offered", page.done),
        ("What it leaves", page.leaves),
        ("Cautions", page.cautions),
    )


def bench_text(report: Report) -> str:
    """Return the bench report."""
    lines = [f"# Job {escaped(report.job)}: {escaped(report.device)}", "", *listed(headlines(report))]
    lines += ["## Verdict", "", *_verdict(report)]
    lines += ["## Readings", "", *_readings(report)]
    lines += _pairs(report)
    lines += ["## Odds after each check", "", *_odds(report)]
    lines += ["## Path", "", *listed(path_lines(report))]
    lines += _repairs(report)
    for head, said in remaining(report):
        lines += [f"## {head}", "", *listed(said)]
    return "\n".join(lines).rstrip() + "\n"


def headlines(report: Report) -> list[str]:
    """Return the head of a bench report, a line a fact."""
    shop = f", with what {report.shop_jobs} closed jobs taught" if report.shop_jobs else ""
    return [
        f"Symptom: {report.symptom}",
        *(f"{name.capitalize()}: {said}" for name, said in report.facts if name != "device"),
        f"Procedure: {report.tree}, version {report.tree_version}, {report.tree_sha256[:12]}{shop}",
        f"Meter: {report.meter}",
        f"From {moment(report.began)} to {moment(report.last)} UTC",
        f"Time: {minutes(report.minutes_worked)} at the bench; the checks are planned at"
        f" {minutes(report.minutes_planned)}",
        *(f"Put aside {wait_said(report, i)}" for i in range(len(report.waits))),
    ]


def wait_said(report: Report, index: int) -> str:
    """Return one wait: since when, for whom, until when, and when it ended."""
    wait = report.waits[index]
    ended = f", taken up {moment(wait.resumed)}" if wait.resumed else ", still aside"
    reason = f" for {wait.reason}" if wait.reason else ""
    until = f" until {wait.until}" if wait.until else ""
    return f"{moment(wait.at)}{reason}{until}{ended}"


def ending_said(report: Report) -> str:
    """Return how the job ended, in one sentence, or what it was said to be while it is open; empty if neither."""
    ending = report.ending
    if ending is None:
        return ""
    what = f"it was: {ending.say}" if ending.outcome else "the cause is not known"
    proof = (
        "proven by readings and function test" if ending.proven
        else "proven by readings, its function not tested" if report.untested
        else "not proven by readings"
    )  # fmt: skip
    note = f". Note: {ending.note}" if ending.note else ""
    if not ending.closed:
        return f"Still open. What it was, as said {moment(ending.at)}: {ending.say}{note}"
    return f"Closed {moment(ending.at)}, {what} ({proof}){note}"


def verdict_said(verdict: Verdict) -> str:
    """Return a verdict with its probability and fate."""
    named = verdict.say if verdict.separable or len(verdict.says) < 2 else "; or ".join(verdict.says)
    apart = "" if verdict.separable else " (a meter cannot tell them apart)"
    open_yet = "" if verdict.settled else ", not settled"
    return f"{named}, {percent(verdict.p)}{apart}{open_yet}: {verdict.fate}"


def _verdict(report: Report) -> list[str]:
    lines = listed([ending_said(report)])
    for verdict in report.verdicts:
        lines += [f"{escaped(moment(verdict.at))} · **{escaped(verdict_said(verdict))}**", ""]
        if verdict is report.verdict or verdict is report.verdicts[-1]:
            lines += _grounds(verdict)
    return lines or ["No verdict yet.", ""]


def _grounds(verdict: Verdict) -> list[str]:
    against = [f"{r.say}, {percent(r.p)}" for r in verdict.rivals]
    rows = [(in_words(g.check), g.shown, in_words(g.band), speaks(g.bits), f"{g.bits:+.2f}") for g in verdict.grounds]
    return [
        *table(("Check", "Reading", "Band", "Speaks", "Bits"), rows),
        *([BITS, ""] if rows else []),
        *(["Left standing:", "", *listed(against)] if against else []),
    ]


def speaks(bits: float) -> str:
    """Return which way a reading speaks."""
    return "for" if bits > 0 else "against" if bits < 0 else "neither"


def row_remarks(row: Row) -> str:
    """Return what a reading's row says besides its value."""
    stage = "after the repair" if row.epoch else ""
    near = "near an edge" if row.borderline else ""
    boards = f"good boards of this model read {row.boards}" if row.boards else ""
    return ", ".join(said for said in (STANDING[row.standing], stage, near, boards) if said)


def _readings(report: Report) -> list[str]:
    rows = [
        (str(r.number), moment(r.at), in_words(r.check), f"{r.shown} {r.error_shown}".rstrip(), in_words(r.band),
         "" if r.normal is None else "yes" if r.normal else "no", r.source, row_remarks(r))
        for r in report.rows
    ]  # fmt: skip
    return [*table(("No.", "UTC", "Check", "Reading", "Band", "Normal", "From", "Remarks"), rows), ERRORS, ""]


def _pairs(report: Report) -> list[str]:
    if not report.pairs:
        return []
    rows = [(p.ask, *(f"{s.label} {s.shown}" if s else "–" for s in (p.first, p.second)), p.told) for p in report.pairs]
    return ["## Pairs compared", "", *table(("Pair", "One", "Other", "Told"), rows)]


def _odds(report: Report) -> list[str]:
    causes = leading(report)
    rows = []
    for point in report.odds:
        chances = dict(point.chances)
        label = in_words(f"{point.number} {point.label}" if point.number else point.label)
        rows.append((label, *(percent(chances.get(c, 0.0)) if c in chances else "–" for c in causes)))
    return table(("After", *(escaped(in_brief(c)) for c in causes)), rows)


def leading(report: Report, *, most: int = 5) -> tuple[str, ...]:
    """Return the causes that led the odds at any time, the likeliest at the end first."""
    best: dict[str, float] = {}
    for point in report.odds:
        for cause, p in point.chances:
            best[cause] = max(p, best.get(cause, 0.0))
    last = dict(report.odds[-1].chances) if report.odds else {}
    top = sorted(best, key=lambda c: -best[c])[:most]
    return tuple(sorted(top, key=lambda c: (-last.get(c, 0.0), -best[c])))


def path_lines(report: Report) -> list[str]:
    """Return the path taken, a line a step, with why each was next."""
    lines = []
    for step in report.path:
        band = in_words(step.band)
        result = f"{step.answer} → {band}" if band and band != step.answer else step.answer
        why = f"{step.by}. {step.why}" if step.why and step.why != step.by else step.by
        number = f"{step.number} · " if step.number else ""
        said = f"{number}{in_words(step.check)}: {result}{struck(step.standing)}"
        lines.append(f"{said}. Why: {why.rstrip('.')}.")
    return lines


def _repairs(report: Report) -> list[str]:
    if not report.options and not report.repairs:
        return []
    chosen = {(r.option.cause, r.option.do) for r in report.repairs}
    rows = [
        (o.do + (" (bypass: a proof, no repair)" if o.bypass else ""), minutes(o.minutes), o.parts, o.skill, o.risk,
         o.restores, o.leaves, "chosen" if (o.cause, o.do) in chosen else "")
        for o in report.options
    ]  # fmt: skip
    head = ("Repair", "Time", "Parts", "Skill", "Risk", "Restores", "Leaves", "")
    return ["## Repair", "", *table(head, rows), *listed(repair_lines(report)),
            *listed(f"{moment(o.at)} {o.text}" for o in report.overrides)]  # fmt: skip


def repair_lines(report: Report) -> list[str]:
    """Return what came of each repair, a line each."""
    said = []
    for r in report.repairs:
        done = f"done {moment(r.done_at)}" if r.done_at else "not done"
        failed = f" ({', '.join(map(in_words, r.failed))})" if r.failed else ""
        proof = f"; proof {r.proof}{failed}" if r.proof else ""
        function = f"; function test: {r.function}" if r.function else ""
        said.append(f"{r.option.do}: {done}{proof}{function}")
    return said


def remaining(report: Report) -> list[tuple[str, list[str]]]:
    """Return the lists a bench report ends with, those that hold something, under their headings."""
    cautions = [f"{c.say} Acknowledged {_times(len(c.at))}, last {moment(c.at[-1])}." for c in report.cautions]
    found = [
        ("Cautions acknowledged", cautions),
        ("Notes", [f"{moment(n.at)} {n.text}" for n in report.notes]),
        ("Sources of the limits", [f"{s.id}: {s.text}" for s in report.sources]),
    ]
    return [(head, said) for head, said in found if said]


def _times(count: int) -> str:
    return "once" if count == 1 else f"{count} times"
