"""Settings from the environment: strict, and said in words."""

import os
import stat
import subprocess
import sys
from pathlib import Path

import pytest
from django.core.exceptions import ImproperlyConfigured

from config import environment
from tests.concurrency.servers import server_environment

ROOT = Path(__file__).resolve().parents[2]


def test_a_mistyped_setting_stops_the_start_and_names_the_known_ones(monkeypatch):
    monkeypatch.setenv("RAINTHROUGH_HOST", "rain.example")

    with pytest.raises(ImproperlyConfigured, match=r"Unknown setting RAINTHROUGH_HOST.*RAINTHROUGH_HOSTS"):
        environment.refuse_unknown()


@pytest.mark.parametrize(("raw", "value"), [("", True), ("0", False), ("1", True)])
def test_a_flag_is_0_or_1(monkeypatch, raw, value):
    monkeypatch.setenv("RAINTHROUGH_HTTPS", raw)

    assert environment.flag("RAINTHROUGH_HTTPS", True) is value


@pytest.mark.parametrize("raw", ["yes", "true", "2", " 1"])
def test_any_other_flag_is_refused_with_its_value(monkeypatch, raw):
    monkeypatch.setenv("RAINTHROUGH_HTTPS", raw)

    with pytest.raises(ImproperlyConfigured, match="must be 0 or 1"):
        environment.flag("RAINTHROUGH_HTTPS", True)


def test_hosts_are_parted_by_commas(monkeypatch):
    monkeypatch.setenv("RAINTHROUGH_HOSTS", " a.example, ,b.example ")

    assert environment.words("RAINTHROUGH_HOSTS", "") == ["a.example", "b.example"]


def test_a_folder_is_made_by_whoever_comes_first(tmp_path, monkeypatch):
    monkeypatch.setenv("RAINTHROUGH_DATA_DIR", str(tmp_path / "a" / "new"))

    for _ in range(2):
        assert environment.folder("RAINTHROUGH_DATA_DIR", tmp_path) == tmp_path / "a" / "new"

    assert (tmp_path / "a" / "new").is_dir()


def test_a_folder_that_cannot_be_made_is_named(tmp_path, monkeypatch):
    (tmp_path / "file").touch()
    monkeypatch.setenv("RAINTHROUGH_DATA_DIR", str(tmp_path / "file" / "new"))

    with pytest.raises(
        ImproperlyConfigured, match=r"RAINTHROUGH_DATA_DIR is '.*/file/new', where no folder can"
    ):
        environment.folder("RAINTHROUGH_DATA_DIR", tmp_path)


def test_each_program_of_many_may_be_the_first_in_the_folder(tmp_path):
    """The clock keeps a file there, and with a key in the settings no other program need have come before it."""
    given = {
        "RAINTHROUGH_DATA_DIR": str(tmp_path / "new"),
        "RAINTHROUGH_SECRET_KEY": "k" * 60,
        "RAINTHROUGH_HTTPS": "0",
    }
    code = (
        "import shelve; from config.celery import app; shelve.open(app.conf.beat_schedule_filename).close()"
    )

    subprocess.run(
        [sys.executable, "-c", code], env=server_environment(tmp_path, **given), cwd=ROOT, check=True
    )

    assert [path.name[:13] for path in (tmp_path / "new").iterdir()][:1] == ["beat-schedule"]


def test_a_key_is_made_once_and_read_by_this_user_alone(tmp_path, monkeypatch):
    monkeypatch.delenv("RAINTHROUGH_SECRET_KEY", raising=False)
    first = environment.secret_key(tmp_path)

    again = environment.secret_key(tmp_path)

    assert first == again
    assert len(first) > 60
    assert stat.S_IMODE((tmp_path / "secret-key").stat().st_mode) == 0o600


def test_processes_that_start_together_share_one_whole_key(tmp_path, monkeypatch):
    monkeypatch.delenv("RAINTHROUGH_SECRET_KEY", raising=False)
    link, seen = os.link, []

    def beaten_to_it(draft, path):
        seen.append(Path(draft).read_text(encoding="ascii"))
        Path(path).write_text("of the other process", encoding="ascii")
        link(draft, path)

    monkeypatch.setattr(os, "link", beaten_to_it)

    assert environment.secret_key(tmp_path) == "of the other process"
    assert len(seen[0]) > 60
    assert [path.name for path in tmp_path.iterdir()] == ["secret-key"]


def test_a_given_key_leaves_nothing_on_disk(tmp_path, monkeypatch):
    monkeypatch.setenv("RAINTHROUGH_SECRET_KEY", "given")

    assert environment.secret_key(tmp_path) == "given"
    assert list(tmp_path.iterdir()) == []


def test_a_server_for_the_public_passes_djangos_own_checks(tmp_path):
    env = {name: value for name, value in os.environ.items() if not name.startswith("DJANGO_")} | {
        "RAINTHROUGH_DATA_DIR": str(tmp_path),
        "RAINTHROUGH_HOSTS": "rain.example",
        "DJANGO_SETTINGS_MODULE": "config.settings",
    }

    check = [sys.executable, "manage.py", "check", "--deploy", "--fail-level", "WARNING"]
    done = subprocess.run(check, cwd=ROOT, env=env, capture_output=True, check=False)

    assert done.returncode == 0, done.stderr


@pytest.mark.parametrize(("raw", "word"), [("", "plain"), ("plain", "plain"), ("json", "json")])
def test_a_word_of_a_few_is_taken_and_none_gives_the_first(monkeypatch, raw, word):
    monkeypatch.setenv("RAINTHROUGH_LOG_FORMAT", raw)

    assert environment.one_of("RAINTHROUGH_LOG_FORMAT", ("plain", "json")) == word


@pytest.mark.parametrize("raw", ["JSON", "xml", " json"])
def test_any_other_word_stops_the_start(monkeypatch, raw):
    monkeypatch.setenv("RAINTHROUGH_LOG_FORMAT", raw)

    with pytest.raises(ImproperlyConfigured, match=f"is {raw!r}; it must be plain or json"):
        environment.one_of("RAINTHROUGH_LOG_FORMAT", ("plain", "json"))


@pytest.mark.parametrize(
    ("raw", "address"),
    [
        ("", "https://a.example"),
        ("https://b.example/", "https://b.example"),
        ("http://b:8000", "http://b:8000"),
    ],
)
def test_the_address_of_the_server_has_no_slash_at_its_end(monkeypatch, raw, address):
    monkeypatch.setenv("RAINTHROUGH_ADDRESS", raw)

    assert environment.address("RAINTHROUGH_ADDRESS", "https://a.example") == address


@pytest.mark.parametrize(
    "raw",
    [
        "b.example",
        "ftp://b.example",
        "https://b.example/path",
        "https://",
        "https://b.example?x=1",
        "https://me@b.example",
    ],
)
def test_any_other_address_is_refused_with_its_value(monkeypatch, raw):
    monkeypatch.setenv("RAINTHROUGH_ADDRESS", raw)

    with pytest.raises(ImproperlyConfigured, match="must be an address such as"):
        environment.address("RAINTHROUGH_ADDRESS", "https://a.example")


@pytest.mark.parametrize(
    ("said", "told"),
    [(None, "-c jit=off"), ("-c jit=on -c work_mem=8MB", "-c jit=off -c jit=on -c work_mem=8MB")],
)
def test_a_server_is_told_to_compile_nothing_and_what_the_address_says_comes_after(said, told):
    own = {"sslmode": "require"} | ({"options": said} if said else {})

    assert environment.uncompiled(own) == {"sslmode": "require", "options": told}
