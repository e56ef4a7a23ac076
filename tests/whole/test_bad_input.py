"""Bad input is refused in one line: the file, the key or line, what was read, what is wanted."""

import pytest

from sim.errors import InputError
from sim.scenario.catchment import RainSource
from sim.scenario.read.load import load, load_text
from sim.scenario.read.series import read_rain

HEAD = 'extends = "base"\nname = "x"\nsummary = "y"\n'
RULE = '[[policy]]\nname = "mine"\n[[policy.rule]]\n'

WATCHED = '[[policy]]\nname = "mine"\nreading_every = "14 d"\n[[policy.rule]]\n'
TASK = '[[task]]\nname = "mine"\nshuts_water = true\nunplugs_uv = true\nminutes = 5.0\n'
SLIP = (
    '[[slip]]\nname = "mine"\ndoes = "d"\nshows = "s"\nmend = "m"\nminutes = 5.0\n'
    'seen_by = { taps = "3 d" }\n'
)

SCENARIOS = [
    ('[cistern]\nvolume = "9 m3"\n', "t.toml: cistern.volume: is not a known key; ", "'capacity'"),
    ('[pump]\nshutof_head = "9 m"\n', "t.toml: pump.shutof_head: ", "did you mean 'shutoff_head'?"),
    ("yeers = 3\n", "t.toml: yeers: is not a known key; ", "did you mean 'years'?"),
    (
        '[cistern]\ncapacity = "40 psi"\n',
        "t.toml: cistern.capacity: read '40 psi', which is pressure; ",
        "volume",
    ),
    ("[cistern]\ncapacity = 40\n", "t.toml: cistern.capacity: read 40, which has no unit; ", '"20 gal"'),
    ('[cistern]\ncapacity = "-4 m3"\n', "t.toml: cistern.capacity: read '-4 m3'; ", "wanted above 0 m3"),
    ('[cistern]\ncapacity = "nan m3"\n', "t.toml: cistern.capacity: read 'nan m3'; ", "unit of volume"),
    ("[cistern]\nstart_fill = nan\n", "t.toml: cistern.start_fill: read nan; ", "finite"),
    (  # a limit is said in the unit it was overstepped in as well
        '[pressure_switch]\ncut_in = "40 bar"\n',
        "t.toml: pressure_switch.cut_in: read '40 bar'; ",
        "wanted at most 1e+06 Pa, which is 10 bar",
    ),
    (
        '[cistern]\nwater_mean = "12 F"\n',
        "t.toml: cistern.water_mean: read '12 F'; ",
        "wanted at least 0 C, which is 32 F",
    ),
    ('[house]\nlift = "1e9 m"\n', "t.toml: house.lift: read '1e9 m'; ", "wanted at most 100000 m"),
    ("[house]\npeople = nan\n", "t.toml: house.people: read nan; ", "finite"),
    ("[house]\npeople = -2\n", "t.toml: house.people: read -2; ", "wanted above 0"),
    ("[roof]\ncoefficient = 1.2\n", "t.toml: roof.coefficient: read 1.2; ", "wanted at most 1"),
    (
        '[cistern]\ncapacity = "1e999 m3"\n',
        "t.toml: cistern.capacity: read '1e999 m3', ",
        "not a finite number",
    ),
    (
        "[pump]\nvariable_speed = true\n",
        "t.toml: pump.variable_speed: is not a key: ",
        "a pump that holds its pressure is pump.speed",
    ),
    ('[chlorine]\ndose = "1 mg/L"\n', "t.toml: chlorine: is not a key: ", "chlorine dosing is not simulated"),
    (
        "[house]\ngravity_tank = 1\n",
        "t.toml: house.gravity_tank: ",
        "a header tank that a pump fills is not sim",
    ),
    ('[[uv]]\nrated_flow = "8 gpm"\n', "t.toml: uv: is a list; ", "two units alike are uv.units = 2"),
    ("years = 0\n", "t.toml: years: read 0; ", "at least 1"),
    ('start = "soon"\n', "t.toml: start: read 'soon'; ", "date"),
    (
        '[pressure_switch]\ncut_in = "60 psi"\n',
        "t.toml: pressure_switch: cut_in is not below cut_out; ",
        "wanted cut_in < cut_out",
    ),
    (
        '[pump]\nshutoff_head = "130 ft"\n',
        "t.toml: pump.shutoff_head: reaches 54.2 psi at the gauge with a low cistern and cannot reach ",
        "cut_out of 60.0 psi",
    ),
    ('[cistern]\nintake = "4 m"\n', "t.toml: cistern.intake: 4 m ", "3.15 m"),
    (
        RULE + 'task = "change cartridge"\nstage = "sedimnt"\nwhen = "failure"\n',
        "t.toml: policy[mine].rule[1].stage: no stage 'sedimnt'; did you mean 'sediment'? ",
        "known are 'sediment', 'carbon'",
    ),
    (
        '[[task]]\nname = "take sample"\ndrop = true\n',
        "t.toml: policy[by the calendar].rule[9].task: no [[task]] 'take sample'; ",
        "'clean cistern'",
    ),
    (
        '[[spare]]\npart = "lamp"\ndrop = true\n',
        "t.toml: task[replace lamp].part: no [[spare]] for 'lamp'; ",
        "'pump'",
    ),
    (
        RULE + 'task = "repair pump"\nwhen = "failure"\n',
        "t.toml: policy[mine].rule[1].by: 'repair pump' is technician_only; ",
        'wanted by = "technician"',
    ),
    (
        RULE + 'task = "wipe sleeve"\nwhen = "reading"\nuv_below = 0.7\n',
        "t.toml: policy[mine]: reading_every is missing; ",
        "want it",
    ),
    (
        RULE + 'task = "wipe sleeves"\nwhen = "failure"\n',
        "t.toml: policy[mine].rule[1].task: no [[task]] 'wipe sleeves'; ",
        "did you mean 'wipe sleeve'?",
    ),
    (
        RULE + 'task = "clear gutters and diverter"\nwhen = "failure"\n',
        't.toml: policy[mine].rule[1].when: read "failure", but nothing that shows ever calls for ',
        'wanted "calendar" or "reading"',
    ),
    (
        WATCHED + 'task = "replace lamp"\nwhen = "reading"\nprecharge_off = "4 psi"\n',
        "t.toml: policy[mine].rule[1].precharge_off: is a reading that never calls for 'replace lamp'; ",
        "wanted uv_below",
    ),
    (
        WATCHED + 'task = "repair pump"\nby = "technician"\nwhen = "reading"\nuv_below = 0.5\n',
        "t.toml: policy[mine].rule[1].uv_below: is a reading that never calls for 'repair pump'; ",
        'wanted when = "calendar"',
    ),
    (
        WATCHED + 'task = "wipe sleeve"\nwhen = "reading"\nuv_below = 0\n',
        "t.toml: policy[mine].rule[1].uv_below: read 0; ",
        "wanted above 0",
    ),
    (
        WATCHED + 'task = "restore precharge"\nwhen = "reading"\nprecharge_off = "40 psi"\n',
        "t.toml: policy[mine].rule[1].precharge_off: 40.0 psi is never read; ",
        "wanted less than pressure_tank.precharge, 38.0 psi",
    ),
    (
        WATCHED + 'task = "change cartridge"\nstage = "carbon"\nwhen = "reading"\ndrop_above = "45 psi"\n',
        "t.toml: policy[mine].rule[1].drop_above: 45.0 psi is never read; ",
        "wanted less than pressure_switch.cut_in, 40.0 psi",
    ),
    (
        RULE + 'task = "change cartridge"\nwhen = "calendar"\n',
        "t.toml: policy[mine].rule[1].stage: is missing; ",
        "'sediment', 'carbon'",
    ),
    (
        RULE + 'task = "wipe sleeve"\nstage = "carbon"\nwhen = "calendar"\n',
        "t.toml: policy[mine].rule[1].stage: read 'carbon'; ",
        "is done on no stage, wanted none",
    ),
    (
        RULE + 'task = "wipe sleeve"\nwhen = "calendar"\nuv_below = 0.5\n',
        "t.toml: policy[mine].rule[1]: uv_below: does not go with when = ",
        '"calendar"',
    ),
    (
        '[[policy]]\nname = "mine"\n[[policy.skip]]\ntask = "wipe sleve"\n',
        "t.toml: policy[mine].skip[1].task: no [[task]] 'wipe sleve'; ",
        "did you mean 'wipe sleeve'?",
    ),
    (
        '[[policy]]\nname = "mine"\n[[policy.skip]]\ntask = "wipe sleeve"\nstage = "carbon"\n',
        "t.toml: policy[mine].skip[1].stage: read 'carbon'; ",
        "is done on no stage",
    ),
    (
        '[[policy]]\nname = "mine"\n[[policy.skip]]\ntask = "everything"\nstage = "carbon"\n',
        "t.toml: policy[mine].skip[1].stage: read 'carbon'; ",
        "goes with a task on stages",
    ),
    (
        TASK + 'effects = ["new sock"]\n',
        "t.toml: task[mine].effects[1]: read 'new sock'; ",
        "'new cartridge'",
    ),
    (
        TASK + 'effects = ["new lamp", "new lamp"]\n',
        "t.toml: task[mine]: effects: 'new lamp' stands twice; ",
        "wanted each once",
    ),
    (
        TASK.replace("shuts_water = true", "shuts_water = false") + 'effects = ["new cartridge"]\n',
        "t.toml: task[mine]: shuts_water: read false; ",
        "wanted true, as 'new cartridge' cannot be had otherwise",
    ),
    (
        TASK + 'effects = ["new lamp"]\nshare = 0.5\n',
        "t.toml: task[mine]: share: goes with none of its effects; ",
        "'rinsed cartridge'",
    ),
    (
        TASK + "effects = []\n[[task.step]]\nid = 'a'\ntext = 'b'\nminutes = 1.0\nmissed = 'c'\n",
        "t.toml: task[mine]: purpose: is missing; ",
        "wanted what the work is for",
    ),
    (
        TASK + "effects = []\npurpose = 'p'\n"
        "[[task.step]]\nid = 'a'\ntext = 'b'\nminutes = 1.0\nmissed = 'c'\n",
        "t.toml: task[mine].shuts_water: read true, but no step shuts the inlet or the pump off; ",
        "wanted false",
    ),
    (
        TASK + "effects = ['new lamp']\n[[policy]]\nname = 'x'\n[[policy.rule]]\n"
        "task = 'mine'\nwhen = 'failure'\n",
        "t.toml: task[mine].shows: is missing; wanted what a person sees when it is called for, ",
        "as policy[x].rule[1]",
    ),
    (
        TASK.replace('"mine"', '"everything"') + "effects = []\n",
        "t.toml: task[everything].name: read 'everything', which stands for something else; ",
        "read the gauges",
    ),
    (
        TASK.replace('"mine"', '"a: b"') + "effects = []\n",
        "t.toml: task[a: b].name: read 'a: b'; ",
        "which sets a stage apart",
    ),
    (
        '[[task]]\nname = "wipe sleeve"\n[[task.step]]\nid = "wipe it clean"\nslip = "lost"\n',
        "t.toml: task[wipe sleeve].step[wipe it clean]: no [[slip]] 'lost'; ",
        "known are 'valve left shut'",
    ),
    (
        '[[task]]\nname = "wipe sleeve"\n[[task.step]]\nid = "wipe it clean"\nslip = "cartridge left out"\n',
        "t.toml: task[wipe sleeve].step[wipe it clean].slip: 'cartridge left out' is about a stage, ",
        "wanted another slip",
    ),
    (
        SLIP + 'effect = "flood"\n',
        "t.toml: slip[mine].effect: read 'flood'; ",
        "'spill under pressure'",
    ),
    (
        SLIP + 'effect = "leak"\n',
        "t.toml: slip[mine]: leak: is missing; ",
        "wanted how much, as the effect is 'leak'",
    ),
    (
        SLIP + 'effect = "pump off"\nleak = "3 L/d"\n',
        "t.toml: slip[mine]: leak: does not go with the effect 'pump off'",
        "",
    ),
    (
        SLIP + 'effect = "spill under pressure"\nspill = "3 L"\n',
        't.toml: slip[mine]: seen_by: "at once" and the effect "spill under pressure" go together',
        "",
    ),
    (
        SLIP + 'effect = "pump off"\ndries = "2 d"\n',
        't.toml: slip[mine]: dries: goes with the effect "low reading" alone; ',
        "read 'pump off'",
    ),
    (
        '[[stage]]\nname = "fine"\nlike = "carbn"\n',
        "t.toml: stage[fine].like: no stage 'carbn'; ",
        "did you mean 'carbon'?",
    ),
    (
        '[[stage]]\nname = "fine"\nlike = "carbon"\nbefore = "lamp"\n',
        "t.toml: stage[fine].before: no stage 'lamp'; ",
        "known are 'sediment', 'carbon'",
    ),
    (
        '[[stage]]\nname = "sediment"\nlike = "carbon"\n',
        "t.toml: stage[sediment].like: is not a known key; ",
        "'size'",
    ),
    (
        '[[policy]]\nname = "mine"\nalso = 3\n',
        "t.toml: policy[mine].also: is not a known key; ",
        "'rule'",
    ),
    (
        '[[house.use]]\nname = "tap"\nweekday = "dayteim"\n',
        "t.toml: house.use[tap].weekday: no hourly profile 'dayteim'; ",
        "did you mean 'daytime'?",
    ),
    (
        '[[stage]]\nname = "sediment"\nrating = "20 gpm"\n',
        "t.toml: stage[sediment].rating: read '20 gpm', which is flow; ",
        "unit of length",
    ),
    ('[[stage]]\nname = "third"\n', "t.toml: stage[third].size: is missing; ", "wanted"),
    ('[[stage]]\nname = "carbn"\ndrop = true\n', "t.toml: stage[carbn].drop: ", "did you mean 'carbon'?"),
    ('[[stage]]\nname = "a"\n[[stage]]\nname = "a"\n', "t.toml: stage[a]: stands twice; ", "once"),
    ("[pump]\nx = 1\n", "t.toml: pump.x: is not a known key; ", "known are"),
    ("pump = 3\n", "t.toml: pump: read 3; ", "wanted a table"),
    ("stage = 3\n", "t.toml: stage: read 3; ", "wanted a list of tables"),
    ("[pump\n", "t.toml: is not TOML: ", "line 4"),
    ('name = "again"\n', "t.toml: is not TOML: ", "line 4"),
    ("extends = 3\n", "t.toml: is not TOML: ", "line 4"),
]


