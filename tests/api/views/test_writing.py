"""What programs write: by the forms and services of people, once under their id."""

import json
from uuid import uuid4

import pytest

from api.forms.bodies import CleaningIn
from api.views import putting
from core.errors import NoRoomError
from maintenance.models import CleaningEvent
from qa.models import InfiltrationTest, Inspection, Site, Surface, TestRound
from tests.api.calling import CLEANING, INSPECTION, RING, ROUND, SITE, SURFACE, pointers, program_of
from tests.factories import LocationFactory, RoundFactory, SiteFactory, SurfaceFactory

pytestmark = pytest.mark.django_db


@pytest.fixture
def program(firm):
    return program_of(firm)


def bodies(firm, round_=None):
    """What can be put of each kind, by the word in its address."""
    on = {"surface": str(firm.surface.pk)}
    return {
        "sites": SITE | {"owner": str(firm.owner.pk)},
        "surfaces": SURFACE | {"site": str(firm.site.pk)},
        "rounds": ROUND | on,
        "tests": RING | {"round": str((round_ or RoundFactory(surface=firm.surface)).pk)},
        "cleanings": CLEANING | on,
        "inspections": INSPECTION | on,
    }


MODELS = {
    "sites": Site,
    "surfaces": Surface,
    "rounds": TestRound,
    "tests": InfiltrationTest,
    "cleanings": CleaningEvent,
    "inspections": Inspection,
}
RECORDS = ("rounds", "tests", "cleanings", "inspections")
EDITABLE = ("sites", "surfaces")
CHANGED = {
    "sites": {"name": "Another name"},
    "surfaces": {"name": "Another name"},
    "rounds": {"note": "Another"},
    "tests": {"note": "Another"},
    "cleanings": {"note": "Another"},
    "inspections": {"note": "Another"},
}


@pytest.mark.parametrize("kind", MODELS)
def test_a_row_is_stored_under_the_callers_id_and_answered_where_it_lies(firm, program, kind):
    key, answer = program.make(kind, bodies(firm)[kind])

    assert answer.status_code == 201, answer.content
    assert answer.headers["Location"] == f"/api/{kind}/{key}"
    assert answer.json()["id"] == str(key)
    assert MODELS[kind].objects.filter(pk=key).exists()
    assert program.get(f"/api/{kind}/{key}").json() == answer.json()


@pytest.mark.parametrize("kind", MODELS)
def test_the_same_again_is_answered_as_the_first_time_and_stored_once(firm, program, kind):
    body = bodies(firm)[kind]
    key, first = program.make(kind, body)

    again = program.put(f"/api/{kind}/{key}", body)

    assert (again.status_code, again.json()) == (200, first.json())
    assert again.headers["ETag"] == first.headers["ETag"]
    assert MODELS[kind].objects.filter(pk=key).count() == 1


@pytest.mark.parametrize("kind", MODELS)
def test_names_in_another_order_and_usual_values_left_out_are_the_same_again(firm, program, kind):
    body = bodies(firm)[kind]
    key, first = program.make(kind, body)
    turned = dict(reversed(body.items())) | {"note" if kind != "sites" else "access_note": ""}

    assert program.put(f"/api/{kind}/{key}", turned).status_code == 200
    assert first.status_code == 201


def test_the_same_again_after_bodies_got_a_further_field_is_the_same(firm, program, monkeypatch):
    body = bodies(firm)["cleanings"]
    key, first = program.make("cleanings", body)
    sent = putting._sent_as

    class Later(CleaningIn):
        helper: str = ""

    def after_the_change(caller, way, key, body):
        return sent(caller, way, key, Later.model_validate(body.model_dump()))

    monkeypatch.setattr(putting, "_sent_as", after_the_change)

    assert program.put(f"/api/cleanings/{key}", body).status_code == 200
    assert program.put(f"/api/cleanings/{key}", body | {"passes": 7}).status_code == 409
    assert first.status_code == 201


