"""The few turns of phrase that every sentence of this room shares."""


def confidence_words(confidence: float) -> str:
    """A level of confidence without needless digits, as in `95 %` or `97.5 %`."""
    return f"{100 * confidence:g} %"


def counted(number: int, noun: str) -> str:
    """A number with its noun in the right form, as in `1 trial` or `20 trials`."""
    return f"{number} {noun}" if number == 1 else f"{number} {noun}s"
