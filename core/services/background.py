"""What every background task has in common."""

from typing import Any

from celery import Task
from django.conf import settings
from django.utils import translation


class BackgroundTask(Task):  # type: ignore[type-arg]  # at run time it takes none
    """A task that runs in the language of the server, whoever asked for it.

    Without a broker it may run within the request of a person. What it stores is read by others; what it writes for one
    person or owner it writes in that one's language, by `translation.override`.
    """

    def __call__(self, *args: Any, **kwargs: Any) -> Any:
        with translation.override(settings.LANGUAGE_CODE):
            return super().__call__(*args, **kwargs)
