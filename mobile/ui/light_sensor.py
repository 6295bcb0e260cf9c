"""The phone's light sensor: says how bright it is while the app is in front.

Needs no permission. On the desk there is none. Not run on a phone yet: it follows Android's
documented interfaces.
"""

from collections.abc import Callable
from contextlib import suppress
from typing import Any

from logic.errors import AppError
from mobile.ui.java import android, refused_as, there
from mobile.ui.toolkit import on_android

# Android's reference: Context.SENSOR_SERVICE, Sensor.TYPE_LIGHT, SensorManager.SENSOR_DELAY_NORMAL.
_SERVICE, _LIGHT, _SELDOM = "sensor", 5, 3

# Manager, sensor and the listener registered; Java's side of it lives only as long as Python's.
_listening: list[tuple[Any, Any, Any]] = []


def is_there() -> bool:
    """Tell whether the phone has one; False on the desk and where that is refused."""
    if not on_android():
        return False
    with suppress(AppError), refused_as(""):
        _manager_and_sensor()
        return True
    return False


def begin(told: Callable[[float], None]) -> None:
    """Tell ``told`` on the drawing thread how bright it is, lx, at each change; without one, never.

    One listener at a time: a new one takes the place of the old.
    """
    end()
    if not on_android():
        return
    with suppress(AppError), refused_as(""):
        manager, sensor = _manager_and_sensor()
        listener = _listener(told)
        if manager.registerListener(listener, sensor, _SELDOM):
            _listening.append((manager, sensor, listener))


def end() -> None:
    """Stop listening: the sensor takes power as long as anybody does."""
    while _listening:
        manager, sensor, listener = _listening.pop()
        with suppress(AppError), refused_as(""):
            # Without the sensor pyjnius takes the overload of another kind of listener.
            manager.unregisterListener(listener, sensor)


def _manager_and_sensor() -> tuple[Any, Any]:
    from jnius import cast

    activity, _ = android()
    service = there(activity.getSystemService(_SERVICE))
    manager = cast("android.hardware.SensorManager", service)
    return manager, there(manager.getDefaultSensor(_LIGHT))


def _listener(told: Callable[[float], None]) -> Any:
    from jnius import PythonJavaClass, java_method
    from kivy.clock import mainthread

    hand_over = mainthread(told)

    class Listener(PythonJavaClass):
        __javainterfaces__ = ("android/hardware/SensorEventListener",)
        __javacontext__ = "app"

        @java_method("(Landroid/hardware/SensorEvent;)V")  # type: ignore[untyped-decorator]
        def onSensorChanged(self, event: Any) -> None:  # noqa: N802 - Java's name
            hand_over(float(event.values[0]))

        @java_method("(Landroid/hardware/Sensor;I)V")  # type: ignore[untyped-decorator]
        def onAccuracyChanged(self, _sensor: Any, _accuracy: int) -> None:  # noqa: N802
            """Nothing hangs on it."""

    return Listener()
