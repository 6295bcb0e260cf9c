"""What the sun spares the vehicle: a unit uses its panel first, the vehicle makes up the rest.

    supply volts x amps - loop ohms x amps squared = power wanted - panel's power

The power that the unit wants is the same with the panel covered and in the sun, as long as nothing
but its rating or the battery's volts sets its output.
"""

import math

from logic.quantities import Ampere, Ohm, Volt, Watt


def input_in_sun(covered_a: Ampere, supply_v: Volt, loop_ohm: Ohm, panel_w: Watt) -> Ampere:
    """Input current once the panel gives its part, the unit's output being unchanged.

    Parameters
    ----------
    covered_a : A
        Drawn from the vehicle with the panel covered.
    supply_v : V
        At the start battery's posts.
    loop_ohm : Ω
        Of vehicle feed and return together.
    panel_w : W
        That the panel gives the unit.

    Returns
    -------
    A
        Never under nothing: what the sun gives beyond the need is not taken from the panel.

    References
    ----------
    Energy conservation; the case contract: solar is used first, the vehicle makes up the rest.
    """
    wanted = (supply_v - loop_ohm * covered_a) * covered_a
    left = max(wanted - panel_w, 0.0)
    root = math.sqrt(max(supply_v * supply_v - 4 * loop_ohm * left, 0.0))
    return 2 * left / (supply_v + root)
