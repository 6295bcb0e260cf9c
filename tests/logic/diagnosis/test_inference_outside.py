"""The inference core against programs and sums from outside the project."""

import math
import warnings
from itertools import product

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.special import logsumexp
from scipy.stats import multivariate_normal, norm

from logic.case import Case
from logic.diagnosis.conditions import STEADY
from logic.diagnosis.fit import fit, gaussian_prior, laplace, normalised
from logic.diagnosis.hypotheses import single_hypotheses
from logic.diagnosis.next_reading import discrete_information, gaussian_information
from logic.diagnosis.search import current, problem
from logic.diagnosis.unknowns import INDEX, NAMES

with warnings.catch_warnings():
    # Its C++ types warn on import; as an error that takes the interpreter down.
    warnings.simplefilter("ignore")
    import pyagrum as gum

pytestmark = pytest.mark.outside

# Jensen & Nielsen, "car start": fuel, clean spark plugs, fuel meter, starts.
FUEL, CLEAN = {1: 0.98, 0: 0.02}, {1: 0.96, 0: 0.04}
METER = {1: (0.39, 0.60, 0.01), 0: (0.001, 0.001, 0.998)}
STARTS = {(1, 1): 0.99, (1, 0): 0.01, (0, 1): 0.0, (0, 0): 0.0}
ROWS = list(product((1, 0), repeat=2))


def car_start_net() -> gum.BayesNet:
    net = gum.fastBN("Fu{no|yes}->FM{full|half|empty};Fu->St{no|yes}<-SP{no|yes}")
    net.cpt("Fu")[:] = [FUEL[0], FUEL[1]]
    net.cpt("SP")[:] = [CLEAN[0], CLEAN[1]]
    for fuel in (0, 1):
        net.cpt("FM")[{"Fu": fuel}] = list(METER[fuel])
        for clean in (0, 1):
            chance = STARTS[fuel, clean]
            net.cpt("St")[{"Fu": fuel, "SP": clean}] = [1 - chance, chance]
    return net


def weights(*, starts: bool | None = None, meter: int | None = None) -> np.ndarray:
    ln = []
    for fuel, clean in ROWS:
        chance = FUEL[fuel] * CLEAN[clean]
        if starts is not None:
            chance *= STARTS[fuel, clean] if starts else 1 - STARTS[fuel, clean]
        if meter is not None:
            chance *= METER[fuel][meter]
        ln.append(math.log(max(chance, 1e-300)))
    return normalised(np.array(ln))


def marginal(weight: np.ndarray, place: int) -> float:
    return float(sum(w for w, row in zip(weight, ROWS, strict=True) if row[place]))


# Published or worked with pyAgrum from the published tables (Jensen & Nielsen, car start).
@pytest.mark.parametrize(
    ("starts", "meter", "fuel", "clean"),
    [
        (None, None, 0.98, 0.96),
        (False, None, 0.70681365, 0.41937375),
        (False, 1, 0.99930914, 0.19565037),
    ],
)
def test_car_start_posteriors_agree_with_the_network_library(
    starts: bool | None, meter: int | None, fuel: float, clean: float
) -> None:
    weight = weights(starts=starts, meter=meter)
    engine = gum.LazyPropagation(car_start_net())
    evidence = {} if starts is None else {"St": int(starts)}
    engine.setEvidence(evidence | ({} if meter is None else {"FM": meter}))
    engine.makeInference()
    assert marginal(weight, 0) == pytest.approx(engine.posterior("Fu")[1], abs=1e-9)
    assert marginal(weight, 1) == pytest.approx(engine.posterior("SP")[1], abs=1e-9)
    assert marginal(weight, 0) == pytest.approx(fuel, abs=1e-8)
    assert marginal(weight, 1) == pytest.approx(clean, abs=1e-8)


