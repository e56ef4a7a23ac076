"""`tune`: the intervals and thresholds of a policy that cost least within the limits."""

import argparse

from sim.commands.fitted import Fitted, figures, words
from sim.commands.inputs import policy_of, site_of
from sim.commands.screen import answer_console
from sim.commands.searched import kept, searched
from sim.study.caution import cautioned
from sim.study.tune.question import TuneQuestion
from sim.study.tune.tune import TuneStudy
from sim.study.tune.tune_words import curve_line, tune_sentences
from sim.study.wording import given
from sim.units import Units


def tune(options: argparse.Namespace) -> int:
    """Search for the intervals of a policy that cost least within the limits."""
    site = site_of(options)
    question = TuneQuestion(
        site=site, policy=policy_of(options, site), limit_days=options.limit_days,
        only=tuple(options.only or []), years=options.years, seed=options.seed, worth=options.worth,
        replications=options.replications, units=options.units,
    )  # fmt: skip
    answer = searched(question, options)
    written = kept(question, answer, answer.files(options.units), options)
    _print(answer.study, site.scenario.prices.currency, options.units, site.said)
    print(written)
    return 0


def table(study: TuneStudy, currency: str, units: Units) -> Fitted:
    """Return the table people see: each dial, where it stands, the choice, the flat part."""
    rows = []
    for curve in study.curves:
        dial = curve.dial
        levels = (dial.own, curve.level, *curve.flat)
        rows.append([dial.name, *(dial.said(level, units) for level in levels)])
    return Fitted(
        f"Around the choice; flat: within {given(study.worth)} {currency} a year and the limits",
        [words("what", 14, 32), *map(figures, ("now", "choice", "flat from", "to"))], rows,
    )  # fmt: skip


def _print(study: TuneStudy, currency: str, units: Units, said: list[str]) -> None:
    out = answer_console()
    lines = [
        cautioned([*tune_sentences(study, currency, units), *said]),
        "",
        "The flat part and the cliff, all else as chosen:",
    ]
    lines += [f"  {curve_line(curve, study, currency, units)}" for curve in study.curves]
    out.print("\n".join(lines), markup=False, highlight=False)
    out.print(table(study, currency, units))
