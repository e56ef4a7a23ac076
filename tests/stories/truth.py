"""What a story of a skip says, read back word by word and looked up in the two histories.

Nothing here is shared with the code that tells the story: causes have their words here, days are counted from
the tables a run writes. A sentence this does not know is a fault.
"""

import re
from datetime import datetime, timedelta

import numpy as np

from sim.outcome.measures import row
from sim.plant import cause, state
from tests.plain_words import faults, half_digit

PSI, KPA, GALLON, LITRE = 6894.757293168361, 1e3, 3.785411784e-3, 1e-3
VISIBLE, NEAR_H, WORK_H, WEAK_S, DRY_S, DRY_DAYS = 3.0, 1.0, 3.0, 600.0, 23 * 3600.0, 7
ORIGIN = {
    "from power cuts": "power cut",
    "from lamps that died": "lamp died",
    "from work at the train": "service",
    "from a UV unit left unplugged": "unplugged unit",
    "from a valve that stayed shut": "forgotten valve",
    "from a bypass left open": "open bypass",
    "from other missed steps": "other missed step",
    "from tasks put off or late": "put off or late",
    "from film on the sleeve": "film",
    "from an old lamp": "lamp age",
    "from coloured or dirty water": "coloured or dirty water",
    "from flow above the unit's rating": "flow above rating",
    "from an empty cistern": "cistern empty",
    "from clogged cartridges": "clogged",
    "from a broken pump": "pump broken",
    "from something else": "other",
}
FILM = {"film", "put off or late"}
LAMP = {*FILM, "lamp age", "lamp died"}
DIRT = {*FILM, "lamp age", "coloured or dirty water", "clogged", "flow above rating"}
MAY_BRING = {  # what each task guards against; a story may not lay anything else at its door
    "change cartridge": DIRT,
    "clear gutters and diverter": DIRT,
    "clean cistern": DIRT,
    "replace lamp": LAMP,
    "wipe sleeve": FILM,
    "wipe sensor window": FILM,
    "restore precharge": {"pump broken", "put off or late"},
    "repair pump": {"pump broken", "put off or late"},
    "repair pressure tank": {"pump broken", "put off or late"},
    "take sample": set(),
    "everything": {*DIRT, *LAMP, "pump broken"},
}
DAY = r"(\d{1,2} [A-Z][a-z]+ \d{4})"
N = r"([\d,.]+|under 0\.01)"
WHY = f"({'|'.join(map(re.escape, ORIGIN))})"
MONTH = r"([A-Z][a-z]+ \d{4}) \(month (\d+)\)"


def exactly(pattern, text):
    """Return the match of a whole text, which must be known."""
    found = re.fullmatch(pattern, text)
    assert found, f"not known: {text}"
    return found


def value(words):
    return 0.005 if words.startswith("under") else float(words.replace(",", ""))


def near(words, exact, factor=1.0):
    """Hold a shown number to the exact one, to half its last digit."""
    shown, exact = value(words), exact * factor
    assert abs(shown - exact) <= half_digit(exact) + 1e-9, f"{words} for {exact}"


def seconds(words, exact):
    number, unit = words.rsplit(" ", 1)
    near(number, exact / {"min": 60.0, "h": 3600.0}[unit])


def pressure(words, exact):
    number, unit = words.split(" ")
    assert abs(value(number) - exact / {"psi": PSI, "kPa": KPA}[unit]) <= {"psi": 0.0501, "kPa": 0.501}[unit]


def due_pa(site, at):
    """Return the drop from which a cartridge is due: by a rule of the site, else the rise of its data sheet,
    stated at the rated flow, on top of the clean drop, both at the flow at which drops are read."""
    one = site.stages[at]
    for policy in site.policies:
        for rule in policy.rules:
            if rule.stage == one.name and rule.drop_above_pa is not None:
                return rule.drop_above_pa
    flow = site.gauge.reading_flow_m3_s
    each = flow / one.housings
    clean = one.linear_pa_s_m3 * each + one.quadratic_pa_s2_m6 * each * each
    return clean + one.terminal_rise_pa * flow / one.rated_flow_m3_s


