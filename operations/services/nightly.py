"""The backup of each night, where a folder for it is set: made, read back, then the older ones thinned by age."""

import logging
import re
from datetime import UTC, date, datetime
from pathlib import Path

from django.conf import settings
from django.urls import reverse
from django.utils.translation import gettext as _

from accounts.calc.notices import NoticeKind
from accounts.models import Organisation
from accounts.services.telling import News, tell_firm
from core.errors import RainthroughError
from operations.calc.keeping import kept
from operations.calc.signs import BACKUP_MISSING_AFTER, SignOf
from operations.models import Sign
from operations.services.backups import make_backup

log = logging.getLogger(__name__)

NAME = "rainthrough-{day}.tar"
OURS = re.compile(
    r"rainthrough-(\d{4}-\d{2}-\d{2})\.tar"
)  # whatever else lies in the folder is somebody else's


def back_up_nightly(at: datetime) -> Path | None:
    """Make the backup of the day; returns it, or None where no folder is set or the day has one.

    Others are erased only after this one was read back whole. Admins are told where it fails; the error is raised.
    """
    if not settings.BACKUP_DIR:
        return None
    folder, day = Path(settings.BACKUP_DIR), at.astimezone(UTC).date()
    target = folder / NAME.format(day=day.isoformat())
    if target.exists():
        return None
    try:
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        make_backup(target)
    except (RainthroughError, OSError):
        tell_missing(at)
        raise
    _thin_out(folder)
    return target


def _thin_out(folder: Path) -> None:
    made = {day: path for path in folder.iterdir() if (day := _day_of(path))}
    for day in made.keys() - kept(made):
        made[day].unlink()
        log.info("The backup of %s was erased: newer ones stand for it.", day)


def _day_of(path: Path) -> date | None:
    found = OURS.fullmatch(path.name)
    return date.fromisoformat(found[1]) if found and path.is_file() else None


def tell_if_missing(at: datetime) -> bool:
    """Tell admins where the last backup is too long ago, whatever kept the next from being made; says whether it did.

    Before the first was made there is nothing to compare with: a first one that fails is told by itself.
    """
    if not settings.BACKUP_DIR:
        return False
    seen_at = Sign.objects.filter(of=SignOf.BACKUP).values_list("seen_at", flat=True).first()
    if seen_at is None or at - seen_at <= BACKUP_MISSING_AFTER:
        return False
    tell_missing(at)
    return True


def tell_missing(at: datetime) -> None:
    """Tell the admins of every firm, once a day: whose data are on this server should know, and ask who runs it."""
    for firm in Organisation.objects.iterator():
        tell_firm(
            news=News(
                NoticeKind.FAILED,
                firm,
                firm,
                _missing,
                reverse("operations:job-list"),
                f"backup {at.astimezone(UTC).date().isoformat()}",
            )
        )


def _missing() -> str:
    return _("The backup of the night was not made. Tell whoever runs the server: its log says why.")
