"""What each way of looking after a house is, in one sentence, from the rules of its policy."""

from collections.abc import Iterable

from sim.constants import DAY_S, MONTH_S
from sim.scenario.care import Policy, Rule
from sim.study.wording import counted, listed, named

MONEY = (
    "Money is parts, the worn share of parts still in place, the owner's hours, a technician's labour and "
    "call-outs, electricity, tankers and mains water."
)
_LONG_S = 60.0 * DAY_S  # spans from here on are told in months


def way(policy: Policy) -> str:
    """Return what is done, and when; nobody's name for it is taken to be known."""
    said = []
    if policy.reading_every_s is not None:
        said.append(f"gauges and the UV display are read every {span(policy.reading_every_s)}")
    if tasks := _tasks(policy.rules, "reading"):
        said.append(f"when these say so, {tasks}")
    if tasks := _tasks(policy.rules, "calendar"):
        said.append(f"by the calendar, {tasks}")
    if tasks := _tasks(policy.rules, "failure"):
        first = "once" if said else "only once"
        said.append(f"{first} taps run weak, the alarm sounds or a part dies, {tasks}")
    if policy.technician_every_s is not None:
        said.append(f"a technician comes every {span(policy.technician_every_s)}")
    return f"{named(policy.name)}: {'; '.join(said) or 'nothing is done'}."


def _tasks(rules: Iterable[Rule], when: str) -> str:
    return listed(list(dict.fromkeys(rule.task for rule in rules if rule.when == when)))


def span(span_s: float) -> str:
    """Return a span as people say it: days, months where it is long."""
    if span_s < _LONG_S:
        return counted(round(span_s / DAY_S, 1), "day")
    return counted(round(span_s / MONTH_S, 1), "month")
