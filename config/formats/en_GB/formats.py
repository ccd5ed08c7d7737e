"""Dates carry the month in letters, so that no reader can take 3 May for 5 March."""

DATE_FORMAT = "j F Y"
DATETIME_FORMAT = "j F Y, H:i"
TIME_FORMAT = "H:i"
MONTH_DAY_FORMAT = "j F"
YEAR_MONTH_FORMAT = "F Y"
SHORT_DATE_FORMAT = "j M Y"
SHORT_DATETIME_FORMAT = "j M Y, H:i"
DECIMAL_SEPARATOR = "."
THOUSAND_SEPARATOR = ","
NUMBER_GROUPING = 3
