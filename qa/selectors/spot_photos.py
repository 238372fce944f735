"""How the ring or another device sat at a spot, in pictures."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from typing import cast
from uuid import UUID

from core.calc.file_kinds import PHOTOS
from qa.models import Attachment, InfiltrationTest, Surface


def last_photos(surface: Surface) -> Mapping[UUID, Sequence[Attachment]]:
    """By fixed location: the photos of the latest test there that has any, whatever its result was worth."""
    rows = (
        Attachment.objects.active()
        .filter(media_type__in=PHOTOS)
        .filter(test__in=InfiltrationTest.objects.in_active_rounds().filter(round__surface=surface))
        .exclude(test__location=None)
        .select_related("test__round")
        .order_by("-test__made_at", "-test__created_at", "created_at")
    )
    latest: dict[UUID, list[Attachment]] = defaultdict(list)
    for row in rows:
        test = cast(InfiltrationTest, row.test)  # only photos of tests were asked for
        there = latest[cast(UUID, test.location_id)]
        if not there or there[0].test_id == test.pk:
            there.append(row)
    return latest


def photos_before(test: InfiltrationTest) -> Sequence[Attachment]:
    """How it sat at the test's spot when it was last photographed before; empty at a spot in words."""
    if test.location_id is None:
        return ()
    earlier = (
        InfiltrationTest.objects.in_active_rounds()
        .filter(location=test.location_id, made_at__lt=test.made_at)
        .exclude(pk=test.pk)
    )
    rows = (
        Attachment.objects.active()
        .filter(media_type__in=PHOTOS, test__in=earlier)
        .select_related("test__round")
    )
    newest = rows.order_by("-test__made_at", "-test__created_at").first()
    return list(rows.filter(test=newest.test_id).order_by("created_at")) if newest else ()
