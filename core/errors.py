"""What can go wrong in ways the program knows, one meaning each. Knows no framework, so that formulas may raise them.

A `ValueError` is a programmer's mistake: a call that no entry of a person can lead to. It is not caught. A refusal of
what a person typed into a form is Django's `ValidationError`. These are for everything else that a caller can and
must answer.
"""


class RainthroughError(Exception):
    """Whatever this program raises on purpose. The text is for people: what is wrong, with the value, what to do."""


class UnusableRecordError(RainthroughError):
    """What is recorded or entered does not allow what is asked of it. People must mend it; the text says how."""


class ImpossibleRecordError(UnusableRecordError):
    """What is recorded or entered contradicts itself, or cannot be."""


class IncompleteRecordError(UnusableRecordError):
    """What is recorded or entered does not suffice yet. More of it makes it right."""


class OutdatedFitError(RainthroughError):
    """A stored fit was written by another edition of the model and cannot be read. A new fit repairs it."""


class NotAllowedNowError(RainthroughError):
    """The step is possible in general but not in the state things are in."""


class NoRoomError(NotAllowedNowError):
    """The disk of the server is full: nothing that needs room can be stored until somebody makes some."""


class AlreadyDoneError(NotAllowedNowError):
    """Somebody, or an earlier sending, did it before."""


class ClaimLostError(RainthroughError):
    """Another worker holds the job by now, or somebody asked for it anew: what was worked out must not be stored."""


class MailRefusedError(RainthroughError):
    """A mail server did not take a mail, or could not be reached: it may be sent again. The text is the server's."""


class MailAnswerLostError(RainthroughError):
    """The connection broke while a mail server was taking a mail: nobody knows whether it goes out."""


class UnreadablePayloadError(RainthroughError):
    """What is stored as JSON was written by an edition whose way of writing this one does not know."""