@pytest.mark.parametrize(("text", "start", "wanted"), SCENARIOS)
def test_scenario_is_refused_in_one_line(text, start, wanted):
    with pytest.raises(InputError) as caught:
        load_text(HEAD + text, "t.toml")
    said = str(caught.value)
    assert said.startswith(start)
    assert wanted in said
    assert said.isprintable()


def test_long_value_is_cut():
    with pytest.raises(InputError) as caught:
        load_text(HEAD + f'[pump]\nlife = "{"9" * 500}"\n', "t")
    assert f"read '{'9' * 56}...; wanted" in str(caught.value)


@pytest.mark.parametrize(
    ("text", "absent"),
    [
        ("", "name and 17 more are"),
        ('name = "x"\nsummary = "y"\n[roof]\narea = "90 m2"\n', "start and 14 more are"),
    ],
)
def test_a_file_that_extends_nothing_is_told_how_to_begin(text, absent):
    with pytest.raises(InputError, match=rf'^t: {absent} missing; wanted extends = "family_house" at'):
        load_text(text, "t")


def test_precharge_above_cut_in_loads():
    text = HEAD + '[pressure_tank]\nprecharge = "45 psi"\n'
    scenario = load_text(text, "t")
    assert scenario.tank.precharge_pa > scenario.switch.cut_in_pa


