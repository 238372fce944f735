"""The back office: crews and agreements."""

from django.contrib import admin
from simple_history.admin import SimpleHistoryAdmin

from planning.models import Agreement, Crew

admin.site.register(Crew, SimpleHistoryAdmin)
admin.site.register(Agreement, SimpleHistoryAdmin)
