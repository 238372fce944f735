"""Secret addresses at which calendar programs read visits."""

from django.db import models
from django.db.models import Q
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as _lazy

from accounts.models import Membership, Organisation, OwnerPerson, User
from accounts.models.tenancy import TenantQuerySet
from core.calc.devices import DeviceKind
from core.models.rows import Row
from planning.models.crews import Crew

_WHOSE = ("crew", "member", "reader")


def _of(name: str) -> Q:
    return Q(**{f"{other}__isnull": other != name for other in _WHOSE})


class CalendarFeed(Row):
    """An address that shows visits to whoever knows it: of a crew, of somebody of the firm, or of an owner's person.

    Only the hash of its secret is stored, so that it can be shown once, when it is made. It hangs on what gives the
    right to read: who leaves the firm, or reads for the owner no longer, takes the address along. How often it was
    read, and when last with what kind of device, is kept; nothing of who did.
    """

    organisation = models.ForeignKey(
        Organisation, models.CASCADE, related_name="calendar_feeds", editable=False
    )
    crew = models.OneToOneField(Crew, models.CASCADE, null=True, editable=False, related_name="feed")
    member = models.OneToOneField(Membership, models.CASCADE, null=True, editable=False, related_name="feed")
    reader = models.OneToOneField(OwnerPerson, models.CASCADE, null=True, editable=False, related_name="feed")
    secret_hash = models.CharField(max_length=64, unique=True, editable=False)
    made_at = models.DateTimeField(editable=False)
    made_by = models.ForeignKey(User, models.CASCADE, editable=False, related_name="+")
    last_read_at = models.DateTimeField(null=True, editable=False, help_text="To the minute.")
    last_read_by = models.CharField(
        max_length=10,
        choices=DeviceKind.choices,
        default=DeviceKind.UNKNOWN.value,
        editable=False,
        help_text="The kind of device.",
    )
    times_read = models.PositiveIntegerField(default=0, editable=False)

    objects = TenantQuerySet.as_manager()

    class Meta:
        ordering = ("-made_at",)
        constraints = [
            models.CheckConstraint(
                condition=_of("crew") | _of("member") | _of("reader"),
                name="planning_feed_of_one",
                violation_error_message=_lazy("A calendar address is of a crew or of one person."),
            )
        ]

    @property
    def language(self) -> str:
        """The language of whose it is: of the person, else of the owner, else of the firm."""
        if self.reader:
            return self.reader.user.language or self.reader.owner.reads
        return (self.member and self.member.user.language) or self.organisation.language

    def __str__(self) -> str:
        return _("Calendar address of {whose}").format(whose=self.crew or self.member or self.reader)
