// Readings of a test board: buttons that step a measure, from what a board cut as planned would show.
for (const button of document.querySelectorAll("[data-step]")) {
  button.hidden = false;
  button.addEventListener("click", () => {
    const field = document.getElementById(button.dataset.for);
    const typed = Number.parseFloat(field.value.replace(",", "."));
    const from = Number.isFinite(typed) ? typed : Number(field.dataset.expected);
    field.value = Math.max(0, from + (Number.isFinite(typed) ? Number(button.dataset.step) : 0)).toFixed(2);
  });
}
