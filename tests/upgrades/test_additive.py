"""Migrations after the first release add; what else one does, it gives its reason for. The released ones stay."""

import json

import pytest
from django.db import migrations, models
from django.db.migrations.loader import MigrationLoader
from django.db.migrations.state import ModelState, ProjectState

from tests.upgrades.additive import not_additive, unreasoned
from tests.upgrades.first_release import (
    DIGESTS,
    digests,
    later_than_the_first,
    our_migrations,
)

CHANGED = (
    "It is part of the first release, and databases were made by it: put it back as it was and add a migration "
    "(manage.py makemigrations). As long as nothing is released: make first-release."
)
SURFACE = ("qa", "surface")
ALTERED = [
    (models.CharField(max_length=20), models.CharField(max_length=40), True),
    (models.CharField(max_length=20), models.CharField(max_length=10), False),
    (models.CharField(max_length=20), models.CharField(max_length=20, choices=[("a", "A")]), True),
    (models.CharField(max_length=20), models.CharField(max_length=20, unique=True), False),
    (models.CharField(max_length=20), models.TextField(), False),
    (models.FloatField(), models.FloatField(null=True), True),
    (models.FloatField(null=True), models.FloatField(), False),
    (models.FloatField(), models.FloatField(db_default=1.0), True),
    (models.FloatField(db_default=1.0), models.FloatField(), False),
    (models.FloatField(), models.FloatField(db_column="other"), False),
]
OTHERS = [
    (migrations.CreateModel("Other", [("id", models.AutoField(primary_key=True))]), True),
    (migrations.AddIndex("Surface", models.Index(fields=["a"], name="by_a")), True),
    (migrations.AddField("Surface", "b", models.FloatField(null=True)), True),
    (migrations.AddField("Surface", "b", models.FloatField(db_default=1.0)), True),
    (migrations.AddField("Surface", "b", models.FloatField(default=1.0)), False),
    (migrations.RemoveField("Surface", "a"), False),
    (migrations.RenameField("Surface", "a", "b"), False),
    (migrations.RenameModel("Surface", "Area"), False),
    (migrations.DeleteModel("Surface"), False),
    (
        migrations.AddConstraint(
            "Surface", models.CheckConstraint(condition=models.Q(a__gt="0"), name="some")
        ),
        False,
    ),
    (migrations.RunPython(migrations.RunPython.noop), False),
]


def world(field=None):
    """A model with one column besides its key."""
    state = ProjectState()
    fields = [("id", models.AutoField(primary_key=True)), ("a", field or models.CharField(max_length=20))]
    state.add_model(ModelState("qa", "Surface", fields, options={"indexes": [], "constraints": []}))
    return state


def of(operation):
    migration = migrations.Migration("0002_more", "qa")
    migration.operations = [operation]
    return migration


def test_the_migrations_of_the_first_release_are_as_they_were():
    released = json.loads(DIGESTS.read_text(encoding="utf-8"))
    now = digests(our_migrations())

    for name, digest in released.items():
        assert now.get(name) == digest, f"{name} has changed. {CHANGED}"
    assert set(now) - set(released) == set(later_than_the_first(now))


def test_a_migration_that_was_made_anew_would_be_seen(tmp_path):
    folder = tmp_path / "qa" / "migrations"
    folder.mkdir(parents=True)
    (name, file), *_ = our_migrations().items()
    (folder / "0001_register.py").write_text(file.read_text(encoding="utf-8") + "\n", encoding="utf-8")
    (again,) = digests(our_migrations(tmp_path)).values()

    assert again != digests({name: file})[name]


def test_the_first_release_cannot_be_made_anew_once_a_migration_follows():
    assert later_than_the_first(our_migrations()) == later_than_the_first(
        set(our_migrations()) - set(json.loads(DIGESTS.read_text(encoding="utf-8")))
    )
    assert later_than_the_first(["qa.0001_register", "qa.0002_drains"]) == ["qa.0002_drains"]


def test_every_later_migration_only_adds_or_says_why_not():
    loader = MigrationLoader(None)
    for name in later_than_the_first(our_migrations()):
        node = tuple(name.split("."))
        before = loader.project_state(node, at_end=False)
        assert unreasoned(loader.graph.nodes[node], before) == [], name


@pytest.mark.parametrize(("operation", "adds"), OTHERS, ids=[str(i) for i in range(len(OTHERS))])
def test_what_an_older_process_does_not_notice_is_told_from_what_it_stumbles_over(operation, adds):
    assert bool(not_additive(of(operation), world())) is not adds, operation.describe()


@pytest.mark.parametrize(("old", "new", "widens"), ALTERED, ids=[str(i) for i in range(len(ALTERED))])
def test_a_column_may_become_wider_and_not_narrower(old, new, widens):
    found = not_additive(of(migrations.AlterField("Surface", "a", new)), world(old))

    assert bool(found) is not widens, found


def test_a_reason_lets_it_through_and_an_empty_word_does_not():
    migration = of(migrations.RemoveField("Surface", "a"))
    assert unreasoned(migration, world())
    migration.not_additive = "soon"
    assert unreasoned(migration, world())
    migration.not_additive = "No edition since 0005 reads or writes this column."
    assert unreasoned(migration, world()) == []
