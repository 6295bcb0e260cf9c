import pytest

from logic.errors import InputError
from mobile.ui.widgets.buttons import MainButton
from tests.mobile.ui.legibility import complaints
from tests.paths import CHECKLISTS


@pytest.mark.trouble
def test_an_unforeseen_error_is_kept_in_a_file_and_says_that_the_record_is_safe(phone, tmp_path):
    phone.app.caught(ZeroDivisionError("one by nought"))
    phone.frames(3)
    assert phone.sees("Your record is safe")
    assert phone.sees("ZeroDivisionError: one by nought")
    [kept] = (tmp_path / "store").glob("trouble-*.txt")
    assert "ZeroDivisionError" in kept.read_text()
    assert isinstance(phone.find("Go on with the work"), MainButton)


@pytest.mark.trouble
def test_after_an_unforeseen_error_the_work_goes_on(phone):
    phone.app.caught(ZeroDivisionError("one by nought"))
    phone.frames(3)
    phone.tap("Go on with the work")
    assert phone.app.navigator.current == "home"


@pytest.mark.trouble
def test_an_error_that_comes_again_and_again_fills_no_storage(phone, tmp_path):
    for _ in range(5):
        phone.app.caught(ZeroDivisionError("one by nought"))
    assert len(list((tmp_path / "store").glob("trouble-*.txt"))) == 1


@pytest.mark.trouble
def test_an_error_in_a_delayed_call_is_caught_too(phone):
    from kivy.clock import Clock

    def fail(_):
        raise ZeroDivisionError("later")

    Clock.schedule_once(fail, 0)
    phone.until(lambda: phone.app.navigator.current == "trouble")


def test_advice_is_a_banner_that_a_tap_puts_away(phone):
    phone.app.caught(InputError("Type the number on the meter."))
    phone.frames(3)
    assert phone.sees("Type the number on the meter.")
    assert complaints() == []
    phone.tap(phone.app.banner)
    assert not phone.sees("Type the number on the meter.")
    assert phone.app.navigator.current == "home"


def test_a_store_that_cannot_be_opened_is_told_with_what_to_do(make_phone, tmp_path):
    (tmp_path / "store").write_text("a file where the folder should be")
    phone = make_phone()
    assert phone.app.navigator.current == "trouble"
    assert phone.sees("The records cannot be opened")
    assert phone.sees(str(tmp_path / "store"))
    (tmp_path / "store").unlink()
    phone.tap("Try again")
    assert phone.app.navigator.current == "home"


def test_a_broken_checklist_is_told_by_its_file(tmp_path):
    from mobile.demo.finger import finger_on
    from mobile.ui.app import build_app

    (tmp_path / "checklists").mkdir()
    for path in CHECKLISTS.glob("*.toml"):
        (tmp_path / "checklists" / path.name).write_text(path.read_text())
    (tmp_path / "checklists" / "cautions.toml").write_text("cautions = 3")
    with finger_on(build_app(tmp_path / "store", tmp_path / "checklists")) as finger:
        from logic.errors import DataFileError

        with pytest.raises(DataFileError, match=r"cautions\.toml") as found:
            _ = finger.app.work.library
        finger.app.caught(found.value)
        finger.frames(3)
        assert finger.sees("cautions.toml")
