"""The customer's page: what was wrong, how we know, what was done or offered, what it leaves, cautions. Plain words.

Every list is bounded and every text cut, so that it fits one page whatever the job was.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from guide.core.jobs.wording import LEAST_SHOWN_BITS, nameless, question_alone
from guide.core.quantity import UNPOWERED, Measure
from guide.core.report.model import Ground, Option, Report, Row, Stage, Standing
from guide.core.report.wording import minutes, moment, tidy
from guide.core.tree import NONE, OTHER, in_words

_SPELLED = re.compile(r"(?<=\b[A-Z]) (?=[A-Z]\b)")
MOST_READINGS = 4
MOST_PROOFS = 2
MOST_OPTIONS = 3
LONGEST = 170
NO_PROMISE = (
    "This page tells what was measured; it does not certify the device as safe. Work on mains parts belongs to licensed"
    " practice under your local rules."
)


@dataclass(frozen=True, slots=True)
class CustomerPage:
    """The customer's page, ready to be set in any form."""

    job: str
    device: str
    symptom: str
    reference: str
    dates: str
    state: str
    found: str
    sure: str
    how: tuple[str, ...]
    done: tuple[str, ...]
    leaves: tuple[str, ...]
    cautions: tuple[str, ...]


def customer_page(report: Report) -> CustomerPage:
    """Return the customer's page of a job, open or closed."""
    facts = dict(report.facts)
    began, last = moment(report.began)[:10], moment(report.last)[:10]
    return CustomerPage(
        job=_cut(report.job), device=_device(report), symptom=_cut(report.symptom),
        reference=_cut(facts.get("reference", "")), dates=began if began == last else f"{began} to {last}",
        state=_state(report), found=_found(report), sure=_sure(report), how=_how(report), done=_done(report),
        leaves=_leaves(report), cautions=_cautions(report),
    )  # fmt: skip


def _device(report: Report) -> str:
    """Return the device by its name; any of a kind is the customer's."""
    return "Your device" if nameless(report.device) else _capital(_cut(report.device))


def _cut(text: str) -> str:
    return tidy(text, longest=LONGEST)


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def sentence(text: str) -> str:
    """Return `text` as one sentence: a capital first, a full stop last."""
    said = _cut(text).rstrip(". ")
    return f"{_capital(said)}{'' if said.endswith(('…', '?', '!')) else '.'}" if said else ""


def _state(report: Report) -> str:
    if report.ending is not None and report.ending.closed:
        return "closed"
    waits = report.waits and not report.waits[-1].resumed
    if not waits:
        return "still open"
    reason, until = report.waits[-1].reason, report.waits[-1].until
    return _cut(f"put aside{f', waiting for {reason}' if reason else ''}{f' until {until}' if until else ''}")


def _found(report: Report) -> str:
    verdict, ending = report.verdict, report.ending
    if ending is not None and ending.outcome and ending.outcome not in (OTHER, NONE):
        return sentence(ending.customer)
    # Of a closed job nothing more will come.
    unknown = "We have not found the cause yet." if ending is None else "We have not found the cause."
    unsettled = "Not settled yet. Likeliest so far:" if ending is None else "It was not settled. Likeliest:"
    beside = ending.outcome if ending is not None and ending.outcome else verdict.cause if verdict else ""
    if verdict is not None and not verdict.settled and (ending is None or not ending.outcome):
        return unknown if verdict.cause in (OTHER, NONE) else f"{unsettled} {sentence(verdict.customer)}"
    if beside == NONE:
        return "We found nothing wrong with what we could measure."
    if beside == OTHER and ending is not None and ending.note:
        return sentence(f"It was none of the faults we know for this device: {tidy(ending.note)}")
    if beside == OTHER:
        return "The fault is none of those we know for this device; it needs a closer look."
    if verdict is None or not report.rows:
        return unknown
    told = tuple(dict.fromkeys(verdict.customers))  # what sets two causes apart on the bench may be one to the customer
    if not verdict.separable and len(told) > 1:
        named = "; or ".join(tidy(s, longest=80).rstrip(". ") for s in told[:3])
        return f"One of these, which measuring alone cannot tell apart: {named}."
    return sentence(verdict.customer)


def _sure(report: Report) -> str:
    verdict, ending = report.verdict, report.ending
    if ending is not None and ending.proven:
        return "Confirmed: after the repair the readings were those of a sound unit, and the device worked."
    if verdict is None or verdict.cause in (OTHER, NONE) or not report.rows:
        return ""
    if ending is not None and ending.outcome and ending.outcome not in verdict.causes:
        return "The technician found this by other means than the readings below."
    rest = f"; the next likeliest: {tidy(verdict.rivals[0].say, longest=80).rstrip('. ')}" if verdict.rivals else ""
    return _cut(f"About {_chance(verdict.p)} likely from the readings{rest}") + "."


def _chance(p: float) -> str:
    return "99 percent or more" if p >= 0.99 else f"{p * 100:.0f} percent"


