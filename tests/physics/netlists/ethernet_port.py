"""A network port at direct current: windings, centre taps, barrier, transceiver on 3.3 V. No cable, nothing sent."""

from __future__ import annotations

from tests.physics.netlists.fault import Fault
from tests.physics.netlists.spice import Circuit

NAME = "ethernet_port"
TITLE = "10/100 network port with magnetics and transceiver"
PARTS = (
    "J1 jack; T1 magnetics, windings of 1 ohm, 75 ohm from each cable-side tap to one capacitor; R1 to R4 of 49.9 ohm "
    "to the taps' supply behind FB1; U1 transceiver; R5 12.4k bias; R6 10k reset pull-up; U2 board's processor"
)
AMMETER = "psu"
OFF = {
    "as_found": "unplugged, cable out", "taps_parted": "the same, FB1 lifted",
    "pairs_parted": "the same, both taps and their resistors lifted",
}
ON = {"run": "3.3 V on, cable out"}
PROBES = {
    "GND": "0", "J1 1": "ja1", "J1 2": "ja2", "J1 3": "jb1", "J1 6": "jb2", "J1 4": "jc1", "J1 5": "jc2",
    "T1 A+": "ma1", "T1 A-": "ma2", "T1 B+": "mb1", "T1 B-": "mb2",
    "T1 cable A+": "ca1", "T1 cable A-": "ca2", "T1 cable B+": "cb1", "T1 cable B-": "cb2",
    "U1 A+": "pa1", "U1 A-": "pa2", "U1 B+": "pb1", "U1 B-": "pb2", "T1 tap A": "tapa", "T1 tap B": "tapb",
    "3V3": "v33", "U1 VDD": "vdd", "U1 CORE": "core", "U1 BIAS": "bias", "U1 RST": "rst",
}  # fmt: skip
_AROUND = (
    ("J1 1", "J1 2"), ("J1 3", "J1 6"), ("J1 4", "J1 5"), ("J1 1", "J1 3"), ("J1 2", "J1 6"), ("J1 1", "J1 6"),
    ("J1 2", "J1 3"), ("J1 1", "T1 cable A+"), ("J1 3", "T1 cable B+"),
    ("J1 2", "T1 cable A-"), ("J1 6", "T1 cable B-"), ("T1 A+", "T1 A-"), ("T1 B+", "T1 B-"),
    ("U1 A+", "U1 A-"), ("U1 B+", "U1 B-"), ("U1 A+", "U1 B+"), ("T1 A+", "U1 A+"), ("T1 A-", "U1 A-"),
    ("T1 B+", "U1 B+"), ("T1 B-", "U1 B-"), ("J1 1", "U1 A+"), ("J1 3", "U1 B+"), ("T1 cable A+", "T1 A+"),
    ("3V3", "T1 tap A"), ("3V3", "T1 tap B"), ("3V3", "U1 VDD"), ("3V3", "U1 RST"),
)  # fmt: skip
PAIRS = (*((probe, "GND") for probe in PROBES if probe != "GND"), *_AROUND)


