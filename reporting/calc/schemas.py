"""How kept documents are written and read, now and years later.

A stored payload is never rewritten. A change of a snapshot's type that old payloads no longer fit (a field renamed,
removed or read otherwise) raises the kind's number by one and adds the step that turns a payload of the former number
into one of the next. A field that is only added takes a default and needs neither.
"""

from collections.abc import Callable, Mapping
from typing import Any

from core.calc.payload import from_payload, to_payload
from core.errors import UnreadablePayloadError
from reporting.calc.handover import HandoverSnapshot
from reporting.calc.snapshots import ReportSnapshot, SnapshotKind

Payload = dict[str, Any]
Kept = ReportSnapshot | HandoverSnapshot

TYPES: Mapping[SnapshotKind, type[Kept]] = {
    SnapshotKind.REPORT: ReportSnapshot,
    SnapshotKind.HANDOVER: HandoverSnapshot,
}
SCHEMAS: Mapping[SnapshotKind, int] = {SnapshotKind.REPORT: 1, SnapshotKind.HANDOVER: 1}
STEPS: Mapping[SnapshotKind, Mapping[int, Callable[[Payload], Payload]]] = {
    SnapshotKind.REPORT: {},
    SnapshotKind.HANDOVER: {},
}


def written(snapshot: Kept) -> Payload:
    """The payload of a snapshot, by the newest schema of its kind."""
    payload: Payload = to_payload(snapshot)
    return payload


def read(kind: SnapshotKind, schema: int, payload: Payload) -> Kept:
    """The snapshot that was kept. Raises UnreadablePayloadError for one of a newer edition, or that does not fit."""
    newest = SCHEMAS[kind]
    if schema > newest:
        raise UnreadablePayloadError(
            f"This {kind.in_sentence} was kept by a newer edition of the program (its schema is {schema}, this "
            f"edition reads up to {newest}). Update the program, then open it again."
        )
    for number in range(schema, newest):
        payload = STEPS[kind][number](payload)
    return from_payload(TYPES[kind], payload)
