// Dropping or pasting a file anywhere on the page puts it into the page's file field.

import { _, figure } from "./words.js";

function put(input, files) {
  if (!files || files.length === 0) return;
  const one = new DataTransfer();
  one.items.add(files[0]);
  input.files = one.files;
  input.dispatchEvent(new Event("change", { bubbles: true }));
}

export function takeDrops(input, zone) {
  if (!input) return;
  const give = (files) => put(input, files);
  zone.addEventListener("dragover", (event) => {
    if (![...event.dataTransfer.types].includes("Files")) return;
    event.preventDefault();
    document.body.classList.add("dropping");
  });
  zone.addEventListener("dragleave", (event) => {
    if (event.relatedTarget === null) document.body.classList.remove("dropping");
  });
  zone.addEventListener("drop", (event) => {
    document.body.classList.remove("dropping");
    if (event.dataTransfer.files.length === 0) return;
    event.preventDefault();
    give(event.dataTransfer.files);
  });
  document.addEventListener("paste", (event) => {
    if (event.target.matches?.("input, textarea")) return;
    give(event.clipboardData?.files);
  });
}

// Where there is a camera at hand, a button that goes straight to it. What is photographed goes into the file field.
export function offerCamera(input) {
  if (!input || input.dataset.camera || !matchMedia("(pointer: coarse)").matches) return;
  input.dataset.camera = "offered";
  const camera = Object.assign(document.createElement("input"), { type: "file", accept: "image/*", hidden: true });
  camera.dataset.camera = "is one"; // and is offered none
  camera.setAttribute("capture", "environment");
  const button = Object.assign(document.createElement("button"), { type: "button", textContent: _("Photograph it") });
  button.addEventListener("click", () => camera.click());
  camera.addEventListener("change", () => put(input, camera.files));
  input.after(button, camera);
}

export function nameOf(file) {
  const size = file.size < 1e6 ? `${Math.max(1, Math.round(file.size / 1e3))} kB` : `${figure(file.size / 1e6, 1)} MB`;
  return `${file.name} (${size})`;
}
