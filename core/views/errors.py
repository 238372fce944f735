"""What a person sees when a form has gone stale."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render


def stale_form(request: HttpRequest, reason: str = "") -> HttpResponse:
    """Answer a failed cross-site check in words that say what to do."""
    return render(request, "stale_form.html", {"reason": reason}, status=403)
