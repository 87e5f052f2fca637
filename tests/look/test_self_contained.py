"""Pages work in a plant without internet and under a policy that allows only our own files."""

import re
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent.parent
TEMPLATES = sorted((ROOT / "templates").rglob("*.html"))
STATIC = sorted(
    path for path in (ROOT / "permits" / "static").rglob("*") if path.suffix in {".css", ".js", ".svg"}
)
OUTSIDE = re.compile(r"""(?:https?:)?//[\w-]+\.[\w.-]+""")
NAMESPACES = {"http://www.w3.org", "https://www.w3.org"}  # names of formats: nothing is fetched


def name(path: Path) -> str:
    return str(path.relative_to(ROOT))


@pytest.mark.parametrize("path", TEMPLATES + STATIC, ids=name)
def test_nothing_comes_from_outside(path: Path) -> None:
    assert set(OUTSIDE.findall(path.read_text())) <= NAMESPACES


@pytest.mark.parametrize("path", TEMPLATES, ids=name)
def test_no_script_or_style_stands_in_a_page(path: Path) -> None:
    text = path.read_text()
    assert not re.search(r"<script(?![^>]*\bsrc=)", text), "a script belongs in permits/static/js"
    assert not re.search(r"<style\b|\sstyle=", text), "a style belongs in permits/static/*.css"
    assert not re.search(r"\son[a-z]+\s*=\s*[\"']", text), "behaviour is found by a data- attribute"
    assert "javascript:" not in text


@pytest.mark.parametrize("path", [path for path in STATIC if path.suffix != ".svg"], ids=name)
def test_no_file_names_a_source_map_or_evaluates_text(path: Path) -> None:
    text = path.read_text()
    assert "sourceMappingURL" not in text, "collectstatic fails on a map that is not there"
    assert not re.search(r"\beval\(|new Function|innerHTML|insertAdjacentHTML|@import", text)


@pytest.mark.parametrize("path", [path for path in STATIC if path.suffix == ".css"], ids=name)
def test_every_token_that_is_used_is_defined(path: Path) -> None:
    every = "".join(sheet.read_text() for sheet in STATIC if sheet.suffix == ".css")
    defined = set(re.findall(r"--([\w-]+)\s*:", every))
    assert set(re.findall(r"var\(--([\w-]+)", path.read_text())) <= defined


def test_the_vocabulary_names_what_the_sheets_style() -> None:
    """Each class that the first comment of app.css promises has a rule in some sheet."""
    comment = (ROOT / "permits" / "static" / "app.css").read_text().split("*/")[0]
    files = {"app.css", "line.css", "page.css", "list.css", "form.css", "picture.css", "print.css"}
    promised = set(re.findall(r"(?<![\w/])\.([a-z][\w-]+)", comment)) - {"html", "css"}
    rules = "".join((ROOT / "permits" / "static" / file).read_text() for file in files)
    rules = rules.replace(comment, "")
    assert {one for one in promised if not re.search(rf"\.{one}\b", rules)} == set()
