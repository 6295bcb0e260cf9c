"""A panel's open volts fall with the light as the single-diode model has it (pvlib, CEC list)."""

import numpy as np
import pytest
from pvlib import pvsystem

from logic.diagnosis.prediction import open_circuit_share


@pytest.mark.parametrize("light", [1.0, 0.6, 0.35, 0.2, 0.1])
def test_open_volts_fall_as_the_single_diode_model_has_it(light: float) -> None:
    modules = pvsystem.retrieve_sam("CECMod")
    crystalline = [
        name for name in modules if modules[name]["Technology"] in ("Mono-c-Si", "Multi-c-Si")
    ][::400]
    shares = []
    for name in crystalline:
        module = modules[name]
        volts = [
            pvsystem.singlediode(
                *pvsystem.calcparams_cec(
                    1000 * share,
                    50,
                    *(module[key] for key in ("alpha_sc", "a_ref", "I_L_ref", "I_o_ref")),
                    *(module[key] for key in ("R_sh_ref", "R_s", "Adjust")),
                )
            )["v_oc"]
            for share in (light, 1.0)
        ]
        shares.append(volts[0] / volts[1])
    ours = float(open_circuit_share(np.array([light]))[0])
    # A hundredth and a half: less than two of these panels differ by.
    assert ours == pytest.approx(np.mean(shares), abs=0.015)
