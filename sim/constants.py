"""Physical constants, one a line: value, unit, source."""

GRAVITY_M_S2 = 9.80665  # standard gravity, exact by definition (3rd CGPM, 1901)
ATMOSPHERE_PA = 101325.0  # standard atmosphere, exact by definition (10th CGPM, 1954)
LN10 = 2.302585092994046  # natural logarithm of ten: decadic to Naperian absorbance
HOUR_S = 3600.0  # seconds an hour, exact
DAY_S = 86400.0  # seconds a day, exact
YEAR_DAYS = 365.25  # Julian year, exact
YEAR_S = YEAR_DAYS * DAY_S
MONTH_S = YEAR_S / 12.0
MOST_YEARS = 50  # of a run
TRICKLE_M3_S = 1e-3 / 60.0  # a tap that gives less than 1 L/min counts as off [A]
SUSTAINED_CUT_S = (
    300.0  # SAIFI and SAIDI count longer interruptions (IEEE 1366, from memory; US EIA, table 11.1)
)
