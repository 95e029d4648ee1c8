"use strict";
(() => {
  const key = "chargesplit ticks " + document.getElementById("key").dataset.key;
  let kept = {};
  try { kept = JSON.parse(localStorage.getItem(key)) || {}; } catch { kept = {}; }
  // By name and not by place: the same files packed with other options have other rows.
  [...document.querySelectorAll("table, .ticks")].filter(part => part.querySelector("input")).forEach((part, index) => {
    for (const box of part.querySelectorAll("input")) {
      const name = index + " " + (box.getAttribute("aria-label") || box.labels[0].textContent);
      box.checked = kept[name] === true;
      box.addEventListener("change", () => {
        kept[name] = box.checked;
        try { localStorage.setItem(key, JSON.stringify(kept)); } catch { /* only this page remembers */ }
      });
    }
  });
})();
