"""Verdicts on whole sheets of a simulator that shares no code with what is tested."""

from collections import Counter

import numpy as np
import pytest

from logic.case import Judgement
from tests.benchmarks.verdicts import judged

OUT = Judgement.OUT_OF_RANGE


def test_a_sound_vehicles_readings_are_hardly_ever_called_wrong_or_too_close_to_call():
    counted = Counter(
        verdict.verdict
        for verdicts in judged(np.random.default_rng(11), "no_fault", 60)
        for verdict in verdicts
    )
    assert counted[OUT] / counted.total() < 0.01
    assert counted[Judgement.MARGINAL] / counted.total() < 0.04


@pytest.mark.parametrize(
    ("fault", "place"),
    [
        ("vehicle_fuse_open", "vehicle_feed_drop/idle"),
        ("vehicle_fuse_open", "charger_input_voltage/idle"),
        ("house_fuse_open", "house_feed_drop/idle"),
        ("charger_negative_open", "vehicle_return_drop/idle"),
        ("ignition_signal_missing", "ignition_signal_voltage/idle"),
        ("ignition_always_live", "ignition_signal_voltage/rest"),
        ("profile_too_low", "profile_setting_voltage/rest"),
        ("profile_too_high", "profile_setting_voltage/rest"),
        ("house_load_high", "house_load_current/idle"),
        ("house_battery_low_cell", "house_battery_voltage/rest"),
        ("solar_reversed", "solar_open_circuit_voltage/solar"),
        ("solar_open", "solar_input_voltage/solar"),
    ],
)
def test_a_plain_fault_is_out_of_range_where_the_trade_looks_for_it(fault, place):
    sheets = list(judged(np.random.default_rng(12), fault, 10))
    found = [any(f"{v.point}/{v.state}" == place and v.verdict is OUT for v in s) for s in sheets]
    assert sum(found) >= 9


@pytest.mark.parametrize("run", ["vehicle_feed", "vehicle_return", "house_feed", "house_return"])
def test_a_resistive_run_is_out_of_range_by_its_own_drop(run):
    sheets = list(judged(np.random.default_rng(13), f"{run}_resistive", 20))
    found = [any(v.point == f"{run}_drop" and v.verdict is OUT for v in s) for s in sheets]
    assert sum(found) >= 16
