"""The set-up's front page: one question after the other, and each page in one line."""

from collections.abc import Mapping
from dataclasses import dataclass

from logic.checklist.presets import Group, Preset, offered
from logic.vehicle.points import LOOP
from mobile.jobs.field_limits import SOLAR_FITTED, shape
from mobile.jobs.form_entry import Draft
from mobile.jobs.set_up_pages import PAGES, Page, shown, words


@dataclass(frozen=True)
class Question:
    """One question of the set-up, answered by a tap; ``answered_by`` is the figure it settles.

    Its ready answers are the presets of ``group``, named ``usual`` elsewhere, or the choices
    of the field itself; ``otherwise`` is the answer that none of them is right.
    """

    words: str
    answered_by: str
    page_ids: tuple[str, ...] = ()
    group: Group | None = None
    usual: str = ""
    otherwise: str = "Not known, or none of these"


QUESTIONS = (
    Question("12 V or 24 V vehicle?", "nominal_voltage_v", otherwise="Not known yet"),
    Question(
        "Which charger?",
        "charger.rated_output_current_a",
        ("charger",),
        Group.CHARGERS,
        "Usual chargers",
    ),
    Question(
        "Which house battery?",
        "house_battery.chemistry",
        ("house_battery",),
        Group.HOUSE_BATTERIES,
        "Usual house batteries",
    ),
    Question(
        "Where does it all sit?",
        f"runs.{LOOP[0]}.length_m",
        LOOP,
        Group.LAYOUTS,
        "Usual places and lengths",
    ),
    Question("Which cable?", f"runs.{LOOP[0]}.size", LOOP, Group.CABLES, "Usual cables"),
    Question(
        "Which alternator?",
        "alternator.control",
        ("alternator",),
        Group.ALTERNATORS,
        "Usual alternators",
    ),
    Question(
        "Which start battery?",
        "start_battery.chemistry",
        ("start_battery",),
        Group.START_BATTERIES,
        "Usual start batteries",
    ),
    Question(
        "Which solar panel?",
        SOLAR_FITTED,
        ("solar",),
        Group.PANELS,
        "Usual panels",
        otherwise="No panel",
    ),
    Question(
        "Which meter?",
        "meter.voltage_accuracy_percent",
        ("meter",),
        Group.METERS,
        "Usual meters",
    ),
)


def questions_of(page_id: str) -> tuple[Question, ...]:
    """Return the questions whose presets fill in a page."""
    return tuple(question for question in QUESTIONS if page_id in question.page_ids)


def next_question(draft: Draft, passed: frozenset[str]) -> Question | None:
    """Return the first question neither answered nor passed over, None when none is left."""
    for question in QUESTIONS:
        if question.answered_by not in passed and not draft.get(question.answered_by, "").strip():
            return question
    return None


def ready_answers(
    question: Question, presets: Mapping[Group, tuple[Preset, ...]], draft: Draft
) -> list[tuple[str, str]]:
    """Return a question's answers as (id, words), those that do not fit the voltage left out."""
    if question.group is None:
        return [(choice, words(choice)) for choice in shape(question.answered_by).choices]
    typed = draft.get("nominal_voltage_v", "")
    volts = int(typed) if typed else None
    fitting = offered(presets, question.group, volts)
    said_already = f", {volts} V,"
    return [(preset.id, preset.title.replace(said_already, ",")) for preset in fitting]


def following(page: Page, draft: Draft) -> Page | None:
    """Return the set-up page after this one, None after the last and for pages of their own."""
    pages = shown(draft)
    places = [place for place, other in enumerate(pages) if other.page_id == page.page_id]
    return pages[places[0] + 1] if places and places[0] + 1 < len(pages) else None


def summary(page: Page, draft: Draft) -> str:
    """Return a page's known figures in one line, or say that none is known."""
    if page.page_id == "solar" and draft.get(SOLAR_FITTED) != "yes":
        return "no panel"
    paths = [field.path for field in page.fields if draft.get(field.path, "").strip()]
    told = [text for path in paths if (text := _told(path, draft))]
    return ", ".join(told[:5]) or "not known"


def _told(path: str, draft: Draft) -> str:
    typed = draft[path].strip()
    if path.endswith((".stated_as", ".profile_note")) or path == SOLAR_FITTED:
        return ""
    if path.endswith(".size"):
        return f"{typed} {words(draft.get(path.replace('.size', '.stated_as')) or 'mm2')}"
    form = shape(path)
    if form.kind == "yes_no":
        return _label(path).lower() if typed == "yes" else ""
    if form.kind == "whole":
        return f"{typed} {_label(path).lower()}"
    return words(typed) if form.kind == "choice" else f"{typed} {form.unit}".strip()


def _label(path: str) -> str:
    return next(f.label for page in PAGES for f in (*page.fields, *page.rest) if f.path == path)
