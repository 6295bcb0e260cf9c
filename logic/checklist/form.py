"""Loads a folder of checklists, cautions, presets and symptoms, and checks it as a whole.

The forms themselves are in :mod:`logic.checklist.step` and :mod:`logic.checklist.presets`.
Where the folder lies is the caller's business.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path

from logic.checklist.conditions import (
    AnswerIs,
    Condition,
    GivesTooLittle,
    OfAStep,
    ReadingAbove,
    ReadingBelow,
    ReadingOut,
    asked_of,
)
from logic.checklist.presets import Group, Preset, Presets
from logic.checklist.step import (
    AskChoice,
    AskReading,
    AskYesNo,
    Caution,
    Cautions,
    Checklist,
    ChecklistHeading,
    Stage,
    Step,
    Symptom,
    Symptoms,
)
from logic.data_files import did_you_mean, read, short
from logic.errors import DataFileError

HEADING = "checklist.toml"


@dataclass(frozen=True)
class Library:
    """Everything the data files hold, by id; the order is the files' own."""

    checklists: Mapping[str, Checklist]
    cautions: Mapping[str, Caution]
    presets: Mapping[Group, tuple[Preset, ...]]
    symptoms: Mapping[str, Symptom]


def load(folder: Path) -> Library:
    """Load and check every data file of the folder.

    Raises
    ------
    DataFileError
        Names the first file that is broken, the entry in it, and what to do.
    """
    cautions = read(folder / "cautions.toml", Cautions).cautions
    symptoms = read(folder / "symptoms.toml", Symptoms).symptoms
    _once((caution.id for caution in cautions), folder / "cautions.toml", "caution")
    _once((symptom.id for symptom in symptoms), folder / "symptoms.toml", "symptom")
    caution_by_id = {caution.id: caution for caution in cautions}
    return Library(
        checklists=_checklists(folder, caution_by_id),
        cautions=caution_by_id,
        presets=_presets(folder / "presets"),
        symptoms={symptom.id: symptom for symptom in symptoms},
    )


def _checklists(folder: Path, cautions: Mapping[str, Caution]) -> dict[str, Checklist]:
    found: dict[str, Checklist] = {}
    for heading_file in sorted(folder.glob(f"*/{HEADING}")):
        checklist = load_checklist(heading_file.parent, cautions)
        found[checklist.id] = checklist
    if not found:
        message = f"holds no checklist. Each is a folder with a {HEADING} in it."
        raise DataFileError(message, short(folder))
    return found


def load_checklist(folder: Path, cautions: Mapping[str, Caution]) -> Checklist:
    """Load one checklist: its heading and every stage file the heading names.

    Raises
    ------
    DataFileError
        Names the file, the step and what to do.
    """
    heading = read(folder / HEADING, ChecklistHeading)
    _same(heading.id, folder.name, folder / HEADING, "the folder")
    listed = {folder / f"{stage}.toml" for stage in heading.stages}
    for stray in sorted(set(folder.glob("*.toml")) - listed - {folder / HEADING}):
        message = f"is not among the stages of {HEADING}. Add '{stray.stem}' there, or remove it."
        raise DataFileError(message, short(stray))
    stages = tuple(_stage(folder / f"{stage}.toml") for stage in heading.stages)
    _once((stage.id for stage in stages), folder / HEADING, "stage")
    _check_steps(stages, heading, folder, cautions)
    return Checklist(heading.id, heading.version, heading.title, stages, heading.budget_minutes)


def _stage(path: Path) -> Stage:
    stage = read(path, Stage)
    _same(stage.id, path.stem, path, "the file")
    return stage


def _check_steps(
    stages: Iterable[Stage],
    heading: ChecklistHeading,
    folder: Path,
    cautions: Mapping[str, Caution],
) -> None:
    earlier: dict[str, Step] = {}
    for stage in stages:
        path = folder / f"{stage.id}.toml"
        _known_cautions(stage.cautions, cautions, path, "the stage")
        _worded_by_installation(stage, path, "the stage")
        for step in stage.steps:
            where = f"step {step.id}"
            if step.id in heading.retired:
                message = (
                    f"this id was used by an earlier release ({HEADING}, retired). Use a new one."
                )
                raise DataFileError(message, short(path), where)
            if step.id in earlier:
                message = "this id is used twice. Give the second step an id of its own."
                raise DataFileError(message, short(path), where)
            _known_cautions(step.cautions, cautions, path, where)
            for condition in (step.when, step.brought_in_by):
                _answerable(condition, earlier, path, where)
            _worded_by_installation(step, path, where)
            _waits_from(step, earlier, path, where)
            _looked_at_together(step, stage, path, where)
            earlier[step.id] = step


