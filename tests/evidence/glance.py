"""What each check asks for, and in a line what it found and whether it holds."""

import re
from collections import defaultdict

from tests.evidence.measure import of_this_code
from tests.mutation import rooms
from tests.mutation.choose import MOST_TESTS

# In the order of the page: what is asked, in few words.
ASKED = {
    "differential": "the plant written a second time with simpy and scipy, on 50 or more random scenarios of "
    "7 days: the same events; starts within 0.05 s; volume of a draw within 0.1 %; least pressure within 50 "
    "Pa; dose histogram within 0.2 %",
    "convergence": "halving the sub-step moves no figure by more than a tenth of its accuracy",
    "hand_over": "bringing clogging and alarm up every hour moves no mean beyond its accuracy; "
    "hours of alarm "
    "beyond that by half an hour an alarm at most, as an hourly look is late by that",
    "coverage": "95 % intervals cover 94 to 96 % on toys of known truth, 5,000 trials; 94 % or more where "
    "few runs had any day",
    "stopping": "a study that stops on the spread it has seen covers 94 to 96 % all the same "
    "where the skewness "
    "is 1 or less, and 93 % or more at a skewness of 2",
    "by_cause": "95 % intervals of bad days, of those between policies, of those people cause and of their "
    "share hold the mean of kept runs in 93 % of draws or more, at every built-in site, from 10 runs and "
    "from 40",
    "common_numbers": "shared weather, draws and failures make differences surer, as measured",
    "patterns": "patterns of whole houses at once, six or more of them independent: their law or number from "
    "outside, and no input set to meet it",
    "mutation": "90 % or more of the mutants of equations and measures are killed, 85 % of those of the "
    "other files",
    "hostile": "10,000 hostile inputs: no traceback, no hang over 10 s, no half-written file",
    "uncertain": "does the answer hold over what nobody measured?",
}
NO_MEANS = ("first alarms", "first alarm, half of them within", "runs of a year")
CLAIMED = ("mean of costs", "difference of costs", "mean of skewed")
BEYOND = ("a tail of twice", "spells longer")
MUTANTS_KILLED = 0.90
ALL_KILLED = 0.85
LEAST_HELD = 93.0  # % of draws
INDEPENDENT_WANTED = 6
# Patterns that inputs were set to meet, or whose source gives no number: they show that the
# parts fit together,
# and confirm nothing.
CALIBRATED = {
    "a sediment cartridge left alone is due in three to six months": "dirt capacity was set for it",
    "carbon changed by its readings lasts six to twelve months": "dirt capacity was set for it",
    "the uv reading is a saw tooth": "the growth of films was set for a fall to 60 %",
    "yearly consumables are of the size seen in the field": "it was looked at when policies were set",
    "people are a leading cause of bad days in a house that is kept": "its source gives no number",
}


def verdict(name: str, result: dict | None) -> str:
    """Return in a few words whether a bar is met."""
    if result is None:
        return "not yet run"
    if name == "mutation":
        held = (
            "holds"
            if result["figures"]["share killed, all mutants counted"] >= MUTANTS_KILLED
            else "**does not hold**"
        ) + _rooms_verdict()
    elif name == "uncertain":
        held = "no bar"
    elif name == "by_cause":
        short = [what for what, (least, _) in _held(result["figures"]).items() if least < LEAST_HELD]
        held = f"**does not hold** for {' and '.join(short)}" if short else "holds"
    elif name == "patterns" and not result["failed"] and len(_independent(result)) < INDEPENDENT_WANTED:
        held = f"**does not hold**: {len(_independent(result))} of {INDEPENDENT_WANTED} independent"
    else:
        failed = result["failed"]
        held = f"**does not hold**: {len(failed)} of {result['checks']}" if failed else "holds"
    return held if of_this_code(name, result) is not False else f"{held}; measured on other code"


def _rooms_verdict() -> str:
    """Return what samples of files that are no equations and measures say of the bar for all of `sim/`."""
    samples = rooms.kept()
    if not samples:
        return ""
    found = rooms.share(samples)
    if found.high < ALL_KILLED:
        return "; **does not hold** over the other files"
    return "" if found.low >= ALL_KILLED else "; over the other files it cannot be told"


def found(name: str, result: dict | None) -> str:
    """Return in one line what a check found."""
    return FOUND[name](result["figures"]) if result else ""


def _percents(values: list[str]) -> str:
    numbers = [float(value) for value in re.findall(r"([\d.]+) %", " ".join(values))]
    return f"{min(numbers):.1f} to {max(numbers):.1f} %"


def _differential(figures: dict) -> str:
    most = {name: str(value).split(" (")[0] for name, value in figures.items()}
    wrong = most["events that differ in kind, number or order"]
    volume, dose = (
        _share(most[name]) for name in ("volume of a draw", "volume in wrong bins of the dose histogram")
    )
    return (
        f"{most['random houses of 7 days']} houses: {wrong} events differ; starts within "
        f"{most['pump start']}, "
        f"draws {volume}, least pressure of a draw {most['least tap pressure of a draw']}, histogram {dose}"
    )


def _share(text: str) -> str:
    return f"{100 * float(text.split(maxsplit=1)[0]):.2g} %"


