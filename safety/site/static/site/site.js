// Improvements only: every page does its work without this file.
"use strict";

(() => {
  const field = () => document.querySelector("[data-pad-for]");

  // The number pad writes into the plain input that is there without it.
  const press = (key) => {
    const input = field();
    if (!input) return;
    if (key === "back") input.value = input.value.slice(0, -1);
    else if (key === "minus")
      input.value = input.value.startsWith("-")
        ? input.value.slice(1)
        : `-${input.value}`;
    else if (key !== "." || !input.value.includes(".")) input.value += key;
    input.dispatchEvent(new Event("input", { bubbles: true }));
  };

  document.addEventListener("click", (event) => {
    const key = event.target.closest("[data-key]");
    if (key) press(key.dataset.key);
  });

  // With the pad on the screen the phone's own keyboard would only cover it.
  const readyPad = () => {
    const input = field();
    const pad = document.querySelector("[data-pad]");
    if (!input || !pad) return;
    pad.hidden = false;
    if (window.matchMedia("(pointer: coarse)").matches) input.inputMode = "none";
    else input.focus();
  };

  // A prefilled instant goes on with the clock until somebody changes it.
  const pad2 = (number) => String(number).padStart(2, "0");
  const tick = () => {
    document.querySelectorAll("[data-clock]").forEach((box) => {
      const input = document.getElementById(box.dataset.clock);
      const prefilled = document.getElementById(`${box.dataset.clock}_prefilled`);
      if (!input || !prefilled) return;
      const untouched = input.value === prefilled.value;
      box.querySelector("[data-clock-now]").hidden = !untouched;
      box.querySelector("[data-clock-changed]").hidden = untouched;
      if (!box.dataset.openedAt) box.dataset.openedAt = String(Date.now());
      if (untouched && input.value) {
        const [date, time] = prefilled.defaultValue.split("T");
        const [year, month, day] = date.split("-").map(Number);
        const [hour, minute] = time.split(":").map(Number);
        const passed = Date.now() - Number(box.dataset.openedAt);
        const now = new Date(Date.UTC(year, month - 1, day, hour, minute) + passed);
        const text =
          `${now.getUTCFullYear()}-${pad2(now.getUTCMonth() + 1)}-` +
          `${pad2(now.getUTCDate())}T${pad2(now.getUTCHours())}:` +
          `${pad2(now.getUTCMinutes())}`;
        input.value = text;
        prefilled.value = text;
      }
      box.querySelector("[data-clock-time]").textContent =
        input.value.slice(-5) || "–";
    });
  };

  // Another instrument is named at once in the closed line above its buttons.
  const nameInstrument = (event) => {
    if (event.target.name !== "instrument") return;
    const name = document.querySelector("[data-instrument]");
    const checked = document.querySelector("[data-instrument-checked]");
    if (name) name.textContent = event.target.value || "no instrument named";
    if (checked) checked.hidden = true;
  };

  // What was not sent is said at once: nobody may think that it was recorded.
  const tellUnsent = () => {
    const place = document.querySelector("[data-said]");
    if (!place) return;
    const note = document.createElement("div");
    note.className = "note note--error";
    note.textContent =
      "No connection: nothing was recorded. What you typed is still here; " +
      "press again when there is signal.";
    place.replaceChildren(note);
    window.scrollTo(0, 0);
  };

  const ready = () => {
    readyPad();
    tick();
  };

  document.addEventListener("DOMContentLoaded", ready);
  document.addEventListener("htmx:afterSettle", ready);
  document.addEventListener("htmx:sendError", tellUnsent);
  document.addEventListener("htmx:timeout", tellUnsent);
  document.addEventListener("input", tick);
  document.addEventListener("change", nameInstrument);
  window.setInterval(tick, 15000);
})();
