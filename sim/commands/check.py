"""`check`: what a site comes to on paper, and what is out of good practice."""

import argparse

from sim.commands.inputs import site_of
from sim.study.caution import CAUTION
from sim.study.check.finding import Finding
from sim.study.check.question import CheckQuestion
from sim.study.questions import ask
from sim.study.taken import lines


def check(options: argparse.Namespace) -> int:
    """Print the design figures of a site."""
    site = site_of(options)
    found = ask(CheckQuestion(site=site, units=options.units)).findings
    print(f"{site.scenario.name}: {site.scenario.summary}")
    print("\n".join(map(line, found)))
    count = sum(finding.warning for finding in found)
    print(f"{count} of {len(found)} lines are marked ! for a look.")
    print(CAUTION)
    print("\n".join(lines(site.took)))
    return 0


def line(finding: Finding) -> str:
    """Return a finding as one line, marked when it is out of good practice."""
    note = f"  ({finding.note})" if finding.note else ""
    return f"{'!' if finding.warning else ' '} {finding.label}: {finding.value}{note}"
