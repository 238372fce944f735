"""Text to typed values for the outline of a surface and the choice of test spots on it."""

from math import isfinite, sqrt
from typing import Any

from django import forms

from core.calc.units import UnitSystem
from core.forms.parts import Group, grouped
from qa.calc.counts import Point, Spot, SurfacePlan, choose_spots, minimum_spacing_m
from qa.models import Outline, Surface
from qa.presentation.plan import plan_of

MOST_CORNERS = 60
MOST_SPOTS = 60
BAD_CORNER = "Line %(line)d, “%(text)s”, is not two numbers. Write x and y in metres, such as 12.5 3."
BAD_POINT = "“%(text)s” is not two numbers. Write x and y in metres, such as 12.5 3."
BAD_SIDE = "“%(text)s” is not the number of a side. Write numbers parted by commas, such as 1, 3."
KEEP, RENEW = "keep", "renew"

GROUPS = (
    ("Outline", ("corners", "run_on_sides", "low_point")),
    ("Test spots", ("count", "draw", "existing")),
)


class PlanForm(forms.Form):
    corners = forms.CharField(
        max_length=4000,
        widget=forms.Textarea(attrs={"rows": 6, "inputmode": "text", "data-plan-corners": ""}),
        help_text="One corner a line, x and y in metres, going round the surface.",
    )
    run_on_sides = forms.CharField(
        label="Sides that receive run-on",
        required=False,
        max_length=200,
        help_text="Side 1 goes from the first corner to the second. Such as 1, 3.",
    )
    low_point = forms.CharField(
        required=False, max_length=60, help_text="Where water would gather: x and y in metres."
    )
    count = forms.IntegerField(label="New spots", min_value=0, max_value=MOST_SPOTS)
    draw = forms.IntegerField(
        label="Draw number",
        min_value=1,
        max_value=9999,
        help_text="The same number gives the same spots again; another number gives others.",
    )
    existing = forms.ChoiceField(
        label="Locations there are",
        choices=[(KEEP, "Keep them"), (RENEW, "Replace them; tested ones stay readable")],
        widget=forms.RadioSelect,
    )

    def __init__(self, *args: Any, surface: Surface, units: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.surface, self.system = surface, UnitSystem(units)
        self.current = list(surface.locations.filter(retired=False))
        if not self.current:
            self.fields["existing"].widget = forms.HiddenInput()

    @property
    def groups(self) -> list[Group]:
        """The fields in the order of the work."""
        visible = [(title, [n for n in names if not self[n].is_hidden]) for title, names in GROUPS]
        return grouped(self, *visible)

    @property
    def keeps(self) -> bool:
        """Whether the locations there are stay."""
        return bool(self.cleaned_data["existing"] == KEEP)

    def clean_corners(self) -> tuple[Point, ...]:
        lines = [line.strip() for line in self.cleaned_data["corners"].splitlines() if line.strip()]
        if len(lines) > MOST_CORNERS:
            raise forms.ValidationError(
                f"{len(lines)} corners are too many; give at most {MOST_CORNERS} and leave out small bends."
            )
        return tuple(_point(line, BAD_CORNER, line=n) for n, line in enumerate(lines, start=1))

    def clean_run_on_sides(self) -> tuple[int, ...]:
        words = [word.strip() for word in self.cleaned_data["run_on_sides"].split(",") if word.strip()]
        for word in words:
            if not word.isascii() or not word.isdigit() or int(word) < 1:
                raise forms.ValidationError(BAD_SIDE, params={"text": word})
        return tuple(sorted({int(word) - 1 for word in words}))

    def clean_low_point(self) -> Point | None:
        text = self.cleaned_data["low_point"].strip()
        return _point(text, BAD_POINT) if text else None

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        if self.errors:
            return cleaned
        cleaned["plan"] = SurfacePlan(cleaned["corners"], cleaned["run_on_sides"], cleaned["low_point"])
        try:
            cleaned["spots"] = self._choose(cleaned)
        except ValueError as error:
            raise forms.ValidationError(str(error)) from error
        return cleaned

    def _choose(self, cleaned: dict[str, Any]) -> tuple[Spot, ...]:
        if not cleaned["count"]:
            return ()
        kept = self.current if cleaned["existing"] == KEEP else []
        taken = [(p.x_m, p.y_m) for p in kept if p.x_m is not None and p.y_m is not None]
        spacing = minimum_spacing_m(self.system)
        return choose_spots(cleaned["plan"], cleaned["count"], cleaned["draw"], spacing, taken)


def _point(text: str, message: str, **params: object) -> Point:
    """Two numbers parted by a blank, a semicolon, or a comma between numbers with points."""
    words = text.replace(";", " ").replace(",", " ").split()
    try:
        x, y = (float(word) for word in words)
    except ValueError as error:
        raise forms.ValidationError(message, params={"text": text, **params}) from error
    if not (isfinite(x) and isfinite(y) and max(abs(x), abs(y)) <= 10_000):
        raise forms.ValidationError(message, params={"text": text, **params})
    return x, y


def plan_start(surface: Surface, needed: int) -> dict[str, Any]:
    """What the form starts with: the stored outline, or a rectangle of the recorded area to be corrected."""
    outline = Outline.objects.filter(surface=surface).first()
    plan = plan_of(outline) if outline else _rectangle(surface.area_m2)
    there = surface.locations.filter(retired=False).count()
    return {
        "corners": "\n".join(f"{x:g} {y:g}" for x, y in plan.outline),
        "run_on_sides": ", ".join(str(i + 1) for i in plan.run_on_edges),
        "low_point": f"{plan.low_point[0]:g} {plan.low_point[1]:g}" if plan.low_point else "",
        "count": max(0, needed - there),
        "draw": 1,
        "existing": KEEP,
    }


def _rectangle(area_m2: float) -> SurfacePlan:
    side = round(sqrt(area_m2 / 1.5), 1) or 0.1
    length = round(area_m2 / side, 1)
    return SurfacePlan(((0.0, 0.0), (length, 0.0), (length, side), (0.0, side)))
