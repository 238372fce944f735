"""The request that a form's view receives for an entry, as if its page had been sent."""

from copy import copy
from dataclasses import replace
from typing import Any
from urllib.parse import urlsplit

from django.core.files.uploadedfile import UploadedFile
from django.http import QueryDict
from django.urls import ResolverMatch
from django.utils.datastructures import MultiValueDict

from accounts.views.current_organisation import PersonRequest, current_organisation_of
from fieldwork.calc.fields import Fields
from fieldwork.views.told import Notes, Teller

Files = MultiValueDict[str, UploadedFile[Any]]


def request_anew(
    outer: PersonRequest, path: str, match: ResolverMatch, fields: Fields, files: Files, units: str
) -> tuple[PersonRequest, Teller, Notes]:
    """A copy of the request that brought the entry, with the form in place of it, and what takes the view's words.

    units: in which the form was filled in.
    """
    request, url = copy(outer), urlsplit(path)
    request.method, request.path, request.path_info = "POST", url.path, url.path
    request.META = outer.META | {
        "REQUEST_METHOD": "POST",
        "PATH_INFO": url.path,
        "QUERY_STRING": url.query,
    }
    request.resolver_match = match
    vars(request).update(GET=QueryDict(url.query), _post=_posted(fields), _files=files)
    request.current = replace(current_organisation_of(outer), units=units)
    teller, notes = Teller(), Notes(request)
    vars(request).update(told=teller, _messages=notes)
    return request, teller, notes


def _posted(fields: Fields) -> QueryDict:
    posted = QueryDict(mutable=True)
    for name, value in fields:
        posted.appendlist(name, value)
    posted._mutable = False
    return posted
