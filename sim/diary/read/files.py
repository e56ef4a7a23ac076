"""Any file of readings or acts, by its looks: a table, a logger's export, a sensor service's JSON."""

from pathlib import Path

from sim.diary.read import logger, sensor, tables
from sim.diary.read.tables import Rows
from sim.scenario.scenario import Scenario


def rows_of(path: Path, scenario: Scenario, observed: str = "", unit: str = "") -> Rows:
    """Read a file, whatever its form.

    Parameters
    ----------
    observed, unit : str
        What a service's JSON is of, where it does not say so itself.

    Raises
    ------
    InputError
        One line: file, place, what was read, what is wanted.
    """
    if path.suffix.casefold() == ".json":
        return Rows(tuple(sensor.rows_of(path, observed, unit)))
    if scenario.logger is not None:
        text = logger.text_of_export(path)
        if logger.is_export(text, scenario.logger):
            return Rows(tuple(logger.rows_of(path, text, scenario, scenario.logger)))
    return tables.rows_of(path, scenario)
