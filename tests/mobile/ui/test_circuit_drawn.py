from itertools import combinations

import pytest

from logic.diagram.layout import LEAST_HEIGHT
from logic.limits.ladder import Grade
from tests.logic.diagram.circuit_pictures import VALUES, full_picture
from tests.mobile.ui.looks import LOOKS, Look, take_on


@pytest.fixture
def shown(request):
    from kivy.app import App
    from kivy.core.window import Window

    from mobile.demo.finger import finger_on
    from mobile.ui.theme import theme
    from mobile.ui.widgets.circuit import CircuitView

    class Frame(App):
        def build(self):
            Window.clearcolor = theme.ground
            return CircuitView(size_hint=(1, 1))

    take_on(getattr(request, "param", Look()))
    with finger_on(Frame()) as finger:
        yield finger


def overlapping(rects):
    hair = 0.6  # pixels
    return [
        (a, b)
        for (a, one), (b, other) in combinations(rects, 2)
        if one.x < other.right - hair
        and other.x < one.right - hair
        and one.y < other.top - hair
        and other.y < one.top - hair
    ]


@pytest.mark.parametrize("low", [False, True], ids=["full screen", "in a step"])
@pytest.mark.parametrize("shown", LOOKS, indirect=True, ids=str)
def test_no_text_overlaps_another_or_is_cut_off_at_any_value(shown, low):
    from kivy.metrics import dp

    circuit = shown.app.root
    if low:
        circuit.size_hint, circuit.height = (1, None), dp(LEAST_HEIGHT)
    for value in VALUES:
        for grade in Grade:
            circuit.picture = full_picture(value, grade)
            shown.frames(2)
            found = circuit.set_texts()
            assert len(found) > (17 if low else 30)
            assert overlapping([(line.text, line.rect) for _, s in found for line in s.lines]) == []
            for text, as_set in found:
                assert " ".join(line.text for line in as_set.lines) == text.text, value
                assert as_set.size >= 9
                for line in as_set.lines:
                    assert line.rect.width <= text.slot.width + 1, (line.text, value)
                    assert line.rect.height <= text.slot.height + 1, (line.text, value)


def test_what_has_not_changed_is_not_drawn_anew(shown, monkeypatch):
    from kivy.core.text import Label

    circuit = shown.app.root
    circuit.picture = full_picture(12.42, Grade.AS_EXPECTED)
    shown.frames(3)
    drawn = []
    refresh = Label.refresh
    monkeypatch.setattr(Label, "refresh", lambda label: (drawn.append(label.text), refresh(label)))
    circuit.picture = full_picture(12.42, Grade.AS_EXPECTED, marked=None)
    shown.frames(3)
    assert drawn == []
    assert circuit.children == []


def test_a_touch_says_what_it_means_and_a_finger_that_scrolls_does_not(shown):
    circuit = shown.app.root
    circuit.picture = full_picture(12.42, Grade.AS_EXPECTED)
    shown.frames(3)
    touched = []
    circuit.bind(on_touched=lambda _, target: touched.append((target.kind, target.what)))
    shown.tap(circuit.middle_of("clamp", "vehicle_feed"))
    assert touched == [("clamp", "vehicle_feed")]
    x, y = circuit.middle_of("post", "charger_input")
    shown.swipe((x, y + 60), (x, y))
    assert len(touched) == 1
