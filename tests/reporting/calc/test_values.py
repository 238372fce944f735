"""Values of snapshots."""

import pytest

from reporting.calc.values import UnitText, in_both


def test_a_sentence_reads_in_either_system():
    text = in_both(lambda units: f"in {units}")

    assert text == UnitText("in si", "in us")
    assert (text.in_units("si"), text.in_units("us")) == ("in si", "in us")


def test_another_system_is_refused():
    with pytest.raises(ValueError, match="imperial"):
        UnitText("a", "b").in_units("imperial")
