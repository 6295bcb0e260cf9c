import shutil
from pathlib import Path
from typing import Any

import pytest

from tests.mobile.ui.legibility import complaints, small_targets
from tests.mobile.ui.looks import LOOKS, Look
from tests.mobile.ui.pictures import keep_picture
from tests.mobile.ui.workshop import READY, turn_to, vehicle_row

SMALL = Look()


@pytest.fixture
def on_vehicle(make_phone: Any, demo_store: Path, tmp_path: Path) -> Any:
    def opened(look: Look = SMALL) -> Any:
        shutil.copytree(demo_store, tmp_path / "store")
        phone = make_phone(look, tmp_path / "store")
        row = vehicle_row(phone.app.work.store, READY)
        turn_to(phone, "vehicle", vehicle_id=row.vehicle_id)
        return phone

    return opened


def test_every_rule_is_read_with_its_figures_and_its_source(on_vehicle: Any) -> None:
    phone = on_vehicle()
    phone.tap("Every rule and its figures")
    page = phone.app.navigator.page
    assert page.name == "design"
    cards = [one for one in page.ids.rules.walk() if type(one).__name__ == "RuleCard"]
    assert len({card.title for card in cards}) == len(cards) > 12
    for card in cards:
        assert card.rule.endswith(".")
        assert card.text.endswith(".")
        assert card.source
    signs = [card.sign for card in cards]
    order = ["out_of_range", "no_limit", "in_range"]
    assert signs == sorted(signs, key=order.index)
    phone.tap("Back to the vehicle")
    assert phone.app.navigator.current == "vehicle"


@pytest.mark.parametrize("look", LOOKS, ids=str)
def test_the_rules_can_be_read_on_every_phone(on_vehicle: Any, look: Look) -> None:
    phone = on_vehicle(look)
    turn_to(phone, "design", vehicle_id=phone.app.navigator.page._vehicle_id)
    keep_picture(phone, f"design_{look}")
    assert complaints() == []
    assert small_targets(48) == []
