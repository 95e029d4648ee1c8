"use strict";
(() => {
  const key = "chargesplit " + document.getElementById("key").dataset.key;
  const cards = [...document.querySelectorAll(".card")];
  const unit = cards[0]?.dataset.unit;

  // Readings in the order in which they were kept: only ever added to, here and on the device.
  let here = [];
  const fromDevice = () => {
    const found = JSON.parse(localStorage.getItem(key)) || [];
    if (Array.isArray(found)) return found;
    // As pages kept them before: one for each cylinder, without its unit.
    return Object.entries(found).filter(([, one]) => one && one.reading).map(([cylinder, one]) => ({
      cylinder,
      gross: /[a-z]/.test(one.reading) ? one.reading.trim() : one.reading.trim() + " " + unit,
      at: (one.time || "").trim(),
      note: (one.initials || "").trim(),
    }));
  };
  const kept = () => { try { here = fromDevice(); } catch { /* only this page remembers */ } return here; };
  const add = one => {
    // The device is asked again: the same page may be open twice.
    here = [...kept(), one];
    try { localStorage.setItem(key, JSON.stringify(here)); return true; } catch { return false; }
  };

  // What is typed, in the unit of the card: ounces where the scale shows pounds and ounces.
  const number = (text, card) => {
    if (card.dataset.unit !== "oz") return /^\d{1,6}(\.\d{1,4})?$/.test(text) ? Number(text) : NaN;
    const split = /^(\d{1,6}) *lb *(\d{1,2}(?:\.\d{1,4})?) *oz$/.exec(text);
    return split && Number(split[2]) < 16 ? 16 * Number(split[1]) + Number(split[2]) : NaN;
  };
  const say = (number, card) => {
    const places = (card.dataset.step.split(".")[1] || "").length;
    const size = Math.abs(number);
    if (card.dataset.unit !== "oz") return size.toFixed(places) + " " + card.dataset.unit;
    return Math.floor(size / 16) + " lb " + (size % 16).toFixed(places) + " oz";
  };
  const of = (card, name) => Number(card.dataset[name]);
  const tiny = card => of(card, "step") / 1000;

  // Why a reading can't be; nothing where it can.
  const wrong = (card, text) => {
    const value = number(text, card);
    if (Number.isNaN(value)) {
      return card.dataset.unit === "oz" ? "Only as the scale shows it: 29 lb 3 oz." : "Only the number, in " + card.dataset.unit + ".";
    }
    if (value < of(card, "tare") - of(card, "tolerance") - tiny(card)) {
      return "That is under the tare of " + say(of(card, "tare"), card) + ": read the gross weight again.";
    }
    if (value > of(card, "most") + tiny(card)) {
      return "That can't be: full of cold liquid it weighs " + say(of(card, "most"), card) + ". Shut the valve and read it again.";
    }
    return "";
  };
  const meaning = (card, value) => {
    const net = " Net " + (value < of(card, "tare") - tiny(card) ? "-" : "") + say(value - of(card, "tare"), card) + ".";
    const over = say(value - of(card, "limit"), card);
    const out = " Take at least " + over + " out, with the machine, on the scale.";
    if (card.dataset.danger && value > of(card, "danger") + tiny(card)) {
      return "DANGER: " + over + " over the limit. Shut the valve. Keep people and heat away." + out + net;
    }
    if (value > of(card, "limit") + tiny(card)) {
      return "OVER THE FILL: " + over + " over the limit. Shut the valve: nothing more goes in. Keep it out of the sun." + out + net;
    }
    if (value > of(card, "stop") + tiny(card)) {
      return say(value - of(card, "stop"), card) + " over the stop weight: change cylinders." + net;
    }
    return say(of(card, "stop") - value, card) + " to go." + net;
  };

  // A moment with its date and how far the clock of the place is from UTC.
  const two = number => String(number).padStart(2, "0");
  const moment = at => {
    const away = -at.getTimezoneOffset();
    const day = [at.getFullYear(), two(at.getMonth() + 1), two(at.getDate())].join("-");
    const clock = [at.getHours(), at.getMinutes(), at.getSeconds()].map(two).join(":");
    const offset = [Math.floor(Math.abs(away) / 60), Math.abs(away) % 60].map(two).join(":");
    return day + "T" + clock + (away < 0 ? "-" : "+") + offset;
  };
  // Now, or a time of today that has been; nothing where it is neither.
  const when = text => {
    const at = new Date();
    if (!text) return at;
    const clock = /^(\d{1,2}):(\d{2})$/.exec(text);
    if (!clock || Number(clock[1]) > 23 || Number(clock[2]) > 59) return null;
    const then = new Date(at);
    then.setHours(Number(clock[1]), Number(clock[2]), 0, 0);
    return then > at ? null : then;
  };

  const tell = (card, text, value) => {
    card.classList.toggle("over", value > of(card, "limit") + tiny(card));
    card.querySelector(".answer").textContent = text;
  };
  const list = card => {
    const mine = kept().filter(one => one.cylinder === card.dataset.cylinder);
    const lines = card.querySelector(".kept");
    lines.hidden = !mine.length;
    lines.replaceChildren(...mine.map(one => {
      const line = document.createElement("li");
      line.textContent = [one.gross, one.at.replace("T", " "), one.note].filter(text => text).join(", ");
      return line;
    }));
    return mine;
  };
  const value = one => {
    const own = one.gross.endsWith(" " + unit) && unit !== "oz" ? one.gross.slice(0, -unit.length - 1) : one.gross;
    return number(own, cards[0]);
  };

  for (const card of cards) {
    const [reading, time, initials] = [".reading", ".time", ".initials"].map(name => card.querySelector(name));
    const button = card.querySelector("button");
    button.hidden = false;
    reading.addEventListener("input", () => {
      const text = reading.value.trim();
      const why = text && wrong(card, text);
      if (!text) tell(card, "", NaN);
      else if (why) tell(card, why, NaN);
      else tell(card, meaning(card, number(text, card)) + " Not kept yet.", number(text, card));
    });
    const keep = () => {
      const text = reading.value.trim();
      const at = when(time.value.trim());
      const why = wrong(card, text) || (at ? "" : "The time is HH:MM of today, and not one to come; empty is now.");
      if (why) { tell(card, why + " Nothing was kept.", NaN); return; }
      const gross = card.dataset.unit === "oz" ? text : text + " " + card.dataset.unit;
      const stays = add({ cylinder: card.dataset.cylinder, gross, at: moment(at), note: initials.value.trim() });
      reading.value = time.value = "";
      list(card);
      const where = stays ? "" : " This device keeps nothing: show the lines and copy them before the page is closed.";
      tell(card, meaning(card, number(text, card)) + where, number(text, card));
    };
    button.addEventListener("click", keep);
    reading.addEventListener("keydown", event => { if (event.key === "Enter") keep(); });
    const last = list(card).at(-1);
    if (last && !Number.isNaN(value(last))) tell(card, meaning(card, value(last)), value(last));
  }

  const section = document.querySelector(".export");
  const lines = section.querySelector("textarea");
  section.hidden = false;
  section.querySelector("button").addEventListener("click", () => {
    lines.value = kept().map(({ cylinder, gross, at, note }) => JSON.stringify({ cylinder, gross, at, note })).join("\n");
    lines.focus();
    lines.select();
  });
})();
