"""Rows of what phones sent and of what they still hold."""

from fieldwork.models.entries import FieldEntry
from fieldwork.models.phones import HeldEntry, Phone

__all__ = ["FieldEntry", "HeldEntry", "Phone"]
