/* Counts down what the server wrote as a time: [data-countdown-until] holds the end (ISO 8601), data-countdown-now the
   server's time when the page was made, so that a phone whose clock is wrong still counts right; a page that is kept
   live has that time once, as [data-clock], and it goes for whatever comes into the page later. Inside it,
   [data-countdown-left] shows what is left and [data-countdown-end] says what happens then.
   Freshness is the server's to decide: at the end this only says so, it changes nothing. */
(() => {
  "use strict";
  const MINUTE = 60;
  const loaded = performance.now();
  const opened = Date.now();
  const clock = document.querySelector("[data-clock]")?.dataset.clock;

  /* Server's time in ms: its own stamp plus what has passed here since. One clock may stand still while the phone
     sleeps, the other may be set back: the longer of the two is believed. */
  const now = (box) => {
    const stamp = Date.parse(clock ?? box.dataset.countdownNow ?? "");
    const passed = Math.max(performance.now() - loaded, Date.now() - opened);
    return (Number.isNaN(stamp) ? opened : stamp) + passed;
  };

  const words = (seconds) => {
    const hours = Math.floor(seconds / 3600);
    const minutes = Math.floor((seconds % 3600) / MINUTE);
    const rest = String(seconds % MINUTE).padStart(2, "0");
    return hours > 0 ? `${hours} h ${String(minutes).padStart(2, "0")} min` : `${minutes}:${rest}`;
  };

  const tick = (box) => {
    const left = Math.ceil((Date.parse(box.dataset.countdownUntil) - now(box)) / 1000);
    if (Number.isNaN(left)) return;
    const shown = box.querySelector("[data-countdown-left]");
    const end = box.querySelector("[data-countdown-end]");
    if (left > 0) {
      if (shown) shown.textContent = words(left);
      if (left <= MINUTE) box.dataset.countdownNear = "";
      return;
    }
    if ("countdownOver" in box.dataset) return;
    box.dataset.countdownOver = "";
    if (shown) shown.textContent = "0:00";
    if (end) end.setAttribute("role", "alert");
    box.dispatchEvent(new CustomEvent("countdown-over", { bubbles: true }));
  };

  const all = () => document.querySelectorAll("[data-countdown-until]").forEach(tick);
  all();
  setInterval(all, 1000);
  document.addEventListener("visibilitychange", all);
})();
