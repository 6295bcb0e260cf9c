"""What a label says, held against the record that it names: a witness outside the workshop.

The label hangs on the vehicle, out of the workshop's reach. Whoever makes a record anew must make
the label anew too, and a label's signature only with the device's key.
"""

from collections.abc import Iterator

from logic.errors import RecordError
from logic.records.baseline import readings_of
from logic.records.keys import key_id, signature_is_good
from logic.records.label.encoding import Label, decode, encode
from logic.records.record import SealedRecord
from logic.records.seal import signed_text
from logic.words.dates import moment
from logic.words.names import reading_name

_ROUNDING = 0.00051  # of a reading's unit; see label.md


def against_record(label: Label, sealed: SealedRecord) -> tuple[str, ...]:
    """Name each way in which a label does not fit a record; empty where it is the record's own."""
    return tuple(_other_record(label, sealed)) or (
        *_other_signature(label, sealed),
        *_other_content(label, sealed),
    )


def _other_record(label: Label, sealed: SealedRecord) -> Iterator[str]:
    if label.record_sha256 == sealed.sha256:
        return
    yield (
        f"The label names the record with the SHA-256 {label.record_sha256}; this one has "
        f"{sealed.sha256}."
    )
    if label.vehicle_id == sealed.record.vehicle_id:
        yield (
            f"It is a label of the same vehicle: {label.job_kind}, revision {label.revision}, "
            f"signed {moment(label.signed_at)}. Compare it with that record."
        )


def _other_signature(label: Label, sealed: SealedRecord) -> Iterator[str]:
    signed = sealed.signature
    if label.signature is None or label.key_id is None:
        if signed:
            yield "The record is signed, and the label carries no signature, as its label would."
        return
    if signed is None:
        yield "The label carries a signature, and the record none: it was taken out."
        return
    if label.key_id != key_id(signed.key):
        yield (
            f"The label names the key {label.key_id}; the record is signed with "
            f"{key_id(signed.key)}."
        )
    if not signature_is_good(signed.key, label.signature, signed_text(sealed.sha256)):
        yield "The label's signature is not one of the record's key under this record."


def _other_content(label: Label, sealed: SealedRecord) -> Iterator[str]:
    try:
        due = decode(encode(sealed))
    except RecordError as error:
        yield f"No label can be made of this record, so the label is not its own. {error}"
        return
    for name in ("vehicle_id", "registration", "job_kind", "revision", "signed_at", "installation"):
        if getattr(label, name) != getattr(due, name):
            yield f"The label says something else than the record as {name.replace('_', ' ')}."
    taken = {one.key: one.value for one in readings_of(sealed.record)}
    for reading in label.readings:
        value = taken.get(reading.key)
        if value is None or abs(value - reading.value) > _ROUNDING:
            said = "nothing" if value is None else f"{value:g}"
            name = reading_name(*reading.key, sealed.record.installation)
            yield f"{name}: the label says {reading.value:g}, the record {said}."
