// Shows the slat as large as it is. How many pixels a millimetre has is not to be had from a browser: the person lays a
// bank card (85.6 mm wide, ISO/IEC 7810 ID-1) or a ruler on the screen and draws the outline to its size, once.

import { _ } from "./words.js";

const KEY = "slatproof:pixels-per-mm";
const USUAL = 96 / 25.4;
const CARD = 85.6;

function known() {
  const value = Number(localStorage.getItem(KEY));
  return value > 1 && value < 40 ? value : null;
}

export function trueSize(section, svg, tools) {
  const button = tools.querySelector("[data-true-size]");
  const dialog = document.querySelector("#calibrate");
  const millimetres = svg.viewBox.baseVal.width;
  const frame = svg.closest(".wood-picture");
  const set = (on) => {
    frame.classList.toggle("true-size", on);
    button.setAttribute("aria-pressed", String(on));
    tools.querySelector("[data-calibrate]").hidden = !on;
    if (on) svg.style.width = `${millimetres * (known() ?? USUAL)}px`;
    else svg.style.removeProperty("width");
  };
  button.addEventListener("click", () => {
    if (button.getAttribute("aria-pressed") === "true") return set(false);
    if (known() === null) {
      ask(dialog, () => set(true));
      return undefined;
    }
    return set(true);
  });
  tools.querySelector("[data-calibrate]").addEventListener("click", () => ask(dialog, () => set(true)));
}

function ask(dialog, done) {
  const slider = dialog.querySelector("[type=range]");
  const card = dialog.querySelector(".card");
  slider.value = (known() ?? USUAL) * CARD;
  const show = () => {
    card.style.width = `${slider.value}px`;
    slider.setAttribute("aria-valuetext", _("{count} pixels wide", { count: Math.round(slider.value) }));
  };
  slider.oninput = show;
  show();
  dialog.querySelector("form").onsubmit = (event) => {
    if (event.submitter?.value !== "yes") return;
    localStorage.setItem(KEY, String(Number(slider.value) / CARD));
    done();
  };
  dialog.showModal();
}
