"""Hypothesis in two strengths: the same examples every time, or many new ones.

``HYPOTHESIS_PROFILE=full pytest`` looks for new counter-examples; a slow machine is no failure.

Kivy logs the way Python does, whichever test imports it first: its own way would log each line of
the PDF writer too, 3,000 a print, and pytest would keep them all.
"""

import os

from hypothesis import HealthCheck, settings

_ANY_MACHINE = {"deadline": None, "suppress_health_check": [HealthCheck.too_slow]}
settings.register_profile("fast", derandomize=True, max_examples=60, **_ANY_MACHINE)
settings.register_profile("full", max_examples=500, **_ANY_MACHINE)
os.environ["KIVY_LOG_MODE"] = "PYTHON"
settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE", "fast"))
