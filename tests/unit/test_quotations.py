"""A table of quotations: rows in US and SI units give the same houses and choice; nothing is scaled."""

import os

import numpy as np
import pytest

from sim import cli
from sim.errors import InputError
from sim.scenario.quotation_keys import KEYS
from sim.scenario.read import load
from sim.scenario.read.load import load_text
from sim.scenario.read.quotations import read_quotations
from sim.scenario.values.numbers import numbers
from sim.study.question import Site
from sim.study.questions import ask
from sim.study.search.alternatives import choices, gathered
from sim.study.search.catalogue import equipment, invented
from sim.study.size.question import SizeQuestion
from sim.units import FOOT_M, GPM_M3_S, PSI_PA

HEAD = (
    "item,part,stage,price,currency,date,life,size,rated_flow,drops,dirt_capacity,most_pressure,housing_price,"
    "curve,npsh_required,rated_transmittance,dose_at_rating,rated_at,lamp_price\n"
)
US = HEAD + (
    "small bag,cartridge,sediment,12,USD,2026-11-02,,2.5x20,8 gpm,5 gpm at 0.6 psi; 8 gpm at 1.2 psi,unknown,"
    "125 psi,48,,,,,,\n"
    "big bag,cartridge,sediment,31,USD,2026-11-02,,4.5x20,18 gpm,5 gpm at 0.1 psi; 10 gpm at 0.3 psi,250 g,"
    "100 psi,131,,,,,,\n"
    "lamp box,uv,,990,USD,2026-11-03,12 yr,,12 gpm,,,100 psi,,,,75 %,40 mJ/cm2,alarm,95\n"
    "deep pump,pump,,610,USD,2026-11-04,,,,,,,,0 gpm at 180 ft; 5 gpm at 170 ft; 10 gpm at 140 ft,9 ft,,,,\n"
)
GPM = GPM_M3_S * 6e4  # L/min
SI = HEAD + (
    f"small bag,cartridge,sediment,12,USD,2026-11-02,,2.5x20,{8 * GPM} L/min,"
    f"{5 * GPM} L/min at {0.6 * PSI_PA / 1e3} kPa; {8 * GPM} L/min at {1.2 * PSI_PA / 1e3} kPa,,"
    f"{125 * PSI_PA / 1e5} bar,48,,,,,,\n"
    f"big bag,cartridge,sediment,31,USD,2026-11-02,,4.5x20,{18 * GPM} L/min,"
    f"{5 * GPM} L/min at {0.1 * PSI_PA / 1e3} kPa; {10 * GPM} L/min at {0.3 * PSI_PA / 1e3} kPa,0.25 kg,"
    f"{100 * PSI_PA / 1e5} bar,131,,,,,,\n"
    f"lamp box,uv,,990,USD,2026-11-03,144 month,,{12 * GPM} L/min,,,{100 * PSI_PA / 1e3} kPa,,,,75 %,"
    "400 J/m2,alarm,95\n"
    f"deep pump,pump,,610,USD,2026-11-04,,,,,,,,0 L/min at {180 * FOOT_M} m; "
    f"{5 * GPM} L/min at {170 * FOOT_M} m; {10 * GPM} L/min at {140 * FOOT_M} m,{9 * FOOT_M} m,,,,\n"
)
STAGES = ("sediment", "carbon")


def quotes(tmp_path, text, name="quotes.csv"):
    file = tmp_path / name
    file.write_text(text, "utf-8")
    return read_quotations(file, "USD", STAGES)


def houses(site, items):
    return [
        one.design.scenario for one in choices(site, gathered(site, [], items), ["by the calendar"], items)
    ]


def test_rows_in_either_units_give_the_same_houses(tmp_path):
    site = load.load(load.DEMO)
    for us, si in zip(houses(site, quotes(tmp_path, US)), houses(site, quotes(tmp_path, SI)), strict=True):
        ours, theirs = (np.array([number.value for number in numbers(one)]) for one in (us, si))
        assert ours == pytest.approx(theirs, rel=1e-9)


