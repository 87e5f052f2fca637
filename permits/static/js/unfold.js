/* Folded parts (details.fold) of long pages. An address with # leads to something inside a fold: it opens, as browsers
   that know do by themselves; also when the same link is pressed again. Before printing every fold opens, so that paper
   has all of it; afterwards each is as it was. Without scripts folds open by hand. */
(() => {
  "use strict";
  const target = () => {
    try {
      return document.getElementById(decodeURIComponent(location.hash.slice(1)));
    } catch {
      return null;
    }
  };

  const lead = () => {
    const to = target();
    if (!to) return;
    let opened = false;
    for (let fold = to.closest("details"); fold; fold = fold.parentElement.closest("details")) {
      opened ||= !fold.open;
      fold.open = true;
    }
    if (opened) to.scrollIntoView();
  };

  document.addEventListener("click", (event) => {
    const link = event.target.closest?.("a[href^='#']");
    if (link && link.hash === location.hash) lead();
  });
  window.addEventListener("hashchange", lead);
  lead();

  let closed = [];
  window.addEventListener("beforeprint", () => {
    closed = [...document.querySelectorAll("details.fold:not([open])")];
    for (const fold of closed) fold.open = true;
  });
  window.addEventListener("afterprint", () => {
    for (const fold of closed) fold.open = false;
    closed = [];
  });
})();
