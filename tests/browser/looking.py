"""What can be seen of a page from inside the browser: names, headings, targets, contrast. All scripts."""

# Controls that a screen reader could not name.
NAMELESS = """() => {
  const named = (e) => e.labels?.length
    ? [...e.labels].map((label) => label.innerText).join(' ')
    : e.getAttribute('aria-label') || e.innerText || e.value || '';
  return [...document.querySelectorAll('input, select, textarea, button, a[href], summary')]
    .filter((e) => e.type !== 'hidden' && e.checkVisibility() && named(e).trim() === '')
    .map((e) => e.tagName + ' ' + (e.name || e.className));
}"""

# Ids that something points to and nothing has, and ids that two things have.
LOST_IDS = """() => [...document.querySelectorAll('[aria-describedby], [aria-labelledby]')]
  .flatMap((e) => [e.getAttribute('aria-describedby'), e.getAttribute('aria-labelledby')])
  .flatMap((ids) => (ids ?? '').split(' '))
  .filter((id) => id && !document.getElementById(id))"""
DOUBLE_IDS = """() => {
  const ids = [...document.querySelectorAll('[id]')].map((e) => e.id);
  return ids.filter((id, i) => ids.indexOf(id) !== i);
}"""

# The levels of the headings, in their order.
LEVELS = """() => [...document.querySelectorAll('h1, h2, h3')]
  .filter((e) => e.checkVisibility()).map((e) => Number(e.tagName[1]))"""

# What a glove has to hit and is lower than 48 CSS pixels.
SMALL_TARGETS = """() => [...document.querySelectorAll('.action .button, .option, .rows > li > a, summary')]
  .filter((e) => e.checkVisibility())
  .map((e) => [e.innerText, Math.round(e.getBoundingClientRect().height)])
  .filter(([, height]) => height < 48)"""

# (contrast, text) of each text and the first opaque ground behind it, by the relative luminance of WCAG 2.2.
CONTRASTS = """() => {
  const parts = (colour) => colour.match(/[\\d.]+/g).map(Number);
  const channel = (v) => (v / 255 <= 0.04045 ? v / 255 / 12.92 : ((v / 255 + 0.055) / 1.055) ** 2.4);
  const light = ([r, g, b]) => 0.2126 * channel(r) + 0.7152 * channel(g) + 0.0722 * channel(b);
  const ground = (e) => {
    for (; e; e = e.parentElement) {
      const found = parts(getComputedStyle(e).backgroundColor);
      if (found.length < 4 || found[3] === 1) return found;
    }
    return [255, 255, 255];
  };
  const has_text = (e) => [...e.childNodes].some((n) => n.nodeType === 3 && n.textContent.trim());
  return [...document.querySelectorAll('main *, .band *, .action *, header *')]
    .filter((e) => e.checkVisibility() && has_text(e))
    .map((e) => {
      const both = [light(parts(getComputedStyle(e).color)), light(ground(e))].sort((a, b) => b - a);
      return [(both[0] + 0.05) / (both[1] + 0.05), e.innerText.slice(0, 40)];
    });
}"""

# How many things move, or would when they change.
MOVING = """() => document.getAnimations().length
  + [...document.querySelectorAll('*')]
    .filter((e) => parseFloat(getComputedStyle(e).transitionDuration) > 0.01).length"""

# What the control in focus is called.
IN_FOCUS = """() => {
  const e = document.activeElement;
  return (e.labels?.length ? e.labels[0].innerText : e.innerText || e.name || '').trim();
}"""
