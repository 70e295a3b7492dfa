"""The life of a job as a table: which event may happen in which phase, and where it leads.

The machine is never run: `transitions` holds the table so that it can be asked, drawn and tested. Events are the
triggers, so the table speaks the same words as the log.
"""

from __future__ import annotations

from enum import StrEnum
from functools import cache

from transitions import Machine


class Phase(StrEnum):
    """Where a job stands. There is no paused phase: after every append a job can be resumed."""

    NEW = "new"
    INTAKE = "intake"  # questions at the counter
    BRIEFING = "briefing"  # between questions, or a caution or step stands
    ASKING = "asking"  # a check stands
    CONFIRMING = "confirming"  # a heard reading waits for yes
    CONCLUDED = "concluded"  # a verdict stands
    REPAIRING = "repairing"  # options stand, or the repair is being done
    VERIFYING = "verifying"  # readings proved the repair; the function test stands
    CLOSED = "closed"


_OPEN: list[Phase] = [p for p in Phase if p not in (Phase.NEW, Phase.CLOSED)]
_SAME = "="
_LOOKING = [Phase.BRIEFING, Phase.ASKING, Phase.CONFIRMING, Phase.CONCLUDED]

# trigger (event kind), sources, destination
TABLE: tuple[tuple[str, list[Phase], Phase | str], ...] = (
    ("opened", [Phase.NEW], Phase.BRIEFING),
    ("intake_begun", [Phase.INTAKE, Phase.BRIEFING, Phase.ASKING, Phase.CONFIRMING], Phase.INTAKE),
    ("intake_ended", [Phase.INTAKE], Phase.BRIEFING),
    ("meter_used", _OPEN, _SAME),
    ("shop_known", [Phase.BRIEFING], _SAME),
    ("resumed", [Phase.BRIEFING, Phase.ASKING, Phase.CONFIRMING], Phase.BRIEFING),
    ("resumed", [Phase.INTAKE, Phase.CONCLUDED, Phase.REPAIRING, Phase.VERIFYING], _SAME),
    ("caution_given", [Phase.BRIEFING, Phase.REPAIRING], _SAME),
    ("hazard_cleared", [Phase.BRIEFING, Phase.REPAIRING], _SAME),
    ("step_told", [Phase.BRIEFING], _SAME),
    ("step_made", [Phase.BRIEFING], _SAME),
    ("sweep_begun", [Phase.BRIEFING, Phase.ASKING], Phase.BRIEFING),
    ("check_chosen", [Phase.BRIEFING], _SAME),
    ("check_asked", [Phase.BRIEFING], Phase.ASKING),
    ("reading_heard", [Phase.ASKING, Phase.CONFIRMING], Phase.CONFIRMING),
    ("reading_refused", [Phase.CONFIRMING], Phase.ASKING),
    ("reading_taken", [Phase.ASKING, Phase.CONFIRMING, Phase.BRIEFING], Phase.BRIEFING),
    ("check_passed", [Phase.ASKING, Phase.CONFIRMING, Phase.BRIEFING], Phase.BRIEFING),
    (
        "reading_withdrawn",
        [Phase.BRIEFING, Phase.ASKING, Phase.CONFIRMING, Phase.CONCLUDED, Phase.REPAIRING, Phase.VERIFYING],
        Phase.BRIEFING,
    ),
    (
        "reading_placed",
        [Phase.BRIEFING, Phase.ASKING, Phase.CONFIRMING, Phase.CONCLUDED, Phase.REPAIRING],
        Phase.BRIEFING,
    ),
    ("reading_placed", [Phase.INTAKE, Phase.VERIFYING], _SAME),
    ("verdict_given", [Phase.BRIEFING, Phase.ASKING, Phase.CONFIRMING], Phase.CONCLUDED),
    ("verdict_set_aside", [Phase.CONCLUDED, Phase.REPAIRING], Phase.BRIEFING),
    ("verdict_accepted", [Phase.CONCLUDED, Phase.REPAIRING], Phase.REPAIRING),
    ("repair_chosen", [Phase.REPAIRING], Phase.REPAIRING),
    ("repair_done", [Phase.REPAIRING], Phase.BRIEFING),
    ("proof_passed", [Phase.BRIEFING], Phase.VERIFYING),
    ("proof_failed", [Phase.BRIEFING], _SAME),
    ("proof_overridden", [Phase.BRIEFING, Phase.ASKING, Phase.CONFIRMING], Phase.VERIFYING),
    ("cause_shown", [Phase.VERIFYING], Phase.REPAIRING),
    ("function_failed", [Phase.VERIFYING], Phase.BRIEFING),
    ("repair_withdrawn", [*_LOOKING, Phase.VERIFYING], Phase.REPAIRING),
    ("proof_reopened", [Phase.VERIFYING], Phase.BRIEFING),
    ("test_withdrawn", [*_LOOKING, Phase.REPAIRING], Phase.VERIFYING),
    ("closing_heard", [Phase.CONCLUDED, Phase.REPAIRING, Phase.VERIFYING], _SAME),
    ("closing_refused", [Phase.CONCLUDED, Phase.REPAIRING, Phase.VERIFYING], _SAME),
    ("closed", _OPEN, Phase.CLOSED),
    ("note_added", _OPEN, _SAME),
    ("facts_noted", _OPEN, _SAME),
    ("held", _OPEN, _SAME),
    ("tree_adopted", _OPEN, _SAME),
    ("outcome_set", [Phase.CLOSED, *_OPEN], _SAME),
)


@cache
def machine() -> Machine:
    """Return the table as a `transitions` machine without a model, callbacks or automatic moves."""
    built = Machine(model=None, states=[p.value for p in Phase], initial=Phase.NEW.value, auto_transitions=False)
    for trigger, sources, dest in TABLE:
        built.add_transition(trigger, [s.value for s in sources], dest if dest == _SAME else Phase(dest).value)
    return built


@cache
def next_phase(phase: Phase, kind: str) -> Phase | None:
    """Return where event `kind` leads from `phase`, None where it may not happen."""
    found = machine().get_transitions(kind, phase.value) if kind in machine().events else []
    # A transition back to its own phase is written with the source as its destination.
    return Phase(str(found[0].dest)) if found else None


@cache
def legal(phase: Phase) -> frozenset[str]:
    """Return the event kinds that may happen in `phase`."""
    return frozenset(kind for kind in machine().events if next_phase(phase, kind) is not None)
