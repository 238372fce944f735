"""The section in words: what stands beside each layer, and the description read aloud."""

from core.calc.format import percent, size_number
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
        values.append(f"{percent(layer.porosity)}{_NBSP}voids")
    if layer.stone_max_mm:
        values.append(_stone_text(layer, system))
    return layer.kind.label, _kept_together(layer.material), " · ".join(values)


def _kept_together(material: str) -> str:
    """Single spaces, and a stone size number never parted from its "No."."""
    return " ".join(material.split()).replace("No. ", f"No.{_NBSP}")


def _stone_text(layer: Layer, system: UnitSystem) -> str:
    largest = stone_size_text(layer.stone_max_mm or 0.0, system).replace(" ", _NBSP)
    if not layer.stone_min_mm:
        return f"stone{_NBSP}to{_NBSP}{largest}"
    if system is UnitSystem.US:
        smallest = stone_size_text(layer.stone_min_mm, system).replace(" ", _NBSP)
        return f"stone{_NBSP}{smallest} to{_NBSP}{largest}"
    return f"stone{_NBSP}{length_number(layer.stone_min_mm, system)}–{largest}"


def overflow_lines(build_up: BuildUp, system: UnitSystem) -> Lines:
    """Heading and values of the overflow pipe, with what stays below it."""
    pipe = build_up.overflow
    if pipe is None:
        raise ValueError("This build-up has no overflow pipe.")
    invert = pipe.invert_above_subgrade_mm
    place = (
        f"{length_text(pipe.diameter_mm, system)} pipe, invert {length_text(invert, system)} above subgrade"
    )
    held = f"{length_text(pipe.holds_mm, system)} of water stays below" if pipe.holds_mm else ""
    return "Overflow", place, held


def reuse_lines(build_up: BuildUp, system: UnitSystem) -> Lines:
    """Heading and height of the water kept for reuse."""
    return "Kept for reuse", f"to {length_text(build_up.reuse_depth_mm or 0.0, system)} above subgrade", ""


def title_of(build_up: BuildUp) -> str:
    """Name of the drawing."""
    return f"Cross-section, {build_up.surface_type.in_sentence}"


def describe(build_up: BuildUp, system: UnitSystem) -> str:
    """The layers in words from the top down, for those who hear the drawing."""
    sentences = [f"True to scale, from the top, {length_text(build_up.depth_mm, system)} to the subgrade."]
    texts = [layer_lines(layer, system) for layer in build_up.layers]
    if build_up.overflow:
        texts.append(overflow_lines(build_up, system))
    if build_up.reuse_depth_mm:
        texts.append(reuse_lines(build_up, system))
    for heading, material, values in texts:
        details = ", ".join(part for part in (material, values.replace(" · ", ", ")) if part)
        sentences.append(f"{heading}: {details}." if details else f"{heading}.")
    return " ".join(sentences)
