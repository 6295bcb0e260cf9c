"""The shape of a design check, and the full-load currents that the checks share."""

from dataclasses import dataclass

from logic.circuit.healthy import healthy
from logic.quantities import Ampere
from logic.vehicle.installation import Installation
from logic.vehicle.points import Run

FEEDS = (Run.VEHICLE_FEED, Run.HOUSE_FEED)
RETURNS = (Run.VEHICLE_RETURN, Run.HOUSE_RETURN)


@dataclass(frozen=True)
class DesignCheck:
    """One rule held against an installation; ``passed`` is ``None`` where it cannot be told.

    ``text`` is one sentence with the numbers, ``source`` where the rule comes from.
    """

    rule_id: str
    title: str
    passed: bool | None
    text: str
    source: str


def output_current(installation: Installation) -> Ampere:
    """Current of one unit at its rating, A."""
    return installation.charger.rated_output_current_a


def all_output_current(installation: Installation) -> Ampere:
    """Current of all units on the one house battery, A."""
    second = installation.fitted.second_charger_rated_output_current_a or 0.0
    return installation.charger.rated_output_current_a + second


def input_current(installation: Installation) -> Ampere:
    """Current one unit draws at its rating, at the usual running voltage, A.

    Output current times absorption voltage over efficiency and 14 V (28 V), or its set limit.
    """
    return healthy(installation).charger.rated_input_a


def all_input_current(installation: Installation) -> Ampere:
    """Current all units draw together; the second one is taken to have no limit set, A."""
    second = installation.fitted.second_charger_rated_output_current_a or 0.0
    unit = healthy(installation).charger
    return unit.rated_input_a + second * unit.input_per_output


def full_load(installation: Installation, run: Run) -> Ampere:
    """Current through a run at one unit's rating, A."""
    if run in (Run.VEHICLE_FEED, Run.VEHICLE_RETURN):
        return input_current(installation)
    return output_current(installation)
