"""One invented vehicle with a commissioning job just opened, put into a store for a test."""

from pathlib import Path

from logic.checklist import form
from logic.checklist.depth import Depth
from logic.records.events import (
    CustomerDescribed,
    Event,
    InstallationDescribed,
    JobOpened,
    VehicleDescribed,
    new_id,
)
from logic.records.store.store import Store
from logic.vehicle.identity import Customer, Vehicle
from logic.vehicle.installation import (
    Alternator,
    CableRun,
    Charger,
    Control,
    Fitted,
    HouseBattery,
    Installation,
    Runs,
    Solar,
    StartBattery,
)
from tests.paths import CHECKLISTS

INSTALLATION = Installation(
    nominal_voltage_v=12,
    alternator=Alternator(control=Control.VARIABLE, rated_current_a=150),
    start_battery=StartBattery(chemistry="agm", capacity_ah=80),
    charger=Charger(
        rated_output_current_a=40,
        efficiency=0.9,
        ignition_start_voltage_v=12.0,
        ignition_stop_voltage_v=11.5,
        ignition_signal_min_v=9.0,
        absorption_voltage_v=14.4,
        float_voltage_v=13.5,
    ),
    house_battery=HouseBattery(
        chemistry="lifepo4", capacity_ah=120, max_charge_current_a=60, absorption_voltage_v=14.4
    ),
    runs=Runs(
        vehicle_feed=CableRun(length_m=5.0, area_mm2=16, joints=4, fuse_a=60),
        vehicle_return=CableRun(length_m=1.5, area_mm2=16, joints=2),
        house_feed=CableRun(length_m=1.5, area_mm2=16, joints=4, fuse_a=60),
        house_return=CableRun(length_m=1.0, area_mm2=16, joints=2),
    ),
    solar=Solar(rated_power_w=200, open_circuit_voltage_v=24, short_circuit_current_a=10.5),
    fitted=Fitted(temperature_sensor=True, reverse_charge=True),
)


def open_job(
    folder: Path,
    installation: Installation = INSTALLATION,
    checklist_id: str = "commissioning",
    depth: Depth | None = None,
) -> str:
    """Describe the beekeeper's flatbed, open a job by a checklist, and return the job's id.

    Without a depth it is a job as release 0.1.0 opened it: it asks for everything.
    """
    checklist = form.load(CHECKLISTS).checklists[checklist_id]
    vehicle_id, job_id = new_id(), new_id()
    bodies = (
        VehicleDescribed(vehicle=Vehicle(registration="BEE 338", description="flatbed")),
        CustomerDescribed(customer=Customer(name="Thistlewick Apiary")),
        InstallationDescribed(installation=installation),
    )
    opened = JobOpened(
        job_kind="commissioning",
        checklist_id=checklist.id,
        checklist_version=checklist.version,
        depth=depth,
    )
    with Store.open(folder) as store:
        store.append_all(Event(vehicle_id=vehicle_id, body=body) for body in bodies)
        store.append(Event(vehicle_id=vehicle_id, job_id=job_id, body=opened))
    return job_id
