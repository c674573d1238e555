"""The refusal of a record book, in a module that loads nothing: a key press must not wait for a library."""


class BookError(Exception):
    """The record book cannot be used; the text says what to do."""
