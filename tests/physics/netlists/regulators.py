"""A buck converter and a linear regulator as netlists: python -m tests.physics.netlists.regulators [SECTION ...]

Averaged models: the converter's switch node stands at duty times input, its current limited; the loop is a smooth step
on the feedback pin. Values are of no real board. Needs ngspice; the tables it writes are committed, so tests do not.
"""

from __future__ import annotations

import random
import sys

from tests.physics.netlists.bench import Circuit, write

OPEN = 1e11
SHORT = 1.0
DIODES = ".model si D(is=1e-14 n=1.05 rs=0.5)\n.model sch D(is=1e-7 n=1.05 rs=0.1)\n"


def tolerances(section: str, unit: int, values: dict[str, float]) -> dict[str, float]:
    """Return part values of one board: 1 percent, references 1.5 percent."""
    draw = random.Random(f"{section} {unit}")
    return {
        name: value * (1 + draw.uniform(-1, 1) * (0.015 if name == "ref" else 0.01)) for name, value in values.items()
    }


BUCK_FAULTS = {
    "none": ("no fault", "good", ""),
    "fuse_open": ("input fuse open", "open", "F1"),
    "cin_short": ("input capacitor shorted", "short", "C1"),
    "hs_short": ("upper switch shorted", "short", "U1"),
    "ls_short": ("lower switch shorted", "short", "U1"),
    "coil_open": ("coil open", "open", "L1"),
    "cout_short": ("output capacitor shorted", "short", "C2"),
    "load_heavy": ("load draws too much", "leak", "U2"),
    "dead": ("converter does not switch", "dead", "U1"),
    "bias_short": ("bias pin shorted", "short", "C3"),
    "en_open": ("enable pull-up open", "open", "R1"),
    "en_short": ("enable pin shorted", "short", "U1"),
    "ss_short": ("soft start pin shorted", "short", "C4"),
    "fb_top_open": ("upper feedback resistor open", "open", "R3"),
    "fb_bot_open": ("lower feedback resistor open", "open", "R4"),
    "fb_short": ("feedback pin bridged to ground", "short", "U1"),
    "fb_top_high": ("upper feedback resistor 40 percent high", "drift", "R3"),
    "fb_top_low": ("upper feedback resistor 30 percent low", "drift", "R3"),
}


