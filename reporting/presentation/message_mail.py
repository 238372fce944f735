"""The mail that tells somebody of a message about a surface."""


def subject_of(place: str, *, from_owner: bool) -> str:
    """What the mail is about, on one line whatever the names hold."""
    return " ".join(f"{'Question' if from_owner else 'Answer'} about {place}".split())


def mail_text(writer: str, place: str, text: str, link: str) -> str:
    """The whole mail."""
    return f"{writer} writes about {place}:\n\n{text}\n\nAnswer it here:\n{link}\n"
