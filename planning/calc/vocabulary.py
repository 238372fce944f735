"""Lists of choices about work that is planned."""

from core.calc.choices import TextChoice


class VisitStatus(TextChoice):
    """How a visit stands."""

    SCHEDULED = "scheduled", "Scheduled"
    DONE = "done", "Done"
    CANCELLED = "cancelled", "Cancelled"


class Moment(TextChoice):
    """Where a test stands to the cleaning that it is planned with."""

    BEFORE = "before", "before the cleaning"
    AFTER = "after", "after the cleaning"


class TestsBeside(TextChoice):
    """Which tests a plan of work puts beside cleanings."""

    __test__ = False  # not a test class, whatever its name suggests to a test runner

    ADVISED = "advised", "Only tests that are advised"
    AFTER = "after", "A test after each cleaning"
    BOTH = "both", "A test before and after each cleaning"


class TaskOutcome(TextChoice):
    """How a task of a visit ended; empty while it is still to do."""

    DONE = "done", "Done"
    PART = "part", "Part done"
    NOT_DONE = "not_done", "Not done"
    GIVEN_UP = "given_up", "Not needed any more"


DROPPED = (TaskOutcome.NOT_DONE.value, TaskOutcome.GIVEN_UP.value)  # of which nothing was done
LEFT = (TaskOutcome.PART.value, TaskOutcome.NOT_DONE.value)  # of which something is left to do


class ReleaseShown(TextChoice):
    """Which advice is listed, by what its owner was shown."""

    NOT_RELEASED = "not_released", "Not released"
    RELEASED = "released", "Released to the owner"
    CHANGED = "changed", "Changed since its release"


class QuoteState(TextChoice):
    """How one version of a quote stands. That a sent one has run out is told by its day, not stored."""

    DRAFT = "draft", "Draft"
    SENT = "sent", "Sent"
    APPROVED = "approved", "Approved"
    DECLINED = "declined", "Declined"
    EXPIRED = "expired", "Expired"
    WITHDRAWN = "withdrawn", "Withdrawn"
    REPLACED = "replaced", "Replaced by a newer version"

    @property
    def waits(self) -> bool:
        """Whether its owner can answer it."""
        return self is QuoteState.SENT

    @property
    def was_sent(self) -> bool:
        """Whether its owner has it and has not answered, so that an answer on paper may still come in."""
        return self in (QuoteState.SENT, QuoteState.EXPIRED)

    @property
    def may_be_withdrawn(self) -> bool:
        """Whether the firm can take it back."""
        return self in (QuoteState.DRAFT, QuoteState.SENT, QuoteState.EXPIRED)

    @property
    def look(self) -> str:
        """The look of its word in a frame."""
        return {"approved": "tag--good", "sent": "tag--warn", "declined": "tag--bad"}.get(self.value, "")


class ApprovalState(TextChoice):
    """Whether an owner approved a quote for a piece of work, or has to."""

    NONE = "none", ""
    APPROVED = "approved", "approved by the owner"
    NEEDED = "needed", "needs the owner's approval"

    @property
    def look(self) -> str:
        """The look of its word in a frame."""
        return "tag--good" if self is ApprovalState.APPROVED else "tag--warn"


class Answer(TextChoice):
    """What an owner says to a quote."""

    APPROVED = "approved", "Approve it"
    DECLINED = "declined", "Decline it"
