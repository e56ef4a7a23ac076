"""The report of an answer, whatever was asked."""

from importlib import import_module
from typing import Any

from sim.study.question import Question
from sim.units import Units

REPORTS = {  # kind of question, module that fills its page; loaded when wanted, as figures take a second
    "compare": "sim.report.html.comparison_report",
    "skip": "sim.report.html.handout",
    "size": "sim.report.html.size_report",
    "tune": "sim.report.html.tune_report",
    "sheet": "sim.report.html.design_sheet",
    "visits": "sim.report.html.visit_sheets",
}


def report(question: Question[Any], answer: Any, units: Units, *more: Any) -> bytes:
    """Return the report of an answer as one HTML file."""
    page: str = import_module(REPORTS[question.kind]).build(question, answer, units, *more)
    return page.encode()
