"""Text that wraps in its width and is as high as it needs, at any font scale."""

from pathlib import Path

from kivy.lang import Builder
from kivy.uix.label import Label

Builder.load_file(str(Path(__file__).with_suffix(".kv")))


class Words(Label):
    """A paragraph."""


class Heading(Words):
    """A heading."""


class Small(Words):
    """Small print; still readable at arm's length."""
