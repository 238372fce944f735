"""Pages, forms and refusals of quality in French: numbers, days and plurals as a French reader has them."""

from datetime import date

import pytest
from django.core.exceptions import ValidationError
from django.template.loader import render_to_string
from django.utils.translation import override

from qa.calc.drain_down import WellReading, WellReadings
from qa.calc.limits import PRESETS
from qa.forms.limit_choice import rule_label
from qa.models import Surface
from qa.selectors.inspections import well_result
from qa.services.days import refuse_future
from qa.services.limits import work_out_limit
from qa.templatetags.measures import days_from, places
from tests.factories import InspectionFactory, SiteFactory, SurfaceFactory

TODAY = date(2026, 3, 3)


def plain(text):
    """With blanks as they are typed: French has others before its marks and units."""
    return text.replace("\u00a0", " ")


@pytest.mark.parametrize(
    ("day", "said"),
    [
        (date(2026, 3, 2), "en retard de 1 jour"),
        (date(2026, 2, 20), "en retard de 11 jours"),
        (date(2026, 3, 3), "aujourd’hui"),
        (date(2026, 3, 4), "dans 1 jour"),
        (date(2026, 6, 3), "dans 3 mois"),
    ],
)
def test_how_far_off_a_day_is(day, said):
    with override("fr"):
        assert days_from(day, TODAY) == said


def test_a_number_has_its_comma_and_an_english_one_its_point():
    with override("fr"):
        assert places(12.25, 1) == "12,3"
    assert places(12.25, 1) == "12.3"
    assert places(None, 1) == ""


@pytest.mark.parametrize(
    ("failed", "said"),
    [
        (1, "1 contrôle non satisfait et pas encore repris."),
        (2, "2 contrôles non satisfaits et pas encore repris."),
    ],
)
def test_failed_checks_are_counted(failed, said):
    one = {"row": {"get_absolute_url": "/"}, "check": {"asked": "Propre."}}

    with override("fr"):
        assert said in render_to_string("qa/_checks_failed.html", {"failed": [one] * failed})


def test_a_rule_says_its_values():
    with override("fr"):
        assert plain(rule_label(PRESETS["ontario"], "si")) == (
            "Ontario : nettoyer en dessous de 250 mm/h (vérifié à la source)"
        )


@pytest.mark.django_db
def test_what_a_well_showed():
    inspection = InspectionFactory(well=WellReadings((WellReading(2.5, 300.0), WellReading(12.5, 0.0))))
    inspection.surface.drain_limit_h = 72.0

    with override("fr"):
        said = well_result(inspection, inspection.surface).text

    assert plain(said) == (
        "Les granulats se sont vidés entre 2,5 et 12,5 h après la pluie. "
        "La structure doit être vide en 72 h (convenu pour cette surface) : vide à temps."
    )


@pytest.mark.django_db
def test_a_day_to_come_is_refused():
    with override("fr"), pytest.raises(ValidationError) as refused:
        refuse_future(SiteFactory(), "done_on", date(2999, 1, 1), "Enter the day it was done.")

    assert [plain(one) for one in refused.value.messages] == [
        "Le 1 janv. 2999 est encore à venir sur le site. Saisissez le jour où cela a été fait."
    ]


@pytest.mark.django_db
def test_the_source_of_a_limit_is_stored_in_the_language_of_the_firm():
    surface = SurfaceFactory(limit_preset="ontario")
    surface.organisation.language = "fr"

    work_out_limit(surface)

    assert plain(surface.limit_source).startswith("Ontario (nettoyer sous 250 mm/h) : Guide LID")


def test_labels_of_a_form_follow_the_reader():
    field = Surface._meta.get_field("opened_on")

    with override("fr"):
        assert str(field.verbose_name) == "ouverte le"
    assert str(field.verbose_name) == "opened on"
