"""Every error that a person may be shown, as one tree.

    AppError                  safe to show: says what is wrong and what to do
    ├── InputError            something typed cannot be taken; names the field
    ├── DataFileError         a data file is broken; names the file and where in it
    └── RecordError           the store or a record
        ├── StoreDamagedError   the store's file cannot be trusted; says what was rescued
        ├── SealedError       a signed record was asked to change
        ├── BrokenSealError   a record is not what was signed
        ├── LabelError        a label's code is damaged, foreign or too new
        └── BundleError       an exchange file is refused, and nothing was changed

A wrong call by a programmer stays ``ValueError`` or ``TypeError``: that is a bug and is
never shown as advice. A reading out of range is a verdict, not an error.
"""


class AppError(Exception):
    """An error whose text may be shown to the technician as it stands."""


class InputError(AppError):
    """What was typed cannot be taken; ``field`` names where it was typed."""

    def __init__(self, message: str, field: str = "") -> None:
        super().__init__(message)
        self.field = field


class DataFileError(AppError):
    """A data file is broken; ``file`` and ``where`` say which one and where in it."""

    def __init__(self, message: str, file: str, where: str = "") -> None:
        position = f"{file}, {where}" if where else file
        super().__init__(f"{position}: {message}")
        self.file = file
        self.where = where


class RecordError(AppError):
    """The store or a record cannot do what was asked."""


class StoreDamagedError(RecordError):
    """The store's file is damaged; ``found`` says in short what was found."""

    def __init__(self, message: str, found: str = "") -> None:
        super().__init__(message)
        self.found = found


class SealedError(RecordError):
    """A signed record was asked to change; open a new revision instead."""


class BrokenSealError(RecordError):
    """A record differs from what was signed."""


class LabelError(RecordError):
    """A label's code is damaged, foreign, or written by a newer version."""


class BundleError(RecordError):
    """An exchange file is refused; nothing in the store was changed."""
