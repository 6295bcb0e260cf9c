"""What a set input limit leaves of a unit's output.

output amps = (efficiency x input volts x limit - own use) / output volts
"""

import math

from logic.circuit import tables
from logic.circuit.sound_installation import sound_installation
from logic.quantities import Ampere
from logic.vehicle.installation import Installation
from logic.vehicle.points import VEHICLE_SIDE


def output_at_limit(installation: Installation, limit_a: Ampere) -> Ampere:
    """Most that a unit gives while it is held to an input limit, the battery near its profile.

    Parameters
    ----------
    installation
        For the rating, the profile, the efficiency and the runs; what is not known is usual.
    limit_a : A
        Drawn from the vehicle at most.

    Returns
    -------
    A
        At the running supply of ISO 16750-2; never over the rating. An emptier battery, lower in
        volts, gets a little more.

    References
    ----------
    Energy conservation, with the efficiency entered.
    """
    sound = sound_installation(installation)
    unit = sound.charger
    supply = tables.number("supply", "generator.nominal") * installation.scale
    at_input = supply - limit_a * sum(sound.run_ohm[run].mean for run in VEHICLE_SIDE)
    power = unit.efficiency.mean * max(at_input, supply / 2) * limit_a - unit.own_use_w.mean
    return min(max(power, 0.0) / unit.absorption_v, unit.rated_output_a)


def input_for_rating(installation: Installation) -> Ampere:
    """Least input limit that leaves a unit its whole rating.

    Parameters
    ----------
    installation
        As for :func:`output_at_limit`.

    Returns
    -------
    A
    """
    sound = sound_installation(installation)
    unit = sound.charger
    supply = tables.number("supply", "generator.nominal") * installation.scale
    ohm = sum(sound.run_ohm[run].mean for run in VEHICLE_SIDE)
    needed = (unit.rated_output_a * unit.absorption_v + unit.own_use_w.mean) / unit.efficiency.mean
    root = math.sqrt(max(supply * supply - 4 * ohm * needed, 0.0))
    return 2 * needed / (supply + root)
