"""How often a verdict is right, on the simulator of faulty installations.

    python -m tests.benchmarks.verdicts [vehicles]

The simulator has its own solver, meter gain, drift and rounding (see tests/simulator).

Prints, for sound vehicles, the share of readings in range, marginal and out of range by post,
and for each fault how often at least one reading is out of range, and which.
"""

import sys
import time
from collections import Counter

import numpy as np

from logic.case import Case, Judgement
from logic.diagnosis.catalogue import faults
from logic.limits.verdict import judge_all
from tests.simulator.sheets import bench, full_sheet

NEEDS_VARIABLE = {"ignition_signal_missing"}
NEEDS_PANEL = {fault for fault in faults() if fault.startswith("solar")}


def sheet(rng, fault):
    names = () if fault == "no_fault" else (fault,)
    while True:
        description, meter = bench(rng, names)
        has_panel = bool(description["solar"])
        is_variable = description["alternator"]["control"] == "variable"
        if has_panel >= (fault in NEEDS_PANEL) and is_variable >= (fault in NEEDS_VARIABLE):
            break
    readings = [meter.read(point, state) for point, state in full_sheet(description)]
    return Case.model_validate({"installation": description, "readings": readings})


def judged(rng, fault, count):
    for _ in range(count):
        case = sheet(rng, fault)
        yield judge_all(case.installation, case.readings)


def sound(rng, count):
    total, out, marginal, examples = Counter(), Counter(), Counter(), {}
    for verdicts in judged(rng, "no_fault", count):
        for verdict in verdicts:
            key = (verdict.point.value, verdict.state.value)
            total[key] += 1
            out[key] += verdict.verdict is Judgement.OUT_OF_RANGE
            marginal[key] += verdict.verdict is Judgement.MARGINAL
            if verdict.verdict is Judgement.OUT_OF_RANGE:
                examples.setdefault(key, verdict.reason)
    everything = sum(total.values())
    print(f"sound vehicles: {everything} readings")
    print(f"  out of range {sum(out.values()) / everything:.4f}")
    print(f"  marginal     {sum(marginal.values()) / everything:.4f}")
    for key, readings in total.items():
        if out[key] / readings > 0.01 or marginal[key] / readings > 0.05:
            shares = f"{out[key] / readings:.3f} {marginal[key] / readings:.3f}"
            print(f"  {' '.join(key):42} {shares}  {examples.get(key, '')}")


def faulty(rng, count):
    print("faults: share of sheets with a reading out of range, and the usual ones")
    for fault in faults():
        hits, keys, sheets = 0, Counter(), 0
        for verdicts in judged(rng, fault, count):
            wrong = [v for v in verdicts if v.verdict is Judgement.OUT_OF_RANGE]
            sheets += 1
            hits += bool(wrong)
            keys.update(f"{v.point.value}/{v.state.value}" for v in wrong)
        common = ", ".join(f"{name} {n / sheets:.2f}" for name, n in keys.most_common(3))
        print(f"  {fault:32} {hits / max(sheets, 1):.2f}  {common}")


def main():
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 200
    began = time.perf_counter()
    sound(np.random.default_rng(1), count)
    faulty(np.random.default_rng(2), max(count // 5, 1))
    print(f"{time.perf_counter() - began:.1f} s")


if __name__ == "__main__":
    main()
