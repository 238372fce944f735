"""Scripts name what they import by its contents: a browser that has it need not ask whether it is still the same."""

import re
from pathlib import Path

import pytest
from django.contrib.staticfiles.storage import StaticFilesStorage
from whitenoise.storage import CompressedManifestStaticFilesStorage

from core.services.storage import NamedByContents

OURS = Path(__file__).parents[3] / "static" / "js"
IMPORTS = re.compile(r'(?:from|import\()\s*"(\.[^"]+)"')
HASHED = re.compile(r"\.[0-9a-f]{12}\.js$")


def collected(kind, folder, scripts):
    """The scripts (name: text) as a server has them, by their names there; only those named by their contents."""
    given = StaticFilesStorage(location=folder / "given", base_url="/static/")
    made = kind(location=folder / "made", base_url="/static/")
    for name, text in scripts.items():
        for store in (given, made):
            path = Path(store.path(name))
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_text(text, encoding="utf-8")
    done = list(made.post_process({name: (given, name) for name in scripts}))
    assert not [found for _, _, found in done if isinstance(found, Exception)]
    return {made.stored_name(name): Path(made.path(made.stored_name(name))).read_text() for name in scripts}


def imported(made):
    """What is imported, as paths beside the scripts themselves."""
    return {
        (Path("/") / name).parent.joinpath(found).resolve().relative_to("/").as_posix()
        for name, text in made.items()
        for found in IMPORTS.findall(text)
    }


@pytest.fixture(scope="module")
def ours():
    return {f"js/{path.relative_to(OURS).as_posix()}": path.read_text() for path in OURS.rglob("*.js")}


def test_every_import_of_ours_is_of_a_file_that_is_there_and_named_by_its_contents(tmp_path, ours):
    made = collected(NamedByContents, tmp_path, ours)

    assert len(imported(made)) > 30
    assert imported(made) <= made.keys()
    assert all(map(HASHED.search, imported(made)))


def test_by_djangos_own_way_no_import_is(tmp_path, ours):
    made = collected(CompressedManifestStaticFilesStorage, tmp_path, ours)

    assert not any(map(HASHED.search, imported(made)))


def test_whoever_imports_a_script_has_another_name_when_it_changes(tmp_path):
    scripts = {
        "js/start.js": 'const late = () => import("./deep/one.js")\n',
        "js/deep/one.js": 'import { two } from "../two.js"\n',
        "js/two.js": "export const two = 2\n",
        "js/alone.js": "export const alone = 1\n",
    }

    before = collected(NamedByContents, tmp_path / "before", scripts)
    after = collected(NamedByContents, tmp_path / "after", scripts | {"js/two.js": "export const two = 3\n"})

    same = [HASHED.sub(".js", name) for name in before.keys() & after.keys()]
    assert same == ["js/alone.js"]


def test_scripts_of_others_are_left_as_they_are(tmp_path):
    text = 'const said = "import(\\"./nowhere.js\\")"; import("./nowhere.js")\n'

    (made,) = collected(NamedByContents, tmp_path, {"plotly/some.min.js": text}).values()

    assert made == text
