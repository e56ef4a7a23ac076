"""How does this design stand to the criteria, before anything is run?"""

from datetime import date
from functools import partial

import pandas as pd
import streamlit as st
from streamlit.delta_generator import DeltaGenerator

from dashboard import asking, frame, keep, quotations
from dashboard.jobs.job_table import Job
from dashboard.site import Site
from dashboard.words import answered
from sim.report.reports import report
from sim.study.check.criteria import failing_lines
from sim.study.check.question import CheckAnswer, CheckQuestion
from sim.study.check.tables import criteria_frame, figure_frame, peak_frame
from sim.study.sheet.question import SheetQuestion

YEARS = 3


def _ask(site: Site) -> CheckQuestion:
    return CheckQuestion(site=site.asked, units=frame.units())


def _show(site: Site, question: CheckQuestion, job: Job, first: DeltaGenerator) -> None:
    answer: CheckAnswer = job.result
    with first:
        answered([answer.verdict, f"Design flow: {answer.design_flow}.", *failing_lines(answer.criteria)])
    st.header("Criteria")
    _table(criteria_frame(answer.criteria), "criteria")
    st.header("Peak flow, counted in other ways")
    _table(peak_frame(answer.peaks, frame.units()), "peaks")
    st.header("Other figures")
    _table(figure_frame(answer.findings), "figures")
    _quotations(site)
    _sheet(site)
    keep.show(site, question, answer)


def _quotations(site: Site) -> None:
    """Hold quoted items, each by itself in this house, against the criteria."""
    st.header("Your quotations")
    st.caption(
        "Each item takes the place of the house's own part, all else as it is. What its sheet does not say "
        "is no pass. The command size chooses among them (--quotes FILE)."
    )
    found = quotations.ask(site)
    if found is not None:
        _table(found, "quotations")


def _sheet(site: Site) -> None:
    """Offer the sheet to print and sign; its runs are made when it is wished for."""
    st.header("The design sheet")
    question = SheetQuestion(site=site.asked, years=YEARS, start=date.today(), units=frame.units())
    asking.button("Make the design sheet", "go-sheet")
    before = f"Two to four pages to print and to sign, after {question.replications} runs of {YEARS} years."
    job = asking.answered(question, "Runs for the sheet", "The sheet was not made:", "go-sheet", before)
    if job is not None:
        made = partial(report, question, job.result, frame.units())
        keep.download("The design sheet (HTML)", made, "sheet.html", "text/html", "get-sheet")


def _table(table: pd.DataFrame, name: str) -> None:
    st.dataframe(table, hide_index=True, key=f"table-{name}", alt=f"{len(table)} lines: {name}")
    keep.table_download("This table (CSV)", table, name, **keep.SMALL)


asking.page("How does this design stand on paper?", _ask, _show, "The check", "It could not be checked:")
