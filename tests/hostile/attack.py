"""Hostile input and what may come of it: a result, or one line that names the file.

Sites are damaged as tables (values of the wrong kind, size, sign or shape; what is missing, doubled or
unknown) and as text; series as text and bytes. `deadline` bounds each case by real timers.
"""

import copy
import json
import math
import signal
import tomllib
from contextlib import contextmanager
from datetime import date
from pathlib import Path

import hypothesis
from hypothesis import HealthCheck, Phase
from hypothesis import strategies as st

import scenarios
from sim.errors import InputError
from sim.scenario.read.merge import merged

SECONDS = 10  # of the clock a case may take
CPU_SECONDS = 60  # compiled code cannot be interrupted, only stopped with the process
LONGEST_LINE = 2_000  # characters a message may have: the longest list of known keys, and room

SITES = Path(scenarios.__file__).parent
QUICK = {"deadline": None, "database": None, "phases": [Phase.generate]}
QUICK["suppress_health_check"] = list(HealthCheck)
FULL = {**QUICK, "derandomize": True}


class Hang(BaseException):
    """A case took too long; no handler of the program may take it for something else."""


@contextmanager
def deadline(seconds=SECONDS):
    """Bound a case: an exception after some seconds of the clock, the process's end after more of work."""

    def ring(number, frame):
        raise Hang(f"more than {seconds} s")

    before = signal.signal(signal.SIGALRM, ring)
    signal.setitimer(signal.ITIMER_REAL, seconds)
    signal.setitimer(signal.ITIMER_VIRTUAL, CPU_SECONDS)  # its signal ends the process, whatever is running
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_VIRTUAL, 0)
        signal.setitimer(signal.ITIMER_REAL, 0)
        signal.signal(signal.SIGALRM, before)


def outcome(call, name):
    """Return what a call gives, or None when it refuses its input in one line that names the file."""
    with deadline():
        try:
            return call()
        except InputError as error:
            assert_one_line(str(error), name)
            return None


def many(cases, part, call, **drawn):
    """Try so many cases of a part of a long run, others for each part; return how many were tried."""
    tried = 0

    @hypothesis.seed(part)
    @hypothesis.settings(max_examples=cases, **QUICK)
    @hypothesis.given(**drawn)
    def one(**case):
        nonlocal tried
        tried += 1
        call(**case)

    one()
    return tried


def assert_one_line(said, name):
    """Hold a message to one printable line of bearable length that names what it is about."""
    assert said.isprintable(), said[:300]
    assert name in said, said[:300]
    assert len(said) <= LONGEST_LINE, (len(said), said[:300])


def whole(name):
    """Return the tables of a built-in site with all that it extends."""
    tables = tomllib.loads((SITES / f"{name}.toml").read_text(encoding="utf-8"))
    below = tables.pop("extends", None)
    return merged(whole(below), tables) if below else tables


