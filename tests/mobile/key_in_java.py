"""Run by test_java.py in a process of its own: device_key.py on real pyjnius, in a JVM.

``key_in_java.py CLASSES``: the compiled classes. Prints a line for each thing that went well.
"""

import sys
from types import ModuleType

import jnius_config

jnius_config.set_classpath(sys.argv[1])

from jnius import autoclass  # noqa: E402

sys.modules["android"] = ModuleType("android")
sys.modules["android"].mActivity = None

from logic.errors import AppError  # noqa: E402
from mobile.ui.device_key import PhoneKey  # noqa: E402

SECRET = bytes(range(224, 256))  # 32 bytes that Java holds for negative numbers


def answer(work, *arguments) -> str:
    try:
        return str(work(*arguments) == SECRET)
    except AppError as error:
        return str(error)


def main() -> None:
    phone = autoclass("phone.PhoneKeyStore")
    phone.install()
    phone_key = PhoneKey()
    first, second = phone_key.wrap(SECRET), phone_key.wrap(SECRET)
    print("keys made", phone.keys())
    print("never the same", first != second, SECRET not in first, len(first))
    print("opened", answer(PhoneKey().unwrap, first), answer(phone_key.unwrap, second))
    flipped = first[:-1] + bytes([first[-1] ^ 1])
    print("changed", answer(phone_key.unwrap, flipped))
    print("no seal", answer(phone_key.unwrap, b""), answer(phone_key.unwrap, first[:20]))
    phone.answer(False)
    print("silent", answer(phone_key.unwrap, first))
    print("silent", answer(phone_key.wrap, SECRET))
    phone.answer(True)
    print("again", answer(phone_key.unwrap, first))
    phone.forgetKeys()
    print("gone", answer(phone_key.unwrap, first))
    print("anew", answer(phone_key.unwrap, phone_key.wrap(SECRET)))
    print("another's", answer(phone_key.unwrap, first))


main()