def test_a_number_that_is_none_in_json_comes_back_as_text(firm, program):
    """1e999 is more than a number here can be; JSON has no infinity, in an answer neither."""
    body = json.dumps(bodies(firm)["surfaces"] | {"area_m2": "HUGE"}).replace('"HUGE"', "1e999")

    _, answer = program.make("surfaces", body)

    assert answer.status_code == 422
    told = json.loads(answer.content, parse_constant=pytest.fail)
    assert [(one["pointer"], one["value"]) for one in told["errors"]] == [("#/area_m2", "inf")]


def test_what_is_of_another_kind_comes_back_with_its_place(firm, program):
    _, answer = program.make("surfaces", bodies(firm)["surfaces"] | {"area_m2": "large", "colour": 7})

    told = {one["pointer"]: one.get("value") for one in answer.json()["errors"]}

    assert (answer.status_code, told) == (422, {"#/area_m2": "large", "#/colour": 7})


@pytest.mark.parametrize("kind", RECORDS)
def test_other_content_under_the_id_of_a_record_is_refused_and_nothing_is_overwritten(firm, program, kind):
    body = bodies(firm)[kind]
    key, first = program.make(kind, body)

    answer = program.put(f"/api/{kind}/{key}", body | CHANGED[kind])

    assert answer.status_code == 409
    assert "never overwritten" in answer.json()["detail"]
    assert program.get(f"/api/{kind}/{key}").json() == first.json()


@pytest.mark.parametrize("kind", RECORDS)
def test_a_record_of_a_page_is_not_taken_for_a_sending(firm, program, kind):
    """What people recorded has no sending of a program behind it, whatever is put under its id."""
    body = bodies(firm)[kind]
    key, _ = program.make(kind, body)
    MODELS[kind].objects.filter(pk=key).update(device_id=uuid4())

    assert program.put(f"/api/{kind}/{key}", body).status_code == 409


@pytest.mark.parametrize("kind", MODELS)
def test_an_id_that_another_firm_uses_is_not_there(firm, program, kind):
    body = bodies(firm)[kind]
    key, _ = program.make(kind, body)
    stranger = program_of(firm, "outsider")

    answer = stranger.put(f"/api/{kind}/{key}", body)

    assert answer.status_code == 404
    assert stranger.get(f"/api/{kind}/{key}").status_code == 404


@pytest.mark.parametrize(("kind", "named"), [(kind, "surface") for kind in RECORDS if kind != "tests"])
def test_a_record_on_a_surface_of_another_firm_is_refused_beside_its_name(firm, program, kind, named):
    theirs = SurfaceFactory()

    answer = program.make(kind, bodies(firm)[kind] | {named: str(theirs.pk)})[1]

    assert answer.status_code == 422
    assert answer.json()["errors"] == [
        {
            "detail": f"There is no such {named} that this token may write on. Check the id.",
            "pointer": f"#/{named}",
            "value": str(theirs.pk),
        }
    ]


def test_what_hangs_on_rows_of_another_firm_is_refused(firm, program):
    theirs = RoundFactory()

    of_round = program.make("tests", RING | {"round": str(theirs.pk)})[1]
    of_site = program.make("surfaces", SURFACE | {"site": str(theirs.surface.site.pk)})[1]
    of_owner = program.make("sites", SITE | {"owner": str(theirs.surface.site.owner.pk)})[1]

    assert [one.status_code for one in (of_round, of_site, of_owner)] == [422, 422, 422]
    assert [pointers(one) for one in (of_round, of_site, of_owner)] == [{"#/round"}, {"#/site"}, {"#/owner"}]


# ---- sites and surfaces: what people change -----------------------------------------------------------------


@pytest.mark.parametrize("kind", EDITABLE)
def test_a_change_takes_the_etag_of_what_was_read(firm, program, kind):
    body = bodies(firm)[kind]
    key, first = program.make(kind, body)
    changed = body | {"name": "Another name"}

    answer = program.put(f"/api/{kind}/{key}", changed, If_Match=first.headers["ETag"])

    assert (answer.status_code, answer.json()["name"]) == (200, "Another name")
    assert answer.headers["ETag"] != first.headers["ETag"]
    assert MODELS[kind].objects.get(pk=key).name == "Another name"


