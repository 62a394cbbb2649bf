import { followOrder, renewWhileWaiting } from "./live.js";
import { lightMarks } from "./marks.js";
import { keepAskingForPictures } from "./pictures.js";
import { tryCuts } from "./cuts.js";
import { zooms } from "./zoom.js";

// The bench by keys: j and k go through the carvings or orders, / goes to the search, ? shows the keys; any other
// letter goes to whatever says in data-key that it is its own.

const stops = () => [...document.querySelectorAll("section[id^=carving-], table.queue tbody tr")];
let at = -1;

function go(step) {
  const all = stops();
  if (all.length === 0) return;
  at = Math.max(0, Math.min(all.length - 1, at + step));
  const one = all[at];
  for (const other of all) other.classList.toggle("here", other === one);
  one.scrollIntoView({ block: one.matches("tr") ? "nearest" : "start", behavior: "instant" });
  const target = one.querySelector("a, button, summary, input") ?? one;
  target.focus({ preventScroll: true });
}

function press(key) {
  const here = stops()[at];
  const button = here?.querySelector(`[data-key="${key}"]`) ?? document.querySelector(`[data-key="${key}"]`);
  if (!button) return false;
  const folded = button.closest("details:not([open])");
  if (folded) folded.open = true;
  // A decision is never taken by one stray key: the key goes to the button, Enter presses it.
  button.scrollIntoView({ block: "center", behavior: "instant" });
  button.focus({ preventScroll: true });
  return true;
}

// On the list of orders a key acts at once and goes on to the next row; the row it means is marked.
function act(key) {
  const rows = stops().filter((row) => row.matches("tr"));
  const here = rows[Math.max(at, 0)];
  if (!here) return false;
  const button = here.querySelector(`[data-act="${key}"]`);
  if (button) button.form.requestSubmit(button);
  else if (key === "x") location.assign(`${here.querySelector("td.number a").href}#reject`);
  else return false;
  return true;
}

document.addEventListener("keydown", (event) => {
  if (event.ctrlKey || event.metaKey || event.altKey) return;
  if (event.target.matches("input:not([type=checkbox], [type=radio]), textarea, select")) return;
  if (event.key === "j") go(1);
  else if (event.key === "k") go(-1);
  else if (event.key === "/") document.querySelector("[type=search]")?.focus();
  else if (event.key === "?") document.querySelector("#keys")?.showModal();
  else if (!/^[a-z]$/.test(event.key) || !(act(event.key) || press(event.key))) return;
  event.preventDefault();
});

for (const hint of document.querySelectorAll(".needs-script")) hint.hidden = false;
document.querySelector("table.queue tbody tr")?.classList.add("here");
document.querySelector("#all")?.addEventListener("change", (event) => {
  for (const box of document.querySelectorAll("[name=ticked]")) box.checked = event.target.checked;
});
if (location.hash === "#reject") {
  const folded = document.querySelector('details[data-name="reject"]');
  if (folded) {
    folded.open = true;
    folded.querySelector("input[type=radio]").focus();
  }
}
lightMarks();
zooms();
document.addEventListener("slatproof:renewed", zooms);
keepAskingForPictures();
tryCuts();
showSections();
renewWhileWaiting();
const order = document.querySelector("[data-bench-order]");
if (order) {
  const { benchOrder: id, activity } = order.dataset;
  followOrder(id, Number(activity), `/api/v1/orders/${id}/events`);
}

// Pointing at a line on the picture shows the groove there, cut across.
function showSections() {
  const box = document.querySelector("#section-box");
  if (!box) return;
  document.addEventListener("click", async (event) => {
    const svg = event.target.closest?.("[data-section] svg.carving");
    if (!svg) return;
    const place = new DOMPoint(event.clientX, event.clientY).matrixTransform(svg.getScreenCTM().inverse());
    const address = `${svg.parentElement.dataset.section}?x=${place.x.toFixed(2)}&y=${(-place.y).toFixed(2)}`;
    const answer = await fetch(address);
    if (!answer.ok) return;
    const page = new DOMParser().parseFromString(await answer.text(), "text/html");
    box.querySelector("div").replaceChildren(page.querySelector("#section"));
    box.showModal();
  });
}