def test_an_item_is_taken_as_it_is_and_nothing_of_it_is_scaled(tmp_path):
    site = load.load(load.DEMO)
    small, big = houses(site, quotes(tmp_path, US))
    stage = big.stages[0]
    assert (stage.size, stage.price) == ("4.5x20", 31.0)
    assert stage.rated_flow_m3_s / GPM_M3_S == pytest.approx(18.0)
    for gpm, psi in ((5.0, 0.1), (10.0, 0.3)):
        flow = gpm * GPM_M3_S
        drop_pa = stage.linear_pa_s_m3 * flow + stage.quadratic_pa_s2_m6 * flow**2
        assert drop_pa / PSI_PA == pytest.approx(psi, rel=1e-9)
    assert stage.dirt_capacity_kg == pytest.approx(0.250)
    assert small.stages[0].dirt_capacity_kg == site.stages[0].dirt_capacity_kg  # not known
    pieces = {one.part: one for one in equipment(small, site)}
    assert (pieces["uv"].price, pieces["uv"].years) == (990.0, pytest.approx(12.0))
    assert pieces["pump"].price == 610.0
    assert pieces["housing of sediment"].price == 48.0
    # least squares of H on Q2 through (0, 180), (25, 170), (100, 140), by hand: 180 - 0.4 Q2
    assert small.pump.shutoff_head_m / FOOT_M == pytest.approx(180.0)
    assert small.pump.curve_s2_m5 * GPM_M3_S**2 / FOOT_M == pytest.approx(0.4)
    said = invented(equipment(small, site))
    assert "pump" not in said and "UV" not in said
    assert "cistern" in said


def test_what_a_sheet_does_not_say_is_named_and_decides_no_criterion(tmp_path):
    small, big, lamp, pump = quotes(tmp_path, US)
    assert "dirt_capacity" in small.missing and "dirt_capacity" not in big.missing
    assert "UV class" in lamp.undecided
    assert "suction" not in pump.undecided
    assert "dead head" not in lamp.undecided


def test_a_table_in_toml_says_the_same(tmp_path):
    text = (
        '[[item]]\nname = "lamp box"\npart = "uv"\nprice = 990.0\ncurrency = "USD"\ndate = 2026-11-03\n'
        'rated_flow = "12 gpm"\nshutoff_valve = true\n'
    )
    (item,) = quotes(tmp_path, text, "quotes.toml")
    assert (item.price, item.date, item.values["shutoff_valve"]) == (990.0, "2026-11-03", "true")
    (house,) = houses(load.load(load.DEMO), (item,))
    assert house.uv.shutoff_valve is True


