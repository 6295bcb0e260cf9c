"""Whole records of the invented workshop: a commissioning with everything in it, a callback."""

import hashlib
import math
from datetime import datetime, timedelta, timezone

import rfc8785
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from logic.case import Diagnosis, Finding, Judgement, Reading, Verdict
from logic.checklist.answers import PhotoAnswer, ReadingAnswer, TextAnswer, YesNoAnswer
from logic.records.events import CauseConcluded
from logic.records.record import (
    CautionShown,
    ChainHead,
    Private,
    Record,
    SealedRecord,
    SealSignature,
    Signature,
    StepHistory,
    StepRecord,
)
from logic.vehicle.identity import Customer, Technician, Vehicle
from logic.vehicle.installation import Installation

BRISBANE = timezone(timedelta(hours=10))
SIGNED = datetime(2026, 11, 24, 16, 42, tzinfo=BRISBANE)

LIBRARY_VAN = Installation.model_validate(
    {
        "nominal_voltage_v": 12,
        "alternator": {"control": "variable", "rated_current_a": 140},
        "start_battery": {"chemistry": "flooded", "capacity_ah": 70},
        "charger": {
            "rated_output_current_a": 40,
            "efficiency": 0.9,
            "start_voltage_v": 13.2,
            "stop_voltage_v": 12.7,
            "ignition_start_voltage_v": 12.0,
            "ignition_stop_voltage_v": 11.5,
            "ignition_signal_min_v": 8.0,
            "absorption_voltage_v": 14.6,
            "float_voltage_v": 13.5,
            "ingress_protection": "IP67",
            "max_ambient_c": 70,
            "solar_max_voltage_v": 28,
            "profile_note": "two link wires joined",
        },
        "house_battery": {
            "chemistry": "agm",
            "capacity_ah": 120,
            "max_charge_current_a": 40,
            "absorption_voltage_v": 14.6,
        },
        "runs": {
            "vehicle_feed": {
                "length_m": 4.5,
                "area_mm2": 13.3,
                "joints": 4,
                "fuse_a": 60,
                "stated": {"stated_as": "awg", "size": "6"},
            },
            "vehicle_return": {"length_m": 1.2, "area_mm2": 13.3, "joints": 3},
            "house_feed": {"length_m": 1.0, "area_mm2": 13.3, "joints": 3, "fuse_a": 60},
            "house_return": {"length_m": 1.0, "joints": 1},
        },
        "location": "tray",
        "ambient_c": 24,
        "solar": {"rated_power_w": 200, "open_circuit_voltage_v": 22.4},
        "fitted": {"temperature_sensor": True},
    }
)

PHOTO = bytes(range(256))


def seal(record: Record, private: Private | None = None) -> SealedRecord:
    """Seal by the library and the standard alone, not by the code under test."""
    canonical = rfc8785.dumps(record.model_dump(mode="json"))
    digest = hashlib.sha256(canonical).hexdigest()
    return SealedRecord(record=record, private=private, sha256=digest)


# RFC 8032, 7.1, test 1: a secret key and its public key.
SECRET = "9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f60"
PUBLIC = "d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a"
KEY_ID = hashlib.sha256(bytes.fromhex(PUBLIC)).hexdigest()[:16]


def signed(record: Record, private: Private | None = None) -> SealedRecord:
    """Seal and sign by libraries and standards alone, not by the code under test."""
    chain = ChainHead(key=PUBLIC, number=41, sha256="e" * 64)
    sealed = seal(record.model_copy(update={"chain": chain}), private)
    text = f"voltwalk-seal-1\n{sealed.sha256}\n".encode()
    made = Ed25519PrivateKey.from_private_bytes(bytes.fromhex(SECRET)).sign(text).hex()
    return sealed.model_copy(update={"signature": SealSignature(key=PUBLIC, signature=made)})


def digest_of(model: object) -> str:
    return hashlib.sha256(rfc8785.dumps(model.model_dump(mode="json"))).hexdigest()


def scribble(phase: float) -> Signature:
    curve = tuple(
        (0.05 + 0.9 * t / 80, 0.5 + 0.35 * math.sin(t / 5 + phase) * math.cos(t / 17))
        for t in range(81)
    )
    return Signature(strokes=(curve, ((0.2, 0.1), (0.85, 0.14)), ((0.9, 0.2),)))


PRIVATE = Private(
    salt="00112233445566778899aabbccddeeff",
    customer=Customer(name="Shire Library Service", contact="front desk, Fernhollow"),
    customer_signature=scribble(0.0),
    technician_signature=scribble(1.3),
)


def judged(point, state, value, limits, verdict="in_range", why="Within its limits."):
    low, high = limits
    return Verdict(
        point=point,
        state=state,
        value=value,
        expected_low=low,
        expected_high=high,
        uncertainty=0.0123,
        verdict=verdict,
        reason=why,
    )


RETURN_DROP = judged(
    "vehicle_return_drop",
    "idle",
    0.92,
    (None, 0.31),
    "out_of_range",
    "0.92 V lost at 31 A is 30 mΩ; this run should be about 6 mΩ.",
)


def step(stage: str, step_id: str, title: str, **more: object) -> StepRecord:
    at = SIGNED - timedelta(minutes=20)
    return StepRecord(step_id=step_id, stage_id=stage, title=title, at=at, **more)