def test_worth_of_reading_the_fuel_meter_agrees_with_the_network_library() -> None:
    weight = weights(starts=False)
    shares = np.array(
        [
            [w if row[0] == fuel else 0 for w, row in zip(weight, ROWS, strict=True)]
            for fuel in (1, 0)
        ]
    )
    meter = np.array([[[METER[fuel][level] for fuel, _ in ROWS] for level in range(3)]])
    bits = discrete_information(meter, shares, np.ones(2)).bits
    net = car_start_net()
    engine = gum.LazyPropagation(net)
    engine.setEvidence({"St": 0})
    engine.makeInference()
    expected = gum.InformationTheory(engine, ["Fu"], ["FM"]).mutualInformationXY()
    assert float(bits[0]) == pytest.approx(expected, abs=1e-9)


def test_barbers_empty_tank_exercise() -> None:
    # Barber, Bayesian Reasoning and Machine Learning, exercise 3.6: P(empty | no start).
    battery, fuel = {0: 0.02, 1: 0.98}, {0: 0.05, 1: 0.95}
    turns = {0: 0.02, 1: 0.97}
    start = {(1, 1): 0.99, (1, 0): 0.08, (0, 1): 0.0, (0, 0): 0.01}
    rows = list(product((0, 1), repeat=3))
    chance = [
        battery[b] * fuel[f] * (turns[b] if t else 1 - turns[b]) * (1 - start[t, f])
        for b, f, t in rows
    ]
    weight = normalised(np.log(chance))
    assert sum(chance) == pytest.approx(0.101756, abs=1e-6)
    empty = sum(w for w, row in zip(weight, rows, strict=True) if row[1] == 0)
    assert empty == pytest.approx(0.453747, abs=1e-6)


PARTS = ("M1", "M2", "M3", "A1", "A2")


def polybox(prior: float) -> tuple[list[set[str]], list[dict[str, int | None]], np.ndarray]:
    """Candidates left after F = 10 and G = 12, what each says of X, Y and Z, and their weights."""
    broken, said, ln = [], [], []
    for flags in product((0, 1), repeat=5):
        bad = {part for part, flag in zip(PARTS, flags, strict=True) if flag}
        values = _polybox_values(bad)
        if values is not None:
            broken.append(bad)
            said.append(values)
            ln.append(len(bad) * math.log(prior) + (5 - len(bad)) * math.log(1 - prior))
    return broken, said, normalised(np.array(ln))


def _polybox_values(bad: set[str]) -> dict[str, int | None] | None:
    value = {
        name: (None if part in bad else 6) for name, part in (("X", "M1"), ("Y", "M2"), ("Z", "M3"))
    }
    for _ in range(2):
        for adder, one, other, total in (("A1", "X", "Y", 10), ("A2", "Y", "Z", 12)):
            if adder in bad:
                continue
            known = [n for n in (one, other) if value[n] is not None]
            if len(known) == 2 and value[one] + value[other] != total:
                return None
            if len(known) == 1:
                left = other if known[0] == one else one
                value[left] = total - value[known[0]]
    return value


# de Kleer & Williams, AI 32 (1987); figures by exhaustive search over the published problem.
@pytest.mark.parametrize(
    ("prior", "a1", "m2", "a2", "outcome_bits"),
    [
        (0.01, 0.49764, 0.01961, 0.01478, (1.002, 0.079, 0.044)),
        (0.1, 0.48688, 0.16744, 0.13194, (1.018, 0.407, 0.251)),
    ],
)
def test_polybox_candidates_and_the_best_probe(
    prior: float, a1: float, m2: float, a2: float, outcome_bits: tuple[float, float, float]
) -> None:
    broken, said, weight = polybox(prior)
    chance = {p: sum(w for w, bad in zip(weight, broken, strict=True) if p in bad) for p in PARTS}
    assert len(broken) == 27
    assert chance["A1"] == pytest.approx(a1, abs=5e-6)
    assert chance["M1"] == pytest.approx(a1, abs=5e-6)
    assert chance["M2"] == pytest.approx(m2, abs=5e-6)
    assert chance["A2"] == pytest.approx(a2, abs=5e-6)
    found = [_probe_bits(name, said, weight) for name in "XYZ"]
    assert found == pytest.approx(outcome_bits, abs=6e-4)
    assert max(found) == found[0]


