// Keeps what is typed into forms marked data-keep, so that a reload or a lost connection loses nothing.
// Only on this device and only for this tab's life; passwords, files and tokens are never kept.

const KEPT = "input:not([type=hidden], [type=password], [type=file], [type=submit]), select, textarea";

export function keepForms() {
  for (const form of document.querySelectorAll("form[data-keep]")) {
    if (form.dataset.kept) continue;
    form.dataset.kept = "yes";
    const key = `slatproof:${form.dataset.keep}`;
    restore(form, key);
    form.addEventListener("input", () => save(form, key));
    form.addEventListener("change", () => save(form, key));
    form.addEventListener("submit", () => save(form, key));
  }
}

function save(form, key) {
  const values = {};
  for (const field of form.querySelectorAll(KEPT)) {
    const name = `${field.name}=${field.type === "checkbox" || field.type === "radio" ? field.value : ""}`;
    values[name] = field.type === "checkbox" || field.type === "radio" ? field.checked : field.value;
  }
  try {
    sessionStorage.setItem(key, JSON.stringify(values));
  } catch {
    // Storage is full or forbidden: the form works all the same.
  }
}

function restore(form, key) {
  let values;
  try {
    values = JSON.parse(sessionStorage.getItem(key) ?? "null");
  } catch {
    return;
  }
  if (!values) return;
  for (const field of form.querySelectorAll(KEPT)) {
    const ticked = field.type === "checkbox" || field.type === "radio";
    const value = values[`${field.name}=${ticked ? field.value : ""}`];
    if (value === undefined) continue;
    if (ticked) field.checked = value;
    else if (!field.closest(".wrong")) field.value = value;
    const folded = field.closest("details:not([open])");
    if (folded && value && !ticked) folded.open = true;
  }
}
