"""The database itself holds that nothing points at what was removed: a control of the search for rows."""

import pytest
from django.apps import apps
from django.db import IntegrityError

from accounts.calc.roles import Role
from accounts.models import Organisation, Owner
from operations.services import removal
from tests.factories import MembershipFactory

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def firm():
    organisation = MembershipFactory(role=Role.ADMIN).organisation
    Owner.objects.create(organisation=organisation, name="School trust")
    return organisation


def test_what_is_found_goes_and_the_file_is_written_anew(firm):
    removal.remove_firm(firm=firm, name=firm.name)

    assert not Organisation.objects.exists()
    assert not Owner.objects.exists()


def test_a_row_that_was_overlooked_stops_the_removal(firm, monkeypatch):
    keys = removal._keys()
    left = {model: [key for key in keys[model] if key[0] is not Owner] for model in apps.get_models(True)}
    monkeypatch.setattr(removal, "_keys", lambda: left)

    with pytest.raises(IntegrityError):
        removal.remove_firm(firm=firm, name=firm.name)

    assert Organisation.objects.filter(pk=firm.pk).exists()