def buck(fault: str, unit: int, state: str) -> str:
    """Return the board body: 12 V through a fuse, a converter to 3.3 V (0.6 V over 100 k and 22.1 k), a load."""
    v = tolerances("s1", unit, {"ref": 0.6, "rt": 100e3, "rb": 22.1e3, "re1": 100e3, "re2": 22e3, "load": 0.12})
    v["rt"] *= {"fb_top_high": 1.4, "fb_top_low": 0.7}.get(fault, 1.0)
    live, parted = state in ("bench", "load_parted"), state == "load_parted"
    fuse = OPEN if fault == "fuse_open" else 0.05
    coil = OPEN if fault == "coil_open" or state == "coil_lifted" else 0.04
    lines = [
        DIODES, f"Rf feed vin {fuse}", f"Rcin vin 0 {SHORT if fault == 'cin_short' else 3e6}",
        f"Re1 vin en {OPEN if fault == 'en_open' else v['re1']}", f"Re2 en 0 {v['re2']}",
        f"Ren en 0 {10 if fault == 'en_short' else 1e8}", "Den 0 en si",
        f"Rhs vin sw {0.3 if fault == 'hs_short' else 5e6}", f"Rls sw 0 {0.3 if fault == 'ls_short' else 5e6}",
        "Dhs sw vin si", "Dls 0 sw si", f"Rl sw vout {coil}",
        f"Rcout vout 0 {SHORT if fault == 'cout_short' else 1e6}",
        f"Rt vout fb {OPEN if fault == 'fb_top_open' else v['rt']}",
        f"Rb fb 0 {OPEN if fault == 'fb_bot_open' else v['rb']}", f"Rfb fb 0 {10 if fault == 'fb_short' else 1e8}",
        "Dfb 0 fb si", f"Rss ss 0 {20 if fault == 'ss_short' else 1e8}", "Dss 0 ss si",
        f"Rbias bias 0 {2 if fault == 'bias_short' else 200e3}", "Dbias 0 bias si", "Db2 bias vin si",
    ]  # fmt: skip
    if not parted:
        lines += ["Dload 0 vout si", "Rload vout 0 4k"]
    if not live:
        return "\n".join([*lines, "Ramps amps 0 1"])
    alive = "0" if fault == "dead" else "1"
    lines += ["C1 feed 0 1u", "C2 vin 0 10u", "C3 bias 0 1u", "C4 ss 0 5n", "C5 vout 0 22u", "C6 sw 0 10n"]
    lines.append("C7 fb 0 10p")
    lines += [
        "Bsup 0 feed I=1.0*tanh(50*(12-V(feed)))", "Bamps amps 0 V=tanh(50*(12-V(feed)))",
        "Bon on 0 V=0.5*(1+tanh(20*(V(en)-1.15)))", "Bbias vin bias I=V(on)*0.05*tanh(20*(5-V(bias)))",
        "Bup up 0 V=V(on)*0.5*(1+tanh(10*(V(bias)-3.5)))",
        "Bss vin ss I=V(up)*5u*tanh(5*(2.5-V(ss)))", "Bssd ss 0 I=(1-V(up))*V(ss)/1k",
        f"Brun run 0 V={alive}*V(up)",
        f"Bref ref 0 V=min({v['ref']},max(V(ss)-0.02,0))",
        "Bduty duty 0 V=V(run)*0.45*(1+tanh(400*(V(ref)-V(fb))))",
        "Bsw 0 sw I=V(run)*2*tanh((V(duty)*V(vin)-V(sw))/0.2)",
        "Bin vin 0 I=0.002*V(on)+V(duty)*V(run)*2*tanh((V(duty)*V(vin)-V(sw))/0.2)",
    ]  # fmt: skip
    if not parted:
        amps = 3.0 if fault == "load_heavy" else v["load"]
        lines.append(f"Bload vout 0 I={amps}*0.5*(1+tanh(4*(V(vout)-1.2)))*tanh(5*V(vout))")
    return "\n".join(lines)


LDO_FAULTS = {
    "none": ("no fault", "good", ""),
    "fuse_open": ("input ferrite open", "open", "FB1"),
    "input_low": ("source sags to 3.0 V", "low", ""),
    "cin_short": ("input capacitor shorted", "short", "C1"),
    "pass_short": ("pass transistor shorted", "short", "U1"),
    "dead": ("regulator gives nothing", "dead", "U1"),
    "gnd_open": ("ground pin open", "open", "U1"),
    "cout_short": ("output capacitor shorted", "short", "C2"),
    "load_heavy": ("load draws too much", "leak", "U2"),
    "en_open": ("enable pull-up open", "open", "R1"),
    "en_short": ("enable pin shorted", "short", "U1"),
    "top_open": ("upper divider resistor open", "open", "R2"),
    "bot_open": ("lower divider resistor open", "open", "R3"),
    "top_low": ("upper divider resistor 30 percent low", "drift", "R2"),
    "adj_short": ("adjust pin bridged to ground", "short", "U1"),
}


