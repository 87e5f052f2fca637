/* A form is sent once, and says so while it waits. On a poor network silence looks like success: after ten seconds the
   page says that it counts as not done until the page changes. Sent again as it is, it counts once; what is changed
   before that is another request, and is answered as one. Works on every POST form; without scripts forms simply send. */
(() => {
  "use strict";
  const PATIENCE = 10000;

  const buttonsOf = (form) => [...form.elements].filter((element) => element.type === "submit");

  const say = (form, text) => {
    let line = form.querySelector(":scope > .sending");
    if (!line) {
      line = document.createElement("p");
      line.className = "sending";
      line.setAttribute("role", "status");
      form.append(line);
    }
    line.textContent = text;
  };

  document.addEventListener("submit", (event) => {
    const form = event.target;
    // by attribute: a field called "method" would hide the property
    if (form.getAttribute("method")?.toLowerCase() !== "post" || event.defaultPrevented) return;
    if ("sending" in form.dataset) {
      event.preventDefault();
      return;
    }
    form.dataset.sending = "";
    buttonsOf(form).forEach((button) => button.setAttribute("aria-disabled", "true"));
    say(form, "Sending…");
    setTimeout(() => {
      if ("sending" in form.dataset) {
        say(form, "No answer yet. Count it as not done until this page changes. Send it again as it is: it counts once.");
        delete form.dataset.sending;
        buttonsOf(form).forEach((button) => button.removeAttribute("aria-disabled"));
      }
    }, PATIENCE);
  });

  window.addEventListener("pageshow", () => {
    for (const form of document.querySelectorAll("form[data-sending]")) {
      delete form.dataset.sending;
      buttonsOf(form).forEach((button) => button.removeAttribute("aria-disabled"));
      form.querySelector(":scope > .sending")?.remove();
    }
  });
})();
