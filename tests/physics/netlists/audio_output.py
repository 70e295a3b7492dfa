"""A bridge-tied amplifier on 5 V with ferrites, plug and speaker of 8 ohm, a jack switch, a mute pin.

Steady states alone: an amplifier that is dead inside rests like a sound one, so that fault is not here.
"""

from __future__ import annotations

from tests.physics.netlists.fault import Fault
from tests.physics.netlists.spice import Circuit

NAME = "audio_output"
TITLE = "Bridge-tied audio amplifier with speaker"
PARTS = (
    "U1 amplifier on 5 V, outputs rest at half of it; FB1 FB2 ferrites; SW1 jack switch in the plus way; J1 plug; "
    "LS1 speaker 8 ohm, coil 6.8 ohm; R1 100k shutdown pull-up; C1 coupling capacitor; U2 source on 3.3 V"
)
AMMETER = "psu"
OFF = {"as_found": "unplugged, headphone plug out", "parted": "unplugged, one speaker lead lifted"}
ON = {"tone": "5 V on, tone at zero crossing", "tone_parted": "the same, speaker lifted"}
PROBES = {
    "GND": "0", "LS1 plus": "sp", "LS1 minus": "sm", "J1 board": "jb", "J1 speaker": "js", "U1 OUT+": "op",
    "U1 OUT-": "om", "U1 VDD": "vdd", "U1 SD": "sd", "SW1 in": "swi", "SW1 out": "swo", "U1 IN": "ain", "U2 OUT": "src",
}  # fmt: skip


def build(c: Circuit, state: str | None, fault: Fault) -> None:
    """Add the parts; the amplifier's half bridges are junctions when dead."""
    c.ohm("F1", "v5", "vdd", 0.1, tolerance=0.3)
    c.ohm("FB1", "op", "swi", 0.15, tolerance=0.3)
    c.joint("SW1", "swi", "swo")
    c.joint("TR_p", "swo", "jb")
    c.joint("J1_p", "jb", "js")
    c.joint("LS1_p", "js", "sp")
    c.ohm("LS1", "sp", "sm", 6.8, tolerance=0.05)
    c.joint("LEAD_m", "sm", "smb")
    c.ohm("FB2", "om", "smb", 0.15, tolerance=0.3)
    for out in ("op", "om"):
        c.diode(f"U1_{out}_low", "0", out, 0.52, rs=0.2, n=1.0)
        c.diode(f"U1_{out}_high", out, "vdd", 0.54, rs=0.2, n=1.0)
        c.ohm(f"U1_{out}_leak", out, "0", 150e3, tolerance=0.3)
    c.ohm("R1", "sd", "v33", 100e3)
    c.pin("U1_sd", "sd", "vdd")
    c.pin("U1_in", "ain", "vdd")
    c.ohm("C1", "src", "ain", 5e8, tolerance=0.4)
    c.pin("U2_out", "src", "v33")
    c.ohm("C2", "vdd", "0", 5e7, tolerance=0.4)
    live = state in ON
    c.island("U1", "vdd", running_ohm=900 if live else None)
    c.island("U2", "v33", running_ohm=300 if live else None)
    if state in ("parted", "tone_parted"):
        c.opened("LEAD_m")
    if live:
        _live(c, fault)


def _live(c: Circuit, fault: Fault) -> None:
    c.fed("psu", "v5", "0", "0.02" if "rail_dead" in fault.marks else "5.0", "1.0")
    c.fed("logic", "v33", "0", "3.3", "0.2")
    if "held_off" in fault.marks:
        c.ohm("U2_sd", "sd", "0", 50, tolerance=0.3)
    c.ohm("U2_bias", "src", "v33", 20e3)
    c.ohm("U2_bias2", "src", "0", 20e3)
    runs = "0.5*(1+tanh(8*(V(sd)-1)))*0.5*(1+tanh(5*(V(vdd)-2)))"
    c.lines += [
        f"Bop op 0 I=(V(op)-0.5*V(vdd))*{runs}*3*(1/(1+(V(op)-0.5*V(vdd))^2))",
        f"Bom om 0 I=(V(om)-0.5*V(vdd))*{runs}*3*(1/(1+(V(om)-0.5*V(vdd))^2))",
        f"Bin ain 0 I=(V(ain)-0.5*V(vdd))*{runs}/20k",
    ]


FAULTS = {
    "none": Fault("no fault", "", "good"),
    "speaker_open": Fault("speaker coil open", "LS1", "open", cut=("LS1",)),
    "speaker_short": Fault("speaker coil shorted", "LS1", "short", values=(("LS1", 0.4),)),
    "plug_open": Fault("speaker plug contact open", "J1", "joint", cut=("J1_p",)),
    "jack_stuck": Fault("jack switch stuck open", "SW1", "open", cut=("SW1",)),
    "ferrite_missing": Fault("output ferrite missing", "FB1", "missing", cut=("FB1",)),
    "trace_open": Fault("trace from jack to plug broken", "trace", "open", cut=("TR_p",)),
    "bridge": Fault("amplifier outputs bridged", "U1", "bridge", bridges=(("op", "om", 0.3),)),
    "supply_short": Fault("amplifier supply shorted", "C2", "short", shorts=(("C2", 0.5),)),
    "supply_missing": Fault("5 V missing", "supply", "dead", marks=("rail_dead",)),
    "supply_joint": Fault("supply fuse of the amplifier open", "F1", "open", cut=("F1",)),
    "held_off": Fault("shutdown pin held low", "U2", "stuck", marks=("held_off",)),
    "sd_pull_missing": Fault("shutdown pull-up missing", "R1", "missing", cut=("R1",)),
}
