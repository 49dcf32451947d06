"""The errors a user may see. Each carries one clear sentence: what, where, what to do."""


class WaysideError(Exception):
    """Base of every error the program raises on purpose."""


class InputError(WaysideError, ValueError):
    """Something the user gave cannot be used.

    ``str(error)`` is one sentence that names what is wrong, where, and what to do. It may quote
    a file, so what cannot be shown on one line (control characters, halves of characters) is
    replaced.

    Parameters
    ----------
    message : str
        The sentence for the user.
    """

    def __init__(self, message: str = "") -> None:
        super().__init__(_on_one_line(message))


class MediaError(InputError):
    """A recording or film that cannot be read."""


class SetupError(InputError):
    """A set-up file or hand measurement that cannot be used.

    Parameters
    ----------
    message : str
        The sentence for the user.
    field : str, optional
        Dotted path of the offending entry, e.g. ``"markers.distance"``.
    """

    def __init__(self, message: str, field: str = "") -> None:
        super().__init__(message)
        self.field = field


class Cancelled(WaysideError):
    """The user stopped a long job; nothing was changed."""


def _on_one_line(text: str) -> str:
    return "".join(c if c.isprintable() else "\N{REPLACEMENT CHARACTER}" for c in text)
