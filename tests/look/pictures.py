"""Takes pictures of the sample page in Chromium, for the eye: python -m tests.look.pictures FOLDER."""

import sys
from pathlib import Path

import django
from django.conf import settings

ROOT = Path(__file__).resolve().parent.parent.parent


def configure() -> None:
    """The least of Django that renders templates."""
    from tests.look import sample

    settings.configure(
        SECRET_KEY="sample",
        STATIC_URL="/static/",
        USE_TZ=True,
        TIME_ZONE="UTC",
        USE_I18N=False,
        ROOT_URLCONF=sample.Routes,
        CRISPY_TEMPLATE_PACK="permits_pack",
        CRISPY_ALLOWED_TEMPLATE_PACKS="permits_pack",
        INSTALLED_APPS=["django.contrib.staticfiles", "crispy_forms"],
        TEMPLATES=[
            {
                "BACKEND": "django.template.backends.django.DjangoTemplates",
                "DIRS": [ROOT / "templates"],
                "APP_DIRS": True,
            }
        ],
    )
    django.setup()


def take(folder: Path) -> None:
    """Phone and desk in light, dark and maximum contrast, every band, and the page on paper."""
    from playwright.sync_api import sync_playwright

    from tests.look.sample import STATES
    from tests.look.serving import CHROMIUM, FLAGS, serving

    with serving(folder) as address, sync_playwright() as player:
        browser = player.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        for shell, width, height in (("base_phone", 390, 844), ("base", 1280, 900), ("base", 390, 844)):
            for scheme in ("light", "dark", "max"):
                page = browser.new_page(
                    viewport={"width": width, "height": height},
                    color_scheme="dark" if scheme == "dark" else "light",
                )
                if scheme == "max":
                    page.add_init_script("localStorage.setItem('permits-contrast', 'max')")
                page.goto(f"{address}/{shell}.html")
                page.screenshot(path=folder / f"{shell}-{width}-{scheme}.png", full_page=True)
                page.screenshot(path=folder / f"{shell}-{width}-{scheme}-first.png")
                page.close()
        page = browser.new_page(viewport={"width": 390, "height": 844})
        for state, _ in STATES:
            page.goto(f"{address}/band_{state}.html")
            top = {"x": 0, "y": 0, "width": 390, "height": 180}
            page.screenshot(path=folder / f"band-{state}.png", clip=top)
        page.goto(f"{address}/base.html")
        page.pdf(path=folder / "paper.pdf", format="A4")
        browser.close()


if __name__ == "__main__":
    configure()
    take(Path(sys.argv[1]))
