"""Run by test_java.py in a process of its own: the phone's decoder on photographed labels.

``label_in_java.py ZXING.JAR``: prints a line for each photo.
"""

import sys
from threading import Thread

import jnius_config

jnius_config.set_classpath(sys.argv[1])

from logic.errors import InputError  # noqa: E402
from logic.records.label.encoding import encode  # noqa: E402
from mobile.jobs.label_photo import read_label  # noqa: E402
from mobile.ui.code_reader import codes_by_java  # noqa: E402
from tests.logic.records.label.label_samples import full_walk  # noqa: E402
from tests.logic.records.sample_records import commissioning, seal  # noqa: E402
from tests.mobile.label_photographed import Shot, photograph  # noqa: E402

SPOILT = Shot(turned=-25, aslant=0.25, blur=2.2, light=0.4, glare=0.08, noise=7)


def main() -> None:
    usual = seal(commissioning())

    def tell(name, sealed, shot):
        try:
            text = read_label(photograph(sealed, shot), codes_by_java)
        except InputError as error:
            print(f"{name}: {str(error).partition(' in this photo')[0]}")
        else:
            print(f"{name}: {'read' if text == encode(sealed) else 'WRONG ' + text}")

    tell("held still", usual, Shot())
    tell("askew, blurred, badly lit, with glare", usual, SPOILT)
    tell("upside down", usual, Shot(turned=180))
    tell("far away", usual, Shot(filled=0.22))
    tell("the longest label", full_walk(), Shot(turned=10, aslant=0.15, blur=1.5))
    tell("no label", usual, Shot(filled=0.01))
    thread = Thread(target=lambda: tell("in another thread", usual, Shot(turned=37)))
    thread.start()
    thread.join()


main()
