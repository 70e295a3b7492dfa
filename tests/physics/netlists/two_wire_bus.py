"""An RS-485 node on 5 V: terminal, 10 ohm series resistors, clamp, terminator, bias of 680 ohm, transceiver."""

from __future__ import annotations

from tests.physics.netlists.fault import Fault
from tests.physics.netlists.spice import Circuit

NAME = "two_wire_bus"
TITLE = "RS-485 node with bias, terminator and clamp"
PARTS = (
    "J1 terminal A, B, ground; R1 R2 10 ohm pulse resistors; D1 clamp from both lines to ground; R3 120 ohm "
    "terminator; R4 680 ohm A to 5 V, R5 680 ohm B to ground; U1 transceiver; R6 10k holds driver enable low; "
    "U2 processor"
)
AMMETER = "psu"
OFF = {"as_found": "cable off"}
ON = {"idle": "5 V on, driver off, cable off", "driving": "5 V on, enable and data input held high"}
PROBES = {
    "GND": "0", "J1 A": "a_pin", "J1 B": "b_pin", "J1 GND": "g_pin", "R1 in": "a_in", "R2 in": "b_in",
    "A": "a", "B": "b", "U1 A": "a_chip", "U1 B": "b_chip", "U1 GND": "g_chip", "U1 VCC": "vcc", "5V": "v5",
    "U1 DE": "de", "U1 DI": "di", "U1 RO": "ro",
}  # fmt: skip


def build(c: Circuit, state: str | None, fault: Fault) -> None:
    """Add the parts; `state` is None with power off."""
    for name, a, b in (("A", "a_pin", "a_in"), ("B", "b_pin", "b_in"), ("G", "g_pin", "0")):
        c.joint(f"J1_{name}", a, b)
    c.ohm("R1", "a_in", "a", 10)
    c.ohm("R2", "b_in", "b", 10)
    c.joint("R3_a", "a", "t_a")
    c.joint("R3_b", "b", "t_b")
    c.ohm("R3", "t_a", "t_b", 120)
    c.ohm("R4", "a", "v5", 680)
    c.ohm("R5", "b", "0", 680)
    for line in ("a", "b"):
        c.ohm(f"D1_{line}", line, "0", 5e7, tolerance=0.4)  # stands off 7 V: nothing a meter drives
        c.joint(f"TR_{line}", line, f"{line}_chip")
        c.joint(f"U1_{line}", f"{line}_chip", f"{line}_die")
        c.diode(f"U1_{line}_low", "g_chip", f"{line}_die", 0.66, rs=8)
        c.ohm(f"U1_{line}_in", f"{line}_die", "g_chip", 96e3, tolerance=0.2)
    c.joint("U1_gnd", "g_chip", "0")
    c.joint("U1_vcc", "v5", "vcc")
    c.diode("U1_substrate", "g_chip", "vcc", 0.5, n=1.0)
    for pin in ("de", "di", "ro"):
        c.diode(f"U1_{pin}_low", "g_chip", pin, 0.62, rs=6)
        c.diode(f"U1_{pin}_high", pin, "vcc", 0.66, rs=6)
        c.pin(f"U2_{pin}", pin, "v5")
    c.ohm("R6", "de", "0", 10e3)
    c.ohm("C1", "v5", "0", 1e8, tolerance=0.4)
    c.island("U2", "v5", running_ohm=None if state is None else 120)
    if state is not None:
        _powered(c, state, fault)


