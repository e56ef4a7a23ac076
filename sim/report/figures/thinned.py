"""Fewer points, every peak."""

import numpy as np

MOST_POINTS = 4000


def thinned(x: np.ndarray, y: np.ndarray, most: int = MOST_POINTS) -> tuple[np.ndarray, np.ndarray]:
    """Return fewer points that keep every peak: the least and the greatest of each stretch.

    Parameters
    ----------
    most : int
        Most points wanted, >= 2.
    """
    if len(x) <= most:
        return x, y
    kept: list[int] = []
    for part in np.array_split(np.arange(len(x)), most // 2):
        values = y[part]
        if np.isnan(values).all():
            kept.append(int(part[0]))
            continue
        kept += sorted({int(part[np.nanargmin(values)]), int(part[np.nanargmax(values)])})
    return x[kept], y[kept]