def _known_cautions(
    ids: Iterable[str], cautions: Mapping[str, Caution], path: Path, where: str
) -> None:
    for caution_id in ids:
        if caution_id not in cautions:
            hint = did_you_mean(caution_id, list(cautions))
            message = f"the caution '{caution_id}' is not in cautions.toml; {hint}"
            raise DataFileError(message, short(path), where)


def _answerable(
    when: Condition | None, earlier: Mapping[str, Step], path: Path, where: str
) -> None:
    for condition in asked_of(when):
        for step_id in condition.asks:
            asked = earlier.get(step_id)
            if asked is None:
                hint = did_you_mean(step_id, list(earlier)) if earlier else "it is the first."
                message = f"its condition asks about '{step_id}', no earlier step; {hint}"
                raise DataFileError(message, short(path), where)
            if complaint := _unfit(condition, asked):
                raise DataFileError(complaint, short(path), where)


def _worded_by_installation(entry: Step | Stage, path: Path, where: str) -> None:
    if any(asked_of(one.when) for one in entry.worded):
        message = (
            "other words may go by the installation alone, not by an answer. Use another condition."
        )
        raise DataFileError(message, short(path), where)


def _waits_from(step: Step, earlier: Mapping[str, Step], path: Path, where: str) -> None:
    if step.wait_from is not None and step.wait_from not in earlier:
        hint = did_you_mean(step.wait_from, list(earlier)) if earlier else "it is the first."
        message = f"its wait begins with '{step.wait_from}', no earlier step; {hint}"
        raise DataFileError(message, short(path), where)


def _looked_at_together(step: Step, stage: Stage, path: Path, where: str) -> None:
    if step.look is None:
        return
    looks = [look.id for look in stage.looks]
    if step.look not in looks:
        hint = did_you_mean(step.look, looks) if looks else "the stage has no looks."
        message = f"the look '{step.look}' is not among its stage's looks; {hint}"
        raise DataFileError(message, short(path), where)
    if not isinstance(step.ask, AskYesNo):
        message = (
            f"a look is answered with one tap, and this is answered with {step.ask.kind}. "
            "Ask it as yes or no, or take it out of the look."
        )
        raise DataFileError(message, short(path), where)


def _unfit(condition: OfAStep, asked: Step) -> str:
    """Say why a step can never be answered so, or "" if it can."""
    match condition, asked.ask:
        case (AnswerIs(choice=None), AskYesNo()) | (
            ReadingBelow() | ReadingAbove() | ReadingOut() | GivesTooLittle(),
            AskReading(),
        ):
            return ""
        case AnswerIs(choice=str() as choice), AskChoice(choices=choices):
            known = [one.id for one in choices]
            hint = did_you_mean(choice, known)
            return "" if choice in known else f"'{asked.id}' has no choice '{choice}'; {hint}"
    return (
        f"its condition {condition.kind} can never hold: '{asked.id}' is answered with "
        f"{asked.ask.kind}. Ask about another step, or by another kind of condition."
    )


def _presets(folder: Path) -> dict[Group, tuple[Preset, ...]]:
    presets = {group: read(folder / f"{group}.toml", Presets).presets for group in Group}
    for stray in sorted({path.stem for path in folder.glob("*.toml")} - {*Group}):
        hint = did_you_mean(stray, [*Group])
        raise DataFileError(f"is no group of presets; {hint}", short(folder / f"{stray}.toml"))
    group_of: dict[str, Group] = {}
    for group, preset in ((name, one) for name in Group for one in presets[name]):
        if preset.id in group_of:
            first = group_of[preset.id]
            message = f"this id is used twice (also in {first}.toml). Give it a new one."
            raise DataFileError(message, short(folder / f"{group}.toml"), f"preset {preset.id}")
        group_of[preset.id] = group
    return presets


def _once(ids: Iterable[str], path: Path, what: str) -> None:
    seen: set[str] = set()
    for one in ids:
        if one in seen:
            message = "this id is used twice. Give the second one an id of its own."
            raise DataFileError(message, short(path), f"{what} {one}")
        seen.add(one)


def _same(written: str, name: str, path: Path, what: str) -> None:
    if written != name:
        message = f"id is '{written}', but {what} is called '{name}'. Make them the same."
        raise DataFileError(message, short(path), "id")
