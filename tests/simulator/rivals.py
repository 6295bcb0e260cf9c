"""Two rivals of the guided diagnosis: the sheet in its fixed order, and a learnt tree."""

import numpy as np

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


def fixed_order(seed: int, trial: int) -> tuple[int, bool]:
    """Return readings and rightness of the full sheet in its fixed order, stopped at 95 %."""
    rng = generator("guided", seed, trial)
    description = draw_installation(rng)
    name = draw_name(rng, description)
    description, on = bench(rng, (name,), description)
    readings = [on.read(point, state) for point, state in SYMPTOMS]
    left = [key for key in full_sheet(description) if key not in SYMPTOMS]
    diagnosis, _ = ask(description, readings)
    while left and diagnosis.findings[0].probability < SURE:
        readings.append(on.read(*left.pop(0)))
        diagnosis, _ = ask(description, readings)
    return len(readings) - len(SYMPTOMS), diagnosis.findings[0].faults == (name,)


def sheet_row(seed: int, trial: int) -> tuple[list[float], str]:
    """Return one simulated full sheet as numbers a tree can learn from, and its fault."""
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
    return plate + readings, name


def _scaled(key: tuple[str, str], value: float, scale: float, rating: float) -> float:
    point = key[0]
    if point.endswith("current"):
        return value / rating
    return value / scale if point.endswith(("voltage", "drop")) else value


def readings_on_path(tree: object, rows: np.ndarray) -> list[int]:
    """Return how many readings beyond the symptoms a tree looks at for each row."""
    free = {COLUMNS.index(name) for name in PLATE}
    free |= {COLUMNS.index(f"{point}@{state}") for point, state in SYMPTOMS}
    paths, feature = tree.decision_path(rows), tree.tree_.feature
    return [
        len({int(f) for f in feature[paths.indices[start:end]] if f >= 0} - free)
        for start, end in zip(paths.indptr[:-1], paths.indptr[1:], strict=True)
    ]
