"""Tokens with which programs of others act for a person."""

from datetime import datetime

from django.db import models
from django.utils.translation import gettext_lazy as _lazy

from accounts.models import Organisation, Owner, User
from accounts.models.tenancy import TenantQuerySet
from api.calc.scopes import Scope, ScopeSet
from core.models.payloads import StoredFact
from core.models.rows import Row


def no_scopes() -> dict[str, object]:
    """A token that may do nothing."""
    return ScopeSet().to_json()


class ApiTokenQuerySet(TenantQuerySet["ApiToken"]):
    organisation_path = "organisation"

    def of_person(self, person: User) -> "ApiTokenQuerySet":
        """Those that a person made."""
        return self.filter(person=person)

    def open(self, at: datetime) -> "ApiTokenQuerySet":
        """Neither ended nor over."""
        return self.filter(revoked_at=None, expires_at__gt=at)


class ApiToken(Row):
    """A secret with which a program acts for one person in one firm, or for one owner; only its hash is stored.

    It is never more than its person is: the role is looked up at each request. It ends when its person leaves, so that
    it does not count again for somebody who comes back. owner: where it reads the sites of that owner, as the owner's
    people do. prefix: how it begins, so that people can tell theirs apart.
    """

    organisation = models.ForeignKey(Organisation, models.CASCADE, editable=False, related_name="api_tokens")
    person = models.ForeignKey(User, models.CASCADE, editable=False, related_name="api_tokens")
    owner = models.ForeignKey(Owner, models.CASCADE, null=True, editable=False, related_name="+")
    name = models.CharField(
        _lazy("name"), max_length=80, help_text=_lazy("What it is for, such as the program that uses it.")
    )
    prefix = models.CharField(max_length=12, editable=False)
    token_hash = models.CharField(max_length=64, unique=True, editable=False)
    scopes_json = models.JSONField(default=no_scopes, editable=False)
    scope_set = StoredFact(ScopeSet, "scopes_json")
    expires_at = models.DateTimeField(editable=False)
    last_used_at = models.DateTimeField(null=True, editable=False)
    revoked_at = models.DateTimeField(null=True, editable=False)
    revoked_by = models.ForeignKey(User, models.SET_NULL, null=True, editable=False, related_name="+")

    objects = ApiTokenQuerySet.as_manager()

    class Meta:
        ordering = ("-created_at", "pk")

    def __str__(self) -> str:
        return self.name

    @property
    def scopes(self) -> tuple[Scope, ...]:
        """What it may do, as far as the role of its person goes."""
        return self.scope_set.scopes

    def has_run_out(self, at: datetime) -> bool:
        """Whether its days are over."""
        return self.expires_at <= at

    def is_open(self, at: datetime) -> bool:
        """Whether it is neither ended nor over."""
        return self.revoked_at is None and not self.has_run_out(at)
