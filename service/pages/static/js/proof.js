import { keepForms } from "./keep.js";
import { followOrder } from "./live.js";
import { lightMarks } from "./marks.js";
import { keepAskingForPictures } from "./pictures.js";
import { trueSize } from "./true-size.js";
import { zooms } from "./zoom.js";
import { _ } from "./words.js";

lightMarks();
keepAskingForPictures();
keepForms();

// Once for every picture: a part that is drawn anew gets its tools again.
function equip() {
  zooms();
  for (const section of document.querySelectorAll("section[data-proof]")) {
    const svg = section.querySelector("svg.carving");
    const tools = section.querySelector(".tools");
    if (!svg || !tools?.hidden) continue;
    tools.hidden = false;
    compare(svg, tools);
    wood(svg, tools);
    trueSize(section, svg, tools);
    turn(section, tools);
    pin(section, svg);
  }
}

equip();
document.addEventListener("slatproof:renewed", () => {
  equip();
  keepForms();
});
const proofs = document.querySelector("#proofs");
if (proofs) followOrder(proofs.dataset.order, Number(proofs.dataset.activity));

// The client's drawing slides over the relief; it is fetched once everything that is seen at first is there.
function compare(svg, tools) {
  const slider = tools.querySelector("[name=compare]");
  const drawing = svg.querySelector(".drawn image");
  const clip = svg.querySelector("clipPath rect");
  const [left, width] = [Number(clip.getAttribute("x")) - Number(clip.getAttribute("width")), Number(clip.getAttribute("width"))];
  const fetchIt = () => drawing.setAttribute("href", drawing.dataset.href);
  if (document.readyState === "complete") fetchIt();
  else window.addEventListener("load", fetchIt, { once: true });
  const show = () => {
    const share = Number(slider.value);
    svg.classList.toggle("comparing", share > 0);
    clip.setAttribute("x", left + (width * (100 - share)) / 100);
    slider.setAttribute("aria-valuetext", _("{share} per cent of it shows your drawing", { share }));
  };
  slider.addEventListener("input", show);
  show();
}

function wood(svg, tools) {
  tools.querySelector("[name=wood]").addEventListener("change", (event) => {
    for (const image of svg.parentElement.querySelectorAll("image.relief, .slat-whole image")) {
      const address = new URL(image.getAttribute("href"), location.href);
      address.searchParams.set("wood", event.target.value);
      image.setAttribute("href", address.pathname + address.search);
    }
  });
}

function turn(section, tools) {
  const button = tools.querySelector("[data-turn]");
  button.addEventListener("click", async () => {
    button.disabled = true;
    try {
      const { showSolid } = await import("./turn.js");
      const wood = tools.querySelector("[name=wood]").value;
      const close = section.querySelector("svg.carving").dataset.close.split(" ").map(Number);
      await showSolid(section.querySelector(".wood-picture"), `${button.dataset.turn}?wood=${wood}`, button, close);
    } catch {
      button.disabled = false;
      button.textContent = _("It cannot be turned on this device");
    }
  });
}

// A place pointed at goes into the form of the change, as millimetres of the slat. It is marked as carpenters mark one:
// a V whose tip is the place.
function pin(section, svg) {
  const form = section.querySelector("form.change");
  if (!form) return;
  const marker = document.createElementNS("http://www.w3.org/2000/svg", "path");
  marker.setAttribute("class", "pin");
  svg.append(marker);
  const size = svg.viewBox.baseVal.width / Math.max(svg.clientWidth, 1);
  const draw = () => {
    const [x, y] = [Number(form.x.value), Number(form.y.value)];
    const there = form.x.value !== "" && form.y.value !== "";
    marker.setAttribute("d", there ? `M${x - 9 * size} ${-y - 20 * size}L${x} ${-y}l${9 * size} ${-20 * size}` : "");
  };
  svg.addEventListener("click", (event) => {
    if (!form.closest("details").open) return;
    const place = new DOMPoint(event.clientX, event.clientY).matrixTransform(svg.getScreenCTM().inverse());
    form.x.value = place.x.toFixed(1);
    form.y.value = (-place.y).toFixed(1);
    draw();
    form.words.focus();
  });
  form.addEventListener("input", draw);
  form.closest("details").addEventListener("toggle", () => svg.classList.toggle("pinning", form.closest("details").open));
}
