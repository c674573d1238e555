"""What hands cannot do."""


class HandsError(Exception):
    """The hands cannot do that; the text says what to do instead."""
