import { keepForms } from "./keep.js";
import { nameOf, offerCamera, takeDrops } from "./drop.js";
import { _ } from "./words.js";

const form = document.querySelector("#start");
const chosen = document.querySelector("#chosen-slats");
const file = document.querySelector("#f-file");
const hint = document.querySelector("#h-file");
const piece = form.querySelector(".piece svg");
const SVG = "http://www.w3.org/2000/svg";
const FREE = 0.8; // of a slat's width and height; the rest is what rounded edges and joints need, about

const boxes = () => [...form.querySelectorAll("[name=slats]:checked")];

function sayChosen() {
  const names = boxes().map((box) => box.closest("label").textContent.trim());
  chosen.textContent = names.length ? _("Chosen: {names}", { names: names.join(", ") }) : _("Nothing is chosen yet.");
}

// The chosen file stands on the chosen slats at once, as the browser shows it; what will really be left in the wood is
// shown once the file has been read.
let shown = "";
function lay() {
  piece.closest(".tapped").classList.toggle("has-art", shown !== "");
  for (const old of piece.querySelectorAll(".laid")) old.remove();
  if (!shown) return;
  for (const box of boxes()) {
    const at = piece.querySelector(`[data-slat="${CSS.escape(box.value)}"]`).getBBox();
    const image = document.createElementNS(SVG, "image");
    const [width, height] = [at.width * FREE, at.height * FREE];
    for (const [name, value] of Object.entries({ class: "laid", href: shown, x: at.x + (at.width - width) / 2, y: at.y + (at.height - height) / 2, width, height })) image.setAttribute(name, value);
    piece.append(image);
  }
}

function take() {
  hint.dataset.plain ??= hint.textContent;
  const one = file.files[0];
  hint.textContent = one ? _("Will be sent: {file}", { file: nameOf(one) }) : hint.dataset.plain;
  file.classList.toggle("named", Boolean(one));
  if (shown) URL.revokeObjectURL(shown);
  shown = "";
  if (!one) return lay();
  const address = URL.createObjectURL(one);
  const tried = new Image();
  tried.onload = () => {
    shown = address;
    lay();
  };
  // A PDF or a drawing for machines is no picture to a browser: it is shown once it has been read.
  tried.onerror = () => lay();
  tried.src = address;
  return undefined;
}

// The price and the earliest day follow the pieces and slats.
const estimate = document.querySelector("#estimate");
let asking = 0;
function ask() {
  clearTimeout(asking);
  asking = setTimeout(async () => {
    const quantity = form.elements.quantity.valueAsNumber;
    if (!(quantity >= 1 && quantity <= 10000)) return;
    const asked = new URLSearchParams([["quantity", String(quantity)], ...boxes().map((box) => ["slats", box.value])]);
    const answer = await fetch(`${form.dataset.estimate}?${asked}`).catch(() => null);
    if (!answer?.ok) return;
    const found = await answer.json();
    const price = estimate.querySelector("[data-is=price]");
    if (price && found.price_words) price.textContent = _("from {price}", { price: found.price_words });
    const ready = new Date(`${found.ready_on}T12:00:00`);
    const day = { weekday: "short", day: "numeric", month: "short", year: "numeric" };
    estimate.querySelector("[data-is=ready]").textContent = ready.toLocaleDateString(document.documentElement.lang === "en" ? "en-GB" : document.documentElement.lang, day).replace(",", "");
  }, 200);
}

// As many pieces as names.
form.elements.names.addEventListener("input", () => {
  const count = form.elements.names.value.split("\n").filter((line) => line.trim()).length;
  if (count) form.elements.quantity.value = String(count);
  ask();
});

// The answer comes with the verdict in it: until then something is seen to go on.
form.addEventListener("submit", () => {
  form.querySelector("button.main").setAttribute("aria-busy", "true");
});
addEventListener("pageshow", () => form.querySelector("button.main").removeAttribute("aria-busy"));
keepForms();
takeDrops(file, document.body);
offerCamera(file);
file.addEventListener("change", take);
form.addEventListener("change", () => {
  sayChosen();
  lay();
  ask();
});
form.elements.quantity.addEventListener("input", ask);
sayChosen();
take();
if (boxes().length > 0) ask();
