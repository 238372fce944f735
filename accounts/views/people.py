"""Pages of people, firms and owners."""

from uuid import UUID

from django.conf import settings
from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.core.exceptions import PermissionDenied
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import translation
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from accounts.calc.roles import Role
from accounts.forms.people import (
    MemberInvitationForm,
    OrganisationForm,
    OrganisationStartForm,
    OwnerForm,
    OwnerInvitationForm,
    ProfileForm,
    RoleForm,
    role_form,
)
from accounts.models import Invitation, Membership, Organisation, Owner, OwnerPerson
from accounts.models.tenancy import get_for_user, require_role
from accounts.selectors.invitations import unused_invitation
from accounts.selectors.memberships import reads_for_an_owner
from accounts.services import people
from accounts.views.current_organisation import OWN_SITES, SESSION_KEY, PersonRequest
from accounts.views.fresh_sign_in import require_fresh_sign_in
from accounts.views.opened import note_opened
from accounts.views.secret_addresses import UnknownSecretError, by_secret
from accounts.views.sign_up_adapter import JOIN_KEY, MAIL_KEY
from core.services import mail
from core.views.form_views import do_or_say, save_or_show

INVITED_BY_MAIL = gettext_noop(
    "{email} is invited by mail. Should no mail arrive, pass on this link, and confirm here who joins by it: {link}"
)
INVITED_BY_LINK = gettext_noop(
    "{email} is invited but this server has no outgoing mail. Pass on this link, and confirm here who joins by it: "
    "{link}"
)
NO_NEW_FIRMS = gettext_noop(
    "This server admits invited people only. Ask the admin of your firm to invite you."
)


@login_required
@require_safe
def firm(request: PersonRequest) -> HttpResponse:
    organisation = require_role(request.current, Role.VIEWER)
    context = {
        "organisation": organisation,
        "people": [(one, role_form(one)) for one in organisation.memberships.select_related("user")],
        "invitations": organisation.invitations.filter(accepted_at=None, owner=None),
        "owners": organisation.owners.all(),
    }
    return render(request, "accounts/firm.html", context)


@login_required
@require_http_methods(["GET", "POST"])
def firm_found(request: PersonRequest) -> HttpResponse:
    if not settings.SIGN_UP_OPEN:
        raise PermissionDenied(_(NO_NEW_FIRMS))
    form = OrganisationStartForm(request.POST or None)

    def save() -> str:
        organisation = people.found_organisation(by=request.user, **form.cleaned_data)
        request.session[SESSION_KEY] = str(organisation.pk)
        said = _("{firm} is set up: {currency}, {zone}. What to do next stands below.")
        place = {"currency": organisation.currency, "zone": organisation.time_zone}
        messages.success(request, said.format(firm=organisation, **place))
        return str(settings.LOGIN_REDIRECT_URL)

    return save_or_show(request, form, save, "accounts/firm_found.html")


@login_required
@require_http_methods(["GET", "POST"])
def firm_settings(request: PersonRequest) -> HttpResponse:
    organisation = require_role(request.current, Role.ADMIN)
    require_fresh_sign_in(request)
    form = OrganisationForm(request.POST or None, instance=organisation, units=request.current.units)

    def save() -> str:
        people.change_organisation(organisation=organisation, **form.cleaned_data)
        messages.success(request, _("The firm's settings are stored."))
        return "accounts:firm"

    return save_or_show(request, form, save, "accounts/firm_settings.html")


@login_required
@require_POST
def firm_switch(request: PersonRequest) -> HttpResponse:
    chosen = request.POST.get("organisation")
    if chosen != OWN_SITES:
        chosen = str(get_for_user(Organisation, request.user, Role.VIEWER, pk=chosen).pk)
    request.session[SESSION_KEY] = chosen
    return redirect(settings.LOGIN_REDIRECT_URL)


