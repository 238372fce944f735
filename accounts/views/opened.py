"""What a person opened lately, kept in their session, apart for each firm they act for."""

from django.db.models import Model

from accounts.views.current_organisation import OWN_SITES, PersonRequest

OPENED_KEY = "opened"
MOST_KEPT = 8


def note_opened(request: PersonRequest, row: Model) -> None:
    """Put a row first among what was opened lately. A page that a script fetched, to keep it, was not opened."""
    if request.headers.get("Sec-Fetch-Dest", "document") != "document":
        return
    mark = [str(row._meta.model_name), str(row.pk)]
    kept = opened_lately(request)
    if kept[:1] != [mark]:
        others = [one for one in kept if one != mark]
        every = request.session.get(OPENED_KEY, {})
        request.session[OPENED_KEY] = every | {_place(request): [mark, *others][:MOST_KEPT]}


def opened_lately(request: PersonRequest) -> list[list[str]]:
    """Kind and id of what was opened while acting for the same firm, the latest first."""
    kept: list[list[str]] = request.session.get(OPENED_KEY, {}).get(_place(request), [])
    return kept


def _place(request: PersonRequest) -> str:
    firm = request.current.organisation
    return str(firm.pk) if firm else OWN_SITES
