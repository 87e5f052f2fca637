"""The colours that app.css gives its tokens in each theme, and the contrast between two of them."""

import re
from pathlib import Path

CSS = Path(__file__).resolve().parent.parent.parent / "permits" / "static" / "app.css"

THEMES = ("light", "dark", "maximum", "light, more contrast", "dark, more contrast")


def declarations(block: str) -> dict[str, str]:
    """Custom properties of one rule's body, by name without the two dashes."""
    return dict(re.findall(r"--([\w-]+):\s*([^;]+);", block))


def themes(css: str) -> dict[str, dict[str, str]]:
    """Tokens by theme, each with `var()` followed. Raises KeyError where a theme's rule is missing."""
    light = declarations(re.search(r"^:root \{([^}]*color-scheme: light;[^}]*)\}", css, re.M)[1])  # type: ignore[index]
    dark = declarations(re.search(r"prefers-color-scheme: dark\) \{\s*:root[^{]*\{([^}]*)\}", css)[1])  # type: ignore[index]
    most = declarations(re.search(r'^:root\[data-contrast="max"\] \{([^}]*)\}', css, re.M)[1])  # type: ignore[index]
    more = declarations(re.search(r"prefers-contrast: more\) \{\s*:root[^{]*\{([^}]*)\}", css)[1])  # type: ignore[index]
    found = (light, light | dark, light | most, light | more, light | dark | more)
    named = zip(THEMES, found, strict=True)
    return {name: {key: followed(theme, key) for key in theme} for name, theme in named}


def followed(theme: dict[str, str], name: str) -> str:
    """A token's value, through `var()` to the end."""
    value = theme[name]
    while step := re.fullmatch(r"var\(--([\w-]+)\)", value):
        value = theme[step[1]]
    return value


def luminance(colour: str) -> float:
    """Relative luminance of #rrggbb, 0 to 1. WCAG 2.2, "relative luminance"."""
    channels = [int(colour[place : place + 2], 16) / 255 for place in (1, 3, 5)]
    red, green, blue = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    """Contrast ratio of two colours, 1 to 21. WCAG 2.2, "contrast ratio"."""
    low, high = sorted((luminance(one), luminance(other)))
    return (high + 0.05) / (low + 0.05)
