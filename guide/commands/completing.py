"""What the shell offers while a command is typed: trees, jobs, topics. Nothing here may fail or print.

The command line imports this module at every start, so each function imports what it needs itself.
"""

from __future__ import annotations

from typer import Context

from guide.core.errors import GuideError


def trees(incomplete: str) -> list[str]:
    """Return the ids of the trees that start as typed so far."""
    from guide.commands.common import library

    try:
        return [tree for tree in library([]).ids() if tree.startswith(incomplete)]
    except GuideError:
        return []


def jobs(incomplete: str) -> list[tuple[str, str]]:
    """Return the numbers of jobs, newest first, each with its device and symptom."""
    return _jobs_in(incomplete)


def open_jobs(incomplete: str) -> list[tuple[str, str]]:
    """Return the same of the jobs that can be gone on with."""
    return _jobs_in(incomplete, "open", "aside")


def _jobs_in(incomplete: str, *states: str) -> list[tuple[str, str]]:
    from guide.commands.common import store

    try:
        with store() as kept:
            listed = kept.jobs(*states, limit=50)
    except GuideError:
        return []
    return [(job.id, f"{job.device}: {job.symptom}") for job in listed if job.id.startswith(incomplete)]


def causes(ctx: Context, incomplete: str) -> list[tuple[str, str]]:
    """Return the causes of the job that was named before, each in words."""
    from guide.commands.common import store
    from guide.edge.trees import treefile

    try:
        with store() as kept:
            tree_id, _, text = kept.tree_of(str(ctx.params.get("job", "")))
            tree = treefile.read(text, tree_id, tree_id)
    except GuideError:
        return []
    return [(cause.id, cause.say) for cause in tree.causes.values() if cause.id.startswith(incomplete)]


def topics(incomplete: str) -> list[str]:
    """Return the help topics that start as typed so far."""
    from guide.commands.helping import TOPICS

    return [topic for topic in TOPICS if topic.startswith(incomplete)]
