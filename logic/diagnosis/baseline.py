"""What the commissioning readings teach about this very vehicle.

The same fit as for today's readings, with the hypotheses that nothing is wrong; what a vehicle
keeps (its runs' resistances, its unit's efficiency ...) then starts from there, widened by
what age alone may change.
"""

import numpy as np

from logic.diagnosis.catalogue import fault
from logic.diagnosis.hypotheses import Hypotheses
from logic.diagnosis.inference import Fit, fit
from logic.diagnosis.problem import Lasting, Problem, gaussian_prior
from logic.diagnosis.unknowns import INDEX, LASTING, is_volts


def learn(
    problem: Problem, rows: Hypotheses, meter_spread: dict[str, float], scale: float
) -> Lasting:
    """Return what the baseline readings teach, taking the vehicle as sound on that day.

    Parameters
    ----------
    problem
        The baseline readings.
    rows
        All single hypotheses of the installation.
    meter_spread
        The meter's own unknowns: on that day another meter may have been used.
    scale
        Nominal voltage over 12 V.
    """
    sound = np.flatnonzero([all(fault(one).is_sound for one in row) for row in rows.faults])
    picked = rows.take(sound)
    found = fit(problem, picked, gaussian_prior(picked, meter_spread))
    return _lasting(found, scale)


def _lasting(found: Fit, scale: float) -> Lasting:
    best = int(np.argmax(found.ln_weight))
    places = np.array([INDEX[name] for name in LASTING])
    covariance = found.covariance(np.array([best]))[0][np.ix_(places, places)]
    ageing = [
        (change * (scale if is_volts(name) else 1.0)) ** 2 for name, change in LASTING.items()
    ]
    return Lasting(places, found.theta[best, places], covariance + np.diag(ageing))
