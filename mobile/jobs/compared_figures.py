"""What a step asks to compare: the set-up's figures and their design checks, in words. No Kivy."""

from collections.abc import Iterator
from dataclasses import dataclass

from logic.checklist.step import Compared, Step
from logic.vehicle.installation import Installation
from logic.vehicle.points import LOOP
from mobile.jobs import form_entry
from mobile.jobs.field_limits import SECOND_UNIT_RUNS
from mobile.jobs.form_entry import Draft
from mobile.jobs.set_up_pages import PAGE_OF, figure_words, page_summary, pages_shown


@dataclass(frozen=True)
class ComparedFigure:
    """A figure of the set-up with what it is of."""

    head: str
    text: str


@dataclass(frozen=True)
class ComparedCheck:
    """A design check in words; ``sign`` is its shape and its colour."""

    text: str
    sign: str


def figures(step: Step, installation: Installation) -> tuple[ComparedFigure, ...]:
    """List the figures of the set-up that a step asks to hold the vehicle against."""
    draft = form_entry.draft_of(installation)
    return tuple(figure for what in step.compare for figure in _figures(what, draft))


def checks(step: Step, installation: Installation) -> tuple[ComparedCheck, ...]:
    """List the design checks that belong to a step, those that fail first."""
    if not step.design_checks:
        return ()
    from logic.circuit.design import design_checks  # not on the start path

    found = [one for one in design_checks(installation) if one.rule_id.endswith(step.design_checks)]
    found.sort(key=lambda one: (one.passed is not False, one.passed is not None))
    return tuple(ComparedCheck(f"{one.title}: {one.words}", _SIGNS[one.passed]) for one in found)


_SIGNS = {True: "in_range", False: "out_of_range", None: "no_limit"}
_PAGES = {
    Compared.CHARGER: "charger",
    Compared.ALTERNATOR: "alternator",
    Compared.HOUSE_BATTERY: "house_battery",
}
_PATHS: dict[Compared, tuple[str, tuple[str, ...]]] = {
    Compared.PROFILE: ("Profile to be set", (*form_entry.PROFILE, "charger.profile_note")),
    Compared.PLACE: (
        "Place and unit",
        ("location", "charger.ingress_protection", "charger.max_ambient_c"),
    ),
}


def _figures(what: Compared, draft: Draft) -> Iterator[ComparedFigure]:
    if what in _PAGES:
        page = PAGE_OF[_PAGES[what]]
        yield ComparedFigure(page.title, page_summary(page, draft))
    elif what in _PATHS:
        head, paths = _PATHS[what]
        yield ComparedFigure(head, _joined(paths, draft))
    else:
        of_a_run = ("fuse_a",) if what is Compared.FUSES else ("length_m", "size", "joints")
        for title, run in _runs_shown(draft):
            paths = tuple(f"{run}.{name}" for name in of_a_run)
            if what is Compared.CABLES or any(map(draft.get, paths)):
                yield ComparedFigure(title, _joined(paths, draft))


def _runs_shown(draft: Draft) -> Iterator[tuple[str, str]]:
    """Yield the runs that are there, a second unit's after the first one's: title and path."""
    for page in pages_shown(draft):
        if page.run:
            yield page.title, f"runs.{page.run}"
        elif page.page_id == SECOND_UNIT_RUNS:
            for run in LOOP:
                yield f"Second unit's {run.full_name}", f"{SECOND_UNIT_RUNS}.{run}"


# Words for figures that would not say by themselves what they are.
_SAID = {
    "absorption_voltage_v": "absorption {}",
    "float_voltage_v": "float {}",
    "fuse_a": "{} fuse",
}


def _joined(paths: tuple[str, ...], draft: Draft) -> str:
    known = [path for path in paths if draft.get(path, "").strip()]
    said = [
        _SAID.get(path.split(".")[-1], "{}").format(figure_words(path, draft)) for path in known
    ]
    return ", ".join(said) or "not known"
