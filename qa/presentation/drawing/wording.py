"""The section in words: what stands beside each layer, and the description read aloud."""

from core.calc.format import percent, size_number
from core.calc.translation import gettext as _
from core.calc.units import Quantity, UnitSystem, unit_of
from qa.calc.buildups import SHEETS, LayerKind
from qa.calc.sieves import stone_size_text
from qa.presentation.drawing.record import BuildUp, Layer

_NBSP = "\u00a0"
Lines = tuple[str, str, str]  # heading, material, values


def length_text(length_mm: float, system: UnitSystem) -> str:
    """A length with its unit, in the figures that pages and tables give it."""
    number = size_number(length_mm, system).replace(" ", _NBSP)
    return f"{number}{_NBSP}{unit_of(Quantity.SHORT_LENGTH, system)}"


def length_number(length_mm: float, system: UnitSystem) -> str:
    """The same without the unit."""
    return size_number(length_mm, system).replace(" ", _NBSP)


def layer_lines(layer: Layer, system: UnitSystem) -> Lines:
    """Heading, material and values of a layer."""
    values = []
    if layer.thickness_mm > 0 and layer.kind not in SHEETS and layer.kind is not LayerKind.SUBGRADE:
        values.append(length_text(layer.thickness_mm, system))
    if layer.porosity is not None:
        values.append(_("{percent}\u00a0voids").format(percent=percent(layer.porosity)))
    if layer.stone_max_mm:
        values.append(_stone_text(layer, system))
    return layer.kind.label, _kept_together(layer.material), " · ".join(values)


def _kept_together(material: str) -> str:
    """Single spaces, and a stone size number never parted from its "No."."""
    return " ".join(material.split()).replace("No. ", f"No.{_NBSP}")


def _stone_text(layer: Layer, system: UnitSystem) -> str:
    largest = stone_size_text(layer.stone_max_mm or 0.0, system).replace(" ", _NBSP)
    if not layer.stone_min_mm:
        return _("stone\u00a0to\u00a0{largest}").format(largest=largest)
    if system is UnitSystem.US:
        smallest = stone_size_text(layer.stone_min_mm, system).replace(" ", _NBSP)
        return _("stone\u00a0{smallest} to\u00a0{largest}").format(smallest=smallest, largest=largest)
    smallest = length_number(layer.stone_min_mm, system)
    return _("stone\u00a0{smallest}–{largest}").format(smallest=smallest, largest=largest)


def overflow_lines(build_up: BuildUp, system: UnitSystem) -> Lines:
    """Heading and values of the overflow pipe, with what stays below it."""
    pipe = build_up.overflow
    if pipe is None:
        raise ValueError("This build-up has no overflow pipe.")
    invert = pipe.invert_above_subgrade_mm
    place = _("{diameter} pipe, invert {height} above subgrade").format(
        diameter=length_text(pipe.diameter_mm, system), height=length_text(invert, system)
    )
    held = ""
    if pipe.holds_mm:
        held = _("{depth} of water stays below").format(depth=length_text(pipe.holds_mm, system))
    return _("Overflow"), place, held


def reuse_lines(build_up: BuildUp, system: UnitSystem) -> Lines:
    """Heading and height of the water kept for reuse."""
    height = length_text(build_up.reuse_depth_mm or 0.0, system)
    return _("Kept for reuse"), _("to {height} above subgrade").format(height=height), ""


def title_of(build_up: BuildUp) -> str:
    """Name of the drawing."""
    return _("Cross-section, {surface}").format(surface=build_up.surface_type.in_sentence)


def describe(build_up: BuildUp, system: UnitSystem) -> str:
    """The layers in words from the top down, for those who hear the drawing."""
    depth = length_text(build_up.depth_mm, system)
    sentences = [_("True to scale, from the top, {depth} to the subgrade.").format(depth=depth)]
    texts = [layer_lines(layer, system) for layer in build_up.layers]
    if build_up.overflow:
        texts.append(overflow_lines(build_up, system))
    if build_up.reuse_depth_mm:
        texts.append(reuse_lines(build_up, system))
    for heading, material, values in texts:
        details = ", ".join(part for part in (material, values.replace(" · ", ", ")) if part)
        # Translators: {heading} is a layer, {details} its material and sizes.
        said = _("{heading}: {details}.") if details else "{heading}."
        sentences.append(said.format(heading=heading, details=details))
    return " ".join(sentences)
