"""How far a reading may stand from what is true: the part shared by all, and each one's own.

A meter's gain and a clamp's zero are the same in every reading, so they are unknowns of the
fit (:func:`meter_priors`); treating them as noise on each reading would make a full sheet look
surer than it is.  What is left to each reading: the meter's own part (counts and rounding), the
drift of supply and battery between two readings, and what the circuit model leaves out.  The
meter itself is :mod:`logic.vehicle.meter`'s.
"""

import math

from logic.circuit.estimate import Estimate
from logic.vehicle.assumed import DRIFT_V, PROBE_CONTACT_V
from logic.vehicle.installation import Meter
from logic.vehicle.meter import OwnSpread, own_spread, shared_spreads
from logic.vehicle.points import Point, State

# What drifts between two readings, with its standard change at 12 V (assumed): a reading moves
# by that times its own slope, so a current held by the input's lowest voltage moves a lot.
DRIFTS: tuple[tuple[str, float], ...] = (
    ("supply_idle_v", DRIFT_V / 3),
    ("supply_sag_v", DRIFT_V / 3),
    ("supply_rest_v", 0.01),
    ("house_rise_v", 0.02),
    ("house_rise_solar_v", 0.03),
    ("output_share", 0.015),
    ("load_a", 0.05),
    ("regulation_v", 0.01),
    ("sun", 0.05),
)
# What the model leaves out, standard spreads (assumed): volts at a post at 12 V, share of a drop
# or a current, amperes, volts of a profile that is read from a table.
_POST, _SHARE, _CURRENT, _PROFILE = 0.012, 0.01, 0.08, 0.012
_DROP = PROBE_CONTACT_V / math.sqrt(3)
_RESTING_CASE, _PANEL, _PANEL_SHARE = 8.0, 0.3, 0.03


# A meter printed as exact still leaves the fit a spread to work with.
_LEAST_GAIN, _LEAST_CURRENT_GAIN, _LEAST_ZERO_A = 1e-4, 1e-3, 0.02


def meter_priors(meter: Meter | None) -> dict[str, Estimate]:
    """Return the priors of the voltage gain, the current gain and the clamp's zero."""
    shared = shared_spreads(meter)
    return {
        "voltage_gain": Estimate(0.0, max(shared.voltage_gain, _LEAST_GAIN)),
        "current_gain": Estimate(0.0, max(shared.current_gain, _LEAST_CURRENT_GAIN)),
        "clamp_zero_a": Estimate(0.0, max(shared.clamp_zero_a, _LEAST_ZERO_A)),
    }


def reading_noise(point: Point, state: State, meter: Meter | None, scale: float) -> OwnSpread:
    """Return one reading's own spread; ``scale`` is the nominal voltage over 12 V."""
    unit = point.unit
    own = own_spread(meter, point)
    if point is Point.PROFILE_SETTING_VOLTAGE:
        return OwnSpread(_PROFILE * scale)
    if unit == "V" and point.needs_panel:
        return OwnSpread(_PANEL * scale, _PANEL_SHARE)
    if point.is_drop:
        return OwnSpread(math.hypot(_DROP, own.fixed), _SHARE)
    if unit == "V":
        return OwnSpread(math.hypot(_POST * scale, own.fixed))
    if unit == "A":
        return OwnSpread(math.hypot(_CURRENT, own.fixed), _SHARE)
    if unit == "°C":
        resting = point is Point.CHARGER_CASE_TEMPERATURE and not state.engine_runs
        return OwnSpread(math.hypot(own.fixed, _RESTING_CASE * resting))
    return own
