"""Every word that is not plain, with its meaning."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from core.calc.glossary import terms_by_word


@require_safe
def glossary(request: HttpRequest) -> HttpResponse:
    """The same for everybody; documents that owners get by a link use these words too."""
    return render(request, "glossary.html", {"terms": terms_by_word()})
