"""The design check as it is read: every rule with its figures, what fails first. No Kivy."""

from dataclasses import dataclass

from logic.vehicle.installation import Installation
from logic.words.names import counted


@dataclass(frozen=True)
class RuleShown:
    """One rule held against what is fitted; ``sign`` is its shape and its colour."""

    title: str
    sign: str
    rule: str
    text: str
    right: str
    source: str


@dataclass(frozen=True)
class RulesShown:
    """The rules of one standing under their heading."""

    heading: str
    rules: tuple[RuleShown, ...]


_STANDINGS = (
    (False, "out_of_range", "Not in order"),
    (None, "no_limit", "To look at: not known, a guess, or a thin margin"),
    (True, "in_range", "In order"),
)


def rules_of(installation: Installation) -> tuple[RulesShown, ...]:
    """Group every design check by its standing; a standing that none has is left out."""
    from logic.circuit.design import design_checks  # not on the start path

    checks = design_checks(installation)
    groups = (
        RulesShown(
            heading,
            tuple(
                RuleShown(one.title, sign, one.rule, one.text, one.right, one.source)
                for one in checks
                if one.passed is passed
            ),
        )
        for passed, sign, heading in _STANDINGS
    )
    return tuple(group for group in groups if group.rules)


def standing(installation: Installation) -> str:
    """Say in one line how many rules are in order, and how many are not."""
    from logic.circuit.design import design_checks  # not on the start path

    passed = [one.passed for one in design_checks(installation)]
    words = [f"{passed.count(True)} of {len(passed)} in order"]
    if wrong := passed.count(False):
        words.append(f"{counted(wrong, 'is', 'are')} not")
    if unknown := passed.count(None):
        words.append(f"{unknown} to look at: not known, a guess, or a thin margin")
    return ", ".join(words)
