"""Which type reads which kind of kept document.

What is stored is never rewritten. A change of a snapshot's type, or of a part of it, that stored payloads no longer fit
raises the snapshot's SCHEMA by one and adds the step from the former number to its UPGRADES; `tests/reporting/golden`
holds one stored payload of each number, to be read for good. A field that is only added takes a default instead.
"""

from collections.abc import Mapping

from reporting.calc.handover import HandoverSnapshot
from reporting.calc.snapshots import ReportSnapshot, SnapshotKind

Kept = ReportSnapshot | HandoverSnapshot

TYPES: Mapping[SnapshotKind, type[Kept]] = {
    SnapshotKind.REPORT: ReportSnapshot,
    SnapshotKind.HANDOVER: HandoverSnapshot,
}