@pytest.mark.parametrize("kind", EDITABLE)
def test_without_its_etag_nothing_is_changed(firm, program, kind):
    body = bodies(firm)[kind]
    key, first = program.make(kind, body)

    answer = program.put(f"/api/{kind}/{key}", body | {"name": "Another name"})

    assert answer.status_code == 428
    assert "If-Match" in answer.json()["detail"]
    assert program.get(f"/api/{kind}/{key}").json() == first.json()


@pytest.mark.parametrize("kind", EDITABLE)
def test_a_change_of_what_somebody_else_changed_meanwhile_is_refused(firm, program, kind):
    body = bodies(firm)[kind]
    key, first = program.make(kind, body)
    row = MODELS[kind].objects.get(pk=key)
    row.name = "By somebody else"
    row.save(update_fields=["name"])

    answer = program.put(f"/api/{kind}/{key}", body | {"name": "Mine"}, If_Match=first.headers["ETag"])

    assert answer.status_code == 412
    row.refresh_from_db()
    assert row.name == "By somebody else"


@pytest.mark.parametrize("kind", EDITABLE)
def test_any_etag_is_named_by_a_star_and_a_weak_one_names_none(firm, program, kind):
    body = bodies(firm)[kind]
    key, first = program.make(kind, body)
    path, changed = f"/api/{kind}/{key}", body | {"name": "Another name"}

    assert program.put(path, changed, If_Match=f"W/{first.headers['ETag']}").status_code == 412
    assert program.put(path, changed, If_Match="*").status_code == 200


@pytest.mark.parametrize("kind", EDITABLE)
def test_a_change_of_what_is_not_there_makes_nothing(firm, program, kind):
    key, answer = program.make(kind, bodies(firm)[kind], If_Match='"abc"')

    assert answer.status_code == 412
    assert not MODELS[kind].objects.filter(pk=key).exists()


@pytest.mark.parametrize("kind", EDITABLE)
def test_who_asks_that_there_be_none_is_told_where_there_is_one(firm, program, kind):
    body = bodies(firm)[kind]
    key, first = program.make(kind, body, If_None_Match="*")

    again = program.put(f"/api/{kind}/{key}", body, If_None_Match="*")

    assert (first.status_code, again.status_code) == (201, 412)


@pytest.mark.parametrize("kind", EDITABLE)
def test_what_was_read_can_be_sent_back_as_it_was(firm, program, kind):
    key, _ = program.make(kind, bodies(firm)[kind])
    read = program.get(f"/api/{kind}/{key}")

    answer = program.put(f"/api/{kind}/{key}", read.json(), If_Match=read.headers["ETag"])

    assert (answer.status_code, answer.json()) == (200, read.json())


def test_a_change_of_a_surface_makes_its_forecast_stale_and_says_who(firm, program):
    key, first = program.make("surfaces", bodies(firm)["surfaces"])
    before = Surface.objects.get(pk=key).record_version
    changed = bodies(firm)["surfaces"] | {"area_m2": 900.0}

    program.put(f"/api/surfaces/{key}", changed, If_Match=first.headers["ETag"])

    surface = Surface.objects.get(pk=key)
    assert (surface.area_m2, surface.record_version) == (900.0, before + 1)
    assert surface.history.first().history_user == firm.coordinator


def test_a_surface_stays_at_its_site(firm, program):
    other = SiteFactory(owner=firm.owner)
    body = bodies(firm)["surfaces"]
    key, first = program.make("surfaces", body)

    moved = program.put(
        f"/api/surfaces/{key}", body | {"site": str(other.pk)}, If_Match=first.headers["ETag"]
    )

    assert (moved.status_code, pointers(moved)) == (422, {"#/site"})


