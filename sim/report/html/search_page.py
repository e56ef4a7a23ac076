"""The page of a search, of sizes or of intervals: one HTML file that needs nothing else, the answer first."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from markupsafe import Markup

from sim.report.html.comparison_report import manifest_lines
from sim.report.html.template import filled


@dataclass(frozen=True)
class Section:
    """A part of the page: sentences, a picture with its words, a table."""

    title: str
    lines: Sequence[str] = ()
    picture: Markup | None = None
    alt: str = ""
    headings: Sequence[str] = ()
    rows: Sequence[Sequence[str]] = field(default_factory=list)
    shows_dose: bool = False


def page(
    title: str, sentences: Sequence[str], basis: str, sections: Sequence[Section], manifest: Mapping[str, Any]
) -> str:
    """Fill the page; a section with nothing in it is left out."""
    kept = [section for section in sections if section.lines or section.rows or section.picture]
    return filled(
        "search.html.j2", title=title, answer=sentences, basis=basis, sections=kept,
        manifest=manifest_lines(manifest),
    )  # fmt: skip
