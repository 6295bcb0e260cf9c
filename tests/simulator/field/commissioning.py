"""The same vehicle on the day of its commissioning: sound, another day, the same meter."""

from dataclasses import replace
from typing import Any

import numpy as np

from tests.simulator.field.drawing import one_of, uniform
from tests.simulator.field.metering import Visit
from tests.simulator.field.sheets import rows
from tests.simulator.field.trial_vehicles import TrialVehicle, charges_in_bulk
from tests.simulator.field.vehicle import Vehicle, changed

Generator = np.random.Generator


def baseline(rng: Generator, trial: TrialVehicle, tries: int = 60) -> list[dict[str, Any]]:
    """Return the commissioning's readings; none where no good day is found."""
    for _ in range(tries):
        vehicle = _on_another_day(rng, trial.sound.vehicle)
        visit = Visit(vehicle, trial.sound.world, int(rng.integers(1, 2**31)))
        if not charges_in_bulk(visit, ("idle",)):
            continue
        # The same meter; its clamp was zeroed anew.
        visit.meter = replace(trial.visit.meter, zero_a=visit.meter.zero_a)
        taken = [key for key in trial.keys if key[1] != "solar" or rng.random() < 0.8]
        return rows(visit, taken)
    return []


def _on_another_day(rng: Generator, vehicle: Vehicle) -> Vehicle:
    """Return it with other charge, loads, supply, temperatures and sun."""
    scale = vehicle.scale
    per_rating = vehicle.unit.rating_a / 30
    load = 0.0 if rng.random() < 0.4 else uniform(rng, 0.2, 5) * per_rating
    if vehicle.supply.control == "variable":
        volts = scale * uniform(rng, 12.4, 14.9)
        set_v = {"idle": volts, "fast_idle": volts + scale * uniform(rng, -0.1, 0.1)}
    else:
        moved = scale * uniform(rng, -0.1, 0.1)
        set_v = {state: volts + moved for state, volts in vehicle.supply.set_v.items()}
    warmer = uniform(rng, -15, 15)
    changes: dict[str, object] = {
        "house.charge": uniform(rng, 0.3, 0.9),
        "start.charge": uniform(rng, 0.65, 1),
        "loads.working_a": load,
        "loads.rest_a": one_of(rng, [0, 0.3]) * load,
        "supply.set_v": set_v,
        "supply.vehicle_a": uniform(rng, 10, 32) / (1 if scale == 1 else 1.6),
        "unit.case_c": vehicle.unit.case_c + warmer,
        "house.celsius": max(vehicle.house.celsius + warmer, 2),
    }
    if vehicle.panel:
        changes["panel.sun"] = uniform(rng, 0.25, 1.0)
    other_day: Vehicle = changed(vehicle, changes)
    return other_day
