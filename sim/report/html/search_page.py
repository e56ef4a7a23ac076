"""The page of a search, of sizes or of intervals: one HTML file that needs nothing else, the answer first."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from markupsafe import Markup
from plotly.offline import get_plotlyjs

from sim.report.figures.style import scheme_css
from sim.report.html.template import filled
from sim.study.caution import CAUTION


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
    """Fill the page."""
    return filled(
        "search.html.j2",
        title=title,
        answer=sentences,
        caution=CAUTION,
        basis=basis,
        scheme=Markup(scheme_css()),
        sections=sections,
        manifest=[(key.replace("_", " "), _said(value)) for key, value in manifest.items()],
        # A closing tag inside the library would end the script early.
        plotly=Markup(get_plotlyjs().replace("</script", "<\\/script")),
    )


def _said(value: Any) -> str:
    if isinstance(value, Mapping):
        return ", ".join(f"{name} {_said(item)}" for name, item in value.items())
    return ", ".join(map(str, value)) if isinstance(value, list) else str(value)
