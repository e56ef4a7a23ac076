"""When each task was last done, by what a diary notes."""

from datetime import date

from sim.diary.book import Diary
from sim.scenario.care import READINGS, Policy


def last_done(diary: Diary, policy: Policy, until: date) -> dict[str, date]:
    """Return the last day of each task a policy does by the calendar, by its label, as far as it is noted."""
    wanted = {rule.label for rule in policy.rules if rule.when == "calendar"}
    found = {act.label: act.at.date() for act in diary.acts if act.label in wanted and act.at.date() <= until}
    read = [one.at.date() for one in diary.readings if one.at.date() <= until]
    return found | ({READINGS: max(read)} if read and policy.reading_every_s else {})
