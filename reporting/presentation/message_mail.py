"""The mail that tells somebody of a message about a surface."""

from django.utils.translation import gettext as _


def subject_of(place: str, *, from_owner: bool) -> str:
    """What the mail is about, on one line whatever the names hold."""
    said = _("Question about {place}") if from_owner else _("Answer about {place}")
    return " ".join(said.format(place=place).split())


def mail_text(writer: str, place: str, text: str, link: str) -> str:
    """The whole mail."""
    said = _("{writer} writes about {place}:").format(writer=writer, place=place)
    answer = _("Answer it here:")
    return f"{said}\n\n{text}\n\n{answer}\n{link}\n"
