"""Editing forms that notice what somebody else stored: what counts as changed, how it is said, and what is held."""

import re
from datetime import date

import pytest
from django.core.exceptions import ValidationError
from django.db import connection, transaction
from django.http import QueryDict
from django.test.utils import CaptureQueriesContext
from hypothesis import given
from hypothesis import strategies as st

from accounts.forms.people import OrganisationForm, OwnerForm, ProfileForm
from core.calc.months import Months
from core.forms.fresh import FreshForm, held, lists_of, mark_of, marks_of
from planning.calc.vocabulary import TaskOutcome
from planning.forms.crews import CrewForm
from planning.forms.day_end import DayToldForm, TaskToldForm
from planning.forms.visits import VisitForm
from planning.models import Crew, VisitTask
from planning.services.visits import end_task
from qa.forms.sites import SiteForm
from qa.forms.surfaces import SurfaceForm
from qa.models import Site, Surface
from tests.factories import CrewFactory, OwnLimitFactory, VisitFactory, VisitTaskFactory


def page_of(form):
    """What a browser would send of a form that nobody touched."""
    values = {name: form[name].value() for name in form.fields}
    lists = {name: value if isinstance(value, list | tuple) else [value] for name, value in values.items()}
    data = QueryDict(mutable=True)
    for name, several in lists.items():
        given = [getattr(one, "pk", one) for one in several]
        sent = [str(one) for one in given if one not in (None, False, "")]
        if sent:
            data.setlist(name, sent)
    return data


def opened(form_class, row, **how):
    """The page of a row as somebody has it open."""
    return page_of(form_class(instance=row, **how))


def sent(form_class, row, data, **how):
    """The form as a later request reads it: the row is fetched anew."""
    return form_class(data, instance=type(row)._base_manager.get(pk=row.pk), **how)


def told(form):
    """What the form says is changed."""
    (said,) = form.non_field_errors()
    return said


# ---- Marks ---------------------------------------------------------------------------------------

VALUES = st.one_of(
    st.none(), st.booleans(), st.integers(), st.floats(allow_nan=False), st.text(max_size=20), st.dates()
)


@given(VALUES, VALUES)
def test_two_values_have_one_mark_only_where_they_are_the_same(one, other):
    assert (mark_of(one) == mark_of(other)) == (repr(one) == repr(other))


@given(VALUES)
def test_a_mark_is_short_and_tells_nothing_of_the_value(value):
    assert re.fullmatch(r"[0-9a-f]{10}", mark_of(value))


def test_a_row_has_a_mark_for_each_column_and_asks_for_no_row_behind_a_key(firm):
    site = Site.objects.get(pk=firm.site.pk)

    with CaptureQueriesContext(connection) as asked:
        marks = marks_of(site, ["owner", "name", "frost_months"])

    assert len(marks.split(".")) == 3
    assert len(asked) == 0


def test_the_people_of_a_crew_have_one_mark_in_whatever_order_they_came(firm):
    crew, other = (CrewFactory(organisation=firm.organisation) for _ in range(2))
    crew.people.set([firm.viewer, firm.technician])
    other.people.set([firm.technician, firm.viewer])

    same = marks_of(crew, ["people"]) == marks_of(other, ["people"])
    other.people.remove(firm.viewer)

    assert same
    assert marks_of(crew, ["people"]) != marks_of(other, ["people"])


def test_a_form_that_makes_a_row_carries_no_marks(firm):
    form = OwnerForm(instance=type(firm.owner)(organisation=firm.organisation))

    assert "seen" not in form.fields
    assert form.stored_marks == ""


def test_marks_are_of_the_page_and_not_among_what_is_stored(firm):
    form = sent(ProfileForm, firm.admin, opened(ProfileForm, firm.admin))

    assert form.is_valid()
    assert set(form.cleaned_data) == {"full_name", "language", "units"}


def test_a_form_writes_the_columns_it_names_and_those_behind_fields_of_another_name(firm):
    columns = SurfaceForm(instance=firm.surface).columns()

    assert {"limit_preset", "own_limit", "area_m2"} <= set(columns)
    assert "rule" not in columns


