"""A backup is proven by opening it: beside the present, row by row, and read only."""

from __future__ import annotations

import contextlib
import http.cookiejar
import os
import re
import shutil
import subprocess
import sys
import time
import urllib.error
import urllib.parse
import urllib.request
from collections.abc import Iterator
from pathlib import Path

import pytest
from django.contrib.sessions.models import Session
from django.core.files.base import ContentFile
from django.urls import reverse

from bandops.env import ROOT
from bandops.lib.models import Artifact
from drill.lineup.services.drafts import open_draft
from drill.publishing.services.publishing import publish_lineup
from tests.conftest import BACKEND
from tests.deploy.conftest import Site
from tests.factories import Cast, make_band, make_cast
from tests.servers import free_port

pytestmark = [
    pytest.mark.servers,
    pytest.mark.postgres("pg_dump and pg_restore"),
]
NOT_SAVED = {"django_session", "lib_importupload", "lib_sentform"}
Rows = dict[str, tuple[int, str]]


def filled(site: Site, settings: object) -> Cast:
    """A band with a published lineup, a print, and somebody signed in."""
    from django.test import Client

    settings.MEDIA_ROOT = site.folder / "media"  # type: ignore[attr-defined]
    settings.JOBS_RUN_IN = "later"  # type: ignore[attr-defined]
    band = make_band()
    cast = make_cast(band)
    draft = open_draft(actor=cast.staff, event=band.event)
    publish_lineup(actor=cast.staff, event=band.event, seen_version=draft.version, seen_number=None)
    print_ = Artifact(key="k", group="g", title="A print", filename="a.pdf", size=4)
    print_.file.save("a.pdf", ContentFile(b"%PDF"), save=True)
    Client().force_login(cast.staff, backend=BACKEND)
    assert Session.objects.exists()
    return cast


def rows_of(site: Site, database: str = "") -> Rows:
    """Each table's rows, counted and digested."""
    found: Rows = {}
    with site.connect(database) as server:
        tables = server.execute("SELECT tablename FROM pg_tables WHERE schemaname = 'public'")
        for (table,) in tables.fetchall():
            digest = "count(*), coalesce(md5(string_agg(md5(t::text), '' ORDER BY t::text)), '')"
            row = server.execute(f'SELECT {digest} FROM "{table}" t'.encode()).fetchone()
            assert row is not None
            found[str(table)] = (int(str(row[0])), str(row[1]))
    return found


def saved(site: Site, **more: str) -> Path:
    done = site.run("backup.sh", str(site.folder / "backups"), **more)
    assert done.returncode == 0, done.stderr
    (backup,) = (site.folder / "backups").iterdir()
    return backup


def key_file(site: Site, text: str = "a passphrase kept elsewhere") -> str:
    path = site.folder / f"key-{len(text)}"
    path.write_text(text + "\n")
    return str(path)


@pytest.mark.parametrize("encrypted", [False, True])
def test_every_row_and_file_comes_back_beside_the_present(
    site: Site, settings: object, encrypted: bool, record_property: object
) -> None:
    filled(site, settings)
    before = rows_of(site)
    more = {"BACKUP_KEY_FILE": key_file(site)} if encrypted else {}
    backup = saved(site, **more)
    names = {path.name for path in backup.iterdir()}
    ending = ".gpg" if encrypted else ""
    assert names == {f"database.dump{ending}", f"media.tar.gz{ending}", "SHA256SUMS"}
    if encrypted:
        for path in backup.iterdir():
            assert b"Ana N" not in path.read_bytes() and b"PGDMP" not in path.read_bytes()[:8]
    name, files = site.beside(), site.folder / "beside"
    done = site.run("restore.sh", str(backup), "--beside", name, str(files), **more)
    assert done.returncode == 0, done.stderr
    assert rows_of(site) == before, "the present is untouched"
    after = rows_of(site, name)
    differ = {table for table in before if before[table] != after[table]}
    # Everybody's sign-ins are over, which the audit notes; what is not saved is empty.
    assert differ <= NOT_SAVED | {"lib_user", "lib_auditentry"}
    assert {after[table][0] for table in NOT_SAVED} == {0}
    assert after["lib_user"][0] == before["lib_user"][0]
    assert sum(rows for rows, _ in after.values()) > 500, "not an empty band"
    (kept,) = [path for path in files.rglob("*.pdf") if path.is_file()]
    assert kept.read_bytes() == b"%PDF"


