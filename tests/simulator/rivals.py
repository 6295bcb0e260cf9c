"""Two rivals of the guided diagnosis: the sheet in its fixed order, and a learnt tree."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from logic.diagnosis import reach
from logic.vehicle.installation import Installation
from logic.vehicle.points import Point, ReadingKey, State
from tests.simulator.descriptions import draw_installation
from tests.simulator.faults_put_in import draw_name
from tests.simulator.sheets import FAST_IDLE, IDLE, REST, SOLAR, SYMPTOMS, bench, full_sheet
from tests.simulator.trials import SURE, ask, generator

KEYS = (
    *((point, "rest") for point in REST),
    *((point, "idle") for point in IDLE),
    *((point, "fast_idle") for point in FAST_IDLE),
    *((point, "solar") for point in SOLAR),
)
# What a tree is told besides the readings; it costs no reading.
PLATE = ("rating", "absorption", "start", "variable", "fixed", "lithium", "solar", "panel")
COLUMNS = (*PLATE, *(f"{point}@{state}" for point, state in KEYS))


@dataclass(frozen=True)
class Work:
    """The readings taken beyond the symptoms, what they cost, and whether the answer was right."""

    readings: int
    minutes: float
    right: bool


def minutes(description: dict[str, Any], keys: Sequence[tuple[str, str]]) -> float:
    """Return what readings cost after the symptoms, in this order, as the engine counts it."""
    installation = Installation.model_validate(description)
    taken = [ReadingKey(Point(point), State(state)) for point, state in SYMPTOMS]
    spent = 0.0
    for point, state in keys:
        key = ReadingKey(Point(point), State(state))
        spent += reach.minutes(key, taken, installation)
        taken.append(key)
    return spent


def fixed_order(seed: int, trial: int) -> Work:
    """Return the work of the full sheet in its fixed order, stopped at 95 %."""
    rng = generator("guided", seed, trial)
    description = draw_installation(rng)
    name = draw_name(rng, description)
    description, on = bench(rng, (name,), description)
    readings = [on.read(point, state) for point, state in SYMPTOMS]
    left = [key for key in full_sheet(description) if key not in SYMPTOMS]
    taken: list[tuple[str, str]] = []
    asked = ask(description, readings)
    while len(taken) < len(left) and asked.probability < SURE:
        taken.append(left[len(taken)])
        readings.append(on.read(*taken[-1]))
        asked = ask(description, readings)
    return Work(len(taken), minutes(description, taken), asked.names((name,)))


@dataclass(frozen=True)
class SheetRow:
    """One simulated full sheet as numbers a tree can learn from."""

    numbers: list[float]
    name: str
    description: dict[str, Any]


def sheet_row(seed: int, trial: int) -> SheetRow:
    """Return one simulated full sheet, its fault and its vehicle."""
    rng = generator("full", seed, trial)
    description = draw_installation(rng)
    name = draw_name(rng, description)
    description, on = bench(rng, (name,), description)
    scale = description["nominal_voltage_v"] / 12
    rating = description["charger"]["rated_output_current_a"]
    values = {key: on.read(*key)["value"] for key in full_sheet(description)}
    charger, solar = description["charger"], description["solar"]
    control = description["alternator"]["control"]
    plate = [
        rating,
        charger["absorption_voltage_v"] / scale,
        charger["start_voltage_v"] / scale,
        float(control == "variable"),
        float(control == "fixed"),
        float(description["house_battery"]["chemistry"] == "lifepo4"),
        float(solar is not None),
        solar["open_circuit_voltage_v"] / scale if solar else np.nan,
    ]
    readings = [_scaled(key, values.get(key, np.nan), scale, rating) for key in KEYS]
    return SheetRow(plate + readings, name, description)


def _scaled(key: tuple[str, str], value: float, scale: float, rating: float) -> float:
    point = key[0]
    if point.endswith("current"):
        return value / rating
    return value / scale if point.endswith(("voltage", "drop")) else value


def work_of_tree(tree: Any, rows: Sequence[SheetRow]) -> list[Work]:
    """Return the work of a tree on each row: what it looks at on its path, from the root.

    A reading that the vehicle does not have (no panel) is not taken.
    """
    numbers = np.array([row.numbers for row in rows])
    answers = tree.predict(numbers)
    paths, feature = tree.decision_path(numbers), tree.tree_.feature
    found = []
    for index, row in enumerate(rows):
        nodes = paths.indices[paths.indptr[index] : paths.indptr[index + 1]]
        columns = [int(feature[node]) for node in sorted(nodes) if feature[node] >= 0]
        there = [column for column in dict.fromkeys(columns) if not np.isnan(row.numbers[column])]
        keys = [KEYS[column - len(PLATE)] for column in there if column >= len(PLATE)]
        beyond = [key for key in keys if key not in SYMPTOMS]
        cost = minutes(row.description, beyond)
        found.append(Work(len(beyond), cost, bool(answers[index] == row.name)))
    return found
