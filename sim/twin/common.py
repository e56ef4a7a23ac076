"""What happens to the house whoever looks after it: weather, draws, cuts, lives of parts, human chance."""

import math
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
import numpy.typing as npt
from numpy.random import Generator

from sim.constants import DAY_S, YEAR_DAYS
from sim.demand.days import day_factors, presence, week_factors, weekend
from sim.demand.end_use import EndUse
from sim.demand.profile import profile
from sim.demand.sessions import SessionHabit, Sessions, sessions_of
from sim.demand.trace import DrawTrace, from_record, generate
from sim.errors import InputError
from sim.scenario.house import House, Use
from sim.scenario.read.series import RainRecord
from sim.scenario.scenario import Scenario
from sim.supply import power
from sim.twin.basis import Basis, basis_of
from sim.twin.rainfall import rain_m
from sim.twin.streams import Source, of_stage, stream
from sim.twin.water.house import PARTS

Floats = npt.NDArray[np.float64]
MOST_DRAWS = 20e6  # of a run: some 3 GB
_OCCASIONS = 512  # chances held ready for each task; a run that needs more starts over at the first
_TIMES_DONE = 64  # and for the steps of each time it is done


@dataclass(frozen=True)
class Common:
    """Everything random of one replication, drawn before the first policy runs."""

    replication: int
    years: int
    n_days: int
    start: date
    rain_m: Floats
    draws: DrawTrace
    use_names: tuple[str, ...]
    cuts_s: Floats  # (n, 2) start and end
    sleeve_factor: float
    window_factor: float
    lives: dict[str, Floats]  # unit exponentials by part
    cartridges: dict[str, Floats]  # standard normals by stage: the first cartridge, the second ...
    reading_noise: Floats  # (n_days, channels) standard normal
    adherence: Floats  # (tasks, occasions) uniform
    delay: Floats  # (tasks, occasions) unit exponential
    other_jobs_s: Floats
    slips: Floats  # (tasks, times done, steps) uniform
    noticing: Floats  # (tasks, times done, steps) unit exponential
    samples: Floats  # (occasions,) uniform


def days_of(start: date, years: int) -> int:
    """Return the number of days from a date to the same date some years on."""
    try:
        end = start.replace(year=start.year + years)
    except ValueError:  # 29 February
        end = start.replace(year=start.year + years, day=28) + timedelta(days=1)
    return (end - start).days


def _rain(basis: Basis, found: RainRecord | None, n_days: int, seed: int, replication: int) -> Floats:
    rng = stream(seed, replication, Source.RAIN)
    return rain_m(basis.rain, found, np.datetime64(basis.start, "D"), n_days, replication, rng)


def end_uses(house: House) -> list[EndUse]:
    """Return the numbers of all end uses of a house."""
    return [_end_use(use, house.habit_factor) for use in house.uses]


def _end_use(use: Use, habit_factor: float) -> EndUse:
    return EndUse(
        name=use.name,
        bound=use.bound,
        events_per_person_day=use.events_per_person_day,
        volume_m3=use.volume_m3,
        duration_s=use.duration_s * habit_factor,
        flow_m3_s=use.flow_m3_s,
        reference_pa=use.reference_pa,
        flow_cv=use.flow_cv,
        size_cv=use.size_cv,
        fills_per_event=use.fills,
        fill_gap_s=use.fill_gap_s,
        patience_s=use.patience_s,
        weekday_profile=profile(use.weekday),
        weekend_profile=profile(use.weekend),
        day_cv=use.day_cv,
    )


def draws_of(basis: Basis, n_days: int, seed: int, replication: int) -> DrawTrace:
    """Draw the draws of one replication of all houses of one basis."""
    house = basis.house
    rng = stream(seed, replication, Source.DAYS)
    weekday = basis.start.weekday()
    factors = day_factors(n_days, house.day_factor_cv, rng, house.day_kept_share)
    factors *= week_factors(n_days, weekday, house.weekend_ratio)
    people = presence(
        n_days,
        house.people,
        house.away_spans_per_year,
        max(house.away_s / DAY_S, 1.0),
        house.guest_days_per_year / 3.0,
        3.0,
        house.guests,
        rng,
    )
    a_day = house.sessions_per_person_day + sum(use.events_per_person_day * use.fills for use in house.uses)
    millions = a_day * float(people.sum()) / 1e6
    if millions * 1e6 > MOST_DRAWS:
        raise InputError(
            f"house: some {millions:,.0f} million draws and sessions in {n_days} days; wanted "
            f"{MOST_DRAWS / 1e6:.0f} million at most, by fewer people, uses, sessions or years"
        )
    generators = [stream(seed, replication, Source.USES + i) for i in range(len(house.uses))]
    sessions = _sessions(house, people * factors, weekday, stream(seed, replication, Source.SESSIONS))
    return generate(end_uses(house), people, factors, weekday, generators, sessions)


