"""Colours of the drawings: each a CSS custom property with a light fallback, and its dark value."""

from dataclasses import dataclass

# name: (light and print, dark)
COLOURS = {
    "ink": ("#26231f", "#efe9df"),
    "line": ("#6d655a", "#a79d8e"),
    "void": ("#f3ede2", "#1d1b18"),
    "stone-a": ("#b3a795", "#8a7f6f"),
    "stone-b": ("#c6bcab", "#9d9282"),
    "stone-c": ("#9d9180", "#74695b"),
    "stone-lit": ("#ded6c8", "#b9ae9d"),
    "stone-edge": ("#6f6557", "#2b2722"),
    "fine-a": ("#a9a39b", "#87817a"),
    "fine-b": ("#bdb8b0", "#9a958d"),
    "fine-c": ("#8f8982", "#6c6761"),
    "unit": ("#a8a49d", "#7f7b74"),
    "unit-shade": ("#8f8b84", "#68645e"),
    "unit-edge": ("#5b5751", "#24221f"),
    "clay": ("#b5694a", "#a35c3f"),
    "clay-shade": ("#96523a", "#844730"),
    "slab": ("#8c97a0", "#707b84"),
    "slab-shade": ("#74808a", "#5a656e"),
    "resin": ("#d8a94e", "#b98a34"),
    "resin-a": ("#c9a97c", "#b39263"),
    "resin-b": ("#a97f5b", "#93693f"),
    "resin-c": ("#ded0b6", "#c9b894"),
    "cement": ("#7f8284", "#5d6062"),
    "cement-a": ("#a5a8a9", "#85888a"),
    "cement-b": ("#b7b9b9", "#979a9b"),
    "cement-c": ("#929596", "#737677"),
    "bitumen": ("#2f2e31", "#0e0e10"),
    "bitumen-a": ("#5b5a5e", "#55545a"),
    "bitumen-b": ("#6c6a6e", "#656369"),
    "bitumen-c": ("#4a494d", "#454449"),
    "plastic": ("#3d5a4c", "#6f9a85"),
    "soil": ("#a5825e", "#5c4733"),
    "soil-mark": ("#7c5e40", "#87694b"),
    "cloth": ("#1f1d1a", "#f4efe6"),
    "water": ("#8fc3e0", "#2c6f96"),
    "water-line": ("#12608f", "#7cc4ee"),
    "reuse": ("#79cbb9", "#226e60"),
    "pipe": ("#fbfaf7", "#34312d"),
}


@dataclass(frozen=True, slots=True)
class Paint:
    """Gives the text of a colour: a custom property for a page, or the plain colour for paper."""

    css_variables: bool = True

    def __call__(self, name: str) -> str:
        light = COLOURS[name][0]
        return f"var(--section-{name}, {light})" if self.css_variables else light


def dark_declarations() -> str:
    """CSS declarations that turn a drawing dark; for the page's own dark rule."""
    return "\n".join(f"--section-{name}: {dark};" for name, (_, dark) in COLOURS.items())
