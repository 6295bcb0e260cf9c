"""Ready reasons, each given by one tap. No Kivy."""

SKIPS = (
    "Not fitted",
    "Cannot be reached",
    "No sun now",
    "Customer does not want it",
    "Meter cannot read it",
)
"""Why a step is left out."""

EXPLANATIONS = (
    "Customer was told and declined the repair",
    "Part is on order, will be put right at the next visit",
    "Read again with a second meter, it is so",
    "The vehicle is built that way",
)
"""Why what is not in order may stand."""

ABSENCES = (
    "Vehicle is collected after hours",
    "Customer was told by phone and agreed",
    "Workshop's own vehicle",
)
"""Why the customer does not sign."""

REOPENINGS = (
    "A reading was taken again",
    "Something was put right",
    "Something was forgotten",
)
"""Why a signed job is opened again."""
