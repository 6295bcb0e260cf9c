"""Every design check of an installation, in the order of the walk."""

from logic.circuit.house_side_checks import house_side_checks
from logic.circuit.sizing import DesignCheck, run_checks, unit_checks
from logic.circuit.trailer_checks import trailer_checks
from logic.vehicle.installation import Installation


def design_checks(installation: Installation) -> tuple[DesignCheck, ...]:
    """Return every design check that applies."""
    return (
        *unit_checks(installation),
        *run_checks(installation),
        *house_side_checks(installation),
        *trailer_checks(installation),
    )
