"""Everything done to firms, their people, owners and invitations."""

from datetime import timedelta
from hmac import compare_digest
from typing import NamedTuple

from allauth.account.models import EmailAddress
from django.core.exceptions import PermissionDenied
from django.core.mail import send_mail
from django.db import transaction
from django.utils import translation
from django.utils.timezone import now
from django.utils.translation import get_language, gettext_noop
from django.utils.translation import gettext as _

from accounts.calc.roles import Role
from accounts.models import Invitation, Membership, Organisation, Owner, OwnerPerson, User
from accounts.services.telling import forget
from core.calc.countries import FALLBACK_ZONE
from core.calc.format import day
from core.calc.secrets import hash_of, new_secret
from core.errors import AlreadyDoneError, NotAllowedNowError
from core.models.rows import validate_and_save
from core.services.records import save_once

INVITATION_DAYS = 14
LAST_ADMIN = gettext_noop("%(person)s is the last admin of %(firm)s. Make somebody else admin first.")
OTHER_ROLE = gettext_noop(
    "Somebody made %(person)s %(role)s meanwhile. Look at the list, and choose again if need be."
)
NOBODY_WAITS = gettext_noop(
    "Nobody waits to be let in by the invitation for %(email)s. Reload the page to see how it stands."
)
OTHER_ADDRESS = gettext_noop(
    "%(person)s came as %(email)s and is %(now)s by now. Invite that address, or withdraw this invitation."
)
OTHER_PERSON = gettext_noop(
    "This invitation is for {invited}; you are signed in as {me}. Sign out and open the link again."
)
MAIL = gettext_noop("""\
{by} invites you to {target} on Rainthrough.

Open this link to join:
{link}

It is for {email} and is valid until {until}.
""")
SPENT = gettext_noop("This invitation has been used or has run out. Ask for a new one.")


@transaction.atomic
def found_organisation(
    *, by: User, name: str, currency: str, country: str = "", time_zone: str = FALLBACK_ZONE, units: str = ""
) -> Organisation:
    """Store a firm with the person as its admin. Raises ValidationError when a model rule is broken.

    units: in which the person reads from now on; empty leaves them as they are.
    """
    organisation = Organisation(
        name=name, currency=currency, country=country, time_zone=time_zone, language=get_language()
    )
    validate_and_save(organisation)
    validate_and_save(Membership(organisation=organisation, user=by, role=Role.ADMIN))
    if units:
        change_profile(user=by, full_name=by.full_name, units=units)
    return organisation


@transaction.atomic
def change_organisation(*, organisation: Organisation, **values: object) -> Organisation:
    """Change the firm's settings."""
    for name, value in values.items():
        setattr(organisation, name, value)
    organisation.full_clean()
    organisation.save(update_fields=list(values))
    return organisation


@transaction.atomic
def change_role(*, membership: Membership, role: int) -> Membership:
    """Give a member another role.

    Raises NotAllowedNowError for the last admin, who stays admin, and where the role is no longer that of the row,
    since somebody gave another meanwhile.
    """
    _refuse_losing_last_admin(membership, role)
    membership.role = role
    membership.full_clean()
    membership.save(update_fields=["role"])
    return membership


@transaction.atomic
def remove_member(*, membership: Membership) -> None:
    """End a membership; what the person recorded stays. Raises NotAllowedNowError for the last admin."""
    _refuse_losing_last_admin(membership, None)
    membership.delete()
    forget(user=membership.user, organisation=membership.organisation, owners=[None])


def _refuse_losing_last_admin(membership: Membership, new_role: int | None) -> None:
    # The firm's row is the lock: two admins demoting each other at once queue here.
    firm = Organisation.objects.select_for_update().get(pk=membership.organisation_id)
    current = Membership.objects.select_for_update().get(pk=membership.pk)
    if new_role is not None and current.role != membership.role:
        raise NotAllowedNowError(
            _(OTHER_ROLE) % {"person": membership.user, "role": current.get_role_display()}
        )
    if current.role != Role.ADMIN or new_role == Role.ADMIN:
        return
    others = firm.memberships.filter(role=Role.ADMIN).exclude(pk=membership.pk)
    if not others.exists():
        raise NotAllowedNowError(_(LAST_ADMIN) % {"person": membership.user, "firm": firm})


@transaction.atomic
def save_owner(*, owner: Owner) -> Owner:
    """Store a new or changed owner. Raises ValidationError when a model rule is broken."""
    return save_once(owner, organisation=owner.organisation_id)


@transaction.atomic
def remove_owner_person(*, person: OwnerPerson) -> None:
    """Take an owner's person off the owner's sites."""
    owner = person.owner
    person.delete()
    forget(user=person.user, organisation=owner.organisation, owners=[owner])


class Invited(NamedTuple):
    """An invitation with the secret of its link, which nobody can learn again once it is passed on."""

    invitation: Invitation
    token: str
    mail_token: str


