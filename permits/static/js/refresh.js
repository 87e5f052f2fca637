/* Keeps a page as it is on the server. [data-refresh] holds the seconds between two looks, data-refresh-from the address
   that answers with the page's changing parts alone; the answer's version goes back with the next look, so that an
   unchanged page is not sent again. Each [data-refresh-part] is exchanged only where it changed, never while someone
   types or has chosen something in it, and the reader stays where they are. Where no answer comes the page says since
   when it is not live: old news must not look like new. Without scripts the page stands as made, with a link to load it. */
(() => {
  "use strict";
  const PATIENCE = 10000;
  const page = document.querySelector("[data-refresh]");
  if (!page) return;
  const pause = Number(page.dataset.refresh) * 1000;
  const clock = page.querySelector("[data-refresh-clock]");
  const sent = new Map(); // part → as the server last sent it
  const note = document.createElement("p");
  note.className = "lost";
  note.setAttribute("role", "status");
  page.prepend(note);
  let version = "";
  let live = clock?.textContent ?? ""; // the plant's time at which the page was last known to be so
  let last = performance.now();
  let asking = false;

  const say = (text) => {
    if (note.textContent !== text) note.textContent = text;
  };

  const lost = (why) => say(`Not live${live ? ` since ${live}` : ""}: ${why}`);

  const known = (answer) => {
    live = answer.headers.get("Plant-Clock") ?? live;
    if (clock && live) clock.textContent = live;
    say("");
  };

  const changed = (field) =>
    field.type === "checkbox" || field.type === "radio"
      ? field.checked !== field.defaultChecked
      : field.options
        ? [...field.options].some((option) => option.selected !== option.defaultSelected)
        : field.type !== "hidden" && "defaultValue" in field && field.value !== field.defaultValue;

  const inUse = (part) =>
    [...part.querySelectorAll("form")].some(
      (form) => "sending" in form.dataset || form.contains(document.activeElement) || [...form.elements].some(changed),
    );

  /* The one that had the focus, found again by where it leads; what was unfolded stays so. */
  const exchange = (part, fresh) => {
    const active = document.activeElement;
    const held = part.contains(active) && active !== part ? active.getAttribute("href") : null;
    const open = [...part.querySelectorAll("details")].map((one) => one.open);
    part.replaceChildren(...fresh.childNodes);
    [...part.querySelectorAll("details")].forEach((one, i) => (one.open ||= open[i] ?? false));
    if (held === null) return;
    [...part.querySelectorAll("a[href]")]
      .find((link) => link.getAttribute("href") === held)
      ?.focus({ preventScroll: true });
  };

  /* Was every part shown? One that is in use waits for a later look. */
  const show = (text) => {
    const made = new DOMParser().parseFromString(text, "text/html");
    if (!made.querySelector("[data-live]")) throw new Error("not the parts that were asked for");
    let whole = true;
    for (const part of document.querySelectorAll("[data-refresh-part]")) {
      const name = part.dataset.refreshPart;
      const fresh = made.querySelector(`[data-refresh-part="${CSS.escape(name)}"]`);
      if (!fresh || sent.get(name)?.isEqualNode(fresh)) continue;
      if (inUse(part)) {
        whole = false;
        continue;
      }
      sent.set(name, fresh.cloneNode(true));
      if (!part.isEqualNode(fresh)) exchange(part, fresh);
    }
    return whole;
  };

  const look = async () => {
    if (asking || document.hidden) return;
    asking = true;
    try {
      const answer = await fetch(page.dataset.refreshFrom, {
        cache: "no-store",
        redirect: "manual",
        headers: version ? { "If-None-Match": version } : {},
        signal: AbortSignal.timeout(PATIENCE),
      });
      if (answer.type === "opaqueredirect") {
        lost("you are signed out. Load the page again.");
      } else if (answer.status === 304) {
        known(answer);
      } else if (answer.ok) {
        version = show(await answer.text()) ? (answer.headers.get("ETag") ?? "") : "";
        known(answer);
      } else {
        throw new Error(`answer ${answer.status}`);
      }
    } catch {
      lost("no answer from the server, and what stands here may have changed.");
    } finally {
      asking = false;
      last = performance.now();
    }
  };

  setInterval(() => performance.now() - last >= pause && look(), 1000);
  document.addEventListener("visibilitychange", () => performance.now() - last >= pause && look());
  document.addEventListener("countdown-over", look);
})();