# ---- What is said --------------------------------------------------------------------------------


def test_nothing_is_said_where_nothing_changed(firm):
    assert sent(SiteForm, firm.site, opened(SiteForm, firm.site)).is_valid()


def test_every_changed_column_is_named_with_its_value_of_now(firm):
    page = opened(OwnerForm, firm.owner)
    type(firm.owner).objects.filter(pk=firm.owner.pk).update(phone="0100 1", email="new@owner.example")

    said = told(sent(OwnerForm, firm.owner, page))

    assert said.startswith("Changed since this page was opened")
    assert "E-mail for reports is now new@owner.example; Phone is now 0100 1." in said
    assert said.endswith("save again to put your entries in their place, or reload the page to keep theirs.")


def test_a_value_that_was_emptied_is_said_to_be_empty(firm):
    firm.owner.phone = "0100 1"
    firm.owner.save()
    page = opened(OwnerForm, firm.owner)
    type(firm.owner).objects.filter(pk=firm.owner.pk).update(phone="")

    assert "Phone is now empty" in told(sent(OwnerForm, firm.owner, page))


@pytest.mark.parametrize(("now", "word"), [(True, "yes"), (False, "no")])
def test_a_tick_is_said_in_words(firm, now, word):
    firm.organisation.second_factor = not now
    firm.organisation.save()
    page = opened(OrganisationForm, firm.organisation)
    type(firm.organisation).objects.filter(pk=firm.organisation.pk).update(second_factor=now)

    assert f"Ask for a second factor is now {word}" in told(sent(OrganisationForm, firm.organisation, page))


def test_a_choice_is_said_by_its_name(firm):
    page = opened(ProfileForm, firm.admin)
    type(firm.admin).objects.filter(pk=firm.admin.pk).update(units="us")

    said = told(sent(ProfileForm, firm.admin, page))

    assert f"Units is now {firm.admin._meta.get_field('units').choices[1][1]}" in said


def test_a_row_that_was_chosen_is_said_by_its_name_and_not_by_its_id(firm):
    north, south = (CrewFactory(organisation=firm.organisation, name=name) for name in ("North", "South"))
    visit = VisitFactory(crew=north)
    page = opened(VisitForm, visit)
    type(visit).objects.filter(pk=visit.pk).update(crew=south)

    said = told(sent(VisitForm, visit, page))

    assert "Crew is now South" in said
    assert str(south.pk) not in said


def test_people_of_a_crew_are_said_by_name(firm):
    crew = CrewFactory(organisation=firm.organisation)
    crew.people.set([firm.viewer])
    page = opened(CrewForm, crew)
    crew.people.set([firm.technician])

    said = told(sent(CrewForm, crew, page))

    assert f"is now {firm.technician}" in said
    assert str(firm.viewer) not in said


def test_a_crew_that_everybody_left_is_said_to_be_empty(firm):
    crew = CrewFactory(organisation=firm.organisation)
    crew.people.set([firm.viewer])
    page = opened(CrewForm, crew)
    crew.people.clear()

    assert "is now empty" in told(sent(CrewForm, crew, page))


def test_months_are_said_by_name(firm):
    page = opened(SiteForm, firm.site)
    site = Site.objects.get(pk=firm.site.pk)
    site.frost_months = Months((1, 12))
    site.save()

    said = told(sent(SiteForm, firm.site, page))

    assert "Frost months is now January, December" in said


@pytest.mark.parametrize(("units", "said"), [("si", "1200"), ("us", "12917")])
def test_a_measured_value_is_said_in_the_persons_units(firm, units, said):
    Surface.objects.filter(pk=firm.surface.pk).update(agreed_limit_mm_h=254.0)
    row = Surface.objects.get(pk=firm.surface.pk)
    page = opened(SurfaceForm, row, units=units)
    Surface.objects.filter(pk=row.pk).update(area_m2=1200.0)

    assert f"Area is now {said}" in told(sent(SurfaceForm, row, page, units=units))


