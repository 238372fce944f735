"""The choice of a rule for a surface's limit: from the list of documents or from the firm's own."""

from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as _lazy
from django.utils.translation import gettext_noop

from core.calc.format import format_rate
from qa.calc.limits import PRESETS, RULE_OF_COUNTRY, LimitPreset
from qa.models import OwnLimit, Surface

OWN_PREFIX = "own:"
NO_RULE = gettext_noop("No rule; enter a design rain or the agreed rate below")
IN_SERVICE = gettext_noop("From documents")
NEW_ONLY = gettext_noop("For new surfaces only: give a design rain or an agreed limit too")
HELP = _lazy(
    "With its value, and how it is known. Where several things ask for a rate (this rule, a design rain, the "
    "agreement), the highest applies."
)


def rule_field(surface: Surface, units: str) -> forms.ChoiceField:
    """The list of rules in a person's units; a retired own rule only where the surface has it."""
    return forms.ChoiceField(
        label=_lazy("Rule for the limit"), required=False, choices=_choices(surface, units), help_text=HELP
    )


def chosen_rule(surface: Surface) -> str:
    """The key of the rule the surface has, empty for none."""
    return f"{OWN_PREFIX}{surface.own_limit_id}" if surface.own_limit_id else surface.limit_preset


def usual_rule(surface: Surface) -> str:
    """What a new surface starts with: the rule of the firm's newest one, else its country's; empty for none."""
    firm = surface.site.organisation
    newest = Surface.objects.of_organisation(firm).order_by("-created_at").first()
    return chosen_rule(newest) if newest else RULE_OF_COUNTRY.get(firm.country, "")


def set_rule(surface: Surface, key: str) -> None:
    """Give the surface the rule of that key; one that the field has accepted."""
    own = key.startswith(OWN_PREFIX)
    surface.limit_preset = "" if own else key
    surface.own_limit = OwnLimit.objects.get(pk=key.removeprefix(OWN_PREFIX)) if own else None


def _choices(surface: Surface, units: str) -> list[tuple[str, Any]]:
    own = [
        (f"{OWN_PREFIX}{rule.pk}", rule_label(rule.as_preset, units))
        for rule in OwnLimit.objects.of_organisation(surface.site.organisation)
        if not rule.retired or rule.pk == surface.own_limit_id
    ]
    groups: list[tuple[str, Any]] = [("", _(NO_RULE))]
    if own:
        groups.append((_("The firm's own"), own))
    for title, in_service in ((IN_SERVICE, True), (NEW_ONLY, False)):
        rules = [
            (k, rule_label(p, units)) for k, p in PRESETS.items() if bool(p.working_limit_mm_h) is in_service
        ]
        groups.append((_(title), rules))
    return groups


def rule_label(preset: LimitPreset, units: str) -> str:
    """Name, values and status of a rule on one line."""
    limit, new = preset.working_limit_mm_h, preset.acceptance_mm_h
    parts = [
        _("clean below {rate}").format(rate=format_rate(limit, units)) if limit else _("no limit in service")
    ]
    if new:
        parts.append(_("new at least {rate}").format(rate=format_rate(new, units)))
    said = _("{name}: {values} ({status})")
    return said.format(name=preset.name, values=", ".join(parts), status=preset.source.status_words)
