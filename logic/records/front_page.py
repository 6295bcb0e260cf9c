"""The first page of a record, as plain words and pictures: what the customer reads and signs.

The printed page and the glass before signing are both painted from this, so that neither can
say what the other does not. Long texts are shortened here, for both; the pages that follow, and
the record itself, have them whole.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from logic.case import Mark, Reading, Verdict
from logic.diagram.picture import CircuitPicture, circuit_picture, covered_states
from logic.records.outcomes import answer, answer_and_standing, counts
from logic.records.record import Private, Record, Signature, StepRecord
from logic.records.review import read_verdicts, verdicts_before
from logic.vehicle.identity import Technician
from logic.vehicle.points import DROP_ACROSS, Point, ReadingKey, Run, State
from logic.words.dates import moment
from logic.words.equipment import cables, fuse, identity_in_brief, in_brief
from logic.words.figures import as_read, as_stated, worked_out
from logic.words.names import (
    MARKS,
    RESPONSIBILITIES,
    capitalised,
    counted,
    in_words,
    reading_name,
    uncapitalised,
)

# The five that say whether a charger charges, and where it fails to.
_FIVE = (
    Point.START_BATTERY_VOLTAGE,
    Point.CHARGER_INPUT_VOLTAGE,
    Point.CHARGER_OUTPUT_VOLTAGE,
    Point.HOUSE_BATTERY_VOLTAGE,
    Point.OUTPUT_CURRENT,
)
_CHARGES = {
    Mark.IN_RANGE: ", as it should",
    Mark.MARGINAL: ", at its limit",
    Mark.OUT_OF_RANGE: ", not as it should",
    Mark.NO_LIMIT: "",
    Mark.PROVES_NOTHING: ", which proves nothing yet",
}
# So much of a page is for one text and one list (assumed); the whole follows on the next pages.
_LONGEST = 160  # characters
_LONGEST_NAME = 80  # characters
_MOST = 3
_MOST_ADVICE = 8
_MOST_PAIRS = 6
_TRIED_AGAIN = "complaint_tried_again"

Rows = tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class CircuitShown:
    """One picture of the circuit: when its readings were taken, and what it shows."""

    when: str
    state: State
    picture: CircuitPicture
    state_words: str

    @property
    def title(self) -> str:
        """The words over the picture."""
        return f"{self.when}: {uncapitalised(self.state_words)}"


@dataclass(frozen=True)
class Part:
    """A titled part: rows of a label and words; a label "" is an item of a list."""

    title: str
    rows: Rows


@dataclass(frozen=True)
class Signer:
    """Who signs, and what they drew; ``drawn`` is None where the copy leaves it out."""

    role: str
    name: str
    drawn: Signature | None


@dataclass(frozen=True)
class FrontPage:
    """Everything on it, from the top down."""

    title: str
    workshop: str
    vehicle: str
    about: Rows
    headline: str
    outcome: str
    circuits: tuple[CircuitShown, ...]
    parts: tuple[Part, ...]
    signers: tuple[Signer, Signer]
    signed: str


def front_page(record: Record, private: Private | None) -> FrontPage:
    """Gather the first page of a record, sealed or about to be.

    Parameters
    ----------
    record
        What is signed for.
    private
        Customer and signatures; None where they were left out or erased.
    """
    is_callback = record.job_kind == "callback"
    parts = _callback_parts(record) if is_callback else _commissioning_parts(record)
    return FrontPage(
        title=kind_of(record),
        workshop=_workshop(record.technician),
        vehicle=_vehicle(record),
        about=_about(record, private),
        headline=_callback_headline(record) if is_callback else _charges(record),
        outcome=_outcome(record),
        circuits=tuple(_circuits(record)),
        parts=tuple(part for part in parts if part.rows),
        signers=_signers(record, private),
        signed=_signed(record, private),
    )


def _workshop(technician: Technician) -> str:
    name = _short(technician.workshop, _LONGEST_NAME) or "Workshop not named"
    return f"{name}, {technician.phone}" if technician.phone else name


def kind_of(record: Record) -> str:
    """Name the kind of a record."""
    return "Commissioning record" if record.job_kind == "commissioning" else "Fault-finding record"


def customer_words(private: Private | None) -> str:
    """Name the customer, or say why nobody is named."""
    if private is None:
        return "left out of this copy or erased on request"
    parts = (private.customer.name, private.customer.contact)
    return ", ".join(part for part in parts if part) or "not given"


def technician_words(record: Record) -> str:
    """Name the technician with the licence."""
    licence = record.technician.licence
    name = record.technician.name or "not given"
    return f"{name}, licence {licence}" if licence else name


def odometer_words(record: Record) -> str:
    """Say what the odometer showed."""
    odometer = record.vehicle.odometer_km
    return "not given" if odometer is None else as_stated(odometer, "km")


def _vehicle(record: Record) -> str:
    words = (record.vehicle.registration, _short(record.vehicle.description, _LONGEST_NAME))
    return "  ".join(text for text in words if text)


def _about(record: Record, private: Private | None) -> Rows:
    return (
        ("Customer", _short(customer_words(private), _LONGEST_NAME)),
        ("Technician", _short(technician_words(record), _LONGEST_NAME)),
        ("Odometer", odometer_words(record)),
    )


def _signers(record: Record, private: Private | None) -> tuple[Signer, Signer]:
    technician = private.technician_signature if private else None
    customer = private.customer_signature if private else None
    own = (technician.name if technician else "") or record.technician.name
    theirs = (customer.name if customer else "") or (private.customer.name if private else "")
    return Signer("Technician", own, technician), Signer("Customer", theirs, customer)


def place_of(record: Record, private: Private | None) -> str:
    """Return where a record was signed, "" where that is not known or was erased."""
    return (private.place if private else "") or record.place


def _signed(record: Record, private: Private | None) -> str:
    place = place_of(record, private)
    at = f" at: {_short(place, _LONGEST_NAME)}" if place else ""
    return f"Signed {moment(record.signed_at)}{at}."


# How it came out


def _charges(record: Record) -> str:
    """Say what the unit gives of its rating, "" where its output current was not read."""
    verdicts = {one.key: one for one in read_verdicts(record.steps, record.verdicts)}
    for state in covered_states(verdicts.values()):
        if found := verdicts.get(ReadingKey(Point.OUTPUT_CURRENT, state)):
            rated = as_stated(record.installation.charger.rated_output_current_a, "A")
            given = as_read(found.point, found.value)
            when = uncapitalised(state.full_name_on(record.installation))
            return f"Charges {given} of {rated}, {when}{_CHARGES[found.mark]}."
    return ""


def _callback_headline(record: Record) -> str:
    return record.proof if record.conclusion else "No cause was named."


def _outcome(record: Record) -> str:
    from logic.diagnosis import catalogue  # not on the start path

    found = record.conclusion
    if record.job_kind == "callback" and found:
        cause = catalogue.titles(found.faults) if found.faults else _short(found.cause, _LONGEST)
        named = f"{cause.rstrip('.')}. " if cause else ""
        return f"{named}Responsible: {RESPONSIBILITIES[found.responsibility]}."
    return f"{capitalised(counts(record.steps) or 'nothing was checked')}."


# The pictures


def _circuits(record: Record) -> Iterator[CircuitShown]:
    fitted, before = record.installation, verdicts_before(record)
    shown: list[tuple[str, Sequence[Reading | Verdict], tuple[Verdict, ...]]]
    if record.readings_after:
        shown = [
            ("Before the repair", record.readings, before),
            ("After the repair", record.readings_after, record.verdicts),
        ]
    else:
        verdicts = read_verdicts(record.steps, before)
        shown = [("What was read", (*record.readings, *verdicts), verdicts)]
    for when, readings, verdicts in shown:
        for state in covered_states(readings)[:1]:
            picture = circuit_picture(fitted, state, readings, verdicts)
            words = state.full_name_on(fitted)
            yield CircuitShown(when, state, _fewer(record, picture), words)


def _fewer(record: Record, picture: CircuitPicture) -> CircuitPicture:
    """Leave of a commissioning's values the five and the setting; a callback's few all matter."""
    if record.job_kind == "callback":
        return picture
    kept = (*_FIVE, Point.PROFILE_SETTING_VOLTAGE)
    values = {point: shown for point, shown in picture.values.items() if point in kept}
    return replace(picture, values=values, temperatures={}, temperature_signs={})


# A commissioning


def _commissioning_parts(record: Record) -> tuple[Part, ...]:
    return (
        Part("What is fitted", _fitted(record)),
        Part("Cables, fuses and what they lose", tuple(_runs(record))),
        Part("Exceptions", _exceptions(record) or (("", "None."),)),
        Part("Left out or left open", _left_out(record)),
        Part("Normal on this vehicle", _advice(record)),
    )


def _fitted(record: Record) -> Rows:
    rows = in_brief(record.installation)
    return tuple((label, _short(text, 2 * _LONGEST)) for label, text in rows)


def _runs(record: Record) -> Iterator[tuple[str, str]]:
    verdicts = {one.key: one for one in read_verdicts(record.steps, verdicts_before(record))}
    states = covered_states(verdicts.values())
    for run, cable in cables(record.installation).items():
        lost = next(
            (verdicts[key] for state in states if (key := _drop_key(run, state)) in verdicts), None
        )
        words = [fuse(run, cable), _loss(lost, verdicts) if lost else ""]
        if cable or lost:
            said = "; ".join(text for text in words if text)
            yield capitalised(run.full_name), said or "loss not read"


def _drop_key(run: Run, state: State) -> ReadingKey | None:
    return ReadingKey(DROP_ACROSS[run], state) if run in DROP_ACROSS else None


def _loss(lost: Verdict, verdicts: Mapping[ReadingKey, Verdict]) -> str:
    through = ReadingKey(lost.point.current, lost.state) if lost.point.current else None
    current = verdicts.get(through) if through else None
    at = f" at {as_read(current.point, current.value)}" if current else ""
    most = f" (at most {worked_out(lost.point, lost.expected_high)})" if lost.expected_high else ""
    return f"loses {as_read(lost.point, lost.value)}{at}{most}, {MARKS[lost.mark]}"


def _advice(record: Record) -> Rows:
    return _listed([("", text) for text in record.advice], _MOST_ADVICE)


# What both have


def _exceptions(record: Record) -> Rows:
    rows = [
        (_short(step.title, _LONGEST_NAME), _accepted(step))
        for step in record.steps
        if step.is_exception
    ]
    return _listed(rows, _MOST)


def _accepted(step: StepRecord) -> str:
    found = _short(answer_and_standing(step), _LONGEST_NAME)
    why = step.explanation or "no explanation was recorded"
    return f"{found}. Accepted because: {_short(why, _LONGEST)}"


def _left_out(record: Record) -> Rows:
    skipped = [step for step in record.steps if step.outcome == "skipped"]
    still_open = [step.title for step in record.steps if step.outcome == "open"]
    rows = _listed([("Left out", _reason_for(step)) for step in skipped], _MOST)
    if not still_open:
        return rows
    more = f"; and {len(still_open) - _MOST} more" if len(still_open) > _MOST else ""
    return (*rows, ("Left open", f"{'; '.join(still_open[:_MOST])}{more}"))


def _reason_for(step: StepRecord) -> str:
    return _short(f"{step.title}: {step.skip_reason or 'no reason was recorded'}", _LONGEST)


# A callback


def _callback_parts(record: Record) -> tuple[Part, ...]:
    return (
        Part("The unit", _unit(record)),
        Part("The complaint", tuple(_complaint(record))),
        Part("Cause and repair", tuple(_conclusion(record))),
        Part(_pairs_title(record), _before_and_after(record)),
        Part("Exceptions", _exceptions(record)),
        Part("Left out or left open", _left_out(record)),
    )


def _unit(record: Record) -> Rows:
    which = _short(identity_in_brief(record.installation), 2 * _LONGEST)
    return (("Which unit", which),) if which else ()


def _complaint(record: Record) -> Iterator[tuple[str, str]]:
    symptoms = ", ".join(in_words(one).lower() for one in record.symptoms)
    if symptoms:
        yield "Symptoms", _short(symptoms, _LONGEST)
    if record.complaint or not symptoms:
        written = _short(record.complaint, 2 * _LONGEST) or "none was written down"
        yield "In the customer's words", written


def _conclusion(record: Record) -> Iterator[tuple[str, str]]:
    from logic.diagnosis import catalogue  # not on the start path

    found = record.conclusion
    if found is None:
        return
    if found.faults:
        yield "Fault", catalogue.titles(found.faults)
    yield "Cause", _short(found.cause, _LONGEST) or "not written down"
    yield "Work done", _short(found.repair, _LONGEST) or "not written down"
    yield "Whose matter", capitalised(RESPONSIBILITIES[found.responsibility])
    tried = next((step for step in record.steps if step.step_id == _TRIED_AGAIN), None)
    if tried and tried.outcome == "done":
        yield "Tried again", f"the complaint is {answer(tried)}"


def _pairs_title(record: Record) -> str:
    return "Before and after" if record.readings_after else "What was read"


def _before_and_after(record: Record) -> Rows:
    """Pair what was read before with what was read after; what proves the repair comes first."""
    before = _judged(record.readings, verdicts_before(record))
    after = _judged(record.readings_after, record.verdicts)
    keys = dict.fromkeys((*after, *(before if not after else ())))
    fitted = record.installation
    rows = [
        (reading_name(key.point, key.state, fitted), _then_now(before.get(key), after.get(key)))
        for key in keys
    ]
    return _listed(rows, _MOST_PAIRS)


def _judged(readings: Iterable[Reading], verdicts: Iterable[Verdict]) -> dict[ReadingKey, str]:
    found = {(one.key, one.value): MARKS[one.mark] for one in verdicts}
    return {
        one.key: ", ".join(
            text
            for text in (as_read(one.point, one.value), found.get((one.key, one.value), ""))
            if text
        )
        for one in readings
    }


def _then_now(before: str | None, after: str | None) -> str:
    if after is None:
        return before or ""
    return f"before {before or 'not read'}; after {after}"


# Words that fit


def _listed(rows: Sequence[tuple[str, str]], most: int) -> Rows:
    """Take as many rows as there is room for, and say how many follow."""
    if len(rows) <= most:
        return tuple(rows)
    left = len(rows) - most
    return (
        *rows[:most],
        ("", f"{counted(left, 'more follows', 'more follow')} on the next pages."),
    )


def _short(text: str, most: int) -> str:
    """Shorten a text to one paragraph of so many characters."""
    flat = " ".join(text.split())
    return flat if len(flat) <= most else f"{flat[: most - 1].rstrip()}…"