def test_a_size_is_said_in_fractions_of_an_inch_to_who_types_them(firm):
    Surface.objects.filter(pk=firm.surface.pk).update(agreed_limit_mm_h=254.0)
    row = Surface.objects.get(pk=firm.surface.pk)
    page = opened(SurfaceForm, row, units="us")
    Surface.objects.filter(pk=row.pk).update(joint_width_mm=9.525)

    assert "is now 3/8" in told(sent(SurfaceForm, row, page, units="us"))


def test_a_column_behind_a_field_of_another_name_is_said_to_be_another(firm):
    own = OwnLimitFactory(organisation=firm.organisation)
    Surface.objects.filter(pk=firm.surface.pk).update(agreed_limit_mm_h=254.0)
    row = Surface.objects.get(pk=firm.surface.pk)
    page = opened(SurfaceForm, row)
    Surface.objects.filter(pk=row.pk).update(own_limit=own)

    assert "Own limit is now another" in told(sent(SurfaceForm, row, page))


def test_who_stored_it_last_and_when_is_said_where_it_is_kept(firm):
    page = opened(OwnerForm, firm.owner)
    owner = type(firm.owner).objects.get(pk=firm.owner.pk)
    owner.phone, owner._history_user = "0100 1", firm.coordinator
    owner.save()

    said = told(sent(OwnerForm, firm.owner, page))

    assert re.search(rf"opened by {firm.coordinator} at \d+\xa0\w+\xa0\d{{4}}, \d\d:\d\d UTC:", said)


# ---- What counts as seen -------------------------------------------------------------------------


def test_what_was_told_once_is_not_told_again(firm):
    page = opened(OwnerForm, firm.owner)
    type(firm.owner).objects.filter(pk=firm.owner.pk).update(phone="0100 1")
    first = sent(OwnerForm, firm.owner, page)
    first.is_valid()

    again = sent(OwnerForm, firm.owner, first.data)

    assert again.is_valid()


def test_a_second_change_after_the_first_was_told_is_told_too(firm):
    page = opened(OwnerForm, firm.owner)
    rows = type(firm.owner).objects.filter(pk=firm.owner.pk)
    rows.update(phone="0100 1")
    first = sent(OwnerForm, firm.owner, page)
    first.is_valid()
    rows.update(address="Elsewhere 2")

    said = told(sent(OwnerForm, firm.owner, first.data))

    assert "Address is now Elsewhere 2" in said
    assert "Phone" not in said


@pytest.mark.parametrize("marks", [None, "", "x", "a.b", "." * 50])
def test_what_comes_from_no_page_of_ours_is_judged_by_its_values_alone(firm, marks):
    page = opened(OwnerForm, firm.owner)
    del page["seen"]
    if marks is not None:
        page["seen"] = marks
    type(firm.owner).objects.filter(pk=firm.owner.pk).update(phone="0100 1")

    assert sent(OwnerForm, firm.owner, page).is_valid()


def test_a_prefix_keeps_the_marks_of_two_forms_apart(firm):
    row = type(firm.owner).objects.get(pk=firm.owner.pk)
    of_an_older_page = ".".join("0" for _ in OwnerForm(instance=row).columns())
    form = OwnerForm({"a-name": "Mine", "a-seen": of_an_older_page}, instance=row, prefix="a")

    assert "is now" in told(form)
    assert form.data["a-seen"] == form.stored_marks


# ---- Held ----------------------------------------------------------------------------------------


def test_a_row_that_changed_between_the_look_and_the_saving_is_told_and_not_written(firm):
    form = sent(OwnerForm, firm.owner, opened(OwnerForm, firm.owner))
    assert form.is_valid()
    type(firm.owner).objects.filter(pk=firm.owner.pk).update(phone="0100 1")

    with pytest.raises(ValidationError, match="Phone is now 0100 1"), held(form):
        raise AssertionError("Nothing may be stored here.")


def test_after_that_the_page_shows_their_value_as_seen(firm):
    form = sent(OwnerForm, firm.owner, opened(OwnerForm, firm.owner))
    form.is_valid()
    type(firm.owner).objects.filter(pk=firm.owner.pk).update(phone="0100 1")
    with pytest.raises(ValidationError), held(form):
        pass

    again = sent(OwnerForm, firm.owner, form.data)

    assert again.is_valid()
    with held(again):
        assert transaction.get_connection().in_atomic_block