def _sessions(house: House, expected_people: Floats, weekday: int, rng: Generator) -> Sessions | None:
    if house.sessions_per_person_day == 0.0:
        return None
    habit = SessionHabit(
        house.sessions_per_person_day, house.session_median_s, house.session_spread, profile("indoor")
    )
    return sessions_of(expected_people, weekend(expected_people.size, weekday), habit, rng)


def _cuts(basis: Basis, n_days: int, seed: int, replication: int) -> Floats:
    rng, cuts = stream(seed, replication, Source.POWER), basis.power
    count = int(rng.poisson(cuts.saifi_per_year * n_days / YEAR_DAYS))
    start = np.sort(rng.uniform(0.0, n_days * DAY_S, count))
    beyond = rng.standard_normal(count)
    length = power.cut_lengths_s(beyond, cuts.saifi_per_year, cuts.saidi_s, cuts.cut_spread)
    merged: list[list[float]] = []
    for begin, end in zip(start, start + length, strict=True):
        if merged and begin <= merged[-1][1]:
            merged[-1][1] = max(merged[-1][1], float(end))
        else:
            merged.append([float(begin), float(end)])
    return np.array(merged).reshape(-1, 2)


def _noise(basis: Basis, n_days: int, seed: int, replication: int) -> Floats:
    """Return the noise of readings: a column for each stage by its name, then precharge and light."""
    stages = [
        of_stage(seed, replication, Source.READINGS, name).standard_normal(n_days) for name in basis.stages
    ]
    others = stream(seed, replication, Source.READINGS).standard_normal((n_days, 2))
    return np.column_stack([*stages, others])


def _chances(
    basis: Basis, seed: int, replication: int, source: Source, draw: Callable[..., Floats], *size: int
) -> Floats:
    """Return a table of chances: a row for each task, then for each task on each stage by its name.

    A stage that is left out, or comes in, leaves the others what they had: designs stay paired.
    """
    tasks = draw(stream(seed, replication, source), (basis.tasks, *size))
    stages = [draw(of_stage(seed, replication, source, name), (1, *size)) for name in basis.on_stages]
    return np.concatenate([tasks, *stages])


def common_inputs(
    scenario: Scenario,
    replication: int,
    seed: int,
    years: int,
    rain_record: RainRecord | None = None,
    draws: dict[str, npt.NDArray[np.generic]] | None = None,
) -> Common:
    """Draw everything random of one replication."""
    return common_of(basis_of(scenario), replication, seed, years, rain_record, draws)


def common_of(
    basis: Basis,
    replication: int,
    seed: int,
    years: int,
    rain_record: RainRecord | None = None,
    draws: dict[str, npt.NDArray[np.generic]] | None = None,
) -> Common:
    """Draw everything random of one replication of all houses of one basis."""
    n_days, times = days_of(basis.start, years), (_TIMES_DONE, basis.steps)
    spread = basis.film_spread
    site = stream(seed, replication, Source.SITE).standard_normal(2)
    factors = np.exp(spread * site - 0.5 * spread * spread)
    lives = stream(seed, replication, Source.LIVES)
    jobs = stream(seed, replication, Source.OTHER_JOBS)
    rate = basis.other_jobs_per_s
    count = math.ceil(rate * n_days * DAY_S * 1.5) + 20
    gaps = jobs.standard_exponential(count) / rate if rate > 0 else np.full(1, np.inf)
    return Common(
        replication=replication,
        years=years,
        n_days=n_days,
        start=basis.start,
        rain_m=_rain(basis, rain_record, n_days, seed, replication),
        draws=from_record(**draws) if draws else draws_of(basis, n_days, seed, replication),  # type: ignore[arg-type]
        use_names=tuple(use.name for use in basis.house.uses),
        cuts_s=_cuts(basis, n_days, seed, replication),
        sleeve_factor=float(factors[0]),
        window_factor=float(factors[1]),
        lives={part: lives.standard_exponential(64) for part in PARTS},
        cartridges={
            name: of_stage(seed, replication, Source.CARTRIDGES, name).standard_normal(_OCCASIONS)
            for name in basis.stages
        },
        reading_noise=_noise(basis, n_days, seed, replication),
        adherence=_chances(basis, seed, replication, Source.ADHERENCE, Generator.random, _OCCASIONS),
        delay=_chances(basis, seed, replication, Source.DELAY, Generator.standard_exponential, _OCCASIONS),
        other_jobs_s=np.cumsum(gaps),
        slips=_chances(basis, seed, replication, Source.SLIPS, Generator.random, *times),
        noticing=_chances(basis, seed, replication, Source.NOTICING, Generator.standard_exponential, *times),
        samples=stream(seed, replication, Source.SAMPLES).random(_OCCASIONS),
    )
