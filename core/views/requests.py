"""Requests that are read as UTF-8 whatever character set they name."""

from typing import Any

from django.core.handlers.asgi import ASGIHandler, ASGIRequest
from django.core.handlers.wsgi import WSGIHandler, WSGIRequest
from django.utils.http import parse_header_parameters


class _ReadAsUtf8:
    """Django reads the address of a request in the character set that its body names.

    Python knows some under whose name no text can be read ("hex"); that fails before any page of ours is asked.
    `core.views.safety` refuses every other than UTF-8, in words.
    """

    def _set_content_type_params(self, meta: dict[str, Any]) -> None:
        super()._set_content_type_params(meta | {"CONTENT_TYPE": ""})  # type: ignore[misc]
        kind, params = parse_header_parameters(meta.get("CONTENT_TYPE", ""))
        vars(self).update(content_type=kind, content_params=params)


class _WsgiRequest(_ReadAsUtf8, WSGIRequest):
    """What a WSGI server hands over."""


class _AsgiRequest(_ReadAsUtf8, ASGIRequest):
    """What an ASGI server hands over."""


class Wsgi(WSGIHandler):
    """Django's WSGI application, with requests of ours."""

    request_class = _WsgiRequest


class Asgi(ASGIHandler):
    """Django's ASGI application, with requests of ours."""

    request_class = _AsgiRequest
