"""Sending twice: the id of a sending, the same for the same content under the same id, and for nothing else."""

from uuid import UUID, uuid5


def sending_id(key: UUID, *parts: str) -> UUID:
    """From the id that the caller chose and all that was sent; it is kept as the row's `device_id`."""
    return uuid5(key, "\x1f".join(parts))
