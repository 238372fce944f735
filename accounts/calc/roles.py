"""What a person may do. Higher includes lower."""

from core.calc.choices import NumberChoice


class Role(NumberChoice):
    """OWNER is not a role inside a firm: it is how an owner's people read their own sites."""

    OWNER = 10, "Owner"
    VIEWER = 20, "Viewer"
    TECHNICIAN = 30, "Technician"
    COORDINATOR = 40, "Coordinator"
    ADMIN = 50, "Admin"


FIRM_ROLES = tuple(role for role in Role if role != Role.OWNER)


def firm_roles() -> list[tuple[int, str]]:
    """Value and label of each role within a firm, the lowest first."""
    return [(role.value, role.label) for role in FIRM_ROLES]
