"""Ids of sendings."""

from uuid import UUID

from hypothesis import given
from hypothesis import strategies as st

from api.calc.sendings import sending_id


@given(st.uuids(), st.lists(st.text(alphabet=st.characters(codec="ascii", exclude_characters="\x1f"))))
def test_the_same_sending_has_the_same_id(key, parts):
    assert sending_id(key, *parts) == sending_id(key, *parts)


@given(st.uuids(), st.uuids(), st.text(), st.text())
def test_another_key_or_another_content_has_another(key, other, one, two):
    assert (sending_id(key, one) == sending_id(other, two)) == ((key, one) == (other, two))


def test_where_parts_meet_makes_a_difference():
    key = UUID(int=1)

    assert sending_id(key, "ab", "c") != sending_id(key, "a", "bc")
