"""Entry point for ASGI servers."""

import os

import django

from core.views.requests import Asgi

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")
django.setup(set_prefix=False)
application = Asgi()
