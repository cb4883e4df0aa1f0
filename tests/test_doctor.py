"""The machine check names each lack once, with a command that mends it."""

import re
import subprocess
import sys
from pathlib import Path

import pytest

from bandops import doctor

ROOT = Path(__file__).resolve().parent.parent
EVERY_PART = [doctor.VENV, doctor.PDF, doctor.CHROMIUM, doctor.POSTGRES, doctor.REDIS]


def make_program(path: Path) -> Path:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text("#!/bin/sh\n")
    path.chmod(0o755)
    return path


def test_runs_with_the_standard_library_alone() -> None:
    isolated = [sys.executable, "-I", "-S", str(ROOT / "doctor.py"), "demo"]
    done = subprocess.run(isolated, capture_output=True, text=True)
    assert done.returncode == 0
    assert done.stdout == ""


@pytest.mark.parametrize("version", [(2, 7), (3, 10)])
def test_an_old_python_is_fatal(version: tuple[int, int]) -> None:
    part = doctor.python_part(version)
    assert part is not None
    assert part.fatal
    assert "3.11" in part.name


@pytest.mark.parametrize("version", [(3, 11), (3, 14), (4, 0)])
def test_a_new_enough_python_is_no_lack(version: tuple[int, int]) -> None:
    assert doctor.python_part(version) is None


@pytest.mark.parametrize("part", EVERY_PART, ids=lambda part: part.name)
def test_each_lack_is_one_line_with_its_command(part: doctor.Part) -> None:
    line = doctor.line(part, testing=True)
    assert "\n" not in line
    assert "install " + " ".join(part.debian) in line or "brew install" in line
    assert doctor.command(part, macos=True, root=False).startswith("brew install ")
    assert doctor.command(part, macos=False, root=False).startswith("sudo apt-get install ")
    assert doctor.command(part, macos=False, root=True).startswith("apt-get install ")


def test_missing_venv_stops_with_exit_code_2(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(doctor, "has_venv", lambda: False)
    assert doctor.main(["build"]) == 2
    assert capsys.readouterr().err.startswith("STOP: ")


@pytest.mark.parametrize(("purpose", "word"), [("demo", "note"), ("test", "MISSING")])
def test_a_missing_library_is_a_note_for_the_demo_and_named_for_tests(
    purpose: str,
    word: str,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.setattr(doctor, "loads", lambda names: False)
    assert doctor.main([purpose]) == 0
    printed = capsys.readouterr().err
    assert re.search(f"^{word}: no Pango and HarfBuzz: .*install", printed, re.MULTILINE)


def test_packages_prints_debian_names_only(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(doctor, "lacks", lambda: [doctor.CHROMIUM, doctor.REDIS])
    assert doctor.main(["--packages"]) == 0
    assert capsys.readouterr().out == "chromium redis-server\n"


def test_a_library_that_does_not_exist_does_not_load() -> None:
    assert not doctor.loads(("libnosuchlibrary.so.0",))


def test_chromium_path_wins_and_a_slip_in_it_counts_as_none(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    browser = make_program(tmp_path / "browser")
    make_program(tmp_path / "chromium")
    monkeypatch.setenv("PATH", str(tmp_path))
    monkeypatch.setenv("CHROMIUM_PATH", str(browser))
    assert doctor.find_chromium() == str(browser)
    monkeypatch.setenv("CHROMIUM_PATH", str(tmp_path / "typo"))
    assert doctor.find_chromium() is None
    monkeypatch.delenv("CHROMIUM_PATH")
    assert doctor.find_chromium() == str(tmp_path / "chromium")


def test_postgres_needs_both_programs_and_prefers_path_then_the_newest(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    for version, names in {
        9: ["pg_ctl", "initdb"],
        15: ["pg_ctl", "initdb"],
        17: ["pg_ctl"],
    }.items():
        for name in names:
            make_program(tmp_path / "lib" / str(version) / "bin" / name)
    monkeypatch.setattr(doctor, "POSTGRES_FOLDERS", [f"{tmp_path}/lib/*/bin"])
    monkeypatch.setenv("PATH", "")
    folders = [str(tmp_path / "lib" / version / "bin") for version in ("15", "9")]
    assert doctor.find_postgres() == folders
    monkeypatch.setenv("PATH", folders[1])
    assert doctor.find_postgres() == folders[::-1]
