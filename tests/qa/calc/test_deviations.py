"""Numbers that cannot be are refused in words for the person who entered them."""

from math import inf, nan

import pytest

from core.errors import UnusableRecordError
from qa.calc.deviations import require_not_negative, require_positive


@pytest.mark.parametrize("value", [1e-12, 1.0, 1e12])
def test_a_number_above_nothing_is_accepted(value):
    require_positive("Mass", value, "kg", "Weigh it.")
    require_not_negative("Mass", value, "kg")


def test_nothing_is_not_positive_and_not_negative():
    require_not_negative("Delay", 0.0, "s")
    with pytest.raises(UnusableRecordError, match=r"Mass must be more than 0 kg, got 0\. Weigh it\."):
        require_positive("Mass", 0.0, "kg", "Weigh it.")


@pytest.mark.parametrize("value", [-1e-12, -1.0, inf, -inf, nan])
def test_what_is_negative_or_no_number_is_refused_with_its_value(value):
    with pytest.raises(UnusableRecordError, match=f"Mass must be more than 0 kg, got {value:g}"):
        require_positive("Mass", value, "kg", "Weigh it.")
    with pytest.raises(UnusableRecordError, match=f"Delay must be 0 s or more, got {value:g}"):
        require_not_negative("Delay", value, "s")
