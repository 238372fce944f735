"""The form of a build-up: what it starts from, its drawing, what is kept; and surfaces like another."""

import pytest
from django.urls import reverse

from qa.models import KeptBuildUp, Layer, Surface
from tests.clock import TODAY
from tests.factories import KeptBuildUpFactory, LayerFactory, SurfaceFactory
from tests.pages import as_shown


@pytest.fixture
def office(client, firm):
    client.force_login(firm.coordinator)
    return client


def url_of(surface):
    return reverse("qa:layer-edit", args=[surface.pk])


def sent(page, **more):
    """What a browser sends of a form as it stands."""
    formset = page.context["formset"]
    data = {
        f"layers-{name}": formset.management_form[name].value() for name in ("TOTAL_FORMS", "INITIAL_FORMS")
    }
    for form in formset:
        for name in form.fields:
            value = form[name].value()
            if value not in (None, "", False):
                data[form.add_prefix(name)] = value
    return data | more


def test_the_usual_layers_are_drawn_before_anything_is_stored(office, firm):
    page = office.get(url_of(firm.surface))

    assert "<svg" in page.content.decode().split("beside__picture")[1]
    assert not Layer.objects.exists()


def test_as_entered_they_are_drawn_and_not_stored(office, firm):
    data = sent(office.get(url_of(firm.surface)), show="1") | {"layers-0-thickness_mm": "123"}

    page = office.post(url_of(firm.surface), data)

    assert page.status_code == 200
    assert "123" in as_shown(page.content.decode()).split("beside__picture")[1]
    assert not Layer.objects.exists()


def test_what_cannot_be_read_is_not_drawn(office, firm):
    data = sent(office.get(url_of(firm.surface)), show="1") | {"layers-0-thickness_mm": "thick"}

    text = office.post(url_of(firm.surface), data).content.decode()

    assert "<svg" not in text.split("beside__picture")[1].split("</form>")[0]
    assert "data-error-summary" in text


def test_once_stored_it_says_what_was_stored_and_what_comes_next(office, firm):
    page = office.post(url_of(firm.surface), sent(office.get(url_of(firm.surface))), follow=True)

    text = as_shown(page.content.decode())
    assert f"The build-up of {firm.surface.name} is stored: {Layer.objects.count()} layers." in text
    assert reverse("qa:round-create", args=[firm.surface.pk]) in page.content.decode()


def test_layers_are_kept_and_offered_where_a_build_up_begins(office, firm):
    office.post(url_of(firm.surface), sent(office.get(url_of(firm.surface)), keep_as="Our <yard>"))
    kept = KeptBuildUp.objects.get()
    other = SurfaceFactory(site=firm.site)

    assert "Our &lt;yard&gt;" in office.get(url_of(other)).content.decode()
    begun = office.get(f"{url_of(other)}?kept={kept.pk}")
    assert [form["kind"].value() for form in begun.context["formset"]][: len(kept.layers.layers)] == [
        layer.kind for layer in kept.layers.layers
    ]
    assert "Our &lt;yard&gt;" in office.get(reverse("qa:rule-list")).content.decode()


@pytest.mark.parametrize("key", ["", "no-id", "0b8a9c1e-0000-4000-8000-000000000001"])
def test_an_id_of_nothing_starts_with_the_usual_layers(office, firm, key):
    page = office.get(f"{url_of(firm.surface)}?kept={key}")

    assert page.context["formset"][0]["kind"].value() == "surface_course"


def test_another_firms_layers_are_neither_offered_nor_taken(office, firm):
    theirs = KeptBuildUpFactory(name="Secret recipe", surface_type="open_gravel")

    page = office.get(f"{url_of(firm.surface)}?kept={theirs.pk}")

    assert "Secret recipe" not in page.content.decode()
    assert page.context["formset"][0]["kind"].value() == "surface_course"


