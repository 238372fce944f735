"""How documents kept before schema 4 are read: their sources in the words in which documents say them since.

What is stored stays as it is. Those documents printed how the tool had come to know a criterion, in notes that a client
could read as doubt about the firm's work, and some named no document at all; on what they rest is the same.
"""

from typing import Any

from qa.calc.citing import COMMON_PRACTICE, MARK

_NOT_CHECKED = (
    " From memory; verify against the current edition before relying on it.",
    " Looked up in its source; verify against the current edition.",
)
_ALONE = tuple(note.strip() for note in _NOT_CHECKED)
_NOTES = (
    " Worked out by arithmetic from the formula given.",
    " Entered by the firm with the source it gives.",
    " A default of this tool, not a standard's; change it to suit.",
)
_NO_DOCUMENT = (
    "trade",
    "encyclopedia",
    "contractor article",
    "article of construction tips",
    "advice sheet",
    "technical note",
    "washed stone",
    "national asphalt",
    "ready-mixed concrete association",
    "uk practice",
    "uk local guide",
    "accessible routes",
    "one-call law",
    "common in design guides",
)
_SAID_SINCE = {
    " (from memory)": "",
    ", from memory)": ")",
    "Criteria 'from memory' need verifying against the current edition; drawings,": "Drawings,",
    " (looked up)": "",
}


def sources_named(fields: dict[str, Any]) -> dict[str, Any]:
    """The step to schema 4: each source as a document or as common practice, marked where it was not verified."""
    named: dict[str, Any] = _named(fields)
    return named


def _named(data: Any) -> Any:
    if isinstance(data, str):
        return _said(data)
    if isinstance(data, list):
        return [_named(one) for one in data]
    if not isinstance(data, dict):
        return data
    part = {name: _named(value) for name, value in data.items() if name not in ("source", "citation")}
    return part | _sources(data)


def _said(text: str) -> str:
    for before, since in _SAID_SINCE.items():
        text = text.replace(before, since)
    return text


def _sources(data: dict[str, Any]) -> dict[str, Any]:
    """The sources of one part. A rate's source may be the note alone, since its reason had named the document."""
    kept = {name: data[name] for name in ("source", "citation") if isinstance(data.get(name), str)}
    if not kept:
        return {name: data[name] for name in ("source", "citation") if name in data}
    said = {name: _document(text) for name, text in kept.items()}
    unverified = next((document for _, document in said.values() if document), "")
    words = {name: text for name, (text, _) in said.items()}
    if kept.get("source") in _ALONE and "citation" in words:
        words["source"] = words["citation"]
    return words | ({"unverified": unverified} if unverified else {})


def _document(text: str) -> tuple[str, str]:
    """What is said of a source since, and the document that was not checked, where it names one."""
    for note in _NOT_CHECKED:
        if text.endswith(f".{note}"):
            document = _said(text.removesuffix(f".{note}"))
            unnamed = any(word in document.lower() for word in _NO_DOCUMENT)
            return (COMMON_PRACTICE, "") if unnamed else (f"{document} {MARK}", document)
    if text in _ALONE:
        return "", ""
    for note in _NOTES:
        text = text.removesuffix(note)
    return _said(text), ""
