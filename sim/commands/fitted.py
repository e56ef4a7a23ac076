"""A table that is laid in pieces where the screen is too narrow for it."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from rich import box
from rich.console import Console, ConsoleOptions
from rich.markup import escape
from rich.measure import Measurement
from rich.table import Column, Table

_LOOK: dict[str, Any] = {
    "title_justify": "left", "box": box.SIMPLE_HEAD, "pad_edge": False, "collapse_padding": True,
}  # fmt: skip


def words(heading: str, least: int = 8, most: int | None = None) -> Column:
    """Return a column of words, which are folded where room is short.

    Parameters
    ----------
    least : int
        Characters it keeps at least.
    most : int, optional
        Characters it takes at most.
    """
    return Column(escape(heading), overflow="fold", min_width=least, max_width=most)


def figures(heading: str) -> Column:
    """Return a column of numbers, which are not folded: they would be read as others."""
    return Column(escape(heading), justify="right", no_wrap=True)


@dataclass(frozen=True)
class Fitted:
    """A table; columns that the screen has no room for stand below, again beside the first one."""

    title: str
    columns: Sequence[Column]  # the first says what a row is about
    rows: Sequence[Sequence[str]]  # plain text, a cell a column

    def __rich_console__(self, console: Console, options: ConsoleOptions) -> Iterator[Table]:
        """Yield the pieces, as many columns in each as there is room for."""
        title: str | None = escape(self.title)
        for chosen in self._pieces(console, options):
            columns = [self.columns[at].copy() for at in chosen]
            # Two columns may be too wide for a very narrow screen; folded by words they can still be read.
            if self._least(chosen, console, options) > options.max_width:
                for column in columns:
                    column.no_wrap, column.overflow, column.min_width = False, "fold", None
            made = self._table(chosen, columns)
            made.title, title = title, None
            yield made

    def _pieces(self, console: Console, options: ConsoleOptions) -> list[list[int]]:
        found = [[0]]
        for at in range(1, len(self.columns)):
            wider = [*found[-1], at]
            if len(found[-1]) > 1 and self._least(wider, console, options) > options.max_width:
                found.append([0, at])
            else:
                found[-1] = wider
        return found

    def _least(self, chosen: Sequence[int], console: Console, options: ConsoleOptions) -> int:
        """Return the width of some columns with words folded as far as they may be."""
        columns = [self.columns[at].copy() for at in chosen]
        for column in columns:
            column.width = None if column.no_wrap else column.min_width
        unbounded = options.update(max_width=10_000)
        return Measurement.get(console, unbounded, self._table(chosen, columns)).maximum

    def _table(self, chosen: Sequence[int], columns: Sequence[Column]) -> Table:
        made = Table(*columns, **_LOOK)
        for row in self.rows:
            made.add_row(*(escape(row[at]) for at in chosen))
        return made
