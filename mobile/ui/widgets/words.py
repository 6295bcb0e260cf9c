"""Text that wraps in its width and is as high as it needs, at any font scale."""

from pathlib import Path
from typing import Any

from kivy.lang import Builder
from kivy.uix.label import Label

from mobile.jobs import language
from mobile.ui.theme import theme

Builder.load_file(str(Path(__file__).with_suffix(".kv")))


class Written(Label):
    """A text that is drawn in the reader's own language and notation.

    ``text`` stays as it was written, so that what is compared, kept or handed on is never in
    somebody's own units; ``drawn`` is what is seen.
    """

    def __init__(self, **properties: Any) -> None:
        super().__init__(**properties)
        theme.follow(self)
        self.repaint()

    @property
    def drawn(self) -> str:
        """The text as it is seen."""
        return theme.notation.shown(language.text(self.text))

    def repaint(self) -> None:
        """Draw anew where the notation makes another text of it."""
        if self._label.text != self.drawn:
            self._label.text = self.drawn
            self._trigger_texture()

    def _trigger_texture_update(
        self, name: Any = None, source: Any = None, value: Any = None
    ) -> None:
        # Kivy's own way from a changed property to the drawn text; no other is open.
        super()._trigger_texture_update(name, source, self.drawn if name == "text" else value)


class Words(Written):
    """A paragraph."""


class Heading(Words):
    """A heading."""


class Small(Words):
    """Small print; still readable at arm's length."""
