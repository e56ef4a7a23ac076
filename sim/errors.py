"""What can go wrong, and whose fault it is.

TwinError
├── InputError     the input's: one line with file, key or line, what was read, what is wanted (exit code 2)
├── BalanceError   ours: water or a solute was made or lost (exit code 1)
└── Interrupted    the user's wish: what was finished is kept (exit code 130)
"""


class TwinError(Exception):
    """Anything this project raises on purpose."""


class InputError(TwinError):
    """The input cannot be used; the message is one line a person can act on."""


class BalanceError(TwinError):
    """The ledger of a run did not close; its numbers must not be used."""


class Interrupted(TwinError):
    """The user stopped a study; finished replications were kept."""