@transaction.atomic
def invite(
    *, organisation: Organisation, by: User, email: str, role: int = Role.VIEWER, owner: Owner | None = None
) -> Invited:
    """Store an invitation valid for fourteen days; the link is sent by `send_invitation`.

    It takes the place of an open one of the same person, whose link ends.
    """
    email, token, mail_token = email.lower(), new_secret(), new_secret()
    organisation.invitations.filter(owner=owner, email=email, accepted_at=None).delete()
    invitation = Invitation(
        organisation=organisation,
        owner=owner,
        email=email,
        role=role,
        token_hash=hash_of(token),
        mail_hash=hash_of(mail_token),
        invited_by=by,
        expires_at=now() + timedelta(days=INVITATION_DAYS),
    )
    validate_and_save(invitation)
    return Invited(invitation, token, mail_token)


def invite_again(*, invitation: Invitation, by: User) -> Invited:
    """Invite the same person anew: a fresh link for fourteen days, the old one ends."""
    return invite(
        organisation=invitation.organisation,
        by=by,
        email=invitation.email,
        role=invitation.role,
        owner=invitation.owner,
    )


def send_invitation(*, invitation: Invitation, link: str) -> None:
    """Mail the link. Outside any transaction, since a sent mail cannot be taken back."""
    target = invitation.owner.name if invitation.owner else invitation.organisation.name
    said = {
        "by": invitation.invited_by,
        "target": target,
        "link": link,
        "email": invitation.email,
        "until": day(invitation.expires_at),
    }
    with translation.override(_read_by(invitation)):
        subject, text = _("You are invited to {target}").format(target=target), _(MAIL).format(**said)
    send_mail(subject, text, None, [invitation.email])


def _read_by(invitation: Invitation) -> str:
    """The language of the mail: what the invited person chose, if they are known here, else the owner's or firm's."""
    person = User.objects.filter(email=invitation.email).first()
    place = invitation.owner.reads if invitation.owner else invitation.organisation.language
    return (person.language if person else "") or place


@transaction.atomic
def revoke_invitation(*, invitation: Invitation) -> None:
    """Make the link useless."""
    invitation.delete()


@transaction.atomic
def accept_invitation(*, invitation: Invitation, user: User, mail_token: str = "") -> bool:
    """Join the firm, or the owner's people; returns False where somebody of the firm must confirm it first.

    mail_token: the second secret of a mailed link, which proves the address. Raises PermissionDenied for another
    person's link, AlreadyDoneError for a used one, NotAllowedNowError for one that has run out.
    """
    invitation = Invitation.objects.select_for_update().get(pk=invitation.pk)
    if invitation.accepted_at:
        raise AlreadyDoneError(_(SPENT))
    if invitation.has_run_out:
        raise NotAllowedNowError(_(SPENT))
    if invitation.email != user.email.lower():
        raise PermissionDenied(_(OTHER_PERSON).format(invited=invitation.email, me=user.email))
    if not (proves_address(invitation, mail_token) or has_proven_address(user)):
        invitation.waiting = user
        invitation.save(update_fields=["waiting"])
        return False
    _join(invitation, user)
    return True


def proves_address(invitation: Invitation, mail_token: str) -> bool:
    """Whether the link came by the mail to the invited address."""
    return bool(mail_token) and compare_digest(hash_of(mail_token), invitation.mail_hash)


def has_proven_address(user: User) -> bool:
    """Whether the person has opened a link in a mail to the address they sign in with."""
    return bool(EmailAddress.objects.filter(user=user, email__iexact=user.email, verified=True).exists())


@transaction.atomic
def confirm_invitation(*, invitation: Invitation) -> User:
    """Let in who waits, on the word of somebody of the firm.

    Raises NotAllowedNowError where nobody does, or somebody whose address is no longer the invited one.
    """
    invitation = Invitation.objects.select_for_update().get(pk=invitation.pk)
    user = invitation.waiting
    if invitation.accepted_at or user is None:
        raise NotAllowedNowError(_(NOBODY_WAITS) % {"email": invitation.email})
    if user.email.lower() != invitation.email:
        said = {"person": user, "email": invitation.email, "now": user.email}
        raise NotAllowedNowError(_(OTHER_ADDRESS) % said)
    _join(invitation, user)
    return user


def _join(invitation: Invitation, user: User) -> None:
    if invitation.owner_id:
        OwnerPerson.objects.get_or_create(owner_id=invitation.owner_id, user=user)
    else:
        Membership.objects.get_or_create(
            organisation_id=invitation.organisation_id, user=user, defaults={"role": invitation.role}
        )
    invitation.accepted_at = now()
    invitation.save(update_fields=["accepted_at"])


@transaction.atomic
def change_profile(
    *, user: User, full_name: str, units: str, language: str | None = None, day_mails: bool | None = None
) -> User:
    """Change how a person is shown, their units and language, and whether days of visits are mailed to them.

    language, day_mails: None leaves it as it is.
    """
    user.full_name, user.units = full_name, units
    if language is not None:
        user.language = language
    if day_mails is not None:
        user.day_mails = day_mails
    user.full_clean(exclude=["password"])
    user.save(update_fields=["full_name", "language", "units", "day_mails"])
    return user
