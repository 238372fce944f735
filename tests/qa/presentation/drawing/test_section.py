import re
from dataclasses import replace
from itertools import pairwise
from xml.etree import ElementTree

import pytest

from core.calc.paving import SurfaceType
from core.calc.units import UnitSystem
from core.errors import UnusableRecordError
from core.presentation.lettering import text_width
from qa.calc.buildups import LayerKind
from qa.presentation.drawing.palette import COLOURS, dark_declarations
from qa.presentation.drawing.section import BuildUp, Layer, Overflow, draw_section

SVG = "{http://www.w3.org/2000/svg}"
LAYERS = (
    Layer(LayerKind.SURFACE_COURSE, "Concrete pavers", 80),
    Layer(LayerKind.JOINT_FILL, "Stone No. 89", 74, 1.2, 9.5),
    Layer(LayerKind.BEDDING, "Stone No. 8", 50, 2.4, 9.5, 0.38),
    Layer(LayerKind.BASE, "Stone No. 57", 100, 5, 25, 0.40),
    Layer(LayerKind.SUBBASE, "Stone No. 2", 300, 19, 63, 0.40),
    Layer(LayerKind.GEOTEXTILE, "Nonwoven"),
    Layer(LayerKind.SUBGRADE, "Silty clay"),
)
YARD = BuildUp(SurfaceType.PICP, LAYERS, Overflow(150, 100, holds_mm=60))


def parsed(build_up, **options):
    return ElementTree.fromstring(draw_section(build_up, **options))


def texts(root):
    return list(root.iter(f"{SVG}text"))


@pytest.mark.parametrize("kind", SurfaceType)
def test_every_surface_type_gives_a_named_and_described_picture(kind):
    root = parsed(replace(YARD, surface_type=kind), id_prefix="a")

    assert root.get("role") == "img"
    assert root.find(f"{SVG}title").get("id") == root.get("aria-labelledby") == "a-title"
    assert root.find(f"{SVG}desc").get("id") == root.get("aria-describedby") == "a-desc"
    assert len(root.findall(f".//{SVG}path")) > 10


def test_the_description_gives_every_layer_and_the_water_in_words():
    words = parsed(YARD).find(f"{SVG}desc").text.replace("\u00a0", " ")

    assert words.startswith(
        "True to scale, from the top, 530 mm to the subgrade. Surface course: Concrete pavers, 80 mm."
    )
    assert "Base: Stone No. 57, 100 mm, 40 % voids, stone 5–25 mm." in words
    assert "Geotextile: Nonwoven. Subgrade: Silty clay." in words
    assert words.endswith("Overflow: 100 mm pipe, invert 150 mm above subgrade, 60 mm of water stays below.")


def test_layers_are_drawn_to_one_scale_with_the_pipe():
    root = parsed(YARD)

    heights = [float(r.get("height")) for r in root.find(f"{SVG}g").findall(f"{SVG}rect")[:3]]
    radius = float(root.find(f".//{SVG}circle").get("r"))
    scale = heights[2] / 300

    assert heights == pytest.approx([50 * scale, 100 * scale, 300 * scale], abs=0.1)
    # The ring is drawn on the middle of its wall, so its inside is the radius less half of that.
    wall = float(root.find(f".//{SVG}circle").get("stroke-width"))
    assert radius - wall / 2 == pytest.approx(50 * scale, abs=0.15)


def test_layers_water_and_pipe_lie_at_their_depths():
    root = parsed(YARD)
    rects = root.find(f"{SVG}g").findall(f"{SVG}rect")
    layers, water, pipe = rects[:3], rects[3], root.find(f".//{SVG}circle")
    scale, top = float(layers[2].get("height")) / 300, 22

    def depth_mm(y):
        return (float(y) - top) / scale

    assert [depth_mm(r.get("y")) for r in layers] == pytest.approx([80, 130, 230], abs=0.2)
    assert "--section-water" in water.get("fill")
    assert depth_mm(water.get("y")) == pytest.approx(530 - 150, abs=0.2)
    assert float(water.get("height")) / scale == pytest.approx(150, abs=0.2)
    inside = float(pipe.get("r")) - float(pipe.get("stroke-width")) / 2
    assert depth_mm(float(pipe.get("cy")) + inside) == pytest.approx(530 - 150, abs=0.3)


def test_the_scale_bar_has_the_length_it_says():
    root = parsed(YARD)

    said = float(re.match(r"[\d.]+", next(t.text for t in texts(root) if "both ways" in t.text)).group())
    bar = root.findall(f"{SVG}rect")[-4:]
    layer = root.find(f"{SVG}g").find(f"{SVG}rect")

    assert sum(float(r.get("width")) for r in bar) / said == pytest.approx(
        float(layer.get("height")) / 50, rel=0.01
    )


