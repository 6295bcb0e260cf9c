"""Outside: CIE and trade figures for light, values from memory: full moon 0.3 lx, street light
5 to 15 lx, a lit workshop 300 lx or more, direct sun 100,000 lx.
"""

import pytest

from mobile.jobs.look_by_light import LookByLight
from mobile.jobs.own_choices import Look


@pytest.mark.parametrize(
    ("light", "look"),
    [(0.3, Look.DARK), (10.0, Look.DARK), (300.0, Look.LIGHT), (100_000.0, Look.LIGHT)],
)
def test_the_first_look_goes_with_the_light_at_once(light, look):
    by_light = LookByLight()
    assert by_light.due(0.0) is None
    by_light.seen(light, 0.0)
    assert by_light.due(0.0) is look
    assert by_light.due(100.0) is None, "once: a tap since then stands"


def test_a_hand_over_the_sensor_and_a_headlamp_that_passes_change_nothing():
    by_light = LookByLight()
    by_light.seen(300.0, 0.0)
    by_light.due(0.0)
    by_light.seen(1.0, 10.0)
    assert by_light.due(12.0) is None
    by_light.seen(300.0, 12.0)
    assert by_light.due(60.0) is None


def test_between_the_thresholds_the_look_stays():
    by_light = LookByLight()
    by_light.seen(300.0, 0.0)
    by_light.due(0.0)
    by_light.seen(1.0, 10.0)
    assert by_light.due(13.5) is Look.DARK
    by_light.seen(30.0, 20.0)
    assert by_light.due(60.0) is None
    by_light.seen(300.0, 60.0)
    assert by_light.due(64.0) is Look.LIGHT
