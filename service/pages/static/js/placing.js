// Laying art on its slat by hand. The form's fields stay the truth that is sent: this only writes them.

import { drawTable } from "./table.js";
import { hands } from "./hands.js";
import { inches } from "./inches.js";
import { judge } from "./judging.js";

const form = document.querySelector("#placing");
const field = (name) => form.elements[name];
const start = JSON.parse(form.dataset.placement);
const size = { width: Number(form.dataset.width), height: Number(form.dataset.height) };

let now = { ...start };
let measured = { ...size, scale: start.scale };
const past = [];
const future = [];

const table = await drawTable(document.querySelector("#table"), form.dataset.drawing, start);
for (const id of ["how", "sizes", "hand"]) document.getElementById(id).hidden = false;

function show() {
  table.lay(now);
  const factor = now.scale / measured.scale;
  write("p-width", measured.width * factor);
  write("p-height", measured.height * factor);
  put("percent", (100 * now.scale) / start.scale, 2);
  put("x", now.x, 1);
  put("y", now.y, 1);
  put("turn", now.rotation_deg, 1);
  field("mirrored").checked = now.mirrored;
  form.querySelector("[data-do=undo]").disabled = past.length === 0;
  form.querySelector("[data-do=redo]").disabled = future.length === 0;
}

function put(name, value, digits) {
  if (document.activeElement !== field(name)) field(name).value = String(Number(value.toFixed(digits)));
}

function write(id, value) {
  const input = document.getElementById(id);
  if (document.activeElement !== input) input.value = value.toFixed(1);
  document.querySelector(`[data-inch=${id}]`).textContent = inches(value);
}

// While a hand moves it only the picture follows; when it lets go, the change is kept for undo and judged.
let before = null;
function change(next, settled) {
  before ??= now;
  now = { ...now, ...next };
  now.scale = Math.min(Math.max(now.scale, start.scale / 50), start.scale * 50);
  show();
  if (settled) settle();
}

function settle() {
  if (before && JSON.stringify(before) !== JSON.stringify(now)) {
    past.push(before);
    future.length = 0;
  }
  before = null;
  show();
  look();
}

function step(from, to) {
  if (from.length === 0) return;
  to.push(now);
  now = from.pop();
  show();
  look();
}

async function look(asked = { placement: now }) {
  const answer = await judge(form.dataset.order, form.dataset.carving, asked);
  if (!answer) return;
  if (asked.largest) {
    past.push(now);
    future.length = 0;
    now = answer.placement;
  }
  measured = { width: answer.check.figures.width, height: answer.check.figures.height, scale: now.scale };
  show();
  table.mark(answer.check.findings);
}

const snapped = (place) => (Math.abs(place.x - table.middle) < 1.5 ? { ...place, x: table.middle } : place);

hands(table.svg, table.handle, {
  now: () => now,
  toSlat: table.toSlat,
  move: (place, settled) => change(snapped(place), settled),
  resize: (factor, settled) => change({ scale: now.scale * factor }, settled),
  turn: (degrees, settled) => change({ rotation_deg: wrap(now.rotation_deg + degrees) }, settled),
  centre: () => change({ x: table.middle }, true),
  largest,
  settle,
  undo: () => step(past, future),
  redo: () => step(future, past),
});

// The service knows the largest: it keeps clear of edges, ends and screws, and is judged in the same breath.
function largest() {
  look({ placement: now, largest: true });
}

const wrap = (degrees) => ((((degrees + 180) % 360) + 360) % 360) - 180;
const number = (text) => Number(String(text).replace(",", "."));

form.addEventListener("change", (event) => {
  const value = number(event.target.value);
  if (event.target.name === "mirrored") change({ mirrored: event.target.checked }, true);
  else if (!Number.isFinite(value)) show();
  else if (event.target.id === "p-width" && value > 0) change({ scale: (measured.scale * value) / measured.width }, true);
  else if (event.target.id === "p-height" && value > 0) change({ scale: (measured.scale * value) / measured.height }, true);
  else if (event.target.name === "percent" && value > 0) change({ scale: (start.scale * value) / 100 }, true);
  else if (event.target.name === "turn") change({ rotation_deg: wrap(value) }, true);
  else if (event.target.name === "x" || event.target.name === "y") change({ [event.target.name]: value }, true);
});
form.addEventListener("click", (event) => {
  const what = event.target.dataset?.do;
  if (what === "centre") change({ x: table.middle }, true);
  else if (what === "largest") largest();
  else if (what === "undo") step(past, future);
  else if (what === "redo") step(future, past);
});
form.addEventListener("keydown", (event) => {
  if (event.key === "Enter" && event.target.matches("input")) {
    event.preventDefault();
    event.target.dispatchEvent(new Event("change", { bubbles: true }));
  }
});
show();
look();
