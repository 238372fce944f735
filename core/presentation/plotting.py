"""Figures as the chart library of the browser takes them, put together as plain data.

The library's own package for Python checks every value as it is added, which costs a page more than all its queries;
the tests let it check what is made here instead. Source: plotly's figure reference, and `go.Figure` itself, with which
`tests/core/presentation/test_plotting.py` compares.
"""

from typing import Any

from core.calc.marks import marked


class Figure:
    """Traces and layout in the order they were given."""

    def __init__(self) -> None:
        self._traces: list[dict[str, Any]] = []
        self._layout: dict[str, Any] = {}

    def add_scatter(self, **trace: Any) -> None:
        """Points, lines or areas."""
        self._traces.append({"type": "scatter", **trace})

    def add_bar(self, **trace: Any) -> None:
        """Bars."""
        self._traces.append({"type": "bar", **trace})

    def add_vline(self, x: Any, **shape: Any) -> None:
        """An upright line across the whole plot."""
        line = {"type": "line", "x0": x, "x1": x, "xref": "x", "y0": 0, "y1": 1, "yref": "y domain"}
        self._layout.setdefault("shapes", []).append(line | shape)

    def add_hline(self, y: Any, **shape: Any) -> None:
        """A level line across the whole plot."""
        line = {"type": "line", "x0": 0, "x1": 1, "xref": "x domain", "y0": y, "y1": y, "yref": "y"}
        self._layout.setdefault("shapes", []).append(line | shape)

    def add_annotation(self, **note: Any) -> None:
        """Words at a place."""
        self._layout.setdefault("annotations", []).append(note)

    def update_layout(self, **layout: Any) -> None:
        """Set what the plot looks like as a whole."""
        self._layout |= layout

    def plain(self) -> dict[str, Any]:
        """The figure for `parts/_chart.html`."""
        marks = marked(".,")
        own = {} if marks == ".," else {"separators": marks}  # the library writes numbers as English does
        return {"data": self._traces, "layout": self._layout | own}
