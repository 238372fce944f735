"""Lists of what owners were shown."""

from typing import Any

import django_tables2 as tables
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as _lazy
from django.utils.translation import pgettext_lazy

from core.calc.format import NOTHING, day, price
from core.presentation.tables import NUM
from maintenance.models import AdviceRelease


class ReleaseTable(tables.Table):
    """Releases, the newest first. Expects the surfaces with sites and owners, and who released them, joined."""

    what = tables.Column(
        _lazy("Advice"), empty_values=(), orderable=False, linkify=lambda record: record.get_absolute_url()
    )
    surface = tables.Column(_lazy("Surface"), order_by=("surface__site__name", "surface__name"))
    owner = tables.Column(_lazy("Owner"), accessor="surface__site__owner__name")
    price = tables.Column(_lazy("Price"), empty_values=(), orderable=False, attrs=NUM)
    released_at = tables.Column(_lazy("Released"))
    released_by = tables.Column(pgettext_lazy("who did it", "By"), orderable=False)
    state = tables.Column(_lazy("State"), order_by=("state",))

    class Meta:
        order_by = ("-released_at",)
        empty_text = _lazy("Nothing yet. Release advice from the first page or from a surface's page.")

    def render_what(self, record: AdviceRelease) -> str:
        return record.content.title

    def render_price(self, record: AdviceRelease) -> str:
        content = record.content
        return NOTHING if content.cost is None else price(content.cost, content.currency)

    def render_released_at(self, value: Any, record: AdviceRelease) -> str:
        return day(record.surface.site.today(value))

    def render_state(self, record: AdviceRelease) -> str:
        if record.is_standing and record.differs_since:
            return _("Shown; the advice has changed since")
        return str(record.get_state_display())
