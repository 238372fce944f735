"""What the back office of every app does alike."""

from typing import Any

from django.contrib import admin
from django.http import HttpRequest
from simple_history.admin import SimpleHistoryAdmin


class ReadAlong(admin.ModelAdmin[Any]):
    """Rows that are read there, and made, changed and taken away where their rules are kept."""

    def has_add_permission(self, request: HttpRequest) -> bool:
        return False

    def has_change_permission(self, request: HttpRequest, obj: object = None) -> bool:
        return False

    def has_delete_permission(self, request: HttpRequest, obj: object = None) -> bool:
        return False


class ReadAlongWithHistory(ReadAlong, SimpleHistoryAdmin):
    """The same of rows whose history is kept."""