@contextlib.contextmanager
def looking(site: Site, database: str, files: Path) -> Iterator[tuple[str, dict[str, str]]]:
    """A server that shows the backup; its address and environment."""
    port = free_port()
    address = f"http://127.0.0.1:{port}"
    environment = site.environment | {
        "DATABASE_URL": site.url_of(database),
        "MEDIA_ROOT": str(files),
        "DJANGO_SETTINGS_MODULE": "bandops.settings.looking",
        "SECRET_KEY": "k3#v9-a-long-and-random-looking-key-of-more-than-fifty-letters-q8w2",
        "ALLOWED_HOSTS": "band.example",
        "SITE_URL": "https://band.example",
        "DEFAULT_FROM_EMAIL": "band@band.example",
        "LOOK_AT": address,
    }
    environment.pop("DJANGO_ALLOW_ASYNC_UNSAFE", None)
    command = [sys.executable, "-m", "gunicorn", "-b", f"127.0.0.1:{port}", "bandops.wsgi"]
    server = subprocess.Popen(command, cwd=ROOT, env=environment, stderr=subprocess.DEVNULL)
    try:
        for _ in range(150):
            with contextlib.suppress(OSError):
                urllib.request.urlopen(f"{address}/health/live", timeout=2)
                break
            time.sleep(0.2)
        yield address, environment
    finally:
        server.terminate()
        server.wait(20)


def test_a_backup_opens_read_only_while_the_site_runs_on(site: Site, settings: object) -> None:
    cast = filled(site, settings)
    name, files = site.beside(), site.folder / "beside"
    done = site.run("restore.sh", str(saved(site)), "--beside", name, str(files))
    assert done.returncode == 0, done.stderr
    before = rows_of(site, name)
    with looking(site, name, files) as (address, environment):
        link = subprocess.run(
            [sys.executable, "manage.py", "sign_in_link", "--email", cast.director.email],
            cwd=ROOT,
            env=environment,
            capture_output=True,
            text=True,
        )
        found = re.search(r"http://\S+", link.stdout)
        assert found, link.stderr
        jar = http.cookiejar.CookieJar()
        opener = urllib.request.build_opener(urllib.request.HTTPCookieProcessor(jar))

        def page(path: str, **data: str) -> tuple[int, str]:
            url = path if path.startswith("http") else address + path
            sent = urllib.parse.urlencode(data).encode() if data else None
            request = urllib.request.Request(url, sent, {"Referer": address})
            try:
                with opener.open(request, timeout=60) as answer:
                    return answer.status, answer.read().decode()
            except urllib.error.HTTPError as error:
                return error.code, error.read().decode()

        def token(text: str) -> str:
            return str(re.findall(r'csrfmiddlewaretoken" value="([^"]*)"', text)[0])

        _, text = page(found[0])
        code, text = page(found[0], csrfmiddlewaretoken=token(text))
        assert code == 200 and "A backup, read only." in text
        members = [reverse("people"), reverse("set-up"), reverse("history"), "/"]
        for path in members:
            code, text = page(path)
            assert code == 200 and "A backup, read only." in text, path
        person = re.findall(r'href="(/people/\d+/)"', page(reverse("people"))[1])[0]
        assert page(person)[0] == 200, "a look at private fields is noted in the log"
        code, text = page(reverse("instrument-new"), csrfmiddlewaretoken=token(text), name="Horn")
        assert code == 405 and "This is a backup" in text
    assert rows_of(site, name) == before, "not one row differs"


