"""Numbers and days of French pages.

Django writes every number of a template by these, those in drawings and addresses too, where a comma would be a fault;
so the decimal point stays, and numbers for people go through `core/calc/format.py`. Browsers ask for days as ISO 8601.
"""

DECIMAL_SEPARATOR = "."
THOUSAND_SEPARATOR = "\u202f"
NUMBER_GROUPING = 3
DATE_FORMAT = "j M Y"
DATETIME_FORMAT = "j M Y, H:i"
DATE_INPUT_FORMATS = ["%Y-%m-%d", "%d/%m/%Y"]
TIME_INPUT_FORMATS = ["%H:%M", "%H:%M:%S"]
DATETIME_INPUT_FORMATS = ["%Y-%m-%dT%H:%M", "%Y-%m-%dT%H:%M:%S", "%Y-%m-%d %H:%M", "%d/%m/%Y %H:%M"]
