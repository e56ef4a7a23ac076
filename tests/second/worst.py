"""Write the worst difference of every quantity as CSV: python -m tests.second.worst [cases] [days]."""

import csv
import sys

from tests.second.apart import BARS, apart, case_of


def main(cases=50, days=7):
    """Compare so many random houses for so many days."""
    worst = [(0.0, 0)] * len(BARS)
    for seed in range(1, cases + 1):
        found, _ = apart(case_of(seed, days))
        worst = [max(old, (new, seed)) for old, new in zip(worst, found, strict=True)]
        print(seed, *(f"{x:.2g}" for x in found), file=sys.stderr, flush=True)
    rows = csv.writer(sys.stdout, lineterminator="\n")
    rows.writerow(("quantity", "unit", "limit", "worst", "case", "cases", "days"))
    for bar, (value, seed) in zip(BARS, worst, strict=True):
        rows.writerow((bar.name, bar.unit, f"{bar.limit:g}", f"{value:.2g}", seed, cases, days))


if __name__ == "__main__":
    main(*(int(word) for word in sys.argv[1:]))
