"""What a test takes over from the one before it in its round, and how it sat at the spot the last time."""

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from accounts.calc.roles import Role
from core.calc.paving import TestMethod
from qa.forms.field_tests import carried_over
from qa.forms.rounds import SETTING
from qa.models import InfiltrationTest
from qa.selectors.rounds import test_before as before_in
from qa.selectors.spot_photos import last_photos, photos_before
from qa.services import rounds
from tests.core.services.test_uploads import photo
from tests.factories import (
    AttachmentFactory,
    InfiltrationTestFactory,
    LocationFactory,
    MembershipFactory,
    RoundFactory,
)
from tests.qa.views.test_before_saving import RING
from tests.qa.views.test_field_methods import recorded

pytestmark = pytest.mark.django_db


@pytest.fixture
def round_(firm):
    return RoundFactory(surface=firm.surface)


@pytest.fixture
def form_at(client, firm, round_):
    """The form of a new test of the round as the technician sees it."""
    client.force_login(firm.technician)

    def shown(query="", of=round_):
        return client.get(reverse("qa:test-create", args=[of.pk]) + query).context["form"]

    return shown


def another(firm):
    return MembershipFactory(organisation=firm.organisation, role=Role.TECHNICIAN).user


def test_the_first_test_of_a_round_starts_with_the_sizes_of_the_standard(form_at):
    form = form_at()

    assert [form[name].value() for name in SETTING] == ["si", 300.0, 3.6, ""]


def test_the_next_test_takes_over_ring_mass_seal_and_units(firm, round_, form_at):
    InfiltrationTestFactory(
        round=round_, recorded_by=firm.technician, unit_system="us", seal="clay",
        ring_diameter=12.1, prewet_mass=8.0, test_mass=8.0,
    )  # fmt: skip

    form = form_at()

    assert [form[name].value() for name in SETTING] == ["us", 12.1, 8.0, "clay"]
    assert form["elapsed_s"].value() is None


def test_another_round_starts_anew(firm, round_, form_at):
    InfiltrationTestFactory(
        round=RoundFactory(surface=firm.surface), recorded_by=firm.technician, seal="clay"
    )

    assert form_at()["seal"].value() == ""


def test_the_persons_own_test_comes_before_a_later_one_of_somebody_else(firm, round_):
    own = InfiltrationTestFactory(round=round_, recorded_by=firm.technician, seal="putty")
    theirs = InfiltrationTestFactory(round=round_, recorded_by=another(firm), seal="foam")

    assert before_in(round_, TestMethod.RING, firm.technician) == own
    assert before_in(round_, TestMethod.RING, firm.coordinator) == theirs
    assert before_in(round_, TestMethod.FLOODING, firm.technician) is None


def test_what_was_set_aside_or_not_prewetted_is_not_taken_over(firm, round_):
    first = InfiltrationTestFactory(round=round_, recorded_by=firm.technician, spot="gate")
    InfiltrationTestFactory(
        round=round_, recorded_by=firm.technician, spot="gate", sequence=2, rewetted=False, prewet_mass=None
    )
    voided = InfiltrationTestFactory(round=round_, recorded_by=firm.technician)
    rounds.void_test(test=voided, by=firm.technician, reason="Wrong ring")

    assert before_in(round_, TestMethod.RING, firm.technician) == first


def test_a_repeat_at_the_spot_goes_on_without_prewetting_and_keeps_the_ring(firm, round_, form_at):
    place = LocationFactory(surface=firm.surface, label="A")
    InfiltrationTestFactory(
        round=round_, location=place, spot="", recorded_by=firm.technician, ring_diameter=298.0
    )

    form = form_at(f"?location={place.pk}")

    assert (form["ring_diameter"].value(), form["prewet_mass"].value()) == (298.0, None)
    assert form["rewetted"].value() is False


def test_a_method_with_sizes_of_its_own_takes_those_over(firm):
    test = recorded(firm, TestMethod.FRAME)

    taken = carried_over(test)

    assert taken.pop("unit_system") == test.unit_system
    assert taken
    assert taken == {key: test.readings.once[key] for key in taken}
    assert "elapsed_s" not in taken


def test_a_photo_sent_with_a_test_hangs_on_it_and_comes_back_when_the_spot_is_tested_again(
    client, firm, round_, form_at
):
    place = LocationFactory(surface=firm.surface, label="A")
    client.force_login(firm.technician)
    data = RING | {"spot": "", "location": place.pk}
    photos = [SimpleUploadedFile("ring.jpg", photo()), SimpleUploadedFile("bad.jpg", b"no photo")]

    answer = client.post(reverse("qa:test-create", args=[round_.pk]), data | {"photos": photos}, follow=True)

    test = InfiltrationTest.objects.get()
    assert [each.original_name for each in test.attachments.all()] == ["ring.jpg"]
    assert any("bad.jpg" in str(each) for each in answer.context["messages"])
    later = RoundFactory(surface=firm.surface)
    page = client.get(reverse("qa:test-create", args=[later.pk])).content.decode()
    assert test.attachments.get().thumbnail_url() in page
    assert test.attachments.get().thumbnail_url() in client.get(test.get_absolute_url()).content.decode()


def test_photos_follow_a_correction(firm, round_):
    old = InfiltrationTestFactory(round=round_, spot="gate", recorded_by=firm.technician)
    file = AttachmentFactory(test=old)
    new = InfiltrationTest(round=round_, **{name: getattr(old, name) for name in (
        "spot", "prewet_mass", "prewet_time_s", "start_delay_s", "test_mass", "ring_diameter"
    )}, elapsed_s=160.0)  # fmt: skip

    rounds.correct_test(old=old, new=new, by=firm.technician, reason="Misread")

    file.refresh_from_db()
    assert file.test == new


def test_of_a_spot_the_photos_of_the_latest_test_that_has_any_are_shown(firm, round_):
    place, other = (LocationFactory(surface=firm.surface, label=label) for label in "AB")
    old, newer, bare = (InfiltrationTestFactory(round=round_, location=place, spot="") for _ in range(3))
    AttachmentFactory(test=old)
    shown = [AttachmentFactory(test=newer), AttachmentFactory(test=newer)]
    AttachmentFactory(test=newer, state="void", state_reason="Blurred")
    AttachmentFactory(test=newer, media_type="application/pdf", thumbnail="")
    AttachmentFactory(test=InfiltrationTestFactory(round=round_, spot="gate"))

    assert last_photos(firm.surface) == {place.pk: shown}
    assert photos_before(bare) == shown
    assert list(photos_before(newer)) == list(old.attachments.all())
    assert list(photos_before(old)) == []
    assert last_photos(other.surface).get(other.pk, ()) == ()


def test_a_test_or_round_set_aside_takes_its_photos_out_of_sight(firm, round_):
    place = LocationFactory(surface=firm.surface, label="A")
    test = InfiltrationTestFactory(round=round_, location=place, spot="")
    AttachmentFactory(test=test)

    rounds.void_test(test=test, by=firm.technician, reason="Wrong surface")

    assert last_photos(firm.surface) == {}


def test_the_photos_of_the_spots_cost_one_query(firm, round_, django_assert_num_queries):
    for label in "ABCD":
        place = LocationFactory(surface=firm.surface, label=label)
        AttachmentFactory(test=InfiltrationTestFactory(round=round_, location=place, spot=""))

    with django_assert_num_queries(1):
        found = last_photos(firm.surface)
        assert [photos[0].test.round.tested_on for photos in found.values()] == [round_.tested_on] * 4
