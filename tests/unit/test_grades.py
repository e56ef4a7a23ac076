"""The grade beside each number of a site: its own, that of its table, or that of what stands over it."""

from sim.scenario.values.grades import INVENTED, PRACTICE, base_grades, grade_in, graded

TEXT = """
[roof]  # [2] all of it
area = "230 m2"   # [A] measured [S]
coefficient = 0.85
[pump]  # invented
life = "12 yr"    # an opinion
head = "55 m"     # [M, abstract]
# common practice, no source
[[stage]]
name = "coarse"
rating = "20 um"
size = "4.5x10"   # [A]
[[stage]]
name = 'fine'
rating = "5 um"
[stage.bed]
mass = "2 kg"     # [S]
# [C] over a table that begins a kind of its own
[[policy]]
name = "by hand"
goal = {days = 5, hours = 2}
[[policy.rule]]
every = "30 d"
[[policy.rule]]
every = "60 d"    # [A]
[[policy]]
name = "other"
[[policy.rule]]
every = "90 d"    # [A]
[bare]
value = 1
"""
FOUND = {one.key: one for one in graded(TEXT)}


def grade(key):
    return FOUND[key].grade


def test_a_value_has_its_own_grade_before_that_of_its_table():
    assert (grade("roof.area"), grade("roof.coefficient")) == ("A", "2")
    assert FOUND["roof.area"].value == '"230 m2"' and FOUND["roof.area"].comment == "[A] measured [S]"
    assert (grade("pump.head"), grade("pump.life")) == ("M", INVENTED)


def test_entries_of_a_list_go_by_their_name_and_have_what_stands_over_the_first():
    assert grade("stage[coarse].rating") == PRACTICE and grade("stage[coarse].size") == "A"
    assert grade("stage[fine].rating") == PRACTICE
    assert "stage[1].rating" not in FOUND and "stage[2].rating" not in FOUND
    assert grade("stage[fine].bed.mass") == "S"


def test_lists_within_a_list_are_counted_anew_in_each_entry():
    assert grade("policy[by hand].rule[1].every") == "C" and grade("policy[by hand].rule[2].every") == "A"
    assert FOUND["policy[other].rule[1].every"].value == '"90 d"'
    assert "policy[other].rule[3].every" not in FOUND


def test_a_table_on_one_line_has_a_grade_for_each_of_its_values():
    assert (FOUND["policy[by hand].goal.days"].value, grade("policy[by hand].goal.hours")) == ("5", "C")
    assert "policy[by hand].goal" not in FOUND


def test_what_nothing_grades_has_none():
    assert (grade("bare.value"), FOUND["bare.value"].comment) == ("", "")
    assert grade_in("nothing [x] here") == "" and grade_in("invented, [A]") == INVENTED


def test_rules_that_a_policy_includes_have_their_grades_under_the_policy():
    base = base_grades()
    included = [key for key in base if key.startswith("policy[") and ".rule[" in key]
    assert included and all(base[key].key == key for key in included)
    assert base["pressure_switch.cut_in"].grade == PRACTICE
    assert base["roof.area"].value == '"230 m2"'
