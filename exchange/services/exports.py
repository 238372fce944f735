"""Everything done to exports: asked for, made, taken away after some days."""

import tempfile

from django.core.files.base import File
from django.db import transaction
from django.utils.timezone import now
from django.utils.translation import gettext_noop

from accounts.models import Organisation, User
from core.models.rows import validate_and_save
from core.services import jobs
from exchange.models import DataExport
from exchange.services.archive import write_archive
from exchange.services.finished_notices import tell_exported


@transaction.atomic
def ask_for_export(*, organisation: Organisation, by: User) -> DataExport:
    """Have an archive of everything made; the one that is being made, where there is one."""
    Organisation.objects.select_for_update().get(pk=organisation.pk)
    waiting = DataExport.objects.of_organisation(organisation).unfinished().first()
    if waiting:
        return waiting
    export = DataExport(organisation=organisation, made_by=by)
    validate_and_save(export)
    jobs.nudge(export)
    return export


def remove_export(*, export: DataExport) -> None:
    """Take an archive away. One that is being made ends without a trace."""
    name, storage = export.content.name, export.content.storage
    with transaction.atomic():
        export.delete()
        if name:
            transaction.on_commit(lambda: storage.delete(name), robust=True)


def remove_old() -> None:
    """Take archives away that were there for days: they hold everything a firm has."""
    for export in DataExport.objects.filter(created_at__lt=now() - DataExport.KEPT):
        remove_export(export=export)


@jobs.works_on(DataExport, before_sweep=remove_old)
def make_export(export: DataExport, claim: jobs.Claim) -> None:
    """Write the archive and keep it for the firm's admins."""
    claim.progress(0, 2, gettext_noop("gathering rows and files"))
    with tempfile.TemporaryFile() as made:
        packed = write_archive(organisation=export.organisation, to=made)
        claim.progress(1, 2, gettext_noop("storing the archive"))
        size = made.tell()
        made.seek(0)
        export.content.save("", File(made), save=False)
    try:
        with transaction.atomic():
            claim.finish(content=export.content.name, size_bytes=size, rows=packed.rows)
            tell_exported(export=export)
    except BaseException:
        export.content.delete(save=False)
        raise
