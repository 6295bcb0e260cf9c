"""No tick under a named fault: what carries the fault is never shown as proved."""

import numpy as np
import pytest

import logic
from logic.case import Judgement, Mark
from logic.vehicle.points import State
from tests.simulator.descriptions import draw_installation
from tests.simulator.faults_put_in import possible
from tests.simulator.sheets import bench, full_sheet

# Where a technician would see each fault: by the circuit, not by the catalogue.
CARRIES = {
    "vehicle_fuse_open": {"vehicle_feed_drop", "charger_input_voltage"},
    "vehicle_feed_resistive": {"vehicle_feed_drop", "charger_input_voltage"},
    "vehicle_return_resistive": {"vehicle_return_drop", "charger_input_voltage"},
    "ignition_signal_missing": {"ignition_signal_voltage"},
    "alternator_not_charging": {"start_battery_voltage"},
    "charger_no_output": {"output_current", "input_current", "charger_output_voltage"},
    "charger_thermal_derating": {"charger_case_temperature", "output_current"},
    "charger_output_limited": {"output_current"},
    "house_fuse_open": {"house_feed_drop", "output_current"},
    "house_feed_resistive": {"house_feed_drop"},
    "house_return_resistive": {"house_return_drop"},
    "house_battery_protected": {"output_current", "house_battery_voltage"},
    "house_battery_high_resistance": {"house_battery_voltage"},
    "house_battery_low_cell": {"house_battery_voltage"},
    "solar_undersupply": {"solar_current"},
}
# While next to nothing flows, these say nothing of any joint.
UNLOADED = {"vehicle_feed_drop", "vehicle_return_drop", "house_feed_drop", "house_return_drop"}


@pytest.mark.parametrize("fault", CARRIES)
@pytest.mark.parametrize("seed", [1, 2, 3])
def test_nothing_that_carries_a_named_fault_is_ticked(fault, seed):
    rng = np.random.default_rng((71, seed))
    description = draw_installation(rng)
    while fault not in possible(description):
        description = draw_installation(rng)
    _, on = bench(rng, (fault,), description)
    readings = [on.read(*place) for place in full_sheet(description)]
    found = logic.diagnose(
        logic.Case.model_validate({"installation": description, "readings": readings})
    )
    first = found.findings[0]
    named = fault in first.faults and first.probability >= 0.5
    currents = {(r["point"], r["state"]): r["value"] for r in readings}
    for verdict in found.verdicts:
        if named and verdict.point in CARRIES[fault]:
            assert verdict.mark is not Mark.IN_RANGE, verdict
        through = verdict.point.current
        if verdict.point in UNLOADED and abs(currents[through, verdict.state]) < 1.5:
            assert verdict.mark is not Mark.IN_RANGE, verdict
        # The verdict itself is the decision rule's, whatever it proves.
        if verdict.proves_nothing:
            assert verdict.verdict in (Judgement.IN_RANGE, Judgement.MARGINAL)


def test_all_as_it_should_be_keeps_its_ticks():
    rng = np.random.default_rng(72)
    description, on = bench(rng, ("no_fault",))
    readings = [on.read(*place) for place in full_sheet(description)]
    found = logic.diagnose(
        logic.Case.model_validate({"installation": description, "readings": readings})
    )
    idle = [one for one in found.verdicts if one.state is State.IDLE]
    ticked = [one for one in idle if one.mark is Mark.IN_RANGE]
    assert found.findings[0].faults == ("no_fault",)
    assert len(ticked) > len(idle) / 2
