"""The one way a page that is kept or printed is filled."""

import re
from pathlib import Path
from typing import Any

from jinja2 import Environment, FileSystemLoader, StrictUndefined

_END = re.compile(r"(?<=\.) (?=[A-Z'])")


def sentences(text: str) -> list[str]:
    """Return the sentences of an answer, for a list under the first of them.

    Parameters
    ----------
    text : str
        Sentences, each with a capital or a name in quotation marks at its beginning.

    Returns
    -------
    list of str
        In order; joined by spaces they are the text.

    Examples
    --------
    >>> sentences("It costs 1.75 a year. 'as things fail' costs more.")
    ['It costs 1.75 a year.', "'as things fail' costs more."]
    """
    return _END.split(text)


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
