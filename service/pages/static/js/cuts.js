// What another bit, board or set of allowances would change, tried while it is being typed; nothing is kept.

const FIGURES = [
  ["Least line", "least_line", 2],
  ["… it needs", "least_line_required", 2],
  ["Least land", "least_land", 2],
  ["… it needs", "least_land_required", 2],
  ["Deepest cut", "deepest_cut", 2],
  ["Wood left", "wood_left", 2],
];
const VERDICTS = {
  carves: "It carves",
  "carves-with-remarks": "It carves, with remarks",
  "will-not-carve": "It will not carve as it is",
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
  const answer = await fetch(`/api/v1/carvings/${form.dataset.carving}/trials`, {
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
  const table = document.createElement("table");
  for (const [label, key, digits] of FIGURES) {
    const value = body.check.figures[key];
    const row = table.insertRow();
    row.append(Object.assign(document.createElement("th"), { textContent: label, scope: "row" }));
    row.insertCell().textContent = value === null ? "–" : `${value.toFixed(digits)} mm`;
    row.cells[1].className = "number";
  }
  const title = document.createElement("p");
  title.append(Object.assign(document.createElement("strong"), { textContent: `Then: ${VERDICTS[body.verdict]}. ` }), body.sentence);
  place.replaceChildren(title, table);
}
