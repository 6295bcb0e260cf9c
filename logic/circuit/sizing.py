"""Whether an installation is right by design, before anything is measured.

Each check names its rule, its numbers and its source. What is not known is not judged.
"""

from logic.circuit.design import DesignCheck
from logic.circuit.sizing_runs import run_checks
from logic.circuit.sizing_units import unit_checks
from logic.vehicle.installation import Installation

__all__ = ["DesignCheck", "design_checks"]


def design_checks(installation: Installation) -> tuple[DesignCheck, ...]:
    """Return every design check that applies, in the order of the walk."""
    return (*unit_checks(installation), *run_checks(installation))
