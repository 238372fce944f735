"""The mail by which a document is sent, in words."""

from dataclasses import dataclass
from datetime import date

from django.utils.translation import gettext as _

from core.calc.format import day


@dataclass(frozen=True, slots=True)
class Letter:
    """What a mail says. attached: whether the PDF is with it; left_out: why it is not where it was asked for."""

    title: str
    firm: str
    message: str
    address: str
    ends_on: date
    attached: bool
    left_out: str = ""
    demo_notice: str = ""

    @property
    def subject(self) -> str:
        """On one line, whatever the site is called."""
        return _plain(_("{title}, from {firm}").format(title=self.title, firm=self.firm))

    @property
    def text(self) -> str:
        """The whole mail."""
        opens = _("Open it here, until {day}:")
        parts = [
            _("{firm} sends you: {title}.").format(firm=self.firm, title=_plain(self.title)),
            self.message.strip(),
            opens.format(day=_plain(day(self.ends_on))) + f"\n{self.address}",
            _("It is attached as a PDF as well.") if self.attached else self.left_out,
            _("Whoever has this link can read the document. Pass it on only to people who may."),
            self.demo_notice,
        ]
        return "\n\n".join(part for part in parts if part) + "\n"


def _plain(text: str) -> str:
    return " ".join(text.split())
