"""What every list shares: order and pages as the address asks, and columns whose values may be missing."""

from typing import Any

import django_tables2 as tables
from django.core.paginator import Page, Paginator
from django.db.models import F, QuerySet
from django.http import FileResponse, HttpRequest, StreamingHttpResponse

from core.presentation.exports import EXPORTS, export_response

NUM = {"td": {"class": "num"}, "th": {"class": "num"}}
ROWS_A_PAGE = 50


def ordered_and_paged(table: tables.Table, request: HttpRequest) -> None:
    """Order and page as the address asks; a page that does not exist gives the nearest one."""
    tables.RequestConfig(request, paginate=False).configure(table)
    table.paginator = Paginator(table.rows, ROWS_A_PAGE)
    table.page = table.paginator.get_page(request.GET.get(table.prefixed_page_field))


def table_as_file(
    table: tables.Table, request: HttpRequest, name: str
) -> StreamingHttpResponse | FileResponse | None:
    """The whole list as the file that the address asks for, narrowed and in its order; None where it asks for none."""
    kind = request.GET.get("export")
    if kind not in EXPORTS:
        return None
    lines = table.as_values()
    return export_response(next(lines), lines, kind, name)


def page_of_rows(rows: QuerySet[Any], request: HttpRequest, param: str = "page") -> Page[Any]:
    """The page of a list that the address asks for; a page that does not exist gives the nearest one."""
    return Paginator(rows, ROWS_A_PAGE).get_page(request.GET.get(param))


class NullsLastColumn(tables.Column):
    """A value that may be missing: those rows come last whichever way the list runs, on every database."""

    def order(self, queryset: QuerySet[Any], is_descending: bool) -> tuple[QuerySet[Any], bool]:
        """Called by the table to sort by this column."""
        by = F(str(self.accessor))
        ordered = by.desc(nulls_last=True) if is_descending else by.asc(nulls_last=True)
        return queryset.order_by(ordered, "site__name", "name"), True
