// The page that runs signrules: the text of a job on one side, what comes of it on the other.

(() => {
  const part = (name) => document.getElementById(`try-${name}`);
  const root = document.getElementById("try");
  const { examples, first } = JSON.parse(part("first").textContent);
  const PAUSE_MS = 350;

  let worker = null;
  let busy = false;
  let waiting = null;
  let pause = 0;
  let sheetAddress = "";

  // --- asking ------------------------------------------------------------------------------------

  function say(text, kind = "") {
    part("status").textContent = text;
    part("status").dataset.kind = kind;
  }

  function startPython() {
    if (worker || root.dataset.python !== "yes") return;
    if (location.protocol === "file:") {
      say(
        "A browser runs Python only on pages that a server gives:"
        + " python -m http.server, in the folder of this site.",
        "bad",
      );
      return;
    }
    worker = new Worker(`${root.dataset.files}try_worker.js`, { type: "module" });
    worker.onmessage = ({ data }) => hear(data);
    worker.onerror = (event) => hear({ kind: "failed", text: event.message || "the worker ended" });
  }

  function hear(message) {
    if (message.kind === "progress") say(message.text);
    if (message.kind === "ready" && !busy) say("Ready: each change is answered.");
    if (message.kind === "failed") {
      busy = false;
      say(`Python failed: ${message.text}`, "bad");
    }
    if (message.kind === "answer") {
      busy = false;
      show(message.answer);
      if (waiting !== null) ask(waiting);
    }
  }

  function ask(text) {
    startPython();
    if (!worker) return;
    if (busy) {
      waiting = text;
      return;
    }
    waiting = null;
    busy = true;
    worker.postMessage({ text });
  }

  function changed() {
    drawNumbers();
    clearTimeout(pause);
    pause = setTimeout(() => ask(part("text").value), PAUSE_MS);
  }

  // --- showing -----------------------------------------------------------------------------------

  function made(tag, attributes = {}, ...children) {
    const element = document.createElement(tag);
    for (const [name, value] of Object.entries(attributes)) element.setAttribute(name, value);
    element.append(...children);
    return element;
  }

  function section(title, ...children) {
    return made("section", {}, made("h2", {}, title), ...children);
  }

  function lineButton(line) {
    const button = made("button", { type: "button", class: "try-line" }, `line ${line}`);
    button.onclick = () => goTo(line);
    return button;
  }

  function entry(found) {
    const item = made("li", {}, made("code", {}, found.head), " ");
    if (found.line) item.append(lineButton(found.line), " ");
    item.append(made("span", {}, found.text));
    if (found.remedy) item.append(made("div", { class: "try-remedy" }, found.remedy));
    return item;
  }

  function entries(found) {
    return made("ul", { class: "try-entries" }, ...found.map(entry));
  }

  function picture(title, svg, kind = "job-picture") {
    const looks = { class: `drawing ${kind}`, tabindex: "0", role: "group" };
    const drawn = made("div", { ...looks, "aria-label": title });
    drawn.innerHTML = svg;
    return made("figure", {}, drawn, made("figcaption", {}, title));
  }

  function graphOf(answer) {
    return picture("What must come before what", answer.graph, "job-graph");
  }

  function sheetLink(html) {
    URL.revokeObjectURL(sheetAddress);
    sheetAddress = URL.createObjectURL(new Blob([html], { type: "text/html" }));
    const link = made("a", { href: sheetAddress, target: "_blank", rel: "noopener" });
    link.textContent = "Open the run sheet";
    return made("p", {}, link, ", the page for the person at the machine.");
  }

  function verdict(text, ok) {
    const looks = { class: "try-verdict", id: "try-verdict", "data-ok": ok ? "yes" : "no" };
    return made("p", looks, text);
  }

  function faultParts(answer) {
    const count = answer.faults.length;
    return [
      verdict(`Not a job yet: ${count} ${count === 1 ? "fault" : "faults"}`, false),
      entries(answer.faults),
    ];
  }

  function judgedParts(answer) {
    const parts = [verdict(answer.verdict, answer.ok)];
    if (answer.conflict) {
      parts.push(made("pre", { class: "try-conflict", tabindex: "0" }, answer.conflict));
    }
    if (answer.findings.length) parts.push(section("Findings", entries(answer.findings)));
    if (answer.steps.length) {
      const steps = answer.steps.map((step) => made("li", {}, step));
      const cautions = answer.cautions.map((caution) => made("li", {}, caution));
      const plan = [made("p", {}, answer.plan), made("ol", {}, ...steps)];
      parts.push(section("Plan", ...plan, sheetLink(answer.sheet)));
      parts.push(made("ul", { class: "try-cautions", "aria-label": "Cautions" }, ...cautions));
    }
    if (answer.pictures.length) {
      const figures = answer.pictures.map(({ title, svg }) => picture(title, svg));
      parts.push(section("Cross-sections", made("div", { class: "sections" }, ...figures)));
    }
    parts.push(section("Graph of the job", graphOf(answer)));
    if (answer.unassessed.length) parts.push(section("Not checked", entries(answer.unassessed)));
    return parts;
  }

  function show(answer) {
    const parts = answer.faults.length ? faultParts(answer) : judgedParts(answer);
    part("answer").replaceChildren(...parts);
    const found = [...answer.faults, ...(answer.findings ?? [])];
    drawNumbers(new Set(found.map((each) => each.line)));
    if (worker) say("This is the answer to the text as it stands.");
  }

  // --- the text ----------------------------------------------------------------------------------

  function drawNumbers(marked = new Set()) {
    const count = part("text").value.split("\n").length;
    const numbers = Array.from({ length: count }, (_, at) => {
      return made("div", marked.has(at + 1) ? { class: "marked" } : {}, String(at + 1));
    });
    part("numbers").replaceChildren(...numbers);
    follow();
  }

  function follow() {
    part("numbers").scrollTop = part("text").scrollTop;
  }

  function goTo(line) {
    const text = part("text");
    const lines = text.value.split("\n");
    const start = lines.slice(0, line - 1).reduce((sum, each) => sum + each.length + 1, 0);
    text.focus();
    text.setSelectionRange(start, start + lines[line - 1].length);
    const height = text.scrollHeight / lines.length;
    text.scrollTop = Math.max(0, (line - 4) * height);
    text.scrollLeft = 0;
  }

  function restore() {
    part("text").value = examples[part("example").value];
    part("text").scrollTop = 0;
    changed();
  }

  part("text").value = examples[part("example").value];
  part("text").addEventListener("focus", startPython, { once: true });
  part("text").addEventListener("input", changed);
  part("text").addEventListener("scroll", follow);
  part("example").addEventListener("change", restore);
  part("restore").addEventListener("click", restore);
  show(first);
  say(
    root.dataset.python === "yes"
      ? "Change something: Python is loaded then, some 15 MB, and stays on this page."
      : "This copy of the site was built without Python for the browser."
        + " What is shown is the answer to the example.",
  );
  if (root.dataset.python !== "yes") part("text").readOnly = true;
})();
