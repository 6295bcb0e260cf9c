"""From the complaint to the cause by simulated touch, doing only what the screen says."""

import numpy as np
import pytest

from logic.diagnosis.catalogue import faults
from tests.mobile.blind_callback import COMPLAINTS, BlindMechanic, fitted_for
from tests.mobile.callback_scene import Mechanic, bench_with, describe, described

# Fault, complaint, most readings that it may take, and what is fitted.
CALLS = [
    ("vehicle_fuse_open", "Never charges", 4, {}),
    ("ignition_signal_missing", "Never charges", 4, {}),
    ("house_fuse_open", "Never charges", 7, {}),
    ("charger_no_output", "Never charges", 6, {}),
    ("vehicle_return_resistive", "Charges slowly", 8, {}),
    ("house_feed_resistive", "Charges slowly", 8, {}),
    ("house_battery_low_cell", "Battery never full", 4, {}),
    ("ignition_always_live", "Start battery goes flat", 4, {}),
    ("charger_thermal_derating", "Unit gets hot", 4, {"lithium": True}),
    ("solar_open", "Nothing from the panel", 6, {"solar": True}),
]


@pytest.mark.parametrize(
    ("fault", "complaint", "most", "fitted"), CALLS, ids=[call[0] for call in CALLS]
)
def test_following_the_screen_leads_to_the_fault(
    make_phone, tmp_path, fault, complaint, most, fitted
):
    vehicle_id = describe(tmp_path / "store", described(**fitted))
    phone = make_phone()
    mechanic = Mechanic(phone, bench_with(fault, described(**fitted), seed=1))
    mechanic.begin(vehicle_id, complaint)
    count = mechanic.follow()
    assert count <= most, mechanic.taken
    phone.tap("See the findings")
    phone.frames(3)
    found = faults()[fault]
    first = phone.app.navigator.page.ids.body.stack.children[-1]
    assert first.text == found.title
    assert first.sure in ("Almost certain", "Very likely")
    assert phone.sees(found.remedy[0])
    assert phone.sees(found.customer)


# A sample of tests/benchmarks/blind_callbacks.py, where every fault is played.
@pytest.mark.parametrize("fault", ["vehicle_feed_resistive", "house_fuse_open"])
def test_what_cannot_be_taken_is_planned_round(make_phone, tmp_path, fault):
    description = described(**fitted_for(fault))
    vehicle_id = describe(tmp_path / "store", description)
    rng = np.random.default_rng((23, 4))
    mechanic = BlindMechanic(make_phone(), bench_with(fault, description, seed=1), rng=rng)
    mechanic.begin(vehicle_id, COMPLAINTS[fault])
    assert mechanic.solve() == faults()[fault].title
    assert mechanic.left_out
