"""Cost against days below the dose target as a small drawing of its own, which a printed page can hold."""

from html import escape

from sim.study.compare.comparison import Comparison
from sim.study.wording import given, number

WIDTH, HEIGHT, LEFT, BELOW, ABOVE = 640.0, 250.0, 50.0, 46.0, 30.0
LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"


def trade_off_svg(comparison: Comparison, currency: str) -> str:
    """Return a mark with its bounds for each policy, the limit as a dashed line, names below."""
    items, limit = comparison.summaries, comparison.limit_days_below_target
    costs = [item.cost.estimate for item in items]
    days = [item.days_below_target.estimate for item in items]
    most_cost = 1.1 * max([*costs, 1.0])
    most_days = 1.15 * max([limit, 1.0, *(day for day in days if day < 6 * max(limit, 1.0))])
    room = WIDTH - LEFT - 16.0

    def across(cost: float) -> float:
        return LEFT + room * cost / most_cost

    def down(count: float) -> float:
        return HEIGHT - BELOW - (HEIGHT - BELOW - ABOVE) * min(count, most_days) / most_days

    parts = [
        _line(LEFT, HEIGHT - BELOW, WIDTH - 16.0, HEIGHT - BELOW),
        _line(LEFT, ABOVE, LEFT, HEIGHT - BELOW),
    ]
    parts += [_line(LEFT, down(limit), WIDTH - 16.0, down(limit), "5 4")]
    parts += [_text(WIDTH - 18.0, down(limit) - 4.0, f"limit {given(limit)}", "end")]
    for share in (0.0, 0.5, 1.0):
        parts += [
            _text(across(share * most_cost), HEIGHT - BELOW + 16.0, number(share * most_cost), "middle")
        ]
        parts += [_text(LEFT - 6.0, down(share * most_days) + 4.0, number(share * most_days), "end")]
    parts += [_text(LEFT + room / 2, HEIGHT - 10.0, f"cost, {escape(currency)} a year", "middle")]
    parts += [_text(6.0, 14.0, "bad days a year", "start")]
    for letter, item in zip(LETTERS, items, strict=False):
        at, height = across(item.cost.estimate), down(item.days_below_target.estimate)
        if item.cost.known:
            parts.append(
                _line(across(max(0.0, item.cost.low)), height, across(min(most_cost, item.cost.high)), height)
            )
        parts.append(f'<circle cx="{at:.1f}" cy="{height:.1f}" r="8" class="mark"/>')
        parts.append(_text(at, height + 4.0, letter, "middle", "letter"))
    alt = trade_off_words(comparison, currency)
    return (
        f'<svg viewBox="0 0 {WIDTH:.0f} {HEIGHT:.0f}" role="img" aria-label="{escape(alt)}" '
        f'xmlns="http://www.w3.org/2000/svg">{"".join(parts)}</svg><p class="key">{escape(alt)}</p>'
    )


def trade_off_words(comparison: Comparison, currency: str) -> str:
    """Return the same in words."""
    said = [
        f"{letter} {item.policy}: {number(item.cost.estimate)} {currency}, "
        f"{number(item.days_below_target.estimate)} bad days"
        for letter, item in zip(LETTERS, comparison.summaries, strict=False)
    ]
    return f"{'; '.join(said)}. A mark at the upper edge lies beyond it."


def _line(left: float, top: float, right: float, bottom: float, dash: str = "") -> str:
    dashed = f' stroke-dasharray="{dash}"' if dash else ""
    return f'<line x1="{left:.1f}" y1="{top:.1f}" x2="{right:.1f}" y2="{bottom:.1f}" class="axis"{dashed}/>'


def _text(left: float, top: float, words: str, anchor: str, kind: str = "word") -> str:
    return f'<text x="{left:.1f}" y="{top:.1f}" text-anchor="{anchor}" class="{kind}">{words}</text>'
