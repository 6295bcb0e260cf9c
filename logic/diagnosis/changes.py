"""What each way of a fault makes of the unknowns: their priors once it is there."""

from functools import lru_cache

from logic.circuit.batteries import rest_voltage
from logic.circuit.estimate import Estimate
from logic.circuit.healthy import Healthy, healthy
from logic.diagnosis.catalogue import Change
from logic.diagnosis.prevalence import possible_faults
from logic.diagnosis.unknowns import is_volts, sound_priors, to_fit
from logic.vehicle.installation import Installation

# Assumed: mean state of charge of the batteries that count as nearly full.
_FULL = 0.92


@lru_cache(maxsize=16)
def changed_priors(installation: Installation) -> tuple[dict[str, Estimate], ...]:
    """Return what each way of each possible fault makes of the unknowns, in the fit's units."""
    sound = healthy(installation)
    base = sound_priors(installation, sound)
    return tuple(
        {
            change.unknown: to_fit(
                change.unknown, changed(change, base[change.unknown], installation, sound)
            )
            for change in way.change
        }
        for entry in possible_faults(installation)
        for way in entry.way
    )


def changed(
    change: Change, sound_value: Estimate, installation: Installation, sound: Healthy
) -> Estimate:
    """Return an unknown's prior under a change, in its own unit."""
    scale = installation.scale if is_volts(change.unknown) else 1.0
    anchor = {
        "": sound_value.mean,
        "full_rest": rest_voltage(
            installation.house_battery.chemistry, _FULL, installation.scale, sound.ambient_c.mean
        ),
        "signal_threshold": sound.charger.ignition_signal_min_v,
        "rated_output": sound.charger.rated_output_a,
    }[change.above]
    above = anchor if change.above else 0.0
    if change.to is not None:
        value = above + change.to * scale * _ohms(change.unknown, installation)
    elif change.shift is not None:
        value = anchor + change.shift * scale
    else:
        value = anchor * (change.times or 0.0)
    spread = change.spread * (scale if change.above != "signal_threshold" else 1.0)
    return Estimate(value, spread)


def _ohms(unknown: str, installation: Installation) -> float:
    # A worn battery of twice the volts has twice the cells in series.
    return installation.scale if unknown == "house_battery_ohm" else 1.0
