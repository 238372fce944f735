"""Photos and PDFs of findings, corrective works, test rounds and surfaces."""

from django.db import transaction

from accounts.models import User
from core.services.files import keep_files
from core.services.uploads import Sent
from qa.models import Attachment
from qa.models.construction import CheckEntry, CorrectiveWork
from qa.models.rounds import TestRound
from qa.models.surfaces import Surface

Showing = CheckEntry | CorrectiveWork | TestRound | Surface
LINKS: dict[type, str] = {
    CheckEntry: "entry",
    CorrectiveWork: "work",
    TestRound: "round",
    Surface: "surface",
}


@transaction.atomic
def attach(*, to: Showing, sent: Sent, by: User) -> list[Attachment]:
    """Store what was sent beside a finding, a corrective work, a test round or a surface."""
    link = LINKS[type(to)]
    return keep_files(lambda: Attachment(**{link: to}), sent=sent, by=by, **{link: to})
