from mobile.widgets.buttons import MainButton


def test_an_unforeseen_error_is_kept_in_a_file_and_says_that_the_record_is_safe(
    make_phone, tmp_path
):
    phone = make_phone(first_page="trouble")
    phone.app.caught(ZeroDivisionError("one by nought"))
    phone.frames(3)
    assert phone.sees("Your record is safe")
    assert phone.sees("ZeroDivisionError: one by nought")
    [kept] = (tmp_path / "store").glob("trouble-*.txt")
    assert "ZeroDivisionError" in kept.read_text()
    assert isinstance(phone.find("Go on with the work"), MainButton)
