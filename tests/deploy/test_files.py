"""The files a site is set up from: read by the programs they are for, where those are here."""

from __future__ import annotations

import re
import shutil
import subprocess
from pathlib import Path

import pytest
import yaml

from bandops.env import ROOT

DEPLOY = ROOT / "deploy"
NOT_OURS = {"SITE_HOST", "POSTGRES_PASSWORD", "BROKER_PASSWORD", "BACKUP_KEY_FILE"}
"""read by the compose file and the scripts"""


def names_in_example() -> set[str]:
    text = (DEPLOY / "env.example").read_text()
    return set(re.findall(r"^#?([A-Z_]+)=", text, re.MULTILINE))


def test_every_name_in_the_example_is_read_somewhere() -> None:
    read = "".join(p.read_text() for p in (ROOT / "bandops").rglob("*.py"))
    read += (DEPLOY / "gunicorn.conf.py").read_text() + (ROOT / "manage.py").read_text()
    files = [DEPLOY / "compose.yaml", *DEPLOY.glob("*.sh")]
    scripts = "".join(path.read_text() for path in files)
    assert not [name for name in names_in_example() - NOT_OURS if f'"{name}"' not in read]
    assert not [name for name in NOT_OURS if name not in scripts]


def test_what_production_reads_is_in_the_example() -> None:
    text = (ROOT / "bandops" / "settings" / "production.py").read_text()
    text += (ROOT / "bandops" / "settings" / "base.py").read_text()
    read = set(re.findall(r'env\.\w+\(\s*"([A-Z_]+)"', text))
    assert not read - names_in_example()


def test_the_compose_file_starts_all_that_is_needed() -> None:
    compose = yaml.safe_load((DEPLOY / "compose.yaml").read_text())
    assert {"web", "worker", "beat", "proxy", "db", "broker", "cache"} <= set(compose["services"])
    for name, service in compose["services"].items():
        for mount in service.get("volumes", []):
            source = mount.split(":")[0]
            made_there = ("./certs", "./backups", "./keys")
            if source.startswith("./") and source not in made_there:
                assert (DEPLOY / source).exists(), f"{name}: {mount}"


def test_units_name_what_is_there() -> None:
    units = sorted((DEPLOY / "systemd").glob("*"))
    assert {u.name for u in units} >= {
        "bandops-web.service",
        "bandops-worker.service",
        "bandops-beat.service",
        "bandops-backup.timer",
    }
    for unit in units:
        for path in re.findall(r"/srv/bandops/(deploy/\S+)|-c (deploy/\S+)", unit.read_text()):
            assert (ROOT / "".join(path)).exists(), f"{unit.name}: {path}"
        if unit.suffix == ".service":
            assert "NoNewPrivileges=yes" in unit.read_text()


def test_keys_do_not_get_into_the_proxys_log() -> None:
    text = (DEPLOY / "nginx.conf.template").read_text()
    (log,) = re.findall(r"log_format bandops '([^']*)'", text)
    assert not {"$request ", "$request_uri", "$http_referer", "$remote_addr", "$args"} & {
        f"{word} " if word == "$request" else word for word in log.split()
    }
    assert re.search(r"location ~ \^/\(link\|calendar\)/ \{\s*access_log off;", text)


def test_the_proxy_reads_its_file(tmp_path: Path) -> None:
    program, openssl = shutil.which("nginx"), shutil.which("openssl")
    if program is None or openssl is None:
        pytest.skip("no nginx on this machine")
    key, cert = tmp_path / "privkey.pem", tmp_path / "fullchain.pem"
    command = [openssl, "req", "-x509", "-newkey", "rsa:2048", "-nodes", "-days", "1"]
    command += ["-subj", "/CN=band.example", "-keyout", str(key), "-out", str(cert)]
    subprocess.run(command, check=True, capture_output=True)
    text = (DEPLOY / "nginx.conf.template").read_text()
    text = text.replace("${SITE_HOST}", "band.example").replace("${UPSTREAM}", "127.0.0.1:8000")
    text = text.replace("/etc/ssl/bandops", str(tmp_path)).replace("/var/log/nginx", str(tmp_path))
    version = subprocess.run([program, "-v"], capture_output=True, text=True).stderr
    if re.search(r"/1\.(1\d|2[0-4])\.", version):  # the directive is younger
        text = text.replace("    http2 on;\n", "")
    whole = tmp_path / "nginx.conf"
    whole.write_text(f"pid {tmp_path}/pid;\nevents {{}}\nhttp {{\n{text}\n}}\n")
    done = subprocess.run(
        [program, "-t", "-c", str(whole), "-e", str(tmp_path / "error")],
        capture_output=True,
        text=True,
    )
    assert done.returncode == 0, done.stderr