def reading(stage: str, title: str, verdict: Verdict, **more: object) -> StepRecord:
    answer = ReadingAnswer(value=verdict.value, typed=f"{verdict.value:g}")
    acceptable = verdict.verdict is not Judgement.OUT_OF_RANGE
    name = f"{verdict.state}_{verdict.point}"
    more = {"outcome": "done", "answer": answer, "acceptable": acceptable} | more
    return step(stage, name, title, verdict=verdict, **more)


def yes(stage: str, step_id: str, title: str, **more: object) -> StepRecord:
    more = {"answer": YesNoAnswer(yes=True), "text": "yes"} | more
    return step(stage, step_id, title, outcome="done", **more)


def commissioning_steps(photo: str) -> tuple[StepRecord, ...]:
    before, rest, idle = "before_power", "key_off", "engine_idling"
    return (
        yes(before, "cautions_read", "Cautions read and the vehicle made safe"),
        yes(
            before,
            "fuse_near_start_battery",
            "Fuse near the start battery, of the right rating, in a holder for this place",
            photos=(photo,),
            notes=("Holder turned so that its lid opens away from the exhaust.",),
        ),
        yes(
            before,
            "ventilation",
            "Air under and over the fins",
            acceptable=False,
            answer=YesNoAnswer(yes=False),
            text="no",
            explanation="Customer wants the drawer above kept; told that it may cut back when hot.",
        ),
        step(
            before,
            "grommets",
            "Grommet at every hole",
            outcome="skipped",
            skip_reason="Tray lining is glued down; will be looked at when the lining comes out.",
        ),
        reading(
            rest,
            "House battery voltage, key off",
            judged("house_battery_voltage", "rest", 12.31, (11.9, 12.9)),
            history=(
                StepHistory(at=SIGNED - timedelta(minutes=25), answer=ReadingAnswer(value=123.1)),
            ),
        ),
        reading(
            idle,
            "Start battery voltage",
            judged("start_battery_voltage", "idle", 13.94, (12.2, 15.0)),
        ),
        reading(
            idle,
            "Loss in the vehicle return",
            RETURN_DROP,
            explanation="Body joint cleaned once already; new return cable ordered for Friday.",
            photos=("f" * 64,),
        ),
        reading(
            idle,
            "Output current",
            judged("output_current", "idle", 38.4, (38.0, 43.2), "marginal", "Just inside: 0.4 A."),
        ),
        reading(
            idle,
            "Ignition input",
            judged("ignition_signal_voltage", "idle", 13.2, (None, None), "no_limit", "Not known."),
        ),
        step(
            "hand_over",
            "photo_of_unit",
            "Photo of the unit as fitted",
            outcome="done",
            answer=PhotoAnswer(sha256=photo),
            text="photo",
            photos=(photo,),
        ),
        step(
            "hand_over",
            "remarks",
            "Remarks for the customer",
            outcome="done",
            answer=TextAnswer(text="Run the engine an hour a week. " * 8),
            text="Run the engine an hour a week. " * 8,
        ),
    )


def commissioning(photo: str = "a" * 64, **more: object) -> Record:
    values: dict[str, object] = {
        "vehicle_id": "0123456789abcdef0123456789abcdef",
        "job_id": "fedcba9876543210fedcba9876543210",
        "job_kind": "commissioning",
        "revision": 1,
        "opened_at": SIGNED - timedelta(minutes=34),
        "signed_at": SIGNED,
        "place": "Driveway, 3 Fernhollow Lane",
        "app_version": "0.1.0",
        "checklist_id": "dcdc_commissioning",
        "checklist_version": 1,
        "checklist_sha256": "c" * 64,
        "vehicle": Vehicle(
            registration="LIB 042",
            description="mobile library van",
            vin="11111111111111111",
            odometer_km=84210,
        ),
        "technician": Technician(
            name="R. Quill", licence="EL 00000", workshop="Fernhollow Auto Electrical"
        ),
        "installation": LIBRARY_VAN,
        "cautions": (
            CautionShown(
                caution_id="local_rules", text="Local rules and licensed practice come first."
            ),
            CautionShown(caution_id="rings", text="Rings and watches off: 12 V welds a spanner."),
        ),
        "steps": commissioning_steps(photo),
        "private_sha256": digest_of(PRIVATE),
    } | more
    return Record(**values)


def callback() -> Record:
    before = (
        Reading(point="vehicle_return_drop", state="idle", value=0.92),
        Reading(point="input_current", state="idle", value=31),
        Reading(point="fault_indicator", state="idle", value=1),
    )
    after = (
        Reading(point="vehicle_return_drop", state="idle", value=0.118),
        Reading(point="output_current", state="idle", value=40.2),
    )
    finding = Finding(
        faults=("vehicle_return_resistive",),
        probability=0.94,
        evidence=("0.92 V lost in the vehicle return at 31 A; 0.118 V at commissioning.",),
    )
    return commissioning(
        job_kind="callback",
        revision=2,
        previous_sha256="b" * 64,
        steps=(),
        symptoms=("not_charging", "works_sometimes"),
        complaint="House battery flat after a day's driving; the fridge cuts out overnight.",
        readings=before,
        readings_after=after,
        verdicts=(judged("vehicle_return_drop", "idle", 0.118, (None, 0.31)),),
        diagnosis=Diagnosis(
            findings=(finding,),
            marginals={},
            next_readings=(),
            suspect_readings=(),
            verdicts=(RETURN_DROP,),
        ),
        conclusion=CauseConcluded(
            faults=("vehicle_return_resistive",),
            cause="Paint under the return's lug at the body.",
            repair="Lug moved to bare metal and sealed.",
            responsibility="wiring",
        ),
    )