def test_two_tables_give_the_same_choice(tmp_path):
    site = Site(load.load(load.DEMO))
    chosen, costs = [], []
    for text in (US, SI):
        question = SizeQuestion(
            site=site, policies=("by the calendar",), items=quotes(tmp_path, text), years=1, replications=2,
            worth=25.0, by_criteria=False,
        )  # fmt: skip
        study = ask(question).study
        chosen.append([(line["design"], line["fate"]) for _, line in study.lines.iterrows()])
        costs.append(study.lines["cost"].to_numpy())
    assert chosen[0] == chosen[1]
    assert costs[0] == pytest.approx(costs[1], rel=1e-6)  # a last bit of a unit may move an event


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("USD", "EUR", "currency: read 'EUR'; wanted 'USD'"),
        ("2026-11-02", "2.11.2026", "date: read '2.11.2026'"),
        ("sediment", "sedment", "did you mean 'sediment'?"),
        (",uv,", ",uvv,", "part: read 'uvv'; did you mean 'uv'?"),
        ("31,", "-31,", "price: read '-31'"),
        ("big bag", "small bag", "two items are called 'small bag'"),
        (
            "npsh_required",
            "npsh_requird",
            "npsh_requird: is not said of a pump; did you mean 'npsh_required'?",
        ),
    ],
)
def test_a_row_that_cannot_be_used_is_refused_in_one_line(tmp_path, old, new, said):
    with pytest.raises(InputError) as caught:
        quotes(tmp_path, US.replace(old, new))
    assert said in str(caught.value)
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize(
    ("table", "old", "new", "said"),
    [
        (
            US,
            "10 gpm at 140 ft",
            "10 gpm at 190 ft",
            "line 5: curve: read '0 gpm at 180 ft; 5 gpm at 170 ft; ",
        ),
        (US, "0 gpm at 180 ft; 5 gpm at 170 ft; ", "", "line 5: curve: read '10 gpm at 140 ft'; wanted two"),
        (
            US,
            "5 gpm at 0.1 psi",
            "5 gpm 0.1 psi",
            "line 3: drops: read '5 gpm 0.1 psi'; wanted points such as",
        ),
        (US, "5 gpm at 0.1 psi", "0 gpm at 0 psi", "line 3: drops: read '0 gpm at 0 psi; 10 gpm at 0.3 psi'"),
        (US, "5 gpm at 0.1 psi", "9 gpm at 0.01 psi", "line 3: drops: read '9 gpm at 0.01 psi; 10 gpm"),
        (
            US,
            "12 gpm,,,100 psi",
            "12 psi,,,100 psi",
            "line 4: uv.rated_flow: read '12 psi', which is pressure",
        ),
        (US, ",131,", ",131 USD,", "line 3: housing_price: read '131 USD'; wanted a number"),
        (US, ",131,", ",1_31,", "line 3: housing_price: read '1_31'; wanted a number"),
        (US, ",alarm,95", ",alarm,ninety", "line 4: lamp_price: read 'ninety'; wanted a number"),
        (US, "12 yr", "12", "line 4: equipment[uv].life: read '12'; wanted a number with a unit of time"),
        (US, "4.5x20", "4.5x21", "line 3: stage[sediment]: size: read '4.5x21'"),
        (US, ",", ";", "line 1: columns are apart by ';'; wanted ','"),
        (SI, "0.25 kg", "0.25 L", "line 3: stage[sediment].dirt_capacity: read '0.25 L', which is volume"),
        (
            SI,
            "400 J/m2",
            "400",
            "line 4: uv.dose_at_rating: read 400.0, which has no unit; wanted a quantity",
        ),
        (SI, "alarm", "always", "line 4: uv.rated_at: read 'always'; wanted 'new'"),
        (SI, "144 month", "never", "line 4: equipment[uv].life: read 'never'"),
        (SI, "big bag", "small bag", "line 3: item: two items are called 'small bag'"),
    ],
)
def test_numbers_that_will_not_do_are_refused_with_file_and_line(tmp_path, table, old, new, said):
    with pytest.raises(InputError) as caught:
        houses(load.load(load.DEMO), quotes(tmp_path, table.replace(old, new)))
    assert str(caught.value).startswith(f"quotes.csv: {said}")
    assert "\n" not in str(caught.value)


def test_a_size_that_means_nothing_is_refused(tmp_path):
    text = 'extends = "family_house"\n[[stage]]\nname = "sediment"\nsize = "9x99"\n'
    with pytest.raises(InputError, match="size: read '9x99'"):
        load_text(text, "mine.toml")


def test_one_price_of_housings_is_of_the_sizes_of_the_site_only():
    text = 'extends = "family_house"\n[[equipment]]\npart = "housing"\nprice = 300.0\nlife = "15 yr"\n'
    house = load_text(text, "mine.toml")
    sizes = ["stage.sediment.size=2.5x10,4.5x10"]
    small, own = (one.design.scenario for one in choices(house, gathered(house, sizes), ["by the calendar"]))
    prices = [
        {one.part: (one.price, one.stated) for one in equipment(each, house)}["housing of sediment"]
        for each in (small, own)
    ]
    assert prices == [(45.0, False), (300.0, True)]  # 45: the table of sizes, invented


