"""The cautions that stand before doses, figures and procedures; nothing else, so that it loads at once."""

from collections.abc import Sequence

_FIRST = "Local codes and licensed practice come first."
CAUTION = f"These are simulated days below the dose target, not a water test. {_FIRST}"
AT_WORK = (
    "The makers' manuals, local codes and licensed practice come first. A good reading is not a water test."
)


def cautioned(sentences: Sequence[str], lead: int = 1) -> str:
    """Return an answer as plain text: the caution, the finding in so many paragraphs, what belongs to it."""
    return "\n".join([CAUTION, *(f"\n{one}" for one in sentences[:lead]), "", *_list(sentences[lead:])])


def _list(sentences: Sequence[str]) -> list[str]:
    return [f"- {one}" for one in sentences]
