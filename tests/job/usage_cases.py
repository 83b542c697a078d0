"""Cases of ``test_rules`` about the use of the kitchen: one sound block in the harbour job, with one edit each."""

from tests.job.support import says

SOUND = """\
kitchen_use:
  day_types:
    - name: weekday
      runs: ["06:00-14:30", "17:00-01:00"]
      cooking:
        - {hours: "06:30-13:00", intensity: 40 %}
        - {hours: "22:00-01:00", intensity: 90 %, hoods: [H-2]}
      low_speed: ["13:00-14:00"]
    - {name: closed}
  week:
    monday: weekday
    tuesday: weekday
    wednesday: weekday
    thursday: weekday
    friday: weekday
    saturday: closed
    sunday: closed
  holidays:
    - {first: 12-22, last: 01-03, day: closed}
  collars:
    - {hoods: [H-1], idle: 92 degF, full: 131 degF}
  two_speed_low: 60 %
  investment: 9000
  prices: {per_kwh: 0.14, per_therm: 1.15}
  efficiencies: {fan: 55 %}
  makeup_air: {heats_to: 57 degF, cools_to: 80 degF}
"""


def use(old: str, new: str) -> list[tuple[str, str]]:
    """The sound block with one edit, as an edit of the harbour job."""
    assert SOUND.count(old) == 1, old
    return [("\nhoods:\n", "\n" + SOUND.replace(old, new) + "hoods:\n")]


DAY = "kitchen_use: day type 1"

USAGE_CASES = {
    "days_by_name": {
        "a name twice": (
            use("{name: closed}", "{name: weekday}"),
            says("- {name: weekday}", "kitchen_use: day type 2: name", "'weekday' already"),
            says("saturday: closed", "kitchen_use: week: saturday", "no day type 'closed'"),
            says("sunday: closed", "kitchen_use: week: sunday", "no day type 'closed'"),
            says("12-22", "kitchen_use: holiday 1: day", "no day type 'closed'"),
        ),
        "a weekday without its kind": (
            use("sunday: closed", "sunday: closd"),
            says("closd", "kitchen_use: week: sunday", "no day type 'closd'", "closed"),
        ),
        "no day of any year": (
            use("12-22", "02-30"),
            says("02-30", "kitchen_use: holiday 1: first", "02-30 is no day of a year"),
        ),
    },
    "hours_that_fit": {
        "cooking while the exhaust is off": (
            use("06:30-13:00", "05:30-13:00"),
            says("05:30", f"{DAY}: cooking span 1: hours", "runs 06:00-14:30, 17:00-01:00", "shorten it"),
        ),
        "low speed while the exhaust is off": (
            use("13:00-14:00", "13:00-15:00"),
            says("15:00", f"{DAY}: low_speed: entry 1", "low speed at 13:00-15:00"),
        ),
        "more than the rush": (
            use("90 %", "130 %"),
            says("130 %", f"{DAY}: cooking span 2: intensity", "130% is more than the rush"),
        ),
        "a hood that is not there": (
            use("[H-2]", "[H-9]"),
            says("H-9", f"{DAY}: cooking span 2: hood 1", "there is no hood H-9"),
        ),
        "a collar range upside down": (
            use("131 degF", "91 degF"),
            says("91 degF", "kitchen_use: collar range 1: full", "91 degF in the rush is not above 92 degF"),
        ),
    },
    "efficiencies_that_can_be": {
        "above one": (
            use("fan: 55 %", "fan: 155 %"),
            says("155 %", "kitchen_use: efficiencies: fan", "155% is no efficiency"),
        ),
        "no speed at all": (
            use("60 %", "0 %"),
            says("two_speed_low", "kitchen_use: two_speed_low", "0% is no low speed"),
        ),
        "heating against cooling": (
            use("80 degF", "55 degF"),
            says("55 degF", "kitchen_use: makeup_air: cools_to", "fight each other"),
        ),
        "money without prices": (
            use("  prices: {per_kwh: 0.14, per_therm: 1.15}\n", ""),
            says("investment", "kitchen_use: investment", "name the prices"),
        ),
    },
}
"""Rule -> name of the case -> edits of the harbour job, then every problem it must give."""
