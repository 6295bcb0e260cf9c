from typing import Any

import pytest


@pytest.mark.parametrize("name", ["fpdf2", "Kivy"])
def test_a_licence_can_be_read_from_your_details_and_back_leads_to_the_list(phone: Any, name: str):
    phone.app.navigator.show("own")
    phone.frames(3)
    phone.tap("Licences")
    phone.tap(name)
    assert phone.sees("WARRANTIES" if name == "fpdf2" else "Permission is hereby granted")
    phone.press_back()
    assert phone.sees("Voltwalk itself: MIT")
    phone.press_back()
    assert phone.app.navigator.current == "own"
