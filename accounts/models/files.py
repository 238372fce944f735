"""Who sees a file: whoever sees the row it hangs on."""

from collections.abc import Iterator
from typing import Any, Self

from django.db import models
from django.db.models import Q

from accounts.calc.roles import Role
from accounts.models.tenancy import M, TenantQuerySet
from core.calc.audit import AuditState


class FileQuerySet(TenantQuerySet[M]):
    """Files are seen by who sees the row they hang on; one set aside is kept from the owner's people."""

    hang_on: tuple[str, ...] = ()

    def for_user(self, user: Any, role: Role = Role.OWNER) -> Self:
        """Files on which `user` may act with at least `role`."""
        allowed = Q()
        for path, rows in self._hanging_on():
            here = Q(**{f"{path}__in": rows.for_user(user, role).values("pk")})
            if role == Role.OWNER:
                of_firm = Q(**{f"{path}__in": rows.for_user(user, Role.VIEWER).values("pk")})
                here &= ~Q(state=AuditState.VOID) | of_firm
            allowed |= here
        return self.filter(allowed)

    def of_organisation(self, organisation: models.Model) -> Self:
        """Files of one organisation."""
        allowed = Q()
        for path, rows in self._hanging_on():
            allowed |= Q(**{f"{path}__in": rows.of_organisation(organisation).values("pk")})
        return self.filter(allowed)

    def active(self) -> Self:
        """Files that pages and reports show."""
        return self.filter(state=AuditState.ACTIVE)

    def _hanging_on(self) -> Iterator[tuple[str, TenantQuerySet[Any]]]:
        for path in self.hang_on:
            model: Any = self.model._meta.get_field(path).related_model
            yield path, model._default_manager.all()
