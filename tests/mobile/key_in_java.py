"""Run by test_java.py in a process of its own: device_key.py on real pyjnius, in a JVM.

``key_in_java.py CLASSES STORE``: the compiled classes, and a folder for a store. Prints a line for
each thing that went well.
"""

import sys
from pathlib import Path
from threading import Thread
from types import ModuleType

import jnius_config

jnius_config.set_classpath(sys.argv[1])

from jnius import autoclass  # noqa: E402

sys.modules["android"] = ModuleType("android")
sys.modules["android"].mActivity = None

from logic.errors import AppError  # noqa: E402
from mobile.jobs import phone_store  # noqa: E402
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


def key_of_the_store(folder: Path) -> tuple[str, object]:
    """Return the public key that a store opened anew signs with, and what it has to say."""
    with phone_store.open_store(folder) as store:
        try:
            return store.own_key, store.notices
        except AppError as error:
            return "", [str(error)]


def in_the_store(folder: Path) -> None:
    phone = autoclass("phone.PhoneKeyStore")
    phone_store.use_key_store(PhoneKey())
    first, said = key_of_the_store(folder)
    print("made", len(first), said)
    elsewhere: list[object] = []
    worker = Thread(target=lambda: elsewhere.append(key_of_the_store(folder)))
    worker.start()
    worker.join()
    print("in a worker", elsewhere == [(first, ())])
    phone.answer(False)
    print("silent", key_of_the_store(folder))
    phone.answer(True)
    print("again", key_of_the_store(folder) == (first, ()))
    phone.forgetKeys()
    second, said = key_of_the_store(folder)
    print("anew", second not in ("", first), said)
    print("kept", key_of_the_store(folder) == (second, ()))


main()
in_the_store(Path(sys.argv[2]))
