"""Whether processes of the edition before can go on while a migration has run: what it only adds, they never notice.

An older process writes rows without the new columns, and reads the old ones. So a column comes with `null=True` or a
`db_default` (a plain `default` stays in Python: the database forgets it), and one goes in two steps: an edition that
no longer uses it, and after that one that removes it. A migration that does more says why in `not_additive`.
"""

from django.db import migrations, models

REASON = "not_additive"  # the attribute of a migration in which it says why it may
ADDS = (
    migrations.CreateModel,
    migrations.AddIndex,
    migrations.RemoveIndex,
    migrations.RenameIndex,
    migrations.RemoveConstraint,
    migrations.AlterModelOptions,
    migrations.AlterModelManagers,
    migrations.AlterModelTableComment,
)
OF_PYTHON = {*models.Field.non_db_attrs, "default", "auto_now", "auto_now_add"} - {"db_column"}
WIDER = {
    "null": lambda old, new: bool(new),
    "unique": lambda old, new: not new,
    "max_length": lambda old, new: new is None or (old is not None and new > old),
    "db_default": lambda old, new: new is not models.NOT_PROVIDED,
    "db_index": lambda old, new: True,
}


def not_additive(migration, before):
    """What in the migration an older process would stumble over, in words.

    before: the state of all models before it.
    """
    state, found = before.clone(), []
    for operation in migration.operations:
        found += _why_not(operation, migration.app_label, state)
        operation.state_forwards(migration.app_label, state)
    return found


def unreasoned(migration, before):
    """The same, unless the migration says why it may."""
    return [] if len(getattr(migration, REASON, "")) >= 20 else not_additive(migration, before)


def _why_not(operation, app, state):
    what = operation.describe()
    if isinstance(operation, ADDS):
        return []
    if isinstance(operation, migrations.AddField):
        return [] if _may_be_left_out(operation.field) else [f"{what}: it has neither null nor db_default"]
    if isinstance(operation, migrations.AlterField):
        old = state.models[app, operation.model_name_lower].fields[operation.name]
        return [f"{what}: {name} changes" for name in _narrowed(old, operation.field)]
    return [f"{what}: the edition before does not know of it"]


def _may_be_left_out(field):
    """Whether an INSERT without it succeeds."""
    return field.null or field.many_to_many or field.generated or field.has_db_default()


def _narrowed(old, new):
    """What of the column becomes other than wider: its type, or one of the field's arguments."""
    (_, old_type, _, was), (_, new_type, _, becomes) = old.deconstruct(), new.deconstruct()
    if old_type != new_type:
        return ["its type"]
    names = {name for name in {*was, *becomes} - OF_PYTHON if was.get(name) != becomes.get(name)}
    return sorted(name for name in names if not _is_wider(name, old, new))


def _is_wider(name, old, new):
    return name in WIDER and WIDER[name](getattr(old, name), getattr(new, name))
