"""The demo: a whole job on the invented device, played by a simulated technician."""

from __future__ import annotations

import time

from guide import app
from guide.commands.common import library, store
from guide.core.errors import BadInput
from guide.core.intent import Utterance
from guide.edge.fakes import Technician
from guide.edge.terminal import Lines

DEMO_TREE, DEMO_CAUSE = "fernleaf-gh2/sensor-bus-dead", "cable-broken"
DEMO_PAUSE_S = 1.2


def demo(*, voice: bool, fast: bool) -> int:
    """Play a whole job with a simulated technician and meter, through the same code path as a real one."""
    if voice:
        raise BadInput("voice is not built in yet")
    trees, lines = library([]), Lines()
    text, _ = trees.text(DEMO_TREE)
    tree = trees.tree(DEMO_TREE)
    lines.tell(f"Demo: {tree.device}. {tree.symptom}. The technician and the meter are simulated.")
    with store(app.home_folder() / "demo") as kept:
        session, told = app.begin(kept, tree, text)
        technician = Technician(tree, DEMO_CAUSE, seed=1)
        while True:
            lines.show(told)
            if app.done(told):
                break
            answer = technician.answer(told[-1])
            if not fast:
                time.sleep(DEMO_PAUSE_S)
            lines.tell(f"> {answer}")
            told = session.hear(Utterance(answer))
    lines.tell('Now yours: guide begin "what is wrong", or guide trees to see what it knows.')
    return 0
