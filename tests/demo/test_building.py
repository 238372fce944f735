"""The invented construction records: made through the services, marked as invented."""

from datetime import timedelta
from io import BytesIO

from django.utils.timezone import localdate
from PIL import Image

from demo.presentation.pictures import picture
from demo.services import building
from qa.calc.buildups import typical_layers
from qa.models import Attachment, ConstructionRecord, Layer
from qa.selectors.construction import record_state
from qa.services import register
from tests.factories import InfiltrationTestFactory, RoundFactory, SiteFactory, SurfaceFactory


def built_surface(firm, site, name):
    surface = SurfaceFactory(
        site=SiteFactory(owner=firm.owner, name=site),
        name=name,
        surface_type="clay",
        opened_on=localdate() - timedelta(days=400),
        acceptance_rate_mm_h=2540.0,
        soil_rate_mm_h=8.0,
    )
    layers = [
        Layer(kind=one.kind, material=one.material, thickness_mm=one.thickness_mm, porosity=one.porosity)
        for one in typical_layers("clay")
    ]
    register.save_build_up(surface=surface, layers=layers, removed=[])
    round_ = RoundFactory(surface=surface, purpose="acceptance", tested_on=surface.opened_on)
    for spot in "ABC":
        InfiltrationTestFactory(round=round_, spot=spot, prewet_time_s=20.0, test_mass=18.0, elapsed_s=100.0)
    return surface


def test_the_three_stories_end_as_they_are_told(firm):
    for site, name in (("Tollgate Green", "Home zone"), ("Millrace School", "Bicycle shelter")):
        built_surface(firm, site, name)

    building.build(firm.organisation, localdate(), firm.coordinator, firm.technician)

    states = {
        r.surface.name: record_state(r) for r in ConstructionRecord.objects.select_related("surface__site")
    }
    assert states["Home zone"].complete
    rechecked = next(c for c in states["Home zone"].checks if c.row.key == "bedding_thickness")
    assert [e.outcome for e in rechecked.entries][:2] == ["failed", "passed"]
    assert rechecked.counted == rechecked.row.readings_asked > 1
    assert not states["Home zone"].contradicted
    assert not states["Bicycle shelter"].contradicted
    assert [w.done_by for w in rechecked.entries[0].works.all()] == ["Crew north"]
    assert states["Bicycle shelter"].complete
    assert [c.row.key for c in states["Bicycle shelter"].waived] == ["geotextile_overlap"]
    stopped = states["Kitchen yard"]
    assert [c.row.key for c in stopped.failed] == ["geotextile_overlap"]
    assert next(s.stage.value for s in stopped.stages if s.progress.stopped_by) == "overflow"
    assert Attachment.objects.count() > 10


def test_a_drawn_picture_is_a_photo_with_a_band_that_marks_it():
    image = Image.open(BytesIO(picture("ring", "Ring at spot A", 1).read()))

    assert image.format == "JPEG"
    red, green, blue = image.getpixel((image.width - 5, 5))
    assert red > 230
    assert 150 < blue < 200


def test_the_same_seed_draws_the_same_picture():
    assert picture("stone", "Base", 7).read() == picture("stone", "Base", 7).read()
    assert picture("stone", "Base", 7).read() != picture("stone", "Base", 8).read()
