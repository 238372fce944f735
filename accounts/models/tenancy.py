"""The one place where access is decided.

A row is readable by people of its organisation and, where the queryset names an `owner_path`, by the
people of the owner it belongs to. Not yours is 404; yours but your role is too low is 403.
"""

from collections.abc import Sequence
from typing import Any, Self, TypeVar

from django.apps import apps
from django.core.exceptions import PermissionDenied, ValidationError
from django.db import models
from django.db.models import Q
from django.http import Http404
from django.shortcuts import get_object_or_404
from django.utils.translation import gettext as _

from accounts.calc.roles import Role

M = TypeVar("M", bound=models.Model)


class TenantQuerySet(models.QuerySet[M]):
    """Rows that belong to one organisation; `owner_path` is empty where owners see nothing."""

    organisation_path = "organisation"
    owner_path = ""

    def for_user(self, user: Any, role: Role = Role.OWNER) -> Self:
        """Rows on which `user` may act with at least `role`."""
        condition = Q(**{f"{self.organisation_path}__in": _organisations_of(user, role)})
        if role == Role.OWNER and self.owner_path:
            condition |= Q(**{f"{self.owner_path}__in": _owners_of(user)})
        return self.filter(condition)

    def of_organisation(self, organisation: models.Model) -> Self:
        """Rows of one organisation, for work that no person asked for (tasks, fits)."""
        return self.filter(**{self.organisation_path: organisation.pk})


def _organisations_of(user: Any, role: Role) -> models.QuerySet[Any]:
    membership = apps.get_model("accounts", "Membership")
    return membership.objects.filter(user_id=user.pk, role__gte=role).values("organisation")


def _owners_of(user: Any) -> models.QuerySet[Any]:
    owner_person = apps.get_model("accounts", "OwnerPerson")
    return owner_person.objects.filter(user_id=user.pk).values("owner")


def get_for_user(model: type[M], user: Any, role: Role, *, joined: Sequence[str] = (), **lookup: object) -> M:
    """One row: 404 where the user may not even read it, 403 when the role is too low.

    joined: rows above it that the page shows as well, read with it.
    """
    rows = model.objects  # type: ignore[attr-defined]
    try:
        readable = rows.for_user(user)
        row: M = get_object_or_404(readable.select_related(*joined) if joined else readable, **lookup)
    except ValidationError as error:  # a malformed id names no row
        raise Http404(f"No {model._meta.verbose_name} matches {lookup}.") from error
    if role != Role.OWNER and not rows.for_user(user, role).filter(pk=row.pk).exists():
        raise PermissionDenied(
            _("This needs the {role} role in this organisation.").format(role=role.label.lower())
        )
    return row


def require_role(current: Any, role: Role) -> Any:
    """The organisation the user acts for: 403 when there is none or the role in it is too low."""
    if current.organisation is None:
        raise PermissionDenied(_("This is for people of a paving firm. Ask the firm to invite you."))
    if current.role < role:
        said = _("This needs the {role} role in {firm}.")
        raise PermissionDenied(said.format(role=role.label.lower(), firm=current.organisation))
    return current.organisation
