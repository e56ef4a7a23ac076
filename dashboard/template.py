"""The one way a page that is kept or printed is filled."""

from pathlib import Path
from typing import Any

from jinja2 import Environment, FileSystemLoader, StrictUndefined


def filled(name: str, **values: Any) -> str:
    """Return a template of this folder with its values.

    Parameters
    ----------
    name : str
        File name of the template.
    **values : Any
        What it shows; a value it asks for and that is missing is an error, and all text is escaped.

    Returns
    -------
    str
        HTML.
    """
    environment = Environment(
        loader=FileSystemLoader(Path(__file__).parent),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    return environment.get_template(name).render(**values)
