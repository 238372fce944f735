"""Tokens on pages: whose there are, a new one, the end of one."""

from uuid import UUID

from allauth.account.decorators import reauthentication_required
from django.contrib.auth.decorators import login_required
from django.core.exceptions import PermissionDenied, ValidationError
from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.utils.timezone import now
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from accounts.views.current_organisation import PersonRequest
from api.forms.tokens import TokenForm
from api.presentation.tokens import token_lines
from api.selectors.tokens import Place, own_tokens, places_of, token_to_end, tokens_of_firm
from api.services import tokens
from core.views.form_views import add_refusal, do_or_say

NO_PLACE = gettext_noop(
    "There is nothing that a program could read for you: you belong to no firm and read for no owner."
)


@login_required
@require_safe
def token_list(request: PersonRequest) -> HttpResponse:
    at, firm = now(), None
    if request.current.organisation and request.current.can_administer:
        others = tokens_of_firm(request.user, request.current.organisation).exclude(person=request.user)
        firm = token_lines(others, at)
    context = {
        "mine": token_lines(own_tokens(request.user), at),
        "of_firm": firm,
        "places": places_of(request.user),
    }
    return render(request, "api/token_list.html", context)


@login_required
@reauthentication_required()  # type: ignore[untyped-decorator]  # of allauth
@require_http_methods(["GET", "POST"])
def token_create(request: PersonRequest) -> HttpResponse:
    """The password is asked before the form is shown: asked after it, what was typed would be gone."""
    place = _place(request)
    form = TokenForm(request.POST or None, place=place)
    if form.is_valid():
        given = {name: form.cleaned_data[name] for name in ("name", "scopes", "days", "sending")}
        try:
            made = tokens.make_token(place=place, person=request.user, **given)
        except ValidationError as error:
            add_refusal(form, error)
        else:
            # The page itself answers, since the secret must not lie in a session or a message until the next one.
            return render(request, "api/token_made.html", {"made": made, "place": place})
    return render(request, "api/token_form.html", {"form": form, "place": place})


def _place(request: PersonRequest) -> Place:
    """The one that is named, or the first of where the person acts; never somebody else's."""
    places, named = places_of(request.user), request.GET.get("for")
    here = [place for place in places if place.key == named] if named else places
    if named and not here:
        raise Http404(_("No such place of this person."))
    if not here:
        raise PermissionDenied(_(NO_PLACE))
    return here[0]


@login_required
@require_POST
def token_end(request: PersonRequest, pk: UUID) -> HttpResponse:
    token = token_to_end(request.user, pk)

    def end() -> str:
        tokens.end_token(token=token, by=request.user)
        return _("The token “{token}” has ended. What uses it is let in no more.").format(token=token)

    return do_or_say(request, end, "api:token-list")
