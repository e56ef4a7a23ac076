"""What to check first, as lines: the caution, what is likely, the acts in order, where to stop."""

from sim.study.check_first.question import Act, CheckFirstAnswer
from sim.study.wording import capital, number, percent


def takes(act: Act, currency: str) -> str:
    """Return what an act takes."""
    money = f", {number(act.money)} {currency}" if act.money > 0.0 else ""
    return f"{number(act.minutes)} min{money}"


def check_lines(answer: CheckFirstAnswer, currency: str) -> list[str]:
    """Return the answer as lines of a screen."""
    found = [answer.caution, answer.sentence]
    for place, act in enumerate(answer.acts, 1):
        share = f", {percent(act.share)}" if act.share > 0.0 else ""
        found.append(f"  {place}. {capital(act.do)} ({takes(act, currency)}{share}). {act.tells}")
    if answer.skipped:
        found.append("Left out:")
        found += [f"  {one}" for one in answer.skipped]
    return [*found, answer.stop]
