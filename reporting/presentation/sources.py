"""What a document says of the documents that its firm has not checked."""

from typing import Any

from reporting.calc.unverified import unverified_in, unverified_line


def unverified_words(snapshot: Any) -> dict[str, Any]:
    """The line near the top of a document, and the list at its end; empty where all that it rests on was checked."""
    found = unverified_in(snapshot)
    return {"unverified_line": unverified_line(found), "unverified": [one.words for one in found]}
