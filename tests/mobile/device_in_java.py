"""Run by test_java.py in a process of its own: device.py on real pyjnius, in a JVM.

``device_in_java.py CLASSES LISTENERS.py``: the compiled classes, and python-for-android's own
module of listeners. Prints a line for each thing that went well; a JVM that crashes prints none.
"""

import importlib.util
import os
import sys
import threading
import time
from pathlib import Path
from types import ModuleType

import jnius_config

jnius_config.set_classpath(sys.argv[1])
os.environ["KIVY_NO_ARGS"] = os.environ["KIVY_NO_CONSOLELOG"] = "1"

from jnius import autoclass  # noqa: E402

NAME = "org.kivy.android.PythonActivity"
CAMERA, PICKER, CANCELLED, OK = 4711, 4712, 0, -1


def listeners_of_python_for_android() -> None:
    """Lay its ``android`` package: its settings, its activity, its module of listeners."""
    config = ModuleType("android.config")
    config.ACTIVITY_CLASS_NAME = NAME
    config.ACTIVITY_CLASS_NAMESPACE = NAME.replace(".", "/")
    sys.modules["android"] = android = ModuleType("android")
    android.mActivity = autoclass(NAME).begin(NAME)
    sys.modules["android.config"] = config
    spec = importlib.util.spec_from_file_location("android.activity", sys.argv[2])
    sys.modules["android.activity"] = android.activity = importlib.util.module_from_spec(spec)
    # There the app's own classes need a loader of their own; here one loader knows all.
    source = Path(sys.argv[2]).read_text().replace("'app'", "'system'")
    exec(compile(source, sys.argv[2], "exec"), vars(android.activity))


def by_the_light_sensor(sensors) -> None:
    from kivy.clock import Clock

    from mobile.ui import light_sensor

    light_sensor.on_android = lambda: True
    told = []
    light_sensor.begin(lambda light: told.append((light, threading.current_thread().name)))
    light_sensor.begin(lambda light: told.append((light, threading.current_thread().name)))
    listening = sensors.listening()
    sensors.shines(12.5)
    end = time.monotonic() + 10
    while not told and time.monotonic() < end:
        time.sleep(0.01)
        Clock.tick()
    light_sensor.end()
    print("light", light_sensor.is_there(), listening, told, sensors.listening())
    sensors.hasNoLightSensor = True
    light_sensor.begin(told.append)
    print("no light sensor", light_sensor.is_there(), sensors.listening())


def main() -> None:
    listeners_of_python_for_android()
    from android import mActivity
    from kivy.clock import Clock

    from logic.errors import AppError
    from mobile.ui import device

    def refused(work, *arguments) -> str:
        try:
            work(*arguments)
        except AppError as error:
            return str(error)
        return "not refused"

    told, uri = [], device.place_for_picture()
    device.ask_camera(uri, told.append)
    mActivity.comesBack(CAMERA, CANCELLED, None)
    Clock.tick()
    print("camera cancelled", told, mActivity.listening())
    device.ask_camera(uri, told.append)
    mActivity.comesBack(CAMERA, OK, None)
    Clock.tick()
    print("camera done", told, mActivity.listening())
    chosen = []
    for result, intent in (
        (CANCELLED, None),
        (OK, None),
        (OK, autoclass("android.content.Intent")("x")),
    ):
        device.ask_file(chosen.append)
        mActivity.comesBack(PICKER, result, intent)
        Clock.tick()
    print("nothing chosen", chosen, mActivity.listening())
    device.ask_file(chosen.append)
    intent.setData(autoclass("android.net.Uri").parse("content://docs/3"))
    mActivity.comesBack(PICKER, OK, intent)
    Clock.tick()
    print("chosen", chosen, mActivity.listening())
    print("vanished", refused(device.read_picture, uri))
    print("not handed over", refused(device.open_chosen, uri))
    mActivity.opensNothing = True
    print("no camera", refused(device.ask_camera, uri, told.append), mActivity.listening())
    print("no picker", refused(device.ask_file, chosen.append), mActivity.listening())
    resolver = mActivity.getContentResolver()
    device.forget_picture(uri)
    resolver.isNotTheOwner = resolver.hasNoRoom = True
    print("not deleted", refused(device.forget_picture, uri))
    print("no room", refused(device.place_for_picture))
    device.on_android = lambda: True  # set in the environment, it would be Kivy's platform too
    tones = autoclass("android.media.ToneGenerator")
    device.signal()
    device.signal()
    print("signal", mActivity.motor.vibrated, tones.sounded, tones.held)
    device.fall_silent()
    device.fall_silent()
    print("silent", tones.held)
    mActivity.motor.isNotPermitted = tones.hasNoPlayer = True
    device.signal()
    mActivity.hasNoMotor = True
    device.signal()
    print("not signalled", mActivity.motor.vibrated.count(";"), tones.sounded.count(";"))
    settings = mActivity.getResources().getConfiguration()
    light = device.is_night()
    settings.uiMode = settings.UI_MODE_NIGHT_YES | 1
    print("night", light, device.is_night())
    by_the_light_sensor(mActivity.sensors)


main()