def _powered(c: Circuit, state: str, fault: Fault) -> None:
    if "rail_dead" not in fault.marks:
        c.fed("psu", "v5", "0", "5.0", "0.3")
    else:
        c.lines += ["Vpsu psu_o 0 0", "Rpsu psu_o 0 1k"]
    c.ohm("U1_quiet", "vcc", "g_chip", 8e3, tolerance=0.2)
    high = state == "driving" or "enable_high" in fault.marks
    c.ohm("U2_de_out", "de_out", "v5" if high else "0", 40, tolerance=0.3)
    c.ohm("U2_de_j", "de_out", "de", 0.01)
    c.ohm("U2_di_out", "di", "0" if "input_low" in fault.marks else "v5", 40, tolerance=0.3)
    ready = "0.5*(1+tanh(4*(V(vcc,g_chip)-3)))"
    if "driver_dead" not in fault.marks:
        on = f"0.5*(1+tanh(8*(V(de,g_chip)-1.4)))*{ready}/25"
        up = "0.5*(1+tanh(8*(V(di,g_chip)-1.4)))"
        for line, share in (("a", up), ("b", f"(1-{up})")):
            c.lines.append(f"Bup{line} vcc {line}_die I=(V(vcc)-V({line}_die))*{share}*{on}")
            c.lines.append(f"Bdn{line} {line}_die g_chip I=V({line}_die,g_chip)*(1-{share})*{on}")
    if "output_dead" not in fault.marks:
        heard = "0.5*(1+tanh(60*(V(a_die)-V(b_die)+0.1)))"
        c.lines.append(f"Bro ro g_chip I=(V(ro,g_chip)-V(vcc,g_chip)*{heard}*{ready})/50")
    else:
        c.ohm("U1_ro_low", "ro", "g_chip", 30, tolerance=0.3)


def _one(cause: str, part: str, kind: str, **what: object) -> Fault:
    return Fault(cause, part, kind, **what)  # type: ignore[arg-type]


FAULTS = {
    "none": Fault("no fault", "", "good"),
    "a_joint": _one("terminal A joint open", "J1", "joint", cut=("J1_A",)),
    "b_joint": _one("terminal B joint open", "J1", "joint", cut=("J1_B",)),
    "gnd_joint": _one("terminal ground joint open", "J1", "joint", cut=("J1_G",)),
    "r1_open": _one("series resistor of A open", "R1", "open", cut=("R1",)),
    "r2_open": _one("series resistor of B open", "R2", "open", cut=("R2",)),
    "clamp_a_short": _one("clamp shorts A to ground", "D1", "short", shorts=(("D1_a", 1.0),)),
    "clamp_b_short": _one("clamp shorts B to ground", "D1", "short", shorts=(("D1_b", 1.0),)),
    "trace_a_open": _one("trace of A broken", "trace", "open", cut=("TR_a",)),
    "trace_b_open": _one("trace of B broken", "trace", "open", cut=("TR_b",)),
    "chip_a_open": _one("transceiver pin A open inside", "U1", "open", cut=("U1_a",)),
    "driver_dead": _one("driver dead", "U1", "dead", marks=("driver_dead",)),
    "bridge": _one("A and B bridged", "U1", "bridge", bridges=(("a_chip", "b_chip", 0.1),)),
    "a_to_5v": _one("A bridged to 5 V", "U1", "bridge", bridges=(("a_chip", "vcc", 0.5),)),
    "b_to_5v": _one("B bridged to 5 V", "U1", "bridge", bridges=(("b_chip", "vcc", 0.5),)),
    "terminator_open": _one("terminator open", "R3", "open", cut=("R3",)),
    "terminator_second": _one("R3 is 40 ohm, three in parallel", "R3", "value", values=(("R3", 40.0),)),
    "bias_up_open": _one("bias resistor to 5 V open", "R4", "open", cut=("R4",)),
    "bias_down_open": _one("bias resistor to ground open", "R5", "open", cut=("R5",)),
    "rail_dead": _one("5 V missing", "supply", "dead", marks=("rail_dead",)),
    "rail_short": _one("5 V shorted", "C1", "short", shorts=(("C1", 0.3),)),
    "vcc_joint": _one("transceiver supply joint open", "U1", "joint", cut=("U1_vcc",)),
    "gnd_chip_joint": _one("transceiver ground joint open", "U1", "joint", cut=("U1_gnd",)),
    "enable_high": _one("driver enable held high", "U2", "stuck", marks=("enable_high",)),
    "output_low": _one("data output stuck low", "U1", "stuck", marks=("output_dead",)),
    "input_low": _one("data input held low", "U2", "stuck", marks=("input_low",)),
}