@login_required
@require_POST
def member_role(request: PersonRequest, pk: UUID) -> HttpResponse:
    membership = get_for_user(Membership, request.user, Role.ADMIN, pk=pk)
    require_fresh_sign_in(request)
    form = RoleForm(request.POST, row=membership, initial={"role": membership.role})
    if not form.is_valid():
        not_a_role = _("That is not a role. Choose one from the list; nothing was changed.")
        messages.error(request, not_a_role if "role" in form.errors else str(form.non_field_errors()[0]))
        return redirect("accounts:firm")
    return do_or_say(request, lambda: _given(membership, form.cleaned_data["role"]), "accounts:firm")


def _given(membership: Membership, role: int) -> str:
    people.change_role(membership=membership, role=role)
    said = membership.get_role_display().lower()
    return _("{person} is now {role}.").format(person=membership.user, role=said)


@login_required
@require_POST
def member_remove(request: PersonRequest, pk: UUID) -> HttpResponse:
    membership = get_for_user(Membership, request.user, Role.ADMIN, pk=pk)
    require_fresh_sign_in(request)
    return do_or_say(request, lambda: _removed(membership), "accounts:firm")


def _removed(membership: Membership) -> str:
    people.remove_member(membership=membership)
    return _("{person} no longer belongs to the firm. Their records stay.").format(person=membership.user)


@login_required
@require_http_methods(["GET", "POST"])
def member_invite(request: PersonRequest) -> HttpResponse:
    organisation = require_role(request.current, Role.ADMIN)
    require_fresh_sign_in(request)
    form = MemberInvitationForm(request.POST or None)
    if form.is_valid():
        invited = people.invite(organisation=organisation, by=request.user, **form.cleaned_data)
        _send(request, invited)
        return redirect("accounts:firm")
    return render(request, "accounts/invite.html", {"form": form, "target": organisation})


@login_required
@require_http_methods(["GET", "POST"])
def owner_invite(request: PersonRequest, pk: UUID) -> HttpResponse:
    owner = get_for_user(Owner, request.user, Role.COORDINATOR, pk=pk)
    require_fresh_sign_in(request)
    form = OwnerInvitationForm(request.POST or None)
    if form.is_valid():
        invited = people.invite(
            organisation=owner.organisation, by=request.user, owner=owner, **form.cleaned_data
        )
        _send(request, invited)
        return redirect(owner)
    return render(request, "accounts/invite.html", {"form": form, "target": owner})


@login_required
@require_POST
def invitation_renew(request: PersonRequest, pk: UUID) -> HttpResponse:
    """A fresh link, where no mail arrives; the old one ends."""
    invitation = _invitation_to_change(request, pk)
    _send(request, people.invite_again(invitation=invitation, by=request.user))
    return redirect(invitation.owner or "accounts:firm")


def _invitation_to_change(request: PersonRequest, pk: UUID) -> Invitation:
    """Coordinators look after the people of owners, admins after those of the firm."""
    invitation = get_for_user(Invitation, request.user, Role.COORDINATOR, pk=pk)
    if invitation.owner is None:
        get_for_user(Invitation, request.user, Role.ADMIN, pk=pk)
    return invitation


def _send(request: PersonRequest, invited: people.Invited) -> None:
    invitation = invited.invitation
    link = request.build_absolute_uri(reverse("accounts:invitation-accept", args=[invited.token]))
    people.send_invitation(invitation=invitation, link=f"{link}?{MAIL_KEY}={invited.mail_token}")
    said = _(INVITED_BY_MAIL) if mail.is_set_up() else _(INVITED_BY_LINK)
    messages.success(request, said.format(email=invitation.email, link=link))


@login_required
@require_POST
def invitation_confirm(request: PersonRequest, pk: UUID) -> HttpResponse:
    """Let in somebody who came by a link that was passed on, and whose address no mail has proven."""
    invitation = _invitation_to_change(request, pk)
    require_fresh_sign_in(request)
    place = invitation.owner or "accounts:firm"
    return do_or_say(request, lambda: _let_in(invitation), place)


def _let_in(invitation: Invitation) -> str:
    return _("{person} is let in.").format(person=people.confirm_invitation(invitation=invitation))