def _convergence(figures: dict) -> str:
    orders = [
        str(value).split(" (")[0] for name, value in figures.items() if name.startswith("observed order")
    ]
    return (
        f"{figures['figures of a run and year compared']} figures: the most moved by "
        f"{figures['most moved, of its accuracy'].replace(' (', ' of its accuracy (')}; observed order "
        f"{' and '.join(orders)} of 4"
    )


def _hand_over(figures: dict) -> str:
    told = {name: value for name, value in figures.items() if name not in NO_MEANS}
    return "; ".join(f"{name}: {value.split(', half')[0]}" for name, value in told.items())


def _coverage(figures: dict) -> str:
    claimed = [value for name, value in figures.items() if name.startswith(CLAIMED)]
    beyond = [value for name, value in figures.items() if name.startswith(BEYOND)]
    rest = [value for value in figures.values() if value not in (*claimed, *beyond)]
    return (
        f"{_percents(claimed)} where 95 is claimed, {_percents(rest)} where bounds are conservative; "
        f"{_percents(beyond)} for tails and spells no sample shows, as their docstrings say"
    )


def _stopping(figures: dict) -> str:
    usual = {name: value for name, value in figures.items() if "very" not in name}
    stopped, fixed, very = (
        _percents([re.findall(rf"{word} [\d.]+ %", value)[0] for value in which.values()])
        for word, which in (
            ("coverage", usual),
            ("number", usual),
            ("coverage", {name: value for name, value in figures.items() if "very" in name}),
        )
    )
    return (
        f"{stopped} (normal, skewed, heavy tails, three policies); as many runs of a fixed number {fixed}; "
        f"{very.split(' to ')[0]} % at a skewness of 2"
    )


def _held(figures: dict) -> dict[str, tuple[float, float]]:
    """Return the least and the greatest share [%] of draws that intervals of each kind held in."""
    shares = defaultdict(list)
    for value in figures.values():
        for what, low, high in re.findall(r"([\w ]+), \d+ runs: held in ([\d.]+) to ([\d.]+) %", value):
            shares[what.strip()] += [float(low), float(high)]
    return {what: (min(found), max(found)) for what, found in shares.items()}


def _by_cause(figures: dict) -> str:
    said = [
        f"{what}: held in {low:.0f} to {high:.0f} % of draws" for what, (low, high) in _held(figures).items()
    ]
    return "; ".join(said)


def _common(figures: dict) -> str:
    worth = [re.search(r"worth ([\d.]+)", str(value)) for value in figures.values()]
    numbers = [float(one[1]) for one in worth if one]
    return f"one pair of runs is worth {min(numbers):.1f} to {max(numbers):.1f} pairs of independent ones"


def _patterns(figures: dict) -> str:
    independent = _independent({"figures": figures})
    return (
        f"{len(figures)} at once; {len(independent)} independent ({'; '.join(independent)}); "
        f"{len(figures) - len(independent)} that inputs were set to meet or whose source gives no number"
    )


def told_apart(name: str) -> str:
    """Return why some patterns are not independent, as lines of a list."""
    reasons = CALIBRATED.items() if name == "patterns" else ()
    return "".join(f"\n- not independent: {one}: {why}" for one, why in reasons)


def _independent(result: dict) -> list[str]:
    return [name for name in result["figures"] if name not in CALIBRATED]


def _mutation(figures: dict) -> str:
    share, files = figures["share killed, all mutants counted"], figures["files"]
    return (
        f"{100 * share:.1f} % killed, of {figures['mutants']} in {files} files; its code is not kept with it"
        f". {by_rooms()}"
    )


def by_rooms() -> str:
    """Return what samples of the mutants of further files came to."""
    found = rooms.kept()
    if not found:
        return "No other file was tried"
    part = rooms.share(found)
    same = sum(one.is_of_this_code for one in found)
    return (
        f"Of {sum(one.mutants for one in found):,} in {len(found)} further files of `sim/`, some chosen and"
        f" most drawn at random, {100 * part.share:.0f} % killed ({100 * part.low:.0f} to"
        f" {100 * part.high:.0f}), by a sample of {sum(one.tried for one in found)}, each tried by up to"
        f" {MOST_TESTS} tests that run the line, within a minute, or by those of its room; {same} of these"
        " files are as they were tried"
    )


def rooms_told(name: str) -> str:
    """Return the samples by room, as lines of a list, for mutation alone."""
    by_room = defaultdict(list)
    for one in rooms.kept() if name == "mutation" else ():
        by_room[rooms.room(one.file)].append(one)
    return "".join(
        f"\n- `{room}`: {100 * rooms.share(found).share:.0f} % killed, by {sum(one.tried for one in found)}"
        f" mutants of {len(found)} files, {sum(one.explained for one in found)} survivors with a reason"
        for room, found in sorted(by_room.items())
    )


def _hostile(figures: dict) -> str:
    return ", ".join(f"{count} {name}" for name, count in figures.items())


def _uncertain(figures: dict) -> str:
    best = {name: value for name, value in figures.items() if name.endswith(" is best")}
    name = max(best, key=lambda one: float(best[one].split()[0]))
    return f"{name} in {best[name]}, of {figures['draws']} draws over {figures['inputs']} inputs"


FOUND = {
    "differential": _differential,
    "convergence": _convergence,
    "hand_over": _hand_over,
    "coverage": _coverage,
    "stopping": _stopping,
    "by_cause": _by_cause,
    "common_numbers": _common,
    "patterns": _patterns,
    "mutation": _mutation,
    "hostile": _hostile,
    "uncertain": _uncertain,
}
