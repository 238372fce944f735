"""What a PUT and a list are asked at their edges: ids of others, conditions, roles, days, hours, shapes."""

from datetime import date

import pytest

from api.calc.scopes import Scope
from qa.models import InfiltrationTest, Site, Surface, TestRound
from tests.api.calling import CLEANING, INSPECTION, RING, ROUND, SITE, SURFACE, pointers, program_of
from tests.factories import (
    CleaningFactory,
    InfiltrationTestFactory,
    InspectionFactory,
    RoundFactory,
    SiteFactory,
    SurfaceFactory,
)

pytestmark = pytest.mark.django_db


@pytest.fixture
def program(firm):
    return program_of(firm)


def body_of(firm, kind):
    on = {"surface": str(firm.surface.pk)}
    return {
        "sites": lambda: SITE | {"owner": str(firm.owner.pk)},
        "surfaces": lambda: SURFACE | {"site": str(firm.site.pk)},
        "rounds": lambda: ROUND | on,
        "tests": lambda: RING | {"round": str(RoundFactory(surface=firm.surface).pk)},
        "cleanings": lambda: CLEANING | on,
        "inspections": lambda: INSPECTION | on,
    }[kind]()


EDITABLE = {"sites": (Site, SiteFactory), "surfaces": (Surface, SurfaceFactory)}


# ---- ids of others --------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "condition", [{}, {"If_Match": "*"}, {"If_Match": '"abc"'}, {"If_None_Match": "*"}], ids=str
)
@pytest.mark.parametrize("kind", EDITABLE)
def test_a_row_of_another_firm_is_not_there_whatever_the_condition(firm, program, kind, condition):
    """A condition that failed would say that there is one."""
    model, factory = EDITABLE[kind]
    theirs = factory()
    name = theirs.name

    answer = program.put(f"/api/{kind}/{theirs.pk}", body_of(firm, kind), **condition)

    assert answer.status_code == 404
    assert model.objects.get(pk=theirs.pk).name == name


@pytest.mark.parametrize("kind", EDITABLE)
def test_of_ones_own_row_a_condition_that_there_be_none_fails(firm, program, kind):
    mine = {"sites": firm.site, "surfaces": firm.surface}[kind]

    answer = program.put(f"/api/{kind}/{mine.pk}", body_of(firm, kind), If_None_Match="*")

    assert answer.status_code == 412
    assert str(mine.pk) in answer.json()["detail"]


@pytest.mark.parametrize(("kind", "factory"), [("rounds", RoundFactory), ("cleanings", CleaningFactory),
                                               ("inspections", InspectionFactory)])  # fmt: skip
def test_a_record_of_another_firm_is_not_there_to_be_written_either(firm, program, kind, factory):
    theirs = factory()

    assert program.put(f"/api/{kind}/{theirs.pk}", body_of(firm, kind)).status_code == 404


# ---- roles and scopes -----------------------------------------------------------------------------------------

WRITES = {"sites": Scope.PLAN_SITES, "surfaces": Scope.PLAN_SURFACES, "rounds": Scope.RECORD_ROUNDS,
          "tests": Scope.RECORD_TESTS, "cleanings": Scope.RECORD_CLEANINGS,
          "inspections": Scope.RECORD_INSPECTIONS}  # fmt: skip


@pytest.mark.parametrize("kind", WRITES)
def test_every_other_scope_together_does_not_reach_so_far(firm, kind):
    others = [scope for scope in Scope if scope is not WRITES[kind]]

    _, answer = program_of(firm, scopes=others).make(kind, body_of(firm, kind))

    assert answer.status_code == 403
    assert WRITES[kind].value in answer.json()["detail"]
    assert f'scope="{WRITES[kind].value}"' in answer.headers["WWW-Authenticate"]


@pytest.mark.parametrize("kind", WRITES)
def test_its_scope_alone_does(firm, kind):
    _, answer = program_of(firm, scopes=[WRITES[kind]]).make(kind, body_of(firm, kind))

    assert answer.status_code == 201


@pytest.mark.parametrize(
    ("who", "kinds"),
    [("viewer", WRITES), ("technician", ("sites", "surfaces"))],
    ids=["viewer", "technician"],
)
def test_a_scope_beyond_the_role_of_its_person_counts_for_nothing(firm, who, kinds):
    for kind in kinds:
        _, answer = program_of(firm, who).make(kind, body_of(firm, kind))
        assert (kind, answer.status_code) == (kind, 403)
        assert f"{who} role" in answer.json()["detail"]


# ---- days and hours -------------------------------------------------------------------------------------------

DATED = {"rounds": (RoundFactory, "tested_on"), "cleanings": (CleaningFactory, "cleaned_on"),
         "inspections": (InspectionFactory, "inspected_on")}  # fmt: skip
TURN = [date(2023, 12, 31), date(2024, 1, 1), date(2024, 2, 29), date(2024, 3, 1)]


