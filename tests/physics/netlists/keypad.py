"""Two key lines of a controller on 3.3 V: pull-ups of 10 kohm, keypad plug, two keys to ground."""

from __future__ import annotations

from tests.physics.netlists.fault import Fault
from tests.physics.netlists.spice import Circuit

NAME = "keypad"
TITLE = "Two keys to ground on pulled-up controller lines"
PARTS = "S1 S2 keys; J1 keypad plug; R1 R2 10k pull-ups; R3 R4 100 ohm in the lines; U1 controller"
AMMETER = "psu"
OFF = {
    "as_found": "unplugged, keys released", "held": "unplugged, key one held",
    "parted": "unplugged, keypad plug out", "parted_held": "the same, key one held",
}  # fmt: skip
ON = {"released": "3.3 V on, keys released", "pressed": "3.3 V on, key one held"}
PROBES = {
    "GND": "0", "S1 line side": "k1", "S1 common side": "com", "S1 pin": "pin1", "S1 pad": "pad1",
    "J1 board": "j1b", "J1 keypad": "j1k", "U1 line": "l1", "U1 next line": "l2", "3V3": "v33",
}  # fmt: skip


def build(c: Circuit, state: str | None, fault: Fault) -> None:
    """Add the parts; the key's own pin has a joint to its pad, the pad a track to the plug."""
    worn = "worn" in fault.marks
    pressed = state in ("held", "pressed", "parted_held") and "no_dome" not in fault.marks
    closed = 2e9 if not pressed else 20e3 if worn else 0.06
    c.ohm("S1", "k1", "com", 15.0 if "stuck" in fault.marks else closed, tolerance=0.3)
    c.ohm("S2", "k2", "com", 2e9, tolerance=0.3)
    c.joint("S1_pin", "k1", "pin1")
    c.joint("S1_joint", "pin1", "pad1")
    c.joint("TR_k1", "pad1", "j1k")
    c.joint("J1_1", "j1k", "j1b")
    c.joint("J1_2", "k2", "j2b")
    c.joint("J1_g", "com", "0")
    c.ohm("R3", "j1b", "l1", 100)
    c.ohm("R4", "j2b", "l2", 100)
    for line in ("l1", "l2"):
        c.pin(f"U1_{line}", line, "v33")
    c.ohm("R1", "l1", "v33", 10e3)
    c.ohm("R2", "l2", "v33", 10e3)
    c.ohm("residue", "k1", "com", 1e10)
    c.island("U1", "v33", running_ohm=150 if state in ON else None)
    if state in ("parted", "parted_held"):
        for joint in ("J1_1", "J1_2", "J1_g"):
            c.opened(joint)
    if state in ON:
        c.fed("psu", "v33", "0", "0.02" if "rail_dead" in fault.marks else "3.3", "0.3")


FAULTS = {
    "none": Fault("no fault", "", "good"),
    "worn": Fault("key contact worn to 20 kohm", "S1", "value", marks=("worn",)),
    "dome_missing": Fault("dome missing", "S1", "missing", marks=("no_dome",)),
    "stuck": Fault("key stuck closed", "S1", "stuck", marks=("stuck",)),
    "joint_open": Fault("key pin joint open", "S1", "joint", cut=("S1_joint",)),
    "trace_open": Fault("track from key to plug broken", "trace", "open", cut=("TR_k1",)),
    "plug_open": Fault("plug contact open", "J1", "joint", cut=("J1_1",)),
    "bridge": Fault("two lines bridged", "U1", "bridge", bridges=(("l1", "l2", 0.5),)),
    "leaky": Fault("residue of 3 kohm across the key", "S1", "leak", values=(("residue", 3e3),)),
    "line_short": Fault("line shorted at the controller", "U1", "short", shorts=(("U1_l1_low", 3.0),)),
    "pull_missing": Fault("pull-up missing", "R1", "missing", cut=("R1",)),
    "rail_dead": Fault("3.3 V missing", "supply", "dead", marks=("rail_dead",)),
}
