/* Maximum contrast for glare: the choice is kept on this device and set before the first paint.
   Loaded without defer in the head. Switches are buttons with data-contrast-switch; without scripts they stay hidden. */
(() => {
  "use strict";
  const KEY = "permits-contrast";
  const root = document.documentElement;

  const kept = () => {
    try {
      return localStorage.getItem(KEY) === "max";
    } catch {
      return false; // storage can be closed to us; the switch then lasts for the page
    }
  };

  const show = (on) => {
    if (on) root.dataset.contrast = "max";
    else delete root.dataset.contrast;
    for (const button of document.querySelectorAll("[data-contrast-switch]")) {
      button.hidden = false;
      button.setAttribute("aria-pressed", String(on));
    }
  };

  show(kept());
  document.addEventListener("DOMContentLoaded", () => show(root.dataset.contrast === "max"));
  document.addEventListener("click", (event) => {
    if (!event.target.closest?.("[data-contrast-switch]")) return;
    const on = root.dataset.contrast !== "max";
    try {
      localStorage.setItem(KEY, on ? "max" : "system");
    } catch {
      // nothing is kept; the page still changes
    }
    show(on);
  });
  window.addEventListener("storage", (event) => {
    if (event.key === KEY) show(event.newValue === "max");
  });
})();
