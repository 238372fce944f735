"""The back office: crews and agreements, to be read along. They are changed on their own pages."""

from django.contrib import admin

from core.views.back_office import ReadAlongWithHistory
from planning.models import Agreement, Crew

admin.site.register(Crew, ReadAlongWithHistory)
admin.site.register(Agreement, ReadAlongWithHistory)
