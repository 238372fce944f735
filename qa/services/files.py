"""Photos and PDFs of findings, of what was done about them, of test rounds, tests and surfaces."""

from django.db import transaction

from accounts.models import User
from core.services.files import keep_files
from core.services.uploads import Sent
from qa.models import Attachment
from qa.models.construction import CheckEntry, CorrectiveWork
from qa.models.files import ShownRow
from qa.models.inspections import InspectionFinding, Remedy
from qa.models.rounds import InfiltrationTest, TestRound
from qa.models.surfaces import Surface

Showing = ShownRow
LINKS: dict[type, str] = {
    CheckEntry: "entry",
    CorrectiveWork: "work",
    TestRound: "round",
    InfiltrationTest: "test",
    Surface: "surface",
    InspectionFinding: "finding",
    Remedy: "remedy",
}


@transaction.atomic
def attach(*, to: Showing, sent: Sent, by: User) -> list[Attachment]:
    """Store what was sent beside the row it shows something of."""
    link = LINKS[type(to)]
    return keep_files(lambda: Attachment(**{link: to}), sent=sent, by=by, **{link: to})
