"""The back office: reading along for support. Records are changed and corrected on their own pages, with a reason."""

from django.contrib import admin

from core.views.back_office import ReadAlongWithHistory
from qa.models import Site, Surface, TestRound

admin.site.register(Site, ReadAlongWithHistory)
admin.site.register(Surface, ReadAlongWithHistory)
admin.site.register(TestRound, ReadAlongWithHistory)
