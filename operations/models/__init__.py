"""Rows of the server itself, which belong to no firm."""

from operations.models.signs import Sign

__all__ = ["Sign"]
