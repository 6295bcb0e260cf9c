"""The notices of what the app is built with: the list that is packed, and each licence's text.

``mobile/assets/notices.toml`` and the texts beside it are written by ``mobile.demo.notices``.
"""

from pathlib import Path

from pydantic import Field

from logic.quantities import Data

ASSETS = Path(__file__).resolve().parents[1] / "assets"


class ThirdParty(Data):
    """A part that is not ours; ``text`` is the file of its licence."""

    name: str = Field(min_length=1)
    licence: str = Field(min_length=1, description="SPDX id")
    used_for: str = Field(min_length=1)
    text: str = Field(pattern=r"^[a-z0-9-]+\.txt$")

    def paragraphs(self) -> tuple[str, ...]:
        """Return the licence's text, paragraph by paragraph."""
        whole = (ASSETS / "licences" / self.text).read_text(encoding="utf-8")
        return tuple(part.strip("\n") for part in whole.split("\n\n") if part.strip())


class NoticesFile(Data):
    """The file ``notices.toml``."""

    notices: tuple[ThirdParty, ...] = Field(min_length=1)


def notices() -> tuple[ThirdParty, ...]:
    """Return every notice, by name.

    Raises
    ------
    DataFileError
        The packed list is broken.
    """
    from logic.data_files import read

    return read(ASSETS / "notices.toml", NoticesFile).notices
