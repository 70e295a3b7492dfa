"""The tree that a symptom's words lead to; a tie is asked."""

from __future__ import annotations

from collections.abc import Mapping

from guide import app
from guide.commands.common import Mode, View
from guide.commands.jsonlines import lines_in, teller
from guide.commands.screening import choose
from guide.core.choice import Choice
from guide.core.errors import BadInput
from guide.core.jobs.questions import ask_without_probes
from guide.core.jobs.refusals import refused
from guide.core.symptoms import leading, match
from guide.edge.trees.library import Library

WHICH_TREE = "which-tree"


def matched(trees: Library, words: str, how: Mode, view: View) -> str | None:
    """Return the tree for `words`; a tie is asked, where somebody can answer."""
    if (why := refused(words)) is not None:
        raise BadInput(why)
    if not words.strip():
        raise BadInput(
            'say what is wrong, for example: guide begin "no power"; or name a tree with --tree (see `guide trees`)'
        )
    tied = leading(match(words, trees.heads()))
    if not tied:
        raise BadInput(f"no tree fits {words[:60]!r}; see `guide trees`, or name one with --tree")
    if len(tied) == 1:
        return tied[0].tree
    known = {h.id: h.symptom for h in trees.heads()}
    symptoms = {m.tree: known[m.tree] for m in tied}
    return _asked_in_lines(symptoms) if how is Mode.JSONL else _which(symptoms, view)


def _asked_in_lines(symptoms: Mapping[str, str]) -> str:
    """Ask which of the trees it is as the JSON-lines contract asks, before there is a job. Raises BadInput where the
    input ends without an answer."""
    listed = " Or: ".join(f"{said} ({tree})." for tree, said in symptoms.items())
    asked = ask_without_probes(
        WHICH_TREE, f"More than one tree fits. {listed}", list(symptoms), by="symptom", minutes=0.0
    )
    tell = teller()
    tell([asked])
    for line in lines_in():
        said = app.written_whole(line.strip())
        if said in symptoms:
            return said
        say = f"That is no answer here. Say one of: {', '.join(symptoms)}."
        heard = said[: app.LONGEST_LINE]
        tell([{"type": "unclear", "job": "", "say": say, "heard": heard, "answers": list(symptoms)}])
    raise BadInput(f"more than one tree fits: {', '.join(symptoms)}; name one with --tree")


def _which(symptoms: Mapping[str, str], view: View) -> str | None:
    """Ask which of the trees it is, by their symptoms, until a number is typed; None where the technician leaves."""
    trees, trouble = list(symptoms), ""
    items = tuple((str(n), f"{symptoms[tree]} ({tree})") for n, tree in enumerate(trees, 1))
    while True:
        hint = f"More than one tree fits. Type a number from 1 to {len(trees)}."
        answer = choose(Choice("which tree", items, hint, trouble=trouble), view)
        if answer is None:
            return None
        if answer in dict(items):
            return trees[int(answer) - 1]
        trouble = f"{answer[:40]!r} is none of these."
