"""Steps that a page shows, worked out again from the page's own words."""

import math
import re

_UNIT = re.compile(r"(?<=[\d)])\s*(?:mm/h|in/h|m²/h|ft²/h|kg|lb|mm|in|m²|ft²|h|s|%|a year|[A-Z]{3})(?![\w/])")
_CODE = ((" · ", " * "), ("²", "**2"), (",", ""), ("\u202f", ""), ("−", "-"))


def value_of(text):
    """What an expression comes to, as it stands on a page: ln and exp, · for times, units behind numbers."""
    plain = re.sub(r"\bln ([\d.]+)", r"ln(\1)", _UNIT.sub("", text))
    for shown, code in _CODE:
        plain = plain.replace(shown, code)
    if not re.fullmatch(r"[\d\s.()+*/\-]*(?:(?:ln|exp)[\d\s.()+*/\-]*)*", plain):
        raise ValueError(f"{text!r} is no sum of numbers: {plain!r}")
    return float(eval(plain, {"__builtins__": {}}, {"ln": math.log, "exp": math.exp}))


def sides(line):
    """What a shown step works out, and what it says that comes to."""
    *_, expression, result = line.split(" = ")
    return value_of(expression), value_of(re.match(r"[\d.,\s]+", result).group())