@pytest.mark.parametrize("system", UnitSystem)
@pytest.mark.parametrize("layers", [LAYERS, LAYERS * 2, LAYERS[:1], LAYERS[3:]])
def test_labels_neither_overlap_nor_leave_the_drawing(layers, system):
    root = parsed(BuildUp(SurfaceType.PICP, layers), system=system)
    _, _, width, height = map(float, root.get("viewBox").split())

    for first, last in ((0, 42), (200, 360)):
        rows = sorted(float(t.get("y")) for t in texts(root) if first < float(t.get("x")) < last)
        assert all(below - above >= 12 for above, below in pairwise(rows))
    for label in texts(root):
        assert 9 <= float(label.get("y")) <= height
        if label.get("text-anchor") != "end":
            assert float(label.get("x")) + text_width(label.text, 12) <= width + 1


def test_very_thin_layers_keep_their_numbers_apart():
    thin = tuple(Layer(LayerKind.BASE, f"Layer {i}", 5, 1, 4, 0.4) for i in range(6))

    root = parsed(BuildUp(SurfaceType.GRAVEL, (*thin, Layer(LayerKind.SUBBASE, "Stone", 400, 20, 60))))

    numbers = sorted(
        float(t.get("y")) for t in texts(root) if t.get("text-anchor") == "end" and t.text != "mm"
    )
    assert len(numbers) == 7
    assert all(below - above >= 12 for above, below in pairwise(numbers))


def test_text_from_the_record_is_escaped():
    hostile = replace(LAYERS[0], material='<script>alert("1")</script> & \x07 tiles')

    markup = draw_section(BuildUp(SurfaceType.PICP, (hostile,)))

    assert "<script" not in markup
    assert "\x07" not in markup
    assert ElementTree.fromstring(markup) is not None


def test_a_long_name_without_spaces_is_cut_to_its_column():
    build_up = BuildUp(SurfaceType.GRAVEL, (Layer(LayerKind.SURFACE_COURSE, "W" * 300, 60),))

    assert any(t.text.endswith("…") for t in texts(parsed(build_up)))


def test_the_same_seed_draws_the_same_picture_and_another_seed_other_stones():
    assert draw_section(YARD, seed=3) == draw_section(YARD, seed=3)
    assert draw_section(YARD, seed=3) != draw_section(YARD, seed=4)


def test_colours_are_custom_properties_on_a_page_and_plain_on_paper():
    page, paper = draw_section(YARD), draw_section(YARD, css_variables=False)

    assert "var(--section-stone-a, #b3a795)" in page
    assert "var(" not in paper
    assert "style=" not in page
    assert all(f"--section-{name}:" in dark_declarations() for name in COLOURS)


def contrast(first, second):
    def luminance(colour):
        channels = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
        linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
        return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]

    light, dark = sorted((luminance(first), luminance(second)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


@pytest.mark.parametrize("theme", [0, 1])
def test_lettering_and_water_line_stand_out_from_the_paper(theme):
    """WCAG 2.2, 1.4.3 and 1.4.11: 4.5 to 1 for text, 3 to 1 for meaningful graphics."""
    paper = ("#ffffff", "#161412")[theme]

    assert contrast(COLOURS["ink"][theme], paper) >= 7
    assert contrast(COLOURS["line"][theme], paper) >= 3
    assert contrast(COLOURS["water-line"][theme], COLOURS["void"][theme]) >= 3
    assert contrast(COLOURS["cloth"][theme], COLOURS["soil"][theme]) >= 3


def test_us_lettering_is_in_inches():
    shown = [t.text for t in texts(parsed(YARD, system=UnitSystem.US))]

    assert "in" in shown
    assert "3.15" in shown
    assert not any("mm" in t for t in shown)


def test_water_kept_for_reuse_is_drawn_and_said():
    kept = replace(YARD, overflow=None, reuse_depth_mm=200)

    markup = draw_section(kept)

    assert "--section-reuse" in markup
    assert "to 200\u00a0mm above subgrade" in markup


def test_nothing_is_said_of_water_below_an_overflow_where_it_is_not_known():
    unknown = replace(YARD, overflow=Overflow(150, 100))

    assert "of water stays below" not in draw_section(unknown)


@pytest.mark.parametrize(
    ("build", "message"),
    [
        (lambda: BuildUp(SurfaceType.PICP, ()), "has no layer with a thickness"),
        (
            lambda: replace(YARD, overflow=Overflow(600, 100)),
            "overflow invert of 600 mm lies outside the build-up",
        ),
        (lambda: replace(YARD, overflow=Overflow(100, 0)), "An overflow pipe of 0 mm cannot be drawn"),
        (lambda: replace(YARD, reuse_depth_mm=-1), "reuse depth of -1 mm lies outside"),
        (lambda: replace(YARD, layers=(replace(LAYERS[3], thickness_mm=0),)), "base has a thickness of 0 mm"),
        (lambda: replace(YARD, layers=(replace(LAYERS[3], porosity=40),)), "base has a porosity of 40"),
        (lambda: replace(YARD, layers=(replace(LAYERS[3], stone_min_mm=30),)), "stone from 30 to 25 mm"),
        (lambda: replace(YARD, layers=(replace(LAYERS[3], stone_max_mm=0),)), "not a positive number"),
    ],
)
def test_a_record_that_cannot_be_drawn_is_refused(build, message):
    with pytest.raises(UnusableRecordError, match=message):
        build()
