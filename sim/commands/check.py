"""`check`: how a site stands to the criteria of a design, and what it comes to on paper."""

import argparse
import json
import math
from dataclasses import asdict
from typing import Any

from sim.commands.inputs import site_of
from sim.scenario.read import load
from sim.study.caution import CAUTION
from sim.study.check.criteria import failed
from sim.study.check.criterion import FAIL, PASS, Judged
from sim.study.check.finding import Finding
from sim.study.check.question import CheckAnswer, CheckQuestion
from sim.study.questions import ask
from sim.study.taken import lines, own_summary
from sim.units import Units, text

DONE, FAILS = 0, 3  # exit codes


def check(options: argparse.Namespace) -> int:
    """Print how a site stands to each criterion, and its figures; 3 when a criterion fails."""
    site = site_of(options)
    answer = ask(CheckQuestion(site=site, units=options.units))
    if options.json:
        print(json.dumps(as_plain(site.scenario.name, answer), indent=1, ensure_ascii=False, allow_nan=False))
    else:
        summary = own_summary(site.scenario, (options.site or load.DEMO) in load.built_in())
        _print(": ".join(filter(None, (site.scenario.name, summary))), answer, options.units)
    if not options.json:
        print("\n".join(lines(site.took)))
    return FAILS if failed(answer.criteria) else DONE


def as_plain(site: str, answer: CheckAnswer) -> dict[str, Any]:
    """Return an answer as plain values, numbers in SI."""
    plain = {
        "site": site,
        "caution": CAUTION,
        "verdict": answer.verdict,
        "design_flow": answer.design_flow,
        "peaks": [asdict(one) for one in answer.peaks],
        "criteria": [asdict(one.rule) | asdict(one) for one in answer.criteria],
        "figures": [asdict(one) for one in answer.findings],
    }
    finite: dict[str, Any] = _finite(plain)
    return finite


def line(finding: Finding) -> str:
    """Return a finding as one line, marked when it is out of good practice."""
    note = f"  ({finding.note})" if finding.note else ""
    return f"{'!' if finding.warning else ' '} {finding.label}: {finding.value}{note}"


def criterion_line(found: Judged) -> str:
    """Return how a site stands to a criterion as one line, marked when it does not pass."""
    mark = {PASS: " ", FAIL: "!"}.get(found.state, "?")
    said = "; ".join(filter(None, (found.said, found.wanted if found.value is not None else "", found.note)))
    return f"{mark} {found.rule.number:2} {found.state:9}  {found.label}: {said or found.wanted}"


def _print(title: str, answer: CheckAnswer, units: Units) -> None:
    print(title)
    print(CAUTION)
    print(f"Design flow: {answer.design_flow}. Peaks beside it:")
    for peak in answer.peaks:
        flow = "not known" if peak.flow_m3_s is None else text(peak.flow_m3_s, "flow", units)
        print(f"    {peak.name}: {flow}  ({peak.note})")
    print("Criteria; ! fails, ? is not known, which is no pass:")
    print("\n".join(map(criterion_line, answer.criteria)))
    print(answer.verdict)
    print("Figures beside them:")
    print("\n".join(map(line, answer.findings)))
    count = sum(finding.warning for finding in answer.findings)
    print(f"{count} of {len(answer.findings)} figures are marked ! for a look.")


def _finite(value: Any) -> Any:
    """Return plain values with None for what has no end, which JSON cannot hold."""
    if isinstance(value, dict):
        return {key: _finite(item) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [_finite(item) for item in value]
    return None if isinstance(value, float) and not math.isfinite(value) else value
