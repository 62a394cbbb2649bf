// Pointing at a finding lights its marks on the picture, and pointing at a mark lights its finding.

export function lightMarks() {
  const point = (event) => {
    const item = event.target.closest?.("[data-numbers], .callout");
    const sheet = event.target.closest?.("section");
    for (const lit of document.querySelectorAll(".lit")) lit.classList.remove("lit");
    if (!item || !sheet) return;
    const numbers = (item.dataset.numbers ?? item.dataset.number).split(",");
    for (const number of numbers) sheet.querySelector(`.callout[data-number="${number}"]`)?.classList.add("lit");
    for (const row of sheet.querySelectorAll("[data-numbers]")) {
      if (row.dataset.numbers.split(",").some((number) => numbers.includes(number))) row.classList.add("lit");
    }
  };
  document.addEventListener("pointerover", point);
  document.addEventListener("focusin", point);
}
