"""Verdicts on a unit's functions in the world that was written from the case contract alone."""

from collections import Counter

import numpy as np
import pytest

from logic.case import Case, Judgement
from logic.limits.verdict import judge
from logic.vehicle.points import Point
from tests.simulator.field.conditions import WORLDS
from tests.simulator.field.descriptions import describe
from tests.simulator.field.sheets import rows
from tests.simulator.field.trial_vehicles import draw

VEHICLES = 25
OUT = Judgement.OUT_OF_RANGE
FIRST_WORLD = next(iter(WORLDS.values() if isinstance(WORLDS, dict) else WORLDS))


def judged(fault, extra, point):
    """Verdicts on one point of vehicles with an extra and a fault."""
    rng, counted = np.random.default_rng(7), Counter()
    for _ in range(VEHICLES):
        trial = draw(rng, (fault,), FIRST_WORLD, extras=(extra,))
        if trial is None:
            continue
        case = Case.model_validate(
            {"installation": describe(rng, trial.visit), "readings": rows(trial.visit, trial.keys)}
        )
        for reading in case.readings:
            if reading.point is point:
                counted[judge(case.installation, case.readings, reading).verdict] += 1
    return counted


@pytest.mark.parametrize(
    ("extra", "point"),
    [
        ("input_limit", Point.INPUT_LIMIT_SETTING),
        ("sensor", Point.SENSOR_TEMPERATURE),
        ("reverse", Point.REVERSE_CHARGE_CURRENT),
        ("reverse", Point.REVERSE_CHARGE_VOLTAGE),
    ],
)
def test_a_sound_function_is_hardly_ever_called_wrong(extra, point):
    counted = judged("no_fault", extra, point)
    assert counted.total() >= 10
    assert counted[OUT] <= 0.05 * counted.total()


@pytest.mark.parametrize(
    ("fault", "extra", "point", "least"),
    [
        ("temperature_sensor_wrong", "sensor", Point.SENSOR_TEMPERATURE, 0.9),
        ("input_limit_low", "input_limit", Point.INPUT_LIMIT_SETTING, 0.9),
        # The rest are start batteries so full that a sound unit gives them nothing either.
        ("reverse_charge_blocked", "reverse", Point.REVERSE_CHARGE_CURRENT, 0.5),
    ],
)
def test_a_function_that_fails_is_mostly_out_of_range_at_its_own_point(fault, extra, point, least):
    counted = judged(fault, extra, point)
    assert counted.total() >= 10
    assert counted[OUT] >= least * counted.total()
