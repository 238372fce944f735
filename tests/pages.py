"""Pages as tests read them."""

import re


def as_shown(html):
    """The markup with each run of blanks and line breaks as one blank, as a browser shows it."""
    return re.sub(r"[ \t\r\n]+", " ", html)
