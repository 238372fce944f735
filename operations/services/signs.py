"""Noting signs of life; `operations/selectors/state.py` reads them."""

from django.utils.timezone import now

from operations.calc.signs import SignOf
from operations.models import Sign


def note(of: SignOf) -> None:
    """Note that it happened now. Twice at once does no harm: both write the same."""
    Sign.objects.bulk_create(
        [Sign(of=of, seen_at=now())], update_conflicts=True, unique_fields=["of"], update_fields=["seen_at"]
    )
