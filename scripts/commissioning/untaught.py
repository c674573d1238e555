"""What the campaign was never taught to answer."""


class Untaught(LookupError):
    """The procedure asks something that this campaign has no answer for; the text says what to do."""

    @classmethod
    def by(cls, request: object) -> "Untaught":
        """The error that names this request."""
        name = f"{type(request).__name__} {getattr(request, 'key', '')}".strip()
        return cls(f"{name}: say in the campaign's adapter what a person does there.")
