"""Entry point for gunicorn."""

import os

import django

from core.views.requests import Wsgi

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")
django.setup(set_prefix=False)
application = Wsgi()