def ldo(fault: str, unit: int, state: str) -> str:
    """Return the board body: 5 V through a ferrite, a regulator to 3.3 V (0.8 V over 31.6 k and 10 k), a load."""
    v = tolerances("s2", unit, {"ref": 0.8, "rt": 31.6e3, "rb": 10e3, "ren": 47e3, "load": 0.15})
    v["rt"] *= 0.7 if fault == "top_low" else 1.0
    live, parted = state in ("own", "load_parted", "bench"), state == "load_parted"
    lines = [
        DIODES, f"Rf feed vin {OPEN if fault == 'fuse_open' else 0.1}",
        f"Rcin vin 0 {SHORT if fault == 'cin_short' else 3e6}",
        f"Re vin en {OPEN if fault == 'en_open' else v['ren']}", f"Ren en 0 {10 if fault == 'en_short' else 1e6}",
        f"Rgp gp 0 {OPEN if fault == 'gnd_open' else 0.01}", "Den gp en si", "Dgp gp vout si", "Dadj gp adj si",
        f"Rps vin vout {0.1 if fault == 'pass_short' else 3e6}", "Dbody vout vin si", "Rq vin gp 1meg",
        f"Rcout vout 0 {SHORT if fault == 'cout_short' else 1e6}",
        f"Rt vout adj {OPEN if fault == 'top_open' else v['rt']}",
        f"Rb adj 0 {OPEN if fault == 'bot_open' else v['rb']}", f"Radj adj 0 {5 if fault == 'adj_short' else 1e8}",
    ]  # fmt: skip
    if not parted:
        lines += ["Dload 0 vout si", "Rload vout 0 4k"]
    if not live:
        return "\n".join([*lines, "Ramps amps 0 1"])
    source = 3.0 if fault == "input_low" and state != "bench" else 5.0
    gain = 0 if fault == "dead" else 1
    lines += ["C1 feed 0 1u", "C2 vin 0 10u", "C3 vout 0 10u", "C4 adj 0 10p", "C5 en 0 1n"]
    lines += [
        f"Bsup 0 feed I=1.0*tanh(50*({source}-V(feed)))", f"Bamps amps 0 V=tanh(50*({source}-V(feed)))",
        "Bon on 0 V=0.5*(1+tanh(20*(V(en)-V(gp)-1.1)))",
        f"Bg g 0 V={gain}*V(on)*2.5*(1+tanh(300*({v['ref']}-(V(adj)-V(gp)))))",
        "Bpass vin vout I=0.6*tanh((V(vin)-V(vout))*V(g)/0.6)", "Bq vin gp I=V(on)*0.5m*tanh(5*(V(vin)-V(gp)))",
    ]  # fmt: skip
    if not parted:
        amps = 0.9 if fault == "load_heavy" else v["load"]
        lines.append(f"Bload vout 0 I={amps}*0.5*(1+tanh(4*(V(vout)-1.2)))*tanh(5*V(vout))")
    return "\n".join(lines)


CIRCUITS = (
    Circuit(
        "s1_buck_converter", "12 V to 3.3 V buck converter",
        "F1 fuse; C1 input capacitor; R1/R2 enable divider; U1 synchronous buck; L1 coil; R3/R4 feedback; U2 load",
        {"GND": "0", "12V feed": "feed", "VIN at C1": "vin", "U1 EN": "en", "U1 BIAS": "bias", "U1 SS": "ss",
         "U1 SW": "sw", "3V3 at C2": "vout", "U1 FB": "fb"},
        {"as_found": "unplugged", "coil_lifted": "unplugged, L1 lifted at the output"},
        {"bench": "12 V, 1 A limit", "load_parted": "12 V, 1 A limit, load parted"},
        BUCK_FAULTS, buck,
    ),
    Circuit(
        "s2_linear_regulator", "5 V to 3.3 V adjustable regulator",
        "FB1 ferrite; C1 input capacitor; R1 enable pull-up; U1 regulator; R2/R3 divider; C2 output; U2 load",
        {"GND": "0", "5V feed": "feed", "U1 IN": "vin", "U1 GND": "gp", "U1 EN": "en", "U1 OUT": "vout",
         "U1 ADJ": "adj"},
        {"as_found": "unplugged"},
        {"own": "own 5 V source", "load_parted": "own source, load parted", "bench": "5 V, 1 A limit"},
        LDO_FAULTS, ldo,
    ),
)  # fmt: skip


if __name__ == "__main__":
    for each in (c for c in CIRCUITS if not sys.argv[1:] or c.section in sys.argv[1:]):
        path = write(each)
        print(f"{path.name}: {path.stat().st_size} bytes")
