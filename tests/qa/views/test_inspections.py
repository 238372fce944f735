"""The inspection page: one tap where all is well, and only what is wrong asks for more."""

import pytest
from django.urls import reverse

from qa.calc.inspections import Answer
from qa.models import Inspection, InspectionFinding, Remedy, SourceChange
from tests.clock import TODAY
from tests.core.services.test_uploads import photo, sent
from tests.factories import InspectionFactory, InspectionFindingFactory

GROUPS = ("all_water", "all_surface", "all_dirt", "all_winter")


def page_of(firm):
    return reverse("qa:inspection-create", args=[firm.surface.pk])


def everything(**more):
    return {"inspected_on": TODAY.isoformat()} | dict.fromkeys(GROUPS, "on") | more


@pytest.fixture
def field(client, firm):
    client.force_login(firm.technician)
    return client


def test_one_tap_says_that_all_is_in_order(field, firm):
    answer = field.post(
        page_of(firm), {"inspected_on": TODAY.isoformat(), "everything": "in_order"}, follow=True
    )

    inspection = Inspection.objects.get()
    assert "Inspection stored: all in order." in answer.content.decode()
    assert set(inspection.checklist.answers.values()) == {Answer.IN_ORDER}
    assert not inspection.findings.exists()


def test_one_tap_a_group_does_the_same(field, firm):
    field.post(page_of(firm), everything())

    assert set(Inspection.objects.get().checklist.answers.values()) == {Answer.IN_ORDER}


def test_what_nobody_answered_is_asked_for_by_name_and_nothing_is_stored(field, firm):
    sent_ = everything()
    del sent_["all_dirt"]

    page = field.post(page_of(firm), sent_ | {"weeds-answer": "in_order", "note": "typed"}).content.decode()

    assert "Not answered yet: staining, sediment on it, planting and soil next to it." in page
    assert "typed" in page
    assert not Inspection.objects.exists()


def test_what_is_wrong_becomes_findings_with_photos_and_the_rest_is_in_order(field, firm):
    wrong = {
        "sediment-answer": "wrong",
        "sediment-what": "Sand along the bed",
        "sediment-comes_from": "the bed",
        "sediment-severity": "soon",
        "sediment-photos": sent(photo()),
        "joints-answer": "wrong",
        "joints-what": "Low under the wheels",
        "joints-depth_mm": "18",
        "joints-severity": "minor",
        "outlet-answer": "not_seen",
    }

    field.post(page_of(firm), everything(**wrong))

    inspection = Inspection.objects.get()
    sediment, joints = inspection.findings.order_by("due_on")
    assert (sediment.comes_from, joints.depth_mm) == ("the bed", 18.0)
    assert sediment.attachments.count() == 1
    answers = inspection.checklist.answers
    assert (answers["sediment"], answers["joints"], answers["outlet"], answers["weeds"]) == (
        "wrong",
        "wrong",
        "not_seen",
        "in_order",
    )


def test_a_depth_is_typed_in_the_persons_units(field, firm):
    firm.technician.units = "us"
    firm.technician.save()
    wrong = {
        "joints-answer": "wrong",
        "joints-what": "Low",
        "joints-depth_mm": "1",
        "joints-severity": "soon",
    }

    field.post(page_of(firm), everything(**wrong))

    assert InspectionFinding.objects.get().depth_mm == pytest.approx(25.4)


def test_what_is_wrong_must_be_said_and_stays_typed(field, firm):
    page = field.post(
        page_of(firm), everything(**{"edges-answer": "wrong", "edges-where": "by the gate"})
    ).content.decode()

    assert "Edges, What is wrong: This field is required." in page
    assert "by the gate" in page
    assert not Inspection.objects.exists()


def test_a_well_is_read_by_hours_and_levels(field, firm):
    field.post(page_of(firm), everything(**{"well-0-hours": "6", "well-0-water_mm": "120"}))

    (reading,) = Inspection.objects.get().well.readings
    assert (reading.hours, reading.water_mm) == (6.0, 120.0)


def test_a_level_without_its_time_is_refused(field, firm):
    page = field.post(page_of(firm), everything(**{"well-0-water_mm": "120"})).content.decode()

    assert "Observation well, level 1: Give the hours and the water level, or neither." in page


def test_the_same_sending_again_leads_to_the_stored_one_with_a_plain_message(field, firm):
    key = field.get(page_of(firm)).context["form"]["device_id"].value()
    first = field.post(page_of(firm), everything(device_id=str(key)))

    second = field.post(page_of(firm), everything(device_id=str(key)), follow=True)

    assert second.redirect_chain[0][0] == first.url
    assert "This was stored already" in second.content.decode()
    assert Inspection.objects.count() == 1


def test_a_surface_without_joints_is_not_asked_for_them(field, firm):
    firm.surface.surface_type = "porous_asphalt"
    firm.surface.save()

    page = field.get(page_of(firm)).content.decode()

    assert "joints-answer" not in page
    assert "cracks-answer" in page


def test_the_note_is_the_firms_and_the_rest_the_owners_too(client, firm):
    inspection = InspectionFactory(surface=firm.surface, note="a-note", winter_practice="a-practice")
    shown = {}
    for name in ("technician", "owner_person"):
        client.force_login(getattr(firm, name))
        shown[name] = client.get(inspection.get_absolute_url()).content.decode()

    assert "a-note" in shown["technician"]
    assert "a-note" not in shown["owner_person"]
    assert "a-practice" in shown["owner_person"]


def test_a_finding_is_added_later_and_put_right_with_a_photo(field, firm):
    inspection = InspectionFactory(surface=firm.surface)
    add = f"{reverse('qa:finding-create', args=[inspection.pk])}?item=edges"
    field.post(add, {"what": "Gap", "severity": "soon"})
    finding = InspectionFinding.objects.get()

    field.post(
        reverse("qa:remedy-create", args=[finding.pk]),
        {"what": "Set", "done_by": "Crew", "done_on": TODAY.isoformat(), "photos": sent(photo())},
    )

    assert (finding.item, Remedy.objects.get().attachments.count()) == ("edges", 1)
    assert "corrected" in field.get(finding.get_absolute_url()).content.decode()


def test_a_finding_is_corrected_with_a_reason(field, firm):
    finding = InspectionFindingFactory(inspection__surface=firm.surface)
    typed = {"what": "Mud", "severity": "minor", "due_on": "2024-09-01", "reason": "It was mud."}

    answer = field.post(reverse("qa:finding-correct", args=[finding.pk]), typed, follow=True)

    assert "It was mud." in answer.content.decode()
    assert InspectionFinding.objects.active().get().what == "Mud"


def test_a_change_of_source_is_recorded_for_the_finding_it_is_about(field, firm):
    finding = InspectionFindingFactory(inspection__surface=firm.surface)
    url = reverse("qa:source-change-create", args=[firm.surface.pk])
    form = field.get(f"{url}?finding={finding.pk}").context["form"]
    assert form["finding"].value() == str(finding.pk)

    typed = {"kind": "stopped", "changed_on": TODAY.isoformat(), "source": "Bed", "what": "Kerb"}
    field.post(url, typed | {"finding": str(finding.pk)})

    assert SourceChange.objects.get().finding == finding
    assert not InspectionFinding.objects.to_do().exists()
