"""An advice as the installation that a new vehicle's set-up begins with.

What was worked out is a guess there until somebody reads it off the thing itself; what was
asked for stands as it was entered.
"""

from logic.choosing import figures
from logic.choosing.advice import Advice
from logic.circuit.conductors import area_of_awg
from logic.circuit.standard_sizes import StandardCable
from logic.vehicle.installation import (
    Alternator,
    CableRun,
    Charger,
    ConductorSize,
    Fitted,
    HouseBattery,
    Installation,
    Runs,
    SecondUnitRuns,
    Solar,
    StatedAs,
    StatedBy,
)
from logic.vehicle.points import HOUSE_SIDE, LOOP


def installation_of(advice: Advice) -> Installation:
    """Return the installation that follows from an advice."""
    wish = advice.wish
    house = figures.number("run.house")
    runs = Runs(
        vehicle_feed=_run(advice.vehicle_cable, wish.run_length_m, advice.vehicle_fuse_a),
        vehicle_return=_run(advice.vehicle_cable, wish.run_length_m, None),
        house_feed=_run(advice.house_cable, house, advice.house_fuse_a),
        house_return=_run(advice.house_cable, house, None),
    )
    return Installation(
        nominal_voltage_v=wish.nominal_voltage_v,
        output_nominal_voltage_v=wish.output_nominal_voltage_v,
        alternator=Alternator(control=wish.control, rated_current_a=wish.alternator_a),
        charger=Charger(
            rated_output_current_a=advice.rated_a, input_current_limit_a=advice.input_limit_a
        ),
        house_battery=HouseBattery(chemistry=wish.chemistry, capacity_ah=advice.capacity_ah),
        runs=runs,
        fitted=Fitted(second_charger_rated_output_current_a=advice.second_rated_a),
        second_unit_runs=_second_runs(advice, runs),
        solar=Solar(rated_power_w=wish.panel_w) if wish.panel_w else None,
        stated_by=dict.fromkeys(_guessed(advice, runs), StatedBy.GUESS),
    )


def _second_runs(advice: Advice, runs: Runs) -> SecondUnitRuns | None:
    """Return a second unit's runs: such as the first one's."""
    if advice.second_rated_a is None:
        return None
    return SecondUnitRuns(**{run.value: getattr(runs, run.value) for run in LOOP})


def _run(cable: StandardCable, length_m: float, fuse_a: float | None) -> CableRun:
    area, stated = cable.area_mm2, None
    if area is not None:
        stated = ConductorSize(stated_as=StatedAs.SQUARE_MILLIMETRES, size=f"{area:g}")
    elif cable.gauge is not None:
        area = area_of_awg(cable.gauge)
        stated = ConductorSize(stated_as=StatedAs.AWG, size=cable.gauge)
    return CableRun(
        length_m=length_m,
        area_mm2=area,
        fuse_a=fuse_a,
        stated=stated,
        insulation_c=figures.number("cable.insulation"),
        bundled_cables=int(figures.number("cable.bundled")),
    )


def _guessed(advice: Advice, runs: Runs) -> list[str]:
    """List the figures that the advice worked out."""
    guessed = ["charger.rated_output_current_a"]
    if advice.input_limit_a is not None:
        guessed.append("charger.input_current_limit_a")
    if advice.wish.capacity_ah is None:
        guessed.append("house_battery.capacity_ah")
    for run in LOOP:
        cable = getattr(runs, run.value)
        for name in ("area_mm2", "fuse_a", "insulation_c", "bundled_cables"):
            if getattr(cable, name) is not None:
                guessed.append(f"runs.{run}.{name}")
    guessed += [f"runs.{run}.length_m" for run in HOUSE_SIDE]
    guessed.append("runs.vehicle_return.length_m")
    if advice.second_rated_a is not None:
        guessed += [f"second_unit_{path}" for path in guessed if path.startswith("runs.")]
        guessed += ["second_unit_runs.vehicle_feed.length_m"]
        guessed.append("fitted.second_charger_rated_output_current_a")
    return guessed
