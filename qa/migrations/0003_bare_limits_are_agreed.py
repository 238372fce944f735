from django.db import migrations
from django.db.models import F
from django.db.models.functions import Substr


def take_as_agreed(apps, schema_editor):
    """A limit stored before rules could be chosen stands as agreed, with the source that was given for it."""
    bare = apps.get_model("qa", "Surface").objects.filter(agreed_limit_mm_h=None)
    bare.filter(limit_preset="", own_limit=None, design_intensity_mm_h=None).update(
        agreed_limit_mm_h=F("limit_mm_h"), agreed_source=Substr("limit_source", 1, 200)
    )


class Migration(migrations.Migration):
    dependencies = [("qa", "0002_limits_from_rules")]

    operations = [migrations.RunPython(take_as_agreed, migrations.RunPython.noop)]