def test_a_name_that_is_too_long_stores_nothing(office, firm):
    data = sent(office.get(url_of(firm.surface)), keep_as="x" * 81)

    page = office.post(url_of(firm.surface), data)

    assert page.context["keep"].errors["keep_as"]
    assert not Layer.objects.exists()


def test_what_is_kept_can_be_dropped(office, firm):
    kept = KeptBuildUpFactory(organisation=firm.organisation)

    page = office.post(reverse("qa:layer-kept-drop", args=[kept.pk]), follow=True)

    assert f"{kept} is no longer kept." in as_shown(page.content.decode())
    assert not KeptBuildUp.objects.exists()


def like(firm, source):
    return f"{reverse('qa:surface-create', args=[firm.site.pk])}?like={source.pk}"


def test_a_surface_like_another_starts_as_it_is_and_gets_its_layers(office, firm):
    firm.surface.trees, firm.surface.limit_preset = True, "ontario"
    firm.surface.save()
    LayerFactory.create_batch(2, surface=firm.surface)
    page = office.get(like(firm, firm.surface))
    form = page.context["form"]
    assert form["trees"].value() is True
    assert not form["name"].value()
    data = {name: form[name].value() for name in form.fields if form[name].value() not in (None, "", False)}

    answer = office.post(
        like(firm, firm.surface), data | {"name": "Second bay", "opened_on": TODAY}, follow=True
    )

    assert answer.redirect_chain, answer.context["form"].errors
    made = Surface.objects.get(name="Second bay")
    assert made.trees
    assert made.limit_mm_h == 250.0
    assert made.layers.count() == 2
    assert "Second bay is stored with 2 layers." in as_shown(answer.content.decode())


def shut(page):
    return {group.title: group.is_shut for group in page.context["form"].groups if group.folded}


def test_what_is_taken_over_from_another_is_shown_also_after_a_refusal(office, firm):
    firm.surface.joint_width_mm, firm.surface.soil_measured_mm_h = 8.0, 20.0
    firm.surface.save()
    page = office.get(like(firm, firm.surface))
    form = page.context["form"]
    data = {name: form[name].value() for name in form.fields if form[name].value() not in (None, "", False)}

    refused = office.post(like(firm, firm.surface), data | {"name": ""})

    assert refused.context["form"].errors["name"]
    for shown in (page, refused):
        assert not shut(shown)["Joints and water below"]
        assert shut(shown)["Guarantee, removal, note"]
    assert form["soil_measured_mm_h"].value() is None


def test_a_surface_like_none_begins_with_its_parts_shut(office, firm):
    assert all(shut(office.get(reverse("qa:surface-create", args=[firm.site.pk]))).values())


@pytest.mark.parametrize("key", ["", "no-id"])
def test_like_nothing_is_an_empty_form(office, firm, key):
    page = office.get(f"{reverse('qa:surface-create', args=[firm.site.pk])}?like={key}")

    assert page.context["like"] is None


def test_a_surface_of_another_firm_is_not_copied(office, firm):
    theirs = SurfaceFactory(trees=True)

    page = office.get(like(firm, theirs))

    assert page.context["like"] is None
    assert page.context["form"]["trees"].value() is False


def test_a_new_surface_starts_with_the_rule_of_the_country_then_of_the_newest(office, firm):
    url = reverse("qa:surface-create", args=[firm.site.pk])
    firm.organisation.country = "DE"
    firm.organisation.save()
    Surface.objects.all().delete()
    assert office.get(url).context["form"]["rule"].value() == "germany"

    SurfaceFactory(site=firm.site, limit_preset="ontario")
    assert office.get(url).context["form"]["rule"].value() == "ontario"


def test_rules_that_need_more_stand_apart(office, firm):
    choices = (
        office.get(reverse("qa:surface-create", args=[firm.site.pk])).context["form"].fields["rule"].choices
    )
    groups = {label: dict(rules) for label, rules in choices if not isinstance(rules, str)}

    assert "ontario" in groups["From documents"]
    assert "united_kingdom" in groups["For new surfaces only: give a design rain or an agreed limit too"]