def _how(report: Report) -> tuple[str, ...]:
    verdict = report.verdict
    # What the owner told us is no news to the owner, unless it speaks for the fault.
    grounds = [g for g in verdict.grounds if g.bits >= LEAST_SHOWN_BITS and _news(g)] if verdict else []
    # What reads wrong persuades a customer; what reads right rules things out and comes after it.
    telling = sorted(grounds, key=lambda g: (g.normal is not False, -g.bits))[:MOST_READINGS]
    said = [_reading_said(g) for g in telling]
    proofs = _proofs(report, telling)
    said += [f"After the repair: {_asked(r.ask, r.measure)}: {r.shown}, as in a sound unit." for r in proofs]
    if not said:
        said = [_row_said(r) for r in report.rows if r.standing is Standing.COUNTS][:MOST_READINGS]
    return tuple(said) or ("No reading has been taken that counts.",)


def _proofs(report: Report, telling: Sequence[Ground]) -> list[Row]:
    """Return the good readings after the repair that are told: first those of what told most before it."""
    loud = [g.check for g in telling]
    good = [r for r in report.rows if r.stage is Stage.PROOF and r.standing is Standing.COUNTS and r.normal]
    good = [r for r in good if r.epoch == good[-1].epoch]  # those after the last repair, not after a bypass before it
    return sorted(good, key=lambda r: loud.index(r.check) if r.check in loud else len(loud))[:MOST_PROOFS]


def _news(ground: Ground) -> bool:
    return ground.normal is False if ground.told else not (ground.normal and _told(ground.measure))


def _short(ask: str) -> str:
    # Prompts spell what a voice would run together: `D C` is `DC` on paper.
    return tidy(_SPELLED.sub("", ask), longest=90).rstrip(".?! ")


def _reading_said(ground: Ground) -> str:
    return _said(ground.ask, ground.measure, ground.shown, ground.usual, ground.normal)


def _row_said(row: Row) -> str:
    return _said(row.ask, row.measure, row.shown, row.usual, row.normal)


def _told(measure: str) -> bool:
    return measure == Measure.ASK.value


def _asked(ask: str, measure: str) -> str:
    """Return what was asked; of a question without the answers it could have had."""
    return _short(question_alone(ask) if measure in _WORDS else ask)


def _said(ask: str, measure: str, shown: str, usual: str, normal: bool | None) -> str:
    # A bare OL says nothing to a customer.
    asked = _asked(ask, measure)
    value = "no connection, or more than the meter shows (OL)" if shown == "OL" else tidy(shown, longest=40)
    if measure in _WORDS:
        value = in_words(value)
    if _told(measure):
        return f"{asked}: {value}."
    if normal:
        return f"{asked}: {value}, as in a sound unit."
    expected = f" In a sound unit: {tidy(usual, longest=60)}." if usual else ""
    return f"{asked}: {value}.{expected}"


def _done(report: Report) -> tuple[str, ...]:
    made = [r for r in report.repairs if r.done_at]
    said = []
    for repair in made[-MOST_OPTIONS:]:
        what = "Tried" if repair.proof == "failed" or repair.function == "still faulty" else "Done"
        bypass = " (a bypass, to show the cause; no lasting repair)" if repair.option.bypass else ""
        tested = {"works": " The device works again.", "still faulty": " The fault was still there."}
        end = tested.get(repair.function, "")
        said.append(f"{what}: {tidy(repair.option.do, longest=110).rstrip('. ')}{bypass}.{end}")
    if any(r.function == "works" and not r.option.bypass for r in made):
        return tuple(said)
    done = {r.option.do for r in made}
    offered = [o for o in report.options[:MOST_OPTIONS] if not o.bypass and o.do not in done]
    return (*said, *(_offer(o) for o in offered)) or ("Nothing yet.",)


def _offer(option: Option) -> str:
    parts = f", parts: {tidy(option.parts, longest=50)}" if option.parts else ""
    gives = f" It restores {tidy(option.restores, longest=60).rstrip('. ')}." if option.restores else ""
    return f"Offered: {tidy(option.do, longest=90).rstrip('. ')} ({minutes(option.minutes)} of work{parts}).{gives}"


def _leaves(report: Report) -> tuple[str, ...]:
    made = [r.option for r in report.repairs if r.done_at][-1:]
    listed = made or [o for o in report.options if not o.bypass][:MOST_OPTIONS]
    said = [sentence(o.leaves) for o in listed if o.leaves]
    said += ["A part was bypassed: what it protected is unprotected." for o in made if o.bypass]
    return tuple(dict.fromkeys(said)) or ("The procedure names nothing that is left unprotected.",)


def _cautions(report: Report) -> tuple[str, ...]:
    said = []
    ending, last = report.ending, report.repairs[-1] if report.repairs else None
    if report.handed_over:
        said.append("Nothing on it was repaired here: it is for specially trained people.")
    elif last is not None and last.proof == "overridden":
        said.append("The readings after the repair were not all taken or not all good; we went on without that proof.")
    elif report.untested:
        said.append("The readings after the repair are good; the device itself has not been tried.")
    elif last is not None and last.done_at and (ending is None or not ending.proven):
        said.append("The repair has not been proven by readings.")
    if last is not None and last.option.risk:
        said.append(sentence(f"Risk of this repair: {last.option.risk}"))
    if report.verdict is not None and not report.verdict.separable:
        said.append("More than one cause fits; the repair may turn out not to be the right one.")
    if any(r.measure not in _UNPOWERED for r in report.rows if r.unit):
        said.append("It was measured with power on. Use it only once it is closed up again.")
    return (*said[:4], NO_PROMISE)


_WORDS = frozenset((Measure.ASK.value, Measure.LOOK.value))
_UNPOWERED = frozenset(m.value for m in UNPOWERED | {Measure.CELSIUS})
