"""Text to typed values for the outline of a surface and the choice of test spots on it."""

from collections.abc import Callable, Sequence
from math import isfinite, sqrt
from typing import Any, TypeVar

from django import forms
from django.utils.datastructures import MultiValueDict
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as _lazy
from django.utils.translation import gettext_noop

from core.calc.units import Quantity, UnitSystem, from_display, to_display
from core.errors import ImpossibleRecordError
from core.forms.fresh import SAVE_AGAIN, lists_of, mark_of
from core.forms.parts import Group, grouped
from qa.calc.counts import Spot, choose_spots
from qa.calc.outlines import (
    Point,
    SurfacePlan,
    refuse_bad_outline,
    refuse_bad_plan,
    refuse_outside,
    refuse_wrong_sides,
)
from qa.models import Location, Outline, Surface
from qa.selectors.locations import positions_of

MOST_CORNERS = 60
MOST_SPOTS = 60
FARTHEST_M = 10_000.0
UNIT_WORDS = {UnitSystem.SI: gettext_noop("metres"), UnitSystem.US: gettext_noop("feet")}
BAD_CORNER = gettext_noop(
    "Line %(line)d, “%(text)s”, is not two numbers. Write x and y in %(unit)s, such as 12.5 3."
)
BAD_POINT = gettext_noop("“%(text)s” is not two numbers. Write x and y in %(unit)s, such as 12.5 3.")
BAD_SIDE = gettext_noop(
    "“%(text)s” is not the number of a side. Write numbers parted by commas, such as 1, 3."
)
KEEP, RENEW = "keep", "renew"
T = TypeVar("T")

GROUPS = (
    (gettext_noop("Outline"), ("corners", "run_on_sides", "low_point")),
    (gettext_noop("Test spots"), ("count", "draw", "existing")),
)


def _mark_of(surface: Surface, locations: Sequence[Location]) -> str:
    """Of the outline and the locations that a page shows."""
    outline = Outline.objects.filter(surface=surface).first()
    places = [(str(one.pk), one.label, one.zone, one.x_m, one.y_m) for one in locations]
    return mark_of((outline and outline.plan, places))


