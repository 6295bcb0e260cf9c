"""The same loop as a netlist for ngspice, a general-purpose circuit simulator.

The charger is built as hardware builds it: an integrator raises the output current until the
first of its limits stops it (rating, output volts, input volts, input amps, panel's power).
Nothing here shares a formula with the closed form that it checks.
"""

import subprocess
from collections.abc import Mapping
from pathlib import Path

OPEN = 1e12
LEAK = 1e7
POINTS = {
    "vehicle_feed_drop_v": "v(s)-v(in)",
    "vehicle_return_drop_v": "v(neg)",
    "charger_input_voltage_v": "v(in)-v(neg)",
    "charger_output_voltage_v": "v(out)-v(neg)",
    "house_feed_drop_v": "v(out)-v(hp)",
    "house_return_drop_v": "v(hn)-v(neg)",
    "house_battery_voltage_v": "v(hp)-v(hn)",
    "input_current_a": "-i(vs)",
    "output_current_a": "i(vhf)",
}


def netlist(case: dict[str, float]) -> str:
    """One installation in one state; ``case`` holds plain numbers named as the circuit's."""
    feeds = case["vehicle_on"] and not case["unit_dead"]
    works = not case["unit_dead"] and (case["vehicle_on"] or case["solar_w"] > 0)
    wanted = f"(v(out,neg)*max(v(x),0)+{case['self_consumption_w']})/{case['efficiency']}"
    limits = [
        f"{case['rated_output_a'] * case['output_fraction']}-v(x)",
        f"({case['voltage_limit_v']}-v(out,neg))*50",
    ]
    drawn = "0"
    if feeds:
        drawn = f"max({wanted}-{case['solar_w']},0)/max(v(in,neg),1)"
        limits += [
            f"(v(in,neg)-{case['held_v']})*50",
            f"({min(case['input_limit_a'], 1e6)})-({drawn})",
        ]
    elif works:
        limits.append(f"({case['solar_w']}-({wanted}))*2")
    least = limits[0]
    for limit in limits[1:]:
        least = f"min({least},{limit})"
    # The terminals on which the feeds from the start battery and from the house battery end.
    vehicle, house = ("out", "in") if case.get("exchanged") else ("in", "out")
    lines = [
        "* loop",
        *_source(case),
        f"Rvf s {vehicle} {_run(case['vehicle_feed_ohm'])}",
        f"Rvr neg 0 {_run(case['vehicle_return_ohm'])}",
        f"Rin in neg {LEAK}",
        f"Bin in neg I={drawn}",
        "Vout chg out 0",
        f"Bout neg chg I={'max(v(x),0)' if works else '0'}",
        f"Rout out neg {LEAK if not works else 1e5}",
        f"Rhf {house} hf {_run(case['house_feed_ohm'])}",
        "Vhf hf hp 0",
        f"Rhr hn neg {_run(case['house_return_ohm'])}",
        f"Rb hp b {case['house_battery_ohm']}",
        f"Vb b hn {case['house_emf_v']}",
        f"Iload hp hn {case['house_load_a']}",
        "Cx x 0 1",
        f"Bx 0 x I={least if works else '-v(x)'}",
        ".ic v(x)=0",
        ".options reltol=1e-5 abstol=1e-9 vntol=1e-7 method=gear",
        ".end",
    ]
    return "\n".join(lines) + "\n"


def settled(cases: list[dict[str, float]], folder: Path) -> list[dict[str, float]]:
    """Run every case in one process and return each one's points when it has settled."""
    return run([netlist(case) for case in cases], POINTS, "v(x)", 80, folder)


def run(
    decks: list[str], points: Mapping[str, str], any_vector: str, seconds: float, folder: Path
) -> list[dict[str, float]]:
    """Run decks in one process and return each one's points, by expression, at its end."""
    script = ["* all", ".control", "set numdgt=12"]
    for number, text in enumerate(decks):
        deck = folder / f"{number}.cir"
        deck.write_text(text)
        begin = f"tran 0.5 {seconds:g} uic"
        script += [f"source {deck.name}", begin, f"let last=length({any_vector})-1"]
        for name, expression in points.items():
            script += [
                f"let point={expression}",
                "let one=point[last]",
                f'echo "= {number} {name.replace(" ", "_")} $&one"',
            ]
        script += ["destroy all", "remcirc"]
    script += ["quit", ".endc", ".end"]
    (folder / "all.cir").write_text("\n".join(script) + "\n")
    done = subprocess.run(
        ["ngspice", "-b", "all.cir"], cwd=folder, capture_output=True, text=True, check=False
    )
    found: list[dict[str, float]] = [{} for _ in decks]
    for line in done.stdout.splitlines():
        if line.startswith("= "):
            _, number, name, value = line.split()
            found[int(number)][name] = float(value)
    return found


def _source(case: dict[str, float]) -> list[str]:
    """The supply: volts as given; or a converter, and beside it the start battery.

    The converter is built as hardware builds it, a proportional and an integral part up to its
    current limit; the battery gives what is missing once the volts have fallen to its own.
    """
    if "converter_limit_a" not in case:
        return [f"Vs s 0 {case['supply_v']}"]
    limit, set_to = case["converter_limit_a"], case["supply_v"]
    emf, ohm = case["start_battery_emf_v"], case["start_battery_ohm"]
    return [
        "Vs s src 0",
        f"Csrc src 0 0.5 ic={set_to}",
        f"Cc c 0 1 ic={case['own_use_a']}",
        f"Bc 0 c I=min(({set_to}-v(src))*500,({limit}-v(c))*50)",
        f"Bconverter 0 src I=max(min(v(c)+({set_to}-v(src))*200,{limit}),0)",
        f"Bbattery 0 src I=max({emf}-v(src),0)/{ohm}",
        f"Iown src 0 {case['own_use_a']}",
    ]


def _run(ohm: float) -> float:
    return min(ohm, OPEN)
