"""An HDMI source at direct current: array, eight picture lines, 5 V, hot plug, D D C; a display as its terminations."""

from __future__ import annotations

from tests.physics.netlists.fault import Fault
from tests.physics.netlists.spice import Circuit

NAME = "hdmi_source"
TITLE = "HDMI source with clamp array and a display"
PARTS = (
    "J1 socket; U2 array on every line; F1 fuse of the 5 V; R1 R2 2k pull-ups of D D C; R3 1k and R4 100k of hot "
    "plug; U1 transmitter on 3.3 V; display: 50 ohm a line to 3.3 V, 1k from 5 V to hot plug, 47k at D D C clock"
)
AMMETER = "psu"
OFF = {"as_found": "unplugged, cable out"}
ON = {"alone": "on, no display", "display": "on, a display that works"}
LINES = tuple(f"{line}{side}" for line in ("clk", "d0", "d1", "d2") for side in ("p", "n"))
PROBES = {
    "GND": "0", "J1 5V": "fivep", "5V": "five", "J1 HPD": "hpdp", "U1 HPD": "hpdc", "J1 SCL": "sclp", "J1 SDA": "sdap",
    **{f"J1 {line.upper()}": f"{line}_j" for line in LINES}, "U1 VDD": "vdd",
}  # fmt: skip
PAIRS = (
    *((probe, "GND") for probe in PROBES if probe != "GND"),
    ("5V", "J1 5V"), ("5V", "J1 SCL"), ("5V", "J1 SDA"), ("J1 HPD", "U1 HPD"), ("J1 SCL", "J1 SDA"),
    *((f"J1 {LINES[i].upper()}", f"J1 {LINES[i + 1].upper()}") for i in range(len(LINES) - 1)),
)  # fmt: skip


def build(c: Circuit, state: str | None, fault: Fault) -> None:
    """Add the parts; the transmitter sinks 10 mA by turns, which is 5 mA on the mean."""
    for line in LINES:
        c.joint(f"J1_{line}", f"{line}_j", line)
        c.diode(f"U2_{line}", "0", line, 0.72, rs=1)
        c.ohm(f"R_{line}", line, f"{line}_c", 2.0, tolerance=0.3)
        c.diode(f"U1_{line}_low", "0", f"{line}_c", 0.6, rs=5)
        c.diode(f"U1_{line}_high", f"{line}_c", "vdd", 0.66, rs=5)
    for line, pad in (("scl", "sclp"), ("sda", "sdap"), ("hpd", "hpdp"), ("five", "fivep")):
        c.joint(f"J1_{line}", pad, f"{line}_b")
    c.ohm("F1", "five", "five_b", 0.3, tolerance=0.3)
    c.diode("U2_five", "0", "five_b", 0.7, rs=0.5)
    for line in ("scl", "sda"):
        c.diode(f"U2_{line}", "0", f"{line}_b", 0.72, rs=1)
        c.ohm(f"R_{line}", f"{line}_b", "five", 2000)
        c.diode(f"U1_{line}_low", "0", f"{line}_b", 0.62, rs=6)
    c.diode("U2_hpd", "0", "hpd_b", 0.72, rs=1)
    c.ohm("R3", "hpd_b", "hpdc", 1000)
    c.ohm("R4", "hpdc", "0", 100e3)
    c.diode("U1_hpd_low", "0", "hpdc", 0.62, rs=6)
    c.ohm("C1", "five", "0", 5e7, tolerance=0.4)
    c.ohm("C2", "vdd", "0", 5e7, tolerance=0.4)
    live = state in ON
    c.island("U1", "vdd", running_ohm=60 if live else None)
    c.island("U3", "five", running_ohm=200 if live else None)
    if live:
        _on(c, str(state), fault)


def _on(c: Circuit, state: str, fault: Fault) -> None:
    c.fed("psu", "five", "0", "0.02" if "five_dead" in fault.marks else "5.0", "0.5")
    c.fed("logic", "vdd", "0", "0.02" if "rail_dead" in fault.marks else "3.3", "0.3")
    if state == "alone":
        return
    c.ohm("S_hpd", "fivep", "hpdp", 1000, tolerance=0.1)
    c.ohm("S_draw", "fivep", "0", 2000, tolerance=0.2)
    c.ohm("S_scl", "sclp", "fivep", 47e3)
    c.lines.append("Vsink sink 0 3.3")
    off = {"rail_dead", "chip_dead"} & {*fault.marks}
    for line in LINES:
        c.ohm(f"S_{line}", "sink", f"{line}_j", 50, tolerance=0.05)
        if not off:
            sees = "0.5*(1+tanh(6*(V(hpdc)-1.4)))"
            c.lines.append(f"Bsink_{line} {line}_c 0 I=5m*{sees}*tanh(20*V({line}_c))")


FAULTS = {
    "none": Fault("no fault", "", "good"),
    "clkp_joint": Fault("clock plus contact joint open", "J1", "joint", cut=("J1_clkp",)),
    "d0n_joint": Fault("data zero minus contact joint open", "J1", "joint", cut=("J1_d0n",)),
    "d1p_part": Fault("series part of data one plus open", "R1", "open", cut=("R_d1p",)),
    "d2n_short": Fault("array shorts data two minus", "U2", "short", shorts=(("U2_d2n", 2.0),)),
    "clkn_short": Fault("array shorts clock minus", "U2", "short", shorts=(("U2_clkn", 2.0),)),
    "five_fuse": Fault("fuse of the 5 V open", "F1", "open", cut=("F1",)),
    "five_dead": Fault("5 V of the board missing", "supply", "dead", marks=("five_dead",)),
    "five_short": Fault("5 V contact shorted", "U2", "short", shorts=(("U2_five", 0.5),)),
    "hpd_joint": Fault("hot plug contact joint open", "J1", "joint", cut=("J1_hpd",)),
    "hpd_r_missing": Fault("hot plug resistor missing", "R3", "missing", cut=("R3",)),
    "hpd_short": Fault("array shorts hot plug", "U2", "short", shorts=(("U2_hpd", 2.0),)),
    "scl_short": Fault("array shorts D D C clock", "U2", "short", shorts=(("U2_scl", 2.0),)),
    "sda_short": Fault("array shorts D D C data", "U2", "short", shorts=(("U2_sda", 2.0),)),
    "sda_joint": Fault("D D C data contact joint open", "J1", "joint", cut=("J1_sda",)),
    "scl_pull_missing": Fault("D D C clock pull-up missing", "R1", "missing", cut=("R_scl",)),
    "sda_pull_missing": Fault("D D C data pull-up missing", "R2", "missing", cut=("R_sda",)),
    "five_joint": Fault("5 V contact joint open", "J1", "joint", cut=("J1_five",)),
    "rail_dead": Fault("3.3 V of the transmitter missing", "supply", "dead", marks=("rail_dead",)),
    "rail_short": Fault("3.3 V shorted", "C2", "short", shorts=(("C2", 0.5),)),
    "chip_dead": Fault("transmitter dead", "U1", "dead", marks=("chip_dead",)),
}