def test_the_limit_is_worked_out_from_what_was_agreed(firm, program):
    _, answer = program.make("surfaces", bodies(firm)["surfaces"])

    assert answer.json()["limit"]["rate_mm_h"] == 250.0
    assert "Contract of 2021" in answer.json()["limit"]["source"]


def test_a_surface_without_any_limit_is_refused_as_on_its_page(firm, program):
    body = bodies(firm)["surfaces"] | {"agreed_limit_mm_h": None, "agreed_source": ""}

    answer = program.make("surfaces", body)[1]

    assert (answer.status_code, pointers(answer)) == (422, {"#/rule"})


def test_a_rain_record_that_the_firm_has_not_is_told(firm, program):
    answer = program.make("sites", bodies(firm)["sites"] | {"rain_record": str(uuid4())})[1]

    assert pointers(answer) == {"#/rain_record"}


def test_two_sites_of_one_name_are_told_apart(firm, program):
    program.make("sites", bodies(firm)["sites"])

    answer = program.make("sites", bodies(firm)["sites"])[1]

    assert answer.status_code == 422
    assert "already a site of this name" in str(answer.json()["errors"])


def test_a_name_that_another_site_has_is_refused_on_a_change(firm, program):
    program.make("sites", bodies(firm)["sites"])
    key, first = program.make("sites", bodies(firm)["sites"] | {"name": "Second"})

    answer = program.put(f"/api/sites/{key}", bodies(firm)["sites"], If_Match=first.headers["ETag"])

    assert answer.status_code == 422
    assert Site.objects.get(pk=key).name == "Second"


# ---- tests: readings as they were taken ----------------------------------------------------------------------


def test_the_rate_is_worked_out_from_the_readings(firm, program):
    _, answer = program.make("tests", bodies(firm)["tests"])

    test = answer.json()
    assert test["result"] == {"value": pytest.approx(2874, rel=0.01), "unit": "mm/h", "bound": "="}
    assert test["phenomenonTime"] == "2024-07-02T09:30:00Z"
    assert test["readings"]["once"]["test_mass"] == 18.0
    assert test["recorded_by"] == str(firm.coordinator)


def test_a_test_that_would_not_count_asks_first_and_is_kept_when_that_is_said(firm, program):
    body = bodies(firm)["tests"] | {"leak_seen": True}

    key, asked = program.make("tests", body)
    kept = program.put(f"/api/tests/{key}", body | {"keep_anyway": True})

    assert (asked.status_code, pointers(asked)) == (422, {"#/keep_anyway"})
    assert kept.status_code == 201
    assert kept.json()["counts"] is False or kept.json()["deviations"]


def test_a_round_on_a_wet_surface_asks_first_too(firm, program):
    body = bodies(firm)["rounds"] | {"hours_since_rain": 2}

    key, asked = program.make("rounds", body)
    kept = program.put(f"/api/rounds/{key}", body | {"keep_anyway": True})

    assert (asked.status_code, pointers(asked)) == (422, {"#/keep_anyway"})
    assert kept.status_code == 201


def test_a_fixed_location_is_named_by_its_id(firm, program):
    place = LocationFactory(surface=firm.surface, label="A1", zone="edge")
    body = bodies(firm)["tests"] | {"location": str(place.pk), "spot": ""}

    _, answer = program.make("tests", body)

    where = answer.json()["hasFeatureOfInterest"]
    assert where == {
        "surface": str(firm.surface.pk),
        "location": str(place.pk),
        "place": "A1",
        "zone": "edge",
    }


def test_a_location_of_another_surface_is_refused(firm, program):
    other = LocationFactory(surface=SurfaceFactory(site=firm.site))

    answer = program.make("tests", bodies(firm)["tests"] | {"location": str(other.pk)})[1]

    assert pointers(answer) == {"#/location"}


def test_a_reading_that_the_method_has_not_is_named_with_those_it_has(firm, program):
    body = bodies(firm)["tests"]

    answer = program.make("tests", body | {"readings": body["readings"] | {"mass/kg": 18}})[1]

    (wrong,) = answer.json()["errors"]
    assert wrong["pointer"] == "#/readings/mass~1kg"
    assert "test_mass" in wrong["detail"]


