"""Whether this process can serve, for whatever decides where requests go."""

import logging

from django.db import DatabaseError, connection
from django.db.migrations.executor import MigrationExecutor
from django.http import HttpRequest, HttpResponse
from django.views.decorators.http import require_safe

log = logging.getLogger(__name__)
PLAIN = "text/plain; charset=utf-8"


@require_safe
def health(request: HttpRequest) -> HttpResponse:
    """200 when the database answers and is of this edition, else 503; says nothing that a stranger may not know."""
    try:
        plan = MigrationExecutor(connection)
        behind = bool(plan.migration_plan(plan.loader.graph.leaf_nodes()))
    except DatabaseError as error:
        log.error("The database does not answer: %s", error)
        return HttpResponse("The database does not answer.\n", PLAIN, status=503)
    if behind:
        return HttpResponse("The database is not brought up to date.\n", PLAIN, status=503)
    return HttpResponse("ok\n", PLAIN)
