"""Our equations under the names and in the units of the published cases, by parts of the house."""

from tests.published.equations import design, filters, light, parts, pressure, statistics, supply, use
from tests.published.equations.register import EQUATIONS

__all__ = ["EQUATIONS", "design", "filters", "light", "parts", "pressure", "statistics", "supply", "use"]
