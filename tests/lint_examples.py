"""Examples for the lint rules: a clean tree, changes that break one rule each, and changes that stay just inside."""
# ruff: noqa: E501  one example a line reads best
# fmt: off

CLEAN = """\
version: 1
device: Fernleaf GH-2
symptom: The valve hums and stays shut
heard_as: [valve hums]
start: history
decide_at: 0.9
sources: {sheet: "Fernleaf sheet, invented"}
hazards:
  unplugged: {power: off, say: Unplug it. Say unplugged., until: unplugged}
  live: {power: on, say: Mains is live in the top bay. Say ready., until: ready}
points: {coil-a: coil end A, coil-b: coil end B, gnd: ground}
setups: {hose-off: {say: Take the hose off.}}
access: {lid: {say: Take the lid off., until: open}}
checks:
  history:
    ask: Was it dropped?
    answer: {dropped: [yes, it fell], never: no}
    hazard: none
    p: {coil-open: {dropped: 0.6, never: 0.4}, default: {dropped: 0.2, never: 0.8}}
    then: {dropped: coil, never: coil}
  coil:
    ask: Ohms across the coil.
    measure: ohm
    hazard: unplugged
    bands: {short: below 20 ohm, good: 20 ohm to 60 ohm, open: 60 ohm and up or OL}
    source: sheet
    normal: good
    expect: {coil-open: open}
    red: coil-a
    black: coil-b
    setup: hose-off
    access: lid
    then: {short: stop, good: drive, open: coil-open}
  drive:
    ask: Volts D C, coil end A to ground.
    measure: V dc
    hazard: live
    bands: {dead: below 1 V, driven: 1 V and up or OL}
    source: sheet
    normal: driven
    expect: {driver-open: dead}
    red: coil-a
    black: gnd
    then: {dead: driver-open, driven: plan}
  drive-b:
    ask: Volts D C, coil end B to ground.
    measure: V dc
    hazard: live
    bands: {dead: below 1 V, driven: 1 V and up or OL}
    source: sheet
    normal: dead
    red: coil-b
    black: gnd
  drop:
    twin: [drive, drive-b]
    bands: {alike: below 1 V, apart: 1 V and up}
    source: sheet
    normal: apart
causes:
  coil-open:
    weight: 3
    say: The coil is open.
    repair: [{do: Fit a new coil, minutes: 20, hazard: unplugged}]
    verify: {check: coil, band: good, else: drive}
  driver-open:
    weight: 3
    say: The driver is open.
    repair: [{do: Fit a new driver, minutes: 20, hazard: unplugged}]
    verify: {check: drive, band: driven, else: stop}
  other: {weight: 0.2, say: Something else.}
  none: {weight: 0.2, say: Nothing is wrong.}
sweeps: {drive-ends: {say: Along the drive., checks: [drive, drive-b]}}
"""
COIL_BANDS = "{short: below 20 ohm, good: 20 ohm to 60 ohm, open: 60 ohm and up or OL}"
DRIVE_BANDS = "{dead: below 1 V, driven: 1 V and up or OL}"
HISTORY = "{dropped: [yes, it fell], never: no}"


def changed(*changes):
    """Return the clean tree with each (old, new) put in, once."""
    text = CLEAN
    for old, new in changes:
        assert old in text, old
        text = text.replace(old, new, 1)
    return text


