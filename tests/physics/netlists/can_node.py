"""A CAN node on 5 V: terminal, common-mode choke, clamp, terminator of 120 ohm, transceiver with standby pin."""

from __future__ import annotations

from tests.physics.netlists.fault import Fault
from tests.physics.netlists.spice import Circuit

NAME = "can_node"
TITLE = "CAN node with choke, clamp and terminator"
PARTS = (
    "J1 terminal H, L, ground; L1 choke of 1 ohm a winding; D1 clamp from both lines to ground; R1 120 ohm "
    "terminator; U1 transceiver; R2 10k holds standby low; U2 processor"
)
AMMETER = "psu"
OFF = {"as_found": "cable off", "clamps_lifted": "the same, D1 lifted from both lines"}
ON = {"idle": "5 V on, nothing sent, cable off", "driving": "5 V on, data input held low: dominant"}
PROBES = {
    "GND": "0", "J1 H": "a_pin", "J1 L": "b_pin", "J1 GND": "g_pin", "L1 H in": "a_in", "L1 L in": "b_in",
    "H": "a", "L": "b", "U1 H": "a_chip", "U1 L": "b_chip", "U1 GND": "g_chip", "U1 VCC": "vcc", "5V": "v5",
    "U1 STB": "stb", "U1 TXD": "txd", "U1 RXD": "rxd",
}  # fmt: skip


def build(c: Circuit, state: str | None, fault: Fault) -> None:
    """Add the parts; dead bus pins show a junction to ground and tens of kilohm."""
    for name, a, b in (("H", "a_pin", "a_in"), ("L", "b_pin", "b_in"), ("G", "g_pin", "0")):
        c.joint(f"J1_{name}", a, b)
    for line in ("a", "b"):
        c.ohm(f"L1_{line}", f"{line}_in", line, 1.0, tolerance=0.1)
        c.ohm(f"D1_{line}", line, "0", 5e7, tolerance=0.4)  # stands off 24 V
        c.joint(f"TR_{line}", line, f"{line}_chip")
        c.joint(f"U1_{line}", f"{line}_chip", f"{line}_die")
        c.diode(f"U1_{line}_low", "g_chip", f"{line}_die", 0.68, rs=8)
        c.ohm(f"U1_{line}_in", f"{line}_die", "mid", 25e3, tolerance=0.3)
    c.ohm("U1_mid", "mid", "g_chip", 40e3, tolerance=0.3)
    if state == "clamps_lifted":
        for line in ("a", "b"):
            c.parts[f"D1_{line}"][1] = f"D1_{line}"  # the part keeps its fault, and hangs by its ground leg alone
    c.ohm("R1", "a", "b", 120)
    c.joint("U1_gnd", "g_chip", "0")
    c.joint("U1_vcc", "v5", "vcc")
    c.diode("U1_substrate", "g_chip", "vcc", 0.5, n=1.0)
    for pin in ("stb", "txd", "rxd"):
        c.diode(f"U1_{pin}_low", "g_chip", pin, 0.62, rs=6)
        c.diode(f"U1_{pin}_high", pin, "vcc", 0.66, rs=6)
        c.pin(f"U2_{pin}", pin, "v5")
    c.ohm("R2", "stb", "0", 10e3)
    c.ohm("C1", "v5", "0", 1e8, tolerance=0.4)
    c.island("U2", "v5", running_ohm=120 if state in ON else None)
    if state in ON:
        _powered(c, str(state), fault)


def _powered(c: Circuit, state: str, fault: Fault) -> None:
    c.fed("psu", "v5", "0", "0.02" if "rail_dead" in fault.marks else "5.0", "0.4")
    c.ohm("U1_quiet", "vcc", "g_chip", 1e3, tolerance=0.2)
    low = state == "driving" or "txd_low" in fault.marks
    c.ohm("U2_txd_out", "txd", "0" if low else "v5", 40, tolerance=0.3)
    c.ohm("U1_txd_pull", "txd", "vcc", 50e3, tolerance=0.3)
    c.ohm("U2_stb_out", "stb", "v5" if "standby" in fault.marks else "0", 60 if "standby" in fault.marks else 1e8)
    ready = "0.5*(1+tanh(4*(V(vcc,g_chip)-4)))*0.5*(1+tanh(6*(1.4-V(stb,g_chip))))"
    dominant = "0" if "driver_dead" in fault.marks else f"0.5*(1+tanh(8*(1.4-V(txd,g_chip))))*{ready}"
    # Dominant: each output some 25 ohm and a junction from its rail; recessive: both rest at half the supply.
    c.lines += [
        f"Bhi vcc a_die I={dominant}*max(V(vcc)-V(a_die)-0.6,0)/22",
        f"Blo b_die g_chip I={dominant}*max(V(b_die,g_chip)-0.6,0)/22",
        f"Bmid mid g_chip I={ready}*(V(mid,g_chip)-0.5*V(vcc,g_chip))/500",
    ]
    if "rxd_dead" in fault.marks:
        c.ohm("U1_rxd_low", "rxd", "g_chip", 30, tolerance=0.3)
    else:
        heard = "0.5*(1+tanh(30*(0.7-(V(a_die)-V(b_die)))))"
        c.lines.append(f"Brx rxd g_chip I=(V(rxd,g_chip)-V(vcc,g_chip)*{heard})*{ready}/60")


FAULTS = {
    "none": Fault("no fault", "", "good"),
    "h_joint": Fault("terminal H joint open", "J1", "joint", cut=("J1_H",)),
    "l_joint": Fault("terminal L joint open", "J1", "joint", cut=("J1_L",)),
    "choke_open": Fault("choke winding of H open", "L1", "open", cut=("L1_a",)),
    "l_trace": Fault("trace of L broken", "trace", "open", cut=("TR_b",)),
    "clamp_h_short": Fault("clamp shorts H", "D1", "short", shorts=(("D1_a", 1.0),)),
    "clamp_l_short": Fault("clamp shorts L", "D1", "short", shorts=(("D1_b", 1.0),)),
    "terminator_missing": Fault("terminator missing", "R1", "missing", cut=("R1",)),
    "terminator_extra": Fault("terminator of 40 ohm", "R1", "value", values=(("R1", 40.0),)),
    "bridge": Fault("H and L bridged", "U1", "bridge", bridges=(("a_chip", "b_chip", 0.1),)),
    "h_to_5v": Fault("H bridged to 5 V", "U1", "bridge", bridges=(("a_chip", "vcc", 0.5),)),
    "rail_dead": Fault("5 V missing", "supply", "dead", marks=("rail_dead",)),
    "rail_short": Fault("5 V shorted", "C1", "short", shorts=(("C1", 0.3),)),
    "vcc_joint": Fault("supply joint open", "U1", "joint", cut=("U1_vcc",)),
    "gnd_chip_joint": Fault("ground joint open", "U1", "joint", cut=("U1_gnd",)),
    "driver_dead": Fault("driver dead", "U1", "dead", marks=("driver_dead",)),
    "standby": Fault("standby held high", "U2", "stuck", marks=("standby",)),
    "txd_low": Fault("data input held low", "U2", "stuck", marks=("txd_low",)),
    "rxd_low": Fault("data output stuck low", "U1", "stuck", marks=("rxd_dead",)),
}
