import pytest

# Pairs of (text, ground) as the widgets use them.
TEXT_ON = [
    ("ink", "ground"), ("ink", "surface"), ("ink", "tint"), ("ink", "sunken"),
    ("faint", "ground"), ("faint", "surface"),
    ("main", "surface"), ("main", "ground"),
    ("main_words", "main"), ("main_words", "main_pressed"),
    ("caution_words", "caution"),
    ("in_range", "surface"), ("marginal", "surface"),
    ("out_of_range", "surface"), ("out_of_range", "ground"), ("no_limit", "surface"),
    ("verdict_words", "in_range"), ("verdict_words", "marginal"),
    ("verdict_words", "out_of_range"), ("verdict_words", "no_limit"),
    ("verdict_words", "red_probe"), ("verdict_words", "black_probe"), ("verdict_words", "clamp"),
]  # fmt: skip


def luminance(colour):
    # WCAG 2.2, "relative luminance"
    parts = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in colour[:3]]
    return 0.2126 * parts[0] + 0.7152 * parts[1] + 0.0722 * parts[2]


def contrast(one, other):
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


@pytest.mark.parametrize("dark", [False, True])
@pytest.mark.parametrize(("text", "ground"), TEXT_ON)
def test_text_reads_in_the_sun(dark, text, ground):
    from mobile.ui.theme import Theme

    look = Theme(dark=dark)
    # WCAG 2.2, 1.4.6: 7:1; large or bold text on a pressed button may have 4.5:1.
    least = 4.5 if ground == "main_pressed" else 7
    assert contrast(getattr(look, text), getattr(look, ground)) >= least


def test_black_on_white_is_21_to_1():
    assert contrast((1, 1, 1), (0, 0, 0)) == pytest.approx(21)  # WCAG 2.2, "contrast ratio"


def test_the_look_can_be_changed_and_changed_back():
    from mobile.ui.theme import Theme

    look = Theme()
    light = list(look.ground)
    look.dark = True
    assert list(look.ground) != light
    look.dark = False
    assert list(look.ground) == light