@pytest.mark.parametrize(
    ("name", "content", "said"),
    [
        ("none.toml", None, "no such file"),
        ("latin.toml", "name = 'é'".encode("latin-1"), "line 1: is not UTF-8"),
        ("broken.toml", b"a = \n", "line 1"),
        ("nul.toml", b"a = '\0'", "is not TOML"),
    ],
)
def test_file_that_cannot_be_read(tmp_path, name, content, said):
    path = tmp_path / name
    if content is not None:
        path.write_bytes(content)
    with pytest.raises(InputError) as caught:
        load(path)
    assert name in str(caught.value)
    assert said in str(caught.value)


def test_folder_in_place_of_a_file(tmp_path):
    with pytest.raises(InputError, match="is a folder; wanted a TOML file"):
        load(tmp_path)


def test_unknown_name_offers_the_nearest():
    with pytest.raises(InputError, match="did you mean 'cottage'"):
        load("cotage")


RAIN = [
    ("day,precipitation\n2021-01-01,1\n", "rain.csv: line 1: no column 'date'; ", "'day', 'precipitation'"),
    ("date,precipitaton\n2021-01-01,1\n", "rain.csv: line 1: ", "did you mean 'precipitaton'?"),
    (
        "date,precipitation\n2021-01-01,1\n2021-01-03,1\n",
        "rain.csv: line 3: date: read 2021-01-03 after 2021-01-01; ",
        "2021-01-02 is missing",
    ),
    (
        "date,precipitation\n2021-01-01,1\n2021-01-02,1\n2021-01-01,1\n",
        "rain.csv: line 4: date: 2021-01-01 stands already on line 2; ",
        "once",
    ),
    (
        "date,precipitation\n2021-01-02,1\n2021-01-01,1\n",
        "rain.csv: line 3: date: 2021-01-01 comes after 2021-01-02; ",
        "in order",
    ),
    ("date,precipitation\n2021-01-01,T\n", "rain.csv: line 2: precipitation: read 'T'; ", "a depth in mm"),
    (
        "date,precipitation\n2021-01-01,1_0\n",
        "rain.csv: line 2: precipitation: read '1_0'; ",
        "a depth in mm",
    ),
    ("date,precipitation\n2021-01-01,-1\n", "rain.csv: line 2: precipitation: read '-1'; ", "not below 0"),
    (
        "date,precipitation\n2021-01-01,nan\n",
        "rain.csv: line 2: precipitation: read 'nan'; ",
        "a depth in mm",
    ),
    (
        "date,precipitation\n2021-01-01,1e999\n",
        "rain.csv: line 2: precipitation: read '1e999'; ",
        "not below 0",
    ),
    ("date,precipitation\n2021-01-01,\n", "rain.csv: line 2: precipitation: is blank; ", "a depth in mm"),
    ("date,precipitation\n2021-01-01\n", "rain.csv: line 2: precipitation: is blank; ", "a depth in mm"),
    ("date,precipitation\n,1\n", "rain.csv: line 2: date: is blank; ", "a date"),
    (
        "date,precipitation\n2021-01-01,9999\n",
        "rain.csv: line 2: precipitation: read '9999'; ",
        "at most 2000",
    ),
    ("date,precipitation\n01.02.2021,1\n", "rain.csv: line 2: date: read '01.02.2021'; ", "2021-01-31"),
    ("date,precipitation\n2021-02-30,1\n", "rain.csv: line 2: date: read '2021-02-30'; ", "2021-01-31"),
    ("date,precipitation\n2021-01/02,1\n", "rain.csv: line 2: date: read '2021-01/02'; ", "2021-01-31"),
]


