import { nameOf, offerCamera } from "./drop.js";
import { _ } from "./words.js";

// Sends a file straight to the API, with a bar that shows how much has gone. A connection lost on the way is taken
// up again with the same idempotency key, so that a file which did arrive is not taken twice.

const TRIES = 4;

export function uploadsWithProgress(order) {
  const offer = () => document.querySelectorAll("form.upload [type=file]").forEach(offerCamera);
  offer();
  document.addEventListener("slatproof:renewed", offer);
  document.addEventListener("submit", (event) => {
    const form = event.target.closest("form.upload");
    if (!form) return;
    event.preventDefault();
    send(form, order);
  });
}

async function send(form, order) {
  const file = form.querySelector("[type=file]").files[0];
  const carvings = [...form.querySelectorAll("[name=carvings]:is([type=hidden], :checked)")].map((field) => field.value);
  if (carvings.length === 0) {
    form.querySelector("[name=carvings]")?.focus();
    return;
  }
  const key = crypto.randomUUID?.() ?? String(Math.random()).slice(2);
  const button = form.querySelector("button");
  const bar = Object.assign(document.createElement("progress"), { max: 1, value: 0 });
  const words = document.createElement("p");
  words.setAttribute("role", "status");
  bar.setAttribute("aria-label", _("Sending {file}…", { file: file.name }));
  button.disabled = true;
  form.append(words, bar);
  for (let attempt = 1; attempt <= TRIES; attempt += 1) {
    words.textContent = attempt === 1 ? _("Sending {file}…", { file: nameOf(file) }) : _("The connection was lost. Sending again ({attempt})…", { attempt });
    try {
      const problem = await once(order, file, carvings, key, (part) => {
        bar.value = part;
      });
      if (problem === null) {
        words.textContent = _("It has arrived.");
        location.assign(`/order/${order}#carving-${carvings[0]}`);
        location.reload();
        return;
      }
      words.textContent = problem;
      words.className = "fault";
      break;
    } catch {
      bar.value = 0;
      await new Promise((done) => setTimeout(done, 1000 * 2 ** attempt));
      words.textContent = _("It could not be sent. Check the connection and send it again.");
    }
  }
  bar.remove();
  button.disabled = false;
}

function once(order, file, carvings, key, progress) {
  return new Promise((done, failed) => {
    const request = new XMLHttpRequest();
    request.open("POST", `/api/v1/orders/${order}/artworks?carvings=${carvings.join(",")}`);
    request.setRequestHeader("Slatproof-Order", order);
    request.setRequestHeader("Idempotency-Key", key);
    request.setRequestHeader("Content-Type", file.type || "application/octet-stream");
    request.setRequestHeader("Content-Disposition", `attachment; filename*=UTF-8''${encodeURIComponent(file.name)}`);
    request.upload.addEventListener("progress", (event) => {
      if (event.lengthComputable) progress(event.loaded / event.total);
    });
    request.addEventListener("load", () => {
      if (request.status < 400) return done(null);
      if (request.status >= 500) return failed(new Error(String(request.status)));
      try {
        const problem = JSON.parse(request.responseText);
        return done(problem.detail || problem.title);
      } catch {
        return done(_("The file could not be taken."));
      }
    });
    request.addEventListener("error", () => failed(new Error("lost")));
    request.addEventListener("timeout", () => failed(new Error("late")));
    request.send(file);
  });
}