def build(c: Circuit, state: str | None, fault: Fault) -> None:
    """Add the parts; a winding is two halves round its tap."""
    for pair in ("a", "b", "c"):
        for n in (1, 2):
            c.joint(f"J1_{pair}{n}", f"j{pair}{n}", f"c{pair}{n}")
            c.ohm(f"T1_c{pair}{n}", f"c{pair}{n}", f"tap_c{pair}", 0.45, tolerance=0.2)
        c.ohm(f"smith_{pair}", f"tap_c{pair}", "smith", 75)
    c.ohm("smith", "smith", "0", 5e10)
    c.ohm("barrier", "ca1", "ma1", 1e11)
    for pair in ("a", "b"):
        for n in (1, 2):
            c.ohm(f"T1_m{pair}{n}", f"m{pair}{n}", f"tap{pair}", 0.4, tolerance=0.2)
            c.joint(f"TR_{pair}{n}", f"m{pair}{n}", f"p{pair}{n}")
            c.ohm(f"R_{pair}{n}", f"p{pair}{n}", "vtap", 49.9)
            c.diode(f"U1_{pair}{n}_low", "0", f"p{pair}{n}", 0.6, rs=4)
            c.diode(f"U1_{pair}{n}_high", f"p{pair}{n}", "vdd", 0.64, rs=4)
        c.joint(f"TAP_{pair}", f"tap{pair}", "vtap")
    c.ohm("FB1", "v33", "vfb", 0.3, tolerance=0.3)
    c.joint("U1_vdd", "v33", "vdd")
    c.ohm("R5", "bias", "0", 12.4e3)
    c.pin("U1_bias", "bias", "vdd")
    c.ohm("R6", "rst", "v33", 10e3)
    c.pin("U1_rst", "rst", "vdd")
    c.diode("U1_substrate", "0", "vdd", 0.5, n=1.0)
    c.diode("U1_core_low", "0", "core", 0.5, n=1.0)
    c.diode("U1_core_up", "core", "vdd", 0.6, n=1.0)
    c.ohm("U1_core", "core", "0", 2e3, tolerance=0.2)
    c.ohm("C1", "v33", "0", 5e7, tolerance=0.4)
    live = state in ON
    c.island("U2", "v33", running_ohm=150 if live else None)
    c.joint("FB1_lift", "vfb", "vtap")
    if state in ("taps_parted", "pairs_parted"):
        c.opened("FB1_lift")
    if state == "pairs_parted":
        for name in ("TAP_a", "TAP_b", *(f"R_{pair}{n}" for pair in "ab" for n in (1, 2))):
            c.opened(name)
    if live:
        c.fed("psu", "v33", "0", "0.02" if "rail_dead" in fault.marks else "3.3", "0.6")
        c.ohm("U1_draw", "vdd", "0", 80, tolerance=0.2)
        volts = "0" if "core_dead" in fault.marks else "1.2*0.5*(1+tanh(4*(V(vdd)-2)))"
        c.fed("core", "core", "0", volts, "0.05")
        c.lines.append("Bcore vdd 0 I=I(Vcore)")
        if "reset_held" in fault.marks:
            c.ohm("U2_rst", "rst", "0", 40, tolerance=0.3)


FAULTS = {
    "none": Fault("no fault", "", "good"),
    "a_joint": Fault("jack contact one's joint open", "J1", "joint", cut=("J1_a1",)),
    "a2_joint": Fault("jack contact two's joint open", "J1", "joint", cut=("J1_a2",)),
    "b_joint": Fault("jack contact three's joint open", "J1", "joint", cut=("J1_b1",)),
    "c_joint": Fault("jack contact four's joint open", "J1", "joint", cut=("J1_c1",)),
    "a_winding": Fault("cable-side winding of pair A open", "T1", "open", cut=("T1_ca2",)),
    "b_winding": Fault("cable-side winding of pair B open", "T1", "open", cut=("T1_cb2",)),
    "a_mag": Fault("chip-side winding of pair A open", "T1", "open", cut=("T1_ma1",)),
    "b_mag": Fault("chip-side winding of pair B open", "T1", "open", cut=("T1_mb1",)),
    "barrier": Fault("barrier broken through", "T1", "leak", values=(("barrier", 20e3),)),
    "a_trace": Fault("trace of A plus broken", "trace", "open", cut=("TR_a1",)),
    "b_trace": Fault("trace of B minus broken", "trace", "open", cut=("TR_b2",)),
    "a_short": Fault("transceiver pin A plus shorted", "U1", "short", shorts=(("U1_a1_low", 2.0),)),
    "b_short": Fault("transceiver pin B plus shorted", "U1", "short", shorts=(("U1_b1_low", 2.0),)),
    "bridge": Fault("contacts two and three bridged", "J1", "bridge", bridges=(("ja2", "jb1", 0.2),)),
    "tap_open": Fault("ferrite of the taps open", "FB1", "open", cut=("FB1",)),
    "bias_missing": Fault("bias resistor missing", "R5", "missing", cut=("R5",)),
    "rail_dead": Fault("3.3 V missing", "supply", "dead", marks=("rail_dead",)),
    "rail_short": Fault("3.3 V shorted", "C1", "short", shorts=(("C1", 0.4),)),
    "vdd_joint": Fault("supply joint of the transceiver open", "U1", "joint", cut=("U1_vdd",)),
    "core_dead": Fault("core supply missing", "U1", "dead", marks=("core_dead",)),
    "reset_held": Fault("reset held low", "U2", "stuck", marks=("reset_held",)),
}