QUICK = ["--years", "1", "--replications", "2", "--workers", "1", "--policy", "by the calendar", "--out"]


def test_the_command_reads_them(tmp_path, capsys):
    file = tmp_path / "quotes.csv"
    file.write_text(US, "utf-8")
    site = tmp_path / "loose.toml"  # limits that any house of these keeps to, so that one is named
    site.write_text(
        'extends = "family_house"\n[goals]\nlimit_days_below_target = 366\nlimit_water_off_h = 8784\n'
    )
    out = tmp_path / "out"
    assert cli.main(["size", str(site), "--quotes", str(file), *QUICK, str(out), "--all-designs"]) == 0
    said = " ".join(capsys.readouterr().out.split())
    assert "big bag" in said and "small bag" in said
    assert "Not known of lamp box: tested as" in said
    rule = said.split("UV rated for the peak flow")[1]
    assert "12.00 gpm: " in rule and "8.00 gpm" not in rule  # the quoted unit, not that of the site
    report = (out / "report.html").read_text("utf-8")
    assert "Quoted items of the choice" in report and "990 USD" in report and "2026-11-03" in report


def test_criteria_put_a_design_out_and_say_which(tmp_path, capsys):
    """A housing rated 5.6 gpm under a design flow of 7 is out before any run; what all fail is said."""
    words = ["size", "--try", "stage.sediment.size=2.5x10,4.5x10,4.5x20", *QUICK, str(tmp_path / "out")]
    assert cli.main(words) == 0
    said = " ".join(capsys.readouterr().out.split())
    assert "put out 1 of 3 designs before any run: 1 on cartridge flow" in said
    assert "Every design fails on" in said and "power loss" in said
    assert "2.5x10" not in (tmp_path / "out" / "designs.csv").read_text("utf-8")


def test_a_limit_on_hours_of_alarm_rules_designs_out(tmp_path):
    text = tmp_path / "quiet.toml"
    text.write_text('extends = "family_house"\n[goals]\nlimit_alarm_h = 0.0\n', "utf-8")
    site = Site(load.load(str(text)))
    asked = {"policies": ("by the calendar",), "tries": ("pressure_tank.volume=44 gal,86 gal",), "years": 1,
             "replications": 3, "worth": 25.0}  # fmt: skip
    study = ask(SizeQuestion(site=site, **asked)).study
    assert study.found.chosen is None  # a sleeve that fouls sounds some alarm in every house of these runs
    assert (study.rows["alarm_h"] > 0).any()


def test_help_tells_how_such_a_table_is_written(tmp_path, capsys):
    with pytest.raises(SystemExit):
        cli.main(["size", "--help"])
    told = " ".join(capsys.readouterr().out.split()).partition("A quotes FILE")[2]
    for part, keys in KEYS.items():
        assert f"{part}: {', '.join(keys)}" in told
    for column in HEAD.strip().rstrip(",").split(",")[:7]:
        assert column in told
    drops, curve = (told.partition(f'{word} "')[2].partition('"')[0] for word in ("drops are", "a curve"))
    rows = (f"bag,cartridge,sediment,12,USD,2026-11-20,,,,{drops}{',' * 9}\n"
            f"one,pump,,610,USD,2026-11-20,12 yr,{',' * 6}{curve}{',' * 4}\n")  # fmt: skip
    bag, one = quotes(tmp_path, HEAD + rows)
    assert (bag.values["drops"], one.values["curve"], one.life) == (drops, curve, "12 yr")
    (house,) = houses(load.load(load.DEMO), (one,))
    # through 0 gpm at 180 ft and 10 gpm at 140 ft: H0 = 180 ft
    assert house.pump.shutoff_head_m == pytest.approx(180 * 0.3048)


def test_a_pipe_is_refused_and_not_waited_for(tmp_path):
    os.mkfifo(tmp_path / "quotes.toml")
    with pytest.raises(InputError, match="is a pipe or a device; wanted a TOML file on disk"):
        read_quotations(tmp_path / "quotes.toml", "USD", ("sediment",))
