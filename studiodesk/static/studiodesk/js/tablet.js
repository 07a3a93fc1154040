// The tablet: steppers that count without a round trip, and the first tap after a rest that only wakes.
"use strict";
(() => {
  const REST_MS = 60_000;

  const bounded = (box, value) => {
    const least = box.dataset.least === "" ? -Infinity : Number(box.dataset.least);
    const most = box.dataset.most === "" ? Infinity : Number(box.dataset.most);
    return Math.min(most, Math.max(least, value));
  };
  document.addEventListener("click", (event) => {
    const button = event.target.closest("[data-stepper] button");
    if (!button) return;
    event.preventDefault();
    const box = button.closest("[data-stepper]");
    const field = box.querySelector("input");
    field.value = String(bounded(box, Number(field.value) + Number(button.value)));
    box.querySelector("output").textContent = field.value;
    for (const echo of document.querySelectorAll("[data-echo]")) {
      if (echo.dataset.echo === field.name) echo.textContent = field.value;
    }
  });

  const cover = document.querySelector("[data-asleep]");
  if (!cover) return;
  let last = Date.now();
  const wake = () => { last = Date.now(); cover.hidden = true; };
  const guard = (event) => {
    if (!cover.hidden) { event.preventDefault(); event.stopImmediatePropagation(); if (event.type !== "pointerdown") wake(); return; }
    last = Date.now();
  };
  for (const kind of ["pointerdown", "click", "keydown"]) window.addEventListener(kind, guard, true);
  setInterval(() => { if (Date.now() - last >= REST_MS) cover.hidden = false; }, 1_000);
})();
