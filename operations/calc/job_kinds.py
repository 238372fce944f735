"""The kinds of work in the background: what each is called, and which columns say what it is about."""

from dataclasses import dataclass

from core.calc.translation import gettext_noop


@dataclass(frozen=True, slots=True, kw_only=True)
class JobKind:
    """One model of jobs, as the page of jobs and the numbers of the server show it.

    key: in addresses and numbers. words: in English, looked up where they are shown. about: the path of the column that
    says what it is for; about_is_day: that column is a date. route, of: a page that shows it, and the path of the id
    that this takes. is_mail: it has a time to go out and a count of refusals.
    noted_handed: it notes when a mail server was about to take it, after which nobody knows whether it went out.
    content: the column of the file that the work needs. by_condition: the queue is more than the state of the row.
    """

    key: str
    label: str
    words: str
    about: str = ""
    about_is_day: bool = False
    route: str = ""
    of: str = ""
    is_mail: bool = False
    noted_handed: bool = False
    content: str = ""
    by_condition: bool = False


KINDS = (
    JobKind(
        key="forecast",
        label="maintenance.Forecast",
        words=gettext_noop("Forecast of a surface"),
        about="surface__name",
        route="reporting:surface-detail",
        of="surface_id",
        by_condition=True,
    ),
    JobKind(
        key="fit",
        label="maintenance.PortfolioFit",
        words=gettext_noop("What your records show"),
        route="maintenance:calibration",
    ),
    JobKind(
        key="plan",
        label="planning.WorkPlan",
        words=gettext_noop("Plan of work"),
        about="first_on",
        about_is_day=True,
        route="planning:proposal-detail",
        of="id",
    ),
    JobKind(
        key="notice",
        label="planning.OwnerNotice",
        words=gettext_noop("Mail about days of visits"),
        about="reader__owner__name",
        route="accounts:owner-detail",
        of="reader__owner_id",
        is_mail=True,
        noted_handed=True,
    ),
    JobKind(
        key="sending",
        label="reporting.Sending",
        words=gettext_noop("Mail with a document"),
        about="document__title",
        route="reporting:kept-show",
        of="document_id",
        is_mail=True,
        noted_handed=True,
    ),
    JobKind(
        key="message",
        label="reporting.MessageMail",
        words=gettext_noop("Mail about a question"),
        about="message__surface__name",
        route="reporting:surface-detail",
        of="message__surface_id",
        is_mail=True,
        noted_handed=True,
    ),
    JobKind(
        key="daily",
        label="accounts.DigestMail",
        words=gettext_noop("Daily mail of what is new"),
        about="user__email",
        route="accounts:firm",
        is_mail=True,
        noted_handed=True,
    ),
    JobKind(
        key="import",
        label="exchange.DataImport",
        words=gettext_noop("Spreadsheets taken in"),
        about="names",
        route="exchange:import-detail",
        of="id",
        content="content",
    ),
    JobKind(
        key="export",
        label="exchange.DataExport",
        words=gettext_noop("Archive of everything"),
        route="exchange:export-list",
    ),
    JobKind(
        key="restore",
        label="exchange.Restoration",
        words=gettext_noop("Archive brought back"),
        route="exchange:export-list",
        content="content",
    ),
)
BY_KEY = {kind.key: kind for kind in KINDS}
