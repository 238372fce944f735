"""Rows of programs that act for people."""

from api.models.tokens import ApiToken, ApiTokenQuerySet

__all__ = ["ApiToken", "ApiTokenQuerySet"]
