"""A chart as a page shows it: the figure, and the same in words for those who do not see it."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any


@dataclass(frozen=True)
class Chart:
    """What `parts/_chart.html` needs.

    key: its id on the page, one a page. figure: a plotly figure as a dict. summary: what it shows, in words.
    columns, rows: the same numbers as a table.
    """

    key: str
    figure: dict[str, Any]
    title: str
    summary: str
    columns: Sequence[str] = ()
    rows: Sequence[Sequence[Any]] = ()
    tall: bool = False
