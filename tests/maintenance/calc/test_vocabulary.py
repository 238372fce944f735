"""What kinds of advice mean for the surface."""

from maintenance.calc.vocabulary import Action


def test_only_cleaning_and_rejointing_clean_a_surface():
    assert {action.value for action in Action if action.cleans} == {"clean", "rejoint"}
