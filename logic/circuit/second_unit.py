"""An installation as a second unit sees it: the two units with their runs change places.

Whatever is worked out of the first unit (its runs, its fuses, what it should show) is so worked
out of the second by the same functions. Of a second unit only its rating and its runs are entered:
it is taken to be of the first one's kind, without a limit set and without a panel.
"""

from functools import lru_cache

from logic.vehicle.installation import Installation, Runs, SecondUnitRuns, StatedBy
from logic.vehicle.points import LOOP


@lru_cache(maxsize=8)
def as_second_unit(installation: Installation) -> Installation:
    """Return the installation with the second unit in the first one's place.

    Raises
    ------
    ValueError
        No second unit is fitted.
    """
    rating = installation.fitted.second_charger_rated_output_current_a
    if rating is None:
        raise ValueError("no second unit is fitted")
    runs, own = installation.runs, installation.second_unit_runs or SecondUnitRuns()
    first = {run.value: getattr(runs, run.value) for run in LOOP}
    unit = {"rated_output_current_a": rating, "input_current_limit_a": None}
    beside = {"second_charger_rated_output_current_a": installation.charger.rated_output_current_a}
    return installation.model_copy(
        update={
            "charger": installation.charger.model_copy(update=unit),
            "fitted": installation.fitted.model_copy(update=beside),
            "runs": Runs(**{run.value: getattr(own, run.value) for run in LOOP}),
            "second_unit_runs": SecondUnitRuns(**first),
            "solar": None,
            "stated_by": _stated(installation),
        }
    )


def _stated(installation: Installation) -> dict[str, StatedBy]:
    """Return how the figures were come by, those of the two units' runs exchanged."""
    there, here = "second_unit_runs.", "runs."
    return {
        path.replace(there, here, 1)
        if path.startswith(there)
        else path.replace(here, there, 1)
        if path.startswith(here)
        else path: stated
        for path, stated in installation.stated_by.items()
    }
