"""Where an axis ends when a few values lie so far out that all others would be squeezed to nothing."""

from collections.abc import Sequence

FAR = 4.0  # times the next: beyond it the rest is not seen any more
ROOM = 1.2  # of the axis, times what is seen on it last
BEYOND = "goes on beyond the edge"


def edge_of(values: Sequence[float]) -> float | None:
    """Return where an axis from 0 is to end, None when all values can be seen on one.

    Examples
    --------
    >>> edge_of([5.0, 8.0, 6.0, 3600.0]), edge_of([5.0, 8.0, 6.0, 20.0]), edge_of([5.0, 3600.0])
    (9.6, None, None)
    """
    order = sorted(values)
    for at in range(max(1, (len(order) - 1) // 2), len(order) - 1):
        if 0 < FAR * order[at] < order[at + 1]:
            return ROOM * order[at]
    return None


def placed(marks: Sequence[tuple[float, float]], label: float = 0.06, mark: float = 0.05) -> list[str]:
    """Return where the letter of each mark stands, so that letters cover neither marks nor each other."""
    taken = [(x, y, mark) for x, y in marks]
    found = []
    for x, y in marks:
        free = [
            name
            for name, (right, up) in _SIDES.items()
            if not any(
                abs(x + right * label - other_x) < (label + size) / 2
                and abs(y + up * label - other_y) < (label + size) / 2
                for other_x, other_y, size in taken
            )
            and -0.02 <= x + right * label <= 1.02
            and 0.0 <= y + up * label <= 1.05
        ]
        found.append(free[0] if free else next(iter(_SIDES)))
        right, up = _SIDES[found[-1]]
        taken.append((x + right * label, y + up * label, label))
    return found


_SIDES = {
    "top right": (0.8, 0.9), "top left": (-0.8, 0.9), "top center": (0.0, 1.1), "middle right": (1.1, 0.0),
    "middle left": (-1.1, 0.0), "bottom right": (0.8, -0.9), "bottom left": (-0.8, -0.9),
    "bottom center": (0.0, -1.1),
}  # fmt: skip
