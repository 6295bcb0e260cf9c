"""Long rows of digits (hashes, keys, signatures) for people to compare, type and copy."""

_GROUP = 8


def in_groups(digits: str) -> str:
    """Write digits in groups of eight, which an eye does not lose its place in."""
    return " ".join(digits[at : at + _GROUP] for at in range(0, len(digits), _GROUP))


def without_groups(text: str) -> str:
    """Return the digits of a text however it was grouped, in small letters."""
    return "".join(text.split()).lower()
