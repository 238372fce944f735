"""Notices that apps put on pages of the apps below them, so that no page asks an app above it."""

from collections import defaultdict
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any


@dataclass(frozen=True, slots=True)
class Notice:
    """Something that somebody should see, with where to do something about it. is_grave: something may be lost."""

    text: str
    label: str
    url: str
    is_grave: bool = False


Asked = Callable[[Any], Notice | None]  # given the firm acted for, as `request.current` has it

_NOTICES: dict[str, list[tuple[int, Asked]]] = defaultdict(list)


def offer_notice(place: str, asked: Asked, *, least_role: int = 0) -> None:
    """Have a page that shows the notices of `place` ask for one. Called when an app starts; one query at most."""
    if (least_role, asked) not in _NOTICES[place]:
        _NOTICES[place].append((least_role, asked))


def notices_at(place: str, current: Any) -> list[Notice]:
    """The notices of a place for whoever reads the page."""
    role = current.role if current else 0
    asked = [ask(current) for least_role, ask in _NOTICES[place] if role >= least_role]
    return [notice for notice in asked if notice]
