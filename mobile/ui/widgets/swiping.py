"""A page that is turned by a swipe across it."""

from kivy.input.motionevent import MotionEvent
from kivy.metrics import dp

_LEAST = 90  # dp; assumed: further than a thumb slips while it taps or scrolls


class Swiping:
    """Mixed in before a screen: ``go_forward`` on a swipe to the left, ``go_backward`` right."""

    def on_touch_up(self, touch: MotionEvent) -> bool:
        taken = super().on_touch_up(touch)  # type: ignore[misc]
        across, along = touch.x - touch.ox, touch.y - touch.oy
        if touch.is_mouse_scrolling or abs(across) < max(dp(_LEAST), 2 * abs(along)):
            return bool(taken)
        if across < 0:
            self.go_forward()
        else:
            self.go_backward()
        return True

    def go_forward(self) -> None:
        """Turn to what comes next."""
        raise NotImplementedError

    def go_backward(self) -> None:
        """Turn to what came before."""
        raise NotImplementedError
