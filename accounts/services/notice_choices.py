"""What people choose to be told, and ending their daily mail by the secret that each of them holds."""

from collections.abc import Mapping

from django.db import transaction

from accounts.calc.notices import NoticeKind, Way
from accounts.models import DigestMail, Notice, NoticeChoice, NoticeSettings, Organisation, User
from core.models.rows import validate_and_save


@transaction.atomic
def choose(
    *,
    user: User,
    organisation: Organisation,
    mail_on: bool,
    mail_hour: int,
    ways: Mapping[NoticeKind, Way],
) -> NoticeSettings:
    """Store how somebody is told each kind by a firm. Raises ValidationError for an hour that no day has."""
    settings, _ = NoticeSettings.objects.select_for_update().get_or_create(
        user=user, organisation=organisation
    )
    settings.mail_on, settings.mail_hour = mail_on, mail_hour
    validate_and_save(settings)
    for kind, way in ways.items():
        NoticeChoice.objects.update_or_create(
            settings=settings, kind=kind.value, defaults={"in_app": way.in_app, "by_mail": way.by_mail}
        )
    # What was chosen holds for what has not gone out yet.
    silent = {kind.value: way.in_app for kind, way in ways.items() if not (way.by_mail and mail_on)}
    waiting = Notice.objects.not_gone_out().filter(user=user, organisation=organisation, kind__in=silent)
    waiting.filter(kind__in=[kind for kind, in_app in silent.items() if in_app]).update(in_app=True)
    waiting.update(by_mail=False)
    return settings


@transaction.atomic
def stop_mails(*, digest: DigestMail) -> None:
    """End the daily mails of a firm to the person of one of them. Done twice, it does no more.

    What came by mail alone is told in the app from then on, what has not gone out yet too: nobody loses it unawares.
    """
    settings, _ = NoticeSettings.objects.update_or_create(
        user=digest.user, organisation=digest.organisation, defaults={"mail_on": False}
    )
    settings.choices.filter(in_app=False, by_mail=True).update(in_app=True)
    waiting = Notice.objects.not_gone_out().filter(user=digest.user, organisation=digest.organisation)
    waiting.update(in_app=True, by_mail=False)
