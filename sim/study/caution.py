"""The cautions that stand before doses, figures and procedures; nothing else, so that it loads at once."""

from collections.abc import Sequence

_FIRST = "The makers' manuals, local codes and licensed practice come first."
CAUTION = (
    "A bad day, or day below the dose target, is one on which water came through with too little UV light. "
    f"Such days are simulated here; they are not a water test. {_FIRST}"
)
BRIEF = f"Simulated, not a water test. {_FIRST}"  # beside a figure, where the caution stands above
ON_ALARM = "After an alarm or a power cut: boiled or bottled water until the return to service is done."
AT_WORK = f"{_FIRST} A good reading is not a water test."


def cautioned(sentences: Sequence[str]) -> str:
    """Return an answer as plain text, the caution before it."""
    return f"{CAUTION}\n\n{as_text(sentences)}"


def as_text(sentences: Sequence[str], lead: int = 1) -> str:
    """Return an answer as plain text: the finding in paragraphs, then a list of what belongs to it."""
    return "\n\n".join([*sentences[:lead], "\n".join(f"- {one}" for one in sentences[lead:])])
