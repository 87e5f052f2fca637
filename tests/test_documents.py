"""What the documents say is so: paths exist, commands run, settings are named, every template compiles."""

import re
import shlex
import subprocess
import sys
from pathlib import Path

import pytest
from django.conf import settings
from django.core.management import get_commands
from django.template.loader import get_template

ROOT = Path(__file__).parent.parent
README = (ROOT / "README.md").read_text(encoding="utf-8")
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
TOP = {
    "README.md", "DEVELOPERS.md", "manage.py", "pyproject.toml", "permits", "templates", "tests", "fixtures",
    "requirements.lock",
}  # fmt: skip


def commands_in(text: str) -> list[str]:
    return sorted(set(re.findall(r"python manage\.py ([a-z_]+)", text)))


@pytest.mark.parametrize("command", commands_in(README + DEVELOPERS))
def test_every_command_named_exists(command):
    assert command in get_commands()


def test_every_command_of_ours_is_named():
    ours = {name for name, app in get_commands().items() if str(app).startswith("permits")}
    assert {name for name in ours if name not in README + DEVELOPERS} == set()


def test_every_setting_is_named_in_the_readme_and_the_other_way_round():
    source = (ROOT / "permits/config/settings.py").read_text(encoding="utf-8")
    read = set(re.findall(r'environ(?:\.get\(|\[)"([A-Z_]+)"', source))
    named = set(re.findall(r"^\| `([A-Z_]+)` \|", README, re.MULTILINE))
    assert read == named


@pytest.mark.parametrize(
    "path",
    sorted(set(re.findall(r"`((?:permits|templates|tests|fixtures)/[\w/.\-]+)`", README + DEVELOPERS))),
)
def test_every_path_named_exists(path):
    assert (ROOT / path).exists()


def test_the_readme_opens_with_the_job():
    first = README.split("\n\n")[1]
    assert first.startswith("Permits is for people who keep a cutting line true to size")


def test_the_top_level_holds_what_was_agreed():
    listed = subprocess.run(["git", "ls-files"], cwd=ROOT, capture_output=True, text=True, check=True).stdout
    names = {line.split("/")[0] for line in listed.splitlines()}
    assert {name for name in names if not name.startswith(".")} == TOP


def test_the_plan_command_of_the_readme_runs():
    line = next(line for line in README.splitlines() if "plan_isolation --plant" in line)
    ran = subprocess.run(
        [sys.executable, *shlex.split(line)[1:]], cwd=ROOT, capture_output=True, text=True, timeout=60
    )
    assert ran.returncode == 0, ran.stderr
    assert '"isolatable": true' in ran.stdout


@pytest.mark.parametrize(
    "name", sorted(str(p.relative_to(ROOT / "templates")) for p in (ROOT / "templates").rglob("*.html"))
)
def test_every_template_compiles(name):
    get_template(name)


def test_no_page_asks_for_anything_outside():
    pattern = re.compile(r"""(?:src|href)=["']https?://""")
    for path in [*(ROOT / "templates").rglob("*.html"), *Path(settings.BASE / "permits/static").rglob("*.*")]:
        if path.suffix in (".html", ".css", ".js", ".svg"):
            assert not pattern.search(path.read_text(encoding="utf-8")), path