class PlanForm(forms.Form):
    corners = forms.CharField(
        label=_lazy("Corners"),
        max_length=4000,
        widget=forms.Textarea(attrs={"rows": 6, "inputmode": "text"}),
    )
    run_on_sides = forms.CharField(
        label=_lazy("Sides that receive run-on"),
        required=False,
        max_length=200,
        help_text=_lazy("Side 1 goes from the first corner to the second. Such as 1, 3."),
    )
    low_point = forms.CharField(label=_lazy("Low point"), required=False, max_length=60)
    count = forms.IntegerField(label=_lazy("New spots"), min_value=0, max_value=MOST_SPOTS)
    draw = forms.IntegerField(
        label=_lazy("Random seed"),
        min_value=1,
        max_value=9999,
        help_text=_lazy("The same number gives the same spots again; another number gives others."),
    )
    existing = forms.ChoiceField(
        label=_lazy("Locations there are"),
        choices=[(KEEP, _lazy("Keep them")), (RENEW, _lazy("Replace them; tested ones stay readable"))],
        widget=forms.RadioSelect,
    )

    seen = forms.CharField(widget=forms.HiddenInput, required=False)

    def __init__(self, *args: Any, surface: Surface, units: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.surface, self.system = surface, UnitSystem(units)
        self.current = list(surface.locations.filter(retired=False))
        self.stored_mark = _mark_of(surface, self.current)
        self.initial["seen"] = self.stored_mark
        unit = _(UNIT_WORDS[self.system])
        corners = self.fields["corners"]
        corners.help_text = _("One corner a line, x and y in {unit}, going round the surface once.").format(
            unit=unit
        )
        corners.widget.attrs["data-plan-corners"] = self.system.value
        self.fields["low_point"].help_text = _("Where water would gather: x and y in {unit}.").format(
            unit=unit
        )
        if not self.current:
            self.fields["existing"].widget = forms.HiddenInput()

    def full_clean(self) -> None:
        super().full_clean()
        # `held` of an editing form, for a plan that is drawn: what was typed stays, and sending it again is the answer.
        if self.is_bound and self.data.get("seen", self.stored_mark) != self.stored_mark:
            self.data = MultiValueDict({**lists_of(self.data), "seen": [self.stored_mark]})
            said = _("The outline or its locations were changed since this page was opened.")
            self.add_error(None, f"{said} {_(SAVE_AGAIN)}")

    @property
    def groups(self) -> list[Group]:
        """The fields in the order of the work."""
        visible = [(_(title), [n for n in names if not self[n].is_hidden]) for title, names in GROUPS]
        return grouped(self, *visible)

    @property
    def keeps(self) -> bool:
        """Whether the locations there are stay."""
        return bool(self.cleaned_data["existing"] == KEEP)

    def clean_corners(self) -> tuple[Point, ...]:
        lines = [line.strip() for line in self.cleaned_data["corners"].splitlines() if line.strip()]
        if len(lines) > MOST_CORNERS:
            said = _("{count} corners are too many; give at most {most} and leave out small bends.")
            raise forms.ValidationError(said.format(count=len(lines), most=MOST_CORNERS))
        corners = tuple(
            self._point(line, BAD_CORNER, line=number) for number, line in enumerate(lines, start=1)
        )
        _accepted(lambda: refuse_bad_outline(corners, self.system))
        return corners

    def clean_run_on_sides(self) -> tuple[int, ...]:
        words = [word.strip() for word in self.cleaned_data["run_on_sides"].split(",") if word.strip()]
        for word in words:
            if not word.isascii() or not word.isdigit() or int(word) < 1:
                raise forms.ValidationError(_(BAD_SIDE), params={"text": word})
        return tuple(sorted({int(word) - 1 for word in words}))

    def clean_low_point(self) -> Point | None:
        text = self.cleaned_data["low_point"].strip()
        return self._point(text, BAD_POINT) if text else None

    def _point(self, text: str, message: str, **params: object) -> Point:
        """Two numbers parted by a blank, a semicolon, or a comma between numbers with points; in metres."""
        words = text.replace(";", " ").replace(",", " ").split()
        params |= {"text": text, "unit": _(UNIT_WORDS[self.system])}
        try:
            x, y = (from_display(float(word), Quantity.LENGTH, self.system) for word in words)
        except ValueError as error:
            raise forms.ValidationError(_(message), params=params) from error
        if not (isfinite(x) and isfinite(y) and max(abs(x), abs(y)) <= FARTHEST_M):
            raise forms.ValidationError(_(message), params=params)
        return x, y

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        if self.errors:
            return cleaned
        plan = SurfacePlan(cleaned["corners"], cleaned["run_on_sides"], cleaned["low_point"])
        cleaned["plan"] = plan
        self._check("run_on_sides", lambda: refuse_wrong_sides(plan))
        self._check("low_point", lambda: refuse_bad_plan(plan, self.system))
        if self.keeps:
            self._check(
                "existing", lambda: refuse_outside(plan.outline, positions_of(self.current), self.system)
            )
        if not self.errors:
            cleaned["spots"] = _accepted(lambda: self._choose(cleaned))
        return cleaned

    def _check(self, name: str, refuse: Callable[[], None]) -> None:
        """Put what a check of the plan refuses beside the field it is about; the first refusal stands alone."""
        try:
            if not self.errors:
                _accepted(refuse)
        except forms.ValidationError as error:
            self.add_error(name, error)

    def _choose(self, cleaned: dict[str, Any]) -> tuple[Spot, ...]:
        if not cleaned["count"]:
            return ()
        taken = list(positions_of(self.current).values()) if self.keeps else []
        return choose_spots(cleaned["plan"], cleaned["count"], cleaned["draw"], taken, self.system)


def _accepted(compute: Callable[[], T]) -> T:
    """What a formula gives; its refusal as the form's."""
    try:
        return compute()
    except ImpossibleRecordError as error:
        raise forms.ValidationError(str(error)) from error


def plan_start(surface: Surface, needed: int, units: str) -> dict[str, Any]:
    """What the form starts with: the stored outline, or a rectangle of the recorded area to be corrected."""
    system = UnitSystem(units)
    outline = Outline.objects.filter(surface=surface).first()
    there = surface.locations.filter(retired=False).count()
    plan = outline.plan if outline else None
    corners = [_shown(corner, system) for corner in plan.outline] if plan else _rectangle(surface, system)
    low = plan.low_point if plan else None
    return {
        "corners": "\n".join(_text(corner) for corner in corners),
        "run_on_sides": ", ".join(str(i + 1) for i in plan.run_on_edges) if plan else "",
        "low_point": _text(_shown(low, system)) if low else "",
        "count": max(0, needed - there),
        "draw": 1,
        "existing": KEEP,
    }


def _shown(p: Point, system: UnitSystem) -> Point:
    x, y = (to_display(v, Quantity.LENGTH, system).value for v in p)
    return x, y


def _text(p: Point) -> str:
    """A corner as it is typed: digits enough that reading it back moves nothing by a millimetre."""
    return f"{p[0]:.8g} {p[1]:.8g}"


def _rectangle(surface: Surface, system: UnitSystem) -> list[Point]:
    """A rectangle of the recorded area with sides to a tenth, in the reader's units."""
    area = to_display(surface.area_m2, Quantity.AREA, system).value
    side = round(sqrt(area / 1.5), 1) or 0.1
    length = round(area / side, 1)
    return [(0.0, 0.0), (length, 0.0), (length, side), (0.0, side)]
