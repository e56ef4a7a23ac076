# %% [markdown]
# A first study from Python: is a larger sediment cartridge worth its price? Cells as notebooks read them.

# %%
from sim.api import changed, check, compare, load, run

site = load("cottage")
checked = check(site)
failing = [one.label for one in checked.criteria if one.state == "fail"]

# %% [markdown]
# The same house with a longer cartridge; resistance, capacity and price follow its size.

# %%
larger = changed(site, {"stage.sediment.size": "4.5x20"})
answers = {
    name: compare(one, ["by the calendar", "by the readings"], years=1, replications=4)
    for name, one in (("as it is", site), ("larger", larger))
}
costs = {name: answer.comparison.summary("by the readings").cost for name, answer in answers.items()}

# %% [markdown]
# One history of it, day by day.

# %%
days = run(larger, "by the readings", years=1).tables["days"]
wettest_m = float(days["rain_m"].max())