def test_a_missing_reading_is_told_where_it_belongs(firm, program):
    body = bodies(firm)["tests"]
    readings = {name: value for name, value in body["readings"].items() if name != "test_mass"}

    answer = program.make("tests", body | {"readings": readings})[1]

    assert pointers(answer) == {"#/readings/test_mass"}


def test_a_method_with_runs_takes_them_in_their_order(firm, program):
    body = {
        "round": bodies(firm)["tests"]["round"],
        "method": "outflow_meter",
        "spot": "Middle",
        "readings": {"outlet_only_s": 3},
        "runs": [{"outflow_s": 10}, {"outflow_s": 12}, {"outflow_s": 11}],
        "keep_anyway": True,
    }

    _, answer = program.make("tests", body)

    assert answer.status_code == 201, answer.json()
    assert [run["outflow_s"] for run in answer.json()["readings"]["runs"]] == [10, 12, 11]
    assert answer.json()["observedProperty"]["id"] == "relative-outflow"
    assert answer.json()["result"]["unit"] == "/s"


def test_runs_of_a_method_without_any_and_what_it_does_not_ask_are_refused(firm, program):
    with_runs = bodies(firm)["tests"] | {"runs": [{"elapsed_s": 10}]}
    meter = {"round": with_runs["round"], "method": "outflow_meter", "spot": "M", "seal": "putty"}
    meter |= {"readings": {"outlet_only_s": 3}}

    first = program.make("tests", with_runs)[1]
    second = program.make("tests", meter | {"runs": [{"outflow_s": 10, "depth": 3}]})[1]

    assert pointers(first) == {"#/runs/0"}
    assert pointers(second) == {"#/seal", "#/runs/0/depth"}


def test_a_test_on_a_round_that_was_set_aside_is_a_conflict(firm, program):
    round_ = RoundFactory(surface=firm.surface, state="void")

    answer = program.make("tests", bodies(firm, round_)["tests"])[1]

    assert answer.status_code == 409
    assert "set aside" in answer.json()["detail"]


def test_a_full_disk_says_to_come_again(firm, program, monkeypatch):
    def full(**_):
        raise NoRoomError("There is no room left.")

    monkeypatch.setattr("qa.services.rounds.record_round", full)

    answer = program.make("rounds", bodies(firm)["rounds"])[1]

    assert (answer.status_code, answer.json()["detail"]) == (507, "There is no room left.")


# ---- cleanings and inspections ----------------------------------------------------------------------------


def test_a_price_in_another_currency_than_the_firms_is_refused(firm, program):
    body = bodies(firm)["cleanings"] | {"price": {"amount": "10.00", "currency": "USD"}}

    answer = program.make("cleanings", body)[1]

    assert pointers(answer) == {"#/price/currency"}
    assert "EUR" in answer.json()["errors"][0]["detail"]


def test_a_day_to_come_is_refused_with_what_stood_there(firm, program):
    answer = program.make("cleanings", bodies(firm)["cleanings"] | {"cleaned_on": "2199-01-01"})[1]

    (wrong,) = answer.json()["errors"]
    assert (wrong["pointer"], wrong["value"]) == ("#/cleaned_on", "2199-01-01")


def test_an_inspection_stores_what_it_found_and_what_it_read_in_the_well(firm, program):
    found = {"item": "edges", "severity": "urgent", "what": "The kerb has sunk", "where": "North"}
    body = bodies(firm)["inspections"] | {
        "answers": {"weeds": "not_seen"},
        "findings": [found],
        "well": [{"hours": 2, "water_mm": 120}, {"hours": 20, "water_mm": 0}],
    }

    _, answer = program.make("inspections", body)

    assert answer.status_code == 201, answer.json()
    stored = answer.json()
    assert (stored["answers"]["edges"], stored["answers"]["weeds"]) == ("wrong", "not_seen")
    assert [(one["item"], one["what"]) for one in stored["findings"]] == [("edges", "The kerb has sunk")]
    assert stored["well"] == [{"hours": 2.0, "water_mm": 120.0}, {"hours": 20.0, "water_mm": 0.0}]