@login_required
@require_POST
def invitation_revoke(request: PersonRequest, pk: UUID) -> HttpResponse:
    invitation = _invitation_to_change(request, pk)
    people.revoke_invitation(invitation=invitation)
    messages.success(request, _("The invitation for {email} is withdrawn.").format(email=invitation.email))
    return redirect(invitation.owner or "accounts:firm")


@require_http_methods(["GET", "POST"])
@by_secret
def invitation_accept(request: PersonRequest, token: str) -> HttpResponse:
    """Open to strangers: the token is the permission, and the address must match."""
    invitation = unused_invitation(token)
    if invitation is None:
        raise UnknownSecretError("There is no open invitation at this address.")
    if MAIL_KEY in request.GET:
        request.session[MAIL_KEY] = request.GET[MAIL_KEY]
    if not request.user.is_authenticated:
        if not invitation.has_run_out:
            request.session[JOIN_KEY] = token
        return render(request, "accounts/invitation.html", {"invitation": invitation})
    if request.method == "POST":
        mail_token = request.session.get(MAIL_KEY, "")
        joined = people.accept_invitation(invitation=invitation, user=request.user, mail_token=mail_token)
        if not joined:
            return redirect("accounts:invitation-accept", token)
        for key in (JOIN_KEY, MAIL_KEY):
            request.session.pop(key, None)
        messages.success(
            request, _("Welcome to {place}.").format(place=invitation.owner or invitation.organisation)
        )
        return redirect(settings.LOGIN_REDIRECT_URL)
    return render(request, "accounts/invitation.html", {"invitation": invitation})


@login_required
@require_http_methods(["GET", "POST"])
def owner_create(request: PersonRequest) -> HttpResponse:
    organisation = require_role(request.current, Role.COORDINATOR)
    return _owner_form(request, Owner(organisation=organisation))


@login_required
@require_http_methods(["GET", "POST"])
def owner_edit(request: PersonRequest, pk: UUID) -> HttpResponse:
    return _owner_form(request, get_for_user(Owner, request.user, Role.COORDINATOR, pk=pk))


def _owner_form(request: PersonRequest, owner: Owner) -> HttpResponse:
    form = OwnerForm(request.POST or None, instance=owner, units=request.current.units)

    def save() -> Owner:
        row = people.save_owner(owner=owner)
        messages.success(request, _("{row} is stored.").format(row=row))
        return row

    return save_or_show(request, form, save, "accounts/owner_form.html", owner=owner)


@login_required
@require_safe
def owner_detail(request: PersonRequest, pk: UUID) -> HttpResponse:
    owner = get_for_user(Owner, request.user, Role.OWNER, pk=pk)
    note_opened(request, owner)
    context = {
        "owner": owner,
        "own_firm": request.current.acts_for(owner.organisation),
        "sites": owner.sites.all(),
        "people": owner.people.select_related("user"),
        "invited": owner.invitations.filter(accepted_at=None),
    }
    return render(request, "accounts/owner_detail.html", context)


@login_required
@require_POST
def owner_person_remove(request: PersonRequest, pk: UUID) -> HttpResponse:
    person = get_for_user(OwnerPerson, request.user, Role.COORDINATOR, pk=pk)
    require_fresh_sign_in(request)
    people.remove_owner_person(person=person)
    said = _("{person} no longer sees the sites of {owner}.")
    messages.success(request, said.format(person=person.user, owner=person.owner))
    return redirect(person.owner)


@login_required
@require_http_methods(["GET", "POST"])
def me(request: PersonRequest) -> HttpResponse:
    reads = reads_for_an_owner(request.user)
    form = ProfileForm(request.POST or None, instance=request.user, reads_for_owner=reads)

    def save() -> str:
        people.change_profile(user=request.user, **form.cleaned_data)
        with translation.override(request.user.language or translation.get_language()):
            messages.success(request, _("Your details are stored."))  # read on the next page
        return "accounts:me"

    return save_or_show(request, form, save, "accounts/me.html")