def _probe_bits(name: str, said: list[dict[str, int | None]], weight: np.ndarray) -> float:
    outcomes = sorted({values[name] for values in said}, key=str)
    certain = np.array([[float(v[name] == outcome) for v in said] for outcome in outcomes])
    bits = discrete_information(certain[None], np.diag(weight), np.ones(len(weight))).bits
    # The table leaves out what no value is foretold for; ours counts it as one more outcome.
    unforetold = float(sum(w for w, v in zip(weight, said, strict=True) if v[name] is None))
    return float(bits[0]) + (unforetold * math.log2(unforetold) if unforetold else 0.0)


def test_information_of_a_gaussian_reading_agrees_with_quadrature() -> None:
    mean, spread = np.array([12.4, 13.1, 12.9]), np.array([0.2, 0.15, 0.6])
    weight = np.array([0.5, 0.3, 0.2])
    shares = np.array([[0.5, 0, 0], [0, 0.3, 0.2]])

    def mixed(value: float, own: np.ndarray) -> float:
        return float((own * norm.pdf(value, mean, spread)).sum())

    def lost(value: float) -> float:
        whole = mixed(value, weight)
        parts = [mixed(value, own) for own in shares]
        return sum(
            p * math.log2(p / (own.sum() * whole))
            for p, own in zip(parts, shares, strict=True)
            if p > 0
        )

    expected = quad(lost, 9, 17, limit=400)[0]
    bits = gaussian_information(mean[:, None], spread[:, None], weight, shares, np.ones(2)).bits
    assert float(bits[0]) == pytest.approx(expected, rel=0.03)


def test_laplace_is_exact_for_a_gaussian() -> None:
    rng = np.random.default_rng(3)
    square = rng.normal(size=(4, 4))
    precision = square @ square.T + np.eye(4)
    found = laplace(np.array([0.0]), precision[None])
    expected = -multivariate_normal(np.zeros(4), np.linalg.inv(precision)).logpdf(np.zeros(4))
    assert float(found[0]) == pytest.approx(expected, abs=1e-9)


def test_evidence_of_resting_volts_is_the_exact_normal_density() -> None:
    # At rest all but the tiny pull of loads is linear, so scipy's normal density is exact.
    case = Case.model_validate(
        {
            "installation": {
                "alternator": {"control": "variable"},
                "charger": {"rated_output_current_a": 25},
                "house_battery": {"chemistry": "agm"},
            },
            "readings": [
                {"point": "start_battery_voltage", "state": "rest", "value": 12.61},
                {"point": "charger_input_voltage", "state": "rest", "value": 12.62},
                {"point": "ignition_signal_voltage", "state": "rest", "value": 0.12},
            ],
        }
    )
    asked = problem(case.installation, current(case.readings))
    rows = single_hypotheses(case.installation)
    prior = gaussian_prior(rows, {"voltage_gain": 0.003})
    found = fit(asked, rows, prior)
    row = found.rows.faults.index(("profile_too_low",))
    predicted = asked.predictor.predict(
        found.rows.take(np.array([row])), found.prior.mean[[row]], 0.1
    )
    slope = predicted.slope[0]
    of_unknowns = slope @ np.linalg.inv(found.prior.precision[row]) @ slope.T
    # One visit in two is steady: the same density, with next to nothing moving in between.
    expected = logsumexp(
        [
            multivariate_normal(
                predicted.value[0], of_unknowns + np.diag(one.noise[0] ** 2)
            ).logpdf(asked.values)
            for one in (predicted, predicted.steady)
        ],
        b=[1 - STEADY.share, STEADY.share],
    )
    running = asked.running(found.rows, found.theta).ln_chance[row]
    spoilt = 3 * math.log(1 - 0.004)
    assert len(NAMES) == found.theta.shape[1]
    assert found.theta[row, INDEX["supply_rest_v"]] == pytest.approx(12.61, abs=0.03)
    assert found.ln_evidence[row] - running == pytest.approx(expected + spoilt, abs=0.05)