def test_items_that_were_not_answered_or_are_not_asked_are_named(firm, program):
    body = bodies(firm)["inspections"] | {"all_in_order": False}
    found = {"item": "depth", "what": "Thin"}

    left = program.make("inspections", body)[1]
    odd = program.make(
        "inspections", body | {"all_in_order": True, "findings": [found], "answers": {"depth": "in_order"}}
    )[1]

    assert pointers(left) == {"#/answers"}
    assert pointers(odd) == {"#/findings/0/item", "#/answers/depth"}


def test_two_findings_of_one_item_are_refused(firm, program):
    found = {"item": "edges", "what": "Sunk"}

    answer = program.make("inspections", bodies(firm)["inspections"] | {"findings": [found, found]})[1]

    assert pointers(answer) == {"#/findings/1/item"}


# ---- shapes ---------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("body", "status", "said"),
    [
        (b"", 422, ""),
        (b"{", 400, "no JSON"),
        (b"\xff", 400, "no JSON"),
        (b"[]", 400, "not an object"),
        (b'"yard"', 400, "not an object"),
        (b'{"area_m2": NaN}', 400, "NaN is no number"),
        (b'{"area_m2": 1e999}', 422, ""),
        (b"[" * 30_000, 400, "no JSON"),
    ],
)
def test_what_cannot_be_read_is_told(firm, program, body, status, said):
    answer = program.make("surfaces", body)[1]

    assert answer.status_code == status
    assert said in answer.json()["detail"]


def test_a_name_that_is_not_known_is_refused_where_it_stands(firm, program):
    answer = program.make("rounds", bodies(firm)["rounds"] | {"tested_at": "2024-07-02"})[1]

    assert pointers(answer) == {"#/tested_at"}


def test_texts_with_signs_that_no_database_takes_are_refused(firm, program):
    for text in ("a\x00b", "\ud800"):
        answer = program.make("rounds", bodies(firm)["rounds"] | {"note": text})[1]
        assert (answer.status_code, pointers(answer)) == (422, {"#/note"})


@pytest.mark.parametrize("at", ["0001-01-01T00:00:00+14:00", "9999-12-31T23:59:59-12:00", "2024-07-02T10:00"])
def test_instants_outside_of_our_time_and_without_a_zone_are_refused(firm, program, at):
    answer = program.make("tests", bodies(firm)["tests"] | {"made_at": at})[1]

    assert (answer.status_code, pointers(answer)) == (422, {"#/made_at"})


def test_another_media_type_is_refused(firm, program):
    answer = program.make("rounds", "surface=1", content_type="application/x-www-form-urlencoded")[1]

    assert answer.status_code == 415
    assert "x-www-form-urlencoded" in answer.json()["detail"]


def test_a_large_body_is_refused_before_it_is_read(firm, program):
    answer = program.make("rounds", b" " * 70_000)[1]

    assert answer.status_code == 413
    assert "70000 bytes" in answer.json()["detail"]


# ---- at once --------------------------------------------------------------------------------------------


def test_of_two_at_once_under_one_id_the_second_is_answered_by_what_the_first_stored(
    firm, program, monkeypatch
):
    """The other request stores between this one's look and its own storing."""
    body, other = bodies(firm)["rounds"], program_of(firm, "technician")
    key = uuid4()
    looks = iter([None])

    def late(model, pk):
        try:
            return next(looks)
        except StopIteration:
            return model._base_manager.filter(pk=pk).first()

    other.put(f"/api/rounds/{key}", body)
    monkeypatch.setattr("api.views.putting.stored", late)
    same = program.put(f"/api/rounds/{key}", body)
    looks = iter([None])
    differs = program.put(f"/api/rounds/{key}", body | {"note": "Another"})

    assert (same.status_code, differs.status_code) == (200, 409)
    assert TestRound.objects.filter(pk=key).count() == 1