class Told:
    """One story beside its two histories."""

    def __init__(self, skipped, kept, story, months, tasks, from_day):
        self.runs, self.story, self.by_month = (skipped, kept), story, months
        self.from_day, self.start = from_day, skipped.start
        self.may = set().union(*(MAY_BRING[task.partition(": ")[0]] for task in tasks))
        limit = skipped.scenario.goals.below_target_volume_m3
        self.below = [self._codes(run.causes[:, :, cause.LITRES], limit) for run in self.runs]
        self.alarm = [self._codes(run.causes[:, :, cause.ALARM], 0.0) for run in self.runs]
        self.off = [run.causes[:, :, cause.OFF] / 3600.0 for run in self.runs]
        self.weak = [run.days[:, state.LOW_PRESSURE] for run in self.runs]
        self.dry = [run.days[:, state.WATER_OFF] >= DRY_S for run in self.runs]
        for run, codes in zip(self.runs, self.below, strict=True):  # the table of causes is that of the days
            assert ((run.days[:, state.BELOW_TARGET] > limit) == (codes >= 0)).all()
        self.seen = []  # kind, day, where of each sign

    @staticmethod
    def _codes(table, limit):
        return np.where(table.sum(axis=1) > limit, table.argmax(axis=1), -1)

    def day(self, words):
        return (datetime.strptime(words, "%d %B %Y").date() - self.start).days

    def check(self):
        """Check all that is said."""
        for line in (*self.story.summary, *self.by_month):
            assert faults(line) == [], line
        months = self.calendar()
        assert [month.number for month in self.story.months] == [number for number, _ in months]
        for month, (_, days) in zip(self.story.months, months, strict=True):
            for line in month.lines:
                self.sign(line, days)
            self.stands(month.stands, days)
            self.visible(month.visible, days)
        self.lines(months)
        self.summary(list(self.story.summary))

    def calendar(self):
        """Return number and days of each month from the skip on."""
        found = {}
        for day in range(self.runs[0].n_days):
            on = self.start + timedelta(days=day)
            found.setdefault((on.year, on.month), []).append(day)
        cut = [(n, [d for d in days if d >= self.from_day]) for n, days in enumerate(found.values(), 1)]
        return [(n, days) for n, days in cut if days]

    # what showed first

    def sign(self, line, days):
        found = exactly(rf"{DAY}: (.*)\.", line)
        day, said = self.day(found[1]), found[2]
        assert day in days, line
        readings = [run.uv_reading[day] for run in self.runs]
        if m := re.fullmatch(rf"the UV monitor read {N} %, where it would have read {N} %", said):
            self.readings(m.groups(), day)
            sd = self.runs[0].scenario.gauge.uv_reading_sd
            assert readings[1] - readings[0] > VISIBLE * sd
            where = "the UV monitor"
        elif m := re.fullmatch(
            rf"the UV alarm was on {WHY}; at the end of the day the monitor read {N} %, "
            rf"where it would have read {N} %",
            said,
        ):
            assert cause.CAUSES[self.alarm[0][day]] == self.bring(m[1])
            self.readings(m.groups()[1:], day)
            where = "the UV monitor"
        elif m := re.fullmatch(
            r"the gauges showed a drop of (.*) over (.*), where it would have been (.*)", said
        ):
            drops = [run.drops_pa[day, run.stage_names.index(m[2])] for run in self.runs]
            pressure(m[1], drops[0])
            pressure(m[3], drops[1])
            assert drops[0] - drops[1] > VISIBLE * self.runs[0].scenario.gauge.reading_sd_pa
            where = "the gauges"
        elif m := re.fullmatch(
            r"the drop over (.*) passed the one at which the cartridge is due: (.*)", said
        ):
            at = self.runs[0].stage_names.index(m[1])
            drops, limit = self.runs[0].drops_pa[:, at], due_pa(self.runs[0].scenario, at)
            pressure(m[2], drops[day])
            assert drops[day] > limit
            assert day == self.from_day or drops[day - 1] <= limit
            where = "the gauges"
        elif m := re.fullmatch(r"the taps ran weak for (.*) of the day", said):
            seconds(m[1], self.weak[0][day])
            assert self.weak[0][day] > WEAK_S
            where = "the taps"
        elif m := re.fullmatch(rf"the taps were dry for (.*) of the day {WHY}", said):
            hours = [run[day, cause.CAUSES.index(self.bring(m[2]))] for run in self.off]
            seconds(m[1], hours[0] * 3600.0)
            assert hours[0] > NEAR_H
            where = "the taps"
        elif m := re.fullmatch(rf"the pump started {N} times, where it would have started {N} times", said):
            starts = [run.days[day, state.STARTS] for run in self.runs]
            assert [value(one) for one in m.groups()] == starts
            assert starts[0] >= 2.0 * starts[1]
            where = "the pump"
        elif m := re.fullmatch(rf"{N} (gal|L) reached the house below the dose target {WHY}", said):
            name = self.bring(m[3])
            litres = self.runs[0].causes[day, :, cause.LITRES]
            near(m[1], litres[cause.CAUSES.index(name)] / {"gal": GALLON, "L": LITRE}[m[2]])
            assert cause.CAUSES[self.below[0][day]] == name
            assert self.below[1][day] != self.below[0][day]
            where = ""
        else:
            part = exactly(r"(.*) failed", said)[1]
            events = [e for e in self.runs[0].events if e.kind == "failure" and e.subject == part]
            assert any(int(event.time_s // 86400.0) == day for event in events)
            where = ""
        self.seen.append((day, where, line))

    def readings(self, words, day):
        for said, run in zip(words, self.runs, strict=True):
            near(said, run.uv_reading[day], 100.0)

    def bring(self, origin):
        assert ORIGIN[origin] in self.may, f"{origin} is not for what was skipped"
        return ORIGIN[origin]

    # how a stretch of days stood

    def stands(self, text, days):
        """Check what is said of a stretch, and that what is not said is as it would have been."""
        parts = [part for part in text.split("; ") if part]
        found = {key: [part for part in parts if part.startswith(key)] for key in PARTS}
        assert sum(map(len, found.values())) == len(parts), text
        for key, (check, same) in PARTS.items():
            assert len(found[key]) <= 1, text
            if found[key]:
                check(self, found[key][0], days)
            else:
                assert same(self, days), f"{key} is not told for {days[0]} to {days[-1]}: {text!r}"

    def _reading(self, part, days):
        m = exactly(rf"UV reading {N} % at the end \(kept: {N} %\)", part)
        self.readings(m.groups(), days[-1])

    def _same_reading(self, days):
        mine, theirs = (run.uv_reading[days[-1]] for run in self.runs)
        return theirs - mine <= VISIBLE * self.runs[0].scenario.gauge.uv_reading_sd

    def _counts(self, which, days):
        return [np.bincount(run[days][run[days] >= 0], minlength=len(cause.CAUSES)) for run in which]

    def _day_part(self, part, days, which, head):
        m = exactly(rf"{head}, days: {N} \(kept: {N}\)(?:: (.*))?", part)
        counts = self._counts(which, days)
        assert [value(m[1]), value(m[2])] == [run.sum() for run in counts]
        self.causes(m[3] or "", counts, 0.0, exact=True)

    def _hours_part(self, part, days):
        m = exactly(rf"water off, hours: {N} \(kept: {N}\)(?:: (.*))?", part)
        hours = [run[days].sum(axis=0) for run in self.off]
        for said, run in zip(m.groups()[:2], hours, strict=True):
            near(said, run.sum())
        self.causes(m[3] or "", hours, NEAR_H, exact=False)

    def causes(self, text, sums, least, exact, firsts=None):
        """Check a list of causes, and that it leaves none out that has more than the least."""
        told = set()
        for part in re.split(rf"(?:, | and )(?={N} from )", text)[::2] if text else []:
            m = exactly(rf"{N} {WHY}(?:, the first on {DAY})?(?: \(kept: {N}\))?", part)
            code = cause.CAUSES.index(ORIGIN[m[2]])
            told.add(code)
            for said, run in ((m[1], sums[0]), (m[4] or "0", sums[1])):
                if exact:
                    assert value(said) == run[code], part
                else:
                    near(said, run[code])
            if m[4] is None:
                assert sums[1].sum() == 0
            if m[3]:
                assert self.day(m[3]) == firsts[code]
            elif firsts is not None:
                assert sums[0][code] <= sums[1][code] or sums[0][code] == 0
        for code in set(range(len(cause.CAUSES))) - told:
            assert max(sums[0][code], sums[1][code]) <= least
        assert told or sums[0].sum() == 0

    def _dry_part(self, part, days):
        m = exactly(rf"days without water: {N} \(kept: {N}\)", part)
        assert [value(one) for one in m.groups()] == [run[days].sum() for run in self.dry]

    def _weak_part(self, part, days):
        m = exactly(r"weak taps (.*) \(kept: (.*)\)", part)
        for said, run in zip(m.groups(), self.weak, strict=True):
            seconds(said, run[days].sum())

    def _same(self, which, days):
        counts = self._counts(which, days)
        return (counts[0] == counts[1]).all()

    def visible(self, said, days):
        """Check what a person sees: no cause, no other run, and nothing that stands is left out."""
        text = " ".join(said)
        assert not any(phrase in text for phrase in ORIGIN)
        assert not re.search(r"kept|would have|dose|failed|no new sign", text, re.IGNORECASE)
        alarm = int((self.alarm[0][days] >= 0).sum())
        m = re.search(r"The UV alarm was on, (\d+) days?\.", text)
        assert (int(m[1]) if m else 0) == alarm
        off = self.off[0][days].sum()
        m = re.search(rf"The taps gave nothing for {N} h\.", text)
        assert bool(m) == (off > NEAR_H)
        if m:
            near(m[1], off)
        weak = self.weak[0][days].sum()
        m = re.search(r"The taps ran weak for ([\d,.]+ (?:min|h))\.", text)
        assert bool(m) == (weak > WEAK_S)
        if m:
            seconds(m[1], weak)

    def lines(self, months):
        """Check that the printed months are all there, in order, quiet ones quiet."""
        left = list(zip(months, self.story.months, strict=True))
        for line in self.by_month:
            m = exactly(rf"  {MONTH}(?: to {MONTH})?: (.*)", line)
            last = int(m[4] or m[2])
            while left and left[0][0][0] <= last:
                (number, days), month = left.pop(0)
                if m[5] == "as it would have been.":
                    assert not month.lines
                    self.stands("", days)
                else:
                    assert number == int(m[2])
                    assert m[5] == " ".join([*month.lines, *([f"{month.stands}."] if month.stands else [])])
        assert not left

    # the summary

    def summary(self, lines):
        after = list(range(self.from_day, self.runs[0].n_days))
        if lines[0] == "In this run nothing showed that leaving this work undone brings.":
            assert not self.seen
            lines = lines[1:]
        else:
            first = min(self.seen)
            said = lines[0].removeprefix("First to show: ")
            assert said in [line for day, _, line in self.seen if day == first[0]]
            self.could_be_seen(lines[1])
            lines = lines[2:]
        self.below_said(lines[0], after)
        self.alarm_said(lines[1], after)
        self.taps_said(lines[2], after)
        self.unusable_said(lines[3:-1])
        self.cost_said(lines[-1])

    def could_be_seen(self, line):
        visible = sorted((day, where) for day, where, _ in self.seen if where)
        if line == "Nobody could have seen any of it on gauges, monitor, taps or pump.":
            assert not visible
            return
        day_on = rf"the day on which water came below the dose target {WHY}, {DAY}"
        m = exactly(
            rf"A person could have seen it on ([\w ]+) from {DAY} on"
            rf"(?:, {N} days? before {day_on}|; {day_on})?\.",
            line,
        )
        day = self.day(m[2])
        assert day == visible[0][0]
        assert m[1] in [where for on, where in visible if on == day]
        low, origin = (m[5], m[4]) if m[5] else (m[7], m[6])
        if low:
            below = self.day(low)
            assert cause.CAUSES[self.below[0][below]] == self.bring(origin)
            if m[3]:
                assert below - day == value(m[3])
            else:
                assert below <= day

    def firsts(self, codes):
        """Return the first day of each cause from the skip on."""
        return {
            c: self.from_day + int(np.argmax(codes[self.from_day :] == c))
            for c in set(codes[self.from_day :])
        }

    def below_said(self, line, after):
        counts = self._counts(self.below, after)
        if m := re.fullmatch(
            rf"After the skip began no day fell below the dose target \(kept: {N}\)\.", line
        ):
            assert counts[0].sum() == 0
            assert value(m[1]) == counts[1].sum()
            return
        m = exactly(
            rf"After the skip began {N} days? fell below the dose target \(kept: {N}\), the first on {DAY}, "
            rf"{N} days? after it began: (.*)\. {N} of these {N} are of causes that the work guards against; "
            rf"on {N} the alarm was not on\.",
            line,
        )
        low = np.flatnonzero(self.below[0] >= 0)
        low = low[low >= self.from_day]
        assert [value(m[1]), value(m[2]), value(m[7])] == [low.size, counts[1].sum(), low.size]
        assert self.day(m[3]) == low[0]
        assert value(m[4]) == low[0] - self.from_day
        self.causes(m[5], counts, 0.0, exact=True, firsts=self.firsts(self.below[0]))
        assert value(m[6]) == sum(cause.CAUSES[code] in self.may for code in self.below[0][low])
        assert value(m[8]) == (self.alarm[0][low] < 0).sum()

    def alarm_said(self, line, after):
        counts = self._counts(self.alarm, after)
        if m := re.fullmatch(rf"After the skip began the alarm never came on \(kept: {N}\)\.", line):
            assert counts[0].sum() == 0
            assert value(m[1]) == counts[1].sum()
            return
        m = exactly(
            rf"After the skip began the alarm was on {N} days? \(kept: {N}\), the first on {DAY}: (.*)\.",
            line,
        )
        assert [value(m[1]), value(m[2])] == [run.sum() for run in counts]
        assert self.alarm[0][self.day(m[3])] >= 0
        assert (self.alarm[0][self.from_day : self.day(m[3])] < 0).all()
        self.causes(m[4], counts, 0.0, exact=True, firsts=self.firsts(self.alarm[0]))

    def taps_said(self, line, after):
        m = exactly(
            rf"After the skip began the taps gave nothing for {N} h \(kept: {N}\)(?:: (.*?))?\. "
            rf"They ran weak for {N} h \(kept: {N}\)\.",
            line,
        )
        hours = [run[after].sum(axis=0) for run in self.off]
        for said, run in zip(m.groups()[:2], hours, strict=True):
            near(said, run.sum())
        self.causes(m[3] or "", hours, NEAR_H, exact=False)
        for said, run in zip(m.groups()[3:], self.weak, strict=True):
            near(said, run[after].sum() / 3600.0)

    def weeks(self, dry):
        """Return the days within seven or more dry ones in a row, one by one."""
        found, run = [], []
        for day, flag in enumerate([*dry, False]):
            if flag:
                run.append(day)
            else:
                found += run if len(run) >= DRY_DAYS else []
                run = []
        return [day for day in found if day >= self.from_day]

    def unusable_said(self, lines):
        unusable = [self.weeks(dry) for dry in self.dry]
        if not unusable[0]:
            assert lines == []
            return
        m = exactly(
            rf"On {N} days? the house could not be used, the first on {DAY} \(kept: {N}\): "
            r"for a week or longer its taps gave nothing, 23 hours or more of each day\.",
            lines[0],
        )
        assert [value(m[1]), value(m[3])] == [len(days) for days in unusable]
        assert self.day(m[2]) == unusable[0][0]
        last = self.runs[0].n_days - 1
        if unusable[0][-1] != last:
            assert len(lines) == 1
            return
        m = exactly(rf"From {DAY} to the end of the run it could never be used again\.", lines[1])
        day = self.day(m[1])
        assert day <= last
        assert set(range(day, last + 1)) <= set(unusable[0])
        assert day - 1 not in unusable[0] or day == self.from_day

    def cost_said(self, line):
        costs = [row(run)["cost"] * run.years for run in self.runs]
        unusable = [len(self.weeks(dry)) for dry in self.dry]
        if unusable[0] > unusable[1]:
            m = exactly(
                rf"Over {N} years? {N} \w+ was spent in place of {N}; "
                r"what is not spent on a house without water is no saving\.",
                line,
            )
            assert value(m[1]) == self.runs[0].years
        else:
            m = exactly(
                rf"Over (\d+) years? it cost (?:as much as doing the work|{N} \w+ (more|less) than doing the "
                rf"work): {N} in place of {N}\.",
                line,
            )
            assert value(m[1]) == self.runs[0].years
            if m[2]:
                near(m[2], abs(costs[0] - costs[1]))
                assert (m[3] == "more") == (costs[0] > costs[1])
            else:
                assert abs(costs[0] - costs[1]) < 0.01
        for said, cost in zip(m.groups()[-2:], costs, strict=True):
            near(said, cost)


PARTS = {
    "UV reading": (Told._reading, Told._same_reading),
    "alarm on": (
        lambda told, part, days: told._day_part(part, days, told.alarm, "alarm on"),
        lambda told, days: told._same(told.alarm, days),
    ),
    "below the dose target": (
        lambda told, part, days: told._day_part(part, days, told.below, "below the dose target"),
        lambda told, days: told._same(told.below, days),
    ),
    "water off": (
        Told._hours_part,
        lambda told, days: (
            np.abs(told.off[0][days].sum(axis=0) - told.off[1][days].sum(axis=0)).max() <= WORK_H + 1e-9
        ),
    ),
    "days without water": (
        Told._dry_part,
        lambda told, days: told.dry[0][days].sum() == told.dry[1][days].sum(),
    ),
    "weak taps": (
        Told._weak_part,
        lambda told, days: told.weak[0][days].sum() - told.weak[1][days].sum() <= WEAK_S + 1e-6,
    ),
}