@pytest.mark.parametrize("kind", DATED)
@pytest.mark.parametrize(
    ("asked", "days"),
    [
        ("since=2024-01-01", TURN[1:]),
        ("until=2023-12-31", TURN[:1]),
        ("since=2023-12-31&until=2023-12-31", TURN[:1]),
        ("since=2024-02-29&until=2024-02-29", TURN[2:3]),
        ("since=2024-03-02", []),
        ("since=2024-03-01&until=2024-01-01", []),
    ],
)
def test_the_first_and_the_last_day_that_are_asked_are_counted(firm, program, kind, asked, days):
    factory, column = DATED[kind]
    for day in TURN:
        factory(surface=firm.surface, **{column: day})

    items = program.get(f"/api/{kind}?{asked}&surface={firm.surface.pk}").json()["items"]

    assert [item[column] for item in items] == [day.isoformat() for day in days]


def test_tests_are_asked_by_the_day_of_their_round(firm, program):
    for day in TURN:
        InfiltrationTestFactory(round=RoundFactory(surface=firm.surface, tested_on=day))

    assert len(program.get("/api/tests?since=2024-01-01&until=2024-02-29").json()["items"]) == 2


@pytest.mark.parametrize(
    ("sent", "answered"),
    [
        ("2024-07-02T09:30:00Z", "2024-07-02T09:30:00Z"),
        ("2024-07-02T09:30:00+02:00", "2024-07-02T07:30:00Z"),
        ("2024-07-02T23:30:00-11:00", "2024-07-03T10:30:00Z"),
        ("2024-07-02T00:10:00.250+14:00", "2024-07-01T10:10:00.250000Z"),
    ],
)
def test_an_instant_is_the_same_one_wherever_its_clock_stood(firm, program, sent, answered):
    _, answer = program.make("tests", body_of(firm, "tests") | {"made_at": sent})

    assert answer.status_code == 201, answer.json()
    assert answer.json()["phenomenonTime"] == answered


@pytest.mark.parametrize("sent", ["2024-03-31T02:30:00", "2024-07-02", "0", "noon"])
def test_an_instant_without_its_zone_is_refused(firm, program, sent):
    _, answer = program.make("tests", body_of(firm, "tests") | {"made_at": sent})

    assert (answer.status_code, pointers(answer)) == (422, {"#/made_at"})


@pytest.mark.parametrize(
    "asked", ["2024-13-01", "2024-02-30", "0", "20240601", "-1", "01/06/2024", "", "today"]
)
def test_a_day_that_is_none_is_told_with_what_was_asked(program, asked):
    answer = program.get(f"/api/rounds?since={asked}")

    (wrong,) = answer.json()["errors"]
    assert (answer.status_code, wrong["parameter"]) == (422, "since")


@pytest.mark.parametrize(
    "hours",
    [{"works_from": "17:00", "works_until": "07:00"}, {"works_from": "25:00"}, {"works_from": 7}],
    ids=str,
)
def test_hours_that_no_site_has_are_refused(firm, program, hours):
    _, answer = program.make("sites", body_of(firm, "sites") | hours)

    assert answer.status_code == 422
    assert not Site.objects.filter(name=SITE["name"]).exists()


# ---- numbers and texts ----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("kind", "name", "value"),
    [
        ("sites", "latitude_deg", 90.000001),
        ("sites", "longitude_deg", -180.5),
        ("sites", "frost_months", [13]),
        ("sites", "closed_weekdays", [0]),
        ("sites", "notice_days", -1),
        ("sites", "time_zone", "Nowhere/Atlantis"),
        ("sites", "name", ""),
        ("surfaces", "area_m2", 0),
        ("surfaces", "area_m2", -1.0),
        ("surfaces", "area_m2", 1e300),
        ("surfaces", "clogging_share", 1.5),
        ("surfaces", "opened_on", "0001-01-01"),
        ("surfaces", "traffic", 7),
        ("surfaces", "surface_type", "tarmac"),
        ("rounds", "hours_since_rain", -0.5),
        ("cleanings", "share_of_area", 1.01),
        ("cleanings", "share_of_area", 0),
        ("cleanings", "passes", 1.5),
        ("cleanings", "method", "magic"),
    ],
)
def test_a_value_beyond_what_can_be_is_refused_at_its_place_and_nothing_is_stored(
    firm, program, kind, name, value
):
    before = [model.objects.count() for model in (Site, Surface, TestRound, InfiltrationTest)]

    _, answer = program.make(kind, body_of(firm, kind) | {name: value})

    assert answer.status_code == 422
    assert f"#/{name}" in {pointer.rsplit("/", 1)[0] if isinstance(value, list) and pointer.count("/") > 1
                           else pointer for pointer in pointers(answer)}  # fmt: skip
    assert [model.objects.count() for model in (Site, Surface, TestRound, InfiltrationTest)] == before


@pytest.mark.parametrize("name", ["Größe Ω – ½", "名前", "=1+1", "<script>", "a" * 120, "'; DROP TABLE"])
def test_a_name_comes_back_letter_by_letter(firm, program, name):
    key, answer = program.make("sites", body_of(firm, "sites") | {"name": name})

    assert answer.status_code == 201
    assert program.get(f"/api/sites/{key}").json()["name"] == name
    assert Site.objects.get(pk=key).name == name


@pytest.mark.parametrize("size", [1, 200])
def test_the_smallest_and_the_largest_page_are_taken(program, size):
    assert program.get(f"/api/sites?page_size={size}").status_code == 200
