// Brings a picture of a carving nearer: by pinching it, by the wheel once the picture has been touched (or with Ctrl),
// by its buttons, by + and − on it. One finger or the mouse then moves it; 0 or Escape shows all of it again.

const NEAREST = 12;
const STEP = 1.35;
const SHARPER_FROM = 1.8;

export function zooms() {
  for (const frame of document.querySelectorAll(".wood-picture")) {
    const svg = frame.querySelector("svg.carving:not(.table)");
    if (svg && !frame.querySelector(".zoom")) zoom(frame, svg);
  }
}

function zoom(frame, svg) {
  const all = svg.viewBox.baseVal;
  const whole = { x: all.x, y: all.y, width: all.width, height: all.height };
  const fingers = new Map();
  let near = 1;
  let held = null;
  let moved = false;

  const buttons = document.createElement("div");
  buttons.className = "zoom no-print";
  for (const [words, sign, act] of [["Nearer", "+", () => by(STEP)], ["Farther", "−", () => by(1 / STEP)]]) {
    const button = Object.assign(document.createElement("button"), { type: "button", textContent: sign });
    button.setAttribute("aria-label", words);
    button.addEventListener("click", act);
    buttons.append(button);
  }
  frame.append(buttons);

  function show(x, y) {
    const [width, height] = [whole.width / near, whole.height / near];
    all.width = width;
    all.height = height;
    all.x = Math.min(Math.max(x, whole.x), whole.x + whole.width - width);
    all.y = Math.min(Math.max(y, whole.y), whole.y + whole.height - height);
    svg.classList.toggle("zooming", near > 1);
    if (near > SHARPER_FROM) sharpen(svg);
  }

  // Nearer by a factor; the place under a point of the screen stays where it is.
  function by(factor, at) {
    const box = svg.getBoundingClientRect();
    const share = at ? [(at.x - box.x) / box.width, (at.y - box.y) / box.height] : [0.5, 0.5];
    const place = [all.x + share[0] * all.width, all.y + share[1] * all.height];
    near = Math.min(Math.max(near * factor, 1), NEAREST);
    show(place[0] - (share[0] * whole.width) / near, place[1] - (share[1] * whole.height) / near);
  }

  const middle = () => {
    const all = [...fingers.values()];
    return { x: all.reduce((sum, one) => sum + one.x, 0) / all.length, y: all.reduce((sum, one) => sum + one.y, 0) / all.length };
  };
  const apart = () => {
    const [a, b] = fingers.values();
    return b ? Math.hypot(a.x - b.x, a.y - b.y) : 0;
  };
  const grip = () => ({ ...middle(), apart: apart() });

  svg.addEventListener("pointerdown", (event) => {
    fingers.set(event.pointerId, { x: event.clientX, y: event.clientY });
    held = grip();
    moved = false;
    if (fingers.size > 1 || near > 1) svg.setPointerCapture(event.pointerId);
  });
  svg.addEventListener("pointermove", (event) => {
    if (!fingers.has(event.pointerId) || (fingers.size === 1 && near === 1)) return;
    fingers.set(event.pointerId, { x: event.clientX, y: event.clientY });
    const next = grip();
    const scale = all.width / svg.clientWidth;
    moved ||= Math.hypot(next.x - held.x, next.y - held.y) > 3;
    show(all.x - (next.x - held.x) * scale, all.y - (next.y - held.y) * scale);
    if (held.apart && next.apart) by(next.apart / held.apart, next);
    held = next;
  });
  for (const end of ["pointerup", "pointercancel", "pointerleave"]) {
    svg.addEventListener(end, (event) => {
      if (fingers.delete(event.pointerId) && fingers.size) held = grip();
    });
  }
  // A picture that was dragged was not pointed at.
  svg.addEventListener("click", (event) => moved && event.stopImmediatePropagation(), true);

  let touched = false;
  svg.addEventListener("click", () => (touched = true));
  frame.addEventListener("pointerleave", () => (touched = false));
  svg.addEventListener("wheel", (event) => {
    if (!touched && !event.ctrlKey && near === 1) return;
    event.preventDefault();
    by(Math.exp(-event.deltaY * (event.deltaMode ? 0.03 : 0.002)), { x: event.clientX, y: event.clientY });
  }, { passive: false });
  svg.tabIndex = 0;
  svg.addEventListener("keydown", (event) => {
    const far = 0.15 * all.width;
    const act = {
      "+": () => by(STEP), "=": () => by(STEP), "-": () => by(1 / STEP), 0: () => by(0), Escape: () => by(0),
      ArrowLeft: () => show(all.x - far, all.y), ArrowRight: () => show(all.x + far, all.y),
      ArrowUp: () => show(all.x, all.y - far), ArrowDown: () => show(all.x, all.y + far),
    }[event.key];
    if (!act || (event.key.startsWith("Arrow") && near === 1) || event.ctrlKey || event.metaKey) return;
    event.preventDefault();
    act();
  });
}

// What is looked at from near is asked for once more, with more pixels.
function sharpen(svg) {
  const image = svg.querySelector("image.relief");
  const address = new URL(image.getAttribute("href"), location.href);
  const density = Number(address.searchParams.get("density"));
  if (svg.dataset.sharp || density >= 8) return;
  svg.dataset.sharp = "yes";
  address.searchParams.set("density", String(density * 2));
  const sharper = new Image();
  sharper.onload = () => image.setAttribute("href", sharper.getAttribute("src"));
  sharper.src = address.pathname + address.search;
}
