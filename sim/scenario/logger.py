"""How a data logger of the site names its columns."""

from pydantic import Field, model_validator

from sim.scenario.values.quantity import Flow, Label, Part, positive


class LoggerColumn(Part):
    """One column of a logger's export, and what it holds."""

    column: Label
    observed_property: Label  # as in a table of readings; also "flow" and "pressure"
    unit: str = Field(default="", max_length=20)


class Logger(Part):
    """A logger's export: its time, its columns, and the flows at which drops count."""

    time_column: Label
    time_format: str | None = Field(default=None, max_length=60)  # strptime pattern; ISO 8601 when absent
    separator: str = Field(default=",", min_length=1, max_length=1)
    steady_from_m3_s: Flow = positive("steady_from", default="3 gpm", validate_default=True)
    steady_to_m3_s: Flow = positive("steady_to", default="7 gpm", validate_default=True)
    columns: tuple[LoggerColumn, ...] = Field(alias="column", min_length=1)

    @model_validator(mode="after")
    def _ordered(self) -> "Logger":
        if self.steady_from_m3_s >= self.steady_to_m3_s:
            raise ValueError("steady_from is not below steady_to; wanted steady_from < steady_to")
        return self
