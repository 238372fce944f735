"""Rows of what phones sent and hold."""

from uuid import uuid4

import factory
from django.utils.timezone import now
from factory.django import DjangoModelFactory

from fieldwork.models import FieldEntry, HeldEntry, Phone
from tests.factories import MembershipFactory, OrganisationFactory


class FieldEntryFactory(DjangoModelFactory):
    """Stored a moment ago."""

    class Meta:
        model = FieldEntry

    organisation = factory.SubFactory(OrganisationFactory)
    person = factory.LazyAttribute(lambda made: MembershipFactory(organisation=made.organisation).user)
    device = factory.LazyFunction(uuid4)
    path = "/surfaces/"
    title = "Test round"
    digest = "0" * 64
    made_at = factory.LazyFunction(now)
    sent_at = factory.LazyFunction(now)
    received_at = factory.LazyFunction(now)
    offset_s = 0.0
    row_pk = factory.LazyFunction(lambda: str(uuid4()))
    url = "/surfaces/"


class PhoneFactory(DjangoModelFactory):
    """Heard of a moment ago, with nothing to worry about."""

    class Meta:
        model = Phone

    organisation = factory.SubFactory(OrganisationFactory)
    person = factory.LazyAttribute(lambda made: MembershipFactory(organisation=made.organisation).user)
    device = factory.LazyFunction(uuid4)
    agent = "Chromium on Android"
    last_contact_at = factory.LazyFunction(now)
    is_protected = True
    offset_s = 0.0


class HeldEntryFactory(DjangoModelFactory):
    """Waits on a phone."""

    class Meta:
        model = HeldEntry

    phone = factory.SubFactory(PhoneFactory)
    entry = factory.LazyFunction(uuid4)
    title = "Test round"
    about = "Yard"
    made_at = factory.LazyFunction(now)
    state = "waiting"
