// What another bit, board or set of allowances would change, tried while it is being typed; nothing is kept.

import { N_, _, figure } from "./words.js";

const FIGURES = [
  [N_("Least line"), "least_line", 2],
  [N_("… it needs"), "least_line_required", 2],
  [N_("Least land"), "least_land", 2],
  [N_("… it needs"), "least_land_required", 2],
  [N_("Programme depth"), "depth", 2],
  [N_("Worst depth"), "deepest_cut", 2],
  [N_("Wood left"), "wood_left", 2],
];
const VERDICTS = {
  carves: N_("It carves"),
  "carves-with-remarks": N_("It carves, with remarks"),
  "will-not-carve": N_("It will not carve as it is"),
};

export function tryCuts() {
  let timer = 0;
  document.addEventListener("input", (event) => {
    const form = event.target.closest?.("form.cut");
    if (!form) return;
    clearTimeout(timer);
    timer = setTimeout(() => attempt(form), 250);
  });
}

// The figures as they are and as they would be; what differs is marked.
function compared(now, then) {
  const table = document.createElement("table");
  const cell = (row, tag, text, kind) => row.append(Object.assign(document.createElement(tag), { textContent: text, className: kind }));
  const head = table.createTHead().insertRow();
  for (const [text, kind] of [["Figure", ""], ["Now", "number"], ["Then", "number"]]) cell(head, "th", text, kind);
  const body = table.createTBody();
  for (const [label, key, digits] of FIGURES) {
    const [before, after] = [now[key], then[key]].map((value) => (value === null ? "–" : `${figure(value, digits)} mm`));
    const row = body.insertRow();
    row.className = before === after ? "" : "differs";
    cell(row, "th", label, "");
    cell(row, "td", before, "number");
    cell(row, "td", after, "number");
  }
  return table;
}

function changeOf(form) {
  const number = (text) => Number(text.replace(",", "."));
  const change = { bit_key: form.elements.bit_key.value, allowances: {} };
  if (form.elements.slat_key.value) change.slat_key = form.elements.slat_key.value;
  if (form.elements.thickness.value.trim()) change.thickness = number(form.elements.thickness.value);
  for (const field of form.querySelectorAll("[name^=allow-]")) {
    if (field.value.trim()) change.allowances[field.name.slice(6)] = number(field.value);
  }
  return change;
}

async function attempt(form) {
  const place = form.querySelector(".tried");
  const answer = await fetch(`/said/carvings/${form.dataset.carving}/trials`, {
    method: "POST",
    headers: { "Content-Type": "application/json" },
    body: JSON.stringify({ change: changeOf(form) }),
  });
  const body = await answer.json();
  if (!answer.ok) {
    const why = body.problems?.map((one) => one.message).join(" ") || body.detail || body.title;
    place.replaceChildren(Object.assign(document.createElement("p"), { className: "fault", textContent: why }));
    return;
  }
  const table = compared(JSON.parse(form.dataset.figures), body.check.figures);
  const title = document.createElement("p");
  title.append(Object.assign(document.createElement("strong"), { textContent: `${_("Then:")} ${_(VERDICTS[body.verdict])}. ` }), body.sentence);
  place.replaceChildren(title, table);
}
