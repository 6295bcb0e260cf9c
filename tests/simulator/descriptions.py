"""Invented installations, as the exchanged JSON would describe them; some figures unknown.

All ranges are assumed: what a workshop meets, drawn without looking at the program's priors.
"""

import numpy as np

Generator = np.random.Generator

AREAS_MM2 = (6.0, 8.0, 10.0, 13.3, 16.0, 21.0)
ABSORPTION_V = {
    "flooded": (14.4, 14.8),
    "agm": (14.3, 14.7),
    "gel": (14.1, 14.4),
    "lifepo4": (14.2, 14.6),
}


def draw_installation(rng: Generator, solar: bool | None = None) -> dict:
    """Return a whole installation, in the words of the case contract."""
    scale = 2 if rng.random() < 0.15 else 1
    chemistry = str(rng.choice(["flooded", "agm", "gel", "lifepo4"], p=[0.15, 0.35, 0.1, 0.4]))
    rating = float(rng.choice([20, 25, 30, 40, 50]))
    fitted = rng.random() < 0.4 if solar is None else solar
    absorption = round(float(rng.uniform(*ABSORPTION_V[chemistry])), 1) * scale
    return {
        "nominal_voltage_v": 12 * scale,
        "alternator": {
            "control": str(rng.choice(["fixed", "variable", "unknown"], p=[0.45, 0.45, 0.1])),
            "rated_current_a": _perhaps(rng, float(rng.choice([90, 120, 150, 180]))),
        },
        "start_battery": {
            "chemistry": str(rng.choice(["flooded", "agm"])),
            "capacity_ah": float(rng.choice([60, 70, 90])),
        },
        "charger": _charger(rng, rating, absorption, scale),
        "house_battery": {
            "chemistry": chemistry,
            "capacity_ah": float(rng.choice([80, 100, 120, 150, 200]))
            * (1.5 if rating > 35 else 1),
            "max_charge_current_a": None,
            "absorption_voltage_v": absorption,
            "min_charge_temperature_c": 0.0 if chemistry == "lifepo4" else None,
        },
        "runs": {
            "vehicle_feed": _run(rng, (2.0, 7.0), rating, fused=True),
            "vehicle_return": _run(rng, (0.8, 5.0), rating, fused=False),
            "house_feed": _run(rng, (0.5, 3.0), rating, fused=True),
            "house_return": _run(rng, (0.4, 2.5), rating, fused=False),
        },
        "location": str(rng.choice(["engine_bay", "cabin", "tray", "trailer"])),
        "ambient_c": _perhaps(rng, round(float(rng.uniform(-2, 36)))),
        "solar": _panel(rng, scale) if fitted else None,
        "meter": None if rng.random() < 0.6 else _meter(rng),
    }


def without_cable_data(installation: dict) -> dict:
    """Return the installation with nothing known of its runs."""
    return installation | {"runs": {}}


def _perhaps(rng: Generator, value: float) -> float | None:
    return value if rng.random() < 0.75 else None


def _charger(rng: Generator, rating: float, absorption: float, scale: int) -> dict:
    limited = rng.random() < 0.1
    return {
        "rated_output_current_a": rating,
        "efficiency": round(float(rng.uniform(0.87, 0.96)), 2) if rng.random() < 0.4 else None,
        "start_voltage_v": round(float(rng.uniform(13.0, 13.3)), 1) * scale,
        "stop_voltage_v": round(float(rng.uniform(12.6, 12.8)), 1) * scale,
        "ignition_start_voltage_v": round(float(rng.uniform(11.8, 12.1)), 1) * scale,
        "ignition_stop_voltage_v": round(float(rng.uniform(11.0, 11.6)), 1) * scale,
        "ignition_signal_min_v": round(float(rng.uniform(7.0, 9.0)), 1) * scale,
        "absorption_voltage_v": absorption,
        "float_voltage_v": round(float(rng.uniform(13.3, 13.7)), 1) * scale,
        "input_current_limit_a": round(float(rng.uniform(0.9, 1.4)) * rating) if limited else None,
        "ingress_protection": "IP67",
        "max_ambient_c": 70.0,
        "solar_max_voltage_v": None,
    }


def _run(rng: Generator, length: tuple[float, float], rating: float, fused: bool) -> dict:
    if rng.random() < 0.12:
        return {"length_m": None, "area_mm2": None, "joints": None, "fuse_a": None}
    areas = [area for area in AREAS_MM2 if area >= rating / 4]
    return {
        "length_m": round(float(rng.uniform(*length)), 1),
        "area_mm2": float(rng.choice(areas)),
        "joints": int(rng.integers(2, 6)) if rng.random() < 0.8 else None,
        "fuse_a": (40.0 if rating < 30 else 60.0) if fused else None,
    }


def _panel(rng: Generator, scale: int) -> dict:
    power = float(rng.choice([80, 120, 160, 200, 250]))
    open_circuit = float(rng.uniform(20.5, 24.0)) * scale
    working = open_circuit * 0.82
    return {
        "rated_power_w": power,
        "open_circuit_voltage_v": round(open_circuit, 1),
        "short_circuit_current_a": _perhaps(rng, round(power / working * 1.06, 1)),
        "max_power_voltage_v": _perhaps(rng, round(working, 1)),
    }


def _meter(rng: Generator) -> dict:
    return {
        "voltage_accuracy_percent": float(rng.choice([0.1, 0.3, 0.5, 0.8])),
        "voltage_counts": float(rng.choice([1, 2, 3])),
        "voltage_resolution_v": float(rng.choice([0.001, 0.01])),
        "current_accuracy_percent": float(rng.choice([1.5, 2.0, 3.0])),
        "current_zero_a": float(rng.choice([0.1, 0.3, 0.5])),
        "current_resolution_a": float(rng.choice([0.01, 0.1])),
    }
