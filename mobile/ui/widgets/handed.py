"""Rows that are turned about for a phone held in the left hand.

What is to be reached by the thumb that holds the phone stands at its side of the screen: in the
left hand a row's last widget stands first. What is read in an order stays in it.
"""

from typing import Any

from kivy.properties import BooleanProperty
from kivy.uix.boxlayout import BoxLayout

from mobile.ui.theme import theme


class HandedRow(BoxLayout):
    """A row of widgets that is turned about for the left hand, unless ``turns`` is off."""

    turns = BooleanProperty(True)

    def __init__(self, **properties: Any) -> None:
        super().__init__(**properties)
        theme.follow(self)
        self.fbind("turns", self._trigger_layout)

    def repaint(self) -> None:
        """Lay out anew: the hand may be the other one now."""
        self._trigger_layout()

    def do_layout(self, *args: Any) -> None:
        super().do_layout(*args)
        if not (theme.left_handed and self.turns and self.orientation == "horizontal"):
            return
        left, _, right, _ = self.padding
        # Between the two edges that the padding leaves, each widget goes to the other side.
        edges = (self.x + left) + (self.right - right)
        for child in self.children:
            child.x = edges - child.right
