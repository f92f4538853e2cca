"use strict";
// The page alive: it keeps what is ticked and written, leads through the steps one by one, and looks
// answers up in the tables that the library wrote into the page. Without it the page is paper.
(() => {
  const data = JSON.parse(document.getElementById("page-data").textContent);
  const words = data.words;
  const main = document.querySelector("main");
  const inputs = [...main.querySelectorAll("input[id]")];
  const key = `signrules ${data.fingerprint}`;

  // Some browsers keep nothing for a page that is opened from a file: then nothing is remembered.
  const store = {
    read() {
      try { return JSON.parse(localStorage.getItem(key)) || {}; } catch { return {}; }
    },
    write(state) {
      try { localStorage.setItem(key, JSON.stringify(state)); return true; } catch { return false; }
    },
    clear() {
      try { localStorage.removeItem(key); } catch { /* Nothing was kept. */ }
    },
  };

  const numberOf = (text) => {
    const value = text.trim().replace("\u2212", "-").replace(",", ".");
    return value === "" || Number.isNaN(Number(value)) ? null : Number(value);
  };
  const field = (id) => document.getElementById(id);
  const valuesOf = (ids) => ids.map((id) => numberOf(field(id).value)).filter((v) => v !== null);

  const stateOf = () => {
    const state = {};
    for (const each of inputs) {
      const value = each.type === "checkbox" ? each.checked : each.value;
      if (value) state[each.id] = value;
    }
    return state;
  };

  const answerAt = (place, text, isBad) => {
    let answer = place.querySelector(":scope > .answer");
    if (!answer) {
      answer = document.createElement("output");
      answer.className = "answer";
      answer.setAttribute("role", "status");
      place.append(answer);
    }
    answer.textContent = text;
    answer.classList.toggle("bad", Boolean(isBad));
  };

  // --- answers --------------------------------------------------------------------------------

  const judgeLimits = (input) => {
    const value = numberOf(input.value);
    const low = numberOf(input.dataset.least || ""), high = numberOf(input.dataset.most || "");
    const outside = value !== null
      && ((low !== null && value < low) || (high !== null && value > high));
    input.classList.toggle("outside", outside);
    input.setAttribute("aria-invalid", String(outside));
    return outside;
  };

  const judgeReadings = () => {
    for (const form of main.querySelectorAll(".readings")) {
      const readings = valuesOf(
        [...form.querySelectorAll("input[id*='-reading-']")].map((each) => each.id));
      if (readings.length === 0) { answerAt(form, ""); continue; }
      const total = Math.min(...readings) + Math.max(...readings);
      const entry = data.steps[String(total)];
      answerAt(form, entry ? `${words.enter} ${entry}` : words.no_entry, !entry);
    }
  };

  const judgeDots = () => {
    for (const row of main.querySelectorAll(".dots tr")) {
      const cells = [...row.querySelectorAll("input")];
      const outside = cells.map(judgeLimits).some(Boolean);
      const heights = valuesOf(cells.map((each) => each.id));
      const head = row.querySelector("th");
      if (heights.length === 0) { answerAt(head, ""); continue; }
      answerAt(head, outside ? wayOn(row.dataset.sign, heights) : words.fine, outside);
    }
  };

  // The table has, for heights to a hundredth, how many layers more bring all dots into the range.
  const wayOn = (sign, heights) => {
    const table = data.layers[sign];
    const lowest = Math.floor(Math.min(...heights) * 100 + 1e-6);
    const highest = Math.ceil(Math.max(...heights) * 100 - 1e-6);
    if (!table) return words.ask;
    for (const [low, most, layers] of table) {
      if (lowest >= low && highest <= most) return words.layers.replace("{count}", layers);
    }
    return words.ask;
  };

  const judge = () => {
    for (const each of inputs) if (each.dataset.least || each.dataset.most) judgeLimits(each);
    judgeReadings();
    judgeDots();
  };

  // --- step by step -----------------------------------------------------------------------------

  const blocks = [...main.querySelectorAll(".block")];
  const bar = document.createElement("nav");
  bar.className = "stepping";
  bar.setAttribute("aria-label", words.stepping);
  const button = (text, act) => {
    const made = document.createElement("button");
    made.type = "button";
    made.textContent = text;
    made.addEventListener("click", act);
    bar.append(made);
    return made;
  };
  let current = -1;

  const show = (next) => {
    current = Math.max(-1, Math.min(next, blocks.length - 1));
    main.classList.toggle("one-step", current >= 0);
    blocks.forEach((block, place) => block.classList.toggle("current", place === current));
    main.querySelectorAll(".before, .steps").forEach((part) => {
      part.classList.toggle("current", part.contains(blocks[current] || null));
    });
    start.textContent = current >= 0 ? words.whole : words.stepping;
    start.setAttribute("aria-pressed", String(current >= 0));
    back.disabled = current <= 0;
    forth.disabled = current < 0 || current === blocks.length - 1;
    tell();
    if (current >= 0) {
      blocks[current].tabIndex = -1;
      blocks[current].focus({ preventScroll: true });
      scrollTo(0, 0);
    }
  };
  const tell = () => {
    if (current < 0) { place.textContent = ""; return; }
    const open = [...blocks[current].querySelectorAll("input[type=checkbox]")]
      .filter((each) => !each.checked).length;
    place.textContent = `${current + 1} / ${blocks.length}. ${words.open.replace("{count}", open)}`;
  };

  const start = button(words.stepping, () => show(current >= 0 ? -1 : firstOpen()));
  const back = button(words.back, () => show(current - 1));
  const forth = button(words.forth, () => show(current + 1));
  const firstOpen = () => {
    const found = blocks.findIndex(
      (block) => [...block.querySelectorAll(".tick input")].some((each) => !each.checked));
    return found < 0 ? blocks.length - 1 : found;
  };

  // --- the record -------------------------------------------------------------------------------

  const recordOf = () => {
    const state = stateOf(), measured = {}, readings = {};
    for (const row of main.querySelectorAll(".dots tr")) {
      const heights = valuesOf([...row.querySelectorAll("input")].map((each) => each.id));
      if (heights.length) measured[row.dataset.sign] = heights;
    }
    for (const form of main.querySelectorAll(".readings")) {
      const pairs = [...form.querySelectorAll(".pair")].map(
        (pair) => [...pair.querySelectorAll("input")].map((each) => numberOf(each.value)));
      const whole = pairs.filter((pair) => pair.every((value) => value !== null));
      if (whole.length) readings[form.dataset.extra] = whole;
    }
    const done = data.passes.filter(([step]) => state[`step-${step}`]).map(([, name]) => name);
    return {
      signrules_record: 1, job: data.job, fingerprint: data.fingerprint,
      done, measured, readings, entries: state,
    };
  };
  const save = button(words.save, () => {
    const text = JSON.stringify(recordOf(), null, 2);
    const link = document.createElement("a");
    link.href = URL.createObjectURL(new Blob([text], { type: "application/json" }));
    link.download = `${data.file}-record.json`;
    link.click();
    setTimeout(() => URL.revokeObjectURL(link.href), 1000);
  });
  const clear = button(words.clear, () => {
    if (!confirm(words.sure)) return;
    store.clear();
    for (const each of inputs) {
      if (each.type === "checkbox") each.checked = false; else each.value = "";
    }
    judge();
    show(-1);
  });
  const place = document.createElement("span");
  place.setAttribute("role", "status");
  bar.append(place);

  // --- begin ------------------------------------------------------------------------------------

  const kept = store.read();
  for (const each of inputs) {
    if (!(each.id in kept)) continue;
    if (each.type === "checkbox") each.checked = Boolean(kept[each.id]);
    else each.value = String(kept[each.id]);
  }
  main.addEventListener("input", () => {
    bar.classList.toggle("forgets", !store.write(stateOf()));
    judge();
    tell();
  });
  main.prepend(bar);
  main.classList.add("alive");
  judge();
  show(-1);
})();
