"""What the owner of a site is left with, gathered for one audience."""

from django.utils.translation import gettext as _

from accounts.calc.audience import Audience, Matter
from maintenance.calc.site_plans import PREVAILS, SPILLS, WINTER
from maintenance.models import SitePlan, Training
from qa.calc.citing import COMMON_PRACTICE
from qa.models import Site
from reporting.calc.handing_over import NamedText, PlanText, SitePlanPart, TrainedPart, TrainingPart


def site_plan_part(site: Site) -> SitePlanPart | None:
    """The plans of the site, None where nobody has stored them: texts that nobody read are no plan."""
    plan = SitePlan.objects.filter(site=site).first()
    if plan is None:
        return None
    plans = (
        PlanText(
            _("Winter and snow storage"), _lines(plan, WINTER), plan.winter_source or _(COMMON_PRACTICE)
        ),
        PlanText(_("Spill response"), _lines(plan, SPILLS), plan.spill_source or _(COMMON_PRACTICE)),
    )
    return SitePlanPart(plans, _(PREVAILS))


def training_parts(site: Site, audience: Audience) -> tuple[TrainingPart, ...]:
    """The trainings that count, newest first."""
    return tuple(_training(row, audience) for row in Training.objects.filter(site=site).active())


def _lines(plan: SitePlan, names: tuple[str, ...]) -> tuple[NamedText, ...]:
    return tuple(NamedText(_label(name), getattr(plan, name)) for name in names)


def _label(name: str) -> str:
    label = str(SitePlan._meta.get_field(name).verbose_name)  # type: ignore[union-attr]  # no relation among them
    return label[:1].upper() + label[1:]


def _training(row: Training, audience: Audience) -> TrainingPart:
    facts = row.facts
    people = tuple(TrainedPart(one.name, one.role) for one in facts.people)
    return TrainingPart(
        key=row.pk,
        on=row.trained_on,
        by=audience.shown(Matter.PEOPLE, row.trained_by, ""),
        count=len(people),
        people=audience.shown(Matter.PEOPLE, people, ()),
        covered=facts.covered,
    )
