"""What no sentence, table or page may say, whatever the numbers behind it."""

import math
import re

FAULTS = {
    "a minus before a zero": r"(?<![\w.])-0(?:\.0+)?(?![\d.]*[1-9])(?!\d*-\d)\b",
    "a negative more, less or fewer": (
        r"(?<![\w.])-\d[\d,.]*(?: \(.*?\)| ± [\d,.]+)?(?: \w+(?: a year)?)? (?:more|less|fewer)\b"
    ),
    "more or less by nothing": r"(?<![\d.,])0(?:\.0+)?(?: \w+(?: a year)?)? (?:more|less|fewer)\b",
    "a number without end": r"\d\.\d{5,}",
    "an exponent": r"\d[eE][+-]?\d",
    "what is no number": r"\b(?:nan|inf|None)\b",
    "one of many": (
        r"(?<![\d.,])1 (?:days|runs|years|months|visits|hours|policies|ways|designs|rounds|changes)\b"
    ),
    "many of one": r"(?<![\d.,])(?:0|[2-9]|\d\d+) (?:day|run|year|month|visit|policy|design|round|change)\b",
    "two blanks, or two stops": r"(?<=\w)  (?=\w)|\.\.(?!\.)",
    "words nobody at a tap would use": (
        r"upper bound|left out before cost|bore on|held against|root of (?:all )?chance|"
        r"cannot tell its cost from"
    ),
}
_PATTERNS = {
    name: re.compile(pattern, re.IGNORECASE if "words" in name else 0) for name, pattern in FAULTS.items()
}


def faults(text):
    """Return what is wrong with a text, each with the place."""
    return [
        f"{name}: {found[0]!r} in {text[max(0, found.start() - 60) : found.end() + 20]!r}"
        for name, pattern in _PATTERNS.items()
        for found in pattern.finditer(text)
    ]


def half_digit(value):
    """Return half of the last digit shown: two digits, three from 100 on, no more than hundredths."""
    size = abs(value)
    if size == 0:
        return 0.005
    place = math.floor(math.log10(size)) - (2 if size >= 100 else 1)
    return 0.5000001 * 10.0 ** max(place, -2)
