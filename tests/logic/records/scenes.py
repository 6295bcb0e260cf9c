"""Vehicles, jobs and records of the invented workshop, for the tests of the records."""

from datetime import UTC, datetime, timedelta

from logic.case import Reading
from logic.checklist.answers import ReadingAnswer
from logic.records.events import (
    CustomerDescribed,
    Event,
    InstallationDescribed,
    JobOpened,
    PhotoTaken,
    StepAnswered,
    VehicleDescribed,
    new_id,
)
from logic.records.record import Private, Record, Signature, StepRecord
from logic.records.seal import fresh_salt
from logic.records.store.store import Store
from logic.vehicle.identity import Customer, Technician, Vehicle
from logic.vehicle.installation import Charger, Chemistry, HouseBattery, Installation
from logic.vehicle.points import Point, State

INSTALLATION = Installation(
    charger=Charger(rated_output_current_a=25),
    house_battery=HouseBattery(chemistry=Chemistry.AGM, capacity_ah=100),
)
START = datetime(2026, 3, 2, 8, 30, tzinfo=UTC)


def befriend(*stores: Store) -> None:
    """Have each of some phones take the others for the workshop's own."""
    for one in stores:
        for other in stores:
            if one is not other:
                one.say_of_key(other.own_key, other.device, "trusted")


def van(store: Store, registration: str = "BKS 207", **more: object) -> str:
    vehicle_id = new_id()
    vehicle = Vehicle(registration=registration, **more)
    store.append(Event(vehicle_id=vehicle_id, body=VehicleDescribed(vehicle=vehicle)))
    return vehicle_id


def customer(store: Store, vehicle_id: str, name: str, contact: str = "") -> None:
    body = CustomerDescribed(customer=Customer(name=name, contact=contact))
    store.append(Event(vehicle_id=vehicle_id, body=body))


def install(store: Store, vehicle_id: str) -> None:
    body = InstallationDescribed(installation=INSTALLATION)
    store.append(Event(vehicle_id=vehicle_id, body=body))


def open_job(store: Store, vehicle_id: str, kind: str = "commissioning") -> str:
    job_id = new_id()
    body = JobOpened(job_kind=kind, checklist_id="commissioning", checklist_version=1)
    store.append(Event(vehicle_id=vehicle_id, job_id=job_id, body=body))
    return job_id


def answer(
    store: Store, vehicle_id: str, job_id: str, step_id: str, value: float, **more: object
) -> Event:
    body = StepAnswered(step_id=step_id, answer=ReadingAnswer(value=value), **more)
    return store.append(Event(vehicle_id=vehicle_id, job_id=job_id, body=body))


def photograph(store: Store, vehicle_id: str, job_id: str, data: bytes) -> str:
    sha256 = store.add_photo(data)
    body = PhotoTaken(step_id="mounting", sha256=sha256)
    store.append(Event(vehicle_id=vehicle_id, job_id=job_id, body=body))
    return sha256


def record_of(vehicle_id: str, job_id: str, **more: object) -> Record:
    fields: dict[str, object] = {
        "vehicle_id": vehicle_id,
        "job_id": job_id,
        "job_kind": "commissioning",
        "revision": 1,
        "opened_at": START,
        "signed_at": START + timedelta(minutes=20),
        "app_version": "0.1.0",
        "vehicle": Vehicle(registration="BKS 207"),
        "technician": Technician(name="R. Okafor-Lindqvist", licence="FA-0031"),
        "installation": INSTALLATION,
        "steps": (
            StepRecord(
                step_id="house_voltage",
                stage_id="key_off",
                title="House battery, rested",
                outcome="done",
                answer=ReadingAnswer(value=12.6, typed="12.6"),
                text="12.6 V",
            ),
        ),
        "readings": (Reading(point=Point.HOUSE_BATTERY_VOLTAGE, state=State.REST, value=12.6),),
        "private_sha256": "0" * 64,
    }
    return Record(**{**fields, **more})


def private(name: str = "Bookmobile trust", contact: str = "desk 4") -> Private:
    stroke = ((0.1, 0.2), (0.30000000000000004, 0.5))
    return Private(
        salt=fresh_salt(),
        customer=Customer(name=name, contact=contact),
        customer_signature=Signature(name=name, strokes=(stroke,)),
        technician_signature=Signature(name="R. Okafor-Lindqvist", strokes=(stroke,)),
    )


def signed_van(store: Store, registration: str = "BKS 207", **more: object) -> tuple[str, str]:
    vehicle_id = van(store, registration, description="mobile library van")
    customer(store, vehicle_id, "Bookmobile trust", "desk 4")
    install(store, vehicle_id)
    job_id = open_job(store, vehicle_id)
    answer(store, vehicle_id, job_id, "house_voltage", 12.6)
    photograph(store, vehicle_id, job_id, b"\xff\xd8\xff" + registration.encode())
    store.seal(record_of(vehicle_id, job_id, **more), private())
    return vehicle_id, job_id
