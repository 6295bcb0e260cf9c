"""What a step can be answered with."""

from typing import Annotated, Literal

from pydantic import Field

from logic.quantities import Data


class ReadingAnswer(Data):
    """A value read off the meter; ``typed`` keeps the technician's own key presses."""

    kind: Literal["reading"] = "reading"
    value: float = Field(ge=-1000, le=1000)
    typed: str = Field("", max_length=32)


class YesNoAnswer(Data):
    """Seen to be so, or not so."""

    kind: Literal["yes_no"] = "yes_no"
    yes: bool


class ChoiceAnswer(Data):
    """One of the step's own choices, by its id."""

    kind: Literal["choice"] = "choice"
    choice: str = Field(max_length=60)


class TextAnswer(Data):
    """Free text."""

    kind: Literal["text"] = "text"
    text: str = Field(max_length=2000)


class PhotoAnswer(Data):
    """A photo, by the SHA-256 of its file."""

    kind: Literal["photo"] = "photo"
    sha256: str = Field(pattern=r"^[0-9a-f]{64}$")


Answer = Annotated[
    ReadingAnswer | YesNoAnswer | ChoiceAnswer | TextAnswer | PhotoAnswer,
    Field(discriminator="kind"),
]
