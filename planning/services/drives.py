"""A firm's own file of drives: stored whole, or refused with every line that is wrong."""

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils.timezone import now
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from accounts.models import Organisation, User
from core.models.rows import validate_and_save
from planning.calc.drive_file import DriveFileError, read_drives
from planning.models import DriveTable
from planning.selectors.drives import named_places

NOT_TEXT = gettext_noop("The file is not text in UTF-8. Save it as CSV in UTF-8 and send it again.")


@transaction.atomic
def store_drives(*, organisation: Organisation, by: User, file_name: str, content: bytes) -> DriveTable:
    """Keep the drives of a file in place of those of an earlier one; plans made from now on use them.

    Raises ValidationError with every line that is wrong; what was kept before then stays.
    """
    places, doubled = named_places(organisation)
    try:
        drives = read_drives(content.decode("utf-8-sig"), places, doubled)
    except UnicodeDecodeError as error:
        raise ValidationError({"file": _(NOT_TEXT)}) from error
    except DriveFileError as error:
        raise ValidationError({"file": error.problems}) from error
    table = DriveTable.objects.select_for_update().of_organisation(organisation).first()
    table = table or DriveTable(organisation=organisation)
    table.file_name, table.sent_by, table.sent_at, table.drives = file_name[:160], by, now(), drives
    validate_and_save(table)
    return table


@transaction.atomic
def remove_drives(*, table: DriveTable) -> None:
    """Plans made from now on tell drives by great circles again."""
    table.delete()
