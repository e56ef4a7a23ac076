"""How is this house looked after? Its policies and their rules, for changing."""

from collections.abc import Callable, Mapping
from functools import partial

import streamlit as st

from dashboard.change import draft, form
from dashboard.change.changes import applied, policies_of
from dashboard.change.fields import Value, field_at
from dashboard.change.rule_edits import (
    POLICY_KEYS,
    SIGNAL_WORDS,
    SIGNALS,
    WHEN_WORDS,
    Table,
    Ways,
    fitted,
    rule_line,
    signal_of,
    ways_of,
    with_rules,
)
from dashboard.words import caution, plain
from sim.scenario.care import Policy, Rule
from sim.units import Units

WORDS = {
    "reading_every": "Gauges and UV reading are read every (blank: never)",
    "technician_every": "A technician comes every (blank: not by the calendar)",
    "bundle": "On a visit, tasks due within this time are done too",
    "heeds_alarm": "Someone acts on the UV alarm and on taps that run dry",
}
NEW_RULE: Table = {"when": "calendar", "every": "6 month"}


def page() -> None:
    """Show the policies of the house, one of them open for changing."""
    st.title("How is this house looked after?")
    caution()
    found = draft.current()
    tables = applied(found.chosen.tables, found.changes)
    policies = policies_of(tables)
    if st.session_state.get("care") not in policies:
        st.session_state["care"] = next(iter(policies))
    name = st.selectbox("Way of looking after it", list(policies), key="care", bind="query-params")
    policy = policies[name or next(iter(policies))]
    _whole(found, policy, list(policies))
    st.header("What is done, and when")
    rules: list[Table] = policy.get("rule", [])
    if rules:
        lines = [rule_line(rule, found.units) for rule in rules]
        st.markdown(
            "\n".join(f"{n}. {plain(said[:1].upper() + said[1:])}" for n, said in enumerate(lines, 1))
        )
    else:
        st.caption("Nothing is done.")
    _rule(found, policy, [stage["name"] for stage in tables.get("stage", [])], ways_of(tables["task"]))


def _whole(found: draft.Draft, policy: Table, names: list[str]) -> None:
    """Ask for what belongs to the policy as a whole; offer a copy and its removal."""
    own = policies_of(found.chosen.tables).get(policy["name"], policy)
    for key in POLICY_KEYS:
        field = field_at((key,), Policy)
        value = policy.get(key, field.default)
        form.ask(
            field, WORDS[key], value, own.get(key, field.default), found.units, f"policy-{key}",
            partial(_set, found, policy, key),
        )  # fmt: skip
    with st.expander("Copy or remove this way"):
        st.text_input("Name of the copy", key="copy-name", max_chars=80)
        st.button("Copy it under this name", key="copy", on_click=_copy, args=(found, policy, names))
        st.button(
            "Remove this way", key="remove", disabled=len(names) < 2,
            on_click=lambda: draft.put(found.changes.with_policy(policy["name"], None)),
        )  # fmt: skip
    if said := st.session_state.pop("copy_refused", None):
        st.warning(said)


def _set(found: draft.Draft, policy: Table, key: str, typed: Value) -> None:
    changed = {name: value for name, value in policy.items() if name != key}
    if typed != "":
        changed[key] = typed
    draft.put(found.changes.with_policy(policy["name"], changed))


def _copy(found: draft.Draft, policy: Table, names: list[str]) -> None:
    name = " ".join(st.session_state["copy-name"].split())
    if not name or name in names:
        st.session_state["copy_refused"] = (
            "There is already a way of this name." if name else "The copy wants a name."
        )
        return
    draft.put(found.changes.with_policy(name, {**policy, "name": name}))
    st.session_state.update({"care": name, "copy-name": ""})
    if "policies" in st.session_state:  # chosen on the comparison page; a new way is meant to be seen there
        st.session_state["policies"] = [*st.session_state["policies"], name]


def _rule(found: draft.Draft, policy: Table, stages: list[str], tasks: dict[str, Ways]) -> None:
    """Ask for the parts of one rule."""
    rules: list[Table] = policy.get("rule", [])

    def put(number: int, rule: Table | None) -> None:
        kept = [*rules[:number], *([] if rule is None else [rule]), *rules[number + 1 :]]
        draft.put(found.changes.with_policy(policy["name"], with_rules(policy, kept)))

    def add() -> None:
        put(len(rules), fitted({"task": _first(tasks), **NEW_RULE}, stages, tasks))
        st.session_state["rule"] = len(rules)

    if rules:
        with st.container(border=True):
            number = _which(rules, found.units)
            _parts(
                rules[number], stages, tasks, found.units,
                lambda rule: put(number, fitted(rule, stages, tasks)),
            )  # fmt: skip
            st.button("Remove this rule", key="remove-rule", on_click=put, args=(number, None))
    st.button("Add a rule", key="add-rule", on_click=add)


def _first(tasks: dict[str, Ways]) -> str:
    """Return the task a new rule begins with: one that is on no stage where there is one."""
    return next((name for name, ways in tasks.items() if not ways.on_stage), next(iter(tasks)))


def _which(rules: list[Table], units: Units) -> int:
    last = len(rules) - 1
    st.session_state["rule"] = min(int(st.session_state.get("rule", 0)), last)
    return int(
        st.selectbox(
            "Rule to change", range(len(rules)), key="rule",
            format_func=lambda n: f"{n + 1}. {rule_line(rules[n], units)}" if n <= last else "",
        )
    )  # fmt: skip


def _parts(
    rule: Table, stages: list[str], tasks: dict[str, Ways], units: Units, keep: Callable[[Table], None]
) -> None:
    def one(key: str, words: str) -> None:
        field = field_at((key,), Rule)
        value = rule.get(key, field.default)
        form.ask(field, words, value, value, units, f"rule-{key}", lambda typed: keep({**rule, key: typed}))

    ways = tasks[rule["task"]]
    _pick("Task", list(tasks), rule["task"], "rule-task", lambda name: keep({**rule, "task": name}))
    if ways.on_stage:
        _pick("Stage", stages, rule["stage"], "rule-stage", lambda name: keep({**rule, "stage": name}))
    _pick(
        "When",
        list(ways.whens),
        rule["when"],
        "rule-when",
        lambda name: keep({**rule, "when": name}),
        WHEN_WORDS,
    )
    signal = signal_of(rule)
    if rule["when"] == "calendar":
        one("every", "Every")
    elif signal is not None:
        others = {key: value for key, value in rule.items() if key != signal}
        _pick(
            "Reading it goes by", list(ways.readings), signal, "rule-signal",
            lambda name: keep({**others, name: SIGNALS[name]}), SIGNAL_WORDS,
        )  # fmt: skip
        one(signal, SIGNAL_WORDS[signal].capitalize())
    one("by", "Who does it")


def _pick(
    words: str, names: list[str], chosen: str, key: str, keep: Callable[[str], None],
    said: Mapping[str, str] | None = None,
) -> None:  # fmt: skip
    st.session_state[key] = chosen if chosen in names else names[0]
    st.selectbox(
        words, names, key=key, format_func=lambda name: (said or {}).get(name, name),
        on_change=lambda: keep(st.session_state[key]),
    )  # fmt: skip


page()
