"""Two units on one house battery as a netlist for ngspice, a general-purpose circuit simulator.

Each unit is built as hardware builds it: an integrator raises its output current until the first
of its own limits stops it. Nothing here shares a formula, or an order of solving, with what it
checks.
"""

from pathlib import Path

from tests.logic.circuit.spice import LEAK, run


def points(unit: int) -> dict[str, str]:
    """Return what is read of a unit."""
    return {
        f"given_a {unit}": f"i(vout{unit})",
        f"drawn_a {unit}": f"i(vin{unit})",
        f"input_v {unit}": f"v(in{unit})-v(neg{unit})",
        f"output_v {unit}": f"v(out{unit})-v(neg{unit})",
    }


POINTS = {**points(0), **points(1), "posts_v": "v(hp)-v(hn)"}


def netlist(units: list[dict[str, float]], house: dict[str, float]) -> str:
    """Return two units, each as plain numbers, on one house battery."""
    lines = ["* two units", f"Vs s 0 {units[0]['supply_v']}"]
    for k, unit in enumerate(units):
        lines += _unit(k, unit)
    lines += [
        f"Rb hp b {house['ohm']}",
        f"Vb b hn {house['emf_v']}",
        f"Iload hp hn {house['load_a']}",
        ".options reltol=1e-6 abstol=1e-9 vntol=1e-8 method=gear",
        ".end",
    ]
    return "\n".join(lines) + "\n"


def _unit(k: int, unit: dict[str, float]) -> list[str]:
    out, at_input, x = f"v(out{k},neg{k})", f"v(in{k},neg{k})", f"v(x{k})"
    power = f"({out}*max({x},0)+{unit['own_use_w']})/{unit['efficiency']}"
    limits = [
        f"{unit['rated_output_a']}-{x}",
        f"({unit['voltage_limit_v']}-{out})*50",
        f"({at_input}-{unit['hold_v']})*50",
        f"{min(unit['input_limit_a'], 1e6)}-i(vin{k})",
    ]
    least = limits[0]
    for limit in limits[1:]:
        least = f"min({least},{limit})"
    works = unit["works"]
    return [
        f"Vin{k} s f{k} 0",
        f"Rvf{k} f{k} in{k} {unit['vehicle_feed_ohm']}",
        f"Rvr{k} neg{k} 0 {unit['vehicle_return_ohm']}",
        f"Rin{k} in{k} neg{k} {LEAK}",
        f"Bin{k} in{k} neg{k} I={f'{power}/max({at_input},1)' if works else '0'}",
        f"Vout{k} c{k} out{k} 0",
        f"Bout{k} neg{k} c{k} I={f'max({x},0)' if works else '0'}",
        f"Rout{k} out{k} neg{k} {LEAK}",
        f"Rhf{k} out{k} hp {unit['house_feed_ohm']}",
        f"Rhr{k} hn neg{k} {unit['house_return_ohm']}",
        f"Cx{k} x{k} 0 1",
        f"Bx{k} 0 x{k} I={least if works else f'-{x}'}",
        f".ic v(x{k})=0",
    ]


def settled(
    cases: list[tuple[list[dict[str, float]], dict[str, float]]], folder: Path
) -> list[dict[str, float]]:
    """Run every case in one process and return each one's points when it has settled."""
    return run([netlist(units, house) for units, house in cases], POINTS, "v(hp)", 120, folder)
