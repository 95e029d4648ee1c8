"use strict";
(() => {
  const key = "chargesplit " + document.getElementById("key").dataset.key;
  let kept = {};
  try { kept = JSON.parse(localStorage.getItem(key)) || {}; } catch { kept = {}; }
  const keep = () => { try { localStorage.setItem(key, JSON.stringify(kept)); } catch { /* only this page remembers */ } };
  const cards = [...document.querySelectorAll(".card")];

  // A reading as typed, in the unit of the card: ounces where the scale shows pounds and ounces.
  const read = (text, unit) => {
    const plain = /^\s*(\d+(?:\.\d+)?)\s*(?:lb|kg)?\s*$/.exec(text);
    const split = /^\s*(\d+)\s*lb\s*(\d+(?:\.\d+)?)\s*oz\s*$/.exec(text);
    if (unit === "oz") return split ? 16 * Number(split[1]) + Number(split[2]) : NaN;
    return plain ? Number(plain[1]) : NaN;
  };
  const say = (number, card) => {
    const places = (card.dataset.step.split(".")[1] || "").length;
    const size = Math.abs(number);
    if (card.dataset.unit !== "oz") return size.toFixed(places) + " " + card.dataset.unit;
    return Math.floor(size / 16) + " lb " + (size % 16).toFixed(places) + " oz";
  };
  const answer = (card, typed) => {
    const place = card.querySelector(".answer");
    card.classList.remove("over");
    if (!typed.trim()) { place.textContent = ""; return; }
    const value = read(typed, card.dataset.unit);
    if (Number.isNaN(value)) { place.textContent = "That isn't a reading of this scale."; return; }
    const of = name => Number(card.dataset[name]);
    const tiny = of("step") / 1000;
    const net = "net " + (value < of("tare") - tiny ? "-" : "") + say(value - of("tare"), card);
    if (value > of("limit") + tiny) {
      card.classList.add("over");
      place.textContent = "DANGER: " + say(value - of("limit"), card) + " over the limit. Stop, and take refrigerant out. " + net;
    } else if (value > of("stop") + tiny) {
      place.textContent = say(value - of("stop"), card) + " over the stop weight: change cylinders. " + net;
    } else {
      place.textContent = say(of("stop") - value, card) + " to go. " + net;
    }
  };

  for (const card of cards) {
    const mine = kept[card.dataset.cylinder] || {};
    for (const name of ["reading", "time", "initials"]) {
      const field = card.querySelector("." + name);
      field.value = mine[name] || "";
      field.addEventListener("input", () => {
        mine[name] = field.value;
        kept[card.dataset.cylinder] = mine;
        keep();
        if (name === "reading") answer(card, field.value);
      });
    }
    answer(card, mine.reading || "");
  }

  const section = document.querySelector(".export");
  const lines = section.querySelector("textarea");
  section.hidden = false;
  section.querySelector("button").addEventListener("click", () => {
    lines.value = cards
      .map(card => [card, kept[card.dataset.cylinder]])
      .filter(([card, mine]) => mine && !Number.isNaN(read(mine.reading || "", card.dataset.unit)))
      .map(([card, mine]) => JSON.stringify({
        cylinder: card.dataset.cylinder,
        gross: /[a-z]/.test(mine.reading) ? mine.reading.trim() : mine.reading.trim() + " " + card.dataset.unit,
        at: (mine.time || "").trim(),
        note: (mine.initials || "").trim(),
      }))
      .join("\n");
    lines.focus();
    lines.select();
  });
})();
