"""What a token may do: words that its person ticks, each with the role that it takes."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import ClassVar

from accounts.calc.roles import Role
from core.calc.choices import TextChoice
from core.calc.payload import Payload
from core.calc.translation import gettext as _


class Verb(TextChoice):
    """What is done."""

    READ = "read", "Read"
    RECORD = "record", "Record"
    PLAN = "plan", "Register and change"

    @property
    def least_role(self) -> Role:
        """Who may do it in the firm; an owner's people read."""
        return {Verb.READ: Role.OWNER, Verb.RECORD: Role.TECHNICIAN, Verb.PLAN: Role.COORDINATOR}[self]


class Scope(TextChoice):
    """One thing that a token may do with one kind of rows."""

    READ_SITES = "read:sites", "Sites and their owners"
    READ_SURFACES = "read:surfaces", "Surfaces and their test locations"
    READ_ROUNDS = "read:rounds", "Test rounds"
    READ_TESTS = "read:tests", "Tests"
    READ_CLEANINGS = "read:cleanings", "Cleanings"
    READ_INSPECTIONS = "read:inspections", "Inspections"
    READ_VISITS = "read:visits", "Visits"
    READ_FORECASTS = "read:forecasts", "Forecasts"
    READ_RECOMMENDATIONS = "read:recommendations", "Recommendations"
    READ_REPORTS = "read:reports", "Reports"
    RECORD_ROUNDS = "record:rounds", "Test rounds"
    RECORD_TESTS = "record:tests", "Tests"
    RECORD_CLEANINGS = "record:cleanings", "Cleanings"
    RECORD_INSPECTIONS = "record:inspections", "Inspections"
    PLAN_SITES = "plan:sites", "Sites"
    PLAN_SURFACES = "plan:surfaces", "Surfaces"

    @property
    def verb(self) -> Verb:
        """What is done with the rows."""
        return Verb(self.value.partition(":")[0])


@dataclass(frozen=True, slots=True)
class ScopeSet(Payload):
    """The scopes of a token, as they are stored."""

    SCHEMA: ClassVar[int] = 1

    scopes: tuple[Scope, ...] = ()


def scopes_of(role: int) -> list[Scope]:
    """What somebody of that role can give to a token: never more than they may do themselves."""
    return [scope for scope in Scope if scope.verb.least_role <= role]


def in_words(scopes: Iterable[Scope]) -> str:
    """The scopes as a line of text: "Read: sites, tests. Record: tests."."""
    given = set(scopes)
    said = []
    for verb in Verb:
        names = [scope.in_sentence for scope in Scope if scope in given and scope.verb is verb]
        if names:
            said.append(_("{verb}: {things}.").format(verb=verb.label, things=", ".join(names)))
    return " ".join(said)
