"""What is raised when something about people cannot be done: a message for the person who asked."""


class Declined(Exception):
    """Nothing was changed. `message` says what was wrong and what would be right; `field` names the input."""

    def __init__(self, message: str, *, field: str | None = None) -> None:
        super().__init__(message)
        self.message = message
        self.field = field


class PinRefused(Declined):
    """The PIN did not open anything: wrong, not set, or locked."""


class SignInRefused(Declined):
    """Name and password did not open a session. The same words whatever the cause."""
