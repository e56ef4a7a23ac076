"""The caution that stands wherever dose or a procedure is shown; nothing else, so that it loads at once."""

from collections.abc import Sequence

CAUTION = (
    "Counted are days below the dose target in a simulation, which is not a water test; "
    "local codes and licensed practice come first."
)


def cautioned(sentences: Sequence[str]) -> str:
    """Return an answer as plain text, the caution on a line of its own."""
    return " ".join(sentences) + "\n" + CAUTION
