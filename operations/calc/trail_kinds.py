"""The kinds of changes that admins can read up: which rows tell them, and in which columns they say who, when, what."""

from dataclasses import dataclass
from functools import partial

from core.calc.translation import gettext_noop


@dataclass(frozen=True, slots=True)
class TrailKind:
    """One kind of change, as rows of one model tell it.

    key: in addresses. label: the model. path: leads from a row to its firm. words: in English, looked up where they are
    shown. at, by: the columns of the moment and of the person; by is empty where nobody is named. about: the path of a
    text that says what it is about. route, of: a page that shows it, and the path of the id that this takes.
    reason: the column of a reason. is_history: whether its rows are versions, each told by what differs from the last.
    """

    key: str
    label: str
    path: str
    words: str
    about: str = ""
    route: str = ""
    of: str = ""
    at: str = "history_date"
    by: str = "history_user"
    reason: str = ""
    is_history: bool = False


_versions = partial(TrailKind, reason="history_change_reason", is_history=True)
# A record that is no longer counted: replaced by another, or set aside.
_aside = partial(TrailKind, at="state_at", by="state_by", reason="state_reason")
_OF_SITE, _OF_SURFACE = "site__organisation", "surface__site__organisation"
_SURFACE = ("surface__name", "reporting:surface-detail", "surface_id")

VERSIONS = (
    _versions(
        "settings", "accounts.HistoricalOrganisation", "id", gettext_noop("Settings of the firm"), "name"
    ),
    _versions(
        "role",
        "accounts.HistoricalMembership",
        "organisation",
        gettext_noop("Role of a person"),
        "user__email",
    ),
    _versions(
        "owner",
        "accounts.HistoricalOwner",
        "organisation",
        gettext_noop("Owner"),
        "name",
    ),
    _versions("site", "qa.HistoricalSite", "organisation", gettext_noop("Site"), "name"),
    _versions("surface", "qa.HistoricalSurface", _OF_SITE, gettext_noop("Surface"), "name"),
    _versions("layer", "qa.HistoricalLayer", _OF_SURFACE, gettext_noop("Layer"), *_SURFACE),
    _versions("outline", "qa.HistoricalOutline", _OF_SURFACE, gettext_noop("Outline"), *_SURFACE),
    _versions("round", "qa.HistoricalTestRound", _OF_SURFACE, gettext_noop("Test round"), *_SURFACE),
    _versions(
        "check",
        "qa.HistoricalConstructionCheck",
        "record__surface__site__organisation",
        gettext_noop("Check during construction"),
        "record__surface__name",
        "qa:construction-detail",
        "record__surface_id",
    ),
    _versions("limit", "qa.HistoricalOwnLimit", "organisation", gettext_noop("Limit of the firm"), "name"),
    _versions(
        "band", "qa.HistoricalOwnBand", "organisation", gettext_noop("Grading band of the firm"), "name"
    ),
    _versions("rain", "qa.HistoricalRainRecord", "organisation", gettext_noop("Rain record"), "name"),
    _versions(
        "terms",
        "maintenance.HistoricalMethodTerms",
        "organisation",
        gettext_noop("Prices of a method"),
        "method",
    ),
    _versions(
        "care",
        "maintenance.HistoricalSitePlan",
        _OF_SITE,
        gettext_noop("Plan of care"),
        "site__name",
        "reporting:site-detail",
        "site_id",
    ),
    _versions(
        "agreement",
        "planning.HistoricalAgreement",
        _OF_SITE,
        gettext_noop("Agreement"),
        "site__name",
        "reporting:site-detail",
        "site_id",
    ),
    _versions("crew", "planning.HistoricalCrew", "organisation", gettext_noop("Crew"), "name"),
    _versions("visit", "planning.HistoricalVisit", "organisation", gettext_noop("Visit"), "crew__name"),
)


ASIDE = (
    _aside(
        "test-aside",
        "qa.InfiltrationTest",
        "round__surface__site__organisation",
        gettext_noop("Test replaced or set aside"),
        "round__surface__name",
        "qa:test-detail",
        "id",
    ),
    _aside(
        "cleaning-aside",
        "maintenance.CleaningEvent",
        _OF_SURFACE,
        gettext_noop("Cleaning replaced or set aside"),
        "surface__name",
        "maintenance:cleaning-detail",
        "id",
    ),
    _aside(
        "inspection-aside",
        "qa.Inspection",
        _OF_SURFACE,
        gettext_noop("Inspection set aside"),
        "surface__name",
        "qa:inspection-detail",
        "id",
    ),
    _aside(
        "document-aside",
        "reporting.Snapshot",
        "organisation",
        gettext_noop("Kept document withdrawn"),
        "",
        "reporting:kept-show",
        "id",
    ),
)

DOORS = (
    TrailKind(
        key="sign-in",
        label="usersessions.UserSession",
        path="user__memberships__organisation",
        words=gettext_noop("Signed in, and still is"),
        at="created_at",
        by="user",
    ),
    TrailKind(
        key="invited",
        label="accounts.Invitation",
        path="organisation",
        words=gettext_noop("Invited"),
        at="created_at",
        by="invited_by",
        about="email",
        route="accounts:firm",
    ),
    TrailKind(
        key="joined",
        label="accounts.Invitation",
        path="organisation",
        words=gettext_noop("Invitation accepted"),
        at="accepted_at",
        by="",
        about="email",
        route="accounts:firm",
    ),
    TrailKind(
        key="token",
        label="api.ApiToken",
        path="organisation",
        words=gettext_noop("Token for a program made"),
        at="created_at",
        by="person",
        about="name",
        route="api:token-list",
    ),
    TrailKind(
        key="token-ended",
        label="api.ApiToken",
        path="organisation",
        words=gettext_noop("Token for a program ended"),
        at="revoked_at",
        by="revoked_by",
        about="name",
        route="api:token-list",
    ),
    TrailKind(
        key="link",
        label="reporting.SharedLink",
        path="organisation",
        words=gettext_noop("Link made"),
        at="made_at",
        by="made_by",
        about="for_whom",
        route="reporting:link-detail",
        of="id",
    ),
    TrailKind(
        key="link-revoked",
        label="reporting.SharedLink",
        path="organisation",
        words=gettext_noop("Link revoked"),
        at="revoked_at",
        by="revoked_by",
        about="for_whom",
        route="reporting:link-detail",
        of="id",
    ),
    TrailKind(
        key="calendar",
        label="planning.CalendarFeed",
        path="organisation",
        words=gettext_noop("Calendar address made"),
        at="made_at",
        by="made_by",
        about="crew__name",
        route="planning:feed-list",
    ),
    TrailKind(
        key="export",
        label="exchange.DataExport",
        path="organisation",
        words=gettext_noop("Archive of everything asked for"),
        at="created_at",
        by="made_by",
        route="exchange:export-list",
    ),
    TrailKind(
        key="restore",
        label="exchange.Restoration",
        path="organisation",
        words=gettext_noop("Archive brought back"),
        at="created_at",
        by="made_by",
        route="exchange:export-list",
    ),
    TrailKind(
        key="import",
        label="exchange.DataImport",
        path="organisation",
        words=gettext_noop("Sheets sent"),
        at="created_at",
        by="made_by",
        about="names",
        route="exchange:import-detail",
        of="id",
    ),
)

TRAIL_KINDS = (*VERSIONS, *ASIDE, *DOORS)
TRAIL_BY_KEY = {kind.key: kind for kind in TRAIL_KINDS}
