import { keepForms } from "./keep.js";
import { nameOf, offerCamera, takeDrops } from "./drop.js";

const form = document.querySelector("#start");
const chosen = document.querySelector("#chosen-slats");
const file = document.querySelector("#f-file");

function sayChosen() {
  const names = [...form.querySelectorAll("[name=slats]:checked")].map((box) => box.closest("label").textContent.trim());
  chosen.textContent = names.length ? `Chosen: ${names.join(", ")}` : "Nothing is chosen yet.";
}

keepForms();
takeDrops(file, document.body);
offerCamera(file);
file.addEventListener("change", () => {
  const hint = document.querySelector("#h-file");
  hint.dataset.plain ??= hint.textContent;
  hint.textContent = file.files[0] ? `Will be sent: ${nameOf(file.files[0])}` : hint.dataset.plain;
});
form.addEventListener("change", sayChosen);
sayChosen();
