"""The demo files on disk are what the generator writes, and its checker notices contradictions."""

import importlib
import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

FIXTURES = Path(__file__).resolve().parents[2] / "fixtures"


@pytest.fixture(scope="module")
def fresh(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a folder with all files newly written, under another hash seed."""
    folder = tmp_path_factory.mktemp("fixtures")
    command = [sys.executable, str(FIXTURES / "generate_demo.py"), "--out", str(folder)]
    subprocess.run(command, check=True, env={**os.environ, "PYTHONHASHSEED": "7"})
    return folder


def test_written_again_every_file_has_the_same_bytes(fresh: Path) -> None:
    written = sorted(path.relative_to(fresh) for path in fresh.rglob("*.csv"))
    folders = [FIXTURES / "demo", FIXTURES / "samples"]
    kept = [path for folder in folders for path in folder.rglob("*.csv")]
    assert written == sorted(p.relative_to(FIXTURES) for p in [*kept, FIXTURES / "parts.csv"])
    differing = [p for p in written if (fresh / p).read_bytes() != (FIXTURES / p).read_bytes()]
    assert differing == []


@pytest.mark.parametrize(
    ("name", "old", "new"),
    [
        ("ranks.csv", b"7-14,bass-drum-4,5,no", b"7-14,snare,5,no"),
        ("instruments.csv", b"sousaphone,14", b"sousaphone,13"),
        ("coordinates-northbound-mail.csv", b"1,1,0,,,1-2,-60.00", b"1,1,0,,,1-2,-63.50"),
        ("coordinates-tidewheel.csv", b"1,1,0,,,1-1,-20.00", b"1,1,0,,,1-1,-80.25"),
        (
            "coordinates-sixty-lamps-afloat.csv",
            b"1,11,32,,126,F16,-3.00,85.75",
            b"1,11,32,,126,F16,-3.00,85.25",
        ),
        ("coordinates-tidewheel.csv", b"1,16A,24,yes,152,1-1,", b"1,16A,24,yes,150,1-1,"),
        ("step-limits.csv", b"Sousaphone,26", b"Sousaphone,24"),
    ],
)
def test_checker_notices(
    name: str, old: bytes, new: bytes, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.syspath_prepend(str(FIXTURES))
    check = importlib.import_module("generator.check")
    shutil.copytree(FIXTURES / "demo", tmp_path / "demo")
    path = tmp_path / "demo" / name
    content = path.read_bytes()
    assert content.count(old) == 1
    path.write_bytes(content.replace(old, new))
    with pytest.raises(check.InconsistentError):
        check.check_demo(tmp_path / "demo")


def test_messy_files_keep_their_faults() -> None:
    messy = FIXTURES / "samples" / "messy"
    odd = (messy / "members_semicolons.csv").read_bytes()
    assert odd.startswith(b"\xef\xbb\xbf")
    for fault in ("004417", "1E5", "Núñez", '"=HYPERLINK(', ";;", "\r\n;Total;"):
        assert fault.encode() in odd
    assert odd.decode("utf-8-sig").count("Maya Liljedahl;") == 4
    assert b"5,11-May," in (messy / "ranks_dates.csv").read_bytes()
    with pytest.raises(UnicodeDecodeError):
        (messy / "members_latin1.csv").read_bytes().decode("utf-8")
