// Follows an order as it happens. The page is drawn by the server: when a piece of work has ended, the parts that
// show it are fetched anew and put in place, so that what is typed elsewhere on the page stays.

import { N_, _ } from "./words.js";

const WORDS = {
  "read-artwork": N_("Reading your file"),
  prove: N_("Checking every line"),
  versions: N_("Working out versions that carve"),
  batch: N_("Putting the archive together"),
};

const STAGES = new Set([
  N_("waiting"), N_("beginning"), N_("reading"), N_("checking"), N_("placing"), N_("keeping"), N_("done"), N_("cutting by slat"),
  N_("another size, place or bit"), N_("turned, on two lines, with another bit"), N_("thickening, opening, moving apart"),
  N_("turned by a quarter"), N_("drawing what will be left"), N_("making it sturdier"),
]);

// `seen` is the activity of the order when the page was drawn: what happened since is shown as soon as it is heard of.
export function followOrder(order, seen, address = `/order/${order}/api/orders/${order}/events`) {
  let source = null;
  let wait = 1000;

  function open() {
    source = new EventSource(address);
    source.addEventListener("open", () => {
      wait = 1000;
      say("");
    });
    source.addEventListener("jobs", (event) => showJobs(JSON.parse(event.data)));
    source.addEventListener("order", (event) => {
      const { activity } = JSON.parse(event.data);
      if (activity !== seen) renew();
      seen = activity;
    });
    source.addEventListener("gone", () => source.close());
    source.addEventListener("error", () => {
      // The browser tries again by itself unless the answer was an error; then we do, with growing waits.
      say(_("The connection was lost. Trying again…"));
      if (source.readyState === EventSource.CLOSED) {
        setTimeout(open, wait);
        wait = Math.min(wait * 2, 30000);
      }
    });
  }

  function showJobs(jobs) {
    const running = jobs.filter((job) => job.state === "running" || job.state === "waiting");
    for (const place of document.querySelectorAll(".working")) {
      const job = running.find((one) => one.subject_id === place.dataset.carving) ?? running[0];
      if (!job) continue;
      const kind = _(WORDS[job.kind] ?? job.kind);
      const words = job.stage ? `${kind}: ${STAGES.has(job.stage) ? _(job.stage) : job.stage}` : `${kind}…`;
      place.querySelector("strong").textContent = words;
      const bar = place.querySelector("progress");
      if (job.fraction > 0) bar.value = job.fraction;
      else bar.removeAttribute("value");
    }
  }

  document.addEventListener("visibilitychange", () => {
    if (document.visibilityState === "visible" && source?.readyState === EventSource.CLOSED) open();
  });
  open();
}

// What the server drew, by part: scripts may have added to it since, which is no reason to draw it anew.
const drawn = new Map([...document.querySelectorAll("[data-live]")].map((part) => [part.dataset.live, part.innerHTML]));
let renewing = false;
let again = false;

// Fetches this page anew and puts its live parts in place.
export async function renew() {
  if (renewing) {
    again = true;
    return;
  }
  renewing = true;
  try {
    const answer = await fetch(location.pathname + location.search, { headers: { accept: "text/html" } });
    if (answer.ok) replaceParts(new DOMParser().parseFromString(await answer.text(), "text/html"));
  } catch {
    say(_("The connection was lost. Trying again…"));
  } finally {
    renewing = false;
    if (again) {
      again = false;
      renew();
    }
  }
}

// For what has no events of its own: looks again until nothing on the page is waiting any more.
export function renewWhileWaiting(pause = 1000) {
  if (!document.querySelector("[data-waiting=yes]")) return;
  setTimeout(async () => {
    await renew();
    renewWhileWaiting(Math.min(pause * 1.3, 8000));
  }, pause);
}

function replaceParts(fresh) {
  for (const part of document.querySelectorAll("[data-live]")) {
    const other = fresh.querySelector(`[data-live="${part.dataset.live}"]`);
    // A part in which somebody is typing or has opened something is left alone until they are done.
    if (!other || drawn.get(part.dataset.live) === other.innerHTML) continue;
    if (part.contains(document.activeElement) && document.activeElement.matches("input, textarea, select")) continue;
    const open = new Set([...part.querySelectorAll("details[open]")].map((one) => one.dataset.name));
    drawn.set(part.dataset.live, other.innerHTML);
    part.replaceChildren(...other.childNodes);
    for (const details of part.querySelectorAll("details")) if (open.has(details.dataset.name)) details.open = true;
  }
  document.dispatchEvent(new CustomEvent("slatproof:renewed"));
}

function say(words) {
  let place = document.querySelector("#connection");
  if (!place) {
    place = document.createElement("p");
    place.id = "connection";
    place.className = "connection";
    place.setAttribute("role", "status");
    document.body.append(place);
  }
  place.hidden = words === "";
  place.textContent = words;
}
