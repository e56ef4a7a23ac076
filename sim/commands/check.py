"""`check`: what a site comes to on paper, and what is out of good practice."""

import argparse

from sim.commands.inputs import read
from sim.scenario.values.ranges import believed, outside
from sim.study.caution import CAUTION
from sim.study.check.site_check import Finding, figures


def check(options: argparse.Namespace) -> int:
    """Print the design figures of a site."""
    inputs = read(options)
    beyond = outside(inputs.scenario, inputs.rain)
    found = figures(inputs.scenario, options.units, inputs.rain)
    found += [Finding("extrapolated", key, believed(key), warning=True) for key in beyond]
    print(f"{inputs.scenario.name}: {inputs.scenario.summary}")
    print("\n".join(map(line, found)))
    count = sum(finding.warning for finding in found)
    print(f"{count} of {len(found)} lines are marked ! for a look.")
    print(CAUTION)
    return 0


def line(finding: Finding) -> str:
    """Return a finding as one line, marked when it is out of good practice."""
    note = f"  ({finding.note})" if finding.note else ""
    return f"{'!' if finding.warning else ' '} {finding.label}: {finding.value}{note}"
