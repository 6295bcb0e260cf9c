"""Everything about the charger, its circuit and its records that is true without a phone."""

from typing import Any

__version__ = "0.2.0"


def __getattr__(name: str) -> Any:
    # Models cost 30 ms and numpy 100 ms to import: only who asks for them pays.
    if name in ("Case", "Diagnosis"):
        import logic.case

        return getattr(logic.case, name)
    if name == "diagnose":
        from logic.diagnosis.engine import diagnose

        return diagnose
    raise AttributeError(f"module 'logic' has no attribute {name!r}")
