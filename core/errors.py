"""What can go wrong in ways the program knows, one meaning each.

A `ValueError` is a programmer's mistake and is not caught. Refusals of what a person typed are Django's
`ValidationError`; these are for everything else that a caller can and must answer.
"""


class RainthroughError(Exception):
    """Whatever this program raises on purpose. The text is for people: what is wrong, with the value, what to do."""


class ImpossibleRecordError(RainthroughError):
    """What is recorded contradicts itself, so nothing can be computed from it. People must correct the record."""


class OutdatedFitError(RainthroughError):
    """A stored fit was written by another edition of the model and cannot be read. A new fit repairs it."""


class NotAllowedNowError(RainthroughError):
    """The step is possible in general but not in the state things are in."""


class AlreadyDoneError(NotAllowedNowError):
    """Somebody, or an earlier sending, did it before."""


class UnreadablePayloadError(RainthroughError):
    """Data stored as JSON do not fit the type that reads them, or were written by an edition not known here."""
