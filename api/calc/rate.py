"""How many requests a token may send. The fields are those of the draft of the IETF's HTTPAPI group.

Looked up: draft-ietf-httpapi-ratelimit-headers (October 2024): `RateLimit-Policy: "name";q=quota;w=window` and
`RateLimit: "name";r=remaining;t=seconds`. A draft, not a standard yet. How many is our judgement, no source.
"""

from collections.abc import Mapping
from dataclasses import dataclass

QUOTA, WINDOW_S = 240, 60
POLICY = "token"


@dataclass(frozen=True, slots=True)
class Allowance:
    """Where a token stands in the window of now. used: requests of this window, this one included."""

    used: int
    left_s: int

    @property
    def is_spent(self) -> bool:
        """Whether this request is one too many."""
        return self.used > QUOTA

    def headers(self) -> Mapping[str, str]:
        """The fields that every answer carries; one too many is told when to come again (RFC 9110, 10.2.3)."""
        fields = {
            "RateLimit-Policy": f'"{POLICY}";q={QUOTA};w={WINDOW_S}',
            "RateLimit": f'"{POLICY}";r={max(QUOTA - self.used, 0)};t={self.left_s}',
        }
        return fields | ({"Retry-After": str(self.left_s)} if self.is_spent else {})


def window_of(at_s: float) -> tuple[int, int]:
    """The number of the window at a time in seconds, and the seconds until the next one begins."""
    number = int(at_s) // WINDOW_S
    return number, (number + 1) * WINDOW_S - int(at_s)