@pytest.mark.parametrize(("text", "start", "wanted"), RAIN)
def test_rain_record_is_refused_in_one_line(tmp_path, text, start, wanted):
    path = tmp_path / "rain.csv"
    path.write_text(text)
    with pytest.raises(InputError) as caught:
        read_rain(path, RainSource())
    said = str(caught.value)
    assert said.startswith(start)
    assert wanted in said
    assert said.isprintable()


def test_date_must_have_the_form_that_was_told(tmp_path):
    path = tmp_path / "rain.csv"
    path.write_text("date,precipitation\n2021-01-01,1\n")
    with pytest.raises(InputError, match=r"line 2: date: read '2021-01-01'; wanted a date like %d\.%m\.%Y"):
        read_rain(path, RainSource(date_format="%d.%m.%Y"))


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"", "is empty; wanted a header line and rows"),
        (b"\n\n", "is empty; wanted a header line and rows"),
        (b"date,precipitation\n", "has a header line only; wanted rows"),
        ("date,precipitation\n2021-01-01,1 é\n".encode("latin-1"), "line 2: is not UTF-8"),
        (None, "no such file; wanted a CSV file"),
    ],
)
def test_rain_file_that_holds_nothing(tmp_path, content, said):
    path = tmp_path / "rain.csv"
    if content is not None:
        path.write_bytes(content)
    with pytest.raises(InputError) as caught:
        read_rain(path, RainSource())
    assert f"rain.csv: {said}" in str(caught.value)


def test_folder_in_place_of_a_rain_file(tmp_path):
    with pytest.raises(InputError, match="is a folder; wanted a CSV file"):
        read_rain(tmp_path, RainSource())