# Rule: the changes to CLEAN, and the finding that must be among those told.
BREAKS = {
    "T01 gap": ([(COIL_BANDS, COIL_BANDS.replace("20 ohm to", "25 ohm to"))], "25: T01 coil leaves 20 ohm to 25 ohm without a band; widen good or add one"),
    "T01 below": ([(DRIVE_BANDS, "{dead: 0 V to 1 V, driven: 1 V and up or OL}")], "38: T01 drive leaves below 0 V without a band; widen dead or add one"),
    "T01 above": ([(COIL_BANDS, COIL_BANDS.replace("60 ohm and up or OL", "60 ohm to 1.2 kohm or OL"))], "25: T01 coil leaves 1.2 kohm and up without a band; widen open or add one"),
    "T01 nothing": ([(COIL_BANDS, "{good: OL, short: OL, open: OL}")], "25: T01 coil has no band for a number; add `below X` or `X and up`"),
    "T02": ([(COIL_BANDS, COIL_BANDS.replace("below 20", "below 21"))], "25: T02 coil: short and good overlap; end one where the other begins"),
    "T03 none": ([(COIL_BANDS, COIL_BANDS.replace(" or OL", ""))], "25: T03 coil has no band for OL; add `or OL` to the band it belongs to"),
    "T03 two": ([(COIL_BANDS, COIL_BANDS.replace("below 20 ohm", "below 20 ohm or OL"))], "25: T03 coil has OL in short and open; keep it in one"),
    "T03 twin": ([("apart: 1 V and up}", "apart: 1 V and up or OL}")], "56: T03 drop is a difference and never OL; take `or OL` off apart"),
    "T04": ([(COIL_BANDS, COIL_BANDS.replace("20 ohm", "20 V"))], "25: T04 coil is measured in ohm, not V; write the edges of short in ohm"),
    "T05 check": ([("driven: plan}", "driven: stop}"), ("  drive-b:\n", "  drive-b:\n    then: {dead: stop, driven: stop}\n")], "45: T05 no route comes to drive-b; name it in a `then` or take it out"),
    "T05 cause": ([("expect: {driver-open: dead}\n", "expect: {}\n"), ("dead: driver-open,", "dead: stop,")], "65: T05 nothing leads to driver-open; name it in a `then` or in a check's `expect`"),
    "T06 band": ([("then: {short: stop, good", "then: {good")], "33: T06 coil has no route for short; add `short: plan` or another end"),
    "T06 goal": ([("open: coil-open}", "open: coil-opem}")], "33: T06 coil goes to coil-opem; did you mean `coil-open`?"),
    "T06 no such band": ([("then: {short: stop,", "then: {short: stop, shut: stop,")], "33: T06 coil has no band shut; use one of short, good, open, unseen"),
    "T06 unseen": ([("then: {short: stop,", "then: {unseen: coil-open, short: stop,")], "33: T06 coil goes to coil-open though nothing was seen; name a check or `plan`"),
    "T06 twin": ([("good: drive,", "good: drop,")], "33: T06 coil goes to drop, which is worked out, not asked; name its halves"),
    "T06 start": ([("start: history", "start: histery")], "5: T06 start names histery, which is no check or sweep; did you mean `history`?"),
    "T06 verify check": ([("{check: coil, band: good, else: drive}", "{check: drop, band: alike, else: drive}")], "64: T06 coil-open is verified by drop, which nobody asks; name a check"),
    "T06 verify band": ([("band: good,", "band: fine,")], "64: T06 coil has no band fine; use one of short, good, open"),
    "T06 verify else": ([("else: drive}", "else: coil-open}")], "64: T06 else names coil-open; name a check, `stop` or `plan`"),
    "T07": ([("driven: plan}", "driven: history}")], "20: T07 history to coil to drive to history is a circle; end one of them elsewhere"),
    "T08 check and cause": ([("  coil-open:\n", "  coil:\n"), ("open: coil-open}", "open: coil}"), ("{coil-open: open}", "{coil: open}"), ("p: {coil-open", "p: {coil")], "21: T08 coil is a check and a cause; rename one"),
    "T08 reserved check": ([("  drive-b:\n", "  plan:\n"), ("[drive, drive-b]", "[drive, plan]"), ("[drive, drive-b]", "[drive, plan]")], "45: T08 `plan` is a word of the format; rename the check"),
    "T08 reserved cause": ([("  other: {", "  default: {weight: 1, say: X.}\n  other: {")], "70: T08 `default` is a word of the format; rename the cause"),
    "T08 step": ([("access: {lid:", "access: {live:"), ("access: lid", "access: live")], "13: T08 live is used for two steps to acknowledge; rename one"),
    "T08 unseen": ([("    bands: {dead: below 1 V, driven: 1 V and up or OL}\n", "    bands: {dead: below 1 V, unseen: 1 V and up or OL}\n")], "34: T08 drive: band `unseen` is a word of the format; rename the band"),
    "T09 check": ([("    hazard: live\n", "")], "34: T09 drive has no hazard; name the caution that goes before it"),
    "T09 none": ([("hazard: unplugged\n", "hazard: none\n")], "24: T09 coil touches the board, so its hazard is not `none`; name a caution"),
    "T09 repair": ([("minutes: 20, hazard: unplugged}", "minutes: 20}")], "63: T09 a repair of coil-open has no hazard; name the caution that goes before it"),
    "T10 ohms": ([("hazard: unplugged\n", "hazard: live\n")], "24: T10 coil measures ohms, which needs power off, and live is power on; name a hazard with power off"),
    "T10 volts": ([("hazard: live\n", "hazard: unplugged\n")], "37: T10 drive measures volts dc, which needs power on, and unplugged is power off; name a hazard with power on"),
    "T10 any": ([("{power: off, say", "{power: any, say")], "24: T10 coil measures ohms, which needs power off, and unplugged is power any; name a hazard with power off"),
    "T11": ([(", until: ready}", "}")], "10: T11 hazard live has no `until`; add the word that acknowledges it"),
    "T12 none": ([("    source: sheet\n    normal: good", "    normal: good")], "25: T12 coil has limits without a source; name one, or a note `common practice, no source`"),
    "T12 unknown": ([("source: sheet\n", "source: [sheet, sheep]\n")], "26: T12 coil: sheep is not in `sources`; did you mean `sheet`?"),
    "T12 unused": ([("sources: {", "sources: {old: Old sheet, ")], "7: T12 source old is never used; take it out or name it in a check"),
    "T13 repair": ([("    repair: [{do: Fit a new coil, minutes: 20, hazard: unplugged}]\n", "")], "60: T13 coil-open has no repair; add one"),
    "T13 proof": ([("minutes: 20, hazard: unplugged}", "minutes: 20, hazard: unplugged, proof: yes}")], "60: T13 coil-open has only proofs, and a proof is no repair; add a repair"),
    "T13 verify": ([("    verify: {check: coil, band: good, else: drive}\n", "")], "60: T13 coil-open has no verify; add the check and band that prove it cured"),
    "T14": ([("  other: {weight: 0.2, say: Something else.}\n", "")], "59: T14 causes has no `other`; add it with a weight"),
    "T15 normal": ([("normal: good", "normal: fine")], "27: T15 coil has no band fine; use one of short, good, open"),
    "T15 no normal": ([("    normal: good\n", "")], "21: T15 coil has no `normal`; name the band of a good unit"),
    "T15 expect band": ([("{coil-open: open}", "{coil-open: opem}")], "28: T15 coil has no band opem; use one of short, good, open"),
    "T15 expect cause": ([("{coil-open: open}", "{coil-opem: open}")], "28: T15 coil expects something of coil-opem, which is no cause; did you mean `coil-open`?"),
    "T16": ([("expect: {driver-open: dead}", "expect: {driver-open: dead, coil-open: dead}"), ("    expect: {coil-open: open}\n", ""), ("    p: {coil-open: {dropped: 0.6, never: 0.4}, default", "    p: {default")], "64: T16 no check tells coil-open and driver-open apart; add a check that does, or make them one cause"),
    "T16 none": ([("    expect: {driver-open: dead}\n", "")], "64: T16 no check tells driver-open from a good unit; add a check that does"),
    "T17": ([("{short: stop, good: drive,", "{short: driver-open, good: drive,")], "33: T17 history dropped, coil short ends at driver-open with 0.104, under 0.9, the weakest of 2 such ways; end at `plan`, or read more on the way"),
    "T18 words": ([("Ohms across the coil.", "Put both probes across the coil and then read the ohms very slowly.")], "22: T18 the prompt of coil has 13 words; keep to 12"),
    "T18 sentence": ([("Unplug it. Say", "Unplug it and wait until every last light on the board is out. Say")], "9: T18 what unplugged says has 13 words; keep to 12"),
    "T18 number": ([("{short: below 20 ohm, good: 20 ohm to 60 ohm,", "{one: below 20 ohm, good: 20 ohm to 60 ohm,"), ("then: {short: stop, good: drive", "then: {one: stop, good: drive")], "25: T18 coil: the band one is said right after a number; name what it means"),
    "T18 marking": ([("Ohms across the coil.", "Ohms across J4.")], "22: T18 the prompt of coil holds `J4`, which a voice cannot say; write it in words"),
    "T18 unit": ([("Ohms across the coil.", "Is it 12V?")], "22: T18 the prompt of coil holds `12V`, which a voice cannot say; write it in words"),
    "T18 slash": ([("Take the lid off.", "Take off lid/cover.")], "13: T18 what lid says holds `/`, which a voice cannot say; write it in words"),
    "T18 sign": ([("The coil is open.", "The coil is over 60 Ω.")], "60: T18 what coil-open says holds `Ω`, which a voice cannot say; write it in words"),
    "T18 point": ([("coil-a: coil end A", "coil-a: coil end A+")], "11: T18 point coil-a holds `+`, which a voice cannot say; write it in words"),
    "T19 answers": ([(HISTORY, "{dropped: [yes, it fell], never: [no, it fill]}")], "17: T19 history: `it fill` for never sounds like `it fell` for dropped; choose others"),
    "T19 command": ([(HISTORY, "{dropped: [yes, it fell], never: [no, skip]}")], "17: T19 history: `skip` is a command; choose another answer"),
    "T20": ([('"Fernleaf sheet, invented"', '"Common practice, no source"')], "65: T20 only common practice speaks for driver-open; find a source for a limit, or add a look"),
    "T21 hazard": ([("hazard: unplugged\n", "hazard: unpluged\n")], "24: T21 coil: hazard unpluged is not in `hazards`; did you mean `unplugged`?"),
    "T21 point": ([("red: coil-a", "red: coil-c")], "29: T21 coil: red coil-c is not in `points`; add it there"),
    "T21 setup": ([("setup: hose-off", "setup: hose-on")], "31: T21 coil: setup hose-on is not in `setups`; did you mean `hose-off`?"),
    "T21 access": ([("access: lid", "access: [lid, cap]")], "32: T21 coil: access cap is not in `access`; add it there"),
    "T21 repair": ([("minutes: 20, hazard: unplugged", "minutes: 20, hazard: off")], "63: T21 hazard off is not in `hazards`; add it there"),
    "T21 sweep": ([("checks: [drive, drive-b]", "checks: [drive, drive-c]")], "72: T21 sweep drive-ends names drive-c, which is no check; did you mean `drive-b`?"),
    "T22 unknown": ([("twin: [drive, drive-b]", "twin: [drive, drive-c]")], "55: T22 drop: drive and drive-c are not two checks; name two"),
    "T22 itself": ([("twin: [drive, drive-b]", "twin: [drive, drive]")], "55: T22 drop: drive and drive are not two checks; name two"),
    "T22 word": ([("twin: [drive, drive-b]", "twin: [drive, history]")], "55: T22 drop: a half is not read on the meter; name two that are"),
    "T22 unit": ([("twin: [drive, drive-b]", "twin: [drive, coil]")], "55: T22 drop and its halves measure different things; measure all alike"),
    "T22 route": ([("    normal: apart\n", "    normal: apart\n    then: {alike: stop, apart: stop}\n")], "59: T22 drop is worked out, not asked; take its `then` out"),
    "T23": ([("weight: 3", "weight: 0")], "60: T23 coil-open weighs 0; give it a weight above zero"),
    "T24 sum": ([("never: 0.4}", "never: 0.3}")], "19: T24 history: p of coil-open sums to 0.9; make it sum to 1"),
    "T24 band": ([("{dropped: 0.6, never: 0.4}", "{droped: 0.6, never: 0.4}")], "19: T24 history has no band droped; use one of dropped, never"),
    "T24 cause": ([("p: {coil-open:", "p: {coil-opem:")], "19: T24 history: p names coil-opem, which is no cause; did you mean `coil-open`?"),
    "T24 range": ([("{dropped: 0.6, never: 0.4}", "{dropped: 1.4, never: -0.4}")], "19: T24 history: p of coil-open is outside 0 to 1; give probabilities"),
    "T25": ([("decide_at: 0.9", "decide_at: 1")], "6: T25 decide_at is 1; put it between 0.5 and 1, as in 0.9"),
    "T26": ([("    normal: good", "    reliability: 0.5\n    normal: good")], "27: T26 coil has reliability 0.5; put it above 0.5 and up to 1"),
    "T27": ([("    red: coil-a\n", "")], "21: T27 coil does not say where the red lead goes; add the point"),
    "T28": ([("    hazard: none\n", "    fact: flood\n    hazard: none\n")], "18: T28 no intake answer is called flood; use one of dropped, liquid, surge, opened, repaired"),
    "T28 history": ([("    hazard: none\n", "    fact: history\n    hazard: none\n"), ("{dropped: [yes, it fell], never: no}", "{fell: [yes, it fell], never: no}"), ("p: {coil-open: {dropped: 0.6, never: 0.4}, default: {dropped: 0.2, never: 0.8}}", "p: {coil-open: {fell: 0.6, never: 0.4}, default: {fell: 0.2, never: 0.8}}"), ("then: {dropped: coil, never: coil}", "then: {fell: coil, never: coil}")], "18: T28 history has no band for what may have happened; add opened"),
    "T28 band": ([("    hazard: none\n", "    fact: dropped\n    hazard: none\n")], "18: T28 history takes an intake answer but has no band `yes`; add it"),
    "T29": ([("red: coil-b\n", "red: coil-b\n    after: {hose: yes}\n")], "53: T29 drive-b comes after hose, which is no check; name one"),
    "T29 twin": ([("red: coil-a\n    black: coil-b\n", "red: coil-a\n    black: coil-b\n    after: {drop: alike}\n")], "31: T29 coil comes after drop, which is worked out, not asked; name its halves"),
    "T29 itself worked out": ([("    normal: apart\n", "    normal: apart\n    after: {coil: good}\n")], "59: T29 drop is worked out, not asked; take its `after` out"),
    "T29 band": ([("red: coil-b\n", "red: coil-b\n    after: {coil: [good, shut]}\n")], "53: T29 coil has no band shut; use one of short, good, open, unseen"),
    "T29 circle": ([("red: coil-b\n", "red: coil-b\n    after: {coil: good}\n"), ("red: coil-a\n    black: coil-b\n", "red: coil-a\n    black: coil-b\n    after: {drive-b: dead}\n")], "31: T29 coil comes after itself, round drive-b; let one of them come first"),
    "T29 start": ([("    hazard: none\n", "    after: {coil: good}\n    hazard: none\n")], "5: T29 start names history, which comes after coil; begin there"),
    "T29 sweep": ([("red: coil-b\n", "red: coil-b\n    after: {coil: good}\n")], "73: T29 sweep drive-ends is walked whole, and drive-b comes after coil; leave it out"),
    "T29 else": ([("black: gnd\n    then", "black: gnd\n    after: {coil: good}\n    then")], "65: T29 else names drive, which comes after coil; all is asked anew then, so name that"),
    "T29 route": ([("black: gnd\n    then", "black: gnd\n    after: {coil: [short, open]}\n    then")], "33: T29 coil leads to drive from good, which comes after short, open; lead elsewhere"),
    "T30": ([("    p: {coil-open: {dropped: 0.6", "    normal: dropped\n    p: {none: {dropped: 0.1, never: 0.9}, coil-open: {dropped: 0.6")], "19: T30 history: `none` most likely gives never, which is not `normal`; name it there, or nothing"),
    "T08 sweep": ([("sweeps: {drive-ends:", "sweeps: {drive:")], "72: T08 drive is a sweep and something else; rename one"),
}