def toml(value):
    """Write a value as inline TOML."""
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, str):
        return json.dumps(value).replace("\x7f", "\\u007f")
    if isinstance(value, float) and not math.isfinite(value):
        return "nan" if math.isnan(value) else ("inf" if value > 0 else "-inf")
    if isinstance(value, dict):
        return "{" + ", ".join(f"{toml(str(key))} = {toml(item)}" for key, item in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(map(toml, value)) + "]"
    return value.isoformat() if isinstance(value, date) else f"{value}"


def document(tables):
    """Write tables as a TOML file."""
    return "\n".join(f"{toml(str(key))} = {toml(value)}" for key, value in tables.items()) + "\n"


def places(value, here=()):
    """Walk through every key and list entry of nested tables."""
    items = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for key, item in items:
        yield (*here, key)
        yield from places(item, (*here, key))


def nested(depth):
    """Return a table in a table in a table."""
    value = {}
    for _ in range(depth):
        value = {"a": value}
    return value


TEXTS = [
    *(
        "",
        " ",
        "nan",
        "inf",
        "-",
        "1",
        "m3",
        "1e999 m3",
        "-1e999 psi",
        "1__0 m",
        "\u0663 m3",
        "\uff15 psi",
        "1 µm",
        "NaN psi",
    ),
    *(
        "0 s",
        "-1 s",
        "1e-300 s",
        "0 m",
        "1e300 m",
        "-5 C",
        "1e9 C",
        "-460 F",
        "1e308 yr",
        "5e-324 m2",
        "40 psi",
    ),
    *(
        "\x00",
        "a\nb",
        "\x1b[31m",
        "\u202e",
        "\ufeff",
        "é" * 40,
        "\U0001d518" * 9,
        "x" * 100_000,
        "9" * 5_000 + " m",
        "{}",
        "%s",
    ),
    *(
        "calendar",
        "reading",
        "failure",
        "sediment",
        "flat",
        "../x",
        "base",
        "[red]",
        "<script>",
        "a,b",
        '"',
        "'",
    ),
]
VALUES = st.one_of(
    st.sampled_from([0, -1, 1, 2, 10**6, -(10**6), 2**63, 10**30, 10**400, True, False, date(1, 1, 1)]),
    st.sampled_from(
        [0.0, -0.0, 1.0, math.nan, math.inf, -math.inf, 1e308, -1e308, 5e-324, 1e-12, 0.5, 0.999999]
    ),
    st.sampled_from([date(9999, 12, 31), date(9950, 1, 1), date(2024, 2, 29), date(1583, 1, 1)]),
    st.sampled_from(TEXTS),
    st.text(max_size=12),
    st.floats(),
    st.integers(),
    st.sampled_from([[], {}, [[]], [{}], {"a": 1}, [1, "a", {}], [{"name": "a"}, {"name": "a"}], [0] * 1000]),
)
KEYS = st.one_of(
    st.sampled_from(
        ["name", "drop", "extends", "", "a.b", "k" * 50_000, "é", "\n", "volume", "rule", "__class__"]
    ),
    st.text(max_size=8),
)
EXTREMES = st.sampled_from(
    [-1, 0, *(10.0**e for e in (-300, -30, -12, -9, -6, -4, -3, -2, -1, 1, 2, 3, 4, 6, 9, 12, 30, 300))]
)


@st.composite
def changes(draw, tables):
    """Draw one change of a nested table: where, what, with what."""
    where = draw(st.sampled_from(list(places(tables))))
    what = draw(st.sampled_from(["set", "set", "scale", "scale", "drop", "add", "rename", "double", "wrap"]))
    given = {"set": VALUES, "scale": EXTREMES, "add": st.tuples(KEYS, VALUES), "rename": KEYS}.get(
        what, st.none()
    )
    return where, what, draw(given)


def scaled(value, factor):
    """Return a number, or a number with its unit, times a factor; anything else as it was."""
    if isinstance(value, str):
        number, _, unit = value.partition(" ")
        try:
            return f"{float(number) * factor!r} {unit}"
        except ValueError:
            return value
    if isinstance(value, bool) or not isinstance(value, int | float):
        return value
    try:
        times = value * factor
        return int(times) if isinstance(value, int) and math.isfinite(times) else times
    except OverflowError:  # a whole number beyond all floats
        return value


def changed(tables, steps):
    """Return a copy of tables after some changes; those whose place is gone by then do nothing."""
    result = copy.deepcopy(tables)
    for where, what, given in steps:
        *path, last = where
        try:
            here = result
            for step in path:
                here = here[step]
            value = here[last]
        except (KeyError, IndexError, TypeError):
            continue
        if not isinstance(here, dict | list):
            continue  # a letter of a text that stands where an entry stood
        if what == "set":
            here[last] = copy.deepcopy(given)
        elif what == "scale":
            here[last] = scaled(value, given)
        elif what == "drop":
            del here[last]
        elif what == "add" and isinstance(value, dict):
            value[given[0]] = copy.deepcopy(given[1])
        elif what == "rename" and isinstance(here, dict):
            here[given] = here.pop(last)
        elif what == "double" and isinstance(here, list):
            here.append(copy.deepcopy(value))
        elif what == "wrap":
            here[last] = [value] if isinstance(last, str) else {"name": value}
    return result


FAMILY, COTTAGE, HALL = whole("family_house"), whole("cottage"), whole("training_hall")
BUILT_IN = {"family_house": FAMILY, "cottage": COTTAGE, "training_hall": HALL}


def damaged_tables(most=4):
    """Draw a built-in site with some changes, as the text of a file."""
    return st.one_of(
        *(
            st.lists(changes(tables), min_size=1, max_size=most).map(
                lambda steps, tables=tables: document(changed(tables, steps))
            )
            for tables in BUILT_IN.values()
        )
    )


def stretched_tables(most=3):
    """Draw a built-in site with some numbers made extreme, as the text of a file; many of them can be run."""

    @st.composite
    def stretch(draw, tables):
        numbers = [p for p in places(tables) if scaled(_at(tables, p), 2.0) != _at(tables, p)]
        chosen = draw(st.lists(st.sampled_from(numbers), min_size=1, max_size=most))
        steps = [(where, "scale", draw(EXTREMES)) for where in chosen]
        return document(changed(tables, steps))

    return st.one_of(*(stretch(tables) for tables in BUILT_IN.values()))


def _at(tables, where):
    for step in where:
        tables = tables[step]
    return tables


SNIPPETS = [
    *(
        "[",
        "]",
        "[[",
        "]]",
        "=",
        '"',
        "'",
        '"""',
        "'''",
        "\\",
        "#",
        "\n",
        "\r",
        "\r\n",
        "\t",
        "\x00",
        "\ufeff",
        "é",
    ),
    *(
        "[cistern]\n",
        "[[stage]]\n",
        "[[policy]]\n",
        "drop = true\n",
        'name = "x"\n',
        'extends = "base"\n',
        "years = 3\n",
    ),
    *(
        'extends = "me.toml"\n',
        'extends = "../me.toml"\n',
        'extends = "\\u0000"\n',
        f'extends = "{"x" * 5000}"\n',
    ),
    *(
        "x = " + "[" * 3000 + "\n",
        "x = " + "{a=" * 3000 + "\n",
        ".".join("a" * 4000) + " = 1\n",
        "a.b.c = 1\n",
    ),
    *(
        "x = 1979-05-27T07:32:00Z\n",
        "x = 07:32:00\n",
        "x = 0x7f\n",
        "x = 1e400\n",
        f"x = {'9' * 5000}\n",
        "x = -nan\n",
    ),
    *(
        '[rain]\nrecord = "none.csv"\n',
        '[rain]\nrecord = "\\u0000"\n',
        '[rain]\nclimate = "polar"\n',
        "start = 9999-12-31\n",
    ),
]


@st.composite
def edits(draw, snippets):
    """Draw one edit of a text: where (as shares of its length), what, with what."""
    share = st.floats(0, 1, allow_nan=False)
    what = draw(st.sampled_from(["insert", "insert", "cut", "double", "swap", "spoil", "end"]))
    return draw(share), draw(share), what, draw(st.one_of(st.sampled_from(snippets), st.text(max_size=6)))


def edited(text, steps):
    """Return a text after some edits."""
    for at, other, what, given in steps:
        i, j = sorted((int(at * len(text)), int(other * len(text))))
        lines = text.splitlines(keepends=True) or [""]
        k, m = int(at * (len(lines) - 1)), int(other * (len(lines) - 1))
        if what == "insert":
            text = text[:i] + given + text[i:]
        elif what == "cut":
            text = text[:i] + text[min(j, i + 40) :]
        elif what == "double":
            text = "".join([*lines[: k + 1], lines[k], *lines[k + 1 :]])
        elif what == "swap":
            lines[k], lines[m] = lines[m], lines[k]
            text = "".join(lines)
        elif what == "spoil":
            text = text[:i] + given + text[i + 1 :]
        else:
            text = text[: max(i, 1)]
    return text


def encoded(text, how):
    """Return a text as bytes the way some program might have left them."""
    if how == "cut short":
        return text.encode("utf-8", "surrogatepass")[:-1]
    if how == "nul":
        return text.encode("utf-8", "surrogatepass").replace(b"\n", b"\x00\n", 1)
    return text.encode(how, "surrogatepass" if how.startswith("utf") else "replace")


ENCODINGS = st.sampled_from(
    [
        *["utf-8"] * 12,
        "utf-8-sig",
        "utf-16",
        "utf-16-le",
        "utf-32",
        "latin-1",
        "cp1252",
        "utf-7",
        "cut short",
        "nul",
    ]
)


def damaged_text(text, snippets, most=4):
    """Draw a text after some edits, as bytes."""
    return st.builds(
        lambda steps, how: encoded(edited(text, steps), how),
        st.lists(edits(snippets), max_size=most),
        ENCODINGS,
    )
