"""The machine check installs what is missing where it may, else names it once in one line."""

import io
import subprocess
import sys
from pathlib import Path

import pytest

from bandops import doctor

ROOT = Path(__file__).resolve().parent.parent
EVERY_PART = list(doctor.NEEDED["test"])


def make_program(path: Path, script: str = "") -> Path:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(f"#!/bin/sh\n{script}\n")
    path.chmod(0o755)
    return path


class Machine:
    """A bare Debian: fake commands note how they were called, and packages bring parts.

    ``broken`` names words that make apt-get fail.
    """

    def __init__(self, folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        self.bin, self.log, self.monkeypatch = folder / "bin", folder / "log", monkeypatch
        self.log.touch()
        monkeypatch.setenv("PATH", str(self.bin))
        monkeypatch.setattr("sys.platform", "linux")
        monkeypatch.setattr("sys.stdin", None)
        monkeypatch.setattr(doctor, "lacks", self._lacks)
        self.program("env", 'while [ "${1#*=}" != "$1" ]; do shift; done\nexec "$@"')
        self.apt()
        self.user(0)

    def _lacks(self, purpose: str = "test") -> list[doctor.Part]:
        done = "\n".join(line for line in self.calls() if "failed" not in line)
        return [part for part in doctor.NEEDED[purpose] if part.debian[0] not in done]

    def user(self, number: int) -> None:
        self.monkeypatch.setattr("os.geteuid", lambda: number)

    def program(self, name: str, script: str = "") -> None:
        make_program(self.bin / name, script)

    def apt(self, broken: str = "nothing") -> None:
        fails = f'*" {broken}"*) echo "failed: $*" >> {self.log}; echo "E: No {broken}"; exit 100;;'
        self.program("apt-get", f'case " $*" in {fails} *) echo "apt-get $*" >> {self.log};; esac')

    def sudo(self, *, allows: bool) -> None:
        shift = 'if [ "$1" = -n ]; then shift; fi\n'
        note = f'echo "sudo $*" >> {self.log}\n'
        self.program("true")
        self.program("sudo", note + shift + 'exec "$@"' if allows else "exit 1")

    def calls(self) -> list[str]:
        return self.log.read_text().splitlines()

    def installed(self) -> list[str]:
        found = [line.partition(" install ")[2] for line in self.calls() if " install " in line]
        return [name for names in found for name in names.split()]


class Terminal(io.StringIO):
    def isatty(self) -> bool:
        return True


@pytest.fixture
def machine(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Machine:
    return Machine(tmp_path, monkeypatch)


def test_runs_as_a_file_with_the_standard_library_alone() -> None:
    isolated = [sys.executable, "-I", "-S", str(ROOT / "bandops" / "doctor.py"), "build"]
    done = subprocess.run(isolated, capture_output=True, text=True)
    assert (done.returncode, done.stdout, done.stderr) == (0, "", "")


@pytest.mark.parametrize("version", [(2, 7), (3, 10)])
def test_an_old_python_stops_whatever_may_be_installed(
    version: tuple[int, int], machine: Machine, capsys: pytest.CaptureFixture[str]
) -> None:
    machine.monkeypatch.setattr("sys.version_info", (*version, 0, "final", 0))
    assert doctor.main(["demo", "--install"]) == 2
    [line] = capsys.readouterr().err.splitlines()
    assert line.startswith("STOP: Python 3.11 or newer is needed, this is ")
    assert machine.calls() == []


@pytest.mark.parametrize("version", [(3, 11), (3, 14), (4, 0)])
def test_a_new_enough_python_is_no_lack(version: tuple[int, int]) -> None:
    assert doctor.old_python(version) is None


@pytest.mark.parametrize("part", EVERY_PART, ids=lambda part: part.name)
def test_each_lack_is_one_line_with_its_command(part: doctor.Part) -> None:
    line = doctor.missing_line([part])
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
    assert capsys.readouterr().err.startswith("STOP, missing: Python's venv")


@pytest.mark.parametrize("purpose", ["demo", "test"])
def test_a_missing_library_is_named_once_and_stops_nothing(
    purpose: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(doctor, "loads", lambda names: False)
    assert doctor.main([purpose]) == 0
    [line] = capsys.readouterr().err.splitlines()
    assert line.startswith("Missing: Pango and HarfBuzz (everything but the PDF prints works)")
    assert "subsetter" not in line, "it comes with the others"


def test_without_the_font_subsetter_prints_are_said_to_work(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(doctor, "loads", lambda names: names != doctor.SUBSET_LIBRARY)
    assert doctor.main(["demo"]) == 0
    [line] = capsys.readouterr().err.splitlines()
    assert line.startswith("Missing: HarfBuzz's font subsetter (prints are made")
    assert doctor.PDF not in doctor.lacks()


@pytest.mark.parametrize("purpose", list(doctor.NEEDED))
def test_root_installs_what_the_purpose_needs_and_no_more(
    purpose: str, machine: Machine, capsys: pytest.CaptureFixture[str]
) -> None:
    assert doctor.main([purpose, "--install"]) == 0
    needed = doctor.NEEDED[purpose]
    assert set(machine.installed()) == {name for part in needed for name in part.debian}
    printed = capsys.readouterr()
    [line] = printed.out.splitlines()
    assert all(" ".join(part.debian) in line and part.use in line for part in needed)
    assert printed.err == ""


def test_a_second_run_installs_and_says_nothing(
    machine: Machine, capsys: pytest.CaptureFixture[str]
) -> None:
    doctor.main(["demo", "--install"])
    before = machine.calls()
    capsys.readouterr()
    assert doctor.main(["demo", "--install"]) == 0
    assert machine.calls() == before
    assert capsys.readouterr() == ("", "")


def test_without_install_nothing_is_called(machine: Machine) -> None:
    assert doctor.main(["demo"]) == 2
    assert machine.calls() == []


def test_sudo_that_needs_no_password_installs(machine: Machine) -> None:
    machine.user(1000)
    machine.sudo(allows=True)
    assert doctor.main(["demo", "--install"]) == 0
    assert any(line.startswith("sudo env ") and "install" in line for line in machine.calls())


@pytest.mark.parametrize("has_sudo", [True, False])
def test_a_user_without_rights_is_told_in_one_line(
    has_sudo: bool, machine: Machine, capsys: pytest.CaptureFixture[str]
) -> None:
    machine.user(1000)
    if has_sudo:
        machine.sudo(allows=False)
    assert doctor.main(["demo", "--install"]) == 2
    printed = capsys.readouterr()
    assert printed.out == ""
    [line] = printed.err.splitlines()
    command = "sudo apt-get install" if has_sudo else "as root, apt-get install"
    assert f"To install: {command} {doctor.VENV.debian[0]} " in line
    assert machine.calls() == []


def test_a_password_is_asked_for_once_and_only_at_a_terminal(
    machine: Machine, capsys: pytest.CaptureFixture[str]
) -> None:
    machine.user(1000)
    machine.program("sudo", f'echo "sudo $*" >> {machine.log}\nexit 1')
    machine.monkeypatch.setattr("sys.stdin", Terminal())
    assert doctor.main(["demo", "--install"]) == 2
    assert machine.calls() == ["sudo true"], "refused once, it is not asked again for each part"
    assert capsys.readouterr().err.startswith("STOP, missing")


def test_a_mirror_that_does_not_answer_stops_nothing(
    machine: Machine, capsys: pytest.CaptureFixture[str]
) -> None:
    machine.apt(broken="update")
    assert doctor.main(["test", "--install"]) == 0
    assert "failed" in machine.calls()[0]
    assert capsys.readouterr().err == ""


def test_a_package_that_cannot_be_had_keeps_no_other_away(
    machine: Machine, capsys: pytest.CaptureFixture[str]
) -> None:
    machine.apt(broken="-q -y --no-install-recommends -o DPkg::Lock::Timeout=300 install chromium")
    assert doctor.main(["test", "--install"]) == 0
    assert "redis-server" in machine.installed()
    failed, missing = capsys.readouterr().err.splitlines()
    assert failed.startswith("Chromium could not be installed: E: No ")
    assert missing.startswith("Missing: Chromium (")


def test_macos_installs_with_brew(machine: Machine) -> None:
    machine.monkeypatch.setattr("sys.platform", "darwin")
    machine.program("brew", f'echo "brew $*" >> {machine.log}')
    doctor.main(["test", "--install"])
    assert "brew install pango" in machine.calls()
    assert "brew install --cask chromium" in machine.calls()
    assert not any("apt-get" in line for line in machine.calls())


def test_elsewhere_the_packages_are_named(machine: Machine) -> None:
    (machine.bin / "apt-get").unlink()
    assert doctor.installer() is None
    assert "To install: what Debian calls redis-server" in doctor.missing_line([doctor.REDIS])


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


def test_ubuntu_is_told_from_debian(tmp_path: Path) -> None:
    release = tmp_path / "os-release"
    release.write_text('NAME="Ubuntu"\nID=ubuntu\nID_LIKE=debian\n')
    assert doctor.is_ubuntu(str(release))
    release.write_text("ID=debian\n")
    assert not doctor.is_ubuntu(str(release)) and not doctor.is_ubuntu(str(tmp_path / "none"))


def test_the_script_in_place_of_ubuntus_browser_is_no_browser(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    make_program(tmp_path / "chromium-browser")
    monkeypatch.setenv("PATH", str(tmp_path))
    monkeypatch.delenv("CHROMIUM_PATH", raising=False)
    monkeypatch.setattr(doctor, "is_ubuntu", lambda: False)
    assert doctor.find_chromium() == str(tmp_path / "chromium-browser")
    monkeypatch.setattr(doctor, "is_ubuntu", lambda: True)
    assert doctor.find_chromium() != str(tmp_path / "chromium-browser")


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