# Just inside: none of these may be told anything.
PASSES = {
    "T01 ohms may begin at zero, for the meter shows no sign": [(COIL_BANDS, COIL_BANDS.replace("below 20", "0 ohm to 20"))],
    "T01 one edge in two prefixes is no gap": [(COIL_BANDS, COIL_BANDS.replace("60 ohm and", "0.06 kohm and"))],
    "T01 bands in any order": [(COIL_BANDS, "{open: 60 ohm and up or OL, good: 20 ohm to 60 ohm, short: below 20 ohm}")],
    "T03 OL alone is a home": [(COIL_BANDS, "{short: below 20 ohm, good: 20 ohm and up, open: OL}")],
    "T06 a start may be a sweep": [("start: history", "start: drive-ends")],
    "T05 the planner reaches all": [("start: history\n", "")],
    "T06 what was not seen has a route": [("then: {short: stop,", "then: {unseen: drive, short: stop,")],
    "T07 back to itself where nothing was seen: not to be skipped": [("then: {dropped: coil,", "then: {unseen: history, dropped: coil,")],
    "T29 a check behind an answer": [("red: coil-a\n    black: coil-b\n", "red: coil-a\n    black: coil-b\n    after: {history: [dropped, never, unseen]}\n")],
    "T07 routes may meet again": [("dropped: coil, never: coil", "dropped: coil, never: drive"), ("dead: driver-open,", "dead: plan,")],
    "T06 a proof by any normal band": [("{check: coil, band: good, else: drive}", "{check: coil, band: normal, else: drive}")],
    "T07 a verify may look back": [("{check: drive, band: driven, else: stop}", "{check: drive, band: driven, else: history}")],
    "T08 a band may be called as a cause": [("{dropped: [yes, it fell], never: no}", "{dropped: [yes, it fell], never: [no, never]}")],
    "T09 a look may touch nothing": [("    hazard: none", "    measure: look\n    hazard: none")],
    "T10 a question may be put in any state": [("    hazard: none", "    hazard: live")],
    "T12 a cause may stand on a source": [("sources: {", "sources: {log: Shop log of nine cases, "), ("say: The coil", "ground: log\n    say: The coil")],
    "T13 a proof beside a repair": [("repair: [{do: Fit", "repair: [{do: Bridge it, minutes: 1, hazard: unplugged, proof: yes}, {do: Fit")],
    "T17 a weak end left to the planner": [("{short: stop,", "{short: plan,")],
    "T18 twelve words": [("Ohms across the coil.", "Put both probes across the coil and then read the ohms slowly.")],
    "T18 numbers and letters apart": [("Ohms across the coil.", "Ohms, J four, pin 1 (left) to pin 2 – slowly.")],
    "T19 one answer said two ways": [(HISTORY, "{dropped: [yes, it fell, it fill], never: no}")],
    "T20 one limit with a source is enough": [("sources: {", 'sources: {trade: "common practice, no source", '), ("source: sheet\n    normal: dead", "source: trade\n    normal: dead")],
    "T21 the supply's own display": [("red: coil-b\n    black: gnd", "red: supply\n    black: supply")],
    "T24 a millionth is rounding": [("never: 0.4}", "never: 0.4000009}")],
    "T25 near one": [("decide_at: 0.9", "decide_at: 0.9001")],
    "T26 a sure check": [("    normal: good", "    reliability: 1\n    normal: good")],
}