def test_a_restore_over_the_present_is_whole(site: Site, settings: object) -> None:
    """Into a copy: the tests' own connection is open on the present one."""
    filled(site, settings)
    backup = saved(site)
    name, files = site.beside(), site.folder / "copy"
    assert site.run("restore.sh", str(backup), "--beside", name, str(files)).returncode == 0
    before = rows_of(site, name)
    with site.connect(name) as server:
        server.execute("DELETE FROM lib_artifact")
    (files / "younger.txt").write_text("made later")
    (files / ".erased").write_text("[]")
    there = {"DATABASE_URL": site.url_of(name), "MEDIA_ROOT": str(files)}
    with site.connect(name):
        refused = site.run("restore.sh", str(backup), "--yes", **there)
        assert refused.returncode == 1 and "connections are open" in refused.stderr
    done = site.run("restore.sh", str(backup), "--yes", **there)
    assert done.returncode == 0, done.stderr
    after = rows_of(site, name)
    assert {t for t in before if before[t] != after[t]} <= {"lib_user", "lib_auditentry"}
    assert not (files / "younger.txt").exists(), "set aside"
    assert (files / ".erased").exists(), "what is erased again is not set aside"
    assert [path.name for path in files.glob(".before-restore-*/younger.txt")] == ["younger.txt"]


def test_what_cannot_be_opened_changes_nothing(site: Site, settings: object) -> None:
    filled(site, settings)
    backup = saved(site, BACKUP_KEY_FILE=key_file(site))
    name, files = site.beside(), site.folder / "beside"
    wrong = {"BACKUP_KEY_FILE": key_file(site, "another passphrase")}
    for more, words in ((wrong, "does not open"), ({}, "is encrypted")):
        done = site.run("restore.sh", str(backup), "--beside", name, str(files), **more)
        assert done.returncode == 1 and words in done.stderr
    with (backup / "database.dump.gpg").open("r+b") as file:
        file.seek(200)
        file.write(b"torn")
    done = site.run("restore.sh", str(backup), "--beside", name, str(files))
    assert done.returncode == 1 and "damaged" in done.stderr
    assert not files.exists()
    with site.connect() as server:
        row = server.execute("SELECT 1 FROM pg_database WHERE datname = %s", [name]).fetchone()
        assert row is None, "no half database stays"


def test_a_full_disk_leaves_no_half_backup(site: Site, settings: object) -> None:
    filled(site, settings)
    folder = site.folder / "backups"
    folder.mkdir()
    program = site.folder / "bin"
    program.mkdir()
    (program / "tar").write_text("#!/bin/sh\necho 'No space left on device' >&2\nexit 2\n")
    (program / "tar").chmod(0o755)
    done = site.run("backup.sh", str(folder), PATH=f"{program}:{site.environment['PATH']}")
    assert done.returncode == 1 and "could not be saved" in done.stderr
    assert list(folder.iterdir()) == []


def test_old_backups_go_and_the_newest_stay(site: Site, settings: object) -> None:
    folder = site.folder / "backups"
    for day in range(1, 6):
        (folder / f"bandops-2026010{day}T033000Z").mkdir(parents=True)
    done = site.run("backup.sh", str(folder), KEEP="3")
    assert done.returncode == 0, done.stderr
    assert len(list(folder.iterdir())) == 3
    assert (folder / "bandops-20260105T033000Z").exists()


def test_scripts_have_no_slips_that_a_checker_finds() -> None:
    checker = shutil.which("shellcheck")
    if checker is None:
        pytest.skip("no shellcheck on this machine")
    scripts = sorted(str(path) for path in (ROOT / "deploy").glob("*.sh"))
    command = [checker, "-x", "-P", str(ROOT / "deploy"), *scripts]
    done = subprocess.run(command, capture_output=True, text=True, cwd=ROOT)
    assert done.returncode == 0, done.stdout
    assert os.access(ROOT / "deploy" / "backup.sh", os.X_OK)
