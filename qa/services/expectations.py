"""What the app above expects of a surface, for a word before an odd result is stored.

Forecasts stand on tests, so that this app must not know of them. Whoever makes them registers itself here when it
starts; where nobody did, nothing is expected and nothing is odd.
"""

from collections.abc import Callable
from datetime import date

from qa.calc.surprise import ExpectedRate
from qa.models import Surface

Expects = Callable[[Surface, date], ExpectedRate | None]


def _nothing(_surface: Surface, _on: date) -> None:
    return None


_registered: list[Expects] = [_nothing]


def register(expects: Expects) -> None:
    """Have this asked from now on; called once, when the app above starts."""
    _registered[:] = [expects]


def expected_rate(surface: Surface, on: date) -> ExpectedRate | None:
    """What is expected of a surface on a day; None where nothing is."""
    return _registered[0](surface, on)
