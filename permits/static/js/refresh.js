/* Keeps a page as it is on the server: [data-refresh] holds the seconds between two looks, and each [data-refresh-part]
   inside it is exchanged only where it changed, so that nothing flickers and the reader stays where they are. Where no
   answer comes, [data-refresh-note] says so: old news must not look like new. Without scripts the page stands as made. */
(() => {
  "use strict";
  const PATIENCE = 10000;
  const page = document.querySelector("[data-refresh]");
  if (!page) return;
  const pause = Number(page.dataset.refresh) * 1000;
  const note = page.querySelector("[data-refresh-note]");
  let last = performance.now();
  let asking = false;

  const say = (text) => {
    if (note && note.textContent !== text) note.textContent = text;
    if (note) note.hidden = text === "";
  };

  /* The one that had the focus, found again by where it leads. */
  const keepFocus = (part, exchange) => {
    const held = part.contains(document.activeElement) ? document.activeElement.getAttribute("href") : null;
    exchange();
    if (held === null) return;
    [...part.querySelectorAll("a[href]")]
      .find((link) => link.getAttribute("href") === held)
      ?.focus({ preventScroll: true });
  };

  const show = (text) => {
    const made = new DOMParser().parseFromString(text, "text/html");
    const found = [...page.querySelectorAll("[data-refresh-part]")].map((part) => [
      part,
      made.querySelector(`[data-refresh] [data-refresh-part="${CSS.escape(part.dataset.refreshPart)}"]`),
    ]);
    if (found.some(([, fresh]) => fresh === null)) throw new Error("not the page that was asked for");
    for (const [part, fresh] of found) {
      if (!part.isEqualNode(fresh)) keepFocus(part, () => part.replaceChildren(...fresh.childNodes));
    }
  };

  const look = async () => {
    if (asking || document.hidden) return;
    asking = true;
    try {
      const answer = await fetch(location.href, {
        cache: "no-store",
        redirect: "manual",
        signal: AbortSignal.timeout(PATIENCE),
      });
      if (answer.type === "opaqueredirect") {
        say("You are signed out, so this is not kept up to date. Load the page again.");
      } else if (!answer.ok) {
        throw new Error(`answer ${answer.status}`);
      } else {
        show(await answer.text());
        say("");
      }
    } catch {
      say("No answer from the server: what stands here may have changed since.");
    } finally {
      asking = false;
      last = performance.now();
    }
  };

  setInterval(() => performance.now() - last >= pause && look(), 1000);
  document.addEventListener("visibilitychange", () => performance.now() - last >= pause && look());
})();
