"""The one way a page that is kept or printed is filled."""

from pathlib import Path
from typing import Any

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup

from sim.study.caution import CAUTION, ON_ALARM


def filled(name: str, **values: Any) -> str:
    """Return a template of this folder with its values; the caution and what figures need are there."""
    environment = Environment(
        loader=FileSystemLoader(Path(__file__).parent),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.globals |= {"caution": CAUTION, "on_alarm": ON_ALARM, "scheme": _scheme, "plotly": _plotly}
    return environment.get_template(name).render(**values)


def _scheme() -> Markup:
    from sim.report.figures.style import scheme_css  # noqa: PLC0415  takes a second to load; sheets need none

    return Markup(scheme_css())


def _plotly() -> Markup:
    from plotly.offline import get_plotlyjs  # noqa: PLC0415  as above

    # A closing tag inside the library would end the script early.
    return Markup(get_plotlyjs().replace("</script", "<\\/script"))