def test_a_row_that_is_gone_meanwhile_is_told_by_its_name(firm):
    crew = CrewFactory(organisation=firm.organisation, name="North")
    form = sent(CrewForm, crew, opened(CrewForm, crew))
    form.is_valid()
    Crew.objects.filter(pk=crew.pk).delete()

    with pytest.raises(ValidationError, match=r"North was removed since this page was opened"), held(form):
        raise AssertionError("Nothing may be stored here.")


def test_a_new_row_and_a_form_of_no_row_are_held_to_nothing(firm):
    new = OwnerForm({"name": "New"}, instance=type(firm.owner)(organisation=firm.organisation))
    new.is_valid()

    with CaptureQueriesContext(connection) as asked, held(new):
        pass

    assert len(asked) == 0


def test_who_holds_a_row_that_stands_as_it_was_saves_and_others_see_it(firm):
    page = opened(OwnerForm, firm.owner)
    page["phone"] = "0100 7"
    form = sent(OwnerForm, firm.owner, page)
    assert form.is_valid()

    with held(form):
        form.save()

    assert type(firm.owner).objects.get(pk=firm.owner.pk).phone == "0100 7"


def test_a_form_whose_own_entries_are_wrong_still_says_what_changed(firm):
    page = opened(OwnerForm, firm.owner)
    page["name"] = ""
    type(firm.owner).objects.filter(pk=firm.owner.pk).update(phone="0100 1")

    form = sent(OwnerForm, firm.owner, page)

    assert not form.is_valid()
    assert "name" in form.errors
    assert "Phone is now 0100 1" in told(form)


def test_every_form_that_edits_knows_its_columns():
    """A field that no column stands behind would never be seen to change."""
    left, found = [FreshForm], []
    while left:
        subs = left.pop().__subclasses__()
        left += subs
        found += [sub for sub in subs if sub._meta.model is not None]

    bare = {
        f"{form.__name__}.{name}"
        for form in found
        for name in (form._meta.fields or ())
        if not hasattr(form._meta.model, name)
    }
    assert bare == {"LayerForm.place"}, (
        "where a row stands among the others is numbered anew with each of them"
    )


@pytest.mark.parametrize("data", [QueryDict("a=1&a=2&b=3"), {"a": "1", "b": "3"}])
def test_what_was_sent_can_be_changed_without_touching_the_request(data):
    lists = lists_of(data)
    lists["b"] = ["other"]

    assert data["b"] == "3"
    assert lists["a"] == (["1", "2"] if isinstance(data, QueryDict) else ["1"])


def test_a_day_is_said_in_words(firm):
    visit = VisitFactory(crew=CrewFactory(organisation=firm.organisation))
    page = opened(VisitForm, visit)
    type(visit).objects.filter(pk=visit.pk).update(visit_on=date(2032, 2, 3))

    assert "On is now 3\xa0Feb\xa02032" in told(sent(VisitForm, visit, page))


def test_a_form_of_no_model_and_the_forms_within_one_are_held_too(firm):
    tasks = [VisitTaskFactory(surface=firm.surface, outcome="", ended_at=None) for _ in range(2)]
    form = DayToldForm({}, tasks=tasks)
    form.parts = [
        TaskToldForm(opened_day(task) | {f"task-{task.pk}-outcome": ""}, task=task) for task in tasks
    ]
    assert all(part.is_valid() for part in form.parts)
    end_task(task=VisitTask.objects.get(pk=tasks[1].pk), outcome=TaskOutcome.NOT_DONE, reason="Rain.")

    with (
        pytest.raises(ValidationError, match=r"Outcome is now .*Why not, or what is left is now Rain\."),
        held(form),
    ):
        raise AssertionError("Nothing may be stored here.")


def opened_day(task):
    page = TaskToldForm(task=task)
    return {page.add_prefix("seen"): page.initial["seen"]}
