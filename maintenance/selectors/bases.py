"""What a forecast and its advice rest on besides the day, as a digest: the same digest, the same advice on a day."""

from functools import lru_cache
from hashlib import sha256
from pathlib import Path

from django.conf import settings

from core.calc.paving import CleaningMethod
from maintenance.calc.actions import AgreedCare
from maintenance.calc.costs import Terms
from maintenance.selectors.care import below_price_m2_yr
from qa.models import InspectionFinding, Surface

_ROOT = Path(__file__).resolve().parents[2]
_RULES = ("clogging", "maintenance/calc", "maintenance/selectors", "maintenance/services")


@lru_cache(maxsize=1)
def edition() -> str:
    """A name for the rules of this edition, from their sources: a new one never goes by what an old one reckoned."""
    sources = sorted(path for folder in _RULES for path in (_ROOT / folder).rglob("*.py"))
    return sha256(b"".join(path.read_bytes() for path in sources)).hexdigest()


def basis_of(
    surface: Surface,
    fit: str,
    terms: dict[CleaningMethod, Terms],
    agreed: AgreedCare,
    finding: InspectionFinding | None,
) -> str:
    """The digest for one surface, whose site, owner and firm are joined. fit: the name of its fits."""
    site, firm = surface.site, surface.organisation
    rests_on = (
        edition(),
        settings.CARE_FUTURES,
        fit,
        (surface.pk, surface.record_version, surface.removed_on, surface.opened_on, surface.limit_mm_h),
        (surface.area_m2, surface.surface_type, surface.trees, surface.winter_grit),
        (sorted(site.frost_months), sorted(site.leaf_fall_months), below_price_m2_yr(surface)),
        (firm.currency, firm.test_visit_price, firm.fresh_test_above),
        sorted(terms.items()),
        agreed,
        finding and (finding.pk, finding.inspection.inspected_on),
    )
    return sha256(repr(rests_on).encode()).hexdigest()
