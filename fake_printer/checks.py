"""How the records of a profile refuse a value."""


def require(condition: bool, message: str) -> None:  # noqa: FBT001 - reads as an assertion
    """Raise ValueError with the message unless the condition holds."""
    if not condition:
        raise ValueError(message)
