/* Big keys for readings: [data-keys] holds buttons that write into the fields of the form named by its data-keys.
   data-key      a digit or a point, put at the end; the first one replaces what stood in the field before
   data-fraction a fraction of an inch, put after the whole number
   data-nudge    a step up or down, such as "0.05", "-0.05", "1/64", "-1/64"
   data-do       back (take the last away), nominal (copy the nominal size), next (the next field in sight)
   The fields go by lines, a nominal size and what was measured; a line without a nominal has that of the one above.
   Without scripts the keys stay hidden and the fields are typed into; with them the phone's own keyboard stays away
   until it is asked for (data-do="keyboard"). */
(() => {
  "use strict";
  const box = document.querySelector("[data-keys]");
  const form = box && document.getElementById(box.dataset.keys);
  if (!form) return;
  const fields = [...form.querySelectorAll("input[type=text]")];
  const [nominal, first] = fields;
  if (!first) return;
  const isMeasured = (field) => fields.indexOf(field) % 2 === 1;
  const inSight = (field) => !field.closest("details:not([open])");
  const modes = new Map(fields.map((field) => [field, field.inputMode]));
  const untouched = new Set(fields);
  let target = nominal.value ? first : nominal;

  const aim = (field) => {
    target = field;
    for (const one of fields) one.classList.toggle("keys-target", one === target);
  };

  const put = (text) => {
    target.value = text;
    untouched.delete(target);
    target.dispatchEvent(new Event("input", { bubbles: true }));
  };

  const FRACTION = /^(?:(\d+) )?(\d+)\/(\d+)$/;
  const fractionOf = (text) => FRACTION.exec(text.trim());
  const wholeOf = (text) => {
    const fraction = fractionOf(text);
    return fraction ? fraction[1] ?? "" : text.trim().split(/[ .]/)[0];
  };

  const digit = (key) => {
    const fresh = untouched.has(target) || fractionOf(target.value);
    const text = fresh ? "" : target.value;
    if (key === "." && text.includes(".")) return;
    put(key === "." && !text ? "0." : text + key);
  };

  const back = () => {
    const fraction = fractionOf(target.value);
    put(fraction ? fraction[1] ?? "" : untouched.has(target) ? "" : target.value.slice(0, -1));
  };

  const common = (a, b) => (b ? common(b, a % b) : a);

  /* Inches in 64ths, exact; nothing where the field holds something else. */
  const nudgeInches = (step) => {
    const text = target.value.trim();
    const fraction = fractionOf(text);
    if (!fraction && !/^\d*$/.test(text)) return;
    const [, whole, top, bottom] = fraction ?? [null, text || "0", "0", "1"];
    const [up, down] = step.replace("-", "").split("/").map(Number);
    const sixtyFourths = Number(whole ?? 0) * 64 + (Number(top) * 64) / Number(bottom) + (step.startsWith("-") ? -1 : 1) * up * (64 / down);
    if (sixtyFourths < 0 || !Number.isInteger(sixtyFourths)) return;
    const rest = sixtyFourths % 64;
    const divisor = common(rest, 64);
    const parts = [Math.floor(sixtyFourths / 64) || (rest ? "" : "0"), rest ? `${rest / divisor}/${64 / divisor}` : ""];
    put(parts.filter((part) => part !== "").join(" "));
  };

  /* Decimals as whole numbers of the last place, so that nothing is rounded. */
  const nudgeDecimal = (step) => {
    const text = target.value.trim() || "0";
    if (!/^\d+(\.\d+)?$/.test(text)) return;
    const places = Math.max(...[text, step].map((one) => (one.split(".")[1] ?? "").length));
    const scaled = (one) => {
      const [whole, decimals = ""] = one.replace("-", "").split(".");
      const value = BigInt(whole + decimals.padEnd(places, "0"));
      return one.startsWith("-") ? -value : value;
    };
    const sum = scaled(text) + scaled(step);
    if (sum < 0n) return;
    const digits = String(sum).padStart(places + 1, "0");
    put(places ? `${digits.slice(0, -places)}.${digits.slice(-places)}` : digits);
  };

  const keyboard = () => {
    const own = fields[0].inputMode === "none";
    for (const field of fields) field.inputMode = own ? modes.get(field) : "none";
    box.querySelector('[data-do="keyboard"]')?.setAttribute("aria-pressed", String(own));
    if (own) target.focus();
  };

  const does = {
    back,
    keyboard,
    next: () => {
      const wanted = fields.filter((field) => field === target || (inSight(field) && (field === nominal || isMeasured(field))));
      aim(wanted[(wanted.indexOf(target) + 1) % wanted.length]);
    },
    nominal: () => {
      const line = fields.indexOf(target) - (fields.indexOf(target) % 2);
      const size = fields.slice(0, line + 1).findLast((field) => !isMeasured(field) && field.value);
      if (!size) return;
      aim(fields[line + 1]);
      put(size.value);
    },
  };

  box.addEventListener("mousedown", (event) => event.preventDefault()); // the field keeps its cursor
  box.addEventListener("click", (event) => {
    const key = event.target.closest?.("button");
    if (!key) return;
    const { key: mark, fraction, nudge, do: act } = key.dataset;
    if (mark) digit(mark);
    else if (fraction) put(`${untouched.has(target) ? "" : wholeOf(target.value)} ${fraction}`.trim());
    else if (nudge) (nudge.includes("/") ? nudgeInches : nudgeDecimal)(nudge);
    else if (act) does[act]?.();
  });
  for (const field of fields) {
    field.addEventListener("focus", () => aim(field));
    field.addEventListener("input", (event) => event.isTrusted && untouched.delete(field));
    field.inputMode = "none";
  }
  box.hidden = false;
  aim(target);
})();
